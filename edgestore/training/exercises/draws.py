"""Numbers drawn from a seed: a learner's own, and the same next year.

numpy promises that the raw integers of PCG64 stay the same for a seed in all its versions; what ``Generator`` makes
of them may change. So only the raw integers are used, and the seed comes from SHA-256 of its words.
"""

import hashlib
import unicodedata
from collections.abc import Sequence
from typing import TypeVar

import numpy as np

from edgestore.checks import in_range, refuse

T = TypeVar("T")

SEEDS = 1_000_000
"""Seeds run from 0 to one below: six digits, easy to type."""

MAX_NAME = 40
"""Letters of a learner's name."""


class Draws:
    """Picks from lists, in an order that the words of the seed alone decide."""

    def __init__(self, *words: str | int) -> None:
        self._raw = np.random.PCG64(_hashed(*words))

    def of(self, options: Sequence[T]) -> T:
        """Give one of the options."""
        # So few options of 2^64 numbers: that some come up more often by the remainder cannot be seen.
        return options[int(self._raw.random_raw()) % len(options)]

    def some(self, options: Sequence[T], count: int) -> list[T]:
        """Give as many different options, in the order drawn."""
        left = list(options)
        return [left.pop(self.of(range(len(left)))) for _ in range(count)]


def learner_name(typed: str) -> str:
    """Give a chosen name as it is kept: outer and double blanks gone.

    Parameters
    ----------
    typed : str
        A name, 1 to 40 letters; a made-up one will do.

    Returns
    -------
    str
        The name.

    Raises
    ------
    InputError
        When nothing is left, or too much, or when there are signs that cannot be printed.

    Examples
    --------
    >>> learner_name("  Robin   R. ")
    'Robin R.'
    """
    name = " ".join(unicodedata.normalize("NFC", typed).split())
    if not 1 <= len(name) <= MAX_NAME or not name.isprintable():
        raise refuse("name", repr(typed[:MAX_NAME]), f"1 to {MAX_NAME} printable letters", "A made-up name will do.")
    return name


def seed_of(name: str) -> int:
    """Give the seed that belongs to a learner's name; capitals make no difference.

    Parameters
    ----------
    name : str
        A learner's name.

    Returns
    -------
    int
        Seed, 0 to 999 999.

    Raises
    ------
    InputError
        When the name cannot be used.

    Examples
    --------
    >>> seed_of("Robin") == seed_of(" robin ")
    True
    """
    return _hashed("learner", learner_name(name).casefold()) % SEEDS


def checked_seed(seed: int) -> int:
    """Give a seed back when it is a whole number from 0 to 999 999."""
    if isinstance(seed, int) and abs(seed) >= SEEDS:  # it may have any number of digits
        allowed = f"0 to {SEEDS - 1}"
        raise refuse(
            "seed", f"a number of more than {len(str(SEEDS - 1))} digits", allowed, "Use the seed on the class sheet."
        )
    in_range("seed", seed, at_least=0, at_most=SEEDS - 1, mend="Use the seed on the class sheet.")
    if int(seed) != seed:
        raise refuse("seed", seed, "a whole number", "Use the seed on the class sheet.")
    return int(seed)


def _hashed(*words: str | int) -> int:
    return int.from_bytes(hashlib.sha256("\n".join(map(str, words)).encode()).digest()[:16])
