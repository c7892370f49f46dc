"""Words of the axes, with the unit behind them."""

import re
from functools import cache
from pathlib import Path

from edgestore.headings import heading
from edgestore.plain_file import toml_file
from edgestore.verification import Check

PLAIN = ("of 1", "1", "ratio", "chance", "fraction", "of time", "times", "-", "data", "number", "h/h")
"""Units of what is a plain number, which an axis need not name."""


@cache
def _labels() -> dict[str, str]:
    file = Path(__file__).parent / "labels.toml"
    return toml_file(file, file.name, "a TOML file of names and words")


def argument_label(name: str) -> str:
    """Words of an argument, whose name has its unit."""
    return _labels().get(name) or heading(name)


def quantity_label(check: Check) -> str:
    """Words of what a check is about, with the unit of the check where the words have none."""
    name = check.part.rpartition(".")[2] or check.quantity.rpartition(".")[2]
    words = _labels().get(name) or heading(re.sub(r"_(for|from)_[a-z]+$", "", name))
    has_unit = words.endswith((")", check.unit)) or check.unit in PLAIN or check.unit in words.lower()
    return words if has_unit else f"{words} ({check.unit})"
