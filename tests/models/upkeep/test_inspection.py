"""Inspections against closed forms, plain sums and simulation."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from edgestore import InputError
from edgestore.models.life import CardLife, LifeTable
from edgestore.models.upkeep import best_inspection_years, cost_per_year_for_inspection

AT_SCALE = 1 - np.exp(-1)
EVEN = LifeTable([0, 4], [0, 1])


def random_cost(interval: float, rate: float, looking: float, change: float, lost: float) -> float:
    """Cost a year when cards do not age: K = 1/(1 - exp(-rate interval))."""
    stay = interval / -np.expm1(-rate * interval)
    return (looking * stay / interval + change + lost * (stay - 1 / rate)) / stay


def test_lives_spread_evenly_by_hand():
    # Looked at at 2 and 4: K = 1 + 1/2, 3 years of which 2 alive: (15 + 85 + 100)/3.
    assert cost_per_year_for_inspection(
        2, EVEN, inspection_cost=10, change_cost=85, lost_cost_per_year=100
    ) == pytest.approx(200 / 3, rel=1e-12)
    # Every 4: once, dead for 2 years in the mean: (10 + 85 + 200)/4.
    assert cost_per_year_for_inspection(
        4, EVEN, inspection_cost=10, change_cost=85, lost_cost_per_year=100
    ) == pytest.approx(295 / 4, rel=1e-12)


@given(st.floats(0.01, 50), st.floats(0.01, 2), st.floats(0, 100), st.floats(0, 100), st.floats(0, 1e4))
def test_cards_that_do_not_age_have_their_closed_form(interval, rate, looking, change, lost):
    card = CardLife(1 / rate, failed_at_endurance=AT_SCALE, wear_shape=1)
    expected = random_cost(interval, rate, looking, change, lost)
    assert cost_per_year_for_inspection(
        interval, card, inspection_cost=looking, change_cost=change, lost_cost_per_year=lost
    ) == pytest.approx(expected, rel=1e-6)


def test_the_best_interval_of_cards_that_do_not_age_is_scipys():
    least = minimize_scalar(lambda t: random_cost(t, 0.02, 1, 50, 1000), bounds=(0.01, 3), method="bounded")
    best = best_inspection_years(
        CardLife(50, failed_at_endurance=AT_SCALE, wear_shape=1),
        inspection_cost=1,
        change_cost=50,
        lost_cost_per_year=1000,
    )
    assert best.interval_years == pytest.approx(least.x, rel=1e-4)
    assert best.cost_per_year == pytest.approx(least.fun, rel=1e-9)
    # About sqrt(2 inspection / (rate x lost)).
    assert best.interval_years == pytest.approx(np.sqrt(2 / 20), rel=0.01)


@pytest.mark.parametrize("mean", [0.5, 50])
def test_the_best_interval_lies_between_a_ten_thousandth_of_a_mean_life_and_a_hundred(mean):
    # With changes for nothing, (looking + lost (t - mu (1 - exp(-x)))) / t, x = t / mu, is least where looking is
    # lost mu times 1 - exp(-x) (1 + x). Prices for x = 4, and for an x far below a ten thousandth.
    card = CardLife(mean, failed_at_endurance=AT_SCALE, wear_shape=1)
    for share, x in ((1 - 5 * np.exp(-4), 4), (1e-12, 1e-4)):
        best = best_inspection_years(card, inspection_cost=100 * mean * share, change_cost=0, lost_cost_per_year=100)
        assert best.interval_years == pytest.approx(x * mean, rel=1e-4)


@pytest.mark.parametrize("share", [0.001, 0.01, 0.03, 0.1])
def test_the_tail_of_many_inspections_is_summed_to_nine_digits(share):
    # Random failures: 1 / (1 - exp(-t / mu)) inspections of a card. Only the change has a price.
    card = CardLife(5, failed_at_endurance=AT_SCALE, wear_shape=1)
    found = cost_per_year_for_inspection(5 * share, card, inspection_cost=0, change_cost=1, lost_cost_per_year=0)
    assert found == pytest.approx(-np.expm1(-share) / (5 * share), rel=2e-9)


def test_intervals_down_to_a_ten_thousandth_of_a_mean_life_are_taken():
    # Mean life 2 years. A rounding less is taken, a twentieth less is refused, beside longer intervals too.
    prices = {"inspection_cost": 0, "change_cost": 1, "lost_cost_per_year": 0}
    for interval in (2e-4, 2e-4 * (1 - 1e-12)):
        assert cost_per_year_for_inspection(interval, EVEN, **prices) == pytest.approx(0.5, rel=1e-3)
    with pytest.raises(InputError, match=r"interval_years: is 0\.00019 years; must be 0\.0001 mean lives"):
        cost_per_year_for_inspection([1, 1.9e-4], EVEN, **prices)


@pytest.mark.parametrize("shape", [0.7, 3, 20, 100])
@pytest.mark.parametrize("interval", [0.01, 0.05, 0.3, 4.9, 20])
def test_the_inspections_are_the_plain_sum_of_survival(shape, interval):
    card = CardLife(5, wear_shape=shape)
    times = card.survival(interval * np.arange(int(3000 / interval))).sum()
    # Priced at 1 each and nothing else, they cost 1/interval a year: their number is seen by the price of the change.
    change = cost_per_year_for_inspection(interval, card, inspection_cost=0, change_cost=1, lost_cost_per_year=0)
    assert 1 / (change * interval) == pytest.approx(times, rel=2e-6)


def test_inspected_cards_cost_what_simulated_ones_cost():
    card, rng = CardLife(8, random_per_year=0.02), np.random.default_rng(3)
    life = card.life_quantile_years(rng.random(200_000))
    times = np.ceil(life / 0.5)
    cost, stay = 5 * times + 100 + 2000 * (0.5 * times - life), 0.5 * times
    rate = cost.mean() / stay.mean()
    error = (cost - rate * stay).std() / stay.mean() / np.sqrt(life.size)
    assert (
        abs(cost_per_year_for_inspection(0.5, card, inspection_cost=5, change_cost=100, lost_cost_per_year=2000) - rate)
        <= 3 * error
    )


@given(st.floats(1, 20), st.floats(0.8, 6), st.floats(0.1, 50), st.floats(0, 500), st.floats(0, 1e4))
def test_no_other_interval_costs_less_than_the_best(life, shape, looking, change, lost):
    card = CardLife(life, wear_shape=shape)
    best = best_inspection_years(card, inspection_cost=looking, change_cost=change, lost_cost_per_year=lost)
    intervals = card.mean_life_years() * np.geomspace(1e-3, 50, 300)
    costs = cost_per_year_for_inspection(
        intervals, card, inspection_cost=looking, change_cost=change, lost_cost_per_year=lost
    )
    assert np.all(costs >= best.cost_per_year * (1 - 1e-6))
    assert best.cost_per_year <= best.never_cost_per_year == lost


def test_the_dearer_the_footage_the_oftener_somebody_looks():
    intervals = best_inspection_years(
        CardLife(8), inspection_cost=5, change_cost=100, lost_cost_per_year=[300, 1000, 3000, 1e5]
    ).interval_years
    assert np.all(np.diff(intervals) < 0)


def test_footage_worth_nothing_is_not_looked_for():
    best = best_inspection_years(CardLife(8), inspection_cost=5, change_cost=100, lost_cost_per_year=[0, 1])
    assert best.interval_years.tolist() == [np.inf, np.inf]
    assert best.cost_per_year.tolist() == [0, 1]


def test_without_any_price_nothing_costs():
    assert cost_per_year_for_inspection(1, CardLife(8), inspection_cost=0, change_cost=0, lost_cost_per_year=0) == 0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: best_inspection_years(EVEN, inspection_cost=0, change_cost=1, lost_cost_per_year=1),
            "inspection_cost: is 0 currency; must be above 0 currency.*made",
        ),
        (
            lambda: best_inspection_years(EVEN, inspection_cost=1, change_cost=-1, lost_cost_per_year=1),
            "change_cost: is -1 currency; must be 0 or more currency",
        ),
        (
            lambda: cost_per_year_for_inspection(0, EVEN, inspection_cost=1, change_cost=1, lost_cost_per_year=1),
            "interval_years: is 0 years; must be above 0 years",
        ),
        (
            lambda: cost_per_year_for_inspection(1e-5, EVEN, inspection_cost=1, change_cost=1, lost_cost_per_year=1),
            "interval_years: is 1e-05 years; must be 0.0001",
        ),
        (
            lambda: cost_per_year_for_inspection(np.inf, EVEN, inspection_cost=1, change_cost=1, lost_cost_per_year=1),
            "interval_years: is inf",
        ),
        (
            lambda: cost_per_year_for_inspection(1, EVEN, inspection_cost=1, change_cost=1, lost_cost_per_year=np.nan),
            "lost_cost_per_year: is nan",
        ),
        (
            lambda: cost_per_year_for_inspection(
                [1, 2], EVEN, inspection_cost=[1, 2, 3], change_cost=1, lost_cost_per_year=1
            ),
            "shapes: found interval_years",
        ),
    ],
)
def test_bad_input_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()


def test_ten_times_the_life_at_a_tenth_of_the_loss_a_year_is_looked_at_a_tenth_as_often():
    prices = {"inspection_cost": 10, "change_cost": 85}
    short = best_inspection_years(EVEN, **prices, lost_cost_per_year=100)
    long = best_inspection_years(LifeTable([0, 40], [0, 1]), **prices, lost_cost_per_year=10)
    assert long.interval_years == pytest.approx(10 * short.interval_years, rel=1e-6)
    assert long.cost_per_year == pytest.approx(short.cost_per_year / 10, rel=1e-9)


def test_of_several_intervals_the_one_that_is_too_short_is_named():
    with pytest.raises(InputError, match=r"^interval_years: is 1e-09 years"):
        cost_per_year_for_inspection([1e-9, 2], EVEN, inspection_cost=10, change_cost=85, lost_cost_per_year=100)
