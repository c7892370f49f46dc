"""Picture of what the card saves: one outage on a time axis, and hours lost a year against the card's capacity."""

from collections.abc import Sequence
from textwrap import fill
from typing import Any, NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle

from edgestore.answers.outage import CURVE_GB, Saving
from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.text import number

AXIS_ENDS_H = (6, 12, 24, 48, 96, 168, 336, 720, 1440)
"""Ends of the time axis, h; the outage fills at most ``FILLED`` of it."""

FILLED, BEFORE = 0.74, 0.16
"""Parts of the axis' end: the longest outage, and the time shown before the failure."""

SHORTEST_NAMED = 0.13
"""A bar shorter than this share of the axis has no room for words; the legend names it."""

NARROW_SHORTEST_NAMED = 0.3
"""The same in a narrow picture."""

FLOOR_H = 0.01
"""Least loss that the lower picture shows, h a year."""

ROWS = (
    "recorder, when it is back",
    "At the cap: card, by then",
    "recorder, in the end",
    "At the mean: card, by then",
    "recorder, in the end",
)
LOOKS: dict[str, dict[str, Any]] = {
    "recorded live": {"facecolor": style.BAND, "edgecolor": style.INK},
    "held by the card": {"facecolor": style.LINE, "edgecolor": style.INK},
    "fetched from it": {"facecolor": style.ACCENT, "edgecolor": "white", "hatch": "//"},
    "lost": {"facecolor": "white", "edgecolor": style.SECOND, "hatch": "xxx"},
    "lost while it was read": {"facecolor": "white", "edgecolor": style.SECOND, "hatch": ".."},
}


class _Bar(NamedTuple):
    """A stretch of footage: its row, its ends in h since the failure, what became of it, and a word on it."""

    row: int
    begin_h: float
    end_h: float
    look: str
    words: str


def _axis_end_h(outage_h: float) -> float:
    """Give the first end of the axis that leaves room behind the outage."""
    return next((end for end in AXIS_ENDS_H if outage_h <= FILLED * end), outage_h / FILLED)


def _bars(result: Saving, end_h: float) -> list[_Bar]:
    """Give the bars of all rows, as many for every result."""
    begin_h, back_h = -BEFORE * end_h, result.outage_h
    bars = [
        _Bar(0, begin_h, 0, "recorded live", "live"),
        _Bar(0, 0, back_h, "lost", "missing"),
        _Bar(0, back_h, end_h, "recorded live", "live"),
    ]
    for rate in range(2):
        card, recorder = 1 + 2 * rate, 2 + 2 * rate
        fetched_from = result.overwritten_h[rate]
        fetched_to = fetched_from + result.backfilled_h[rate]
        bars += [
            _Bar(
                card,
                max(back_h - result.retention_h[rate], begin_h),
                back_h,
                "held by the card",
                f"the last {_hours(result.retention_h[rate])}",
            ),
            _Bar(recorder, begin_h, 0, "recorded live", "live"),
            _Bar(recorder, 0, fetched_from, "lost", f"{_hours(fetched_from)} lost"),
            _Bar(recorder, fetched_from, fetched_to, "fetched from it", _hours(result.backfilled_h[rate])),
            _Bar(recorder, fetched_to, back_h, "lost while it was read", f"{_hours(back_h - fetched_to)} lost"),
            _Bar(recorder, back_h, end_h, "recorded live", _caught_up(result.caught_up_h[rate])),
        ]
    return bars


def _caught_up(hours: float) -> str:
    return f"caught up\nafter {_hours(hours)}" if np.isfinite(hours) else "link is full,\nnothing fetched"


def _hours(hours: float) -> str:
    return f"{number(hours)} h"


class SavesFigure(MovingFigure[Saving]):
    """What recorder and card have of an outage, what is lost and what is fetched; below it a year of such outages."""

    height_inch = 6.4
    narrow_height_inch = 6.0

    def draw(self, figure: Figure, result: Saving) -> tuple[Sequence[Artist], Sequence[Artist]]:
        above, below = figure.subplots(2, 1, height_ratios=(3, 2))
        return [], [*self._draw_outage(above, result), *self._draw_year(below)]

    def _draw_outage(self, axes: Axes, result: Saving) -> list[Artist]:
        end_h = _axis_end_h(result.outage_h)
        axes.set_xlim(-BEFORE * end_h, end_h)
        axes.set_ylim(len(ROWS) - 0.5, -1)
        axes.set_yticks(range(len(ROWS)), [fill(row, 14) if self.is_narrow else row for row in ROWS])
        axes.tick_params(axis="y", length=0)
        axes.set_xticks(np.arange(0, end_h + 1, end_h / 6))
        axes.set_xlabel("When it was recorded, hours since the recorder failed")
        axes.spines[["top", "right", "left"]].set_visible(False)
        axes.legend(
            handles=[Patch(label=name, **look) for name, look in LOOKS.items()],
            loc="lower right",
            bbox_to_anchor=(1, 0.98),
            ncols=2 if self.is_narrow else len(LOOKS),
            fontsize=style.SMALL_PT,
            frameon=False,
            columnspacing=1,
            handlelength=1.6,
        )
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.9, "pad": 1}
        bars = _bars(result, end_h)
        self._patches = [Rectangle((0, bar.row - 0.31), 1, 0.62, **LOOKS[bar.look]) for bar in bars]
        for patch in self._patches:
            axes.add_patch(patch)
        self._words = [
            axes.text(0, bar.row, "", ha="center", va="center", fontsize=style.SMALL_PT, bbox=box) for bar in bars
        ]
        self._ends = [axes.axvline(0, color=style.INK, linestyle=dash, linewidth=1.2) for dash in ("-", "--")]
        self._fails_text = axes.text(0, -0.62, "fails ", ha="right", fontsize=style.BODY_PT)
        self._back_text = axes.text(0, -0.62, "", fontsize=style.BODY_PT)
        return [*self._patches, *self._ends, *self._words, self._fails_text, self._back_text]

    def _draw_year(self, axes: Axes) -> list[Artist]:
        style.log_ticks(axes, "x", style.number_labels([4, 8, 16, 32, 64, 128, 256, 512, 1024]))
        style.log_ticks(axes, "y", style.number_labels([0.01, 0.1, 1, 10, 100, 1000]))
        style.plain(axes)
        axes.set_xlim(CURVE_GB[0], CURVE_GB[-1] * 1.05)
        axes.set_ylim(FLOOR_H * 0.7, 9000)
        axes.set_xlabel("Capacity, GB")
        axes.set_ylabel("Lost, hours a year")
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1}
        self._none = axes.axhline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.4)
        self._none_text = axes.text(4.2, 1, "", va="bottom", fontsize=style.BODY_PT, color=style.SECOND)
        self._curves = [axes.plot([], [], dash, color=style.ACCENT, linewidth=1.8)[0] for dash in ("-", "--")]
        (self._range,) = axes.plot([], [], "o-", color=style.INK, linewidth=2.5, markersize=6)
        self._range_texts = [axes.text(1, 1, "", va=va, fontsize=style.BODY_PT, bbox=box) for va in ("bottom", "top")]
        return [self._none, *self._curves, self._range, self._none_text, *self._range_texts]

    def frame(self, result: Saving) -> object:
        return _axis_end_h(result.outage_h)

    def move(self, result: Saving) -> None:
        end = _axis_end_h(result.outage_h)
        for patch, text, bar in zip(self._patches, self._words, _bars(result, end), strict=True):
            patch.set_x(bar.begin_h)
            patch.set_width(max(bar.end_h - bar.begin_h, 0))
            text.set_x((bar.begin_h + bar.end_h) / 2)
            named = bar.end_h - bar.begin_h >= (NARROW_SHORTEST_NAMED if self.is_narrow else SHORTEST_NAMED) * end
            text.set_text(bar.words if named else "")
        self._ends[1].set_xdata([result.outage_h] * 2)
        self._back_text.set_x(result.outage_h)
        self._back_text.set_text(f" back after {_hours(result.outage_h)}")
        for curve, lost in zip(self._curves, result.curves_h_per_year, strict=True):
            curve.set_data(CURVE_GB, np.maximum(lost, FLOOR_H))
        lost = np.maximum(result.lost_h_per_year, FLOOR_H)
        self._none.set_ydata([max(result.lost_without_card_h_per_year, FLOOR_H)] * 2)
        self._none_text.set_y(max(result.lost_without_card_h_per_year, FLOOR_H))
        self._none_text.set_text(f"no card: {number(result.lost_without_card_h_per_year)} h")
        self._range.set_data([result.capacity_gb] * 2, lost)
        left = result.capacity_gb > 128
        words = ("at the cap", "at the mean")
        for text, place, hours, rate in zip(self._range_texts, lost, result.lost_h_per_year, words, strict=True):
            text.set_position((result.capacity_gb * (0.93 if left else 1.08), place))
            text.set_horizontalalignment("right" if left else "left")
            text.set_text(f"{rate}: {number(hours)} h")

    def alt_text(self) -> str:
        result = self.result
        return (
            f"An outage of {_hours(result.outage_h)} on a time axis: the card of {number(result.capacity_gb)} GB"
            f" gives back {_hours(result.backfilled_h[0])} at the cap and"
            f" {_hours(result.backfilled_h[1])} at the mean, the rest is lost. Below, hours lost a year against"
            f" capacity: {result.sentence}"
        )
