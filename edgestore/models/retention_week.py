"""Writes that change with the hour of the week: the busiest and the quietest stretch of any length."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers
from edgestore.units import H_PER_WEEK

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class WeekOfWrites:
    """How the writes of a camera are spread over the hours of a week that repeats.

    A card holds the last so many hours at every moment if it holds what is written in the busiest stretch of that
    length, and never more if what is written in the quietest stretch fills it.

    Parameters
    ----------
    by_hour : array_like, shape (168,)
        What is written in each hour of the week from Monday 0:00, in any unit, 0 or more and not all 0.

    Raises
    ------
    InputError
        When there are not 168 numbers, or one is missing or negative, or all are 0.

    Notes
    -----
    Stretches are taken to begin and end at whole hours; between two lengths in whole hours the busiest is interpolated
    a little too busy, and the quietest a little too quiet. Each whole week in a stretch holds the mean.

    References
    ----------
    Arithmetic. :func:`edgestore.models.retention.retention_through_week` gives the moments too.

    Examples
    --------
    A camera that writes twelve hours a day, every day: any whole day is the mean, and any twelve hours may be twice it.

    >>> week = WeekOfWrites(([1] * 12 + [0] * 12) * 7)
    >>> week.busiest_over_mean([12, 24, 36]).round(3).tolist()
    [2.0, 1.0, 1.333]
    >>> week.quietest_over_mean([12, 24, 36]).round(3).tolist()
    [0.0, 1.0, 0.667]
    """

    by_hour: Numbers

    def __post_init__(self) -> None:
        hours = np.asarray(checks.in_range("by_hour", self.by_hour, at_least=0))
        if hours.shape != (H_PER_WEEK,):
            raise checks.refuse("by_hour", f"shape {hours.shape}", "168 numbers, one for each hour of the week")
        if hours.sum() == 0:
            raise checks.refuse("by_hour", "a week without writes", "one hour or more above 0")

    def busiest_over_mean(self, hours: Numbers) -> Array:
        """Writes of the busiest stretch of so many hours (above 0), over those of as many mean hours; 1 or more."""
        return self._over_mean(hours, self._ends[0])

    def quietest_over_mean(self, hours: Numbers) -> Array:
        """Writes of the quietest stretch of so many hours (above 0), over those of as many mean hours; 1 or less."""
        return self._over_mean(hours, self._ends[1])

    @cached_property
    def _ends(self) -> tuple[Array, Array]:
        """Writes of the busiest and of the quietest stretch of 0 to 168 hours, in mean hours."""
        by_hour = np.asarray(self.by_hour, float)
        written = np.concatenate([[0.0], np.cumsum(np.tile(by_hour / by_hour.mean(), 2))])
        starts = np.arange(H_PER_WEEK)
        stretches = written[starts[:, None] + np.arange(H_PER_WEEK + 1)] - written[starts, None]
        return stretches.max(axis=0), stretches.min(axis=0)

    @staticmethod
    def _over_mean(hours: Numbers, end: Array) -> Array:
        length = np.asarray(checks.in_range("hours", hours, "h", above=0))
        weeks, rest = np.divmod(length, H_PER_WEEK)
        return np.asarray((weeks * H_PER_WEEK + np.interp(rest, np.arange(H_PER_WEEK + 1.0), end)) / length)
