"""A law of life given as a table: what its straight lines mean, and which tables are none."""

import numpy as np
import pytest

from edgestore import InputError
from edgestore.models.life import LifeTable

EVEN = LifeTable([0, 4], [0, 1])


def test_lives_spread_evenly_have_the_moments_of_a_uniform_law():
    # Mean 4/2, variance 16/12; of those that reach 3 years the rest is spread evenly over one year.
    assert EVEN.mean_life_years() == 2
    assert EVEN.sd_life_years() == pytest.approx(np.sqrt(16 / 12), rel=1e-14)
    assert EVEN.mean_residual_years([0, 1, 3, 4, 9]) == pytest.approx([2, 1.5, 0.5, 0, 0], abs=1e-14)
    assert EVEN.mean_years_until([0, 1, 2, 4, 9]) == pytest.approx([0, 0.875, 1.5, 2, 2], abs=1e-14)
    assert EVEN.survival([0, 1, 4, 9]) == pytest.approx([1, 0.75, 0, 0])


def test_a_table_of_two_lines_is_the_mixture_of_two_uniform_laws():
    # A fifth within a year, the rest evenly from 1 to 5: mean 0.2 x 0.5 + 0.8 x 3; squares 0.2/3 + 0.8 (9 + 16/12).
    life = LifeTable([0, 1, 5], [0, 0.2, 1])
    assert life.mean_life_years() == pytest.approx(2.5, rel=1e-14)
    assert life.sd_life_years() == pytest.approx(np.sqrt(0.2 / 3 + 0.8 * (9 + 16 / 12) - 2.5**2), rel=1e-14)
    assert life.mean_residual_years(3) == pytest.approx(1, rel=1e-14)


def test_on_each_line_of_a_table_of_three_a_card_has_the_rest_of_its_area():
    # Survival 1, 0.5, 0.4, 0 at 0, 1, 3, 8 years: areas 0.75, 0.9 and 1. At 2 years 0.45 work: 0.475 lie before on this
    # line, (0.9 - 0.475 + 1) / 0.45 years are left. At 5 years 0.24: 0.64 before, 0.36 / 0.24. At 0.5 0.75: 0.4375.
    life = LifeTable([0, 1, 3, 8], [0, 0.5, 0.6, 1])
    assert life.mean_life_years() == pytest.approx(2.65, rel=1e-14)
    ages = [0.5, 1, 2, 3, 5, 8, 9]
    until = [0.4375, 0.75, 1.225, 1.65, 2.29, 2.65, 2.65]
    left = [2.2125 / 0.75, 1.9 / 0.5, 1.425 / 0.45, 1 / 0.4, 0.36 / 0.24, 0, 0]
    assert life.mean_years_until(ages) == pytest.approx(until, rel=1e-14)
    assert life.mean_residual_years(ages) == pytest.approx(left, rel=1e-13)
    # 0.5 of the lives lie evenly in 0 to 1, 0.1 in 1 to 3, 0.4 in 3 to 8: squares 1/3, 13/3 and 97/3.
    assert life.sd_life_years() == pytest.approx(np.sqrt((0.5 + 1.3 + 38.8) / 3 - 2.65**2), rel=1e-13)


def test_a_table_may_stay_level_and_nearly_fall_at_a_stroke():
    # Nobody fails before 2 years, all within 3 thousandths: a uniform law of that width.
    life = LifeTable([0, 2, 2.003], [0, 0, 1])
    assert life.sd_life_years() == pytest.approx(0.003 / np.sqrt(12), rel=1e-6)
    for width in np.geomspace(1e-9, 1e-8, 20):
        assert 0 <= LifeTable([0, 2, 2 + width], [0, 0, 1]).sd_life_years() < 1e-7


def test_a_card_that_lasts_is_one_of_those_that_have_lasted():
    assert EVEN.chance_of_lasting(1, 2) == 0.5
    assert EVEN.chance_of_lasting(1) == 0.75
    assert EVEN.chance_of_lasting([0, 1], age_years=4).tolist() == [1, 0]


def test_the_few_cards_that_are_nearly_at_the_end_last_as_the_table_says():
    # At 3.8 of 4 years 0.05 still work, at 3.9 half of these.
    assert EVEN.chance_of_lasting(0.1, 3.8) == pytest.approx(0.5, rel=1e-12)


@pytest.mark.parametrize(
    ("ages", "failed", "message"),
    [
        ([0, 1, 2], [0, 1], r"failed_fraction: found shapes \(3,\) and \(2,\); allowed: one fraction for each age"),
        ([1, 2], [0, 1], "ages_years: found ages that do not rise from 0"),
        ([0, 2, 2], [0, 0.5, 1], "ages_years: found ages that do not rise from 0"),
        ([0, 2], [0, 0.9], "failed_fraction: found fractions that do not rise from 0 to 1.*Say by which age"),
        ([0, 1, 2], [0, 0.6, 0.5], "failed_fraction: found fractions that do not rise"),
        ([0, 1, 2, 3], [0, 0.6, 0.5, 1], "failed_fraction: found fractions that do not rise"),
        ([0, 2], [0.1, 1], "failed_fraction: found fractions that do not rise"),
        ([0, 2], [0, 100], "failed_fraction: is 100; must be 0 or more and at most 1"),
        ([0, np.inf], [0, 1], "ages_years: is inf; must be 0 or more years"),
        (0, 1, r"failed_fraction: found shapes \(\) and \(\)"),
    ],
)
def test_what_is_no_law_of_life_is_refused(ages, failed, message):
    with pytest.raises(InputError, match=message):
        LifeTable(ages, failed)


def test_faults_of_both_columns_are_told_together():
    with pytest.raises(InputError) as caught:
        LifeTable([1, 2], [0, 0.5])
    assert [fault.where for fault in caught.value.faults] == ["ages_years", "failed_fraction"]
