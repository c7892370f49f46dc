"""What each card costs each camera and how it keeps the promise, by what is not known: the mean rate, the endurance.

A decision needs both on one scale: the **loss** is the expected cost, plus a price for the chance that the promise is
broken. Each card is changed at the age at which the plan would change it, whatever is found out.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from edgestore.inputs.settings import Costs
from edgestore.plan.assured import Promises, promises
from edgestore.plan.change_age import expected_changes, renewed_by_endurance
from edgestore.plan.flash_writes import working
from edgestore.plan.least_cost import Expected, costs_by_age, expected_by_age
from edgestore.plan.promise import AT_ONCE, CELLS, OF_WRITTEN, RateLaw, alike, overlap
from edgestore.plan.site import Site

Array = npt.NDArray[np.float64]
Chosen = npt.NDArray[np.intp]

NEVER = 1e3
"""A card that the slot does not take, or that is too slow, loses so many times as much as any other."""

INSIDE = 1.05
"""A price at which the order of the plan is only just the best is moved inside by this factor: at the edge itself any
trifle would change the order (our choice)."""

SAME_CHANCE = 1e-6
"""Chances that differ by no more are the same."""


@dataclass(frozen=True, kw_only=True)
class Losses:
    """Costs and chances of every card in every camera, by cell of the mean rate and by endurance.

    Costs are expected over the horizon, in currency units; where no cost is counted they are GB of capacity.

    Attributes
    ----------
    log_rate : ndarray, shape (cameras, CELLS)
        Logarithm of the mean rate in the middle of each cell of equal chance, of Mbit/s.
    cost, kept : ndarray, shape (cameras, CELLS, cards)
        Cost, and chance that the promise is kept, where the rate is in that cell.
    log_endurance, endurance_chance : ndarray, shape (cards, states)
        Logarithm of each card's endurance over the stated one, and the chance of each.
    cost_by_endurance, kept_by_endurance : ndarray, shape (cameras, cards, states)
        The same where the card has that endurance.
    is_possible : ndarray of bool, shape (cameras, cards)
        Whether the slot takes a card and it is fast enough.
    planned : ndarray of int, shape (cameras,)
        Number of the card that the camera gets by itself; -1 where none is assured.
    stated_price : float or None
        Price of a broken promise by the settings.
    named : ndarray of int, shape (cameras,), or None
        Number of the card that the plan names: the one planned, or the best of a doubtful camera; -1 for none. The
        cards planned alone when left out.
    """

    log_rate: Array
    cost: Array
    kept: Array
    log_endurance: Array
    endurance_chance: Array
    cost_by_endurance: Array
    kept_by_endurance: Array
    is_possible: npt.NDArray[np.bool_]
    planned: Chosen
    stated_price: float | None
    named: Chosen | None = None

    @cached_property
    def _revealed(self) -> tuple[Array, Array]:
        """Least and most that the choice of each card named may pay for a chance: to a card below, not to one above."""
        cost, kept = (values.mean(axis=1) for values in (self.cost, self.kept))
        named = self.planned if self.named is None else self.named
        rows = np.flatnonzero(named >= 0)
        more, higher = (values[rows, named[rows], None] - values[rows] for values in (cost, kept))
        with np.errstate(divide="ignore", invalid="ignore"):
            slope = more / higher
        cheaper = self.is_possible[rows] & (higher > SAME_CHANCE) & (more > 0)
        dearer = self.is_possible[rows] & (higher < -SAME_CHANCE) & (more < 0)
        ends = np.zeros(len(self.planned)), np.full(len(self.planned), np.inf)
        ends[0][rows] = np.where(cheaper, slope, 0.0).max(axis=1)
        ends[1][rows] = np.where(dearer, slope, np.inf).min(axis=1)
        return ends

    @cached_property
    def site_price(self) -> float:
        """Price of a broken promise: as stated; else the median of what the assured choices pay for a chance.

        Where all take the cheapest card and no dearer one has a better chance, nobody pays: then what the dearest
        card costs.
        """
        if self.stated_price is not None:
            return self.stated_price
        told = np.concatenate([ends[self.planned >= 0] for ends in self._revealed])
        told = told[(told > 0) & np.isfinite(told)]
        if len(told):
            return float(np.median(told))
        cost = self.cost.mean(axis=1)
        return float(cost[self.is_possible].max(initial=0.0))

    @cached_property
    def price(self) -> Array:
        """Price of a broken promise for each camera, shape (cameras,): that of the site where it is stated.

        Else the nearest to it with which the order of the plan has the least loss, so that who finds nothing out
        orders what the plan says.
        """
        if self.stated_price is not None:
            return np.full(len(self.planned), self.stated_price)
        least, most = self._revealed
        middle = np.sqrt(np.maximum(least, SAME_CHANCE) * most)
        return np.asarray(
            np.clip(self.site_price, np.minimum(least * INSIDE, middle), np.maximum(most / INSIDE, middle))
        )

    @cached_property
    def by_rate(self) -> Array:
        """Loss of each card in each cell of the mean rate, shape (cameras, CELLS, cards)."""
        loss = self.cost + self.price[:, None, None] * (1 - self.kept)
        return np.asarray(np.where(self.is_possible[:, None, :], loss, NEVER * (1 + loss.max(initial=0.0))))

    @cached_property
    def by_endurance(self) -> Array:
        """Loss of each card with each of its endurances, shape (cameras, cards, states)."""
        loss = self.cost_by_endurance + self.price[:, None, None] * (1 - self.kept_by_endurance)
        return np.asarray(np.where(self.is_possible[:, :, None], loss, NEVER * (1 + loss.max(initial=0.0))))

    @cached_property
    def means(self) -> tuple[Array, Array, Array]:
        """Loss, cost and chance of a broken promise of each card, over all rates, shape (cameras, cards) each."""
        return self.by_rate.mean(axis=1), self.cost.mean(axis=1), 1 - self.kept.mean(axis=1)

    @cached_property
    def order(self) -> Chosen:
        """Number of the card of least loss in each camera: that of the plan, where the price is not stated."""
        return np.asarray(self.means[0].argmin(axis=1), dtype=np.intp)


def losses(site: Site, planned: Chosen, named: Chosen | None = None) -> Losses:
    """Price every card in every camera, by mean rate and by endurance.

    Parameters
    ----------
    site : Site
        The site.
    planned : ndarray of int, shape (cameras,)
        Number of the card that each camera gets by itself, -1 for none.
    named : ndarray of int, shape (cameras,), optional
        Likewise with the best card of each doubtful camera; the same when left out.

    Returns
    -------
    Losses
        Costs and chances.

    Notes
    -----
    The age of change of a card is that of the plan; of one that is not assured, the age that it would have if it were.
    """
    made = promises(site, site.rates)
    law = RateLaw.of(*site.rates[OF_WRITTEN].to_numpy(float).T)
    chance, endurance = (
        np.array([[getattr(known, name) for known in kind.by_endurance] for kind in made.kinds])
        for name in ("of_all", "median_endurance")
    )
    cost, kept, cost_by_endurance, kept_by_endurance = map(np.concatenate, zip(*_by_rows(site, made), strict=True))
    return Losses(
        log_rate=np.log(law.cells_mbit_s),
        cost=cost,
        kept=kept,
        log_endurance=np.log(endurance),
        endurance_chance=chance,
        cost_by_endurance=cost_by_endurance,
        kept_by_endurance=kept_by_endurance,
        is_possible=made.chance["slot"] * made.chance["speed"] > 0,
        planned=planned,
        named=named,
        stated_price=None if site.costs is None else site.costs.broken_promise_price,
    )


def _by_rows(site: Site, made: Promises) -> Iterator[tuple[Array, Array, Array, Array]]:
    """Cost and chance by rate, cost and chance by endurance, of some cameras at a time."""
    years, of_camera = np.unique(made.years, return_inverse=True)
    works = working(made.writes, made.writes.of_card, made.wear_life_years, years, made.kinds)
    works_by_endurance = _working_by_endurance(made, years)
    changes = None if site.costs is None else _Changes.of(site, site.costs, made)
    for start in range(0, len(made.kept), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        weights = made.writes.weights(rows)
        possible = made.chance["slot"][rows] * made.chance["speed"][rows]
        parts = overlap(1 - made.chance["maximum"][rows], made.holds[rows]) * possible[:, None, :]
        kept = np.empty(parts.shape)
        cost = np.broadcast_to(site.offered["capacity_gb"].to_numpy(float), parts.shape).copy()
        kept_by_endurance = np.empty((len(parts), parts.shape[2], len(works_by_endurance)))
        cost_by_endurance = np.broadcast_to(cost[:, 0, :, None], kept_by_endurance.shape).copy()
        at = None if changes is None else changes.ages(rows)
        for number, cards in _classes(made):
            of_cell, year = weights[number], of_camera[rows]
            lasts = works[cards][:, :, year].transpose(2, 1, 0)  # (cameras, nodes, cards)
            kept[..., cards] = of_cell @ lasts * parts[..., cards]
            joint = parts[..., cards].transpose(0, 2, 1) @ of_cell / CELLS  # (cameras, cards, nodes)
            for place, card in enumerate(cards):
                lasts = works_by_endurance[:, card][:, :, year]  # (states, nodes, cameras)
                kept_by_endurance[:, card] = np.einsum("cn,enc->ce", joint[:, place], lasts)
            if changes is not None and at is not None:
                renewed = changes.renewed[cards, :, at[:, cards]].transpose(0, 2, 1)
                cost[..., cards] = changes.cost(of_cell @ renewed, rows, cards)
                for card in cards:
                    count = changes.by_endurance(made.writes.means[number, rows], card, at[:, card])
                    cost_by_endurance[:, card] = changes.cost(count, rows, card)
        yield cost, kept, cost_by_endurance, kept_by_endurance


@dataclass(frozen=True)
class _Changes:
    """What changes of cards cost a site, and how many there are of each card over the horizon.

    Attributes
    ----------
    made : Promises
        What the cards promise.
    costs : Costs
        What visits cost, and the horizon.
    card_price, visit_price : ndarray, shape (cards,), (cameras,)
        Currency units, the share of spares in the first.
    expected : tuple
        Ages, failures and planned changes, of :func:`edgestore.plan.least_cost.expected_by_age`.
    renewed : ndarray, shape (cards, nodes, ages)
        Failures and planned changes together.
    """

    made: Promises
    costs: Costs
    card_price: Array
    visit_price: Array
    expected: Expected
    renewed: Array

    @classmethod
    def of(cls, site: Site, costs: Costs, made: Promises) -> "_Changes":
        _, failures, planned = expected_changes(costs.horizon_years, made.wear_life_years, made.kinds)
        price = site.offered["price"].to_numpy(float) * (1 + costs.spare_fraction)
        is_lift = site.cameras["lift"].to_numpy(bool)
        visit = np.where(is_lift, costs.visit_with_lift_price, costs.visit_price)
        return cls(made, costs, price, visit, expected_by_age(costs, made), failures + planned)

    def ages(self, rows: slice) -> Chosen:
        """Number of the age at which each card is changed in some cameras, shape (cameras, cards)."""
        prices = self.card_price / (1 + self.costs.spare_fraction)
        is_lift = self.visit_price == self.costs.visit_with_lift_price
        by_age = costs_by_age(self.costs, self.made, self.expected, prices, is_lift, rows)
        years = self.made.years[rows]
        return by_age.at(np.maximum(self.made.latest_years[rows], years[:, None]), years)

    def by_endurance(self, means: Array, card: int, at: Chosen) -> Array:
        """Changes of one card where it has one of its endurances, by what its flash may take; (cameras, states)."""
        known, place = np.unique(at, return_inverse=True)
        wear, kind = self.made.wear_life_years[card], self.made.kinds[card]
        renewed = renewed_by_endurance(self.costs.horizon_years, kind, wear, known)
        return np.asarray(np.einsum("cn,snc->cs", means, renewed[:, :, place]))

    def cost(self, renewed: Array, rows: slice, cards: Chosen | int) -> Array:
        """Cost of numbers of changes, the cameras first and the cards last, or of one card."""
        card, visit = self.card_price[cards], self.visit_price[rows]
        visit = visit.reshape(-1, *[1] * (renewed.ndim - 1))
        return np.asarray(card * (1 + renewed) + visit * (renewed + self.costs.first_fitting_is_a_visit))


def _classes(made: Promises) -> Iterator[tuple[int, Chosen]]:
    """Each class of card that writes alike, by its number, with the numbers of its cards."""
    for number in np.unique(made.writes.of_card):
        yield int(number), np.flatnonzero(made.writes.of_card == number)


def _working_by_endurance(made: Promises, years: Array) -> Array:
    """Chance that cards work at ages where they have one of their endurances; (states, cards, nodes, ages)."""
    states = len(made.kinds[0].by_endurance)
    chance = np.empty((states, *made.wear_life_years.shape, len(years)))
    for kind, cards in alike(made.kinds):
        for number, state in enumerate(kind.by_endurance):
            chance[number, cards] = state.kind.survival(made.wear_life_years[cards], years)
    return chance
