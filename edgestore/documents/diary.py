"""The dates of a plan as iCalendar (RFC 5545): when each card is looked at and changed, and the visits for it."""

import calendar
import datetime
import uuid

from icalendar import Calendar, Event

from edgestore.documents.content import Proposal
from edgestore.documents.front import MOST_YEARS
from edgestore.text import MADE_WITH, change_age, visible
from edgestore.units import DAYS_PER_YEAR

NONE_FOUND = "the plan has no card for this camera, find one before then"

DIARY = uuid.uuid5(uuid.NAMESPACE_URL, "urn:edgestore:diary")


def diary(proposal: Proposal) -> bytes:
    """Write the dates of inspection and replacement, camera by camera.

    Parameters
    ----------
    proposal : Proposal
        What is proposed; where no card is in service the planned one is taken as fitted on its date.

    Returns
    -------
    bytes
        An iCalendar file: whole days, with names that stay the same when it is written again, so that a calendar
        takes the newer date for the older. The stamp of each is the date of the proposal.

    Notes
    -----
    A card is changed at the age of the plan, ``change_years``, and one in service at its own next change, or when
    the budget has money for it: its latest date of change, in :func:`visits` the sooner one of a visit that it shares.
    It is looked at every year until then, but not when it is changed. A camera that has no card and gets none has no
    date.
    """
    front, plan = proposal.front, proposal.plan.plan
    in_service = proposal.visits.replacements.table.set_index("camera").to_dict("index")
    file = _calendar(front.title)
    for row in plan.to_dict("records"):
        now = in_service.get(row["camera"])
        if now is None and not row["meets"]:
            continue
        camera = visible(row["camera"])
        if now is None:
            years, note = row["change_years"], _note(proposal, f"Card: {visible(row['card'])}.")
            change = front.date + datetime.timedelta(days=round(min(years, MOST_YEARS) * DAYS_PER_YEAR))
            age = f"{change_age(years)} years in service"
        else:
            dates = [datetime.date.fromisoformat(now[name]) for name in ("keep_until", "replace_on") if now[name]]
            change = max(*dates, front.date)
            years, age = (change - front.date).days / DAYS_PER_YEAR, f"in service since {now['fitted']}"
            follows = f"replace it with {visible(now['replace_with'])}" if now["replace_with"] else NONE_FOUND
            note = _note(proposal, f"Card in service: {visible(now['in_service_card'])}; {follows}.")
        looks = [_years_on(front.date, n) for n in range(1, MOST_YEARS) if n < years]
        for number_of_look, day in enumerate(looks, start=1):
            what = f"Look at the card of {camera}: does it record, play back, report its health?"
            file.add_component(_event(proposal, camera, f"look {number_of_look}", day, what, note))
        if years <= MOST_YEARS:
            what = f"Latest date to change the card of {camera} ({age})"
            file.add_component(_event(proposal, camera, "change", change, what, note))
    return bytes(file.to_ical())


def visits(proposal: Proposal) -> bytes:
    """Write the visits at which cards are changed, those of a visit group together.

    Parameters
    ----------
    proposal : Proposal
        What is proposed.

    Returns
    -------
    bytes
        An iCalendar file as :func:`diary` writes it: whole days, from the first visit to the horizon, or for 30 years.
    """
    file, count = _calendar(f"{proposal.front.title}: visits"), dict[tuple[str, str], int]()
    for row in proposal.visits.table.to_dict("records"):
        if row["years"] > MOST_YEARS:
            break
        whose = ("group", row["visit_group"]) if row["visit_group"] else ("camera", row["cameras"])
        count[whose] = count.get(whose, 0) + 1
        what = f"{row['work'].capitalize()} of {visible(row['visit_group'] or row['cameras'])}"
        what = f"{what}, with a lift" if row["with_lift"] else what
        note = f"Bring {visible(row['cards'])}. Reached {visible(row['tools'])}."
        which = f"visit {count[whose]} to {whose[0]}"
        day = datetime.date.fromisoformat(row["date"])
        file.add_component(_event(proposal, visible(whose[1]), which, day, what, _note(proposal, note)))
    return bytes(file.to_ical())


def _calendar(title: str) -> Calendar:
    file = Calendar()
    file.add("prodid", f"-//edgestore//{MADE_WITH}//EN")
    file.add("version", "2.0")
    file.add("method", "PUBLISH")
    file.add("x-wr-calname", visible(title))
    return file


def _note(proposal: Proposal, text: str) -> str:
    caution = "See the cautions of the proposal before anybody fits a card."
    return f"{text} {caution} {visible(proposal.plan.site.override)}".rstrip()


def _event(proposal: Proposal, camera: str, which: str, day: datetime.date, what: str, note: str) -> Event:
    front = proposal.front
    event = Event()
    event.add("uid", str(uuid.uuid5(DIARY, "\n".join((front.organisation, front.title, camera, which)))))
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
