"""The trainer's sheets: who has which seed, the key to the answers, and how far everybody is."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from html import escape

import pandas as pd

from edgestore.checks import Fault, InputError, in_range
from edgestore.look import filled
from edgestore.panels.table import table_html
from edgestore.plan.tables import as_csv, stamped
from edgestore.text import MADE_WITH
from edgestore.training.exercises.draws import learner_name, seed_of
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.marking import RIGHT
from edgestore.training.exercises.marks import GIVEN_UP, Marks

MAX_NUMBERS = 20
"""Exercises of one kind in a key."""

PAGE = filled("""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="{made_with}">
<title>{title}</title>
<style>
body {{ color: var(--edgestore-ink); font: 11pt/1.4 system-ui, sans-serif; margin: 1.5cm; }}
table {{ border-collapse: collapse; }}
th, td {{ border: 1px solid var(--edgestore-quiet); padding: 2pt 6pt; text-align: left; }}
tr {{ break-inside: avoid; }}
</style>
</head>
<body>
<h1>{title}</h1>
<p>{note}</p>
{table}
<p>Made with {made_with}.</p>
</body>
</html>
""")


def learners(typed: str) -> tuple[str, ...]:
    """Read the names of a class, one a line, and refuse those that stand twice.

    Parameters
    ----------
    typed : str
        Names, one a line; blank lines do not count.

    Returns
    -------
    tuple of str
        The names, in order.

    Raises
    ------
    InputError
        All that is wrong, together.
    """
    names: list[str] = []
    faults: list[Fault] = []
    for number, line in enumerate(typed.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            name = learner_name(line)
        except InputError as error:
            faults += [Fault(f"line {number}", fault.found, fault.allowed, fault.mend) for fault in error.faults]
            continue
        if name.casefold() in map(str.casefold, names):
            faults.append(Fault(f"line {number}", repr(name), "each name once", "Add a letter to one of them."))
        names.append(name)
    if not names and not faults:
        faults.append(Fault("names", "none", "one name a line"))
    if faults:
        raise InputError(faults)
    return tuple(names)


def class_sheet(names: Iterable[str]) -> pd.DataFrame:
    """Give each learner's seed.

    Parameters
    ----------
    names : iterable of str
        The class, as from :func:`learners`.

    Returns
    -------
    DataFrame
        ``learner`` and ``seed``.
    """
    return pd.DataFrame([(name, seed_of(name)) for name in names], columns=["learner", "seed"])


def answer_key(names: Iterable[str], numbers: int = 1) -> pd.DataFrame:
    """Give the answers to the first exercises of each kind, for each learner. For the trainer alone.

    Parameters
    ----------
    names : iterable of str
        The class.
    numbers : int
        How many exercises of each kind, 1 to 20.

    Returns
    -------
    DataFrame
        ``learner``, ``seed``, ``exercise``, ``number``, ``answer``, ``unit``.
    """
    in_range("numbers", numbers, at_least=1, at_most=MAX_NUMBERS)
    rows = []
    for name, seed in class_sheet(names).itertuples(index=False):
        for kind, about in KINDS.items():
            for number in range(1, numbers + 1):
                made = exercise(kind, seed, number)
                rows.append((name, seed, about.title, number, made.answer, made.unit))
    return pd.DataFrame(rows, columns=["learner", "seed", "exercise", "number", "answer", "unit"])


def results(marks: Marks) -> pd.DataFrame:
    """Give a row for each learner and kind of exercise.

    Parameters
    ----------
    marks : Marks
        The marks.

    Returns
    -------
    DataFrame
        ``learner``, ``seed``, ``exercise``, ``right``, ``right_at_once``, ``given_up``, ``answers``, ``hints``,
        ``last``.
        ``right_at_once`` counts exercises whose first answer was right, without a hint.
    """
    rows = [asdict(mark) for mark in marks.marks]
    columns = ["learner", "seed", "exercise", "right", "right_at_once", "given_up", "answers", "hints", "last"]
    if not rows:
        return pd.DataFrame(columns=columns)
    table = pd.DataFrame(rows)
    table["order"] = table["kind"].map(list(KINDS).index)
    table["exercise"] = table["kind"].map(lambda kind: KINDS[kind].title)
    table["learner"] = table.groupby(table["learner"].str.casefold())["learner"].transform("first")
    table["right"] = table["verdict"] == RIGHT
    one_exercise = ["learner", "seed", "kind", "number"]
    first = ~table.duplicated(one_exercise)
    table["right_at_once"] = table["right"] & first & table["hints"].eq(0)
    table["given_up"] = table["verdict"] == GIVEN_UP
    table["answers"] = ~table["given_up"]
    # A mark counts the hints seen so far: the last one has them all, and is counted once.
    table["hints"] = table.groupby(one_exercise)["hints"].transform("max").where(first, 0)
    by_kind = table.groupby(["learner", "seed", "order", "exercise"], as_index=False).agg(
        right=("right", "sum"),
        right_at_once=("right_at_once", "sum"),
        given_up=("given_up", "sum"),
        answers=("answers", "sum"),
        hints=("hints", "sum"),
        last=("time", "max"),
    )
    return by_kind[columns]


def sheet_files(sheets: Mapping[str, tuple[str, pd.DataFrame]]) -> dict[str, bytes]:
    """Give each sheet as CSV and as an HTML page that prints, by file name.

    Parameters
    ----------
    sheets : mapping of str to (str, DataFrame)
        By title: a note to print above the table, and the table.

    Returns
    -------
    dict of str to bytes
        Contents by file name.
    """
    named: dict[str, bytes] = {}
    for title, (note, table) in sheets.items():
        stem = title.lower().replace(" ", "_")
        page = PAGE.format(title=escape(title), note=escape(note), table=table_html(table), made_with=MADE_WITH)
        named |= {f"{stem}.csv": as_csv(stamped(table)), f"{stem}.html": page.encode()}
    return named
