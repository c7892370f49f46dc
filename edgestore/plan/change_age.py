"""At which age a card is changed, and what it then costs over the horizon, failures between changes among it.

A table of expected failures and planned changes over one horizon is made once, by wear life and age of change, since
they depend on nothing else of a camera; the plan reads it at what each camera's flash may take.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline, PPoly

from edgestore.models.life.law import CardLife
from edgestore.plan.card_life import CardKind
from edgestore.plan.promise import ROUNDING, alike

Array = npt.NDArray[np.float64]

QUARTER_YEARS = 0.25
"""Cards are changed at whole quarters of a year: nobody plans a visit closer than that (our choice)."""

MOST_AGES = 60
"""A horizon has no more ages of change: of a longer one whole multiples of a quarter are tried."""

STEPS_AN_AGE = 4
"""Steps of the renewal equation between two ages."""

RANDOM_PER_YEAR = (0.0, 0.01444, 0.1, 0.5, 2.5)
"""Random failures a year for which tables are made; between them a number of failures is nearly a straight line. The
second is the mean of a lognormal law of middle 0.01 and a factor of 3, of a kind of card without records."""

SAME_RANDOM = 1e-3
"""Random failures that differ by no more than this part need no second table."""

WEAK_FRACTION = 0.01
"""Share of weak cards for which tables are made."""

MOST_WEAK = 0.99
"""A larger share of weak cards is counted as this: such a kind is not planned with."""

SHORTEST, LONGEST, LIVES = 0.01, 30.0, 49
"""Wear lives of the table, in horizons; outside, a card is used up at once, or does not wear."""


@dataclass(frozen=True)
class ChangeTable:
    """Expected failures and planned changes over a horizon, by wear life and age of change.

    Attributes
    ----------
    horizon_years : float
        The horizon.
    step_years : float
        Time between two ages.
    ages_years : ndarray, shape (ages,)
        Ages of change, above 0; the last is infinite: no change is planned within the horizon.
    failures, planned : CubicSpline
        Expected numbers by the logarithm of the wear life in horizons, of shape (ages,) each.
    """

    horizon_years: float
    step_years: float
    ages_years: Array
    failures: CubicSpline
    planned: CubicSpline

    def expected(self, wear_life_years: Array) -> tuple[Array, Array]:
        """Failures and planned changes at wear lives of any shape, the ages last."""
        at = np.log(np.clip(wear_life_years / self.horizon_years, SHORTEST, LONGEST))
        return np.maximum(self.failures(at), 0.0), np.maximum(self.planned(at), 0.0)


@dataclass(frozen=True)
class CostsByAge:
    """What each card costs each camera over the horizon, changed at each age: the same whatever assurance is asked.

    Attributes
    ----------
    ages_years : ndarray, shape (ages,)
        Ages of change; the last is infinite: no change is planned within the horizon.
    horizon_years : float
        The horizon.
    failures, planned, cost : ndarray, shape (cameras, cards, ages)
        Expected failures and planned changes, and cost in currency units.
    """

    ages_years: Array
    horizon_years: float
    failures: Array
    planned: Array
    cost: Array

    def at(self, latest_years: Array, years: Array) -> npt.NDArray[np.intp]:
        """Number of the age of change of least cost between the lives asked and the latest ages."""
        latest, least = latest_years[..., None], years[:, None, None]
        due = np.minimum(self.ages_years, self.horizon_years)
        may = (due >= least - ROUNDING) & (due <= latest + ROUNDING)
        may[..., -1] |= least[..., 0] >= self.horizon_years  # no change is wanted within the horizon
        return np.asarray(np.where(may, self.cost, np.inf).argmin(axis=2))

    def best(self, latest_years: Array, years: Array) -> Array:
        """Age of change of least cost between the lives asked and the latest ages, failures, planned changes, cost."""
        at = self.at(latest_years, years)[..., None]
        found = (np.take_along_axis(values, at, axis=2)[..., 0] for values in (self.failures, self.planned, self.cost))
        return np.array([np.minimum(self.ages_years[at[..., 0]], latest_years), *found])

    def least(self, years: Array) -> Array:
        """Failures and cost of the age of least cost from the lives asked on, whatever chance there is left then."""
        _, failures, _, cost = self.best(np.full(self.cost.shape[:2], np.inf), years)
        return np.array([failures, cost])


def expected_changes(
    horizon_years: float, wear_life_years: Array, kinds: Sequence[CardKind]
) -> tuple[Array, Array, Array]:
    """Ages of change, and the failures and planned changes of each card at each over a horizon.

    Parameters
    ----------
    horizon_years : float
        Time over which changes are counted, years, above 0.
    wear_life_years : ndarray, shape (cards, nodes)
        Years until the stated endurance is written.
    kinds : sequence of CardKind
        The kind of each card.

    Returns
    -------
    tuple of ndarray
        Ages in years, shape (ages,); expected numbers, shape (cards, nodes, ages) each.
    """
    tables = [(change_table(horizon_years, kind), cards) for kind, cards in alike(kinds)]
    ages = tables[0][0].ages_years
    failures, planned = np.empty((2, *wear_life_years.shape, len(ages)))
    for table, cards in tables:
        failures[cards], planned[cards] = table.expected(wear_life_years[cards])
    return ages, failures, planned


@lru_cache(maxsize=64)
def change_table(horizon_years: float, kind: CardKind) -> ChangeTable:
    """Make the table of a kind of card for a horizon.

    Parameters
    ----------
    horizon_years : float
        Time over which changes are counted, years, above 0.
    kind : CardKind
        What is known of its life.

    Returns
    -------
    ChangeTable
        Expected numbers by the time until the stated endurance is written, over all that is not known of the kind.

    Notes
    -----
    Over the endurance the tables of known cards are averaged. Random failures, some 0.1 in a horizon, are taken at
    their mean, between two tables. Weak cards fail at once, against the years of the others: of N cards fitted with a
    share w of them weak, ``N (1 - w) / (1 - w')`` are fitted where it is w'.
    """
    table = _between(horizon_years, tuple(kind.shapes), kind.mean_random_per_year)
    endurance = kind.chance.sum(axis=(1, 2))
    knots = table.failures.x
    at = np.clip(knots[:, None] + np.log(kind.endurance), np.log(SHORTEST), np.log(LONGEST))
    failed, planned = (np.einsum("e,kea->ka", endurance, of(at)) for of in (table.failures, table.planned))
    failed = failed + _more_for_weak(kind) * (1 + failed + planned)
    splines = (CubicSpline(knots, values) for values in (failed, planned))
    return ChangeTable(horizon_years, table.step_years, table.ages_years, *splines)


def renewed_by_endurance(
    horizon_years: float, kind: CardKind, wear_life_years: Array, at: npt.NDArray[np.intp]
) -> Array:
    """Failures and planned changes together, of a card that has one of the endurances that its kind may have.

    Parameters
    ----------
    horizon_years : float
        Time over which changes are counted, years, above 0.
    kind : CardKind
        What is known of its life; random failures and weak cards are taken at their mean, as in :func:`change_table`.
    wear_life_years : ndarray, shape (nodes,)
        Years until the stated endurance is written.
    at : ndarray of int, shape (ages,)
        Numbers of the ages of change that are wanted.

    Returns
    -------
    ndarray, shape (states, nodes, ages)
        Expected numbers in each state of :attr:`edgestore.plan.card_life.CardKind.by_endurance`.
    """
    table = _between(horizon_years, tuple(kind.shapes), kind.mean_random_per_year)
    renewed = PPoly(table.failures.c[..., at] + table.planned.c[..., at], table.failures.x)
    lives = kind.endurance[:, None] * np.clip(wear_life_years / horizon_years, SHORTEST, LONGEST)  # as in the table
    count = np.maximum(renewed(np.log(np.clip(lives, SHORTEST, LONGEST))), 0.0)
    count += _more_for_weak(kind) * (1 + count)
    found, first = [], 0
    for state in kind.by_endurance:
        points = slice(first, first := first + len(state.kind.endurance))
        found.append(np.einsum("e,ena->na", state.kind.chance.sum(axis=(1, 2)), count[points]))
    return np.array(found)


def _more_for_weak(kind: CardKind) -> float:
    """Part of the cards fitted that are fitted besides, as more are weak than in the tables."""
    return (1 - WEAK_FRACTION) / (1 - min(kind.mean_weak_fraction, MOST_WEAK)) - 1


@lru_cache(maxsize=16)
def _between(horizon_years: float, shapes: tuple[float, ...], random_per_year: float) -> ChangeTable:
    """Table for random failures between two for which one is made, in a straight line."""
    tables = np.asarray(RANDOM_PER_YEAR)
    nearest = float(tables[np.abs(tables - random_per_year).argmin()])
    if abs(nearest - random_per_year) <= SAME_RANDOM * random_per_year or random_per_year > tables[-1]:
        return _known(horizon_years, shapes, nearest)
    above = int(np.searchsorted(tables, random_per_year))
    low, high = (_known(horizon_years, shapes, float(tables[number])) for number in (above - 1, above))
    part = (random_per_year - tables[above - 1]) / (tables[above] - tables[above - 1])
    knots = low.failures.x
    splines = (
        CubicSpline(knots, (1 - part) * one(knots) + part * other(knots))
        for one, other in ((low.failures, high.failures), (low.planned, high.planned))
    )
    return ChangeTable(horizon_years, low.step_years, low.ages_years, *splines)


@lru_cache(maxsize=16)
def _known(horizon_years: float, shapes: tuple[float, ...], random_per_year: float) -> ChangeTable:
    """Table for cards of which endurance and random failures are known, averaged over the spread of wear-out.

    Notes
    -----
    The renewal equation in even steps h, each failure put at the nearest step, and a change at age a where it is. Of U
    renewals, the first card counted, those that fail within the horizon H are the sum of ``U_i (1 - R(min(H - t_i,
    a)))``, and planned changes that of ``U_i R(a)`` over t_i + a < H: a change due at the very end is not made.
    """
    age_step = age_step_years(horizon_years)
    count = max(int(np.ceil(horizon_years / age_step - ROUNDING)) - 1, 0)
    step = age_step / STEPS_AN_AGE
    steps = int(np.ceil(horizon_years / step - ROUNDING))
    left = np.asarray(horizon_years - step * np.arange(steps), dtype=np.float64)  # time to the end at each step
    at_log = np.linspace(np.log(SHORTEST), np.log(LONGEST), LIVES)
    lives = horizon_years * np.exp(at_log)
    ages = np.asarray(age_step * np.arange(1, count + 1), dtype=np.float64)
    failed: Array = np.zeros((LIVES, count + 1))
    planned: Array = failed
    for shape in shapes:
        card = CardLife(lives[:, None], wear_shape=shape, random_per_year=random_per_year, early_fraction=WEAK_FRACTION)
        one = _expected(card, ages, step, steps, left)
        failed, planned = failed + one[0] / len(shapes), planned + one[1] / len(shapes)
    table = [CubicSpline(at_log, values) for values in (failed, planned)]
    return ChangeTable(horizon_years, age_step, np.append(ages, np.inf), *table)


def age_step_years(horizon_years: float) -> float:
    """Time between two ages of change that are tried, years: whole quarters, and at most ``MOST_AGES`` of them."""
    return QUARTER_YEARS * max(1, int(np.ceil(horizon_years / QUARTER_YEARS / MOST_AGES)))


def _expected(card: CardLife, ages: Array, step: float, steps: int, left: Array) -> tuple[Array, Array]:
    """Failures and planned changes of shape (lives, ages + 1), the last without a planned change."""
    number = np.append(STEPS_AN_AGE * np.arange(1, len(ages) + 1), 2 * steps)  # of the step at each age
    half = card.survival(step * (np.arange(2 * steps + 1) + 0.5))  # survival at the middle after each step
    whole = card.survival(step * np.arange(steps + 1))
    fails = np.empty((whole.shape[0], steps))
    fails[:, 0] = 1 - half[:, 0]
    fails[:, 1:] = half[:, : steps - 1] - half[:, 1:steps]
    renewals = np.zeros((steps, whole.shape[0], len(number)))
    renewals[0] = 1 / (1 - fails[:, :1])
    at_age = [whole[:, n] if n <= steps else np.zeros(len(whole)) for n in number]
    to_age = [half[:, n - 1] - whole[:, n] if n <= steps else np.zeros(len(whole)) for n in number]
    reaches, last_half = np.stack(at_age, axis=1), np.stack(to_age, axis=1)
    for i in range(1, steps):
        back = np.arange(1, i + 1)
        within = back[:, None] < number  # of a card that is changed at its age no failure comes later
        total = np.einsum("jl,jla->la", fails[:, back].T, renewals[i - back] * within[:, None, :])
        for at, n in enumerate(number):
            if n <= i:
                total[:, at] += (last_half[:, at] + reaches[:, at]) * renewals[i - n, :, at]
        renewals[i] = total / (1 - fails[:, :1])
    due = np.minimum(left[:, None], np.append(ages, np.inf))
    dead = 1 - card.survival(due.reshape(1, -1)).reshape(len(whole), *due.shape)
    failures = np.einsum("ila,lia->la", renewals, dead)
    is_made = left[:, None] > np.append(ages, np.inf) + ROUNDING
    planned = np.einsum("ila,ia->la", renewals, is_made) * reaches
    return failures, planned
