"""Colours, line styles and axis ticks that all figures share: told apart by colour, by style and in grey print."""

from collections.abc import Sequence
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.ticker import FixedFormatter, FixedLocator, NullLocator

from edgestore.look import LIGHT, PICTURE_PT, STATES
from edgestore.text import LONGEST_LIFE_YEARS, life
from edgestore.units import DAYS_PER_YEAR, H_PER_DAY

INK, QUIET, MID, LINE, SHADE = (LIGHT[name] for name in ("ink", "quiet", "mid", "line", "shade"))
ACCENT, BAND = LIGHT["accent"], LIGHT["band"]
ASSURED, DOUBTFUL, NOT_SERVED = (LIGHT[state.colour] for state in STATES.values())
SECOND = DOUBTFUL
"""What is set against the answer, above all what is asked: beyond it, a promise is doubtful."""

SHADED = ("ground", "band", "accent", "ink")
SHADES = LinearSegmentedColormap.from_list("shades", [LIGHT[name] for name in SHADED])
"""The colour map of whatever is told by shade, and the names of its colours."""

INKED: dict[Any, Any] = {
    **dict.fromkeys(("text.color", "axes.labelcolor", "axes.edgecolor", "xtick.color", "ytick.color"), INK),
    "axes.linewidth": 0.8,
}
"""The matplotlib style of every picture: nothing is black."""

SMALL_PT, BODY_PT, LEAD_PT, TITLE_PT = PICTURE_PT.values()

TIME_TICKS_DAYS = {
    1 / H_PER_DAY: "1 hour",
    0.25: "6 hours",
    1: "1 day",
    3: "3 days",
    7: "1 week",
    30: "30 days",
    90: "90 days",
    DAYS_PER_YEAR: "1 year",
    5 * DAYS_PER_YEAR: "5 years",
}
BEYOND_YEARS = 2 * LONGEST_LIFE_YEARS
"""Where an axis of lives ends: all that is more than the longest life told stands half-way to it."""

MORE_YEARS = 1.5 * LONGEST_LIFE_YEARS
YEAR_TICKS = {0.1: "0.1", 0.3: "0.3", 1: "1", 3: "3", 10: "10", MORE_YEARS: life(MORE_YEARS)}


def log_ticks(axes: Axes, which: Literal["x", "y"], labels: dict[float, str]) -> None:
    """Make an axis logarithmic with just these ticks; minor ticks would double the time of a draw."""
    axes.set_xscale("log") if which == "x" else axes.set_yscale("log")
    axis = axes.xaxis if which == "x" else axes.yaxis
    axis.set_major_locator(FixedLocator(list(labels)))
    axis.set_major_formatter(FixedFormatter(list(labels.values())))
    axis.set_minor_locator(NullLocator())


def up_to_longest(years: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Give lives as they are drawn: whatever is longer than is told stands at one place beyond."""
    lives = np.asarray(years, float)
    return np.where(lives > LONGEST_LIFE_YEARS, MORE_YEARS, lives)


def number_labels(values: Sequence[float]) -> dict[float, str]:
    """Give ticks at these values, labelled with the plain number."""
    return {value: f"{value:g}" for value in values}


def plain(axes: Axes) -> None:
    """Leave a light grid and the two axis lines that carry numbers."""
    axes.grid(True, color=LINE, linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def of_state(state: str) -> str:
    """Give the colour of a state on paper, by its word."""
    return LIGHT[STATES[state].colour]
