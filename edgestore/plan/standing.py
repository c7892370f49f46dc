"""The cards of a site when its calendar of visits begins: those in service now, and the planned ones that follow."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.plan.change_age import QUARTER_YEARS
from edgestore.plan.changes import failures_in_service
from edgestore.plan.flash_writes import laws_of, working
from edgestore.plan.promise import AT_ONCE, ROUNDING, wear_life_years
from edgestore.plan.rates import card_flash
from edgestore.plan.shared_visits import GroupCards, InService
from edgestore.plan.site import Site
from edgestore.units import DAYS_PER_YEAR

Array = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.intp]

OF_CARD_NOW = ("in_service_card", "fitted", "age_years", "keep_until")


@dataclass(frozen=True)
class SiteCards:
    """The cards of the cameras of a site that have one or get one.

    Attributes
    ----------
    table : DataFrame
        A row a camera: ``camera``, ``visit_group``, ``lift``, the ``card`` that it gets, and of the one in service
        ``OF_CARD_NOW``; empty where there is none.
    cards : GroupCards
        The same cameras as if all shared their visits.
    """

    table: pd.DataFrame
    cards: GroupCards

    @property
    def is_in_service(self) -> npt.NDArray[np.bool_]:
        """Whether each camera has a card now."""
        return (self.table["in_service_card"] != "").to_numpy(bool)

    def groups(self) -> Iterator[Numbers]:
        """Numbers of the cameras that share visits; one without a visit group is by itself."""
        numbers, names = pd.Series(np.arange(len(self.table))), self.table["visit_group"]
        by_itself = numbers.where(names == "", -1)
        for group in numbers.groupby([by_itself, names], sort=False).indices.values():
            yield np.asarray(group, dtype=np.intp)


def site_cards(
    site: Site, plan: pd.DataFrame, start: np.datetime64, *, horizon_years: float, in_service: pd.DataFrame | None
) -> SiteCards:
    """The cards of a site on the day on which its calendar begins.

    Parameters
    ----------
    site : Site
        The site.
    plan : DataFrame
        Its plan: a row a camera.
    start : datetime64
        The day.
    horizon_years : float
        Time over which the calendar goes, years.
    in_service : DataFrame or None
        The cards in service, of :func:`edgestore.plan.changes.calendar`; of two in a camera the one that is due first
        counts. None for a site whose cameras get their first cards.

    Returns
    -------
    SiteCards
        The cards.

    Notes
    -----
    A card in service is followed by the planned one, at its own next change at the latest. Where the plan has none, a
    card of its own kind follows, changed at the age at which it was due when new, in whole quarters of a year: the
    camera is visited all the same. A camera without a card gets its first one on that day.
    """
    now = _now(plan, in_service)
    rows = np.flatnonzero(plan["meets"].to_numpy(bool) | now["card"].notna().to_numpy())
    plan, now = plan.iloc[rows].reset_index(drop=True), now.iloc[rows].reset_index(drop=True)
    meets, has_card = plan["meets"].to_numpy(bool), now["card"].notna().to_numpy()
    table = site.cameras.iloc[rows][["camera", "visit_group", "lift"]].reset_index(drop=True)
    table["card"] = plan["card"].where(meets, now["card"]).to_numpy(object)
    texts = now[["card", "fitted", "next_change"]].astype(object).fillna("").to_numpy(object)
    table[list(OF_CARD_NOW)] = np.column_stack([texts[:, :2], now["age_years"], texts[:, 2]])
    table["age_years"] = table["age_years"].astype(float)
    of_kind = site.cards.iloc[pd.Index(site.cards["card"]).get_indexer(pd.Index(table["card"]))].reset_index(drop=True)
    again = np.floor(now["years_when_new"].to_numpy(float) / QUARTER_YEARS + ROUNDING) * QUARTER_YEARS
    change_years = np.where(meets, plan["change_years"].to_numpy(float), np.maximum(again, QUARTER_YEARS))
    costs = site.costs
    card_cost = visit_price = np.full(len(rows), np.nan)
    if costs is not None:
        card_cost = of_kind["price"].to_numpy(float) * (1 + costs.spare_fraction)
        visit_price = np.where(table["lift"], costs.visit_with_lift_price, costs.visit_price)
    longest = max(change_years.max(initial=0), horizon_years + 1 if has_card.any() else 0)
    ages = QUARTER_YEARS * np.arange(np.ceil(longest / QUARTER_YEARS) + 1)
    failures = np.zeros((len(rows), len(ages)))
    group = table["visit_group"]
    # Of a camera that gets its first card and shares no visit no failures are told, since none are compared.
    told = np.flatnonzero(has_card.any() | ((group != "") & group.duplicated(keep=False)).to_numpy())
    if len(told):
        failures[told] = card_failures(site, rows[told], of_kind.iloc[told], ages)
    cards = GroupCards(change_years, card_cost, visit_price, ages, failures)
    if not has_card.any() and not (costs is not None and costs.first_fitting_is_a_visit):
        return SiteCards(table, cards)
    return SiteCards(table, _before(site, cards, now, start))


def _now(plan: pd.DataFrame, in_service: pd.DataFrame | None) -> pd.DataFrame:
    """The card in service of each camera of a plan, the one that is due first; empty where there is none."""
    names = ["card", "fitted", "age_years", "next_change", "next_change_years", "years_when_new"]
    if in_service is None:
        return pd.DataFrame(index=plan.index, columns=["camera", *names])
    days = pd.to_datetime(in_service["change_when_new"]) - pd.to_datetime(in_service["fitted"])
    table = in_service.assign(years_when_new=days.dt.days / DAYS_PER_YEAR).drop_duplicates("camera").set_index("camera")
    return table[names].reindex(plan["camera"]).reset_index()


def _before(site: Site, cards: GroupCards, now: pd.DataFrame, start: np.datetime64) -> GroupCards:
    """The same cards after those that are in the cameras now, or after a first fitting that takes a visit."""
    has_card, costs = now["card"].notna().to_numpy(), site.costs
    is_visit = costs is not None and costs.first_fitting_is_a_visit
    due = np.zeros(len(now)) if is_visit else cards.change_years.copy()
    failures = np.zeros_like(cards.failures) if is_visit else cards.failures.copy()
    if has_card.any():
        after_years = float((start - np.datetime64(site.as_of, "D")) / np.timedelta64(1, "D")) / DAYS_PER_YEAR
        of_them = now[has_card]
        due[has_card] = np.maximum(of_them["next_change_years"].to_numpy(float) - after_years, 0.0)
        ages = cards.ages_years
        failures[has_card] = failures_in_service(site, of_them, after_years=after_years, years=ages)
    return replace(cards, in_service=InService(due, failures))


def card_failures(site: Site, rows: Numbers, cards: pd.DataFrame, ages_years: Array) -> Array:
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
