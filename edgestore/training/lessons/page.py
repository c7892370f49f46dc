"""The lesson on a projector: a question to vote on, then its answer beside what shows it, one idea a screen."""

from collections.abc import Sequence

import ipywidgets as widgets

from edgestore.panels.controls import classed
from edgestore.panels.shared import shared
from edgestore.training.lessons import as_html
from edgestore.training.lessons.gauge import Gauge
from edgestore.training.lessons.screens import Lesson, Page, Say, Screen, lessons, words

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
        within = {**AUTO, "max_width": "calc(100% - 4px)"}  # less the margins
        told = {"style": {"description_width": "initial"}, "layout": within}
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

    def _page_of(self, screen: int, *, is_answered: bool = False) -> int:
        """Give the page of a screen, the nearest where there is none; its answer where it has one."""
        number = min(max(screen, 1), self.lesson.count)
        found = [at for at, page in enumerate(self.lesson.pages) if page.number == number]
        return found[-1] if is_answered else found[0]

    def _step(self, by: int) -> None:
        page = self._page + by
        if 0 <= page < len(self.lesson.pages):
            self._go(page)
        elif 0 <= self.choice.value + by < len(self._lessons):
            self._take(self.choice.value + by)
            self._go(0 if by > 0 else len(self.lesson.pages) - 1)

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
        page = self.lesson.pages[self._page]
        return f"{self.lesson.key} {page.number}{f' {ANSWER}' if page.is_answered else ''}"

    def _show(self) -> None:
        lesson = self.lesson
        page = lesson.pages[self._page]
        self.back.disabled = self.choice.value == 0 and self._page == 0
        self.next.disabled = self.choice.value == len(self._lessons) - 1 and page == lesson.pages[-1]
        self.reveal.disabled = page.screen is None or page.is_answered
        self._list(page.number)
        self.place.value = self._words["place"].format(page.number, lesson.count)
        self.beside.children = self._beside(page.screen) if page.screen and page.is_answered else ()
        self.beside.layout.display = "" if self.beside.children else "none"
        self.screen.value = f'<div data-at="{self._here()}">{self._text(page)}</div>'
        self.at.value = self._here()

    def _text(self, page: Page) -> str:
        if page.screen:
            return (as_html.answered if page.is_answered else as_html.question)(page.screen, self._words)
        if page.cautions:
            return as_html.warnings(page.cautions, self._words)
        return (as_html.opening if page.number == 1 else as_html.closing)(self.lesson, self._words)

    def _list(self, number: int) -> None:
        """List the screens of the lesson; of an idea that was not told yet the question, which gives nothing away."""
        titles = {page.number: self._title(page) for page in self.lesson.pages}
        self._is_setting = True
        self.screens.options = [(f"{n}. {title}", n) for n, title in titles.items()]
        self.screens.value = number
        self._is_setting = False

    def _title(self, page: Page) -> str:
        if page.screen:
            return page.screen.question
        if page.cautions:
            return self._words["warnings"]
        return self.lesson.title if page.number == 1 else self._words["what_next"]

    def _beside(self, idea: Screen) -> Sequence[widgets.Widget]:
        if idea.visual:
            return (Gauge(idea.visual, self._say),)
        if idea.picture:
            return (classed(shared(widgets.HTML, as_html.figures(idea.picture)), "edgestore-drawings"),)
        return (shared(widgets.HTML, as_html.log_table(idea.log, self._words)),) if idea.log else ()
