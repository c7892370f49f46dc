"""Picture of the trade-off: kinds of card to keep in stock against what they cost, and how many cameras they assure."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.plan.choice import Front

MEASURES = {"cost": "Cost", "capacity_gb": "Capacity of all cards"}
MOST_LABELS = 12
"""Of more points only every second, third and so on has a label."""


class KindsFigure(MovingFigure[Front]):
    """A point for each number of kinds that is worth having, with the cameras that it assures written beside."""

    height_inch = 3.6

    def frame(self, result: Front) -> object:
        return result.table.to_csv(), result.unit, result.cameras

    def draw(self, figure: Figure, result: Front) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes = figure.add_subplot()
        style.plain(axes)
        table = result.table
        kinds, amount, assured = (table[name].to_numpy() for name in ("kinds", result.measure, "assured"))
        axes.set_xlabel("Kinds of card; at each point the cameras assured, hollow where more kinds would assure more")
        axes.set_ylabel(f"{MEASURES[result.measure]}, {result.unit}")
        axes.set_title(self._message(result), loc="left", fontsize=style.TITLE_PT)
        if table.empty:
            axes.set_xticks([])
            axes.set_yticks([])
            return [], []
        whole = assured == assured[-1]
        axes.plot(kinds[whole], amount[whole], "-", color=style.ACCENT, linewidth=1.4)
        axes.plot(kinds[whole], amount[whole], "o", color=style.ACCENT, markersize=8)
        axes.plot(kinds[~whole], amount[~whole], "o", color=style.SECOND, markersize=8, markerfacecolor="white")
        axes.margins(x=0.12)
        axes.set_ylim(0, 1.15 * amount.max())
        axes.xaxis.set_major_locator(MaxNLocator(integer=True, min_n_ticks=1))
        for at in np.arange(0, len(table), 1 + (len(table) - 1) // MOST_LABELS):
            words = f"{assured[at]} of {result.cameras}" if at == 0 else f"{assured[at]}"
            axes.annotate(
                words, (kinds[at], amount[at]), (0, 8), textcoords="offset points", ha="center", fontsize=style.BODY_PT
            )
        return [], []

    def move(self, result: Front) -> None:
        """Nothing moves: another front is another frame."""

    def alt_text(self) -> str:
        return f"Kinds of card against {MEASURES[self.result.measure].lower()}. {self.result.sentence}"

    @staticmethod
    def _message(result: Front) -> str:
        if result.table.empty:
            return "No camera is assured with any card of the list"
        most = result.table["assured"].iloc[-1]
        few = result.table.loc[result.table["assured"] == most, "kinds"].iloc[0]
        many = result.table["kinds"].iloc[-1]
        kinds = "1 kind of card assures" if few == 1 else f"{few} kinds of card assure"
        return f"{kinds} the {most} cameras that can be assured; more than {many} save nothing"
