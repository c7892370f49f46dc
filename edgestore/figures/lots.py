"""Picture of what the trial of a lot proves, and of what the first year may bring in one batch or several."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.ticker import PercentFormatter

from edgestore.answers.label import BOUGHT, MOST_SHOWN, LabelCheck
from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.text import NO_BREAK, counted, percent

LEAST_CHANCE = 1e-6
"""Smaller chances are drawn as this, below the axis."""

LINES = {0: (style.INK, ":"), 1: (style.SECOND, "-"), 2: (style.SECOND, (0, (5, 2))), 4: (style.ACCENT, "-.")}
"""Colour and line of each way to buy, told apart in grey too."""


class LotFigure(MovingFigure[LabelCheck]):
    """The operating-characteristic curve of a trial; below it how many cards fail in the first year."""

    height_inch = 6.0
    narrow_height_inch = 6.0

    def draw(self, figure: Figure, result: LabelCheck) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes, below = figure.subplots(2, 1)
        style.plain(axes)
        axes.set_xlim(0, MOST_SHOWN)
        axes.set_ylim(0, 1.05)
        axes.xaxis.set_major_formatter(PercentFormatter(1, 0, f"{NO_BREAK}%"))
        axes.yaxis.set_major_formatter(PercentFormatter(1, 0, f"{NO_BREAK}%"))
        axes.set_xlabel("Bad cards in the lot")
        axes.set_ylabel("Chance that the lot is accepted")
        title = "More cards tried: a steeper curve" if self.is_narrow else "The more cards are tried, the steeper"
        axes.set_title(title, loc="left", fontsize=style.TITLE_PT)
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5}
        (self._curve,) = axes.plot([], [], color=style.ACCENT, linewidth=3, drawstyle="default")
        (self._good,) = axes.plot([], [], "o", color=style.ACCENT, markersize=9)
        (self._bad,) = axes.plot([], [], "s", color=style.SECOND, markersize=9)
        self._good_text = axes.text(0, 0, "", fontsize=style.BODY_PT, color=style.ACCENT, bbox=box, va="bottom")
        self._bad_text = axes.text(0, 0, "", fontsize=style.BODY_PT, color=style.SECOND, bbox=box, va="bottom")
        self._trial = axes.text(
            0.98, 0.8, "", transform=axes.transAxes, fontsize=style.BODY_PT, color=style.INK, ha="right", va="top"
        )
        style.log_ticks(below, "y", {0.001: "0.1 %", 0.01: "1 %", 0.1: "10 %", 1: "100 %"})
        style.plain(below)
        below.set_xlim(0, MOST_SHOWN)
        below.set_ylim(0.001, 1.3)
        below.xaxis.set_major_formatter(PercentFormatter(1, 0, f"{NO_BREAK}%"))
        below.set_xlabel("Cards that fail in the first year")
        below.set_ylabel("Chance of more")
        title = "Bought together, they fail together" if self.is_narrow else "Bought together, bad cards come together"
        below.set_title(title, loc="left", fontsize=style.TITLE_PT)
        self._bought = {
            batches: below.plot([], [], color=color, linestyle=line, linewidth=2.2, label=BOUGHT[batches])[0]
            for batches, (color, line) in LINES.items()
        }
        below.legend(loc="upper right", fontsize=style.BODY_PT, frameon=False)
        moved = [self._curve, self._good, self._bad, self._good_text, self._bad_text, self._trial]
        return [], [*moved, *self._bought.values()]

    def move(self, result: LabelCheck) -> None:
        self._curve.set_data(result.shares, result.chance)
        for mark, text, (share, chance), words in (
            (self._good, self._good_text, result.acceptable, "good production accepted"),
            (self._bad, self._bad_text, result.unacceptable, "bad lot accepted"),
        ):
            at = min(share, MOST_SHOWN)
            mark.set_data([at], [chance])
            text.set_position((at + 0.006, min(chance + 0.02, 0.98)))
            text.set_horizontalalignment("left")
            if at > MOST_SHOWN / 2:
                text.set_position((at - 0.006, min(chance + 0.02, 0.98)))
                text.set_horizontalalignment("right")
            text.set_text(f"{words}: {percent(chance, 0 if chance >= 0.1 else 1)}")
        for batches, line in self._bought.items():
            line.set_data(result.first_year_shares, np.maximum(result.first_year[batches], LEAST_CHANCE))
        self._trial.set_text(
            f"{counted(result.tried_cards, 'card')} of {result.lot_cards} tried,\n{result.may_fail} may fail"
        )

    def alt_text(self) -> str:
        result = self.result
        return (
            f"Chance that a lot of {counted(result.lot_cards, 'card')} is accepted against its share of bad cards, from"
            f" 0 to {percent(MOST_SHOWN)}, where {result.tried_cards} are tried and {result.may_fail} may fail:"
            f" {percent(result.unacceptable[1], 1)} with {percent(result.unacceptable[0], 1)}. Of lots from a"
            f" production with {percent(result.acceptable[0], 1)} bad {percent(result.acceptable[1])} are accepted."
            " Below it the chance that more than a share of the cards fails in the first year, for cards that are"
            " independent or were bought in one, two or four batches; the table has it for a tenth of them."
        )
