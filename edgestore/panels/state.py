"""What the controls of a panel stand at: to undo a change, to reset all, to copy as a line of text and to put back."""

from collections import deque
from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import parse_qsl, quote, urlencode

import ipywidgets as widgets

from edgestore.checks import Fault, InputError, refuse
from edgestore.inputs.sheet import shown
from edgestore.panels.as_html import faults_html
from edgestore.panels.controls import BUTTON, LABELLED, Control, File, Held, Number, classed
from edgestore.panels.shared import plain_layout, shared
from edgestore.panels.typed import number_text

State = Mapping[str, Held]
"""What each control holds, by name."""

TOGETHER_S = 1.0
"""Moves of one control that follow each other sooner are one change, such as a slider that is dragged."""

MOST_KEPT = 100
"""So many changes can be undone."""

COPY = "Copy the settings"
HOW = (
    "Copy this line to keep or send the settings of all controls. To restore them, paste the line here and press Enter."
)

TOKEN = "token"
"""What the address of a page holds besides its settings."""


class History:
    """What the controls stood at before, and at the start.

    Parameters
    ----------
    start : State
        What they hold when the panel opens.

    Attributes
    ----------
    is_accepted : bool
        Whether what they hold now is used: what was refused is not what an undo goes back to.
    """

    def __init__(self, start: State) -> None:
        self.start = self.now = start
        self.is_accepted = True
        self._before: deque[State] = deque(maxlen=MOST_KEPT)
        self._moved: frozenset[str] = frozenset()
        self._at_s = 0.0

    @property
    def can_undo(self) -> bool:
        """Whether there is a change to undo."""
        return bool(self._before)

    def note(self, state: State, at_s: float) -> None:
        """Remember a change: what the controls hold after it, and when it was, s."""
        moved = frozenset(name for name, held in state.items() if held != self.now[name])
        if not moved:
            return
        is_apart = moved != self._moved or at_s - self._at_s > TOGETHER_S
        if is_apart and (self.is_accepted or not self._before):
            self._before.append(self.now)
        self.now, self._moved, self._at_s = state, moved, at_s

    def undo(self) -> State:
        """Give what the controls held before the last change, and forget that change."""
        self.now, self._moved = self._before.pop(), frozenset()
        return self.now


class Steps(widgets.HBox):
    """The buttons that undo the last change and that reset all."""

    def __init__(self, undo: Callable[[], None], reset: Callable[[], None]) -> None:
        self.undo = shared(widgets.Button, description="Undo", tooltip="Undo the last change", layout=BUTTON)
        self.reset = shared(
            widgets.Button, description="Reset", tooltip="Set every control back to where it started", layout=BUTTON
        )
        self.undo.on_click(lambda _: undo())
        self.reset.on_click(lambda _: reset())
        super().__init__([self.undo, self.reset], layout=plain_layout())
        self.add_class("edgestore-steps")

    def follow(self, history: History) -> None:
        """Offer only what there is to do."""
        self.undo.disabled = not history.can_undo
        self.reset.disabled = history.now == history.start


class SettingsLine(widgets.VBox):
    """The settings as a line of text, which is read too when another is pasted."""

    def __init__(self, controls: Mapping[str, Control], put: Callable[[Mapping[str, str]], None]) -> None:
        self._controls, self._put, self._is_own = controls, put, False
        self.box = shared(widgets.Text, description=COPY, continuous_update=False, **LABELLED)
        self.told = classed(shared(widgets.HTML), "edgestore-help")
        self.box.observe(self._pasted, "value")
        super().__init__([self.box, self.told], layout=plain_layout())
        self.add_class("edgestore-settings")
        self._tell()

    def write(self, values: Mapping[str, Any] | None) -> None:
        """Show the settings; none while an input is refused."""
        self._is_own = True
        self.box.value = "" if values is None else settings_text(self._controls, values)
        self._is_own = False
        self._tell()

    def _pasted(self, _: object) -> None:
        if self._is_own or not self.box.value.strip():
            return
        try:
            put_back = settings_of(self._controls, self.box.value)
        except InputError as error:
            self._tell(error)
            return
        self._put(put_back)

    def _tell(self, error: InputError | None = None) -> None:
        why = faults_html(error.faults) if error else ""
        text = f"{why}<small>{HOW}</small>"
        if self.told.value != text:
            self.told.value = text


def settings_text(controls: Mapping[str, Control], values: Mapping[str, Any]) -> str:
    """Write what the controls stand at.

    Parameters
    ----------
    controls : mapping of str to Control
        The controls of a panel by name.
    values : mapping of str to number or str
        Their values.

    Returns
    -------
    str
        As the end of an address, ``capacity_gb=64&scene=quiet``. A file that the browser handed over, and one that
        the panel opens with, are left out: they belong to this computer.
    """
    pairs = {}
    for name, value in values.items():
        spec = controls[name].spec
        if isinstance(spec, Number):
            pairs[name] = number_text(value)
        elif not isinstance(spec, File) or (isinstance(value, str) and value != spec.default):
            pairs[name] = value
    return urlencode(pairs, quote_via=quote)


def settings_of(controls: Mapping[str, Control], text: str) -> dict[str, str]:
    """Read settings that were pasted; what they do not name stays as it is.

    Parameters
    ----------
    controls : mapping of str to Control
        The controls of a panel by name.
    text : str
        As :func:`settings_text` writes it, also as the end of the address of a page.

    Returns
    -------
    dict of str to str
        What each control is to hold.

    Raises
    ------
    InputError
        When it is not such a text, names what the panel does not have, or holds what a control refuses; all is told.
    """
    try:
        pairs = dict(parse_qsl(text.strip().rpartition("?")[2], keep_blank_values=True, strict_parsing=True))
    except ValueError:
        mend = "Copy the whole line from a page with the same question."
        raise refuse(COPY, shown(text), "name=value, joined by &", mend) from None
    pairs.pop(TOKEN, None)
    faults: list[Fault] = []
    for name, value in pairs.items():
        try:
            if name not in controls:
                mend = "Copy the line from a page with the same question."
                raise refuse(COPY, f"{shown(name)}, which is not a setting of this panel", ", ".join(controls), mend)
            controls[name].check(value)
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    return pairs
