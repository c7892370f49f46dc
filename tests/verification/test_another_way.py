"""Rows that another way finds are found again by it: what a row expects does not come from the model."""

from typing import Any

import numpy as np

from edgestore.verification import Check, own_check_files, read_checks
from tests.verification.another_way import ANOTHER_WAY, shares

ROWS = [check for check in read_checks(own_check_files()) if "another_way.py" in check.how]


def one_by_one(check: Check) -> list[dict[str, Any]]:
    """Give the inputs of a row one number each, where lists run along with each other; numbers of a law stay whole."""
    lists = {n: v for n, v in check.inputs.items() if isinstance(v, list) and n not in ("numbers", "names", "cvs")}
    length = max(map(len, lists.values()), default=1)
    return [
        {name: lists[name][place] if name in lists else value for name, value in check.inputs.items()}
        for place in range(length)
    ]


def found(check: Check) -> Any:
    """Give what another way finds for a row."""
    if check.quantity == "lognormal_product_shares":
        return shares(check.inputs["cvs"], of_all=check.part == "total")
    return np.squeeze([ANOTHER_WAY[check.quantity](**inputs) for inputs in one_by_one(check)])


def test_each_of_these_rows_is_found_again_another_way() -> None:
    differ = {
        f"{check.file}: {check.fact}": (check.expected, found(check))
        for check in ROWS
        if not np.allclose(found(check), check.expected, rtol=0, atol=check.tolerance + 1e-9)
    }
    assert differ == {}


def test_each_way_is_that_of_a_row_and_such_a_row_is_recomputed() -> None:
    assert {check.quantity for check in ROWS} == ANOTHER_WAY.keys() | {"lognormal_product_shares"}
    assert {check.kind for check in ROWS} == {"recomputed"}
