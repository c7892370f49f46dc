"""The verdict on one camera's card, its reasons, and what of the lists to correct."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pandas as pd

from edgestore.answers.achieved import A_DAY, Achieved
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.credible import (
    cap_mbit_s,
    has_other_cap,
    is_above_cap,
    is_far_off,
    is_product,
    may_be_one_clip,
    may_have_gaps,
)
from edgestore.plan.verdicts import (
    AS_PLANNED,
    DELETES,
    GAPS,
    INPUTS,
    LONGER,
    MOST_GAPS,
    NOT_FULL,
    NOT_RECORDING,
    SHORTER,
    Correction,
    Held,
    Planned,
    days,
)
from edgestore.text import counted, number, percent, span
from edgestore.units import H_PER_DAY


def judged(held: Held, band: float) -> Held:
    """The same with a verdict and its reasons against a band; what cannot be told keeps its own.

    Parameters
    ----------
    held : Held
        What the card holds.
    band : float
        Part of such cameras that should lie within the retention planned, 0 to 1.

    Returns
    -------
    Held
        With ``planned_h``, ``verdict``, ``why`` and ``correct``.
    """
    found, planned = held.achieved, held.planned
    if planned is None:
        return held
    held = replace(held, planned_h=planned.within(band))
    if found is None:
        return held
    of_hours = _by_hours(held, found)
    corrections = () if of_hours == NOT_RECORDING else tuple(_corrections(held, of_hours, found, planned))
    is_other = of_hours in (AS_PLANNED, DELETES, NOT_FULL) and (bool(corrections) or is_above_cap(held))
    reasons = (*_reasons(held, found), *(why for why, _ in corrections), *_other_causes(held, of_hours, found))
    return replace(
        held,
        verdict=INPUTS if is_other else of_hours,
        why=tuple(reasons),
        correct=tuple(dict.fromkeys(what for _, what in corrections)),
    )


def _by_hours(held: Held, found: Achieved) -> str:
    """Give the verdict by what the card holds alone."""
    _, low, high = held.planned_h
    if found.stopped is not None:
        return NOT_RECORDING
    if held.recording == "continuous" and found.missed > MOST_GAPS:
        return GAPS
    if found.hours > high + (H_PER_DAY if found.is_deleted else 0):
        return LONGER
    if found.is_deleted:
        return DELETES if found.hours < low else AS_PLANNED
    if not found.is_full:
        return NOT_FULL
    return SHORTER if found.hours < low else AS_PLANNED


def about_card(held: Held) -> tuple[str, ...]:
    """Whether the camera is gone, or no card is in it now, and whether the answers are of one that was taken out."""
    none = ("by the service log no card is in it now",) if held.has_no_card else ()
    if held.gone:
        none = (f"by the service log the camera is gone since {held.gone}",)
    before = (f"of the card before: its {held.card} was taken out on {held.taken_out}",) if held.taken_out else ()
    return (*none, *before)


def about_clock(held: Held) -> tuple[str, ...]:
    """Whether the camera's clock, or its newest footage, is of another day than the answers."""
    if not held.clock_ahead_days:
        return ()
    off = counted(abs(held.clock_ahead_days), "day")
    if held.is_clock_known:
        return (f"its clock is {off} {'ahead' if held.clock_ahead_days > 0 else 'behind'}",)
    return (f"its footage ends {off} after the day of its answers",)


def _reasons(held: Held, found: Achieved) -> Iterator[str]:
    """What the answers show as it is."""
    yield from about_card(held)
    if found.stopped is not None:
        silent = pd.Timestamp(held.saved, tz="UTC") - found.stopped.floor("D")
        is_open = not held.is_clock_known and silent > A_DAY
        clock = f", or its clock is {counted(silent // A_DAY, 'day')} behind: it was not asked for" if is_open else ""
        yield f"nothing recorded since {held.at(found.stopped)}{clock}"
    elif held.all_from is not None and held.all_tracks_h > 0:
        since = f"one of its video tracks goes back only {days(held.all_tracks_h)}, to {held.at(held.all_from)}"
        yield f"{since}: it was switched on then, or is kept for less, which no answer tells"
    if found.gaps:
        gaps, recorded = counted(len(found.gaps), "gap"), percent(found.recorded_part)
        longest = f"the longest of {number(found.longest_gap_h)} h"
        yield f"{gaps}, {longest}; recorded {recorded} of the time until {held.at(found.until)}"
    if found.missed > MOST_GAPS and not np.isnan(found.without_gaps_h):
        reach, whole = days(found.hours), days(found.without_gaps_h)
        if reach != whole:
            yield f"its footage goes back {reach} only because of the gaps: without them the card would hold {whole}"
    if found.maybe_from is not None and found.missed > MOST_GAPS:
        one = found.maybe_locked == 1
        clips = "oldest clip" if one else f"{found.maybe_locked} oldest clips"
        none = "the longest gap is none" if one else f"the gaps before {held.at(found.maybe_from)} are none"
        holds = days((found.until - found.maybe_from) / pd.Timedelta(hours=1))
        yield f"or the {clips} may be locked against overwriting: then {none}, and the rest goes back {holds}"
    if found.is_unfinished:
        covered = (
            f"it covers {days(found.covered_h)} of {days(found.hours)}"
            if found.recorded_part >= 0
            else "it covers nothing"
        )
        yield f"the search of its history had not ended: {covered}, and tells nothing of the rest"
    elif found.covered_h < found.hours - H_PER_DAY:
        yield f"the history covers the last {days(found.covered_h)} of {days(found.hours)}"
    if found.apart:
        clips = f"{counted(found.apart, 'older clip')} apart from the rest, which may be locked against overwriting"
        yield f"{clips}, or nothing was recorded for {days(found.apart_pause_h)}"
    if not found.is_full and not found.is_deleted and found.begun_h >= H_PER_DAY and found.stopped is None:
        began = f"its oldest footage is {days(found.begun_h)} after the fitting"
        yield f"{began}, when it may have begun to record, or been formatted or reset: it may not be full"
    if found.is_deleted and np.isfinite(held.kept_h):
        more = f", and yet it holds {days(found.hours)}" if held.is_kept_longer else ""
        yield f"set to delete footage after {days(held.kept_h)} (MaximumRetentionTime){more}"
    if np.isinf(held.kept_h) and held.planned is not None and np.isfinite(held.planned.most_h):
        yield f"no age is set in it at which it deletes (MaximumRetentionTime); planned {days(held.planned.most_h)}"
    expected = 0.0 if held.planned is None else held.planned.locked_fraction
    if expected and found.is_full and not found.apart and found.recorded_part > 0:
        lower = f"where some are locked that it does not list, the mean is up to {percent(expected)} lower"
        yield f"no clip of it stands apart, so that the mean that follows counts none as locked: {lower}"
    yield from about_clock(held)


def _corrections(held: Held, verdict: str, found: Achieved, planned: Planned) -> Iterator[Correction]:
    """Inputs of the plan that the answers show to be others."""
    rate = planned.rate
    fraction, planned_fraction = found.recorded_part, rate["recorded_fraction"]
    are_alike = not held.all_tracks_h > 0
    if (
        are_alike
        and rate["recorded_sigma"]
        and abs(np.log(fraction / planned_fraction)) > Z_90 * rate["recorded_sigma"]
    ):
        records = f"records {percent(fraction)} of the time"
        until = f" until {held.at(found.until)}"
        yield f"{records}{until}, planned {percent(planned_fraction)}", f"its events ({records})"
    what = "rate or recorded part" if is_product(held) else "rate"
    follows, cap = held.follows_mbit_s, cap_mbit_s(held)
    off = np.exp(Z_90 * held.follows_sigma)
    low, high, middle = rate["low_mbit_s"], rate["likely_high_mbit_s"], number(rate["planned_mbit_s"])
    if has_other_cap(held):
        yield f"cap set to {number(cap)} Mbit/s, planned {number(rate['cap_mbit_s'])}", f"cap_mbit_s to {number(cap)}"
    told = f"{number(follows)} Mbit/s while recording, planned {middle} ({span(low, high)})"
    mean, or_events = f"mean_mbit_s to {number(follows)}", ", or its events" if is_product(held) else ""
    if is_above_cap(held) or is_far_off(held) or not are_alike:
        return
    if not found.is_full:
        if verdict == LONGER and follows < low:
            yield f"{what} lower: at most {told}", f"{mean} or less{or_events}"
    elif follows > high * (1 if verdict == SHORTER else off):
        yield f"{what} higher: {told}", mean + or_events
    elif follows < low / (1 if verdict == LONGER else off):
        yield f"{what} lower: {told}", mean + or_events


def _other_causes(held: Held, verdict: str, found: Achieved) -> Iterator[str]:
    """What no answer tells and what would look the same; of what cannot be, all that may have caused it."""
    if verdict == NOT_RECORDING:
        return
    follows = f"{number(held.follows_mbit_s)} Mbit/s would follow"
    begun = f"{held.local(found.oldest):%Y-%m-%d}"
    is_listed = verdict == LONGER and may_be_one_clip(held) and held.has_listed_clips
    if is_listed:
        yield f"its oldest footage, of {begun}, may be a locked clip, as listed: a history would tell"
    if is_above_cap(held):
        yield (
            f"{follows}, which the cap of {number(cap_mbit_s(held))} does not let through, so that nothing is learnt: "
            "the card is smaller than listed, used in part or failing, the recording has gaps or is of another stream, "
            "or the cap is another"
        )
    elif is_far_off(held):
        yield f"{follows}, too far from what was planned to be learnt"
    if verdict == SHORTER:
        if held.locked_gb > 0:
            planned_gb = held.planned_locked_gb
            locked = f"or {number(held.locked_gb)} GB of clips are locked against overwriting"
            beside = f" and not the {number(planned_gb)} GB planned" if planned_gb else ""
            yield f"{locked}{beside}, which no ONVIF answer tells"
        age = ", or a limit of age is set in it" if np.isnan(held.kept_h) else ""
        yield f"or it was formatted or reset, or began to record, on {begun}{age}"
    if verdict == LONGER and may_be_one_clip(held):
        since = "or its trigger does not fire" if held.recording == "motion" else "or it has not recorded since"
        clip = f"or the footage of {begun} is a clip that is locked, {since}: a history would tell"
        yield since if is_listed else clip
    elif verdict == LONGER and may_have_gaps(held):
        yield "or it did not record all the time: no history shows it"
