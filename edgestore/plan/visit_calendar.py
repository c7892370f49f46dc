"""The visits of a site by date: which cards are changed at each, what to bring, and what sharing them saves."""

import datetime
from collections import Counter
from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.answers.change import REACHED
from edgestore.inputs.settings import Costs
from edgestore.plan.change_age import QUARTER_YEARS
from edgestore.plan.flash_writes import laws_of, working
from edgestore.plan.promise import AT_ONCE, ROUNDING, wear_life_years
from edgestore.plan.rates import card_flash
from edgestore.plan.shared_visits import GroupCards, Visit, separate_visits, shared_visits
from edgestore.plan.site import Site
from edgestore.text import change_age, counted, money, number
from edgestore.units import DAYS_PER_YEAR

Array = npt.NDArray[np.float64]

NEXT = 3
"""So many visits are told in words."""

SHOWN = ("camera", "card", "visit_group", "lift")
"""What a visit tells of its cameras."""

LEAST_TOLD = 0.5
"""A smaller saving, in currency units, is not told: it rounds to nothing."""

UNCOSTED = Costs(visit_price=0.0, visit_with_lift_price=0.0)
"""Tells the horizon where no cost is counted."""

COLUMNS = (
    *("date", "years", "work", "visit_group", "cameras", "cards", "cards_to_bring", "tools", "with_lift"),
    *("brought_forward", "cost"),
)

VISITS_ASSUMPTION = (
    "Visits: the cards are taken as fitted on one day, and none fails; a failure is one more visit, at its own price."
    " Cameras of one visit group share the way and the lift. A change is brought forward to a visit that is made anyway"
    " only where the years so lost cost less than the visit saved."
)


@dataclass(frozen=True)
class VisitCalendar:
    """The visits of a site over the horizon.

    Attributes
    ----------
    table : DataFrame
        ``COLUMNS``, a row a visit, by date: cameras, the cards to bring, how the cameras are reached, whether that
        takes a lift, whose change is brought forward and by how many years, and the cost of cards and way (NaN where
        no cost is counted).
    horizon_years : float
        Time over which visits are counted, years.
    separate_visits, separate_climbs : int
        Visits, and those with a lift, were each camera visited by itself.
    failures : float
        Failures expected besides, each one more visit.
    cost, saving : float
        Cost of the site over the horizon with visits shared, and what sharing saves of it; NaN where none is counted.
    currency : str
        Unit of these.
    """

    table: pd.DataFrame
    horizon_years: float
    separate_visits: int
    separate_climbs: int
    failures: float
    cost: float
    saving: float
    currency: str

    @property
    def climbs(self) -> int:
        """Visits with a lift."""
        return int(self.table["with_lift"].sum())

    @property
    def sentence(self) -> str:
        """Visits and climbs with a lift over the horizon, and what sharing saves, in a few sentences."""
        visits = len(self.table)
        text = f"Visits planned in {counted(self.horizon_years, 'year')}: {visits}, {self.climbs} of them with a lift"
        if visits < self.separate_visits:
            text += f"; one camera at a time {self.separate_visits}, {self.separate_climbs} with a lift"
        if self.saving >= LEAST_TOLD:
            text += (
                f". Sharing visits saves {money(self.saving, self.currency)}: cost {money(self.cost, self.currency)}"
            )
        return f"{text}. Failures between: {number(self.failures)} more visits expected."

    @property
    def next_visits(self) -> tuple[str, ...]:
        """The next three visits in words."""
        return tuple(self._told(row) for row in self.table.head(NEXT).to_dict("records"))

    def _told(self, row: dict[Hashable, Any]) -> str:
        where = f" ({row['visit_group']})" if row["visit_group"] else ""
        cost = f" Cost: {money(row['cost'], self.currency)}." if row["cost"] == row["cost"] else ""
        forward = f" Brought forward: {row['brought_forward']}." if row["brought_forward"] else ""
        return f"{row['date']}{where}: {row['work']}. Bring {row['cards']}. Reached {row['tools']}.{cost}{forward}"


def visit_calendar(site: Site, plan: pd.DataFrame, day: datetime.date | None = None) -> VisitCalendar:
    """Tell when the cards of a plan are changed, and which of them together.

    Parameters
    ----------
    site : Site
        The site.
    plan : DataFrame
        Its plan: a row a camera.
    day : date, optional
        Day on which the cards are taken as fitted; that of the document, else of the service log, else today.

    Returns
    -------
    VisitCalendar
        Visits by date, and what sharing them saves.

    Notes
    -----
    Failures expected until an age are ``-ln`` of the chance that the card works then, for the shared visits as for the
    separate ones: the difference of their costs is the saving, which is 0 for a camera that shares with no other.
    """
    stated = site.settings.document.date or site.settings.service.as_of
    start = np.datetime64(day or stated or datetime.date.today(), "D")
    costs, is_costed = site.costs or UNCOSTED, site.costs is not None
    rows = np.flatnonzero(plan["meets"].to_numpy(bool))
    cameras = site.cameras.iloc[rows].reset_index(drop=True)
    in_list = pd.Index(site.offered["card"]).get_indexer(pd.Index(plan["card"].iloc[rows]))
    chosen = site.offered.iloc[in_list].reset_index(drop=True)
    cards = _cards(site, rows, plan["change_years"].to_numpy(float)[rows], cameras, chosen)
    made: list[tuple[Visit, Array, float]] = []
    apart: list[Visit] = []
    saving = 0.0
    for group in _groups(cameras["visit_group"]):
        of_group, everyone = cards.some(group), np.arange(len(group))
        alone = separate_visits(of_group, costs.horizon_years)
        shared = shared_visits(of_group, costs.horizon_years) if len(group) > 1 else alone
        if is_costed and costs.first_fitting_is_a_visit:
            alone = [*(Visit(0.0, everyone[card : card + 1]) for card in everyone), *alone]
            shared = [Visit(0.0, everyone), *shared]
        if len(group) > 1:
            saving += of_group.cost(alone, costs.horizon_years) - of_group.cost(shared, costs.horizon_years)
        apart += [Visit(visit.at_years, group[visit.cards]) for visit in alone]
        fitted = np.zeros(len(group))
        for visit in shared:
            now = visit.cards
            early = of_group.change_years[now] - (visit.at_years - fitted[now])
            made.append((Visit(visit.at_years, group[now]), early, of_group.visit_cost(visit)))
            fitted[now] = visit.at_years
    made.sort(key=lambda one: (one[0].at_years, one[0].cards[0]))
    shown = {name: cameras.assign(card=chosen["card"])[name].to_numpy(object) for name in SHOWN}
    table = pd.DataFrame([_row(*one, shown, start) for one in made], columns=list(COLUMNS))
    failed = plan["failures"] if is_costed else plan["failures_per_year"] * costs.horizon_years
    is_lift = cameras["lift"].to_numpy(bool)
    return VisitCalendar(
        table=table.astype({"with_lift": bool, "cost": float}),
        horizon_years=costs.horizon_years,
        separate_visits=len(apart),
        separate_climbs=int(sum(is_lift[visit.cards[0]] for visit in apart)),
        failures=float(failed.sum()),
        cost=float(plan["cost"].sum()) - saving if is_costed else np.nan,
        saving=saving if is_costed else np.nan,
        currency=costs.currency,
    )


def _row(
    visit: Visit,
    early_years: Array,
    cost: float,
    cameras: dict[str, npt.NDArray[np.object_]],
    start: np.datetime64,
) -> dict[str, object]:
    """A visit as a row of the table; of the cameras the columns that it shows, and their cards."""
    names, cards, groups, lifts = (cameras[name][visit.cards].tolist() for name in SHOWN)
    is_first = visit.at_years == 0
    by_way = {way: [n for n, lift in zip(names, lifts, strict=True) if lift == (way == REACHED[1])] for way in REACHED}
    ways = [f"{way}: {', '.join(by_way[way])}" for way in reversed(REACHED) if by_way[way]]
    forward = zip(names, early_years.tolist(), strict=True)
    return {
        "date": str(start + np.timedelta64(round(visit.at_years * DAYS_PER_YEAR), "D")),
        "years": visit.at_years,
        "work": "fit the first cards" if is_first else "change the cards",
        "visit_group": groups[0],
        "cameras": ", ".join(names),
        "cards": ", ".join(f"{count} x {card}" for card, count in Counter(cards).items()),
        "cards_to_bring": len(names),
        "tools": "; ".join(ways),
        "with_lift": any(lifts),
        "brought_forward": ", ".join(
            f"{name} by {change_age(early)} years" for name, early in forward if early > ROUNDING and not is_first
        ),
        "cost": cost,
    }


def _groups(names: "pd.Series[str]") -> Iterator[npt.NDArray[np.intp]]:
    """Numbers of the cameras that share visits; one without a visit group is by itself."""
    numbers = pd.Series(np.arange(len(names)))
    by_itself = numbers.where(names == "", -1)
    for group in numbers.groupby([by_itself, names], sort=False).indices.values():
        yield np.asarray(group, dtype=np.intp)


def _cards(
    site: Site, rows: npt.NDArray[np.intp], change_years: Array, cameras: pd.DataFrame, chosen: pd.DataFrame
) -> GroupCards:
    """The cards of all cameras; of one that shares no visit no failures are told, since none are compared."""
    ages = QUARTER_YEARS * np.arange(np.ceil(change_years.max(initial=0) / QUARTER_YEARS) + 1)
    group = cameras["visit_group"]
    shares = np.flatnonzero((group != "") & group.duplicated(keep=False))
    failures = np.zeros((len(rows), len(ages)))
    if len(shares):
        failures[shares] = _failures(site, rows[shares], chosen.iloc[shares], ages)
    costs = site.costs
    if costs is None:
        unknown = np.full(len(rows), np.nan)
        return GroupCards(change_years, unknown, unknown, ages, failures)
    visit_prices = np.where(cameras["lift"], costs.visit_with_lift_price, costs.visit_price)
    prices = chosen["price"].to_numpy(float) * (1 + costs.spare_fraction)
    return GroupCards(change_years, prices, visit_prices, ages, failures)


def _failures(site: Site, rows: npt.NDArray[np.intp], cards: pd.DataFrame, ages_years: Array) -> Array:
    """Failures expected of the card of each camera until each age, ``-ln`` of the chance that it works then."""
    flash, *ends = card_flash(cards)
    _, writes = laws_of(site.rates.iloc[rows].reset_index(drop=True), ends, site.settings.beliefs)
    kinds, wear = site.kinds_of(cards["card"]), wear_life_years(flash, writes.nodes_tb_year)
    works = np.empty((len(rows), len(ages_years)))
    for start in range(0, len(rows), AT_ONCE):
        some = slice(start, start + AT_ONCE)
        of_card = writes.of_card[some]
        weights = writes.weights(some)[of_card, np.arange(len(of_card))].mean(axis=1)
        alive = working(writes, of_card, wear[some], ages_years, kinds[some])
        works[some] = np.einsum("cg,cga->ca", weights, alive)
    return np.asarray(-np.log(np.maximum(works, ROUNDING)))
