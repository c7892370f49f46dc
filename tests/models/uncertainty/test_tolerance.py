"""The tolerance factor against the printed table, its large-sample limit, and drawn samples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore.models.uncertainty import tolerance_factor

# Montgomery and Runger 2018, table XII: values measured, fraction below, confidence, factor.
TABLE = [
    *[(2, 0.90, 0.90, 10.253), (2, 0.99, 0.99, 185.617), (10, 0.90, 0.95, 2.355), (10, 0.95, 0.95, 2.911)],
    *[(20, 0.99, 0.95, 3.295), (25, 0.95, 0.99, 2.633), (50, 0.90, 0.90, 1.559), (100, 0.95, 0.95, 1.927)],
]


@pytest.mark.parametrize(("values", "below", "confidence", "factor"), TABLE)
def test_the_printed_table(values, below, confidence, factor):
    assert tolerance_factor(values, below, confidence) == pytest.approx(factor, abs=5e-4)


@given(st.integers(2, 2000), st.floats(0.05, 0.999), st.floats(0.05, 0.999))
def test_scipys_noncentral_t_gives_the_same(values, below, confidence):
    expected = stats.nct.ppf(confidence, values - 1, stats.norm.ppf(below) * np.sqrt(values)) / np.sqrt(values)
    assert tolerance_factor(values, below, confidence) == pytest.approx(expected, rel=1e-6, abs=1e-9)


def test_of_drawn_samples_so_many_limits_hold_as_the_confidence_says():
    rng = np.random.default_rng(12)
    drawn = rng.normal(size=(40_000, 8))
    limits = drawn.mean(axis=1) + tolerance_factor(8, 0.9, 0.95) * drawn.std(axis=1, ddof=1)
    held = limits >= stats.norm.ppf(0.9)
    assert held.mean() == pytest.approx(0.95, abs=3 * held.std() / np.sqrt(held.size))


def test_many_values_need_no_more_than_the_normal_quantile():
    assert tolerance_factor(10**6, 0.95, 0.95) == pytest.approx(stats.norm.ppf(0.95), abs=0.003)
