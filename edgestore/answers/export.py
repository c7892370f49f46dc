"""How do I get the footage off: over the link or with the card, locked first or not; and what locked clips cost."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.inputs.card_list import USABLE_FRACTION
from edgestore.models.export import (
    copy_h,
    fetch_h,
    footage_per_h,
    lost_in_fetch_h,
    lost_in_wait_h,
    most_locked_gb,
    retention_with_locked_h,
)
from edgestore.models.rate.signing import signing_mbit_s
from edgestore.models.retention import retention_h
from edgestore.text import NO_BREAK, hold_span, number, percent
from edgestore.units import KBIT_PER_MBIT

WAYS = ("fetch at once", "take the card out", "lock, then fetch", "lock, then take it out")
LOCKED_WAYS = 2
"""So many of the ways, the last ones, lock the clips first: what is locked is not overwritten."""

POINTS = 41
"""Points of the curve of what locked clips leave."""

NOTHING_H = 0.005
"""Less footage than this is told as none: 18 s."""


@dataclass(frozen=True, kw_only=True)
class Export:
    """How footage gets off a camera, each way with its time and its loss.

    Attributes
    ----------
    begins_h, done_h, lost_h : ndarray, shape (ways,)
        For each of ``WAYS``: when reading begins and ends, h from now, and the wanted footage that is overwritten
        before, h; the end is infinite where nothing can be fetched, though what is locked stays on the card.
    oldest_goes_h, last_goes_h : float
        When the oldest and the last of the wanted footage are overwritten, h from now; 0 where that is past.
    held_h, wanted_h : float
        What the card holds with what is locked now, and what is wanted, h.
    locked_gb, most_locked_gb : float
        What is locked, and the most that may be, GB.
    curve_gb, curve_h : ndarray, shape (points,)
        Volumes locked, GB, and what the card holds with them, h.
    table : DataFrame
        One row a way.
    """

    span_h: float
    begins_h: npt.NDArray[np.float64]
    done_h: npt.NDArray[np.float64]
    lost_h: npt.NDArray[np.float64]
    oldest_goes_h: float
    last_goes_h: float
    held_h: float
    wanted_h: float
    locked_gb: float
    most_locked_gb: float
    curve_gb: npt.NDArray[np.float64]
    curve_h: npt.NDArray[np.float64]
    table: pd.DataFrame
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def exporting(
    span_h: float = 6.0,
    ended_h: float = 24.0,
    link_mbit_s: float = 16.0,
    *,
    capacity_gb: float = 64.0,
    bitrate_mbit_s: float = 4.0,
    cameras: float = 3.0,
    fetched: float = 1.0,
    read_mbit_s: float = 50.0,
    visit_h: float = 8.0,
    reader_mbyte_s: float = 40.0,
    card_read_mbyte_s: float = 80.0,
    usable_fraction: float = USABLE_FRACTION,
    locked_gb: float = 0.0,
    wanted_h: float = 24.0,
    key_frame_interval_s: float = 2.0,
    frame_rate_fps: float = 15.0,
) -> Export:
    """How footage gets off a camera, how long that takes and what is overwritten meanwhile.

    Parameters
    ----------
    span_h : float
        Footage wanted, h, above 0.
    ended_h : float
        How long ago it ended, h, 0 or more.
    link_mbit_s : float
        What the link to the cameras carries, Mbit/s, above 0.
    capacity_gb : float
        Capacity printed on the card, GB, above 0; all of it is copied.
    bitrate_mbit_s : float
        Mean rate of each camera, Mbit/s, above 0.
    cameras, fetched : float
        Count of cameras that send live over the link, 1 or more, and of those fetched from at the same time, 1 or more
        and no more than there are.
    read_mbit_s : float
        Rate at which a camera reads its card out, Mbit/s, above 0.
    visit_h : float
        Time until somebody takes the card out, h, 0 or more.
    reader_mbyte_s, card_read_mbyte_s : float
        Rates of the card reader and of the card, Mbyte/s, above 0.
    usable_fraction : float
        Fraction of the capacity that formatting and firmware leave for footage, above 0 and at most 1.
    locked_gb : float
        Clips that are locked already, GB, 0 or more and no more than is usable.
    wanted_h : float
        Retention promised, h, above 0.
    key_frame_interval_s, frame_rate_fps : float
        Time between key frames, s, and frames/s, above 0: for what signing adds.

    Returns
    -------
    Export
        Sentence, table and the curve of what locked clips leave.

    Raises
    ------
    InputError
        When a number is out of range.

    Examples
    --------
    >>> exporting(6, 24, 16).table[["way", "done_h", "lost_h"]].round(2)
                          way  done_h  lost_h
    0           fetch at once    6.00    0.00
    1       take the card out    8.44    2.44
    2        lock, then fetch    6.00    0.00
    3  lock, then take it out    8.44    0.00
    """
    checks.single(locals())
    span_h = checks.one_number("span_h", span_h, "h", above=0)
    ended_h = checks.one_number("ended_h", ended_h, "h", at_least=0)
    wanted_h = checks.one_number("wanted_h", wanted_h, "h", above=0)
    visit_h = checks.one_number("visit_h", visit_h, "h", at_least=0)
    whole_h = float(retention_h(capacity_gb, bitrate_mbit_s, usable_fraction=usable_fraction))
    usable_gb = capacity_gb * usable_fraction
    mend = f"A card of {number(capacity_gb)}{NO_BREAK}GB has no room for more."
    locked_gb = checks.one_number("locked_gb", locked_gb, "GB", at_least=0, at_most=usable_gb, mend=mend)
    link = {"cameras": cameras, "fetched": fetched, "read_mbit_s": read_mbit_s}
    pace = float(footage_per_h(bitrate_mbit_s, link_mbit_s, **link))
    checks.one_number("fetched", fetched, at_least=1, at_most=cameras, mend="Give no more than are live on the link.")
    ring = {"capacity_gb": capacity_gb, "bitrate_mbit_s": bitrate_mbit_s, "usable_fraction": usable_fraction}
    held_h = float(retention_with_locked_h(**ring, locked_gb=locked_gb))
    alone_h = float(fetch_h(span_h, bitrate_mbit_s, link_mbit_s, cameras=cameras, read_mbit_s=read_mbit_s))
    taken_h = visit_h + float(copy_h(capacity_gb, reader_mbyte_s, card_read_mbyte_s))
    last_goes_h = max(held_h - ended_h, 0.0)
    lost_h = np.full(len(WAYS), span_h)
    if held_h > 0:
        lost_h[0] = lost_in_fetch_h(
            span_h, ended_h, held_h, bitrate_mbit_s=bitrate_mbit_s, link_mbit_s=link_mbit_s, **link
        )
        lost_h[1:] = lost_in_wait_h(span_h, ended_h, held_h, wait_h=[visit_h, 0.0, 0.0])
    saved_h = span_h - lost_h
    over_link_h = np.asarray(fetch_h(saved_h, bitrate_mbit_s, link_mbit_s, **link))
    is_fetched = np.array([True, False, True, False])
    done_h = np.where(is_fetched, np.where(saved_h > 0, over_link_h, np.inf), taken_h)
    kept_gb = usable_gb * float(saved_h[-1]) / whole_h
    left_h = float(retention_with_locked_h(**ring, locked_gb=locked_gb + kept_gb))
    held_after_h = left_h if left_h >= NOTHING_H else 0.0
    most_gb = float(most_locked_gb(wanted_h, **ring))
    curve_gb = np.linspace(0, usable_gb, POINTS)
    signing = float(signing_mbit_s(key_frame_interval_s, frame_rate_fps))
    return Export(
        span_h=span_h,
        begins_h=np.where(is_fetched, 0.0, visit_h),
        done_h=done_h,
        lost_h=lost_h,
        oldest_goes_h=max(last_goes_h - span_h, 0.0),
        last_goes_h=last_goes_h,
        held_h=held_h,
        wanted_h=wanted_h,
        locked_gb=locked_gb,
        most_locked_gb=most_gb,
        curve_gb=curve_gb,
        curve_h=np.asarray(retention_with_locked_h(**ring, locked_gb=curve_gb)),
        table=pd.DataFrame(
            {
                "way": WAYS,
                "done_h": np.where(np.isfinite(done_h), done_h, np.nan),
                "saved_h": saved_h,
                "lost_h": lost_h,
                "held_after_h": [held_h, whole_h, held_after_h, whole_h],
            }
        ),
        sentence=_sentence(
            saved_h, done_h, lost_h, visit_h, pace=pace, fetched=fetched, locked=(locked_gb, held_h, whole_h)
        ),
        assumptions=(
            f"{percent(usable_fraction, 1)} of the printed capacity is room for footage; formatting and firmware leave"
            " a little less than all. The card is copied as a whole, and goes on recording until it is taken out. Clips"
            " are locked now and at once, and what is locked is not overwritten; the footage wanted is not yet among"
            " it.",
            "Each camera records all the time at its mean rate, and its live stream goes first. Fetching begins now,"
            " with the oldest footage.",
            "After the card is taken out, the hold is that of an empty card of the same size, once it is full. Whether"
            " a camera can lock clips, its data sheet says; how fast it reads its card out, measure.",
            "A camera that signs its stream (ONVIF Media Signing) writes"
            f" {number(signing * KBIT_PER_MBIT)}{NO_BREAK}kbit/s more, {percent(signing / bitrate_mbit_s, 2)} of the"
            " rate; a measured rate has it in it. What is exported keeps its signatures only if nothing is coded anew"
            " and none of its data units is left out. The unit with the certificates must be in it, and a signature"
            " follows what it signs: export some seconds more than are wanted.",
        ),
        warnings=_warnings(
            lost_h,
            span_h,
            pace,
            (whole_h, held_h, held_after_h, wanted_h),
            most_gb,
            alone_h=alone_h if fetched > 1 else np.inf,
        ),
    )


def _sentence(
    saved_h: npt.NDArray[np.float64],
    done_h: npt.NDArray[np.float64],
    lost_h: npt.NDArray[np.float64],
    visit_h: float,
    *,
    pace: float,
    fetched: float,
    locked: tuple[float, float, float],
) -> str:
    """Link and card in a sentence each, what a lock saves and how long each then takes, and what is locked."""
    locked_gb, held_h, whole_h = locked
    at_once, taken_out, locked_first, _ = lost_h
    if saved_h[-1] < NOTHING_H:
        fetch = "Nothing is left to fetch: the card has overwritten it."
    elif not pace:
        fetch = "Nothing can be fetched: the live streams fill the link."
    elif fetched > 1:
        fetch = (
            f"Fetched from {number(fetched)} cameras at once, {_hours(saved_h[0])} of each take {_hours(done_h[0])},"
            f" and {_loss(at_once, ' of each')}."
        )
    else:
        fetch = f"Fetching {_hours(saved_h[0])} of footage takes {_hours(done_h[0])}, and {_loss(at_once)}."
    taken = f"after {_hours(visit_h)}" if visit_h else "now"
    told = [fetch, f"A card taken out {taken} is copied after {_hours(done_h[1])}, and {_loss(taken_out)}."]
    if max(at_once, taken_out) > locked_first + NOTHING_H:
        fetching = f"fetching takes {_hours(done_h[2])}, " if np.isfinite(done_h[2]) else ""
        told.append(f"If locked first, {_loss(locked_first)}: {fetching}the card is copied after {_hours(done_h[3])}.")
    if locked_gb:
        told.append(
            f"{number(locked_gb)}{NO_BREAK}GB of locked clips shorten the hold from {hold_span(whole_h, whole_h)} to"
            f" {hold_span(held_h, held_h)}."
        )
    return " ".join(told)


def _warnings(
    lost_h: npt.NDArray[np.float64],
    span_h: float,
    pace: float,
    holds_h: tuple[float, float, float, float],
    most_gb: float,
    *,
    alone_h: float,
) -> tuple[str, ...]:
    """What is lost in each way and what to do, and where locked clips break the promise."""
    whole_h, held_h, held_after_h, wanted_h = holds_h
    at_once, taken_out, locked_first, _ = lost_h
    is_left = span_h - locked_first >= NOTHING_H
    told = []
    if held_h == 0:
        told.append("Locked clips fill the card: it records nothing more. Copy them, check the copy, release them.")
    if is_left and not pace:
        told.append(
            "Lock the clips first, if the camera can: they then stay on the card. Free the link (fewer live streams, or"
            " a lower rate) and fetch them, or have the card taken out."
        )
    else:
        goes = [
            f"{_hours(lost - locked_first)} {when}"
            for lost, when in ((at_once, "while it is fetched"), (taken_out, "until the card is taken out"))
            if lost > locked_first + NOTHING_H
        ]
        if goes:
            told.append(
                f"Without a lock the card overwrites {' or '.join(goes)}: lock the clips first if the camera can, and"
                " fetch the oldest first in any case."
            )
    if at_once > locked_first + NOTHING_H and np.isfinite(alone_h):
        told.append(
            f"One camera fetched alone takes {_hours(alone_h)}: fetch one after the other, the one that matters most"
            " first, and lock the others meanwhile."
        )
    if locked_first > NOTHING_H:
        told.append(f"{_hours(locked_first)} of the {_hours(span_h)} wanted {_are(locked_first)} overwritten already.")
    if whole_h < wanted_h:
        told.append(
            f"The card is too small for the retention promised: with nothing locked it holds"
            f" {hold_span(whole_h, whole_h)} of {hold_span(wanted_h, wanted_h)}. Take a larger one, or lower the rate."
        )
    elif 0 < held_h < wanted_h:
        most = f"at most {number(most_gb)}{NO_BREAK}GB" if most_gb else "nothing"
        told.append(
            f"The card holds {hold_span(held_h, held_h)}, less than the {hold_span(wanted_h, wanted_h)} promised:"
            f" {most} may be locked."
        )
    if held_h > 0 and held_after_h < NOTHING_H:
        told.append(
            "With this footage locked too the card is full and records nothing more: release it once the copy is"
            " checked, or have the card taken out."
        )
    elif held_after_h < wanted_h <= held_h:
        told.append(
            f"With this footage locked too the card holds {hold_span(held_after_h, held_after_h)}, less than the"
            f" {hold_span(wanted_h, wanted_h)} promised: release it once the copy is checked."
        )
    return tuple(told)


def _hours(hours: float) -> str:
    return f"{number(hours)}{NO_BREAK}h"


def _loss(hours: float, of: str = "") -> str:
    return "none is lost" if hours < NOTHING_H else f"{_hours(hours)}{of} {_are(hours)} lost"


def _are(hours: float) -> str:
    return "is" if number(hours) == "1" else "are"
