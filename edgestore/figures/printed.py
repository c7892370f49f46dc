"""Charts of a site plan for paper: one message each, stated in the title; told apart in grey; labelled in place.

They do not move: each is drawn once and given as SVG whose bytes depend on the plan alone.
"""

import io
import math
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import Any

import matplotlib as mpl
import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.font_manager import findfont, get_font

from edgestore.figures import style
from edgestore.look import STATES
from edgestore.plan.choice import Front
from edgestore.text import LONGEST_LIFE_YEARS, SHOWN, chance, grouped, life, number, short, visible

WIDTH_INCH = 6.85
"""An A4 page between its margins."""

ROW_INCH, REST_INCH = 0.165, 0.85
ROWS = 20
"""Cameras to a picture, so that two pictures fit a page, and no page stays half empty before one."""

PICTURES = 3
"""With more cameras than fit these, the pictures show those with the least to spare."""

LONGEST_NAME = 26
LEFT_TO_RIGHT = "\N{LEFT-TO-RIGHT MARK}"

FIXED: dict[Any, Any] = {
    "svg.hashsalt": "edgestore",
    "svg.fonttype": "path",
    "font.family": "DejaVu Sans",
    "font.size": 8.5,
    **style.INKED,
}


@dataclass(frozen=True)
class Chart:
    """A picture for print: its message, SVG, and what it shows in a sentence."""

    title: str
    svg: bytes
    alt_text: str


@dataclass(frozen=True)
class _Quantity:
    """What is drawn of each camera, and its limits."""

    column: str
    unit: str
    wanted: "pd.Series[float]"
    most: "pd.Series[float] | None"
    ticks: dict[float, str]
    axis: str
    told: Callable[[float], str]
    asked: "pd.Series[float]"
    shortest: str


def retention_charts(plan: pd.DataFrame, wanted: pd.DataFrame) -> list[Chart]:
    """Draw the days that the chosen card of each camera holds against those wanted.

    Parameters
    ----------
    plan : DataFrame
        Rows of a site plan.
    wanted : DataFrame
        ``retention_days`` and ``retention_days_max`` wanted of each, days, and ``assurance``, 0 to 1.

    Returns
    -------
    list of Chart
        Pictures of ``ROWS`` cameras each.
    """
    days = {1.0: "1", 3.0: "3", 7.0: "7", 14.0: "14", 30.0: "30", 90.0: "90", 365.0: "365"}
    most = wanted["retention_days_max"] if wanted["retention_days_max"].notna().any() else None
    axis = "Footage held, days: as planned (dot), and from the highest mean to the lowest (line)"
    return _charts(
        plan,
        _Quantity(
            "retention_days",
            "days",
            wanted["retention_days"],
            most,
            days,
            axis,
            number,
            wanted["assurance"],
            "the shortest is",
        ),
        "hold",
    )


def life_charts(plan: pd.DataFrame, wanted: pd.DataFrame) -> list[Chart]:
    """Draw the years until the chosen card of each camera is worn out against those wanted.

    Parameters
    ----------
    plan : DataFrame
        Rows of a site plan.
    wanted : DataFrame
        ``life_years`` wanted of each, years, and ``assurance``, 0 to 1.

    Returns
    -------
    list of Chart
        Pictures of ``ROWS`` cameras each.
    """
    years = {0.3: "0.3", 1.0: "1", 3.0: "3", LONGEST_LIFE_YEARS: "10"}
    axis = f"Flash used up after, years: as planned (dot), from worst to best (line), {life(np.inf)} (arrow)"
    return _charts(
        plan,
        _Quantity(
            "life_years",
            "years",
            wanted["life_years"],
            None,
            years,
            axis,
            life,
            wanted["assurance"],
            "wear alone uses up the first after",
        ),
        "last",
    )


def kinds_chart(front: Front) -> Chart | None:
    """Draw what fewer kinds of card cost.

    Parameters
    ----------
    front : Front
        For each number of kinds the best choice of its size.

    Returns
    -------
    Chart or None
        The picture; none where there is nothing to choose between.
    """
    if len(front.table) < 2:
        return None
    title = front.sentence.rstrip(".")
    alt = f"{title}. A row each for {', '.join(map(str, front.table['kinds']))} kinds; the table below has the figures."
    return Chart(title, _svg(partial(_draw_kinds, front=front), len(front.table)), alt)


def _draw_kinds(figure: Figure, front: Front) -> None:
    axes = figure.add_subplot()
    style.plain(axes)
    axes.grid(False, axis="y")
    axes.spines["left"].set_visible(False)
    table, amounts = front.table, front.table[front.measure].to_numpy(float)
    axes.set_ylim(len(table) - 0.4, -0.9)
    axes.set_xlim(0, amounts.max() * 1.25)
    axes.set_yticks(range(len(table)), [f"{kinds} kind{'' if kinds == 1 else 's'}" for kinds in table["kinds"]])
    axes.tick_params(axis="y", length=0)
    what = "Cost over the horizon" if front.measure == "cost" else "Capacity of all cards"
    axes.set_xlabel(f"{what}, {_drawable(front.unit)}", parse_math=False)
    axes.xaxis.set_major_formatter(lambda amount, _: grouped(f"{amount:.10g}"))
    for row, (assured, amount) in enumerate(zip(table["assured"], amounts, strict=True)):
        axes.plot([0, amount], [row, row], color=style.BAND, linewidth=9, solid_capstyle="butt")
        axes.plot(amount, row, "o", color=style.ACCENT, markersize=5.5)
        text = f"{grouped(f'{amount:.0f}')}, {assured} of {front.cameras} cameras assured"
        axes.text(amount + amounts.max() * 0.02, row, text, va="center")


def _charts(plan: pd.DataFrame, quantity: _Quantity, verb: str) -> list[Chart]:
    rows = np.arange(len(plan))
    which = ""
    if len(plan) > ROWS * PICTURES:
        spare = (plan[quantity.column] / quantity.wanted).fillna(0).to_numpy()
        rows = np.sort(np.argsort(spare, kind="stable")[: ROWS * PICTURES])
        which = f"the {len(rows)} cameras with the least to spare"
    title = _message(plan, quantity, verb)
    parts = np.array_split(rows, math.ceil(len(rows) / ROWS))
    charts = []
    for page, part in enumerate(parts, start=1):
        more = "; ".join(text for text in (which, f"{page} of {len(parts)}" if len(parts) > 1 else "") if text)
        full = f"{title} ({more})" if more else title
        names = ", ".join(str(row + 1) for row in part)
        alt = f"{full}. A row each for the cameras with the numbers {names}; the figures stand in the table beside it."
        charts.append(
            Chart(full, _svg(partial(_draw, plan=plan, rows=part.tolist(), quantity=quantity), len(part)), alt)
        )
    return charts


def _message(plan: pd.DataFrame, quantity: _Quantity, verb: str) -> str:
    """State what the picture shows."""
    served = plan[plan["meets"]]
    lowest, highest = quantity.wanted.min(), quantity.wanted.max()
    asked = (
        f"the {number(lowest)} {quantity.unit} wanted" if lowest == highest else f"the {quantity.unit} wanted of them"
    )
    if served.empty:
        return f"No card of the list is assured to {verb} {asked}"
    least = served[quantity.column].min()
    who = (
        f"All {len(plan)} cards" if len(served) == len(plan) else f"{len(served)} of {len(plan)} cameras have a card to"
    )
    of_served = quantity.asked[plan["meets"]]
    sure = " to ".join(dict.fromkeys(chance(end) for end in (of_served.min(), of_served.max())))
    return (
        f"{who} {verb} {asked} with a chance of {sure} or more; as planned {quantity.shortest} {quantity.told(least)}"
        f" {quantity.unit}"
    )


def _draw(figure: Figure, plan: pd.DataFrame, rows: list[int], quantity: _Quantity) -> None:
    axes = figure.add_subplot()
    part = plan.iloc[rows]
    low, planned, high = (part[f"{quantity.column}{end}"].to_numpy(float) for end in ("_low", "", "_high"))
    wanted = quantity.wanted.iloc[rows].to_numpy(float)
    _scale(axes, [low, high, wanted], quantity.ticks)
    axes.set_ylim(len(part) - 0.4, -0.9)
    labels = [f"{_drawable(name)}  {row + 1}" for name, row in zip(part["camera"], rows, strict=True)]
    axes.set_yticks(range(len(part)), labels, parse_math=False)
    axes.tick_params(axis="y", length=0)
    axes.set_xlabel(quantity.axis, loc="right")
    right = axes.get_xlim()[1]
    for row in range(len(part)):
        axes.plot(
            [min(wanted[row], right)] * 2,
            [row - 0.42, row + 0.42],
            color=style.INK,
            linewidth=2.2,
            solid_capstyle="butt",
        )
        if quantity.most is not None and (most := quantity.most.iloc[rows[row]]) < right:
            axes.plot([most] * 2, [row - 0.42, row + 0.42], color=style.INK, linewidth=1.2, linestyle=(0, (1, 1)))
        if np.isnan(planned[row]):
            state = part["state"].iloc[row]
            text = f"{STATES[state].mark} {state}: no card is assured"
            axes.text(min(wanted[row], right) * 1.12, row, text, va="center", color=style.of_state(state))
            continue
        axes.plot(
            np.minimum([low[row], high[row]], right), [row, row], color=style.MID, linewidth=4, solid_capstyle="butt"
        )
        if planned[row] <= right:
            axes.plot(
                planned[row],
                row,
                STATES["assured"].marker,
                color=style.ASSURED,
                markersize=5.5,
                markeredgecolor="white",
            )
        if high[row] > right:
            colour = style.ASSURED if planned[row] > right else style.MID
            axes.plot(right, row, ">", color=colour, markersize=7, clip_on=False)
        axes.text(1.03, row, quantity.told(planned[row]), va="center", transform=axes.get_yaxis_transform())
    axes.text(1.03, -0.55, "planned", va="bottom", transform=axes.get_yaxis_transform())
    is_limited = quantity.most is not None and quantity.most.iloc[rows].min() < right
    side = "right" if is_limited else "center"  # so that two words beside each other do not touch
    axes.text(min(wanted[0], right), -0.55, "wanted", ha=side, va="bottom", fontweight="bold")
    if quantity.most is not None and is_limited:
        axes.text(quantity.most.iloc[rows].min(), -0.55, "allowed", ha="left", va="bottom")


def _scale(axes: Axes, values: Sequence[np.ndarray], ticks: dict[float, str]) -> None:
    """Let a logarithmic axis reach over all values, with room for a label, and no further than its last tick."""
    known = np.concatenate([column[np.isfinite(column)] for column in values])
    highest = min(max(known.max() * 2, min(ticks) * 10), max(ticks) * 1.3)
    style.log_ticks(axes, "x", ticks)
    axes.set_xlim(min(known.min(), min(ticks)) * 0.7, highest)
    style.plain(axes)
    axes.grid(False, axis="y")
    axes.spines["left"].set_visible(False)


def _svg(draw: Callable[[Figure], None], rows: int) -> bytes:
    """Give a picture as SVG, the same bytes for the same input."""
    file = io.BytesIO()
    with mpl.rc_context(FIXED), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph")  # of names; what is missing was replaced
        figure = Figure(figsize=(WIDTH_INCH, REST_INCH + ROW_INCH * rows), layout="constrained")
        FigureCanvasSVG(figure)
        draw(figure)
        figure.savefig(file, format="svg", metadata={"Date": None})
    return file.getvalue()


def _drawable(name: str) -> str:
    """Shorten a name, and put a sign for letters that the font does not have; the number tells which camera it is."""
    drawn = "".join(letter if ord(letter) in _letters() else SHOWN for letter in visible(short(name, LONGEST_NAME)))
    return f"{LEFT_TO_RIGHT}{drawn}{LEFT_TO_RIGHT}"  # so that a number after it stays after it


@cache
def _letters() -> frozenset[int]:
    return frozenset(get_font(findfont("DejaVu Sans")).get_charmap())
