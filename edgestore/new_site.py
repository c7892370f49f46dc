"""A folder for a site of one's own: lists and settings to fill in, a page that says how, and the demo as an example."""

import io
import shutil
import tempfile
import textwrap
from collections.abc import Sequence
from pathlib import Path

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation

from edgestore.bundled import bundled
from edgestore.checks import refuse
from edgestore.headings import heading, words
from edgestore.inputs.camera_list import CAMERA_COLUMNS
from edgestore.inputs.card_list import CARD_COLUMNS
from edgestore.inputs.names import printable
from edgestore.inputs.settings import TABLES
from edgestore.inputs.sheet import column_name
from edgestore.inputs.tables import Column
from edgestore.plan.requirements import Requirements
from edgestore.text import MADE_WITH

ROWS = 2000
"""So many rows under a heading know what may be typed in them."""

EXAMPLE = "example"
"""The folder of the demo in a new one."""

FIRST_SHOWN = ("camera", "place", "mean_mbit_s", "cap_mbit_s", "scene", "recording", "slot_bus", "max_card_gb", "lift")
"""Columns of the camera list that most sites fill in; the others follow."""

HEADING_FILL = PatternFill("solid", fgColor="E7ECF2")

README = """\
A site of your own, made by {made_with}

1. Fill in cameras.{suffix}: a row a camera. Name it, and give the mean or the cap of its rate, in Mbit/s, or both.
   All other columns may stay empty: what is not known is then taken as a range.
2. Fill in cards.{suffix}: a row a card on offer, with its capacity in GB and, from its data sheet, its endurance in one
   way: TB written, hours at a rate, or erase cycles. Where costs are to be counted, its price too.
3. Open site.toml in a text editor: what is asked of the cards, and what a visit costs. Lines after # are not read.

Each heading has a note that says what belongs there. The folder {example} has the same for an invented ferry terminal,
filled in; look there for how it is done. Its names, numbers and prices are invented.

Then, in the folder that holds this one:

  edgestore plan {folder}       chooses the cards, and tells in 30 lines which, what to buy and what to find out first
  edgestore propose {folder}    writes the proposal: document, spreadsheet and dates
  edgestore open {folder}       opens the workbook in a browser, with this site in it

Until both lists have a row these commands say what is missing. Nothing leaves this machine.

Working at height, near mains or inside a sealed housing can hurt: read the safety notes of the workbook before a visit,
and keep to local codes and licensed practice.
"""


def write_new_site(folder: Path, *, as_csv: bool = False) -> list[Path]:
    """Make a folder to fill in.

    Parameters
    ----------
    folder : Path
        The folder; it must not exist, or be empty.
    as_csv : bool
        Write the lists as CSV in place of workbooks.

    Returns
    -------
    list of Path
        What stands in it now: files, and the folder of the example.

    Raises
    ------
    InputError
        When there is something in the folder already, or it cannot be written to; then nothing is.
    """
    folder = folder.expanduser().resolve()
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            mend = "Name a new one: what is there is never written over."
            raise refuse(printable(str(folder)), "a file or a folder that is in use", "a new or empty folder", mend)
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".edgestore-", dir=folder.parent) as aside:
            new = Path(aside) / folder.name
            _fill(new, as_csv)
            new.replace(folder)
    except OSError as error:
        mend = "Choose a folder that you may write to."
        raise refuse(printable(str(folder)), error.strerror or str(error), "a folder to write", mend) from None
    return sorted(folder.iterdir())


def _fill(folder: Path, as_csv: bool) -> None:
    suffix = "csv" if as_csv else "xlsx"
    shutil.copytree(bundled("data") / "ferry_terminal", folder / EXAMPLE)
    shutil.copyfile(bundled("data") / "cards.csv", folder / EXAMPLE / "cards.csv")
    first = [column for name in FIRST_SHOWN for column in CAMERA_COLUMNS if column.name == name]
    cameras = [*first, *(column for column in CAMERA_COLUMNS if column.name not in FIRST_SHOWN)]
    for name, columns in (("cameras", cameras), ("cards", CARD_COLUMNS)):
        content = blank_csv(columns) if as_csv else blank_workbook(name.capitalize(), columns)
        (folder / f"{name}.{suffix}").write_bytes(content)
    (folder / "site.toml").write_text(blank_settings(), encoding="utf-8")
    about = README.format(made_with=MADE_WITH, suffix=suffix, example=EXAMPLE, folder=folder.name)
    (folder / "README.txt").write_text(about, encoding="utf-8")


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
    limits = " ".join(f"{word} {bound:.10g}" for word, bound in bounds.items() if bound is not None)
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
        cell = sheet.cell(1, at, list_heading(column))
        cell.font, cell.fill = Font(bold=True), HEADING_FILL
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        cell.comment = Comment(f"{column.help}\n\n{allowed(column)}", "edgestore", height=150, width=300)
        letter = get_column_letter(at)
        sheet.column_dimensions[letter].width = 24 if column.kind == "text" else 13
        if (rule := _validation(column)) is not None:
            rule.add(f"{letter}2:{letter}{ROWS + 1}")
            sheet.add_data_validation(rule)
        legend.append([list_heading(column), column.unit, allowed(column), column.help])
    for letter, width in zip("ABCD", (26, 10, 50, 90), strict=True):
        legend.column_dimensions[letter].width = width
        legend[f"{letter}1"].font = Font(bold=True)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def _validation(column: Column) -> DataValidation | None:
    """What may be typed under a heading, where a spreadsheet can tell."""
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
    rule.errorTitle, rule.error = list_heading(column)[:31], allowed(column)[:220]
    return rule


def blank_settings() -> str:
    """Give settings to fill in: what is asked by default, and every other key as a comment with its meaning."""
    lines = [
        f"# Settings of a site, made by {MADE_WITH}. What stands after # is not read: remove the # and write a value.",
        "# [groups.NAME] takes the keys of [requirements] for the cameras of that group.",
    ]
    asked = {name: value for name, value in vars(Requirements()).items() if value is not None}
    for table, keys in TABLES.items():
        is_asked = table == "requirements"
        lines += ["", f"[{table}]" if is_asked else f"# [{table}]"]
        for key in keys:
            value = asked.get(key.name) if is_asked else None
            mark = "" if value is not None else "# "
            told = f"{key.help}; {f'{key.unit}, ' if key.unit else ''}{_bounds(key)}".rstrip("; ,")
            lines += textwrap.wrap(f"# {told}", 118, subsequent_indent="#   ", break_on_hyphens=False)
            lines.append(f"{mark}{key.name} = {_toml(key) if value is None else f'{value:g}'}".rstrip())
    return "\n".join(lines) + "\n"


def _bounds(key: Column) -> str:
    return allowed(key).partition(";")[0] if key.kind in ("number", "choice", "yes-no") else ""


def _toml(key: Column) -> str:
    """Write the default of a key; nothing where it has none."""
    if key.default is None:
        return ""
    if key.kind == "yes-no":
        return str(key.default).lower()
    return f"{key.default:g}" if isinstance(key.default, float) else f'"{key.default}"'
