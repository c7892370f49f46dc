"""The page on fitting a card: work, housing and slot chosen, the steps one by one, the check after. Writes on save."""

import base64
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from functools import partial
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from edgestore.checks import InputError, refuse
from edgestore.drawings.parts import Drawing
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.inputs.service_log import WHYS
from edgestore.panels.shared import shared
from edgestore.panels.typed import place_to_save, typed_file, typed_folder
from edgestore.training.fitting.cautions import Caution
from edgestore.training.fitting.commissioning import CHECKS, Fitted, record
from edgestore.training.fitting.guide import (
    FACINGS,
    SLOT_LOOKS,
    SLOTS,
    TYPICAL,
    WORKS,
    Guide,
    drawings,
    guide,
    slot_picture,
    up_to_the_slot,
)
from edgestore.training.fitting.handouts import write_handouts
from edgestore.training.fitting.pictures import picture_of

NOT_KNOWN = "not known"
NO_CARD = "no card was in it"
ASK_SLOT = "Which slot is it? Look before you touch it."
LABELLED: dict[str, Any] = {"style": {"description_width": "initial"}, "layout": {"width": "auto"}}


class GuidePage(widgets.VBox):
    """The guide on the screen: choices, what holds for all steps, then one step after the other with its cautions."""

    def __init__(self) -> None:
        works = [(title, word) for word, title in WORKS.items()]
        self.work = shared(widgets.Dropdown, options=works, description="Work", **LABELLED)
        self.housing = shared(widgets.Dropdown, options=HOUSINGS, value="dome", description="Housing", **LABELLED)
        self.slot = shared(widgets.Dropdown, options=(NOT_KNOWN, *SLOTS), description="Slot", **LABELLED)
        self.facing = shared(widgets.Dropdown, options=(NOT_KNOWN, *FACINGS), description="The slot faces", **LABELLED)
        self.above_all = shared(widgets.HTML)
        self.step = shared(widgets.HTML).add_class("edgestore-answer")
        self.pictures = shared(widgets.HTML)
        self.back = _button("Back", lambda: self._go(-1))
        self.onward = _button("Next step", lambda: self._go(1))
        kinds = [_button(word, partial(self._of_slot, word)) for word in SLOTS]
        self.kinds = shared(widgets.HBox, kinds, layout=widgets.Layout(flex_flow="row wrap"))
        self.folder = _text("Save hand-outs to folder", place_to_save("saved"))
        self.save = _button("Save hand-outs", self._save)
        self.saved = shared(widgets.HTML)
        self.at = 0
        choices = [self.work, self.housing, self.slot, self.facing]
        for choice in (self.work, self.housing, self.facing):
            choice.observe(lambda _: self._choose(), "value")
        self.slot.observe(lambda _: self._choose(stays=True), "value")
        turn = shared(widgets.HBox, [self.back, self.onward])
        shown = [self.above_all, self.step, turn, self.kinds, self.pictures]
        super().__init__([*choices, *shown, self.folder, self.save, self.saved])
        self._choose()

    def _choose(self, *, stays: bool = False) -> None:
        """Put the guide of the choices together; who ``stays`` keeps the step, or the slot where that is behind."""
        self.guide = chosen(self.housing.value, self.slot.value, self.facing.value, self.work.value)
        self.above_all.value = _above_all(self.guide)
        self.at = min(self.at, len(up_to_the_slot(self.guide))) if stays else 0
        self._go(0)

    def _of_slot(self, word: str) -> None:
        self.slot.value = word

    def _go(self, by: int) -> None:
        steps = self.guide.steps if self.guide.slot else up_to_the_slot(self.guide)
        self.at = min(max(self.at + by, 0), len(steps) - bool(self.guide.slot))
        self.back.disabled = self.at == 0
        asks = self.at == len(steps)
        self.kinds.layout.display = "flex" if asks else "none"
        if asks:
            self._ask_slot()
            return
        section, step = steps[self.at]
        until = "" if self.guide.slot else " up to the slot"
        title = f"Step {self.at + 1} of {len(steps)}{until}. {section.title}"
        told = _warnings(step.warnings) + f"<p>{escape(step.text)}</p>"  # a caution is read before its step
        self.step.value = f"<p><strong>{escape(title)}</strong></p>{told}"
        self.pictures.value = _pictures(drawings(self.guide, step))
        self.onward.disabled = bool(self.guide.slot) and self.at == len(steps) - 1

    def _ask_slot(self) -> None:
        """Ask which slot it is once it is in sight: the steps of one slot do harm in another."""
        kinds = "".join(f"<li><strong>{escape(word)}</strong>: {escape(SLOT_LOOKS[word])}</li>" for word in SLOTS)
        self.step.value = (
            f"<p><strong>{ASK_SLOT}</strong></p><ul>{kinds}</ul>"
            "<p>Choose it below: the steps go on from here, for this slot alone.</p>"
        )
        self.pictures.value = _pictures([picture_of(slot_picture(word)) for word in SLOTS], SLOTS)
        self.onward.disabled = True

    def _save(self) -> None:
        self.saved.value = _told(
            lambda: write_handouts(self.guide, typed_folder(self.folder.value, self.folder.description), with_pdf=False)
        )


class CheckPage(widgets.VBox):
    """The check after fitting: what was fitted, a box for each check, and the log that it goes into."""

    def __init__(self) -> None:
        self.camera = _text("Camera")
        self.card = _text("Card, by its name in the card list")
        self.serial = _text("Serial number of the card")
        self.day = _text("Fitted on (year-month-day)", date.today().isoformat())
        self.why = shared(widgets.Dropdown, options=(NO_CARD, *WHYS), description="Card taken out", **LABELLED)
        self.checks = {
            check.key: shared(widgets.Checkbox, description=check.title, indent=False, layout={"width": "auto"})
            for check in CHECKS
        }
        self.log_file = _text("Service log", place_to_save("saved/service_log.csv"))
        self.enter = _button("Enter in the service log", self._enter)
        self.entered = shared(widgets.HTML)
        rows = []
        for check in CHECKS:
            words = f"<small>{_warnings(check.warnings)}{escape(check.text)}</small>"
            rows += [self.checks[check.key], shared(widgets.HTML, words)]
        rule = shared(widgets.HTML, f"<p><strong>{escape(TYPICAL)}</strong></p>")
        fields = [self.camera, self.card, self.serial, self.day, self.why]
        super().__init__([rule, *fields, *rows, self.log_file, self.enter, self.entered])

    def _enter(self) -> None:
        self.entered.value = _told(self._record)

    def _record(self) -> list[Path]:
        try:
            day = date.fromisoformat(self.day.value.strip())
        except ValueError:
            raise refuse("fitted", repr(self.day.value), "a date as 2026-03-15", "Correct the day.") from None
        why = "" if self.why.value == NO_CARD else self.why.value
        fitted = Fitted(self.camera.value.strip(), self.card.value.strip(), day, self.serial.value.strip(), why)
        done = [key for key, box in self.checks.items() if box.value]
        written = record(fitted, done, typed_file(self.log_file.value, self.log_file.description), date.today())
        self._clear()
        return [written]

    def _clear(self) -> None:
        """Take away what was said of this card alone, so that it is not entered for the next one."""
        self.camera.value = self.serial.value = ""
        self.why.value = NO_CARD
        for box in self.checks.values():
            box.value = False


def chosen(housing: str, slot: str, facing: str, work: str) -> Guide:
    """Give the guide for the words of the choices."""
    known_slot, known_facing = (None if word == NOT_KNOWN else word for word in (slot, facing))
    return guide(housing, known_slot, known_facing, work)


def _warnings(cautions: Iterable[Caution]) -> str:
    return "".join(f"<p><strong>Warning: {escape(c.title)}.</strong> {escape(c.text)}</p>" for c in cautions)


def _above_all(guide: Guide) -> str:
    never = "".join(f"<li>{escape(text)}</li>" for text in guide.never)
    tools = escape(", ".join(guide.tools))
    return (
        f"<p><strong>{escape(TYPICAL)}</strong></p><h3>Never</h3><ul>{never}</ul>"
        f"<h3>{escape(guide.title)}</h3><p>{escape(guide.looks)}</p><p><strong>Take with you:</strong> {tools}.</p>"
    )


def _pictures(shown: Sequence[Drawing], titles: Sequence[str] = ()) -> str:
    """Give the pictures of a step with the titles of their drawings, or with others."""
    figures = "".join(
        '<figure style="margin:0;flex:0 1 300px">'
        f'<img style="width:100%" alt="{escape(drawing.alt_text)}"'
        f' src="data:image/svg+xml;base64,{base64.b64encode(drawing.svg()).decode()}">'
        f"<figcaption>{at}. {escape(title)}</figcaption></figure>"
        for at, (drawing, title) in enumerate(zip(shown, titles or [one.title for one in shown], strict=True), 1)
    )
    return f'<div style="display:flex;flex-wrap:wrap;gap:12px">{figures}</div>' if figures else ""


def _told(write: Callable[[], list[Path]]) -> str:
    """Write, and say what was written or why nothing was."""
    try:
        written = write()
    except InputError as error:
        faults = "".join(f"<li>{escape(str(fault))}</li>" for fault in error.faults)
        return f'<div role="alert"><strong>Nothing was written:</strong><ul>{faults}</ul></div>'
    return f'<p role="status">Written: {escape(", ".join(map(str, written)))}</p>'


def _text(description: str, value: str = "") -> widgets.Text:
    """Give a field that tells its text when it is left: a button pressed at once would else find the first letters."""
    return shared(widgets.Text, value=value, description=description, continuous_update=False, **LABELLED)


def _button(words: str, press: Callable[[], None]) -> widgets.Button:
    button = shared(widgets.Button, description=words, layout={"width": "auto", "align_self": "flex-start"})
    button.on_click(lambda _: press())
    return button
