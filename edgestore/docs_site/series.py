"""The pictures of models about what follows one another: data that go in, pages that come out, windows of time."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, partial
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from edgestore.docs_site.curves import HEIGHT_INCH, is_number
from edgestore.docs_site.entries import Entry
from edgestore.docs_site.svg import as_svg
from edgestore.docs_site.words import argument_label, quantity_label
from edgestore.figures import style
from edgestore.verification import run

LEAST = 24
"""So many writes are drawn."""

LEAST_DATA = 64
"""So many numbers are data, of which a picture says something."""


@dataclass(frozen=True)
class Drawn:
    """A picture with its words; what it draws is in ``draw``."""

    alt_text: str
    caption: str
    draw: Callable[[Axes], None]

    def svg(self) -> bytes:
        """The picture; the same bytes each time."""
        return as_svg(self.draw, HEIGHT_INCH)


@cache
def series(entry: Entry) -> Drawn | None:
    """Give the data of a check value from which a model finds something; None where a check states no data."""
    for check in entry.checks:
        data = {name: value for name, value in check.inputs.items() if _is_data(value)}
        if not data or not is_number(check.expected):
            continue
        name, values = list(data.items())[-1]
        over = next(iter(data.values())) if len(data) > 1 else list(range(1, len(values) + 1))
        across = argument_label(next(iter(data))) if len(data) > 1 else "Step"
        of, found = argument_label(name), f"{quantity_label(check)}: {check.expected:g}"
        reach = f"{len(values)} numbers from {min(values):g} to {max(values):g}"
        return Drawn(
            f"{of} over {across}, {reach}. {found}.",
            f"Data of a check value. {found}.",
            partial(_line, over=over, values=values, words=(across, of)),
        )
    return None


@cache
def steps(entry: Entry) -> Drawn | None:
    """Give what a model writes, write by write, for longer than its check value; None for one that counts none."""
    for check in entry.checks:
        if "count" not in check.inputs or not isinstance(check.expected, list) or len(set(check.expected)) < 2:
            continue
        got = run([replace(check, inputs={**check.inputs, "count": LEAST})]).iloc[0]["got"]
        pages = np.ravel(got).tolist()
        if len(pages) != LEAST or pages[: len(check.expected)] != check.expected:
            return None
        return Drawn(
            f"Pages in the order of {LEAST} writes: {', '.join(f'{page:g}' for page in pages)}.",
            f"Drawn by the library; the first {len(check.expected)} writes are a check value.",
            partial(_line, over=range(1, LEAST + 1), values=pages, words=("Write", "Page")),
        )
    return None


@cache
def windows(entry: Entry) -> Drawn | None:
    """Give windows of time with the visits that meet all of them; None for a model of anything else."""
    for check in entry.checks:
        opens, closes = check.inputs.get("opens_years"), check.inputs.get("closes_years")
        if check.part != "at_years" or not isinstance(opens, list) or not isinstance(closes, list):
            continue
        spans = list(zip(opens, closes, strict=True))

        def draw(axes: Axes, spans: Any = spans, visits: Any = check.expected) -> None:
            for row, (start, end) in enumerate(spans):
                axes.plot([start, end], [row, row], color=style.ACCENT, linewidth=6, solid_capstyle="butt")
            for at in visits:
                axes.axvline(at, color=style.INK, linewidth=1)
            axes.set_yticks(range(len(spans)), [f"Card {row + 1}" for row in range(len(spans))])
            axes.invert_yaxis()
            axes.set_xlabel("Age (years)")

        told = "; ".join(f"card {n} from {start:g} to {end:g}" for n, (start, end) in enumerate(spans, 1))
        visits = ", ".join(f"{at:g}" for at in check.expected)
        return Drawn(
            f"Windows of years: {told}. Visits after {visits} years meet each.",
            "A check value: the lines are the visits.",
            draw,
        )
    return None


def _is_data(value: Any) -> bool:
    return isinstance(value, list) and len(value) >= LEAST_DATA and all(map(is_number, value))


def _line(axes: Axes, *, over: Any, values: Any, words: tuple[str, str]) -> None:
    axes.plot(over, values, ".-", color=style.ACCENT, linewidth=1)
    axes.set_xlabel(words[0], parse_math=False)
    axes.set_ylabel(words[1], parse_math=False)
