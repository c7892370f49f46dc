"""Answers as files: each written whole or not at all."""

import os
import re
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from edgestore import checks
from edgestore.inputs.names import printable
from edgestore.planning.site import SitePlan

FORMULA_STARTS = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20", "\t", "\r")
"""What begins a formula when a spreadsheet opens a table, full-width forms too, and blanks that one drops before it."""

_FORMULA = re.compile(rf"(^|[;,\t\r\n])(?=[{re.escape(''.join(FORMULA_STARTS))}])")
"""A formula begins a cell, or stands after what another spreadsheet takes for a separator: quotes do not hold it."""


def write_plan(plan: SitePlan, folder: Path) -> list[Path]:
    """Write a site plan: ``plan.csv``, ``candidates.csv``, ``kinds.csv``, ``spares.csv``, and with a log more.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    folder : Path
        Where to write; made when it does not exist. Files of these names are replaced, others left alone.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        When the folder cannot be written to.
    """
    return write_whole(folder, {f"{name}.csv": as_csv(table) for name, table in tables(plan).items()})


def tables(plan: SitePlan) -> dict[str, pd.DataFrame]:
    """Give the tables of a plan that are written, by name; each says in what the plan departs from its settings."""
    in_service = {"spares_in_service": plan.spares_in_service, "calendar": plan.calendar}
    named = {
        "plan": plan.plan,
        "candidates": plan.candidates,
        "kinds": plan.front.table,
        "spares": plan.spares,
        **{name: table for name, table in in_service.items() if table is not None},
    }
    return {name: table.assign(override=plan.override) for name, table in named.items()} if plan.override else named


def as_csv(table: pd.DataFrame, digits: int = 6) -> bytes:
    """Give a table as CSV, UTF-8, with as many digits; in no text of it does a spreadsheet find a formula."""
    texts = table.select_dtypes(exclude=["number", "bool"])
    safe = texts.map(lambda text: formula_free(text) if isinstance(text, str) else text)
    return table.assign(**safe).to_csv(index=False, float_format=f"%.{digits}g").encode(errors="replace")


def formula_free(text: str) -> str:
    """Give a text in which no formula begins, by an apostrophe before it, and no control character but the blanks."""
    parts = re.split(r"([\t\r\n])", _FORMULA.sub(r"\1'", text))
    return "".join(part if part in "\t\r\n" else printable(part) for part in parts)


def write_whole(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files so that none is ever seen half-written: all are written aside first, then put in place.

    Parameters
    ----------
    folder : Path
        Where to write; made when it does not exist.
    files : mapping of str to bytes
        Content by file name.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        When the folder cannot be written to; what was there before stays.
    """
    taken = [str(folder / name) for name in files if (folder / name).is_dir()]
    if taken:
        raise checks.refuse(
            taken[0], "a folder of that name", "a file, or nothing yet", "Name another folder to write to."
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".edgestore-", dir=folder) as aside:
            for name, content in files.items():
                (Path(aside) / name).write_bytes(content)
            _put_in_place(Path(aside), folder, list(files))
    except OSError as error:
        raise checks.refuse(
            str(folder), error.strerror or str(error), "a folder that can be written to", "Name another folder."
        ) from None
    return [folder / name for name in files]


def _put_in_place(aside: Path, folder: Path, names: list[str]) -> None:
    """Move files from aside into the folder; when one cannot be moved, put back what the others replaced."""
    moved: list[str] = []
    try:
        for name in names:
            if (folder / name).exists():
                os.replace(folder / name, aside / f"{name}.before")
            moved.append(name)
            os.replace(aside / name, folder / name)
    except OSError:
        for name in moved:
            (folder / name).unlink(missing_ok=True)
            if (aside / f"{name}.before").exists():
                shutil.move(aside / f"{name}.before", folder / name)
        raise
