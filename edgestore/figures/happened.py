"""Picture of what happened: the retention planned of each camera as a band, and what its card turned out to hold."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.plan.verdicts import (
    AS_PLANNED,
    DELETES,
    GAPS,
    INPUTS,
    LONGER,
    NOT_FULL,
    NOT_RECORDING,
    SHORTER,
    WIDEST_BAND,
    Held,
)
from edgestore.plan.what_happened import WhatHappened
from edgestore.text import short
from edgestore.units import H_PER_DAY

ROWS, NARROW_ROWS, NAME, NARROW_NAME = 20, 6, 28, 16
"""So many cameras are drawn, and so many letters of their names, on a phone fewer."""

MARKS = {
    AS_PLANNED: ("o", style.ACCENT, True),
    DELETES: ("s", style.ACCENT, False),
    SHORTER: ("<", style.SECOND, True),
    LONGER: (">", style.SECOND, True),
    INPUTS: ("o", style.SECOND, False),
    GAPS: ("X", style.INK, True),
    NOT_RECORDING: ("P", style.INK, True),
    NOT_FULL: (">", style.MID, False),
}
"""Form, colour and whether it is filled of the mark of each verdict: they are told apart in grey too."""

LABELS = {GAPS: "gaps left out"}
"""Words of the key that say more than the verdict: the mark is where the footage would go back to without its gaps."""

BY_BAND = (AS_PLANNED, SHORTER, LONGER, INPUTS)
"""Verdicts that another band may give."""

BAR, ROOM, ABOVE, NARROW_ABOVE = 0.56, 1.3, 1.9, 3.2
"""Height of a band in rows; room on both sides of the axis, as a factor; room for the legend, in rows."""

IN_A_LINE = 7
"""Entries of the key that a line has room for; more of them take two."""

LEAST_STEP = 0.1
"""Least distance of two ticks, over the length of the axis: their words take so much."""


class HappenedFigure(MovingFigure[WhatHappened]):
    """A row for each camera, the most urgent first; a band is planned, a mark is achieved. Another band moves both."""

    height_inch = 4.9
    narrow_height_inch = 2.5

    def frame(self, result: WhatHappened) -> object:
        rows = self._rows(result)
        return tuple(of.camera for of in rows), len(result.listed), self._keyed(rows), tuple(map(_achieved, rows))

    def draw(self, figure: Figure, result: WhatHappened) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes = figure.subplots()
        style.plain(axes)
        rows = self._rows(result)
        self._bands = LineCollection([], colors=style.BAND, linewidths=1.0, capstyle="butt")
        self._middles = LineCollection([], colors=style.QUIET, linewidths=1.5)
        for lines in (self._bands, self._middles):
            axes.add_collection(lines, autolim=False)
        self._marks = {verdict: axes.plot([], [], **self._mark(verdict))[0] for verdict in MARKS}
        known = np.array([[*_days_planned(of, WIDEST_BAND), _achieved(of)] for of in rows]).ravel()
        known = known[np.isfinite(known)]
        ends = (known.min() / ROOM, known.max() * ROOM) if len(known) else (1.0, 2.0)
        style.log_ticks(axes, "x", _ticks(*ends))
        axes.set_xlim(*ends)
        letters = NARROW_NAME if self.is_narrow else NAME
        axes.set_yticks(range(len(rows)), [short(of.camera, letters) for of in rows], fontsize=self.pt(style.BODY_PT))
        axes.set_ylim(max(len(rows), 1) - 0.4, -(NARROW_ABOVE if self.is_narrow else ABOVE))
        axes.tick_params(axis="x", labelsize=self.pt(style.BODY_PT))
        all_rows = len(result.listed)
        more = f" ({len(rows)} of {all_rows})" if all_rows > len(rows) else ""
        title = "Footage goes back" if self.is_narrow else "How far back the footage goes"
        axes.set_title(f"{title}{more}", loc="left", fontsize=style.TITLE_PT)
        key: list[Artist] = [Patch(color=style.BAND, label="planned")]
        key += [
            Line2D([], [], label=LABELS.get(verdict, verdict), **self._mark(verdict)) for verdict in self._keyed(rows)
        ]
        legend = axes.legend(
            handles=key,
            loc="upper left",
            ncols=2 if self.is_narrow else len(key) if len(key) <= IN_A_LINE else -(-len(key) // 2),
            fontsize=style.SMALL_PT,
            frameon=False,
            columnspacing=1.0,
            handletextpad=0.3,
            handlelength=1.2,
            borderaxespad=0.2,
        )
        legend.set_in_layout(False)
        self._axes = axes
        return [], [self._bands, self._middles, *self._marks.values()]

    def move(self, result: WhatHappened) -> None:
        rows = self._rows(result)
        at = np.arange(len(rows))
        ends = np.array([_days_planned(of, result.band) for of in rows]).reshape(-1, 3)
        achieved, left = np.array([_achieved(of) for of in rows]), self._axes.get_xlim()[0]
        row_pt = self._axes.transData.transform([(1, 0), (1, BAR)])[:, 1]
        self._bands.set_linewidth(abs(np.diff(row_pt)[0]) * 72 / self.figure.dpi)
        self._bands.set_segments([[(low, row), (high, row)] for row, (_, low, high) in zip(at, ends, strict=True)])
        half = BAR / 2
        self._middles.set_segments([[(x, row - half), (x, row + half)] for row, x in zip(at, ends[:, 0], strict=True)])
        for verdict, mark in self._marks.items():
            some = np.array([of.verdict == verdict for of in rows], dtype=bool)
            mark.set_data(np.where(np.isnan(achieved), left, achieved)[some], at[some])

    def alt_text(self) -> str:
        return (
            f"A band of planned retention and a mark for what the card holds, camera by camera. {self.result.sentence}"
        )

    def _keyed(self, rows: Sequence[Held]) -> tuple[str, ...]:
        """Verdicts of the key: those drawn, and where there is room those that another band may give."""
        may_be = () if self.is_narrow else BY_BAND
        return tuple(verdict for verdict in MARKS if verdict in may_be or any(of.verdict == verdict for of in rows))

    def _mark(self, verdict: str) -> dict[str, Any]:
        mark, colour, is_filled = MARKS[verdict]
        return {
            "marker": mark,
            "color": colour,
            "markerfacecolor": colour if is_filled else "none",
            "markersize": 6 if self.is_narrow else 9,
            "linestyle": "none",
        }

    def _rows(self, result: WhatHappened) -> list[Held]:
        """The cameras that are drawn: of those that are shown, what is planned or achieved must be known."""
        known = [of for of in result.listed if of.planned is not None]
        return known[: NARROW_ROWS if self.is_narrow else ROWS]


def _ticks(first: float, last: float) -> dict[float, str]:
    """Give the ticks of an axis, but for those for whose words there is no room."""
    least = (last / first) ** LEAST_STEP
    kept = dict[float, str]()
    for days, words in style.TIME_TICKS_DAYS.items():
        if first <= days <= last and days >= max(kept, default=0.0) * least:
            kept[days] = words
    return kept


def _achieved(of: Held) -> float:
    return of.retention_h / H_PER_DAY


def _days_planned(of: Held, band: float) -> tuple[float, ...]:
    assert of.planned is not None
    return tuple(hours / H_PER_DAY for hours in of.planned.within(band))
