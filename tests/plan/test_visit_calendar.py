"""The visits of a site by date: the demo's against hand arithmetic, and what sites without prices or groups get."""

import datetime
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.standing import TOO_SMALL, WEAR
from edgestore.plan.tables import tables
from edgestore.plan.visit_calendar import COLUMNS, visit_calendar

DATA = Path(__file__).parents[2] / "data"


@pytest.fixture(scope="module")
def demo():
    return site_plan(
        read_lists(DATA / "ferry_terminal/cameras.csv", DATA / "cards.csv", DATA / "ferry_terminal/site.toml")
    )


@pytest.fixture(scope="module")
def fresh(demo):
    """Visits of the demo as if its planned cards were fitted on the day of the document."""
    return visit_calendar(demo.site, demo.plan)


def planned(demo, costs=None, **columns):
    """Visits of the same plan under other costs or columns of the camera list."""
    settings = replace(demo.site.settings, costs=costs or demo.site.costs)
    return visit_calendar(replace(demo.site, settings=settings, cameras=demo.site.cameras.assign(**columns)), demo.plan)


def test_a_visit_of_the_demo_is_counted_by_hand(demo, fresh):
    # Ticket hall is due at 7 years, Gangway and Waiting room half a year and three quarters later. Cards at 14, 14 and
    # 22 credits, a tenth more for spares, and one visit at 60: 1.1 x 50 + 60 = 115. 7 x 365.25 = 2557 days on.
    due = demo.plan.set_index("camera")["change_years"]
    assert due[["Gangway", "Ticket hall", "Waiting room"]].tolist() == [7.5, 7, 7.75]
    row = fresh.table.set_index("visit_group").loc["public rooms"]
    assert row["date"] == str(datetime.date(2026, 11, 25) + datetime.timedelta(days=2557))
    assert row["cameras"] == "Gangway, Ticket hall, Waiting room"
    assert row["cards"] == "2 x long-life 32 GB, 1 x long-life 64 GB"
    assert row["cards_to_bring"] == 3
    assert row["tools"] == "on foot or by ladder: Gangway, Ticket hall, Waiting room"
    assert not row["with_lift"]
    assert row["brought_forward"] == "Gangway by 0.5 years, Waiting room by 0.75 years"
    assert row["cost"] == pytest.approx(115)


def test_where_the_document_has_no_date_no_visit_is_dated_before_today(demo):
    # The log of the demo was written days ago; its first visit was dated by that day, for cards that are due at once.
    settings = replace(demo.site.settings, document=replace(demo.site.settings.document, date=None))
    table = visit_calendar(replace(demo.site, settings=settings), demo.plan, in_service=demo.calendar).table
    assert demo.site.settings.service.as_of < datetime.date.today()
    assert table["date"].iloc[0] == str(datetime.date.today())


def test_cards_are_ordered_the_lead_time_before_the_date_of_their_visit(demo):
    # 6 years are 2191.5 days: the date and the day of the order are not rounded apart
    service = replace(demo.site.settings.service, lead_days=45)
    site = replace(demo.site, settings=replace(demo.site.settings, service=service))
    table = visit_calendar(site, demo.plan.assign(change_years=6.0)).table
    dates = table[["date", "order_by"]].map(datetime.date.fromisoformat)
    assert len(dates)
    assert set(dates["date"] - dates["order_by"]) == {datetime.timedelta(days=45)}


def test_who_orders_on_the_day_of_the_plan_is_told_that_the_first_visits_wait_for_the_cards(demo, fresh):
    # 60 days from 2026-11-25 are 2027-01-24. Three visits of the demo are on the first day; where first cards take no
    # visit of their own there is none before, and yet they are to be fitted on that day.
    begin = "Cards that are ordered on 2026-11-25 are here on 2027-01-24, after 60 days: "
    end = " only with cards that are in stock. Otherwise book them for when the cards are here."
    assert demo.visits.not_here == f"{begin}3 visits before that can be made on that day{end}"
    assert fresh.not_here == f"{begin}first cards can be fitted on 2026-11-25{end}"
    first = replace(demo.site.costs, first_fitting_is_a_visit=True)
    assert planned(demo, first).not_here == f"{begin}7 visits before that can be made on that day{end}"


def test_one_lift_reaches_the_quay_and_the_camera_on_foot_there_costs_no_visit(fresh):
    row = fresh.table.set_index("visit_group").loc["quay"]  # Quay north gets no card
    assert row["with_lift"]
    assert row["tools"] == "with lifting gear: Quay south; on foot or by ladder: Ramp foot"
    assert row["cost"] == pytest.approx(260 + 2 * 1.1 * 130)


def test_visits_climbs_and_saving_of_the_demo_are_counted_by_hand(demo, fresh):
    # Twelve cameras with a card, each changed once in ten years, three of them by lift. Shared: public rooms 3 to 1,
    # booths, lanes and quay 2 to 1 each: 12 - 5 = 7, one lift less. Saved: 2 x 60, 60, 260 and 60, and a little less
    # or more for the failures of the two cards that are changed sooner.
    visits = fresh
    assert (visits.separate_visits, visits.separate_climbs) == (12, 3)
    assert (len(visits.table), visits.climbs) == (7, 2)
    assert visits.saving == pytest.approx(500, abs=1)
    # First cards 650 and a tenth; then 546 for the quay, 378.8 for the lanes, 280 for the booths, 115 for the public
    # rooms, 64.4, 75.4 and 75.4 for the others.
    assert visits.bill.planned_cost == pytest.approx(715 + 1535)
    # A camera by itself has its planned changes and failures begin anew with a failure; dates that stay cost more.
    assert demo.plan["cost"].sum() - visits.saving < visits.cost < 1.06 * (demo.plan["cost"].sum() - visits.saving)
    assert visits.sentence.startswith("Visits planned in 10 years: 7, 2 of them with a lift; without sharing 12, 3")
    assert len(visits.next_visits) == 3
    assert visits.next_visits[0].startswith("2032-11-25: change the cards. Bring 1 x plain 16 GB.")


def test_every_camera_with_a_card_is_visited_at_its_age_of_change_or_sooner(demo, fresh):
    age = demo.plan.set_index("camera")["change_years"]
    first = {name: row["years"] for _, row in fresh.table[::-1].iterrows() for name in row["cameras"].split(", ")}
    assert set(first) == set(age.index[demo.plan["meets"]])
    assert all(years <= age[name] for name, years in first.items())


def test_without_visit_groups_every_camera_has_visits_of_its_own_and_nothing_is_saved(demo):
    visits = planned(demo, visit_group="")
    assert len(visits.table) == visits.separate_visits == 12
    assert visits.climbs == visits.separate_climbs == 3
    assert visits.saving == 0
    assert demo.plan["cost"].sum() < visits.cost < 1.06 * demo.plan["cost"].sum()
    assert "without sharing" not in visits.sentence
    assert (visits.table["brought_forward"] == "").all()


def test_a_first_fitting_that_takes_a_visit_is_shared_too(demo, fresh):
    # Saved besides: 2 x 60 of the public rooms, 60 of the booths, 260 of the lanes and 60 of the quay.
    visits = planned(demo, replace(demo.site.costs, first_fitting_is_a_visit=True))
    first = visits.table[visits.table["years"] == 0]
    assert (first["work"] == "fit the first cards").all()
    assert len(first) == 7
    assert (first["date"] == "2026-11-25").all()
    assert visits.saving == pytest.approx(fresh.saving + 500)
    assert (first["brought_forward"] == "").all()


def test_without_prices_no_change_is_brought_forward_and_no_cost_is_told(demo):
    site = replace(demo.site, settings=replace(demo.site.settings, costs=None))
    plan = site_plan(site)
    visits = visit_calendar(site, plan.plan)
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
    from edgestore.plan.standing import card_failures

    served = np.flatnonzero(demo.plan["meets"])
    cards = demo.site.offered.iloc[demo.chosen[served]].reset_index(drop=True)
    latest = demo.plan["latest_change_years"].to_numpy()[served]
    ages = np.unique(np.concatenate([latest, latest + 0.25]))
    works = np.exp(-card_failures(demo.site, served, cards, ages))
    rows = np.arange(len(served))
    assert (works[rows, np.searchsorted(ages, latest)] >= 0.9).all()
    assert (works[rows, np.searchsorted(ages, latest + 0.25)] < 0.9).all()


# What follows is the demo as it stands: 14 cards in service by its log.


def test_a_card_in_service_is_changed_at_its_own_date_or_with_a_visit_before_it(demo):
    # Ticket hall is due first of the public rooms, by the plan's own column; one visit at 60 and the plan's cards.
    plan = demo.plan.set_index("camera")
    row = demo.visits.table.set_index("visit_group").loc["public rooms"].iloc[0]
    assert row["date"] == plan["in_service_next_change"]["Ticket hall"]
    assert row["cards"] == "2 x long-life 32 GB, 1 x long-life 64 GB"
    assert row["cost"] == pytest.approx(115)
    # Gangway: 321 days before its own date, which is 0.87 years; Waiting room 434 days, 1.2 years.
    assert row["brought_forward"] == "Gangway by 0.87 years, Waiting room by 1.2 years"
    assert tables(demo)["visits"] is demo.visits.table
    first = {}
    for _, visit in demo.visits.table.iterrows():
        first.update({name: visit["date"] for name in visit["cameras"].split(", ") if name not in first})
    due = plan["in_service_next_change"]
    assert all(date <= due[name] for name, date in first.items())
    assert set(first) == set(due.index[plan["meets"] & (due < "2036-11-25")])


def test_after_a_card_in_service_the_planned_one_is_changed_at_the_age_of_the_plan(demo):
    # Lane 5 height gauge and Marshalling yard: fitted on one visit, due after 7.75 and 7.5 years, both changed then.
    years = demo.visits.table.set_index("visit_group").loc["lanes", "years"].tolist()
    assert demo.plan.set_index("camera")["change_years"][["Lane 5 height gauge", "Marshalling yard"]].tolist() == [
        7.75,
        7.5,
    ]
    assert np.diff(years) == pytest.approx([7.5])


def test_a_card_in_service_that_holds_too_few_days_is_changed_on_the_first_day(demo):
    # 128 GB at Quay south, where 30 days are asked of a planned 512 GB, and five more: see the chances of the plan.
    plan = demo.plan.set_index("camera")
    short = plan["meets"] & (plan["in_service_chance_retention"] < plan["wanted_assurance"])
    now = demo.visits.replacements.table.set_index("camera")
    assert short.sum() == 6
    assert (now["replace_on"][short.index[short]] == "2026-11-25").all()
    assert set(now.index[now["due_for"] == TOO_SMALL]) == set(short.index[short])
    # Quay south goes first: its promise is all but surely broken, and a failure there costs a card of 143 and a lift.
    assert now.index[0] == "Quay south"


def test_a_card_like_the_planned_one_stays_though_its_chance_is_low(demo):
    # Nothing would be gained by replacing it with another of its kind.
    of = demo.calendar["camera"] == "Ticket hall"
    plan = demo.plan.assign(
        chance_retention=demo.plan["chance_retention"].where(demo.plan["camera"] != "Ticket hall", 0.5)
    )
    now = demo.calendar.assign(chance_retention=demo.calendar["chance_retention"].mask(of, 0.5))
    table = visit_calendar(demo.site, plan, in_service=now).replacements.table.set_index("camera")
    assert table["due_for"]["Ticket hall"] == WEAR
    now = now.assign(chance_retention=now["chance_retention"].mask(of, 0.49))
    table = visit_calendar(demo.site, plan, in_service=now).replacements.table.set_index("camera")
    assert table["due_for"]["Ticket hall"] == TOO_SMALL


def test_a_camera_for_which_the_plan_has_no_card_is_not_visited_and_told(demo):
    visits = demo.visits
    assert not visits.table["cameras"].str.contains("Mast top|Quay north").any()
    dates = demo.calendar.set_index("camera")["next_change"]
    assert visits.sentence.endswith(
        " Warning: no visit is planned to 2 cameras for which the plan has no card. The cards in service there are due:"
        f" Mast top on {dates['Mast top']}, Quay north on {dates['Quay north']}. Find a planned card for them first."
    )


def test_visits_of_the_site_that_stands_are_told_with_their_climbs_and_cost_less_than_one_camera_at_a_time(demo):
    visits = demo.visits
    assert visits.sentence.startswith("Visits planned in 10 years, from the cards in service on: ")
    assert len(visits.table) < visits.separate_visits
    assert visits.climbs < visits.separate_climbs
    assert visits.saving > 0
    # Without visit groups nothing is shared: what is saved is the difference of the two costs.
    cameras = demo.site.cameras.assign(visit_group="")
    apart = visit_calendar(replace(demo.site, cameras=cameras), demo.plan, in_service=demo.calendar)
    assert len(apart.table) == visits.separate_visits
    assert apart.saving == 0
    assert apart.cost - visits.cost == pytest.approx(visits.saving)


def test_a_card_overdue_is_changed_on_the_first_day(demo):
    # Ticket hall is due in August 2027.
    late = visit_calendar(demo.site, demo.plan, datetime.date(2027, 9, 1), in_service=demo.calendar)
    row = late.table.set_index("visit_group").loc["public rooms"].iloc[0]
    assert (row["date"], row["years"], row["work"]) == ("2027-09-01", 0, "change the cards")


def test_cameras_without_a_card_get_the_first_one_at_the_visit_that_changes_another(demo):
    # The public rooms without the card of Gangway, and a first fitting that takes a visit: on the first day.
    now = demo.calendar[demo.calendar["camera"] != "Gangway"]
    costs = replace(demo.site.costs, first_fitting_is_a_visit=True)
    site = replace(demo.site, settings=replace(demo.site.settings, costs=costs))
    row = visit_calendar(site, demo.plan, in_service=now).table.set_index("visit_group").loc["public rooms"].iloc[0]
    assert row["date"] == "2026-11-25"
    assert row["work"] == "fit and change the cards"
    assert row["brought_forward"].startswith("Ticket hall by 0.74 years, Waiting room by 1.9 years")
