"""The picture of a model that answers for names: a bar for each of its check values."""

from dataclasses import dataclass
from functools import cache
from itertools import chain
from typing import Any

from matplotlib.axes import Axes

from edgestore.docs_site.curves import is_number
from edgestore.docs_site.entries import Entry
from edgestore.docs_site.svg import as_svg
from edgestore.docs_site.words import quantity_label
from edgestore.figures import style
from edgestore.headings import heading
from edgestore.verification import Check

LEAST = 3
ROW_INCH, REST_INCH = 0.26, 0.9


@dataclass(frozen=True)
class Bars:
    """Check values by name."""

    quantity: str
    values: dict[str, float]
    caption: str = "The check values."

    @property
    def alt_text(self) -> str:
        """What the picture shows, in a sentence."""
        return f"{self.quantity}: {', '.join(f'{name} {value:.4g}' for name, value in self.values.items())}."

    def svg(self) -> bytes:
        """Draw a bar for each name."""

        def draw(axes: Axes) -> None:
            axes.barh(range(len(self.values)), list(self.values.values()), color=style.ACCENT)
            axes.set_yticks(range(len(self.values)), list(self.values), parse_math=False)
            axes.invert_yaxis()
            axes.set_xlabel(self.quantity, parse_math=False)

        return as_svg(draw, REST_INCH + ROW_INCH * len(self.values))


@cache
def bars(entry: Entry) -> Bars | None:
    """Give the check values by name: one check a name, or one for several; None where there are no names."""
    plain = [check for check in entry.checks if not check.compare]
    named = {_name(check): check.expected for check in plain if is_number(check.expected) and _name(check)}
    if len(named) >= LEAST:
        return Bars(quantity_label(plain[0]), named)
    return next((found for check in plain if (found := _of_row(check)) is not None), None)


def _name(check: Check) -> str:
    """Give the texts that a check is about, if it is about texts alone."""
    given = [value if isinstance(value, list) else [value] for value in check.inputs.values()]
    if not all(isinstance(item, str) and not item.startswith("0x") for item in chain(*given)) or _is_hex(check):
        return ""
    return ", ".join(" and ".join(value) for value in given)


def _is_hex(check: Check) -> bool:
    return any(name.endswith("_hex") for name in check.inputs)


def _of_row(check: Check) -> Bars | None:
    """Give one check whose row of numbers has a name for each, or is the chance of each cell."""
    expected = check.expected
    if isinstance(expected, list) and len(expected) == 1 and isinstance(expected[0], list):
        return (
            Bars(quantity_label(check), {f"Cell {n}": v for n, v in enumerate(expected[0], 1)})
            if _long(expected[0])
            else None
        )
    names: Any = next((value for value in check.inputs.values() if _are_texts(value)), None)
    if names and isinstance(expected, list) and len(names) == len(expected) and _long(expected):
        return Bars(quantity_label(check), {heading(name): value for name, value in zip(names, expected, strict=True)})
    return None


def _are_texts(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, str) for item in value)


def _long(values: list[Any]) -> bool:
    return len(values) >= LEAST and all(map(is_number, values))
