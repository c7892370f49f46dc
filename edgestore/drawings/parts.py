"""What the drawings of the fitting guide share: a pane, simple shapes, words with a leader. Greys and one dark blue."""

import io
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.patches import Circle, FancyArrowPatch, FancyBboxPatch, Polygon, Rectangle
from matplotlib.text import Text

from edgestore.figures.style import ACCENT, INK, QUIET
from edgestore.look import LIGHT

WIDE, HIGH = 100, 80
"""A pane in its own units: x to the right, y upwards."""

PANE_INCH = 3.0
WORDS_PT = 11
"""Size of the words on a pane of ``PANE_INCH``; at 56 mm, three to a page, they are 8 points."""

LETTER = 2.9
"""Mean width of a letter of that size."""

BOLDER = 1.25
"""How much wider bold letters are."""

LINE_HIGH = 6.4
"""Height of a line of that size."""

WHITE, PALE, MIDDLE, DARK = (LIGHT[name] for name in ("ground", "shade", "line", "quiet"))
LINE = 1.6
SHAFT = 8.0
"""Length of a screw from its side."""

LEADER = "_leader"
"""Label of the lines that lead from words to what they name."""

_FIXED: dict[Any, Any] = {"svg.hashsalt": "edgestore", "svg.fonttype": "path", "font.family": "DejaVu Sans"}

Point = tuple[float, float]


@dataclass(frozen=True)
class Drawing:
    """One pane: its title, what it shows in a sentence, and the function that draws it."""

    title: str
    alt_text: str
    draw: Callable[[Axes], None]

    def svg(self) -> bytes:
        """Give the pane as SVG, its words as outlines; the same bytes each time."""
        file = io.BytesIO()
        with mpl.rc_context(_FIXED):
            figure = _figure([self], 1, titled=False)
            FigureCanvasSVG(figure)
            figure.savefig(file, format="svg", metadata={"Date": None, "Creator": None})
        return re.sub(rb' d="[^"]*"', _shorter, file.getvalue())


def _shorter(path: re.Match[bytes]) -> bytes:
    """Give a path with as many digits as can be seen: a hundredth of a point."""
    return re.sub(rb"(\.\d\d)\d+", rb"\1", path[0])


@dataclass(frozen=True)
class Strip:
    """Drawings side by side under their numbered titles, as a notebook shows them."""

    drawings: Sequence[Drawing]
    columns: int = 3

    def png(self) -> bytes:
        """Give the strip as PNG."""
        file = io.BytesIO()
        with mpl.rc_context(_FIXED):
            figure = _figure(self.drawings, self.columns, titled=True)
            FigureCanvasAgg(figure)
            figure.savefig(file, format="png")
        return file.getvalue()

    def alt_text(self) -> str:
        """Say what the drawings show, one after the other."""
        return " ".join(f"{at}. {drawing.alt_text}" for at, drawing in enumerate(self.drawings, 1))

    def _repr_mimebundle_(self, **_: Any) -> dict[str, object]:
        return {"image/png": self.png(), "text/plain": self.alt_text()}


def _figure(drawings: Sequence[Drawing], columns: int, *, titled: bool) -> Figure:
    rows = -(-len(drawings) // columns)
    title_inch = 0.35 if titled else 0
    high = PANE_INCH * HIGH / WIDE + title_inch
    figure = Figure(figsize=(PANE_INCH * columns, high * rows), dpi=100)
    for at, drawing in enumerate(drawings):
        row, column = divmod(at, columns)
        place = (column / columns, 1 - (row + 1) / rows, 1 / columns, (high - title_inch) / high / rows)
        axes = figure.add_axes(place, xlim=(0, WIDE), ylim=(0, HIGH), aspect="equal")
        axes.set_axis_off()
        drawing.draw(axes)
        if titled:
            axes.set_title(
                f"{at + 1}. {drawing.title}", loc="left", x=0.03, fontsize=WORDS_PT, weight="bold", color=INK
            )
    return figure


def words(axes: Axes, text: str, at: Point, tip: Point | None = None, *, bold: bool = False, ha: str = "left") -> None:
    """Write words, with a line to what they name."""
    weight = "bold" if bold else "normal"
    if tip is not None:
        start = _leader_start(text, at, tip, ha, BOLDER if bold else 1)
        axes.plot(
            *zip(start, tip, strict=True), color=INK, linewidth=0.8, zorder=8, solid_capstyle="round", label=LEADER
        )
        axes.plot(*tip, "o", color=INK, markersize=2.5, zorder=8, label=LEADER)
    said = axes.text(
        *at, text, ha=ha, va="center", fontsize=WORDS_PT, weight=weight, color=INK, zorder=9, linespacing=1.1
    )
    said.set_label("" if tip is None else f"{tip[0]} {tip[1]}")


@dataclass(frozen=True)
class Said:
    """Words of a drawing, where they stand and what they name; they name nothing when they stand by themselves."""

    text: str
    at: Point
    tip: Point | None
    bold: bool
    ha: str


def taken_off(axes: Axes) -> list[Said]:
    """Take all words with their lines off a pane, and give them."""
    said = [_said(text) for text in axes.texts]
    for artist in (*axes.texts, *(line for line in axes.lines if line.get_label() == LEADER)):
        artist.remove()
    return said


def _said(text: Text) -> Said:
    label, (x, y) = str(text.get_label()), text.get_position()
    tip = tuple(map(float, label.split())) if label else None
    is_bold, side = text.get_fontweight() == "bold", text.get_horizontalalignment()
    return Said(text.get_text(), (x, y), tip, is_bold, side)  # type: ignore[arg-type]  # tip has two numbers


def in_words_of(drawing: "Drawing", say: Callable[[str], str]) -> "Drawing":
    """Give a drawing with its words in another language.

    Parameters
    ----------
    drawing : Drawing
        A drawing of the fitting guide, before it is turned.
    say : callable
        Gives the words in the other language, or as they stand; lines are broken in them.

    Returns
    -------
    Drawing
        The same with other words at the same places; its title and alt text stay.
    """

    def draw(axes: Axes) -> None:
        drawing.draw(axes)
        told = {text.get_text(): say(text.get_text()) for text in axes.texts}
        if all(text == other for text, other in told.items()):
            return
        for one in taken_off(axes):
            words(axes, told[one.text], one.at, one.tip, bold=one.bold, ha=one.ha)

    return replace(drawing, draw=draw)


def _leader_start(text: str, at: Point, tip: Point, ha: str, wider: float) -> Point:
    """Give where the line begins that leads from words to their tip: beside them, or above or below them."""
    x, y = at
    half_high = LINE_HIGH / 2 * (text.count("\n") + 1)
    beside = {"left": tip[0] < x, "right": tip[0] > x, "center": False}[ha]
    if beside and abs(tip[1] - y) < 1.2 * abs(tip[0] - x):
        return (x - 1.5 if ha == "left" else x + 1.5, y)
    right = x + wider * LETTER * max(map(len, text.split("\n"))) + 1.5
    if ha == "left" and tip[0] > right:
        return (right, y)
    inwards = {"left": 6, "right": -6, "center": 0}[ha]
    return (x + inwards, y + half_high if tip[1] > y else y - half_high)


def shape(axes: Axes, points: Sequence[Point], fill: str = PALE, zorder: float = 2, **kinds: Any) -> None:
    """Draw a closed shape."""
    axes.add_patch(
        Polygon(
            points,
            closed=True,
            facecolor=fill,
            edgecolor=INK,
            linewidth=LINE,
            zorder=zorder,
            joinstyle="round",
            **kinds,
        )
    )


def box(axes: Axes, corner: Point, size: Point, fill: str = PALE, zorder: float = 2, round_by: float = 0) -> None:
    """Draw a box by its lower left corner, with round corners where asked."""
    looks: dict[str, Any] = {"facecolor": fill, "edgecolor": INK, "linewidth": LINE, "zorder": zorder}
    if round_by:
        style = f"round,pad=0,rounding_size={round_by}"
        axes.add_patch(FancyBboxPatch(corner, *size, boxstyle=style, mutation_aspect=1, **looks))
    else:
        axes.add_patch(Rectangle(corner, *size, **looks))


def disc(axes: Axes, middle: Point, radius: float, fill: str = PALE, zorder: float = 2) -> None:
    """Draw a disc."""
    axes.add_patch(Circle(middle, radius, facecolor=fill, edgecolor=INK, linewidth=LINE, zorder=zorder))


def line(
    axes: Axes, points: Sequence[Point], width: float = LINE, color: str = INK, zorder: float = 3, dash: Any = "-"
) -> None:
    """Draw a line through points."""
    axes.plot(
        *zip(*points, strict=True),
        color=color,
        linewidth=width,
        zorder=zorder,
        linestyle=dash,
        solid_capstyle="round",
        solid_joinstyle="round",
    )


def arrow(axes: Axes, start: Point, end: Point, bend: float = 0) -> None:
    """Draw the arrow of a movement."""
    axes.add_patch(
        FancyArrowPatch(
            start,
            end,
            arrowstyle="simple,head_length=7,head_width=8,tail_width=2.6",
            connectionstyle=f"arc3,rad={bend}",
            facecolor=ACCENT,
            edgecolor=WHITE,
            linewidth=0.6,
            shrinkA=0,
            shrinkB=0,
            zorder=7,
        )
    )


def arc(middle: Point, radius: float, start_deg: float, end_deg: float, flat: float = 1) -> list[Point]:
    """Give points of an arc, degrees from the right, counter-clockwise; ``flat`` scales its height."""
    angle = np.deg2rad(np.linspace(start_deg, end_deg, 40))
    x, y = middle[0] + radius * np.cos(angle), middle[1] + flat * radius * np.sin(angle)
    return list(zip(x.tolist(), y.tolist(), strict=True))


def screw(axes: Axes, middle: Point, radius: float = 2.2) -> None:
    """Draw the head of a screw."""
    disc(axes, middle, radius, WHITE, zorder=6)
    for across, up in ((0.6, 0), (0, 0.6)):
        x, y = middle
        line(axes, [(x - across * radius, y - up * radius), (x + across * radius, y + up * radius)], 1.2, zorder=6.5)


def screw_side(axes: Axes, top: Point, up: float = 1) -> None:
    """Draw a screw from its side, its head at ``top`` and its shaft away from ``up``."""
    x, y = top
    box(axes, (x - 2.6, y - (2.4 if up > 0 else 0)), (5.2, 2.4), DARK, zorder=6)
    line(axes, [(x, y - up * 2.4), (x, y - up * SHAFT)], 2.4, zorder=5)


def hatch(axes: Axes, start: Point, end: Point, away: Point) -> None:
    """Draw a wall or a ceiling: a line, and strokes on the side that is solid."""
    line(axes, [start, end], 2.2)
    for part in np.linspace(0.03, 0.97, 14):
        x, y = (start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1]))
        line(axes, [(x, y), (x + away[0] + 1.5, y + away[1] + 1.5)], 0.8, QUIET, zorder=1)


def slot_mark(axes: Axes, middle: Point, at: Point, ha: str = "left", text: str = "slot") -> None:
    """Mark where the slot is: a black mouth with a ring round it, and the word."""
    x, y = middle
    axes.add_patch(Rectangle((x - 3.4, y - 1.3), 6.8, 2.6, facecolor=INK, edgecolor=INK, zorder=7))
    axes.add_patch(Circle(middle, 6.2, fill=False, edgecolor=ACCENT, linewidth=2.2, zorder=7.5))
    side = -1 if at[0] < x else 1
    words(axes, text, at, (x + side * 4.4, y + (4.4 if at[1] > y else -4.4)), bold=True, ha=ha)


def strap(axes: Axes, start: Point, end: Point, sag: float = 6) -> None:
    """Draw the strap that holds a cover."""
    part = np.linspace(0, 1, 30)
    x = start[0] + part * (end[0] - start[0])
    y = start[1] + part * (end[1] - start[1]) - sag * np.sin(np.pi * part)
    line(axes, list(zip(x.tolist(), y.tolist(), strict=True)), 1.4, DARK)


def lens(axes: Axes, middle: Point, radius: float = 4.5) -> None:
    """Draw a lens from the front."""
    disc(axes, middle, radius, MIDDLE, zorder=5)
    disc(axes, middle, radius * 0.5, DARK, zorder=5.2)
