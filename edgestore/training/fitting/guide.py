"""How a card is fitted, swapped or taken out: for each housing and slot the tools, the steps and what never to do."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from edgestore.checks import one_of
from edgestore.drawings.card import card_drawings
from edgestore.drawings.closing import closing_drawings
from edgestore.drawings.housings import housing_drawings
from edgestore.drawings.parts import Drawing
from edgestore.drawings.slots import slot_drawings
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.training.fitting.cautions import RULE, Caution, cautions_for

TYPICAL = f"These steps are typical. {RULE}"
"""Stands on every guide and on everything made from one."""

_DATA: Mapping[str, Any] = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))

WORKS = {word: work["title"] for word, work in _DATA["works"].items()}
"""The three ways through a guide, by the word that chooses one, with their titles."""

SLOTS = tuple(_DATA["slots"])
FACINGS = tuple(_DATA["facings"])


@dataclass(frozen=True)
class Step:
    """One thing to do: its words, the keys of the cautions that apply, and the drawing that shows it.

    ``needs`` is what must be so before it, ``gives`` what it makes so, ``ends`` what is no longer so.
    """

    text: str
    cautions: tuple[str, ...] = ()
    picture: str = ""
    needs: tuple[str, ...] = ()
    gives: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()

    @property
    def warnings(self) -> tuple[Caution, ...]:
        """The cautions that stand beside the step."""
        return cautions_for(self.cautions)


@dataclass(frozen=True)
class Section:
    """Steps that belong together, under a heading."""

    title: str
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Guide:
    """The guide for a work, a housing, a slot and where it faces.

    ``has`` names what the housing has: clear cover, strap, lamps, motor, ball, prop. ``start`` is what is so before the
    first step, ``end`` what must be so after the last. ``picture`` of a step is empty, ``card``, ``closing``,
    ``housing`` (this guide's), or the words of a slot.
    """

    housing: str
    slot: str | None
    facing: str | None
    work: str
    question: str
    title: str
    looks: str
    tools: tuple[str, ...]
    has: tuple[str, ...]
    sections: tuple[Section, ...]
    never: tuple[str, ...]
    start: frozenset[str]
    end: frozenset[str]

    @property
    def steps(self) -> tuple[tuple[Section, Step], ...]:
        """All steps in order, each with its section."""
        return tuple((section, step) for section in self.sections for step in section.steps)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """The cautions of all steps, each once; ``TYPICAL`` stands with them."""
        return cautions_for(key for _, step in self.steps for key in step.cautions)


def drawings(guide: Guide, step: Step) -> Sequence[Drawing]:
    """Give the drawings that stand beside a step of a guide; none for most steps."""
    match step.picture:
        case "":
            return ()
        case "card":
            return card_drawings()
        case "closing":
            # The last one shows a clear cover.
            return [d for d in closing_drawings() if d.title != "What stays" or "clear cover" in guide.has]
        case "housing":
            return housing_drawings(guide.housing)
        case slot:
            left_out = {"fit": ("Release",), "swap": (), "remove": ("Orient", "Push", "Seated")}[guide.work]
            return [d for d in slot_drawings(slot) if d.title not in left_out]


def guide(housing: str = "other", slot: str | None = None, facing: str | None = None, work: str = "fit") -> Guide:
    """Give the guide for fitting, swapping or taking out a card.

    Parameters
    ----------
    housing : str
        Kind of housing, a word of ``HOUSINGS`` as camera lists have them.
    slot : str, optional
        Kind of slot, a word of ``SLOTS``; all kinds when it is not known.
    facing : str, optional
        Where the slot faces, a word of ``FACINGS``; all of them when it is not known.
    work : str
        What is done, a word of ``WORKS``: ``fit`` a first card, ``swap`` the card, or ``remove`` it.

    Returns
    -------
    Guide
        The guide, its steps in an order in which two hands can do them.

    Raises
    ------
    InputError
        When a word is unknown.

    Examples
    --------
    >>> guide("bullet", "slide-in", "down").title
    'Bullet with a base flap, slide-in slot that faces down'
    >>> guide("bullet", "slide-in", "down", "swap").question
    'How do I swap the card?'
    """
    chosen = _DATA["housings"][one_of("housing", housing, HOUSINGS)]
    slots = SLOTS if slot is None else (one_of("slot", slot, SLOTS),)
    facings = FACINGS if facing is None else (one_of("facing", facing, FACINGS),)
    does = _DATA["works"][one_of("work", work, WORKS)]
    common, has = _DATA["common"], tuple(chosen["has"])

    def steps(*rows: Mapping[str, Any]) -> tuple[Step, ...]:
        return tuple(_step(row, chosen["part"]) for row in rows if belongs(row, work, has))

    def of_slot(word: str) -> Section:
        kind = _DATA["slots"][word]
        title = does["title"] if slot else f"If the slot is {kind['title'].lower()}: {does['title'].lower()}"
        first = {"text": kind["looks"], "cautions": [], "needs": ["slot found"]}
        out = [*common["case"], *kind["open"], *kind["out"], *common["away"]]
        into = [*common["take"], *kind["fit"], *common["photo"]]
        return Section(title, steps(first, *out, *into, *kind["shut"]))

    told = [_DATA["facings"][word] for word in facings]
    faces = [{"text": face.get(work, face["text"]), "cautions": [], "needs": ["slot found"]} for face in told]
    before = [*common["manual"], *chosen.get("before", ()), *common["before"]]
    sections = (
        Section("Before you open it", steps(*before)),
        Section("Reach the slot", steps(*chosen["open"], *common["ground"], *faces)),
        *map(of_slot, slots),
        Section("Close and switch on", steps(*common["close"], *chosen.get("after", ()), *common["down"])),
    )
    of_slots = (tool for word in slots for tool in _DATA["slots"][word]["tools"])
    to_see = (tool for word in facings for tool in _DATA["facings"][word]["tools"])
    back = chosen.get("back", ())
    return Guide(
        housing=housing,
        slot=slot,
        facing=facing,
        work=work,
        question=does["question"],
        title=_title(chosen["title"], slot, facing),
        looks=chosen["looks"],
        tools=(*common["tools"], *does["tools"], *chosen["tools"], *of_slots, *to_see),
        has=has,
        sections=sections,
        never=tuple(row["text"] for row in common["never"] if belongs(row, work, has)),
        start=frozenset((*does["start"], *back)),
        end=frozenset((*does["end"], *back, *chosen.get("end", ()))),
    )


def _title(housing: str, slot: str | None, facing: str | None) -> str:
    where = {None: "", "hidden": " that is hidden"}.get(facing, f" that faces {facing}")
    if slot is None and facing is None:
        return housing
    return f"{housing}, {slot or 'any'} slot{where}"


def belongs(row: Mapping[str, Any], work: str, has: Sequence[str]) -> bool:
    """Tell whether a row is for a work and for a housing that has such things."""
    return work in row.get("works", WORKS) and row.get("has") in (None, *has)


def _step(row: Mapping[str, Any], part: str) -> Step:
    facts = {key: tuple(row.get(key, ())) for key in ("cautions", "needs", "gives", "ends")}
    return Step(text=row["text"].format(part=part), picture=row.get("picture", ""), **facts)
