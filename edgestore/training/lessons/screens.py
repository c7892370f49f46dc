"""The lessons: text as data, one idea a screen."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import pandas as pd

from edgestore.training.exercises.kinds import KINDS
from edgestore.training.fitting.cautions import Caution, cautions_for


@dataclass(frozen=True)
class Screen:
    """One idea: its title, some short sentences, where its facts come from, and the drawings that show it, if any."""

    title: str
    text: str
    source: str
    picture: str = ""


@dataclass(frozen=True)
class Lesson:
    """A lesson.

    Attributes
    ----------
    panel, sliders : str, tuple of str
        The panel that stands beside it, and which of its inputs; no panel when empty.
    notebook : str
        The notebook that shows more.
    exercises : tuple of str
        The kinds of exercise that follow, keys of ``KINDS``.
    cautions : tuple of Caution
        What to watch out of; shown on a screen of their own, with the rule over all.
    """

    key: str
    title: str
    goal: str
    panel: str
    sliders: tuple[str, ...]
    notebook: str
    exercises: tuple[str, ...]
    cautions: tuple[Caution, ...]
    screens: tuple[Screen, ...]

    @property
    def count(self) -> int:
        """Screens in all: the goal, one an idea, the cautions if there are any, and what to do next."""
        return len(self.screens) + 2 + bool(self.cautions)


@cache
def lessons() -> tuple[Lesson, ...]:
    """Give all lessons in order, from the data file beside this one."""
    text = files("edgestore.training.lessons").joinpath("screens.toml").read_text(encoding="utf-8")
    return tuple(
        Lesson(
            **{
                **row,
                "sliders": tuple(row["sliders"]),
                "exercises": tuple(row["exercises"]),
                "cautions": cautions_for(row["cautions"]),
                "screens": tuple(Screen(**screen) for screen in row["screens"]),
            }
        )
        for row in tomllib.loads(text)["lesson"]
    )


def lessons_table() -> pd.DataFrame:
    """Give a row for each lesson: title, goal, number of screens, exercises that follow."""
    return pd.DataFrame(
        {
            "lesson": [lesson.title for lesson in lessons()],
            "goal": [lesson.goal for lesson in lessons()],
            "screens": [lesson.count for lesson in lessons()],
            "exercises": ["; ".join(KINDS[kind].title for kind in lesson.exercises) for lesson in lessons()],
        }
    )
