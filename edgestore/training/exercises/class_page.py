"""The trainer's page: class sheet, key and results, saved as files. The key is never shown: a projector may be on."""

from html import escape
from pathlib import Path

import ipywidgets as widgets

from edgestore.checks import InputError
from edgestore.output import write_whole
from edgestore.panels.table import table_html
from edgestore.panels.typed import place_to_save, typed_file, typed_folder
from edgestore.training.exercises.marks import Marks, read_marks
from edgestore.training.exercises.sheets import answer_key, class_sheet, learners, results, sheet_files

LABELLED = {"style": {"description_width": "initial"}, "layout": {"width": "auto"}}
BUTTON = {"width": "auto", "align_self": "flex-start"}
KEY_NUMBERS = 3
"""Exercises of each kind in the key."""


class ClassPage(widgets.VBox):
    """The sheets of a class.

    Attributes
    ----------
    names, file, folder : Widget
        The learners, one a line; the marks file; where sheets are saved.
    show, save : Button
        Show the results; save class sheet, key and results.
    table, said : HTML
        The results; what was saved, or what is wrong.
    """

    def __init__(self, file: Path | None = None, folder: Path | None = None) -> None:
        saved = Path(place_to_save("saved"))
        self.names = widgets.Textarea(description="Learners, one a line", rows=6, **LABELLED)
        self.file = widgets.Text(str(file or saved / "marks.jsonl"), description="Marks are kept in", **LABELLED)
        self.folder = widgets.Text(str(folder or saved / "class"), description="Save to folder", **LABELLED)
        self.show = widgets.Button(description="Show results", layout=BUTTON)
        self.save = widgets.Button(description="Save class sheet, key and results", layout=BUTTON)
        self.table, self.said = widgets.HTML(), widgets.HTML()
        self.table.add_class("edgestore-table")
        self.said.add_class("edgestore-verdict")
        buttons = widgets.Box([self.show, self.save], layout={"flex_flow": "row wrap"})
        super().__init__([self.names, self.file, self.folder, buttons, self.said, self.table])
        self.add_class("edgestore-class")
        self.show.on_click(lambda _: self._show())
        self.save.on_click(lambda _: self._save())

    def _show(self) -> None:
        try:
            read = self._marks()
        except InputError as error:
            self._refuse(error)
            return
        self.table.value = table_html(results(read))
        self.said.value = "".join(f"<p>{escape(note)}</p>" for note in read.notes) or (
            "" if read.marks else "<p>No marks are kept there yet.</p>"
        )

    def _save(self) -> None:
        try:
            names = learners(self.names.value)
            sheets = {
                "Class sheet": ("Each learner types this name and gets this seed.", class_sheet(names)),
                "Answer key": ("For the trainer alone.", answer_key(names, KEY_NUMBERS)),
                "Results": ("Right at once: first answer, without a hint.", results(self._marks())),
            }
            written = write_whole(typed_folder(self.folder.value, self.folder.description), sheet_files(sheets))
        except InputError as error:
            self._refuse(error)
            return
        self.said.value = f"<p>Saved {escape(', '.join(map(str, written)))}</p>"

    def _marks(self) -> Marks:
        return read_marks(typed_file(self.file.value, self.file.description))

    def _refuse(self, error: InputError) -> None:
        faults = "".join(f"<li>{escape(str(fault))}</li>" for fault in error.faults)
        self.said.value = f'<div role="alert"><strong>This cannot be used:</strong><ul>{faults}</ul></div>'
