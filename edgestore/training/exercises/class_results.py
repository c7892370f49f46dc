"""What the results of a class teach its trainer: the mistakes behind each question, who is missing, and the gain."""

from collections import Counter
from collections.abc import Sequence
from statistics import mean

import pandas as pd

from edgestore.text import counted
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.marking import MISTAKE, RIGHT, mark
from edgestore.training.exercises.marks import Mark, Marks
from edgestore.training.exercises.rounds import ROUNDS, TESTS

GAIN_DECIMALS = 2
"""Decimals of a gain that is shown: more than so few questions tell would be too much."""

MOST_MISTAKES = 5
"""Mistakes of a question that are told; the others are counted."""


def in_round(marks: Marks, key: str) -> Marks:
    """Marks of a round alone: of a test, or of all that was practised."""
    about = ROUNDS[key]
    of_round = (
        one for one in marks.marks if (one.number == about.number if about.is_test else one.number not in TESTS)
    )
    return Marks(tuple(of_round), marks.notes)


def by_question(marks: Marks, names: Sequence[str]) -> pd.DataFrame:
    """What a class did with each question: in words, so that a trainer knows what to tell again.

    Parameters
    ----------
    marks : Marks
        The marks of the class.
    names : sequence of str
        The class list, as from :func:`edgestore.training.exercises.sheets.learners`.

    Returns
    -------
    DataFrame
        ``exercise``, ``answered_by``, ``right_at_once``, ``known_mistakes`` (each with the learners who made it at
        least once, of those who answered, the most frequent first), ``hints_used``, ``missing`` (of the class list).
    """
    rows = []
    for kind, about in KINDS.items():
        mine = [mark for mark in marks.marks if mark.kind == kind]
        answered = _learners(mine)
        at_once = {_key(one) for one in _firsts(mine) if one.verdict == RIGHT and not one.hints}
        rows.append(
            {
                "exercise": about.title,
                "answered_by": len(answered),
                "right_at_once": len(at_once),
                "known_mistakes": "; ".join(mistakes(mine)),
                "hints_used": sum(_hints(mine).values()),
                "missing": ", ".join(name for name in names if name.casefold() not in answered),
            }
        )
    return pd.DataFrame(rows)


def mistakes(marks: Sequence[Mark]) -> list[str]:
    """The known mistakes in some marks, most frequent first: ``7 of 12 took the cap for the mean``.

    Each is counted once for a learner, of all learners who have a mark there.
    """
    made = {
        (mark(exercise(one.kind, one.seed, one.number), one.given).did, _key(one))
        for one in marks
        if one.verdict == MISTAKE
    }
    of = len(_learners(marks))
    counts = Counter(did for did, _ in sorted(made) if did)
    told = [f"{count} of {of} {did}" for did, count in counts.most_common(MOST_MISTAKES)]
    rest = len(counts) - len(told)
    return [*told, *([counted(rest, "rarer mistake")] if rest > 0 else [])]


def missing(marks: Marks, names: Sequence[str]) -> str:
    """Who of a class list has no mark at all, in words."""
    there = _learners(marks.marks)
    absent = [name for name in names if name.casefold() not in there]
    return f"No marks yet of {counted(len(absent), 'learner')}: {', '.join(absent)}." if absent else ""


def gain(before: float, after: float) -> float | None:
    """Normalised gain: what was gained of what there was to gain.

    Parameters
    ----------
    before, after : float
        Share of right answers, 0 to 1.

    Returns
    -------
    float or None
        1 where all was gained, below 0 where something was lost; none where nothing was left to gain.

    Notes
    -----
    ``g = (after - before) / (1 - before)``. Of a class it is formed from the two averages. Hake calls less than 0.3
    low and 0.7 or more high. Few questions make it rough: with 15, one answer moves it by 0.1 or so.

    References
    ----------
    R. R. Hake, Interactive-engagement versus traditional methods, American Journal of Physics 66 (1998) 64-74; read in
    his own summary, Analyzing change/gain scores (1999), equation 1.

    Examples
    --------
    >>> f"{gain(0.4, 0.7):.2f}"
    '0.50'
    """
    return None if before >= 1 else (after - before) / (1 - before)


def gains(marks: Marks) -> pd.DataFrame:
    """Test before and after the course, each learner with both, and the class.

    Parameters
    ----------
    marks : Marks
        The marks of the class.

    Returns
    -------
    DataFrame
        ``learner``, ``before`` and ``after`` (right answers, of ``questions``), ``gain`` (see :func:`gain`). The last
        row is the class, from its averages.
    """
    scores = {key: _scores(marks, ROUNDS[key].number) for key in ("before", "after")}
    names = {_key(one): one.learner for one in reversed(marks.marks)}
    both = [key for key in dict.fromkeys(map(_key, marks.marks)) if key in scores["before"] and key in scores["after"]]
    rows: list[tuple[str, float, float]] = [(names[key], scores["before"][key], scores["after"][key]) for key in both]
    if rows:
        averages = (mean(row[1] for row in rows), mean(row[2] for row in rows))
        rows.append((f"Average of {counted(len(both), 'learner')}", *averages))
    table = pd.DataFrame(rows, columns=["learner", "before", "after"])
    table["questions"] = len(KINDS)
    pairs = zip(table["before"], table["after"], strict=True)
    table["gain"] = [_rounded(gain(before / len(KINDS), after / len(KINDS))) for before, after in pairs]
    return table


def _rounded(gained: float | None) -> float | None:
    return None if gained is None else round(gained, GAIN_DECIMALS)


def _scores(marks: Marks, number: int) -> dict[str, int]:
    """Right answers in a test, by learner; what was not answered is not right."""
    of_test = [one for one in marks.marks if one.number == number and number in TESTS]
    scores = dict.fromkeys(map(_key, of_test), 0)
    for one in _firsts(of_test):
        scores[_key(one)] += one.verdict == RIGHT
    return scores


def _firsts(marks: Sequence[Mark]) -> list[Mark]:
    """The first mark of each learner in each exercise."""
    first: dict[tuple[str, str, int], Mark] = {}
    for one in marks:
        first.setdefault((_key(one), one.kind, one.number), one)
    return list(first.values())


def _hints(marks: Sequence[Mark]) -> dict[tuple[str, str, int], int]:
    """Hints seen by each learner in each exercise: a mark counts those seen so far, so the most of them."""
    seen: dict[tuple[str, str, int], int] = {}
    for one in marks:
        place = (_key(one), one.kind, one.number)
        seen[place] = max(one.hints, seen.get(place, 0))
    return seen


def _learners(marks: Sequence[Mark]) -> set[str]:
    return set(map(_key, marks))


def _key(one: Mark) -> str:
    return one.learner.casefold()
