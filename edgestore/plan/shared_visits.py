"""Visits that the cameras of a group share: which cards are changed at each, and what that costs."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from edgestore.models.upkeep.visit_windows import fewest_visits
from edgestore.plan.promise import ROUNDING

Array = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Visit:
    """A visit: when, years from the fitting of the first cards, and the numbers of the cards that are changed then."""

    at_years: float
    cards: Numbers


@dataclass(frozen=True)
class GroupCards:
    """The cards of cameras that share visits, all fitted at the same time.

    Attributes
    ----------
    change_years : ndarray, shape (cards,)
        Latest age at which each is changed, the one at which a camera by itself has it changed.
    card_cost, visit_price : ndarray, shape (cards,)
        A card with its share of spares, and a visit to its camera alone, with the lift where it takes one; currency
        units. NaN where no cost is counted: no change is brought forward then.
    ages_years : ndarray, shape (ages,)
        Ages from 0 to the highest of ``change_years``.
    failures : ndarray, shape (cards, ages)
        Failures expected of each until these ages, a count.
    """

    change_years: Array
    card_cost: Array
    visit_price: Array
    ages_years: Array
    failures: Array

    def some(self, cards: Numbers) -> "GroupCards":
        """Some of these cards, by their numbers."""
        ages, costs, prices = (values[cards] for values in (self.change_years, self.card_cost, self.visit_price))
        return GroupCards(ages, costs, prices, self.ages_years, self.failures[cards])

    @property
    def gain(self) -> Array:
        """What changing each card at each of the ages is worth, where the visit costs nothing; currency units.

        Notes
        -----
        A camera by itself costs ``g = (card + visit) (1 + failures until a) / a`` a year, changed at its age a. A card
        that is changed at age d at a visit that is made anyway has served d years, worth ``g d``, for ``card + (card +
        visit) x failures until d``. Where the difference is below 0, changing it so early wastes more than it saves.
        """
        both = self.card_cost + self.visit_price
        a_year = both * (1 + self._until(self.failures, self.change_years)) / self.change_years
        return np.asarray(np.outer(a_year, self.ages_years) - self.card_cost[:, None] - both[:, None] * self.failures)

    @property
    def opens_years(self) -> Array:
        """Age from which on, until its change, it is worth changing each card at a visit that is made anyway."""
        loses = ~(self.gain >= -ROUNDING) & (self.ages_years < self.change_years[:, None] - ROUNDING)
        first = np.where(loses.any(axis=1), loses.shape[1] - loses[:, ::-1].argmax(axis=1), 0)
        return np.minimum(self.ages_years[np.minimum(first, len(self.ages_years) - 1)], self.change_years)

    def cost(self, visits: Sequence[Visit], horizon_years: float) -> float:
        """Cost of visits over the horizon, of their cards and of the failures between; the first cards are left out."""
        total, fitted = 0.0, np.zeros(len(self.change_years))
        both = self.card_cost + self.visit_price
        for visit in visits:
            now = visit.cards
            total += self.visit_cost(visit) + float(
                both[now] @ self._until(self.failures[now], visit.at_years - fitted[now])
            )
            fitted[now] = visit.at_years
        return float(total + both @ self._until(self.failures, horizon_years - fitted))

    def visit_cost(self, visit: Visit) -> float:
        """Cost of a visit and of its cards: the way is paid once, at the price of the camera hardest to reach."""
        return float(self.visit_price[visit.cards].max() + self.card_cost[visit.cards].sum())

    def _until(self, values: Array, years: Array) -> Array:
        """Values by age, a row a card, at an age of each."""
        return np.array([np.interp(y, self.ages_years, row) for y, row in zip(years, values, strict=True)])


def separate_visits(cards: GroupCards, horizon_years: float) -> list[Visit]:
    """Visits of each camera by itself over the horizon; none at its very end.

    Parameters
    ----------
    cards : GroupCards
        The cards.
    horizon_years : float
        Time over which visits are counted, years.

    Returns
    -------
    list of Visit
        In the order of time, of one card each.
    """
    counts = np.maximum(np.ceil(horizon_years / cards.change_years - ROUNDING).astype(int) - 1, 0)
    visits = [
        Visit(n * age, np.array([card]))
        for card, (age, count) in enumerate(zip(cards.change_years.tolist(), counts.tolist(), strict=True))
        for n in range(1, count + 1)
    ]
    return sorted(visits, key=lambda visit: visit.at_years)


def shared_visits(cards: GroupCards, horizon_years: float) -> list[Visit]:
    """Visits that the cameras of a group share over the horizon.

    Parameters
    ----------
    cards : GroupCards
        The cards.
    horizon_years : float
        Time over which visits are counted, years.

    Returns
    -------
    list of Visit
        In the order of time. No card is older than its ``change_years`` when it is changed.

    Notes
    -----
    The fewest visits that reach each card between the age from which on that is worth it and its change, by
    :func:`edgestore.models.upkeep.fewest_visits`; when the first of them is made, the windows of its cards begin anew.
    A card waits where somebody comes again before its window closes. Where changes brought forward cost more over the
    horizon after all, none is: cards that fall due on the same day still share the visit.
    """
    due_only = _visits(cards, cards.change_years, horizon_years)
    if np.isnan(cards.card_cost).any():
        return due_only
    brought_forward = _visits(cards, cards.opens_years, horizon_years)
    return min((due_only, brought_forward), key=lambda visits: cards.cost(visits, horizon_years))


def _visits(cards: GroupCards, opens_years: Array, horizon_years: float) -> list[Visit]:
    """Visits over the horizon, of cards that may be changed from such ages on."""
    visits: list[Visit] = []
    fitted, ages = np.zeros(len(opens_years)), cards.change_years
    while True:
        in_horizon = np.flatnonzero(fitted + ages < horizon_years - ROUNDING)
        if not len(in_horizon):
            return visits
        closes = (fitted + ages)[in_horizon]
        at = float(closes.min())
        is_due = closes <= at + ROUNDING
        due = in_horizon[is_due]
        again = due[at + ages[due] < horizon_years - ROUNDING]  # whose next window begins with this visit
        opens = np.append((fitted + opens_years)[in_horizon], at + opens_years[again])
        found = fewest_visits(opens, np.append(closes, at + ages[again]))
        may = in_horizon[(found.visit[: len(in_horizon)] == 0) & ~is_due]
        changed = np.sort(np.append(due, _worth_joining(cards, due, may, at - fitted)))
        visits.append(Visit(at, changed))
        fitted[changed] = at


def _worth_joining(cards: GroupCards, due: Numbers, may: Numbers, age_years: Array) -> Numbers:
    """Which of the cards that may be changed at a visit are, as the dearer ways to some of them pay for themselves."""
    if not len(may):
        return may
    price = cards.visit_price[due].max()
    gain = np.array(
        [np.interp(age_years[card], cards.ages_years, row) for card, row in zip(may, cards.gain[may], strict=True)]
    )
    best, most = may[:0], 0.0
    for way in np.unique(np.maximum(cards.visit_price[may], price)):
        reached = cards.visit_price[may] <= way
        if gain[reached].sum() - (way - price) >= most - ROUNDING:
            best, most = may[reached], float(gain[reached].sum() - (way - price))
    return best
