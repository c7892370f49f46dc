"""The base of all figures: drawn once, then moved, so that a slider feels immediate."""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from io import BytesIO
from typing import Any, Generic, TypeVar

import matplotlib as mpl
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from PIL import Image

from edgestore.figures import style
from edgestore.figures.letters import LetterCanvas
from edgestore.figures.narrow import narrow_pt, shrink, wrap
from edgestore.figures.palette import sent

Result = TypeVar("Result")

PX_PER_INCH = 100
"""Pixels of a page on which an inch of a figure is shown."""

LEAST_PX = 300
"""No picture is drawn for less; on less it is shown smaller."""

NARROW_INCH = 6.4
"""Pictures for less are narrow: smaller letters, fewer ticks, axes one below the other."""

FLATTEST = 0.6
"""Least height of a narrow picture over its width."""

SVG_DPI = 72
"""Matplotlib writes SVG in points; a label keeps its place in dots, so that the figure is drawn in as many."""

DRAWN_ALIKE: dict[Any, Any] = {"svg.hashsalt": "edgestore", "svg.fonttype": "path"}
"""Letters as outlines, which look the same wherever it is opened."""

PHONE_INCH, PHONE_DPI = 4.6, 200
"""Pictures for less are drawn for the dense screens of phones; they have no more dots in all than a wide one."""


class MovingFigure(ABC, Generic[Result]):
    """A figure whose axes stay while its artists move.

    A subclass draws everything once in :meth:`draw` and says which artists move seldom and which often; :meth:`move`
    sets these from a result. The still rest is kept as a picture, and so is that rest under the artists that moved
    last when :meth:`seldom` changed; the others are drawn over it. When :meth:`frame` changes, for instance because
    an axis needs other limits, everything is drawn anew.

    Parameters
    ----------
    result : Result
        First answer to show.
    width_px : int, optional
        Room for the picture on the screen, px; it is drawn for it where it would be wider.
    dpi : int, optional
        Dots an inch; as the screen wants them when left out.
    """

    width_inch = 7.6
    height_inch = 4.6
    narrow_height_inch = 2.8
    dpi = 100

    def __init__(self, result: Result, width_px: int | None = None, *, dpi: int | None = None) -> None:
        if width_px is not None and width_px < PX_PER_INCH * self.width_inch:
            self.width_inch = max(width_px, LEAST_PX) / PX_PER_INCH
        if self.is_narrow:
            self.height_inch = max(self.narrow_height_inch, FLATTEST * self.width_inch)
            self.dpi = PHONE_DPI if self.width_inch < PHONE_INCH else self.dpi
        self.dpi = self.dpi if dpi is None else dpi
        self._frame: object = self
        self._seldom: object = self
        self.update(result)

    @property
    def width_px(self) -> int:
        """Width at which it is to be shown, px."""
        return round(PX_PER_INCH * self.width_inch)

    @property
    def is_narrow(self) -> bool:
        """Tell whether it is drawn for a narrow screen."""
        return self.width_inch < min(NARROW_INCH, type(self).width_inch)

    def pt(self, size_pt: float) -> float:
        """Give the size of a label's letters, points."""
        return narrow_pt(size_pt) if self.is_narrow else size_pt

    @abstractmethod
    def draw(self, figure: Figure, result: Result) -> tuple[Sequence[Artist], Sequence[Artist]]:
        """Draw axes and artists, and give those that move seldom and those that move often, from back to front."""

    @abstractmethod
    def move(self, result: Result) -> None:
        """Set the moving artists from a result."""

    @abstractmethod
    def alt_text(self) -> str:
        """Say in one sentence what the picture shows."""

    def frame(self, result: Result) -> object:
        """Give what the still part depends on; a figure whose axes never change needs nothing here."""
        return None

    def seldom(self, result: Result) -> object:
        """Give what the artists that move seldom depend on."""
        return None

    def is_quick(self, result: Result) -> bool:
        """Tell whether another result only moves what is drawn already."""
        return bool(self.frame(result) == self._frame)

    def update(self, result: Result) -> None:
        """Show another result."""
        self.result = result
        frame = self.frame(result)
        if frame != self._frame:
            with mpl.rc_context(style.INKED):
                self._draw_anew(result)
            self._frame, self._seldom = frame, self
        self.move(result)
        seldom = self.seldom(result)
        if seldom != self._seldom:
            self._canvas.restore_region(self._still)
            self._draw_over(self._moving_seldom)
            self._under = self._canvas.copy_from_bbox(self.figure.bbox)
            self._seldom = seldom
        self._canvas.restore_region(self._under)
        self._draw_over(self._moving_often)

    def png(self, *, is_dark: bool = False) -> bytes:
        """Give the picture as PNG bytes: few colours and light compression, for it is sent at every key press.

        Parameters
        ----------
        is_dark : bool
            Whether it is for a dark screen.

        Returns
        -------
        bytes
            The file.
        """
        width, height = self._canvas.get_width_height()
        picture = Image.frombuffer("RGBA", (width, height), self._canvas.buffer_rgba(), "raw", "RGBA", 0, 1)
        file = BytesIO()
        sent(picture.convert("RGB"), is_dark=is_dark).save(file, "PNG", compress_level=1, dpi=(self.dpi, self.dpi))
        return file.getvalue()

    def svg(self) -> bytes:
        """Give the picture as SVG, to be printed or drawn larger: the same bytes for the same picture."""
        file, drawn = BytesIO(), type(self)(self.result, dpi=SVG_DPI)
        with mpl.rc_context(DRAWN_ALIKE):
            drawn.figure.savefig(file, format="svg", metadata={"Date": None})
        return file.getvalue()

    def _repr_mimebundle_(self, **_: Any) -> dict[str, object]:
        return {"image/png": self.png(), "text/plain": self.alt_text()}

    def _draw_anew(self, result: Result) -> None:
        size = (self.width_inch, self.height_inch)
        self.figure = Figure(figsize=size, dpi=self.dpi, layout="constrained")
        self._canvas = LetterCanvas(self.figure)
        self._moving_seldom, self._moving_often = self.draw(self.figure, result)
        if self.is_narrow:
            shrink(self.figure)
        if self.width_inch < type(self).width_inch:
            wrap(self.figure)
        for artist in (*self._moving_seldom, *self._moving_often):
            artist.set_animated(True)
        self._canvas.draw()
        self.figure.set_layout_engine("none")
        self._still = self._canvas.copy_from_bbox(self.figure.bbox)

    def _draw_over(self, artists: Sequence[Artist]) -> None:
        for artist in artists:
            self.figure.draw_artist(artist)
