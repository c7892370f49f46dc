"""Text drawn from outlines of letters that are kept: a tenth of the time that matplotlib takes over new words."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.backend_bases import GraphicsContextBase
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.textpath import TextToPath
from matplotlib.transforms import Affine2D

OUTLINE_PT = TextToPath.FONT_SCALE
"""Size at which matplotlib gives outlines."""

POINTS_PER_INCH = 72


@dataclass(frozen=True)
class Line:
    """Outline of a line of text, where the next letter would stand, and its lowest and highest point."""

    path: Path
    advance: float
    low: float
    high: float


class LetterRenderer(RendererAgg):
    """Agg, but text is filled outlines; formulas are left to Agg."""

    def draw_text(
        self,
        gc: GraphicsContextBase,
        x: float,
        y: float,
        s: str,
        prop: FontProperties,
        angle: float,
        ismath: Any = False,
        mtext: Text | None = None,
    ) -> None:
        """Draw a line of text; arguments as in matplotlib."""
        if ismath:
            super().draw_text(gc, x, y, s, prop, angle, ismath, mtext)
            return
        place = Affine2D().scale(self._px_per_outline(prop)).rotate_deg(angle).translate(x, self.height - y)
        filled = self.new_gc()
        filled.copy_properties(gc)
        filled.set_linewidth(0)
        self.draw_path(filled, line(s, _outline_font(prop)).path, place, rgbFace=gc.get_rgb())
        filled.restore()

    def get_text_width_height_descent(self, s: str, prop: FontProperties, ismath: Any) -> tuple[float, float, float]:
        """Give the size of a line of text in pixels; arguments as in matplotlib."""
        if ismath:
            width, height, descent = super().get_text_width_height_descent(s, prop, ismath)
            return width, height, descent
        said = line(s, _outline_font(prop))
        scale = self._px_per_outline(prop)
        return said.advance * scale, (said.high - said.low) * scale, -said.low * scale

    def _px_per_outline(self, prop: FontProperties) -> float:
        return float(prop.get_size_in_points() / OUTLINE_PT * self.dpi / POINTS_PER_INCH)


class LetterCanvas(FigureCanvasAgg):
    """The Agg canvas of a figure whose size stays."""

    _kept: LetterRenderer | None = None

    def get_renderer(self) -> LetterRenderer:
        """Give the one renderer of the figure."""
        if self._kept is None:
            self._kept = LetterRenderer(*self.get_width_height(), self.figure.dpi)
        return self._kept


def _outline_font(prop: FontProperties) -> FontProperties:
    font = prop.copy()
    font.set_size(OUTLINE_PT)
    return font


@lru_cache(maxsize=1000)
def line(words: str, font: FontProperties) -> Line:
    """Give the outline of a line of text; the font is one at ``OUTLINE_PT``."""
    steps = [_advance(left + right, font) - _advance(right, font) for left, right in pairwise(words)]
    places = np.cumsum([0.0, *steps, _advance(words[-1:], font)])
    letters = [_letter(letter, font) for letter in words]
    moved = [np.add(outline, (place, 0)) for (outline, _), place in zip(letters, places[: len(words)], strict=True)]
    vertices = np.concatenate([[(0, 0)], *moved])
    codes = np.concatenate([[Path.MOVETO], *(codes for _, codes in letters)])
    return Line(Path(vertices, codes), float(places[-1]), low=vertices[:, 1].min(), high=vertices[:, 1].max())


@lru_cache(maxsize=1000)
def _letter(letter: str, font: FontProperties) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.uint8]]:
    vertices, codes = TextToPath().get_text_path(font, letter)
    return np.reshape(np.asarray(vertices, float), (-1, 2)), np.array(codes, Path.code_type)


@lru_cache(maxsize=5000)
def _advance(letters: str, font: FontProperties) -> float:
    """Give where the next letter would stand; of two letters with their kerning."""
    width, _, _ = TextToPath().get_text_width_height_descent(letters, font, ismath=False)
    return float(width)
