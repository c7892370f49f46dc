"""How the figures of alternatives side by side were worked out: each of the plan made anew of the pack's own copies."""

import csv
import io
import math
from collections.abc import Iterator
from typing import Any

import pandas as pd

from edgestore.documents.alternatives import ALTERNATIVES, PROPOSED
from edgestore.documents.kept_inputs import OTHER, KeptPack
from edgestore.plan.input_file import CARDS, SETTINGS
from edgestore.plan.tables import formula_free

SAME = 2e-5
"""Figures of a file have six digits; nearer than this share they are the same."""

WAYS = {
    "assured": "cameras whose planned card keeps all that is asked with the chance asked",
    "cameras": "cameras of the list",
    "least_chance": "the least chance_kept among the cameras assured",
    "least_chance_low": "the least chance_kept_low among the cameras assured",
    "cost": "planned cards and visits + failures expected, over the horizon: the total of its own bill, from its own"
    " cards in service on, where its settings name a service log",
    "visits": "visits of its own calendar over the horizon, cameras of one visit group together",
    "lifts": "those of these visits that take a lift",
    "failures": "failures expected between planned changes, over all cameras and the horizon",
    "lost_h_per_year": "sum over the cameras of the hours a year that card and recorder both miss",
    "order_cards": "cards to fit + spares, over all kinds",
    "order_price": "sum over the kinds of price x (cards to fit + spares)",
}
"""How each figure of an alternative follows from its plan, which is made as the proposal's own is."""


def figure_lines(pack: KeptPack, name: str, figure: str) -> tuple[list[str], bool]:
    """Tell how a figure of an alternative was worked out, and whether the pack states the same.

    Parameters
    ----------
    pack : KeptPack
        The pack, with its alternatives planned anew.
    name, figure : str
        Name of the alternative, and one of :data:`WAYS`.

    Returns
    -------
    list of str, bool
        Lines to print; whether both agree.
    """
    anew = pack.alternatives.set_index("alternative").loc[name, figure]
    verdict, agrees = _verdict(pack, name, figure, anew)
    return [
        f"Alternative: {name}, planned by itself from {_copies(pack, name)}, the other inputs as in the proposal.",
        f"Figure: {figure} = {WAYS[figure]}.",
        "Source: the formulas of its plan, bill and order are those of the proposal: explain PACK CAMERA tells them.",
        "",
        *verdict,
    ], agrees


def unlike(pack: KeptPack) -> Iterator[str]:
    """Tell each figure of an alternative that is not the one worked out anew."""
    for row in pack.alternatives.to_dict("records"):
        for figure in WAYS:
            lines, agrees = _verdict(pack, str(row["alternative"]), figure, row[figure])
            if not agrees:
                yield f"{row['alternative']}: {' '.join(lines)}"


def _copies(pack: KeptPack, name: str) -> str:
    """The copies of the file that makes an alternative another one."""
    if name == PROPOSED:
        return " and ".join(filter(None, (pack.copy(CARDS), pack.copy(SETTINGS))))
    return pack.copy(OTHER, name)


def _verdict(pack: KeptPack, name: str, figure: str, anew: Any) -> tuple[list[str], bool]:
    in_pack = _stated(pack, name, figure)
    is_nothing = bool(pd.isna(anew))
    try:
        agrees = in_pack == "" if is_nothing else math.isclose(float(in_pack), float(anew), rel_tol=SAME, abs_tol=1e-12)
    except ValueError:
        agrees = False
    return [
        f"The pack states {figure} = {in_pack or 'none'} ({ALTERNATIVES}, row of {name}).",
        f"Worked out anew from the inputs in the pack: {'none' if is_nothing else f'{float(anew):.6g}'}."
        f" {'They agree.' if agrees else 'They DO NOT agree.'}",
    ], agrees


def _stated(pack: KeptPack, name: str, figure: str) -> str:
    """The cell of the table in the pack."""
    try:
        text = (pack.folder / ALTERNATIVES).read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
    rows = csv.DictReader(io.StringIO(text, newline=""))
    return next((row.get(figure) or "" for row in rows if row.get("alternative") == formula_free(name)), "")
