"""Picture of when to change the cards: cost a year against change age, and spares against confidence."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from edgestore.answers.change import AGES_YEARS, SUREST, Upkeep
from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.text import counted, life, whole
from edgestore.units import PERCENT_PER_ONE

LEAST_SURE = 0.5
"""Where the axis of confidence begins."""

LEFT_ROOM_YEARS = 2.4
"""From this age on there is room for words to its left."""

LOWER_LABEL_YEARS = 8
"""The label of the band's lower edge stands right of this age, below all of the edge there."""

ROOM = 1.6
"""How far the axes reach beyond the highest figure that must be seen."""


class UpkeepFigure(MovingFigure[Upkeep]):
    """Cost a year with its band and the cheapest age marked; below it how many spares make how sure."""

    height_inch = 6.2
    narrow_height_inch = 5.2

    def frame(self, result: Upkeep) -> object:
        return _tops(result)

    def draw(self, figure: Figure, result: Upkeep) -> tuple[Sequence[Artist], Sequence[Artist]]:
        top, bottom = figure.subplots(2, 1, height_ratios=(1.6, 1))
        highest_cost, most_spares = (
            _round_top(ROOM * result.failing_cost_per_year[0]),
            _round_top(_spares_at(result, SUREST).max()),
        )
        style.log_ticks(top, "x", style.number_labels([0.3, 0.5, 1, 2, 3, 5, 10, 20, 30]))
        style.plain(top)
        top.set_xlim(AGES_YEARS[0], AGES_YEARS[-1])
        top.set_ylim(0, highest_cost)
        top.set_xlabel("Age at which a card that still works is changed, years")
        top.set_ylabel("Cost per camera and year")
        top.set_title(
            "Too early wastes visits, too late loses footage; in between the curve is flat",
            loc="left",
            fontsize=style.TITLE_PT,
        )
        self._band = Polygon([(1, 1)], facecolor=style.BAND, edgecolor="none")
        top.add_patch(self._band)
        (self._curve,) = top.plot([], [], color=style.ACCENT, linewidth=2.5)
        self._failing = top.axhline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.4)
        (self._ends,) = top.plot([], [], "s", color=style.ACCENT, markersize=7, markerfacecolor="white")
        (self._best,) = top.plot([], [], "o", color=style.INK, markersize=9)
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5}
        self._best_text = top.text(1, 1, "", fontsize=style.LEAD_PT, weight="bold", color=style.INK, bbox=box)
        self._failing_text = top.text(
            AGES_YEARS[0] * 1.05, 1, "", fontsize=style.BODY_PT, color=style.SECOND, va="bottom"
        )
        self._lives = [
            top.text(AGES_YEARS[-1] * 0.98, 1, "", fontsize=style.BODY_PT, color=style.ACCENT, ha="right", va=side)
            for side in ("bottom", "top")
        ]
        self._room = highest_cost / 40

        style.plain(bottom)
        bottom.set_xlim(LEAST_SURE, 1)
        bottom.set_xticks([0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99], ["50 %", "60 %", "70 %", "80 %", "90 %", "95 %", ""])
        bottom.set_ylim(-most_spares / 25, most_spares)
        bottom.yaxis.get_major_locator().set_params(integer=True)
        bottom.set_xlabel("Confidence that the spares last until more arrive")
        bottom.set_ylabel("Spares")
        bottom.set_title(
            "One stock for all: more confidence takes more spares",
            loc="left",
            fontsize=style.TITLE_PT,
        )
        self._likely = Polygon([(1, 1)], facecolor=style.BAND, edgecolor="none")
        bottom.add_patch(self._likely)
        (self._steps,) = bottom.plot([], [], color=style.ACCENT, linewidth=2.5)
        self._wanted = bottom.axvline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.4)
        (self._kept,) = bottom.plot([LEAST_SURE], [0], "o", color=style.INK, markersize=9, clip_on=False)
        self._kept_text = bottom.text(
            1, 1, "", fontsize=style.LEAD_PT, weight="bold", color=style.INK, ha="right", va="bottom"
        )
        self._step_up = most_spares / 20
        upper = [self._band, self._curve, self._failing, self._failing_text, self._best_text, *self._lives]
        return [], [
            *upper,
            self._ends,
            self._best,
            self._likely,
            self._steps,
            self._wanted,
            self._kept,
            self._kept_text,
        ]

    def move(self, result: Upkeep) -> None:
        fast, middle, slow = result.cost_curves_per_year
        self._band.set_xy(_between(AGES_YEARS, fast, slow))
        self._curve.set_data(AGES_YEARS, middle)
        failing = result.failing_cost_per_year[1]
        self._failing.set_ydata([failing] * 2)
        self._failing_text.set_position((AGES_YEARS[0] * 1.05, failing + self._room / 4))
        self._failing_text.set_text(f"left until it fails: {whole(failing)}")
        years, cost = result.best_years, result.best_cost_per_year
        self._ends.set_data(years[[0, 2]], cost[[0, 2]])
        self._best.set_data(years[1:2], cost[1:2])
        pays = bool(np.isfinite(years[1]))
        # Left of the cheapest age the curve climbs: the room below it is free there, unless the axis ends.
        late = pays and years[1] > LEFT_ROOM_YEARS
        x = years[1] * (0.93 if late else 1.08) if pays else AGES_YEARS[0] * 1.05
        self._best_text.set_position((x, max(cost[1] - 4 * self._room, self._room / 2)))
        self._best_text.set_horizontalalignment("right" if late else "left")
        self._best_text.set_text(
            f"cheapest: after {life(years[1])} years, {whole(cost[1])}" if pays else "a planned change never pays"
        )
        ends = (fast[-1] + self._room / 2, slow[AGES_YEARS > LOWER_LABEL_YEARS].min() - 1.5 * self._room)
        for text, years, y in zip(self._lives, result.wear_life_years[[0, 2]], ends, strict=True):
            text.set_position((AGES_YEARS[-1] * 0.98, y))
            text.set_text(f"wear life {life(years)} years")

        sure = np.linspace(LEAST_SURE, SUREST, 400)
        many, some, few = _spares_at(result, sure)
        self._likely.set_xy(_between(sure, many, few))
        self._steps.set_data(sure, some)
        at = result.confidence
        self._wanted.set_xdata([at] * 2)
        self._kept.set_data([at], [result.spares[1]])
        self._kept_text.set_position((max(at - 0.012, LEAST_SURE + 0.2), result.spares[1] + self._step_up))
        self._kept_text.set_text(f"{at * PERCENT_PER_ONE:.4g} %: {counted(result.spares[1], 'spare')}")

    def alt_text(self) -> str:
        shown = "Cost a year against change age as a curve in a band, and spares against confidence as steps."
        return f"{shown} {self.result.sentence}"


def _between(x: np.ndarray, one: np.ndarray, other: np.ndarray) -> np.ndarray:
    return np.column_stack([np.concatenate([x, x[::-1]]), np.concatenate([one, other[::-1]])])


def _spares_at(result: Upkeep, confidence: np.ndarray | float) -> np.ndarray:
    """Least spares that are enough with a confidence, for each of the three wear lives."""
    return np.array([np.searchsorted(enough, confidence) for enough in result.enough])


def _tops(result: Upkeep) -> tuple[float, float]:
    """Ends of the axes of cost and of spares."""
    return _round_top(ROOM * result.failing_cost_per_year[0]), _round_top(_spares_at(result, SUREST).max())


def _round_top(value: float) -> float:
    """Least of 1, 2, 3, 5 and their tens that is above a value, so that the axes seldom change."""
    tens = 10.0 ** np.floor(np.log10(max(value, 1.0)))
    return float(next(top for top in tens * np.array([1, 2, 3, 5, 10, 20]) if top > value))
