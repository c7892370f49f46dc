"""The table of expected changes against the renewal equation of the models, which is solved for one card at a time."""

import numpy as np
import pytest

from edgestore.inputs.beliefs import Beliefs
from edgestore.models.life.law import CardLife
from edgestore.models.upkeep.renewal import expected_changes, expected_replacements
from edgestore.plan.card_life import known_before
from edgestore.plan.change_age import CostsByAge, age_step_years, change_table, renewed_by_endurance
from edgestore.plan.change_age import expected_changes as expected_changes_of_kinds

CARDS = [
    (horizon, wear)
    for horizon, wears in ((10, (0.7, 2, 3.3, 5, 8.5, 30)), (3, (2, 9)), (25, (4, 17)))
    for wear in wears
]


MEDIAN = known_before(Beliefs.stated({"stated_endurance": (1.0, 1.0)}, "a stated endurance is a median"))


def lives(wear_life_years: float, random_per_year: float = 0.01444, weak: float = 0.01) -> list[CardLife]:
    """Weibull shapes of 2 to 4, in three middles."""
    return [
        CardLife(wear_life_years, wear_shape=shape, random_per_year=random_per_year, early_fraction=weak)
        for shape in (7 / 3, 3, 11 / 3)
    ]


def test_random_failures_are_priced_at_their_mean_and_not_at_their_middle():
    # A lognormal law of median 0.01 with a factor of 3 to its tenth percentiles: sigma ln 3 / 1.28155 = 0.85725,
    # mean 0.01 exp(0.85725^2 / 2) = 0.01 x 1.4440.
    assert known_before(Beliefs()).mean_random_per_year == pytest.approx(0.014440, rel=1e-4)


@pytest.mark.parametrize(("horizon", "wear"), CARDS)
def test_cards_used_up_are_those_of_the_renewal_equation_within_half_a_percent(horizon, wear):
    table = change_table(float(horizon), MEDIAN)
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


@pytest.mark.parametrize(("random", "weak"), [(0.05, 0.01), (0.25, 0.01), (0.01444, 0.1)])
def test_more_random_failures_and_weak_cards_are_those_of_the_renewal_equation_within_two_percent(random, weak):
    ends = {"stated_endurance": (1.0, 1.0), "random_per_year": (random, random), "weak_fraction": (weak, weak)}
    table = change_table(10.0, known_before(Beliefs.stated(ends, "known")))
    for wear in (2.0, 5.0, 30.0):
        failures, planned = table.expected(np.array([wear]))
        for at in (7, 19):
            expected = [expected_changes(10, life, table.ages_years[at]) for life in lives(wear, random, weak)]
            used = 1 + np.mean([one.failures + one.planned for one in expected])
            assert 1 + failures[0, at] + planned[0, at] == pytest.approx(used, rel=0.02)


def test_an_endurance_known_as_a_range_gives_the_mean_over_it():
    # Five points of equal chance of the lognormal law: 2.8 to the powers 0.5 + z / 2.563, z from tables.
    reached = 2.8 ** (0.5 + np.array([-1.2816, -0.5244, 0.0, 0.5244, 1.2816]) / 2.563)
    table, known = change_table(10.0, known_before(Beliefs())), change_table(10.0, MEDIAN)
    for wear in (2.0, 6.0):
        found, expected = (
            sum(one).mean(axis=0) for one in (table.expected(np.array([wear])), known.expected(wear * reached))
        )
        np.testing.assert_allclose(1 + found, 1 + expected, rtol=0.02)


def test_a_card_that_does_not_wear_fails_at_random_and_when_weak():
    # In 10 years 0.0144 a year make 0.144 failures, and the weak 1 % one more each: some 0.154 in all.
    failures, planned = change_table(10.0, MEDIAN).expected(np.array([1e6]))
    assert failures[0, -1] == pytest.approx(0.154, abs=0.003)
    assert planned[0, -1] == 0


def test_a_change_that_falls_due_at_the_end_of_the_horizon_is_not_made():
    # A card that hardly fails, changed every 2.5 years in 10: at 2.5, 5 and 7.5.
    table = change_table(10.0, MEDIAN)
    _, planned = table.expected(np.array([1e6]))
    at = int(np.flatnonzero(table.ages_years == 2.5)[0])
    assert planned[0, at] == pytest.approx(3, abs=0.15)


@pytest.mark.parametrize(("horizon", "step"), [(10.0, 0.25), (15.0, 0.25), (15.5, 0.5), (50.0, 1.0), (0.2, 0.25)])
def test_ages_are_whole_quarters_and_no_more_than_sixty(horizon, step):
    table = change_table(horizon, MEDIAN)
    assert table.step_years == step
    assert len(table.ages_years) <= 61
    assert np.isinf(table.ages_years[-1])
    assert (table.ages_years[:-1] < horizon).all()


def test_ages_are_tried_by_the_quarter_up_to_fifteen_years_and_at_most_sixty_of_them():
    assert [age_step_years(horizon) for horizon in (1, 15, 15.25, 30, 30.25)] == [0.25, 0.25, 0.5, 0.5, 0.75]


def by_age(cost, horizon=1.0) -> CostsByAge:
    """Costs of one camera with cards in the rows, changed at 0.25, 0.5 and 0.75 years or never."""
    costs = np.array([cost], dtype=float)
    return CostsByAge(np.array([0.25, 0.5, 0.75, np.inf]), horizon, 10 * costs, 100 * costs, costs)


@pytest.mark.parametrize(
    ("latest", "life", "number"),
    [
        (0.75, 0.25, 0),  # all but never: the cheapest is the first
        (0.75, 0.5, 1),  # from the life that is asked on, which is allowed itself
        (0.5, 0.5, 1),  # and to the latest age, which is allowed too
        (0.75, 0.75, 2),
        (1.0, 0.75, 2),  # to the end of the horizon: never is allowed, and dearer
        (0.9, 1.0, 3),  # as long as the horizon is asked: no change is wanted, whatever is left
        (0.9, 2.0, 3),
    ],
)
def test_the_age_of_least_cost_lies_between_the_life_asked_and_the_latest_age(latest, life, number):
    costs = by_age([[1, 2, 3, 4]])
    assert costs.at(np.array([[latest]]), np.array([life])).tolist() == [[number]]


def test_a_card_of_each_row_has_its_own_best_age_and_what_goes_with_it():
    costs = by_age([[4, 3, 2, 5], [9, 6, 7, 1]])
    age, failures, planned, cost = costs.best(np.array([[1.0, 0.75]]), np.array([0.25]))
    assert (age.tolist(), cost.tolist()) == ([[0.75, 0.5]], [[2, 6]])
    assert (failures.tolist(), planned.tolist()) == ([[20, 60]], [[200, 600]])
    # Never, within a horizon of a year, is an age of as much as is left: the latest.
    assert costs.best(np.array([[1.0, 1.25]]), np.array([0.25]))[0, 0].tolist() == [0.75, 1.25]
    # Whatever is left: the second card is cheapest never changed.
    assert costs.least(np.array([0.25])).tolist() == [[[20, 10]], [[2, 1]]]


def test_a_wear_life_beyond_the_ends_of_the_table_is_that_of_the_end():
    # 0.01 and 30 horizons of 10 years.
    table = change_table(10.0, MEDIAN)
    for inside, beyond in ((0.1, 0.001), (300.0, 1e9)):
        for one, other in zip(table.expected(np.array([inside])), table.expected(np.array([beyond])), strict=True):
            assert one == pytest.approx(other)


def test_cards_of_two_kinds_have_their_own_tables_whatever_their_order():
    # 0.1 failures a year and none: cards that do not wear, in 10 years, of which 1 % is weak.
    often, never = (
        known_before(Beliefs.stated({"stated_endurance": (1, 1), "random_per_year": (rate, rate)}, "known"))
        for rate in (0.1, 1e-9)
    )
    ages, failures, planned = expected_changes_of_kinds(10.0, np.full((3, 2), 1e6), [never, often, never])
    assert ages[[0, -1]].tolist() == [0.25, np.inf]
    # 0.1 x 10 and 1 % of the first card and of those that follow; 1 % of the first alone.
    assert failures[:, 0, -1] == pytest.approx([0.0101, 1.02, 0.0101], abs=0.003)
    assert planned[:, :, -1].tolist() == [[0, 0]] * 3
    # Of one that is never changed as many are renewed as fail, whatever endurance it has.
    renewed = renewed_by_endurance(10.0, never, np.array([1e6]), np.array([len(ages) - 1]))
    assert renewed.ravel() == pytest.approx(np.full(renewed.size, 0.0101), abs=0.003)
    # Changed each quarter: 39 changes, but for the weak ones among them that fail before, 0.6 %.
    assert 38.7 < planned[0, 0, 0] < 39


def test_a_share_of_weak_cards_beyond_99_percent_counts_as_99():
    # N cards are fitted where 1 % is weak, 99 N where 99 % is: 0.99 / 0.01.
    weak = [known_before(Beliefs.stated({"weak_fraction": (share, share)}, "known")) for share in (0.99, 0.999)]
    fitted = [1 + sum(part[0, -1] for part in change_table(3.0, kind).expected(np.array([1e6]))) for kind in weak]
    assert fitted[0] == pytest.approx(fitted[1])
    usual = known_before(Beliefs.stated({"weak_fraction": (0.01, 0.01)}, "known"))
    assert fitted[0] == pytest.approx(
        99 * (1 + sum(part[0, -1] for part in change_table(3.0, usual).expected(np.array([1e6])))), rel=1e-6
    )


def test_random_failures_near_those_of_a_table_are_not_taken_for_them():
    # 0.105 a year, of cards that do not wear: 1.05 in 10 years, and of the 2.05 fitted 1 % is weak: 1.071, not 1.02.
    kind = known_before(Beliefs.stated({"stated_endurance": (1, 1), "random_per_year": (0.105, 0.105)}, "known"))
    failures, _ = change_table(10.0, kind).expected(np.array([1e6]))
    assert failures[0, -1] == pytest.approx(1.071, abs=0.005)


def at_random(rate: float, **stated):
    """A kind whose stated endurance is its median, that fails at a known rate a year."""
    ends = {"stated_endurance": (1, 1), "random_per_year": (rate, rate)} | stated
    return known_before(Beliefs.stated(ends, "known"))


@pytest.mark.parametrize(
    ("rate", "counted", "within"),
    [
        (0.005, 0.005, 5e-4),  # between none and 0.01444, nearer to none
        (0.0152, 0.0152, 5e-4),  # not the 0.01444 of the next table
        (1.0, 1.0, 0.007),  # half-way, as it is
        (4.0, 2.5, 0.007),  # beyond the last table it is that of the last
    ],
)
def test_random_failures_are_counted_at_their_own_rate_up_to_that_of_the_last_table(rate, counted, within):
    # Of cards that do not wear, in 2 years: twice the rate, and of all that are fitted 1 % is weak: one in 99 more,
    # which take a part of the time themselves: 0.6 % fewer where many fail.
    table = change_table(2.0, at_random(rate))
    failures, _ = table.expected(np.array([1e6]))
    assert 1 + failures[0, -1] == pytest.approx((1 + 2 * counted) / 0.99, rel=within)
    assert table.step_years == 0.25


def test_of_cards_half_of_which_are_weak_one_more_is_renewed_whatever_the_endurance():
    # Before each that works there is one weak one in the mean: half, a quarter and so on.
    kind = at_random(1e-9, weak_fraction=(0.5, 0.5))
    renewed = renewed_by_endurance(2.0, kind, np.array([1e6]), np.array([7]))  # never changed
    assert renewed.ravel() == pytest.approx(np.full(renewed.size, 1.0), abs=0.003)


@pytest.mark.parametrize("horizon", [2.0, float(np.nextafter(2.0, 3.0)), 2 - 1e-11])
def test_the_latest_planned_age_is_a_quarter_before_the_end_whatever_the_rounding(horizon):
    assert change_table(horizon, MEDIAN).ages_years.tolist() == [0.25, 0.5, 0.75, 1, 1.25, 1.5, 1.75, np.inf]


def test_a_horizon_that_ends_soon_after_a_planned_change_has_that_change():
    # It ends 18 days after five years: 0.99 e^(-5 x 0.01444) = 0.9210 of the cards that never wear are changed then,
    # and those after one that failed in the first 0.05 years, 0.01 (1 - e^(-0.05 / 0.25)) + 0.0007.
    ages, _, planned = expected_changes_of_kinds(5.05, np.array([[1e6]]), [known_before(Beliefs())])
    assert ages.tolist() == [*(np.arange(1, 21) / 4).tolist(), np.inf]
    assert planned[0, 0, 19] == pytest.approx(0.9210 * (1 + 0.0018 + 0.0007), rel=0.005)
