"""Group visits against closed forms and simulation."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from edgestore import InputError
from edgestore.models.life import CardLife, LifeTable
from edgestore.models.upkeep import best_group_years, cost_per_year_for_group

AT_SCALE = 1 - np.exp(-1)
EVEN = LifeTable([0, 4], [0, 1])


def test_lives_spread_evenly_by_hand():
    # Replaced: exp(1/2) - 1 failures in 2 years. Left: t^2/8 = 1/2 year dead of 2.
    assert cost_per_year_for_group(2, EVEN, 10, visit_price=300, card_cost=20, failure_cost=100) == pytest.approx(
        (500 + 1000 * np.expm1(0.5)) / 2, rel=1e-7
    )
    assert cost_per_year_for_group(
        2, EVEN, 10, visit_price=300, card_cost=20, failure_cost=100, between="left"
    ) == pytest.approx(500, rel=1e-12)


def test_the_best_intervals_of_lives_spread_evenly():
    # (1000 exp(x) - 900)/(4 x) is least at exp(x) (1 - x) = 0.9; (500 + 125 t^2)/t at 2.
    x = brentq(lambda x: np.exp(x) * (1 - x) - 0.9, 0.1, 0.9)
    best = best_group_years(EVEN, 10, visit_price=80, card_cost=2, failure_cost=100)
    assert best.interval_years == pytest.approx(4 * x, rel=1e-5)
    assert best.cost_per_year == pytest.approx((1000 * np.exp(x) - 900) / (4 * x), rel=1e-7)
    assert best_group_years(
        EVEN, 10, visit_price=300, card_cost=20, failure_cost=100, between="left"
    ).interval_years == pytest.approx(2, rel=1e-6)


def test_a_group_visit_may_come_later_than_the_mean_life():
    # Mean life 2 years. Left: (1125 + 125 t^2)/t is least at t = 3, 375 + 375; never is 10 x 100.
    best = best_group_years(EVEN, 10, visit_price=925, card_cost=20, failure_cost=100, between="left")
    assert best.interval_years == pytest.approx(3, rel=1e-6)
    assert (best.cost_per_year, best.never_cost_per_year) == (pytest.approx(750), pytest.approx(1000))


@pytest.mark.parametrize("mean", [0.5, 10])
def test_the_best_time_between_group_visits_lies_between_a_thousandth_of_a_mean_life_and_five(mean):
    # Random failures, left dead: (P + n f (t - mu (1 - exp(-x)))) / t with x = t / mu is least where P is n f mu times
    # 1 - exp(-x) (1 + x). Ten cards at 100 a year; prices for x = 4, and for an x far below a thousandth.
    card = CardLife(mean, failed_at_endurance=AT_SCALE, wear_shape=1)
    for share, x in ((1 - 5 * np.exp(-4), 4), (1e-9, 1e-3)):
        best = best_group_years(
            card, 10, visit_price=1000 * mean * share, card_cost=0, failure_cost=100, between="left"
        )
        assert best.interval_years == pytest.approx(x * mean, rel=1e-4)


def test_prices_in_thousands_give_the_same_time_between_group_visits():
    # As above where the best is at 3 years of lives evenly up to 4: 925 + 10 x 20, and 100 a year.
    best = best_group_years(EVEN, 10, visit_price=0.925, card_cost=0.02, failure_cost=0.1, between="left")
    assert (best.interval_years, best.cost_per_year) == pytest.approx((3, 0.75), rel=1e-6)
    cheap = best_group_years(EVEN, 10, visit_price=0.0925, card_cost=0.002, failure_cost=0.01, between="left")
    assert cheap.interval_years == pytest.approx(3, rel=1e-6)


def test_one_of_several_group_visits_that_costs_nothing_is_refused():
    with pytest.raises(InputError, match="A group visit that costs nothing would be made all the time"):
        best_group_years(EVEN, 10, visit_price=[0, 80], card_cost=0, failure_cost=100)


def test_a_lift_too_dear_for_what_it_saves_never_comes():
    # 538.88 at the best, 10 x 100 / 2 singly.
    best = best_group_years(EVEN, 10, visit_price=300, card_cost=20, failure_cost=100)
    assert (best.interval_years, best.cost_per_year) == (np.inf, pytest.approx(500))


def test_cards_that_do_not_age_are_not_changed_in_groups():
    assert (
        best_group_years(CardLife(8, wear_shape=1), 40, visit_price=600, card_cost=20, failure_cost=400).interval_years
        == np.inf
    )


def test_a_group_costs_what_a_simulated_one_costs():
    card, rng = CardLife(6, random_per_year=0.02), np.random.default_rng(11)
    interval, runs = 5.0, 100_000
    now, failed = card.life_quantile_years(rng.random(runs)), np.zeros(runs)
    dead = np.maximum(interval - now, 0)
    while np.any(now < interval):
        failed += now < interval
        now = now + card.life_quantile_years(rng.random(runs))
    for between, each in (("replaced", failed), ("left", dead)):
        error = 3 * 40 * 300 * each.std() / np.sqrt(runs) / interval
        expected = (600 + 40 * 20 + 40 * 300 * each.mean()) / interval
        assert (
            abs(
                cost_per_year_for_group(
                    interval, card, 40, visit_price=600, card_cost=20, failure_cost=300, between=between
                )
                - expected
            )
            <= error
        )


@given(
    st.floats(1, 20), st.floats(1.5, 8), st.integers(1, 200), st.floats(1, 2000), st.sampled_from(["replaced", "left"])
)
def test_no_other_interval_costs_less_than_the_best(life, shape, cards, visit, between):
    card = CardLife(life, wear_shape=shape)
    best = best_group_years(card, cards, visit_price=visit, card_cost=20, failure_cost=300, between=between)
    costs = cost_per_year_for_group(
        life * np.geomspace(0.01, 6, 60),
        card,
        cards,
        visit_price=visit,
        card_cost=20,
        failure_cost=300,
        between=between,
    )
    assert np.all(costs >= best.cost_per_year * (1 - 1e-4))


def test_the_more_cards_share_a_lift_the_less_each_costs():
    cards = np.array([1, 5, 20, 100])
    best = best_group_years(CardLife(8), cards, visit_price=600, card_cost=20, failure_cost=400)
    assert np.all(np.diff(best.cost_per_year / cards) < 0)
    assert np.all(np.diff(best.interval_years[1:]) < 0)


@pytest.mark.parametrize("between", ["replaced", "left"])
def test_cards_in_an_array_give_what_each_alone_gives(between):
    together = best_group_years(
        CardLife([4.0, 8.0]), 30, visit_price=600, card_cost=20, failure_cost=400, between=between
    )
    alone = [
        best_group_years(CardLife(life), 30, visit_price=600, card_cost=20, failure_cost=400, between=between)
        for life in (4.0, 8.0)
    ]
    assert together.interval_years == pytest.approx([one.interval_years for one in alone], rel=1e-4)


def test_zero_prices_cost_nothing():
    assert cost_per_year_for_group(2, EVEN, 10, visit_price=0, card_cost=0, failure_cost=0) == 0
    assert best_group_years(EVEN, 10, visit_price=1, card_cost=0, failure_cost=0).interval_years == np.inf


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: best_group_years(EVEN, 10, visit_price=0, card_cost=0, failure_cost=1),
            "visit_price: found 0 with card_cost 0; allowed: one of the two above 0. Fix: A group visit",
        ),
        (
            lambda: best_group_years(EVEN, 0, visit_price=1, card_cost=1, failure_cost=1),
            "cards: is 0 cards; must be 1 or more cards",
        ),
        (
            lambda: best_group_years(EVEN, 1.5, visit_price=1, card_cost=1, failure_cost=1),
            "cards: is 1.5 cards; must be whole cards",
        ),
        (
            lambda: best_group_years(EVEN, 1, visit_price=1, card_cost=1, failure_cost=1, between="never"),
            "between: is 'never'; must be one of replaced, left",
        ),
        (
            lambda: cost_per_year_for_group(0, EVEN, 1, visit_price=1, card_cost=1, failure_cost=1),
            "interval_years: is 0 years; must be above 0 years",
        ),
        (
            lambda: cost_per_year_for_group(1000, EVEN, 1, visit_price=1, card_cost=1, failure_cost=1),
            "years: found 500 mean lives of the card",
        ),
        (
            lambda: cost_per_year_for_group(1, EVEN, 1, visit_price=-1, card_cost=1, failure_cost=1),
            "visit_price: is -1",
        ),
        (
            lambda: cost_per_year_for_group([1, 2], EVEN, [1, 2, 3], visit_price=1, card_cost=1, failure_cost=1),
            "shapes: found interval_years",
        ),
    ],
)
def test_bad_input_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()
