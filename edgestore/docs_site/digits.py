"""The picture of a register: which of its digits each thing that it says is read from, found by changing each digit."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from typing import Any

from matplotlib.axes import Axes

from edgestore.checks import InputError
from edgestore.docs_site.entries import Entry
from edgestore.docs_site.svg import as_svg
from edgestore.figures import style
from edgestore.headings import heading

HEX = "0123456789abcdef"
ROW_INCH, REST_INCH = 0.2, 0.7


@dataclass(frozen=True)
class Digits:
    """A register, and for each thing that it says the places of the digits that change it, from 0 at the left."""

    register: str
    read_from: dict[str, tuple[int, ...]]
    caption: str = "Drawn by the library, which changed each digit of a check value and saw what it reads differently."

    @property
    def alt_text(self) -> str:
        """What the picture shows, in a sentence."""
        told = (
            f"{heading(name)} from {min(places) + 1} to {max(places) + 1}" for name, places in self.read_from.items()
        )
        return f"Digits of {self.register}, counted from the left, by what is read from them: {'; '.join(told)}."

    def svg(self) -> bytes:
        """Draw a row for each thing that is read, with a mark on each of its digits."""

        def draw(axes: Axes) -> None:
            for row, places in enumerate(self.read_from.values()):
                axes.plot([place + 1 for place in places], [row] * len(places), "s", color=style.ACCENT, markersize=5)
            axes.set_yticks(range(len(self.read_from)), [heading(name) for name in self.read_from], parse_math=False)
            axes.invert_yaxis()
            axes.set_xlabel("Digit of the register, from the left")

        return as_svg(draw, REST_INCH + ROW_INCH * len(self.read_from))


@cache
def digits(entry: Entry) -> Digits | None:
    """Find what is read from each digit of a register; None for a thing of the models that reads none."""
    for check in entry.checks:
        inputs = list(check.inputs.items())
        if len(inputs) == 1 and inputs[0][0].endswith("_hex"):
            said = entry.thing(**check.inputs)
            return Digits(inputs[0][0], _read_from(entry.thing, inputs[0][1], said)) if is_dataclass(said) else None
    return None


def _read_from(decoded: Callable[[str], Any], written: str, said: Any) -> dict[str, tuple[int, ...]]:
    places: dict[str, set[int]] = {field.name: set() for field in fields(said)}
    for at, digit in enumerate(written):
        for other in set(HEX) - {digit.lower()}:
            with suppress(InputError):  # a digit that says which form the rest has
                changed = decoded(f"{written[:at]}{other}{written[at + 1 :]}")
                for name, found in places.items():
                    if getattr(changed, name) != getattr(said, name):
                        found.add(at)
    return {name: tuple(sorted(found)) for name, found in places.items() if found}
