"""What an exercise is: a sum with one number as its answer, or a case with one letter."""

import math
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations

LETTERS = "ABCDE"

NEAR_TIE = 0.05
"""A value so near to the middle between two roundings, in units of the last place asked, is not asked for."""

MOST_OFF = Decimal("0.05")
"""What is further from the answer, as a part of it, is right only where it rounds to the answer (our choice)."""


@dataclass(frozen=True)
class Slip:
    """A common wrong answer to a sum: what led to it, told to who made it, and in words for a count of a class."""

    value: float
    why: str
    did: str


@dataclass(frozen=True)
class Sum:
    """A sum: its question names the units and the rounding; ``value`` is the answer before rounding."""

    question: str
    unit: str
    decimals: int
    value: float
    steps: tuple[str, ...]
    hints: tuple[str, ...]
    slips: tuple[Slip, ...]

    @property
    def answer(self) -> str:
        """The answer as asked for."""
        return self.rounded(self.value)

    @property
    def last_place(self) -> Decimal:
        """One unit of the last place asked."""
        return Decimal(1).scaleb(-self.decimals)

    @property
    def is_small(self) -> bool:
        """Whether one unit of the last place is much of the answer: more than ``MOST_OFF``."""
        return self.last_place > MOST_OFF * Decimal(self.answer)

    @property
    def tolerance(self) -> Decimal:
        """One unit of the last place asked, since rounding on the way is no mistake; half of one of a small answer."""
        return self.last_place / 2 if self.is_small else self.last_place

    @property
    def mistakes(self) -> dict[str, str]:
        """What led to each common wrong answer, by that answer."""
        return {self.rounded(slip.value): slip.why for slip in self.slips}

    @property
    def did(self) -> dict[str, str]:
        """What learners did who gave each common wrong answer, by that answer."""
        return {self.rounded(slip.value): slip.did for slip in self.slips}

    def rounded(self, value: float) -> str:
        """Give a value at the rounding that is asked for."""
        return f"{value:.{self.decimals}f}"

    def is_clear(self) -> bool:
        """Say whether no answer can be taken for two things or for nothing, and rounding leaves no doubt."""
        last_place = math.modf(self.value * 10**self.decimals)[0]
        values = [Decimal(self.rounded(value)) for value in (self.value, *(slip.value for slip in self.slips))]
        apart = all(abs(one - other) > 2 * self.last_place for one, other in combinations(values, 2))
        seen = min(values) >= 2 * self.last_place
        return apart and seen and abs(last_place - 0.5) > NEAR_TIE


@dataclass(frozen=True)
class Case:
    """A case with lettered options, one of them the answer.

    ``whys`` says of each option why it is it or is not, ``chose`` what learners did who chose it, for a count.
    """

    question: str
    options: tuple[str, ...]
    right: int
    whys: tuple[str, ...]
    chose: tuple[str, ...]
    hints: tuple[str, ...]
    unit: str = "letter"

    @property
    def answer(self) -> str:
        """The letter of the right option."""
        return LETTERS[self.right]

    @property
    def steps(self) -> tuple[str, ...]:
        """What is to be said of each option."""
        return tuple(f"{letter}: {why}" for letter, why in zip(LETTERS, self.whys, strict=False))

    @property
    def mistakes(self) -> dict[str, str]:
        """Why each other letter is not the answer."""
        return {letter: why for letter, why in zip(LETTERS, self.whys, strict=False) if letter != self.answer}

    @property
    def did(self) -> dict[str, str]:
        """What learners did who chose each other letter."""
        return {letter: did for letter, did in zip(LETTERS, self.chose, strict=False) if letter != self.answer}

    def is_clear(self) -> bool:
        """Say whether no two options read alike."""
        return len(set(self.options)) == len(self.options) == len(self.whys) == len(self.chose)


Exercise = Sum | Case
