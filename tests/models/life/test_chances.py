"""The figures of one card are those of its law, and several cards last as coins fall."""

from dataclasses import fields
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.life import CardLife, chance_that_k_of_n_last, life_figures
from edgestore.models.life.chances import LifeFigures


def test_each_figure_is_the_one_that_its_name_says():
    card = CardLife(
        8, failed_at_endurance=0.3, wear_shape=2.5, random_per_year=0.02, early_fraction=0.05, early_mean_years=0.3
    )
    figures = life_figures(
        5,
        8,
        failed_at_endurance=0.3,
        wear_shape=2.5,
        random_per_year=0.02,
        early_fraction=0.05,
        early_mean_years=0.3,
        age_years=2,
    )
    assert figures == LifeFigures(
        chance_of_lasting=card.chance_of_lasting(5, 2),
        mean_residual_years=card.mean_residual_years(2),
        hazard_per_year=card.hazard_per_year(2),
        mean_life_years=card.mean_life_years(),
        b1_years=card.life_quantile_years(0.01),
        b10_years=card.life_quantile_years(0.1),
        b50_years=card.life_quantile_years(0.5),
    )
    assert all(isinstance(getattr(figures, field.name), float) for field in fields(figures))


def test_without_weak_cards_or_random_failures_half_are_worn_out_at_the_endurance():
    assert life_figures(8, 8).chance_of_lasting == pytest.approx(0.5, rel=1e-13)
    assert life_figures(8, 8).b50_years == pytest.approx(8, rel=1e-13)


def test_figures_of_several_cards_stand_in_rows():
    figures = life_figures(5, [4.0, 8.0, 16.0])
    assert figures.chance_of_lasting.shape == (3,)
    assert np.all(np.diff(figures.chance_of_lasting) > 0)


@pytest.mark.parametrize(
    ("bad", "message"),
    [
        ({"asked_years": -1}, "^asked_years: is -1 years; must be 0 or more years"),
        ({"age_years": float("nan")}, "age_years: is nan"),
        ({"wear_life_years": 0}, "wear_life_years: is 0"),
        ({"early_fraction": 5}, "early_fraction: is 5"),
        ({"law": "gamma"}, "law: is 'gamma'"),
    ],
)
def test_a_bad_number_is_refused_by_name(bad, message):
    with pytest.raises(InputError, match=message):
        life_figures(**({"asked_years": 5, "wear_life_years": 8} | bad))


@pytest.mark.parametrize("chance", [0.0, 0.3, 0.9, 1.0])
@pytest.mark.parametrize("n", [1, 2, 4])
def test_k_of_n_is_the_sum_over_all_ways_to_fail(n, chance):
    for k in range(n + 1):
        ways = [way for way in product([0, 1], repeat=n) if sum(way) >= k]
        expected = sum(chance ** sum(way) * (1 - chance) ** (n - sum(way)) for way in ways)
        assert chance_that_k_of_n_last(k, n, chance) == pytest.approx(expected, abs=1e-15)


def test_18_of_20_cards_that_last_with_90_percent():
    # 190 x 0.9^18 x 0.01 + 20 x 0.9^19 x 0.1 + 0.9^20 = 0.285180 + 0.270170 + 0.121577
    assert chance_that_k_of_n_last(18, 20, 0.9) == pytest.approx(0.676927, abs=1e-6)


@given(st.integers(1, 500), st.floats(0, 1))
def test_no_card_is_always_enough_and_all_are_the_power(n, chance):
    assert chance_that_k_of_n_last(0, n, chance) == 1
    assert chance_that_k_of_n_last(n, n, chance) == pytest.approx(chance**n, rel=1e-10, abs=1e-300)
    assert chance_that_k_of_n_last(1, n, chance) == pytest.approx(1 - (1 - chance) ** n, abs=1e-12)


@given(st.integers(1, 60), st.floats(0, 1))
def test_more_cards_asked_for_are_less_likely(n, chance):
    assert np.all(np.diff(chance_that_k_of_n_last(np.arange(n + 1), n, chance)) <= 1e-15)


@pytest.mark.parametrize(
    ("k", "n", "message"),
    [
        (3, 2, "k: found more cards than n; allowed: 0 to n cards"),
        (1.5, 2, "k: is 1.5 cards; must be whole cards"),
        (1, 2.5, "n: is 2.5 cards; must be whole cards"),
        ([1, 3], [2, 2], "k: found more cards than n"),
    ],
)
def test_cards_that_cannot_be_are_refused(k, n, message):
    with pytest.raises(InputError, match=message):
        chance_that_k_of_n_last(k, n, 0.9)
