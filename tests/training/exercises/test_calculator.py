"""The calculator gives what hand arithmetic gives, and refuses what is no sum."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.checks import InputError
from edgestore.training.exercises.calculator import worked_out


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("2 + 3 × 4", "14"),
        ("(2 + 3) x 4", "20"),
        ("10 - 4 - 3", "3"),
        ("64 : 8 : 2", "4"),
        ("64 ÷ (4 × 0,45)", "35.55555556"),  # 64 / 1.8
        ("-2 * -3", "6"),
        ("0.1 + 0.2", "0.3"),
        (".5+1", "1.5"),
        ("64000000000/1073741824", "59.60464478"),  # 64 x 10^9 / 2^30
    ],
)
def test_a_sum_is_worked_out_as_by_hand(typed, told):
    assert worked_out(typed) == told


@pytest.mark.parametrize(
    "typed", ["", "2 +", "2 3", "(2", "2)", "a", "2 ** 3", "__import__", "1e3", "1.2.3", "9" * 101]
)
def test_what_is_no_sum_is_refused(typed):
    with pytest.raises(InputError, match=r"^sum: "):
        worked_out(typed)


def test_a_division_by_nothing_is_refused():
    with pytest.raises(InputError, match="a division by 0"):
        worked_out("1 / (2 - 2)")


@given(st.text(alphabet="0123456789+-*/()., x", max_size=100))
def test_nothing_that_is_typed_breaks_it(typed):
    with suppress(InputError):
        assert worked_out(typed)
