"""Stalls of a card against hand arithmetic, the textbook's bound and the rule of the trade."""

from dataclasses import FrozenInstanceError
from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.speed import (
    KeepsUp,
    catch_up_s,
    keeps_up,
    largest_backlog_mb,
    min_write_mbyte_s,
    speed_margin,
    stall_buffer_mb,
    stall_s_for_buffer,
    stalls,
    sustained_write_mbyte_s,
    write_mbyte_s_for_buffer,
)

RATES = st.floats(0.01, 1000)
VOLUMES = st.floats(0, 100)
TIMES = st.floats(0, 10)
SCENE = [2.0] * 50 + [8.0] * 10 + [2.0] * 60


def test_the_busy_limits_are_the_specifications():
    # SD Physical Layer Simplified Specification v4.10, section 4.13: 250, 500, 750 ms, 100 ms over 8, 1 s.
    assert (stalls.WRITE_BUSY_S, stalls.DIRECTORY_BUSY_S, stalls.FAT_UPDATE_BUSY_S) == (0.25, 0.5, 0.75)
    assert (stalls.FAT_UPDATE_MEAN_S, stalls.FAT_UPDATES_COUNTED, stalls.PREPARATION_S) == (0.1, 8, 1)


@pytest.mark.parametrize(
    ("bitrate", "stall", "burst", "buffer"),
    [
        # 8 Mbit/s are 1 MB/s: 0.4 + 1 x 0.25; 0.4 + 1 x 0.75.
        (8, 0.25, 0.4, 0.650),
        (8, 0.75, 0.4, 1.150),
        # A stream as fast as a card of 10 MB/s: 10 x 0.75.
        (80, 0.75, 0, 7.5),
        # 4 Mbit/s are 0.5 MB/s, through the preparation of 1 s.
        (4, 1, 0, 0.5),
        (8, 0, 0.4, 0.4),
    ],
)
def test_the_buffer_is_the_lump_and_what_comes_during_the_stall(bitrate, stall, burst, buffer):
    assert stall_buffer_mb(bitrate, stall, burst) == pytest.approx(buffer, rel=1e-14)
    assert stall_s_for_buffer(buffer, bitrate, burst) == pytest.approx(stall, rel=1e-12, abs=1e-12)


def test_without_a_stall_given_it_is_the_longest_fat_update():
    assert stall_buffer_mb(8, burst_mb=0.4) == pytest.approx(1.150, rel=1e-14)


@given(RATES, TIMES, VOLUMES)
def test_the_stall_for_a_buffer_takes_that_buffer(bitrate, stall, burst):
    buffer = stall_buffer_mb(bitrate, stall, burst)
    assert stall_buffer_mb(bitrate, stall_s_for_buffer(buffer, bitrate, burst), burst) == pytest.approx(buffer, 1e-12)


@given(RATES, TIMES, VOLUMES, st.floats(0, 10))
def test_the_buffer_grows_with_rate_stall_and_lump(bitrate, stall, burst, more):
    buffer = stall_buffer_mb(bitrate, stall, burst)
    assert stall_buffer_mb(min(bitrate + more, 1000), stall, burst) >= buffer
    assert stall_buffer_mb(bitrate, stall + more, burst) >= buffer
    assert stall_buffer_mb(bitrate, stall, burst + more) >= buffer
    assert stall_s_for_buffer(buffer + more, bitrate, burst) >= stall_s_for_buffer(buffer, bitrate, burst)


@given(st.floats(0.01, 125), TIMES)
def test_a_stream_in_bytes_taken_for_bits_is_wrong_by_a_factor_of_8(rate, stall):
    assert stall_buffer_mb(8 * rate, stall) == pytest.approx(8 * stall_buffer_mb(rate, stall), rel=1e-12)
    assert stall_buffer_mb(8 * rate, stall) == pytest.approx(rate * stall, rel=1e-12)


def test_a_buffer_below_the_lump_rides_out_nothing():
    assert stall_s_for_buffer([0, 0.3, 0.4, 1.4], 8, 0.4).tolist() == pytest.approx([0, 0, 0, 1])


def test_without_a_lump_all_of_the_buffer_is_for_the_stall():
    # 8 Mbit/s are 1 MB/s.
    assert stall_s_for_buffer(0.65, 8) == pytest.approx(0.65, rel=1e-14)


def test_a_camera_without_a_buffer_keeps_up_with_a_card_that_is_never_busy():
    assert keeps_up(SCENE, 10, buffer_mb=0, stall_s=0).keeps_up is True


def test_updates_cost_their_time():
    # 4 MB at 10 MB/s take 0.4 s; with 0.1 s more, 4 / 0.5 = 8.0 MB/s.
    assert sustained_write_mbyte_s(10, 4) == pytest.approx(8.0, rel=1e-14)
    # 16 MB at 32 MB/s: 0.5 s and 0.75 s; 16 / 1.25 = 12.8.
    assert sustained_write_mbyte_s(32, 16, 0.75) == pytest.approx(12.8, rel=1e-14)
    assert sustained_write_mbyte_s(10, 4, 0) == 10
    assert sustained_write_mbyte_s(0, 4) == 0


@given(st.floats(0.1, 300), st.floats(0.1, 100), st.floats(0.001, 5), st.floats(1.01, 10))
def test_the_sustained_rate_is_below_both_ceilings_and_rises_with_longer_intervals(write, every, update, factor):
    sustained = sustained_write_mbyte_s(write, every, update)
    assert sustained < min(write, every / update) * (1 + 1e-12)
    assert sustained_write_mbyte_s(write * factor, every, update) > sustained
    assert sustained_write_mbyte_s(write, every * factor, update) > sustained
    assert sustained_write_mbyte_s(write, every, update * factor) < sustained


def test_one_stream_of_8_mbit_s_on_class_10_passes_both():
    # 10 x 8 / 8 = 10 times; 0.75 s x 1 MB/s = 0.75 MB; (0.75 MB) / (10 - 1 MB/s) = 1/12 s; 80 - 8 = 72 Mbit/s.
    answer = keeps_up(SCENE, min_write_mbyte_s("C10"), buffer_mb=1)
    assert (answer.keeps_up, answer.passes_rule, answer.speed_margin) == (True, True, 10)
    assert answer.buffer_needed_mb == pytest.approx(0.75)
    assert answer.backlog_mb == pytest.approx(0, abs=1e-12)
    assert answer.catch_up_s == pytest.approx(1 / 12)
    assert (answer.peak_mbit_s, answer.headroom_mbit_s) == (8, 72)
    assert (answer.write_mbyte_s, answer.buffer_mb, answer.stall_s, answer.burst_mb) == (10, 1, 0.75, 0)
    assert answer.why.startswith(
        "Both say yes: the stall of 0.75 s that the specification allows leaves 0.75 MB waiting"
    )


def test_where_only_the_rule_says_no_the_reason_is_what_its_ten_covers_besides():
    # 8 Mbit/s on 2 MB/s: twice the peak, no tenfold margin; the same 0.75 MB.
    answer = keeps_up(SCENE, min_write_mbyte_s("C2"), buffer_mb=1)
    assert (answer.keeps_up, answer.passes_rule, answer.speed_margin) == (True, False, 2)
    assert answer.why.startswith("Only the rule says no (2 times the peak): ")
    for word in ("buffer that nobody states", "several files open", "aged card", "less in sequence"):
        assert word in answer.why


def test_where_only_the_rule_says_yes_the_reason_is_that_no_class_shortens_a_stall():
    for mark in ("C10", "V30", "V90"):
        answer = keeps_up(SCENE, min_write_mbyte_s(mark), buffer_mb=0.5)
        assert (answer.keeps_up, answer.passes_rule) == (False, True)
        assert answer.write_needed_mbyte_s == inf
        assert answer.why.startswith("Only the rule says yes (")
        assert "0.75 s that the specification allows leaves 0.75 MB waiting and the buffer holds 0.5 MB" in answer.why
        assert "no speed class shortens that stall" in answer.why


def test_where_both_say_no_a_faster_card_mends_it_if_the_buffer_holds_the_stall():
    # 2 MB/s for 10 s on a card of 1 MB/s: 10 MB, and the stall 0.75 x 1 MB/s more. With 3 MB of buffer the card must
    # write 20 - 3 = 17 MB in the 10 - 0.75 s: 17 / 9.25.
    answer = keeps_up([2.0] * 50 + [16.0] * 10 + [2.0] * 60, 1, buffer_mb=3)
    assert (answer.keeps_up, answer.passes_rule) == (False, False)
    assert answer.backlog_mb == pytest.approx(10)
    assert answer.buffer_needed_mb == pytest.approx(10.75)
    assert answer.write_needed_mbyte_s == pytest.approx(17 / 9.25, rel=1e-6)
    assert answer.headroom_mbit_s == -8
    assert answer.why.startswith("Both say no (0.5 times the peak): ")
    assert answer.why.endswith("a card of 1.84 Mbyte/s fixes that.")


@pytest.mark.parametrize("stall", [0.1, 0.2, 0.3, 0.4])
def test_a_buffer_of_just_what_is_needed_is_enough_whatever_the_rounding(stall):
    # 1/8 Mbyte/s for the length of the stall.
    assert keeps_up([1] * 10, 10, stall_s=stall, buffer_mb=stall / 8).keeps_up


def test_an_unknown_buffer_leaves_the_buffer_that_the_camera_must_have():
    answer = keeps_up(SCENE, 10, burst_mb=0.4)
    assert (answer.keeps_up, answer.buffer_mb, answer.write_needed_mbyte_s) == (None, None, None)
    # 0.4 + 0.75.
    assert answer.buffer_needed_mb == pytest.approx(1.15)
    assert answer.why.startswith("The camera's buffer is not known, and it decides: ")
    assert "1.15 MB" in answer.why


@pytest.mark.parametrize("buffer", [None, 1000])
@pytest.mark.parametrize("write", [0, 0.2, 0.25])
def test_a_card_no_faster_than_the_mean_does_not_keep_up_whatever_the_buffer(write, buffer):
    answer = keeps_up([2.0] * 60, write, buffer_mb=buffer)
    assert answer.keeps_up is False
    assert (answer.buffer_needed_mb, answer.catch_up_s) == (inf, inf)
    assert answer.why.startswith("No buffer is enough: ")


def test_a_stall_longer_than_the_specification_allows_is_not_called_allowed():
    assert "the specification allows" not in keeps_up(SCENE, 10, buffer_mb=1, stall_s=1.5).why


@given(st.lists(st.floats(0.5, 100), min_size=2, max_size=20), st.floats(0.1, 90), st.floats(0, 20), st.floats(0, 2))
def test_the_verdict_is_made_of_the_single_answers(trace, write, buffer, stall):
    answer = keeps_up(trace, write, buffer_mb=buffer, stall_s=stall, burst_mb=0.1)
    assert answer.speed_margin == speed_margin(write, max(trace))
    assert answer.passes_rule is (answer.speed_margin >= 10)
    assert answer.backlog_mb == largest_backlog_mb(trace, write, stall_s=0, burst_mb=0.1)
    assert answer.catch_up_s == catch_up_s(trace, write, stall_s=stall, burst_mb=0.1)
    assert answer.write_needed_mbyte_s == write_mbyte_s_for_buffer(trace, buffer, stall_s=stall, burst_mb=0.1)
    if answer.keeps_up:
        assert answer.buffer_needed_mb == largest_backlog_mb(trace, write, stall_s=stall, burst_mb=0.1)
        assert answer.buffer_needed_mb <= buffer * (1 + 1e-8)
        assert keeps_up(trace, write, buffer_mb=buffer + 1, stall_s=stall, burst_mb=0.1).keeps_up
        assert keeps_up(trace, write + 1, buffer_mb=buffer, stall_s=stall, burst_mb=0.1).keeps_up
    else:
        assert answer.buffer_needed_mb > buffer


def test_an_answer_is_plain_and_frozen():
    answer = keeps_up(np.array(SCENE), np.float64(10), buffer_mb=np.float64(1))
    assert isinstance(answer, KeepsUp)
    assert type(answer.keeps_up) is bool
    assert type(answer.passes_rule) is bool
    with pytest.raises(FrozenInstanceError):
        answer.keeps_up = False


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"trace_mbit_s": [0, 0]}, r"^trace_mbit_s: found rates of 0 alone; "),
        ({"trace_mbit_s": 8}, r"^trace_mbit_s: found shape \(\); "),
        ({"trace_mbit_s": [8, 8000]}, r"^trace_mbit_s: is 8000[^;]*; .*A rate in kbit/s is divided by 1000"),
        ({"write_mbyte_s": [10, 30]}, r"^write_mbyte_s: found shape \(2,\); allowed: one number"),
        ({"write_mbyte_s": -1}, r"^write_mbyte_s: is -1 Mbyte/s; must be 0 or more Mbyte/s"),
        ({"write_mbyte_s": "C10"}, r"^write_mbyte_s: is 'C10'; "),
        ({"buffer_mb": [1]}, r"^buffer_mb: found shape \(1,\); allowed: one number"),
        ({"buffer_mb": -1}, r"^buffer_mb: is -1 MB; must be 0 or more MB"),
        ({"buffer_mb": float("nan")}, r"^buffer_mb: is nan; "),
        ({"stall_s": [0.25]}, r"^stall_s: found shape \(1,\); allowed: one number"),
        ({"stall_s": 121}, r"^stall_s: is 121[^;]*; .*at most 120 s\. Fix: The trace must be as long as the stall"),
        ({"burst_mb": float("inf")}, r"^burst_mb: is inf; must be 0 or more MB"),
        ({"step_s": 0}, r"^step_s: is 0 s; must be above 0 s"),
    ],
)
def test_what_cannot_be_judged_is_refused(changed, message):
    with pytest.raises(InputError, match=message):
        keeps_up(**{"trace_mbit_s": SCENE, "write_mbyte_s": 10, "buffer_mb": 1, **changed})
