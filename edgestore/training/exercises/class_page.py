"""The trainer's page: sheets, files of exercises, and results. The key is never shown: a projector may be on."""

from collections.abc import Sequence
from html import escape
from pathlib import Path

import ipywidgets as widgets
import pandas as pd

from edgestore.checks import InputError
from edgestore.output import write_whole
from edgestore.panels.shared import shared
from edgestore.panels.table import table_html
from edgestore.panels.typed import place_to_save, typed_file, typed_folder
from edgestore.plain_file import plain_file
from edgestore.training.exercises.assessment import assessment_page
from edgestore.training.exercises.class_results import by_question, gains, in_round, missing
from edgestore.training.exercises.codes import MOST_CODES_CHARACTERS, marks_of_codes
from edgestore.training.exercises.marks import Marks, read_marks
from edgestore.training.exercises.offline import offline_files
from edgestore.training.exercises.rounds import ROUNDS
from edgestore.training.exercises.sheets import answer_key, class_sheet, learners, results, sheet_files

LABELLED = {"style": {"description_width": "initial"}, "layout": {"width": "auto"}}
BUTTON = {"width": "auto", "align_self": "flex-start"}
EACH = "Results"
BY_QUESTION = {
    "practice": "By question",
    "before": "By question before the course",
    "after": "By question after the course",
}
KEY_NUMBERS = 3
"""Exercises of each kind in the key."""


class ClassPage(widgets.VBox):
    """The sheets of a class.

    Attributes
    ----------
    names, file, codes, codes_file, folder, round : Widget
        The learners, one a line; the marks file; result codes, pasted or in a file; where sheets are saved; which round
        of exercises is given out as files.
    show, save, give_out : Button
        Show the results; save all sheets; save a file of exercises for each learner.
    table, said : HTML
        The results; what was saved, or what is wrong.
    """

    def __init__(self, file: Path | None = None, folder: Path | None = None) -> None:
        saved = Path(place_to_save("saved"))
        self.names = shared(widgets.Textarea, description="Learners, one a line", rows=6, **LABELLED)
        self.file = shared(
            widgets.Text, str(file or saved / "marks.jsonl"), description="Marks are kept in", **LABELLED
        )
        self.codes = shared(widgets.Textarea, description="Result codes handed in", rows=4, **LABELLED)
        self.codes_file = shared(widgets.Text, description="Or a text file with codes", **LABELLED)
        self.round = shared(
            widgets.Dropdown,
            options=[(about.title, key) for key, about in ROUNDS.items()],
            description="Files of",
            **LABELLED,
        )
        self.folder = shared(widgets.Text, str(folder or saved / "class"), description="Save to folder", **LABELLED)
        self.show = shared(widgets.Button, description="Show results", layout=BUTTON)
        self.save = shared(widgets.Button, description="Save class sheet, key and results", layout=BUTTON)
        self.give_out = shared(widgets.Button, description="Save a file for each learner", layout=BUTTON)
        self.table, self.said = shared(widgets.HTML), shared(widgets.HTML)
        self.table.add_class("edgestore-table")
        self.said.add_class("edgestore-verdict")
        buttons = shared(widgets.Box, [self.show, self.save], layout={"flex_flow": "row wrap"})
        files = shared(widgets.Box, [self.round, self.give_out], layout={"flex_flow": "row wrap"})
        boxes = [self.names, self.file, self.codes, self.codes_file, self.folder]
        super().__init__([*boxes, buttons, files, self.said, self.table])
        self.add_class("edgestore-class")
        self.show.on_click(lambda _: self._show())
        self.save.on_click(lambda _: self._save())
        self.give_out.on_click(lambda _: self._give_out())

    def _show(self) -> None:
        try:
            names = learners(self.names.value) if self.names.value.strip() else ()
            read = self._marks(names)
        except InputError as error:
            self._refuse(error)
            return
        absent = missing(read, names)
        notes = [*read.notes, *filter(None, [absent])] if read.marks else [*read.notes, "No marks are kept there yet."]
        self.said.value = "".join(f"<p>{escape(note)}</p>" for note in notes)
        tables = {about: table for about, (_, table) in _results(read, names).items() if len(table)}
        self.table.value = "".join(_shown(about, table) for about, table in tables.items())

    def _save(self) -> None:
        try:
            names = learners(self.names.value)
            sheets = {
                "Class sheet": ("Each learner types this name and gets this seed.", class_sheet(names)),
                "Answer key": ("For the trainer alone.", answer_key(names, KEY_NUMBERS)),
                **_results(self._marks(names), names),
            }
            files = sheet_files(sheets) | {"assessment_sheet.html": assessment_page().encode()}
            written = write_whole(self._folder(), files)
        except InputError as error:
            self._refuse(error)
            return
        self._saved(written)

    def _give_out(self) -> None:
        try:
            names = learners(self.names.value)
            written = write_whole(self._folder(), offline_files(names, self.round.value))
        except InputError as error:
            self._refuse(error)
            return
        self._saved(written)

    def _folder(self) -> Path:
        return typed_folder(self.folder.value, self.folder.description)

    def _saved(self, written: list[Path]) -> None:
        self.said.value = f"<p>Saved {escape(', '.join(map(str, written)))}</p>"

    def _marks(self, names: Sequence[str]) -> Marks:
        """Marks of the file and of the codes; those of the file first."""
        kept = read_marks(typed_file(self.file.value, self.file.description))
        handed = marks_of_codes(self._codes(), names)
        return Marks((*kept.marks, *handed.marks), (*kept.notes, *handed.notes))

    def _codes(self) -> str:
        if not self.codes_file.value.strip():
            return str(self.codes.value)
        file = typed_file(self.codes_file.value, self.codes_file.description)
        content = plain_file(file, str(file), MOST_CODES_CHARACTERS, "a text file with codes", "Name the file.")
        return f"{self.codes.value}\n{content.decode(errors='replace')}"

    def _refuse(self, error: InputError) -> None:
        faults = "".join(f"<li>{escape(str(fault))}</li>" for fault in error.faults)
        self.said.value = f'<div role="alert"><strong>This cannot be used:</strong><ul>{faults}</ul></div>'


def _shown(title: str, table: pd.DataFrame) -> str:
    """A table below its title, open to see but for the long one of each learner and question."""
    is_open = "" if title == EACH else " open"
    return f"<details{is_open}><summary>{escape(title)}</summary>{table_html(table, title)}</details>"


def _results(marks: Marks, names: Sequence[str]) -> dict[str, tuple[str, pd.DataFrame]]:
    """All results, by title: a note, and the table."""
    note = "Known mistakes: learners who made each, of those who answered."
    of_round = {title: in_round(marks, key) for key, title in BY_QUESTION.items()}
    questions = {title: (note, by_question(some, names)) for title, some in of_round.items() if some.marks}
    gained = "Right answers before and after the course. Gain: what was gained of what there was to gain (Hake, 1998)."
    return {
        **questions,
        "Before and after": (gained, gains(marks)),
        EACH: ("Right at once: first answer, without a hint.", results(marks)),
    }
