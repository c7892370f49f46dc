"""The lesson on a projector: a question to vote on, then its answer beside what shows it, one idea a screen."""

from collections.abc import Sequence

import ipywidgets as widgets

from edgestore.panels.controls import classed
from edgestore.panels.shared import shared
from edgestore.training.lessons import as_html
from edgestore.training.lessons.gauge import Gauge
from edgestore.training.lessons.screens import Lesson, Say, Screen, lessons, words

GO = "go"
"""What the page writes before the number of a screen that it jumps to."""

ANSWER = "answer"

AUTO = {"width": "auto"}


class LessonPage(widgets.VBox):
    """The lessons, page after page: of each idea the question, then its answer.

    Parameters
    ----------
    say : callable
        Gives each text in another language; as it stands when left out.

    Attributes
    ----------
    choice, screens : Dropdown
        Which lesson, and which of its screens.
    back, next : Button
        A page back or ahead, into the lesson before or after at the ends.
    reveal : Button
        Shows the answer, which the next page is.
    screen : HTML
        What is read.
    beside : VBox
        What shows it; nothing before the answer.
    at : Text
        Where one is, as ``hours 3 answer``; the page, which keeps it over a reload, writes it, or ``go 5`` to jump.
    """

    def __init__(self, say: Say = str) -> None:
        self._say, self._words, self._lessons = say, words(say), lessons(say)
        self._page = 0
        self._is_setting = False
        told = {"style": {"description_width": "initial"}, "layout": {**AUTO, "max_width": "100%"}}
        titles = [(f"{n}. {lesson.title}", n - 1) for n, lesson in enumerate(self._lessons, start=1)]
        self.choice = shared(widgets.Dropdown, options=titles, description=self._words["lesson"], **told)
        self.screens = shared(widgets.Dropdown, description=self._words["screen"], **told)
        self.back, self.next, self.reveal, self.present = (
            classed(
                shared(widgets.Button, description=self._words[name], layout={"width": "auto"}), f"edgestore-{name}"
            )
            for name in ("back", "next", "reveal", "present")
        )
        self.place = shared(widgets.HTML)
        self.screen = classed(shared(widgets.HTML), "edgestore-screen")
        self.beside = classed(widgets.VBox(), "edgestore-beside-screen")
        self.at = classed(shared(widgets.Text, continuous_update=False, layout={"display": "none"}), "edgestore-at")
        bar = shared(
            widgets.Box, [self.choice, self.screens, self.back, self.next, self.reveal, self.present, self.place]
        )
        bar.layout = widgets.Layout(flex_flow="row wrap", grid_gap="4px 12px")
        slide = classed(shared(widgets.Box, [self.screen, self.beside]), "edgestore-slide")
        super().__init__([bar, slide, shared(widgets.HTML, f"<small>{self._words['keys']}</small>"), self.at])
        self.add_class("edgestore-lesson")
        self.choice.observe(lambda _: self._choose(), "value")
        self.screens.observe(lambda _: self._jump(), "value")
        self.at.observe(lambda _: self._follow(self.at.value), "value")
        self.next.on_click(lambda _: self._step(1))
        self.reveal.on_click(lambda _: self._step(1))
        self.back.on_click(lambda _: self._step(-1))
        self._show()

    @property
    def lesson(self) -> Lesson:
        """The lesson on the screen."""
        number: int = self.choice.value
        return self._lessons[number]

    @property
    def _pages(self) -> int:
        return self.lesson.count + len(self.lesson.screens)

    def _place(self) -> tuple[int, bool]:
        """Give the number of the screen, from 1, and whether its answer is shown."""
        ideas = len(self.lesson.screens)
        if self._page == 0:
            return 1, False
        if self._page > 2 * ideas:
            return self._page - ideas + 1, False
        return (self._page + 1) // 2 + 1, self._page % 2 == 0

    def _page_of(self, screen: int, *, is_answered: bool = False) -> int:
        ideas = len(self.lesson.screens)
        if screen <= 1:
            return 0
        if screen > ideas + 1:
            return min(screen + ideas - 1, self._pages - 1)
        return 2 * (screen - 2) + 1 + is_answered

    def _step(self, by: int) -> None:
        page = self._page + by
        if 0 <= page < self._pages:
            self._go(page)
        elif 0 <= self.choice.value + by < len(self._lessons):
            self._take(self.choice.value + by)
            self._go(0 if by > 0 else self._pages - 1)

    def _take(self, lesson: int) -> None:
        """Take a lesson without showing its first page, which nobody asked for."""
        self._is_setting = True
        self.choice.value = lesson
        self._is_setting = False

    def _go(self, page: int) -> None:
        self._page = page
        self._show()

    def _choose(self) -> None:
        if not self._is_setting:
            self._go(0)

    def _jump(self) -> None:
        if not self._is_setting:
            self._go(self._page_of(self.screens.value))

    def _follow(self, text: str) -> None:
        """Go where the page says; what cannot be read is where one is."""
        key, number, *part = [*text.split(), "", ""][:3]
        keys = [lesson.key for lesson in self._lessons]
        if text != self._here() and number.isdecimal() and (key == GO or key in keys):
            if key != GO:
                self._take(keys.index(key))
            self._go(self._page_of(int(number), is_answered=part == [ANSWER]))

    def _here(self) -> str:
        number, is_answered = self._place()
        return f"{self.lesson.key} {number}{f' {ANSWER}' if is_answered else ''}"

    def _show(self) -> None:
        lesson, (number, is_answered) = self.lesson, self._place()
        self.back.disabled = self.choice.value == 0 and self._page == 0
        self.next.disabled = self.choice.value == len(self._lessons) - 1 and self._page == self._pages - 1
        idea = lesson.screens[number - 2] if 2 <= number < len(lesson.screens) + 2 else None
        self.reveal.disabled = idea is None or is_answered
        self._list(number)
        self.place.value = self._words["place"].format(number, lesson.count)
        self.beside.children = self._beside(idea) if idea and is_answered else ()
        self.beside.layout.display = "" if self.beside.children else "none"
        text = self._text(idea, number, is_answered=is_answered)
        self.screen.value = f'<div data-at="{self._here()}">{text}</div>'
        self.at.value = self._here()

    def _text(self, idea: Screen | None, number: int, *, is_answered: bool) -> str:
        lesson = self.lesson
        if idea:
            return (as_html.answered if is_answered else as_html.question)(idea, self._words)
        if number == 1:
            return as_html.opening(lesson, self._words)
        if number < lesson.count:
            return as_html.warnings(lesson.cautions[number - len(lesson.screens) - 2], self._words)
        return as_html.closing(lesson, self._words)

    def _list(self, number: int) -> None:
        """List the screens of the lesson; of an idea that was not told yet the question, which gives nothing away."""
        asked = [screen.question for screen in self.lesson.screens]
        cautions = [self._words["warnings"]] * len(self.lesson.cautions)
        titles = [self.lesson.title, *asked, *cautions, self._words["what_next"]]
        self._is_setting = True
        self.screens.options = [(f"{n}. {title}", n) for n, title in enumerate(titles, start=1)]
        self.screens.value = number
        self._is_setting = False

    def _beside(self, idea: Screen) -> Sequence[widgets.Widget]:
        if idea.visual:
            return (Gauge(idea.visual, self._say),)
        if idea.picture:
            return (classed(shared(widgets.HTML, as_html.figures(idea.picture)), "edgestore-drawings"),)
        return (shared(widgets.HTML, as_html.log_table(idea.log, self._words)),) if idea.log else ()
