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


def test_what_a_group_finds_at_each_of_several_visits_and_at_the_end_of_lives_spread_evenly():
    # Visits at 2 and 4 of 5.5 years, then 1.5 more. Dead for x^2/8 of each x years; x/4 of the cards fail within x.
    left = cost_for_horizon(5.5, EVEN, **PRICES, cards=10, policy="group left", change_years=2)
    assert left.lost_cost == pytest.approx(10 * (2 * 0.5 + 1.5**2 / 8) * 365.25 * 40)
    assert (left.visits, left.failed, left.changed_working) == pytest.approx((2, 10 * (2 * 0.5 + 1.5 / 4), 10))
    assert left.cards_cost == pytest.approx(20 * (10 + 2 * 10))
    # Visits at 2 and 4 of 4.5 years. Each that fails is replaced: exp(x/4) - 1 within x years.
    singly = cost_for_horizon(4.5, EVEN, **PRICES, cards=10, policy="group", change_years=2)
    assert singly.failed == pytest.approx(10 * (2 * (exp(0.5) - 1) + exp(0.125) - 1), rel=1e-6)


@pytest.mark.parametrize(
    # As floats 2.1 / 0.7 and 4.2 / 0.7 are a little above 3 and 6.
    ("years", "change", "visits"),
    [(2.1, 0.7, 2), (4.2, 0.7, 5), (4, 2, 1), (4.1, 2, 2), (1.9, 2, 0), (0, 2, 0)],
)
def test_a_group_visit_that_falls_due_at_the_very_end_is_not_made_and_one_just_before_is(years, change, visits):
    cost = cost_for_horizon(years, STEADY, **PRICES, cards=10, policy="group left", change_years=change)
    assert cost.visits == visits
    assert cost.changed_working == pytest.approx(10 * visits * exp(-change / 10))


def test_prices_in_thousands_and_short_intervals_are_as_good_as_others():
    # One failure in ten years; a visit every half year of two, three before the end.
    prices = {"card_price": 0.02, "visit_price": 0.15, "lift_price": 0.25, "lost_cost_per_day": 0.04, "dead_days": 0.5}
    assert cost_for_horizon(10, STEADY, **prices).total_cost == pytest.approx(0.02 + 0.02 + 0.4 + 0.5 * 0.04)
    grouped = cost_for_horizon(2, STEADY, **prices, cards=5, policy="group", change_years=0.5)
    assert (grouped.visits, grouped.changed_working) == pytest.approx((3 + 5 * 0.2, 15))
    found = cheapest_card(0.5, STEADY, card_price=[0.02, 0.01], visit_price=0, change_years=0.4)
    assert found.total_cost == pytest.approx([0.02 * 1.05, 0.01 * 1.05])  # 0.05 failures in half a year


def test_what_is_left_out_costs_nothing():
    # One visit at 2 years of 4 and ten new cards, without a lift, footage free though cards stand dead until it.
    grouped = cost_for_horizon(4, EVEN, card_price=20, visit_price=150, cards=10, policy="group left", change_years=2)
    assert grouped.total_cost == pytest.approx(20 * 20 + 150)
    # Dear footage, of which none is lost where a failed card is replaced at once.
    assert cost_for_horizon(10, STEADY, card_price=20, visit_price=150, lost_cost_per_day=40).total_cost == (
        pytest.approx(20 + 170)
    )
    found = cheapest_card(10, STEADY, card_price=[20, 30], visit_price=150, lost_cost_per_day=40)
    assert found.total_cost == pytest.approx([20 + 170, 30 + 180])


def test_cards_left_until_they_fail_count_none_changed_working_at_any_horizon():
    assert cost_for_horizon([5, 10], STEADY, **PRICES).changed_working.tolist() == [0, 0]


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


def test_each_card_is_changed_at_the_age_that_its_price_the_visit_with_lift_and_the_footage_give():
    # Lives evenly up to 4 years, planned c, after a failure (1 + k) c: the least of (1 + k x) / (x - x^2/2), with x the
    # share of 4 years, is at (sqrt(1 + 2 k) - 1) / k. 30 days at 56 are 1680, four times 20 + 400 and 1.5 times
    # 720 + 400: x = 1/2 and 2/3.
    prices = {"card_price": [20, 720], "visit_price": 150, "lift_price": 250}
    found = cheapest_card(12, EVEN, **prices, lost_cost_per_day=56, dead_days=30)
    assert found.change_years == pytest.approx([2, 8 / 3], rel=1e-6)


def test_cards_may_differ_in_what_their_dead_days_cost_alone():
    # As above; and 12 days at 56 are 672, 1.6 times 420.
    found = cheapest_card(12, EVEN, card_price=20, visit_price=400, lost_cost_per_day=56, dead_days=[30, 12])
    assert found.change_years == pytest.approx([2, 4 * ((1 + 3.2) ** 0.5 - 1) / 1.6], rel=1e-6)
    assert found.over_horizon == 1
    dear = cheapest_card(12, EVEN, card_price=20, visit_price=400, lost_cost_per_day=[56, 22.4], dead_days=30)
    assert dear.change_years == pytest.approx(found.change_years)


def test_a_change_that_is_due_at_the_end_of_the_horizon_or_after_it_is_never_made():
    # Eighteen cards: changed and left cost the same, of some a rounding less.
    cards = CardLife(np.linspace(3, 20, 18))
    for change in (12.0, 13.0):
        found = cheapest_card(12, cards, card_price=20, visit_price=400, change_years=change)
        assert np.all(np.isinf(found.change_years))
        np.testing.assert_array_equal(found.total_cost, found.left_cost)


@pytest.mark.parametrize("end", [0.25, 0.5, 1, 2, 3])
def test_a_change_at_an_age_that_no_card_reaches_is_never_made(end):
    for years in (4, 8, 12):
        change = years * np.array([0.5, 0.75, 0.9])
        lives = LifeTable([0, min(end, years / 3)], [0, 1])
        found = cheapest_card(years, lives, card_price=[20, 30, 40], visit_price=150, change_years=change)
        assert np.all(np.isinf(found.change_years))


def test_over_no_time_the_cheapest_card_is_the_one_on_the_shelf():
    found = cheapest_card(0, CardLife([5, 10]), card_price=[15, 25], visit_price=400)
    assert (found.total_cost.tolist(), found.saving) == ([15, 25], 0)
    free = cheapest_card(0, CardLife([5, 10]), card_price=[0, 25], visit_price=400, change_years=3)
    assert (free.total_cost.tolist(), free.change_years.tolist()) == ([0, 25], [np.inf, np.inf])


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
            "change_years: found none with policy 'age'; allowed: an age or interval with age, group, group left; no",
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
