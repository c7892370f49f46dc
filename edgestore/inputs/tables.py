"""The cells of a list -> typed rows, or one error that names every fault of the file.

What a list holds is data: a tuple of :class:`Column` and one of :class:`Rule`. This file knows nothing of cameras
or cards, and of files only what :mod:`edgestore.inputs.sheet` gives it.
"""

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Literal, TypeAlias

import numpy as np
import pandas as pd

from edgestore.checks import Fault, InputError, in_range, one_of, refuse
from edgestore.inputs.names import has_control, looks, unlike_letters
from edgestore.inputs.sheet import DELIMITERS, LineFaults, Sheet, Source, read_sheet, shown

Value: TypeAlias = str | float | bool | np.datetime64

YES_NO = {"yes": True, "no": False, "true": True, "false": False, "1": True, "0": False}

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.ASCII | re.IGNORECASE)
_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_POINT_FOR_COMMA = str.maketrans(",.", ".,")
_DECIMAL_POINT = re.compile(r"(?<=\d)\.(?=\d)")
_LINES_IN_A_NOTE = 5

EXAMPLE = 4.5
"""A number as it is to be written; a column that takes none so high says itself how, where it can (our choice)."""


@dataclass(frozen=True)
class Column:
    """One column of a list: what its cells may hold, and what an empty cell means.

    In a ``unique`` column no two cells may look alike (:func:`edgestore.inputs.names.looks`).

    A ``range``, which settings alone have, is a pair of numbers.

    A ``choice`` is one of ``words``; ``choices`` are one or more of them, separated by spaces. Without a
    ``default``, which a yes-no column needs, an empty cell gives NaN for a number, NaT for a date and else an empty
    text.
    """

    name: str
    kind: Literal["text", "number", "date", "choice", "choices", "yes-no", "range"]
    help: str
    unit: str = ""
    required: bool = False
    unique: bool = False
    default: Value | None = None
    words: tuple[str, ...] = ()
    above: float | None = None
    at_least: float | None = None
    at_most: float | None = None
    mend: str = ""

    @property
    def empty(self) -> Value:
        """The value that an empty cell stands for."""
        if self.default is not None:
            return self.default
        no_value: dict[str, Value] = {"number": math.nan, "date": np.datetime64("NaT", "D")}
        return no_value.get(self.kind, "")


@dataclass(frozen=True)
class Rule:
    """What the cells of one row must agree on; a broken rule is told at the first of its ``columns``.

    ``broken`` takes the typed rows and marks those that break the rule; rows with a fault in a cell of ``columns``
    are passed over. A rule that ``is_note`` refuses nothing: the reader is told and the row is used.
    """

    columns: tuple[str, ...]
    broken: Callable[[pd.DataFrame], "pd.Series[bool]"]
    allowed: str
    mend: str
    is_note: bool = False


@dataclass(frozen=True)
class Table:
    """A list that was read: its name, rows with exactly the declared columns, and what the reader should know."""

    name: str
    rows: pd.DataFrame
    notes: tuple[str, ...]


def read_table(source: Source, columns: Sequence[Column], rules: Iterable[Rule] = (), name: str = "list") -> Table:
    r"""Read a list from a spreadsheet export.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the file, or its content.
    columns : sequence of Column
        The columns that the list may have; others in the file are left aside, with a note.
    rules : iterable of Rule
        What the cells of a row must agree on.
    name : str
        What messages call the list when ``source`` is its content; a file is called by its own name.

    Returns
    -------
    Table
        Rows with exactly ``columns`` in that order, index 0 to n - 1, and the notes.

    Raises
    ------
    InputError
        With all faults in the order of the file: where (file, line, column), what was found, what is allowed, how
        to mend it. The line is that of a text editor, blank lines counted, on which the row starts.

    Notes
    -----
    The decimal comma is taken where cells are separated by semicolons or tabs and at least as many numbers have a
    comma as have a point. Encodings and separators: :func:`edgestore.inputs.sheet.read_sheet`.

    References
    ----------
    Quoted cells: RFC 4180.

    Examples
    --------
    >>> door = Column("door", "text", "its name", required=True)
    >>> width = Column("width_m", "number", "clear opening", unit="m", above=0)
    >>> table = read_table(b"Width m;Door\n1,5;north\n", [door, width])
    >>> table.rows.to_dict("records")
    [{'door': 'north', 'width_m': 1.5}]
    >>> table.notes
    ('list: read as UTF-8 with semicolons and decimal commas',)
    """
    sheet, faults = read_sheet(source, name, [column.name for column in columns])
    faults += _missing_columns(sheet, columns)
    lines = list(sheet.rows)
    mark = decimal_mark(sheet, columns)
    values: dict[str, list[Value]] = {}
    faulty: dict[str, dict[int, Fault]] = {}
    for column in columns:
        values[column.name], faulty[column.name] = _values(sheet, column, mark)
        faults += faulty[column.name].items()
    rows = pd.DataFrame(values, index=lines)  # all at once: column by column it takes longer than all the reading

    notes = _reading_notes(sheet, columns, mark)
    for rule in rules if lines else ():
        broken = (lines[row] for row in np.flatnonzero(rule.broken(rows).to_numpy(bool)))
        at = [line for line in broken if not any(line in faulty[name] for name in rule.columns)]
        if at and rule.is_note:
            notes.append(f"{sheet.name}, {_shown_lines(at, sheet.word)}: {rule.allowed}. {rule.mend}")
        elif at:
            faults += _rule_faults(rule, sheet, at)
    if faults:
        raise InputError(fault for _, fault in sorted(faults, key=lambda fault_at: fault_at[0]))
    return Table(sheet.name, rows.reset_index(drop=True), tuple(notes))


def _missing_columns(sheet: Sheet, columns: Sequence[Column]) -> LineFaults:
    """Tell which required columns the header does not name."""
    at = sheet.header_line
    return [
        (at, Fault(sheet.place(at, column.name), "no such column", "a list that has it", f"Add it: {column.help}."))
        for column in columns
        if column.required and column.name not in sheet.header
    ]


def decimal_mark(sheet: Sheet, columns: Sequence[Column]) -> str:
    """Tell whether numbers have a decimal comma or a point; commas between cells leave no choice."""
    cells = [cell for column in columns if column.kind == "number" for cell in sheet.cells(column.name)]
    commas, points = (sum(mark in cell for cell in cells) for mark in ",.")
    return "," if sheet.delimiter != "," and commas and commas >= points else "."


def _values(sheet: Sheet, column: Column, mark: str) -> tuple[list[Value], dict[int, Fault]]:
    """Give the values of a column, and the fault of each line that has one."""
    if column.name not in sheet.header:
        return [column.empty] * len(sheet.rows), {}
    cells = sheet.cells(column.name)
    parsed = {cell: value_or_fault(cell, column, mark) for cell in set(cells)}
    values = [parsed[cell] for cell in cells]
    if column.unique:
        values = _each_once(sheet.rows, cells, values, sheet.word)
    faults = {
        line: replace(value, where=sheet.place(line, column.name))
        for line, value in zip(sheet.rows, values, strict=True)
        if isinstance(value, Fault)
    }
    return [column.empty if isinstance(value, Fault) else value for value in values], faults


def _each_once(lines: Iterable[int], cells: list[str], values: list[Value | Fault], word: str) -> list[Value | Fault]:
    """Put a fault in the place of each name that looks like one of an earlier line."""
    first: dict[str, tuple[int, str]] = {}
    told: list[Value | Fault] = []
    for line, cell, value in zip(lines, cells, values, strict=True):
        before = [first.setdefault(look, (line, cell)) for look in looks(cell)] if cell else []
        twice = next((_named_twice(cell, *at, word=word) for at in before if at[0] != line), value)
        told.append(value if isinstance(value, Fault) else twice)
    return told


def _named_twice(cell: str, line: int, other: str, word: str) -> Fault:
    """Tell that a name is that of an earlier line, or looks like it."""
    if cell == other:
        return Fault("", f"{shown(cell)}, in {word} {line} too", "each name once", "Give each its own name.")
    letters = unlike_letters(cell, other)
    found = f"{shown(cell)}, which looks like {shown(other)} in {word} {line}" + (
        letters and f" (differs by {letters})"
    )
    return Fault("", found, "names that a reader can tell apart", "Rename one, or remove it if it is the same.")


def value_or_fault(cell: str, column: Column, mark: str) -> Value | Fault:
    """Give the value of a cell, or what is wrong with it."""
    if not cell and not column.required:
        return column.empty
    try:
        match column.kind:
            case "number":
                return _number(cell, column, mark)
            case "date":
                return _date(cell, column)
            case "choice" | "choices":
                return _words(cell, column)
            case "yes-no":
                word = cell if cell.lower() not in YES_NO else cell.lower()
                return YES_NO[one_of(column.name, word, YES_NO, column.mend)]
            case _:
                return _text(cell, column)
    except InputError as error:
        return error.faults[0]


def _text(cell: str, column: Column) -> str:
    """Read a text that can be shown as it stands; what every row must have, such as a name, is on one line."""
    if not cell:
        raise refuse(column.name, shown(cell), "a text", column.mend)
    if has_control(cell if column.required else " ".join(cell.split())):
        mend = "Type it again: it holds control characters, which do not show."
        raise refuse(
            column.name, shown(cell), f"a text{' on one line' * column.required} of characters that show", mend
        )
    return cell


def _number(cell: str, column: Column, mark: str) -> float:
    """Read a number within the bounds of its column."""
    plain = cell.translate(_POINT_FOR_COMMA) if mark == "," else cell
    of_column = _DECIMAL_POINT.sub(mark, column.mend)
    number, example = math.nan, _DECIMAL_POINT.sub(mark, str(EXAMPLE))
    mend = f"Write the number alone, as {example}: no unit, no thousands separator."
    if of_column and column.at_most is not None and column.at_most < EXAMPLE:
        mend = of_column
    if "," in plain:
        mend += " In a workbook, enter it as a number, not as text; where commas separate the cells, with a point."
    if _NUMBER.fullmatch(plain):
        number, mend = float(plain), of_column
    above, at_least, at_most = column.above, column.at_least, column.at_most
    try:
        return float(
            in_range(column.name, number, column.unit, above=above, at_least=at_least, at_most=at_most, mend=mend)
        )
    except InputError as error:
        raise InputError(replace(fault, found=shown(cell)) for fault in error.faults) from None


def _date(cell: str, column: Column) -> np.datetime64:
    """Read a day of the calendar as ISO 8601 writes it."""
    try:
        if _DATE.fullmatch(cell):
            return np.datetime64(cell, "D")
    except ValueError:  # no such day
        pass
    mend = (
        column.mend or "Write year, month and day; if the spreadsheet program changes that, format the cells as text."
    )
    raise refuse(column.name, shown(cell), "a date as 2026-03-15", mend)


def _words(cell: str, column: Column) -> str:
    """Read one of the words of a column, or several where it takes several."""
    known = {word.lower(): word for word in column.words}
    parts = cell.split()
    words = parts or [""] if column.kind == "choices" else [" ".join(parts)]
    unknown = [word for word in words if word.lower() not in known]
    if unknown:
        raise refuse(column.name, ", ".join(map(shown, unknown)), ", ".join(column.words), column.mend)
    return " ".join(known[word.lower()] for word in words)


def _rule_faults(rule: Rule, sheet: Sheet, lines: list[int]) -> LineFaults:
    """Tell a broken rule at each line, or once when the file has none of its columns."""
    if not set(rule.columns) & set(sheet.header):
        place = sheet.place(sheet.header_line, rule.columns[0])
        return [(sheet.header_line, Fault(place, "no such column", rule.allowed, rule.mend))]
    faults: LineFaults = []
    for line in lines:
        cells = {name: sheet.rows[line][sheet.header.index(name)] for name in rule.columns if name in sheet.header}
        found = ", ".join(f"{sheet.heading(name)} {shown(cell)}" for name, cell in cells.items())
        faults.append((line, Fault(sheet.place(line, rule.columns[0]), found, rule.allowed, rule.mend)))
    return faults


def _reading_notes(sheet: Sheet, columns: Sequence[Column], mark: str) -> list[str]:
    """Tell how the file was read when that is unusual, and which columns were left aside."""
    notes = []
    if (sheet.encoding, sheet.delimiter) != ("UTF-8", ","):
        decimals = " and decimal commas" if mark == "," else ""
        notes.append(f"{sheet.name}: read as {sheet.encoding} with {DELIMITERS[sheet.delimiter]}{decimals}")
    names = [column.name for column in columns]
    missing = [name for name in names if name not in sheet.header]
    unused = []
    for number, heading in enumerate(sheet.header, start=1):
        if heading not in names:
            like = "".join(f" (is it {name}?)" for name in get_close_matches(heading, missing, n=1, cutoff=0.8))
            unused.append((heading or f"column {number}") + like)
    if unused:
        notes.append(f"{sheet.name}: not used: {', '.join(unused)}")
    return notes


def _shown_lines(lines: list[int], word: str) -> str:
    """Name the lines of a note, only the first when there are many."""
    more = len(lines) - _LINES_IN_A_NOTE
    names = ", ".join(map(str, lines[:_LINES_IN_A_NOTE])) + (f" and {more} more" if more > 0 else "")
    return f"{word}{'s' if len(lines) > 1 else ''} {names}"
