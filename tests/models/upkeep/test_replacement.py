"""The age at which a card is changed, against published optima, closed forms, scipy, and what prices must do."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats
from scipy.integrate import quad

from edgestore import InputError
from edgestore.models.life import CardLife, LifeTable
from edgestore.models.upkeep import best_change_years, cost_per_year_for_change, expected_changes, next_change_years
from edgestore.models.upkeep._interval import LivedCurve

AT_SCALE = 1 - np.exp(-1)
EVEN = LifeTable([0, 40_000], [0, 1])
LIVES = st.builds(
    CardLife,
    wear_life_years=st.floats(1, 20),
    wear_shape=st.floats(1.5, 6),
    random_per_year=st.floats(0, 0.1),
    early_fraction=st.floats(0, 0.2),
    early_mean_years=st.floats(0.1, 1),
)


def test_the_published_costs_of_lives_spread_evenly():
    # Jardine and Tsang, chapter 2: uniform up to 40 000 km, planned 100, after a failure 200.
    costs = cost_per_year_for_change([10_000, 20_000, 30_000, 40_000], EVEN, planned_cost=100, failure_cost=200)
    assert costs == pytest.approx([0.0143, 0.01, 0.0093, 0.01], abs=5e-5)


def test_the_best_age_of_lives_spread_evenly_is_a_square_root():
    # (100 + 100 x) / (40 000 (x - x^2/2)), x the share of 40 000: least at x^2 + 2 x = 2.
    best = best_change_years(EVEN, planned_cost=100, failure_cost=200)
    assert best.interval_years == pytest.approx(40_000 * (np.sqrt(3) - 1), rel=1e-6)
    assert best.never_cost_per_year == pytest.approx(0.01, rel=1e-12)


def test_the_best_age_of_a_published_weibull_law():
    # Weibull(2.5, 1000), 1 to 5: scipy's quad and minimize_scalar give 493.0470 and 0.003462043.
    best = best_change_years(
        CardLife(1000, failed_at_endurance=AT_SCALE, wear_shape=2.5), planned_cost=1, failure_cost=5
    )
    assert best.interval_years == pytest.approx(493.047, abs=5e-4)
    assert best.cost_per_year == pytest.approx(0.003462043, abs=5e-10)


@given(LIVES, st.floats(0.1, 30))
def test_the_cost_is_mean_cost_over_mean_stay_by_plain_integration(card, age):
    stay = quad(card.survival, 0, age, epsabs=0, epsrel=1e-10, limit=200)[0]
    assert card.mean_years_until(age) == pytest.approx(stay, rel=1e-6)
    left = card.survival(age)
    expected = (100 * left + 300 * (1 - left)) / stay
    assert cost_per_year_for_change(age, card, planned_cost=100, failure_cost=300) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("shape", [0.5, 3, 20])
def test_the_summed_curve_of_a_life_is_its_integral(shape):
    card = CardLife(8.0, wear_shape=shape, random_per_year=0.02, early_fraction=0.02)
    curve = LivedCurve(card, np.array(1e-3), np.array(100.0))
    ages = np.array([0.0015, 0.1, 1.0, 7.0, 8.5, 60.0])
    lived = [quad(card.survival, 0, age, epsabs=0, epsrel=1e-10, limit=200, points=[age / 8])[0] for age in ages]
    assert curve.at(ages) == pytest.approx(lived, rel=1e-7)


@given(LIVES, st.floats(1, 1000), st.floats(0, 1e4))
def test_no_other_age_costs_less_than_the_best(card, planned, failure):
    best = best_change_years(card, planned_cost=planned, failure_cost=failure)
    ages = card.mean_life_years() * np.geomspace(1e-3, 20, 500)
    assert np.all(
        cost_per_year_for_change(ages, card, planned_cost=planned, failure_cost=failure)
        >= best.cost_per_year * (1 - 1e-8)
    )
    assert best.never_cost_per_year * (1 + 1e-12) >= best.cost_per_year
    if np.isfinite(best.interval_years):
        at_best = cost_per_year_for_change(best.interval_years, card, planned_cost=planned, failure_cost=failure)
        assert at_best == pytest.approx(best.cost_per_year, rel=1e-9)


@given(st.floats(1, 20), st.floats(1.5, 6), st.floats(1.2, 20), st.floats(1.1, 10))
def test_the_dearer_a_failure_the_earlier_the_change(life, shape, failure, factor):
    card = CardLife(life, wear_shape=shape)
    early, late = best_change_years(card, planned_cost=1, failure_cost=[failure * factor, failure]).interval_years
    assert early <= late * (1 + 1e-6)


@given(LIVES, st.floats(1, 100), st.floats(1, 1000), st.floats(0.01, 100))
def test_a_change_of_currency_moves_no_date(card, planned, failure, rate):
    assume(failure > 1.5 * planned)
    best, other = (best_change_years(card, planned_cost=planned * by, failure_cost=failure * by) for by in (1, rate))
    assert other.cost_per_year == pytest.approx(best.cost_per_year * rate, rel=1e-9)
    assert other.interval_years == pytest.approx(best.interval_years, rel=1e-4)


def test_no_age_below_a_ten_thousandth_of_the_mean_life_is_looked_at():
    # Where a failure costs 1e15 changes the best age is far below it. So early 1 - R is known to few digits.
    card = CardLife([5, 8])
    best = best_change_years(card, planned_cost=1, failure_cost=1e15)
    assert best.interval_years == pytest.approx(1e-4 * card.mean_life_years(), rel=1e-3)


@pytest.mark.parametrize("shape", [0.5, 0.9, 1])
def test_cards_that_do_not_age_are_left_until_they_fail(shape):
    best = best_change_years(CardLife(5, wear_shape=shape), planned_cost=1, failure_cost=100)
    assert best.interval_years == np.inf
    assert best.cost_per_year == best.never_cost_per_year


@pytest.mark.parametrize("failure", [0, 0.5, 1])
def test_a_failure_that_costs_no_more_than_a_change_is_waited_for(failure):
    assert best_change_years(CardLife(5), planned_cost=1, failure_cost=failure).interval_years == np.inf


def test_early_failures_are_lived_through_before_wear_is_forestalled():
    # A third of the cards weak: the first hollow of the curve is not the lowest.
    best = best_change_years(
        CardLife(8, wear_shape=8, early_fraction=0.3, early_mean_years=0.05), planned_cost=1, failure_cost=20
    )
    assert 3 < best.interval_years < 8


def test_the_long_run_rate_is_what_the_counted_changes_cost():
    card, years = CardLife(8, random_per_year=0.02), 200
    found = expected_changes(years, card, 4)
    counted = (100 * found.planned + 400 * found.failures) / years
    assert counted == pytest.approx(cost_per_year_for_change(4, card, planned_cost=100, failure_cost=400), rel=0.02)


def test_a_fleet_changed_at_its_age_costs_what_simulated_cards_cost():
    card, rng = CardLife(8, random_per_year=0.02), np.random.default_rng(5)
    life = card.life_quantile_years(rng.random(200_000))
    cost, stay = np.where(life < 4, 400, 100), np.minimum(life, 4)
    rate = cost.mean() / stay.mean()
    # Of a ratio of means: the error of cost - rate x stay, over the mean stay.
    error = (cost - rate * stay).std() / stay.mean() / np.sqrt(life.size)
    assert abs(cost_per_year_for_change(4, card, planned_cost=100, failure_cost=400) - rate) <= 3 * error


def test_cards_and_prices_that_broadcast_give_a_table():
    best = best_change_years(CardLife([4.0, 8.0]), planned_cost=[[1.0], [2.0], [3.0]], failure_cost=20)
    assert best.interval_years.shape == (3, 2)
    assert best.interval_years[2, 1] == pytest.approx(
        best_change_years(CardLife(8.0), planned_cost=3, failure_cost=20).interval_years, rel=1e-6
    )


@pytest.mark.parametrize(
    "card",
    [
        CardLife(5, failed_at_endurance=0.5, wear_shape=3),
        CardLife(5, failed_at_endurance=0.5, wear_shape=0.35, law="lognormal"),
        CardLife(9, failed_at_endurance=0.1, wear_shape=0.7),
    ],
)
def test_the_next_change_of_a_new_card_is_its_quantile(card):
    assert next_change_years(card, [0.5, 0.9, 0.999]) == pytest.approx(card.life_quantile_years([0.5, 0.1, 0.001]))


def test_the_next_change_of_a_card_in_service_has_closed_forms():
    # Weibull: scale ((age/scale)^3 - ln p)^(1/3) - age.
    assert next_change_years(CardLife(5, failed_at_endurance=AT_SCALE, wear_shape=3), 0.9, 2) == pytest.approx(
        5 * ((2 / 5) ** 3 - np.log(0.9)) ** (1 / 3) - 2, rel=1e-10
    )
    # Lognormal: the age at which Phi((ln 8 - ln t)/0.35) has come down to 0.9 of what it is at 4.
    left = 0.9 * stats.norm.sf(np.log(4 / 8) / 0.35)
    expected = 8 * np.exp(0.35 * stats.norm.isf(left)) - 4
    assert next_change_years(
        CardLife(8, failed_at_endurance=0.5, wear_shape=0.35, law="lognormal"), 0.9, 4
    ) == pytest.approx(expected, rel=1e-9)


def test_while_no_card_fails_the_next_change_waits_for_the_last_moment():
    # A quarter fail in the first year, none in the next two, the others evenly in the fourth.
    card = LifeTable([0, 1, 3, 4], [0, 0.25, 0.25, 1])
    assert next_change_years(card, 0.75) == pytest.approx(3, rel=1e-12)
    assert next_change_years(card, 0.9999, 1) == pytest.approx(2 + 0.0001, rel=1e-9)


@given(LIVES, st.floats(0.01, 0.9999), st.floats(0, 30))
def test_at_the_next_change_the_chance_is_as_wanted_and_a_working_card_moves_its_date(card, chance, age):
    further = next_change_years(card, chance, age)
    assert card.chance_of_lasting(further, age) == pytest.approx(chance, rel=1e-6)
    assert age + further >= next_change_years(card, chance) - 1e-9


@given(LIVES, st.floats(0.01, 0.9999), st.floats(0.01, 0.9999))
def test_more_chance_means_an_earlier_date(card, one, other):
    low, high = sorted([one, other])
    assert next_change_years(card, high, 2.0) <= next_change_years(card, low, 2.0)


def test_instant_failure_and_none_at_all():
    assert next_change_years(CardLife(1e-9), 0.9) < 1e-9
    assert next_change_years(CardLife(1e9), 0.9) > 1e8
    assert next_change_years(LifeTable([0, 4], [0, 1]), 0.9, 4) == pytest.approx(0, abs=1e-12)
    assert best_change_years(CardLife(1e9), planned_cost=1, failure_cost=5).cost_per_year < 1e-8
    assert best_change_years(CardLife(1e-9), planned_cost=1, failure_cost=5).cost_per_year > 1e8


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: best_change_years(EVEN, planned_cost=0, failure_cost=5),
            "planned_cost: is 0 currency; must be above 0 currency.*all the time",
        ),
        (
            lambda: best_change_years(EVEN, planned_cost=1, failure_cost=-5),
            "failure_cost: is -5 currency; must be 0 or more currency",
        ),
        (lambda: best_change_years(CardLife([1, 2]), planned_cost=[1, 2, 3], failure_cost=5), "shapes: found card"),
        (
            lambda: cost_per_year_for_change(0, EVEN, planned_cost=1, failure_cost=5),
            "change_years: is 0 years; must be above 0 years",
        ),
        (lambda: cost_per_year_for_change(np.inf, EVEN, planned_cost=1, failure_cost=5), "change_years: is inf"),
        (lambda: next_change_years(EVEN, 90), "chance: is 90.*A percentage is divided by 100"),
        (lambda: next_change_years(EVEN, 1), "chance: is 1; must be above 0 and at most 0.9999"),
        (lambda: next_change_years(EVEN, 0.9, -1), "age_years: is -1 years; must be 0 or more years"),
    ],
)
def test_bad_input_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()
