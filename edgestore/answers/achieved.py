"""What a camera's card turned out to hold: how far back the footage goes, what of it is recorded, where gaps are."""

from dataclasses import dataclass
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.recorded_tracks import Spell
from edgestore.inputs.saved_answers import OnCard
from edgestore.units import H_PER_DAY, H_PER_WEEK, S_PER_H

Array = npt.NDArray[np.float64]

LEAST_GAP = pd.Timedelta(minutes=1)
"""A shorter break of a camera that records without a break is none (our choice): a restart takes longer."""

STOPPED_AFTER = {"continuous": pd.Timedelta(hours=1), "motion": pd.Timedelta(days=2)}
"""A camera whose newest footage is older than this has stopped (our choice)."""

USUAL_PAUSES = 3
"""A history with so many pauses that were as long shows that a camera is used to them (our choice)."""

APART = 0.05
"""The oldest stretches may be locked clips where they take no more than this part of what is recorded (our choice)."""

TIMES_EXPECTED = 1.5
"""So many times the part that is expected to be locked may be (our choice): it is an estimate."""

SHORT_BY = 0.25
"""Footage that is deleted by age may be short of it by a day, but by no more than this part (our choice)."""

A_DAY = pd.Timedelta(days=1)
"""The service log and the folders of answers tell days."""

OF_ANY_ZONE = pd.Timedelta(hours=14), pd.Timedelta(hours=12)
"""A day begins so long before that of UTC where the clocks are the farthest ahead, and ends so long after it where they
are the farthest behind (from memory)."""

OF_A_ZONE = pd.Timedelta(hours=1), pd.Timedelta(hours=1)
"""The same where the time zone is known: answers may be saved about midnight (our choice)."""


@dataclass(frozen=True, kw_only=True)
class Achieved:
    """What a card holds.

    Attributes
    ----------
    hours : float
        How far back the footage goes, h: by the camera's clock, else to the newest footage.
    oldest : Timestamp
        The oldest footage by the camera's clock; clips that stand apart do not count.
    until : Timestamp
        To which what is recorded counts: what the camera's clock showed when it answered, or the newest footage of one
        that was not asked for its clock, or has stopped; of an unfinished history its last result.
    apart : int
        How many stretches stand apart before it, which may be locked against overwriting.
    apart_h : float
        Hours recorded in these; 0 without a history.
    apart_pause_h : float
        Hours between these and what is not apart; 0 where none stand apart.
    covered_h : float
        Hours of these that the history covers, to ``until``; NaN without a history.
    recorded_h : float
        Hours recorded of those covered; NaN without a history.
    begun_h : float
        How long after its fitting the oldest footage begins, h; below 0 where footage is older than the card.
    is_full : bool
        Whether the oldest footage has been overwritten since the card was fitted: there is none of the day of fitting,
        and the card has been in the camera for as long as it takes to fill by plan.
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
    maybe_locked : int
        How many of the oldest stretches may be locked clips, so that the gaps to the footage after them are none: they
        take no more of what is recorded than may be locked, and no later gap is as long as the one after them.
    maybe_from : Timestamp or None
        From when on footage goes back if these are locked; None where none may be.
    is_unfinished : bool
        Whether the search of its history had not ended, so that what came after its last result is not known.
    """

    hours: float
    oldest: pd.Timestamp
    until: pd.Timestamp
    apart: int
    apart_h: float
    apart_pause_h: float
    covered_h: float
    recorded_h: float
    begun_h: float
    is_full: bool
    is_deleted: bool
    recordings: int
    gaps: tuple[Spell, ...]
    by_hour: Array
    stopped: pd.Timestamp | None
    is_older: bool
    maybe_locked: int = 0
    maybe_from: pd.Timestamp | None = None
    is_unfinished: bool = False

    @property
    def recorded_part(self) -> float:
        """Part recorded of the time that the history covers; NaN without a history."""
        return self.recorded_h / self.covered_h if self.covered_h > 0 else np.nan

    @property
    def without_gaps_h(self) -> float:
        """Retention of a full card if there had been no gaps, h; NaN without gaps, and of a card that is not full.

        It is the footage that the card holds; what a history does not cover counts as what it covers.
        """
        return self.hours * self.recorded_part if self.gaps and self.is_full else np.nan

    @property
    def missed(self) -> float:
        """Part of the time covered that the gaps take."""
        return sum(_h(end - begin) for begin, end in self.gaps) / self.covered_h if self.gaps else 0.0

    @property
    def longest_gap_h(self) -> float:
        """Longest stretch not recorded, h."""
        return max((_h(end - begin) for begin, end in self.gaps), default=0.0)


def achieved(
    on_card: OnCard,
    fitted: pd.Timestamp,
    recording: str,
    *,
    zone: ZoneInfo,
    most_h: float,
    fills_h: float,
    locked_fraction: float = 0.0,
) -> Achieved:
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
    fills_h : float
        Hours after which the card is full at the latest, by plan.
    locked_fraction : float
        Part of the usable space that locked clips are expected to hold.

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
    the day of fitting has not been overwritten; nor does one tell its capacity where the camera deletes by age. One
    that has been in the camera for less than it takes to fill by plan may have begun to record late, or have been
    formatted, so that younger footage does not show that it is full.

    The oldest stretches stand apart where the pause after them is longer than all that follows, and longer than the
    card holds by plan, and they take ``APART`` of what is recorded or less: ring recording would have overwritten
    them. So do those that take no more than ``TIMES_EXPECTED`` the part that is expected to be locked, where the
    footage goes back further than the card holds by plan and what follows does not: they end before the longest such
    pause, the last of equal ones. Other stretches before a pause may as well be what was recorded before a gap:
    ``maybe_locked``.

    What is silent has not stopped where the history has ``USUAL_PAUSES`` that were as long; without the camera's
    clock, it is silent until the end of the day of saving, and what it holds still counts to the newest footage alone.

    Recordings that are listed one by one tell of clips that stand apart as a history does. They are the history of a
    camera that records without a break, where none of them alone is longer than the card holds by plan: a longer one
    may begin with a clip that is locked.
    """
    if on_card.span is None:
        raise ValueError("no footage")
    first, last = on_card.span
    spells, covered_from = on_card.spells, max(on_card.covered_from or first, first)
    listed = on_card.pieces
    covered_until = on_card.covered_until
    if spells is None and recording == "continuous" and _is_history(listed, fills_h):
        spells, covered_until = listed, None
    known = listed if spells is None else spells
    apart = 0 if covered_until is not None else _apart(known, fills_h, locked_fraction)
    in_clips_h = 0.0 if spells is None else sum(_h(stop - start) for start, stop in spells[:apart])
    if apart:
        first = covered_from = known[apart][0]
        spells = None if spells is None else spells[apart:]
    now = _now(on_card.span, on_card)
    silent = now - last
    pauses = sum(begin - end >= silent for (_, end), (begin, _) in pairwise(spells or ()))
    stopped = last if silent > STOPPED_AFTER[recording] and pauses < USUAL_PAUSES else None
    begun_h = _h(first - clock_ahead_days(on_card, zone) * A_DAY - fitted.tz_localize("UTC"))
    reach_h = _h((now if stopped is None else last) - first)
    end = last if stopped is not None or on_card.now is None else now
    is_deleted = reach_h >= most_h - min(_h(A_DAY), SHORT_BY * most_h)
    until = end if spells is None or covered_until is None else covered_until
    gaps = _gaps(spells, (covered_from, min(last, until))) if spells is not None and recording == "continuous" else ()
    most = max(APART, TIMES_EXPECTED * locked_fraction)
    locked = _maybe_locked(spells, most) if gaps and spells and spells[0][0] == first else 0
    return Achieved(
        hours=_h(end - first),
        oldest=first,
        until=until,
        apart=apart,
        apart_h=in_clips_h,
        apart_pause_h=_h(first - known[apart - 1][1]) if apart else 0.0,
        covered_h=np.nan if spells is None else _h(until - covered_from),
        recorded_h=np.nan if spells is None else sum(_h(stop - start) for start, stop in spells),
        begun_h=begun_h,
        is_full=begun_h >= _h(A_DAY) and begun_h + reach_h >= fills_h and not is_deleted,
        is_deleted=is_deleted,
        recordings=0 if spells is None else len(spells),
        gaps=gaps,
        by_hour=_by_hour(spells or (), (covered_from, until), zone),
        stopped=stopped,
        is_older=begun_h < -_h(A_DAY),
        maybe_locked=locked,
        maybe_from=spells[locked][0] if spells and locked else None,
        is_unfinished=on_card.covered_until is not None,
    )


def clock_ahead_days(on_card: OnCard, zone: ZoneInfo) -> int:
    """By how many days the camera's clock is ahead of the day of saving.

    Parameters
    ----------
    on_card : OnCard
        What the camera said.
    zone : ZoneInfo
        The clocks of the camera.

    Returns
    -------
    int
        Days, below 0 for a clock that is behind; 0 where a clock of the zone, or of any, may have shown this on that
        day. Of a camera that was not asked for its clock, by how many days its newest footage is; 0 where that is
        older than the day, as of one that waits for motion.
    """
    now = on_card.now if on_card.span is None else _now(on_card.span, on_card)
    begin = pd.Timestamp(on_card.saved, tz=zone)
    before, after = OF_ANY_ZONE if zone.key == "UTC" else OF_A_ZONE
    if now is None or begin - before <= now <= begin + A_DAY + after:
        return 0
    ahead_days = int((now.tz_convert(zone).date() - on_card.saved).days)
    return ahead_days if on_card.now is not None else max(ahead_days, 0)


def _now(span: Spell, on_card: OnCard) -> pd.Timestamp:
    """What the clock showed when the camera answered: at least the newest footage, or if that is old the day's end."""
    _, last = span
    saved = pd.Timestamp(on_card.saved, tz="UTC")
    if on_card.now is not None:
        return max(on_card.now, last)
    return last if abs(last - saved - A_DAY / 2) < 1.5 * A_DAY else max(saved + A_DAY, last)


def _is_history(listed: tuple[Spell, ...], fills_h: float) -> bool:
    """Whether recordings that are listed tell where nothing was recorded."""
    return len(listed) > 1 and all(_h(end - begin) <= fills_h for begin, end in listed)


def _apart(spells: tuple[Spell, ...], fills_h: float, locked_fraction: float) -> int:
    """How many of the oldest stretches stand apart."""
    lengths = np.array([_h(end - begin) for begin, end in spells])
    pauses = np.array([_h(begin - end) for (_, end), (begin, _) in pairwise(spells)])
    after = np.array([_h(spells[-1][1] - begin) for begin, _ in spells[1:]])
    before, recorded_h = lengths.cumsum()[:-1], lengths.sum()
    expected = (after <= fills_h) & (before <= TIMES_EXPECTED * locked_fraction * recorded_h)
    if expected.any() and _h(spells[-1][1] - spells[0][0]) > fills_h:
        return int(np.flatnonzero(expected & (pauses == pauses[expected].max())).max()) + 1
    is_apart = (pauses > np.maximum(after, fills_h)) & (before <= APART * recorded_h)
    return int(np.flatnonzero(is_apart).max(initial=-1)) + 1


def _maybe_locked(spells: tuple[Spell, ...], most: float) -> int:
    """How many stretches may be locked clips: such a part at most, before a pause longer than all later ones."""
    lengths = np.array([_h(end - begin) for begin, end in spells])
    pauses = np.array([_h(begin - end) for (_, end), (begin, _) in pairwise(spells)])
    later = np.append(np.maximum.accumulate(pauses[::-1])[::-1][1:], _h(LEAST_GAP))
    may_be = (pauses > later) & (lengths.cumsum()[:-1] <= most * lengths.sum())
    return int(np.flatnonzero(may_be).max(initial=-1)) + 1


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
        return np.asarray(recorded / seen)


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
