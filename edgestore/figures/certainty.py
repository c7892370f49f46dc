"""Picture of how sure we are: cards still working against age, with a band, and what to find out next."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from edgestore.answers.certainty import INPUT_NAMES, YEARS, Certainty
from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.text import LONGEST_LIFE_YEARS, chance_in_band, life, number

MOST_BARS = 7
"""Inputs that are not known together: of an unknown card its mapping and its updates, else its write amplification."""


class SureFigure(MovingFigure[Certainty]):
    """Survival of such cards with its band; beside it how far each unknown moves the life of the tenth worst."""

    height_inch = 5.0
    narrow_height_inch = 5.4

    def draw(self, figure: Figure, result: Certainty) -> tuple[Sequence[Artist], Sequence[Artist]]:
        top, bottom = figure.subplots(2, 1, height_ratios=(1.5, 1))
        style.plain(top)
        top.set_xlim(0, YEARS[-1])
        top.set_ylim(0, 1.04)
        top.set_yticks([0, 0.25, 0.5, 0.75, 1], ["0 %", "25 %", "50 %", "75 %", "100 %"])
        top.set_xlabel("Years in the camera")
        top.set_ylabel("Cards still working")
        top.set_title(
            "How many such cards still work: the band is what we do not know", loc="left", fontsize=style.TITLE_PT
        )
        self._band = Polygon([(0, 0)], facecolor=style.BAND, edgecolor="none")
        top.add_patch(self._band)
        (self._curve,) = top.plot([], [], color=style.ACCENT, linewidth=2.5)
        self._wanted = top.axvline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.4)
        (self._point,) = top.plot([], [], "o", color=style.INK, markersize=8)
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5}
        self._point_text = top.text(1, 1, "", fontsize=style.LEAD_PT, weight="bold", color=style.INK, bbox=box)
        (self._tenth,) = top.plot([], [], "s", color=style.ACCENT, markersize=7, markerfacecolor="white")
        gone = top.text(14.9, 0.91, "one in ten gone", ha="right", va="bottom", fontsize=style.BODY_PT, color=style.INK)
        at_gone = top.axhline(0.9, color=style.INK, linewidth=1, linestyle=":")

        style.log_ticks(bottom, "x", style.number_labels([0.1, 0.3, 1, 3, LONGEST_LIFE_YEARS]))
        style.plain(bottom)
        bottom.set_xlim(0.05, style.BEYOND_YEARS)
        bottom.axvspan(LONGEST_LIFE_YEARS, style.BEYOND_YEARS, color=style.SHADE, linewidth=0)
        bottom.set_ylim(MOST_BARS - 0.4, -0.6)
        bottom.set_yticks([])
        bottom.set_xlabel(
            f"Years until one card in ten is gone, if this input is low or high (grey: {life(style.MORE_YEARS)})"
        )
        lines = "\n\n" if self.is_narrow else "\n"
        bottom.set_title(f"What to find out next: the longest bar{lines}", loc="left", fontsize=style.TITLE_PT)
        rows = range(MOST_BARS)
        self._bars = [bottom.plot([], [], "-", color=style.ACCENT, linewidth=9, solid_capstyle="butt")[0] for _ in rows]
        self._names = [
            bottom.text(0.055, row, "", va="center", fontsize=style.LEAD_PT, color=style.INK) for row in rows
        ]
        self._middle = bottom.axvline(1, color=style.INK, linewidth=1)
        self._all = bottom.axvline(1, color=style.SECOND, linewidth=1.4, linestyle=(0, (5, 2)))
        self._lines_told = bottom.text(0, 1.03, "", transform=bottom.transAxes, fontsize=style.BODY_PT, color=style.INK)
        upper = [self._band, at_gone, gone, self._curve, self._wanted, self._tenth, self._point, self._point_text]
        return [], [*upper, *self._bars, self._middle, self._all, *self._names, self._lines_told]

    def move(self, result: Certainty) -> None:
        ages = np.concatenate([YEARS, YEARS[::-1]])
        self._band.set_xy(np.column_stack([ages, np.concatenate([result.survival_low, result.survival_high[::-1]])]))
        self._curve.set_data(YEARS, result.survival)
        self._wanted.set_xdata([result.wanted_years] * 2)
        self._point.set_data([result.wanted_years], [result.chance])
        # The curve falls to the right: the words stand above it on the right, or below it on the left.
        late = result.wanted_years > YEARS[-1] / 2
        at = (-0.25, -0.12) if late else (0.25, 0.03)
        self._point_text.set_position((result.wanted_years + at[0], np.clip(result.chance + at[1], 0.02, 0.95)))
        self._point_text.set_horizontalalignment("right" if late else "left")
        told = chance_in_band(result.chance, result.chance_low, result.chance_high)
        self._point_text.set_text(f"{told} last {number(result.wanted_years)} years")
        self._tenth.set_data([result.p10_life_years], [0.9])
        for row, (bar, name) in enumerate(zip(self._bars, self._names, strict=True)):
            swing = result.tornado.swings[row] if row < len(result.tornado.swings) else None
            ends = style.up_to_longest([swing.answer_low, swing.answer_high] if swing else [])
            bar.set_data(ends, [row] * len(ends))
            name.set_text(INPUT_NAMES[swing.name] if swing else "")
        middle, with_all = result.tornado.at_medians, result.p10_life_years
        self._middle.set_xdata(style.up_to_longest([middle] * 2))
        self._all.set_xdata(style.up_to_longest([with_all] * 2))
        self._lines_told.set_text(
            f"One in ten gone: {life(middle)} years at middle values{chr(10) if self.is_narrow else ' '}(line),"
            f" {life(with_all)} with all that is not known (dashed)"
        )

    def alt_text(self) -> str:
        shown = "Survival of such cards over 15 years as a curve in a band, and a tornado of inputs."
        return f"{shown} {self.result.sentence}"
