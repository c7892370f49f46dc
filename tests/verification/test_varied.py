"""Every input of every public function is varied by a check value, every part of its answer asked for by one.

So to ignore an input, or to get a part wrong, would be noticed.
"""

import inspect
from collections import defaultdict
from dataclasses import fields, is_dataclass
from itertools import combinations
from typing import Any, get_type_hints

import numpy as np

from edgestore.verification import Check, own_check_files, read_checks
from edgestore.verification.quantities import CHECKABLE, PUBLIC

ROWS: dict[str, list[Check]] = defaultdict(list)
for _check in read_checks(own_check_files()):
    ROWS[_check.quantity].append(_check)

NOT_VARIED = {
    "hot_cold_writes seed": "another seed draws other pages, which no source prints",
    "random_writes seed": "another seed draws other pages, which no source prints",
    "random_writes user_pages": "beyond one page the draw decides; tests/models/wear hold it to even shares",
    "repair_law law": "gives a law and no number: the rows of outage_figures state laws by name and vary them",
    "repair_law numbers": "as its law: the rows of outage_figures vary them",
    "sample count": "gives a table of draws; tests/models/uncertainty hold its quantiles to those of the laws",
    "sample inputs": "takes laws by the names that the reader gives them, which a row cannot state",
    "sample seed": "another seed draws other points, which no source prints",
    "simulate_outages seed": "another seed draws other outages; the rows hold one draw to closed forms",
    "simulated_write_amplification_camera user_units": "the amplification has no size in it: a row holds that it stays",
    "simulated_write_amplification_random seed": "another seed draws other writes; the rows hold one to closed forms",
    "sobol_shares count": "takes a function; tests/models/uncertainty hold it to the Ishigami function at two counts",
    "sobol_shares inputs": "takes a function; tests/models/uncertainty hold it to the Ishigami function",
    "sobol_shares model": "takes a function, which a row cannot state; tests/models/uncertainty state three",
    "sobol_shares seed": "another seed draws other points, which no source prints",
    "tornado high": "takes a function, which a row cannot state; tests/models/uncertainty vary it",
    "tornado inputs": "takes a function, which a row cannot state; tests/models/uncertainty vary them",
    "tornado low": "takes a function, which a row cannot state; tests/models/uncertainty vary it",
    "tornado model": "takes a function, which a row cannot state; tests/models/uncertainty state several",
    "write_amplification_camera spare_ratio": "decides only whether a card that maps by page is answered or refused",
}
"""Inputs that no row varies, each with why not."""


def _differs(value: Any) -> bool:
    """Whether an input is a list of different values, and so varies within a row."""
    return isinstance(value, list) and any(item != value[0] for item in value)


def _is_changed_by(check: Check) -> bool:
    """Whether a difference or a ratio is one: 0, or 1, says that the change does nothing."""
    nothing = 0 if check.compare == "difference" else 1
    return bool(check.compare) and bool(np.any(np.asarray(check.expected) != nothing))


def _is_varied(quantity: str, name: str) -> bool:
    """Whether a row changes an input, has it off its default, or two rows differ in it and in what they expect."""
    default = inspect.signature(CHECKABLE[quantity]).parameters[name].default
    for row in ROWS[quantity]:
        is_off_default = default is not inspect.Parameter.empty and row.inputs.get(name, default) != default
        within = _differs(row.inputs.get(name)) and _differs(row.expected)
        if is_off_default or within or (name in row.changed and _is_changed_by(row)):
            return True
    plain = [row for row in ROWS[quantity] if not row.compare]
    return any(
        one.part == other.part
        and one.inputs.get(name, default) != other.inputs.get(name, default)
        and one.expected != other.expected
        for one, other in combinations(plain, 2)
    )


def test_every_input_of_every_public_function_is_varied_or_says_why_not() -> None:
    methods = {name: CHECKABLE[name] for name in ROWS if "." in name}
    checked = PUBLIC | methods
    inputs = [(quantity, name) for quantity, model in checked.items() for name in inspect.signature(model).parameters]
    assert len(inputs) > len(checked) > len(PUBLIC)
    not_varied = {
        f"{quantity} {name}" for quantity, name in inputs if quantity not in CHECKABLE or not _is_varied(quantity, name)
    }
    assert not_varied == set(NOT_VARIED)


NOT_ASKED_FOR = {
    "keeps_up why": "words of our own; tests/models/speed hold them to the cases",
    "simulate erase_counts": "which block is next, the card decides; tests/models/wear hold it to a second program",
    "simulate erase_history": "as the erase counts",
    "simulate_outages lost_h_per_year_by_run": "one draw a run; the rows hold their mean and its standard error",
    "sobol_shares first": "takes a function; tests/models/uncertainty hold it to the Ishigami function",
    "sobol_shares names": "takes a function; tests/models/uncertainty hold it to the Ishigami function",
    "sobol_shares total": "takes a function; tests/models/uncertainty hold it to the Ishigami function",
    "tornado at_medians": "takes a function, which a row cannot state; tests/models/uncertainty state several",
    "tornado swings": "takes a function, which a row cannot state; tests/models/uncertainty state several",
}
"""Parts of answers that no row asks for, each with why not."""


def test_every_part_of_a_models_answer_is_asked_for_or_says_why_not() -> None:
    asked = {f"{quantity} {row.part.split('.')[0]}" for quantity, rows in ROWS.items() for row in rows}
    answers = {quantity: get_type_hints(model)["return"] for quantity, model in PUBLIC.items()}
    parts = {
        f"{quantity} {part.name}"
        for quantity, answer in answers.items()
        if is_dataclass(answer)
        for part in fields(answer)
    }
    assert len(parts) > 150
    assert parts - asked == set(NOT_ASKED_FOR)
