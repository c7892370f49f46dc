"""A quick look at some places of a card: room is reserved for all of it, and a little is written at each place."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from edgestore.inputs.bench.fill import Card, Ended, why
from edgestore.inputs.bench.own_folder import CANNOT_RESERVE, buffer
from edgestore.inputs.bench.pattern import BLOCK_BYTES, Fault, Pattern, Wrong
from edgestore.units import BYTES_PER_MB

PROBE_BYTES = 2**16
"""What is written at a place."""

FILE_BYTES = 2**31
"""Room is kept by files of at most so much: FAT32 takes none of 4 GiB."""

TRIAL_BYTES = 2**26
"""Room that is kept first, to see whether that writes to the card (our choice)."""

SETTLED_S = 0.1
"""So long the tables of a file system may take whatever the rate is (our choice)."""

UNWRITTEN = 0.25
"""Room that was kept in less than this share of the time that writing takes was not written (our choice)."""


class Reserving(Card, Protocol):
    """A card that can keep room for a file without writing it."""

    def reserve(self, name: str, size_bytes: int) -> None:
        """Keep room for a file; OSError where the file system cannot."""

    def settle(self, name: str) -> None:
        """Wait until a file is on the device."""


def keeps_room(card: Reserving, mbyte_s: float, *, clock: Callable[[], float] = time.perf_counter) -> bool:
    """Whether a file system keeps room for a file without writing it: tried with a file of 64 MiB.

    Parameters
    ----------
    card : Reserving
        The card.
    mbyte_s : float
        How fast the card writes, Mbyte/s.
    clock : callable
        Seconds from any moment on.

    Returns
    -------
    bool
        False where it cannot, or fills the room with zeros, which takes as long as a full check.

    Raises
    ------
    OSError
        When the card refuses it for another reason.
    """
    begun = clock()
    try:
        card.reserve(TRIAL, TRIAL_BYTES)
        card.settle(TRIAL)
    except OSError as error:
        if error.errno in CANNOT_RESERVE:
            return False
        raise
    return clock() - begun < max(SETTLED_S, UNWRITTEN * TRIAL_BYTES / BYTES_PER_MB / mbyte_s)


@dataclass(frozen=True)
class Probed:
    """What probes found.

    Attributes
    ----------
    probes : int
        Places that were written and read back.
    wrong : list of Wrong
        Wrong blocks, by their number in the pattern; a place has 16.
    spacing_bytes : int
        From one place to the next.
    ended : Ended or None
        Why it ended early.
    """

    probes: int
    wrong: list[Wrong]
    spacing_bytes: int
    ended: Ended | None = None

    @property
    def false_probes(self) -> int:
        """Places at which something is wrong."""
        return len({one.block * BLOCK_BYTES // self.spacing_bytes for one in self.wrong})


def probe(
    card: Reserving, pattern: Pattern, total_bytes: int, probes: int, *, done: Callable[[int], None] = lambda _: None
) -> Probed:
    """Write and read back a few places of the free space of a card.

    Parameters
    ----------
    card : Reserving
        The card.
    pattern : Pattern
        The pattern.
    total_bytes : int
        Free space over which the places are spread, evenly.
    probes : int
        How many, 1 or more.
    done : callable
        Told how many places are written.

    Returns
    -------
    Probed
        What was found.

    Notes
    -----
    Each place is the beginning of a file; this and the files after it keep the room up to the next place. All are
    written before the first is read back. A share of the card that drops what is written is found where a place falls
    into it (:func:`edgestore.models.lots.missed_chance`). Addresses that repeat are found only where two places fall on
    the same one, since what is read at the second is what was written there: only the whole card proves those.
    """
    spacing = total_bytes // probes // BLOCK_BYTES * BLOCK_BYTES
    size = min(PROBE_BYTES, spacing)
    rooms = [min(FILE_BYTES, spacing - before) for before in range(0, spacing, FILE_BYTES)]
    data, scratch, written = buffer(size), buffer(size), 0
    wrong: list[Wrong] = []
    try:
        for at in range(probes):
            for number, room in enumerate(rooms):
                card.reserve(_name(at * len(rooms) + number), room)
        for at in range(probes):
            pattern.write(data, at * spacing // BLOCK_BYTES)
            name = _name(at * len(rooms))
            card.write(name, 0, data)
            card.settle(name)
            written += 1
            done(written)
        for at in range(probes):
            block = at * spacing // BLOCK_BYTES
            try:
                card.read(_name(at * len(rooms)), 0, data)
            except OSError as error:
                if why(error) is Ended.GONE:
                    raise
                wrong.append(Wrong(block, Fault.UNREADABLE))
            else:
                wrong += pattern.wrong(data, block, scratch)
    except OSError as error:
        return Probed(written, wrong, spacing, ended=why(error))
    return Probed(written, wrong, spacing)


TRIAL = "part-99999"
"""The file in which it is tried whether room is kept."""


def _name(at: int) -> str:
    return f"part-{at:05d}"
