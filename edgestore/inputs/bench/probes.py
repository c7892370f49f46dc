"""A quick look at some places of a card: room is reserved for all of it, and a little is written at each place."""

import errno
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from edgestore.inputs.bench.fill import Card, Ended, why
from edgestore.inputs.bench.own_folder import buffer
from edgestore.inputs.bench.pattern import BLOCK_BYTES, Fault, Pattern, Wrong

PROBE_BYTES = 2**16
"""What is written at a place."""

CANNOT_RESERVE = (errno.EOPNOTSUPP, errno.ENOSYS, errno.EINVAL)


class Reserving(Card, Protocol):
    """A card that can keep room for a file without writing it."""

    def reserve(self, name: str, size_bytes: int) -> None:
        """Keep room for a file; OSError where the file system cannot."""


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
    is_possible : bool
        False where the file system cannot keep room without writing it: nothing was tried then.
    ended : Ended or None
        Why it ended early.
    """

    probes: int
    wrong: list[Wrong]
    spacing_bytes: int
    is_possible: bool = True
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
    Each place is the beginning of a file, for which the file system keeps the room up to the next place. All are
    written before the first is read back. A share of the card that drops what is written is found where a place falls
    into it (:func:`edgestore.models.lots.missed_chance`). Addresses that repeat are found only where two places fall on
    the same one, since what is read at the second is what was written there: only the whole card proves those.
    """
    spacing = total_bytes // probes // BLOCK_BYTES * BLOCK_BYTES
    size = min(PROBE_BYTES, spacing)
    data, scratch, written = buffer(size), buffer(size), 0
    wrong: list[Wrong] = []
    try:
        for at in range(probes):
            card.reserve(_name(at), spacing)
        for at in range(probes):
            pattern.write(data, at * spacing // BLOCK_BYTES)
            card.write(_name(at), 0, data)
            card.settle(_name(at))
            written += 1
            done(written)
        for at in range(probes):
            block = at * spacing // BLOCK_BYTES
            try:
                card.read(_name(at), 0, data)
            except OSError as error:
                if why(error) is Ended.GONE:
                    raise
                wrong.append(Wrong(block, Fault.UNREADABLE))
            else:
                wrong += pattern.wrong(data, block, scratch)
    except OSError as error:
        if not written and error.errno in CANNOT_RESERVE:
            return Probed(0, [], spacing, is_possible=False)
        return Probed(written, wrong, spacing, ended=why(error))
    return Probed(written, wrong, spacing)


def _name(at: int) -> str:
    return f"part-{at:05d}"
