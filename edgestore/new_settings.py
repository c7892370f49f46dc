"""Settings to fill in, as a workbook or as TOML: both from the one table of what a site may state."""

import re
import textwrap
from collections.abc import Iterator
from dataclasses import replace

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, PatternFill, Side

from edgestore.headings import words
from edgestore.inputs.settings import TABLES
from edgestore.inputs.settings_sheet import OF_GROUPS, setting_name
from edgestore.inputs.tables import Column
from edgestore.new_lists import allowed, head, saved, validation
from edgestore.plan.requirements import Requirements
from edgestore.text import MADE_WITH

FIGURE = re.compile(r"\d+(\.\d+)?")
"""A default that is a figure, and not told in words."""

TO_FILL = PatternFill("solid", fgColor="FFF9E0")
BORDER = Border(*(Side("thin", "BFBFBF"),) * 4)

SETTINGS_COLUMNS = {
    "About": (18, "What the setting is about. Not read."),
    "Setting": (34, "Do not change it: the setting is found by this name, wherever its row stands."),
    "Group": (
        16,
        f"Empty for the whole site. To set {' or '.join(OF_GROUPS)} of a group, copy the row and name the group.",
    ),
    "Value": (14, "Fill in. An empty cell states nothing; the column 'Empty means' says what is then used."),
    "Upper end": (
        14,
        "For a range only: one in ten lies below the value, one in ten above the upper end.",
    ),
    "Unit": (24, "Unit of the value. Not read."),
    "May hold": (44, "Which values are allowed. Not read."),
    "Empty means": (40, "What is used where the value is empty. Not read."),
    "Meaning": (110, "What the setting means. Not read."),
}
"""Columns of a workbook of settings: the width of each, and its note."""


def settings_workbook() -> bytes:
    """Give settings to fill in as a workbook: a row a setting, what is asked by default filled in.

    Returns
    -------
    bytes
        The XLSX file; the same settings as :func:`blank_settings` gives as TOML.
    """
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title, sheet.freeze_panes = "Settings", "C2"
    for at, (name, (width, note)) in enumerate(SETTINGS_COLUMNS.items(), start=1):
        head(sheet, at, name, note, width)
    for table, key, value in _settings():
        ends = replace(key, kind="number") if key.kind == "range" else key
        says = [key.unit, _holds(key), _when_empty(key, table), key.help[:1].upper() + key.help[1:]]
        sheet.append([words(table), setting_name(key), None, value, None, *says])
        row = sheet.max_row
        for letter in "DE" if key.kind == "range" else "D":
            cell = sheet[f"{letter}{row}"]
            cell.fill, cell.border = TO_FILL, BORDER
            cell.alignment = Alignment(horizontal="right")
            if (rule := validation(ends, setting_name(key))) is not None:
                rule.add(cell.coordinate)
                sheet.add_data_validation(rule)
    return saved(book)


def blank_settings() -> str:
    """Give settings to fill in: what is asked by default, and every other key as a comment with its meaning."""
    lines = [
        f"# Settings of a site, made by {MADE_WITH}. Text after # is not read: to state a setting, remove the # "
        "and write its value.",
        "# [groups.NAME] takes the keys of [requirements], for the cameras of that group.",
    ]
    before = ""
    for table, key, value in _settings():
        if table != before:
            lines += ["", f"[{table}]" if value is not None else f"# [{table}]"]
        before = table
        mark = "" if value is not None else "# "
        told = f"{key.help}; {f'{key.unit}, ' if key.unit else ''}{_holds(key)}".rstrip("; ,")
        default = _toml(key) if value is None else f"{value:g}"
        if value is None and key.default is not None and not default:
            told += f"; left out: {key.default}"
        lines += textwrap.wrap(f"# {told}", 118, subsequent_indent="#   ", break_on_hyphens=False)
        lines.append(f"{mark}{key.name} = {default}".rstrip())
    return "\n".join(lines) + "\n"


def _settings() -> Iterator[tuple[str, Column, float | None]]:
    """Give each setting with its table, and what is asked of it by default, where something is."""
    asked = vars(Requirements())
    for table, keys in TABLES.items():
        for key in keys:
            yield table, key, asked.get(key.name) if table == "requirements" else None


def _holds(key: Column) -> str:
    """Say what a setting may hold, where that is not every text."""
    if key.kind == "range":
        return f"two numbers from {key.at_least:g} to {key.at_most:g}"
    return allowed(key).partition(";")[0] if key.kind in ("number", "choice", "yes-no") else ""


def _when_empty(key: Column, table: str) -> str:
    """Say what counts where nobody states a setting."""
    default = vars(Requirements()).get(key.name) if table == "requirements" else key.default
    if default is None:
        return f"must be filled in if another setting of {words(table)} is" if key.required else "nothing is stated"
    if isinstance(default, bool):
        return "yes" if default else "no"
    return f"{default:g}" if isinstance(default, float) else f"{default}".replace("visit_price", "the visit price")


def _toml(key: Column) -> str:
    """Write the default of a key, as TOML that may be read as it stands; nothing where it has none, or one in words."""
    if key.default is None:
        return ""
    if key.kind == "yes-no":
        return str(key.default).lower()
    if key.kind in ("number", "range"):
        ends = (f"{key.default:g}" if isinstance(key.default, float) else f"{key.default}").split(" to ")
        is_told = all(FIGURE.fullmatch(end) for end in ends)
        return "" if not is_told else ends[0] if key.kind == "number" else f"[{', '.join(ends)}]"
    return f'"{key.default}"'
