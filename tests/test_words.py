"""The words that users read: turns of phrase that a native engineer would not write stand in no string and no page."""

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[1]

ODD = {
    r"\b[Tt]ake care\b": "Warning:",
    r"\bMend\b": "Fix:",
    r"\bto be had\b": "available",
    r"\ba year and camera\b": "per camera and year",
    r"\bfound -": "is -24 h",
    r"\b(?:found|is) No such file\b": "no such file",
    r"\bin place of \d": "against, or instead of",
    r"\bto one of \d[\d.]* of it\b": "at 44 % of the cap",
    r"\bis away\b": "is down",
    r"\bgoes before\b": "takes precedence over",
    r"\b(?:tells|told) what has happened\b": "holds no future dates",
    r"\bwith the cap alone known\b": "if only the cap were known",
    r"\bnot sure to hold the days:": "retention not assured",
    r"\bthe one before\b": "the previous one",
    r"\bworth a visit, since\b": "worth the effort, since",
}
"""What is not written, as a pattern, and what is written instead (`docs/terms.md`)."""

PAGES = (
    *sorted((HOUSE / "notebooks").glob("*.ipynb")),
    *(HOUSE / name for name in ("README.md", "data/README.md", "docs/models.md", "docs/safety.md", "docs/terms.md")),
)


def shown(file: Path) -> Iterator[tuple[str, str]]:
    """Give place and text of what a file says to a user: literals of a module, prose of a page, all of the rest."""
    text = file.read_text(encoding="utf-8")
    if file.suffix == ".py":
        tree = ast.parse(text)
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield f"{file.relative_to(HOUSE)}:{node.lineno}", node.value
    elif file.suffix == ".ipynb":
        for at, cell in enumerate(json.loads(text)["cells"]):
            if cell["cell_type"] == "markdown":
                yield f"{file.name}, cell {at}", "".join(cell["source"])
    else:
        yield str(file.relative_to(HOUSE)), text


def odd(text: str) -> list[str]:
    """Give the turns of phrase of a text that are not written, wherever its lines end."""
    flat = " ".join(text.split())
    return [
        f"{found.group()!r}: write {better!r}" for wrong, better in ODD.items() if (found := re.search(wrong, flat))
    ]


QUANTITY_AS_PLURAL = (
    r"[\d}] (?:[GT]i?B|M(?:bit|byte)/s)(?: at (?:a mean of )?\d+ Mbit/s)? (?:are|hold|last|need|take|go|write)\b"
)
"""A quantity takes a singular verb: 64 GB holds 35.6 hours."""


def test_a_quantity_takes_a_singular_verb_in_lessons_exercises_and_pages():
    texts = [*sorted((HOUSE / "edgestore" / "training").rglob("*.toml")), *PAGES]
    said = [(where, found) for file in texts for where, text in shown(file) if (found := _plural(text))]
    assert len(texts) > 40
    assert said == []


@pytest.mark.parametrize("text", ["8 Mbit/s are 1 Mbyte/s", "64 GB hold", "100 TB at 4 Mbit/s are", "{gb} GB are"])
def test_a_plural_verb_after_a_quantity_is_found(text):
    assert _plural(text)


def _plural(text: str) -> list[str]:
    return re.findall(QUANTITY_AS_PLURAL, " ".join(text.split()))


def test_no_module_and_no_page_says_what_a_native_engineer_would_not_write():
    modules = sorted((HOUSE / "edgestore").rglob("*.py"))
    texts = [*sorted((HOUSE / "edgestore" / "training").rglob("*.toml")), *(HOUSE / "edgestore").rglob("*.j2")]
    said = [
        f"{where}: {fault}" for file in (*modules, *texts, *PAGES) for where, text in shown(file) for fault in odd(text)
    ]
    assert len(modules) > 200
    assert said == []


@pytest.mark.parametrize(
    "text",
    [
        "Take care: the card is full.",
        "pe_cycles: found -24; allowed: above 0",
        "cost 70 a year and camera",
        "8.2 hours in place of 9",
        "from a mean at the cap to one of 0.44 of it",
        "the recorder\nis away",
    ],
)
def test_an_odd_turn_of_phrase_is_found(text):
    assert len(odd(text)) == 1
