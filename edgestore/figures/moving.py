"""The base of all figures: drawn once, then moved, so that a slider feels immediate."""

from abc import ABC, abstractmethod
from collections.abc import Sequence
from io import BytesIO
from typing import Any, Generic, TypeVar

from matplotlib.artist import Artist
from matplotlib.figure import Figure
from PIL import Image

from edgestore.figures.letters import LetterCanvas
from edgestore.figures.palette import sent

Result = TypeVar("Result")


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
    """

    width_inch = 7.6
    height_inch = 4.6
    dpi = 100

    def __init__(self, result: Result) -> None:
        self._frame: object = self
        self._seldom: object = self
        self.update(result)

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

    def png(self) -> bytes:
        """Give the picture as PNG bytes: few colours and light compression, for it is sent at every key press."""
        width, height = self._canvas.get_width_height()
        picture = Image.frombuffer("RGBA", (width, height), self._canvas.buffer_rgba(), "raw", "RGBA", 0, 1)
        file = BytesIO()
        sent(picture.convert("RGB")).save(file, "PNG", compress_level=1, dpi=(self.dpi, self.dpi))
        return file.getvalue()

    def _repr_mimebundle_(self, **_: Any) -> dict[str, object]:
        return {"image/png": self.png(), "text/plain": self.alt_text()}

    def _draw_anew(self, result: Result) -> None:
        size = (self.width_inch, self.height_inch)
        self.figure = Figure(figsize=size, dpi=self.dpi, layout="constrained")
        self._canvas = LetterCanvas(self.figure)
        self._moving_seldom, self._moving_often = self.draw(self.figure, result)
        for artist in (*self._moving_seldom, *self._moving_often):
            artist.set_animated(True)
        self._canvas.draw()
        self.figure.set_layout_engine("none")
        self._still = self._canvas.copy_from_bbox(self.figure.bbox)

    def _draw_over(self, artists: Sequence[Artist]) -> None:
        for artist in artists:
            self.figure.draw_artist(artist)
