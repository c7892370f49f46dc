"""The outside values hold, each of them can fail, and a changed conversion factor is noticed."""

import inspect
from collections.abc import Iterator
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

import numpy as np
import pandas as pd
import pytest

import edgestore.models
from edgestore import units
from edgestore.verification import Check, as_markdown, own_check_files, read_checks, run, runner
from edgestore.verification.__main__ import main
from edgestore.verification.check_file import KINDS
from edgestore.verification.quantities import CHECKABLE, QUANTITIES

VARIED = "_varied"
"""How the files end that change the inputs of a question's models one at a time."""

ALL_VARIED = {"lots"}
"""Questions whose models have no input that the rows of their own files leave as it is."""

CHECKS = read_checks(own_check_files())
MODELS = [
    import_module(module.name)
    for module in walk_packages(edgestore.models.__path__, "edgestore.models.")
    if not module.ispkg and not module.name.rpartition(".")[2].startswith("_")
]


def _factors() -> Iterator[tuple[str, str]]:
    """Give every conversion factor of ``units`` that a checked model uses, with its module."""
    checked = {CHECKABLE[check.quantity].__module__ for check in CHECKS}
    for model in MODELS:
        for name, value in vars(units).items():
            if model.__name__ in checked and name.isupper() and name in vars(model) and isinstance(value, float | int):
                yield model.__name__, name


def _spoilt(check: Check) -> Iterator[Check]:
    """Give the check with one of its expected values after another moved beyond the tolerance."""
    if not isinstance(check.expected, list):
        yield replace(check, expected=_moved(check.expected, check))
        return
    for n, value in enumerate(check.expected):
        yield replace(check, expected=[*check.expected[:n], _moved(value, check), *check.expected[n + 1 :]])


def _moved(value: Any, check: Check) -> Any:
    if isinstance(value, list):  # a row of a table
        return [_moved(item, check) for item in value]
    return value + "?" if isinstance(value, str) else value + 2.5 * check.tolerance + 1e-9 * max(abs(value), 1)


def _named(number: int) -> str:
    return f"{CHECKS[number].file}: {CHECKS[number].fact}"


def test_the_library_gives_the_outside_value(own_results: pd.DataFrame) -> None:
    passed = own_results.passed
    assert len(passed) == len(CHECKS)
    assert {_named(n): own_results.loc[n].to_string() for n in range(len(CHECKS)) if not passed[n]} == {}


def test_each_expected_value_fails_when_it_is_moved_beyond_its_tolerance(
    own_results: pd.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried = [(number, one) for number, check in enumerate(CHECKS) for one in (check, *_spoilt(check))]
    got = iter([own_results.got[number] for number, _ in tried])
    monkeypatch.setattr(runner, "_recompute", lambda _: next(got))
    passed = run(one for _, one in tried).passed
    is_right = [one is CHECKS[number] for number, one in tried]
    assert len(tried) > 2 * len(CHECKS)
    assert [_named(tried[place][0]) for place in np.flatnonzero(passed != is_right)] == []


@pytest.mark.parametrize(("model", "factor"), list(_factors()))
def test_a_changed_conversion_factor_makes_checks_fail(
    model: str, factor: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The functions that are checked, not the module by its name: pytest may have imported a doctest's file once more.
    for function in (function for function in QUANTITIES.values() if function.__module__ == model):
        monkeypatch.setitem(inspect.unwrap(function).__globals__, factor, getattr(units, factor) * 1.024)
    question = model.rpartition(".")[0]
    touched = [check for check in CHECKS if CHECKABLE[check.quantity].__module__.startswith(question)]
    assert not all(run([check]).passed.item() for check in touched)  # the first that fails is enough


def test_a_gigabyte_taken_as_binary_makes_the_storage_sums_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("edgestore.models.retention.GB_PER_H_AT_1_MBIT_S", 0.45 * units.GIB_PER_GB)
    failed = run(check for check in CHECKS if check.file == "retention.toml").query("not passed")
    assert {"retention_h", "capacity_gb_for_retention", "bitrate_mbit_s_for_retention"} <= set(failed.quantity)


def test_every_public_function_of_the_models_has_an_outside_value() -> None:
    assert set(QUANTITIES) - {check.quantity for check in CHECKS} == set()


def test_every_check_of_the_files_is_read_and_every_kind_is_among_them() -> None:
    written = sum(file.read_text(encoding="utf-8").splitlines().count("[[check]]") for file in own_check_files())
    assert len(CHECKS) == written > len(QUANTITIES)
    assert {check.kind for check in CHECKS} == set(KINDS)


def test_what_a_model_module_only_imports_is_no_quantity() -> None:
    assert "dataclass" not in QUANTITIES
    whole = {"holding", "lasting", "certainty", "upkeep", "saving", "plan_of_site", "happened_at_site", "clip"}
    beside = {name for name, function in CHECKABLE.items() if not function.__module__.startswith("edgestore.models")}
    assert beside == whole


def test_the_saying_about_32_gb_stands_beside_the_arithmetic() -> None:
    # 32e9 bytes x 8 bits / 4e6 bit/s = 64 000 s = 17.78 h; 40 h need 32e9 x 8 / 144 000 s = 1.78 Mbit/s
    said = {
        (check.quantity, tuple(check.inputs.values())): check.expected
        for check in CHECKS
        if not any(isinstance(value, list | dict) for value in check.inputs.values())
    }
    assert said["retention_h", (32, 4)] == pytest.approx(17.78, abs=0.005)
    assert said["bitrate_mbit_s_for_retention", (40, 32)] == pytest.approx(1.78, abs=0.005)


def test_a_check_names_no_file_of_this_machine() -> None:
    assert not [check for check in CHECKS if check.source.startswith(("/", "~"))]


def test_the_page_of_check_values_is_up_to_date(own_results: pd.DataFrame) -> None:
    page = Path(__file__).parents[2] / "docs" / "verification.md"
    command = "python -m edgestore.verification docs/verification.md"
    assert page.read_text(encoding="utf-8") == as_markdown(own_results), f"write it anew: {command}"


def test_the_command_that_writes_the_page_says_in_a_line_that_a_folder_is_no_page(
    tmp_path: Path, own_results: pd.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("edgestore.verification.__main__.run", lambda checks: own_results)
    with pytest.raises(SystemExit, match="found a folder of that name; allowed: a file, or nothing yet"):
        main([str(tmp_path)])
    assert not list(tmp_path.iterdir())


def test_the_checks_travel_with_the_package() -> None:
    package = Path(inspect.getfile(edgestore)).parent
    assert all(file.is_relative_to(package) for file in own_check_files())
    of_models = {file.stem for file in own_check_files() if not file.stem.endswith(VARIED)}
    assert of_models == {model.__name__.rpartition(".")[2] for model in MODELS}
    of_questions = {file.stem.removesuffix(VARIED) for file in own_check_files() if file.stem.endswith(VARIED)}
    assert of_questions == set(edgestore.models.__all__) - ALL_VARIED | {"answers", "happened", "site"}


# What these sources print is a rule, the numbers that go in, or a rounded answer.
NOT_PRINTED = ["901.1", "3.5955", "0.01799", "0.070419", "2.456"]


def test_what_follows_from_a_printed_rule_or_number_is_not_called_published() -> None:
    by_rule = [check for check in CHECKS if check.quantity in ("guaranteed_write_mbyte_s", "implied_marks")]
    assert {check.kind for check in by_rule} == {"derived"}
    stated = {str(np.atleast_1d(check.expected)[0]): check.kind for check in CHECKS}
    assert {stated[number] for number in NOT_PRINTED} == {"derived"}
