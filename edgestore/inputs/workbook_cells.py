"""The cells of a spreadsheet workbook (XLSX, ODS) as text, by row. No macro runs and no formula is computed."""

import datetime
import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from edgestore.checks import InputError, refuse
from edgestore.plain_file import MOST_LIST_BYTES
from edgestore.units import BYTES_PER_MB

PACKED = b"PK\x03\x04"
"""What an XLSX or ODS file begins with."""

OLD = b"\xd0\xcf\x11\xe0"
"""What a workbook of the old binary kind begins with, and one under a password."""

MOST_UNPACKED_BYTES = 4 * MOST_LIST_BYTES
"""A workbook that unpacks to more is refused (our choice)."""

DAMAGED = (
    *(zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError, OSError, RuntimeError, SyntaxError),
    *(AttributeError, IndexError, KeyError, TypeError, ValueError),
)
"""What the readers raise of a damaged workbook."""

_ODS = b"application/vnd.oasis.opendocument.spreadsheet"
_ERROR = re.compile(rb'value-type="error"')


@dataclass(frozen=True)
class WorkbookSheet:
    """One visible sheet: its name, trimmed cells by row (from 1, blank rows left out), and cells without a value.

    ``faults`` gives for a row and a column number, from 1, what a cell holds in place of a value.
    """

    name: str
    rows: dict[int, list[str]]
    faults: dict[tuple[int, int], str]


def workbook_sheets(content: bytes, name: str) -> list[WorkbookSheet]:
    """Read the visible sheets of a workbook.

    Parameters
    ----------
    content : bytes
        The file.
    name : str
        What messages call it.

    Returns
    -------
    list of WorkbookSheet
        In the order of the workbook; of a formula the value that was saved with it.

    Raises
    ------
    InputError
        When it is no workbook, is damaged or under a password, or unpacks to more than ``MOST_UNPACKED_BYTES``.

    References
    ----------
    Office Open XML: ECMA-376; OpenDocument: ISO/IEC 26300.
    """
    allowed, mend = "a workbook, XLSX or ODS, without a password", "Save it again from the spreadsheet program."
    if content.startswith(OLD):
        raise refuse(name, "an old workbook, or one under a password", allowed, mend)
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            unpacked = sum(part.file_size for part in parts.infolist())
            is_ods = "mimetype" in parts.namelist() and parts.read("mimetype").strip() == _ODS
        if unpacked > MOST_UNPACKED_BYTES:
            limit = f"{MOST_UNPACKED_BYTES / BYTES_PER_MB:g} MB"
            raise refuse(name, f"a workbook of more than {limit} when it is unpacked", f"at most {limit}", mend)
        return list(_of_ods(content, name) if is_ods else _of_xlsx(content))
    except InputError:
        raise
    except (*DAMAGED, _calamine_error()):
        raise refuse(name, "a compressed file that is not a workbook, or a damaged one", allowed, mend) from None


def _calamine_error() -> type[Exception]:
    from python_calamine import CalamineError

    return CalamineError


def _of_xlsx(content: bytes) -> Iterator[WorkbookSheet]:
    """Read a workbook of Office Open XML, twice: a formula whose value was never saved shows beside none."""
    from openpyxl import load_workbook

    values, formulas = (
        load_workbook(io.BytesIO(content), read_only=True, data_only=which, keep_links=False) for which in (True, False)
    )
    for sheet in values.worksheets:
        if sheet.sheet_state != "visible":
            continue
        written = formulas[sheet.title]
        for each in (sheet, written):
            each.reset_dimensions()
        rows: dict[int, list[str]] = {}
        faults: dict[tuple[int, int], str] = {}
        for at, (cells, sources) in enumerate(zip(sheet.iter_rows(), written.iter_rows(), strict=True), start=1):
            _keep(rows, at, [cell.value for cell in cells])
            for column, (cell, source) in enumerate(zip(cells, sources, strict=True), start=1):
                if cell.data_type == "e":
                    faults[at, column] = str(cell.value)
                elif source.data_type == "f" and cell.value is None:
                    faults[at, column] = "a formula whose value was not saved"
        yield WorkbookSheet(sheet.title, rows, faults)


def _of_ods(content: bytes, name: str) -> Iterator[WorkbookSheet]:
    """Read an OpenDocument workbook; it is refused where a formula gives an error: that cell would read as empty."""
    from python_calamine import CalamineWorkbook, SheetVisibleEnum

    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        wrong = len(_ERROR.findall(parts.read("content.xml")))
    if wrong:
        mend = "Correct the formulas, or type the values."
        raise refuse(name, f"{wrong} cells whose formula gives an error", "cells with values", mend)
    workbook = CalamineWorkbook.from_filelike(io.BytesIO(content))
    for sheet in workbook.sheets_metadata:
        if sheet.visible == SheetVisibleEnum.Visible:
            rows: dict[int, list[str]] = {}
            table = workbook.get_sheet_by_name(sheet.name)
            for at, cells in enumerate(table.to_python(skip_empty_area=False), start=1):
                _keep(rows, at, cells)
            yield WorkbookSheet(sheet.name, rows, {})


def _keep(rows: dict[int, list[str]], at: int, cells: list[Any]) -> None:
    """Put the cells of a row under its number, without empty last ones; a blank row is left out."""
    texts = [cell_text(cell) for cell in cells]
    while texts and not texts[-1]:
        texts.pop()
    if texts:
        rows[at] = texts


def cell_text(value: Any) -> str:
    """Write the value of a cell as a CSV file of ours would have it.

    Examples
    --------
    >>> import datetime
    >>> [cell_text(v) for v in (None, True, 4.0, 0.1 + 0.2, " gate ", datetime.datetime(2026, 3, 15))]
    ['', 'yes', '4', '0.3', 'gate', '2026-03-15']
    """
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case float() | int():
            return f"{value:.15g}"
        case datetime.datetime() if value.time() == datetime.time():
            return value.date().isoformat()
        case datetime.datetime():
            return value.isoformat(" ")
        case _:
            return str(value).strip()
