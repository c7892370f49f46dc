"""Answers as files."""

from pathlib import Path

import pandas as pd

from edgestore.output import write_folder
from edgestore.planning.site import SitePlan

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def write_plan(plan: SitePlan, folder: Path) -> list[Path]:
    """Write a site plan: ``plan.csv``, ``candidates.csv``, ``kinds.csv``, ``spares.csv``, with a log ``calendar.csv``.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    folder : Path
        Where to write. It must not exist, be empty, or hold a former plan that nobody changed.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        When anything else is in the folder, or it cannot be written to; what was there before stays.
    """
    files = {f"{name}.csv": as_csv(table) for name, table in tables(plan).items()}
    return write_folder(folder, files, "edgestore plan")


def tables(plan: SitePlan) -> dict[str, pd.DataFrame]:
    """Give the tables of a plan that are written, by name."""
    dates = {} if plan.calendar is None else {"calendar": plan.calendar}
    return {
        "plan": plan.plan,
        "candidates": plan.candidates,
        "kinds": plan.front.table,
        "spares": plan.spares,
        **dates,
    }


def as_csv(table: pd.DataFrame, digits: int = 6) -> bytes:
    """Give a table as CSV, UTF-8, with as many digits; no text in it begins a formula when a spreadsheet opens it."""
    texts = table.select_dtypes(exclude=["number", "bool"])
    safe = texts.map(lambda text: f"'{text}" if str(text).startswith(FORMULA_STARTS) else text)
    return table.assign(**safe).to_csv(index=False, float_format=f"%.{digits}g").encode(errors="replace")
