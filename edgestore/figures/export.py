"""Picture of how footage gets off: each way on a time axis, and what is overwritten; the hold beside locked clips."""

from collections.abc import Sequence
from textwrap import fill
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle

from edgestore.answers.export import LOCKED_WAYS, NOTHING_H, WAYS, Export
from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.text import number

AXIS_ENDS_H = (*(2, 4, 6, 8, 12, 16, 24, 36, 48, 72, 96, 120), *(168, 240, 336, 480, 720, 1080, 1440))
"""Ends of the time axis, h: near to one another, so that it is little longer than what is shown on it."""

FILLED, FILLED_NARROW = 0.75, 0.64
"""Part of the axis at which the last way ends at most, so that the words behind it have room."""

TICKS = 5

WAITING: dict[str, Any] = {"facecolor": style.LINE, "edgecolor": style.INK}
READING: dict[str, Any] = {"facecolor": style.ACCENT, "edgecolor": "white", "hatch": "//"}
GOING: dict[str, Any] = {"facecolor": "white", "edgecolor": style.SECOND, "hatch": "..", "alpha": 0.6}


class ExportFigure(MovingFigure[Export]):
    """What each way takes, over the hours in which the wanted footage is overwritten; below it the hold."""

    height_inch = 5.6
    narrow_height_inch = 4.6

    def draw(self, figure: Figure, result: Export) -> tuple[Sequence[Artist], Sequence[Artist]]:
        above, below = figure.subplots(2, 1, height_ratios=(3, 2))
        return [], [*self._draw_ways(above, result), *self._draw_hold(below, result)]

    def _draw_ways(self, axes: Axes, result: Export) -> list[Artist]:
        end_h = self._axis_end_h(result)
        axes.set_xlim(0, end_h)
        axes.set_ylim(len(WAYS) - 0.5, -0.6)
        axes.set_yticks(range(len(WAYS)), [fill(way, 12) if self.is_narrow else way for way in WAYS])
        axes.tick_params(axis="y", length=0)
        axes.set_xticks(np.linspace(0, end_h, TICKS))
        axes.set_xlabel("Hours from now")
        axes.spines[["top", "right"]].set_visible(False)
        axes.legend(
            handles=[
                Patch(label="wait", **WAITING),
                Patch(label="read", **READING),
                Patch(label="wanted footage is overwritten" if not self.is_narrow else "overwritten", **GOING),
            ],
            loc="lower left",
            bbox_to_anchor=(0, 0.98),
            ncols=3,
            fontsize=style.SMALL_PT,
            frameon=False,
            columnspacing=1,
            handlelength=1.6,
        )
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.9, "pad": 1}
        self._going = Rectangle((0, -0.6), 1, len(WAYS) - LOCKED_WAYS + 0.1, **GOING)
        self._waits = [Rectangle((0, row - 0.26), 0, 0.52, **WAITING) for row in range(len(WAYS))]
        self._reads = [Rectangle((0, row - 0.26), 0, 0.52, **READING) for row in range(len(WAYS))]
        for patch in (self._going, *self._waits, *self._reads):
            axes.add_patch(patch)
        self._words = [axes.text(0, row, "", va="center", fontsize=style.BODY_PT, bbox=box) for row in range(len(WAYS))]
        return [self._going, *self._waits, *self._reads, *self._words]

    def _draw_hold(self, axes: Axes, result: Export) -> list[Artist]:
        style.plain(axes)
        axes.set_xlim(0, result.curve_gb[-1])
        axes.set_ylim(0, 1.1 * max(result.curve_h[0], result.wanted_h))
        axes.set_xlabel("Clips locked, GB")
        axes.set_ylabel("Card holds, h")
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1}
        (self._curve,) = axes.plot([], [], color=style.ACCENT, linewidth=2)
        self._wanted = axes.axhline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.4)
        (self._now,) = axes.plot([], [], "o", color=style.INK, markersize=8)
        (self._most,) = axes.plot([], [], "s", color=style.SECOND, markersize=8)
        self._most_text = axes.text(0, 0, "", va="bottom", fontsize=style.BODY_PT, color=style.SECOND, bbox=box)
        return [self._curve, self._wanted, self._now, self._most, self._most_text]

    def _axis_end_h(self, result: Export) -> float:
        """The first end of the axis with room for the hours of overwriting, and for each way with the words behind."""
        filled = FILLED_NARROW if self.is_narrow else FILLED
        longest = max([*(result.done_h[np.isfinite(result.done_h)] / filled), result.last_goes_h])
        return next((end for end in AXIS_ENDS_H if longest <= end), longest)

    def frame(self, result: Export) -> object:
        return self._axis_end_h(result), result.curve_gb[-1], result.curve_h[0], result.wanted_h

    def move(self, result: Export) -> None:
        end_h = self._axis_end_h(result)
        self._going.set_x(result.oldest_goes_h)
        self._going.set_width(result.last_goes_h - result.oldest_goes_h)
        ways = zip(self._waits, self._reads, self._words, result.begins_h, result.done_h, result.lost_h, strict=True)
        for wait, read, text, begins, done, lost in ways:
            can_end = bool(np.isfinite(done))
            wait.set_width(begins)
            read.set_x(begins)
            read.set_width(done - begins if can_end else 0)
            wait.set_visible(begins > 0)
            read.set_visible(can_end)
            loss = "none lost" if lost < NOTHING_H else f"{number(lost)} h lost"
            stays = "stays on the card" if result.span_h - lost >= NOTHING_H else "nothing fetched"
            text.set_text(f"{number(done)} h: {loss}" if can_end else f"{stays}: {loss}")
            text.set_x((done if can_end else 0) + 0.015 * end_h)
        self._curve.set_data(result.curve_gb, result.curve_h)
        self._wanted.set_ydata([result.wanted_h] * 2)
        self._now.set_data([result.locked_gb], [result.held_h])
        self._most.set_data([result.most_locked_gb], [result.wanted_h] if result.most_locked_gb else [np.nan])
        width_gb = result.curve_gb[-1]
        right = result.most_locked_gb > 0.5 * width_gb
        self._most_text.set_position((result.most_locked_gb + (-0.02 if right else 0.02) * width_gb, result.wanted_h))
        self._most_text.set_horizontalalignment("right" if right else "left")
        most = f"{number(result.most_locked_gb) + ' GB' if result.most_locked_gb else 'nothing'} may be locked"
        self._most_text.set_text(most if self.is_narrow else f"promised: {number(result.wanted_h)} h, {most}")

    def alt_text(self) -> str:
        result = self.result
        return (
            f"Four ways to get {number(result.span_h)} h of footage off, on a time axis from now, with the hours in"
            f" which it is overwritten unless it is locked. {result.sentence} Below, what the card holds against the"
            f" volume locked: {number(result.held_h)} h with {number(result.locked_gb)} GB."
        )
