"""The one frame of all panels: inputs, picture, the answer in a sentence, warnings, table, save.

A panel states its inputs as data; the frame makes the controls, runs the answer and shows it.
"""

import asyncio
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any, Protocol

import ipywidgets as widgets
import pandas as pd

from edgestore.checks import Fault, InputError
from edgestore.figures.moving import MovingFigure
from edgestore.output import write_folder, write_whole
from edgestore.panels.typed import MAX_UPLOAD_BYTES, number_text, typed_folder, typed_number, typed_path
from edgestore.plan.tables import as_csv, stamped
from edgestore.text import LONGEST_LIFE_YEARS, life
from edgestore.units import BYTES_PER_MB

NARROW = "1 1 320px"
WIDE = "2 1 640px"
BUTTON = {"width": "auto", "align_self": "flex-start"}

PAUSE_S = 0.4
"""What takes longer than a redraw may is made when no control has moved for so long."""

OLD = "edgestore-old"
"""Marks what is not yet the answer of what is typed."""

SETTINGS = "settings"
"""The input of a panel that is given a settings file."""


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
class Number:
    """An input on a slider with a number box; ``shown_when`` names another input and the values it may have."""

    name: str
    label: str
    unit: str
    low: float
    high: float
    step: float
    default: float
    help: str
    shown_when: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Choice:
    """An input chosen from a few words."""

    name: str
    label: str
    options: Sequence[str]
    default: str
    help: str
    shown_when: tuple[str, ...] | None = None


@dataclass(frozen=True)
class File:
    """An input read from a file: a path typed, or a file handed over by the browser."""

    name: str
    label: str
    default: str
    help: str
    shown_when: tuple[str, ...] | None = None
    accept: str = ".csv,.txt,.tsv,.toml"


Input = Number | Choice | File


@dataclass(frozen=True)
class Panel:
    """A question with its inputs, the function that answers it and the figure that shows the answer.

    ``stated`` reads the file of the input ``settings`` and gives the numbers that the controls start from, by name.
    Where the answer takes longer than a moved slider may, ``drawn`` gives from the same inputs what the picture shows:
    it has a ``sentence``, and is shown first; ``beside`` is a second picture of it. With ``own_folder``, the name of
    a folder, what is saved replaces it as a whole: where not every answer has the same
    tables, none of an earlier answer stays among them.
    """

    question: str
    inputs: Sequence[Input]
    answer: Callable[..., Answer]
    figure: type[MovingFigure[Any]]
    tables: Callable[[Any], Mapping[str, pd.DataFrame]] | None = None
    stated: Callable[[Any], Mapping[str, float]] | None = None
    own_folder: str = ""
    drawn: Callable[..., Any] | None = None
    beside: type[MovingFigure[Any]] | None = None

    def files(self, result: Answer, picture: bytes) -> dict[str, bytes]:
        """What is saved: the tables as CSV, by default the one on the screen, and the picture."""
        stem = self.question.rstrip("?").replace(" ", "_").lower()
        tables = self.tables(result) if self.tables else {stem: result.table}
        named = {f"{name}.csv": as_csv(stamped(table)) for name, table in tables.items()}
        return {**named, f"{stem}.png": picture}

    def write(self, result: Answer, picture: bytes, folder: Path) -> list[Path]:
        """Save the tables and the picture into a folder."""
        files = self.files(result, picture)
        return (
            write_folder(folder, files, f"the page {self.question}") if self.own_folder else write_whole(folder, files)
        )


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
    picture, sentence, remarks, table, save : Widget
        The parts of the answer.
    """

    def __init__(self, panel: Panel) -> None:
        self.panel = panel
        self.controls = {spec.name: Control(spec) for spec in panel.inputs}
        self.picture = _picture()
        self.picture_beside, self.caption = _picture(), _classed(widgets.HTML(), "edgestore-caption")
        self.sentence = _classed(widgets.HTML(), "edgestore-answer")
        self.remarks = _classed(widgets.HTML(), "edgestore-remarks")
        self.table = _classed(widgets.HTML(), "edgestore-table")
        self.folder = widgets.Text(
            value=str(Path.cwd() / (panel.own_folder or "saved")),
            description="Save to folder",
            style={"description_width": "initial"},
            layout={"width": "auto"},
        )
        self.save = widgets.Button(description="Save tables and picture", layout=BUTTON)
        self.saved = _classed(widgets.HTML(), "edgestore-saved")
        self.save.on_click(lambda _: self._save())
        self._source: Any = None
        self._stated: Mapping[str, float] = {}
        self._is_following = False
        self._figure: MovingFigure[Any] | None = None
        self._beside: MovingFigure[Any] | None = None
        self._result: Answer | None = None
        self._later: asyncio.TimerHandle | None = None
        inputs = widgets.VBox([c.row for c in self.controls.values()], layout={"flex": NARROW, "min_width": "0"})
        pictures: list[widgets.Widget] = [self.picture]
        if panel.beside:
            second = _classed(widgets.VBox([self.picture_beside, self.caption]), "edgestore-beside")
            pictures = [_classed(widgets.Box([self.picture, second]), "edgestore-pictures")]
        shown = widgets.VBox([*pictures, self.sentence, self.remarks], layout={"flex": WIDE, "min_width": "0"})
        side_by_side = widgets.Box([inputs, shown], layout={"flex_flow": "row wrap", "grid_gap": "8px 24px"})
        saving = widgets.VBox([self.folder, self.save, self.saved], layout={"max_width": "640px"})
        super().__init__([side_by_side, self.table, saving])
        self.add_class("edgestore-panel")
        for control in self.controls.values():
            control.on_change(self._moved)
        self._show()

    @property
    def result(self) -> Answer | None:
        """The answer on the screen; none while an input is refused."""
        return self._result

    def _moved(self) -> None:
        if not self._is_following:
            self._show()

    def _show(self) -> None:
        self._wait(None)
        with self._told():
            self._follow()
            values = self._values()
            if self.panel.drawn is None:
                self._answer(values)
                return
            self._draw_first(values)
            self._wait(values)

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Take the answer away where an input is refused or the program fails, and say so."""
        try:
            yield
        except InputError as error:
            self._blank(_faults(error))
        except Exception as error:
            self._fail(error)

    def _wait(self, values: Mapping[str, Any] | None) -> None:
        """Answer when no control has moved for ``PAUSE_S``, at once where nothing runs that could; for None never."""
        if self._later is not None:
            self._later.cancel()
            self._later = None
        if values is None:
            return
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            loop = None
        if loop is None or not self.table.value:  # the first answer, or after one that was refused
            self._answer(values)
        else:
            self._later = loop.call_later(PAUSE_S, self._answer_late, values)

    def _answer_late(self, values: Mapping[str, Any]) -> None:
        self._later = None
        with self._told():
            self._answer(values)

    def _follow(self) -> None:
        """Start the controls from the settings: all from a new file, those not moved from a file that changed."""
        if self.panel.stated is None:
            return
        try:
            source = self.controls[SETTINGS].value
            stated = self.panel.stated(source)
        except InputError:
            return  # told with the answer
        self._is_following = True
        for name, value in stated.items():
            if source != self._source or self.controls[name].holds(self._stated[name]):
                self.controls[name].start(value)
        self._is_following = False
        self._source, self._stated = source, stated

    def _values(self) -> dict[str, Any]:
        """Read the controls; what cannot be used is told beside each, and all together."""
        values: dict[str, Any] = {}
        faults: list[Fault] = []
        choices = {name: c.value for name, c in self.controls.items() if isinstance(c.spec, Choice)}
        for name, control in self.controls.items():
            control.show_for(choices)
            try:
                values[name] = control.value
                control.tell()
            except InputError as error:
                control.tell(error)
                faults += error.faults
        if faults:
            raise InputError(faults)
        return values

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

    def _draw(self, drawn: Any) -> None:
        if self._figure is None:
            self._figure = self.panel.figure(drawn)
        else:
            self._figure.update(drawn)
        self.picture.value = self._figure.png()
        self.picture.layout.visibility = "visible"

    def _draw_beside(self, drawn: Any) -> None:
        assert self.panel.beside is not None
        if self._beside is None:
            self._beside = self.panel.beside(drawn)
        else:
            self._beside.update(drawn)
        self.picture_beside.value = self._beside.png()
        self.picture_beside.layout.visibility = "visible"
        self.caption.value = f"<p>{escape(self._beside.alt_text())}</p>"

    def _say(self, sentence: str) -> None:
        self.sentence.value = f"<p><strong>{escape(sentence)}</strong></p>"

    def _answer(self, values: Mapping[str, Any]) -> None:
        result = self.panel.answer(**values)
        if self.panel.drawn is None:
            self._draw(result)
        elif self.panel.beside is not None and self._figure is not None:
            self._draw_beside(self._figure.result)
        table = table_html(result.table)
        self._result = result
        self._say(result.sentence)
        self.remarks.value = _remarks(result)
        self.table.value = table
        for widget in (self.remarks, self.table):
            widget.remove_class(OLD)
        self.save.disabled = False

    def _blank(self, why: str) -> None:
        """Take the answer away and say why: it is not the one of what is typed now."""
        self._result = None
        self.sentence.value = why
        self.remarks.value = self.table.value = self.saved.value = ""
        self.picture.layout.visibility = self.picture_beside.layout.visibility = "hidden"
        self.caption.value = ""
        self.save.disabled = True

    def _fail(self, error: Exception) -> None:
        """Say that the program failed; the figure, which may be half drawn, is made anew for the next answer."""
        self._figure = self._beside = None
        self._blank(failure_html(error))

    def _save(self) -> None:
        if self._result is None or self._figure is None:
            return
        try:
            folder = typed_folder(self.folder.value, self.folder.description)
            written = self.panel.write(self._result, self._figure.png(), folder)
        except InputError as error:
            self.saved.value = f'<p role="alert">{escape(str(error))}</p>'
            return
        except Exception as error:
            self._fail(error)
            return
        self.saved.value = f'<p role="status">Saved {escape(" and ".join(map(str, written)))}</p>'


class Control:
    """The control of one input: a labelled row, and its value."""

    def __init__(self, spec: Input) -> None:
        self.spec = spec
        self._truth, parts = _made(spec)
        self._help = parts[-1]
        self.row = _classed(widgets.VBox(parts, layout={"margin": "0 0 10px 0"}), "edgestore-input")
        self._handed: tuple[str, bytes] | None = None
        for upload in (part for part in parts if isinstance(part, widgets.FileUpload)):
            upload.observe(self._take, "value")
        self._listener: Callable[[], None] = lambda: None
        self.tell()

    @property
    def value(self) -> Any:
        """The number, the word, the path, or the name and the bytes of a file that was handed over.

        A number or a path that cannot be used raises :class:`InputError`; of a row that is hidden the default is given.
        """
        if isinstance(self.spec, Choice):
            return self._truth.value
        if isinstance(self.spec, File):
            return self._handed or typed_path(self._truth.value, self.spec.label)
        try:
            return typed_number(self._truth.value, self.spec.label, self.spec.unit, *self._range)
        except InputError:
            if self.row.layout.display == "none":
                return self.spec.default
            raise

    @value.setter
    def value(self, value: Any) -> None:
        self._truth.value = number_text(value) if isinstance(self.spec, Number) else value

    def holds(self, value: float) -> bool:
        """Tell whether the control stands at this number."""
        try:
            return bool(self.value == value)
        except InputError:
            return False

    def start(self, value: float) -> None:
        """Set the number that a file states; the range becomes wide enough for it."""
        assert isinstance(self.spec, Number)
        slider = self.row.children[1]
        slider.min, slider.max = min(self.spec.low, value), max(self.spec.high, value)
        self.value = value

    def tell(self, error: InputError | None = None) -> None:
        """Show the range and the help below the control, and above them why what was typed is not used."""
        texts = [self.spec.help]
        if isinstance(self.spec, Number):
            low, high = map(number_text, self._range)
            texts = [f"{low} to {high} {self.spec.unit}".rstrip() + ".", *texts]
        why = f'<p class="edgestore-refused"><strong>Not used: {escape(str(error))}</strong></p>' if error else ""
        most = f' At most <data value="{MAX_UPLOAD_BYTES}">{MAX_UPLOAD_BYTES / BYTES_PER_MB:g} MB</data> by the button.'
        limit = most if isinstance(self.spec, File) else ""
        self._help.value = f"{why}<small>{escape(' '.join(texts))}{limit}</small>"

    @property
    def _range(self) -> tuple[float, float]:
        slider = self.row.children[1]
        return slider.min, slider.max

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call ``listener`` after each change."""
        self._listener = listener
        self._truth.observe(self._changed, "value")

    def show_for(self, values: Mapping[str, Any]) -> None:
        """Show or hide the row, as the other inputs ask."""
        if self.spec.shown_when is not None:
            name, *allowed = self.spec.shown_when
            self.row.layout.display = "" if values[name] in allowed else "none"

    def _changed(self, _: object) -> None:
        self._handed = None
        self._listener()

    def _take(self, change: Mapping[str, Any]) -> None:
        if change["new"]:
            self._handed = change["new"][0]["name"], bytes(change["new"][0]["content"])
            self._listener()


def table_html(table: pd.DataFrame) -> str:
    """Give a table as HTML with short figures and escaped text."""
    lives: dict[str, Callable[[Any], str]] = {
        str(name): _life for name in table if "life_years" in str(name) and table[name].dtype.kind == "f"
    }
    html: str = table.to_html(
        index=False, border=0, float_format=lambda v: f"{v:.4g}", na_rep="", justify="left", formatters=lives
    )
    return f'<div style="overflow-x: auto">{html}</div>'


def failure_html(error: Exception) -> str:
    """Say that the program itself failed, what to do, and what to report."""
    place = traceback.extract_tb(error.__traceback__)[-1]
    what = escape(f"{type(error).__name__}: {error} ({Path(place.filename).name}, line {place.lineno})")
    return (
        '<div role="alert"><strong>There is no answer: the program failed.</strong>'
        " This is a fault of the program and not of your input. Nothing was saved."
        " Fix: set the last input back, or reload the page; if it fails again, report this text and the inputs:"
        f" <code>{what}</code></div>"
    )


def _faults(error: InputError) -> str:
    faults = "".join(f"<li>{escape(str(fault))}</li>" for fault in error.faults)
    return f'<div role="alert"><strong>This cannot be used:</strong><ul>{faults}</ul></div>'


def _life(years: float) -> str:
    return life(years) if years > LONGEST_LIFE_YEARS else f"{years:.4g}" if years == years else ""


def _remarks(result: Answer) -> str:
    parts = []
    for title, texts in (("Warnings", result.warnings), ("Assumptions", result.assumptions)):
        if texts:
            parts.append(f"<p><em>{title}</em></p><ul>{''.join(f'<li>{escape(text)}</li>' for text in texts)}</ul>")
    return "".join(parts)


def _made(spec: Input) -> tuple[Any, list[Any]]:
    """Give the widget that holds the value, and all widgets of the row."""
    if isinstance(spec, Number):
        return _number(spec)
    return _choice(spec) if isinstance(spec, Choice) else _file(spec)


def _number(spec: Number) -> tuple[Any, list[Any]]:
    unit = f", {spec.unit}" if spec.unit else ""
    box = widgets.Text(
        value=number_text(spec.default),
        description=f"{spec.label}{unit}",
        continuous_update=False,
        style={"description_width": "initial"},
        layout={"width": "auto"},
    )
    decimals = max(0, len(f"{spec.step:.10f}".rstrip("0").partition(".")[2]))
    slider = widgets.FloatSlider(
        value=spec.default,
        min=spec.low,
        max=spec.high,
        step=spec.step,
        readout=False,
        readout_format=f".{decimals}f",
        layout={"width": "auto"},
    )

    def typed() -> float | None:
        try:
            return typed_number(box.value, spec.label, spec.unit, slider.min, slider.max)
        except InputError:
            return None

    def from_slider(change: Mapping[str, Any]) -> None:
        value, before = round(change["new"], decimals), typed()
        if before is None or abs(value - before) >= spec.step / 2:
            box.value = number_text(value)

    def from_box(_: object) -> None:
        value = typed()
        if value is not None:
            slider.value = value

    slider.observe(from_slider, "value")
    box.observe(from_box, "value")
    return box, [box, slider, _help()]


def _choice(spec: Choice) -> tuple[Any, list[Any]]:
    choice = widgets.Dropdown(
        options=list(spec.options),
        value=spec.default,
        description=spec.label,
        style={"description_width": "initial"},
        layout={"width": "auto"},
    )
    return choice, [choice, _help()]


def _file(spec: File) -> tuple[Any, list[Any]]:
    path = widgets.Text(
        value=spec.default,
        description=spec.label,
        continuous_update=False,
        style={"description_width": "initial"},
        layout={"width": "auto"},
    )
    upload = widgets.FileUpload(accept=spec.accept, description="Choose a file", layout=BUTTON)
    return path, [path, upload, _help()]


def _picture() -> Any:
    picture = _classed(widgets.Image(format="png"), "edgestore-picture")
    picture.layout = widgets.Layout(max_width="100%", object_fit="contain")
    return picture


def _help() -> widgets.HTML:
    return _classed(widgets.HTML(), "edgestore-help")


def _classed(widget: widgets.DOMWidget, name: str) -> Any:
    widget.add_class(name)
    return widget
