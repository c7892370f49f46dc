"""The check of a card, from its folder made to its folder removed: stopped, killed or pulled out at any moment."""

import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from edgestore import checks
from edgestore.checks import refuse
from edgestore.inputs.bench.fill import (
    CHUNK_BYTES,
    PART_BYTES,
    Ended,
    ReadBack,
    Written,
    as_state,
    fill,
    from_state,
    read_back,
    why,
)
from edgestore.inputs.bench.own_folder import OwnFolder
from edgestore.inputs.bench.pace import AREA_BYTES, Recorded, record, small_updates_ms
from edgestore.inputs.bench.pattern import Pattern
from edgestore.inputs.bench.place import spared_bytes
from edgestore.inputs.bench.probes import TRIAL_BYTES, Probed, keeps_room, probe
from edgestore.units import BYTES_PER_GB

FULL, QUICK = "full", "quick"

MOST_PROBES = 10_000
"""More places are no quick look (our choice); a name of a file counts to 99 999."""

UPDATES = 500
"""Small updates that are timed (our choice): one in a hundred is among them five times."""

RECORD_S = 30.0
"""So long a camera's own pattern is tried (our choice)."""

QUICK_BYTES = 2**28
"""So much a quick check writes in one piece, for the speed (our choice): more than the cache of a card holds."""

ALMOST = 0.95
"""A card that took this share of its free space is not called full early (our choice): what a file system needs for its
own tables, and what another program takes for a moment, is less than the rest."""

ROOM_BYTES = 2 * AREA_BYTES + 2**20
"""Kept free for the small updates and the state."""

Progress = Callable[[str, int, int], None]
"""Told what is done, how many bytes of it, and of how many."""


@dataclass(frozen=True)
class Run:
    """How one run wrote: bytes, mean rate, slowest second and longest stall."""

    bytes_written: int
    mbyte_s: float
    slowest_second_mbyte_s: float
    longest_stall_s: float


@dataclass(frozen=True)
class CardCheck:
    """What a check measured.

    Attributes
    ----------
    place : str
        The folder where the card was mounted.
    mode : str
        ``FULL``: all of the free space; ``QUICK``: some places of it.
    is_direct : bool
        Whether the cache was passed by; else each write waited for the device, and the cache was dropped before
        reading.
    size_bytes, asked_bytes : int
        Size of the file system, and what was to be written.
    kept_free_bytes : int
        What was kept free while that was written: for the small updates, the camera's own pattern and the state of the
        check, and what was to be left.
    bytes_written : int
        What was written.
    runs : tuple of Run
        How it was written, a run each time that the check was gone on with.
    read : ReadBack or None
        What was read back: of a full check all, of a quick check its beginning where no places could be tried.
    probed : Probed or None
        What probes found, of a quick check; None where the file system keeps no room without writing it.
    updates_ms : tuple of float
        Time of each small update, milliseconds.
    recorded : Recorded or None
        A camera's own pattern at the planned rate, where one is stated.
    ended : Ended or None
        Why the card ended the check early.
    is_removed : bool
        Whether the check's files are gone from the card.
    """

    place: str
    mode: str
    is_direct: bool
    size_bytes: int
    asked_bytes: int
    kept_free_bytes: int = ROOM_BYTES
    bytes_written: int = 0
    runs: tuple[Run, ...] = ()
    read: ReadBack | None = None
    probed: Probed | None = None
    updates_ms: tuple[float, ...] = ()
    recorded: Recorded | None = None
    ended: Ended | None = None
    is_removed: bool = False

    @property
    def mbyte_s(self) -> float:
        """Mean rate of writing over all runs, Mbyte/s; NaN where none was timed."""
        seconds = sum(run.bytes_written / run.mbyte_s for run in self.runs)
        return sum(run.bytes_written for run in self.runs) / seconds if self.runs else np.nan

    @property
    def slowest_second_mbyte_s(self) -> float:
        """Rate of the slowest second of all runs, Mbyte/s; NaN where none took a second."""
        return min((r.slowest_second_mbyte_s for r in self.runs if r.slowest_second_mbyte_s > 0), default=np.nan)

    @property
    def longest_stall_s(self) -> float:
        """Longest time that the card took for one chunk, seconds; NaN where none was timed."""
        return max((run.longest_stall_s for run in self.runs), default=np.nan)


def check_card(
    place: Path,
    *,
    mode: str = FULL,
    leave_gb: float = 0.0,
    probes: int = 66,
    rate_mbit_s: float | None = None,
    update_interval_s: float = 5.0,
    any_folder: bool = False,
    begun: Callable[[CardCheck, bool], None] = lambda asked, is_resumed: None,
    progress: Progress = lambda what, done, of: None,
    opened: Callable[..., OwnFolder] = OwnFolder,
    part_bytes: int = PART_BYTES,
) -> CardCheck:
    """Check a card that is mounted: what it keeps, how fast it writes, how it takes small updates.

    Parameters
    ----------
    place : Path
        Where the card is mounted.
    mode : str
        ``FULL`` or ``QUICK``.
    leave_gb : float
        Free space to leave, GB, 0 or more.
    probes : int
        Places that a quick check tries.
    rate_mbit_s : float, optional
        Rate at which the camera's own pattern is tried, Mbit/s; none when left out.
    update_interval_s : float
        From one small update of that camera to the next, seconds.
    any_folder : bool
        Take a folder that is not a mount point too.
    begun : callable
        Told what is to be written and kept free, and whether a stopped check is gone on with, before it is.
    progress : callable
        Told how far it is.
    opened : callable
        Makes the folder of the check.
    part_bytes : int
        Size of a file.

    Returns
    -------
    CardCheck
        What was measured.

    Raises
    ------
    InputError
        When the place cannot be used, or too little is free.
    KeyboardInterrupt
        When it is stopped. A full check that has a whole file on the card leaves its folder, and the next one there
        goes on with it; else, and of a quick check, nothing is left.

    Notes
    -----
    Only the folder of its own is written to (:class:`OwnFolder`). A killed check leaves that folder; the next check
    there goes on with it, or removes it.
    """
    checks.one_of("mode", mode, (FULL, QUICK))
    checks.in_range("leave_gb", leave_gb, "GB", at_least=0)
    checks.one_whole("probes", probes, "places", at_least=1, at_most=MOST_PROBES)
    with opened(place, any_folder=any_folder) as card:
        state = _begun(card, mode, leave_gb, part_bytes)
        asked, kept_free = int(state["total_bytes"]), int(state["kept_free_bytes"])
        result = CardCheck(str(place), mode, card.is_direct, card.size_bytes(), asked, kept_free)
        pattern = Pattern(int(state["seed"]))
        try:
            begun(result, bool(state["runs"]))
            if mode == QUICK:
                result = _quick(card, pattern, result, probes, progress)
            else:
                result = _full(card, pattern, result, state, progress, part_bytes)
            if result.ended is None:
                result = _paced(card, result, rate_mbit_s, update_interval_s)
        except BaseException:
            if mode == QUICK or not state["runs"]:
                _removed(card)
            raise
        return replace(result, is_removed=_removed(card))


def remove_left(place: Path, *, any_folder: bool = False) -> None:
    """Remove what an earlier check left on a card, and nothing else."""
    with OwnFolder(place, any_folder=any_folder) as card:
        card.remove()


def _begun(card: OwnFolder, mode: str, leave_gb: float, part_bytes: int) -> dict[str, Any]:
    """The state of the check: that of an earlier one of this kind to go on with, else a new one."""
    state = card.state
    if mode == FULL and state.get("mode") == FULL and state.get("part_bytes") == part_bytes and _is_whole(state):
        return state
    if state:
        card.clear()
    kept_free = int(max(leave_gb * BYTES_PER_GB, spared_bytes(card.place))) + ROOM_BYTES
    total = (card.free_bytes() - kept_free) // CHUNK_BYTES * CHUNK_BYTES
    if total < CHUNK_BYTES:
        free = card.free_bytes() / BYTES_PER_GB
        card.remove()
        least = (kept_free + CHUNK_BYTES) / BYTES_PER_GB
        raise refuse(
            "free space", f"{free:.2f} GB", f"{least:.2f} GB or more", "Leave less free, or take a card that is empty."
        )
    state = {"mode": mode, "seed": secrets.randbits(62), "total_bytes": total, "part_bytes": part_bytes}
    state |= {"kept_free_bytes": kept_free, "runs": [], "read": None}
    try:
        card.keep(state)
    except OSError as error:
        raise card.refused(error) from None
    return state


def _is_whole(state: dict[str, Any]) -> bool:
    """Whether a state can be gone on with; one that was damaged or changed is begun anew."""
    try:
        runs = [Run(**run) for run in state["runs"]]
        read = from_state(state["read"]) if state["read"] is not None else None
        numbers = [state["seed"], state["total_bytes"], state["kept_free_bytes"], *(run.bytes_written for run in runs)]
        return (
            all(type(one) is int and 0 <= one < 2**62 for one in numbers)
            and state["total_bytes"] % CHUNK_BYTES == 0 < state["total_bytes"]
            and all(run.mbyte_s > 0 and run.longest_stall_s >= 0 for run in runs)
            and (read is None or (0 <= read.bytes_read <= state["total_bytes"] and read.seconds >= 0))
        )
    except (KeyError, TypeError, AttributeError):
        return False


def _full(
    card: OwnFolder, pattern: Pattern, result: CardCheck, state: dict[str, Any], progress: Progress, part_bytes: int
) -> CardCheck:
    total = result.asked_bytes
    earlier = tuple(Run(**run) for run in state["runs"])

    def kept(so_far: Written) -> None:
        state["runs"] = [asdict(run) for run in (*earlier, _run(so_far))]
        card.keep(state)

    written = fill(
        card,
        pattern,
        total,
        part_bytes=part_bytes,
        done=lambda done: progress("Writing", done, total),
        part_done=kept,
    )
    runs = (*earlier, _run(written)) if written.ends_s else earlier
    ended = written.ended
    if ended is Ended.FULL and (card.free_bytes() < CHUNK_BYTES or written.bytes_written >= ALMOST * total):
        ended = Ended.TAKEN
    result = replace(result, bytes_written=written.bytes_written, runs=runs, ended=ended)
    if written.ended in (Ended.GONE, Ended.READ_ONLY):
        return result

    def read_so_far(read: ReadBack) -> None:
        state["read"] = as_state(read)
        card.keep(state)

    read = read_back(
        card,
        pattern,
        written.bytes_written,
        so_far=None if state["read"] is None else from_state(state["read"]),
        part_bytes=part_bytes,
        done=lambda done: progress("Reading back", done, written.bytes_written),
        part_done=read_so_far,
    )
    return replace(result, read=read, ended=ended or read.ended)


def _quick(card: OwnFolder, pattern: Pattern, result: CardCheck, probes: int, progress: Progress) -> CardCheck:
    size = min(QUICK_BYTES, result.asked_bytes)
    written = fill(card, pattern, size, done=lambda done: progress("Writing", done, size))
    runs = (_run(written),) if written.ends_s else ()
    result = replace(result, bytes_written=written.bytes_written, runs=runs, ended=written.ended)
    if result.ended is not None:
        return result
    if not _keeps_room(card, result):
        read = read_back(card, pattern, size, done=lambda done: progress("Reading back", done, size))
        return replace(result, read=read, ended=read.ended)
    card.clear_parts()
    found = probe(card, pattern, result.asked_bytes, probes, done=lambda done: progress("Probing", done, probes))
    return replace(result, probed=found, ended=found.ended)


def _keeps_room(card: OwnFolder, result: CardCheck) -> bool:
    """Whether places can be tried; not where the card refuses it, which what is written next tells."""
    with suppress(OSError):
        return card.free_bytes() > TRIAL_BYTES and keeps_room(card, result.mbyte_s)
    return False


def _paced(card: OwnFolder, result: CardCheck, rate_mbit_s: float | None, update_interval_s: float) -> CardCheck:
    """Time small updates and a camera's own pattern, in room that was kept for them."""
    try:
        result = replace(result, updates_ms=tuple(small_updates_ms(card, UPDATES)))
        if rate_mbit_s is not None:
            tried = record(card, rate_mbit_s, RECORD_S, update_interval_s=update_interval_s)
            result = replace(result, recorded=tried)
    except OSError as error:
        result = replace(result, ended=why(error))
    return result


def _run(written: Written) -> Run:
    return Run(
        bytes_written=written.bytes_by_then[-1],
        mbyte_s=written.mbyte_s,
        slowest_second_mbyte_s=written.slowest_second_mbyte_s,
        longest_stall_s=written.longest_stall_s,
    )


def _removed(card: OwnFolder) -> bool:
    """Remove the files of the check; False where the card does not let it, or is gone."""
    with suppress(OSError):
        card.remove()
        return True
    return False
