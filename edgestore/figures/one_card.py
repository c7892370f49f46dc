"""Pictures of one card in one camera: the chance of each part of the promise, and the cost by age of change."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.plan.one_card import PART_NAMES, OneCard, WhenToChange
from edgestore.text import chance_in_band, change_age
from edgestore.units import PERCENT_PER_ONE

SHOWN_YEARS = 12.0
"""Ages shown at most: beyond ten years wear no longer decides."""

BESIDE_YEARS = 0.15
"""How far words stand from the line that they name."""

TOLD_WIDTH = 0.42
"""Share of the axis of ages that the words at the point take."""

NARROW_TOLD_WIDTH = 0.66
"""The same in a narrow picture."""

LONG = 40
"""A name with more letters stands on a line of its own in a narrow picture."""

ROOM = 1.4
"""How far the axis of cost reaches beyond the highest cost from the life asked on."""


class ChancesFigure(MovingFigure[OneCard]):
    """A bar for each part and one for all together, with the assurance as a line; below, the chance to work by age."""

    height_inch = 5.6
    narrow_height_inch = 5.0

    def draw(self, figure: Figure, result: OneCard) -> tuple[Sequence[Artist], Sequence[Artist]]:
        top, bottom = figure.subplots(2, 1, height_ratios=(1.2, 1))
        names = [*PART_NAMES.values(), "all together"]
        style.plain(top)
        top.set_xlim(0, 100)
        top.set_ylim(len(names) - 0.4, -0.6)
        top.set_yticks([])
        top.set_xlabel("Chance, %")
        top.set_title("Each part of the promise, and all together (dark)", loc="left", fontsize=style.TITLE_PT)
        colours = [style.BAND] * len(PART_NAMES) + [style.ACCENT]
        self._bars = [top.plot([], [], "-", color=colour, linewidth=17, solid_capstyle="butt")[0] for colour in colours]
        inks = [style.INK] * len(PART_NAMES) + ["white"]
        self._words = [
            top.text(1, row, "", va="center", fontsize=style.BODY_PT, color=ink) for row, ink in enumerate(inks)
        ]
        self._asked = top.axvline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.6)
        style.plain(bottom)
        bottom.set_xlim(0, SHOWN_YEARS)
        bottom.set_ylim(0, 104)
        bottom.set_xlabel("Years in the camera")
        bottom.set_ylabel("Chance that it works, %")
        bottom.set_title("Band: what is assumed of an untested card", loc="left", fontsize=style.BODY_PT)
        self._band = Polygon([(0, 0)], facecolor=style.BAND, edgecolor="none")
        bottom.add_patch(self._band)
        (self._curve,) = bottom.plot([], [], color=style.ACCENT, linewidth=2.2)
        self._level = bottom.axhline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.4)
        self._life = bottom.axvline(1, color=style.INK, linewidth=1, linestyle=":")
        (self._latest,) = bottom.plot([], [], "o", color=style.INK, markersize=8)
        self._told = bottom.text(0.2, 8, "", fontsize=style.BODY_PT, color=style.INK)
        moving = [*self._bars, self._asked, *self._words]
        return [], [*moving, self._band, self._curve, self._level, self._life, self._latest, self._told]

    def move(self, result: OneCard) -> None:
        names = [*PART_NAMES.values(), "all together"]
        chances = [*result.parts.values(), result.kept]
        texts = [*map(result.part_told, PART_NAMES), chance_in_band(*result.kept_ends)]
        for row, (name, value, text) in enumerate(zip(names, chances, texts, strict=True)):
            self._bars[row].set_data([0, PERCENT_PER_ONE * value], [row, row])
            is_long = self.is_narrow and len(name) > LONG
            self._words[row].set_text(f"{name}:{chr(10) if is_long else ' '}{text}")
            is_short = value < 0.6 and row == len(PART_NAMES)
            self._words[row].set_x(PERCENT_PER_ONE * value + 1 if is_short else 1)
            self._words[row].set_color("white" if row == len(PART_NAMES) and not is_short else style.INK)
        asked = PERCENT_PER_ONE * result.asked.assurance
        self._asked.set_xdata([asked, asked])
        self._level.set_ydata([asked, asked])
        ages = np.r_[0, result.ages_years]
        ends = np.r_[1, result.works_low, result.works_high[::-1], 1]
        self._band.set_xy(np.column_stack([np.r_[ages, ages[::-1]], PERCENT_PER_ONE * ends]))
        self._curve.set_data(ages, PERCENT_PER_ONE * np.r_[1, result.works])
        self._life.set_xdata([result.asked.life_years] * 2)
        latest = result.latest_years
        self._latest.set_data([latest] if latest > 0 else [], [asked] if latest > 0 else [])
        told = f"assured up to {change_age(latest)} years" if latest > 0 else "assured at no age"
        self._told.set_text(f"{result.asked.life_years:g} years asked;{chr(10) if self.is_narrow else ' '}{told}")
        late = result.asked.life_years > SHOWN_YEARS / 2
        self._told.set_x(result.asked.life_years + (-BESIDE_YEARS if late else BESIDE_YEARS))
        self._told.set_horizontalalignment("right" if late else "left")

    def alt_text(self) -> str:
        parts = "; ".join(f"{PART_NAMES[name]}: {self.result.part_told(name)}" for name in PART_NAMES)
        return f"Chance of each part of the promise as bars: {parts}. {self.result.sentence}"


class ChangeAgeFigure(MovingFigure[WhenToChange]):
    """Cost over the horizon against the age of change; the cheapest allowed and the latest assured marked."""

    def frame(self, result: WhenToChange) -> object:
        return _top(result), result.by_age.horizon_years

    def draw(self, figure: Figure, result: WhenToChange) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes = figure.add_subplot()
        style.plain(axes)
        axes.set_xlim(0, result.by_age.horizon_years)
        self._top = _top(result)
        self._told_width = NARROW_TOLD_WIDTH if self.is_narrow else TOLD_WIDTH
        axes.set_ylim(0, self._top)
        axes.set_xlabel("Age at which a card that still works is changed, years")
        axes.set_ylabel(f"Cost of the camera in {result.by_age.horizon_years:g} years")
        axes.set_title(
            "What it costs by age of change\nGrey: sooner than asked, or not assured",
            loc="left",
            fontsize=style.BODY_PT,
        )
        self._spans = [axes.axvspan(0, 1, color=style.SHADE, linewidth=0) for _ in range(2)]
        (self._curve,) = axes.plot([], [], "-", color=style.ACCENT, linewidth=2.2)
        self._latest = axes.axvline(1, color=style.SECOND, linestyle=(0, (5, 2)), linewidth=1.6)
        (self._best,) = axes.plot([], [], "o", color=style.INK, markersize=9)
        box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5}
        self._told = axes.text(1, 1, "", fontsize=style.BODY_PT, weight="bold", color=style.INK, bbox=box)
        self._told_latest = axes.text(1, 0.02 * self._top, "", fontsize=style.BODY_PT, color=style.SECOND)
        return [], [*self._spans, self._curve, self._latest, self._best, self._told, self._told_latest]

    def move(self, result: WhenToChange) -> None:
        by_age, horizon = result.by_age, result.by_age.horizon_years
        ages, costs = np.minimum(by_age.ages_years, horizon), by_age.cost[0, 0]
        self._curve.set_data(ages, costs)
        is_assured = not np.isnan(result.change_years)
        latest = min(result.latest_years, horizon) if is_assured else 0.0
        for span, (low, high) in zip(self._spans, ((0, result.asked.life_years), (latest, horizon)), strict=True):
            span.set_x(low)
            span.set_width(max(min(high, horizon) - low, 0))
        self._latest.set_xdata([latest, latest])
        is_late = latest > horizon / 2
        self._told_latest.set_x(latest + (-0.01 if is_late else 0.01) * horizon)
        self._told_latest.set_horizontalalignment("right" if is_late else "left")
        self._told_latest.set_text(f"latest assured: {change_age(result.latest_years)} years")
        for artist in (self._latest, self._told_latest):
            artist.set_visible(is_assured)
        at = min(result.change_years, horizon) if is_assured else 0.0
        self._best.set_data([at] if is_assured else [], [result.cost] if is_assured else [])
        # Above the curve, from the point to the right as far as there is room.
        left = min(at + 0.01 * horizon, (1 - self._told_width) * horizon)
        under = (
            np.interp(np.linspace(left, left + self._told_width * horizon, 50), ages, costs).max()
            if is_assured
            else 0.0
        )
        self._told.set_position((left, min(under + 0.04 * self._top, 0.94 * self._top)))
        self._told.set_text(
            f"change after {change_age(result.change_years)} years: {result.cost:.0f}"
            if is_assured
            else " the card is not assured"
        )

    def alt_text(self) -> str:
        return f"Cost over the horizon against the age of change as a curve. {self.result.sentence}"


def _top(result: WhenToChange) -> float:
    """End of the axis of cost: the least of 1, 2, 3, 5 and their tens above what changing at the life asked costs."""
    by_age = result.by_age
    highest = ROOM * float(
        by_age.cost[0, 0][by_age.ages_years >= min(result.asked.life_years, by_age.horizon_years)].max()
    )
    tens = 10.0 ** np.floor(np.log10(max(highest, 1.0)))
    return float(next(top for top in tens * np.array([1, 2, 3, 5, 10, 20]) if top > highest))
