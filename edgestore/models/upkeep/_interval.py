"""The age, or the time between visits, at which a cost a year is least: sought for many cards at once."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Self, TypeAlias

import numpy as np
import numpy.typing as npt

from edgestore.checks import Values
from edgestore.models.life.law import CardLife

Array: TypeAlias = npt.NDArray[np.float64]

_POINTS = 200
_FINER_POINTS = (32,) * 6

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)

_WORTH_IT = 1e-9
"""Least saving, a share of the cost, for which an interval is better than never: below it both are equal as floats."""


def even_ages(low: Array, high: Array, points: int) -> Array:
    """Ages from one end above 0 to the other, even in the logarithm, along a new first axis."""
    return low * (high / low) ** np.linspace(0, 1, points).reshape(-1, *[1] * np.ndim(low))


@dataclass(frozen=True)
class BestInterval:
    """The age, or the time between visits, that costs least in the long run; each of the broadcast shape.

    Attributes
    ----------
    interval_years : float or ndarray
        That age or time, years; infinite where never is cheapest.
    cost_per_year : float or ndarray
        Its cost, currency a year.
    never_cost_per_year : float or ndarray
        Cost of never doing it, currency a year.
    """

    interval_years: Values
    cost_per_year: Values
    never_cost_per_year: Values

    @classmethod
    def of_curve(
        cls,
        cost: Callable[[Array], Array],
        low: Array,
        high: Array,
        never: Array,
        nearly: Callable[[Array], Array] | None = None,
    ) -> Self:
        """Find the least of a cost a year between two ends above 0, element by element, or never where that is less.

        The place is sought on ``nearly``, if given: about the same cost, found sooner.
        All of the range is looked at, on a grid even in the logarithm, since a card with early failures may have two
        hollows; the lowest point's neighbourhood is then looked at on finer and finer grids. A minimum is flat, so the
        interval is good to half the digits of the cost.
        """
        left, right = low, high
        for points in (_POINTS, *_FINER_POINTS):
            grid = even_ages(left, right, points)
            lowest = np.argmin((nearly or cost)(grid), axis=0)[np.newaxis]
            left, at, right = (
                np.take_along_axis(grid, np.clip(lowest + way, 0, points - 1), axis=0)[0] for way in (-1, 0, 1)
            )
        found = cost(at)
        worth = found < never * (1 - _WORTH_IT)
        return cls(np.where(worth, at, np.inf)[()], np.where(worth, found, never)[()], never[()])


class LivedCurve:
    """Mean time that a new card works before it fails or reaches an age, summed up once to be read at many ages.

    Gauss and Legendre's rule with eight points between one age of a fine grid and the next.
    """

    def __init__(self, card: CardLife, low: Array, high: Array) -> None:
        self._card = card
        self._ages = even_ages(low, high, _POINTS)
        first = np.asarray(card.mean_years_until(low))[np.newaxis]
        self._lived = np.concatenate([first, first + np.cumsum(self._between(self._ages[:-1], self._ages[1:]), axis=0)])

    def at(self, age: Array) -> Array:
        """Mean time, years, at ages from low to high: one for each card, or many of these along a first axis."""
        many = age.reshape(-1, *self._ages.shape[1:])
        low, high = self._ages[0], self._ages[-1]
        place = (_POINTS - 1) * np.log(many / low) / np.log(high / low)
        row = np.clip(place.astype(int), 0, _POINTS - 2)
        since, lived = (np.take_along_axis(table, row, axis=0) for table in (self._ages, self._lived))
        return (lived + self._between(since, many)).reshape(np.shape(age))

    def _between(self, since: Array, until: Array) -> Array:
        half = (until - since) / 2
        rule = zip(_NODES, _WEIGHTS, strict=True)
        return np.asarray(half * sum(weight * self._card.survival(since + half * (1 + node)) for node, weight in rule))
