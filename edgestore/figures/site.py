"""Picture of a site plan: what the chosen card of each camera holds, against what the site asks."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.figure import Figure

from edgestore.figures import style
from edgestore.figures.label import Label
from edgestore.figures.moving import MovingFigure
from edgestore.plan.site_plan import STATES, SitePlan
from edgestore.text import chance, short, span

MOST_ROWS = 40

CARD = 30
"""Letters of the name of a card that is only the best of those in doubt."""

TOP = -0.9
"""Upper end of the axis: the row of the words about limits."""


class SiteFigure(MovingFigure[SitePlan]):
    """One row a camera: the days its card holds, as planned and as a range, and the card's name."""

    def frame(self, result: SitePlan) -> object:
        return tuple(result.plan["camera"][:MOST_ROWS]), len(result.plan)

    def draw(self, figure: Figure, result: SitePlan) -> tuple[Sequence[Artist], Sequence[Artist]]:
        shown = result.plan["camera"][:MOST_ROWS]
        figure.set_size_inches(self.width_inch, 1.4 + 0.3 * len(shown))
        axes = figure.add_subplot()
        style.log_ticks(axes, "x", {days: label for days, label in style.TIME_TICKS_DAYS.items() if days != 3})
        style.plain(axes)
        axes.set_xlim(0.2, 4000)
        axes.set_ylim(len(shown) - 0.4, TOP)
        axes.set_yticks(range(len(shown)), [name if len(name) < 28 else f"{name[:27]}…" for name in shown])
        axes.set_xlabel("Footage held: planned (dot), and from the highest mean to the lowest (line)")
        more = "" if len(shown) == len(result.plan) else f" (first {len(shown)} of {len(result.plan)} cameras)"
        axes.set_title(f"What the chosen card of each camera holds{more}", loc="left", fontsize=11)
        rows = range(len(shown))
        self._ranges = [axes.plot([], [], "-", color=style.BLUE, linewidth=2)[0] for _ in rows]
        (self._planned,) = axes.plot([], [], "o", color=style.BLUE, markersize=7)
        (self._none,) = axes.plot([], [], "x", color=style.VERMILION, markersize=9, markeredgewidth=2.5)
        self._cards = [Label(axes, 9, style.INK) for _ in rows]
        self._limits = [
            axes.plot([], [], color=style.VERMILION, linestyle=dash, linewidth=1.4)[0] for dash in ((0, (5, 2)), ":")
        ]
        self._limit_texts = [axes.text(1, -0.62, "", fontsize=9, color=style.VERMILION) for _ in range(2)]
        self._limit_texts[0].set_horizontalalignment("right")
        return [*self._ranges, self._planned, self._none, *self._cards], [*self._limits, *self._limit_texts]

    def seldom(self, result: SitePlan) -> object:
        plan = result.plan[:MOST_ROWS]
        limits = ["wanted_retention_days", "wanted_retention_days_max"]
        return plan[
            [
                "card",
                "card_alone",
                "state",
                "best_card",
                "best_chance",
                "retention_days_low",
                "retention_days",
                "retention_days_high",
                *limits,
            ]
        ].to_csv()

    def move(self, result: SitePlan) -> None:
        plan = result.plan[:MOST_ROWS]
        low, planned, high = (plan[f"retention_days{end}"].to_numpy() for end in ("_low", "", "_high"))
        rows = np.arange(len(plan))
        served = plan["meets"].to_numpy()
        for row, line in enumerate(self._ranges):
            line.set_data([low[row], high[row]], [row, row])
            if served[row]:
                self._cards[row].place(plan["card"].iloc[row], high[row] * 1.15, row)
            else:
                self._cards[row].place(_why_none(plan.iloc[row]), 0.29, row)
        self._planned.set_data(planned[served], rows[served])
        self._none.set_data(np.full((~served).sum(), 0.25), rows[~served])
        for line, text, column, words in (
            (self._limits[0], self._limit_texts[0], "wanted_retention_days", "wanted: {} "),
            (self._limits[1], self._limit_texts[1], "wanted_retention_days_max", " at most {}"),
        ):
            days = plan[column].to_numpy()
            line.set_data(
                np.r_[days[0], np.repeat(days, 2)], np.r_[TOP, np.repeat(rows, 2) + np.tile([-0.5, 0.5], len(rows))]
            )
            least, highest = plan[column].min(), plan[column].max()
            text.set_x(days[0] if days[0] == days[0] else highest)
            text.set_text("" if np.isnan(least) else words.format(f"{span(least, highest)} days"))

    def alt_text(self) -> str:
        plan = self.result.plan
        told = ", ".join(f"{count} {state}" for state in STATES if (count := int((plan["state"] == state).sum())))
        return f"Days held by the chosen card of each of {len(plan)} cameras: {told}."


def _why_none(row: "pd.Series[Any]") -> str:
    """Say in a few words why a camera has no card."""
    if row["card_alone"] != "":
        return "not by the kinds chosen"
    if row["state"] == "doubtful":
        return f"doubtful: {chance(row['best_chance'])} with {short(row['best_card'], CARD)} at best"
    return "no card of the list serves"
