"""Packets add up to rates that a reader can check by hand, whatever their order and the chunks they come in."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.checks import InputError
from edgestore.inputs.clip_sums import ClipSums

NAN = math.nan


def sums(times_s, sizes=None, keys=(), fps=25.0, chunk=None) -> ClipSums:
    """Add up pictures in chunks; without sizes each has 100 bytes, and keys are given by number."""
    count = len(times_s)
    times = np.array(times_s, float)
    bytes_ = np.full(count, 100) if sizes is None else np.array(sizes, np.int64)
    is_key = np.isin(np.arange(count), list(keys))
    total = ClipSums(fps)
    for at in range(0, count, chunk or count):
        part = slice(at, at + (chunk or count))
        total.add(times[part], bytes_[part], is_key[part])
    total.close()
    return total


def test_totals_span_and_largest_count_every_picture():
    total = sums([0, 0.5, 1.0, 1.5], [900, 100, 200, 300], keys=[0])
    assert (total.pictures, total.total_bytes, total.largest_bytes) == (4, 1500, 900)
    assert (total.keys, total.key_bytes) == (1, 900)
    assert (total.span_s, total.step_s) == (1.5, 0.5)  # three steps of 0.5 s


def test_bytes_fall_into_whole_seconds_from_the_first_picture():
    # From 7.25 s on: 0, 0.5 | 1.0, 1.75 | none in the third | 3.0
    total = sums([7.25, 7.75, 8.25, 9.0, 10.25], [10, 20, 40, 80, 160])
    assert total.bytes_by_s.tolist() == [30, 120, 0, 160]


@pytest.mark.parametrize("clock", [90_000, 1000, 600])
@pytest.mark.parametrize("first", [0, 1.4, 1.4833333333, 13_634.25])
def test_a_picture_on_a_whole_second_is_of_that_second_though_its_time_was_rounded(first, clock):
    # Ten pictures a second on the stream's clock; 1.4 s is where transport streams often begin. The product with the
    # inexact 1/clock is a little under the whole second for some of them.
    ticks = round(first * clock) + np.arange(600) * (clock // 10)
    assert sums(ticks * (1 / clock)).bytes_by_s.tolist() == [1000] * 60


def test_the_peak_group_is_closed_by_a_next_key_frame():
    # Groups from key to key: 0 to 1 s 1000 + 100 = 1100 bytes/s; 1 to 3 s 3000 + 300 over 2 s = 1650 bytes/s; the last,
    # of 9000 bytes, is open, and what comes before the first key frame is of no group.
    total = sums([-1, 0, 0.5, 1, 2, 3, 3.5], [7777, 1000, 100, 3000, 300, 9000, 5], keys=[1, 3, 5])
    assert total.peak_group_bytes_s == 1650
    assert (total.first_key_s, total.last_key_s) == (1, 4)


def test_two_key_frames_at_one_moment_close_no_group_between_them():
    # The only closed group goes from 0 to 2 s and has the second and the third picture: 200 bytes.
    assert sums([0, 0, 1, 2], keys=[0, 1, 3]).peak_group_bytes_s == 100


@pytest.mark.parametrize("keys", [[], [2]])
def test_without_two_key_frames_no_group_is_closed(keys):
    assert math.isnan(sums(range(5), keys=keys).peak_group_bytes_s)


def test_pauses_count_in_the_span_and_not_in_the_step():
    # Steps 1, 1, 20, 1, 40, 1: two are longer than 10 s; the four others last 4 s.
    total = sums([0, 1, 2, 22, 23, 63, 64])
    assert (total.pauses, total.pause_s, total.moving_s) == (2, 60, 4)
    assert (total.step_s, total.span_s) == (1, 64)
    assert (total.shortest_s, total.longest_s) == (1, 1)


def test_a_step_of_ten_seconds_is_no_pause():
    assert sums([0, 10]).pauses == 0
    assert sums([0, 10.5]).pauses == 1


def test_pictures_that_are_all_far_apart_have_the_mean_step():
    assert sums([0, 20, 60]).step_s == 30  # 60 s over two steps


def test_pictures_at_one_moment_before_a_pause_have_no_step():
    assert sums([0, 0, 20.1]).step_s == 0


def test_a_single_picture_has_no_step():
    total = sums([3.0], [500], keys=[0])
    assert (total.pictures, total.span_s, total.step_s) == (1, 0, 0)
    assert total.bytes_by_s.tolist() == [500]


def test_after_a_clock_that_was_set_time_goes_on_from_the_picture_before():
    # Back by 5000 s after the third picture, ahead by 9000 s after the fifth: there time goes on by 1/4 s.
    total = sums([5000, 5001, 5002, 2, 3, 9003, 9004], fps=4)
    assert total.clock_breaks == 2
    assert total.span_s == 4.5
    assert total.bytes_by_s.tolist() == [100, 100, 200, 200, 100]  # at 0, 1, 2, 2.25, 3.25, 3.5, 4.5


@pytest.mark.parametrize(("step_s", "breaks"), [(-2.0, 0), (-2.5, 1), (3600.0, 0), (3600.5, 1)])
def test_only_a_large_step_is_a_clock_that_was_set(step_s, breaks):
    assert sums([100, 100 + step_s]).clock_breaks == breaks


def test_a_small_step_back_is_shown_in_order():
    total = sums([0, 1, 2, 1.5, 2.5], [1, 2, 4, 8, 16])
    assert total.clock_breaks == 0
    # Sorted times 0, 1, 1.5, 2, 2.5 for the pictures as stored.
    assert total.bytes_by_s.tolist() == [1, 6, 24]


def test_pictures_without_any_time_are_spaced_at_the_even_rate():
    total = sums([NAN] * 30, fps=10)
    assert total.untimed == 30
    assert total.span_s == pytest.approx(2.9, abs=1e-12)
    assert total.bytes_by_s.tolist() == [1000, 1000, 1000]


def test_a_picture_without_a_time_follows_the_one_before_by_an_even_step():
    total = sums([0, 1, NAN, NAN, 2], [1, 2, 4, 8, 16], fps=4)
    assert total.untimed == 2
    assert total.bytes_by_s.tolist() == [1, 14, 16]  # at 0, 1, 1.25, 1.5, 2


@pytest.mark.parametrize("chunk", [1, 2, 3, 5])
def test_pictures_without_a_time_at_the_beginning_go_before_the_first_that_has_one(chunk):
    # A stream cut out of a longer one begins untimed, then says 1000 s: no pause of 1000 s.
    total = sums([NAN, NAN, 1000, 1000.5, 1001], fps=2, chunk=chunk)
    assert (total.untimed, total.pauses, total.clock_breaks) == (2, 0, 0)
    assert total.span_s == 2  # two even steps of 0.5 s, then 0.5 and 0.5


def test_time_never_goes_back_however_late_a_picture_comes():
    # 200 pictures to 1.99 s, then 100 from 0.6 s on, 139 pictures too late: no more than the last 64 wait for others.
    total = sums([*np.arange(200) / 100, *(0.6 + np.arange(100) / 100)], chunk=50)
    assert (total.clock_breaks, total.pictures) == (0, 300)
    assert total.shortest_s >= 0
    assert total.span_s == 1.99
    assert total.bytes_by_s.sum() == 30_000


def test_the_kth_picture_in_storage_has_the_kth_smallest_time():
    # Stored I P B B P B B, shown at 0 3 1 2 6 4 5 s: the sizes keep the order of storage.
    total = sums([0, 3, 1, 2, 6, 4, 5], [64, 32, 1, 2, 16, 4, 8], keys=[0, 4])
    assert total.bytes_by_s.tolist() == [64, 32, 1, 2, 16, 4, 8]
    assert total.peak_group_bytes_s == 99 / 4  # 64 + 32 + 1 + 2 bytes in the 4 s to the second key frame


def test_a_span_of_more_than_a_month_is_refused_before_the_trace_is_made():
    # Every step is under an hour, so none is a clock that was set; 32 days are more than 31.
    times = np.arange(0, 32 * 24 * 3600, 3000.0)
    with pytest.raises(InputError, match=r"time stamps: found a span of 76\d h; allowed: at most 31 days"):
        sums(times)
    assert sums(times[times < 31 * 24 * 3600]).pictures == 893  # 2 678 400 s in steps of 3000 s, and the first


def test_the_trace_is_all_that_grows():
    short, long = (sums(np.arange(0, length_s, 0.1), chunk=4096) for length_s in (600, 7200))
    assert (short.bytes_by_s.size, long.bytes_by_s.size) == (600, 7200)
    for total in (short, long):
        assert total._waiting_s.size == total._waiting_sizes.size == total._waiting_keys.size == 0


def plain_sums(times_s, sizes, keys):
    """Add up one picture after the other over sorted times: the rule in its plainest form."""
    first = min(times_s)
    trace, groups, open_since, open_bytes = {}, [], None, 0
    for time, size, key in zip(sorted(times_s), sizes, keys, strict=True):
        at = time - first
        second = math.floor(at + 1e-6)
        trace[second] = trace.get(second, 0) + size
        if key:
            if open_since is not None and at > open_since:
                groups.append(open_bytes / (at - open_since))
            open_since, open_bytes = at, 0
        open_bytes += size
    return [trace.get(second, 0) for second in range(max(trace) + 1)], max(groups, default=NAN)


@st.composite
def pictures(draw):
    """Draw pictures on a clock of 1/64 s, out of order within windows of 16 and 2 s, with a start anywhere."""
    count = draw(st.integers(2, 300))
    steps = draw(st.lists(st.integers(1, 8), min_size=count, max_size=count))
    order = np.arange(count)
    for at in range(0, count, 16):
        order[at : at + 16] = draw(st.permutations(range(at, min(at + 16, count))))
    times_s = (np.cumsum(steps) + draw(st.integers(-100, 10**6)))[order] / 64
    sizes = draw(st.lists(st.integers(0, 10**6), min_size=count, max_size=count))
    keys = draw(st.lists(st.booleans(), min_size=count, max_size=count))
    cuts = draw(st.lists(st.integers(1, count - 1), max_size=8, unique=True))
    return times_s, np.array(sizes), np.array(keys), sorted(cuts)


@given(pictures())
def test_any_chunks_give_the_sums_of_a_plain_loop_over_sorted_times(drawn):
    times_s, sizes, keys, cuts = drawn
    total = ClipSums(25.0)
    for part in np.split(np.arange(times_s.size), cuts):
        total.add(times_s[part], sizes[part], keys[part])
    total.close()
    trace, peak = plain_sums(times_s.tolist(), sizes.tolist(), keys.tolist())
    assert total.clock_breaks == 0
    assert total.bytes_by_s.tolist() == trace
    assert total.peak_group_bytes_s == pytest.approx(peak, rel=1e-9, nan_ok=True)
    assert total.span_s == times_s.max() - times_s.min()
    assert (total.total_bytes, total.keys) == (sizes.sum(), keys.sum())


@given(
    st.lists(st.one_of(st.none(), st.integers(-400_000, 400_000)), min_size=1, max_size=120),
    st.integers(1, 120),
)
def test_chunks_make_no_difference_even_to_a_broken_clock(ticks, chunk):
    times_s = [NAN if tick is None else tick / 16 for tick in ticks]
    sizes = np.arange(len(ticks)) + 1
    keys = range(0, len(ticks), 7)
    whole, parts = sums(times_s, sizes, keys, fps=16), sums(times_s, sizes, keys, fps=16, chunk=chunk)
    for name in ("untimed", "clock_breaks", "pictures", "total_bytes", "pauses", "keys", "largest_bytes"):
        assert getattr(whole, name) == getattr(parts, name), name
    for name in ("span_s", "pause_s", "moving_s", "longest_s", "peak_group_bytes_s"):
        assert getattr(whole, name) == pytest.approx(getattr(parts, name), rel=1e-9, nan_ok=True), name
    assert whole.bytes_by_s.tolist() == parts.bytes_by_s.tolist()
