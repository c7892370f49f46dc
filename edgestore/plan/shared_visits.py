"""Visits that the cameras of a group share: which cards are changed at each, and what that costs."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
import numpy.typing as npt

from edgestore.models.upkeep.visit_windows import fewest_visits
from edgestore.plan.promise import ROUNDING

Array = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Visit:
    """A visit: when, years from the beginning of the calendar, and the numbers of the cards that are changed then."""

    at_years: float
    cards: Numbers


@dataclass(frozen=True)
class InService:
    """What is in the cameras of a group when their calendar begins, and is changed before the planned cards are.

    Attributes
    ----------
    due_years : ndarray, shape (cards,)
        Latest time at which each is changed, years from then, 0 or more; 0 where the camera has no card yet.
    failures : ndarray, shape (cards, ages)
        Failures expected in each camera until so long after, a count, given that the card works when the calendar
        begins: the planned card follows one that fails.
    hazard : ndarray, shape (cards, ages)
        ``-ln`` of the chance that the card itself still works then.
    opens_years : ndarray, shape (cards,), optional
        Time from which on each may be changed, years; None for as early as it pays.
    """

    due_years: Array
    failures: Array
    hazard: Array
    opens_years: Array | None = None


@dataclass(frozen=True)
class GroupCards:
    """The cards of cameras that share visits.

    Attributes
    ----------
    change_years : ndarray, shape (cards,)
        Latest age at which each planned card is changed, the one at which a camera by itself has it changed.
    card_cost, visit_price : ndarray, shape (cards,)
        A card with its share of spares, and a visit to its camera alone, with the lift where it takes one; currency
        units. NaN where no cost is counted: no change is brought forward then.
    ages_years : ndarray, shape (ages,)
        Ages from 0 to the highest that is looked at.
    failures : ndarray, shape (cards, ages)
        Failures expected of each planned card until these ages, a count.
    in_service : InService or None
        What is in the cameras now; None where the planned cards have just been fitted.
    """

    change_years: Array
    card_cost: Array
    visit_price: Array
    ages_years: Array
    failures: Array
    in_service: InService | None = None

    def some(self, cards: Numbers) -> "GroupCards":
        """Some of these cards, by their numbers."""
        ages, costs, prices = (values[cards] for values in (self.change_years, self.card_cost, self.visit_price))
        now = self.in_service
        if now is not None:
            opens = None if now.opens_years is None else now.opens_years[cards]
            now = InService(now.due_years[cards], now.failures[cards], now.hazard[cards], opens)
        return GroupCards(ages, costs, prices, self.ages_years, self.failures[cards], now)

    @property
    def now(self) -> InService:
        """What is in the cameras when the calendar begins."""
        return self.in_service or InService(self.change_years, self.failures, self.failures)

    @property
    def both(self) -> Array:
        """A card and a visit to its camera alone, currency units."""
        return np.asarray(self.card_cost + self.visit_price)

    @cached_property
    def gain(self) -> Array:
        """What changing each planned card at each age is worth, where the visit costs nothing; currency units.

        Notes
        -----
        A camera by itself costs ``g = (card + visit) (1 + failures until a) / a`` a year, changed at its age a. A card
        that is changed at x, at a visit that is made anyway, saves the visit at its latest time D and the failures from
        x to D, but the card that follows begins D - x years sooner: ``visit + (card + visit) x failures from x to D -
        g (D - x)``. Where this is below 0, changing it so early wastes more than it saves. Of a planned card D is a; of
        a card in service the time that is left to it.
        """
        return self._gain(self.change_years, self.failures)

    @cached_property
    def gain_now(self) -> Array:
        """The same of what is in the cameras now, at each of these times from now on."""
        return self.gain if self.in_service is None else self._gain(self.now.due_years, self.now.failures)

    def _gain(self, due_years: Array, failures: Array) -> Array:
        a_year = self.both * (1 + self._until(self.failures, self.change_years)) / self.change_years
        fewer = self._until(failures, due_years)[:, None] - failures
        sooner = due_years[:, None] - self.ages_years
        return np.asarray(self.visit_price[:, None] + self.both[:, None] * fewer - a_year[:, None] * sooner)

    @property
    def opens_years(self) -> Array:
        """Age from which on, until its change, it is worth changing each planned card at a visit made anyway."""
        return self._opens(self.gain, self.change_years)

    @property
    def opens_now_years(self) -> Array:
        """Time from which on the same holds of what is in the cameras now."""
        now = self.now
        return self._opens(self.gain_now, now.due_years) if now.opens_years is None else now.opens_years

    def _opens(self, gain: Array, due_years: Array) -> Array:
        loses = ~(gain >= -ROUNDING) & (self.ages_years < due_years[:, None] - ROUNDING)
        first = np.where(loses.any(axis=1), loses.shape[1] - loses[:, ::-1].argmax(axis=1), 0)
        return np.minimum(self.ages_years[np.minimum(first, len(self.ages_years) - 1)], due_years)

    def gain_at(self, cards: Numbers, at_years: float, fitted: Array) -> Array:
        """What changing some of the cards at a visit is worth; those fitted at NaN are in service from before."""
        return self._since(cards, at_years, fitted, self.gain_now, self.gain)

    def failures_of(self, visits: Sequence[Visit], horizon_years: float) -> Array:
        """Failures expected of each camera over the horizon, with its cards changed at these visits."""
        everyone = np.arange(len(self.change_years))
        count, fitted = np.zeros(len(everyone)), np.full(len(everyone), np.nan)
        for visit in (*visits, Visit(horizon_years, everyone)):
            now = visit.cards
            count[now] += self._since(now, visit.at_years, fitted[now], self.now.failures, self.failures)
            fitted[now] = visit.at_years
        return count

    def failures_by_waiting(self, from_years: Array, to_years: Array) -> Array:
        """Failures expected of each camera more, when what is in it now is changed at the second time, not the first.

        Those of what is in it now between the two, less those of the planned cards, changed at their age, in its place.
        """
        until, span = partial(self._until, self.now.failures), to_years - from_years
        cards = np.floor(span / self.change_years + ROUNDING)
        left = np.maximum(span - cards * self.change_years, 0.0)
        planned = cards * self._until(self.failures, self.change_years) + self._until(self.failures, left)
        return np.asarray(until(to_years) - until(from_years) - planned)

    def chance_fails_within_a_year(self, at_years: Array) -> Array:
        """Chance that what is in each camera now fails within a year of a time, given that it works then."""
        until = partial(self._until, self.now.hazard)
        return np.asarray(-np.expm1(until(at_years) - until(at_years + 1)))

    def cost(self, visits: Sequence[Visit], horizon_years: float) -> float:
        """Cost of visits over the horizon, of their cards and of the failures between; of no card fitted before."""
        failures = float(self.both @ self.failures_of(visits, horizon_years))
        return failures + sum(self.visit_cost(visit) for visit in visits)

    def visit_cost(self, visit: Visit) -> float:
        """Cost of a visit and of its cards: the way is paid once, at the price of the camera hardest to reach."""
        return float(self.visit_price[visit.cards].max() + self.card_cost[visit.cards].sum())

    def _since(self, cards: Numbers, at_years: float, fitted: Array, before: Array, after: Array) -> Array:
        """Values at a time: by the time from now of what is in service from before, by the age of what is fitted."""
        rows = np.where(np.isnan(fitted)[:, None], before[cards], after[cards])
        return self._until(rows, at_years - np.nan_to_num(fitted))

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
    first, ages = cards.now.due_years, cards.change_years
    counts = np.maximum(np.ceil((horizon_years - first) / ages - ROUNDING).astype(int), 0)
    visits = [
        Visit(due + n * age, np.array([card]))
        for card, (due, age, count) in enumerate(zip(first.tolist(), ages.tolist(), counts.tolist(), strict=True))
        for n in range(count)
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
    due_only = _visits(cards, cards.now.due_years, cards.change_years, horizon_years)
    if np.isnan(cards.both).any():
        return due_only
    brought_forward = _visits(cards, cards.opens_now_years, cards.opens_years, horizon_years)
    return min((due_only, brought_forward), key=lambda visits: cards.cost(visits, horizon_years))


def _visits(cards: GroupCards, opens_now: Array, opens_years: Array, horizon_years: float) -> list[Visit]:
    """Visits over the horizon, of cards that may be changed from such times on, and those fitted from such ages on."""
    visits: list[Visit] = []
    opens, closes, ages = opens_now.copy(), cards.now.due_years.copy(), cards.change_years
    fitted = np.full(len(ages), np.nan)
    while True:
        in_horizon = np.flatnonzero(closes < horizon_years - ROUNDING)
        if not len(in_horizon):
            return visits
        at = float(closes[in_horizon].min())
        is_due = closes[in_horizon] <= at + ROUNDING
        due = in_horizon[is_due]
        again = due[at + ages[due] < horizon_years - ROUNDING]  # whose next window begins with this visit
        all_opens = np.append(opens[in_horizon], at + opens_years[again])
        found = fewest_visits(all_opens, np.append(closes[in_horizon], at + ages[again]))
        may = in_horizon[(found.visit[: len(in_horizon)] == 0) & ~is_due]
        changed = np.sort(np.append(due, _worth_joining(cards, due, may, cards.gain_at(may, at, fitted[may]))))
        visits.append(Visit(at, changed))
        fitted[changed] = at
        opens[changed], closes[changed] = at + opens_years[changed], at + ages[changed]


def _worth_joining(cards: GroupCards, due: Numbers, may: Numbers, gain: Array) -> Numbers:
    """Which of the cards that may be changed at a visit are, as the dearer ways to some of them pay for themselves."""
    if not len(may):
        return may
    price = cards.visit_price[due].max()
    best, most = may[:0], 0.0
    for way in np.unique(np.maximum(cards.visit_price[may], price)):
        reached = cards.visit_price[may] <= way
        if gain[reached].sum() - (way - price) >= most - ROUNDING:
            best, most = may[reached], float(gain[reached].sum() - (way - price))
    return best
