"""A site that stands: which card in service is replaced in which year, riskiest first, and what waiting costs."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.settings import Costs
from edgestore.plan.budget import years_within_budget
from edgestore.plan.promise import ROUNDING
from edgestore.plan.shared_visits import Visit
from edgestore.plan.standing import NOT_COVERED, UNKNOWN, WEAR, SiteCards
from edgestore.text import counted, expected, grouped, money, number, short
from edgestore.units import DAYS_PER_YEAR

Array = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.intp]

COLUMNS = (
    *("camera", "visit_group", "in_service_card", "fitted", "age_years", "chance_retention", "chance_outage"),
    *("keep_until", "due_for"),
    *(
        "replace_with",
        "replace_on",
        "budget_year",
        "put_off_years",
        "chance_fails",
        "failure_cost",
        "risk",
        "cost",
        "waiting_failures",
    ),
    "waiting_cost",
)

TOLD, NAME = 3, 30
"""So many of the riskiest cameras are named, with so many letters."""

WHY_AT_ONCE = "the chance of holding the days asked, or of keeping up with the peak, is below the chance asked"
WHY_WITH_OUTAGE = WHY_AT_ONCE.replace("asked, or", "asked, of covering the outage asked, or")
"""Why cards are due at once; the second where one of them is so for the outage."""

LEAST_FAILURES = 0.05
"""Fewer failures are not told: they round to nothing."""


@dataclass(frozen=True)
class Replacements:
    """When the cards in service are replaced.

    Attributes
    ----------
    table : DataFrame
        ``COLUMNS``, ``chance_outage`` only where an outage must be covered; a row for each camera with a card in
        service: by year, in each the riskiest first. Where the plan has no card for a camera nothing replaces its card:
        ``replace_with`` and ``replace_on`` are empty.
    put_off_failures : float
        Failures of the cards in service that are expected more than if each were replaced on its own visit.
    budget_adds : float
        What the budget adds to the bill over the horizon, currency units; below 0 where it saves: a card that is
        changed later is changed less often. NaN where a card has no price.
    at_once_cost : float
        What replacing all of them at once would cost, each visit group at one visit; currency units.
    horizon_years : float
        Time over which failures are counted, years.
    budget_per_year : float or None
        Budget of a year, currency units; None for none.
    currency : str
        Unit of the amounts.
    """

    table: pd.DataFrame
    put_off_failures: float
    budget_adds: float
    at_once_cost: float
    horizon_years: float
    budget_per_year: float | None
    currency: str

    @property
    def unplanned(self) -> pd.DataFrame:
        """The rows of cameras for which the plan has no card."""
        return self.table[self.table["replace_with"] == ""]

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is replaced first, what the budget puts off, what waiting costs; nothing where no card is in service."""
        return tuple(filter(None, (self._first(), self.put_off, self._waiting()))) if len(self.table) else ()

    def _first(self) -> str:
        table = self.table[self.table["replace_with"] != ""]
        if table.empty:
            return ""
        first = table[table["budget_year"] == 1]
        beyond = int(((table["budget_year"] > self.horizon_years) & (table["put_off_years"] == 0)).sum())
        names = [
            f"{short(camera, NAME)} with {card} on {date}"
            for camera, card, date in table[["camera", "replace_with", "replace_on"]]
            .head(max(1, min(TOLD, len(first))))
            .to_numpy(object)
        ]
        stay = f"; {beyond} can stay beyond {counted(self.horizon_years, 'year')}" if beyond else ""
        broken, unknown = int((~table["due_for"].isin([WEAR, UNKNOWN])).sum()), int((table["due_for"] == UNKNOWN).sum())
        why = WHY_WITH_OUTAGE if (table["due_for"] == NOT_COVERED).any() else WHY_AT_ONCE
        at_once = f"; due at once: {grouped(str(broken))}, where {why}" if broken else ""
        if unknown:
            at_once += f"; due at once: {grouped(str(unknown))} of a kind that is not in the card list"
        many = "To replace, riskiest first" if len(names) > 1 else "Replace" if len(first) else "The next"
        more = f" and {len(first) - len(names)} more" if len(first) > len(names) else ""
        left = f"; {grouped(str(len(self.unplanned)))} without a planned card" if len(self.unplanned) else ""
        many_cards, many_first = grouped(str(len(self.table))), grouped(str(len(first)))
        text = f"Cards in service: {many_cards}, of which {many_first} to be replaced in the first year"
        return f"{text}{at_once}{stay}{left}. {many}: {', '.join(names)}{more}."

    @property
    def put_off(self) -> str:
        """What the budget puts off, and what that costs, in words; empty without a budget."""
        table, budget = self.table, self.budget_per_year
        if budget is None:
            return ""
        text = f"The budget of {money(budget, self.currency)} a year"
        late = table[table["put_off_years"] > 1 / DAYS_PER_YEAR]
        spent = table.groupby("budget_year")["cost"].sum()
        over = int((spent[spent.index <= self.horizon_years] > budget * (1 + ROUNDING)).sum())
        beyond = f" One visit costs more than a year's budget in {counted(over, 'year')}." if over else ""
        if late.empty:
            return f"{text} puts off no replacement.{beyond}"
        longest, years = late[["camera", "put_off_years"]].to_numpy(object)[late["put_off_years"].argmax()]
        by = f"{short(longest, NAME)} the longest, by {number(years)} {'year' if number(years) == '1' else 'years'}"
        failures = expected(self.put_off_failures, "more failure")
        failures = failures if self.put_off_failures >= LEAST_FAILURES else "hardly any more failures"
        text = f"{text} puts off {counted(len(late), 'replacement')}, {by}, at {failures}."
        if (broken := int((~late["due_for"].isin([WEAR, UNKNOWN])).sum())) > 0:
            text += f" Until then {grouped(str(broken))} of these {'breaks' if broken == 1 else 'break'} the promise."
        left = budget - spent.get(1, 0.0)
        was_due_years = late["budget_year"] - 1 - late["put_off_years"]  # they wait until the first day of a year
        if left >= 1 and (was_due_years < 1).any():
            text += f" {money(left, self.currency)} of the first year are left, too little for the next visit."
        return f"{text}{beyond} {self._against_no_budget()}".rstrip()

    def _against_no_budget(self) -> str:
        if self.budget_adds != self.budget_adds:
            return ""
        adds, horizon = round(self.budget_adds), counted(self.horizon_years, "year")
        if not adds:
            return f"Over {horizon} the site costs as much as without a budget."
        than = f"{money(abs(adds), self.currency)} {'more' if adds > 0 else 'less'} than without a budget"
        why = "" if adds > 0 else ", but only because some changes fall beyond that time; broken promises are not in it"
        return f"Over {horizon} the site costs {than}, failures included{why}."

    def _waiting(self) -> str:
        failures, cost = self.table["waiting_failures"].sum(), self.table["waiting_cost"].sum(min_count=1)
        at_once = self.at_once_cost
        price = f", for {money(at_once, self.currency)}" if at_once == at_once else ""
        told = expected(failures, "more failure") if failures >= LEAST_FAILURES else "hardly any more failures"
        told += f" ({money(cost, self.currency)})" if cost == cost and failures >= LEAST_FAILURES else ""
        return f"Expected until these dates: {told} than if all of them were replaced now{price}."


def first_visits(standing: SiteCards, visits: Iterable[Visit]) -> list[Visit]:
    """The visits at which the cards in service are replaced, with those alone.

    Parameters
    ----------
    standing : SiteCards
        The cards.
    visits : iterable of Visit
        Visits of the site in the order of time, by the numbers of its cameras.

    Returns
    -------
    list of Visit
        Those at which cards in service are replaced, with the numbers of these.
    """
    return [first for first, _ in _first_and_others(standing, visits)]


def _first_and_others(standing: SiteCards, visits: Iterable[Visit]) -> Iterator[tuple[Visit, Numbers]]:
    """The same visits, each with the numbers of the other cameras whose cards are changed at it."""
    waits = standing.is_in_service.copy()
    for visit in visits:
        is_first = waits[visit.cards]
        if is_first.any():
            waits[visit.cards] = False
            yield Visit(visit.at_years, visit.cards[is_first]), visit.cards[~is_first]


def within_budget(standing: SiteCards, visits: Sequence[Visit], budget_per_year: float) -> SiteCards:
    """The same cards, those in service changed when there is money for it, the riskiest first.

    Parameters
    ----------
    standing : SiteCards
        The cards.
    visits : sequence of Visit
        Visits of the site without a budget, in the order of time.
    budget_per_year : float
        Money to replace cards in service with, currency units a year, above 0; years count from the calendar's day.

    Returns
    -------
    SiteCards
        With other times for the cards in service, and no choice of sooner ones.

    Notes
    -----
    A visit is put off as a whole, with the cards that are replaced at it, to the first day of the year that can pay it
    (:func:`edgestore.plan.budget.years_within_budget`). Its risk is that of waiting for the money of another year
    (:func:`risk`), summed over its cards. A card without a price counts as its visit alone. A way that is made at that
    time for other cards, first ones say, costs the budget nothing.
    """
    cards, together = standing.cards, list(_first_and_others(standing, visits))
    if not together:
        return standing
    first = [visit for visit, _ in together]
    at = np.array([visit.at_years for visit in first])
    risks = risk(standing, _dates(standing, first))[1]
    year = years_within_budget(
        [_added_cost(standing, visit, others) for visit, others in together],
        [float(np.nansum(risks[visit.cards])) for visit in first],
        budget_per_year=budget_per_year,
        due_year=np.floor(at + ROUNDING) + 1,
    )
    due, opens = cards.now.due_years.copy(), cards.opens_now_years.copy()
    for visit, when in zip(first, np.maximum(at, year - 1), strict=True):
        due[visit.cards] = opens[visit.cards] = when
    return replace(standing, cards=replace(cards, in_service=replace(cards.now, due_years=due, opens_years=opens)))


def risk(standing: SiteCards, at_years: Array) -> tuple[Array, Array]:
    """Tell the chance that each card in service fails within a year of a time, and the risk of waiting for that year.

    Notes
    -----
    The chance is conditional on the card working at that time. The risk is the chance that the promise is broken
    within the year for want of the planned card, times what a failure costs, a card and a visit. A promise is broken
    when the card fails, or where it holds the days asked, covers the outage asked, or keeps up, with less chance than
    the planned one, by as much; both are taken as independent, ``1 - (1 - fails)(1 - less)``.
    """
    chance = standing.cards.chance_fails_within_a_year(at_years)
    broken = 1 - (1 - chance) * (1 - standing.falls_short)
    return chance, np.asarray(broken * _failure_cost(standing))


def replacements(
    standing: SiteCards,
    visits: Sequence[Visit],
    start: np.datetime64,
    *,
    put_off: SiteCards,
    costs: Costs,
    is_costed: bool,
    budget_adds: float,
) -> Replacements:
    """When the cards in service are replaced, with what, at which risk, and what waiting costs.

    Parameters
    ----------
    standing : SiteCards
        The cards.
    visits : sequence of Visit
        Visits of the site without a budget, in the order of time.
    start : datetime64
        Day on which the calendar begins.
    put_off : SiteCards
        The cards as the budget allows, of :func:`within_budget`; the same without one.
    costs : Costs
        Horizon, budget and currency.
    is_costed : bool
        Whether costs are counted.
    budget_adds : float
        What the budget adds to the bill, currency units.

    Returns
    -------
    Replacements
        A row for each card in service.

    Notes
    -----
    Waiting is counted against replacing a card on the first day: the failures of the card in service until it is
    replaced, or the horizon ends, less those of the planned one in its place; each costs a card and a visit.
    """
    horizon, first = costs.horizon_years, first_visits(standing, visits)
    own = _dates(standing, first)
    then = own if put_off is standing else np.maximum(own, put_off.cards.now.due_years)
    chance, risks = risk(standing, own)
    both = np.nan_to_num(_failure_cost(standing)) if is_costed else np.full(len(own), np.nan)
    waiting = np.round(standing.cards.failures_by_waiting(np.zeros(len(own)), np.minimum(then, horizon)), 9) + 0.0
    ends = np.minimum(own, horizon), np.minimum(then, horizon)
    more = standing.cards.failures_by_waiting(*ends)
    paid = standing.cards.both.copy()
    for visit in first:
        way = standing.cards.visit_price[visit.cards].max() / len(visit.cards)
        paid[visit.cards] = np.nan_to_num(standing.cards.card_cost[visit.cards]) + way if is_costed else np.nan
    has_card = standing.is_in_service
    days = np.round(then * DAYS_PER_YEAR).astype("timedelta64[D]")
    table = standing.table.rename(columns={"card": "replace_with"}).assign(
        replace_on=[str(day) for day in start + days],
        budget_year=np.floor(then + ROUNDING).astype(int) + 1,
        put_off_years=then - own,
        chance_fails=np.where(own < horizon, chance, np.nan),
        failure_cost=both,
        risk=np.where(own < horizon, risks, np.nan),
        cost=paid,
        waiting_failures=waiting,
        waiting_cost=waiting * both,
    )
    order = np.lexsort((then, -np.nan_to_num(risks), np.floor(then + ROUNDING)))
    at_once = [
        _visit_cost(standing, Visit(0.0, now)) for group in standing.groups() if len(now := group[has_card[group]])
    ]
    left = standing.unplanned.assign(
        replace_with="", replace_on="", budget_year=np.floor(standing.unplanned["due_years"] + ROUNDING).astype(int) + 1
    )
    planned = table.iloc[order[has_card[order]]]
    rows = pd.concat([planned, left]).sort_values("budget_year", kind="stable", ignore_index=True)
    rows = rows.reindex(columns=list(COLUMNS))
    return Replacements(
        table=rows if rows["chance_outage"].notna().any() else rows.drop(columns="chance_outage"),
        put_off_failures=float(more[has_card].sum()),
        budget_adds=budget_adds,
        at_once_cost=float(sum(at_once)) if is_costed else np.nan,
        horizon_years=horizon,
        budget_per_year=costs.budget_per_year if is_costed else None,
        currency=costs.currency,
    )


def _dates(standing: SiteCards, first: Sequence[Visit]) -> Array:
    """When each card in service is replaced: at its visit, or where it has none within the horizon on its own date."""
    dates = standing.cards.now.due_years.copy()
    for visit in first:
        dates[visit.cards] = visit.at_years
    return dates


def _failure_cost(standing: SiteCards) -> Array:
    """What a failure costs: a card and a visit; of a card without a price the visit."""
    return np.asarray(np.nan_to_num(standing.cards.card_cost) + standing.cards.visit_price)


def _added_cost(standing: SiteCards, first: Visit, others: Numbers) -> float:
    """What replacing its cards adds to a visit: no way that is made at that time for other cards anyway."""
    prices = standing.cards.visit_price
    paid = min(prices[others].max(initial=0.0), prices[first.cards].max())
    return _visit_cost(standing, first) - float(paid)


def _visit_cost(standing: SiteCards, visit: Visit) -> float:
    """Cost of a visit and its cards; of a card without a price nothing is known but the visit."""
    cards = standing.cards
    return float(cards.visit_price[visit.cards].max() + np.nansum(cards.card_cost[visit.cards]))
