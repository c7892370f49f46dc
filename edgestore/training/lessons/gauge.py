"""One slider, one large answer and plain bars: what a screen of a lesson shows in numbers."""

from html import escape
from typing import Any

import ipywidgets as widgets

from edgestore.text import NO_BREAK
from edgestore.training.lessons.quantities import Bar, Told, longest, shown
from edgestore.training.lessons.screens import Say, Visual, words
from edgestore.units import PERCENT_PER_ONE


class Gauge(widgets.VBox):
    """The answer of a visual, moved by its slider where it has one.

    Attributes
    ----------
    slider : FloatSlider or None
        Stands at the number of the text.
    shown : HTML
        The answer and its bars.
    """

    def __init__(self, visual: Visual, say: Say = str) -> None:
        self._visual, self._words, self._scale = visual, words(say), longest(visual)
        self.shown = widgets.HTML().add_class("edgestore-measures")
        self.slider: Any = None
        if visual.slider:
            self.slider = widgets.FloatSlider(
                value=visual.given[visual.slider],
                min=visual.low,
                max=visual.high,
                step=visual.step,
                readout=False,
                readout_format="g",
                style={"description_width": "initial"},
                layout={"width": "auto"},
            )
            self.slider.observe(lambda _: self._show(), "value")
        super().__init__([self.shown, *([self.slider] if self.slider else [])])
        self.add_class("edgestore-gauge")
        self._show()

    def _show(self) -> None:
        moved = {}
        if self.slider:
            value = round(self.slider.value, 6)
            moved = {self._visual.slider: value}
            self.slider.description = self._words[f"move_{self._visual.slider}"].format(_set(value))
        now = shown(self._visual, **moved)
        bars = "".join(self._bar(bar) for bar in now.bars)
        self.shown.value = f'<p class="edgestore-big" role="status">{self._told(now.told)}</p>{bars}'

    def _bar(self, bar: Bar) -> str:
        label = escape(self._words[bar.label].format(**bar.of))
        share = PERCENT_PER_ONE * bar.length / self._scale[bar.scale]
        return (
            f'<div class="edgestore-measure"><span>{label}</span> <strong>{self._told(bar.told)}</strong>'
            f'<div class="edgestore-track"><div style="width:{min(share, PERCENT_PER_ONE):.1f}%"></div></div></div>'
        )

    def _told(self, told: Told) -> str:
        figure, unit = told
        return escape(f"{figure}{NO_BREAK}{self._words[unit]}")


def _set(value: float) -> str:
    """Write what a slider is set to with all its digits, as the text beside it does."""
    return f"{value:,g}".replace(",", NO_BREAK)
