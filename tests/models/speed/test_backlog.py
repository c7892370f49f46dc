"""A trace run against a card, vectorised, against plain loops in exact fractions and the textbook's bounds."""

from fractions import Fraction
from itertools import pairwise
from math import inf

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.speed import catch_up_s, largest_backlog_mb, stall_buffer_mb, write_mbyte_s_for_buffer

# Rates in Mbyte/s per step of 1 s; some above the card's 10 Mbyte/s, none near it, so that slopes are bounded.
RATES = st.lists(st.one_of(st.integers(0, 8), st.integers(12, 20)), min_size=2, max_size=12).filter(any)
TRACES = st.lists(st.floats(0.5, 100), min_size=1, max_size=40)
CARDS = st.floats(0, 30)
STALLS = st.floats(0, 1)
PEAK = [4, 4, 16, 16, 16, 4, 4]
FUNCTIONS = (largest_backlog_mb, catch_up_s, write_mbyte_s_for_buffer)


def mbit_s(rates_mbyte_s) -> list[float]:
    return [8.0 * rate for rate in rates_mbyte_s]


def backlog_step_by_step(rates, write, stall_ticks, ticks_per_step, begin):
    """Run a bucket tick by tick with one stall; give its level, MB, at the end of each tick."""
    level, levels = Fraction(0), []
    for tick in range(len(rates) * ticks_per_step):
        taken = 0 if begin <= tick < begin + stall_ticks else Fraction(write, ticks_per_step)
        level = max(level + Fraction(rates[tick // ticks_per_step], ticks_per_step) - taken, Fraction(0))
        levels.append(level)
    return levels


@given(RATES, st.integers(0, 20), st.integers(0, 8))
def test_the_backlog_is_that_of_a_plain_loop_over_all_starts_of_the_stall(rates, write, stall_ticks):
    starts = range(len(rates) * 4 - stall_ticks + 1)
    worst = max(max(backlog_step_by_step(rates, write, stall_ticks, 4, begin)) for begin in starts)
    assert largest_backlog_mb(mbit_s(rates), write, stall_s=stall_ticks / 4) == pytest.approx(float(worst), abs=1e-9)


def end_of_backlog(rates, write, begin, stall, lump):
    """Follow the bucket in exact time through one stall; give when it is first empty after it, not for an instant."""
    mean = Fraction(sum(rates), len(rates))
    end = begin + stall
    marks = sorted({Fraction(k) for k in range(len(rates) + 1)} | {begin, end})
    level = Fraction(0)
    for left, right in pairwise(marks):
        rate = rates[int(left)] if left < len(rates) else mean
        net = rate - (0 if begin <= left < end else write)
        level += lump if left == end else 0
        if left >= end and net < 0 and level + net * (right - left) < 0:
            return left - level / net
        level = max(level + net * (right - left), Fraction(0))
    level += lump if marks[-1] == end else 0
    return marks[-1] + level / (write - mean)


@given(RATES, st.integers(0, 6), st.integers(0, 3))
def test_the_catch_up_time_is_the_longest_of_all_starts_of_the_stall(rates, stall_quarters, lump):
    # The card takes 10 MB/s; the rates and their mean leave it 2 to 10 MB/s to spare, or none. Between its jumps the
    # end of the backlog moves by at most 10/2 = 5 times what the start of the stall does: the grid misses no more.
    assume(sum(rates) < 8 * len(rates) and stall_quarters <= 4 * len(rates))
    stall, grid = Fraction(stall_quarters, 4), Fraction(1, 16)
    starts = [grid * k for k in range(16 * len(rates) + 1)]
    longest = max(end_of_backlog(rates, 10, begin, stall, lump) - begin - stall for begin in starts)
    got = catch_up_s(mbit_s(rates), 10, stall_s=float(stall), burst_mb=lump)
    assert float(longest) - 1e-9 <= got <= float(longest + 5 * grid)


def test_a_stall_before_a_busy_spell_is_made_up_for_after_it():
    # 1.2 MB/s spare 0.7 in the first two seconds, lack 0.8 in the next three, spare 0.7 in two, then the mean's
    # 1.2 - 64/56 = 4/70. A stall of 0.5 s at 2 s owes 0.6 MB; 2.4 MB more; 1.4 MB less by 7 s: 1.6 MB / (4/70) = 28 s.
    # From 2.5 s, the end of the stall, until 7 + 28 s.
    assert catch_up_s(PEAK, 1.2, stall_s=0.5) == pytest.approx(32.5, rel=1e-12)
    # Without a stall: 2.4 - 1.4 = 1.0 MB are left at 7 s, another 17.5 s; the buffer began to fill at 2 s.
    assert catch_up_s(PEAK, 1.2) == pytest.approx(22.5, rel=1e-12)


def test_what_a_busy_end_leaves_is_written_after_it_at_what_the_mean_spares():
    # Nothing for 4 s, then 2 MB/s for 2 s on a card of 1 MB/s: 2 MB are left. The mean is 4/6 MB/s: 6 s more, 8 in all.
    assert catch_up_s([0, 0, 0, 0, 16, 16], 1) == pytest.approx(8, rel=1e-12)
    # Nothing, then 1.5 MB/s: 0.5 MB are left after 2 s, and the mean of 0.75 MB/s spares 0.25: 2 s more.
    assert catch_up_s([0, 12], 1) == pytest.approx(3, rel=1e-12)


def test_a_stall_whose_backlog_is_written_just_when_a_busy_spell_begins_is_made_up_for_after_that():
    # 1 MB/s spares 0.5 for four seconds, lacks 1 in one, then spares all. A stall from 3.5 to 3.75 s leaves 0.125 MB,
    # gone at 4 s for an instant; the busy second leaves 1 MB, gone at 6 s: 2.25 s after the stall. One from 4 to 4.25 s
    # leaves 1.25 MB at 5 s, gone at 6.25 s, 2 s after it.
    assert catch_up_s([4, 4, 4, 4, 16, 0, 0, 0], 1, stall_s=0.25) == pytest.approx(2.25, rel=1e-12)


def test_a_stall_may_begin_with_the_trace():
    # 1 MB/s lacks 1 in the first second and spares all after it. From 0 to 0.5 s: 1.5 MB at 1 s, gone at 2.5 s.
    assert catch_up_s([16, 0, 0, 0], 1, stall_s=0.5) == pytest.approx(2, rel=1e-12)


def test_a_lump_larger_than_all_the_trace_brings_begins_no_earlier_than_the_trace():
    # 0.45 MB/s, steps of 0.1 s: 0.5 MB and 0.005 of the first step, 0.045 less after the second, then 0.2 MB/s less.
    assert catch_up_s([4, 0], 0.45, burst_mb=0.5, step_s=0.1) == pytest.approx(0.2 + 0.46 / 0.2, rel=1e-12)


def test_a_slow_stream_on_a_card_that_is_hardly_faster_catches_up_late():
    # 1 kbyte/s on a card that writes half a millionth more: 0.1 s of it, at 5e-10 Mbyte/s.
    assert catch_up_s([8e-3] * 60, 1e-3 * (1 + 5e-7), stall_s=0.1) == pytest.approx(2e5, rel=1e-5)


def test_a_lump_beside_which_the_trace_vanishes_drains_at_what_the_card_spares():
    # 1e20 MB at 2 - 8/8 = 1 MB/s: the last step of the trace is lost in the rounding of so much.
    assert catch_up_s([8.0] * 60, 2, burst_mb=1e20) == pytest.approx(1e20, rel=1e-12)


def test_the_bucket_of_a_trace_is_what_its_peak_leaves():
    # 16 Mbit/s are 2 MB/s; a card of 1 MB/s leaves 1 MB of each of three seconds, one of 1.5 leaves 0.5, one of 2 none.
    assert largest_backlog_mb(PEAK, [1, 1.5, 2, 5]) == pytest.approx([3, 1.5, 0, 0], abs=1e-12)
    # A card that takes nothing leaves all: 64 Mbit.
    assert largest_backlog_mb(PEAK, 0) == pytest.approx(8)


def test_the_trace_begins_with_an_empty_buffer():
    # The peak comes first: 2 s of 2 MB/s less 1 MB/s.
    assert largest_backlog_mb([16, 16, 4, 4, 4], 1) == pytest.approx(2)
    # And last.
    assert largest_backlog_mb([4, 4, 4, 16, 16], 1) == pytest.approx(2)


def test_the_worst_stall_falls_where_a_window_of_its_length_receives_most():
    # 0.75 s at 2 MB/s; 1.5 s: all of a second of 2 MB/s and half of one of 1 MB/s. The card is faster than both.
    assert largest_backlog_mb([8, 16, 8], 5, stall_s=0.75) == pytest.approx(1.5)
    assert largest_backlog_mb([8, 16, 8], 5, stall_s=1.5) == pytest.approx(2.5)


@given(st.floats(0.1, 100), CARDS, STALLS, st.floats(0, 5))
def test_a_steady_trace_gives_the_closed_forms(rate, spare, stall, burst):
    # Le Boudec and Thiran, theorem 1.4.1 (from memory): a bucket (r, b) before a rate-latency server keeps b + r T.
    trace, write = [rate] * 30, rate / 8 + spare + 0.01
    assert largest_backlog_mb(trace, write, stall_s=stall, burst_mb=burst) == pytest.approx(
        burst + rate / 8 * stall, abs=1e-9
    )
    assert largest_backlog_mb(trace, write, stall_s=stall, burst_mb=burst) == pytest.approx(
        stall_buffer_mb(rate, stall, burst), abs=1e-9
    )
    expected = (burst + rate / 8 * stall) / (spare + 0.01)
    assert catch_up_s(trace, write, stall_s=stall, burst_mb=burst) == pytest.approx(expected, rel=1e-6, abs=1e-6)


@given(TRACES, CARDS, STALLS)
def test_no_window_brings_more_than_the_bucket_and_the_rate(trace, write, stall):
    # The definition of a token bucket (r, b), and the textbook's bound with the bucket found at the card's own rate.
    bucket = largest_backlog_mb(trace, write)
    arrived = np.concatenate([[0], np.cumsum(trace) / 8])
    for length in range(1, len(trace) + 1):
        assert np.all(arrived[length:] - arrived[:-length] <= bucket + write * length + 1e-9)
    assert largest_backlog_mb(trace, write, stall_s=stall) <= bucket + write * stall + 1e-9


@given(TRACES, CARDS, CARDS, STALLS, STALLS)
def test_the_backlog_falls_with_the_card_and_grows_with_the_stall(trace, one, other, short, long):
    slow, fast = sorted((one, other))
    short, long = sorted((short, long))
    assert largest_backlog_mb(trace, fast, stall_s=short) <= largest_backlog_mb(trace, slow, stall_s=short) + 1e-9
    assert largest_backlog_mb(trace, slow, stall_s=short) <= largest_backlog_mb(trace, slow, stall_s=long) + 1e-9


@given(TRACES, st.floats(0.5, 30), STALLS, STALLS)
def test_the_catch_up_falls_with_the_card_and_grows_with_the_lump(trace, spare, stall, lump):
    write = np.mean(trace) / 8 + spare
    faster = catch_up_s(trace, write * 1.1, stall_s=stall)
    alone = catch_up_s(trace, write, stall_s=stall)
    assert 0 <= faster <= alone + 1e-6
    assert alone <= catch_up_s(trace, write, stall_s=stall, burst_mb=lump) + 1e-6


@given(TRACES, st.floats(0.01, 3), st.floats(0.5, 30), STALLS)
def test_rates_and_steps_scale(trace, factor, spare, stall):
    write = np.mean(trace) / 8 + spare
    backlog, catch_up = largest_backlog_mb(trace, write, stall_s=stall), catch_up_s(trace, write, stall_s=stall)
    scaled = factor * np.array(trace)
    # Rates alone: volumes scale and times stay.
    assert largest_backlog_mb(scaled, factor * write, stall_s=stall) == pytest.approx(
        factor * backlog, rel=1e-6, abs=1e-9
    )
    # The clock alone: volumes and times scale.
    clock = {"stall_s": factor * stall, "step_s": factor}
    assert largest_backlog_mb(trace, write, **clock) == pytest.approx(factor * backlog, rel=1e-6, abs=1e-9)
    assert catch_up_s(trace, write, **clock) == pytest.approx(factor * catch_up, rel=1e-6, abs=1e-6)


@given(TRACES, st.floats(0.01, 20), STALLS, STALLS)
def test_the_write_rate_for_a_buffer_is_the_least_with_which_it_is_enough(trace, buffer, stall, burst):
    write = write_mbyte_s_for_buffer(trace, buffer, stall_s=stall, burst_mb=burst)
    if write == inf:
        # However fast the card, what comes during the stall is too much.
        assert largest_backlog_mb(trace, 1000, stall_s=stall, burst_mb=burst) >= buffer
    else:
        assert np.mean(trace) / 8 <= write * (1 + 1e-12)
        assert write <= np.max(trace) / 8 * (1 + 1e-8)
        assert largest_backlog_mb(trace, write, stall_s=stall, burst_mb=burst) <= buffer * (1 + 1e-6) + 1e-9
        if write > np.mean(trace) / 8 * 1.001:
            assert largest_backlog_mb(trace, 0.999 * write, stall_s=stall, burst_mb=burst) > buffer


@pytest.mark.parametrize(("buffer", "write"), [(3.2, 8 / 7), (2, 4 / 3), (1, 5 / 3), (0, 2)])
def test_the_write_rate_for_a_buffer_by_hand(buffer, write):
    # Three seconds bring 6 MB; what the buffer does not hold is written in 3 s. Never below the mean of 64/8/7 MB/s.
    assert write_mbyte_s_for_buffer(PEAK, buffer) == pytest.approx(write, rel=1e-6)
    # In steps of half a second all volumes are halved.
    assert write_mbyte_s_for_buffer(PEAK, buffer / 2, step_s=0.5) == pytest.approx(write, rel=1e-6)


def test_a_buffer_below_what_a_stall_brings_is_mended_by_no_card():
    # 0.75 s of 2 MB/s are 1.5 MB.
    assert write_mbyte_s_for_buffer(PEAK, [1.4, 1.5], stall_s=0.75) == pytest.approx([inf, 2], rel=1e-6)


@pytest.mark.parametrize("stall", [0.1, 0.2, 0.3, 0.4])
def test_a_buffer_of_just_what_a_stall_brings_is_enough_whatever_the_rounding(stall):
    # 1/8 Mbyte/s for the length of the stall; a card of the mean rate keeps what it has.
    assert write_mbyte_s_for_buffer([1] * 10, stall / 8, stall_s=stall) == pytest.approx(1 / 8, rel=1e-6)


def test_without_a_buffer_the_card_must_write_the_peak_whatever_the_rounding():
    # As floats, the sums of the trace bring 9e-16 MB more in a second than 15.8 Mbit/s do.
    trace = [11, 0.6, 15.1, 10.8, 6.6, 15.8, 6.1, 9.1]
    assert write_mbyte_s_for_buffer(trace, 0) == pytest.approx(15.8 / 8, rel=1e-6)


@pytest.mark.parametrize("write", [0, 0.5, 8 / 7])
def test_a_card_no_faster_than_the_mean_never_catches_up(write):
    assert catch_up_s(PEAK, write, stall_s=0.1) == inf
    assert catch_up_s([8.0] * 977, 1.0, stall_s=0.1) == inf


def test_cards_and_stalls_broadcast_and_scalars_give_floats():
    writes, stalls = np.array([[2.0], [10.0]]), np.array([0.0, 0.25, 0.75])
    for function in FUNCTIONS:
        table = function(PEAK, writes, stall_s=stalls, burst_mb=0.1)
        assert table.shape == (2, 3)
        alone = [[function(PEAK, write, stall_s=stall, burst_mb=0.1) for stall in stalls] for write in writes[:, 0]]
        assert table.tolist() == alone
        assert isinstance(alone[0][0], float)
        assert function(pd.Series(PEAK, index=list("abcdefg")), 2.0) == function(PEAK, 2.0)
        assert function(tuple(PEAK), 2.0) == function(np.array(PEAK), 2.0)


def test_the_given_trace_is_left_as_it_was():
    trace = np.array(PEAK, float)
    for function in FUNCTIONS:
        function(trace, 2.0, stall_s=0.5)
    assert trace.tolist() == PEAK


@pytest.mark.parametrize("function", FUNCTIONS)
@pytest.mark.parametrize(
    ("trace", "message"),
    [
        ([4, float("nan")], r"^trace_mbit_s: is nan; must be 0 or more and at most 1000 Mbit/s\."),
        ([4, float("inf")], r"^trace_mbit_s: is inf; must be 0 or more and at most 1000 Mbit/s\."),
        ([4, -0.1], r"^trace_mbit_s: is -0\.1 Mbit/s; must be 0 or more"),
        ([4, 4000], r"^trace_mbit_s: is 4000[^;]*; .*A rate in kbit/s is divided by 1000"),
        (["4"], r"^trace_mbit_s: is '4'; "),
        ([4, None], r"^trace_mbit_s: is None; "),
        ([], r"^trace_mbit_s: found no number; "),
        (None, r"^trace_mbit_s: is None; "),
        ([[1, 2], [3]], r"^trace_mbit_s: found lists of unequal length; "),
        (4, r"^trace_mbit_s: found shape \(\); allowed: one row of rates, a rate for each step"),
        ([[4, 4]], r"^trace_mbit_s: found shape \(1, 2\); allowed: one row of rates"),
        ([0, 0, 0], r"^trace_mbit_s: found rates of 0 alone; allowed: a trace in which something is written"),
    ],
)
def test_what_is_no_trace_is_refused(function, trace, message):
    with pytest.raises(InputError, match=message):
        function(trace, 1)


@pytest.mark.parametrize("function", FUNCTIONS)
@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"stall_s": -0.1}, r"^stall_s: is -0\.1 s; must be 0 or more and at most 7 s"),
        ({"stall_s": 7.5}, r"^stall_s: is 7\.5[^;]*; .*at most 7 s\. Fix: The trace must be as long as the stall"),
        ({"stall_s": [0.1, float("nan")]}, r"^stall_s: is nan; "),
        ({"stall_s": None}, r"^stall_s: is None; "),
        ({"burst_mb": -1}, r"^burst_mb: is -1 MB; must be 0 or more MB"),
        ({"burst_mb": "1"}, r"^burst_mb: is '1'; "),
        ({"step_s": 0}, r"^step_s: is 0 s; must be above 0 s"),
        ({"step_s": [1, 2]}, r"^step_s: found shape \(2,\); allowed: one number"),
        ({"stall_s": [0.1, 0.2], "burst_mb": [1, 2, 3]}, r"^shapes: found .*stall_s \(2,\), burst_mb \(3,\)"),
    ],
)
def test_what_is_out_of_range_is_refused(function, changed, message):
    with pytest.raises(InputError, match=message):
        function(PEAK, 2, **changed)


@pytest.mark.parametrize("bad", [-0.1, float("nan"), float("inf"), "10", None, True])
def test_a_card_or_a_buffer_that_is_no_number_is_refused(bad):
    for function in FUNCTIONS[:2]:
        with pytest.raises(InputError, match=r"^write_mbyte_s: is .*; must be 0 or more Mbyte/s"):
            function(PEAK, bad)
    with pytest.raises(InputError, match=r"^buffer_mb: is .*; must be 0 or more MB"):
        write_mbyte_s_for_buffer(PEAK, bad)


def test_no_stall_begins_before_the_trace_however_short_its_steps():
    # 3 MB arrive in the first second, nothing in the second one; the card writes 2 MB/s from 0.2 s on: 3 MB by 1.7 s.
    trace = mbit_s([3] * 10 + [0] * 10)
    assert catch_up_s(trace, 2, stall_s=0.2, step_s=0.1) == pytest.approx(1.5)
