"""The lessons as data: each idea asks, lets the class vote, then tells; what it shows, and what the trainer says."""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

import pandas as pd

from edgestore.checks import one_of
from edgestore.training.exercises.kinds import KINDS
from edgestore.training.fitting.cautions import Caution, cautions_for

ON_THE_GROUND = ("records", "hours", "speed", "endurance", "motion", "backup", "choose", "setup")
ORDER = (*ON_THE_GROUND, "fit", "prove", "upkeep", "evidence")
"""The lessons by the name of their file in ``texts``."""

CAUTION_WORDS = 75
"""Words of cautions that fit a screen in letters of a twenty-fifth of its height."""

Say = Callable[[str], str]
"""Gives a text in the reader's language."""


@dataclass(frozen=True)
class Answer:
    """One answer to vote for; of a wrong one ``mistake`` names what led to it, and the right one has none."""

    text: str
    mistake: str = ""

    @property
    def is_right(self) -> bool:
        """Whether it is the right one."""
        return not self.mistake


@dataclass(frozen=True)
class Note:
    """What the trainer says, what the class usually answers, and how long the screen takes, minutes."""

    ask: str
    usual: str
    minutes: int


@dataclass(frozen=True)
class Visual:
    """What a screen shows in numbers.

    Attributes
    ----------
    shows : str
        What is worked out, a name in ``quantities.QUANTITIES``.
    given : mapping
        Its inputs, which are those of the text.
    slider : str
        The one input that moves, from ``low`` to ``high`` by ``step``; none when empty.
    """

    shows: str
    given: Mapping[str, Any]
    slider: str = ""
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0


@dataclass(frozen=True)
class Screen:
    """One idea: a question with its answers, some short sentences that tell it, their source, and what it shows.

    ``picture`` names up to two drawings by the keys of ``fitting.pictures``, ``log`` is a table of rows, ``visual`` is
    worked out by the library; at most one. ``cautions`` are those that follow it, as many as fit a screen each.
    """

    title: str
    question: str
    answers: tuple[Answer, ...]
    text: str
    source: str
    note: Note
    picture: tuple[str, ...] = ()
    visual: Visual | None = None
    log: tuple[tuple[str, ...], ...] = ()
    cautions: tuple[tuple[Caution, ...], ...] = ()


@dataclass(frozen=True)
class Page:
    """One page of a lesson: its screen's number, from 1, and an idea, asked or answered, or cautions, or neither."""

    number: int
    screen: Screen | None = None
    is_answered: bool = False
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True)
class Lesson:
    """A lesson.

    Attributes
    ----------
    notebook : str
        The notebook that shows more.
    exercises : tuple of str
        The kinds of exercise that follow, keys of ``KINDS``.
    last_cautions : tuple of tuple of Caution
        What to watch out for in all of it, as many as fit a screen each; shown with the rule over all.
    """

    key: str
    title: str
    goal: str
    notebook: str
    exercises: tuple[str, ...]
    screens: tuple[Screen, ...]
    last_cautions: tuple[tuple[Caution, ...], ...] = field(default=())

    @property
    def pages(self) -> tuple[Page, ...]:
        """Its pages in order: the goal, each idea asked, then answered, then its cautions; last, what to do next."""
        pages = [Page(1)]
        for screen in self.screens:
            number = pages[-1].number + 1
            pages += [Page(number, screen), Page(number, screen, is_answered=True)]
            pages += _cautioned(screen.cautions, number)
        pages += _cautioned(self.last_cautions, pages[-1].number)
        return (*pages, Page(pages[-1].number + 1))

    @property
    def cautions(self) -> tuple[tuple[Caution, ...], ...]:
        """All that is to be watched out for, a screen each."""
        return tuple(page.cautions for page in self.pages if page.cautions)

    @property
    def count(self) -> int:
        """Screens in all: the goal, one an idea, those of the cautions, and what to do next."""
        return self.pages[-1].number

    @property
    def minutes(self) -> int:
        """How long its ideas take."""
        return sum(screen.note.minutes for screen in self.screens)


def _cautioned(parts: tuple[tuple[Caution, ...], ...], after: int) -> list[Page]:
    return [Page(number, cautions=part) for number, part in enumerate(parts, start=after + 1)]


def lessons(say: Say = str) -> tuple[Lesson, ...]:
    """Give all lessons in order, from the data files beside this one.

    Parameters
    ----------
    say : callable
        Gives each text in another language; as it stands when left out.

    Returns
    -------
    tuple of Lesson
        The lessons.
    """
    return tuple(_lesson(key, say) for key in ORDER)


def words(say: Say = str) -> dict[str, str]:
    """Give the words of the page and of what is shown by key, in the language of ``say``."""
    return {key: say(text) for key, text in _read("words").items()}


@cache
def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files("edgestore.training.lessons").joinpath(f"texts/{name}.toml").read_text(encoding="utf-8"))


def _lesson(key: str, say: Say) -> Lesson:
    row = _read(key)
    for kind in row["exercises"]:
        one_of("kind", kind, KINDS)
    return Lesson(
        key=key,
        title=say(row["title"]),
        goal=say(row["goal"]),
        notebook=row["notebook"],
        exercises=tuple(row["exercises"]),
        screens=tuple(_screen(screen, say) for screen in row["screen"]),
        last_cautions=_parted(cautions_for(row["cautions"])),
    )


def _screen(row: Mapping[str, Any], say: Say) -> Screen:
    note = row["note"]
    return Screen(
        title=say(row["title"]),
        question=say(row["question"]),
        answers=tuple(Answer(*map(say, answer)) for answer in row["answers"]),
        text=say(row["text"]),
        source=say(row["source"]),
        note=Note(say(note["ask"]), say(note["usual"]), note["minutes"]),
        picture=tuple(row.get("picture", ())),
        visual=Visual(**row["visual"]) if "visual" in row else None,
        log=tuple(tuple(map(say, line)) for line in row.get("log", ())),
        cautions=_parted(cautions_for(row.get("cautions", ()))),
    )


def _parted(cautions: tuple[Caution, ...]) -> tuple[tuple[Caution, ...], ...]:
    """Part the cautions into screens, in their order."""
    parts: list[list[Caution]] = []
    for caution in cautions:
        if not parts or sum(len(c.text.split()) for c in (*parts[-1], caution)) > CAUTION_WORDS:
            parts.append([])
        parts[-1].append(caution)
    return tuple(map(tuple, parts))


def lessons_table() -> pd.DataFrame:
    """Give a row for each lesson: title, goal, number of screens, minutes, exercises that follow."""
    return pd.DataFrame(
        {
            "lesson": [lesson.title for lesson in lessons()],
            "goal": [lesson.goal for lesson in lessons()],
            "screens": [lesson.count for lesson in lessons()],
            "minutes": [lesson.minutes for lesson in lessons()],
            "exercises": ["; ".join(KINDS[kind].title for kind in lesson.exercises) for lesson in lessons()],
        }
    )
