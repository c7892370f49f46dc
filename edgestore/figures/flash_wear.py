"""Picture of where the writes go: the wear of each unit of a simulated card, its spread, and what the writes cost."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure

from edgestore.answers.flash_wear import PASSES, SPARE_UNITS, USER_UNITS, FlashUse
from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.text import number

COLUMNS = 8
ROWS = (USER_UNITS + SPARE_UNITS) // COLUMNS
MOST = 20_000
"""Upper end of the scale of erases: one scale for all cards, so that two settings can be compared."""

LIGHTEST = 0.2
"""Below one erase, so that a unit never erased is pale and not white."""

ERASES: dict[float, str] = {1: "0 or 1", 10: "10", 100: "100", 1000: "1 000", 10_000: "10 000"}


class FlashFigure(MovingFigure[FlashUse]):
    """Squares are units, the darker the more often erased; beside them the same units in order, and the cost."""

    height_inch = 5.0
    narrow_height_inch = 6.6

    def draw(self, figure: Figure, result: FlashUse) -> tuple[Sequence[Artist], Sequence[Artist]]:
        if self.is_narrow:
            squares, order, cost = figure.subplots(3, 1, height_ratios=(1.6, 1, 1))
        else:
            grid = figure.add_gridspec(2, 2, width_ratios=(1, 1))
            squares, order, cost = (figure.add_subplot(grid[at]) for at in ((slice(None), 0), (0, 1), (1, 1)))
        self._image = squares.imshow(
            np.ones((ROWS, COLUMNS)),
            cmap=style.SHADES,
            norm=LogNorm(LIGHTEST, MOST),
            aspect="auto",
            interpolation="nearest",
        )
        squares.set_xticks([])
        squares.set_yticks([])
        edges = [*(squares.axvline(x - 0.5, color="white", linewidth=3) for x in range(COLUMNS + 1))]
        edges += [squares.axhline(y - 0.5, color="white", linewidth=3) for y in range(ROWS + 1)]
        squares.set_title("How often each unit of the card was erased", loc="left", fontsize=style.TITLE_PT)
        for side in squares.spines.values():
            side.set_visible(False)
        bar = figure.colorbar(self._image, ax=squares, orientation="horizontal", fraction=0.06, pad=0.03)
        bar.set_ticks(list(ERASES), labels=list(ERASES.values()))
        bar.ax.minorticks_off()
        bar.ax.set_xlim(1, MOST)
        bar.set_label("Erases of a unit")

        style.log_ticks(order, "y", ERASES)
        style.plain(order)
        order.set_xlim(-2, USER_UNITS + SPARE_UNITS)
        order.set_ylim(0.8, MOST)
        order.set_xticks([])
        order.set_xlabel("Units, the most worn first")
        order.set_title("Erases of each unit", loc="left", fontsize=style.TITLE_PT)
        (self._order,) = order.plot([], [], color=style.ACCENT, linewidth=2.5)
        self._mean = order.axhline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.4)
        self._mean_text = order.text(100, 1, "", ha="right", va="bottom", fontsize=style.BODY_PT, color=style.SECOND)
        self._most_text = order.text(3, 1, "", va="bottom", fontsize=style.BODY_PT, color=style.ACCENT)

        style.log_ticks(cost, "y", style.number_labels([1, 2, 5, 10, 20]))
        style.plain(cost)
        cost.set_xlim(0, PASSES * 1.04)
        cost.set_ylim(0.9, 40)
        cost.set_xlabel("Times that the camera has filled the card")
        cost.set_title("Flash pages written per page of the camera", loc="left", fontsize=style.TITLE_PT)
        (self._cost,) = cost.plot([], [], color=style.ACCENT, linewidth=1.6)
        (self._now,) = cost.plot([], [], "o", color=style.INK, markersize=7)
        self._now_text = cost.text(
            1, 1, "", ha="right", va="bottom", fontsize=style.LEAD_PT, weight="bold", color=style.INK
        )
        moving = [self._order, self._mean, self._mean_text, self._most_text]
        return [], [self._image, *edges, *moving, self._cost, self._now, self._now_text]

    def move(self, result: FlashUse) -> None:
        erases = result.erases
        self._image.set_data(np.maximum(erases, 1).reshape(ROWS, COLUMNS))
        ranked = np.maximum(np.sort(erases)[::-1], 0.5)
        self._order.set_data(np.arange(len(ranked)), ranked)
        mean = max(float(erases.mean()), 0.5)
        self._mean.set_ydata([mean] * 2)
        self._mean_text.set_y(mean * 1.1)
        self._mean_text.set_text(f"mean {number(mean)}")
        self._most_text.set_y(ranked[0] * 1.1)
        self._most_text.set_text(f"most {number(float(erases.max()))}")
        self._cost.set_data(result.passes_seen, result.amplification_seen)
        now = float(np.interp(result.passes, result.passes_seen, result.amplification_seen))
        self._now.set_data([result.passes], [now])
        self._now_text.set_position((max(result.passes, 5), now * 1.2))
        self._now_text.set_text(number(now))

    def alt_text(self) -> str:
        result = self.result
        return (
            f"Squares for the units of a simulated card after the camera filled it {number(result.passes)} times;"
            f" the most worn was erased {number(float(result.erases.max()))} times, the mean unit"
            f" {number(float(result.erases.mean()))} times. {result.sentence}"
        )
