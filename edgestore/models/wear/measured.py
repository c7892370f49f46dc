"""Write amplification as a bench measures it: from erase counters, or by wearing a spare card until it slows down."""

import math
from dataclasses import dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import GB_PER_TB

MIN_READINGS = 10
"""Fewer rates say nothing of a step among their scatter (our choice)."""

SUSTAINED_READINGS = 3
"""A rate that falls for fewer readings is a stall (our choice)."""

LEAST_FALL_FRACTION = 0.2
"""A smaller fall of the rate may be heat, the reader or the machine (our choice)."""

STEP_F = 9.84
"""What the F statistic of the best step exceeds in 5 % of rows without one (Andrews 1993, one mean, ends of 5 %)."""

BRACKET_POINTS = 11.03
"""Half the length of a 95 % interval of the place of a step, times its square over the variance (Bai 1997)."""


@dataclass(frozen=True, kw_only=True)
class SlowDown:
    """Where the write rate of a card fell and stayed low.

    Attributes
    ----------
    low_tb, high_tb : float
        The fall lies between these, TB written by the host.
    best_tb : float
        Halfway between the two readings with the best step between them, TB written by the host.
    before_mbyte_s, after_mbyte_s : float
        Mean rate of the readings before and after the best step, Mbyte/s.
    """

    low_tb: float
    best_tb: float
    high_tb: float
    before_mbyte_s: float
    after_mbyte_s: float


def write_amplification_measured(
    erase_count_before: Numbers,
    erase_count_after: Numbers,
    *,
    counted_gb: Numbers,
    host_written_gb: Numbers,
    erase_count_step: Numbers = 1.0,
    host_step_gb: Numbers = 0.0,
) -> tuple[Values, Values]:
    r"""Range of the write amplification, from a counter of erases read before and after a known volume was written.

    Parameters
    ----------
    erase_count_before : float or array_like
        Mean erase count of the counted blocks before, a count in cycles a block, 0 or more.
    erase_count_after : float or array_like
        The same afterwards, a count in cycles a block, no less than before.
    counted_gb : float or array_like
        Flash that the counter covers, GB, above 0 and at most 4000: blocks times block size, spare blocks included.
    host_written_gb : float or array_like
        Volume that the host wrote between the two readings, GB, above 0.
    erase_count_step : float or array_like
        Step in which the counter is shown, a count in cycles, 0 or more. A life-time estimate in steps of 10 % of a
        life of 3000 cycles has a step of 300; 0 where both readings were taken as the counter changed.
    host_step_gb : float or array_like
        Uncertainty of the volume, GB, 0 or more and below the volume: where the counter was watched for its changes,
        the volume between two looks at it.

    Returns
    -------
    tuple of float or ndarray
        Lowest and highest flash writes over host writes, each a plain ratio, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range, or the counter runs backwards.

    Notes
    -----
    .. math:: A = \frac{\max(0, \text{after} - \text{before} - \text{step}) \times \text{counted}}
        {\text{written} + \text{host step}} \quad \text{to} \quad
        \frac{(\text{after} - \text{before} + \text{step}) \times \text{counted}}{\text{written} - \text{host step}}

    A counter that is cut off to its step is wrong by less than a step at each reading, so that the difference lies
    within one step either way. A counter that has moved by one step says no more than that. A range that ends below 1
    says that the counter does not cover what was written.

    References
    ----------
    The definition of write amplification. Steps of 10 % of the life-time estimate: JEDEC JESD84-B51 (from memory).

    Examples
    --------
    From 100 to 150 cycles of 64 GB, while 1600 GB were written: 49 x 64 / 1600 to 51 x 64 / 1600.

    >>> low, high = write_amplification_measured(100, 150, counted_gb=64, host_written_gb=1600)
    >>> print(f"{low:.2f} to {high:.2f}")
    1.96 to 2.04
    """
    before = checks.in_range("erase_count_before", erase_count_before, "cycles", at_least=0)
    after = checks.in_range("erase_count_after", erase_count_after, "cycles", at_least=0)
    counted = checks.in_range("counted_gb", counted_gb, "GB", above=0, at_most=checks.MAX_CAPACITY_GB)
    written = checks.in_range("host_written_gb", host_written_gb, "GB", above=0)
    step = checks.in_range("erase_count_step", erase_count_step, "cycles", at_least=0)
    unsure = checks.in_range("host_step_gb", host_step_gb, "GB", at_least=0)
    checks.broadcastable(
        erase_count_before=before,
        erase_count_after=after,
        counted_gb=counted,
        host_written_gb=written,
        erase_count_step=step,
        host_step_gb=unsure,
    )
    moved = after - before
    if np.any(np.asarray(moved) < 0):
        mend = "A counter of erases never falls: look which reading is which."
        raise checks.refuse("erase_count_after", "less than erase_count_before", "no less", mend)
    least_written = written - unsure
    if np.any(np.asarray(least_written) <= 0):
        mend = "Write more between the first reading and the last."
        raise checks.refuse("host_step_gb", "no less than host_written_gb", "less", mend)
    return np.maximum(moved - step, 0) * counted / (written + unsure), (moved + step) * counted / least_written


def write_amplification_from_wear(capacity_gb: Numbers, pe_cycles: Numbers, host_written_tb: Numbers) -> Values:
    r"""Write amplification of a card that was worn out by a known volume: inverse of `endurance_tbw_from_cycles`.

    Parameters
    ----------
    capacity_gb : float or array_like
        Capacity, GB, above 0.
    pe_cycles : float or array_like
        Program/erase cycles that each block bears, above 0.
    host_written_tb : float or array_like
        Volume that the host wrote until the card was worn, TB, above 0.

    Returns
    -------
    float or ndarray
        Flash writes over host writes, a plain ratio, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: A = \frac{\text{capacity} \times \text{cycles}}{1000 \times \text{volume}}

    with the capacity in GB, the volume in TB and wear spread evenly over the card. The cycles are seldom known within a
    factor of two, so give their lowest with the end of the bracket of :func:`slow_down_tb`, and their highest with its
    start: the two results are the range. A slow-down is a sign of wear, and may have another cause (common practice, no
    source).

    References
    ----------
    The definition of terabytes written: JEDEC JESD218.

    Examples
    --------
    64 GB, 1000 to 3000 cycles, slow after 38 to 40 TB: 64 TB / 40 TB to 192 TB / 38 TB.

    >>> print(write_amplification_from_wear(64, [1000, 3000], [40, 38]).round(2))
    [1.6  5.05]
    """
    capacity = checks.capacity_gb(capacity_gb)
    cycles = checks.in_range("pe_cycles", pe_cycles, "cycles", above=0)
    written = checks.in_range("host_written_tb", host_written_tb, "TB", above=0)
    checks.broadcastable(capacity_gb=capacity, pe_cycles=cycles, host_written_tb=written)
    return capacity * cycles / GB_PER_TB / written


def slow_down_tb(host_written_tb: Numbers, write_mbyte_s: Numbers) -> SlowDown:
    r"""Find the volume after which the write rate of a card fell and stayed low.

    Parameters
    ----------
    host_written_tb : array_like
        Volume that the host had written at each reading, TB, 0 or more and rising, in one row of 10 or more.
    write_mbyte_s : array_like
        Mean write rate since the previous reading, Mbyte/s, 0 or more, in one row of the same length.

    Returns
    -------
    SlowDown
        The volume as a bracket, TB, and the rates before and after, Mbyte/s.

    Raises
    ------
    InputError
        When a number is missing or out of range, or when the rate does not fall, or by less than a fifth, or by no
        more than its scatter explains.

    Notes
    -----
    .. math:: S = \min_j \left( \sum_{i \le j} (x_i - \mu_1)^2
        + \sum_{i > j} (x_i - \mu_2)^2 \right)

    .. math:: \frac{S_0 - S}{S / (n - 2)} > 9.84, \quad
        \text{reach} = \left\lceil \frac{11.03\, S}{(n - 2)\, d^2} \right\rceil

    over the n rates x, with their means mu up to reading j and after it. Least squares: of all splits of the row, the
    one with the least sum of squares about the two means. It counts as a step with three or more readings on each side,
    where the mean after it is at most 0.8 of that before, and where the ratio above exceeds 9.84, S0 being the sum
    about one mean. The bracket reaches so many readings to either side, with d the difference of the means, and ends
    with the row: it is rough in short rows, and without scatter it is the two readings on either side of the step. A
    rate that sinks slowly is fitted by a step too: look at the readings.

    References
    ----------
    Andrews, Econometrica 61(4), 1993, table I; Bai, Review of Economics and Statistics 79(4), 1997 (both critical
    values from memory).

    Examples
    --------
    A reading each TB: 30 Mbyte/s up to 6 TB, 15 from 7 TB on.

    >>> found = slow_down_tb([1, 2, 3, 4, 5, 6, 7, 8, 9, 10], [30, 30, 30, 30, 30, 30, 15, 15, 15, 15])
    >>> found.low_tb, found.high_tb
    (6.0, 7.0)
    """
    written = checks.in_range("host_written_tb", host_written_tb, "TB", at_least=0)
    rates = checks.in_range("write_mbyte_s", write_mbyte_s, "Mbyte/s", at_least=0)
    checks.broadcastable(host_written_tb=written, write_mbyte_s=rates)
    tb, rate = np.asarray(written), np.asarray(rates)
    for name, row in (("host_written_tb", tb), ("write_mbyte_s", rate)):
        if row.ndim != 1 or row.size < MIN_READINGS:
            raise checks.refuse(name, f"shape {row.shape}", f"one row of {MIN_READINGS} or more readings")
    if np.any(np.diff(tb) <= 0):
        raise checks.refuse("host_written_tb", "a reading that is not above the previous one", "rising volumes")
    splits = np.arange(1, rate.size)
    sums = np.array([_about_mean(rate[:split]) + _about_mean(rate[split:]) for split in splits])
    whole = _about_mean(rate)
    best = int(splits[sums.argmin()])
    rest = float(sums.min())
    before, after = float(rate[:best].mean()), float(rate[best:].mean())
    is_sustained = SUSTAINED_READINGS <= best <= rate.size - SUSTAINED_READINGS
    falls = after <= (1 - LEAST_FALL_FRACTION) * before
    if not (is_sustained and falls) or (whole - rest) * (rate.size - 2) <= STEP_F * rest:
        mend = "Write on until the rate has fallen and stays low for some readings."
        raise checks.refuse("write_mbyte_s", "no step", "a rate that falls by a fifth or more and stays low", mend)
    # A billionth of a reading is rounding.
    reach = math.ceil(BRACKET_POINTS * rest / (rate.size - 2) / (before - after) ** 2 - 1e-9)
    return SlowDown(
        low_tb=float(tb[max(best - reach, 1) - 1]),
        best_tb=float(tb[best - 1 : best + 1].mean()),
        high_tb=float(tb[min(best + reach, rate.size - 1)]),
        before_mbyte_s=before,
        after_mbyte_s=after,
    )


def _about_mean(values: Values) -> float:
    """Sum of squares about the mean."""
    return float(np.sum((values - values.mean()) ** 2))
