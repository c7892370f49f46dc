"""A picture of the site as SVG: one frame for all of them."""

import io
from collections.abc import Callable

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, ScalarFormatter

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
        for axis in (axes.xaxis, axes.yaxis):
            if isinstance(axis.get_major_formatter(), ScalarFormatter):
                axis.set_major_formatter(FuncFormatter(_whole))
        figure.savefig(file, format="svg", metadata={"Date": None})
    return file.getvalue()


def _whole(value: float, _: int) -> str:
    """Write a number of an axis whole, and not as what it is more than another one."""
    return f"{value:,.7g}".replace(",", "\N{NO-BREAK SPACE}")
