"""Fill a card with a pattern and read it back: what it keeps, how fast it writes, and how it fails."""

import errno
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import asdict, dataclass, field, replace
from enum import Enum
from typing import Any, Protocol

import numpy as np

from edgestore.inputs.bench.own_folder import buffer
from edgestore.inputs.bench.pattern import BLOCK_BYTES, Fault, Pattern, Wrong
from edgestore.units import BYTES_PER_MB

CHUNK_BYTES = 4 * 2**20
"""So much is written at once (our choice): the largest allocation unit of many cards, and a whole number of blocks."""

AHEAD = 4
"""Chunks of the pattern that are made before they are written (our choice): no card waits on a busy machine."""

PART_BYTES = 2**30
"""A file of the pattern; each file system of cards takes files of this size."""

MOST_RANGES = 1000
"""So many ranges are kept with their place; all are counted."""

GONE = (errno.ENODEV, errno.ENXIO, errno.ENOENT, errno.ESHUTDOWN, errno.ENOMEDIUM, errno.ESTALE, errno.ENOTCONN)


class Ended(Enum):
    """Why writing ended before all was written."""

    FULL = "full before its free space was written"
    TAKEN = "no room left"
    READ_ONLY = "read-only"
    GONE = "gone"
    FAILED = "a write failed"


class Card(Protocol):
    """What a check needs of the card: :class:`edgestore.inputs.bench.own_folder.OwnFolder`."""

    def length(self, name: str) -> int:
        """Length of a file in bytes."""

    def write(self, name: str, at: int, data: memoryview) -> None:
        """Write all of a buffer from a byte on."""

    def read(self, name: str, at: int, into: memoryview) -> None:
        """Read a whole buffer from a byte on."""

    def settle(self, name: str) -> None:
        """Wait until a file is on the device."""


@dataclass(frozen=True)
class Written:
    """How writing went.

    Attributes
    ----------
    bytes_written : int
        From the beginning of the pattern, those of an earlier run included.
    ends_s, bytes_by_then : list
        End of each chunk of this run on the clock that began with it, seconds, and bytes written by then.
    ended : Ended or None
        Why it ended early.
    """

    bytes_written: int
    ends_s: list[float]
    bytes_by_then: list[int]
    ended: Ended | None = None

    @property
    def mbyte_s(self) -> float:
        """Mean rate of this run in Mbyte/s; NaN where nothing was written."""
        return self.bytes_by_then[-1] / self.ends_s[-1] / BYTES_PER_MB if self.ends_s else np.nan

    @property
    def slowest_second_mbyte_s(self) -> float:
        """Rate of the slowest second, Mbyte/s; NaN where this run took less than one."""
        ends, done = np.array([0.0, *self.ends_s]), np.array([0, *self.bytes_by_then], float)
        starts = ends[ends <= ends[-1] - 1]
        if not len(starts):
            return np.nan
        starts = np.append(starts, ends[-1] - 1)
        return float((np.interp(starts + 1, ends, done) - np.interp(starts, ends, done)).min() / BYTES_PER_MB)

    @property
    def longest_stall_s(self) -> float:
        """Longest time that one chunk took, seconds; NaN where nothing was written."""
        return float(np.diff([0.0, *self.ends_s]).max()) if self.ends_s else np.nan


@dataclass(frozen=True)
class Range:
    """Blocks beside one another with the same fault: first and last byte.

    ``distance_bytes`` is how much further on the content of wrapped ones was written, ``bits`` how many bits differ in
    corrupt ones.
    """

    fault: str
    first_byte: int
    last_byte: int
    distance_bytes: int = 0
    bits: int = 0


@dataclass(frozen=True)
class ReadBack:
    """What was read back.

    Attributes
    ----------
    bytes_read : int
        From the beginning of the pattern.
    wrong_bytes : dict of str to int
        Bytes by fault, words of ``Fault``.
    ranges : list of Range
        Where, the first ``MOST_RANGES``.
    seconds : float
        Time that it took, of all runs.
    ended : Ended or None
        Why it ended early.
    """

    bytes_read: int = 0
    wrong_bytes: dict[str, int] = field(default_factory=dict)
    ranges: list[Range] = field(default_factory=list)
    seconds: float = 0.0
    ended: Ended | None = None

    @property
    def kept_bytes(self) -> int:
        """Bytes that came back as written."""
        return self.bytes_read - sum(self.wrong_bytes.values())

    @property
    def repeats_after_bytes(self) -> int | None:
        """After how many bytes the addresses of the card repeat; None where none does."""
        return min((abs(one.distance_bytes) for one in self.ranges if one.fault == Fault.WRAPPED.value), default=None)


def fill(
    card: Card,
    pattern: Pattern,
    total_bytes: int,
    *,
    part_bytes: int = PART_BYTES,
    chunk_bytes: int = CHUNK_BYTES,
    done: Callable[[int], None] = lambda _: None,
    part_done: Callable[[Written], None] = lambda _: None,
    clock: Callable[[], float] = time.perf_counter,
) -> Written:
    """Write the pattern into files of a card until so much is written, or the card ends it.

    Parameters
    ----------
    card : Card
        The card.
    pattern : Pattern
        The pattern.
    total_bytes : int
        What to write, a whole number of chunks.
    part_bytes, chunk_bytes : int
        Size of a file, and of what is written at once; whole numbers of chunks, and of blocks.
    done, part_done : callable
        Told the bytes written so far after each chunk, and how it went so far after each file that is on the device.
    clock : callable
        Seconds from any moment on.

    Returns
    -------
    Written
        How it went. Whole files of an earlier run stay and are not written again.

    Notes
    -----
    The next chunks of the pattern are made while the present one is written: making them costs the card no time.
    """
    at = _whole_parts(card, total_bytes, part_bytes)
    ends_s: list[float] = []
    by_then: list[int] = []
    started, first, ended = clock(), at, None
    with ThreadPoolExecutor(1) as ahead:

        def making(into: memoryview, place: int) -> tuple[memoryview, Future[None]]:
            return into, ahead.submit(pattern.write, into, place // BLOCK_BYTES)

        made = deque(making(buffer(chunk_bytes), at + number * chunk_bytes) for number in range(AHEAD))
        try:
            while at < total_bytes:
                now, is_made = made.popleft()
                is_made.result()
                at_next = at + chunk_bytes
                name, within = part(at, part_bytes)
                card.write(name, within, now)
                made.append(making(now, at + AHEAD * chunk_bytes))
                at = at_next
                ends_s.append(clock() - started)
                by_then.append(at - first)
                if at % part_bytes == 0 or at == total_bytes:
                    card.settle(name)
                    part_done(Written(at, ends_s, by_then))
                done(at)
        except OSError as error:
            ended = why(error)
    return Written(at, ends_s, by_then, ended)


def read_back(
    card: Card,
    pattern: Pattern,
    total_bytes: int,
    *,
    so_far: ReadBack | None = None,
    part_bytes: int = PART_BYTES,
    chunk_bytes: int = CHUNK_BYTES,
    part_done: Callable[[ReadBack], None] = lambda _: None,
    done: Callable[[int], None] = lambda _: None,
    clock: Callable[[], float] = time.perf_counter,
) -> ReadBack:
    """Read what was written, and say what is not as it was written, and where.

    Parameters
    ----------
    card, pattern, part_bytes, chunk_bytes, done, clock
        As of :func:`fill`.
    total_bytes : int
        What was written.
    so_far : ReadBack, optional
        What an earlier run read.
    part_done : callable
        Told the result so far after each file.

    Returns
    -------
    ReadBack
        What was read.
    """
    result = so_far or ReadBack()
    into, scratch = buffer(chunk_bytes), buffer(chunk_bytes)
    started, before = clock(), result.seconds
    while result.bytes_read < total_bytes:
        at = result.bytes_read
        name, within = part(at, part_bytes)
        size = min(chunk_bytes, total_bytes - at)
        try:
            wrong = list(_read(card, pattern, name, within, into[:size], scratch, at // BLOCK_BYTES))
        except OSError as error:
            return replace(result, ended=why(error), seconds=before + clock() - started)
        result = _with(result, at + size, wrong)
        done(result.bytes_read)
        if result.bytes_read % part_bytes == 0:
            result = replace(result, seconds=before + clock() - started)
            try:
                part_done(result)
            except OSError as error:
                if why(error) is not Ended.FULL:  # else only the going on is lost: reading needs no room
                    return replace(result, ended=why(error))
    return replace(result, seconds=before + clock() - started)


def part(at: int, part_bytes: int) -> tuple[str, int]:
    """Name of the file in which a byte of the pattern stands, and its place there.

    Examples
    --------
    >>> part(5 * 2**30 + 7, 2**30)
    ('part-00005', 7)
    """
    return f"part-{at // part_bytes:05d}", at % part_bytes


def why(error: OSError) -> Ended:
    """Why a card ended the work, by the error that the system gave."""
    if error.errno == errno.ENOSPC:
        return Ended.FULL
    if error.errno == errno.EROFS:
        return Ended.READ_ONLY
    return Ended.GONE if error.errno in GONE else Ended.FAILED


def _whole_parts(card: Card, total_bytes: int, part_bytes: int) -> int:
    """Bytes in whole files of an earlier run."""
    at = 0
    while at + part_bytes <= total_bytes and card.length(part(at, part_bytes)[0]) == part_bytes:
        at += part_bytes
    return at


def _read(
    card: Card, pattern: Pattern, name: str, within: int, into: memoryview, scratch: memoryview, block: int
) -> Iterator[Wrong]:
    """Wrong blocks of a chunk; where it cannot be read at once it is read block by block."""
    try:
        card.read(name, within, into)
    except OSError as error:
        if why(error) is Ended.GONE:
            raise
    else:
        yield from pattern.wrong(into, block, scratch)
        return
    for number in range(len(into) // BLOCK_BYTES):
        one = into[number * BLOCK_BYTES : (number + 1) * BLOCK_BYTES]
        try:
            card.read(name, within + number * BLOCK_BYTES, one)
        except OSError as error:
            if why(error) is Ended.GONE:
                raise
            yield Wrong(block + number, Fault.UNREADABLE)
        else:
            yield from pattern.wrong(one, block + number, scratch)


def _with(result: ReadBack, bytes_read: int, wrong: Sequence[Wrong]) -> ReadBack:
    counts, ranges = dict(result.wrong_bytes), list(result.ranges)
    for one in wrong:
        counts[one.fault.value] = counts.get(one.fault.value, 0) + BLOCK_BYTES
        first = one.block * BLOCK_BYTES
        distance = 0 if one.holds is None else (one.holds - one.block) * BLOCK_BYTES
        found = Range(one.fault.value, first, first + BLOCK_BYTES - 1, distance, one.bits)
        last = ranges[-1] if ranges else None
        if last and (last.fault, last.last_byte + 1, last.distance_bytes) == (found.fault, first, distance):
            ranges[-1] = replace(last, last_byte=found.last_byte, bits=last.bits + one.bits)
        elif len(ranges) < MOST_RANGES:
            ranges.append(found)
    return replace(result, bytes_read=bytes_read, wrong_bytes=counts, ranges=ranges)


def as_state(result: ReadBack) -> dict[str, object]:
    """What was read so far, to be kept and gone on with; why it ended is left out."""
    return {**asdict(replace(result, ended=None)), "ended": None}


def from_state(state: dict[str, Any]) -> ReadBack:
    """The same, read again."""
    return ReadBack(**{**state, "ranges": [Range(**one) for one in state["ranges"]]})
