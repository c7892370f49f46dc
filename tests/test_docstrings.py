"""Every public function of the models says what it takes and gives, in which unit, why and where from."""

import importlib
import inspect
import pkgutil
import re

import pytest

from edgestore import models

SECTIONS = ["Parameters", "Returns", "Raises", "Notes", "References", "Examples"]

# The end of a quantity's name and the words of which its description must hold one; the first end that fits counts.
UNIT_WORDS = {
    "_mbit_s": "Mbit/s",
    "_mbyte_s": "Mbyte/s",
    "_gb_day": "GB a day",
    "_tb_year": "TB a year",
    "_bits_per_pixel": "bits/pixel",
    "_per_day": "a day",
    "_per_year": "a year",
    "_per_h": "an hour",
    "_cycles": "cycles",
    "years": "years",
    "_price": "currency",
    "_cost": "currency",
    "_days": "days",
    "_tbw": "TB",
    "_fps": "frames/s",
    "_gb": "GB",
    "_mb": "MB",
    "_px": "pixels",
    "_kib": "KiB",
    "_mib": "MiB",
    "writes": "page numbers",
    "_h": "h|hours",
    "hours": "h|hours",
    "_s": "s",
    "_c": "degrees Celsius",
    # Without a unit of its own: a plain ratio, and it says so.
    "": "fraction|share|ratio|count|hours",
}


def public_functions() -> list:
    modules = [
        importlib.import_module(info.name) for info in pkgutil.iter_modules(models.__path__, f"{models.__name__}.")
    ]
    return [
        pytest.param(function, id=f"{module.__name__}.{name}")
        for module in modules
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    ]


def sections(function) -> dict[str, str]:
    """Split a numpydoc docstring at its underlined headings; the text before the first is the summary."""
    parts = re.split(r"^(\w[\w ]*)\n-+\n", inspect.getdoc(function) or "", flags=re.MULTILINE)
    return {"Summary": parts[0], **dict(zip(parts[1::2], parts[2::2], strict=True))}


def entries(section: str) -> list[tuple[str, str, str]]:
    """Give name, type and description of each argument; names that share a line share the rest."""
    found = []
    for head, text in re.findall(r"^(\S.*)\n((?:(?: +.*)?\n?)*)", section, flags=re.MULTILINE):
        names, _, kind = head.partition(" : ")
        found += [(name.strip(" *"), kind, text) for name in names.split(",")]
    return found


def unit_words(name: str) -> str:
    return next(words for end, words in UNIT_WORDS.items() if name.endswith(end))


def names_a_unit(quantity: str, text: str) -> bool:
    return re.search(rf"(?<![\w/])({unit_words(quantity)})(?![\w/])", text, flags=re.IGNORECASE) is not None


@pytest.mark.parametrize("function", public_functions())
def test_the_docstring_has_every_section_in_order_and_none_is_empty(function):
    found = sections(function)
    assert [heading for heading in found if heading in SECTIONS] == SECTIONS
    assert [heading for heading, text in found.items() if not text.strip()] == []


@pytest.mark.parametrize("function", public_functions())
def test_every_argument_is_described_in_order(function):
    described = [name for name, _, _ in entries(sections(function)["Parameters"])]
    assert described == list(inspect.signature(function).parameters)


@pytest.mark.parametrize("function", public_functions())
def test_every_number_taken_has_its_unit(function):
    without = [
        name
        for name, kind, text in entries(sections(function)["Parameters"])
        if "str" not in kind and not names_a_unit(name, text)
    ]
    assert without == [], f"{function.__name__}: no unit for {without}"


@pytest.mark.parametrize("function", public_functions())
def test_the_number_given_has_its_unit(function):
    quantity = re.sub(r"_(for|from)_[a-z]+$", "", function.__name__)
    text = sections(function)["Returns"]
    assert "of str" in text or names_a_unit(quantity, text), f"{function.__name__}: no unit for what it returns"


@pytest.mark.parametrize("function", public_functions())
def test_the_error_is_named_and_an_example_runs(function):
    found = sections(function)
    assert "InputError" in found["Raises"]
    assert ">>> " in found["Examples"]


def test_the_walk_finds_the_functions():
    names = [param.id for param in public_functions()]
    assert "edgestore.models.retention.retention_h" in names
    assert "edgestore.models.wear.life_years" in names


def no_unit(bitrate_mbit_s):
    """Take something.

    Parameters
    ----------
    bitrate_mbit_s : float
        Rate in kbit/s, not Mbit/second.
    """


def test_a_missing_unit_would_be_found():
    ((name, kind, text),) = entries(sections(no_unit)["Parameters"])
    assert (name, kind) == ("bitrate_mbit_s", "float")
    assert not names_a_unit(name, text)
    assert names_a_unit(name, "Rate, Mbit/s, above 0.")
