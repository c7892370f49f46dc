"""Lists to fill in: the columns that a list declares as a workbook, or as CSV."""

import io
from collections.abc import Sequence

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from edgestore.headings import heading, words
from edgestore.inputs.sheet import column_name
from edgestore.inputs.tables import Column
from edgestore.text import grouped

ROWS = 2000
"""So many rows under a heading know what may be typed in them."""

HEADING_FILL = PatternFill("solid", fgColor="E7ECF2")


def list_heading(column: Column) -> str:
    """Write the name of a column for who fills it in; the lists are read by it as by the name.

    Examples
    --------
    >>> [list_heading(Column(name, "number", "")) for name in ("mean_mbit_s", "events_per_h")]
    ['Mean (Mbit/s)', 'Events per h']
    """
    told = heading(column.name)
    return told if column_name(told) == column.name else words(column.name)


def allowed(column: Column) -> str:
    """Say what a cell may hold, and what an empty one means."""
    bounds = {"above": column.above, "from": column.at_least, "to": column.at_most}
    limits = " ".join(f"{word} {grouped(f'{bound:.10g}')}" for word, bound in bounds.items() if bound is not None)
    holds = ", ".join(column.words) or {"yes-no": "yes or no"}.get(column.kind) or f"{column.kind} {limits}".strip()
    default = "no" if column.default is False else column.default
    empty = "must be filled in" if column.required else "may be empty"
    return f"{holds}; {empty}" + ("" if default is None else f", which means {default}")


def blank_csv(columns: Sequence[Column]) -> bytes:
    """Give an empty list as CSV: the names of its columns."""
    return (",".join(column.name for column in columns) + "\n").encode()


def blank_workbook(title: str, columns: Sequence[Column]) -> bytes:
    """Give an empty list as a workbook: headings with units and notes, cells that know what may be typed, and a legend.

    Parameters
    ----------
    title : str
        Name of the sheet.
    columns : sequence of Column
        What the list may have.

    Returns
    -------
    bytes
        The XLSX file.
    """
    book = Workbook()
    sheet, legend = book.worksheets[0], book.create_sheet("What the columns mean")
    sheet.title = title
    sheet.freeze_panes = "B2"
    legend.append(["Column", "Unit", "A cell holds", "Meaning"])
    for at, column in enumerate(columns, start=1):
        note, letter = f"{column.help}\n\n{allowed(column)}", get_column_letter(at)
        head(sheet, at, list_heading(column), note, 24 if column.kind == "text" else 13)
        if (rule := validation(column)) is not None:
            rule.add(f"{letter}2:{letter}{ROWS + 1}")
            sheet.add_data_validation(rule)
        legend.append([list_heading(column), column.unit, allowed(column), column.help])
    for letter, width in zip("ABCD", (26, 10, 50, 90), strict=True):
        legend.column_dimensions[letter].width = width
        legend[f"{letter}1"].font = Font(bold=True)
    return saved(book)


def head(sheet: Worksheet, at: int, name: str, note: str, width: float) -> None:
    """Write the heading of a column, with its note."""
    cell = sheet.cell(1, at, name)
    cell.font, cell.fill = Font(bold=True), HEADING_FILL
    cell.alignment = Alignment(wrap_text=True, vertical="top")
    cell.comment = Comment(note, "edgestore", height=150, width=300)
    sheet.column_dimensions[get_column_letter(at)].width = width


def saved(book: Workbook) -> bytes:
    """Give a workbook as a file."""
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def validation(column: Column, name: str = "") -> DataValidation | None:
    """What may be typed under a heading, or beside a name, where a spreadsheet can tell."""
    words = ("yes", "no") if column.kind == "yes-no" else column.words if column.kind == "choice" else ()
    if words:
        rule = DataValidation(type="list", formula1=f'"{",".join(words)}"')
    elif column.kind == "number":
        low = column.above if column.above is not None else column.at_least
        rule = DataValidation(
            type="decimal",
            operator="greaterThanOrEqual" if column.at_most is None else "between",
            formula1=f"{0 if low is None else low:.10g}",
            formula2=None if column.at_most is None else f"{column.at_most:.10g}",
        )
    else:
        return None
    rule.allow_blank = True
    rule.showErrorMessage = True
    rule.errorTitle, rule.error = (name or list_heading(column))[:31], allowed(column)[:220]
    return rule
