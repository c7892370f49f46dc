"""Picture of two plans: what each camera costs in both, those that change most first."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.figure import Figure

from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.plan.what_if import WhatIf
from edgestore.text import short

ROWS = 14
"""So many cameras are drawn."""


class WhatIfFigure(MovingFigure[WhatIf]):
    """A row a camera: a ring for this plan, a dot for the other, and a line from one to the other."""

    narrow_height_inch = 3.6

    def frame(self, result: WhatIf) -> object:
        return self._rows(result)["camera"].tolist(), self._most(result), result.unit

    def draw(self, figure: Figure, result: WhatIf) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes = figure.subplots()
        style.plain(axes)
        rows = self._rows(result)
        at = np.arange(len(rows))
        self._lines = axes.hlines(at, 0, 0, color=style.MID, linewidth=2)
        (self._this,) = axes.plot(at, at, "o", color=style.ACCENT, markersize=9, fillstyle="none", markeredgewidth=1.8)
        (self._other,) = axes.plot(at, at, "o", color=style.SECOND, markersize=5)
        axes.set_yticks(at, [short(camera, 24) for camera in rows["camera"]], fontsize=style.SMALL_PT)
        axes.set_ylim(max(len(rows), 1) - 0.5, -0.5)
        axes.set_xlim(-0.02 * self._most(result), self._most(result))
        axes.set_xlabel(self._what(result), fontsize=style.BODY_PT)
        axes.set_title(
            "Ring: this plan. Dot: the other. The largest differences first", loc="left", fontsize=style.BODY_PT
        )
        axes.tick_params(axis="x", labelsize=style.SMALL_PT)
        return [], [self._lines, self._this, self._other]

    def move(self, result: WhatIf) -> None:
        rows = self._rows(result)
        self._this.set_xdata(rows["before"])
        self._other.set_xdata(rows["after"])
        ends = zip(range(len(rows)), rows["before"], rows["after"], strict=True)
        self._lines.set_segments([np.array([(before, row), (after, row)]) for row, before, after in ends])

    def alt_text(self) -> str:
        return f"{self._what(self.result)} of each camera in both plans. {self.result.sentence}"

    @staticmethod
    def _what(result: WhatIf) -> str:
        what = "Capacity of the card, GB" if result.unit == "GB" else f"Cost, {result.unit}"
        return f"{what} (0: no card)"

    def _most(self, result: WhatIf) -> float:
        """Give where the axis ends: 1, 2 or 5 with zeros, so that it seldom moves."""
        most = max(1.05 * float(np.nanmax(self._rows(result)[["before", "after"]].to_numpy(float), initial=0.0)), 1.0)
        zeros = 10 ** np.floor(np.log10(most))
        return float(next(step for step in (1, 2, 5, 10) if step * zeros >= most) * zeros)

    @staticmethod
    def _rows(result: WhatIf) -> pd.DataFrame:
        return result.amounts.head(ROWS)
