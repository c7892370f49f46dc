"""How each figure of a proposal was worked out, as ``figures.toml`` states it: formula, source, what it is made of."""

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from edgestore.plain_file import toml_file

FILE = Path(__file__).with_suffix(".toml")

PART = re.compile(r"\{([^{}]+)\}")
"""What stands in braces in a formula: the name of another figure, or an input as ``camera:cap_mbit_s``."""


@dataclass(frozen=True)
class Figure:
    """A figure: its name, meaning and unit, its formula, where that is from, and the file of the pack that states it.

    The file is empty for a step on the way, which only ``edgestore explain`` tells.
    """

    name: str
    means: str
    unit: str
    formula: str
    source: str
    file: str = ""

    @property
    def parts(self) -> tuple[str, ...]:
        """What stands in braces, each once."""
        return tuple(dict.fromkeys(PART.findall(self.formula)))

    @property
    def words(self) -> str:
        """The formula without braces, inputs by their own names."""
        return PART.sub(lambda part: part[1].partition(":")[2] or part[1], self.formula)


@cache
def figures() -> dict[str, Figure]:
    """Every figure by name, in the order of the file."""
    rows = toml_file(FILE, FILE.name, "the table of figures")["figure"]
    return {row["name"]: Figure(**{("file" if key == "in" else key): text for key, text in row.items()}) for row in rows}


def stated() -> dict[str, Figure]:
    """Those that a file of the pack states."""
    return {name: figure for name, figure in figures().items() if figure.file}
