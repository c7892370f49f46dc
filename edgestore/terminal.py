"""Texts in lines no wider than the terminal, whose letters take one column or two."""

import re
import shutil
import textwrap
import unicodedata

import pandas as pd

LONGEST_LINE = 100
"""Prose is not set wider than this, however wide the terminal is."""

SECOND = "\ufdd0"
"""Stands for the second column of a letter that takes two; a code point that no text has."""

_WIDE = re.compile(f"(.{SECOND})")

_CLAUSE_END = re.compile(r"(?<=[.;]) |(?= \()")


class _Wrapper(textwrap.TextWrapper):
    """Breaks lines between wide letters too, as their scripts do, but never within a path that stays whole."""

    def _split(self, text: str) -> list[str]:
        chunks: list[str] = super()._split(text)
        return [
            part for chunk in chunks for part in (_WIDE.split(chunk) if self._may_break(chunk) else [chunk]) if part
        ]

    def _may_break(self, chunk: str) -> bool:
        return self.break_long_words or not re.search(r"[/\\]", chunk)


def _spread(text: str) -> str:
    """Put ``SECOND`` after each letter that takes two columns of a terminal, as Chinese ones do."""
    if text.isascii():
        return text
    return "".join(f"{c}{SECOND}" if unicodedata.east_asian_width(c) in "WF" else c for c in text)


def width_of(line: str) -> int:
    """Columns of a terminal that a line takes.

    Examples
    --------
    >>> width_of("gate"), width_of("正門")
    (4, 4)
    """
    return len(_spread(line))


def columns() -> int:
    """Width of the terminal, in letters; ``LONGEST_LINE`` where the output goes to a file."""
    return shutil.get_terminal_size((LONGEST_LINE, 0)).columns


def paragraph(
    text: str, width: int, *, lines: int | None = None, indent: str = "", whole_words: bool = False
) -> list[str]:
    """Set a text in lines.

    Parameters
    ----------
    text : str
        The text.
    width : int
        Most columns of a line, of which a Chinese letter takes two; prose is not set wider than ``LONGEST_LINE``.
    lines : int, optional
        Most lines; what does not fit is left out, marked by an ellipsis: after a whole clause, where one ends in the
        last line. All of it when left out.
    indent : str
        What the first line begins with; the others stand four letters further in.
    whole_words : bool
        Leave a word that is wider than the terminal whole, as a path that is to be copied.

    Returns
    -------
    list of str
        The lines.
    """

    def wrapped(text: str, most: int | None = None) -> list[str]:
        wrapper = _Wrapper(
            min(width, LONGEST_LINE),
            initial_indent=indent,
            subsequent_indent=f"{indent}    ",
            break_on_hyphens=False,
            break_long_words=not whole_words,
            max_lines=most,
            placeholder=" …",
        )
        return [line.replace(SECOND, "") for line in wrapper.wrap(_spread(text))]

    whole = wrapped(text)
    if lines is None or len(whole) <= lines:
        return whole
    clauses = [text[: found.start()] for found in _CLAUSE_END.finditer(text)] if lines > 1 else []
    by_clauses = (wrapped(f"{told} …") for told in reversed(clauses) if told.count("(") == told.count(")"))
    return next((cut for cut in by_clauses if len(cut) == lines), wrapped(text, lines))


def say(text: str) -> None:
    """Print a text in lines no wider than the terminal; a word stays whole, as a path that is to be copied."""
    for line in paragraph(text, columns(), whole_words=True):
        print(line)


def table_lines(table: pd.DataFrame, width: int) -> list[str]:
    """Set a table in lines no wider than the terminal: what does not fit beside the first columns stands below.

    Where a column alone is wider, each row is a paragraph, in which a path stays whole.
    """
    with pd.option_context("display.unicode.east_asian_width", True):
        text = table.to_string(index=False, line_width=width - 1, na_rep="")  # one column more would be set
    lines = [line.rstrip() for line in text.splitlines()]
    if max(map(width_of, lines), default=0) <= width:
        return lines
    rows = (", ".join(f"{name} {value}" for name, value in row.items()) for row in table.to_dict("records"))
    return [line for row in rows for line in paragraph(row, width, whole_words=True)]
