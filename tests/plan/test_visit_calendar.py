"""The visits of a site by date: the demo's against hand arithmetic, and what sites without prices or groups get."""

import datetime
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.tables import tables
from edgestore.plan.visit_calendar import COLUMNS, visit_calendar

DATA = Path(__file__).parents[2] / "data"


@pytest.fixture(scope="module")
def demo():
    return site_plan(
        read_lists(DATA / "ferry_terminal/cameras.csv", DATA / "cards.csv", DATA / "ferry_terminal/site.toml")
    )


def planned(demo, costs=None, **columns):
    """Visits of the same plan under other costs or columns of the camera list."""
    settings = replace(demo.site.settings, costs=costs or demo.site.costs)
    return visit_calendar(replace(demo.site, settings=settings, cameras=demo.site.cameras.assign(**columns)), demo.plan)


def test_a_visit_of_the_demo_is_counted_by_hand(demo):
    # Ticket hall is due at 7 years, Gangway and Waiting room half a year and three quarters later. Cards at 14, 14 and
    # 22 credits, a tenth more for spares, and one visit at 60: 1.1 x 50 + 60 = 115. 7 x 365.25 = 2557 days on.
    due = demo.plan.set_index("camera")["change_years"]
    assert due[["Gangway", "Ticket hall", "Waiting room"]].tolist() == [7.5, 7, 7.75]
    row = demo.visits.table.set_index("visit_group").loc["public rooms"]
    assert row["date"] == str(datetime.date(2026, 11, 25) + datetime.timedelta(days=2557))
    assert row["cameras"] == "Gangway, Ticket hall, Waiting room"
    assert row["cards"] == "2 x long-life 32 GB, 1 x long-life 64 GB"
    assert row["cards_to_bring"] == 3
    assert row["tools"] == "on foot or by ladder: Gangway, Ticket hall, Waiting room"
    assert not row["with_lift"]
    assert row["brought_forward"] == "Gangway by 0.5 years, Waiting room by 0.75 years"
    assert row["cost"] == pytest.approx(115)


def test_one_lift_reaches_the_quay_and_the_camera_on_foot_there_costs_no_visit(demo):
    row = demo.visits.table.set_index("visit_group").loc["quay"]  # Quay north gets no card
    assert row["with_lift"]
    assert row["tools"] == "with lifting gear: Quay south; on foot or by ladder: Ramp foot"
    assert row["cost"] == pytest.approx(260 + 2 * 1.1 * 130)


def test_visits_climbs_and_saving_of_the_demo_are_counted_by_hand(demo):
    # Twelve cameras with a card, each changed once in ten years, three of them by lift. Shared: public rooms 3 to 1,
    # booths, lanes and quay 2 to 1 each: 12 - 5 = 7, one lift less. Saved: 2 x 60, 60, 260 and 60, and a little less
    # or more for the failures of the two cards that are changed sooner.
    visits = demo.visits
    assert (visits.separate_visits, visits.separate_climbs) == (12, 3)
    assert (len(visits.table), visits.climbs) == (7, 2)
    assert visits.saving == pytest.approx(500, abs=1)
    assert visits.cost == pytest.approx(demo.plan["cost"].sum() - visits.saving)
    assert visits.failures == pytest.approx(demo.plan["failures"].sum())
    assert visits.sentence.startswith(
        "Visits planned in 10 years: 7, 2 of them with a lift; one camera at a time 12, 3"
    )
    assert tables(demo)["visits"] is visits.table
    assert len(visits.next_visits) == 3
    assert visits.next_visits[0].startswith("2032-11-25: change the cards. Bring 1 x plain 16 GB.")


def test_every_camera_with_a_card_is_visited_at_its_age_of_change_or_sooner(demo):
    age = demo.plan.set_index("camera")["change_years"]
    first = {name: row["years"] for _, row in demo.visits.table[::-1].iterrows() for name in row["cameras"].split(", ")}
    assert set(first) == set(age.index[demo.plan["meets"]])
    assert all(years <= age[name] for name, years in first.items())


def test_without_visit_groups_every_camera_has_visits_of_its_own_and_nothing_is_saved(demo):
    visits = planned(demo, visit_group="")
    assert len(visits.table) == visits.separate_visits == 12
    assert visits.climbs == visits.separate_climbs == 3
    assert visits.saving == 0
    assert visits.cost == pytest.approx(demo.plan["cost"].sum())
    assert "one camera at a time" not in visits.sentence
    assert (visits.table["brought_forward"] == "").all()


def test_a_first_fitting_that_takes_a_visit_is_shared_too(demo):
    # Saved besides: 2 x 60 of the public rooms, 60 of the booths, 260 of the lanes and 60 of the quay.
    visits = planned(demo, replace(demo.site.costs, first_fitting_is_a_visit=True))
    first = visits.table[visits.table["years"] == 0]
    assert (first["work"] == "fit the first cards").all()
    assert len(first) == 7
    assert (first["date"] == "2026-11-25").all()
    assert visits.saving == pytest.approx(demo.visits.saving + 500)
    assert (first["brought_forward"] == "").all()


def test_without_prices_no_change_is_brought_forward_and_no_cost_is_told(demo):
    site = replace(demo.site, settings=replace(demo.site.settings, costs=None))
    visits = site_plan(site).visits
    assert (visits.table["brought_forward"] == "").all()
    assert visits.table["cost"].isna().all()
    assert np.isnan(visits.cost)
    assert "saves" not in visits.sentence
    assert list(visits.table) == list(COLUMNS)


def test_a_site_that_no_card_serves_has_no_visits(demo):
    none = demo.plan.assign(meets=False)
    visits = visit_calendar(demo.site, none)
    assert visits.table.empty
    assert list(visits.table) == list(COLUMNS)
    assert visits.next_visits == ()


def test_the_failures_that_a_shared_visit_avoids_are_those_of_the_plan_s_own_law(demo):
    # A card works at its latest age with the chance asked, and a quarter of a year later no more: so says the plan.
    from edgestore.plan.visit_calendar import _failures

    served = np.flatnonzero(demo.plan["meets"])
    cards = demo.site.offered.iloc[demo.chosen[served]].reset_index(drop=True)
    latest = demo.plan["latest_change_years"].to_numpy()[served]
    ages = np.unique(np.concatenate([latest, latest + 0.25]))
    works = np.exp(-_failures(demo.site, served, cards, ages))
    rows = np.arange(len(served))
    assert (works[rows, np.searchsorted(ages, latest)] >= 0.9).all()
    assert (works[rows, np.searchsorted(ages, latest + 0.25)] < 0.9).all()
