"""The argument checks: what they give back, and what their refusal says."""

import re
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import checks
from edgestore.checks import Fault, InputError


def checked(value):
    return checks.in_range("length_m", value, "m", above=0, at_most=10, mend="Measure again.")


NOT_A_VALUE = ("no number", "lists of unequal length")


@pytest.mark.parametrize("scalar", [4, 4.0, np.int64(4), np.float32(4), np.array(4), Fraction(4)])
def test_a_scalar_comes_back_as_a_plain_float(scalar):
    assert type(checked(scalar)) is float
    assert checked(scalar) == 4.0


@pytest.mark.parametrize("numbers", [[1, 2], (1, 2), range(1, 3), np.array([1, 2], dtype=np.int8)])
def test_numbers_in_a_row_come_back_as_an_array_of_floats(numbers):
    back = checked(numbers)
    assert isinstance(back, np.ndarray)
    assert back.dtype == np.float64
    assert back.tolist() == [1.0, 2.0]


@pytest.mark.parametrize("dtype", ["int64", "float32", "object", "Int64", "Float64"])
def test_a_series_keeps_its_index_and_becomes_floats(dtype):
    back = checked(pd.Series([1, 2], index=["gate", "mast"], dtype=dtype))
    pd.testing.assert_series_equal(back, pd.Series([1.0, 2.0], index=["gate", "mast"]))


def test_the_shape_is_kept():
    assert checked(np.ones((2, 3, 4))).shape == (2, 3, 4)
    assert checked([[1, 2, 3]]).shape == (1, 3)


def test_the_given_array_is_not_the_one_given_back():
    given_array = np.array([1.0, 2.0])
    checked(given_array)[0] = 9.0
    assert given_array.tolist() == [1.0, 2.0]


@pytest.mark.parametrize("bound", [1e-300, 10.0])
def test_the_allowed_ends_are_allowed(bound):
    assert checked(bound) == bound
    assert checks.in_range("x", -1, at_least=-1) == -1.0


@pytest.mark.parametrize(
    ("value", "found"),
    [
        (float("nan"), "nan"),
        (float("inf"), "inf"),
        (-float("inf"), "-inf"),
        (0, "0 m"),
        (-0.0, "-0 m"),
        (-2.5, "-2.5 m"),
        (11, "11 m"),
        (64000, "64000 m"),
        (None, "None"),
        ("four", "'four'"),
        ("4", "'4'"),
        ("", "''"),
        (b"4", "b'4'"),
        (True, "True"),
        (np.True_, "np.True_"),
        (4 + 0j, "(4+0j)"),
        (Decimal(4), "Decimal('4')"),
        ({}, "{}"),
        ([], "no number"),
        (np.empty((0, 3)), "no number"),
        ([[1, 2], [3]], "lists of unequal length"),
        ([1, None], "None"),
        ([1, "2"], "'2'"),
        (np.array([1, True], dtype=object), "True"),
        ([1.0, float("nan")], "nan"),
        (np.array([True, False]), "True"),
        (np.array([1 + 2j]), "(1+2j)"),
        (pd.Series(["1", "2"]), "'1'"),
        (pd.Series([1, None], dtype="Int64"), "nan"),
        (pd.Series([1, None]), "nan"),
    ],
)
def test_a_refusal_says_where_what_allowed_and_how_to_fix_it(value, found):
    with pytest.raises(InputError) as caught:
        checked(value)
    (fault,) = caught.value.faults
    assert (fault.where, fault.found) == ("length_m", found)
    assert (fault.allowed, fault.mend) == ("above 0 and at most 10 m", "Measure again.")
    told = f"found {found}; allowed: " if found in NOT_A_VALUE else f"is {found}; must be "
    assert str(caught.value) == f"length_m: {told}above 0 and at most 10 m. Fix: Measure again."


@pytest.mark.parametrize("value", [np.datetime64("2024-05-01"), np.array(["2024-05-01"], dtype="datetime64[D]")])
def test_a_time_of_the_calendar_is_told_in_which_unit_a_number_is_wanted(value):
    message = "length_m: is np.datetime64('2024-05-01'); must be above 0 and at most 10 m. Fix: Give a number in m."
    with pytest.raises(InputError, match=f"^{re.escape(message)}$"):
        checked(value)


def test_something_that_is_no_number_is_mended_by_a_number():
    with pytest.raises(InputError, match=r"^x: is 'four'; must be a finite number. Fix: Give a number\.$"):
        checks.in_range("x", "four")


@pytest.mark.parametrize("as_kind", [list, np.array, pd.Series])
def test_one_bad_number_among_thousands_is_the_one_shown(as_kind):
    numbers = [5.0] * 5000
    numbers[4321] = 77.0
    with pytest.raises(InputError, match=r"is 77 m; must be above 0 and at most 10 m"):
        checked(as_kind(numbers))


def test_one_word_among_thousands_of_numbers_is_the_only_thing_shown():
    items = [5.0] * 5000
    items[4321] = "five"
    with pytest.raises(InputError) as caught:
        checked(items)
    assert caught.value.faults[0].found == "'five'"


@given(st.floats(min_value=1, exclude_min=True, allow_infinity=False))
def test_the_number_shown_is_the_number_refused(value):
    with pytest.raises(InputError) as caught:
        checks.fraction("share", value)
    assert float(caught.value.faults[0].found) == value


@pytest.mark.parametrize(
    ("bounds", "allowed"),
    [
        ({}, "a finite number s"),
        ({"above": 0}, "above 0 s"),
        ({"at_least": 0}, "0 or more s"),
        ({"at_most": 2.5}, "at most 2.5 s"),
        ({"at_least": 1, "at_most": 2}, "1 or more and at most 2 s"),
    ],
)
def test_the_allowed_range_is_said_with_its_unit(bounds, allowed):
    with pytest.raises(InputError) as caught:
        checks.in_range("x", float("nan"), "s", **bounds)
    assert caught.value.faults[0].allowed == allowed


def test_a_rate_in_kbit_s_is_refused_and_told_so():
    message = (
        "bitrate_mbit_s: is 4000 Mbit/s; must be above 0 and at most 1000 Mbit/s. "
        "Fix: A rate in kbit/s is divided by 1000, a rate in Mbyte/s multiplied by 8."
    )
    with pytest.raises(InputError, match=f"^{re.escape(message)}$"):
        checks.bitrate_mbit_s(4000)
    assert checks.bitrate_mbit_s(1000) == 1000.0


def test_a_capacity_in_mb_is_refused_and_told_so():
    message = (
        "capacity_gb: is 64000 GB; must be above 0 and at most 4000 GB. "
        "Fix: Write the capacity printed on the card in GB: 64, not 64000 (MB)."
    )
    with pytest.raises(InputError, match=f"^{re.escape(message)}$"):
        checks.capacity_gb(64000)
    assert checks.capacity_gb(4000) == 4000.0


def test_a_percentage_is_refused_as_a_fraction_and_told_so():
    message = "usable: is 95; must be 0 or more and at most 1. Fix: A percentage is divided by 100."
    with pytest.raises(InputError, match=f"^{re.escape(message)}$"):
        checks.fraction("usable", 95)
    assert [checks.fraction("usable", end) for end in (0, 1)] == [0.0, 1.0]


def test_a_fraction_that_must_be_above_0_refuses_0():
    with pytest.raises(InputError, match=r"^usable: is 0; must be above 0 and at most 1\."):
        checks.fraction("usable", 0, above=0)


@pytest.mark.parametrize("word", ["mp3", "MP4", "", None, 4, ["mp4"]])
def test_an_unknown_word_is_refused_with_all_known_ones(word):
    message = f"container: is {word!r}; must be one of mp4, mkv. Fix: Look at the file's ending."
    with pytest.raises(InputError, match=f"^{re.escape(message)}$"):
        checks.one_of("container", word, ["mp4", "mkv"], "Look at the file's ending.")
    assert checks.one_of("container", "mkv", ["mp4", "mkv"]) == "mkv"


def test_one_number_is_a_float_and_several_are_refused():
    assert checks.one_number("years", np.float32(2), "years", above=0) == 2.0
    with pytest.raises(InputError, match=r"^years: found shape \(2,\); allowed: one number"):
        checks.one_number("years", [1, 2], "years", above=0)


def test_one_whole_number_is_an_int_and_a_part_of_one_is_refused():
    count = checks.one_whole("runs", 3.0, at_least=2, at_most=3)
    assert (count, type(count)) == (3, int)
    with pytest.raises(InputError, match=r"^runs: is 2\.5 runs; must be one whole number"):
        checks.one_whole("runs", 2.5, "runs", at_least=2)


def test_shapes_that_do_not_fit_are_named_with_their_arguments():
    found = "a (2,), b (), c (3, 1), d (3,)"
    with pytest.raises(InputError, match=f"^shapes: found {re.escape(found)}; allowed: shapes that numpy can"):
        checks.broadcastable(a=[1, 2], b=1.0, c=np.ones((3, 1)), d=np.ones(3))
    checks.broadcastable(a=[1, 2], b=1.0, c=np.ones((3, 1)))


def test_an_error_carries_all_its_faults_and_shows_one_a_line():
    faults = [Fault("row 2", "x", "y"), Fault("row 5", "p", "q", "Do r.")]
    error = InputError(fault for fault in faults)
    assert error.faults == tuple(faults)
    assert str(error) == "row 2: found x; allowed: y.\nrow 5: found p; allowed: q. Fix: Do r."
    assert isinstance(error, ValueError)
