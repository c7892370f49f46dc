"""What a panel is: a question, its inputs as data, the function that answers it, and the figure that shows it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import pandas as pd

from edgestore.figures.moving import MovingFigure
from edgestore.output import write_folder, write_whole
from edgestore.panels.controls import Input
from edgestore.plan.tables import as_csv, stamped


class Answer(Protocol):
    """What a panel shows."""

    @property
    def sentence(self) -> str:
        """The answer in one sentence."""

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the answer rests on."""

    @property
    def warnings(self) -> tuple[str, ...]:
        """What to be careful about."""

    @property
    def table(self) -> pd.DataFrame:
        """The answer in figures."""


@dataclass(frozen=True)
class Panel:
    """A question with its inputs, the function that answers it and the figure that shows the answer.

    ``main`` names the two or three inputs that decide most; the others are folded. ``stated`` reads the file of the
    input ``settings`` and gives the numbers that the controls start from, by name, ``units`` the units that it states.
    Where the answer takes longer than a moved slider may, ``drawn`` gives from the same inputs what the picture shows:
    it has a ``sentence``, and is shown first; ``beside`` is a second picture of it. ``others`` gives further files that
    are saved, by name; ``note`` what stands above the table, once for all its rows. With ``own_folder``, the name of
    a folder, what is saved replaces it as a whole: where not every answer has the same
    tables, none of an earlier answer stays among them.
    """

    question: str
    inputs: Sequence[Input]
    main: Sequence[str]
    answer: Callable[..., Answer]
    figure: type[MovingFigure[Any]]
    tables: Callable[[Any], Mapping[str, pd.DataFrame]] | None = None
    note: Callable[[Any], str] = lambda _: ""
    stated: Callable[[Any], Mapping[str, float]] | None = None
    units: Callable[[Any], Mapping[str, str]] | None = None
    own_folder: str = ""
    drawn: Callable[..., Any] | None = None
    beside: type[MovingFigure[Any]] | None = None
    others: Callable[[Any], Mapping[str, bytes]] | None = None

    def files(self, result: Answer, pictures: Sequence[MovingFigure[Any]]) -> dict[str, bytes]:
        """What is saved: the tables as CSV, by default the one on the screen, and the pictures as PNG and SVG."""
        stem = self.question.rstrip("?").replace(" ", "_").lower()
        tables = self.tables(result) if self.tables else {stem: result.table}
        named = {f"{name}.csv": as_csv(stamped(table)) for name, table in tables.items()}
        for figure, name in zip(pictures, (stem, f"{stem}_beside"), strict=False):
            named |= {f"{name}.png": figure.png(), f"{name}.svg": figure.svg()}
        return named | dict(self.others(result) if self.others else {})

    def write(self, result: Answer, pictures: Sequence[MovingFigure[Any]], folder: Path) -> list[Path]:
        """Save the tables and the pictures into a folder."""
        files = self.files(result, pictures)
        return (
            write_folder(folder, files, f"the page {self.question}") if self.own_folder else write_whole(folder, files)
        )
