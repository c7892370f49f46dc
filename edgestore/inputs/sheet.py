"""A list, CSV or workbook -> its cells as text, by line or row. Opens the one file it is asked for, writes nothing."""

import codecs
import csv
import io
import re
import reprlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeAlias

from edgestore.checks import Fault, refuse
from edgestore.inputs.names import printable
from edgestore.inputs.workbook_cells import OLD, PACKED, WorkbookSheet, workbook_sheets
from edgestore.plain_file import MOST_LIST_BYTES, plain_file

Source: TypeAlias = Path | str | bytes
"""The path of a file, or the content of one that somebody uploaded."""

LineFaults: TypeAlias = list[tuple[int, Fault]]
"""Faults, each with the line of the file that it is told at."""

_QUOTE = reprlib.Repr()
_QUOTE.maxstring = 60

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}


@dataclass(frozen=True)
class Sheet:
    """A file cut into cells: the names in its header and each row, as wide as that, by the line it starts on.

    What stands in a workbook is in rows, and what is a CSV file in lines: ``word`` says which. ``headings`` are the
    names as the file writes them: messages show these.
    """

    name: str
    encoding: str
    delimiter: str
    header_line: int
    header: list[str]
    rows: dict[int, list[str]]
    word: str = "line"
    headings: Mapping[str, str] = field(default_factory=dict)

    def place(self, line: int, column: str = "") -> str:
        """Say where something stands."""
        return f"{self.name}, {self.word} {line}" + (f", column {self.heading(column)}" if column else "")

    def heading(self, column: str) -> str:
        """The name of a column as the file writes it."""
        return self.headings.get(column, column)

    def cells(self, column: str) -> list[str]:
        """Give the cells of a column, row by row; none when the file has no such column."""
        if column not in self.header:
            return []
        at = self.header.index(column)
        return [row[at] for row in self.rows.values()]


def shown(cell: str) -> str:
    """Quote a cell for a message, cut when it is long."""
    return _QUOTE.repr(cell) if cell else "an empty cell"


def read_sheet(source: Source, name: str, known: Collection[str]) -> tuple[Sheet, LineFaults]:
    r"""Cut a spreadsheet export into cells.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the file, or its content; ``site.xlsx#Cameras`` is a sheet of a workbook by its name, which is needed
        only where more than one sheet has such columns.
    name : str
        What messages call the file when ``source`` is its content; a file is called by its own name.
    known : collection of str
        Names of the columns that the file may have.

    Returns
    -------
    tuple of Sheet and list
        The cells, and what is wrong with the shape of the file; rows with too many cells are in the faults only.

    Raises
    ------
    InputError
        When the file cannot be cut: not there, no text, an open quote, or a header without any column known.

    Notes
    -----
    Read as UTF-16 when it says so, else as UTF-8, else as Windows-1252, which holds the printing characters of
    Latin-1. Cells are separated by whatever makes the header name most of the columns known.

    References
    ----------
    Quoted cells: RFC 4180.

    Examples
    --------
    >>> sheet, faults = read_sheet(b"Door;Width m\nnorth;1,5\n\nsouth\n", "doors", ["door", "width_m"])
    >>> sheet.header, sheet.rows
    (['door', 'width_m'], {2: ['north', '1,5'], 4: ['south', '']})
    """
    chosen = ""
    if not isinstance(source, bytes):
        path, chosen = path_and_sheet(Path(source))
        name, mend = printable(path.name), "Correct its path; one that the settings name counts from their folder."
        source = plain_file(path, printable(str(path)), MOST_LIST_BYTES, "a CSV file or a workbook", mend)
    if source.startswith((PACKED, OLD)):
        sheet = _of_workbook(source, name, known, chosen)
        name, records, unsaved = f"{name}, sheet {shown(sheet.name)}", dict(sheet.rows), sheet.faults
        encoding, delimiter, word = "UTF-8", ",", "row"  # as a CSV file that needs no remark
    else:
        text, encoding = _text(source, name)
        first = next((line for line in text.splitlines() if line.strip(" ;,\t")), "")
        delimiter = max(DELIMITERS, key=lambda d: len(set(known) & set(map(column_name, first.split(d)))))
        records, unsaved, word = _records(text, delimiter, name), {}, "line"
    header_line = next(iter(records), 1)
    written = records.pop(header_line, [])
    header = [column_name(heading) for heading in written]
    if not set(known) & set(header):
        names = ", ".join(filter(None, header))
        found = shown(names) if names else "no name of a column"
        mend = f"The first {word} that is not blank names the columns."
        raise refuse(f"{name}, {word} {header_line}", found, f"a header with columns among {', '.join(known)}", mend)

    width = len(header)
    rows = {line: row + [""] * (width - len(row)) for line, row in records.items() if len(row) <= width}
    headings = {column: printable(" ".join(text.split())) for column, text in zip(header, written, strict=True)}
    cut = Sheet(name, encoding, delimiter, header_line, header, rows, word, headings)
    faults: LineFaults = [
        (
            row,
            Fault(
                cut.place(row, header[at - 1]), found, "a cell with a value", "Correct the formula, or type the value."
            ),
        )
        for (row, at), found in unsaved.items()
        if at <= width and header[at - 1] in known
    ]
    for column in known:
        if (count := header.count(column)) > 1:
            place, mend = cut.place(header_line, column), "Rename or remove the others."
            faults.append((header_line, Fault(place, f"{count} columns of this name", "one", mend)))
    if not records:
        faults.append((header_line, Fault(name, "no row under the header", "one row or more")))
    mend = "Put a cell that holds the separator in quotes; with commas between cells decimals take a point."
    if word == "row":
        mend = "Name the column, or clear the cells."
    for line in records.keys() - rows.keys():
        found = f"{len(records[line])} cells"
        faults.append((line, Fault(cut.place(line), found, f"{width} as in the header", mend)))
    return cut, faults


def path_and_sheet(path: Path) -> tuple[Path, str]:
    """Part ``site.xlsx#Cameras`` into the path of the workbook and the name of the sheet."""
    named = re.fullmatch(r"(.+\.(?:xlsx|xlsm|ods))#(.+)", str(path), re.IGNORECASE)
    return (Path(named[1]), named[2]) if named else (path, "")


def _of_workbook(content: bytes, name: str, known: Collection[str], chosen: str) -> WorkbookSheet:
    """Give the sheet of a workbook that was named, else the one whose header names most of the columns known."""
    sheets = workbook_sheets(content, name)
    names = ", ".join(shown(sheet.name) for sheet in sheets) or "no visible sheet"
    if chosen:
        named = [sheet for sheet in sheets if sheet.name == chosen]
        if not named:
            raise refuse(name, f"no sheet {shown(chosen)}", f"one of {names}", "Name a sheet of the workbook.")
        return named[0]
    fits = [len(set(known) & set(map(column_name, next(iter(s.rows.values()), [])))) for s in sheets]
    best = [sheet for sheet, fit in zip(sheets, fits, strict=True) if fit == max(fits) and fit]
    if len(best) == 1:
        return best[0]
    if best:
        found = f"{len(best)} sheets with such columns: {', '.join(shown(sheet.name) for sheet in best)}"
        raise refuse(name, found, "one", f"Name one, as {name}#{best[0].name}, or remove the others.")
    mend = "The first row that is not blank names the columns."
    raise refuse(name, f"no sheet with such columns; sheets: {names}", f"columns among {', '.join(known)}", mend)


def _text(content: bytes, name: str) -> tuple[str, str]:
    """Give the text of a file and the name of its encoding."""
    allowed = "a CSV file in UTF-8, UTF-16 or Windows-1252, or a workbook (XLSX, ODS)"
    mend = "Save the list from the spreadsheet program as CSV (UTF-8)."
    marked = content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    encodings = {"UTF-16": "utf-16"} if marked else {"UTF-8": "utf-8-sig", "Windows-1252": "cp1252"}
    for encoding, codec in encodings.items():
        try:
            text = content.decode(codec)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text, encoding
    raise refuse(name, "bytes that are not text", allowed, mend)


def column_name(heading: str) -> str:
    """Write a heading as columns are named: ``" Mean (Mbit/s)"`` is ``mean_mbit_s``."""
    return re.sub(r"\W+", "_", heading.lower()).strip("_")


def _records(text: str, delimiter: str, name: str) -> dict[int, list[str]]:
    """Cut a text into rows of trimmed cells by the line they start on, without blank rows or empty last cells."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    records: dict[int, list[str]] = {}
    line = 1
    try:
        for record in reader:
            cells = [cell.strip() for cell in record]
            while cells and not cells[-1]:
                cells.pop()
            if cells:
                records[line] = cells
            line = reader.line_num + 1
    except csv.Error as error:
        mend = "Put a cell that holds a quotation mark in quotes and write the mark twice."
        raise refuse(f"{name}, line {line}", str(error), "cells whose quotes are closed", mend) from None
    return records
