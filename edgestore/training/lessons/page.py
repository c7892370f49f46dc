"""The lesson on a projector: one idea a screen in large type, a live panel or a drawing beside it."""

import base64
from collections.abc import Sequence
from dataclasses import replace
from html import escape

import ipywidgets as widgets

from edgestore.drawings.card import card_drawings
from edgestore.drawings.closing import closing_drawings
from edgestore.drawings.housings import housing_drawings
from edgestore.drawings.parts import Drawing
from edgestore.drawings.slots import slot_drawings
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.panels import hold as holds
from edgestore.panels import life as lasts
from edgestore.panels.frame import Frame
from edgestore.training.exercises.kinds import KINDS
from edgestore.training.fitting.cautions import RULE
from edgestore.training.lessons.screens import Lesson, Screen, lessons

PANELS = {"holds": holds.PANEL, "lasts": lasts.PANEL}
"""The panels that lessons may show."""

EXERCISES_NOTEBOOK = "learner_exercises.ipynb"
START_NOTEBOOK = "start.ipynb"
KEYS = "Keys: Page Down is next, Page Up is back, anywhere on the page. Tab goes to a slider, the arrow keys move it."


class LessonPage(widgets.VBox):
    """The lessons, screen after screen.

    Attributes
    ----------
    choice : Dropdown
        Which lesson.
    back, next : Button
        A screen back or ahead, into the lesson before or after at the ends.
    screen : HTML
        What is read.
    """

    def __init__(self) -> None:
        self._lessons = lessons()
        self._at = 0
        self._panels: dict[str, Frame] = {}
        titles = [(f"{n}. {lesson.title}", n - 1) for n, lesson in enumerate(self._lessons, start=1)]
        self.choice = widgets.Dropdown(
            options=titles, description="Lesson", style={"description_width": "initial"}, layout={"width": "auto"}
        )
        self.back = widgets.Button(description="Back", layout={"width": "auto"})
        self.next = widgets.Button(description="Next", layout={"width": "auto"})
        self.place = widgets.HTML()
        self.screen = widgets.HTML(layout={"flex": "1 1 340px", "min_width": "0"})
        self.beside = widgets.VBox(layout={"flex": "2 1 560px", "min_width": "0"})
        for widget, name in ((self.back, "back"), (self.next, "next"), (self.screen, "screen")):
            widget.add_class(f"edgestore-{name}")
        bar = widgets.Box([self.choice, self.back, self.next, self.place])
        bar.layout = widgets.Layout(flex_flow="row wrap", grid_gap="4px 12px")
        shown = widgets.Box([self.screen, self.beside], layout={"flex_flow": "row wrap", "grid_gap": "8px 32px"})
        super().__init__([bar, shown, widgets.HTML(f"<small>{KEYS}</small>")])
        self.add_class("edgestore-lesson")
        self.choice.observe(lambda _: self._go(0), "value")
        self.next.on_click(lambda _: self._step(1))
        self.back.on_click(lambda _: self._step(-1))
        self._show()

    @property
    def lesson(self) -> Lesson:
        """The lesson on the screen."""
        number: int = self.choice.value
        return self._lessons[number]

    def _step(self, by: int) -> None:
        at = self._at + by
        if 0 <= at < self.lesson.count:
            self._go(at)
        elif 0 <= self.choice.value + by < len(self._lessons):
            self.choice.value += by
            self._go(0 if by > 0 else self.lesson.count - 1)

    def _go(self, at: int) -> None:
        self._at = at
        self._show()

    def _show(self) -> None:
        first, last = self.choice.value == 0, self.choice.value == len(self._lessons) - 1
        self.back.disabled = first and self._at == 0
        self.next.disabled = last and self._at == self.lesson.count - 1
        self.place.value = f"Screen {self._at + 1} of {self.lesson.count}"
        self.screen.value = _screens(self.lesson)[self._at]
        self.beside.children = self._beside()
        self.beside.layout.display = "" if self.beside.children else "none"

    def _beside(self) -> Sequence[widgets.Widget]:
        lesson, number = self.lesson, self._at - 1
        if lesson.panel:
            if lesson.key not in self._panels:
                self._panels[lesson.key] = _small(lesson)
            return (self._panels[lesson.key],)
        picture = lesson.screens[number].picture if 0 <= number < len(lesson.screens) else ""
        return _pictures(picture) if picture else ()


def _small(lesson: Lesson) -> Frame:
    """Give a panel with a few of its sliders, its picture and its answer: what a class can follow."""
    panel = PANELS[lesson.panel]
    inputs = tuple(spec for spec in panel.inputs if spec.name in lesson.sliders)
    frame = Frame(replace(panel, inputs=inputs, main=tuple(spec.name for spec in inputs)))
    frame.children = frame.children[:1]
    return frame


def _pictures(word: str) -> Sequence[widgets.Widget]:
    shown = widgets.HTML("".join(_figure(n, drawing) for n, drawing in enumerate(_drawings(word), start=1)))
    shown.add_class("edgestore-drawings")
    return (shown,)


def _figure(number: int, drawing: Drawing) -> str:
    source = f"data:image/svg+xml;base64,{base64.b64encode(drawing.svg()).decode()}"
    picture = f'<img src="{source}" alt="{escape(drawing.alt_text)}" width="100%">'
    return f"<figure>{picture}<figcaption>{number}. {escape(drawing.title)}</figcaption></figure>"


def _drawings(word: str) -> Sequence[Drawing]:
    if word in HOUSINGS:
        return housing_drawings(word)
    return {"card": card_drawings, "closing": closing_drawings}.get(word, lambda: slot_drawings(word))()


def _screens(lesson: Lesson) -> list[str]:
    return [
        f"<h2>{escape(lesson.title)}</h2><p>At the end: {_small_first(escape(lesson.goal))}</p>",
        *map(_idea, lesson.screens),
        *([_cautions(lesson)] if lesson.cautions else []),
        _what_follows(lesson),
    ]


def _small_first(text: str) -> str:
    return text[0].lower() + text[1:]


def _idea(screen: Screen) -> str:
    source = f'<p class="edgestore-source">Source: {escape(screen.source)}</p>'
    return f"<h2>{escape(screen.title)}</h2><p>{escape(screen.text)}</p>{source}"


def _cautions(lesson: Lesson) -> str:
    items = "".join(f"<li><strong>{escape(c.title)}.</strong> {escape(c.text)}</li>" for c in lesson.cautions)
    return f'<h2>Warnings</h2><ul class="edgestore-cautions">{items}</ul><p><strong>{escape(RULE)}</strong></p>'


def _what_follows(lesson: Lesson) -> str:
    titles = "".join(f"<li>{escape(KINDS[kind].title)}</li>" for kind in lesson.exercises)
    more = f'<p>More of it: <a href="{lesson.notebook}" target="_blank">{_name(lesson.notebook)}</a></p>'
    if not titles:
        return f"<h2>What next?</h2><p>Tell your neighbour: {_small_first(escape(lesson.goal))}</p>{more}"
    link = f'<a href="{EXERCISES_NOTEBOOK}" target="_blank">exercises</a>'
    return f"<h2>Now you</h2><p>Do these {link}:</p><ul>{titles}</ul>{more}"


def _name(notebook: str) -> str:
    if notebook == START_NOTEBOOK:
        return "the start page"
    return f"{notebook.removesuffix('.ipynb').replace('_', ' ').capitalize()}?".replace(" i ", " I ")
