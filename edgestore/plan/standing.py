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

OF_CARD_NOW = ("in_service_card", "fitted", "age_years", "chance_retention", "chance_outage", "keep_until", "due_for")

WEAR, TOO_SMALL, TOO_SLOW = "age and wear", "holds too few days", "cannot keep up"
NOT_COVERED = "does not cover the outage"
UNKNOWN = "a kind that is not in the card list"
"""Why a card in service is due."""

FALLS_SHORT = {"chance_speed": TOO_SLOW, "chance_outage": NOT_COVERED, "chance_retention": TOO_SMALL}
"""Chances of the promise that a card can break on its first day, and why it is due then: the last of them that is."""

FROM_CALENDAR = ("card", "fitted", "next_change", "age_years", "next_change_years", *FALLS_SHORT)
"""What is read of a card in service, of :func:`edgestore.plan.changes.calendar` and the plan."""


@dataclass(frozen=True)
class SiteCards:
    """The cards of the cameras of a site that get one.

    Attributes
    ----------
    table : DataFrame
        A row a camera: ``camera``, ``visit_group``, ``lift``, the ``card`` that it gets, and of the one in service
        ``OF_CARD_NOW``; empty where there is none.
    cards : GroupCards
        The same cameras as if all shared their visits.
    falls_short : ndarray, shape (cameras,)
        By how much the chance that the card in service holds the days asked, covers the outage asked, or keeps up, lies
        below that of the card that replaces it, the largest of these, 0 to 1; 0 where none does, or is not known.
    unplanned : DataFrame
        The cards in service of cameras for which the plan has none: ``camera``, ``visit_group``, ``OF_CARD_NOW`` and
        ``due_years`` from the day on which the calendar begins.
    """

    table: pd.DataFrame
    cards: GroupCards
    falls_short: Array
    unplanned: pd.DataFrame

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
    A card in service is followed by the planned one, at its own next change at the latest; on the first day where it
    holds the days asked, covers the outage asked, or keeps up, with less than the chance asked, and the planned one is
    more likely to: the promise is broken until then. One of a kind that the card list does not have is due on the first
    day too: nothing is known of it but that it is there. Where the plan has no card nothing is planned: another of the
    same kind would break the promise again. A camera without a card gets its first one on that day.
    """
    now, meets = _now(plan, start, site, in_service), plan["meets"].to_numpy(bool)
    unplanned = now.join(site.cameras[["visit_group"]])[~meets & (now["in_service_card"] != "")]
    rows = np.flatnonzero(meets)
    plan, now = plan.iloc[rows].reset_index(drop=True), now.iloc[rows].reset_index(drop=True)
    has_card = (now["in_service_card"] != "").to_numpy()
    table = site.cameras.iloc[rows][["camera", "visit_group", "lift"]].reset_index(drop=True)
    table = table.assign(card=plan["card"].to_numpy(object)).join(now[list(OF_CARD_NOW)])
    falls_short, planned = np.zeros(len(rows)), plan.reindex(columns=list(FALLS_SHORT))
    for name, why in FALLS_SHORT.items():
        chance = now[name].to_numpy(float)
        less = np.where(has_card, np.nan_to_num(planned[name].to_numpy(float) - chance), 0.0)
        is_short = (less > ROUNDING) & (chance < plan["wanted_assurance"].to_numpy(float) - ROUNDING)
        table.loc[is_short, ["keep_until", "due_for"]] = str(start), why
        now.loc[is_short, "due_years"] = 0.0
        falls_short = np.maximum(falls_short, less)
    is_unknown = (now["due_for"] == UNKNOWN).to_numpy()
    falls_short[is_unknown] = plan["chance_kept"].to_numpy(float)[is_unknown]
    of_kind = site.cards.iloc[pd.Index(site.cards["card"]).get_indexer(pd.Index(table["card"]))].reset_index(drop=True)
    change_years = plan["change_years"].to_numpy(float)
    costs = site.costs
    card_cost = visit_price = np.full(len(rows), np.nan)
    if costs is not None:
        card_cost = of_kind["price"].to_numpy(float) * (1 + costs.spare_fraction)
        visit_price = np.where(table["lift"], costs.visit_with_lift_price, costs.visit_price)
    longest = max(change_years.max(initial=0), horizon_years + 1 if has_card.any() else 0)
    ages = QUARTER_YEARS * np.arange(np.ceil(longest / QUARTER_YEARS) + 1)
    failures = card_failures(site, rows, of_kind, ages) if len(rows) else np.zeros((0, len(ages)))
    cards = GroupCards(change_years, card_cost, visit_price, ages, failures)
    if has_card.any() or (costs is not None and costs.first_fitting_is_a_visit):
        cards = _before(site, cards, now)
    return SiteCards(table, cards, falls_short, unplanned.reset_index(drop=True))


def _now(plan: pd.DataFrame, start: np.datetime64, site: Site, in_service: pd.DataFrame | None) -> pd.DataFrame:
    """The card in service of each camera of a plan, the one that is due first; empty where there is none."""
    now = pd.DataFrame(index=plan.index, columns=list(FROM_CALENDAR))
    after_years = 0.0
    if in_service is not None:
        soonest = pd.concat([in_service, _of_unknown_kind(site, start)]).drop_duplicates("camera").set_index("camera")
        now = soonest.reindex(plan["camera"], columns=list(FROM_CALENDAR)).reset_index(drop=True)
        after_years = float((start - np.datetime64(site.as_of, "D")) / np.timedelta64(1, "D")) / DAYS_PER_YEAR
    texts, figures = now[list(FROM_CALENDAR[:3])].astype(object).fillna(""), now[list(FROM_CALENDAR[3:])].astype(float)
    return figures.assign(
        camera=plan["camera"].to_numpy(object),
        in_service_card=texts["card"],
        fitted=texts["fitted"],
        keep_until=texts["next_change"],
        due_for=np.select([texts["card"] == "", ~texts["card"].isin(site.cards["card"])], ["", UNKNOWN], WEAR),
        due_years=(figures["next_change_years"] - after_years).clip(lower=0.0),
        after_years=after_years,
    )


def _of_unknown_kind(site: Site, start: np.datetime64) -> pd.DataFrame:
    """Cards in service of kinds that the card list does not have, due on the first day."""
    log = pd.DataFrame(columns=["camera", "card", "fitted", "removed"]) if site.log is None else site.log
    log = log[log["removed"].isna() & ~log["card"].isin(site.cards["card"])].astype({"fitted": "datetime64[ns]"})
    fitted = log["fitted"].dt.strftime("%Y-%m-%d")
    return log[["camera", "card"]].assign(fitted=fitted, next_change=str(start), next_change_years=0.0)


def _before(site: Site, cards: GroupCards, now: pd.DataFrame) -> GroupCards:
    """The same cards after those that are in the cameras now, or after a first fitting that takes a visit.

    Of a card of unknown kind, which is due on the first day, no failure is expected.
    """
    has_card, costs = (now["in_service_card"] != "").to_numpy(), site.costs
    is_visit = costs is not None and costs.first_fitting_is_a_visit
    due = np.where(has_card, now["due_years"], 0.0 if is_visit else cards.change_years)
    hazard = np.zeros_like(cards.failures) if is_visit else cards.failures.copy()
    hazard[has_card] = 0.0
    failures, is_known = hazard.copy(), has_card & (now["due_for"] != UNKNOWN).to_numpy()
    if is_known.any():
        of_them = now[is_known].rename(columns={"in_service_card": "card"}).reset_index(drop=True)
        after_years = float(of_them["after_years"].iloc[0])
        hazard[is_known] = failures_in_service(site, of_them, after_years=after_years, years=cards.ages_years)
        failures[is_known] = _followed(hazard[is_known], cards.failures[is_known])
    return replace(cards, in_service=InService(due, failures, hazard))


def _followed(hazard: Array, planned: Array) -> Array:
    """Failures expected until each time, the first of the card in service, those after it of the planned card.

    ``F(t) + sum of f(u) P(t - u)``, with the failures ``P`` of the planned card at the middle of each step of ``u``.
    """
    first = np.diff(-np.expm1(-hazard), axis=1, prepend=0.0)
    halfway = (planned + np.pad(planned, ((0, 0), (0, 1)), mode="edge")[:, 1:]) / 2
    after = [np.convolve(f, p)[: len(f)] for f, p in zip(first, halfway, strict=True)]
    return np.asarray(first.cumsum(axis=1) + np.array(after).reshape(first.shape))


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
