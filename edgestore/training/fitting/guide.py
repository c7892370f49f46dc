"""How a card is fitted, swapped or taken out: for each housing and slot the tools, the steps and what never to do."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from edgestore.checks import one_of
from edgestore.drawings.parts import Drawing
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.training.fitting.cautions import RULE, Caution, cautions_for
from edgestore.training.fitting.language import ENGLISH, say
from edgestore.training.fitting.pictures import PICTURES, picture_key, picture_of

TYPICAL = f"These steps are typical. {RULE}"
"""Stands on every guide and on everything made from one."""

_DATA: Mapping[str, Any] = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))

WORKS = {word: work["title"] for word, work in _DATA["works"].items()}
"""The three ways through a guide, by the word that chooses one, with their titles."""

HOUSING_TITLES = {word: one["title"] for word, one in _DATA["housings"].items()}
"""What one calls each kind of housing."""

SLOTS = tuple(_DATA["slots"])
SLOT_LOOKS = {word: slot["looks"] for word, slot in _DATA["slots"].items()}
"""The kinds of slot, with what one sees."""
FACINGS = tuple(_DATA["facings"])

_BEFORE_SLOT = 2
"""Sections of a guide before the slot."""

_FACTS = ("cautions", "pictures", "needs", "gives", "ends", "asks")


@dataclass(frozen=True)
class Step:
    """One thing to do: its words in ``parts``, the keys of the cautions that apply, and the pictures that show it.

    ``needs`` is what must be so before it, ``gives`` what it makes so, ``ends`` what is no longer so. ``check`` is the
    key of the check after fitting that is done with it, ``asks`` what is noted at it; ``slot`` is the kind of slot that
    it belongs to.
    """

    parts: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    pictures: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    gives: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()
    check: str = ""
    asks: tuple[str, ...] = ()
    slot: str = ""

    @property
    def text(self) -> str:
        """All words of the step."""
        return " ".join(self.parts)

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

    ``has`` names what the housing has: clear cover, strap, lamps, motor, ball, prop; and how it is reached: ladder,
    lift. ``start`` is what is so before the first step, ``end`` what must be so after the last. ``language`` is that of
    its texts.
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
    language: str = ENGLISH

    @property
    def steps(self) -> tuple[tuple[Section, Step], ...]:
        """All steps in order, each with its section."""
        return tuple((section, step) for section in self.sections for step in section.steps)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """The cautions of all steps, each once; ``TYPICAL`` stands with them."""
        return cautions_for(key for _, step in self.steps for key in step.cautions)


def up_to_the_slot(guide: Guide) -> tuple[tuple[Section, Step], ...]:
    """Give the steps of a guide before the slot is in sight, each with its section: the same for every slot."""
    return guide.steps[: sum(len(section.steps) for section in guide.sections[:_BEFORE_SLOT])]


def slot_picture(slot: str) -> str:
    """Give the key of the picture by which one tells a kind of slot."""
    return f"slot {slot}: Open: "


def drawings(guide: Guide, step: Step) -> Sequence[Drawing]:
    """Give the drawings that stand beside a step of a guide; those of a slot as it faces."""
    return tuple(picture_of(key, guide.language) for key in picture_keys(guide, step))


def picture_keys(guide: Guide, step: Step) -> Sequence[str]:
    """Give the keys of the pictures beside a step, of :data:`edgestore.training.fitting.pictures.PICTURES`."""
    forms = (form for word in step.pictures for form in PICTURES[word])
    chosen = {"housing": guide.housing, "slot": step.slot, "facing": guide.facing or ""}
    made = (picture_key(form, **chosen) for form in forms)
    left_out = {"facing ", *(() if "clear cover" in guide.has else ("closing: What stays",))}
    return tuple(key for key in made if key not in left_out)


def guide(
    housing: str = "other",
    slot: str | None = None,
    facing: str | None = None,
    work: str = "fit",
    *,
    lift: bool | None = None,
    language: str = ENGLISH,
) -> Guide:
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
    lift : bool, optional
        Whether the camera is reached with a lift alone, as camera lists say; with a ladder or a lift when not known.
    language : str
        Language of the texts, a word of :data:`edgestore.training.fitting.language.LANGUAGES`.

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
    reached = {None: ("ladder", "lift"), True: ("lift",), False: ("ladder",)}[lift]
    common, has = _DATA["common"], (*chosen["has"], *reached)

    def steps(*rows: Mapping[str, Any], slot: str = "") -> tuple[Step, ...]:
        return tuple(_step(row, chosen["part"], work, has, slot, language) for row in rows if belongs(row, work, has))

    def of_slot(word: str) -> Section:
        kind = _DATA["slots"][word]
        form = "{work}" if slot else "If the slot is {slot}: {work}"
        title = say(form, language, slot=say(word, language), work=say(does["title"], language))
        seen = [] if slot else [{"text": kind["looks"]}]
        opened = [{**row, "first": [*seen, *facing_rows, *row.get("first", ())]} for row in kind["open"]]
        return Section(title, steps(*opened, *kind["out"], *common["take"], *kind["fit"], *kind["shut"], slot=word))

    told = [_DATA["facings"][word] for word in facings]
    faces = [{"text": face.get(work, face["text"]), "cautions": [], "needs": ["slot found"]} for face in told]
    facing_rows = [{"text": row["text"]} for row in faces] if facing else []
    before = [*common["manual"], *chosen.get("before", ()), *common["before"]]
    reach = [*chosen["open"], *common["ground"], *([] if facing else faces)]
    sections = (
        Section(say("Before you open it", language), steps(*before)),
        Section(say("Reach the slot", language), steps(*reach)),
        *map(of_slot, slots),
        Section(
            say("Close and switch on", language),
            steps(*common["close"], *chosen.get("after", ()), *common["down"]),
        ),
    )
    of_slots = (tool for word in slots for tool in _DATA["slots"][word]["tools"])
    to_see = (tool for word in facings for tool in _DATA["facings"][word]["tools"])
    tools = (*common["tools"], *does["tools"], *chosen["tools"], *of_slots, *to_see)
    back = chosen.get("back", ())
    return Guide(
        housing=housing,
        slot=slot,
        facing=facing,
        work=work,
        question=say(does["question"], language),
        title=_title(chosen["title"], slot, facing, language),
        looks=say(chosen["looks"], language),
        tools=tuple(say(tool, language) for tool in tools),
        has=has,
        sections=sections,
        never=tuple(say(row["text"], language) for row in common["never"] if belongs(row, work, has)),
        start=frozenset((*does["start"], *back)),
        end=frozenset((*does["end"], *back, *chosen.get("end", ()))),
        language=language,
    )


def _title(housing: str, slot: str | None, facing: str | None, language: str) -> str:
    if slot is None and facing is None:
        return say(housing, language)
    words = {None: "{slot} slot", "hidden": "{slot} slot that is hidden"}.get(facing, "{slot} slot that faces {facing}")
    told = {"slot": say(slot or "any", language), "facing": say(facing or "", language)}
    return f"{say(housing, language)}, {say(words, language, **told)}"


def belongs(row: Mapping[str, Any], work: str, has: Sequence[str]) -> bool:
    """Tell whether a row is for a work and for a housing that has such things."""
    return work in row.get("works", WORKS) and row.get("has") in (None, *has)


def _step(row: Mapping[str, Any], part: str, work: str, has: Sequence[str], slot: str, language: str) -> Step:
    """Make a step of a row, with the texts before and after it that belong to this work and housing."""
    rows = [each for each in (*row.get("first", ()), row, *row.get("also", ())) if belongs(each, work, has)]
    facts = {key: tuple(one for each in rows for one in each.get(key, ())) for key in _FACTS}
    told = (say(each["text"], language, part=say(part, language)) for each in rows)
    parts = tuple(text[:1].upper() + text[1:] for text in told)
    return Step(parts, check=row.get("check", ""), slot=slot, **facts)
