"""The picture of a model that gives several numbers at once: a line for each, over one argument."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from matplotlib.axes import Axes

from edgestore.docs_site.curves import HEIGHT_INCH, LEAST_POINTS, about, can_vary, is_number
from edgestore.docs_site.entries import Entry
from edgestore.docs_site.svg import as_svg
from edgestore.docs_site.words import argument_label, quantity_label
from edgestore.figures import style
from edgestore.verification import Check, run


@dataclass(frozen=True)
class Lines:
    """What a model gives over one of its arguments, number by number, and the check value on each line."""

    argument: str
    quantity: str
    over: tuple[float, ...]
    rows: tuple[tuple[float, ...], ...]
    at: float
    expected: tuple[float, ...]
    caption: str = "Drawn by the library, a line for each number of the answer; the rings are a check value."

    @property
    def alt_text(self) -> str:
        """What the picture shows, in a sentence."""
        ends = "; ".join(f"from {row[0]:.3g} to {row[-1]:.3g}" for row in self.rows)
        known = ", ".join(f"{value:.5g}" for value in self.expected)
        return (
            f"{self.quantity} over {self.argument}, from {self.over[0]:.3g} to {self.over[-1]:.3g}: {ends}; "
            f"the check values are {known} at {self.at:.5g}."
        )

    def svg(self) -> bytes:
        """Draw the lines; the rings are the check value."""

        def draw(axes: Axes) -> None:
            for row, value in zip(self.rows, self.expected, strict=True):
                axes.plot(self.over, row, color=style.ACCENT, linewidth=2)
                axes.plot(self.at, value, "o", markersize=8, markerfacecolor="none", color=style.INK)
            axes.set_xlabel(self.argument, parse_math=False)
            axes.set_ylabel(self.quantity, parse_math=False)

        return as_svg(draw, HEIGHT_INCH)


@cache
def lines(entry: Entry) -> Lines | None:
    """Vary a number about the check value of which a few numbers lie furthest apart; None where there is none."""
    checks = [one for one in entry.checks if _is_row(one.expected) and not one.compare and "count" not in one.inputs]
    checks.sort(key=lambda check: min(check.expected) / max(check.expected))
    found = (_lines(check, name) for check in checks for name, value in check.inputs.items() if can_vary(value))
    return next((one for one in found if one is not None), None)


def _is_row(value: object) -> bool:
    return isinstance(value, list) and 2 <= len(value) <= 4 and all(map(is_number, value)) and max(value) > 0


def _lines(check: Check, name: str) -> Lines | None:
    at, over = check.inputs[name], about(check.inputs[name])
    results = run(replace(check, inputs={**check.inputs, name: value}) for value in over)
    if not results["passed"][over.index(at)]:
        return None
    points = [
        (value, np.ravel(got))
        for value, got in zip(over, results["got"], strict=True)
        if not isinstance(got, str) and np.size(got) == len(check.expected)
    ]
    values = np.array([got for _, got in points], dtype=float)
    if len(points) < LEAST_POINTS or not np.isfinite(values).all() or not np.ptp(values, axis=0).any():
        return None
    rows = tuple(tuple(row) for row in values.T.tolist())
    return Lines(
        argument_label(name), quantity_label(check), tuple(v for v, _ in points), rows, at, tuple(check.expected)
    )
