"""Tracks of a recording -> the stretches that are recorded, and from when on all tracks are. All times are UTC."""

from collections.abc import Iterable, Sequence
from itertools import groupby

import numpy as np
import pandas as pd

from edgestore.inputs.onvif_recordings import STATES, StateChange

Spell = tuple[pd.Timestamp, pd.Timestamp]
"""Beginning and end of a stretch."""

OF_NOW = pd.Timedelta(hours=1)
"""A track whose newest footage is within such a time of that of the camera is recorded by now, and one whose oldest
footage is goes back as far (our choice)."""


def _are_now(spans: Sequence[Spell]) -> list[bool]:
    """Whether each of several tracks is recorded by now: an hour before the newest footage ends."""
    moment = max((end for _, end in spans), default=pd.Timestamp(0, tz="UTC")) - OF_NOW
    return [begin <= moment <= end for begin, end in spans]


def _tracks_at_once(spans: Sequence[Spell]) -> int:
    """How many tracks of video run beside each other by now."""
    return max(1, sum(_are_now(spans)))


def _at_once(spans: Iterable[Spell], tracks: int) -> tuple[Spell, ...]:
    """Stretches in which so many of the spans run, or as many as ever do, in order; as one where they touch."""
    steps: dict[pd.Timestamp, int] = {}
    for begin, end in spans:
        steps[begin], steps[end] = steps.get(begin, 0) + 1, steps.get(end, 0) - 1
    times = sorted(steps)
    running = np.cumsum([steps[time] for time in times])
    is_recorded = (running > 0) & (running >= min(tracks, running.max(initial=0)))
    edges = np.flatnonzero(np.diff(is_recorded, prepend=False))
    return tuple((times[begin], times[end]) for begin, end in zip(edges[::2], edges[1::2], strict=True))


def listed_tracks(spans: Sequence[Spell]) -> tuple[tuple[Spell, ...], pd.Timestamp | None]:
    """Footage of tracks that are listed.

    Parameters
    ----------
    spans : sequence of Spell
        Oldest and newest moment of each, in any order.

    Returns
    -------
    stretches : tuple of Spell
        Where all that are recorded by now and have begun have footage, in order; as one where they touch.
    all_from : Timestamp or None
        From when on all have footage that are recorded by now, where one goes back farther by more than ``OF_NOW``.
    """
    tracks = _tracks_at_once(spans)
    together = _at_once(spans, tracks)
    if not together:
        return (), None
    all_from = _later(together[0][0], min(begin for begin, _ in spans))
    return together if all_from is None else _once_begun(spans, tracks, all_from), all_from


def _later(begin: pd.Timestamp, first: pd.Timestamp) -> pd.Timestamp | None:
    """A begin that is later than the first one; None where it is not."""
    return begin if begin - first > OF_NOW else None


def _once_begun(spans: Sequence[Spell], tracks: int, all_from: pd.Timestamp) -> tuple[Spell, ...]:
    """Stretches in which all tracks run that have begun: until ``all_from`` any, from then on so many."""
    before = [(begin, min(end, all_from)) for begin, end in _at_once(spans, 1) if begin < all_from]
    return _at_once([*before, *after(_at_once(spans, tracks), all_from)], 1)


def recorded_spells(
    changes: Sequence[StateChange], span: Spell, spans: Sequence[Spell], all_from: pd.Timestamp | None
) -> tuple[tuple[Spell, ...], pd.Timestamp, pd.Timestamp | None]:
    """Stretches that are recorded within a span, by the changes of state.

    Parameters
    ----------
    changes : sequence of StateChange
        One at least.
    span : Spell
        Oldest and newest footage.
    spans : sequence of Spell
        The same of each track that is listed; empty where none is.
    all_from : Timestamp or None
        Of :func:`listed_tracks`.

    Returns
    -------
    stretches : tuple of Spell
        Those that are recorded, in order.
    covered_from : Timestamp
        From when on the changes tell it.
    all_from : Timestamp or None
        As given, or where no track is listed by the tracks' own histories.

    Notes
    -----
    Where several tracks are recorded by now, as their spans tell, or where no track was listed their own histories, it
    is where all of them are that have begun. The state at the start of a search says nothing of what was before, and a
    change to data only that there were none just before; a change to no data ends those that began the span.
    """
    closest = next(topic for topic in STATES if any(change.topic == topic for change in changes))
    ordered = sorted((change for change in changes if change.topic == closest), key=lambda c: (c.of, c.time))
    recorded, tracks, covered, begun = list[Spell](), list[Spell](), list[pd.Timestamp](), list[pd.Timestamp]()
    for _, of_track in groupby(ordered, key=lambda change: change.of):
        track = list(of_track)
        state = not (track[0].is_recording or track[0].is_start)
        begin, of_others = span[0], len(recorded)
        covered.append(begin if state else max(begin, track[0].time))
        for change in (*track, None):
            end = span[1] if change is None else min(max(change.time, span[0]), span[1])
            if state and end > begin:
                recorded.append((begin, end))
            if change is not None:
                state, begin = change.is_recording, end
        own = recorded[of_others:]
        tracks.append((own[0][0], own[-1][1]) if own else (span[0], span[0]))
        is_known = not (track[0].is_recording and track[0].is_start)
        begun.append(tracks[-1][0] if is_known else span[0])
    count = _tracks_at_once(spans or tracks)
    if count == 1:
        return _at_once(recorded, 1), min(covered), None
    now = [n for n, is_now in enumerate(_are_now(tracks)) if is_now] or range(len(tracks))
    if not spans:
        all_from = _later(max(begun[n] for n in now), span[0])
    since = span[0] if all_from is None else all_from
    is_late = any(covered[n] > since for n in now)
    return _once_begun(recorded, count, since), max(covered[n] for n in now) if is_late else min(covered), all_from


def after(stretches: Iterable[Spell], since: pd.Timestamp) -> tuple[Spell, ...]:
    """What of stretches is after a moment.

    Parameters
    ----------
    stretches : iterable of Spell
        In order.
    since : Timestamp
        The moment.

    Returns
    -------
    tuple of Spell
        Those that end later, from it on.
    """
    return tuple((max(begin, since), end) for begin, end in stretches if end > since)
