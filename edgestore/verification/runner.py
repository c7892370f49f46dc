"""Reads check files (TOML, one ``[[check]]`` each) and recomputes every check; writes nothing.

A check names a public function of the models, or a method of one of their laws, its arguments, and the value that it
must give according to somebody else. ``docs/verification.md`` tells a reader how to write one.
"""

import inspect
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import MISSING, asdict, dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any, TypeAlias, get_args, get_origin, get_type_hints

import numpy as np
import pandas as pd

from edgestore import models
from edgestore.checks import Fault, InputError
from edgestore.plain_file import toml_file

Value: TypeAlias = Any
"""A number, a text, or a list of one or the other, as TOML gives it."""

KINDS = ("published", "derived", "recomputed", "common practice, no source", "from memory")


def _is_quantity(thing: Any) -> bool:
    """Whether it is a model whose arguments and answer a file can state: numbers, texts, and laws by their fields."""
    if not (inspect.isfunction(thing) and thing.__module__.startswith(models.__name__)):
        return False
    signature = inspect.signature(thing)
    taken = [parameter.annotation for parameter in signature.parameters.values()]
    result = signature.return_annotation
    return not any(get_origin(kind) in (Mapping, Callable) for kind in taken) and (
        result in (Any, float, int) or get_origin(result) is tuple or is_dataclass(result)
    )


def _public() -> Iterator[tuple[str, Any]]:
    """Give every public thing of the models by its name."""
    for question in models.__all__:
        room = vars(getattr(models, question))
        yield from ((name, thing) for name, thing in room.items() if not name.startswith("_"))


QUANTITIES: dict[str, Callable[..., Any]] = {name: thing for name, thing in sorted(_public()) if _is_quantity(thing)}
"""The quantities that can be checked, among the public functions of the models."""


def _of_thing(make: Callable[..., Any], method: Callable[..., Any]) -> Callable[..., Any]:
    """Give a method of a thing as a function of what makes the thing and of the method's own arguments."""
    makes = inspect.signature(make).parameters
    _, *takes = inspect.signature(method).parameters.values()

    def quantity(**inputs: Value) -> Any:
        thing = make(**{name: value for name, value in inputs.items() if name in makes})
        return method(thing, **{name: value for name, value in inputs.items() if name not in makes})

    parameters = [item.replace(kind=item.KEYWORD_ONLY) for item in (*makes.values(), *takes)]
    # ``inspect`` reads it from there, which the types of a function do not know.
    signature = inspect.signature(method).replace(parameters=parameters)
    quantity.__signature__ = signature  # type: ignore[attr-defined]  # a function may have one, says PEP 362
    quantity.__name__, quantity.__module__ = method.__qualname__, method.__module__
    return quantity


def _methods() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Give the methods of the public laws and things of the models, by ``Class.method`` or ``Class.maker.method``."""
    for name, kind in filter(lambda item: is_dataclass(item[1]), _public()):
        public = {word: thing for word, thing in vars(kind).items() if not word.startswith("_")}
        makers = {f"{name}.{word}": getattr(kind, word) for word, one in public.items() if isinstance(one, classmethod)}
        for maker, make in {name: kind, **makers}.items():
            methods = {word: method for word, method in public.items() if _is_quantity(method)}
            yield from ((f"{maker}.{word}", _of_thing(make, method)) for word, method in methods.items())


CHECKABLE = QUANTITIES | dict(sorted(_methods()))
"""What a check may name: the quantities, and the methods of the laws and other things that the models give."""

COLUMNS = (
    *("file", "quantity", "part", "inputs", "expected", "got", "tolerance", "unit"),
    *("passed", "kind", "source", "how", "fact"),
)


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


PLACE = re.compile(
    r"\b(section|chapter|table|figure|example|equation|page|p\.|abstract|article|announcement)", re.IGNORECASE
)
"""What says where in a source a number is printed."""

FIELDS = {field.name: field.default is MISSING for field in fields(Check) if field.name != "file"}
"""The fields of a check in a file, and whether it must have them."""

TEXT_FIELDS = ("fact", "unit", "source", "part", "how")
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
    >>> read_checks(own_check_files()[:1])[0].quantity in QUANTITIES
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
                checks.append(Check(file=path.name, **table))
    if faults:
        raise InputError(faults)
    return checks


def run(checks: Iterable[Check]) -> pd.DataFrame:
    """Recompute every check.

    Parameters
    ----------
    checks : iterable of Check
        The checks, from :func:`read_checks`.

    Returns
    -------
    DataFrame
        One row a check, with the columns ``COLUMNS``; ``got`` is the message of the error when the model refused or
        failed, and such a check has not passed.

    Notes
    -----
    A check has passed when every number is within the tolerance of its expected number, in the same shape, and
    every text is the expected text.

    Examples
    --------
    >>> bool(run(read_checks(own_check_files()[:1])).passed.all())
    True
    """
    rows = []
    for check in checks:
        try:
            got = _recompute(check)
            passed = _agrees(got, check)
        except Exception as error:  # a check file may call a model in any wrong way; the table tells how it ended
            got, passed = f"{type(error).__name__}: {error}", False
        rows.append({**asdict(check), "got": got, "passed": passed})
    # Objects, so that pandas leaves 40 and 40.0, numbers and texts as they are.
    return pd.DataFrame(rows, columns=list(COLUMNS), dtype=object).astype({"passed": bool, "tolerance": float})


def _recompute(check: Check) -> Value:
    function = CHECKABLE[check.quantity]
    spread, named = _split(function, check.inputs)
    result = function(*spread, **named)
    for part in filter(None, check.part.split(".")):
        result = getattr(result, part)
    return np.asarray(result).tolist()


def _agrees(got: Value, check: Check) -> bool:
    if np.shape(got) != np.shape(check.expected):
        return False
    if all(isinstance(leaf, str) for leaf in _leaves(check.expected)):
        return bool(got == check.expected)
    return bool(np.all(np.abs(np.subtract(got, check.expected)) <= check.tolerance))


def _split(function: Callable[..., Any], inputs: dict[str, Value]) -> tuple[list[Value], dict[str, Value]]:
    """Part the inputs into those of a ``*argument``, which are spread, and those passed by name."""
    parameters = inspect.signature(function).parameters
    inputs = {name: _made(parameters[name].annotation, value) for name, value in inputs.items()}
    star = {p.name for p in parameters.values() if p.kind is p.VAR_POSITIONAL}
    spread = [value for name in star & inputs.keys() for value in np.atleast_1d(inputs[name]).tolist()]
    return spread, {name: value for name, value in inputs.items() if name not in star}


def _made(annotation: Any, value: Value) -> Value:
    """Make what a table of its fields stands for, as a law of life; give any other value as it is."""
    if not isinstance(value, dict):
        return value
    kind = _kind(annotation, value)
    annotations = get_type_hints(kind)
    return kind(**{name: _made(annotations[name], item) for name, item in value.items()})


def _kinds(annotation: Any) -> list[Any]:
    """Give the classes that an argument may be, and that a table of their fields can state."""
    named = get_args(annotation) or (annotation,)
    every = [kind for name in named if inspect.isclass(name) for kind in (name, *name.__subclasses__())]
    return [kind for kind in every if is_dataclass(kind)]


def _kind(annotation: Any, table: dict[str, Value]) -> Any:
    """Give the class, of those that an argument may be, whose fields a table names; None when it is none of them."""
    known = (kind for kind in _kinds(annotation) if table and table.keys() <= {field.name for field in fields(kind)})
    return next(known, None)


def _is_thing(annotation: Any, table: dict[str, Value]) -> bool:
    """Whether a table states a law or another thing whole: its fields by their names, each a value or a thing."""
    kind = _kind(annotation, table)
    if kind is None:
        return False
    annotations = get_type_hints(kind)
    return all(
        _is_thing(annotations[name], value) if isinstance(value, dict) else _is_value(value)
        for name, value in table.items()
    )


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
    for name in [name for name, needed in FIELDS.items() if needed and name not in table]:
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
    if "expected" in table and not _is_value(table["expected"]):
        yield f"expected = {table['expected']!r}", VALUE_FORM
    tolerance = table.get("tolerance", 0)
    if not (_is_number(tolerance) and tolerance >= 0):
        yield f"tolerance = {tolerance!r}", "a number, 0 or more, in the unit of the expected value"
    if "quantity" in table:
        if table["quantity"] in list(CHECKABLE):
            yield from _call_faults(CHECKABLE[table["quantity"]], table)
        else:
            yield f"quantity = {table['quantity']!r}", ", ".join(CHECKABLE)


def _call_faults(function: Callable[..., Any], table: dict[str, Value]) -> Iterator[tuple[str, str]]:
    """Say what is wrong with the arguments of a check and with the part of the result that it asks for."""
    signature = inspect.signature(function)
    result = signature.return_annotation
    parts = list(_parts(result)) or [""]
    if table.get("part", "") not in parts:
        found = f"part = {table['part']!r}" if "part" in table else "no field 'part'"
        yield found, ", ".join(filter(None, parts)) or f"no part: {function.__name__} gives one thing"
    inputs = table.get("inputs", {})
    if not isinstance(inputs, dict):
        yield f"inputs = {inputs!r}", "a table of arguments"
        return
    for name in [name for name in inputs if name not in signature.parameters]:
        allowed = f"the arguments of {function.__name__}: {', '.join(signature.parameters)}"
        yield f"unknown argument {name!r}", allowed
    for name, parameter in signature.parameters.items():
        if "inputs" in table and parameter.default is parameter.empty and name not in inputs:
            yield f"no argument {name!r}", f"a value for it, which {function.__name__} needs"
    for name, value in inputs.items():
        if isinstance(value, dict) and name in signature.parameters:
            annotation = signature.parameters[name].annotation
            if not _is_thing(annotation, value):
                words = "; ".join(", ".join(field.name for field in fields(kind)) for kind in _kinds(annotation))
                yield f"{name} = {value!r}", f"a table of {words}" if words else VALUE_FORM
        elif not _is_value(value):
            yield f"{name} = {value!r}", VALUE_FORM


def _parts(result: Any) -> Iterator[str]:
    """Give the parts of a result by their names, and the parts of a part as ``part.part``."""
    for name, kind in get_type_hints(result).items() if is_dataclass(result) else ():
        yield from (f"{name}.{part}" for part in _parts(kind)) if is_dataclass(kind) else (name,)


def _is_value(value: Value) -> bool:
    leaves = list(_leaves(value))
    try:
        np.shape(value)
    except ValueError:  # rows of different lengths
        return False
    return bool(leaves) and (all(map(_is_number, leaves)) or all(isinstance(leaf, str) for leaf in leaves))


def _is_number(value: Value) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and abs(value) <= sys.float_info.max


def _leaves(value: Value) -> Iterator[Value]:
    if isinstance(value, list):
        for item in value:
            yield from _leaves(item)
    else:
        yield value
