"""What the cards of a site cost by year and camera: two cameras counted by hand, and sums that agree for any site."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.plan.bill import YEARS, bill
from edgestore.plan.shared_visits import GroupCards, InService, Visit, separate_visits
from edgestore.plan.standing import SiteCards

START = np.datetime64("2026-01-01")
AGES = np.arange(0, 12.25, 0.25)


def cameras(due_years, price, has_card, failures_per_year=0.1, change_years=4.0):
    """Cameras by themselves whose cards fail evenly; a visit costs 60, the second camera takes a lift at 200."""
    count = len(price)
    ways = np.where(np.arange(count) == 1, 200.0, 60.0)
    failed = np.tile(failures_per_year * AGES, (count, 1))
    now = InService(np.asarray(due_years, float), failed, failed)
    cards = GroupCards(np.full(count, change_years), np.asarray(price, float), ways, AGES, failed, now)
    table = pd.DataFrame(
        {
            "camera": [f"camera {n}" for n in range(count)],
            "lift": np.arange(count) == 1,
            "in_service_card": np.where(has_card, "old", ""),
        }
    )
    return SiteCards(table, cards, np.zeros(count), table[:0])


def test_two_cameras_are_counted_by_hand():
    # Camera 0 has a card, changed at 0.5, 4.5 and 8.5 years for 10 at a way of 60; camera 1 gets its first card, 30,
    # with the camera and is changed at 4 and 8 years by lift, 200. Each fails 0.1 times a year, at 70 and 230.
    standing = cameras([0.5, 4.0], [10, 30], [True, False])
    visits = separate_visits(standing.cards, 10)
    made = bill(standing, visits, START, horizon_years=10, first_is_a_visit=False)
    years = made.years.set_index("year")
    assert tuple(made.years) == YEARS
    assert years["cards"].tolist() == [2, 0, 0, 0, 2, 0, 0, 0, 2, 0]
    assert years["cards_cost"].tolist() == [40, 0, 0, 0, 40, 0, 0, 0, 40, 0]
    assert years["visits"].tolist() == [1, 0, 0, 0, 2, 0, 0, 0, 2, 0]
    assert years["visits_with_lift"].tolist() == [0, 0, 0, 0, 1, 0, 0, 0, 1, 0]
    assert years["visits_cost"].tolist() == [60, 0, 0, 0, 260, 0, 0, 0, 260, 0]
    assert years["failures"].to_numpy() == pytest.approx(np.full(10, 0.2))
    assert years["failures_cost"].to_numpy() == pytest.approx(np.full(10, 0.1 * 70 + 0.1 * 230))
    assert years["begins"].tolist()[:2] == ["2026-01-01", "2027-01-01"]
    assert (made.planned_cost, made.failures_cost) == (pytest.approx(700), pytest.approx(300))
    assert (made.first_cards, made.first_cost) == (1, 30)
    of_camera = made.cameras.set_index("camera")
    assert of_camera["planned_cards"].tolist() == [3, 3]
    assert of_camera["planned_cost"].tolist() == [3 * 70, 30 + 2 * 230]


def test_a_way_that_two_share_is_paid_once_and_halved():
    standing = cameras([1.0, 1.0], [10, 30], [True, True], failures_per_year=0)
    made = bill(standing, [Visit(1.0, np.array([0, 1]))], START, horizon_years=3, first_is_a_visit=False)
    assert made.years["visits_cost"].tolist() == [0, 200, 0]
    assert made.cameras["planned_cost"].tolist() == [110, 130]


def test_a_horizon_of_half_a_year_is_one_short_year():
    standing = cameras([1.0], [10], [False])
    made = bill(standing, [], START, horizon_years=0.5, first_is_a_visit=False)
    assert made.years["failures"].to_numpy() == pytest.approx([0.05])
    assert made.cost == pytest.approx(10 + 0.05 * 70)


def test_without_prices_cards_and_visits_are_counted_and_no_cost_is_told():
    standing = cameras([1.0], [np.nan], [True])
    unpriced = replace(standing, cards=replace(standing.cards, visit_price=np.array([np.nan])))
    made = bill(unpriced, separate_visits(unpriced.cards, 4), START, horizon_years=4, first_is_a_visit=False)
    assert made.years["visits"].sum() == 1
    assert np.isnan(made.cost)


@given(
    st.lists(st.tuples(st.floats(0, 9), st.floats(1, 400), st.booleans()), min_size=1, max_size=5),
    st.floats(0.5, 12),
    st.booleans(),
)
def test_years_and_cameras_add_up_to_the_same_bill(drawn, horizon_years, first_is_a_visit):
    standing = cameras(*zip(*drawn, strict=True))
    visits = separate_visits(standing.cards, horizon_years)
    made = bill(standing, visits, START, horizon_years=horizon_years, first_is_a_visit=first_is_a_visit)
    assert made.years["total"].sum() == pytest.approx(made.cost)
    assert made.cameras["planned_cost"].sum() == pytest.approx(made.planned_cost)
    assert made.cameras["failures_cost"].sum() == pytest.approx(made.failures_cost)
    assert made.cameras["planned_cards"].sum() == made.years["cards"].sum()
    assert made.planned_cost == pytest.approx(
        made.first_cost + sum(standing.cards.visit_cost(visit) for visit in visits)
    )
