"""Picture of what assurance costs: the whole site's cost against the chance asked, with the cameras assured."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure

from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.inputs.settings import MOST_ASSURANCE
from edgestore.plan.assurance_curve import SiteChoice
from edgestore.text import chance, chance_in_band
from edgestore.units import PERCENT_PER_ONE


class AssuranceFigure(MovingFigure[SiteChoice]):
    """A point for each assurance, filled where as many cameras are assured as can be; the one chosen is marked."""

    width_inch = 3.4
    height_inch = 3.6

    def frame(self, result: SiteChoice) -> object:
        return result.chances, result.kinds

    def draw(self, figure: Figure, result: SiteChoice) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes = figure.add_subplot()
        style.plain(axes)
        curve = result.chances.curve(result.kinds)
        self._told = f"{'Cost' if curve.unit else 'Capacity'} of the site against the assurance asked. {curve.sentence}"
        if result.chances.highest < MOST_ASSURANCE:
            highest = chance_in_band(*result.chances.highest_ends)
            self._told += f" Random failures and weak cards alone leave {highest} at most: no card can have more."
        percent, amount, count = (curve.table.iloc[:, at].to_numpy(float) for at in (0, 2, 1))
        percent = PERCENT_PER_ONE * percent
        axes.set_xlabel("Assurance asked, %", fontsize=style.BODY_PT)
        axes.set_ylabel(f"Cost, {curve.unit}" if curve.unit else "Capacity of all cards, GB", fontsize=style.BODY_PT)
        axes.tick_params(labelsize=style.BODY_PT)
        axes.set_xlim(48, 101)
        axes.set_ylim(0, max(1.3 * np.nan_to_num(amount).max(), 1.0))
        some, most = count > 0, (count == count.max()) & (count > 0)
        if not some.all():  # no cost is told where no camera is assured
            axes.axvspan(percent[~some].min() - 0.5, axes.get_xlim()[1], color=style.SHADE, linewidth=0)
        axes.plot(percent[most], amount[most], "-", color=style.ACCENT, linewidth=1.4)
        axes.plot(percent[most], amount[most], "o", color=style.ACCENT, markersize=5)
        fewer = some & ~most
        axes.plot(percent[fewer], amount[fewer], "o", color=style.ACCENT, markersize=5, markerfacecolor="white")
        axes.set_title(
            f"What more assurance costs. Filled: {count.max():.0f} of"
            f"\n{curve.cameras} assured; hollow: fewer; grey: none",
            loc="left",
            fontsize=style.BODY_PT,
        )
        self._line = axes.axvline(0, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.2)
        (self._point,) = axes.plot([], [], "o", markersize=11, markerfacecolor="none", markeredgewidth=2.4)
        self._point.set_color(style.SECOND)
        self._words = axes.text(0, axes.get_ylim()[1], "", fontsize=style.BODY_PT, va="top", color=style.INK)
        return [], [self._line, self._point, self._words]

    def move(self, result: SiteChoice) -> None:
        at = PERCENT_PER_ONE * result.assurance
        self._line.set_xdata([at, at])
        assured = int(np.sum(result.chosen >= 0))
        self._point.set_data([at] if assured else [], [result.amount] if assured else [])
        is_late = bool(at > PERCENT_PER_ONE * 0.7)
        self._words.set_x(at - 1 if is_late else at + 1)
        self._words.set_horizontalalignment("right" if is_late else "left")
        self._words.set_text(f"asked {chance(result.assurance)}: {assured} assured")

    def alt_text(self) -> str:
        return self._told
