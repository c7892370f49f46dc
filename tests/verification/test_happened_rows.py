"""What happened at a site is held to outside values: every input is varied, and a slip in the arithmetic is noticed."""

import inspect
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from edgestore import verification
from edgestore.answers import achieved
from edgestore.plan import happened, verdicts, what_happened
from edgestore.verification import read_checks, run
from edgestore.verification.quantities import CHECKABLE

FILE = Path(verification.__file__).parent / "checks" / "happened_varied.toml"
CHECKS = read_checks([FILE])


def noticed(column: str) -> bool:
    """Whether a row of a column fails now by its value."""
    rows = [check for check in CHECKS if check.inputs["column"] == column and not check.compare]
    return any(not run([check]).iloc[0].passed for check in rows)


def test_each_input_is_varied_by_a_row() -> None:
    names = set(inspect.signature(CHECKABLE["happened_at_site"]).parameters)
    pairs = [(one, other) for one in CHECKS for other in CHECKS if one.expected != other.expected]
    differ = [{name for name in names if one.inputs.get(name) != other.inputs.get(name)} for one, other in pairs]
    alone = {name for of in differ for name in of if len(of) == 1}  # one input differs, and what is expected
    assert alone | {name for check in CHECKS for name in check.changed} == names


def _no_history(said: Any, *args: Any, **more: Any) -> Any:
    return right_achieved(replace(said, spells=None), *args, **more)


def _all_held(said: Any, fitted: Any, recording: Any, **more: Any) -> Any:
    return right_achieved(said, fitted, recording, **{**more, "most_h": np.inf})


right_achieved = achieved.achieved


@pytest.mark.parametrize(
    ("where", "name", "wrong", "column"),
    [
        (happened, "achieved", _no_history, "follows_mbit_s"),
        (happened, "achieved", _all_held, "verdict"),
        (happened, "footage_sigma", lambda *_: np.array([0.1]), "follows_low_mbit_s"),
        (happened, "bitrate_mbit_s_for_retention", lambda held, gb, **_: gb / held / 0.45, "follows_mbit_s"),
        (verdicts, "most_locked_gb", lambda *_, **__: 50.0, "locked_gb"),
        (what_happened, "expected_failures", lambda site, card: site.records[card].failed.sum(), "expected_failures"),
        (what_happened, "learnt_site", lambda site, _: site, "mean_now_mbit_s"),
    ],
    ids=[
        "the history ignored",
        "MaximumRetentionTime ignored",
        "another doubt about the footage",
        "the usable part ignored",
        "locked clips by the whole card",
        "failures seen told as expected",
        "nothing learnt",
    ],
)
def test_a_slip_is_noticed(
    where: Any, name: str, wrong: Callable[..., Any], column: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(where, name, wrong)
    assert noticed(column)


def test_a_band_that_is_ignored_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    right = verdicts.Planned.within
    monkeypatch.setattr(verdicts.Planned, "within", lambda self, _: right(self, 0.8))
    assert noticed("planned_low_h")
