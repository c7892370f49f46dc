"""A picture of the site as SVG: one frame for all of them."""

import io
from collections.abc import Callable

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from edgestore.figures import style
from edgestore.figures.printed import FIXED

WIDTH_INCH = 6.4


def as_svg(draw: Callable[[Axes], None], height_inch: float) -> bytes:
    """Draw on paper's ground; the same bytes for the same drawing."""
    file = io.BytesIO()
    with mpl.rc_context(FIXED):
        figure = Figure(figsize=(WIDTH_INCH, height_inch), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.add_subplot()
        style.plain(axes)
        draw(axes)
        figure.savefig(file, format="svg", metadata={"Date": None})
    return file.getvalue()
