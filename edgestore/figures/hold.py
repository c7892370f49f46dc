"""Picture of how long the card holds: footage against mean rate, one line a capacity, the chosen point marked."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from edgestore.answers.hold import CAPACITIES_GB, RATES_MBIT_S, Holding
from edgestore.figures import style
from edgestore.figures.label import Label
from edgestore.figures.moving import MovingFigure
from edgestore.text import hold_span, number
from edgestore.units import H_PER_DAY

DASHES = ("-", "--", "-.", ":", (0, (6, 1)), (0, (3, 1, 1, 1, 1, 1)), (0, (1, 1)))

LEFT_MBIT_S = float(RATES_MBIT_S[0])


class HoldsFigure(MovingFigure[Holding]):
    """Days held against mean rate; the shaded rates lie between the lowest mean measured and the cap."""

    def draw(self, figure: Figure, result: Holding) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes = figure.add_subplot()
        style.log_ticks(axes, "x", style.number_labels([0.1, 0.25, 0.5, 1, 2, 4, 8, 16, 32]))
        style.log_ticks(axes, "y", style.TIME_TICKS_DAYS)
        style.plain(axes)
        axes.set_xlim(LEFT_MBIT_S, RATES_MBIT_S[-1] * (4 if self.is_narrow else 2.3))
        axes.set_ylim(0.03, 3000)
        axes.set_xlabel("Mean rate while recording, Mbit/s")
        axes.set_ylabel("Footage held")
        axes.set_title(
            "Twice the rate, half the time; twice the card, twice the time", loc="left", fontsize=style.TITLE_PT
        )
        self._band = Rectangle((1, 0.001), 1, 1e5, facecolor=style.ACCENT, alpha=0.18, edgecolor="none")
        axes.add_patch(self._band)
        self._curves = [
            axes.plot(RATES_MBIT_S, days, linestyle=dash, color=style.MID, linewidth=1.2)[0]
            for days, dash in zip(result.curves_days, DASHES, strict=True)
        ]
        self._sizes = [Label(axes, self.pt(style.BODY_PT), style.INK) for _ in CAPACITIES_GB]
        self._wanted = axes.axhline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.4)
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5}
        self._wanted_text = axes.text(
            LEFT_MBIT_S * 1.08, 1, "", va="bottom", fontsize=style.BODY_PT, color=style.SECOND, bbox=box
        )
        (self._chosen,) = axes.plot([], [], color=style.ACCENT, linewidth=3, solid_capstyle="round")
        (self._ends,) = axes.plot([], [], "s", color=style.ACCENT, markersize=6, markerfacecolor="white")
        (self._mean,) = axes.plot([], [], "o", color=style.ACCENT, markersize=9)
        self._cap_text = axes.text(1, 1, "", fontsize=style.BODY_PT, color=style.ACCENT, bbox=box)
        self._lowest_text = axes.text(1, 1, "", fontsize=style.BODY_PT, color=style.ACCENT, bbox=box)
        self._mean_text = axes.text(1, 1, "", fontsize=style.LEAD_PT, color=style.ACCENT, weight="bold", bbox=box)
        under = [self._band, self._wanted, self._wanted_text]
        return [*self._curves, *self._sizes], [
            *under,
            self._chosen,
            self._ends,
            self._mean,
            self._cap_text,
            self._lowest_text,
            self._mean_text,
        ]

    def seldom(self, result: Holding) -> object:
        return result.curves_days.tobytes()

    def move(self, result: Holding) -> None:
        cap, mean, lowest = result.rates_mbit_s
        days = result.retention_days
        self._band.set_x(min(lowest, cap))
        self._band.set_width(max(cap - lowest, 0))
        for curve, label, size_gb, held in zip(
            self._curves, self._sizes, CAPACITIES_GB, result.curves_days, strict=True
        ):
            curve.set_ydata(held)
            label.place(f"{size_gb:g} GB", 34, held[-1])
        self._wanted.set_ydata([result.wanted_days] * 2)
        self._wanted_text.set_y(result.wanted_days)
        self._wanted_text.set_text(f"wanted: {number(result.wanted_days)} days")
        self._chosen.set_data([cap, lowest], [days[0], days[2]])
        self._ends.set_data([cap, lowest], [days[0], days[2]])
        self._mean.set_data([mean], [days[1]])
        at_cap, at_lowest = (hold_span(d * H_PER_DAY, d * H_PER_DAY) for d in (days[0], days[2]))
        # The curve falls to the right: labels stand above it on their right, or below it on their left.
        below = (cap, days[0] * 0.35) if self.is_narrow else (min(cap * 1.06, 15), days[0] * 0.42)
        self._cap_text.set_position(below)
        self._cap_text.set_horizontalalignment("right" if self.is_narrow else "left")
        self._cap_text.set_text(f"at the cap: {at_cap}")
        self._lowest_text.set_position((np.clip(lowest, LEFT_MBIT_S * 1.1, 10), days[2] * 1.5))
        self._lowest_text.set_text(f"lowest mean: {at_lowest}")
        right = mean > (0.8 if self.is_narrow else 8)
        self._mean_text.set_position((mean * (0.9 if right else 1.12), days[1] * (0.6 if right else 1.25)))
        self._mean_text.set_text(f"{number(mean)} Mbit/s: {hold_span(days[1] * H_PER_DAY, days[1] * H_PER_DAY)}")
        self._mean_text.set_horizontalalignment("right" if right else "left")

    def alt_text(self) -> str:
        result = self.result
        return (
            f"Footage held against mean rate, one line a capacity from 16 to 1024 GB. {number(result.capacity_gb)} GB"
            f" under a cap of {number(result.cap_mbit_s)} Mbit/s: {result.sentence}"
        )
