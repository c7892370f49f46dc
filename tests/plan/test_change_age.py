"""The table of expected changes against the renewal equation of the models, which is solved for one card at a time."""

import numpy as np
import pytest

from edgestore.answers.certainty import GUESSED_LIFE
from edgestore.models.life.law import CardLife
from edgestore.models.upkeep.renewal import expected_changes, expected_replacements
from edgestore.plan.change_age import MEAN_RANDOM, change_table
from edgestore.plan.promise import SHAPES

CARDS = [
    (horizon, wear)
    for horizon, wears in ((10, (0.7, 2, 3.3, 5, 8.5, 30)), (3, (2, 9)), (25, (4, 17)))
    for wear in wears
]


def lives(wear_life_years: float) -> list[CardLife]:
    known = {**GUESSED_LIFE, "random_per_year": MEAN_RANDOM}
    return [CardLife(wear_life_years, **{**known, "wear_shape": shape}) for shape in SHAPES]


def test_random_failures_are_priced_at_their_mean_and_not_at_their_middle():
    # A lognormal law of median 0.01 with a factor of 3 to its tenth percentiles: sigma ln 3 / 1.28155 = 0.85725,
    # mean 0.01 exp(0.85725^2 / 2) = 0.01 x 1.4440.
    assert pytest.approx(0.014440, rel=1e-4) == MEAN_RANDOM


@pytest.mark.parametrize(("horizon", "wear"), CARDS)
def test_cards_used_up_are_those_of_the_renewal_equation_within_half_a_percent(horizon, wear):
    table = change_table(float(horizon))
    failures, planned = table.expected(np.array([float(wear)]))
    ages = [0, len(table.ages_years) // 3, len(table.ages_years) - 2]
    for at in ages:
        expected = [expected_changes(horizon, life, table.ages_years[at]) for life in lives(wear)]
        used = 1 + np.mean([one.failures + one.planned for one in expected])
        assert 1 + failures[0, at] + planned[0, at] == pytest.approx(used, rel=0.005)
        assert failures[0, at] == pytest.approx(np.mean([one.failures for one in expected]), abs=0.005 * used)
    left = np.mean([expected_replacements(horizon, life) for life in lives(wear)])
    assert 1 + failures[0, -1] == pytest.approx(1 + left, rel=0.005)
    assert planned[0, -1] == 0


def test_a_card_that_does_not_wear_fails_at_random_and_when_weak():
    # In 10 years 0.0144 a year make 0.144 failures, and the weak 1 % one more each: some 0.154 in all.
    failures, planned = change_table(10.0).expected(np.array([1e6]))
    assert failures[0, -1] == pytest.approx(0.154, abs=0.003)
    assert planned[0, -1] == 0


def test_a_change_that_falls_due_at_the_end_of_the_horizon_is_not_made():
    # A card that hardly fails, changed every 2.5 years in 10: at 2.5, 5 and 7.5.
    table = change_table(10.0)
    _, planned = table.expected(np.array([1e6]))
    at = int(np.flatnonzero(table.ages_years == 2.5)[0])
    assert planned[0, at] == pytest.approx(3, abs=0.15)


@pytest.mark.parametrize(("horizon", "step"), [(10.0, 0.25), (15.0, 0.25), (15.5, 0.5), (50.0, 1.0), (0.2, 0.25)])
def test_ages_are_whole_quarters_and_no_more_than_sixty(horizon, step):
    table = change_table(horizon)
    assert table.step_years == step
    assert len(table.ages_years) <= 61
    assert np.isinf(table.ages_years[-1])
    assert (table.ages_years[:-1] < horizon).all()
