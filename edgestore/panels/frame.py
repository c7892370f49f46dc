"""The one frame of all panels: inputs, picture, the answer in a sentence, warnings, table, save.

The frame makes the controls of a panel, runs its answer and shows it.
"""

import asyncio
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from html import escape
from typing import Any

import ipywidgets as widgets

from edgestore.checks import Fault, InputError
from edgestore.figures.moving import MovingFigure
from edgestore.panels.arranged import arranged, folds
from edgestore.panels.as_html import answer_html, failure_html, remarks_html, shown_and_rest
from edgestore.panels.controls import BUTTON, LABELLED, Choice, Control, File, classed
from edgestore.panels.looks import looks
from edgestore.panels.panel import Answer, Panel
from edgestore.panels.refused import blamed, refusal_html
from edgestore.panels.shared import plain_layout, shared
from edgestore.panels.state import History, SettingsLine, State, Steps
from edgestore.panels.table import table_html
from edgestore.panels.typed import place_to_save, typed_folder

PAUSE_S = 0.4
"""What takes longer than a redraw may is made when no control has moved for so long."""

OLD = "edgestore-old"
"""Marks what is not yet the answer of what is typed."""

LAST_GOOD = "edgestore-last-good"
"""Marks a panel whose answer is an earlier one, for an input is refused."""

DARK, ON_DARK = "dark", "edgestore-dark"
"""What a page says whose ground is dark, and the class of a panel whose pictures are."""

UNSEEN = {"display": "none"}

SETTINGS = "settings"
"""The input of a panel that is given a settings file."""


class Frame(widgets.VBox):
    """A panel on the screen.

    Parameters
    ----------
    panel : Panel
        What is asked, and how it is answered.

    Attributes
    ----------
    controls : dict of str to Control
        The controls by input name; setting a control's ``value`` moves the panel.
    refusal, picture, sentence, remarks, table, save : Widget
        What is not used, and the parts of the answer, which then are those of the last good settings.
    room : Text
        Width that the page has for the picture, px, and ``dark`` where its ground is; the page writes it, unseen.
    """

    def __init__(self, panel: Panel) -> None:
        self.panel = panel
        self.controls = {spec.name: Control(spec) for spec in panel.inputs}
        self.picture = _picture()
        self.refusal = classed(shared(widgets.HTML), "edgestore-refusal")
        self.sentence = classed(shared(widgets.HTML), "edgestore-answer")
        self.remarks = classed(shared(widgets.HTML), "edgestore-remarks")
        # A panel that draws first is in view before it has answered: the rest follows when the table's place is shown.
        self.table = classed(shared(widgets.HTML, _view_count=0), "edgestore-table")
        self.table.observe(self._in_view, "_view_count")
        where = place_to_save(panel.own_folder or "saved")
        self.folder = shared(widgets.Text, value=where, description="Save to folder", **LABELLED)
        self.room = classed(shared(widgets.Text, continuous_update=False, layout=UNSEEN), "edgestore-room")
        self.room.observe(self._resized, "value")
        self.save = shared(widgets.Button, description="Save tables and pictures", layout=BUTTON)
        self.saved = classed(shared(widgets.HTML), "edgestore-saved")
        self.save.on_click(lambda _: self._save())
        self._source: Any = None
        self._stated: Mapping[str, float] = {}
        self._is_following = False
        self._room_px: int | None = None
        self._is_dark = False
        self._figure: MovingFigure[Any] | None = None
        self._beside: MovingFigure[Any] | None = None
        self._result: Answer | None = None
        self._good: tuple[Any, str] | None = None
        self._later: asyncio.TimerHandle | None = None
        pictures: list[widgets.Widget] = [self.picture]
        if panel.beside:
            self.picture_beside, self.caption = _picture(), classed(shared(widgets.HTML), "edgestore-caption")
            self.picture_beside.layout.visibility = "hidden"  # until it is drawn, which may be after the first answer
            second = classed(shared(widgets.VBox, [self.picture_beside, self.caption]), "edgestore-beside")
            pictures = [classed(shared(widgets.Box, [self.picture, second]), "edgestore-pictures")]
        self._folds = folds(self.controls, panel.main)
        self.settings = SettingsLine(self.controls, self._put_back)
        self.steps = Steps(self._undo, self._reset)
        asked = [*(self.controls[name].row for name in panel.main), *self._folds.values(), self.steps]
        first = arranged([self.refusal, self.sentence, *pictures, self.room], asked, self.remarks)
        saving = shared(
            widgets.VBox, [self.folder, self.save, self.saved, self.settings], layout={"max_width": "640px"}
        )
        saving.add_class("edgestore-saving")
        super().__init__([first, self.table, saving, *looks()], layout=plain_layout())
        self.add_class("edgestore-panel")
        for control in self.controls.values():
            control.on_change(self._moved)
        self._show()
        self._history = History(self._held())
        self.steps.follow(self._history)

    @property
    def result(self) -> Answer | None:
        """The answer on the screen; none while an input is refused."""
        return self._result

    def _moved(self) -> None:
        if not self._is_following:
            self._show()
            self._note()

    def _held(self) -> State:
        return {name: control.held for name, control in self.controls.items()}

    def _note(self) -> None:
        self._history.note(self._held(), time.monotonic())
        self._history.is_accepted = not self.refusal.value
        self.steps.follow(self._history)

    def _undo(self) -> None:
        if self._history.can_undo:
            self._put(self._history.undo())

    def _reset(self) -> None:
        self._put(self._history.start)

    def _put_back(self, settings: Mapping[str, str]) -> None:
        self._put({**self._held(), **{name: (text, None) for name, text in settings.items()}})

    def _put(self, state: State) -> None:
        """Let the controls hold this: first the files, from which the others start."""
        files = {name for name in state if isinstance(self.controls[name].spec, File)}
        for names in (files, state.keys() - files):
            self._is_following = True
            for name in names:
                self.controls[name].put(state[name])
            self._is_following = False
            self._follow()
        self._show()
        self._note()

    def _show(self) -> None:
        self._wait(None)
        with self._told():
            self._follow()
            values = self._values()
            self.settings.write(values)
            if self.panel.drawn is None:
                self._answer(values)
            else:
                self._draw_first(values)
                self._wait(values)
            self._accept()

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Say what is refused, or that the program failed."""
        try:
            yield
        except InputError as error:
            self._refuse(error)
        except Exception as error:
            self._fail(error)

    def _accept(self) -> None:
        """Take back what was said of a refused input."""
        for control in self.controls.values():
            control.tell()
        self.refusal.value = ""
        self.remove_class(LAST_GOOD)

    def _refuse(self, error: InputError) -> None:
        """Say beside the controls what they hold that is not used; the answer stays that of the last good settings."""
        told = blamed(error.faults, self.controls)
        for name, control in self.controls.items():
            if name in told:
                self._unfold(control)
            control.tell(told.get(name, ()))
        self._result = None
        self.settings.write(None)
        self.saved.value = ""
        self.save.disabled = True
        labels = [self.controls[name].spec.label for name in told if name]
        has_answer = self._show_last_good()
        self.refusal.value = refusal_html(labels, told.get("", ()), has_answer=has_answer)

    def _show_last_good(self) -> bool:
        """Show the last whole answer, marked as that; give whether there is one."""
        if self._good is None or self._figure is None:
            self._blank("")
            return False
        drawn, self.sentence.value = self._good
        if self._figure.result is not drawn:
            self._draw(drawn)
            if self._beside is not None:
                self._draw_beside(drawn)
        for widget in (self.remarks, self.table):
            widget.remove_class(OLD)
        self.add_class(LAST_GOOD)
        return True

    def _wait(self, values: Mapping[str, Any] | None) -> None:
        """Answer when no control has moved for ``PAUSE_S``, at once where nothing runs that could; for None never.

        Before the panel is in view, its first answer waits for that.
        """
        if self._later is not None:
            self._later.cancel()
            self._later = None
        if values is None:
            return
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            loop = None
        if loop is None or (self.table._view_count and not self.table.value):  # the latter after a failure
            self._answer(values)
        elif self.table._view_count:
            self._later = loop.call_later(PAUSE_S, self._answer_late, values)

    def _in_view(self, change: Mapping[str, Any]) -> None:
        """Answer what was only drawn until now, when the page has told its width and its ground."""
        if change["new"] and self._result is None and self._figure is not None and self._later is None:
            with suppress(InputError):  # told already
                self._later = asyncio.get_running_loop().call_later(PAUSE_S, self._answer_late, self._values())

    def _answer_late(self, values: Mapping[str, Any]) -> None:
        self._later = None
        with self._told():
            self._answer(values)
            self._accept()
        self._history.is_accepted = not self.refusal.value

    def _follow(self) -> None:
        """Start the controls from the settings: all from a new file, those not moved from a file that changed."""
        if self.panel.stated is None:
            return
        try:
            source = self.controls[SETTINGS].value
            stated = self.panel.stated(source)
            units = self.panel.units(source) if self.panel.units else {}
        except InputError:
            return  # told with the answer
        self._is_following = True
        for name, unit in units.items():
            self.controls[name].measure_in(unit)
        for name, value in stated.items():
            if source != self._source or self.controls[name].holds(self._stated[name]):
                self.controls[name].start(value)
        self._is_following = False
        self._source, self._stated = source, stated

    def _values(self) -> dict[str, Any]:
        """Read the controls; all that cannot be used is refused together."""
        values: dict[str, Any] = {}
        faults: list[Fault] = []
        choices = {name: c.value for name, c in self.controls.items() if isinstance(c.spec, Choice)}
        for name, control in self.controls.items():
            control.show_for(choices)
            try:
                values[name] = control.value
            except InputError as error:
                faults += error.faults
        if faults:
            raise InputError(faults)
        return values

    def _unfold(self, control: Control) -> None:
        """Bring a control into view that is told about."""
        for fold in self._folds.values():
            if control in fold.controls:
                fold.unfold()

    def _draw_first(self, values: Mapping[str, Any]) -> None:
        """Show the picture and its sentence; the rest is marked as old until it is there."""
        assert self.panel.drawn is not None
        drawn = self.panel.drawn(**values)
        self._result = None
        self._draw(drawn)
        self._say(drawn.sentence)
        if self._beside is not None and self._beside.is_quick(drawn):
            self._draw_beside(drawn)
        self.save.disabled = True
        for widget in (self.remarks, self.table):
            widget.add_class(OLD)

    def _resized(self, _: object) -> None:
        """Draw the pictures for the room and the ground that the page says it has; JupyterLab says the ground alone."""
        width, _, ground = self.room.value.partition(" ")
        self._room_px, self._is_dark = (int(width) if width.isdecimal() else None), ground == DARK
        (self.add_class if self._is_dark else self.remove_class)(ON_DARK)
        if self._figure is None or self.picture.layout.visibility == "hidden":
            self._figure = self._beside = None
            return
        drawn, had_beside = self._figure.result, self._beside is not None
        self._figure = self._beside = None
        with self._told():
            self._draw(drawn)
            if had_beside:
                self._draw_beside(drawn)

    def _draw(self, drawn: Any) -> None:
        if self._figure is None:
            self._figure = self.panel.figure(drawn, self._room_px)
            self.picture.layout.width = f"{self._figure.width_px}px"
        else:
            self._figure.update(drawn)
        self.picture.value = self._figure.png(is_dark=self._is_dark)
        self.picture.layout.visibility = "visible"

    def _draw_beside(self, drawn: Any) -> None:
        assert self.panel.beside is not None
        if self._beside is None:
            self._beside = self.panel.beside(drawn, self._room_px)
            self.picture_beside.layout.width = f"{self._beside.width_px}px"
        else:
            self._beside.update(drawn)
        self.picture_beside.value = self._beside.png(is_dark=self._is_dark)
        self.picture_beside.layout.visibility = "visible"
        self.caption.value = f"<p>{escape(self._beside.alt_text())}</p>"

    def _say(self, sentence: str) -> None:
        self.sentence.value = answer_html(sentence)

    def _answer(self, values: Mapping[str, Any]) -> None:
        result = self.panel.answer(**values)
        if self.panel.drawn is None:
            self._draw(result)
        elif self.panel.beside is not None and self._figure is not None:
            self._draw_beside(self._figure.result)
        table = table_html(result.table, note=self.panel.note(result))
        self._result = result
        self._say(result.sentence)
        self.remarks.value = remarks_html(result.warnings, result.assumptions, shown_and_rest(result.sentence)[1])
        self.table.value = table
        for widget in (self.remarks, self.table):
            widget.remove_class(OLD)
        self.save.disabled = False
        assert self._figure is not None
        self._good = self._figure.result, self.sentence.value

    def _blank(self, why: str) -> None:
        """Take the answer away and say why: it is not the one of what is typed now."""
        self.remove_class(LAST_GOOD)
        self._result = None
        self.settings.write(None)
        self.sentence.value = why
        self.remarks.value = self.table.value = self.saved.value = ""
        self.picture.layout.visibility = "hidden"
        if self.panel.beside:
            self.picture_beside.layout.visibility, self.caption.value = "hidden", ""
        self.save.disabled = True

    def _fail(self, error: Exception) -> None:
        """Say that the program failed; the figure, which may be half drawn, is made anew for the next answer."""
        self._figure = self._beside = self._good = None
        self.refusal.value = ""
        self._blank(failure_html(error))

    def _save(self) -> None:
        if self._result is None or self._figure is None:
            return
        try:
            folder = typed_folder(self.folder.value, self.folder.description)
            shown = [figure for figure in (self._figure, self._beside) if figure is not None]
            wide = [type(figure)(figure.result) if figure.is_narrow else figure for figure in shown]
            written = self.panel.write(self._result, wide, folder)
        except InputError as error:
            self.saved.value = f'<p role="alert">{escape(str(error))}</p>'
            return
        except Exception as error:
            self._fail(error)
            return
        self.saved.value = f'<p role="status">Saved {escape(" and ".join(map(str, written)))}</p>'


def _picture() -> Any:
    layout = widgets.Layout(max_width="100%", object_fit="contain")
    return classed(widgets.Image(format="png", layout=layout), "edgestore-picture")
