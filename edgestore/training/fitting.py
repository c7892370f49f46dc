"""How a card is fitted: for each kind of housing and slot the tools, the steps and what never to do. Brand-free."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from edgestore.checks import one_of
from edgestore.figures.fitting_card import card_drawings
from edgestore.figures.fitting_closing import closing_drawings
from edgestore.figures.fitting_housings import housing_drawings
from edgestore.figures.fitting_parts import Drawing
from edgestore.figures.fitting_slots import slot_drawings
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.training.cautions import RULE, Caution, cautions_for

TYPICAL = f"These steps are typical. {RULE}"
"""Stands on every guide and on everything made from one."""

_DATA: Mapping[str, Any] = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))

SLOTS = tuple(_DATA["slots"])
FACINGS = tuple(_DATA["facings"])

_SLOT_STEPS = {
    "open": ("static",),
    "orient": ("static",),
    "push": ("force",),
    "seated": (),
    "release": ("off", "evidence"),
}
"""What is told of a slot, and the cautions that go with it."""


@dataclass(frozen=True)
class Step:
    """One thing to do: its words, the keys of the cautions that apply, and the drawing that shows it."""

    text: str
    cautions: tuple[str, ...] = ()
    picture: str = ""


@dataclass(frozen=True)
class Section:
    """Steps that belong together, under a heading."""

    title: str
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Guide:
    """The fitting guide for a housing, a slot and where it faces.

    ``picture`` of a step is empty, ``card``, ``closing``, ``housing`` (this guide's), or the words of a slot.
    """

    housing: str
    slot: str | None
    facing: str | None
    title: str
    looks: str
    tools: tuple[str, ...]
    sections: tuple[Section, ...]
    never: tuple[str, ...]

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
            return closing_drawings()
        case "housing":
            return housing_drawings(guide.housing)
        case slot:
            return slot_drawings(slot)


def guide(housing: str = "other", slot: str | None = None, facing: str | None = None) -> Guide:
    """Give the fitting guide.

    Parameters
    ----------
    housing : str
        Kind of housing, a word of ``HOUSINGS`` as camera lists have them.
    slot : str, optional
        Kind of slot, a word of ``SLOTS``; all kinds when it is not known.
    facing : str, optional
        Where the slot faces, a word of ``FACINGS``; all of them when it is not known.

    Returns
    -------
    Guide
        The guide.

    Raises
    ------
    InputError
        When a word is unknown.

    Examples
    --------
    >>> guide("bullet", "slide-in", "down").title
    'Bullet with a base flap, slide-in slot that faces down'
    """
    chosen = _DATA["housings"][one_of("housing", housing, HOUSINGS)]
    slots = SLOTS if slot is None else (one_of("slot", slot, SLOTS),)
    facings = FACINGS if facing is None else (one_of("facing", facing, FACINGS),)
    common = _DATA["common"]
    facing_steps = tuple(Step(_DATA["facings"][word]["text"], ("force",)) for word in facings)
    sections = [
        Section("Before you open it", _steps(common["before"])),
        Section("Reach the slot", (*_steps(chosen["open"]), *facing_steps)),
        *(Section(f"Fit the card: {_DATA['slots'][word]['title'].lower()}", _slot_steps(word)) for word in slots),
        Section("Close and switch on", _steps([*chosen.get("close", ()), *common["close"]])),
    ]
    tools = (*common["tools"], *chosen["tools"], *(tool for word in slots for tool in _DATA["slots"][word]["tools"]))
    return Guide(
        housing=housing,
        slot=slot,
        facing=facing,
        title=_title(chosen["title"], slot, facing),
        looks=chosen["looks"],
        tools=tools,
        sections=tuple(sections),
        never=tuple(common["never"]),
    )


def _title(housing: str, slot: str | None, facing: str | None) -> str:
    where = {None: "", "hidden": " that is hidden"}.get(facing, f" that faces {facing}")
    if slot is None and facing is None:
        return housing
    return f"{housing}, {slot or 'any'} slot{where}"


def _steps(rows: list[Mapping[str, Any]]) -> tuple[Step, ...]:
    return tuple(Step(row["text"], tuple(row["cautions"]), row.get("picture", "")) for row in rows)


def _slot_steps(word: str) -> tuple[Step, ...]:
    slot = _DATA["slots"][word]
    openings = {"release": "To take a card out later, power off first. ", "seated": "Check the seat. "}
    steps = [
        Step(openings.get(what, "") + slot[what], cautions, word if what == "open" else "")
        for what, cautions in _SLOT_STEPS.items()
    ]
    return (Step(slot["looks"]), *steps)
