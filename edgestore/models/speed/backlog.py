"""What waits in a camera's buffer while the card is slow or busy: a measured trace of rates run against one card.

Within a step of the trace the rate is taken as even, so a lump that is shorter than a step, as a key frame, is told
apart as ``burst_mb`` and counts in full. One stall at a time: the next one comes when the buffer is empty again.
"""

import math
from typing import Literal

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import MBYTE_PER_MBIT

Floats = npt.NDArray[np.float64]

SAME = 1e-9
"""Rates and volumes nearer than this share are the same: rounding must not decide whether a buffer is large enough."""


def largest_backlog_mb(
    trace_mbit_s: npt.ArrayLike,
    write_mbyte_s: Numbers,
    *,
    stall_s: Numbers = 0.0,
    burst_mb: Numbers = 0.0,
    step_s: float = 1.0,
) -> Values:
    r"""Most that ever waits for the card when it stalls once, at the worst moment of the trace.

    Parameters
    ----------
    trace_mbit_s : array_like, shape (n,)
        Rate in each step, Mbit/s, 0 or more and not all 0.
    write_mbyte_s : float or array_like
        Rate at which the card writes when it is not busy, Mbyte/s, 0 or more.
    stall_s : float or array_like
        Time in which it takes nothing, s, 0 or more and no longer than the trace; with 0 the result is the bucket
        that the trace needs at that rate.
    burst_mb : float or array_like
        What comes in one lump within a step, MB, 0 or more: the largest key frame.
    step_s : float
        Length of a step, s, above 0.

    Returns
    -------
    float or ndarray
        Backlog in MB, of the broadcast shape of rate, stall and burst.

    Raises
    ------
    InputError
        When a number is missing or out of range, the trace is no single row or holds nothing, or the stall outlasts it.

    Notes
    -----
    .. math:: \text{backlog} = \text{burst} + \max_{u \le t} \left( A(t) - A(u) - c\, (t - u - \text{stall})^+ \right)

    with the arrivals A up to a time, MB, and the rate c of the card, Mbyte/s: for a steady rate r up to c, ``burst + r
    stall``. Exact for rates that are even within a step. Where the mean of the trace is above the card's rate, the
    backlog grows with the length of the trace.

    References
    ----------
    Le Boudec and Thiran, Network Calculus (2001), theorem 1.4.1, with the trace's own arrival curve and a
    rate-latency server (from memory).

    Examples
    --------
    Quiet, then three seconds of 16 Mbit/s, above the card's 1 Mbyte/s: 1 MB is left of each of them.

    >>> print(f"{largest_backlog_mb([4, 4, 16, 16, 16, 4, 4], 1):.3f}")
    3.000
    """
    trace = _trace(trace_mbit_s, step_s)
    write, stall, burst = _card(trace, write_mbyte_s, stall_s, burst_mb)
    return np.vectorize(lambda c, s: _largest_mb(*trace, c, s), otypes=[float])(write, stall)[()] + burst


def catch_up_s(
    trace_mbit_s: npt.ArrayLike,
    write_mbyte_s: Numbers,
    *,
    stall_s: Numbers = 0.0,
    burst_mb: Numbers = 0.0,
    step_s: float = 1.0,
) -> Values:
    r"""Longest time from the end of a stall until the buffer is empty, wherever in the trace the stall falls.

    Parameters
    ----------
    trace_mbit_s : array_like, shape (n,)
        Rate in each step, Mbit/s, 0 or more and not all 0.
    write_mbyte_s : float or array_like
        Rate at which the card writes when it is not busy, Mbyte/s, 0 or more.
    stall_s : float or array_like
        Time in which it takes nothing, s, 0 or more and no longer than the trace.
    burst_mb : float or array_like
        What comes in one lump within a step, MB, 0 or more: the largest key frame.
    step_s : float
        Length of a step, s, above 0.

    Returns
    -------
    float or ndarray
        Time in s, of the broadcast shape of rate, stall and burst; infinite when the mean of the trace reaches the
        card's rate.

    Raises
    ------
    InputError
        When a number is missing or out of range, the trace is no single row or holds nothing, or the stall outlasts it.

    Notes
    -----
    .. math:: \text{time} = \max_u \left( \inf\left\{ t : F(t) < \min_{v \le u} F(v)
        - c\, \text{stall} - \text{burst} \right\} - u \right) - \text{stall}, \quad F(t) = A(t) - c\, t

    with the arrivals A up to a time, MB, the rate c of the card, Mbyte/s, and the beginning u of the stall. The buffer
    that the stall has filled is empty when F first falls below that: empty for an
    instant, before the next busy spell, is not enough. After its end the trace goes on at its mean. For a steady rate
    r: ``(burst + r stall) / (c - r)``.

    References
    ----------
    Arithmetic of a leaky bucket; derived here, checked by running stalls of all starts step by step.

    Examples
    --------
    0.75 s at 1 Mbyte/s are 0.75 MB, which drain at the 2 - 1 = 1 Mbyte/s that the card has to spare:

    >>> print(f"{catch_up_s([8] * 60, 2, stall_s=0.75):.3f}")
    0.750
    """
    trace = _trace(trace_mbit_s, step_s)
    write, stall, burst = _card(trace, write_mbyte_s, stall_s, burst_mb)
    return np.vectorize(lambda c, s, b: _catch_up_s(*trace, c, s, b), otypes=[float])(write, stall, burst)[()]


def write_mbyte_s_for_buffer(
    trace_mbit_s: npt.ArrayLike,
    buffer_mb: Numbers,
    *,
    stall_s: Numbers = 0.0,
    burst_mb: Numbers = 0.0,
    step_s: float = 1.0,
) -> Values:
    r"""Least write rate with which a buffer holds all of a trace: an inverse of :func:`largest_backlog_mb`.

    Parameters
    ----------
    trace_mbit_s : array_like, shape (n,)
        Rate in each step, Mbit/s, 0 or more and not all 0.
    buffer_mb : float or array_like
        What the camera can keep, MB, 0 or more.
    stall_s : float or array_like
        Time in which the card takes nothing, s, 0 or more and no longer than the trace.
    burst_mb : float or array_like
        What comes in one lump within a step, MB, 0 or more: the largest key frame.
    step_s : float
        Length of a step, s, above 0.

    Returns
    -------
    float or ndarray
        Rate in Mbyte/s, of the broadcast shape; infinite when the buffer is too small for what comes during the
        stall, which no card fixes.

    Raises
    ------
    InputError
        When a number is missing or out of range, the trace is no single row or holds nothing, or the stall outlasts it.

    Notes
    -----
    .. math:: \text{rate} = \min\{c \ge \text{mean} : B(c) \le \text{buffer}\}

    with B the :func:`largest_backlog_mb` of a card that writes at the rate c, burst included, and the mean and the peak
    of the trace in Mbyte/s; infinite where B is above the buffer even at the peak. It is never below the mean, however
    large the buffer; a card that writes no faster than the mean never makes up for a stall.

    References
    ----------
    As for :func:`largest_backlog_mb`.

    Examples
    --------
    Three seconds of 16 Mbit/s bring 6 MB; 2 MB may wait, so the card must take the other 4 MB in 3 s:

    >>> print(f"{write_mbyte_s_for_buffer([4, 4, 16, 16, 16, 4, 4], 2):.3f}")
    1.333
    """
    trace = _trace(trace_mbit_s, step_s)
    buffer = checks.in_range("buffer_mb", buffer_mb, "MB", at_least=0)
    stall, burst = _stall(trace, stall_s), checks.in_range("burst_mb", burst_mb, "MB", at_least=0)
    checks.broadcastable(buffer_mb=buffer, stall_s=stall, burst_mb=burst)
    return np.vectorize(lambda b, s: _write_mbyte_s(*trace, b, s), otypes=[float])(buffer - burst, stall)[()]


def _trace(trace_mbit_s: npt.ArrayLike, step_s: float) -> tuple[Floats, Floats]:
    """Check a trace; give the edges of its steps, s, and what has arrived by then, MB."""
    mend = "A rate in kbit/s is divided by 1000, a rate in Mbyte/s multiplied by 8."
    rates = checks.in_range(
        "trace_mbit_s", trace_mbit_s, "Mbit/s", at_least=0, at_most=checks.MAX_BITRATE_MBIT_S, mend=mend
    )
    if np.ndim(rates) != 1:
        raise checks.refuse("trace_mbit_s", f"shape {np.shape(rates)}", "one row of rates, a rate for each step")
    if not np.any(rates):
        raise checks.refuse("trace_mbit_s", "rates of 0 alone", "a trace in which something is written")
    step = checks.in_range("step_s", step_s, "s", above=0)
    if np.ndim(step):
        raise checks.refuse("step_s", f"shape {np.shape(step)}", "one number")
    arrived_mb = np.cumsum(rates) * step * MBYTE_PER_MBIT
    return np.arange(len(rates) + 1) * step, np.concatenate([[0.0], arrived_mb])


def _stall(trace: tuple[Floats, Floats], stall_s: Numbers) -> Values:
    mend = "The trace must be as long as the stall, or longer."
    return checks.in_range("stall_s", stall_s, "s", at_least=0, at_most=trace[0][-1], mend=mend)


def _card(
    trace: tuple[Floats, Floats], write_mbyte_s: Numbers, stall_s: Numbers, burst_mb: Numbers
) -> tuple[Values, Values, Values]:
    write = checks.in_range("write_mbyte_s", write_mbyte_s, "Mbyte/s", at_least=0)
    stall = _stall(trace, stall_s)
    burst = checks.in_range("burst_mb", burst_mb, "MB", at_least=0)
    checks.broadcastable(write_mbyte_s=write, stall_s=stall, burst_mb=burst)
    return write, stall, burst


def _largest_mb(edges_s: Floats, arrived_mb: Floats, write_mbyte_s: float, stall_s: float) -> float:
    # A busy spell begins or ends at an edge, or is all stall and has one end there: these starts are enough. A stall
    # that reaches over an end of the trace brings no more than one that begins or ends there.
    starts = np.unique(np.concatenate([edges_s, edges_s - stall_s]))
    written = write_mbyte_s * starts
    before = np.interp(starts, edges_s, arrived_mb) - written
    after = np.interp(starts + stall_s, edges_s, arrived_mb) - written
    return float(np.max(after - np.minimum.accumulate(before)))


def _catch_up_s(edges_s: Floats, arrived_mb: Floats, write_mbyte_s: float, stall_s: float, burst_mb: float) -> float:
    spare = write_mbyte_s - arrived_mb[-1] / edges_s[-1]
    if spare <= SAME * write_mbyte_s:
        return math.inf
    step, owed = edges_s[1], write_mbyte_s * stall_s + burst_mb
    gap = arrived_mb - write_mbyte_s * edges_s
    levels = np.minimum.accumulate(gap)
    # An edge before the trace, so that level 0 is reached at its start, and one after it, where the gap falls evenly.
    times = np.concatenate([[-step], edges_s, [edges_s[-1] + step]])
    gap = np.concatenate([[write_mbyte_s * step], gap, [gap[-1] - spare * step]])
    lowest = np.minimum.accumulate(gap)

    def reached(level: Floats, side: Literal["left", "right"]) -> Floats:
        """When the gap first comes down to a level ("left"), or first falls below it ("right")."""
        j = np.minimum(np.searchsorted(-lowest, -level, side), len(gap) - 1)
        share = (gap[j - 1] - level) / (gap[j - 1] - gap[j])
        when: Floats = times[j - 1] + share * (times[j] - times[j - 1])
        return when

    # The time is longest where the stall begins at such a level, or the buffer is empty at one.
    begins, empty = np.concatenate([levels, levels + owed]), np.concatenate([levels - owed, levels])
    within = begins <= 0
    return float(np.max(reached(empty[within], "right") - reached(begins[within], "left")) - stall_s)


def _write_mbyte_s(edges_s: Floats, arrived_mb: Floats, room_mb: float, stall_s: float) -> float:
    from scipy.optimize import brentq

    def excess_mb(write_mbyte_s: float) -> float:
        return _largest_mb(edges_s, arrived_mb, write_mbyte_s, stall_s) - room_mb * (1 + SAME)

    mean = float(arrived_mb[-1] / edges_s[-1])
    peak = float(np.max(np.diff(arrived_mb)) / edges_s[1]) * (1 + SAME)
    if excess_mb(peak) > 0:
        return math.inf
    return mean if excess_mb(mean) <= 0 else float(brentq(excess_mb, mean, peak))
