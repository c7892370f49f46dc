"""The learner's page: a question, a box for the answer, and what became of it.

Nothing of an answer is in a widget before the learner has found it or asked to be shown: it is worked out in the
kernel, and thrown away, each time that one is marked.
"""

from collections import Counter
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from edgestore.checks import InputError, refuse
from edgestore.panels.shared import shared
from edgestore.panels.typed import place_to_save, typed_file
from edgestore.training.exercises.calculator import worked_out
from edgestore.training.exercises.draws import checked_seed, learner_name, seed_of
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.marking import MAX_TYPED, RIGHT, UNREAD, mark
from edgestore.training.exercises.marks import GIVEN_UP, Mark, keep_mark, read_marks
from edgestore.training.exercises.questions import LETTERS, Case, Exercise

LABELLED = {"style": {"description_width": "initial"}, "layout": {"width": "auto"}}
TYPED: dict[str, Any] = {**LABELLED, "continuous_update": False}
BUTTON = {"width": "auto"}


class ExercisesPage(widgets.VBox):
    """The exercises of one learner.

    Attributes
    ----------
    name, seed, kind, reply, file : Widget
        What the learner gives: a chosen name, the seed that goes with it, which exercise, the answer, the marks file.
    check, hint, show, next : Button
        Mark the answer; see a hint; be shown how it goes; go on.
    sum, result : Widget
        The calculator: what is to be worked out, and what comes out.
    question, verdict, hints, solution, progress : HTML
        What the learner sees.
    """

    def __init__(self, file: Path | None = None) -> None:
        kept_in = str(file or place_to_save("saved/marks.jsonl"))
        self.name = shared(widgets.Text, description="Your name, or one you make up", **TYPED)
        self.seed = shared(widgets.Text, description="Seed (comes with the name)", **TYPED)
        self.kind = shared(
            widgets.Dropdown,
            options=[(kind.title, key) for key, kind in KINDS.items()],
            description="Exercise",
            **LABELLED,
        )
        self.file = shared(widgets.Text, kept_in, description="Marks are kept in", **TYPED)
        self.question = shared(widgets.HTML)
        self.reply = shared(widgets.Text, description="Your answer", **TYPED)
        self.check = shared(widgets.Button, description="Check", layout=BUTTON)
        self.hint = shared(widgets.Button, description="Hint", layout=BUTTON)
        self.show = shared(widgets.Button, description="Show me how", layout=BUTTON)
        self.next = shared(widgets.Button, description="Next", layout=BUTTON)
        self.sum = shared(widgets.Text, description="Calculator", placeholder="64 ÷ (4 × 0.45)", **TYPED)
        self.verdict, self.hints, self.solution, self.progress, self.result = (shared(widgets.HTML) for _ in range(5))
        for name in ("question", "reply", "check", "next", "verdict", "progress", "sum"):
            getattr(self, name).add_class(f"edgestore-{name}")
        buttons = shared(widgets.Box, [self.check, self.hint, self.show, self.next], layout={"flex_flow": "row wrap"})
        keys = shared(
            widgets.HTML, "<small>Keys: Enter checks your answer; when it is right, Enter or Page Down goes on.</small>"
        )
        calculator = shared(widgets.VBox, [self.sum, self.result])
        asked = shared(
            widgets.VBox,
            [self.kind, self.question, self.reply, buttons, keys, self.verdict, self.hints, self.solution, calculator],
        )
        asked.layout = widgets.Layout(flex="2 1 520px", min_width="0")
        about = shared(widgets.VBox, [self.name, self.seed, self.progress, self.file])
        about.layout = widgets.Layout(flex="1 1 300px", min_width="0")
        shown = shared(widgets.Box, [about, asked], layout={"flex_flow": "row wrap", "grid_gap": "8px 32px"})
        super().__init__([shown])
        self.add_class("edgestore-exercises")
        self._kept: tuple[Mark, ...] = ()
        self._number, self._hints_shown, self._tried = 1, 0, False
        self.name.observe(lambda _: self._named(), "value")
        for widget in (self.seed, self.kind, self.file):
            widget.observe(lambda _: self._begin(), "value")
        self.sum.observe(lambda _: self._work_out(), "value")
        self.check.on_click(lambda _: self._mark())
        self.hint.on_click(lambda _: self._hint())
        self.show.on_click(lambda _: self._give_up())
        self.next.on_click(lambda _: self._begin())
        self._begin()

    def _learner(self) -> tuple[str, int]:
        try:
            seed = int(self.seed.value)
        except ValueError:
            raise refuse("seed", repr(self.seed.value), "a whole number", "Use the seed on the class sheet.") from None
        return learner_name(self.name.value), checked_seed(seed)

    def _file(self) -> Path:
        return typed_file(self.file.value, self.file.description)

    def _exercise(self) -> Exercise:
        return exercise(self.kind.value, self._learner()[1], self._number)

    def _named(self) -> None:
        try:
            own = str(seed_of(self.name.value))
        except InputError as error:
            self._close(str(error))
            return
        if own == self.seed.value:
            self._begin()
        else:
            self.seed.value = own

    def _begin(self) -> None:
        """Ask the first exercise of the kind that this learner has not ended."""
        if not self.name.value.strip():
            self._close("Type a name first. It need not be your own; your trainer should know it.")
            return
        try:
            learner, seed = self._learner()
            read = read_marks(self._file())
        except InputError as error:
            self._close(str(error))
            return
        self._kept = read.of(learner, seed)
        mine = [kept for kept in self._kept if kept.kind == self.kind.value]
        self._number = 1 + max((kept.number for kept in mine if kept.ends), default=0)
        under_way = [kept for kept in mine if kept.number == self._number]
        self._hints_shown = max((kept.hints for kept in under_way), default=0)
        self._tried = bool(under_way)
        asked = self._exercise()
        self.question.value = _question(asked, self._number)
        # The page brings the keypad of a phone up for a number (page.js), and its letters for a letter.
        (self.reply.remove_class if isinstance(asked, Case) else self.reply.add_class)("edgestore-number")
        self.reply.value = self.verdict.value = self.solution.value = ""
        self._show_hints(asked)
        self._ended(False)
        self._show_progress()

    def _close(self, why: str) -> None:
        self.question.value = f"<p>{escape(why)}</p>"
        self.verdict.value = self.hints.value = self.solution.value = self.progress.value = ""
        for widget in (self.reply, self.check, self.hint, self.show, self.next):
            widget.disabled = True

    def _mark(self) -> None:
        if self.check.disabled:  # pressed again before the page had heard that the exercise is over
            return
        asked = self._exercise()
        marked = mark(asked, self.reply.value, self._hints_shown)
        right = marked.verdict == RIGHT
        if marked.verdict == UNREAD:
            self._say(marked.text)
            return
        self._tried = True
        self._ended(right)
        if right:
            self._show_how(asked)
        fault = self._keep(self.reply.value[:MAX_TYPED], marked.verdict)
        self._say(f"✓ {marked.text}" if right else marked.text, fault)

    def _work_out(self) -> None:
        if not self.sum.value.strip():
            self.result.value = ""
            return
        try:
            self.result.value = f"<p>= {worked_out(self.sum.value)}</p>"
        except InputError as error:
            self.result.value = f"<p>{escape(str(error))}</p>"

    def _hint(self) -> None:
        asked = self._exercise()
        self._hints_shown = min(self._hints_shown + 1, len(asked.hints))
        self._show_hints(asked)

    def _give_up(self) -> None:
        if self.show.disabled:
            return
        asked = self._exercise()
        self._ended(True)
        self._show_how(asked)
        fault = self._keep("", GIVEN_UP)
        self._say(f"The answer is {asked.answer}{'' if isinstance(asked, Case) else f' {asked.unit}'}.", fault)

    def _keep(self, given: str, verdict: str) -> str:
        """Keep a mark; give what stood in the way, if anything."""
        learner, seed = self._learner()
        kept = Mark(learner, seed, self.kind.value, self._number, given, verdict, self._hints_shown)
        try:
            keep_mark(self._file(), kept)
        except InputError as error:
            return str(error)
        self._kept = (*self._kept, kept)
        self._show_progress()
        return ""

    def _say(self, text: str, fault: str = "") -> None:
        alert = f'<p role="alert">This mark was not kept. {escape(fault)}</p>' if fault else ""
        self.verdict.value = f"<p><strong>{escape(text)}</strong></p>{alert}"

    def _show_hints(self, asked: Exercise) -> None:
        seen = "".join(f"<li>{escape(text)}</li>" for text in asked.hints[: self._hints_shown])
        self.hints.value = f"<p>Hints</p><ol>{seen}</ol>" if seen else ""

    def _show_how(self, asked: Exercise) -> None:
        steps = "".join(f"<li>{escape(step)}</li>" for step in asked.steps)
        kind = "ul" if isinstance(asked, Case) else "ol"  # the options of a case have letters
        self.solution.value = f"<p>How it goes</p><{kind}>{steps}</{kind}>"

    def _ended(self, ended: bool) -> None:
        self.check.disabled = self.hint.disabled = ended
        self.reply.disabled = False  # so that a second Enter in it goes on
        self.show.disabled = ended or not self._tried
        self.next.disabled = not ended

    def _show_progress(self) -> None:
        done = Counter(kept.kind for kept in self._kept if kept.verdict == RIGHT)
        each = ", ".join(f"{kind.title} {done[key]}" for key, kind in KINDS.items() if done[key])
        self.progress.value = f"<p>Right so far: {done.total()}{f' ({each})' if each else ''}.</p>"


def _question(asked: Exercise, number: int) -> str:
    options = asked.options if isinstance(asked, Case) else ()
    lines = "".join(f"<p>{letter}: {escape(option)}</p>" for letter, option in zip(LETTERS, options, strict=False))
    return f"<h2>Number {number}</h2><p>{escape(asked.question)}</p>{lines}"
