"""The pages of a lesson as HTML: the goal, a question, its answer, cautions, and what follows."""

import base64
from collections.abc import Mapping, Sequence
from html import escape

from edgestore.drawings.card import card_drawings
from edgestore.drawings.closing import closing_drawings
from edgestore.drawings.housings import housing_drawings
from edgestore.drawings.parts import Drawing
from edgestore.drawings.slots import slot_drawings
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.training.exercises.kinds import KINDS
from edgestore.training.fitting.cautions import RULE, Caution
from edgestore.training.lessons.screens import Lesson, Screen

EXERCISES_NOTEBOOK = "learner_exercises.ipynb"
START_NOTEBOOK = "start.ipynb"
LETTERS = "ABCD"

Words = Mapping[str, str]


def opening(lesson: Lesson, words: Words) -> str:
    """Give the first page of a lesson."""
    return f'<h2 class="edgestore-asking">{escape(lesson.title)}</h2><p>{words["at_the_end"]} {escape(lesson.goal)}</p>'


def question(screen: Screen, words: Words) -> str:
    """Give the question of an idea and the answers to vote for, and nothing that tells which is right."""
    answers = "".join(
        f'<li><span class="edgestore-letter">{letter}</span> {escape(answer.text)}</li>'
        for letter, answer in zip(LETTERS, screen.answers, strict=False)
    )
    return (
        f'<h2 class="edgestore-asking">{escape(screen.question)}</h2><ul class="edgestore-votes">{answers}</ul>'
        f'<p class="edgestore-label">{words["vote"]}</p>'
    )


def answered(screen: Screen, words: Words) -> str:
    """Give the idea, which answer is right, and what led to each wrong one."""
    items = "".join(
        f'<li class="edgestore-right"><span class="edgestore-letter">{letter}</span>'
        f" <strong>✓ {escape(answer.text)}</strong></li>"
        if answer.is_right
        else f'<li><span class="edgestore-letter">{letter}</span>'
        f" <span><em>{escape(answer.text)}</em> {escape(answer.mistake)}</span></li>"
        for letter, answer in zip(LETTERS, screen.answers, strict=False)
    )
    return (
        f"<h2>{escape(screen.title)}</h2><p>{escape(screen.text)}</p>"
        f'<ul class="edgestore-votes">{items}</ul>'
        f'<p class="edgestore-label edgestore-source">{words["source"]} {escape(screen.source)}</p>'
    )


def warnings(cautions: Sequence[Caution], words: Words) -> str:
    """Give a page of cautions, with the rule over all."""
    items = "".join(f"<li><strong>{escape(c.title)}.</strong> {escape(c.text)}</li>" for c in cautions)
    rule = f"<p><strong>{escape(RULE)}</strong></p>"
    return f'<h2>{words["warnings"]}</h2><ul class="edgestore-cautions">{items}</ul>{rule}'


def closing(lesson: Lesson, words: Words) -> str:
    """Give the last page: what the class does now."""
    titles = "".join(f"<li>{escape(KINDS[kind].title)}</li>" for kind in lesson.exercises)
    more = f'<p>{words["more"]} <a href="{lesson.notebook}" target="_blank">{_name(lesson.notebook, words)}</a></p>'
    if not titles:
        return (
            f'<h2 class="edgestore-asking">{words["what_next"]}</h2><p>{words["tell"]} {escape(lesson.goal)}</p>{more}'
        )
    link = f'<a href="{EXERCISES_NOTEBOOK}" target="_blank">{words["exercises"]}</a>'
    return f"<h2>{words['now_you']}</h2><p>{link}</p><ul>{titles}</ul>{more}"


def log_table(rows: Sequence[Sequence[str]], words: Words) -> str:
    """Give a log as a table; its first row is the heading."""
    head, *lines = rows
    cells = "".join(f'<th scope="col">{escape(name)}</th>' for name in head)
    body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in line) + "</tr>" for line in lines)
    return f'<table class="edgestore-log"><caption>{words["invented"]}</caption><tr>{cells}</tr>{body}</table>'


def figures(word: str) -> str:
    """Give the drawings that a word names: card, closing, a kind of housing or of slot."""
    return "".join(_figure(n, drawing) for n, drawing in enumerate(_drawings(word), start=1))


def _figure(number: int, drawing: Drawing) -> str:
    source = f"data:image/svg+xml;base64,{base64.b64encode(drawing.svg()).decode()}"
    picture = f'<img src="{source}" alt="{escape(drawing.alt_text)}" width="100%">'
    return f"<figure>{picture}<figcaption>{number}. {escape(drawing.title)}</figcaption></figure>"


def _drawings(word: str) -> Sequence[Drawing]:
    if word in HOUSINGS:
        return housing_drawings(word)
    return {"card": card_drawings, "closing": closing_drawings}.get(word, lambda: slot_drawings(word))()


def _name(notebook: str, words: Words) -> str:
    if notebook == START_NOTEBOOK:
        return words["start_page"]
    return f"{notebook.removesuffix('.ipynb').replace('_', ' ').capitalize()}?".replace(" i ", " I ")
