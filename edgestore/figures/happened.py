"""Picture of what happened: the retention planned of each camera as a band, and what its card turned out to hold."""

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure

from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.plan.happened import AS_PLANNED, GAPS, LONGER, NOT_FULL, SHORTER, Held
from edgestore.plan.what_happened import WhatHappened
from edgestore.text import short
from edgestore.units import H_PER_DAY

ROWS, NARROW_ROWS, NAME, NARROW_NAME = 20, 6, 28, 16
"""So many cameras are drawn, and so many letters of their names, on a phone fewer."""

MARKS = {
    AS_PLANNED: ("o", style.ACCENT, True),
    SHORTER: ("<", style.SECOND, True),
    LONGER: (">", style.SECOND, True),
    GAPS: ("X", style.INK, True),
    NOT_FULL: (">", style.MID, False),
}
"""Form, colour and whether it is filled of the mark of each verdict: they are told apart in grey too."""

BAR, ROOM = 0.56, 1.3
"""Height of a band in rows; room on both sides of the axis, as a factor."""


class HappenedFigure(MovingFigure[WhatHappened]):
    """A row for each camera, first those about which the plan was wrong; a band is planned, a mark is achieved."""

    height_inch = 4.9
    narrow_height_inch = 2.5

    def frame(self, result: WhatHappened) -> object:
        return result.of_cameras, result.happened.to_csv()

    def draw(self, figure: Figure, result: WhatHappened) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes = figure.subplots()
        style.plain(axes)
        rows = self._rows(result)
        style.log_ticks(axes, "x", style.TIME_TICKS_DAYS)
        days = np.array([of.planned_h for of in rows]).reshape(-1, 3) / H_PER_DAY
        achieved = np.array([of.achieved.hours if of.achieved else np.nan for of in rows]) / H_PER_DAY
        at = np.arange(len(rows))
        axes.barh(at, days[:, 2] - days[:, 1], BAR, left=days[:, 1], color=style.BAND, label="planned")
        axes.vlines(days[:, 0], at - BAR / 2, at + BAR / 2, color=style.QUIET, linewidth=1.5)
        for verdict, (mark, colour, is_filled) in MARKS.items():
            some = np.array([of.verdict == verdict for of in rows], dtype=bool)
            if some.any():
                axes.plot(
                    achieved[some],
                    at[some],
                    mark,
                    color=colour,
                    markerfacecolor=colour if is_filled else "none",
                    markersize=6 if self.is_narrow else 9,
                    linestyle="none",
                    label=verdict,
                )
        known = np.concatenate([days.ravel(), achieved])
        known = known[np.isfinite(known)]
        if len(known):
            axes.set_xlim(known.min() / ROOM, known.max() * ROOM)
        letters = NARROW_NAME if self.is_narrow else NAME
        axes.set_yticks(at, [short(of.camera, letters) for of in rows], fontsize=self.pt(style.BODY_PT))
        axes.set_ylim(max(len(rows), 1) - 0.4, -2.4 if self.is_narrow else -1.9)
        axes.tick_params(axis="x", labelsize=self.pt(style.BODY_PT))
        all_rows = len(result.listed)
        more = f" ({len(rows)} of {all_rows})" if all_rows > len(rows) else ""
        title = "Footage goes back" if self.is_narrow else "How far back the footage goes"
        axes.set_title(f"{title}{more}", loc="left", fontsize=style.TITLE_PT)
        axes.legend(
            loc="upper left",
            ncols=3 if self.is_narrow else len(MARKS) + 1,
            fontsize=style.SMALL_PT,
            frameon=False,
            columnspacing=1.0,
            handletextpad=0.3,
            handlelength=1.2,
            borderaxespad=0.2,
        )
        return [], []

    def move(self, result: WhatHappened) -> None:
        """Nothing moves: other answers are another frame."""

    def alt_text(self) -> str:
        return (
            f"A band of planned retention and a mark for what the card holds, camera by camera. {self.result.sentence}"
        )

    def _rows(self, result: WhatHappened) -> list[Held]:
        """The cameras that are drawn."""
        wrong_first = sorted(result.listed, key=lambda of: (not of.is_wrong, of.row))
        return wrong_first[: NARROW_ROWS if self.is_narrow else ROWS]
