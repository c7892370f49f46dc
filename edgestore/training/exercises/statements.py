"""The cases of five statements of which one is wrong: what is recorded, an installation, its proof. All invented."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from edgestore.models.retention import retention_h
from edgestore.models.speed.classes import SPEED_CLASSES
from edgestore.models.wear.endurance import life_years, writes_tb_year
from edgestore.text import short
from edgestore.training.exercises.cases import PLACES
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import LETTERS, Case
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
    text = files("edgestore.training.exercises").joinpath(f"{topic}.toml").read_text(encoding="utf-8")
    return tuple(
        Point(row["right"], row["wrong"], row["why_right"], row["why_wrong"]) for row in tomllib.loads(text)["point"]
    )


def spot_fault(draws: Draws) -> Case:
    """Ask which of five things said of an installation is wrong."""
    about = "A card was fitted in a camera at {place}. Here are five statements about the job."
    return _one_is_wrong(draws, "installations", (_held, _shown, _promised, _worn), about)


def what_is_recorded(draws: Draws) -> Case:
    """Ask which of five things said of what a card records, and why, is wrong."""
    about = "A camera at {place} records onto a card. Here are five statements about what is recorded, and why."
    return _one_is_wrong(draws, "records", (_overwritten, _kept), about)


def prove_it(draws: Draws) -> Case:
    """Ask which of five things said of the proof after fitting is wrong."""
    about = (
        "A card is fitted at {place}. Now it must be proved that it works. Here are five statements about the proof."
    )
    return _one_is_wrong(draws, "proof", (_bridged, _size_seen), about)


def _one_is_wrong(draws: Draws, topic: str, with_figures: tuple[Callable[[Draws], Point], ...], about: str) -> Case:
    figures = draws.of(with_figures)
    chosen = [figures(draws), *draws.some(points(topic), len(LETTERS) - 1)]
    told = draws.some(chosen, len(LETTERS))
    wrong = draws.of(range(len(LETTERS)))
    missed = f"did not see the fault in {told[wrong].fault}"
    return Case(
        f"{about.format(place=draws.of(PLACES))} One of them is wrong. Which? Answer with its letter.",
        tuple(point.wrong if n == wrong else point.right for n, point in enumerate(told)),
        wrong,
        tuple(point.why_wrong if n == wrong else point.why_right for n, point in enumerate(told)),
        tuple("" if n == wrong else missed for n in range(len(LETTERS))),
        (
            "Read each line twice. Four of them are as they should be.",
            "Do the sum in the line that holds figures: does it come out?",
            _narrowed(wrong, draws),
        ),
    )


def _narrowed(wrong: int, draws: Draws) -> str:
    fine = draws.some([letter for n, letter in enumerate(LETTERS) if n != wrong], 3)
    return f"These are as they should be: {', '.join(sorted(fine))}."


def _held(draws: Draws) -> Point:
    capacity_gb, mean = draws.of((64, 128, 256)), draws.of((2, 2.5, 3, 4, 5))
    hours = retention_h(capacity_gb, mean)
    said = f"The card has {capacity_gb} GB. The camera writes {mean:g} Mbit/s on average, all the time. The card holds"
    why = f"{capacity_gb} ÷ ({mean:g} × 0.45) = {hours:.0f} hours."
    wrong = draws.of((4, 5, 8))
    return Point(
        f"{said} some {hours:.0f} hours.", f"{said} some {hours * wrong:.0f} hours.", why, why, "how long a card holds"
    )


def _shown(draws: Draws) -> Point:
    capacity_gb = draws.of((32, 64, 128, 256, 512))
    said = f"The card's label says {capacity_gb} GB. A computer shows some {capacity_gb * GIB_PER_GB:.0f} GiB"
    why = f"{capacity_gb} GB are {capacity_gb * GIB_PER_GB:.1f} GiB. GiB are larger, so there are fewer."
    return Point(
        f"{said}, which is the same size in another unit.",
        f"{said}, so the card is a fake and goes back.",
        why,
        why,
        "GB and GiB",
    )


def _promised(draws: Draws) -> Point:
    mark, cap = draws.of(("C10", "U1", "V10")), draws.of((4, 5, 6))
    promised = SPEED_CLASSES[mark].min_write_mbyte_s
    said = f"The camera's cap is {cap} Mbit/s and the card is marked {mark}. That mark promises {promised:g}"
    why = f"{mark} promises {promised:g} Mbyte/s. 8 Mbit/s are 1 Mbyte/s."
    right = f"{said} Mbyte/s, which is {promised * BITS_PER_BYTE:g} Mbit/s."
    wrong = f"{said} Mbit/s, which is {promised * MBYTE_PER_MBIT:g} Mbyte/s."
    return Point(right, wrong, why, why, "what a mark promises")


def _worn(draws: Draws) -> Point:
    endurance_tbw, mean = draws.of((30, 40, 60, 80)), draws.of((2, 3, 4, 5))
    years = life_years(endurance_tbw, mean)
    rates = f"The camera writes {mean} Mbit/s on average, all the time."
    said = f"The card's endurance is {endurance_tbw} TB written. {rates} By wear alone it lasts some"
    why = f"{mean} Mbit/s write {writes_tb_year(mean):.1f} TB a year: {years:.1f} years by wear alone."
    wrong = years * draws.of((5, 8))
    return Point(f"{said} {years:.1f} years.", f"{said} {wrong:.1f} years.", why, why, "how long a card lasts")


def _overwritten(draws: Draws) -> Point:
    holds_h = draws.of(range(20, 61, 5))
    ago_h = holds_h + draws.of((8, 12, 20, 24))
    said = f"The card holds the last {holds_h} hours. Something was seen {ago_h} hours ago."
    why = f"{ago_h} hours are more than {holds_h}. The camera has written over that footage."
    return Point(
        f"{said} It is no longer on the card.",
        f"{said} It is still on the card.",
        why,
        why,
        "what has been overwritten",
    )


def _kept(draws: Draws) -> Point:
    days, ago_h = draws.of((2, 3, 4, 5)), draws.of((20, 26, 30, 40))
    said = f"The card holds the last {days} days. Something was seen {ago_h} hours ago."
    why = f"{days} days are {days * H_PER_DAY:g} hours. That is more than {ago_h}, so it is still there."
    return Point(
        f"{said} It is still on the card.",
        f"{said} It is no longer on the card.",
        why,
        why,
        "what is still on the card",
    )


def _bridged(draws: Draws) -> Point:
    hour, first, minutes = draws.of(range(9, 17)), draws.of(range(5, 31)), draws.of(range(5, 21))
    before, after = first - draws.of((2, 3, 4)), first + minutes + draws.of((2, 3, 4, 5))
    cut = f"The link was cut from {hour}:{first:02d} to {hour}:{first + minutes:02d}. A clip on the card"
    why = "It works when the minutes without the link are on the card. A gap just there proves the opposite."
    return Point(
        f"{cut} runs from {hour}:{before:02d} to {hour}:{after:02d} without a gap. So it works.",
        f"{cut} ends at {hour}:{first:02d}, and the next begins at {hour}:{first + minutes:02d}. So it works.",
        why,
        why,
        "the minutes without the link",
    )


def _size_seen(draws: Draws) -> Point:
    size = draws.of(range(1, 5))
    capacity_gb = (32, 64, 128, 256, 512)[size]
    said = f"A card of {capacity_gb} GB was fitted. The camera's page shows some"
    why = f"{capacity_gb} GB are {capacity_gb * GIB_PER_GB:.0f} GiB. Half of that or less is a card to send back."
    return Point(
        f"{said} {capacity_gb * GIB_PER_GB:.0f} GiB. That is the right size.",
        f"{said} {capacity_gb * GIB_PER_GB / draws.of((2, 4)):.0f} GiB. That is the right size.",
        why,
        why,
        "the size that is shown",
    )
