"""Cost over a horizon, by hand for cards that do not age, by closed forms, and what policies have in common."""

from math import exp

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.life import CardLife, LifeTable
from edgestore.models.upkeep import best_change_years, cheapest_card, cost_for_horizon

AT_SCALE = 1 - np.exp(-1)
STEADY = CardLife(10, failed_at_endurance=AT_SCALE, wear_shape=1)
EVEN = LifeTable([0, 4], [0, 1])
PRICES = {"card_price": 20, "visit_price": 150, "lift_price": 250, "lost_cost_per_day": 40, "dead_days": 3}


def test_a_card_that_does_not_age_by_hand():
    cost = cost_for_horizon(10, STEADY, **PRICES)
    # One failure in ten years.
    assert cost.cards_cost == pytest.approx(40)
    assert cost.visits_cost == pytest.approx(150)
    assert cost.lifts_cost == pytest.approx(250)
    assert cost.lost_cost == pytest.approx(120)
    assert cost.total_cost == pytest.approx(560)
    assert (cost.failed, cost.changed_working, cost.visits) == pytest.approx((1, 0, 1))


def test_ten_cards_in_a_group_by_hand():
    cost = cost_for_horizon(10, STEADY, **PRICES, cards=10, policy="group", change_years=3)
    # Visits at 3, 6 and 9 years with one lift each, and ten failures singly.
    assert cost.cards_cost == pytest.approx(20 * (10 + 10 + 30))
    assert cost.visits == pytest.approx(13)
    assert cost.total_cost == pytest.approx(1000 + 13 * 400 + 10 * 3 * 40)


@pytest.mark.parametrize(("policy", "planned"), [("group", 2), ("group left", 2 * exp(-0.2))])
def test_what_fails_and_what_is_changed_working_add_up_over_the_visits_of_a_group(policy, planned):
    # 0.1 failures a year; visits at 2 and 4 of 5 years. Replaced at once: 0.5 failures a place, and each visit finds a
    # working card. Left dead: at most one a stretch, 1 - exp(-0.2) twice and 1 - exp(-0.1).
    failed = 0.5 if policy == "group" else 2 * (1 - exp(-0.2)) + 1 - exp(-0.1)
    cost = cost_for_horizon(5, STEADY, **PRICES, cards=10, policy=policy, change_years=2)
    assert (cost.failed, cost.changed_working) == pytest.approx((10 * failed, 10 * planned))


def test_cards_left_until_the_lift_comes_are_dead_meanwhile():
    cost = cost_for_horizon(4, EVEN, **PRICES, cards=10, policy="group left", change_years=2)
    # Half a year dead in each stretch of two: t^2/8. One visit, at 2 years; half of the cards have failed at each end.
    assert cost.lost_cost == pytest.approx(10 * 2 * 0.5 * 365.25 * 40)
    assert (cost.visits, cost.failed, cost.changed_working) == pytest.approx((1, 10, 5))
    assert cost.cards_cost == pytest.approx(20 * 20)


def test_planned_changes_of_lives_spread_evenly():
    cost = cost_for_horizon(3, EVEN, card_price=20, visit_price=100, policy="age", change_years=2)
    failed, planned = exp(0.75) - exp(0.25) / 8 - 1, exp(0.25) / 2
    assert cost.total_cost == pytest.approx(20 + 120 * (failed + planned), rel=1e-7)


@given(st.floats(0, 15), st.floats(2, 20), st.floats(1.5, 5), st.floats(0.5, 30), st.integers(1, 50))
def test_costs_add_up_and_n_cards_cost_n_times_as_much_unless_they_share_a_lift(years, life, shape, change, cards):
    card, change = CardLife(life, wear_shape=shape), max(change, years / 50)
    for policy in ("failure", "age", "group", "group left"):
        at = None if policy == "failure" else change
        one, many = (
            cost_for_horizon(years, card, **PRICES, cards=n, policy=policy, change_years=at) for n in (1, cards)
        )
        parts = many.cards_cost + many.visits_cost + many.lifts_cost + many.lost_cost
        assert many.total_cost == pytest.approx(parts)
        if policy.startswith("group"):
            assert many.total_cost <= cards * one.total_cost * (1 + 1e-9)
        else:
            assert many.total_cost == pytest.approx(cards * one.total_cost)


@pytest.mark.parametrize("policy", ["age", "group"])
def test_a_change_after_the_end_is_running_to_failure(policy):
    late = cost_for_horizon(8, CardLife(6), **PRICES, policy=policy, change_years=1e6)
    assert late.total_cost == pytest.approx(cost_for_horizon(8, CardLife(6), **PRICES).total_cost, rel=1e-6)


def test_no_time_costs_the_first_card_and_no_prices_cost_nothing():
    assert cost_for_horizon(0, CardLife(6), **PRICES).total_cost == 20
    assert cost_for_horizon(10, CardLife(6), card_price=0, visit_price=0).total_cost == 0
    assert cost_for_horizon(10, CardLife(1e9), **PRICES).total_cost == pytest.approx(20)


def test_over_a_long_horizon_the_cost_a_year_is_the_long_run_rate():
    card = CardLife(8)
    years = 60 * card.mean_life_years()
    cost = cost_for_horizon(years, card, **PRICES)
    assert cost.total_cost / years == pytest.approx(540 / card.mean_life_years(), rel=0.02)


def test_the_cheapest_card_is_not_the_one_cheapest_on_the_shelf():
    # Without ageing none is changed early: 15 + 2 x 415, 25 + 425, 60 + 460/2.
    found = cheapest_card(
        10,
        CardLife([5, 10, 20], failed_at_endurance=AT_SCALE, wear_shape=1),
        card_price=[15, 25, 60],
        visit_price=150,
        lift_price=250,
    )
    assert found.total_cost == pytest.approx([845, 450, 290])
    assert (found.on_shelf, found.over_horizon) == (0, 2)
    assert found.saving == pytest.approx(555)
    assert found.change_years.tolist() == [np.inf] * 3


def test_days_without_footage_cost_nothing_where_no_price_is_put_on_them():
    # As above, each failed card standing dead for a month: 15 + 2 x 415 and 25 + 425.
    cards = CardLife([5, 10], failed_at_endurance=AT_SCALE, wear_shape=1)
    found = cheapest_card(10, cards, card_price=[15, 25], visit_price=150, lift_price=250, dead_days=30)
    assert found.total_cost == pytest.approx([845, 450])


def test_free_visits_leave_the_cheaper_of_two_alike_cards():
    found = cheapest_card(10, CardLife([8, 8]), card_price=[30, 20], visit_price=0)
    assert (found.on_shelf, found.over_horizon, found.saving) == (1, 1, 0)


def test_a_card_that_wears_is_changed_early_where_footage_is_dear():
    card = CardLife([4.0, 8.0], wear_shape=6)
    dear = cheapest_card(12, card, card_price=[15, 25], visit_price=50, lost_cost_per_day=500, dead_days=10)
    assert np.all(np.isfinite(dear.change_years[:1]))
    left = cost_for_horizon(
        12, card, card_price=[15, 25], visit_price=50, lost_cost_per_day=500, dead_days=10
    ).total_cost
    assert np.all(dear.total_cost <= left)


def test_several_cameras_each_have_their_cheapest_card():
    # Rows: cameras that write once and four times as much; columns: cards.
    lives = np.array([[20.0, 40.0], [5.0, 10.0]])
    found = cheapest_card(4, CardLife(lives, wear_shape=6), card_price=[15, 40], visit_price=300)
    assert found.over_horizon.tolist() == [0, 1]
    assert found.on_shelf.tolist() == [0, 0]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: cost_for_horizon(np.inf, EVEN, card_price=1, visit_price=1), "years: is inf; must be 0 or more years"),
        (
            lambda: cost_for_horizon(1000, EVEN, card_price=1, visit_price=1),
            "years: found 500 mean lives of the card; allowed: at most 100",
        ),
        (
            lambda: cost_for_horizon(1, EVEN, card_price=-1, visit_price=1),
            "card_price: is -1 currency; must be 0 or more currency",
        ),
        (
            lambda: cost_for_horizon(1, EVEN, card_price=1, visit_price=1, policy="often"),
            "policy: is 'often'; must be one of failure, age, group",
        ),
        (
            lambda: cost_for_horizon(1, EVEN, card_price=1, visit_price=1, policy="age"),
            "change_years: found none with policy 'age'",
        ),
        (
            lambda: cost_for_horizon(1, EVEN, card_price=1, visit_price=1, change_years=1),
            "change_years: found an age with policy 'failure'",
        ),
        (
            lambda: cost_for_horizon(1, EVEN, card_price=1, visit_price=1, policy="group", change_years=0),
            "change_years: is 0 years; must be above",
        ),
        (
            lambda: cost_for_horizon(1, EVEN, card_price=1, visit_price=1, cards=0.5),
            "cards: is 0.5 cards; must be 1 or more cards",
        ),
        (lambda: cost_for_horizon([1, 2], EVEN, card_price=[1, 2, 3], visit_price=1), "shapes: found years"),
        (
            lambda: cheapest_card([1, 2], CardLife([1, 2]), card_price=1, visit_price=1),
            "years: found several numbers; allowed: one horizon",
        ),
        (
            lambda: cheapest_card(1, EVEN, card_price=1, visit_price=1),
            "card_price: found one card; allowed: several cards",
        ),
        (
            lambda: cheapest_card(1, CardLife([1, 2]), card_price=[1, 0], visit_price=0),
            "card_price: found 0 with visit and lift 0",
        ),
    ],
)
def test_bad_input_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()


def test_cards_are_compared_at_ages_of_ones_own():
    card = CardLife([5.0, 10.0], wear_shape=4)
    best = best_change_years(card, planned_cost=[170, 175], failure_cost=[670, 675]).interval_years
    own = cheapest_card(
        10, card, card_price=[20, 25], visit_price=150, lost_cost_per_day=500, dead_days=1, change_years=best
    )
    found = cheapest_card(10, card, card_price=[20, 25], visit_price=150, lost_cost_per_day=500, dead_days=1)
    np.testing.assert_array_equal(own.total_cost, found.total_cost)
    never = cheapest_card(
        10, card, card_price=[20, 25], visit_price=150, lost_cost_per_day=500, dead_days=1, change_years=np.inf
    )
    np.testing.assert_array_equal(never.total_cost, never.left_cost)
    with pytest.raises(InputError, match="change_years"):
        cheapest_card(10, card, card_price=[20, 25], visit_price=150, change_years=0)
