"""Picture of the visits by date: which place is visited when, with how many cards, and where a lift is needed."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.plan.what_visits import WhatVisits
from edgestore.text import counted, short
from edgestore.units import DAYS_PER_YEAR

ROWS, NARROW_ROWS, NAME = 14, 7, 30
"""So many places are drawn, and on a phone, with so many letters of their names."""

EDGE = 0.04
"""Room on both sides, over the years that are drawn."""

FIRST_YEAR = 1970
"""Days count from its beginning."""


class VisitsFigure(MovingFigure[WhatVisits]):
    """A row for each visit group, or camera by itself; a mark for each visit with the number of its cards."""

    height_inch = 5.0
    narrow_height_inch = 2.8

    def frame(self, result: WhatVisits) -> object:
        return result.years_ahead, self._visits(result).to_csv()

    def draw(self, figure: Figure, result: WhatVisits) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes = figure.subplots()
        style.plain(axes)
        visits, most = self._visits(result), NARROW_ROWS if self.is_narrow else ROWS
        places = list(dict.fromkeys(visits["place"]))
        shown = visits[visits["place"].isin(places[:most])]
        at = np.array([places.index(place) for place in shown["place"]], dtype=float)
        days = shown["date"].to_numpy("datetime64[D]").astype(float)
        dates, is_lift = FIRST_YEAR + days / DAYS_PER_YEAR, shown["with_lift"].to_numpy(bool)
        for some, mark, colour, label in (
            (~is_lift, "o", style.ACCENT, "on foot or by ladder"),
            (is_lift, "s", style.SECOND, "with a lift"),
        ):
            axes.plot(
                dates[some],
                at[some],
                mark,
                color=colour,
                markersize=11 if self.is_narrow else 13,
                linestyle="none",
                label=label,
            )
        for x, y, cards in zip(dates, at, shown["cards_to_bring"], strict=True):
            axes.text(
                x,
                y,
                f"{cards}",
                color="white",
                fontsize=style.BODY_PT,
                weight="bold",
                ha="center",
                va="center_baseline",
            )
        first_day = np.datetime64(result.calendar.bill.years["begins"].iloc[0], "D").astype(float)
        first = FIRST_YEAR + first_day / DAYS_PER_YEAR
        years = min(result.years_ahead, result.calendar.horizon_years)
        axes.set_xlim(first - EDGE * years, first + (1 + EDGE) * years)
        rows = max(len(places[:most]), 1)
        axes.hlines(range(rows), *axes.get_xlim(), color=style.BAND, linewidth=1, zorder=0)
        axes.set_yticks(
            range(len(places[:most])),
            [short(place, NAME // 2 if self.is_narrow else NAME) for place in places[:most]],
            fontsize=style.BODY_PT,
        )
        axes.set_ylim(rows - 0.3, -2.2 if self.is_narrow else -1.4)
        axes.xaxis.set_major_locator(MaxNLocator(4 if self.is_narrow else 13, integer=True))
        axes.ticklabel_format(axis="x", useOffset=False, style="plain")
        axes.tick_params(axis="x", labelsize=style.BODY_PT)
        axes.grid(axis="x", color=style.BAND, linewidth=0.8)
        axes.set_axisbelow(True)
        more = f" (the first {most} of {len(places)} places)" if len(places) > most else ""
        axes.set_title(f"A mark is a visit, its figure the cards to bring{more}", loc="left", fontsize=style.TITLE_PT)
        axes.legend(loc="upper left", ncols=1 if self.is_narrow else 2, fontsize=style.BODY_PT, frameon=False)
        return [], []

    def move(self, result: WhatVisits) -> None:
        """Nothing moves: other visits are another frame."""

    def alt_text(self) -> str:
        visits = counted(len(self.result.ahead), "visit")
        return f"A line of time with {visits} by place, marked where a lift is needed. {self.result.sentence}"

    @staticmethod
    def _visits(result: WhatVisits) -> pd.DataFrame:
        table = result.ahead
        place = table["visit_group"].where(table["visit_group"] != "", table["cameras"])
        return table[["date", "with_lift", "cards_to_bring"]].assign(place=place)
