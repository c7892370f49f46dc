"""The one frame of all panels: inputs, picture, the answer in a sentence, warnings, table, save.

A panel states its inputs as data; the frame makes the controls, runs the answer and shows it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any, Protocol

import ipywidgets as widgets
import pandas as pd

from edgestore.checks import InputError
from edgestore.figures.moving import MovingFigure
from edgestore.output import write_whole
from edgestore.planning.files import as_csv

NARROW = "1 1 320px"
WIDE = "2 1 640px"
BUTTON = {"width": "auto", "align_self": "flex-start"}


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
    """An input on a slider with a number box; ``shown_when`` names another input and the value it must have."""

    name: str
    label: str
    unit: str
    low: float
    high: float
    step: float
    default: float
    help: str
    shown_when: tuple[str, str] | None = None


@dataclass(frozen=True)
class Choice:
    """An input chosen from a few words."""

    name: str
    label: str
    options: Sequence[str]
    default: str
    help: str
    shown_when: tuple[str, str] | None = None


@dataclass(frozen=True)
class File:
    """An input read from a file: a path typed, or a file handed over by the browser."""

    name: str
    label: str
    default: str
    help: str
    shown_when: tuple[str, str] | None = None
    accept: str = ".csv,.txt,.tsv,.toml"


Input = Number | Choice | File


@dataclass(frozen=True)
class Panel:
    """A question with its inputs, the function that answers it and the figure that shows the answer."""

    question: str
    inputs: Sequence[Input]
    answer: Callable[..., Answer]
    figure: type[MovingFigure[Any]]
    tables: Callable[[Any], Mapping[str, pd.DataFrame]] | None = None

    def files(self, result: Answer, picture: bytes) -> dict[str, bytes]:
        """What is saved: the tables as CSV, by default the one on the screen, and the picture."""
        stem = self.question.rstrip("?").replace(" ", "_").lower()
        tables = self.tables(result) if self.tables else {stem: result.table}
        named = {f"{name}.csv": as_csv(table) for name, table in tables.items()}
        return {**named, f"{stem}.png": picture}


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
        self.picture = _classed(widgets.Image(format="png"), "edgestore-picture")
        self.picture.layout = widgets.Layout(max_width="100%", object_fit="contain")
        self.sentence = _classed(widgets.HTML(), "edgestore-answer")
        self.remarks = _classed(widgets.HTML(), "edgestore-remarks")
        self.table = _classed(widgets.HTML(), "edgestore-table")
        self.folder = widgets.Text(
            value=str(Path.cwd() / "saved"),
            description="Save to folder",
            style={"description_width": "initial"},
            layout={"width": "auto"},
        )
        self.save = widgets.Button(description="Save tables and picture", layout=BUTTON)
        self.saved = _classed(widgets.HTML(), "edgestore-saved")
        self.save.on_click(lambda _: self._save())
        self._figure: MovingFigure[Any] | None = None
        self._result: Answer | None = None
        inputs = widgets.VBox([c.row for c in self.controls.values()], layout={"flex": NARROW, "min_width": "0"})
        shown = widgets.VBox([self.picture, self.sentence, self.remarks], layout={"flex": WIDE, "min_width": "0"})
        side_by_side = widgets.Box([inputs, shown], layout={"flex_flow": "row wrap", "grid_gap": "8px 24px"})
        saving = widgets.VBox([self.folder, self.save, self.saved], layout={"max_width": "640px"})
        super().__init__([side_by_side, self.table, saving])
        self.add_class("edgestore-panel")
        for control in self.controls.values():
            control.on_change(self._show)
        self._show()

    @property
    def result(self) -> Answer | None:
        """The answer on the screen; none while an input is refused."""
        return self._result

    def _show(self) -> None:
        values = {name: control.value for name, control in self.controls.items()}
        for control in self.controls.values():
            control.show_for(values)
        try:
            result = self.panel.answer(**values)
        except InputError as error:
            self._refuse(error)
            return
        self._result = result
        if self._figure is None:
            self._figure = self.panel.figure(result)
        else:
            self._figure.update(result)
        self.picture.value = self._figure.png()
        self.picture.layout.visibility = "visible"
        self.sentence.value = f"<p><strong>{escape(result.sentence)}</strong></p>"
        self.remarks.value = _remarks(result)
        self.table.value = table_html(result.table)
        self.save.disabled = False

    def _refuse(self, error: InputError) -> None:
        self._result = None
        faults = "".join(f"<li>{escape(str(fault))}</li>" for fault in error.faults)
        self.sentence.value = f'<div role="alert"><strong>This cannot be used:</strong><ul>{faults}</ul></div>'
        self.remarks.value = self.table.value = ""
        self.picture.layout.visibility = "hidden"
        self.save.disabled = True

    def _save(self) -> None:
        if self._result is None or self._figure is None:
            return
        try:
            written = write_whole(Path(self.folder.value), self.panel.files(self._result, self._figure.png()))
        except InputError as error:
            self.saved.value = f'<p role="alert">{escape(str(error))}</p>'
            return
        self.saved.value = f'<p role="status">Saved {escape(" and ".join(map(str, written)))}</p>'


class Control:
    """The control of one input: a labelled row, and its value."""

    def __init__(self, spec: Input) -> None:
        self.spec = spec
        self._truth, parts = _made(spec)
        self.row = _classed(widgets.VBox(parts, layout={"margin": "0 0 10px 0"}), "edgestore-input")
        self._handed: tuple[str, bytes] | None = None
        for upload in (part for part in parts if isinstance(part, widgets.FileUpload)):
            upload.observe(self._take, "value")
        self._listener: Callable[[], None] = lambda: None

    @property
    def value(self) -> Any:
        """The number, the word, the path, or the name and the bytes of a file that was handed over."""
        return self._handed or self._truth.value

    @value.setter
    def value(self, value: Any) -> None:
        self._truth.value = value

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call ``listener`` after each change."""
        self._listener = listener
        self._truth.observe(self._changed, "value")

    def show_for(self, values: Mapping[str, Any]) -> None:
        """Show or hide the row, as the other inputs ask."""
        if self.spec.shown_when is not None:
            name, value = self.spec.shown_when
            self.row.layout.display = "" if values[name] == value else "none"

    def _changed(self, _: object) -> None:
        self._handed = None
        self._listener()

    def _take(self, change: Mapping[str, Any]) -> None:
        if change["new"]:
            self._handed = change["new"][0]["name"], bytes(change["new"][0]["content"])
            self._listener()


def table_html(table: pd.DataFrame) -> str:
    """Give a table as HTML with short figures and escaped text."""
    html: str = table.to_html(index=False, border=0, float_format=lambda v: f"{v:.4g}", na_rep="", justify="left")
    return f'<div style="overflow-x: auto">{html}</div>'


def _remarks(result: Answer) -> str:
    parts = []
    for title, texts in (("Take care", result.warnings), ("Assumed", result.assumptions)):
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
    box = widgets.BoundedFloatText(
        value=spec.default,
        min=spec.low,
        max=spec.high,
        step=spec.step,
        description=f"{spec.label}{unit}",
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

    def from_slider(change: Mapping[str, Any]) -> None:
        value = round(change["new"], decimals)
        if abs(value - box.value) >= spec.step / 2:
            box.value = value

    def from_box(change: Mapping[str, Any]) -> None:
        slider.value = change["new"]

    slider.observe(from_slider, "value")
    box.observe(from_box, "value")
    return box, [
        box,
        slider,
        _help(f"{spec.low:g} to {spec.high:g}{' ' + spec.unit if spec.unit else ''}. {spec.help}"),
    ]


def _choice(spec: Choice) -> tuple[Any, list[Any]]:
    choice = widgets.Dropdown(
        options=list(spec.options),
        value=spec.default,
        description=spec.label,
        style={"description_width": "initial"},
        layout={"width": "auto"},
    )
    return choice, [choice, _help(spec.help)]


def _file(spec: File) -> tuple[Any, list[Any]]:
    path = widgets.Text(
        value=spec.default,
        description=spec.label,
        continuous_update=False,
        style={"description_width": "initial"},
        layout={"width": "auto"},
    )
    upload = widgets.FileUpload(accept=spec.accept, description="Choose a file", layout=BUTTON)
    return path, [path, upload, _help(spec.help)]


def _help(text: str) -> widgets.HTML:
    return _classed(widgets.HTML(f"<small>{escape(text)}</small>"), "edgestore-help")


def _classed(widget: widgets.DOMWidget, name: str) -> Any:
    widget.add_class(name)
    return widget
