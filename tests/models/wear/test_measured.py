"""Write amplification from counters and from wear to slow-down: hand arithmetic, and what must hold for any numbers."""

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.wear import (
    endurance_tbw_from_cycles,
    slow_down_tb,
    write_amplification_from_wear,
    write_amplification_measured,
)

factors = st.floats(0.01, 100)
counts = st.integers(0, 3000)


def test_a_counter_in_whole_cycles_gives_a_narrow_range():
    # 600 cycles +- 1 of 64 GB over 9600 GB: 599 / 150 = 3.9933 to 601 / 150 = 4.0067.
    low, high = write_amplification_measured(100, 700, counted_gb=64, host_written_gb=9600)
    assert (low, high) == pytest.approx((599 / 150, 601 / 150), rel=1e-12)


def test_a_life_time_estimate_that_moved_by_one_step_gives_no_lower_end():
    # 300 - 300 = 0 cycles, or 600: 600 x 64 / 9600 = 4.
    low, high = write_amplification_measured(0, 300, counted_gb=64, host_written_gb=9600, erase_count_step=300)
    assert (low, high) == (0, 4)


def test_a_counter_that_was_watched_for_its_changes_is_as_sure_as_the_volume_between_two_looks():
    # 600 x 64 = 38 400 GB over 9600 + 600 and 9600 - 600 GB.
    watched = {"erase_count_step": 0, "host_step_gb": 600}
    low, high = write_amplification_measured(0, 600, counted_gb=64, host_written_gb=9600, **watched)
    assert (low, high) == pytest.approx((38_400 / 10_200, 38_400 / 9000), rel=1e-12)


@given(
    true_before=st.floats(0, 1000), moved=st.floats(0, 1000), step=st.sampled_from([1, 30, 300]), host=st.floats(1, 1e5)
)
def test_the_range_holds_the_truth_whatever_the_counter_cuts_off(true_before, moved, step, host):
    shown = [step * np.floor(count / step) for count in (true_before, true_before + moved)]
    low, high = write_amplification_measured(*shown, counted_gb=64, host_written_gb=host, erase_count_step=step)
    truth = moved * 64 / host
    assert low * (1 - 1e-9) <= truth + 1e-9
    assert truth <= high * (1 + 1e-9)


@given(before=counts, moved=counts, factor=factors, step=st.floats(0, 300))
def test_twice_the_flash_and_twice_the_volume_change_nothing(before, moved, factor, step):
    one = write_amplification_measured(
        before, before + moved, counted_gb=32, host_written_gb=1000, erase_count_step=step, host_step_gb=10
    )
    other = write_amplification_measured(
        before,
        before + moved,
        counted_gb=32 * factor,
        host_written_gb=1000 * factor,
        erase_count_step=step,
        host_step_gb=10 * factor,
    )
    assert one == pytest.approx(other, rel=1e-9)


@given(before=counts, moved=counts, step=st.floats(0, 300), finer=st.floats(0, 1))
def test_a_finer_counter_never_widens_the_range(before, moved, step, finer):
    coarse, fine = (
        write_amplification_measured(before, before + moved, counted_gb=64, host_written_gb=1000, erase_count_step=one)
        for one in (step, step * finer)
    )
    assert coarse[0] <= fine[0] <= fine[1] <= coarse[1]


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        (
            {"erase_count_after": 99},
            "erase_count_after: found less than erase_count_before; allowed: no less. Fix: A counter of erases never",
        ),
        (
            {"host_step_gb": 1000},
            "host_step_gb: found no less than host_written_gb; allowed: less. Fix: Write more between",
        ),
    ],
)
def test_a_counter_that_runs_backwards_and_a_volume_less_sure_than_it_is_large_are_refused(changed, message):
    given_numbers = {"erase_count_before": 100, "erase_count_after": 200, "counted_gb": 64, "host_written_gb": 1000}
    with pytest.raises(InputError, match=f"^{message}"):
        write_amplification_measured(**given_numbers | changed)


@given(capacity=st.floats(1, 4000), cycles=st.floats(100, 1e5), amplification=st.floats(1, 100))
def test_wear_by_the_endurance_of_an_amplification_gives_that_amplification(capacity, cycles, amplification):
    endurance = endurance_tbw_from_cycles(capacity, cycles, amplification)
    assert write_amplification_from_wear(capacity, cycles, endurance) == pytest.approx(amplification, rel=1e-12)


@given(before=st.integers(3, 40), after=st.integers(7, 40), fast=st.floats(1, 200), left=st.floats(0, 0.79))
def test_a_step_without_scatter_is_found_between_the_two_readings_where_it_was_put(before, after, fast, left):
    tb = np.arange(1, before + after + 1) * 0.5
    found = slow_down_tb(tb, [fast] * before + [fast * left] * after)
    assert (found.low_tb, found.high_tb) == (tb[before - 1], tb[before])
    assert found.best_tb == pytest.approx(tb[before - 1] + 0.25)
    assert (found.before_mbyte_s, found.after_mbyte_s) == pytest.approx((fast, fast * left))


@given(seed=st.integers(0, 10_000), per_tb=factors, per_rate=factors)
def test_other_units_of_volume_and_rate_find_the_same_step(seed, per_tb, per_rate):
    tb, rate = np.arange(1.0, 31), scattered(seed, [30.0] * 18 + [15.0] * 12, 2.0)
    one, other = slow_down_tb(tb, rate), slow_down_tb(tb * per_tb, rate * per_rate)
    assert (other.low_tb, other.best_tb, other.high_tb) == pytest.approx(
        tuple(per_tb * value for value in (one.low_tb, one.best_tb, one.high_tb))
    )
    assert other.before_mbyte_s == pytest.approx(per_rate * one.before_mbyte_s)


def scattered(seed: int, rates: list[float], deviation: float) -> np.ndarray:
    return np.maximum(np.array(rates) + np.random.default_rng(seed).normal(0, deviation, len(rates)), 0)


def test_the_bracket_holds_the_step_in_nine_of_ten_rows_with_scatter():
    # Rates of 30 then 20 with a deviation of 5: an interval of 95 % that is rough in a row of 40.
    tb = np.arange(1.0, 41)
    found = [slow_down_tb(tb, scattered(seed, [30.0] * 25 + [20.0] * 15, 5.0)) for seed in range(200)]
    assert np.mean([one.low_tb <= 25 and one.high_tb >= 26 for one in found]) >= 0.9
    assert 2 < np.mean([one.high_tb - one.low_tb for one in found]) < 15  # it holds the step, and not by being the row


def test_less_scatter_narrows_the_bracket():
    tb = np.arange(1.0, 41)
    wide, narrow = (slow_down_tb(tb, scattered(1, [30.0] * 25 + [15.0] * 15, deviation)) for deviation in (6.0, 1.0))
    assert narrow.high_tb - narrow.low_tb < wide.high_tb - wide.low_tb


def test_scatter_alone_is_taken_for_a_step_in_at_most_one_row_of_twenty():
    found = 0
    for seed in range(400):
        with suppress(InputError):
            slow_down_tb(np.arange(1.0, 31), scattered(seed, [30.0] * 30, 10.0))
            found += 1
    assert found <= 20


@pytest.mark.parametrize(
    "rate",
    [
        [30.0] * 12,
        [0.0] * 12,
        [15.0] * 6 + [30.0] * 6,  # it rises
        [30.0] * 6 + [25.0] * 6,  # a sixth less
        [30.0] * 10 + [5.0] * 2,  # not yet sustained
        [30.0] * 5 + [5.0] + [30.0] * 6,  # a stall
    ],
)
def test_a_rate_that_does_not_fall_by_a_fifth_and_stay_low_is_no_slow_down(rate):
    with pytest.raises(InputError, match=r"write_mbyte_s: found no step; .* Fix: Write on until"):
        slow_down_tb(np.arange(1.0, len(rate) + 1), rate)


@pytest.mark.parametrize(
    ("tb", "rate", "message"),
    [
        ([1, 2, 3], [30, 30, 10], r"host_written_tb: found shape \(3,\); allowed: one row of 10 or more readings"),
        ([[1, 2, 3, 4, 5, 6, 7, 8, 9, 10]], [[30] * 10], r"host_written_tb: found shape \(1, 10\); allowed: one row"),
        (
            [1, 2, 3, 4, 5, 5, 7, 8, 9, 10],
            [30] * 5 + [10] * 5,
            "host_written_tb: found a reading that is not above the previous one; allowed: rising volumes",
        ),
        (list(range(10)), [30] * 12, "shapes: "),
        (list(range(10)), 30, "write_mbyte_s: "),
        (list(range(10)), [30] * 9 + [float("nan")], "write_mbyte_s: is nan"),
    ],
)
def test_readings_that_are_no_rising_row_of_ten_are_refused_by_name(tb, rate, message):
    with pytest.raises(InputError, match=f"^{message}"):
        slow_down_tb(tb, rate)


def test_one_of_several_volumes_that_is_less_sure_than_it_is_large_is_refused():
    with pytest.raises(InputError, match=r"^host_step_gb"):
        write_amplification_measured(0, 100, counted_gb=64, host_written_gb=[1000, 10], host_step_gb=20)


def scattered_by(deviation: float) -> list[float]:
    """Give six rates about 30 and six about 20, each that far above or below."""
    return [30 - deviation, 30 + deviation] * 3 + [20 - deviation, 20 + deviation] * 3


# With a deviation a the squares about two means are S = 12 a^2; about one mean they are 6 x 6 / 12 x 10^2 = 300 more.
@pytest.mark.parametrize(("deviation", "is_step"), [(5.0, True), (5.05, False)])
def test_a_step_is_told_from_scatter_by_the_published_limit(deviation, is_step):
    # The ratio is 300 / (12 a^2 / 10) = 250 / a^2: 10.00 and 9.80, on either side of 9.84.
    if is_step:
        found = slow_down_tb(range(1, 13), scattered_by(deviation))
        assert (found.before_mbyte_s, found.after_mbyte_s) == (30, 20)
    else:
        with pytest.raises(InputError, match="write_mbyte_s: found no step"):
            slow_down_tb(range(1, 13), scattered_by(deviation))


def test_a_step_has_to_exceed_the_limit():
    # Means of 200 and 118, squares of 2 x (30^2 + 65^2) = 10 250 about each, 6 x 6 / 12 x 82^2 = 20 172 more about one:
    # 20 172 / (20 500 / 10) is just 9.84.
    rates = [200, 200, 170, 230, 135, 265, 53, 183, 118, 118, 88, 148]
    with pytest.raises(InputError, match="write_mbyte_s: found no step"):
        slow_down_tb(range(1, 13), rates)
    rates[6:8] = [54, 182]  # a little less scatter
    assert slow_down_tb(range(1, 13), rates).best_tb == 6.5


@pytest.mark.parametrize(("deviation", "bracket"), [(4.68, (3, 10)), (4.8, (2, 11))])
def test_the_bracket_reaches_as_many_readings_as_the_published_point_says(deviation, bracket):
    # 11.03 x 12 a^2 / 10 / 10^2 = 0.013236 a^2 readings: 2.899 and 3.0496, so 3 and 4 from the readings 6 and 7.
    found = slow_down_tb(range(1, 13), scattered_by(deviation))
    assert (found.low_tb, found.high_tb) == bracket


@pytest.mark.parametrize(
    ("rates", "bracket"),
    [
        ([30] * 3 + [7.5, 22.5] * 4 + [15], (1, 7)),
        ([37.5, 22.5] * 4 + [30] + [15] * 3, (6, 12)),
    ],
)
def test_the_bracket_ends_with_the_row(rates, bracket):
    # 11.03 x 8 x 7.5^2 / 10 / 15^2 = 2.2, so 3 readings: just beyond the row from the third reading, or third last.
    found = slow_down_tb(range(1, 13), rates)
    assert (found.low_tb, found.high_tb) == bracket


@pytest.mark.parametrize(("before", "after"), [(3, 9), (9, 3)])
def test_three_readings_on_a_side_are_sustained_and_two_are_not(before, after):
    found = slow_down_tb(range(1, 13), [30] * before + [10] * after)
    assert (found.low_tb, found.high_tb) == (before, before + 1)
    fewer = (2, 10) if before < after else (10, 2)
    with pytest.raises(InputError, match="write_mbyte_s: found no step"):
        slow_down_tb(range(1, 13), [30] * fewer[0] + [10] * fewer[1])


def test_a_fall_by_just_a_fifth_is_a_slow_down_and_less_is_none():
    assert slow_down_tb(range(1, 11), [30] * 5 + [24] * 5).best_tb == 5.5
    with pytest.raises(InputError, match="write_mbyte_s: found no step"):
        slow_down_tb(range(1, 11), [30] * 5 + [24.1] * 5)


def test_a_counter_that_stood_still_is_no_fault_and_one_of_several_that_ran_backwards_is():
    # No cycle, or less than one more: 0 to 1 x 64 / 1000.
    assert write_amplification_measured(7, 7, counted_gb=64, host_written_gb=1000) == (0, 0.064)
    with pytest.raises(InputError, match=r"^erase_count_after"):
        write_amplification_measured([100, 100], [200, 99], counted_gb=64, host_written_gb=1000)


def test_a_volume_unsure_by_next_to_all_of_it_is_allowed():
    # 10 cycles of 64 GB over 2 + 1.5 GB, or over 0.5 GB.
    ends = write_amplification_measured(0, 10, counted_gb=64, host_written_gb=2, erase_count_step=0, host_step_gb=1.5)
    assert ends == pytest.approx((640 / 3.5, 640 / 0.5))


def test_a_first_reading_that_stands_out_is_no_step_and_hides_a_lesser_one():
    # 49, five of 30, six of 20. Squares about two means: 6 x 5 / 11 x 10^2 = 273 for a step after the first, and
    # 5 / 6 x 19^2 = 301 for one after the sixth.
    rates = [49] + [30] * 5 + [20] * 6
    with pytest.raises(InputError, match="write_mbyte_s: found no step"):
        slow_down_tb(range(1, 13), rates)
    rates[0] = 47  # 5 / 6 x 17^2 = 241
    assert slow_down_tb(range(1, 13), rates).best_tb == 6.5
