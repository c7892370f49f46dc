"""How long the card holds: hours of footage, the inverses, and how far back it goes at each hour of a week."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import GB_PER_H_AT_1_MBIT_S, H_PER_WEEK

SAME_VOLUME = 1e-10
"""Volumes nearer than this share of a week's writing are one volume: round rates and capacities often fill the
card to the very hour at which a pause begins, and rounding must not put the oldest footage before that pause."""


def retention_h(
    capacity_gb: Numbers,
    bitrate_mbit_s: Numbers,
    recorded_fraction: Numbers = 1.0,
    usable_fraction: Numbers = 1.0,
) -> Values:
    r"""Time until a card is full and begins to overwrite its oldest footage.

    Parameters
    ----------
    capacity_gb : float or array_like
        Capacity printed on the card, GB, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate while recording, Mbit/s, above 0.
    recorded_fraction : float or array_like
        Fraction of time recorded, above 0 and at most 1.
    usable_fraction : float or array_like
        Fraction of the capacity that formatting and firmware leave, above 0 and at most 1.

    Returns
    -------
    float or ndarray
        Hours by the clock, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{hours} =
        \frac{\text{capacity} \times \text{usable}}{\text{rate} \times 0.45\,\mathrm{GB/h} \times \text{recorded}}

    References
    ----------
    The storage sum of UFC 4-021-02NF (2006), section 4-8.2.

    Examples
    --------
    >>> print(f"{retention_h(32, 4):.3f}")
    17.778
    """
    usable = _usable_gb(capacity_gb, usable_fraction)
    fill = _fill_gb_h(bitrate_mbit_s, recorded_fraction)
    checks.broadcastable(
        capacity_gb=capacity_gb,
        bitrate_mbit_s=bitrate_mbit_s,
        recorded_fraction=recorded_fraction,
        usable_fraction=usable_fraction,
    )
    return usable / fill


def capacity_gb_for_retention(
    retention_h: Numbers,
    bitrate_mbit_s: Numbers,
    *,
    recorded_fraction: Numbers = 1.0,
    usable_fraction: Numbers = 1.0,
) -> Values:
    r"""Capacity that holds a wanted time: an inverse of :func:`retention_h`.

    Parameters
    ----------
    retention_h : float or array_like
        Wanted time, h, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate while recording, Mbit/s, above 0.
    recorded_fraction : float or array_like
        Fraction of time recorded, above 0 and at most 1.
    usable_fraction : float or array_like
        Fraction of the capacity that formatting and firmware leave, above 0 and at most 1.

    Returns
    -------
    float or ndarray
        Capacity printed on the card, GB, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{capacity} =
        \frac{\text{hours} \times \text{rate} \times 0.45\,\mathrm{GB/h} \times \text{recorded}}{\text{usable}}

    References
    ----------
    The storage sum of UFC 4-021-02NF (2006), section 4-8.2.

    Examples
    --------
    >>> print(f"{capacity_gb_for_retention(72, 4):.1f}")
    129.6
    """
    hours = checks.in_range("retention_h", retention_h, "h", above=0)
    fill = _fill_gb_h(bitrate_mbit_s, recorded_fraction)
    usable = checks.fraction("usable_fraction", usable_fraction, above=0)
    checks.broadcastable(
        retention_h=retention_h,
        bitrate_mbit_s=bitrate_mbit_s,
        recorded_fraction=recorded_fraction,
        usable_fraction=usable_fraction,
    )
    return hours * fill / usable


def bitrate_mbit_s_for_retention(
    retention_h: Numbers,
    capacity_gb: Numbers,
    *,
    recorded_fraction: Numbers = 1.0,
    usable_fraction: Numbers = 1.0,
) -> Values:
    r"""Largest mean rate at which a card holds a wanted time: an inverse of :func:`retention_h`.

    Parameters
    ----------
    retention_h : float or array_like
        Wanted time, h, above 0.
    capacity_gb : float or array_like
        Capacity printed on the card, GB, above 0.
    recorded_fraction : float or array_like
        Fraction of time recorded, above 0 and at most 1.
    usable_fraction : float or array_like
        Fraction of the capacity that formatting and firmware leave, above 0 and at most 1.

    Returns
    -------
    float or ndarray
        Mean rate while recording, Mbit/s, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{rate} = \frac{\text{capacity} \times \text{usable}}
        {\text{hours} \times 0.45\,\mathrm{GB/h} \times \text{recorded}}

    At 1 Mbit/s an hour takes 0.45 GB.

    References
    ----------
    The storage sum of UFC 4-021-02NF (2006), section 4-8.2.

    Examples
    --------
    >>> print(f"{bitrate_mbit_s_for_retention(40, 32):.3f}")
    1.778
    """
    hours = checks.in_range("retention_h", retention_h, "h", above=0)
    usable = _usable_gb(capacity_gb, usable_fraction)
    recorded = checks.fraction("recorded_fraction", recorded_fraction, above=0)
    checks.broadcastable(
        retention_h=retention_h,
        capacity_gb=capacity_gb,
        recorded_fraction=recorded_fraction,
        usable_fraction=usable_fraction,
    )
    return usable / (hours * recorded * GB_PER_H_AT_1_MBIT_S)


@dataclass(frozen=True)
class WeekOfRetention:
    """How far back the footage goes through a week that repeats.

    Attributes
    ----------
    oldest_h : ndarray, shape (..., 168)
        Age of the oldest footage at the start of each hour of the week, h.
    worst_h : ndarray, shape (...)
        Least age at any moment of the week, h.
    worst_hour : ndarray, shape (...)
        Moment of that least age, hours since the start of the week, 0 to below 168.
    """

    oldest_h: Values
    worst_h: Values
    worst_hour: Values


def retention_through_week(
    capacity_gb: Numbers, bitrate_mbit_s: Numbers, usable_fraction: Numbers = 1.0
) -> WeekOfRetention:
    r"""How far back the oldest footage goes at each hour of a week in which the rate varies.

    Parameters
    ----------
    capacity_gb : float or array_like
        Capacity printed on the card, GB, above 0; shape (...).
    bitrate_mbit_s : array_like
        Mean rate in each hour of the week, Mbit/s, 0 or more and not all 0; shape (..., 168). Pauses in recording
        are in it: an hour that records half the time counts half its rate.
    usable_fraction : float or array_like
        Fraction of the capacity that formatting and firmware leave, above 0 and at most 1; shape (...).

    Returns
    -------
    WeekOfRetention
        Ages in hours by the clock.

    Raises
    ------
    InputError
        When a number is missing or out of range, or there are not 168 rates.

    Notes
    -----
    .. math:: \text{age}(t) = t - \max\{u \le t : W(u) \le W(t) - \text{capacity} \times \text{usable}\}

    with W(t) what the camera has written up to the hour t, GB, week after week: 0.45 GB an hour at 1 Mbit/s. The
    footage reaches back to the moment since which the camera has written one card. Where nothing was written
    then, the oldest footage is the one after that pause. The age bends only where an hour begins at its young or
    its old end, so the least age of the whole week is found among those moments.

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> week = retention_through_week(32, [4] * 168)
    >>> print(f"{week.worst_h:.3f}")
    17.778
    """
    usable = np.asarray(_usable_gb(capacity_gb, usable_fraction))
    rates = np.asarray(
        checks.in_range("bitrate_mbit_s", bitrate_mbit_s, "Mbit/s", at_least=0, at_most=checks.MAX_BITRATE_MBIT_S)
    )
    if rates.ndim == 0 or rates.shape[-1] != H_PER_WEEK:
        raise checks.refuse("bitrate_mbit_s", f"shape {rates.shape}", "168 rates, one an hour of the week, last axis")
    if np.any(rates.sum(axis=-1) <= 0):
        raise checks.refuse("bitrate_mbit_s", "a week without recording", "one hour or more above 0 Mbit/s")
    checks.broadcastable(capacity_gb=capacity_gb, usable_fraction=usable_fraction, bitrate_mbit_s=rates[..., 0])
    shape = np.broadcast_shapes(usable.shape, rates.shape[:-1])
    cards = np.broadcast_to(usable, shape).ravel()
    weeks = np.broadcast_to(rates, (*shape, H_PER_WEEK)).reshape(-1, H_PER_WEEK)
    results = [_week_of_one(card, week) for card, week in zip(cards, weeks, strict=True)]
    oldest, worst, moment = (np.array(column) for column in zip(*results, strict=True))
    return WeekOfRetention(
        oldest_h=oldest.reshape(*shape, H_PER_WEEK),
        worst_h=worst.reshape(shape)[()],
        worst_hour=moment.reshape(shape)[()],
    )


def _week_of_one(
    usable_gb: float, bitrate_mbit_s: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], float, float]:
    """Ages at the 168 hours, the least age and its moment, for one card and one week."""
    filled = np.concatenate([[0.0], np.cumsum(bitrate_mbit_s * GB_PER_H_AT_1_MBIT_S)])
    whole_weeks = max(np.ceil(usable_gb / filled[-1] - SAME_VOLUME) - 1, 0)
    rest_gb = usable_gb - whole_weeks * filled[-1]
    hours = np.arange(-H_PER_WEEK, H_PER_WEEK + 1.0)
    written = np.concatenate([filled[:-1] - filled[-1], filled])

    def age_h(moment_h: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        level = np.interp(moment_h, hours, written) - rest_gb
        after = np.searchsorted(written, level + SAME_VOLUME * filled[-1], side="right")
        before = np.maximum(after - 1, 0)
        after = np.minimum(after, len(hours) - 1)
        step = np.maximum(written[after] - written[before], np.finfo(float).tiny)
        reached = hours[before] + np.clip((level - written[before]) / step, 0, 1)
        age: npt.NDArray[np.float64] = whole_weeks * H_PER_WEEK + moment_h - np.minimum(reached, moment_h)
        return age

    starts = np.arange(float(H_PER_WEEK))
    old_ends = np.interp(written[: 2 * H_PER_WEEK] + rest_gb, written, hours)
    moments = np.concatenate([starts, old_ends[(old_ends >= 0) & (old_ends < H_PER_WEEK)]])
    ages = age_h(moments)
    worst = int(np.argmin(ages))
    return ages[:H_PER_WEEK], float(ages[worst]), float(moments[worst])


def _usable_gb(capacity_gb: Numbers, usable_fraction: Numbers) -> Values:
    capacity = checks.capacity_gb(capacity_gb)
    usable = checks.fraction("usable_fraction", usable_fraction, above=0)
    checks.broadcastable(capacity_gb=capacity, usable_fraction=usable)
    return capacity * usable


def _fill_gb_h(bitrate_mbit_s: Numbers, recorded_fraction: Numbers) -> Values:
    bitrate = checks.bitrate_mbit_s(bitrate_mbit_s)
    recorded = checks.fraction("recorded_fraction", recorded_fraction, above=0)
    checks.broadcastable(bitrate_mbit_s=bitrate, recorded_fraction=recorded)
    return bitrate * recorded * GB_PER_H_AT_1_MBIT_S


@dataclass(frozen=True)
class WeekOfWrites:
    r"""How the writes of a camera are spread over the hours of a week that repeats.

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
    The busiest stretch of h hours, over h mean hours:

    .. math:: w(h) = \frac{1}{h} \left( 168 \left\lfloor \frac{h}{168} \right\rfloor + M(h \bmod 168) \right), \quad
        M(j) = \max_s \sum_{i=s}^{s+j-1} \frac{x_i}{\overline{x}}

    with x the writes of each hour, which repeat, and their mean; M is a straight line between whole hours j. The
    quietest has the least sum in place of the largest. Stretches are taken to begin and end at whole hours; between two
    lengths in whole hours the busiest is interpolated a little too busy, and the quietest a little too quiet. Each
    whole week in a stretch holds the mean.

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

    def busiest_over_mean(self, hours: Numbers) -> npt.NDArray[np.float64]:
        """Writes of the busiest stretch of so many hours (above 0), over those of as many mean hours; 1 or more."""
        return self._over_mean(hours, self._ends[0])

    def quietest_over_mean(self, hours: Numbers) -> npt.NDArray[np.float64]:
        """Writes of the quietest stretch of so many hours (above 0), over those of as many mean hours; 1 or less."""
        return self._over_mean(hours, self._ends[1])

    @cached_property
    def _ends(self) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
        """Writes of the busiest and of the quietest stretch of 0 to 168 hours, in mean hours."""
        by_hour = np.asarray(self.by_hour, float)
        written = np.concatenate([[0.0], np.cumsum(np.tile(by_hour / by_hour.mean(), 2))])
        starts = np.arange(H_PER_WEEK)
        stretches = written[starts[:, None] + np.arange(H_PER_WEEK + 1)] - written[starts, None]
        return stretches.max(axis=0), stretches.min(axis=0)

    @staticmethod
    def _over_mean(hours: Numbers, end: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        length = np.asarray(checks.in_range("hours", hours, "h", above=0))
        weeks, rest = np.divmod(length, H_PER_WEEK)
        return np.asarray((weeks * H_PER_WEEK + np.interp(rest, np.arange(H_PER_WEEK + 1.0), end)) / length)
