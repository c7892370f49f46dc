"""Where an input of a figure stands: file, line or row, column, and the cell as somebody wrote it."""

import re
import tomllib
from collections.abc import Collection
from functools import cached_property
from pathlib import Path

from edgestore.documents.kept_inputs import KeptPack
from edgestore.inputs.camera_list import CAMERA_COLUMNS
from edgestore.inputs.card_list import CARD_COLUMNS
from edgestore.inputs.service_log import SERVICE_COLUMNS
from edgestore.inputs.settings import TABLES
from edgestore.inputs.settings_sheet import place, read_settings_sheet
from edgestore.inputs.sheet import Sheet, path_and_sheet, read_sheet
from edgestore.inputs.workbook_cells import OLD, PACKED
from edgestore.plan.input_file import CAMERAS, CARDS, LOG, SETTINGS

_HEADER = re.compile(r"\s*\[[^\[\]]+\]\s*(#.*)?")
_KEY = re.compile(r"\s*([A-Za-z0-9_-]+)\s*=")


class Places:
    """The copies of the lists and settings of a pack, cut into cells."""

    def __init__(self, pack: KeptPack) -> None:
        self._pack = pack

    def cell(self, role: str, name: str, column: str) -> tuple[str, str]:
        """Give the place of a cell, and what stands in it; of a list, by the name in the row's first known column."""
        sheet, key = self._sheets[role]
        copy = self._pack.copy(role)
        if key not in sheet.header:
            return copy, ""
        at = sheet.header.index(key)
        rows = [(line, row) for line, row in sheet.rows.items() if row[at] == name]
        if role == LOG:  # the card that is in service
            gone = sheet.header.index("removed") if "removed" in sheet.header else None
            rows = [(line, row) for line, row in rows if gone is None or not row[gone]]
        if not rows:
            return copy, ""
        line, row = rows[-1]
        if column not in sheet.header:
            return f"{copy}, no column {column}", ""
        return f"{copy}, {sheet.word} {line}, column {column}", row[sheet.header.index(column)]

    def setting(self, table: str, key: str, group: str = "") -> str:
        """Give the place of a setting; where the settings do not state it, that."""
        copy = self._pack.copy(SETTINGS)
        if not copy:
            return "no settings; as by default"
        path = ("groups", group, *(() if table == "requirements" else (table,))) if group else (table,)
        where = self._settings.get((*path, key))
        of = f"[{table}]" if not group else f"group {group}"
        return f"{where}, {of} {key}" if where else f"{copy}: no {key} in {of}; as by default"

    @cached_property
    def _sheets(self) -> dict[str, tuple[Sheet, str]]:
        known: dict[str, tuple[Collection[str], str]] = {
            CAMERAS: ([column.name for column in CAMERA_COLUMNS], "camera"),
            CARDS: ([column.name for column in CARD_COLUMNS], "card"),
            LOG: ([column.name for column in SERVICE_COLUMNS], "camera"),
        }
        sheets = {}
        for role, (columns, key) in known.items():
            if copy := self._pack.copy(role):
                named = next(one["name"] for one in self._pack.inputs if one["role"] == role)
                _, sheet = path_and_sheet(Path(named))
                path = self._pack.folder / copy
                sheets[role] = read_sheet(f"{path}#{sheet}" if sheet else path, copy, columns)[0], key
        return sheets

    @cached_property
    def _settings(self) -> dict[tuple[str, ...], str]:
        """Place of each setting by its path: tables and key."""
        copy = self._pack.copy(SETTINGS)
        content = (self._pack.folder / copy).read_bytes()
        if content.startswith((PACKED, OLD)):
            told = read_settings_sheet(content, copy, TABLES).places
            groups = ("", *self._pack.plan.site.settings.groups, *self._pack.plan.site.settings.group_outages)
            found = {}
            for group in groups:
                for table, keys in TABLES.items():
                    path = ("groups", group, *(() if table == "requirements" else (table,))) if group else (table,)
                    for key in keys:
                        if where := told.get(f"{place(copy, table, group)} {key.name}"):
                            found[(*path, key.name)] = where
            return found
        return toml_places(content.decode("utf-8-sig"), copy)


def toml_places(text: str, name: str) -> dict[tuple[str, ...], str]:
    r"""Line of each key of a TOML text, by the path of tables and key.

    Parameters
    ----------
    text : str
        The text; a key stands at the begin of its line, as in settings of a site.
    name : str
        What to call the file.

    Returns
    -------
    dict
        Places in words.

    Examples
    --------
    >>> toml_places("[costs]\nvisit_price = 60\n[groups.'a b']\nlife_years = 3\n", "site.toml")
    {('costs', 'visit_price'): 'site.toml, line 2', ('groups', 'a b', 'life_years'): 'site.toml, line 4'}
    """
    places: dict[tuple[str, ...], str] = {}
    path: tuple[str, ...] = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if _HEADER.fullmatch(line):
            path, inner = (), tomllib.loads(line)
            while inner:
                (name_of, inner), *_ = inner.items()
                path = (*path, name_of)
        elif found := _KEY.match(line):
            places[*path, found[1]] = f"{name}, line {number}"
    return places
