"""The visits by date, in the document: the same as in visits.ics, in the bill, and no more rows than a page or two."""

import re
from dataclasses import replace

import pandas as pd
import pytest
from icalendar import Calendar
from proposals import demo
from test_page import every, section_of, words

from edgestore.documents.diary import diary
from edgestore.documents.visits import MOST_VISITS, by_date

SPACE = "{http://www.w3.org/1999/xhtml}"


def rows_of(made):
    [table] = [
        table
        for table in every(section_of(made, "order"), "table")
        if words(table[0]).startswith("The visits by date, as in visits.ics")
    ]
    return [[words(cell) for cell in row] for row in table.iter(f"{SPACE}tr")][1:]


def test_each_visit_of_the_diary_has_a_row_with_its_date_its_lift_and_its_cost():
    made = demo()
    events = [
        event
        for event in Calendar.from_ical(diary(made.visits, made.front)).walk("VEVENT")
        if "Cost: " in str(event["description"])
    ]
    in_diary = sorted(
        (
            str(event["dtstart"].dt),
            "yes" if str(event["summary"]).endswith(", with a lift") else "no",
            round(float(re.search(r"Cost: ([\d.\u00a0]+)", str(event["description"]))[1].replace("\u00a0", ""))),
        )
        for event in events
    )
    *rows, total = rows_of(made)
    in_table = sorted((row[0], row[3], int(row[4].replace("\N{NO-BREAK SPACE}", ""))) for row in rows)
    assert len(in_diary) == len(made.visits.table) > 10
    assert in_table == in_diary
    assert total[1] == f"{len(rows)} visits"


def test_the_visits_add_up_to_the_bill_without_failures():
    visits = by_date(demo().visits, demo().front.date)
    years = demo().visits.bill.years
    assert visits.cost == pytest.approx(years["cards_cost"].sum() + years["visits_cost"].sum())
    assert visits.lifts == demo().visits.climbs
    assert visits.all_cards == years["cards"].sum()


def test_of_many_visits_the_first_have_a_row_each_and_the_rest_one_together():
    calendar = demo().visits
    table = pd.concat([calendar.table] * 9, ignore_index=True).sort_values("date", kind="stable")
    visits = by_date(replace(calendar, table=table), demo().front.date)
    first = bool(calendar.bill.first_cards)
    assert len(visits.rows) == MOST_VISITS + first
    assert len(visits.rows) - first + visits.more == visits.visits == 9 * len(calendar.table)
    assert visits.cost == pytest.approx(sum(row["cost"] for row in visits.rows) + visits.more_cost)
    assert visits.last == calendar.table["date"].max()
