"""Settings typed into a sheet, a row a setting -> the tables that a TOML file of settings would give."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from typing import Any

import numpy as np

from edgestore.checks import Fault, InputError
from edgestore.headings import heading, words
from edgestore.inputs.names import has_control, printable
from edgestore.inputs.sheet import Sheet, Source, column_name, read_sheet, shown
from edgestore.inputs.tables import Column, decimal_mark, value_or_fault

SETTING, VALUE, UPPER, GROUP = "setting", "value", "upper_end", "group"
COLUMNS = (SETTING, GROUP, VALUE, UPPER)
"""Columns that are read; others, which explain a setting, are for who fills it in."""

OF_GROUPS = ("requirements", "outage")
"""Tables of which a group may have values of its own."""


@dataclass
class SheetSettings:
    """What a sheet states: tables as TOML gives them, and where each value stands, for what is wrong with it.

    ``places`` gives the row of a setting by the place that it would have in TOML; ``faults`` are those of cells.
    """

    tables: dict[str, Any] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def told(self, faults: Sequence[Fault]) -> list[Fault]:
        """Tell faults of the tables by row; what is wrong with a cell is told once."""
        told = {fault.where for fault in self.faults}
        placed = [replace(fault, where=self.places.get(fault.where, fault.where)) for fault in faults]
        return [*self.faults, *(fault for fault in placed if fault.where not in told)]


def setting_name(key: Column) -> str:
    """Write the name of a setting for who fills it in; it is read by that as by its key.

    Examples
    --------
    >>> [setting_name(Column(name, "number", "", unit)) for name, unit in (("lead_days", "days"), ("other_days", ""))]
    ['Lead (days)', 'Other days']
    """
    return heading(key.name) if key.unit else words(key.name)


def place(name: str, table: str, group: str = "") -> str:
    """Say where a table of settings stands in TOML; of a group ``group`` is its name, or that of its table."""
    return f"{name}, [{table}]" if not group else f'{name}, [groups."{group}"{"" if table != "outage" else ".outage"}]'


def is_settings_sheet(source: Source, name: str) -> bool:
    """Tell whether a file is a sheet of settings, and not a list."""
    try:
        sheet, _ = read_sheet(source, name, COLUMNS)
    except InputError:
        return False
    return {SETTING, VALUE} <= set(sheet.header)


def read_settings_sheet(content: bytes, name: str, keys: Mapping[str, Sequence[Column]]) -> SheetSettings:
    """Read the settings of a workbook.

    Parameters
    ----------
    content : bytes
        The workbook.
    name : str
        What messages call it.
    keys : mapping of str to sequence of Column
        The settings that each table may have; no name stands in two of them.

    Returns
    -------
    SheetSettings
        What is stated, a row a setting; a row without a value states nothing.

    Raises
    ------
    InputError
        When it is no workbook, or no sheet or more than one has columns of settings.
    """
    sheet, shape = read_sheet(content, name, COLUMNS)
    read = SheetSettings(faults=[fault for _, fault in shape])
    mark = decimal_mark(sheet, [Column(VALUE, "number", ""), Column(UPPER, "number", "")])
    known = {column_name(label): (table, key) for table, of in keys.items() for key in of for label in _labels(key)}
    read.places |= {place(name, table): f"{sheet.name}, settings on {words(table).lower()}" for table in keys}
    for row in sheet.rows:
        cell = {column: _cell(sheet, row, column) for column in COLUMNS}
        if not any(cell.values()):
            continue
        where = {column: sheet.place(row, column) for column in COLUMNS}
        found = known.get(column_name(cell[SETTING]))
        if found is None:
            read.faults.append(_unknown(cell[SETTING], where[SETTING], [key for of in keys.values() for key in of]))
            continue
        table, key = found
        at = f"{place(name, table, printable(cell[GROUP]))} {key.name}"
        if not (cell[VALUE] or cell[UPPER]):
            read.places.setdefault(at, where[VALUE])
            continue
        if (fault := _misplaced(read.tables, table, key, cell, where)) is not None:
            read.faults.append(fault)
            continue
        read.places[at] = where[VALUE]
        value = _value(key, cell, where, mark, read.faults)
        if value is not None:
            _table(read.tables, table, cell[GROUP])[key.name] = value
    return read


def _labels(key: Column) -> tuple[str, str]:
    return key.name, setting_name(key)


def _cell(sheet: Sheet, row: int, column: str) -> str:
    return sheet.rows[row][sheet.header.index(column)] if column in sheet.header else ""


def _table(tables: dict[str, Any], table: str, group: str) -> dict[str, Any]:
    """Give the table that a row is about, as TOML has it: that of the site, or that of a group."""
    if not group:
        of_site: dict[str, Any] = tables.setdefault(table, {})
        return of_site
    of_group: dict[str, Any] = tables.setdefault("groups", {}).setdefault(group, {})
    if table != "requirements":
        of_group = of_group.setdefault(table, {})
    return of_group


def _unknown(cell: str, where: str, keys: Sequence[Column]) -> Fault:
    """Tell that a row has the name of no setting, and the nearest that there is."""
    names = {column_name(setting_name(key)): setting_name(key) for key in keys}
    near = get_close_matches(column_name(cell), names, n=1, cutoff=0.6)
    mend = f"Is it {names[near[0]]}?" if near else "Remove the row, or take the name from a new folder: edgestore new."
    return Fault(where, shown(cell), "the name of a setting", mend)


def _misplaced(
    tables: dict[str, Any], table: str, key: Column, cell: Mapping[str, str], where: Mapping[str, str]
) -> Fault | None:
    """Tell that a row cannot be for the group that it names, or that the same stands in an earlier one."""
    group = cell[GROUP]
    if has_control(group):
        return Fault(where[GROUP], shown(group), "a name on one line, of characters that show", "Type it again.")
    if group and table not in OF_GROUPS:
        mend = "Leave the group empty: this setting is for the whole site."
        allowed = f"a group only for settings on {' and '.join(OF_GROUPS)}"
        return Fault(where[GROUP], shown(group), allowed, mend)
    of = tables.get("groups", {}).get(group, {}) if group else tables
    if key.name in (of if group and table == "requirements" else of.get(table, {})):
        return Fault(where[SETTING], f"{shown(cell[SETTING])} again", "each setting once", "Remove one of the rows.")
    return None


def _value(
    key: Column, cell: Mapping[str, str], where: Mapping[str, str], mark: str, faults: list[Fault]
) -> Any | None:
    """Give the value of a row as TOML has it; put down what is wrong with its cells."""
    if key.kind == "range":
        ends = [
            _one(replace(key, kind="number", required=True), cell[c], where[c], mark, faults) for c in (VALUE, UPPER)
        ]
        return None if None in ends else ends
    if cell[UPPER]:
        faults.append(Fault(where[UPPER], shown(cell[UPPER]), "an empty cell: this setting is one value", "Empty it."))
        return None
    return _one(replace(key, required=True), cell[VALUE], where[VALUE], mark, faults)


def _one(key: Column, cell: str, where: str, mark: str, faults: list[Fault]) -> Any | None:
    value = value_or_fault(cell, key, mark)
    if isinstance(value, Fault):
        faults.append(replace(value, where=where))
        return None
    return value.item() if isinstance(value, np.datetime64) else value
