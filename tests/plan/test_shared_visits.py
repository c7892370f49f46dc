"""Visits that the cameras of a group share: against hand arithmetic, and never dearer than one camera at a time."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.plan.shared_visits import GroupCards, InService, separate_visits, shared_visits
from edgestore.plan.standing import _followed

HORIZON = 10.0

AGES = np.arange(0, 10.25, 0.25)


def group(change_years, card_cost, visit_price, failures_per_year=0.0):
    """Cards of a group; failures by the square of the age, as of cards that wear."""
    ages = np.arange(0, max(change_years) + 0.25, 0.25)
    costs = (np.broadcast_to(np.asarray(values, float), (len(change_years),)) for values in (card_cost, visit_price))
    failed = np.array([failures_per_year * ages**2 / age for age in change_years])
    return GroupCards(np.array(change_years, float), *costs, ages, failed)


def standing(cards, due_years, failures_per_year=0.0):
    """The same cameras with cards in service, due so many years from now, that fail evenly until then."""
    ages = np.arange(0, max(*cards.change_years, *due_years) + 0.25, 0.25)
    planned = np.array([np.interp(ages, cards.ages_years, row) for row in cards.failures])
    failed = np.outer(np.broadcast_to(failures_per_year, (len(due_years),)), ages)
    return replace(
        cards, ages_years=ages, failures=planned, in_service=InService(np.array(due_years, float), failed, failed)
    )


def times(visits):
    return [(visit.at_years, visit.cards.tolist()) for visit in visits]


def test_a_cheap_card_goes_with_every_visit_that_is_made_anyway():
    # Card 1, visit 1000. Alone: 3, 6 and 9 years, and 5: four visits and four cards, 4 x 1001. Together: three visits
    # and five cards; the card that the second gets at 6 years lasts until 11, so that it gets none at 9.
    cards = group([3, 5], 1, 1000)
    visits = shared_visits(cards, HORIZON)
    assert times(visits) == [(3, [0, 1]), (6, [0, 1]), (9, [0])]
    assert cards.cost(visits, HORIZON) == pytest.approx(3005)
    assert cards.cost(separate_visits(cards, HORIZON), HORIZON) == pytest.approx(4004)


def test_a_dear_card_is_not_thrown_away_to_save_a_cheap_visit():
    # Card 100, visit 10: the second, good for 5 years, costs 22 a year. At 3 years it has served for 66, less than its
    # 100; it is worth it from 100 / 22 = 4.55 years on, that is at 4.75.
    cards = group([3, 5], 100, 10)
    assert times(shared_visits(cards, HORIZON)) == [(3, [0]), (5, [1]), (6, [0]), (9, [0])]
    assert cards.opens_years[1] == 4.75
    # One good for 5.25 years is worth it from 5.25 x 100 / 110 = 4.77 years on.
    assert times(shared_visits(group([5, 5.25], 100, 10), HORIZON)) == [(5, [0, 1])]


def test_changes_brought_forward_that_cost_more_over_the_horizon_are_not():
    # At 4.75 years the second is worth it, but its next card is then due at 9.75, one card of 100 more in ten years for
    # two visits of 10 saved.
    assert times(shared_visits(group([4.75, 5], 100, 10), HORIZON)) == [(4.75, [0]), (5, [1]), (9.5, [0])]


def test_a_card_waits_where_somebody_comes_again_before_it_is_due():
    # The second is worth it from 7 x 100 / 150 = 4.67 years on: not at 3, but at 6, a year before it is due.
    assert times(shared_visits(group([3, 7], 100, 50), HORIZON)) == [(3, [0]), (6, [0, 1]), (9, [0])]


def test_a_lift_is_hired_a_second_time_unless_the_cards_reached_by_it_pay_for_it():
    # Ladder 60, lift 260, card 10. A card with a lift, good for 8 years, costs 270 / 8 = 33.75 a year: at 6 years it
    # has served for 202.5 less the new card's 10. The lift is 200 more: that loses 7.5, with two such cards it gains
    # 185.
    one = shared_visits(group([6, 8], 10, [60, 260]), HORIZON)
    assert times(one) == [(6, [0]), (8, [1])]
    two = group([6, 8, 8], 10, [60, 260, 260])
    assert times(shared_visits(two, HORIZON)) == [(6, [0, 1, 2])]
    assert two.cost(shared_visits(two, HORIZON), HORIZON) == pytest.approx(260 + 3 * 10)


def test_failures_are_counted_at_the_price_of_a_card_and_a_visit_of_its_own():
    # Alone at 4 and 8 years, failures 0.02 x age^2 / 4: 0.08 in each of two cycles, 0.02 x 4 / 4 = 0.02 in the last two
    # years; 0.18 x (30 + 70), and two changes at 100.
    cards = group([4], 30, 70, 0.02)
    assert cards.cost(separate_visits(cards, HORIZON), HORIZON) == pytest.approx(200 + 18)


def test_without_prices_no_change_is_brought_forward_and_those_of_one_day_share_the_visit():
    visits = shared_visits(group([4, 5, 5], np.nan, np.nan), HORIZON)
    assert times(visits) == [(4, [0]), (5, [1, 2]), (8, [0])]


def test_a_card_in_service_goes_with_the_visit_to_another_where_that_pays():
    # Planned: card 10, visit 100, good for 5 years: 22 a year. Due in 1 and in 4 years: to change the second at 1 saves
    # 100 and loses 3 x 22. Alone 1, 6 and 4, 9; together 1 and 6, at 120 each.
    cards = standing(group([5, 5], 10, 100), [1, 4])
    visits = shared_visits(cards, HORIZON)
    assert times(visits) == [(1, [0, 1]), (6, [0, 1])]
    assert cards.cost(visits, HORIZON) == pytest.approx(240)
    assert times(separate_visits(cards, HORIZON)) == [(1, [0]), (4, [1]), (6, [0]), (9, [1])]


def test_a_card_in_service_stays_until_its_own_date_where_the_visit_saved_is_worth_less():
    # Card 60, visit 50: again 22 a year, and 50 - 3 x 22 is a loss. At 4 it pays for the first, due at 6: 50 - 2 x 22.
    cards = standing(group([5, 5], 60, 50), [1, 4])
    assert times(shared_visits(cards, 12.0)) == [(1, [0]), (4, [0, 1]), (9, [0, 1])]
    assert cards.opens_now_years.tolist() == [0, 1.75]  # 4 - 50 / 22 = 1.73


def test_the_failures_of_a_card_in_service_that_an_early_change_saves_count_for_it():
    # 0.1 a year of (60 + 50) from 1 to 4 years: 33 more, so that 50 + 33 - 66 is a gain.
    cards = standing(group([5, 5], 60, 50), [1, 4], [0, 0.1])
    assert times(shared_visits(cards, HORIZON))[0] == (1, [0, 1])
    # Alone it would have stayed 4 years, with 0.4 failures; so it has 0.1 until the visit, and none after.
    assert cards.failures_of(shared_visits(cards, HORIZON), HORIZON) == pytest.approx([0, 0.1])
    assert cards.failures_of(separate_visits(cards, HORIZON), HORIZON) == pytest.approx([0, 0.4])


def test_a_card_overdue_is_changed_at_once_and_a_camera_without_a_card_fitted_at_the_same_visit():
    cards = standing(group([5, 5], 10, 100), [0, 0])
    assert times(shared_visits(cards, HORIZON)) == [(0, [0, 1]), (5, [0, 1])]


def test_a_card_put_off_by_the_budget_is_changed_then_and_not_sooner():
    cards = standing(group([5, 5], 10, 100), [1, 2])
    put_off = replace(cards.in_service, due_years=np.array([1, 3.0]), opens_years=np.array([1, 3.0]))
    assert times(shared_visits(replace(cards, in_service=put_off), 6.0)) == [(1, [0]), (3, [1])]


@given(
    st.lists(
        st.tuples(st.integers(1, 50), st.floats(1, 500), st.sampled_from([60.0, 260.0]), st.floats(0, 12)),
        min_size=1,
        max_size=6,
    ),
    st.floats(0, 0.1),
)
def test_of_cards_in_service_none_waits_beyond_its_date_and_what_is_brought_forward_pays_for_itself(drawn, failing):
    quarters, prices, ways, due = zip(*drawn, strict=True)
    cards = standing(group(np.array(quarters) / 4, prices, ways, failing), due, failing)
    visits, alone = shared_visits(cards, HORIZON), separate_visits(cards, HORIZON)
    assert cards.cost(visits, HORIZON) <= cards.cost(alone, HORIZON) + 1e-6
    closes, fitted = np.array(due), np.full(len(due), np.nan)
    for visit in visits:
        assert (visit.at_years <= closes[visit.cards] + 1e-9).all()
        early = visit.cards[closes[visit.cards] > visit.at_years + 1e-9]
        late = np.setdiff1d(visit.cards, early)
        way = cards.visit_price[visit.cards].max() - cards.visit_price[late].max()
        assert cards.gain_at(early, visit.at_years, fitted[early]).sum() >= way - 1e-6
        fitted[visit.cards], closes[visit.cards] = visit.at_years, visit.at_years + cards.change_years[visit.cards]
    assert (closes >= HORIZON - 1e-9).all()


@given(
    st.lists(
        st.tuples(st.integers(1, 50), st.floats(1, 500), st.sampled_from([60.0, 260.0])),
        min_size=1,
        max_size=8,
    ),
    st.floats(0, 0.1),
    st.sampled_from([1.0, 7.3, 10.0, 20.0]),
)
def test_shared_visits_never_cost_more_and_every_card_is_changed_within_its_window(drawn, failing, horizon):
    quarters, prices, ways = zip(*drawn, strict=True)
    cards = group(np.array(quarters) / 4, prices, ways, failing)
    visits, alone = shared_visits(cards, horizon), separate_visits(cards, horizon)
    assert cards.cost(visits, horizon) <= cards.cost(alone, horizon) + 1e-6
    assert len(visits) <= len(alone)
    assert all(0 < visit.at_years < horizon for visit in visits)
    fitted = np.zeros(len(drawn))
    for visit in visits:
        age = visit.at_years - fitted[visit.cards]
        assert (age >= cards.opens_years[visit.cards] - 1e-9).all()
        assert (age <= cards.change_years[visit.cards] + 1e-9).all()
        fitted[visit.cards] = visit.at_years
    assert (horizon - fitted <= cards.change_years + 1e-9).all()  # none is older than assured when the horizon ends
    if len(drawn) == 1:
        assert times(visits) == times(alone)


@given(st.lists(st.integers(4, 40), min_size=2, max_size=6), st.floats(1, 500))
def test_a_change_brought_forward_pays_for_itself(quarters, price):
    # Without failures, of a card that serves d of its a years the rest, (1 - d / a) of card and visit, is lost, and the
    # visit saved.
    cards = group(np.array(quarters) / 4, price, 60)
    fitted = np.zeros(len(quarters))
    for visit in shared_visits(cards, HORIZON):
        for card in visit.cards:
            lost = 1 - (visit.at_years - fitted[card]) / cards.change_years[card]
            assert lost * (price + 60) <= 60 + 1e-6
            fitted[card] = visit.at_years


def test_where_old_and_planned_cards_fail_evenly_their_failures_add_up_evenly():
    # A Poisson process of 0.4 a year has 0.4 t failures until t, whichever card each of them hits: 4 in 10 years.
    even = 0.4 * AGES[None, :]
    assert _followed(even, even)[0] == pytest.approx(even[0], abs=0.02)


def test_a_card_that_is_sure_to_fail_fails_once_and_the_planned_card_follows():
    # It fails in its first quarter year; planned cards never fail: 1 failure, not 20.
    worn = np.full((1, len(AGES)), 20.0) * (AGES > 0)
    assert _followed(worn, np.zeros_like(worn))[0, -1] == pytest.approx(1)
    # planned ones that fail with 0.1 a year add 0.1 x (10 - 1/8) by year 10
    assert _followed(worn, 0.1 * AGES[None, :])[0, 40] == pytest.approx(1 + 0.1 * 9.875, abs=0.001)
