"""Result codes: what a learner did in a file of exercises, as a text to copy, with a checksum.

The answers are in it as typed, and are marked anew from the seed, so that a code cannot say "right" of a wrong answer.
The checksum (CRC-32, ISO/IEC 8802-3: one changed letter is always found) is against slips of copying; whoever knows
how it is made can make another, as with all that a learner hands in alone. A code has a seed and no name.
"""

import base64
import binascii
import json
import re
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from edgestore.training.exercises.draws import SEEDS, seed_of
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.marking import MAX_TYPED, RIGHT, UNREAD, mark
from edgestore.training.exercises.marks import Mark, Marks
from edgestore.training.exercises.rounds import ROUNDS

MOST_TRIES = 50
"""Answers to one exercise that a code may hold."""

MOST_CODES_CHARACTERS = 1_000_000
"""Length of all codes that are read at once."""

_CODE = re.compile(r"(E1\.([A-Za-z0-9_-]+))\.([0-9a-f]{8})")


@dataclass(frozen=True)
class Tried:
    """What was done in one exercise: hints seen, and the answers as typed, in order."""

    hints: int
    answers: tuple[str, ...]


@dataclass(frozen=True)
class HandedIn:
    """What one learner hands in of one round: by kind of exercise, what was tried."""

    seed: int
    round: str
    tried: Mapping[str, Tried]


def result_code(handed: HandedIn) -> str:
    """Result code of what a learner did.

    Parameters
    ----------
    handed : HandedIn
        What was done.

    Returns
    -------
    str
        In parentheses, so that its end is known however a message breaks its lines.

    Examples
    --------
    >>> code = result_code(HandedIn(7, "practice", {"hours_held": Tried(0, ("17.8 h",))}))
    >>> read_codes(f"Hello, here it is: {code}")[0][0].tried["hours_held"].answers
    ('17.8 h',)
    """
    tried = {kind: [done.hints, *done.answers] for kind, done in handed.tried.items()}
    content = json.dumps([handed.seed, handed.round, tried], ensure_ascii=False, separators=(",", ":"))
    text = f"E1.{base64.urlsafe_b64encode(content.encode()).decode().rstrip('=')}"
    return f"({text}.{zlib.crc32(text.encode()):08x})"


def read_codes(text: str) -> tuple[list[HandedIn], list[str]]:
    """Read all result codes in a text, with whatever stands around them.

    Parameters
    ----------
    text : str
        One message or many.

    Returns
    -------
    list of HandedIn, list of str
        What was handed in, and in words what is wrong with each code that is refused.
    """
    if len(text) > MOST_CODES_CHARACTERS:
        return [], [f"The codes have more than {MOST_CODES_CHARACTERS} characters. Read them in parts."]
    handed, faults = [], []
    joined = re.sub(r"\s+", "", text)
    for number, found in enumerate(re.findall(r"\([^()]*\)", joined), start=1):
        read = _read(found[1:-1])
        if isinstance(read, str):
            faults.append(f"Code {number} is refused: {read} Ask for it once more.")
        else:
            handed.append(read)
    if re.search(r"[()]|E1\.", re.sub(r"\([^()]*\)", "", joined)):
        faults.append("A code is cut off: it begins with “(E1.” and ends with “)”. Ask for it once more.")
    return handed, faults


def _read(code: str) -> HandedIn | str:
    """Read a code without its parentheses, or say what is wrong with it."""
    found = _CODE.fullmatch(code)
    if not found:
        return "it is no result code."
    if f"{zlib.crc32(found[1].encode()):08x}" != found[3]:
        return "its checksum does not fit. At least one letter was changed."
    try:
        seed, key, tried = json.loads(base64.urlsafe_b64decode(found[2] + "=" * (-len(found[2]) % 4)))
        whole = _is_whole(seed, key, tried)
    except (ValueError, TypeError, binascii.Error, RecursionError):
        whole = False
    if not whole:
        return "what it holds is of no exercise that is known here."
    return HandedIn(seed, key, {kind: Tried(hints, tuple(answers)) for kind, (hints, *answers) in tried.items()})


def _is_whole(seed: Any, key: Any, tried: Any) -> bool:
    numbered = type(seed) is int and 0 <= seed < SEEDS
    return numbered and key in ROUNDS and isinstance(tried, dict) and all(map(_is_tried, tried, tried.values()))


def _is_tried(kind: str, row: Any) -> bool:
    if kind not in KINDS or not isinstance(row, list) or not 1 <= len(row) <= 1 + MOST_TRIES:
        return False
    typed = all(isinstance(answer, str) and len(answer) <= MAX_TYPED for answer in row[1:])
    return type(row[0]) is int and row[0] >= 0 and typed


def marks_of_codes(text: str, names: Iterable[str]) -> Marks:
    """Marks of all result codes in a text.

    Parameters
    ----------
    text : str
        One message or many.
    names : iterable of str
        The class: a seed is told by the name that it belongs to.

    Returns
    -------
    Marks
        The marks, and a note for each code that is refused, that came twice, or whose seed is of nobody in the class.
    """
    by_seed = {seed_of(name): name for name in names}
    handed, notes = read_codes(text)
    last: dict[tuple[int, str], HandedIn] = {}
    for one in handed:
        who = by_seed.get(one.seed, f"seed {one.seed}")
        if one.seed not in by_seed:
            notes.append(f"Seed {one.seed} is of nobody in the list of learners.")
        if last.get((one.seed, one.round), one) != one:
            notes.append(f"{who} handed in “{ROUNDS[one.round].title}” more than once. The last one counts.")
        last[one.seed, one.round] = one
    marks = [mark for one in last.values() for mark in _marks(one, by_seed.get(one.seed, f"seed {one.seed}"))]
    return Marks(tuple(marks), tuple(notes))


def _marks(handed: HandedIn, learner: str) -> list[Mark]:
    """Mark the answers anew: of a test the first that can be read, of practice all up to the right one."""
    about = ROUNDS[handed.round]
    kept = []
    for kind, tried in handed.tried.items():
        asked = exercise(kind, handed.seed, about.number)
        for answer in tried.answers:
            verdict = mark(asked, answer).verdict
            if verdict == UNREAD:
                continue
            kept.append(Mark(learner, handed.seed, kind, about.number, answer, verdict, tried.hints))
            if about.is_test or verdict == RIGHT:
                break
    return kept
