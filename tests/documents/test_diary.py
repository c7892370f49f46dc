"""The visits as iCalendar: read back by the icalendar library, and line by line as RFC 5545 has it."""

import datetime
import re
from dataclasses import replace
from functools import cache

import pytest
from icalendar import Calendar
from proposals import HOSTILE, demo, hostile

from edgestore.documents.diary import _years_on, diary


@cache
def fresh():
    """The demo as if none of its cameras had a card yet."""
    return replace(demo(), plan=replace(demo().plan, calendar=None))


@cache
def written(made):
    return diary(made().visits, made().front)


def events(made):
    return Calendar.from_ical(written(made)).walk("VEVENT")


def titled(found, text):
    return [event for event in found if text in event["summary"]]


def test_there_is_one_event_for_each_visit_with_what_to_bring_and_the_change_that_follows():
    table = demo().visits.table
    visits = [event for event in events(demo) if "Bring " in event["description"]]
    assert [str(event["dtstart"].dt) for event in visits] == table["date"].tolist()
    quay = titled(visits, "quay (Ramp foot, Quay south), with a lift")[0]
    # Both cards of 2026-11-25 are good for 7.5 years: 7.5 x 365.25 = 2739.4 days.
    follows = datetime.date(2026, 11, 25) + datetime.timedelta(days=2739)
    assert str(quay["description"]).startswith(
        "Bring 2 x long-life 512 GB. Reached with lifting gear: Quay south; on foot or by ladder: Ramp foot. Cost:"
        " 546.00 credits. Due now: with cards in stock on this day, or as soon as ordered ones are here, after 60 days."
        f" The next change of these cards is due by {follows}. See the cautions of the proposal"
    )
    assert [str(event["dtstart"].dt) for event in titled(visits, "quay")] == ["2026-11-25", str(follows)]


def test_each_visit_has_an_alarm_by_which_its_cards_are_to_be_ordered():
    # The settings of the demo give cards a lead time of 60 days; the calendar begins on 2026-11-25.
    visits = [event for event in events(demo) if "Bring " in event["description"]]
    for event in visits:
        [alarm] = event.walk("VALARM")
        assert alarm["trigger"].dt == -datetime.timedelta(days=60)
        order_by = event["dtstart"].dt - datetime.timedelta(days=60)
        is_late = order_by < datetime.date(2026, 11, 25)
        told = "Due now: with cards in stock" if is_late else f"Order the cards by {order_by}."
        assert told in event["description"]
        assert alarm["action"] == "DISPLAY"
    assert not [event for event in events(demo) if event not in visits and event.walk("VALARM")]


@pytest.mark.parametrize("made", [demo, fresh])
def test_the_costs_of_the_events_add_up_to_the_planned_cost_of_the_bill(made):
    found = [re.search(r"Cost: ([\d\N{NO-BREAK SPACE}]+\.\d\d) ", str(event["description"])) for event in events(made)]
    costs = [float(match[1].replace("\N{NO-BREAK SPACE}", "")) for match in found if match]
    assert sum(costs) == pytest.approx(made().visits.bill.planned_cost, abs=0.005 * len(costs))


def test_first_cards_that_take_no_visit_have_an_event_on_the_day_of_the_document():
    [event] = titled(events(fresh), "Fit the first cards: 12 cameras")
    assert event["dtstart"].dt == fresh().front.date
    # 12 cards of the list's prices and a tenth for spares: 650 x 1.1 = 715
    assert "Cost: 715.00 credits." in event["description"]
    assert str(event["description"]).startswith("Lane 1 booth, Lane 2 booth, ")
    assert titled(events(demo), "Fit the first cards") == []


def test_first_cards_of_a_site_that_stands_are_named_by_the_cameras_without_one():
    calendar = demo().plan.calendar
    made = replace(demo(), plan=replace(demo().plan, calendar=calendar[calendar["camera"] != "Fuel store"]))
    [event] = titled(Calendar.from_ical(diary(made.visits, made.front)).walk("VEVENT"), "Fit the first cards: 1 camera")
    assert str(event["description"]).startswith("Fuel store. As planned. Cost: ")


def test_the_cards_are_looked_at_once_a_year():
    looks = titled(events(demo), "Look at the cards of 12 cameras")
    assert [str(event["dtstart"].dt) for event in looks] == [f"{year}-11-25" for year in range(2027, 2037)]
    assert str(looks[0]["description"]).startswith("Lane 1 booth, Lane 2 booth, ")
    assert " and 4 more cameras." in looks[0]["description"]


def test_a_card_that_no_planned_one_follows_has_its_date():
    due = demo().plan.plan.set_index("camera")["in_service_next_change"]
    for camera in ("Mast top", "Quay north"):
        [event] = titled(events(demo), f"The card of {camera} is due, and no planned card follows")
        assert str(event["dtstart"].dt) == due[camera]
        assert "Find a card before then." in event["description"]


def test_a_leap_day_has_its_yearly_date_on_the_last_of_february():
    assert [_years_on(datetime.date(2024, 2, 29), n) for n in (1, 4)] == [
        datetime.date(2025, 2, 28),
        datetime.date(2028, 2, 29),
    ]


def test_events_keep_their_names_when_dates_move_and_differ_among_themselves():
    later = replace(fresh(), front=replace(demo().front, date=datetime.date(2030, 1, 1)))
    moved = Calendar.from_ical(diary(later.visits, later.front)).walk("VEVENT")
    names = [[str(event["uid"]) for event in found] for found in (events(fresh), moved)]
    assert names[0] == names[1]
    assert len(set(names[0])) == len(names[0])


def test_stamps_are_the_date_of_the_document():
    assert {event["dtstamp"].dt for event in events(hostile)} == {datetime.datetime(2024, 2, 29, tzinfo=datetime.UTC)}


def test_hostile_names_are_read_back_as_they_were():
    for name in HOSTILE:
        assert titled(events(hostile), name)


def unfolded(content):
    """Read the lines as RFC 5545, section 3.1, has them; a reader of our own, to check the library's writer."""
    text = content.decode("utf-8")
    assert text.endswith("\r\n")
    assert not re.search(r"(?<!\r)\n", text)
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    return text.replace("\r\n ", "").removesuffix("\r\n").split("\r\n")


@pytest.mark.parametrize("made", [demo, hostile])
def test_the_lines_are_those_of_the_standard(made):
    lines = unfolded(written(made))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-1] == "END:VCALENDAR"
    assert {"VERSION:2.0", "METHOD:PUBLISH"} <= set(lines[:6])
    needs = {"VEVENT": {"UID", "DTSTAMP", "DTSTART", "SUMMARY"}, "VALARM": {"ACTION", "TRIGGER", "DESCRIPTION"}}
    within = []
    for line in lines[1:-1]:
        assert re.match(r"[A-Z-]+(;[A-Z]+=[^:;]+)*:", line), line
        name, _, value = line.partition(":")
        if name == "BEGIN":
            within.append((value, set(needs[value])))
        elif name == "END":
            ended, missing = within.pop()
            assert (ended, missing) == (value, set())
        elif within:
            within[-1][1].discard(re.split("[:;]", line)[0])
    assert not within
