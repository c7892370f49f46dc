"""A seeded pattern that differs at every place: what is read back tells whether it is what was written there."""

from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np
import numpy.typing as npt

Words = npt.NDArray[np.uint64]

BLOCK_BYTES = 4096
"""The pattern is made and compared in blocks of so many bytes: the unit of most file systems."""

WORD_BYTES = np.dtype(np.uint64).itemsize
WORDS = BLOCK_BYTES // WORD_BYTES
ROWS = 61
"""Rows of random words that the blocks are made of; a prime, so that no power of two repeats them."""

MOST_BLOCKS = 2**52
"""A larger number of a block, which no card reaches, is a corrupt one."""

BLANKS = np.array([0, 2**64 - 1], dtype=np.uint64)
"""Words of a place that was never written, or erased: all bits 0, or all 1."""


class Fault(Enum):
    """What is wrong with a block that was read back."""

    WRAPPED = "holds what was written to another place"
    LOST = "empty"
    CORRUPT = "differs"
    UNREADABLE = "cannot be read"


@dataclass(frozen=True)
class Wrong:
    """A block that is not what was written: its number, what is wrong, and of which block it holds the content, if any.

    ``bits`` is how many of its bits differ from what was written; 0 but for a corrupt one.
    """

    block: int
    fault: Fault
    holds: int | None = None
    bits: int = 0


@dataclass(frozen=True)
class Pattern:
    """The pattern of a seed.

    Attributes
    ----------
    seed : int
        0 to 2^63 - 1; another seed gives another pattern, so that what an earlier check left is not taken for this one.

    Notes
    -----
    A block is a row of random words, exclusive-or a word of its own, a bijection of its number (the finaliser of
    SplitMix64). Its first word is its number, its second the seed, both unchanged: a block that is read at another
    place is recognised.

    References
    ----------
    Steele, Lea, Flood: Fast splittable pseudorandom number generators, OOPSLA 2014 (constants from memory).
    """

    seed: int

    @cached_property
    def _rows(self) -> Words:
        return np.random.default_rng(self.seed).integers(0, 2**64, size=(ROWS, WORDS), dtype=np.uint64)

    def write(self, into: memoryview, first_block: int) -> None:
        """Fill a buffer of whole blocks with the pattern from a block on."""
        count = len(into) // BLOCK_BYTES
        numbers = np.arange(first_block, first_block + count, dtype=np.uint64)
        out = np.frombuffer(into, dtype=np.uint64).reshape(count, WORDS)
        own = self._own(numbers)[:, None]
        for at in range(-(first_block % ROWS), count, ROWS):  # blocks beside one another use the rows in their order
            first, last = max(at, 0), min(at + ROWS, count)
            np.bitwise_xor(self._rows[first - at : last - at], own[first:last], out=out[first:last])
        out[:, 0], out[:, 1] = numbers, self.seed

    def wrong(self, read: memoryview, first_block: int, scratch: memoryview) -> list[Wrong]:
        """Say which blocks of a buffer, read from a block on, are not what was written; ``scratch`` is as large."""
        self.write(scratch[: len(read)], first_block)
        found, expected = (np.frombuffer(buffer, dtype=np.uint64) for buffer in (read, scratch[: len(read)]))
        if np.array_equal(found, expected):
            return []
        found, expected = found.reshape(-1, WORDS), expected.reshape(-1, WORDS)
        differ = np.flatnonzero((found != expected).any(axis=1))
        found, expected = found[differ], expected[differ]
        is_blank = (found == found[:, :1]).all(axis=1) & np.isin(found[:, 0], BLANKS)
        holds = np.where(found[:, 0] < MOST_BLOCKS, found[:, 0], 0)
        is_other = (found == self._blocks(holds, np.empty_like(found))).all(axis=1)
        bits = np.bitwise_count(found ^ expected).sum(axis=1)
        return [
            Wrong(first_block + at, Fault.LOST)
            if blank
            else Wrong(first_block + at, Fault.WRAPPED, holds=source)
            if other
            else Wrong(first_block + at, Fault.CORRUPT, bits=differing)
            for at, blank, other, source, differing in zip(
                differ.tolist(), is_blank.tolist(), is_other.tolist(), holds.tolist(), bits.tolist(), strict=True
            )
        ]

    def _blocks(self, numbers: Words, out: Words) -> Words:
        """Blocks of such numbers, into an array of shape (blocks, 512)."""
        np.take(self._rows, (numbers % np.uint64(ROWS)).astype(np.intp), axis=0, out=out)
        out ^= self._own(numbers)[:, None]
        out[:, 0], out[:, 1] = numbers, self.seed
        return out

    def _own(self, numbers: Words) -> Words:
        """A word of each block's own, a bijection of its number."""
        mixed = numbers + np.uint64(0x9E3779B97F4A7C15) + np.uint64(self.seed)
        mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
        return np.asarray(mixed ^ (mixed >> np.uint64(31)))
