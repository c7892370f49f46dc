"""What a camera's card turned out to hold: how far back the footage goes, what of it is recorded, where gaps are."""

from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.saved_answers import OnCard, Spell
from edgestore.units import H_PER_DAY, H_PER_WEEK, S_PER_H

Array = npt.NDArray[np.float64]

LEAST_GAP = pd.Timedelta(minutes=1)
"""A shorter break of a camera that records without a break is none (our choice): a restart takes longer."""

STOPPED_AFTER = {"continuous": pd.Timedelta(hours=1), "motion": pd.Timedelta(days=2)}
"""A camera whose newest footage is older than this has stopped (our choice)."""

SHORT_BY = 0.25
"""Footage that is deleted by age may be short of it by a day, but by no more than this part (our choice)."""

A_DAY = pd.Timedelta(days=1)
"""The service log and the folders of answers tell days."""


@dataclass(frozen=True, kw_only=True)
class Achieved:
    """What a card holds.

    Attributes
    ----------
    hours : float
        How far back the footage goes, h: by the camera's clock, else to the newest footage.
    recorded_h : float
        Hours recorded of these; NaN without a history.
    is_full : bool
        Whether the oldest footage has been overwritten since the card was fitted.
    is_deleted : bool
        Whether it has been deleted by its age.
    recordings : int
        Stretches recorded.
    gaps : tuple of Spell
        Stretches not recorded of a camera that records without a break; empty for others.
    by_hour : ndarray, shape (168,)
        Part recorded of each hour of the week, Monday 0:00 first; NaN where none was seen.
    stopped : Timestamp or None
        The newest footage of a camera that has stopped recording.
    is_older : bool
        Whether footage is older than the card, so that log and clock do not agree.
    clock_ahead_days : int
        By how many days the camera's clock is ahead of the day of saving; 0 within a day of it, or where not asked.
    """

    hours: float
    recorded_h: float
    is_full: bool
    is_deleted: bool
    recordings: int
    gaps: tuple[Spell, ...]
    by_hour: Array
    stopped: pd.Timestamp | None
    is_older: bool
    clock_ahead_days: int = 0

    @property
    def missed(self) -> float:
        """Part of the time that the gaps take."""
        return sum(_h(end - begin) for begin, end in self.gaps) / self.hours

    @property
    def longest_gap_h(self) -> float:
        """Longest stretch not recorded, h."""
        return max((_h(end - begin) for begin, end in self.gaps), default=0.0)


def achieved(on_card: OnCard, fitted: pd.Timestamp, recording: str, *, zone: ZoneInfo, most_h: float) -> Achieved:
    """What a card holds, by the answers of its camera.

    Parameters
    ----------
    on_card : OnCard
        What the camera said; it has footage.
    fitted : Timestamp
        Day on which the card was fitted.
    recording : str
        ``continuous`` or ``motion``.
    zone : ZoneInfo
        The clocks by which hours of the week count.
    most_h : float
        Age at which the camera deletes footage, h; infinite where it does not.

    Returns
    -------
    Achieved
        What follows from the answers.

    Raises
    ------
    ValueError
        When the camera has no footage.

    Notes
    -----
    Ages are taken by the camera's own clock, so that a wrong clock does not matter; only to compare with the day of
    fitting is it moved, by whole days, to the day on which the answers were saved. A card whose oldest footage is of
    the day of fitting has not been overwritten; nor does one tell its capacity where the camera deletes by age.
    """
    if on_card.span is None:
        raise ValueError("no footage")
    first, last = on_card.span
    saved = pd.Timestamp(on_card.saved, tz="UTC")
    now = on_card.now
    if now is None:
        now = last if abs(last - saved - A_DAY / 2) < 1.5 * A_DAY else max(last, saved + A_DAY)
    now = max(now, last)
    stopped = last if now - last > STOPPED_AFTER[recording] else None
    off = (saved - now.floor("D")) // A_DAY * A_DAY
    off = off if abs(off) > A_DAY else 0 * A_DAY
    since_fitted = first + off - fitted.tz_localize("UTC")
    hours = _h((last if stopped is not None else now) - first)
    is_deleted = hours >= most_h - min(_h(A_DAY), SHORT_BY * most_h)
    spells = on_card.spells
    gaps = _gaps(spells, (first, last)) if spells is not None and recording == "continuous" else ()
    return Achieved(
        hours=hours,
        recorded_h=np.nan if spells is None else sum(_h(until - since) for since, until in spells),
        is_full=bool(since_fitted >= A_DAY) and not is_deleted,
        is_deleted=is_deleted,
        recordings=0 if spells is None else len(spells),
        gaps=gaps,
        by_hour=_by_hour(spells or (), (first, last), zone),
        stopped=stopped,
        is_older=bool(since_fitted < -A_DAY),
        clock_ahead_days=0 if on_card.now is None else int(-off / A_DAY),
    )


def _gaps(spells: tuple[Spell, ...], span: Spell) -> tuple[Spell, ...]:
    """Stretches of a span between those recorded."""
    ends = [span[0], *(end for _, end in spells)]
    begins = [*(begin for begin, _ in spells), span[1]]
    return tuple((end, begin) for end, begin in zip(ends, begins, strict=True) if begin - end > LEAST_GAP)


def _by_hour(spells: tuple[Spell, ...], span: Spell, zone: ZoneInfo) -> Array:
    """Part recorded of each hour of the week; NaN where none was seen, or nothing is known."""
    if not spells:
        return np.full(int(H_PER_WEEK), np.nan)
    hours = pd.date_range(span[0].floor("h"), span[1].ceil("h"), freq="h")
    local = hours[:-1].tz_convert(zone)
    of_week = (int(H_PER_DAY) * local.day_of_week + local.hour).to_numpy()
    seen, recorded = (
        np.bincount(of_week, np.diff(_length_until(stretches, _seconds(hours))), int(H_PER_WEEK))
        for stretches in ((span,), spells)
    )
    with np.errstate(invalid="ignore"):
        return np.asarray(np.where(seen > 0, recorded / seen, np.nan))


def _length_until(stretches: tuple[Spell, ...], seconds: Array) -> Array:
    """Seconds of stretches before each moment."""
    edges = _seconds(pd.DatetimeIndex([moment for stretch in stretches for moment in stretch]))
    lengths = np.diff(edges)
    lengths[1::2] = 0
    return np.asarray(np.interp(seconds, edges, np.concatenate([[0.0], lengths.cumsum()])))


def _seconds(moments: pd.DatetimeIndex) -> Array:
    return np.asarray((moments - pd.Timestamp(0, tz="UTC")) / pd.Timedelta(seconds=1), dtype=float)


def _h(time: pd.Timedelta) -> float:
    return time.total_seconds() / S_PER_H
