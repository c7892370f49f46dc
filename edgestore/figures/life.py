"""Picture of how long the card lasts: life against capacity and against the recorded part of the time."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from edgestore.answers.life import CAPACITIES_GB, FRACTIONS, Lasting
from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.text import LONGEST_LIFE_YEARS, life, number, percent

BESIDE_YEARS = 1.15 * LONGEST_LIFE_YEARS
"""Words to a life beyond the axis stand just below its line."""


class LastsFigure(MovingFigure[Lasting]):
    """Life in years, a band from the lowest to the highest endurance, the chosen point marked in both pictures."""

    narrow_height_inch = 5.0

    def draw(self, figure: Figure, result: Lasting) -> tuple[Sequence[Artist], Sequence[Artist]]:
        left, right = self._axes = figure.subplots(*((2, 1) if self.is_narrow else (1, 2)), sharey=True)
        style.log_ticks(left, "x", style.number_labels([16, 32, 64, 128, 256, 512, 1024]))
        style.log_ticks(right, "x", {0.02: "2 %", 0.05: "5 %", 0.1: "10 %", 0.25: "25 %", 0.5: "50 %", 1: "100 %"})
        left.set_xlabel("Capacity, GB")
        right.set_xlabel("Part of the time that is recorded")
        left.set_ylabel("Life until worn out, years")
        left.set_title("A larger card lasts longer", loc="left", fontsize=style.TITLE_PT)
        right.set_title("Recording less lasts longer", loc="left", fontsize=style.TITLE_PT)
        ticks = {at: words for at, words in style.YEAR_TICKS.items() if not self.is_narrow or at != LONGEST_LIFE_YEARS}
        for axes, x in ((left, CAPACITIES_GB), (right, FRACTIONS)):
            style.log_ticks(axes, "y", ticks)
            style.plain(axes)
            axes.set_xlim(x[0], x[-1] * 1.06)
            axes.set_ylim(0.08, style.BEYOND_YEARS)
            axes.axhspan(LONGEST_LIFE_YEARS, style.BEYOND_YEARS, color=style.SHADE, linewidth=0)
        self._bands = [axes.add_patch(Polygon([(1, 1)], facecolor=style.BAND, edgecolor="none")) for axes in self._axes]
        self._lows = [axes.plot([], [], "--", color=style.ACCENT, linewidth=1.6)[0] for axes in self._axes]
        self._highs = [axes.plot([], [], "-", color=style.ACCENT, linewidth=1.6)[0] for axes in self._axes]
        self._wanted = [
            axes.axhline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.4) for axes in self._axes
        ]
        self._points = [axes.plot([], [], "o-", color=style.INK, linewidth=2.5, markersize=7)[0] for axes in self._axes]
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5}
        self._wanted_text = left.text(
            1000, 1, "", va="top", ha="right", fontsize=style.BODY_PT, color=style.SECOND, bbox=box
        )
        self._point_text = left.text(
            0.97,
            0.03,
            "",
            transform=left.transAxes,
            ha="right",
            fontsize=style.LEAD_PT,
            weight="bold",
            color=style.INK,
            bbox=box,
        )
        self._ends_text = [right.text(1, 1, "", va="center", fontsize=style.BODY_PT, color=style.INK) for _ in range(2)]
        return [], [
            *self._bands,
            *self._lows,
            *self._highs,
            *self._wanted,
            *self._points,
            self._wanted_text,
            self._point_text,
            *self._ends_text,
        ]

    def move(self, result: Lasting) -> None:
        curves = ((CAPACITIES_GB, result.life_by_capacity_years), (FRACTIONS, result.life_by_fraction_years))
        for side, (x, ends) in enumerate(curves):
            low, high = (np.minimum(lives, style.MORE_YEARS) for lives in ends)
            outline = np.column_stack([np.concatenate([x, x[::-1]]), np.concatenate([low, high[::-1]])])
            self._bands[side].set_xy(outline)
            self._lows[side].set_data(x, low)
            self._highs[side].set_data(x, high)
            self._wanted[side].set_ydata(style.up_to_longest([result.wanted_years] * 2))
        for line, at in zip(self._points, (result.capacity_gb, result.recorded_fraction), strict=True):
            line.set_data([at, at], style.up_to_longest(result.life_years))
        self._wanted_text.set_y(style.up_to_longest(result.wanted_years))
        self._wanted_text.set_text(f"wanted: {number(result.wanted_years)} years")
        self._point_text.set_text(f"{number(result.capacity_gb)} GB: {life(*result.life_years)} years")
        right_half = result.recorded_fraction > 0.15
        for text, years, words in zip(self._ends_text, result.life_years, result.endurance_words, strict=True):
            text.set_position(
                (result.recorded_fraction * (0.86 if right_half else 1.16), np.clip(years, 0.1, BESIDE_YEARS))
            )
            text.set_horizontalalignment("right" if right_half else "left")
            text.set_text(words)

    def alt_text(self) -> str:
        result = self.result
        return (
            "Life in years against capacity and against the recorded part of the time, as a band."
            f" {number(result.capacity_gb)} GB at {number(result.mean_mbit_s)} Mbit/s,"
            f" {percent(result.recorded_fraction)} recorded: {result.sentence}"
        )
