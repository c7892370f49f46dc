"""The table of an answer as HTML: headings in words, short figures, and what explains a row below it.

The page sorts it by a column and opens what explains a row (``static/table.js``); without that script it is as listed,
and a fold below each row opens the same.
"""

from html import escape
from numbers import Integral, Real
from typing import Any

import pandas as pd
from numpy import bool_

from edgestore.headings import heading
from edgestore.look import STATES
from edgestore.panels.as_html import state_html
from edgestore.text import grouped, told

BELOW = ("reason", "against_cap")
"""Columns that explain a row: they stand below it."""

LONG = 26
"""A column with a longer text takes some lines; the others keep to one."""

LARGE = 1e4
"""From here on a figure is written whole."""


def table_html(table: pd.DataFrame, label: str = "Table of the answer", note: str = "") -> str:
    """Give a table as HTML with headings in words, short figures and escaped text.

    The label names it to a reader; the note stands above it.
    """
    shown = told(table)
    names = [name for name in shown.columns if name not in BELOW]
    below = [name for name in BELOW if name in shown.columns]
    cells = {name: [_cell(value) for value in shown[name]] for name in (*names, *below)}
    looks = {name: ' class="edgestore-long"' if max(map(len, cells[name]), default=0) > LONG else "" for name in names}
    heads = "".join(f'<th scope="col"{looks[name]}>{escape(heading(str(name)))}</th>' for name in names)
    rows = []
    for at in range(len(shown)):
        rows.append(f"<tr>{''.join(f'<td{looks[name]}>{_html(cells[name][at])}</td>' for name in names)}</tr>")
        why = "".join(
            f"<p><b>{escape(heading(name))}:</b> {escape(cells[name][at])}</p>" for name in below if cells[name][at]
        )
        if why:
            fold = f"<details><summary>Reasons</summary>{why}</details>"
            rows.append(f'<tr class="edgestore-why"><td colspan="{len(names)}">{fold}</td></tr>')
    whole = f'<table class="edgestore-rows"><thead><tr>{heads}</tr></thead><tbody>{"".join(rows)}</tbody></table>'
    place = f'class="edgestore-scroll" style="overflow-x: auto" tabindex="0" role="region" aria-label="{escape(label)}"'
    above = f"<p>{escape(note)}</p>" if note else ""
    return f"{above}<div {place}>{whole}</div>"


def _html(text: str) -> str:
    """Give the text of a cell; a state with its mark and colour."""
    return state_html(STATES[text], text) if text in STATES else escape(text)


def _cell(value: Any) -> str:
    if isinstance(value, bool | bool_):
        return "yes" if value else "no"
    if pd.isna(value):
        return ""
    if isinstance(value, Integral):
        return grouped(str(value))
    if isinstance(value, Real):
        figure = float(value)
        return grouped(f"{figure:.4g}" if abs(figure) < LARGE else f"{figure:.0f}")
    return str(value)
