"""The form of check files (TOML, one ``[[check]]`` each): what a check states, and what is wrong with one."""

import inspect
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

import numpy as np

from edgestore.checks import Fault, InputError
from edgestore.plain_file import toml_file
from edgestore.units import PERCENT_PER_ONE
from edgestore.verification.quantities import CHECKABLE, Value, is_thing, kinds, parts

KINDS = ("published", "derived", "recomputed", "common practice, no source", "from memory")


@dataclass(frozen=True)
class Check:
    """One outside value, as its file states it; ``expected`` and ``tolerance`` are in ``unit``."""

    file: str
    fact: str
    quantity: str
    inputs: dict[str, Value]
    expected: Value
    tolerance: float
    unit: str
    kind: str
    source: str
    part: str = ""
    how: str = ""
    changed: dict[str, Value] = field(default_factory=dict)
    compare: str = ""
    folder: Path = Path()


PLACE = re.compile(
    r"\b(section|chapter|table|figure|example|equation|page|p\.|abstract|article|announcement)", re.IGNORECASE
)
"""What says where in a source a number is printed."""

NEEDED = ("fact", "quantity", "inputs", "unit", "kind", "source")
"""What every check must have in its file, beside its value."""

FIELDS = (
    *("fact", "quantity", "inputs", "changed", "compare", "expected", "tolerance", "tolerance_percent", "range"),
    *("unit", "kind", "source", "part", "how"),
)
"""What a check may have in its file."""

TEXT_FIELDS = ("fact", "unit", "source", "part", "how")
COMPARED = ("difference", "ratio")
MOST_TOLERANCE_PERCENT = 10.0
"""What lets more pass proves too little (our choice)."""

LEAST_TOLERANCE = 1e-6
"""Allowed whatever is expected, so that a 0 may be missed by rounding (our choice)."""

VALUE_FORM = "a finite number, a text, or a list of one or the other"


def own_check_files() -> list[Path]:
    """Give the check files that belong to the library, one a question."""
    return sorted((Path(__file__).parent / "checks").rglob("*.toml"))


def read_checks(files: Iterable[Path | str]) -> list[Check]:
    """Read check files, or say everything that is wrong with them.

    Parameters
    ----------
    files : iterable of Path or str
        TOML files, each with one ``[[check]]`` or more.

    Returns
    -------
    list of Check
        All checks, in the order of the files.

    Raises
    ------
    InputError
        With every fault of every file, each named by its file and the number of its check.

    Examples
    --------
    >>> read_checks(own_check_files()[:1])[0].quantity in CHECKABLE
    True
    """
    checks: list[Check] = []
    faults: list[Fault] = []
    for path in map(Path, files):
        try:
            tables = _tables(path)
        except InputError as error:
            faults += error.faults
            continue
        for number, table in enumerate(tables, start=1):
            found = [Fault(f"{path}, check {number}", *words) for words in _faults(table)]
            faults += found
            if not found:
                checks.append(Check(file=path.name, folder=path.parent, **_with_value(table)))
    if faults:
        raise InputError(faults)
    return checks


def _tables(path: Path) -> list[dict[str, Value]]:
    """Give the ``[[check]]`` tables of one file as they are written."""
    form = "a TOML file of [[check]] tables and nothing else"
    content = toml_file(path, str(path), form)
    tables = content.get("check")
    whole = isinstance(tables, list) and tables and all(isinstance(table, dict) for table in tables)
    if not whole or len(content) > 1:
        found = ", ".join(content) or "nothing"
        raise InputError([Fault(str(path), found, form, "Begin each check with a line [[check]].")])
    return list(content["check"])


def _faults(table: dict[str, Value]) -> Iterator[tuple[str, str]]:
    """Say what is wrong with one check: what was found, what is allowed."""
    for name in [name for name in table if name not in FIELDS]:
        yield f"unknown field {name!r}", ", ".join(FIELDS)
    for name in [name for name in NEEDED if name not in table]:
        yield f"no field {name!r}", "a value for it"
    for name in [name for name in TEXT_FIELDS if name in table]:
        if not isinstance(table[name], str) or not table[name].strip():
            yield f"{name} = {table[name]!r}", "a text"
    if table.get("kind", KINDS[0]) not in KINDS:
        yield f"kind = {table['kind']!r}", "; ".join(KINDS)
    if table.get("kind") in ("derived", "recomputed") and "how" not in table:
        yield f"a {table['kind']} value without 'how'", "how it was computed, independently of this library"
    source = table.get("source")
    if table.get("kind") == "published" and isinstance(source, str) and not PLACE.search(source):
        found = f"a published value without its place in source = {source!r}"
        yield found, "a section, table, figure, equation or page; without one the value is derived, or from memory"
    yield from _value_faults(table)
    if ("changed" in table) != ("compare" in table):
        lacking = "compare" if "changed" in table else "changed"
        yield f"no field {lacking!r}", "changed, the inputs that differ, and compare, a difference or ratio, together"
    if "compare" in table and table["compare"] not in COMPARED:
        yield f"compare = {table['compare']!r}", "; ".join(COMPARED)
    if "quantity" in table:
        if table["quantity"] in list(CHECKABLE):
            yield from _call_faults(CHECKABLE[table["quantity"]], table)
        else:
            yield f"quantity = {table['quantity']!r}", ", ".join(CHECKABLE)


def _value_faults(table: dict[str, Value]) -> Iterator[tuple[str, str]]:
    """Say what is wrong with the value that a check expects, and with how far it may be missed."""
    if "range" in table:
        ends = table["range"]
        if not (isinstance(ends, list) and len(ends) == 2 and all(map(_is_number, ends)) and ends[0] < ends[1]):
            yield f"range = {ends!r}", "two numbers, the lower first"
        elif table.get("kind") != "published":
            yield f"a range of the kind {table.get('kind')!r}", "a range that a source prints, kind = 'published'"
        if other := [name for name in ("expected", "tolerance", "tolerance_percent") if name in table]:
            yield f"range beside {', '.join(other)}", "a range alone, or expected and a tolerance"
        return
    if "expected" not in table:
        yield "no field 'expected'", "a value for it, or a range"
    elif not _is_value(table["expected"]):
        yield f"expected = {table['expected']!r}", VALUE_FORM
    if ("tolerance" in table) == ("tolerance_percent" in table):
        found = "tolerance and tolerance_percent" if "tolerance" in table else "no field 'tolerance'"
        yield found, "one of tolerance, in the unit of the expected value, and tolerance_percent"
        return
    name, most = ("tolerance", _most_tolerance(table)) if "tolerance" in table else ("tolerance_percent", None)
    tolerance = table[name]
    if not (_is_number(tolerance) and tolerance >= 0):
        unit = "in the unit of the expected value" if name == "tolerance" else "in percent of the expected value"
        yield f"{name} = {tolerance!r}", f"a number, 0 or more, {unit}"
    elif most is None and tolerance > MOST_TOLERANCE_PERCENT:
        yield f"tolerance_percent = {tolerance!r} of {table.get('fact')!r}", f"at most {MOST_TOLERANCE_PERCENT:g}"
    elif most is not None and tolerance > most:
        found = f"tolerance = {tolerance!r} of {table.get('fact')!r}"
        yield found, f"at most {most:g}, {MOST_TOLERANCE_PERCENT:g} % of the expected value"


def _largest(expected: Value) -> float:
    """Give the largest number of an expected value, by size; 0 for a text."""
    return max((abs(leaf) for leaf in leaves(expected) if _is_number(leaf)), default=0.0)


def _most_tolerance(table: dict[str, Value]) -> float:
    return max(_largest(table.get("expected")) * MOST_TOLERANCE_PERCENT / PERCENT_PER_ONE, LEAST_TOLERANCE)


def _with_value(table: dict[str, Value]) -> dict[str, Value]:
    """Give a faultless check with its range or its tolerance in percent as expected value and tolerance."""
    table = dict(table)
    if "range" in table:
        low, high = table.pop("range")
        table |= {"expected": (low + high) / 2, "tolerance": (high - low) / 2}
    elif "tolerance_percent" in table:
        table["tolerance"] = table.pop("tolerance_percent") / PERCENT_PER_ONE * _largest(table["expected"])
    return table


def _call_faults(function: Callable[..., Any], table: dict[str, Value]) -> Iterator[tuple[str, str]]:
    """Say what is wrong with the arguments of a check and with the part of the result that it asks for."""
    signature = inspect.signature(function)
    named = list(parts(signature.return_annotation)) or [""]
    if table.get("part", "") not in named:
        found = f"part = {table['part']!r}" if "part" in table else "no field 'part'"
        yield found, ", ".join(filter(None, named)) or f"no part: {function.__name__} gives one thing"
    given = {name: table.get(name, {}) for name in ("inputs", "changed")}
    if odd := [name for name, inputs in given.items() if not isinstance(inputs, dict)]:
        yield from ((f"{name} = {given[name]!r}", "a table of arguments") for name in odd)
        return
    for name, parameter in signature.parameters.items():
        if "inputs" in table and parameter.default is parameter.empty and name not in given["inputs"]:
            yield f"no argument {name!r}", f"a value for it, which {function.__name__} needs"
    for name, value in (item for inputs in given.values() for item in inputs.items()):
        if name not in signature.parameters:
            allowed = f"the arguments of {function.__name__}: {', '.join(signature.parameters)}"
            yield f"unknown argument {name!r}", allowed
        if isinstance(value, dict) and name in signature.parameters:
            annotation = signature.parameters[name].annotation
            if not is_thing(annotation, value, _is_value):
                words = "; ".join(", ".join(field.name for field in fields(kind)) for kind in kinds(annotation))
                yield f"{name} = {value!r}", f"a table of {words}" if words else VALUE_FORM
        elif not _is_value(value):
            yield f"{name} = {value!r}", VALUE_FORM


def _is_value(value: Value) -> bool:
    found = list(leaves(value))
    try:
        np.shape(value)
    except ValueError:  # rows of different lengths
        return False
    return bool(found) and (all(map(_is_number, found)) or all(isinstance(leaf, str) for leaf in found))


def _is_number(value: Value) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and abs(value) <= sys.float_info.max


def leaves(value: Value) -> Iterator[Value]:
    """Give the numbers or texts of a value, one by one."""
    if isinstance(value, list):
        for item in value:
            yield from leaves(item)
    else:
        yield value
