"""The outside check values as tests, one each: a trial runs those alone that reach its mutant."""

import pytest

from edgestore.verification import own_check_files, read_checks, run

CHECKS = read_checks(own_check_files())


@pytest.mark.parametrize("number", range(len(CHECKS)), ids=[f"{check.quantity}: {check.fact}" for check in CHECKS])
def test_the_library_gives_the_outside_value(number: int) -> None:
    assert run([CHECKS[number]]).passed.all()
