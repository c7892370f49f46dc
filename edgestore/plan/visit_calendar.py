"""The visits of a site by date: which cards are changed at each, what to bring, and what sharing them saves."""

import datetime
from collections import Counter
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.answers.change import REACHED
from edgestore.inputs.settings import Costs
from edgestore.plan.bill import Bill, bill
from edgestore.plan.change_age import QUARTER_YEARS
from edgestore.plan.promise import ROUNDING
from edgestore.plan.replacements import NAME, Replacements, replacements, within_budget
from edgestore.plan.shared_visits import GroupCards, Visit, separate_visits, shared_visits
from edgestore.plan.site import Site
from edgestore.plan.standing import SiteCards, site_cards
from edgestore.text import change_age, counted, expected, money, number, short
from edgestore.units import DAYS_PER_YEAR

Array = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.intp]

NEXT = 3
"""So many visits are told in words."""

SHOWN = ("camera", "card", "visit_group", "lift")
"""What a visit tells of its cameras."""

DAY = 1 / DAYS_PER_YEAR
"""Who comes no more than a day sooner or later comes on time."""

LEAST_TOLD = 0.5
"""A smaller saving, in currency units, is not told: it rounds to nothing."""

UNCOSTED = Costs(visit_price=0.0, visit_with_lift_price=0.0)
"""Tells the horizon where no cost is counted."""

COLUMNS = (
    *("date", "order_by", "years", "work", "visit_group", "cameras", "cards", "cards_to_bring", "tools", "with_lift"),
    *("brought_forward", "put_off", "next_change", "cards_cost", "cost"),
)

WORKS = ("fit the first cards", "change the cards", "fit and change the cards")

VISITS_ASSUMPTION = (
    "Visits: a card in service is replaced by the planned one at its next change at the latest, or on the first day if"
    " its chance of holding the days asked, of covering an outage asked or of keeping up is below the chance asked. "
    "Where no card is in service, the planned one is taken as fitted on the first day. Cameras without a planned card "
    "are not visited. The dates assume that no card fails: each failure is one more visit, at its own price. Cameras "
    "of one visit group share the way and the lift. A change is brought forward to a visit that takes place anyway "
    "only where the years so lost cost less than the visit saved. Each date is the latest one: choose a working day "
    "before it. The yearly look at the cards goes over the network and costs nothing; where it takes a visit, that is "
    "not in the bill."
)


@dataclass(frozen=True)
class VisitCalendar:
    """The visits of a site over the horizon.

    Attributes
    ----------
    table : DataFrame
        ``COLUMNS``, a row a visit, by date, the latest one: until when its cards are to be ordered, by the lead time of
        the settings; cameras, the cards to bring, how the cameras are reached, whether that takes a lift, whose change
        is brought forward, or put off by the budget, and by how many years, and the cost of cards and way (NaN where no
        cost is counted).
    horizon_years : float
        Time over which visits are counted, years.
    separate_visits, separate_climbs : int
        Visits, and those with a lift, were each camera visited by itself.
    bill : Bill
        Cost of the site over the horizon, by year and by camera, from the cards in service on where there are any.
    saving : float
        What sharing visits saves of it, before a budget puts visits off, currency units; NaN where no cost is counted.
    currency : str
        Unit of these.
    lead_days : float
        From an order of cards until they are here, days.
    replacements : Replacements
        When the cards in service are replaced.
    """

    table: pd.DataFrame
    horizon_years: float
    separate_visits: int
    separate_climbs: int
    bill: Bill
    saving: float
    currency: str
    lead_days: float
    replacements: Replacements

    @property
    def failures(self) -> float:
        """Failures expected over the horizon, each one more visit."""
        return float(self.bill.years["failures"].sum())

    @property
    def cost(self) -> float:
        """Cost of the site over the horizon, failures included, currency units; NaN where none is counted."""
        return self.bill.cost

    @property
    def cost_words(self) -> str:
        """What the site costs over the horizon, in a sentence after others; empty where no cost is counted."""
        if not self.cost > 0:
            return ""
        over = counted(self.horizon_years, "year")
        return f" Cards, visits and failures: {money(self.cost, self.currency)} in {over}."

    def beside(self, apart: float) -> str:
        """What the site costs, in a sentence beside what its cameras cost one by one; empty where that is the same."""
        if not self.cost > 0 or round(self.cost) == round(apart):
            return ""
        since = " and starts from the cards now in service" if len(self.replacements.table) else ""
        over = counted(self.horizon_years, "year")
        return f" The bill of the site, which shares visits{since}: {money(self.cost, self.currency)} in {over}."

    @property
    def climbs(self) -> int:
        """Visits with a lift."""
        return int(self.table["with_lift"].sum())

    @property
    def sentence(self) -> str:
        """Visits and climbs with a lift over the horizon, and what sharing saves, in a few sentences."""
        visits = len(self.table)
        since = ", from the cards in service on" if len(self.replacements.table) else ""
        years = counted(self.horizon_years, "year")
        text = f"Visits planned in {years}{since}: {visits}{lifts(visits, self.climbs)}"
        if visits < self.separate_visits:
            text += f"; without sharing {self.separate_visits}, {self.separate_climbs or 'none'} with a lift"
        if self.saving >= LEAST_TOLD:
            cost = money(self.cost, self.currency)
            text += f". Sharing visits saves {money(self.saving, self.currency)}: the cost is {cost}, failures included"
        text += f". Failures between: {expected(self.failures, 'more visit')} expected."
        if len(left := self.replacements.unplanned):
            many = counted(len(left), "camera")
            due = [f"{short(camera, NAME)} on {day}" for camera, day in left[["camera", "keep_until"]].to_numpy(object)]
            more = f" and {len(due) - NEXT} more" if len(due) > NEXT else ""
            text += (
                f" Warning: no visit is planned to {many} for which the plan has no card. The cards in service "
                f"there are due: {', '.join(due[:NEXT])}{more}. Find a planned card for them first."
            )
        return text

    @property
    def not_here(self) -> str:
        """How many visits are due before ordered cards are here, in words; empty where none is."""
        begins, lead_days = self.bill.years["begins"].iloc[0], round(self.lead_days)
        here = str(datetime.date.fromisoformat(begins) + datetime.timedelta(days=lead_days))
        sooner = int((self.table["date"] < here).sum())
        if not sooner and (not self.bill.first_cards or here == begins):
            return ""
        what = "first cards can be fitted" if not sooner else f"{counted(sooner, 'visit')} before that can be made"
        return (
            f"Cards that are ordered on {begins} are here on {here}, after {lead_days} days: {what} on"
            f" {'that day' if sooner else begins} only with cards that are in stock. Otherwise book them for when the"
            " cards are here."
        )

    @property
    def next_visits(self) -> tuple[str, ...]:
        """The next three visits in words."""
        return tuple(self._told(row) for row in self.table.head(NEXT).to_dict("records"))

    def _told(self, row: dict[Hashable, Any]) -> str:
        where = f" ({row['visit_group']})" if row["visit_group"] else ""
        cost = f" Cost: {money(row['cost'], self.currency)}." if row["cost"] == row["cost"] else ""
        forward = f" Brought forward: {row['brought_forward']}." if row["brought_forward"] else ""
        late = f" Put off by the budget: {row['put_off']}." if row["put_off"] else ""
        return (
            f"{row['date']}{where}: {row['work']}. Bring {row['cards']}. Reached {row['tools']}.{cost}{forward}{late}"
        )


def visit_calendar(
    site: Site, plan: pd.DataFrame, day: datetime.date | None = None, *, in_service: pd.DataFrame | None = None
) -> VisitCalendar:
    """Tell when the cards of a site are changed, and which of them together.

    Parameters
    ----------
    site : Site
        The site.
    plan : DataFrame
        Its plan: a row a camera.
    day : date, optional
        Day on which the calendar begins; that of the document, else today.
    in_service : DataFrame, optional
        The cards in service (:attr:`edgestore.plan.site_plan.SitePlan.calendar`): they stay until their own date, or
        are replaced on the first day where they break the promise, and are followed by the planned ones. Without, the
        planned cards are taken as fitted on that day.

    Returns
    -------
    VisitCalendar
        Visits by date, what sharing them saves, and when the cards in service are replaced.

    Notes
    -----
    Failures expected until an age are ``-ln`` of the chance that the card works then, for the shared visits as for the
    separate ones: the difference of their costs is the saving, which is 0 for a camera that shares with no other.
    Dates stay when a card fails between (:func:`edgestore.plan.bill.bill`).
    """
    start = np.datetime64(day or site.settings.document.date or datetime.date.today(), "D")
    costs, is_costed = site.costs or UNCOSTED, site.costs is not None
    horizon = costs.horizon_years
    standing = site_cards(site, plan, start, horizon_years=horizon, in_service=in_service)
    cards, groups = standing.cards, list(standing.groups())
    apart = [separate_visits(cards.some(group), horizon) for group in groups]
    shared = _shared(cards, groups, horizon, alone=apart)
    saving = sum(
        of_group.cost(alone, horizon) - of_group.cost(together, horizon)
        for of_group, alone, together in zip(map(cards.some, groups), apart, shared, strict=True)
        if together is not alone
    )
    visits, put_off = _by_date(groups, shared), standing
    if is_costed and costs.budget_per_year is not None:
        put_off = within_budget(standing, visits, costs.budget_per_year)
    made = visits if put_off is standing else _by_date(groups, _shared(put_off.cards, groups, horizon))
    lead_days = site.settings.service.lead_days
    table = pd.DataFrame(_rows(standing, made, start, lead_days), columns=list(COLUMNS))
    billed = partial(
        bill,
        standing,
        start=start,
        horizon_years=horizon,
        first_is_a_visit=costs.first_fitting_is_a_visit and is_costed,
    )
    of_made = billed(made)
    budget_adds = of_made.cost - (of_made if made is visits else billed(visits)).cost if is_costed else np.nan
    is_lift = standing.table["lift"].to_numpy(bool)
    return VisitCalendar(
        table=table.astype({"with_lift": bool, "cost": float}),
        horizon_years=horizon,
        separate_visits=sum(map(len, apart)),
        separate_climbs=int(sum(is_lift[visit.cards[0]] for visit in _by_date(groups, apart))),
        bill=of_made,
        saving=float(saving) if is_costed else np.nan,
        currency=costs.currency,
        lead_days=lead_days,
        replacements=replacements(
            standing, visits, start, put_off=put_off, costs=costs, is_costed=is_costed, budget_adds=budget_adds
        ),
    )


def lifts(visits: int, climbs: int) -> str:
    """How many of some visits are made with a lift, to be added to their number; empty where there are none.

    Examples
    --------
    >>> lifts(7, 2), lifts(7, 0), lifts(1, 1), lifts(0, 0)
    (', 2 of them with a lift', ', none of them with a lift', ', with a lift', '')
    """
    if visits <= 1:
        return ", with a lift" if climbs else ""
    return f", {climbs or 'none'} of them with a lift"


def _shared(
    cards: GroupCards, groups: Sequence[Numbers], horizon_years: float, alone: Sequence[list[Visit]] | None = None
) -> list[list[Visit]]:
    """Visits of each group; of a camera by itself those that are known, where they are."""
    return [
        alone[at] if alone is not None and len(group) == 1 else shared_visits(cards.some(group), horizon_years)
        for at, group in enumerate(groups)
    ]


def _by_date(groups: Sequence[Numbers], visits: Sequence[list[Visit]]) -> list[Visit]:
    """Visits of all groups by date, with the numbers of the site's cameras."""
    of_site = [
        Visit(visit.at_years, group[visit.cards]) for group, made in zip(groups, visits, strict=True) for visit in made
    ]
    return sorted(of_site, key=lambda visit: (visit.at_years, visit.cards[0]))


def _rows(
    standing: SiteCards, visits: Sequence[Visit], start: np.datetime64, lead_days: float
) -> Iterator[dict[str, Any]]:
    """The visits as rows of the table."""
    cards, has_card = standing.cards, standing.is_in_service
    shown = {name: standing.table[name].to_numpy(object) for name in SHOWN}
    closes, fitted = cards.now.due_years.copy(), np.full(len(has_card), np.nan)
    for visit in visits:
        now = visit.cards
        is_first = np.isnan(fitted[now]) & ~has_card[now] & (visit.at_years == 0)
        early = closes[now] - visit.at_years
        fitted[now], closes[now] = visit.at_years, visit.at_years + cards.change_years[now]
        row = _row(visit, early, is_first, until=closes[now].min(), cards=cards, shown=shown, start=start)
        order_by = np.datetime64(row["date"]) - np.timedelta64(round(lead_days), "D")
        yield {**row, "order_by": str(max(start, order_by))}


def _row(
    visit: Visit,
    early_years: Array,
    is_first: npt.NDArray[np.bool_],
    *,
    until: float,
    cards: GroupCards,
    shown: dict[str, npt.NDArray[np.object_]],
    start: np.datetime64,
) -> dict[str, Any]:
    """A visit as a row: the cameras, by the columns of the list that it shows, and their cards."""
    names, kinds, groups, lifts = (shown[name][visit.cards].tolist() for name in SHOWN)
    by_way = {way: [n for n, lift in zip(names, lifts, strict=True) if lift == (way == REACHED[1])] for way in REACHED}
    ways = [f"{way}: {', '.join(by_way[way])}" for way in reversed(REACHED) if by_way[way]]
    works = WORKS[0] if is_first.all() else WORKS[2] if is_first.any() else WORKS[1]
    moved = list(zip(names, early_years.tolist(), strict=True))
    return {
        "date": _day(start, visit.at_years),
        "years": visit.at_years,
        "work": works,
        "visit_group": groups[0],
        "cameras": ", ".join(names),
        "cards": ", ".join(f"{count} x {card}" for card, count in Counter(kinds).items()),
        "cards_to_bring": len(names),
        "tools": "; ".join(ways),
        "with_lift": any(lifts),
        "brought_forward": ", ".join(f"{name} by {_years(early)}" for name, early in moved if early > DAY),
        "put_off": ", ".join(f"{name} by {_years(-early)}" for name, early in moved if early < -DAY),
        "next_change": _day(start, until),
        "cards_cost": float(cards.card_cost[visit.cards].sum()),
        "cost": cards.visit_cost(visit),
    }


def _day(start: np.datetime64, years: float) -> str:
    return str(start + np.timedelta64(round(years * DAYS_PER_YEAR), "D"))


def _years(years: float) -> str:
    """Whole quarters of a year as such; what is left to a card in service to two digits."""
    is_whole = abs(years / QUARTER_YEARS - round(years / QUARTER_YEARS)) < ROUNDING
    told = change_age(years) if is_whole else number(years)
    return f"{told} year" if told == "1" else f"{told} years"
