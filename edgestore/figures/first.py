"""Picture of what to find out first: what each way is worth beside its effort, and what more days of footage are."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgestore.figures import style
from edgestore.figures.label import Label
from edgestore.figures.moving import MovingFigure
from edgestore.plan.measure_first import WORTH_IT
from edgestore.plan.what_first import DAYS, WhatFirst
from edgestore.text import short
from edgestore.units import H_PER_DAY

BARS = 8
"""So many of the best are drawn."""

DAY_TICKS = {1 / H_PER_DAY: "1 hour", 0.25: "6 hours", 1: "1 day", 7: "1 week"}

PLACES = {"left": 0.2, "right": 0.99, "bottom": 0.11, "top": 0.89, "wspace": 0.2}
"""Edges of the two drawings, as shares of the picture."""

NARROW_PLACES = {"left": 0.38, "right": 0.97, "bottom": 0.08, "top": 0.92, "hspace": 0.45}
"""The same where they stand one below the other."""

LINES = ("-", (0, (5, 2)), (0, (1, 1.5)))


class FirstFigure(MovingFigure[WhatFirst]):
    """A bar for each of the best ways, its effort as a mark on it; beside, the worth by days of footage."""

    height_inch = 4.6
    narrow_height_inch = 6.4

    def frame(self, result: WhatFirst) -> object:
        curves = {name: curve.tolist() for name, curve in result.curves.items()}
        return len(self._rows(result)), self._most(result), result.first.unit, curves

    def draw(self, figure: Figure, result: WhatFirst) -> tuple[Sequence[Artist], Sequence[Artist]]:
        figure.set_layout_engine("none")  # the names beside the bars move with them
        if self.is_narrow:
            bars, curves = figure.subplots(2, 1, height_ratios=(1.3, 1), gridspec_kw=NARROW_PLACES)
        else:
            bars, curves = figure.subplots(1, 2, width_ratios=(1.1, 1), gridspec_kw=PLACES)
        self._draw_bars(bars, result)
        self._draw_curves(curves, result)
        return [], [*self._bars, self._efforts, *self._subjects, *self._inputs]

    def _draw_bars(self, axes: Axes, result: WhatFirst) -> None:
        style.plain(axes)
        rows = self._rows(result)
        at = np.arange(len(rows))
        self._bars = axes.barh(at, np.zeros(len(rows)), 0.62, edgecolor=style.ACCENT).patches
        (self._efforts,) = axes.plot(at, at, "D", color=style.SECOND, markersize=6, linestyle="none", clip_on=False)
        self._subjects, self._inputs = ([Label(axes, style.SMALL_PT, style.INK) for _ in at] for _ in range(2))
        axes.set_yticks([])
        axes.set_ylim(max(len(rows), 1) - 0.5, -0.5)
        axes.set_xlim(0, self._most(result))
        axes.set_xlabel(f"Worth before ordering, {result.first.unit}", fontsize=style.BODY_PT)
        axes.set_title(
            "What is worth finding out.\nDark: worth its effort (diamond)", loc="left", fontsize=style.BODY_PT
        )
        axes.tick_params(axis="x", labelsize=style.SMALL_PT)

    def _draw_curves(self, axes: Axes, result: WhatFirst) -> None:
        style.plain(axes)
        style.log_ticks(axes, "x", DAY_TICKS)
        colours = (style.ACCENT, style.SECOND, style.INK)
        highest = 0.0
        for (camera, worth), colour, line in zip(result.curves.items(), colours, LINES, strict=False):
            axes.plot(DAYS, worth, color=colour, linestyle=line, linewidth=1.8, label=short(camera, 22))
            highest = max(highest, float(worth.max()))
        axes.set_xlim(DAYS[0], DAYS[-1])
        axes.set_ylim(0, max(1.35 * highest, 1.0))
        axes.set_xlabel("Footage that is measured", fontsize=style.BODY_PT)
        axes.set_ylabel(f"Worth, {result.first.unit}", fontsize=style.BODY_PT)
        axes.set_title("What more footage is worth,\nup to four weeks", loc="left", fontsize=style.BODY_PT)
        axes.tick_params(labelsize=style.SMALL_PT)
        axes.legend(loc="upper left", fontsize=style.SMALL_PT, frameon=False)

    def move(self, result: WhatFirst) -> None:
        rows = self._rows(result)
        for bar, worth, is_worth_it in zip(self._bars, rows["worth"], rows["verdict"].eq(WORTH_IT), strict=True):
            bar.set_width(worth)
            bar.set_facecolor(style.ACCENT if is_worth_it else style.BAND)
        self._efforts.set_xdata(rows["effort"])
        left = -0.015 * self._most(result)
        for row, (subject, what) in enumerate(rows[["subject", "input"]].to_numpy()):
            self._subjects[row].place(short(subject, 22), left, row - 0.17, align="right")
            self._inputs[row].place(what, left, row + 0.17, align="right")

    def alt_text(self) -> str:
        return (
            f"Worth of what may be found out, beside its effort, and worth by days of footage. {self.result.sentence}"
        )

    def _most(self, result: WhatFirst) -> float:
        """Give where the axis ends: 1, 2 or 5 with zeros, so that it seldom moves."""
        amounts = self._rows(result)[["worth", "effort"]].to_numpy(float)
        most = max(1.05 * float(np.nanmax(amounts, initial=0.0)), 1.0)
        zeros = 10 ** np.floor(np.log10(most))
        return float(next(step for step in (1, 2, 5, 10) if step * zeros >= most) * zeros)

    @staticmethod
    def _rows(result: WhatFirst) -> pd.DataFrame:
        return result.first.ways.head(BARS)[["subject", "input", "worth", "effort", "verdict"]]
