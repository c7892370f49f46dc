"""A folder with the lists of one site: which file is the camera list, the card list and the settings."""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from edgestore.checks import Fault, InputError
from edgestore.inputs.names import printable

LIST_SUFFIXES = (".xlsx", ".ods", ".csv")
"""A list of the folder may be a workbook or CSV."""

SETTINGS_FILES = ("settings.xlsx", "settings.ods", "site.toml")
"""The settings of a folder: a workbook, or TOML; only one of them, since each says all."""

OWN_SITE = "EDGESTORE_SITE"
"""Names the folder of the reader's own site to the pages of a workbook that was opened with one."""


@dataclass(frozen=True)
class SiteFolder:
    """The files of a site in its folder; ``settings`` is None where there are none."""

    folder: Path
    cameras: Path
    cards: Path
    settings: Path | None


def site_folder(folder: Path, cards: Path | None = None) -> SiteFolder:
    """Find the lists of a site in its folder.

    Parameters
    ----------
    folder : Path
        Holds ``cameras`` and ``cards``, each as .xlsx, .ods or .csv, and may hold the
        settings, in one of ``SETTINGS_FILES``. Cards that several sites share may stand in the folder above.
    cards : Path, optional
        A card list from elsewhere, in place of that of the folder.

    Returns
    -------
    SiteFolder
        Their paths.

    Raises
    ------
    InputError
        When a list is missing, or there is more than one file of that name, or of settings.
    """
    faults: list[Fault] = []
    cameras = _only(folder, "cameras", faults)
    cards = _cards(folder, faults) if cards is None else cards
    settings = _settings(folder, faults)
    if faults or cameras is None or cards is None:
        raise InputError(faults)
    return SiteFolder(folder, cameras, cards, settings)


def own_site() -> SiteFolder | None:
    """The reader's own site, as the command that opened the workbook named it; None for the demo.

    A folder that has lost its lists since gives None too: its files are then asked for as of anybody.
    """
    if not os.environ.get(OWN_SITE):
        return None
    try:
        return site_folder(Path(os.environ[OWN_SITE]))
    except InputError:
        return None


def _cards(folder: Path, faults: list[Fault]) -> Path | None:
    """Give the card list of a folder; where it has none, that of the folder above."""
    above = folder.resolve().parent
    is_shared = not _lists(folder, "cards") and _lists(above, "cards")
    return _only(above if is_shared else folder, "cards", faults)


def _lists(folder: Path, name: str) -> list[Path]:
    return [path for suffix in LIST_SUFFIXES if (path := folder / f"{name}{suffix}").exists()]


def _only(folder: Path, name: str, faults: list[Fault]) -> Path | None:
    """Give the one list of that name; else put down what is wrong."""
    found = _lists(folder, name)
    if len(found) == 1:
        return found[0]
    place, allowed = printable(str(folder)), f"one of {_either([f'{name}{suffix}' for suffix in LIST_SUFFIXES])}"
    if found:
        mend = "Remove those that are out of date, or move them to another folder."
        faults.append(Fault(place, f"{len(found)} lists: {', '.join(path.name for path in found)}", allowed, mend))
    else:
        mend = "Make a folder with lists to fill in: edgestore new FOLDER."
        if name == "cards":
            mend = f"Put one there or in the folder above, or name one with --cards. {mend}"
        faults.append(Fault(place, f"no list of the {name}", allowed, mend))
    return None


def _settings(folder: Path, faults: list[Fault]) -> Path | None:
    """Give the one file of settings, or None; put down that there are more."""
    found = [path for name in SETTINGS_FILES if (path := folder / name).exists()]
    if len(found) > 1:
        names = [path.name for path in found]
        mend = f"Delete {_either(names[1:])} if {names[0]} is the one you fill in; else delete {names[0]}."
        faults.append(Fault(printable(str(folder)), f"settings in {' and in '.join(names)}", "one of them", mend))
    return found[0] if found else None


def _either(names: Sequence[str]) -> str:
    return f"{', '.join(names[:-1])} or {names[-1]}" if names[1:] else names[0]
