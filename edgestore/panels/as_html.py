"""Answers, refusals and failures as the HTML that a panel shows."""

import re
import traceback
from collections.abc import Sequence
from html import escape
from itertools import accumulate
from pathlib import Path

from edgestore.checks import Fault
from edgestore.look import State, marked
from edgestore.text import counted

WORST = 3
"""So many warnings are in view."""

WORDS = 40
"""So many words of an answer are in view after its first sentence."""

FAULTS = 5
"""So many faults of one control are in view."""


def failure_html(error: Exception) -> str:
    """Say that the program itself failed, what to do, and what to report."""
    place = traceback.extract_tb(error.__traceback__)[-1]
    what = escape(f"{type(error).__name__}: {error} ({Path(place.filename).name}, line {place.lineno})")
    return (
        '<div role="alert"><strong>There is no answer: the program failed.</strong>'
        " This is a fault of the program and not of your input. Nothing was saved."
        " Fix: set the last input back, or reload the page; if it fails again, report this text and the inputs:"
        f" <code>{what}</code></div>"
    )


def faults_html(faults: Sequence[Fault]) -> str:
    """Say what was refused, which a screen reader announces once, when it comes; of many the first are in view."""
    texts = [str(fault) for fault in faults]
    if len(texts) == 1:
        told = f"<p><strong>Not used: {escape(texts[0])}</strong></p>"
    else:
        more = len(texts) - FAULTS
        others = _folded(counted(more, "more fault"), texts[FAULTS:]) if more > 0 else ""
        told = f"<p><strong>Not used:</strong></p>{_listed(texts[:FAULTS])}{others}"
    return f'<div class="edgestore-refused" role="alert">{told}</div>'


def answer_html(sentence: str) -> str:
    """Give the answer: its first sentence is what is read from afar, what follows explains it, and may be folded."""
    (first, *others), _ = shown_and_rest(sentence)
    return (
        f"<p><strong>{marked(escape(first), state_html)}</strong>{''.join(f' {escape(text)}' for text in others)}</p>"
    )


def shown_and_rest(sentence: str) -> tuple[list[str], list[str]]:
    """Give the sentences of an answer that stand in view, the first always, and those that are folded.

    Parameters
    ----------
    sentence : str
        The answer.

    Returns
    -------
    (list of str, list of str)
        Its sentences; more than ``WORDS`` words after the first are folded, by whole sentences.
    """
    sentences = re.split(r"(?<=\.) (?=[A-Z])", sentence)
    words = accumulate(len(text.split()) for text in sentences[1:])
    shown = 1 + sum(count <= WORDS for count in words)
    return sentences[:shown], sentences[shown:]


def state_html(state: State, words: str) -> str:
    """Give the words of a state, which the stylesheet shows in its colour with its mark."""
    return f'<span class="edgestore-state edgestore-{state.colour}">{words}</span>'


def remarks_html(warnings: Sequence[str], assumptions: Sequence[str], rest: Sequence[str] = ()) -> str:
    """List the worst warnings; the others, the assumptions and the rest of the answer fold. The worst is first."""
    parts = []
    if warnings:
        more = len(warnings) - WORST
        others = _folded(counted(more, "more warning"), warnings[WORST:]) if more > 0 else ""
        listed = _listed(warnings[:WORST])
        parts.append(f'<div class="edgestore-warnings"><p><strong>Warnings</strong></p>{listed}{others}</div>')
    if rest:
        parts.append(_folded("More of the answer", rest))
    if assumptions:
        parts.append(_folded("Assumptions", assumptions))
    return "".join(parts)


def _folded(title: str, texts: Sequence[str]) -> str:
    return f"<details><summary>{title}</summary>{_listed(texts)}</details>"


def _listed(texts: Sequence[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(text)}</li>' for text in texts)}</ul>"
