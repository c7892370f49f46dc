"""Does the card keep up when it stalls: the specification's busy limits, the buffer they ask for, and a verdict.

The limits hold where a speed class holds (see :func:`edgestore.models.speed.min_write_mbyte_s`); used in another way a
card may stall for longer.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.speed.backlog import SAME, catch_up_s, largest_backlog_mb, write_mbyte_s_for_buffer
from edgestore.models.speed.classes import TRADE_MARGIN, speed_margin
from edgestore.units import BITS_PER_BYTE, MBYTE_PER_MBIT

WRITE_BUSY_S = 0.25
"""Longest busy of one write (SD Physical Layer Simplified Specification v4.10, section 4.13)."""

DIRECTORY_BUSY_S = 0.5
"""Longest busy of a directory write of an SDXC card (same section)."""

FAT_UPDATE_BUSY_S = 0.75
"""Longest FAT update; above ``FAT_UPDATE_MEAN_S`` no more than one in ``FAT_UPDATES_COUNTED`` (same section)."""

FAT_UPDATE_MEAN_S = 0.1
"""Longest FAT update on average over ``FAT_UPDATES_COUNTED`` in a row (same section)."""

FAT_UPDATES_COUNTED = 8

PREPARATION_S = 1.0
"""Longest preparation before a speed class is kept, once at the start of recording (same section)."""


def stall_buffer_mb(bitrate_mbit_s: Numbers, stall_s: Numbers = FAT_UPDATE_BUSY_S, burst_mb: Numbers = 0.0) -> Values:
    r"""Buffer that a camera needs to ride out a stall of the card.

    Parameters
    ----------
    bitrate_mbit_s : float or array_like
        Peak rate of the stream, Mbit/s, above 0 and no more than the card's rate.
    stall_s : float or array_like
        Time in which the card takes nothing, s, 0 or more; without it the longest FAT update.
    burst_mb : float or array_like
        What comes in one lump besides, MB, 0 or more: the largest key frame.

    Returns
    -------
    float or ndarray
        Buffer in MB, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{buffer} = \text{burst} + \frac{\text{bit rate}}{8} \times \text{stall}

    A stream in a token bucket brings at most that in the time of the stall.

    References
    ----------
    Le Boudec and Thiran, Network Calculus (2001), theorem 1.4.1: a token bucket (r, b) before a rate-latency server
    with latency T keeps at most b + r T waiting (from memory).

    Examples
    --------
    0.4 MB and 0.75 s at 1 Mbyte/s:

    >>> print(f"{stall_buffer_mb(8, burst_mb=0.4):.3f}")
    1.150
    """
    bitrate = checks.bitrate_mbit_s(bitrate_mbit_s)
    stall = checks.in_range("stall_s", stall_s, "s", at_least=0)
    burst = checks.in_range("burst_mb", burst_mb, "MB", at_least=0)
    checks.broadcastable(bitrate_mbit_s=bitrate, stall_s=stall, burst_mb=burst)
    return burst + bitrate * MBYTE_PER_MBIT * stall


def stall_s_for_buffer(buffer_mb: Numbers, bitrate_mbit_s: Numbers, burst_mb: Numbers = 0.0) -> Values:
    r"""Longest stall that a camera's buffer rides out: an inverse of :func:`stall_buffer_mb`.

    Parameters
    ----------
    buffer_mb : float or array_like
        What the camera can keep, MB, 0 or more.
    bitrate_mbit_s : float or array_like
        Peak rate of the stream, Mbit/s, above 0 and no more than the card's rate.
    burst_mb : float or array_like
        What comes in one lump besides, MB, 0 or more: the largest key frame.

    Returns
    -------
    float or ndarray
        Time in s, of the broadcast shape; 0 also where the buffer does not hold the lump.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{stall} = \frac{8 \times \max(0, \text{buffer} - \text{burst})}{\text{bit rate}}

    References
    ----------
    As for :func:`stall_buffer_mb`.

    Examples
    --------
    >>> print(f"{stall_s_for_buffer(0.65, 8, burst_mb=0.4):.3f}")
    0.250
    """
    buffer = checks.in_range("buffer_mb", buffer_mb, "MB", at_least=0)
    bitrate = checks.bitrate_mbit_s(bitrate_mbit_s)
    burst = checks.in_range("burst_mb", burst_mb, "MB", at_least=0)
    checks.broadcastable(buffer_mb=buffer, bitrate_mbit_s=bitrate, burst_mb=burst)
    return np.maximum(buffer - burst, 0) / (bitrate * MBYTE_PER_MBIT)


def sustained_write_mbyte_s(
    write_mbyte_s: Numbers, update_every_mb: Numbers, update_s: Numbers = FAT_UPDATE_MEAN_S
) -> Values:
    r"""Rate that is left of a card's write rate when the camera updates its file tables again and again.

    Parameters
    ----------
    write_mbyte_s : float or array_like
        Rate between two updates, Mbyte/s, 0 or more: measured, or the bus's; never a speed class, see Notes.
    update_every_mb : float or array_like
        Video between two updates, MB, above 0.
    update_s : float or array_like
        Time of one update, s, 0 or more; without it the mean that the specification allows.

    Returns
    -------
    float or ndarray
        Rate in Mbyte/s, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{sustained} = \frac{\text{rate} \times \text{video}}{\text{video} + \text{rate} \times \text{update}}

    with the video between two updates, MB, and the time of one update, s. **Not for the rate of a speed class**: that
    is promised with the FAT updates in it, and would pay for them twice. It is for a rate measured over whole
    allocation units, without updates.

    References
    ----------
    Arithmetic; the default time and what a class promises: SD Physical Layer Simplified Specification v4.10,
    section 4.13.

    Examples
    --------
    4 MB take 0.4 s at 10 Mbyte/s, and 0.1 s more:

    >>> print(f"{sustained_write_mbyte_s(10, 4):.1f}")
    8.0
    """
    write = checks.in_range("write_mbyte_s", write_mbyte_s, "Mbyte/s", at_least=0)
    every = checks.in_range("update_every_mb", update_every_mb, "MB", above=0)
    update = checks.in_range("update_s", update_s, "s", at_least=0)
    checks.broadcastable(write_mbyte_s=write, update_every_mb=every, update_s=update)
    return write * every / (every + write * update)


@dataclass(frozen=True, kw_only=True)
class KeepsUp:
    """Whether a card keeps up with a measured trace, by calculation and by the trade's rule.

    Attributes
    ----------
    keeps_up : bool or None
        By calculation; None where only the unknown buffer of the camera decides.
    passes_rule : bool
        By the rule: the write rate is ten times the peak.
    why : str
        The reason, and where the two disagree, why they do.
    buffer_needed_mb : float
        Largest backlog with the stall at its worst moment, MB; infinite when no buffer is enough.
    backlog_mb : float
        Largest backlog of the trace without a stall, MB.
    catch_up_s : float
        Longest time from the end of the stall until the buffer is empty, s.
    write_needed_mbyte_s : float or None
        Least write rate with which the buffer is enough, Mbyte/s; infinite when it does not hold what comes during
        the stall, None when the buffer is not known.
    peak_mbit_s : float
        Rate of the largest step, Mbit/s.
    headroom_mbit_s : float
        What the card's rate leaves above that peak, Mbit/s; below 0 the buffer fills already then.
    speed_margin : float
        Write rate over the peak, a plain ratio.
    write_mbyte_s, buffer_mb, stall_s, burst_mb : float
        What was given; ``buffer_mb`` is None when the camera's buffer is not known.
    """

    keeps_up: bool | None
    passes_rule: bool
    why: str
    buffer_needed_mb: float
    backlog_mb: float
    catch_up_s: float
    write_needed_mbyte_s: float | None
    peak_mbit_s: float
    headroom_mbit_s: float
    speed_margin: float
    write_mbyte_s: float
    buffer_mb: float | None
    stall_s: float
    burst_mb: float


def keeps_up(
    trace_mbit_s: npt.ArrayLike,
    write_mbyte_s: float,
    *,
    buffer_mb: float | None = None,
    stall_s: float = FAT_UPDATE_BUSY_S,
    burst_mb: float = 0.0,
    step_s: float = 1.0,
) -> KeepsUp:
    r"""Whether a card keeps up with a measured trace through one stall, the trade's rule beside it.

    Parameters
    ----------
    trace_mbit_s : array_like, shape (n,)
        Rate in each step, Mbit/s, 0 or more and not all 0.
    write_mbyte_s : float
        Rate that the card promises, Mbyte/s, 0 or more.
    buffer_mb : float, optional
        What the camera can keep, MB, 0 or more; seldom stated.
    stall_s : float
        Time in which the card takes nothing, s, 0 or more and no longer than the trace; without it the longest FAT
        update.
    burst_mb : float
        What comes in one lump within a step, MB, 0 or more: the largest key frame.
    step_s : float
        Length of a step, s, above 0.

    Returns
    -------
    KeepsUp
        Buffer and backlog in MB, times in s, rates in Mbit/s, the margin a plain ratio.

    Raises
    ------
    InputError
        When a number is missing or out of range, the trace is no single row or holds nothing, or the stall outlasts it.

    Notes
    -----
    It keeps up when its rate is above the mean of the trace and the buffer holds B, :func:`largest_backlog_mb`. Of the
    write rate c, Mbyte/s, and the peak of the trace, Mbit/s:

    .. math:: \text{keeps up} = \left( 8 c > \text{mean} \right) \wedge \left( B(c) \le \text{buffer} \right)

    .. math:: \text{margin} = \frac{8 c}{\text{peak}}, \quad \text{headroom} = 8 c - \text{peak}

    The rule is passed at a margin of 10. The rate
    of a speed class has the FAT updates in it; a stall on top of it is the worst moment, not a loss of rate, so the
    answer errs on the safe side. One stall: it stands if the next comes later than ``catch_up_s``.

    References
    ----------
    The stall: SD Physical Layer Simplified Specification v4.10, section 4.13. The rule: common practice, no source.

    Examples
    --------
    40 Mbit/s are 5 Mbyte/s: half of the card's rate, and 0.75 s of it are 3.75 MB.

    >>> answer = keeps_up([40] * 60, 10, buffer_mb=4)
    >>> answer.keeps_up, answer.passes_rule, answer.speed_margin
    (True, False, 2.0)
    >>> print(f"{answer.buffer_needed_mb:.2f} MB, {answer.catch_up_s:.2f} s")
    3.75 MB, 0.75 s
    """
    given: dict[str, Any] = {"write_mbyte_s": write_mbyte_s, "stall_s": stall_s, "burst_mb": burst_mb}
    checks.single({**given, "buffer_mb": buffer_mb})
    backlog = largest_backlog_mb(trace_mbit_s, write_mbyte_s, stall_s=0.0, burst_mb=burst_mb, step_s=step_s)
    needed = largest_backlog_mb(trace_mbit_s, step_s=step_s, **given)
    catch_up = catch_up_s(trace_mbit_s, step_s=step_s, **given)
    keeps, write_needed = None, None
    if buffer_mb is not None:
        write_needed = write_mbyte_s_for_buffer(
            trace_mbit_s, buffer_mb, stall_s=stall_s, burst_mb=burst_mb, step_s=step_s
        )
        keeps = bool(needed <= buffer_mb * (1 + SAME))
    if np.isinf(catch_up):
        needed, keeps = np.inf, False
    peak = float(np.max(trace_mbit_s))
    margin = speed_margin(write_mbyte_s, peak)
    answer = KeepsUp(
        keeps_up=keeps,
        passes_rule=margin >= TRADE_MARGIN,
        why="",
        buffer_needed_mb=needed,
        backlog_mb=backlog,
        catch_up_s=catch_up,
        write_needed_mbyte_s=write_needed,
        peak_mbit_s=peak,
        headroom_mbit_s=write_mbyte_s * BITS_PER_BYTE - peak,
        speed_margin=margin,
        buffer_mb=buffer_mb,
        **given,
    )
    return replace(answer, why=_why(answer))


def _why(answer: KeepsUp) -> str:
    if np.isinf(answer.buffer_needed_mb):
        return "No buffer is enough: the camera writes on average as fast as the card, or faster."
    margin = f"{answer.speed_margin:.3g} times the peak"
    allowed = " that the specification allows" if answer.stall_s <= FAT_UPDATE_BUSY_S else ""
    need = f"the stall of {answer.stall_s:g} s{allowed} leaves {answer.buffer_needed_mb:.3g} MB waiting"
    if answer.buffer_mb is None or answer.write_needed_mbyte_s is None:
        return f"The camera's buffer is not known, and it decides: {need}. The rule ({margin}) does not ask for it."
    has = f"the buffer holds {answer.buffer_mb:.3g} MB"
    if answer.keeps_up and answer.passes_rule:
        return f"Both say yes: {need} and {has}; the card writes {margin}."
    if answer.keeps_up:
        return (
            f"Only the rule says no ({margin}): {need} and {has}. The rule's ten also covers what this trace does not "
            "show: a buffer that nobody states, several files open at once, an aged card, and writes less in sequence "
            "than a speed class is promised for."
        )
    mend = f"a card of {answer.write_needed_mbyte_s:.3g} Mbyte/s fixes that"
    if np.isinf(answer.write_needed_mbyte_s):
        mend = "no speed class shortens that stall: only a larger buffer or a lower peak helps"
    verdict = "Only the rule says yes" if answer.passes_rule else "Both say no"
    return f"{verdict} ({margin}): {need} and {has}; {mend}."
