"""Which mutants are tried: so many of each module, and draws from all that were not drawn before.

What is drawn is looked at, and tests are written for what is alive. So a draw says something of all mutants at its
first try alone, when nobody has seen what is in it: ``held_out.json`` keeps that.
"""

import json
import random
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from explained import Key
from scipy.stats import binomtest
from source_changes import Mutant

KEPT = Path(__file__).with_name("held_out.json")


@dataclass(frozen=True)
class HeldOut:
    """A draw from the mutants that no draw before it had, and what the tests of that day noticed of it.

    Attributes
    ----------
    seed, count : int
        The seed, and how many are drawn.
    date : str
        Day of its first try.
    killed : int
        How many of them a test noticed.
    alive : tuple of Key
        Those that no test noticed, the explained ones among them.
    """

    seed: int
    count: int
    date: str
    killed: int
    alive: tuple[Key, ...]

    def tried(self, explained: Mapping[Key, tuple[str, bool]]) -> int:
        """How many were drawn that are not equivalent, as far as is known today."""
        return self.killed + sum(not explained.get(key, ("", False))[1] for key in self.alive)

    def interval(self, explained: Mapping[Key, tuple[str, bool]]) -> tuple[float, float]:
        """The 95 % interval by Wilson of the share of all mutants that were not drawn before which are killed."""
        found = binomtest(self.killed, self.tried(explained)).proportion_ci(method="wilson")
        return float(found.low), float(found.high)


def read_held_out(path: Path = KEPT) -> list[HeldOut]:
    """The draws that were tried before, the first one first."""
    rows = json.loads(path.read_text(encoding="utf-8")) if path.exists() else []
    return [HeldOut(**row | {"alive": tuple((a, b, c) for a, b, c in row["alive"])}) for row in rows]


def keep_held_out(draws: Sequence[HeldOut], path: Path = KEPT) -> None:
    """Keep the draws."""
    path.write_text(json.dumps([asdict(draw) for draw in draws], indent=1) + "\n", encoding="utf-8")


def key(mutant: Mutant) -> Key:
    """What a mutant is called wherever it is kept: its line moves."""
    return mutant.file, mutant.function, mutant.change


def sample(mutants: Sequence[Mutant], count: int, seed: int) -> list[Mutant]:
    """So many mutants, or all for 0, drawn by a seed; a larger sample has all of a smaller one."""
    drawn = sorted(mutants, key=lambda mutant: random.Random(f"{seed} {key(mutant)}").random())
    return sorted(drawn[:count] if count else drawn)


def of_each_module(offered: Mapping[str, Sequence[Mutant]], count: int, seed: int) -> set[Mutant]:
    """So many mutants of each file, or all for 0."""
    return {mutant for mutants in offered.values() for mutant in sample(mutants, count, seed)}


def of_the_rest(
    offered: Mapping[str, Sequence[Mutant]], before: set[Mutant], draws: Sequence[tuple[int, int]]
) -> list[set[Mutant]]:
    """What each draw, by seed and count, takes of all files: of what is in neither ``before`` nor an earlier draw."""
    found: list[set[Mutant]] = []
    taken = set(before)
    for seed, count in draws:
        rest = [mutant for mutants in offered.values() for mutant in mutants if mutant not in taken]
        found.append(set(sample(rest, count, seed)))
        taken |= found[-1]
    return found
