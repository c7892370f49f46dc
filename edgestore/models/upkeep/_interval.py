"""The age, or the time between visits, at which a cost a year is least: sought for many cards at once."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Self, TypeAlias

import numpy as np
import numpy.typing as npt

from edgestore.checks import Values

Array: TypeAlias = npt.NDArray[np.float64]

_GOLDEN = (np.sqrt(5) - 1) / 2
_NARROWINGS = 45
_POINTS = 200

_WORTH_IT = 1e-9
"""Least saving, a share of the cost, for which an interval is better than never: below it both are equal as floats."""


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
    def of_curve(cls, cost: Callable[[Array], Array], low: Array, high: Array, never: Array) -> Self:
        """Find the least of a cost a year between two ends above 0, element by element, or never where that is less.

        All of the range is looked at, on a grid even in the logarithm, since a card with early failures may have two
        hollows; the lowest point's neighbourhood is then narrowed by the golden section. A minimum is flat, so the
        interval is good to half the digits of the cost.
        """
        grid = low * (high / low) ** np.linspace(0, 1, _POINTS).reshape(-1, *[1] * np.ndim(low))
        lowest = np.argmin(cost(grid), axis=0)
        left, right = (
            np.take_along_axis(grid, np.clip(lowest + way, 0, _POINTS - 1)[np.newaxis], axis=0)[0] for way in (-1, 1)
        )
        for _ in range(_NARROWINGS):
            reach = _GOLDEN * (right - left)
            inner_left, inner_right = right - reach, left + reach
            falls = cost(inner_left) > cost(inner_right)
            left, right = np.where(falls, inner_left, left), np.where(falls, right, inner_right)
        at = (left + right) / 2
        found = cost(at)
        worth = found < never * (1 - _WORTH_IT)
        return cls(np.where(worth, at, np.inf)[()], np.where(worth, found, never)[()], never[()])
