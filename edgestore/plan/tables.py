"""Answers as files."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from edgestore.inputs.names import UNSEEN, printable
from edgestore.output import write_folder
from edgestore.plan.beliefs_table import beliefs_table
from edgestore.plan.untested_band import BAND
from edgestore.plan.untested_card import untested_card_table
from edgestore.text import MADE_WITH

if TYPE_CHECKING:  # every panel writes tables, and most plan no site: they open half a second sooner
    from edgestore.plan.bill import Bill
    from edgestore.plan.site_plan import SitePlan

FORMULA_STARTS = (
    *("=", "+", "-", "@", "\t", "\r"),
    *("\uff1d", "\uff0b", "\uff0d", "\uff20"),  # full-width forms
    *("\ufe66", "\ufe62", "\ufe63", "\ufe6b"),  # small forms
    *("\u207c", "\u207a", "\u207b"),  # raised forms
)
"""What begins a formula when a spreadsheet opens a table, and blanks that one drops before it."""

_FORMULA = re.compile(rf"(^|[;,\t\r\n])(?={UNSEEN}*[{re.escape(''.join(FORMULA_STARTS))}])")
"""A formula begins a cell, or stands after what another spreadsheet takes for a separator: quotes do not hold it, and
characters without width do not hide it."""


def write_plan(plan: SitePlan, folder: Path, compared: pd.DataFrame | None = None) -> list[Path]:
    """Write a site plan as CSV: plan, candidates, beliefs, findings, camera settings, kinds, spares, visits.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    folder : Path
        Where to write. It must not exist, be empty, or hold a former plan that nobody changed.
    compared : DataFrame, optional
        What another plan has otherwise, of :func:`edgestore.what_if`; written as ``compared.csv``.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        When anything else is in the folder, or it cannot be written to; what was there before stays.
    """
    named = tables(plan) if compared is None else {**tables(plan), "compared": compared}
    files = {f"{name}.csv": as_csv(table) for name, table in named.items()}
    return write_folder(folder, files, "edgestore plan")


def tables(plan: SitePlan) -> dict[str, pd.DataFrame]:
    """Give the tables of a plan that are written, by name."""
    replaced = None if plan.calendar is None else plan.visits.replacements.table
    in_service = {"spares_in_service": plan.spares_in_service, "calendar": plan.calendar, "replacements": replaced}
    bill = {} if plan.site.costs is None else {"bill": plan.visits.bill.years}
    named = {
        "plan": with_bill(plan, plan.visits.bill).join(plan.untested_band[BAND]),
        "candidates": plan.candidates,
        "beliefs": beliefs_table(plan.site),
        "untested_card": untested_card_table(plan.site.settings.beliefs),
        "all_together": plan.all_together.table,
        "measure_first": plan.measure_first.table,
        "camera_side": plan.camera_side.table,
        "kinds": plan.front.table,
        "spares": plan.spares,
        "visits": plan.visits.table,
        **bill,
        **{name: table for name, table in in_service.items() if table is not None},
    }
    return departing(named, plan)


def with_bill(plan: SitePlan, bill: Bill) -> pd.DataFrame:
    """The plan with what each camera takes of a bill, where costs are counted."""
    if plan.site.costs is None:
        return plan.plan
    of_camera = bill.cameras.set_index("camera")[["planned_cost", "failures_cost"]]
    return plan.plan.join(of_camera, on="camera")


def departing(tables: dict[str, pd.DataFrame], plan: SitePlan) -> dict[str, pd.DataFrame]:
    """Give tables of a plan with a column that says in what the plan departs from its settings, where it does."""
    departs = plan.site.override
    return {name: table.assign(override=departs) for name, table in tables.items()} if departs else tables


def stamped(table: pd.DataFrame) -> pd.DataFrame:
    """Give a table that is written by itself a last column ``made_with``; for a whole folder ``pack.json`` says it."""
    return table.assign(made_with=MADE_WITH)


def as_csv(table: pd.DataFrame, digits: int = 6) -> bytes:
    """Give a table as CSV, UTF-8, with as many digits; in no text of it does a spreadsheet find a formula."""
    texts = table.select_dtypes(exclude=["number", "bool"])
    safe = texts.map(lambda text: formula_free(text) if isinstance(text, str) else text)
    return table.assign(**safe).to_csv(index=False, float_format=f"%.{digits}g").encode(errors="replace")


def formula_free(text: str) -> str:
    """Give a text in which no formula begins, by an apostrophe before it, and no control character but the blanks."""
    parts = re.split(r"([\t\r\n])", _FORMULA.sub(r"\1'", text))
    return "".join(part if part in "\t\r\n" else printable(part) for part in parts)
