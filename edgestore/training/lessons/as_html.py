"""The pages of a lesson as HTML: the goal, a question, its answer, cautions, and what follows."""

import base64
import re
from collections.abc import Mapping, Sequence
from html import escape

from edgestore.text import NO_BREAK
from edgestore.training.exercises.kinds import KINDS
from edgestore.training.fitting.cautions import RULE, Caution
from edgestore.training.fitting.pictures import picture_of, svg_of
from edgestore.training.lessons.screens import Answer, Lesson, Screen

EXERCISES_NOTEBOOK = "learner_exercises.ipynb"
START_NOTEBOOK = "start.ipynb"
LETTERS = "ABCD"

NUMBER_AND_NEXT = re.compile(r"(?<=\d) (?=\d{3}\b|%|[GT]i?B\b|M(?:bit|byte)/s|hours\b|days\b|years\b)")
"""The space within a number, or between a number and its unit."""

A_DAY = re.compile(r"\d{4}-\d\d-\d\d")

Words = Mapping[str, str]


def told(text: str) -> str:
    """Give a text as HTML; a number and its unit stay on one line."""
    return NUMBER_AND_NEXT.sub(NO_BREAK, escape(text))


def mistaken(answer: Answer) -> str:
    """Give a wrong answer and what led to it, parted so that no figure of one runs into the other."""
    mark = "" if answer.text[-1] in ".?!" else ":"
    return f"<em>{told(answer.text)}{mark}</em> {told(answer.mistake)}"


def opening(lesson: Lesson, words: Words) -> str:
    """Give the first page of a lesson."""
    return f'<h2 class="edgestore-asking">{escape(lesson.title)}</h2><p>{words["at_the_end"]} {escape(lesson.goal)}</p>'


def question(screen: Screen, words: Words) -> str:
    """Give the question of an idea and the answers to vote for, and nothing that tells which is right."""
    answers = "".join(
        f'<li><span class="edgestore-letter">{letter}</span> {told(answer.text)}</li>'
        for letter, answer in zip(LETTERS, screen.answers, strict=False)
    )
    return (
        f'<h2 class="edgestore-asking">{told(screen.question)}</h2><ul class="edgestore-votes">{answers}</ul>'
        f'<p class="edgestore-label">{words["vote"]}</p>'
    )


def answered(screen: Screen, words: Words) -> str:
    """Give the idea, which answer is right, and what led to each wrong one."""
    items = "".join(
        f'<li class="edgestore-right"><span class="edgestore-letter">{letter}</span>'
        f" <strong>✓ {told(answer.text)}</strong></li>"
        if answer.is_right
        else f'<li><span class="edgestore-letter">{letter}</span> <span>{mistaken(answer)}</span></li>'
        for letter, answer in zip(LETTERS, screen.answers, strict=False)
    )
    return (
        f"<h2>{escape(screen.title)}</h2><p>{told(screen.text)}</p>"
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
    body = "".join("<tr>" + "".join(map(_cell, line)) + "</tr>" for line in lines)
    return f'<table class="edgestore-log"><caption>{words["invented"]}</caption><tr>{cells}</tr>{body}</table>'


def _cell(text: str) -> str:
    kind = ' class="edgestore-day"' if A_DAY.fullmatch(text) else ""
    return f"<td{kind}>{told(text)}</td>"


def figures(keys: Sequence[str]) -> str:
    """Give drawings by their keys, numbered."""
    return "".join(_figure(number, key) for number, key in enumerate(keys, start=1))


def _figure(number: int, key: str) -> str:
    drawing = picture_of(key)
    source = f"data:image/svg+xml;base64,{base64.b64encode(svg_of(key)).decode()}"
    picture = f'<img src="{source}" alt="{escape(drawing.alt_text)}" width="100%">'
    return f"<figure>{picture}<figcaption>{number}. {escape(drawing.title)}</figcaption></figure>"


def _name(notebook: str, words: Words) -> str:
    if notebook == START_NOTEBOOK:
        return words["start_page"]
    return f"{notebook.removesuffix('.ipynb').replace('_', ' ').capitalize()}?".replace(" i ", " I ")
