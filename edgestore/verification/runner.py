"""Recomputes every check; writes nothing."""

from collections.abc import Iterable
from dataclasses import asdict

import numpy as np
import pandas as pd

from edgestore.verification.check_file import Check, leaves
from edgestore.verification.quantities import Value, recomputed

COLUMNS = (
    *("file", "quantity", "part", "inputs", "changed", "compare", "expected", "got", "tolerance", "unit"),
    *("passed", "kind", "source", "how", "fact"),
)


def run(checks: Iterable[Check]) -> pd.DataFrame:
    """Recompute every check.

    Parameters
    ----------
    checks : iterable of Check
        The checks, from :func:`edgestore.verification.read_checks`.

    Returns
    -------
    DataFrame
        One row a check, with the columns ``COLUMNS``; ``got`` is the message of the error when the model refused or
        failed, and such a check has not passed.

    Notes
    -----
    A check has passed when every number is within the tolerance of its expected number, in the same shape, and
    every text is the expected text. What a check says of a difference or a ratio holds between the quantity for the
    ``changed`` inputs and for the inputs as they stand.

    Examples
    --------
    >>> from edgestore.verification import own_check_files, read_checks
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
    got = _part(check, check.inputs)
    if check.compare:
        after = _part(check, {**check.inputs, **check.changed})
        got = after - got if check.compare == "difference" else after / got
    return got.tolist()


def _part(check: Check, inputs: dict[str, Value]) -> np.ndarray:
    result = recomputed(check.quantity, inputs, check.folder)
    for part in filter(None, check.part.split(".")):
        result = getattr(result, part)
    return np.asarray(result)


def _agrees(got: Value, check: Check) -> bool:
    if np.shape(got) != np.shape(check.expected):
        return False
    if all(isinstance(leaf, str) for leaf in leaves(check.expected)):
        return bool(got == check.expected)
    return bool(np.all(np.abs(np.subtract(got, check.expected, dtype=float)) <= check.tolerance))
