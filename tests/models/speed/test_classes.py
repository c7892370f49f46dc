"""Speed marks and margins, against the published tables and the rule of the trade."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.speed import (
    guaranteed_write_mbyte_s,
    implied_marks,
    min_write_mbyte_s,
    speed_margin,
    write_mbyte_s_for_margin,
)
from edgestore.models.speed.classes import BUS_MBYTE_S, SPEED_CLASSES

# SD Physical Layer Simplified Specification v4.10, Table 4-59 and section 4.13 (classes 2 to 10); SD Association,
# speed-class overview page (U and V). Mbyte/s, and the slowest bus for which the class is defined.
PUBLISHED = {
    "C2": (2, "default"),
    "C4": (4, "default"),
    "C6": (6, "default"),
    "C10": (10, "high speed"),
    "U1": (10, "sdr50"),
    "U3": (30, "sdr50"),
    "V6": (6, "high speed"),
    "V10": (10, "high speed"),
    "V30": (30, "sdr50"),
    "V60": (60, "uhs-ii"),
    "V90": (90, "uhs-ii"),
}


def test_the_marks_are_those_published():
    assert {mark: (c.min_write_mbyte_s, c.bus) for mark, c in SPEED_CLASSES.items()} == PUBLISHED


def test_the_bus_ceilings_are_those_published():
    # SD Association, bus-speed page; UHS-II full duplex.
    ceilings = {"default": 12.5, "high speed": 25, "sdr50": 50, "ddr50": 50, "sdr104": 104, "uhs-ii": 156}
    assert ceilings == BUS_MBYTE_S


@pytest.mark.parametrize("mark", PUBLISHED)
def test_a_mark_promises_its_published_rate_as_a_float(mark):
    assert min_write_mbyte_s(mark) == PUBLISHED[mark][0]
    assert type(min_write_mbyte_s(mark)) is float


@pytest.mark.parametrize(
    ("mark", "implied"),
    [
        ("C2", ("C2",)),
        ("C10", ("C2", "C4", "C6", "C10")),
        ("U1", ("U1",)),
        ("U3", ("U1", "U3")),
        ("V6", ("V6",)),
        ("V30", ("V6", "V10", "V30")),
        ("V90", ("V6", "V10", "V30", "V60", "V90")),
    ],
)
def test_a_mark_brings_the_lower_ones_of_its_family_and_none_of_another(mark, implied):
    assert implied_marks(mark) == implied


@pytest.mark.parametrize(
    ("marks", "bus", "promised"),
    [
        # No bus named: the best mark.
        (["C10", "U3", "V30"], None, 30),
        (["C4"], None, 4),
        # Class 10 is defined from high speed on; on the default bus it is the class 6 that it includes.
        (["C10"], "high speed", 10),
        (["C10"], "default", 6),
        # U marks need UHS-I: without it such a card promises nothing by that mark.
        (["U1"], "high speed", 0),
        (["U3"], "sdr50", 30),
        (["C10", "U3"], "high speed", 10),
        # V30 needs UHS-I, its V10 high speed, and none of them the default bus.
        (["V30"], "sdr104", 30),
        (["V30"], "high speed", 10),
        (["V30"], "default", 0),
        # V60 and V90 need UHS-II; on UHS-I they are the V30 that they include.
        (["V90"], "uhs-ii", 90),
        (["V60", "C10"], "sdr104", 30),
        (["V90"], "ddr50", 30),
        # Marks for applications promise nothing for video, and a card without marks nothing at all.
        (["A2"], None, 0),
        (["A1", "C6"], None, 6),
        ([], "uhs-ii", 0),
    ],
)
def test_marks_promise_what_the_bus_of_the_slot_lets_them(marks, bus, promised):
    rate = guaranteed_write_mbyte_s(marks, bus)
    assert rate == promised
    assert type(rate) is float


@pytest.mark.parametrize("mark", PUBLISHED)
@pytest.mark.parametrize("bus", BUS_MBYTE_S)
def test_a_promise_never_exceeds_the_bus(mark, bus):
    assert guaranteed_write_mbyte_s([mark], bus) <= BUS_MBYTE_S[bus]


@pytest.mark.parametrize("marks", [["C10", "V30", "A1"], ("C10", "V30", "A1"), iter(["C10", "V30", "A1"])])
def test_marks_come_in_any_row(marks):
    assert guaranteed_write_mbyte_s(marks) == 30


@pytest.mark.parametrize("mark", ["v30", "V 30", "V100", "10", "", "A1", None, 30])
def test_an_unknown_mark_is_refused_with_all_known_ones(mark):
    message = (
        f"^mark: is {mark!r}; must be one of C2, C4, C6, C10, U1, U3, V6, V10, V30, V60, V90. Fix: "
        r"Write a mark as printed on the card, as V30\.$"
    )
    with pytest.raises(InputError, match=message):
        min_write_mbyte_s(mark)
    with pytest.raises(InputError, match=message):
        implied_marks(mark)


@pytest.mark.parametrize("marks", [["C10", "V31"], ["V31"], ["A1", "V31", "C10"]])
def test_one_unknown_mark_on_a_card_is_refused(marks):
    with pytest.raises(InputError, match=r"^mark: is 'V31'; must be one of C2, .*Write a mark as printed"):
        guaranteed_write_mbyte_s(marks)


def test_one_mark_that_is_not_in_a_list_is_refused():
    with pytest.raises(
        InputError, match=r"^marks: is 'V30'; must be a list of marks\. Fix: Write it as \['C10', 'V30'\]"
    ):
        guaranteed_write_mbyte_s("V30")


@pytest.mark.parametrize("bus", ["uhs-1", "SDR104", "", 104])
def test_an_unknown_bus_is_refused_with_all_known_ones(bus):
    message = (
        f"^slot_bus: is {bus!r}; must be one of default, high speed, sdr50, ddr50, sdr104, uhs-ii. Fix: "
        r"Leave it out when the slot's bus is not known\.$"
    )
    with pytest.raises(InputError, match=message):
        guaranteed_write_mbyte_s(["V30"], bus)


@pytest.mark.parametrize(("mark", "mbit_s"), [("C10", 8), ("U1", 8), ("V10", 8), ("V30", 24)])
def test_the_rule_of_the_trade_gives_class_10_to_8_mbit_s_and_more_to_v30(mark, mbit_s):
    # Common practice, no source: ten times the stream. 10 Mbyte/s x 8 / 10 = 8 Mbit/s; 30 x 8 / 10 = 24.
    assert speed_margin(min_write_mbyte_s(mark), mbit_s) == pytest.approx(10, rel=1e-14)
    assert write_mbyte_s_for_margin(mbit_s) == pytest.approx(min_write_mbyte_s(mark), rel=1e-14)


def test_a_card_without_a_promise_has_no_margin():
    assert speed_margin(0, 8) == 0.0


def test_a_margin_of_one_is_the_stream_itself():
    # 16 Mbit/s / 8 = 2 Mbyte/s.
    assert write_mbyte_s_for_margin(16, 1) == 2.0
    assert speed_margin(2, 16) == 1.0


@given(st.floats(0.01, 1000), st.floats(0.01, 1000))
def test_the_rate_for_a_margin_has_that_margin(bitrate, margin):
    assert speed_margin(write_mbyte_s_for_margin(bitrate, margin), bitrate) == pytest.approx(margin, rel=1e-12)


@given(st.floats(0.01, 312), st.floats(0.01, 125))
def test_a_stream_in_bytes_taken_for_bits_is_wrong_by_a_factor_of_8(write, bitrate):
    assert speed_margin(write, bitrate) == pytest.approx(8 * speed_margin(write, 8 * bitrate), rel=1e-12)


def test_the_margin_grows_with_the_card_and_falls_with_the_stream():
    grid = np.linspace(0.5, 100, 200)
    assert np.all(np.diff(speed_margin(grid, 8)) > 0)
    assert np.all(np.diff(speed_margin(10, grid)) < 0)
    assert np.all(np.diff(write_mbyte_s_for_margin(grid)) > 0)
    assert np.all(np.diff(write_mbyte_s_for_margin(8, grid)) > 0)
