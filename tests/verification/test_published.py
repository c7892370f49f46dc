"""A published value says that it was read, and a function without one has its reason in the docs."""

import re
from pathlib import Path

from edgestore.verification import own_check_files, read_checks
from edgestore.verification.check_file import KINDS
from edgestore.verification.quantities import PUBLIC
from edgestore.verification.report import unpublished
from tests.second_reading import drawn

PUBLISHED = [check for check in read_checks(own_check_files()) if check.kind == "published"]


def test_each_published_value_says_that_it_was_read() -> None:
    assert [f"{check.file}: {check.fact}" for check in PUBLISHED if not re.search(r"\bread\b", check.source)] == []


def test_at_least_150_values_are_published() -> None:
    assert len(PUBLISHED) >= 150


def test_each_public_function_has_a_published_value_or_a_reason_and_never_both() -> None:
    reasons = unpublished()
    published = {check.quantity for check in PUBLISHED}
    assert sorted(reasons) == sorted(PUBLIC.keys() - published)


def test_the_page_lists_each_public_function_with_its_number_of_rows_by_kind() -> None:
    page = (Path(__file__).parents[2] / "docs" / "verification.md").read_text(encoding="utf-8")
    table = page.split("## Functions of the models")[1].split("## Results")[0]
    named = {name: cells.split("|")[:5] for name, cells in re.findall(r"(?m)^\| `(\w+)` \|(.*)$", table)}
    assert set(named) == set(PUBLIC)
    counted = [sum(int(cells[place].strip() or 0) for cells in named.values()) for place in range(len(KINDS))]
    checks = [check for check in read_checks(own_check_files()) if check.quantity in PUBLIC]
    assert counted == [sum(check.kind == kind for check in checks) for kind in KINDS]


def test_a_seed_draws_the_same_published_values_again() -> None:
    assert drawn(2026, 20) == drawn(2026, 20) != drawn(2027, 20)
    assert {check.kind for check in drawn(2026, 20)} == {"published"}
