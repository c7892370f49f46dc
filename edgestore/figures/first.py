"""Picture of what to find out first: what each way is worth beside its effort, and what more days of footage are."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.plan.what_first import DAYS, WhatFirst
from edgestore.text import short
from edgestore.units import H_PER_DAY

BARS = 8
"""So many of the best are drawn."""

DAY_TICKS = {1 / H_PER_DAY: "1 hour", 0.25: "6 hours", 1: "1 day", 7: "1 week"}

LINES = ("-", (0, (5, 2)), (0, (1, 1.5)))


class FirstFigure(MovingFigure[WhatFirst]):
    """A bar for each of the best ways, its effort as a mark on it; beside, the worth by days of footage."""

    height_inch = 4.6

    def frame(self, result: WhatFirst) -> object:
        return self._rows(result).to_csv(), {name: curve.tolist() for name, curve in result.curves.items()}

    def draw(self, figure: Figure, result: WhatFirst) -> tuple[Sequence[Artist], Sequence[Artist]]:
        bars, curves = figure.subplots(1, 2, width_ratios=(1.25, 1))
        self._draw_bars(bars, result)
        self._draw_curves(curves, result)
        return [], []

    def _draw_bars(self, axes: Axes, result: WhatFirst) -> None:
        style.plain(axes)
        rows = self._rows(result)
        at, worth, effort = np.arange(len(rows)), rows["worth"].to_numpy(float), rows["effort"].to_numpy(float)
        is_worth_it = rows["verdict"].eq("worth it").to_numpy()
        axes.barh(at[is_worth_it], worth[is_worth_it], 0.62, color=style.BLUE)
        axes.barh(at[~is_worth_it], worth[~is_worth_it], 0.62, color=style.BAND, edgecolor=style.BLUE)
        axes.plot(effort, at, "D", color=style.VERMILION, markersize=6, linestyle="none")
        names = [f"{short(subject, 22)},\n{what}" for subject, what in rows[["subject", "input"]].to_numpy()]
        axes.set_yticks(at, names, fontsize=8)
        axes.invert_yaxis()
        axes.set_xlim(0, max(1.1 * np.nanmax([*worth, *effort, 0.0]), 1.0))
        axes.set_xlabel(f"Worth before ordering, {result.first.unit}", fontsize=9)
        axes.set_title("What is worth finding out.\nDark: worth its effort (diamond)", loc="left", fontsize=9)
        axes.tick_params(axis="x", labelsize=8)

    def _draw_curves(self, axes: Axes, result: WhatFirst) -> None:
        style.plain(axes)
        style.log_ticks(axes, "x", DAY_TICKS)
        colours = (style.BLUE, style.VERMILION, style.INK)
        highest = 0.0
        for (camera, worth), colour, line in zip(result.curves.items(), colours, LINES, strict=False):
            axes.plot(DAYS, worth, color=colour, linestyle=line, linewidth=1.8, label=short(camera, 22))
            highest = max(highest, float(worth.max()))
        axes.set_xlim(DAYS[0], DAYS[-1])
        axes.set_ylim(0, max(1.35 * highest, 1.0))
        axes.set_xlabel("Footage that is measured", fontsize=9)
        axes.set_ylabel(f"Worth, {result.first.unit}", fontsize=9)
        axes.set_title("What more footage is worth,\nup to four weeks", loc="left", fontsize=9)
        axes.tick_params(labelsize=8)
        axes.legend(loc="upper left", fontsize=8, frameon=False)

    def move(self, result: WhatFirst) -> None:
        """Nothing moves: another ranking is another frame."""

    def alt_text(self) -> str:
        return (
            f"Worth of what may be found out, beside its effort, and worth by days of footage. {self.result.sentence}"
        )

    @staticmethod
    def _rows(result: WhatFirst) -> pd.DataFrame:
        return result.first.ways.head(BARS)[["subject", "input", "worth", "effort", "verdict"]]
