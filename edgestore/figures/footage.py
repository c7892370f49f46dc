"""Picture of what a camera writes: the trace with its mean, peak and cap, and how long the card holds at each."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from edgestore.answers.footage import Writing
from edgestore.figures import style
from edgestore.figures.label import Label
from edgestore.figures.moving import MovingFigure
from edgestore.text import hold_span, number
from edgestore.units import H_PER_DAY, S_PER_H, S_PER_MIN

FAR_ABOVE = 4.0
"""A cap further above the busiest second than this many times is not drawn, but told at the upper edge."""

CROWDED = (3, 90)
"""Ticks, in days, for which this axis is too short."""

ROWS = {"mean": "as measured", "peak second": "if always\nat its busiest", "cap": "by the cap"}
"""Rows of the lower axes: rates by name, and what they are called."""

LONGEST_DAYS = 20_000.0

MOST_TICKS = 6

LONG_MIN, LONG_H = 10, 3
"""Beyond, the time axis is in minutes and in hours."""


class WritesFigure(MovingFigure[Writing]):
    """Rate against time, the highest seconds behind the mean; below, the days held by mean, peak and cap."""

    height_inch = 5.4
    narrow_height_inch = 5.0

    def draw(self, figure: Figure, result: Writing) -> tuple[Sequence[Artist], Sequence[Artist]]:
        top, bottom = figure.subplots(2, 1, height_ratios=(1.7, 1))
        style.plain(top)
        end_s = float(result.edges_s[-1])
        self._top = _top_mbit_s(result)
        top.set_xlim(0, end_s * (1.4 if self.is_narrow else 1.18))
        top.set_ylim(0, self._top)
        scale, unit = _time_unit(end_s)
        top.set_xlabel(f"Footage, clip after clip, {unit}")
        top.set_ylabel("Video written, Mbit/s")
        top.set_title(
            "The mean decides how long the card holds, the peak whether it keeps up",
            loc="left",
            fontsize=style.TITLE_PT,
        )
        # The words behind the lines have no footage above the axis: it ends where the footage does.
        ticks = MaxNLocator(MOST_TICKS, steps=[1, 2, 5, 10]).tick_values(0, end_s / scale)
        top.set_xticks([at * scale for at in ticks if at * scale <= end_s])
        top.xaxis.set_major_formatter(lambda value, _: f"{value / scale:g}")
        top.spines["bottom"].set_bounds(0, end_s)
        if np.any(result.high_mbit_s > result.mean_mbit_s):
            top.stairs(result.high_mbit_s, result.edges_s, fill=True, color=style.BAND)
        top.stairs(result.mean_mbit_s, result.edges_s, color=style.ACCENT, linewidth=1.3, baseline=None)
        for edge in result.clip_edges_s:
            top.axvline(edge, color=style.MID, linewidth=1, linestyle=":")
        mean, peak = (result.rates_mbit_s[name] for name in ("mean", "peak second"))
        top.plot([0, end_s], [mean, mean], color=style.INK, linewidth=1.4, linestyle=(0, (6, 2)))
        right = {"x": end_s * 1.01, "va": "center", "fontsize": 9}
        top.text(y=mean, s=f"mean {number(mean)}", color=style.INK, **right)
        top.plot([result.peak_at_s], [peak], "o", color=style.SECOND, markersize=7)
        top.text(y=max(peak, mean + self._top * 0.06), s=f"busiest {number(peak)}", color=style.SECOND, **right)
        (self._cap,) = top.plot([0, end_s], [-1, -1], color=style.SECOND, linewidth=1.4, linestyle="-.")
        self._cap_label = Label(top, self.pt(style.BODY_PT), style.SECOND)

        style.log_ticks(bottom, "x", {at: words for at, words in style.TIME_TICKS_DAYS.items() if at not in CROWDED})
        style.plain(bottom)
        bottom.set_xlim(1 / H_PER_DAY / 4, LONGEST_DAYS)
        bottom.set_ylim(len(ROWS) - 0.5, -0.8)
        bottom.set_yticks(range(len(ROWS)), ROWS.values())
        bottom.tick_params(axis="y", length=0)
        bottom.set_xlabel("Footage held by the card")
        self._wanted = bottom.axvline(1, color=style.INK, linewidth=1.2, linestyle=(0, (2, 2)))
        self._range = bottom.plot([], [], "-", color=style.ACCENT, linewidth=6, alpha=0.5, solid_capstyle="butt")[0]
        markers = {"mean": "o", "peak second": "^", "cap": "s"}
        colours = {"mean": style.ACCENT, "peak second": style.SECOND, "cap": style.SECOND}
        self._points = {
            name: bottom.plot([], [], marker, color=colours[name], markersize=8, linestyle="none")[0]
            for name, marker in markers.items()
        }
        self._labels = {name: Label(bottom, self.pt(style.BODY_PT), style.INK) for name in ROWS}
        self._wanted_label = Label(bottom, self.pt(style.BODY_PT), style.INK)
        moving: list[Any] = [self._cap, self._cap_label, self._wanted, self._range, *self._points.values()]
        return [], [*moving, *self._labels.values(), self._wanted_label]

    def frame(self, result: Writing) -> object:
        return id(result.footage), _top_mbit_s(result)

    def move(self, result: Writing) -> None:
        cap = result.rates_mbit_s.get("cap", 0.0)
        is_above = cap > self._top
        self._cap.set_ydata([-1 if is_above or not cap else cap] * 2)
        words = f"cap {number(cap)}{', above' if is_above else ''}" if cap else ""
        self._cap_label.place(words, float(result.edges_s[-1]) * 1.01, min(cap, self._top * 0.97))
        self._wanted.set_xdata([result.wanted_days] * 2)
        self._wanted_label.place(f"wanted: {number(result.wanted_days)} days", result.wanted_days * 1.1, 2.3)
        held = result.retention_days
        self._range.set_data(result.likely_days, [0, 0])
        for row, name in enumerate(ROWS):
            known = name in held
            self._points[name].set_data([held[name]] if known else [], [row] if known else [])
            low, high = result.likely_days if name == "mean" else (held.get(name, 1.0), held.get(name, 1.0))
            words = hold_span(low * H_PER_DAY, high * H_PER_DAY) if known else ""
            self._labels[name].place(words, min(low, LONGEST_DAYS / 12), row - 0.36)

    def alt_text(self) -> str:
        shown = (
            "Rate of the camera through the footage, with its mean, its busiest second and the cap; days held at each."
        )
        return f"{shown} {self.result.sentence}"


def _top_mbit_s(result: Writing) -> float:
    """Upper end of the rates shown: the busiest second and, where it is not far above, the cap."""
    peak = result.rates_mbit_s["peak second"]
    cap = result.rates_mbit_s.get("cap", 0.0)
    return 1.12 * (cap if peak < cap <= FAR_ABOVE * peak else peak * (1.4 if cap else 1.0))


def _time_unit(end_s: float) -> tuple[float, str]:
    """Seconds in the unit of the time axis, and its name."""
    if end_s <= LONG_MIN * S_PER_MIN:
        return 1.0, "s"
    return (S_PER_MIN, "min") if end_s <= LONG_H * S_PER_H else (S_PER_H, "h")
