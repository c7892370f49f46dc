"""How each figure of a proposal was worked out, as ``figures.toml`` states it: formula, source, what it is made of."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from edgestore.plain_file import toml_file

FILE = Path(__file__).with_suffix(".toml")

PART = re.compile(r"\{([^{}]+)\}")
"""What stands in braces in a formula: the name of another figure, or an input as ``camera:cap_mbit_s``."""


MONEY = "currency units"
"""Unit of amounts of money, which the settings name otherwise."""


@dataclass(frozen=True)
class Figure:
    """A figure: its name, meaning and unit, its formula, where that is from, and the file of the pack that states it.

    The file is empty for a step on the way, which only ``edgestore explain`` tells. Where the way depends on the camera
    or its card, ``by`` names what decides, and ``cases`` has the formula for each of its values.
    """

    name: str
    means: str
    unit: str
    source: str
    formula: str = ""
    file: str = ""
    by: str = ""
    cases: Mapping[str, str] = field(default_factory=dict)

    def formula_of(self, case: object) -> str:
        """The formula that holds where ``by`` has this value."""
        return self.cases.get(str(case), "") if self.by else self.formula

    def unit_in(self, currency: str) -> str:
        """The unit, that of an amount of money as the settings name it."""
        return currency if self.unit == MONEY else self.unit

    @property
    def words(self) -> str:
        """All formulas in words."""
        return in_words("; or ".join(dict.fromkeys(self.cases.values()))) if self.by else in_words(self.formula)


def parts_of(formula: str) -> tuple[str, ...]:
    """What stands in braces in a formula, each once."""
    return tuple(dict.fromkeys(PART.findall(formula)))


def in_words(formula: str) -> str:
    """A formula without braces: inputs by their own names, what is asked as such.

    Examples
    --------
    >>> in_words("{camera:cap_mbit_s} x {settings:costs.visit_price}, {wanted:life_years}, {cost}")
    'cap_mbit_s x visit_price, life_years asked, cost'
    """
    return PART.sub(lambda part: _word(*part[1].rpartition(":")[::2]), formula)


def _word(of: str, name: str) -> str:
    return f"{name} asked" if of == "wanted" else name.rpartition(".")[2]


@cache
def figures() -> dict[str, Figure]:
    """Every figure by name, in the order of the file."""
    rows = toml_file(FILE, FILE.name, "the table of figures")["figure"]
    return {
        row["name"]: Figure(**{("file" if key == "in" else key): text for key, text in row.items()}) for row in rows
    }


def stated() -> dict[str, Figure]:
    """Those that a file of the pack states."""
    return {name: figure for name, figure in figures().items() if figure.file}
