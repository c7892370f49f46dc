"""One table of a TOML file as its keys declare it: values that can be used, and what is wrong with the others."""

import datetime
import math
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from edgestore.checks import Fault, InputError, in_range, one_of, refuse
from edgestore.inputs.names import has_control
from edgestore.inputs.sheet import shown
from edgestore.inputs.tables import Column

ORDERED = (
    ("retention_days", "retention_days_max", "the retention wanted"),
    ("temperature_low_c", "temperature_high_c", "the lowest temperature"),
)
"""Keys of one table of which the second is not below the first."""

LARGEST = 1e300
"""Whole numbers of any length may stand in the file."""


def read_table(table: Any, keys: Sequence[Column], place: str, faults: list[Fault]) -> dict[str, Any]:
    """Give the values of one table that can be used; put down what is wrong with the others."""
    if not isinstance(table, dict):
        faults.append(
            Fault(place, as_found(table), "a table of keys", f"Write {', '.join(k.name for k in keys)} in it.")
        )
        return {}
    found = unknown_names(table, [key.name for key in keys], f"{place} ", "key")
    values: dict[str, Any] = {}
    for key in keys:
        where = f"{place} {key.name}"
        if key.name in table:
            try:
                values[key.name] = read_value(table[key.name], key, where)
            except InputError as error:
                found += error.faults
        elif key.required:
            mend = "Add it; 0 if it costs nothing." if key.at_least == 0 else "Add it."
            found.append(Fault(where, "nothing", key.help + (key.unit and f", {key.unit}"), mend))
    for low, high, what in ORDERED:
        if low in values and high in values and values[high] < values[low]:
            allowed = f"{values[low]:g} or more, {what}"
            found.append(Fault(f"{place} {high}", f"{values[high]:g}", allowed, "Swap them, or ask for less."))
    faults += found
    return values


def unknown_names(table: Mapping[str, Any], known: Sequence[str], place: str, what: str) -> list[Fault]:
    """Tell which tables or keys nobody knows, and the nearest that is known."""
    faults = []
    for name in (name for name in table if name not in known):
        near = get_close_matches(name.lower(), known, n=1, cutoff=0.6)
        mend = f"Is it {near[0]}?" if near else f"Remove it, or write it as a comment after #; no {what} has this name."
        faults.append(Fault(f"{place}{as_found(name)}", f"an unknown {what}", ", ".join(known), mend))
    return faults


def read_value(value: Any, key: Column, where: str) -> float | str | bool | datetime.date | tuple[float, float]:
    """Give the value of a key, or say why it cannot be used."""
    match key.kind, value:
        case "number", int() | float() if not isinstance(value, bool):
            return _number(value, key, where)
        case "range", [low, high]:
            ends = _number(low, key, f"{where}, lower end"), _number(high, key, f"{where}, upper end")
            if ends[0] > ends[1]:
                raise refuse(where, f"[{ends[0]:g}, {ends[1]:g}]", "the lower end first", "Swap them.")
            return ends
        case "yes-no", bool():
            return value
        case "text", str():
            if has_control(value):
                raise refuse(where, shown(value), "a text on one line, of characters that show", "Type it again.")
            return value.strip()
        case "choice", str():
            return one_of(where, value.strip(), key.words)
        case "date", datetime.date() if not isinstance(value, datetime.datetime):
            return value
    bounds = f"{key.at_least:g} to {key.at_most:g}" if key.kind == "range" else ""
    allowed = {
        "number": f"a number without quotes, {key.unit or 'no unit'}",
        "range": f"[one in ten below, one in ten above], two numbers from {bounds}, {key.unit or 'no unit'}",
        "yes-no": "true or false",
        "text": "a text in quotes",
        "choice": f"in quotes one of {', '.join(key.words)}",
        "date": "a date as 2026-03-15, without quotes",
    }
    raise refuse(where, as_found(value), allowed[key.kind])


def _number(value: Any, key: Column, where: str) -> float:
    """Give a number within the bounds of its key."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise refuse(where, as_found(value), f"a number without quotes, {key.unit or 'no unit'}")
    number = math.inf if abs(value) > LARGEST else float(value)
    above, at_least, at_most = key.above, key.at_least, key.at_most
    return float(in_range(where, number, key.unit, above=above, at_least=at_least, at_most=at_most, mend=key.mend))


def as_found(value: Any) -> str:
    """Write a value of the file for a message."""
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    if isinstance(value, bool):
        return "true" if value else "false"
    return shown(value) if isinstance(value, str) else str(value)
