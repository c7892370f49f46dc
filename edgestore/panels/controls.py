"""Controls of a panel: numbers on a slider with a box, words to choose, files; each with its label, unit and range."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

import ipywidgets as widgets

from edgestore.checks import Fault, InputError, refuse
from edgestore.inputs.sheet import shown
from edgestore.panels.as_html import faults_html
from edgestore.panels.typed import MAX_UPLOAD_BYTES, number_text, typed_number, typed_path
from edgestore.units import BYTES_PER_MB

BUTTON = {"width": "auto", "align_self": "flex-start"}


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
    accept: str = ".csv,.txt,.tsv,.xlsx,.ods,.toml"


@dataclass(frozen=True)
class Text:
    """A text of several lines that is pasted, of at most ``MOST_PASTED`` letters."""

    name: str
    label: str
    default: str
    help: str
    shown_when: tuple[str, ...] | None = None


MOST_PASTED = 20_000
"""Letters of a pasted text (our choice): the registers of a card take some hundred, a boot log some thousand."""

Input = Number | Choice | File | Text

Held = tuple[str, tuple[str, bytes] | None]
"""What a control holds: what is typed or chosen, and the file that was handed over, if one was."""


class Control:
    """The control of one input: a labelled row, and its value."""

    def __init__(self, spec: Input) -> None:
        self.spec = spec
        self._unit = spec.unit if isinstance(spec, Number) else ""
        self._truth, parts = _made(spec)
        self._help = parts[-1]
        self.row = classed(widgets.VBox(parts, layout={"margin": "0 0 10px 0"}), "edgestore-input")
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
        if isinstance(self.spec, Text):
            self.check(self._truth.value)
            return self._truth.value
        if isinstance(self.spec, File):
            return self._handed or typed_path(self._truth.value, self.spec.label)
        try:
            return typed_number(self._truth.value, self.spec.label, self._unit, *self._range)
        except InputError:
            if self.row.layout.display == "none":
                return self.spec.default
            raise

    @value.setter
    def value(self, value: Any) -> None:
        self._truth.value = number_text(value) if isinstance(self.spec, Number) else value

    @property
    def held(self) -> Held:
        """What it holds, whether it can be used or not."""
        return self._truth.value, self._handed

    def put(self, held: Held) -> None:
        """Let it hold this."""
        self._truth.value, self._handed = held  # in this order: what is typed replaces what was handed over

    def check(self, text: str) -> None:
        """Refuse a text that the control could not hold."""
        spec = self.spec
        if isinstance(spec, Number):
            typed_number(text, spec.label, self._unit, *self._range)
        elif isinstance(spec, File):
            typed_path(text, spec.label)
        elif isinstance(spec, Text):
            if len(text) > MOST_PASTED:
                raise refuse(spec.label, f"{len(text)} letters", f"at most {MOST_PASTED}", "Paste the registers alone.")
        elif text not in spec.options:
            raise refuse(spec.label, shown(text), ", ".join(spec.options), "Choose one of these.")

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

    def measure_in(self, unit: str) -> None:
        """Name the unit that a file states, such as its currency."""
        if unit != self._unit:
            self._unit = unit
            self._truth.description = _named(self.spec.label, unit)
            self.tell()

    def tell(self, faults: Sequence[Fault] = ()) -> None:
        """Show the range and the help below the control, and above them why what it holds is not used."""
        texts = [self.spec.help]
        if isinstance(self.spec, Number):
            low, high = map(number_text, self._range)
            texts = [f"{low} to {high} {self._unit}".rstrip() + ".", *texts]
        why = faults_html(faults) if faults else ""
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


def _made(spec: Input) -> tuple[Any, list[Any]]:
    """Give the widget that holds the value, and all widgets of the row."""
    if isinstance(spec, Number):
        return _number(spec)
    if isinstance(spec, Text):
        return _text(spec)
    return _choice(spec) if isinstance(spec, Choice) else _file(spec)


def _number(spec: Number) -> tuple[Any, list[Any]]:
    box = widgets.Text(
        value=number_text(spec.default),
        description=_named(spec.label, spec.unit),
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
        if before is None or abs(value - before) > 0.51 * spec.step:  # nearer, it only stands on the stop next to it
            box.value = number_text(value)

    def from_box(_: object) -> None:
        value = typed()
        if value is not None:
            slider.value = value

    slider.observe(from_slider, "value")
    box.observe(from_box, "value")
    return box, [box, slider, _help()]


def _named(label: str, unit: str) -> str:
    return f"{label}, {unit}" if unit else label


def _choice(spec: Choice) -> tuple[Any, list[Any]]:
    choice = widgets.Dropdown(
        options=list(spec.options),
        value=spec.default,
        description=spec.label,
        style={"description_width": "initial"},
        layout={"width": "auto"},
    )
    return choice, [choice, _help()]


def _text(spec: Text) -> tuple[Any, list[Any]]:
    text = widgets.Textarea(
        value=spec.default,
        description=spec.label,
        continuous_update=False,
        rows=4,
        style={"description_width": "initial"},
        layout={"width": "auto"},
    )
    return text, [text, _help()]


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


def _help() -> widgets.HTML:
    return classed(widgets.HTML(), "edgestore-help")


def classed(widget: widgets.DOMWidget, name: str) -> Any:
    """Give a widget the name by which the page styles it."""
    widget.add_class(name)
    return widget
