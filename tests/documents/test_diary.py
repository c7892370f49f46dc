"""The dates as iCalendar: read back by the icalendar library, and line by line as RFC 5545 has it."""

import datetime
import re
from dataclasses import replace
from functools import cache

import pytest
from icalendar import Calendar
from proposals import HOSTILE, demo, hostile

from edgestore.documents.diary import MOST_YEARS, _years_on, diary, visits
from edgestore.units import DAYS_PER_YEAR


def events(content):
    return Calendar.from_ical(content).walk("VEVENT")


@cache
def fresh():
    """The demo as if none of its cameras had a card yet."""
    return replace(demo(), plan=replace(demo().plan, calendar=None))


def of(camera, found):
    return [event for event in found if f"the card of {camera}" in event["summary"]]


def test_each_served_camera_is_looked_at_every_year_until_its_card_is_changed():
    found = events(diary(fresh()))
    start = fresh().front.date
    for row in fresh().plan.plan.itertuples():
        dates = sorted(event["dtstart"].dt for event in of(row.camera, found))
        if not row.meets:
            assert dates == []
            continue
        years = row.change_years
        *looks, change = dates
        assert abs((change - start).days - years * DAYS_PER_YEAR) <= 0.5
        assert looks == [start.replace(year=start.year + n) for n in range(1, len(looks) + 1)]
        assert len(looks) == len([n for n in range(1, MOST_YEARS) if n < years - 1e-3])


def test_the_age_of_change_is_told_to_its_quarter_of_a_year_in_diary_table_and_document():
    # Ages are whole quarters: 6.75 was told as 6.8, and 6.25 as 6.2.
    plan = fresh().plan
    for camera, years, told in plan.plan.assign(told=plan.table["change_years"])[
        ["camera", "change_years", "told"]
    ].to_numpy():
        if years == years:
            assert float(told) == years
            changes = [
                event["summary"] for event in of(camera, events(diary(fresh()))) if "date to change" in event["summary"]
            ]
            assert changes == [f"Latest date to change the card of {camera} ({told} years in service)"]


@pytest.mark.parametrize(("age_years", "looks", "days"), [(3.0, 2, 1096), (3.25, 3, 1187), (15.0, 14, 5479)])
def test_the_one_date_of_change_is_the_age_of_the_plan_and_nobody_looks_on_the_day_before(age_years, looks, days):
    # 365.25 days a year: 1095.75, 1187.06 and 5478.75. After 3 years the look and the change would be the same visit.
    plan = fresh().plan
    aged = replace(fresh(), plan=replace(plan, plan=plan.plan.assign(change_years=age_years)))
    camera = plan.plan.loc[plan.plan["meets"], "camera"].iloc[0]
    found = of(camera, events(diary(aged)))
    [change] = [event for event in found if event["summary"].startswith("Latest date to change")]
    assert (change["dtstart"].dt - fresh().front.date).days == days
    assert len(found) == looks + 1
    assert ("more than 10 years" in change["summary"]) == (age_years > 10)


def test_a_card_in_service_is_changed_at_its_own_date_and_looked_at_until_then():
    found = events(diary(demo()))
    [*looks, change] = of("Fuel store", found)  # due on 2028-07-26; the document is of 2026-11-25
    assert change["summary"] == "Latest date to change the card of Fuel store (in service since 2021-06-14)"
    assert str(change["dtstart"].dt) == demo().plan.plan.set_index("camera")["in_service_next_change"]["Fuel store"]
    assert str(change["description"]).startswith("Card in service: plain 32 GB; replace it with long-life 32 GB.")
    assert [str(look["dtstart"].dt) for look in looks] == ["2027-11-25"]
    # The card in Lane 2 booth holds too few days: due on the day of the document, so that nobody looks at it before.
    [at_once] = of("Lane 2 booth", found)
    assert str(at_once["dtstart"].dt) == "2026-11-25"
    # The plan has no card for Mast top: the date stands all the same, and says so.
    assert "find one before then" in str(of("Mast top", found)[-1]["description"])


def test_a_leap_day_has_its_yearly_date_on_the_last_of_february():
    assert [_years_on(datetime.date(2024, 2, 29), n) for n in (1, 4)] == [
        datetime.date(2025, 2, 28),
        datetime.date(2028, 2, 29),
    ]


def test_events_keep_their_names_when_dates_move_and_differ_among_themselves():
    later = replace(fresh(), front=replace(demo().front, date=datetime.date(2030, 1, 1)))
    names = [[str(event["uid"]) for event in events(diary(one))] for one in (fresh(), later)]
    assert names[0] == names[1]
    assert len(set(names[0])) == len(names[0])


def test_stamps_are_the_date_of_the_document():
    stamps = {event["dtstamp"].dt for event in events(diary(hostile()))}
    assert stamps == {datetime.datetime(2024, 2, 29, tzinfo=datetime.UTC)}


def test_hostile_names_are_read_back_as_they_were():
    found = events(diary(hostile()))
    for name in HOSTILE:
        assert of(name, found)
    assert len(Calendar.from_ical(diary(hostile())).subcomponents) == len(found)


def unfolded(content):
    """Read the lines as RFC 5545, section 3.1, has them; a reader of our own, to check the library's writer."""
    text = content.decode("utf-8")
    assert text.endswith("\r\n")
    assert not re.search(r"(?<!\r)\n", text)
    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    return text.replace("\r\n ", "").removesuffix("\r\n").split("\r\n")


def test_the_visits_are_read_back_with_cards_tools_and_names_of_their_own():
    found = {str(event["summary"]): event for event in events(visits(fresh()))}
    assert len(found) == len(fresh().visits.table) == 7
    quay = found["Change the cards of quay, with a lift"]
    # Two cards good for 7.5 years: 7.5 x 365.25 = 2739.4 days
    assert quay["dtstart"].dt - fresh().front.date == datetime.timedelta(days=2739)
    assert str(quay["description"]).startswith(
        "Bring 2 x long-life 512 GB. Reached with lifting gear: Quay south; on foot or by ladder: Ramp foot. See the"
        " cautions of the proposal"
    )
    assert not found["Change the cards of public rooms"]["summary"].endswith("lift")
    later = replace(fresh(), front=replace(demo().front, date=datetime.date(2030, 1, 1)))
    names = [[str(event["uid"]) for event in events(visits(one))] for one in (fresh(), later)]
    assert names[0] == names[1]
    assert len({*names[0], *(str(event["uid"]) for event in events(diary(demo())))}) == 7 + len(events(diary(demo())))


@pytest.mark.parametrize("made", [demo, hostile])
@pytest.mark.parametrize("written", [diary, visits])
def test_the_lines_are_those_of_the_standard(made, written):
    lines = unfolded(written(made()))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-1] == "END:VCALENDAR"
    assert {"VERSION:2.0", "METHOD:PUBLISH"} <= set(lines[:6])
    within = False
    for line in lines[1:-1]:
        assert re.match(r"[A-Z-]+(;[A-Z]+=[^:;]+)*:", line), line
        if line == "BEGIN:VEVENT":
            assert not within
            within, needed = True, {"UID", "DTSTAMP", "DTSTART", "SUMMARY"}
        elif line == "END:VEVENT":
            assert not needed
            within = False
        elif within:
            needed.discard(re.split("[:;]", line)[0])
    assert not within
