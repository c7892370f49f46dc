"""A learner's exercises as one file that needs no server and no network; a code to hand in comes out of it."""

import json
from collections.abc import Iterable
from functools import cache
from html import escape
from pathlib import Path
from typing import Any

from edgestore.checks import one_of
from edgestore.look import filled
from edgestore.text import MADE_WITH
from edgestore.training.exercises.codes import MOST_TRIES
from edgestore.training.exercises.draws import checked_seed, seed_of
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.marking import BY_CAPITAL, MAX_TYPED, UNITS
from edgestore.training.exercises.questions import Case, Exercise, Sum
from edgestore.training.exercises.rounds import ROUNDS, Round
from edgestore.training.exercises.sealed import ROUNDS_OF_HASH, TAG_BYTES, plain_answer, sealed

TEMPLATE = Path(__file__).with_name("template")


def offline_files(names: Iterable[str], round_: str) -> dict[str, bytes]:
    """Files of exercises of a class, by file name; the name of a file has the seed and no learner's name.

    Parameters
    ----------
    names : iterable of str
        The class.
    round_ : str
        A key of ``ROUNDS``.

    Returns
    -------
    dict of str to bytes
        A page a learner.
    """
    return {f"{round_}_{seed:06d}.html": offline_page(seed, round_).encode() for seed in map(seed_of, names)}


def offline_page(seed: int, round_: str) -> str:
    """A learner's exercises as a page that holds all it needs.

    Parameters
    ----------
    seed : int
        The learner's seed, 0 to 999 999.
    round_ : str
        A key of ``ROUNDS``.

    Returns
    -------
    str
        The page, the same for the same seed and round. That of a test holds no answers; that of practice holds them
        sealed (:mod:`edgestore.training.exercises.sealed`).

    Raises
    ------
    InputError
        When there is no such round, or the seed is out of range.
    """
    about = ROUNDS[one_of("round", round_, ROUNDS)]
    content = {
        "seed": checked_seed(seed),
        "round": round_,
        "isTest": about.is_test,
        "by_capital": BY_CAPITAL,
        "units": {word: unit for unit, words in UNITS.items() for word in words},
        "iterations": ROUNDS_OF_HASH,
        "tagBytes": TAG_BYTES,
        "longest": MAX_TYPED,
        "mostTries": MOST_TRIES,
        "exercises": [_asked(kind, seed, about) for kind in KINDS],
    }
    # "<" is the one sign that could end a script early.
    data = json.dumps(content, ensure_ascii=False).replace("<", "\\u003c")
    page, style, script = (_part(f"offline.{end}") for end in ("html", "css", "js"))
    parts = {"TITLE": escape(about.title), "STYLE": filled(style), "MADE": escape(MADE_WITH), "DATA": data}
    for name, part in (parts | {"SCRIPT": script}).items():
        page = page.replace(f"@@{name}@@", part)
    return page


def _asked(kind: str, seed: int, about: Round) -> dict[str, Any]:
    made = exercise(kind, seed, about.number)
    case = isinstance(made, Case)
    salt = f"{seed}/{kind}/{about.number}"
    return {
        "kind": kind,
        "title": KINDS[kind].title,
        "question": made.question,
        "options": list(made.options) if isinstance(made, Case) else [],
        "unit": made.unit,
        "decimals": 0 if isinstance(made, Case) else made.decimals,
        "is_small": not about.is_test and isinstance(made, Sum) and made.is_small,
        "salt": salt,
        "hints": [] if about.is_test else list(made.hints),
        "sealed": [] if about.is_test else sealed(_texts(made, case), salt),
    }


def _texts(made: Exercise, case: bool) -> dict[str, str]:
    """By answer, what is told of it: whether it is right, in words, and how it goes."""
    answer = made.answer if case else f"{made.answer} {made.unit}"
    told = {made.answer: json.dumps({"right": f"Right: {answer}.", "steps": made.steps}, ensure_ascii=False)}
    for wrong, why in made.mistakes.items():
        told[wrong] = json.dumps({"why": f"Not {wrong}. {why}" if case else why}, ensure_ascii=False)
    return {plain_answer(made, given): text for given, text in told.items()}


@cache
def _part(name: str) -> str:
    return (TEMPLATE / name).read_text(encoding="utf-8")
