"""Tables of a spreadsheet: columns with their units, texts that stay texts, formulas with the value beside them."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from xlsxwriter.utility import xl_col_to_name

from edgestore.look import LIGHT, STATES
from edgestore.text import LONGEST_LIFE_YEARS, life, visible

ROW = "{row}"
"""Stands in a formula for the number of its row, where another sheet is meant."""

A4 = 9
"""The number of that paper in the file format."""

COLUMNS_A_PAGE, LINE_POINTS = 14, 15

MARKED = {"bg_color": LIGHT["band"], "border": 1, "border_color": LIGHT["mid"]}
"""Cells that the reader may change: pale, and framed so that grey print shows them too."""

FORMS: dict[str, dict[str, object]] = {
    "text": {"align": "left", "indent": 1},
    "words": {"align": "left", "indent": 1, "text_wrap": True},
    "count": {"num_format": "0"},
    "gb": {"num_format": '0.0 "GB"'},
    "rate": {"num_format": '0.000 "Mbit/s"'},
    "write": {"num_format": '0.0 "Mbyte/s"'},
    "fraction": {"num_format": "0.0%"},
    "chance": {"num_format": "0%"},
    "days": {"num_format": '0.00 "days"'},
    "years": {"num_format": '0.00 "years"'},
    "life": {"num_format": f'[>{LONGEST_LIFE_YEARS:g}]"{life(LONGEST_LIFE_YEARS + 1)} years";0.00 "years"'},
    "seconds": {"num_format": '0.0 "s"'},
    "tb": {"num_format": '0.00 "TB"'},
    "ratio": {"num_format": '0.00 "times"'},
    "price": {"num_format": "0.00"},
    "factor": {"num_format": "General"},
}
"""Number formats, with the unit where there is one."""


AT_LEAST_0 = {"count", "gb", "rate", "write", "days", "years", "life", "seconds", "tb", "ratio", "price", "factor"}
"""Forms of numbers of 0 or more."""

AT_LEAST_0_ONLY = {
    "validate": "decimal",
    "criteria": ">=",
    "value": 0,
    "error_message": "Type a number of 0 or more, in the unit of the column's heading.",
}

MOST_TITLE = 32
"""Letters that spreadsheet programs take in the title of a message."""


@dataclass(frozen=True)
class Column:
    """A column of a sheet: its head, number format, width, values, and formula if it has one."""

    name: str
    head: str
    values: Sequence[Any]
    form: str = "text"
    width: float = 10
    formula: str = ""
    is_input: bool = False


def made_forms(book: Any) -> dict[tuple[str, bool], Any]:
    """Give the formats of a workbook by name, and whether the cell may be changed."""
    forms = {
        (name, marked): book.add_format({"valign": "top", **form, **(MARKED if marked else {})})
        for name, form in FORMS.items()
        for marked in (False, True)
    }
    for word, state in STATES.items():  # the cell holds the word alone, so that a formula can compare it
        form = {"bold": True, "font_color": LIGHT[state.colour], "num_format": f'"{state.mark} "@'}
        forms[word, False] = book.add_format(form)
    return forms


def letters(columns: Sequence[Column]) -> dict[str, str]:
    """The letters of columns in their sheet, by name."""
    return {column.name: xl_col_to_name(number) for number, column in enumerate(columns)}


def write_table(sheet: Any, columns: Sequence[Column], forms: Mapping[tuple[str, bool], Any], bold: Any) -> None:
    """Write columns below their heads."""
    sheet.freeze_panes(1, 2)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.set_paper(A4)
    sheet.repeat_columns(0, 1)
    sheet.fit_to_pages(1 + len(columns) // COLUMNS_A_PAGE, 0)
    sheet.set_row(0, 3 * LINE_POINTS)
    of_column = letters(columns)
    for place, column in enumerate(columns):
        sheet.set_column(place, place, column.width)
        sheet.write_string(0, place, column.head, bold)
        form = forms[column.form, column.is_input]
        for row, value in enumerate(column.values, start=1):
            if column.formula:
                sheet.write_formula(row, place, _in_row(column.formula, of_column, row + 1), form, _cached(value))
            elif isinstance(value, str):
                sheet.write_string(row, place, visible(value), form)
                if column.form == "words":
                    sheet.set_row(row, LINE_POINTS * math.ceil(len(value) / column.width))
            elif value is None or np.isnan(value):
                sheet.write_blank(row, place, None, form)
            else:
                sheet.write_number(row, place, value, form)
        if column.is_input and column.form in AT_LEAST_0:
            sheet.data_validation(
                1,
                place,
                max(len(column.values), 1),
                place,
                {**AT_LEAST_0_ONLY, "error_title": column.head[:MOST_TITLE]},
            )
        if column.name == "state":
            for word in STATES:
                rule = {"type": "cell", "criteria": "==", "value": f'"{word}"', "format": forms[word, False]}
                sheet.conditional_format(1, place, len(column.values), place, rule)


def _in_row(formula: str, of_column: Mapping[str, str], row: int) -> str:
    """Put cells in the place of the names of columns."""
    for name, letter in of_column.items():
        formula = formula.replace(f"[{name}]", f"${letter}{row}")
    return formula.replace(ROW, str(row))


def _cached(value: Any) -> Any:
    """Give what a viewer shows that does not compute: nothing where there is no card."""
    if isinstance(value, str):
        return visible(value)
    return "" if value is None or np.isnan(value) else float(value)
