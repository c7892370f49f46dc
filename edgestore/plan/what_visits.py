"""At which visits the cards are changed, as an answer to a page: the calendar, and the cards in service."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace

import pandas as pd

from edgestore.answers.change import REACHED
from edgestore.inputs.settings import Document
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.visit_calendar import VISITS_ASSUMPTION, VisitCalendar, lifts, visit_calendar
from edgestore.text import NO_BREAK, chance, counted, money, risk, whole

TABLES = ("all visits by date", "visits with a lift", "the cards in service, riskiest first")
"""What may be shown as a table."""

NAMES = 5
"""So many cameras are named in a warning."""


ON_FOOT, BY_LIFT = REACHED

ALWAYS = ("Date, at the latest", "Cameras", "Tools to bring", "Cards to bring", "Climbs so far")
"""Headings that stand above an empty column too."""

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

NEAR_YEARS = 0.25
"""Two lifts within so many years might be one (our choice)."""


@dataclass(frozen=True, kw_only=True)
class WhatVisits:
    """At which visits the cards are changed.

    Attributes
    ----------
    calendar : VisitCalendar
        The visits.
    shown : str
        One of ``TABLES``.
    years_ahead : float
        Years of which the visits are shown.
    warnings : tuple of str
        What to be careful about.
    document : Document
        What the settings say of the site's documents, of which the dates are a part.
    """

    calendar: VisitCalendar
    shown: str
    years_ahead: float
    warnings: tuple[str, ...]
    document: Document

    @property
    def sentence(self) -> str:
        """Visits and climbs with a lift over the horizon; beside the table of the cards in service what of them."""
        told = self.calendar.replacements.sentences if self.shown == TABLES[2] else ()
        return " ".join(told) or f"{self._soon()} {self.calendar.sentence}"

    def _soon(self) -> str:
        visits, currency = self.ahead, self.calendar.currency
        cost = f", {money(visits['cost'].sum(), currency)}" if visits["cost"].notna().any() else ""
        climbs = lifts(len(visits), int(visits["with_lift"].sum()))
        return f"In the next {counted(self.years_ahead, 'year')}: {counted(len(visits), 'visit')}{climbs}{cost}."

    @property
    def ahead(self) -> pd.DataFrame:
        """The visits of the years that are shown."""
        return self.calendar.table[self.calendar.table["years"] < self.years_ahead]

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the answer rests on."""
        return (
            VISITS_ASSUMPTION,
            "A card in service is kept until its chance to work falls below the chance that the settings state, "
            "given its age and the failures in the service log; a card that breaks the promise is due at once. "
            "Its risk is the chance that the promise is broken within a year of its visit for lack of the "
            "planned card, times the price of a card and a visit. A budget puts a whole visit off to the first "
            "day of a year that can pay for it, and money left in a year is not spent on a less risky visit; "
            "changes after those of the cards in service are not charged to it.",
        )

    @property
    def tables(self) -> Mapping[str, pd.DataFrame]:
        """The tables that are saved, as the plan writes them."""
        replaced = self.calendar.replacements.table
        return {"visits": self.calendar.table, **({} if replaced.empty else {"replacements": replaced})}

    @property
    def table(self) -> pd.DataFrame:
        """The table that is shown, with headings to read."""
        return self._in_service() if self.shown == TABLES[2] else self._visits()

    def _visits(self) -> pd.DataFrame:
        visits = self.ahead
        visits = visits[visits["with_lift"]] if self.shown == TABLES[1] else visits
        climbs = visits["with_lift"]
        shown: dict[str, list[str]] = {
            "Date, at the latest": [_with_weekday(day) for day in visits["date"]],
            "Visit group": visits["visit_group"].tolist(),
            "Cameras": visits["cameras"].tolist(),
            "Tools to bring": [_tools(text) for text in visits["tools"]],
            "Cards to bring": visits["cards"].tolist(),
            "Order the cards by": visits["order_by"].tolist(),
            f"Cost, {self.calendar.currency}": _amounts(visits["cost"]),
            "Climbs so far": [str(count) for count in climbs.cumsum()],
            "Brought forward": visits["brought_forward"].tolist(),
            "Put off by the budget": visits["put_off"].tolist(),
        }
        return pd.DataFrame({name: column for name, column in shown.items() if name in ALWAYS or any(column)})

    def _in_service(self) -> pd.DataFrame:
        rows, unit = self.calendar.replacements.table, self.calendar.currency
        covers = {}
        if "chance_outage" in rows:
            covers = {"Covers the outage asked": [chance(c) if c == c else "" for c in rows["chance_outage"]]}
        return pd.DataFrame(
            {
                "Camera": rows["camera"],
                "Card in service": rows["in_service_card"],
                "Holds the days asked": [chance(c) if c == c else "" for c in rows["chance_retention"]],
                **covers,
                "Keep until": rows["keep_until"],
                "Due for": rows["due_for"],
                "Replace with": rows["replace_with"].replace("", "no card found"),
                "On": rows["replace_on"],
                "Year": rows["budget_year"].astype(str),
                "Fails in the year after": [risk(c) if c == c else "" for c in rows["chance_fails"]],
                f"Risk, {unit}": _amounts(rows["risk"]),
                f"Cost, {unit}": _amounts(rows["cost"]),
                "Failures by waiting": [f"{round(n, 2) + 0.0:.2f}" if n == n else "" for n in rows["waiting_failures"]],
                f"Waiting costs, {unit}": _amounts(rows["waiting_cost"]),
            }
        )


def what_visits(
    plan: SitePlan, shown: str = TABLES[0], *, years_ahead: float = 3.0, budget_per_year: float | None = None
) -> WhatVisits:
    """Tell at which visits the cards of a site are changed.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    shown : str
        One of ``TABLES``.
    years_ahead : float
        Years of which the visits are shown, above 0; of the cards in service all are.
    budget_per_year : float, optional
        Money to replace the cards in service with, currency units a year, 0 for no limit; as the settings state when
        left out.

    Returns
    -------
    WhatVisits
        The visits, and when the cards in service are replaced.
    """
    settings, texts = plan.site.settings, []
    budget = budget_per_year or None
    if budget_per_year is None or settings.costs is None or plan.site.costs is None:
        calendar = plan.visits
        if budget:
            texts.append(
                "No cost is counted, so that no budget limits anything: state [costs] and the prices of cards."
            )
    elif budget == settings.costs.budget_per_year:
        calendar = plan.visits
    else:
        site = replace(plan.site, settings=replace(settings, costs=replace(settings.costs, budget_per_year=budget)))
        kept = ("rates", "wanted", "offered", "promised_mbyte_s")
        vars(site).update({name: getattr(plan.site, name) for name in kept})
        calendar = visit_calendar(site, plan.plan, in_service=plan.calendar)
    texts += _past(calendar)
    texts += _near(calendar.table[calendar.table["years"] < years_ahead])
    warnings = (*texts, *_warnings(plan, calendar))
    return WhatVisits(
        calendar=calendar, shown=shown, years_ahead=years_ahead, warnings=warnings, document=settings.document
    )


def _with_weekday(day: str) -> str:
    return f"{day}{NO_BREAK}{WEEKDAYS[datetime.date.fromisoformat(day).weekday()]}"


def _tools(reached: str) -> str:
    """What to bring to reach the cameras of a visit: a lift, and for which of them where others need none."""
    lifted, _, others = reached.rpartition(f"; {ON_FOOT}: ")
    if lifted:
        return f"lift for {lifted.removeprefix(f'{BY_LIFT}: ')}"
    return "lift" if others.startswith(f"{BY_LIFT}: ") else "ladder, or none"


def _past(calendar: VisitCalendar) -> list[str]:
    """What the dates before today mean, which only a document of an earlier day has."""
    begins, today = calendar.bill.years["begins"].iloc[0], str(datetime.date.today())
    if not ((calendar.table["date"] < today).any() and begins < today):
        return []
    return [f"The dates are those of a document of {begins}: a visit that is dated before today is due now."]


def _near(visits: pd.DataFrame) -> list[str]:
    """Visits with a lift that follow one another so soon that one lift might do for both."""
    climbs = visits[visits["with_lift"]]
    place = climbs["visit_group"].where(climbs["visit_group"] != "", climbs["cameras"]).tolist()
    dates, years = climbs["date"].tolist(), climbs["years"].tolist()
    pairs = [
        f"{place[at]} on {dates[at]} and {place[at + 1]} on {dates[at + 1]}"
        for at in range(len(years) - 1)
        if years[at + 1] - years[at] < NEAR_YEARS and place[at] != place[at + 1]
    ]
    if not pairs:
        return []
    more = f" and {len(pairs) - NAMES} more" if len(pairs) > NAMES else ""
    told = "; ".join(pairs[:NAMES])
    return [
        f"Lifts are booked within three months of one another: {told}{more}. Where one lift can serve both, give"
        " the cameras the same visit group in the camera list."
    ]


def _warnings(plan: SitePlan, calendar: VisitCalendar) -> tuple[str, ...]:
    not_here = (calendar.not_here,) if calendar.not_here else ()
    if plan.calendar is None:
        return (
            "No service log: the planned cards are taken as fitted on the first day. For an existing site, state "
            "log and as_of in [service] of the settings.",
            *not_here,
        )
    texts, rows, bill = list(not_here), calendar.replacements.table, calendar.bill
    begins = bill.years["begins"].iloc[0]
    if bill.first_cards:
        names = [camera for camera in bill.cameras["camera"] if camera not in set(rows["camera"])]
        more = f" and {len(names) - NAMES} more" if len(names) > NAMES else ""
        texts.append(
            f"No visit is planned to fit the first cards of {', '.join(names[:NAMES])}{more}, where no card in service"
            f" is known: they count as fitted on {begins}. Take them along on a visit."
        )
    late = rows[rows["put_off_years"] > 0]
    after = [row for row in late[["camera", "keep_until", "replace_on"]].to_numpy(object) if row[2] > row[1]]
    if after:
        named = [f"{camera} until {then} instead of {date}" for camera, date, then in after[:NAMES]]
        more = f" and {len(after) - NAMES} more" if len(after) > NAMES else ""
        texts.append(f"The budget keeps cards in service beyond their date: {', '.join(named)}{more}.")
    return tuple(texts)


def _amounts(values: "pd.Series[float]") -> list[str]:
    """Amounts of money in whole units, empty where none is known."""
    return [whole(value) if value == value else "" for value in values]
