"""What more or less assurance changes: the chances of a site kept, and its cards chosen at one assurance or another."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.plan.assurance_words import highest_in_band, kept_to_change
from edgestore.plan.assured import Promises, latest_ages, promises
from edgestore.plan.candidates import Tried
from edgestore.plan.change_age import CostsByAge
from edgestore.plan.choice import Chosen, Kinds, choose
from edgestore.plan.least_cost import costs_by_age, expected_by_age
from edgestore.plan.promise import ROUNDING
from edgestore.plan.requirements import SITE
from edgestore.plan.site import Site
from edgestore.plan.site_plan import STATES, camera_states
from edgestore.text import chance, counted, money

Array = npt.NDArray[np.float64]

LEVELS = (0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.92, 0.94, 0.95, 0.96, 0.97, 0.98, 0.99)


@dataclass(frozen=True)
class AssuranceCurve:
    """Counts and cost of a site by the assurance asked.

    Attributes
    ----------
    table : DataFrame
        ``assurance``, 0 to 1; ``assured``, cameras; ``capacity_gb``, the sum of the cards chosen; with costs ``cost``
        over the horizon. Neither is a number where no camera is assured.
    cameras : int
        Cameras of the site.
    unit : str
        Unit of the cost with its horizon; empty where none is counted.
    """

    table: pd.DataFrame
    cameras: int
    unit: str

    @property
    def sentence(self) -> str:
        """The trade-off in one sentence."""
        some = self.table[self.table["assured"] > 0]
        if some.empty:
            return f"No camera is assured with a chance of {chance(self.table['assurance'].iloc[0])} or more."
        ends = [
            f"{chance(row['assurance'])}, {int(row['assured'])} of {counted(self.cameras, 'camera')} are assured"
            + (f" for {money(row['cost'], self.unit)}" if self.unit else "")
            for row in some.iloc[[0, -1]].to_dict("records")
        ]
        none = self.table["assurance"].iloc[len(some) :]
        text = f"With an assurance of {ends[0]}" + (f"; with {ends[1]}" if len(some) > 1 else "")
        return f"{text}; with {chance(none.iloc[0])} or more, none are." if len(none) else f"{text}."


@dataclass(frozen=True)
class SiteChoice:
    """The card of each camera at one assurance, as the plan chooses it; arrays have a place a camera.

    Attributes
    ----------
    chances : SiteChances
        What its cards promise.
    kinds : str or int
        The policy on kinds of card.
    assurance : float
        Chance asked by the site, where neither a camera nor its group asks for another.
    chosen, alone : ndarray of int
        Number of the card chosen, and of the one that the camera would get by itself; -1 where there is none.
    state : ndarray of str
        One of ``STATES``.
    cost, failures : ndarray
        Expected cost over the horizon, currency units, and failures; NaN where there is no card, or no cost is counted.
    """

    chances: "SiteChances"
    kinds: Kinds
    assurance: float
    chosen: Chosen
    alone: Chosen
    state: npt.NDArray[np.str_]
    cost: Array
    failures: Array

    @property
    def counts(self) -> str:
        """How many cameras are in which state, in words."""
        numbers = ((int((self.state == state).sum()), state) for state in STATES)
        return ", ".join(f"{count} {state}" for count, state in numbers if count)

    @property
    def amount(self) -> float:
        """Cost of all cards over the horizon, or their capacity in GB where no cost is counted."""
        served = self.chosen >= 0
        if self.chances.unit:
            return float(self.cost[served].sum())
        return float(self.chances.capacity_gb[self.chosen[served]].sum())

    @property
    def sentence(self) -> str:
        """The counts and the cost of each camera by itself, in a few sentences: the bill takes as long as the plan."""
        text = f"Of {counted(len(self.state), 'camera')}: {self.counts}."
        if not self.chances.unit or not (self.chosen >= 0).any():
            return text
        kinds = counted(len(np.unique(self.chosen[self.chosen >= 0])), "kind")
        apart = f"Cards of {kinds} and visits, each camera by itself: {money(self.amount, self.chances.unit)}."
        return f"{text} The bill of the site, which shares visits, follows. {apart} {self.kept_to_change}".rstrip()

    @property
    def kept_to_change(self) -> str:
        """What keeping the assurance until the planned changes costs, in one sentence; empty where it costs little."""
        served, costs = np.flatnonzero(self.chosen >= 0), self.chances.site.costs
        if costs is None:
            return ""
        pairs = served, self.chosen[served]
        failures, cost = (float(values[pairs].sum()) for values in self.chances.least)
        return kept_to_change(self.amount, float(self.failures[served].sum()), cost, failures, currency=costs.currency)


@dataclass(frozen=True, eq=False)
class SiteChances:
    """What the cards of a site promise and cost, all that is the same whatever assurance is asked: made once, and kept.

    Attributes
    ----------
    site : Site
        The site.
    made : Promises
        Chances of every card in every camera.
    works : ndarray, shape (cameras, cards, ages)
        Chance that each card works at each age.
    prices : CostsByAge or None
        What each costs, changed at each age; None where no cost is counted.
    """

    site: Site
    made: Promises
    works: Array
    prices: CostsByAge | None

    @cached_property
    def unit(self) -> str:
        """Unit of the cost with its horizon; empty where none is counted."""
        costs = self.site.costs
        return "" if costs is None else f"{costs.currency} in {counted(costs.horizon_years, 'year')}"

    @cached_property
    def _groups(self) -> "pd.Series[str]":
        return self.site.cameras["group"]

    @cached_property
    def capacity_gb(self) -> Array:
        """Capacity of each card, GB; shape (cards,)."""
        return self.site.offered["capacity_gb"].to_numpy(float)

    @cached_property
    def least(self) -> Array:
        """Failures and cost at the age of least cost, whatever chance there is left then; shape (2, cameras, cards)."""
        return np.empty((2, *self.made.kept.shape)) if self.prices is None else self.prices.least(self.made.years)

    @cached_property
    def highest(self) -> float:
        """The highest assurance that any card can have in any camera: what random failures and weak cards leave."""
        return self.highest_ends[0]

    @cached_property
    def highest_ends(self) -> tuple[float, float, float]:
        """That, with its least and its highest over what is assumed of an untested card."""
        return max(highest_in_band(self.site, self.made.kinds, self.made.years))

    @cached_property
    def _is_of_site(self) -> npt.NDArray[np.bool_]:
        return (self.site.wanted["assurance_from"] == SITE).to_numpy()[:, None]

    def at(self, assurance: float, kinds: Kinds = "camera") -> SiteChoice:
        """Choose the cards at one assurance.

        Parameters
        ----------
        assurance : float
            Chance asked where neither a camera nor its group asks for another, 0.5 to 0.99.
        kinds : str or int
            The policy on kinds of card.

        Returns
        -------
        SiteChoice
            The same cards and costs as those of :func:`edgestore.site_plan`.
        """
        made, groups = self.made, self._groups
        asked = np.where(self._is_of_site, assurance, made.asked)
        meets = {name: part >= asked - ROUNDING for name, part in (*made.chance.items(), ("together", made.kept))}
        burden = failures = np.broadcast_to(self.capacity_gb, made.kept.shape)
        if self.prices is not None:
            _, failures, _, cost = self.prices.best(latest_ages(self.works, made.ages_years, asked), made.years)
            burden = np.where(meets["together"], cost, np.nan)
        tries = Tried({"chance_kept": made.kept}, meets, burden)
        alone = choose("camera", tries, groups).chosen
        chosen = alone if kinds == "camera" else choose(kinds, tries, groups).chosen
        is_priced = (chosen >= 0) & (self.prices is not None)
        at = np.arange(len(chosen)), chosen
        cost, failures = (np.where(is_priced, values[at], np.nan) for values in (burden, failures))
        state = camera_states(made.kept, chosen, alone)
        return SiteChoice(self, kinds, assurance, chosen, alone, state, cost, failures)

    def curve(self, kinds: Kinds = "camera", levels: Sequence[float] = LEVELS) -> AssuranceCurve:
        """Choose the cards at one assurance after the other.

        Parameters
        ----------
        kinds : str or int
            The policy on kinds of card.
        levels : sequence of float
            Assurances, 0.5 to 0.99.

        Returns
        -------
        AssuranceCurve
            A row for each.

        Notes
        -----
        A cost falls where a camera is no longer assured, since it then gets no card: read it with the count.
        """
        measure = "cost" if self.unit else "capacity_gb"
        choices = [self.at(level, kinds) for level in levels]
        counts = [int((choice.chosen >= 0).sum()) for choice in choices]
        rows = [
            (choice.assurance, count, choice.amount if count else np.nan)
            for choice, count in zip(choices, counts, strict=True)
        ]
        table = pd.DataFrame(rows, columns=["assurance", "assured", measure])
        return AssuranceCurve(table, len(self.site.cameras), self.unit)


def site_chances(site: Site, before: SiteChances | None = None) -> SiteChances:
    """Compute for a site all that the cards promise and cost, whatever assurance is asked.

    Parameters
    ----------
    site : Site
        The site.
    before : SiteChances, optional
        Those of the same lists and settings under other requirements, of which what stays the same is taken.

    Returns
    -------
    SiteChances
        Ready to choose at any assurance.
    """
    made, costs, prices = promises(site, site.rates), site.costs, None
    if (
        before is not None
        and (before.site.rates is site.rates and before.site.offered is site.offered)
        and np.array_equal(before.made.ages_years, made.ages_years)
    ):
        return SiteChances(site, made, before.works, before.prices)
    if costs is not None:
        expected = expected_by_age(costs, made)
        of_cards, is_lift = site.offered["price"].to_numpy(float), site.cameras["lift"].to_numpy(bool)
        prices = costs_by_age(costs, made, expected, of_cards, is_lift)
    return SiteChances(site, made, made.works_by_age(), prices)


def assurance_curve(site: Site, levels: Sequence[float] = LEVELS) -> AssuranceCurve:
    """What a site costs at one assurance after the other, with a card for each camera.

    Parameters
    ----------
    site : Site
        The site; cameras and groups that ask for an assurance of their own keep it.
    levels : sequence of float
        Assurances, 0.5 to 0.99.

    Returns
    -------
    AssuranceCurve
        A row for each.
    """
    return site_chances(site).curve("camera", levels)
