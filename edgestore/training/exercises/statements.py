"""The cases of five statements of which one is wrong: what is recorded, an installation, its proof. All invented."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

from edgestore.models.retention import retention_h
from edgestore.models.speed.classes import SPEED_CLASSES
from edgestore.models.wear.endurance import life_years, writes_tb_year
from edgestore.text import short
from edgestore.training.exercises.cases import PLACES
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import LETTERS, Case
from edgestore.training.exercises.texts import texts
from edgestore.units import BITS_PER_BYTE, GIB_PER_GB, H_PER_DAY, MBYTE_PER_MBIT

FAULT_LETTERS = 60
"""Letters of a fault that is quoted in a count."""


@dataclass(frozen=True)
class Point:
    """One thing said of a job: as it should be, with the fault in it, and why each is what it is.

    ``name`` names the fault for a count of a class, where its words have figures of a learner's own.
    """

    right: str
    wrong: str
    why_right: str
    why_wrong: str
    name: str = ""

    @property
    def fault(self) -> str:
        """The fault in a few words."""
        return self.name or f"“{short(self.wrong, FAULT_LETTERS)}”"


@cache
def points(topic: str) -> tuple[Point, ...]:
    """Points of practice of a topic (``installations``, ``records``, ``proof``): the data file beside this one."""
    return tuple(Point(row["right"], row["wrong"], row["why_right"], row["why_wrong"]) for row in texts(topic)["point"])


def spot_fault(draws: Draws) -> Case:
    """Ask which of five things said of an installation is wrong."""
    return _one_is_wrong(draws, "installations", (_held, _shown, _promised, _worn))


def what_is_recorded(draws: Draws) -> Case:
    """Ask which of five things said of what a card records, and why, is wrong."""
    return _one_is_wrong(draws, "records", (_overwritten, _kept))


def prove_it(draws: Draws) -> Case:
    """Ask which of five things said of the proof after fitting is wrong."""
    return _one_is_wrong(draws, "proof", (_bridged, _size_seen))


def _one_is_wrong(draws: Draws, topic: str, with_figures: tuple[Callable[[Draws], Point], ...]) -> Case:
    words = texts("statements")
    figures = draws.of(with_figures)
    chosen = [figures(draws), *draws.some(points(topic), len(LETTERS) - 1)]
    told = draws.some(chosen, len(LETTERS))
    wrong = draws.of(range(len(LETTERS)))
    missed = words["missed"].format(fault=told[wrong].fault)
    about = words["about"][topic].format(place=draws.of(PLACES))
    return Case(
        words["question"].format(about=about),
        tuple(point.wrong if n == wrong else point.right for n, point in enumerate(told)),
        wrong,
        tuple(point.why_wrong if n == wrong else point.why_right for n, point in enumerate(told)),
        tuple("" if n == wrong else missed for n in range(len(LETTERS))),
        (*words["hints"], _narrowed(wrong, draws)),
    )


def _narrowed(wrong: int, draws: Draws) -> str:
    fine = draws.some([letter for n, letter in enumerate(LETTERS) if n != wrong], 3)
    said: str = texts("statements")["narrowed"].format(letters=", ".join(sorted(fine)))
    return said


def _point(name: str, **figures: Any) -> Point:
    """Give a statement with figures in its words."""
    words = texts("statements")["figures"][name]
    right, wrong, why = (words[part].format(**figures) for part in ("right", "wrong", "why"))
    return Point(right, wrong, why, why, words["name"])


def _held(draws: Draws) -> Point:
    capacity_gb, mean = draws.of((64, 128, 256)), draws.of((2, 2.5, 3, 4, 5))
    hours = retention_h(capacity_gb, mean)
    wrong_hours = hours * draws.of((4, 5, 8))
    return _point("held", capacity_gb=capacity_gb, mean=mean, hours=hours, wrong_hours=wrong_hours)


def _shown(draws: Draws) -> Point:
    capacity_gb = draws.of((32, 64, 128, 256, 512))
    return _point("shown", capacity_gb=capacity_gb, gib=capacity_gb * GIB_PER_GB)


def _promised(draws: Draws) -> Point:
    mark, cap = draws.of(("C10", "U1", "V10")), draws.of((4, 5, 6))
    promised = SPEED_CLASSES[mark].min_write_mbyte_s
    bits, in_bytes = promised * BITS_PER_BYTE, promised * MBYTE_PER_MBIT
    return _point("promised", mark=mark, cap=cap, promised=promised, bits=bits, bytes=in_bytes)


def _worn(draws: Draws) -> Point:
    endurance_tbw, mean = draws.of((30, 40, 60, 80)), draws.of((2, 3, 4, 5))
    years = life_years(endurance_tbw, mean)
    figures = {"years": years, "wrong_years": years * draws.of((5, 8)), "tb": writes_tb_year(mean)}
    return _point("worn", endurance_tbw=endurance_tbw, mean=mean, **figures)


def _overwritten(draws: Draws) -> Point:
    holds_h = draws.of(range(20, 61, 5))
    return _point("overwritten", holds_h=holds_h, ago_h=holds_h + draws.of((8, 12, 20, 24)))


def _kept(draws: Draws) -> Point:
    days, ago_h = draws.of((2, 3, 4, 5)), draws.of((20, 26, 30, 40))
    return _point("kept", days=days, ago_h=ago_h, holds_h=days * H_PER_DAY)


def _bridged(draws: Draws) -> Point:
    hour, first, minutes = draws.of(range(9, 17)), draws.of(range(5, 31)), draws.of(range(5, 21))
    last = first + minutes
    before, after = first - draws.of((2, 3, 4)), last + draws.of((2, 3, 4, 5))
    return _point("bridged", hour=hour, first=first, last=last, before=before, after=after)


def _size_seen(draws: Draws) -> Point:
    capacity_gb = (32, 64, 128, 256, 512)[draws.of(range(1, 5))]
    gib = capacity_gb * GIB_PER_GB
    return _point("size_seen", capacity_gb=capacity_gb, gib=gib, wrong_gib=gib / draws.of((2, 4)))
