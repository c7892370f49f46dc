"""Controls of a panel: numbers on a slider with a box, words to choose, files; each with its label, unit and range."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

import ipywidgets as widgets

from edgestore.checks import Fault, InputError, refuse
from edgestore.inputs.sheet import shown
from edgestore.panels.as_html import faults_html
from edgestore.panels.shared import shared
from edgestore.panels.typed import MAX_UPLOAD_BYTES, number_text, typed_number, typed_path
from edgestore.units import BYTES_PER_MB

BUTTON = {"width": "auto", "align_self": "flex-start"}
LABELLED = {"style": {"description_width": "initial"}, "layout": {"width": "auto"}}
ROW = {"margin": "0 0 10px 0"}


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
    """An input chosen from a few words; ``words`` are what the page shows for those that say too little alone."""

    name: str
    label: str
    options: Sequence[str]
    default: str
    help: str
    shown_when: tuple[str, ...] | None = None
    words: Mapping[str, str] = field(default_factory=dict)


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


ROUNDING = 1e-9
"""Share by which a slider on a page may differ from the number that it stands at."""

MOST_PASTED = 20_000
"""Letters of a pasted text (our choice): the registers of a card take some hundred, a boot log some thousand."""

Input = Number | Choice | File | Text

Held = tuple[str, tuple[str, bytes] | None]
"""What a control holds: what is typed or chosen, and the file that was handed over, if one was."""


class Control:
    """The control of one input: what it holds, and a labelled row, which is made when it is first shown."""

    def __init__(self, spec: Input) -> None:
        self.spec = spec
        self._unit = spec.unit if isinstance(spec, Number) else ""
        self._range = (spec.low, spec.high) if isinstance(spec, Number) else (0.0, 0.0)
        self._text = number_text(spec.default) if isinstance(spec, Number) else spec.default
        self._handed: tuple[str, bytes] | None = None
        self._listener: Callable[[], None] = lambda: None
        self._row: Any = None
        self._parts: list[Any] = []
        self._is_shown = True
        self.tell()

    @property
    def row(self) -> Any:
        """The row of widgets: the first has what is typed or chosen, the last the help."""
        if self._row is None:
            self._parts = _made(self)
            self._parts[0].observe(lambda change: self._hold(change["new"]), "value")
            for upload in (part for part in self._parts if isinstance(part, widgets.FileUpload)):
                upload.observe(self._take, "value")
            layout = ROW if self.spec.shown_when is None else widgets.Layout(**ROW, display=self._display)
            self._row = classed(shared(widgets.VBox, self._parts, layout=layout), "edgestore-input")
            self._show()
        return self._row

    @property
    def text(self) -> str:
        """What is typed or chosen."""
        return self._text

    @property
    def label(self) -> str:
        """Its label, with the unit."""
        return f"{self.spec.label}, {self._unit}" if self._unit else self.spec.label

    @property
    def range(self) -> tuple[float, float]:
        """The least and the greatest number that it may hold."""
        return self._range

    @property
    def value(self) -> Any:
        """The number, the word, the path, or the name and the bytes of a file that was handed over.

        A number or a path that cannot be used raises :class:`InputError`; of a row that is hidden the default is given.
        """
        if isinstance(self.spec, Choice):
            return self._text
        if isinstance(self.spec, Text):
            self.check(self._text)
            return self._text
        if isinstance(self.spec, File):
            return self._handed or typed_path(self._text, self.spec.label)
        try:
            return typed_number(self._text, self.spec.label, self._unit, *self._range)
        except InputError:
            if not self._is_shown:
                return self.spec.default
            raise

    @value.setter
    def value(self, value: Any) -> None:
        if isinstance(self.spec, Choice):
            self.check(value)
        self._hold(number_text(value) if isinstance(self.spec, Number) else value)

    @property
    def held(self) -> Held:
        """What it holds, whether it can be used or not."""
        return self._text, self._handed

    def put(self, held: Held) -> None:
        """Let it hold this."""
        text, handed = held
        self._hold(text)
        self._handed = handed  # after the text, which replaces what was handed over

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
        self._range = min(self.spec.low, value), max(self.spec.high, value)
        self._show()
        self.value = value

    def measure_in(self, unit: str) -> None:
        """Name the unit that a file states, such as its currency."""
        if unit != self._unit:
            self._unit = unit
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
        self._told = f"{why}<small>{escape(' '.join(texts))}{limit}</small>"
        self._show()

    def on_change(self, listener: Callable[[], None]) -> None:
        """Call ``listener`` after each change."""
        self._listener = listener

    def show_for(self, values: Mapping[str, Any]) -> None:
        """Show or hide the row, as the other inputs ask."""
        if self.spec.shown_when is not None:
            name, *allowed = self.spec.shown_when
            self._is_shown = values[name] in allowed
            self._show()

    @property
    def _display(self) -> str:
        return "" if self._is_shown else "none"

    def _show(self) -> None:
        """Let the row, if it is made, show what is known here."""
        if self._row is None:
            return
        box, *between, told = self._parts
        box.description, told.value = self.label, self._told
        if isinstance(self.spec, Number):
            between[0].min, between[0].max = self._range
        if self.spec.shown_when is not None:
            self._row.layout.display = self._display

    def _hold(self, text: str) -> None:
        if text == self._text:
            return
        self._text = text
        if self._row is not None:
            self._parts[0].value = text
        self._handed = None
        self._listener()

    def _take(self, change: Mapping[str, Any]) -> None:
        if change["new"]:
            self._handed = change["new"][0]["name"], bytes(change["new"][0]["content"])
            self._listener()


def _made(control: Control) -> list[Any]:
    """Give the widgets of the row: first what is typed or chosen, last the help."""
    spec, about = control.spec, {"value": control.text, "description": control.label, **LABELLED}
    told = classed(shared(widgets.HTML), "edgestore-help")
    if isinstance(spec, Choice):
        return [shared(widgets.Dropdown, options=[(spec.words.get(of, of), of) for of in spec.options], **about), told]
    if isinstance(spec, Text):
        return [shared(widgets.Textarea, continuous_update=False, rows=4, **about), told]
    box = shared(widgets.Text, continuous_update=False, **about)
    if isinstance(spec, Number):
        return [box, _slider(spec, control, box), told]
    return [box, shared(widgets.FileUpload, accept=spec.accept, description="Choose a file", layout=BUTTON), told]


def _slider(spec: Number, control: Control, box: Any) -> Any:
    """Give the slider of a box of numbers; each moves the other."""
    decimals = max(0, len(f"{spec.step:.10f}".rstrip("0").partition(".")[2]))
    low, high = control.range
    slider = shared(
        widgets.FloatSlider,
        min=low,
        max=high,
        step=spec.step,
        readout=False,
        readout_format=f".{decimals}f",
        layout=LABELLED["layout"],
    )

    def typed() -> float | None:
        try:
            return typed_number(box.value, spec.label, spec.unit, *control.range)
        except InputError:
            return None

    def from_slider(change: Mapping[str, Any]) -> None:
        value, before = round(change["new"], decimals), typed()
        if value != change["new"] and value in told:
            # Not a move: the page says back what it was told, with a rounding error, and late where the kernel is busy.
            told.remove(value)
            stand_at(value if before is None else before)
        elif before is None or abs(value - before) > 0.51 * spec.step:  # nearer, it only stands on the stop next to it
            box.value = number_text(value)

    def from_box(_: object) -> None:
        value = typed()
        if value is not None:
            stand_at(value)

    def stand_at(value: float) -> None:
        if abs(slider.value - value) > ROUNDING * abs(value):
            told.add(value)
            slider.value = value

    told: set[float] = set()
    from_box(None)
    slider.observe(from_slider, "value")
    box.observe(from_box, "value")
    return slider


def classed(widget: widgets.DOMWidget, name: str) -> Any:
    """Give a widget the name by which the page styles it."""
    widget.add_class(name)
    return widget
