"""Words at a place: a fifth of the time that matplotlib takes over its own text, which also looks after its box."""

from typing import Literal

from matplotlib.axes import Axes
from matplotlib.font_manager import FontProperties
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.transforms import Affine2D

from edgestore.figures.letters import OUTLINE_PT, POINTS_PER_INCH, line

FONT = FontProperties(size=OUTLINE_PT)


class Label(PathPatch):
    """Words at a place of the axes, for labels that move at every redraw.

    They begin or end there, and are centred on it vertically.

    Parameters
    ----------
    axes : Axes
        Where the label stands.
    size_pt : float
        Size of the letters, points.
    color : str
        Their colour.
    """

    def __init__(self, axes: Axes, size_pt: float, color: str) -> None:
        super().__init__(Path([(0, 0)]), facecolor=color, edgecolor="none", clip_on=False)
        axes.add_patch(self)
        scale = size_pt / OUTLINE_PT
        self._to_pixels = Affine2D().scale(scale).translate(0, -size_pt / 3).scale(axes.figure.dpi / POINTS_PER_INCH)
        self._px_per_outline = scale * axes.figure.dpi / POINTS_PER_INCH
        self._to_place, self._axes_box = axes.transData, axes.bbox

    def place(self, words: str, x: float, y: float, align: Literal["left", "right"] = "left") -> None:
        """Say the words and where they begin, or where they end, in data; too long for the axes, they are smaller."""
        said = line(words, FONT)
        self.set_path(said.path)
        wide_px = said.advance * self._px_per_outline
        shift = 0.0 if align == "left" else -said.advance
        at_origin = Affine2D().translate(shift, 0).scale(min(1.0, self._axes_box.width / max(wide_px, 1.0)))
        self.set_transform(at_origin + self._to_pixels + Affine2D().translate(*self._to_place.transform((x, y))))
