"""The visits of a proposal by date, as a table of the document: the first ones each, the rest together."""

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from edgestore.plan.visit_calendar import VisitCalendar
from edgestore.text import NO_BREAK, counted

MOST_VISITS = 40
"""Visits of which the document has a row each; all stand in the workbook and in visits.ics."""

COUNT = re.compile(r"(?:(?<=^)|(?<=, ))(\d+) x ")
"""How many of a kind are brought, in a row of the calendar."""


@dataclass(frozen=True)
class VisitsByDate:
    """The visits by date.

    Attributes
    ----------
    rows : tuple of mapping
        A row a visit: ``date``, ``cameras``, ``cards`` to bring, ``with_lift`` and ``cost``, currency units (NaN where
        none is counted). First cards that take no visit of their own are a row without names.
    more, more_cards, more_lifts, more_cost, last : int, float and str
        Visits without a row, their cards, those with a lift, their cost, and the date of the last.
    visits, all_cards, lifts, cost : int and float
        The same of all: the cost is that of the bill without failures.
    """

    rows: tuple[Mapping[str, Any], ...]
    more: int
    more_cards: int
    more_lifts: int
    more_cost: float
    last: str
    visits: int
    all_cards: int
    lifts: int
    cost: float


def by_date(calendar: VisitCalendar, day: datetime.date) -> VisitsByDate:
    """Give the visits of a calendar by date.

    Parameters
    ----------
    calendar : VisitCalendar
        The visits over the horizon, and their bill.
    day : date
        Date of the document, on which first cards are fitted that take no visit of their own.

    Returns
    -------
    VisitsByDate
        Rows, and what they add up to.
    """
    table, bill = calendar.table, calendar.bill
    first, rest = table.iloc[:MOST_VISITS], table.iloc[MOST_VISITS:]
    rows: list[Mapping[str, Any]] = []
    if bill.first_cards:
        cards = counted(bill.first_cards, "card")
        rows.append({"date": str(day), "cameras": "", "cards": cards, "with_lift": False, "cost": bill.first_cost})
    for visit in first.to_dict("records"):
        told = {str(name): visit[name] for name in ("date", "cameras", "cards", "with_lift", "cost")}
        rows.append(told | {"cards": COUNT.sub(f"\\1{NO_BREAK}×{NO_BREAK}", told["cards"])})
    return VisitsByDate(
        rows=tuple(rows),
        more=len(rest),
        more_cards=int(rest["cards_to_bring"].sum()),
        more_lifts=int(rest["with_lift"].sum()),
        more_cost=float(rest["cost"].sum(skipna=False)),
        last=str(table["date"].max()) if len(table) else "",
        visits=len(table),
        all_cards=int(table["cards_to_bring"].sum()) + int(bill.first_cards),
        lifts=int(table["with_lift"].sum()),
        cost=float(table["cost"].sum(skipna=False)) + (float(bill.first_cost) if bill.first_cards else 0.0),
    )
