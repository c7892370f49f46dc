"""The picture of a model: the line through one of its check values, one argument varied about the one of the check."""

import io
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure

from edgestore.docs_site.entries import Entry
from edgestore.figures import style
from edgestore.figures.printed import FIXED
from edgestore.headings import heading
from edgestore.verification import Check, run

POINTS = 33
TIMES = 4.0
"""A picture reaches from the value of the check over so many to so many times it, as far as the model allows."""

LEAST_POINTS = 5
LEAST_TOP = 12
"""A count is varied up to here at least."""

SAME = 1e-9
"""Values that differ by less than this share of them do not depend on the argument."""

SIZE_INCH = (6.4, 3.2)


@dataclass(frozen=True)
class Curve:
    """A quantity over one of its arguments, and the check value on it."""

    argument: str
    quantity: str
    over: tuple[float, ...]
    values: tuple[float, ...]
    at: float
    expected: float

    @property
    def alt_text(self) -> str:
        """What the picture shows, in a sentence."""
        ends = f"from {self.values[0]:.3g} at {self.over[0]:.3g} to {self.values[-1]:.3g} at {self.over[-1]:.3g}"
        known = f"the check value is {self.expected:.5g} at {self.at:.5g}"
        return f"{self.quantity} over {self.argument}: {ends}; {known}."


@cache
def curve(entry: Entry) -> Curve | None:
    """Vary an argument about the first check value of a model that allows it.

    Parameters
    ----------
    entry : Entry
        A public thing of the models.

    Returns
    -------
    Curve or None
        None where no check value has a number on which its one number depends: what reads registers, say.
    """
    curves = (_curve(check, name) for check in entry.checks for name in _varied(check))
    return next((found for found in curves if found is not None), None)


def _varied(check: Check) -> Iterator[str]:
    """Give the arguments of a check that are a number, if what it expects is one, and no difference of two."""
    if _is_number(check.expected) and not getattr(check, "compare", ""):
        yield from (name for name, value in check.inputs.items() if _is_number(value) and value > 0)


def _curve(check: Check, name: str) -> Curve | None:
    at = check.inputs[name]
    over = _about(at)
    got = run(replace(check, inputs={**check.inputs, name: value}) for value in over)["got"]
    points = {value: result for value, result in zip(over, got, strict=True) if _is_number(result)}
    values = tuple(points.values())
    if len(values) < LEAST_POINTS or np.ptp(values) <= SAME * np.abs(values).max():
        return None
    return Curve(heading(name), _label(check), tuple(points), values, at, check.expected)


def _about(at: float) -> list[float]:
    """Give values about one, whole ones about a whole one: it may count cards."""
    if isinstance(at, int):
        top = max(at * TIMES, LEAST_TOP)
        return sorted({round(value) for value in np.linspace(max(1, at / TIMES), top, POINTS)} | {at})
    return [float(value) for value in np.geomspace(at / TIMES, at * TIMES, POINTS)]


def _label(check: Check) -> str:
    words = heading(check.part.rpartition(".")[2] or check.quantity.rpartition(".")[2])
    return words if words.endswith(")") else f"{words} ({check.unit})"


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def picture(found: Curve) -> bytes:
    """Draw a curve as SVG, the same bytes for the same curve.

    Parameters
    ----------
    found : Curve
        From :func:`curve`.

    Returns
    -------
    bytes
        SVG on paper's ground; the ring is the check value.
    """
    file = io.BytesIO()
    with mpl.rc_context(FIXED):
        figure = Figure(figsize=SIZE_INCH, layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.add_subplot()
        style.plain(axes)
        axes.plot(found.over, found.values, color=style.ACCENT, linewidth=2)
        axes.plot(found.at, found.expected, "o", markersize=8, markerfacecolor="none", color=style.INK)
        axes.set_xlabel(found.argument, parse_math=False)
        axes.set_ylabel(found.quantity, parse_math=False)
        figure.savefig(file, format="svg", metadata={"Date": None})
    return file.getvalue()
