"""The visits of a site as iCalendar (RFC 5545): what to bring when, what it costs, and when to look at the cards."""

import calendar
import datetime
import math
import uuid

from icalendar import Alarm, Calendar, Event

from edgestore.documents.front import MOST_YEARS, FrontPage
from edgestore.plan.visit_calendar import VisitCalendar
from edgestore.text import MADE_WITH, counted, grouped, short, visible
from edgestore.units import DAYS_PER_YEAR

DIARY = uuid.uuid5(uuid.NAMESPACE_URL, "urn:edgestore:diary")

AHEAD_DAYS = 28
"""So long before a visit its alarm goes off, or as long as the lead time of the cards where that is longer: cards are
ordered, a lift is booked (our choice)."""

NAMED, NAME = 8, 40
"""So many cameras are named in a look at the cards, with so many letters."""

CAUTION = "See the cautions of the proposal before anybody fits a card."


def diary(visits: VisitCalendar, front: FrontPage, override: str = "") -> bytes:
    """Write one event a visit, one look at the cards a year, and the dates of cards that no planned one follows.

    Parameters
    ----------
    visits : VisitCalendar
        The visits, from the date of the document on.
    front : FrontPage
        Title, maker and date.
    override : str
        What departs from the settings, told in every event.

    Returns
    -------
    bytes
        An iCalendar file: whole days, with names that stay the same when it is written again, so that a calendar
        takes the newer date for the older. The stamp of each is the date of the document. Its costs add up to the
        planned cost of the bill, where one is counted.

    Notes
    -----
    Visits from the first to the horizon, or for 30 years. First cards that take no visit of their own have an event
    on the date of the document. The cards are looked at every year, on the same day as the document's.
    """
    file = _calendar(front.title)

    def put(whose: str, which: str, day: datetime.date, what: str, note: str) -> Event:
        text = f"{note} {CAUTION} {visible(override)}".rstrip()
        event = _event(front, whose, which, day, what, text)
        file.add_component(event)
        return event

    bill, count = visits.bill, dict[tuple[str, str], int]()
    first = bill.first_cards
    if first:
        has_card = set(visits.replacements.table["camera"])
        note = f"{_named([camera for camera in bill.cameras['camera'] if camera not in has_card])}. As planned."
        note += _cost(bill.first_cost, visits.currency)
        put("site", "first cards", front.date, f"Fit the first cards: {counted(first, 'camera')}", note)
    for row in visits.table.to_dict("records"):
        if row["years"] > MOST_YEARS:
            break
        whose = ("group", row["visit_group"]) if row["visit_group"] else ("camera", row["cameras"])
        count[whose] = count.get(whose, 0) + 1
        where = f"{row['visit_group']} ({row['cameras']})" if row["visit_group"] else row["cameras"]
        what = f"{row['work'].capitalize()} of {visible(where)}"
        what = f"{what}, with a lift" if row["with_lift"] else what
        note = f"Bring {visible(row['cards'])}. Reached {visible(row['tools'])}.{_cost(row['cost'], visits.currency)}"
        note += _when(row["years"], row["order_by"], visits.lead_days)
        note += f" The next change of these cards is due by {row['next_change']}."
        day = datetime.date.fromisoformat(row["date"])
        event = put(visible(whose[1]), f"visit {count[whose]} to {whose[0]}", day, what, note)
        ahead, alarm = math.ceil(max(AHEAD_DAYS, visits.lead_days)), Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("trigger", -datetime.timedelta(days=ahead))
        alarm.add("description", f"In {ahead} days: {what}. Order the cards{' and the lift' * row['with_lift']} now.")
        event.add_component(alarm)
    cameras = bill.cameras["camera"].tolist()
    if cameras:
        for year in range(1, 1 + int(min(visits.horizon_years, MOST_YEARS))):
            what = f"Look at the cards of {counted(len(cameras), 'camera')}: do they record, play back, report health?"
            put(
                "site",
                f"look {year}",
                _years_on(front.date, year),
                what,
                f"{_named(cameras)}. Over the network, without a visit.",
            )
    for row in visits.replacements.unplanned.to_dict("records"):
        day = max(datetime.date.fromisoformat(row["keep_until"]), front.date)
        if (day - front.date).days <= MOST_YEARS * DAYS_PER_YEAR:
            what = f"The card of {visible(row['camera'])} is due, and no planned card follows"
            note = (
                f"Card in service: {visible(row['in_service_card'])}, since {row['fitted']}. Find a card before then."
            )
            put(visible(row["camera"]), "due", day, what, note)
    return bytes(file.to_ical())


def _named(cameras: list[str]) -> str:
    more = f" and {counted(len(cameras) - NAMED, 'more camera')}" if len(cameras) > NAMED else ""
    return f"{', '.join(visible(short(camera, NAME)) for camera in cameras[:NAMED])}{more}"


def _when(years: float, order_by: str, lead_days: float) -> str:
    """Say when to book a visit and to order its cards, or that it is due before ordered cards are here."""
    if years * DAYS_PER_YEAR < lead_days:
        days = counted(math.ceil(lead_days), "day")
        return f" Due now: with cards in stock on this day, or as soon as ordered ones are here, after {days}."
    return f" This is the latest date: book a working day before it. Order the cards by {order_by}."


def _cost(cost: float, currency: str) -> str:
    return f" Cost: {grouped(f'{cost:.2f}')} {visible(currency)}." if cost == cost else ""


def _calendar(title: str) -> Calendar:
    file = Calendar()
    file.add("prodid", f"-//edgestore//{MADE_WITH}//EN")
    file.add("version", "2.0")
    file.add("method", "PUBLISH")
    file.add("x-wr-calname", visible(title))
    return file


def _event(front: FrontPage, whose: str, which: str, day: datetime.date, what: str, note: str) -> Event:
    event = Event()
    event.add("uid", str(uuid.uuid5(DIARY, "\n".join((front.organisation, front.title, whose, which)))))
    event.add("dtstamp", datetime.datetime.combine(front.date, datetime.time(), datetime.UTC))
    event.add("dtstart", day)
    event.add("dtend", day + datetime.timedelta(days=1))
    event.add("summary", what)
    event.add("description", note)
    event.add("transp", "TRANSPARENT")
    return event


def _years_on(day: datetime.date, years: int) -> datetime.date:
    """Give the same day so many years on; the last of February where there is no 29th."""
    year = day.year + years
    return day.replace(year=year, day=min(day.day, calendar.monthrange(year, day.month)[1]))
