"""Renewals against tables, closed forms and simulation; and what every law must do."""

from math import exp, gamma

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore import InputError
from edgestore.models.life import CardLife, LifeTable
from edgestore.models.upkeep import expected_changes, expected_replacements, long_run_replacements
from edgestore.models.upkeep.renewal import RenewalCurve

AT_SCALE = 1 - np.exp(-1)
EVEN = LifeTable([0, 4], [0, 1])
LIVES = st.builds(
    CardLife,
    wear_life_years=st.floats(1, 20),
    wear_shape=st.floats(0.7, 6),
    random_per_year=st.floats(0, 0.2),
    early_fraction=st.floats(0, 0.2),
    early_mean_years=st.floats(0.1, 1),
)


def weibull(shape, mean: float = 1.0, **more) -> CardLife:
    return CardLife(mean / gamma(1 + 1 / shape), failed_at_endurance=AT_SCALE, wear_shape=shape, **more)


def simulated_changes(card: CardLife, years: float, change_years: float, age_years: float = 0.0, runs: int = 200_000):
    """Live through many cameras with seeded random lives; give failures and planned changes of each."""
    rng = np.random.default_rng(20261125)
    ages = np.linspace(0, card.life_quantile_years(1 - 1e-9), 100_001)  # lives by straight lines between these ages
    failed_by = 1 - card.survival(ages)
    survived = card.survival(age_years)
    now = np.interp(1 - survived * rng.random(runs), failed_by, ages) - age_years
    failed, planned = np.zeros(runs), np.zeros(runs)
    due, now = now >= change_years, np.minimum(now, change_years)
    while np.any(running := now < years - 1e-12):
        planned += running & due
        failed += running & ~due
        life = np.interp(rng.random(runs), failed_by, ages)
        due, now = life >= change_years, now + np.minimum(life, change_years)
    return failed, planned


def within_3_standard_errors(value: float, sample: np.ndarray) -> bool:
    return abs(value - sample.mean()) <= 3 * sample.std() / np.sqrt(len(sample))


@pytest.mark.parametrize(
    ("shape", "years", "printed", "digit"),
    [
        # Tijms, Table 8.1.1: Weibull of mean 1 and squared coefficients of variation 0.25 and 2.
        (2.10135, [0.4, 1], [0.1087, 0.6091], 0.0001),
        (2.10135, [1.5, 2.5], [1.124, 2.125], 0.001),
        (0.72090, [1, 2, 5], [1.357, 2.428, 5.485], 0.001),
    ],
)
def test_the_published_table_of_weibull_renewals(shape, years, printed, digit):
    # Half a digit, and what rounding the shape to five digits does.
    assert expected_replacements(years, weibull(shape)) == pytest.approx(np.array(printed), abs=0.6 * digit)


def test_erlang_2_lives_have_their_closed_form():
    # Rate 1: m(t) = t/2 - 1/4 + exp(-2t)/4, so m(4) = 1.75 + exp(-8)/4. The table's straight lines cost some 1e-6.
    ages = np.linspace(0, 40, 4001)
    failed = 1 - np.exp(-ages) * (1 + ages)
    failed[-1] = 1
    assert expected_replacements(4, LifeTable(ages, failed)) == pytest.approx(1.75 + exp(-8) / 4, abs=1e-5)


@given(st.floats(0.01, 50), st.floats(0, 50), st.floats(0, 30))
def test_random_failures_come_evenly_whatever_the_age_of_the_card(mean, years, age):
    years = min(years, 99 * mean)
    card = CardLife(mean, failed_at_endurance=AT_SCALE, wear_shape=1)
    assert expected_replacements(years, card, age) == pytest.approx(years / mean, rel=1e-9)


def test_lives_spread_evenly_have_their_closed_form():
    # In the first four years m' = (1 + m)/4.
    years = np.array([0.01, 1, 2, 3, 4])
    assert expected_replacements(years, EVEN) == pytest.approx(np.expm1(years / 4), rel=1e-8)


def test_200_new_cards_fail_in_each_of_five_years():
    # Weibull of shape 3 and scale 5 years; solved on a grid and simulated apart from this library.
    by_year = 200 * np.diff(
        expected_replacements(np.arange(6), CardLife(5, failed_at_endurance=AT_SCALE, wear_shape=3))
    )
    assert by_year == pytest.approx([1.594, 10.845, 26.858, 43.183, 51.985], abs=0.0006)


@pytest.mark.slow
def test_a_first_card_that_is_old_fails_sooner_as_simulated():
    card = CardLife(8, failed_at_endurance=0.5, wear_shape=3, random_per_year=0.02, early_fraction=0.05)
    for age, years in ((0, 12), (5, 3), (5, 15)):
        failed, _ = simulated_changes(card, years, np.inf, age)
        assert within_3_standard_errors(expected_replacements(years, card, age), failed), (age, years)


def test_the_limit_is_reached_after_many_lives_and_negative_at_first():
    card = weibull(2.10135)
    assert long_run_replacements(0, card) == pytest.approx(-0.375, abs=1e-5)
    assert expected_replacements(0, card) == 0
    assert expected_replacements(10, card) == pytest.approx(long_run_replacements(10, card), abs=1e-6)


def test_a_shape_below_1_nears_the_limit_too():
    card = weibull(0.72090)
    assert expected_replacements(30, card) == pytest.approx(long_run_replacements(30, card), abs=5e-4)


@pytest.mark.parametrize("shape", [20, 100])
def test_lives_that_hardly_scatter_fail_all_together(shape):
    card = weibull(shape)
    assert expected_replacements([0.7, 1.5, 2.5], card) == pytest.approx([0, 1, 2], abs=2e-3)


@pytest.mark.parametrize(("sum_of_lives", "chance"), [(1, 1 / 24), (2, 12 / 24), (3, 23 / 24)])
def test_the_fourth_of_lives_that_hardly_scatter_ends_as_four_even_numbers_add_up(sum_of_lives, chance):
    # Lives evenly from 0.99 to 1.01 years; of four such numbers from 0 to 1 the sum is at most 1, 2, 3 with these
    # chances (Irwin and Hall). Three have failed by then, and none has a fifth card that fails.
    card = LifeTable([0, 0.99, 1.01], [0, 0, 1])
    assert expected_replacements(4 * 0.99 + 0.02 * sum_of_lives, card) == pytest.approx(3 + chance, abs=2e-4)


def test_lives_that_do_not_scatter_at_all_are_counted_one_by_one():
    card = LifeTable([0, 1, 1 + 1e-9], [0, 0, 1])
    assert card.sd_life_years() == 0
    assert expected_replacements([0, 0.5, 1.5, 5.5], card) == pytest.approx([0, 0, 1, 5], abs=2e-3)
    assert expected_replacements(0, card) == 0


@pytest.mark.parametrize("shape", [1.5, 3, 8])
def test_the_counts_are_a_solution_of_the_renewal_equation(shape):
    # m(t) = F(t) + the integral of m(t - x) f(x) dx, with x = t u^2: 80 points of Gauss and Legendre, scipy's law.
    law, t = stats.weibull_min(shape, scale=1 / gamma(1 + 1 / shape)), 2.3
    points, weights = np.polynomial.legendre.leggauss(80)
    u = (1 + points) / 2
    m = expected_replacements(t - t * np.append(u, 0) ** 2, weibull(shape))
    integral = np.sum(weights / 2 * m[:-1] * law.pdf(t * u**2) * 2 * t * u)
    assert m[-1] == pytest.approx(law.cdf(t) + integral, rel=2e-7)


def test_a_hundred_mean_lives_are_counted_and_no_more():
    # Mean 2 years, variance 4/3: t / 2 + (1/3 - 1) / 2.
    assert expected_replacements([1, 200], EVEN)[1] == pytest.approx(100 - 1 / 3, abs=1e-6)
    with pytest.raises(InputError, match="at most 100"):
        expected_replacements([1, 200.1], EVEN)


@pytest.mark.parametrize("cards", [EVEN, CardLife([4.0, 8.0], wear_shape=[2.0, 5.0], random_per_year=0.02)])
def test_a_curve_solved_once_gives_at_each_time_what_is_solved_for_it(cards):
    longest = 2.5 * np.asarray(cards.mean_life_years())
    curve = RenewalCurve(cards, longest)
    for share in (0, 0.003, 0.0102, 0.31, 0.7777, 0.9951, 1):
        assert curve.at(share * longest) == pytest.approx(expected_replacements(share * longest, cards), abs=3e-6)
    many = np.multiply.outer([0.2, 0.55, 0.9], longest)
    assert curve.at(many) == pytest.approx(expected_replacements(many, cards), abs=3e-6)


@pytest.mark.parametrize(("shape", "apart"), [(8, 5e-6), (0.7, 1.2e-5)])
def test_a_curve_solved_once_is_hardly_less_exact_between_its_steps(shape, apart):
    card, longest = weibull(shape, 2), np.asarray(5.0)
    times = np.linspace(0, longest, 37)
    assert RenewalCurve(card, longest).at(times) == pytest.approx(expected_replacements(times, card), abs=apart)


@given(LIVES, st.floats(0.5, 20))
def test_replacements_rise_with_time_and_lie_between_one_failure_and_their_bound(card, years):
    times = np.linspace(0, years, 25)
    counts = expected_replacements(times, card)
    assert np.all(np.diff(counts) >= -1e-6)
    # Barlow and Proschan: at least F(t), and at most F/(1 - F).
    failed = 1 - card.survival(times)
    assert np.all(counts >= failed - 1e-5)
    assert np.all(counts * (1 - failed) <= failed + 1e-5)


@given(LIVES)
def test_the_rate_of_replacements_nears_one_a_mean_life(card):
    mean = card.mean_life_years()
    early, late = expected_replacements(np.array([30, 31]) * mean, card)
    assert late - early == pytest.approx(1, abs=0.02)


@given(LIVES, st.floats(0.1, 20), st.floats(0.01, 100))
def test_a_change_of_the_unit_of_time_changes_nothing(card, years, unit):
    fields = {name: getattr(card, name) for name in ("wear_shape", "early_fraction")}
    other = CardLife(
        wear_life_years=card.wear_life_years * unit,
        random_per_year=card.random_per_year / unit,
        early_mean_years=card.early_mean_years * unit,
        **fields,
    )
    assert expected_replacements(years * unit, other) == pytest.approx(expected_replacements(years, card), rel=1e-7)
    changed = expected_changes(years, card, years / 2.5)
    other_changed = expected_changes(years * unit, other, years * unit / 2.5)
    assert other_changed.failures == pytest.approx(changed.failures, rel=1e-6)
    assert other_changed.planned == pytest.approx(changed.planned, rel=1e-6)


def test_many_cards_and_times_give_what_each_alone_gives():
    cards = CardLife([4.0, 8.0, 16.0], wear_shape=[2.0, 3.0, 5.0], random_per_year=0.02)
    years, ages = np.array([[2.0], [11.0]]), np.array([0.0, 1.0, 2.0])
    together = expected_replacements(years, cards, ages)
    assert together.shape == (2, 3)
    for i, j in np.ndindex(2, 3):
        one = CardLife(cards.wear_life_years[j], wear_shape=cards.wear_shape[j], random_per_year=0.02)
        assert together[i, j] == pytest.approx(expected_replacements(years[i, 0], one, ages[j]), rel=1e-5)


@pytest.mark.parametrize(("years", "change"), [(3, 5), (10, 5), (10, 3), (12, 2.2), (25, 4.93)])
@pytest.mark.slow
def test_changes_at_an_age_are_as_simulated(years, change):
    card = CardLife(8, failed_at_endurance=0.5, wear_shape=2.5, random_per_year=0.02, early_fraction=0.03)
    found = expected_changes(years, card, change)
    failed, planned = simulated_changes(card, years, change)
    assert within_3_standard_errors(found.failures, failed)
    assert within_3_standard_errors(found.planned, planned)


def test_changes_of_lives_spread_evenly_have_their_closed_form():
    # Changed at 2: y = 1 + failures has y' = y/4 up to 2, then y' = y/4 - exp((t - 2)/4)/8.
    found = expected_changes([2, 3], EVEN, 2)
    assert found.failures == pytest.approx([exp(0.5) - 1, exp(0.75) - exp(0.25) / 8 - 1], rel=1e-7)
    assert found.planned == pytest.approx([0, exp(0.25) / 2], rel=1e-7)


@pytest.mark.parametrize(
    ("years", "change"), [(12, 2.2), (4.1, 2), (7.7, 0.7), (4, 2), (2, 0.021), (100, 1), ([3, 5.2, 9], [2.5, 0.4, 8])]
)
def test_planned_changes_between_random_failures_have_their_closed_form(years, change):
    # 0.15 failures a year, whatever the age. A card fitted at the start or after a failure sees its k-th planned change
    # with the chance exp(-0.15 k a), and 1 + 0.15 (t - k a) cards are fitted so soon that it falls before the end t.
    found = expected_changes(years, CardLife(1 / 0.15, failed_at_endurance=AT_SCALE, wear_shape=1), change)
    planned = [
        sum(exp(-0.15 * k * a) * (1 + 0.15 * (t - k * a)) for k in range(1, 101) if k * a < t - 1e-9)
        for t, a in zip(np.atleast_1d(years), np.atleast_1d(change), strict=True)
    ]
    assert np.atleast_1d(found.planned) == pytest.approx(planned, rel=1e-8)
    assert np.atleast_1d(found.failures) == pytest.approx(0.15 * np.atleast_1d(years), rel=1e-8)


def test_a_planned_age_beyond_the_time_changes_nothing():
    card = CardLife(8, random_per_year=0.02)
    found = expected_changes([0, 5, 12], card, [1, 5, 50])
    assert found.failures == pytest.approx(expected_replacements([0, 5, 12], card), rel=1e-7)
    assert found.planned.tolist() == [0, 0, 0]


def test_a_change_due_at_the_very_end_but_for_rounding_is_not_made():
    # Seven times a tenth is 0.7 and a rounding more.
    assert 7 * 0.1 > 0.7
    changes = expected_changes(7 * 0.1, CardLife(10, random_per_year=0.1), 0.7)
    assert changes.planned == 0


def test_cards_that_never_fail_are_changed_on_time_but_not_at_the_very_end():
    found = expected_changes(10, CardLife(1e9), [2.5, 3, 10, 11])
    assert found.planned == pytest.approx([3, 3, 0, 0], abs=1e-12)
    assert found.failures == pytest.approx(0, abs=1e-12)
    assert expected_replacements(10, CardLife(1e9)) == pytest.approx(0, abs=1e-12)


@given(LIVES, st.floats(0.3, 10))
def test_of_a_long_time_the_changes_take_the_mean_stay_each(card, change):
    years = 40 * min(change, card.mean_life_years())
    found = expected_changes(years, card, change)
    stay = card.mean_years_until(change)
    assert found.failures + found.planned == pytest.approx(years / stay, abs=1.05 + 0.01 * years / stay)
    failed = 1 - card.survival(change)
    assert found.failures == pytest.approx(failed * years / stay, abs=1.05 + 0.01 * years / stay)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: expected_replacements(-1, EVEN), "years: is -1 years; must be 0 or more years"),
        (lambda: expected_replacements(np.inf, EVEN), "years: is inf; must be 0 or more years"),
        (lambda: expected_replacements(1, EVEN, np.nan), "age_years: is nan"),
        (lambda: expected_replacements(10, CardLife(1e-6)), "mean lives of the card; allowed: at most 100.*long_run"),
        (lambda: expected_replacements([1, 2], CardLife([1, 2, 3.0])), "shapes: found years"),
        (lambda: long_run_replacements("4", EVEN), "years: is '4'"),
        (lambda: expected_changes(1, EVEN, 0), "change_years: is 0 years; must be above 0 years"),
        (lambda: expected_changes(10, EVEN, 0.01), "change_years: is 0.01 years; must be 0.01 of the time or more"),
        (lambda: expected_changes([1, 2], EVEN, [1, 2, 3]), "shapes: found years"),
        (lambda: expected_changes([4, 10], EVEN, [5, 0.09]), "change_years: is 0.09 years"),
    ],
)
def test_what_cannot_be_counted_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()


def test_an_old_card_of_a_table_that_has_ended_fails_at_once():
    assert expected_replacements(1, EVEN, 4) == pytest.approx(np.exp(0.25), rel=1e-3)


def test_of_cards_that_mostly_come_dead_each_that_works_costs_ten():
    # Nine in ten fail at once, the others live evenly from 0 to 4 years. Of those that work exp(t / 4) are fitted up to
    # t, each after nine dead ones in the mean: 10 exp(1 / 2) cards up to 2 years, of which the last has not failed.
    mostly_dead = LifeTable([0, 1e-9, 4], [0, 0.9, 1])
    assert expected_replacements(2, mostly_dead) == pytest.approx(10 * exp(0.5) - 1, rel=5e-4)
