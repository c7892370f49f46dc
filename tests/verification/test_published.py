"""A published value says that it was read, and a function without one has its reason in the docs."""

import re
from pathlib import Path

from edgestore.verification import own_check_files, read_checks
from edgestore.verification.quantities import QUANTITIES
from tests.second_reading import drawn

PAGE = Path(__file__).parents[2] / "docs" / "verification_unpublished.md"
PUBLISHED = [check for check in read_checks(own_check_files()) if check.kind == "published"]


def test_each_published_value_says_that_it_was_read() -> None:
    assert [f"{check.file}: {check.fact}" for check in PUBLISHED if not re.search(r"\bread\b", check.source)] == []


def test_at_least_150_values_are_published() -> None:
    assert len(PUBLISHED) >= 150


def test_the_page_gives_a_reason_for_each_function_without_a_published_value() -> None:
    rows = [line for line in PAGE.read_text().splitlines() if line.startswith("| ") and "`" in line]
    named = [name for row in rows for name in re.findall(r"`(\w+)`", row)]
    assert sorted(named) == sorted(QUANTITIES.keys() - {check.quantity for check in PUBLISHED})


def test_a_seed_draws_the_same_published_values_again() -> None:
    assert drawn(2026, 20) == drawn(2026, 20) != drawn(2027, 20)
    assert {check.kind for check in drawn(2026, 20)} == {"published"}
