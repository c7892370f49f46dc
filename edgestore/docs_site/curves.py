"""The picture of a model: the line through one of its check values, one argument varied about the one of the check."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from edgestore.docs_site.entries import Entry
from edgestore.docs_site.svg import as_svg
from edgestore.docs_site.words import argument_label, quantity_label
from edgestore.figures import style
from edgestore.verification import Check, run

POINTS = 33
TIMES = 4.0
"""A picture reaches from the value of the check over so many to so many times it, as far as the model allows."""

LEAST_POINTS = 5
LEAST_TOP = 12
"""A count is varied up to here at least."""

SAME = 1e-9
"""Values that differ by less than this share of them do not depend on the argument."""

HEIGHT_INCH = 3.2


@dataclass(frozen=True)
class Curve:
    """A quantity over one of its arguments, and the check value on it."""

    argument: str
    quantity: str
    over: tuple[float, ...]
    values: tuple[float, ...]
    at: float
    expected: float
    caption: str = "Drawn by the library; the ring is a check value."

    @property
    def alt_text(self) -> str:
        """What the picture shows, in a sentence."""
        ends = f"from {self.values[0]:.3g} at {self.over[0]:.3g} to {self.values[-1]:.3g} at {self.over[-1]:.3g}"
        known = f"the check value is {self.expected:.5g} at {self.at:.5g}"
        return f"{self.quantity} over {self.argument}: {ends}; {known}."

    def svg(self) -> bytes:
        """Draw the line; the ring is the check value."""

        def draw(axes: Axes) -> None:
            axes.plot(self.over, self.values, color=style.ACCENT, linewidth=2)
            axes.plot(self.at, self.expected, "o", markersize=8, markerfacecolor="none", color=style.INK)
            axes.set_xlabel(self.argument, parse_math=False)
            axes.set_ylabel(self.quantity, parse_math=False)

        return as_svg(draw, HEIGHT_INCH)


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
    checks = (one for check in entry.checks for one in _one_by_one(check) if not getattr(one, "compare", ""))
    curves = (_curve(check, name) for check in checks for name, value in check.inputs.items() if can_vary(value))
    return next((found for found in curves if found is not None), None)


def _one_by_one(check: Check) -> Iterator[Check]:
    """Give a check of one number as it is; one of a row, number by number with the inputs of each; other lists stay."""
    if is_number(check.expected):
        yield check
        return
    row = check.expected if isinstance(check.expected, list) else []
    for at, expected in enumerate(row):
        lists = {name: value for name, value in check.inputs.items() if isinstance(value, list)}
        each = {name: value for name, value in lists.items() if len(value) == len(row)}
        if each or not lists:
            yield replace(check, expected=expected, inputs={**check.inputs, **{name: each[name][at] for name in each}})


def can_vary(value: Any) -> bool:
    """Whether an input is a number above 0, which can be varied about itself."""
    return is_number(value) and value > 0


def _curve(check: Check, name: str) -> Curve | None:
    at = check.inputs[name]
    over = about(at)
    results = run(replace(check, inputs={**check.inputs, name: value}) for value in over)
    if not results["passed"][over.index(at)]:  # a row that is one argument, of which no number stands for itself
        return None
    points = {value: got for value, got in zip(over, results["got"], strict=True) if is_number(got)}
    values = tuple(points.values())
    if len(values) < LEAST_POINTS or np.ptp(values) <= SAME * np.abs(values).max():
        return None
    return Curve(argument_label(name), quantity_label(check), tuple(points), values, at, check.expected)


def about(at: float) -> list[float]:
    """Give values about one, whole ones about a whole one: it may count cards."""
    if isinstance(at, int):
        top = max(at * TIMES, LEAST_TOP)
        return sorted({round(value) for value in np.linspace(max(1, at / TIMES), top, POINTS)} | {at})
    return sorted({*np.geomspace(at / TIMES, at * TIMES, POINTS).tolist(), at})


def is_number(value: Any) -> bool:
    """Whether a value is one finite number."""
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
