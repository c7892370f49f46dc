"""Every public function of the models says what it takes and gives, in which unit, why and where from.

What any docstring of the library refers to, by a role or as a dotted or capital name in double backticks, is there.
"""

import importlib
import inspect
import pkgutil
import re

import edgestore
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
    "_tb": "TB",
    "_fps": "frames/s",
    "_gb": "GB",
    "_mb": "MB",
    "_px": "pixels",
    "_kib": "KiB",
    "_mib": "MiB",
    "_bytes": "bytes",
    "writes": "page numbers",
    "_h": "h|hours",
    "hours": "h|hours",
    "_s": "s",
    "_c": "degrees Celsius",
    # Without a unit of its own: a plain ratio, and it says so.
    "": "fraction|share|ratio|count|hours",
}


def public_functions() -> dict:
    found = (info.name for info in pkgutil.walk_packages(models.__path__, f"{models.__name__}."))
    modules = [importlib.import_module(name) for name in found if not name.rpartition(".")[2].startswith("_")]
    return {
        f"{module.__name__}.{name}": function
        for module in modules
        for name, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__ and not name.startswith("_")
    }


FUNCTIONS = public_functions()


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


REFERENCE = re.compile(r":(?:func|class|mod|meth|attr|data):`([\w.]+)`|``(edgestore\.[\w.]+|[A-Z]{3}[A-Z_]*[A-Z])``")
NO_NAMES = {"TIAS"}
"""Words of standards in double backticks."""


def documented() -> list:
    """Give every module of the library, its own classes and functions: module, class or the thing itself, thing."""
    found = []
    for info in pkgutil.walk_packages(edgestore.__path__, "edgestore."):
        if info.name.endswith("__main__"):
            continue
        module = importlib.import_module(info.name)
        own = [thing for _, thing in inspect.getmembers(module, inspect.isroutine)]
        own += [thing for _, thing in inspect.getmembers(module, inspect.isclass)]
        for thing in [module, *(thing for thing in own if thing.__module__ == info.name)]:
            found.append((module, thing, thing))
            if inspect.isclass(thing):
                found += [(module, thing, part) for part in vars(thing).values() if inspect.isfunction(part)]
    return found


def is_there(name: str, *places) -> bool:
    """Whether a name means something: in one of the places that mention it, or with its whole path."""
    if not name.startswith("edgestore."):
        return any(reaches(place, name.split(".")) for place in places)
    parts = name.split(".")
    for length in range(len(parts), 0, -1):
        try:
            return reaches(importlib.import_module(".".join(parts[:length])), parts[length:])
        except ModuleNotFoundError:
            continue
    return False


def reaches(thing, names: list[str]) -> bool:
    for name in names:
        if not hasattr(thing, name) and name not in getattr(thing, "__dataclass_fields__", {}):
            return False
        thing = getattr(thing, name, None)
    return True


def test_what_a_docstring_refers_to_is_there():
    references = [
        (module, owner, role or name)
        for module, owner, thing in documented()
        for role, name in REFERENCE.findall(inspect.getdoc(thing) or "")
    ]
    assert len(references) > 100
    missing = {
        (module.__name__, owner.__name__, name)
        for module, owner, name in references
        if name not in NO_NAMES and not is_there(name, module, owner)
    }
    assert missing == set()


def test_a_name_that_is_not_there_would_be_found():
    assert is_there("edgestore.models.outage.saved.LAWS", models)
    assert not is_there("edgestore.models.outage.repair.LAWS", models)
    assert not is_there("edgestore.no_such_module", models)


def test_the_docstring_has_every_section_in_order_and_none_is_empty():
    for name, function in FUNCTIONS.items():
        found = sections(function)
        assert [heading for heading in found if heading in SECTIONS] == SECTIONS, name
        assert [heading for heading, text in found.items() if not text.strip()] == [], name


def test_every_argument_is_described_in_order():
    for name, function in FUNCTIONS.items():
        described = [argument for argument, _, _ in entries(sections(function)["Parameters"])]
        assert described == list(inspect.signature(function).parameters), name


def test_every_number_taken_has_its_unit():
    without = {
        (name, argument)
        for name, function in FUNCTIONS.items()
        for argument, kind, text in entries(sections(function)["Parameters"])
        if "str" not in kind and not names_a_unit(argument, text)
    }
    assert without == set()


def test_the_number_given_has_its_unit():
    for name, function in FUNCTIONS.items():
        quantity = re.sub(r"_(for|from)_[a-z]+$", "", function.__name__)
        text = sections(function)["Returns"]
        assert "of str" in text or names_a_unit(quantity, text), f"{name}: no unit for what it returns"


def test_the_error_is_named_and_an_example_runs():
    for name, function in FUNCTIONS.items():
        found = sections(function)
        assert "InputError" in found["Raises"], name
        assert ">>> " in found["Examples"], name


def test_the_walk_finds_the_functions():
    assert {"edgestore.models.retention.retention_h", "edgestore.models.wear.endurance.life_years"} <= set(FUNCTIONS)


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
