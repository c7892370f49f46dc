"""Recorded fraction and clips, against printed values, limits and events thrown at random."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError, recorded_fraction
from edgestore.models.rate import clips_per_day, kept_s, mean_clip_s, mean_recorded_fraction

event_rates = st.floats(0.01, 200)
lengths = st.floats(0.1, 600)

# Closed forms evaluated apart from this code: 1 - exp(-l E), (exp(l E) - 1)/l and 24 l exp(-l E).
TABLE = [
    # events an hour, kept s, recorded fraction, mean clip s, clips a day
    # l E = 1/12: 1/12 - 1/288 + 1/10368 - 1/497664 + 1/29859840 = 0.0799556.
    (12, 25, 0.0799556, 26.0712, 264.973),
    (30, 60, 0.393469, 77.847, 436.70),
    (60, 60, 0.632121, 103.097, 529.746),
]


@pytest.mark.parametrize(("rate", "kept", "fraction", "clip", "clips"), TABLE)
def test_fraction_clip_length_and_clips_a_day_are_the_tabled_ones(rate, kept, fraction, clip, clips):
    assert recorded_fraction(rate, kept) == pytest.approx(fraction, rel=1e-6)
    assert mean_clip_s(rate, kept) == pytest.approx(clip, abs=5e-4)
    assert clips_per_day(rate, kept) == pytest.approx(clips, abs=5e-3)


def test_rolls_lengthen_every_event():
    # 10 s + 5 s before + 10 s after = 25 s.
    assert kept_s(event_s=10, pre_roll_s=5, post_roll_s=10) == 25.0
    assert (kept_s(10), kept_s(10, 5), kept_s(10, post_roll_s=10)) == (10, 15, 20)
    assert recorded_fraction(12, 10, 5, 10) == pytest.approx(0.0799556, abs=5e-8)
    assert clips_per_day(12, 10, pre_roll_s=5, post_roll_s=10) == clips_per_day(12, 25)
    assert mean_clip_s(12, 10, pre_roll_s=5, post_roll_s=10) == mean_clip_s(12, 25)


def test_no_events_record_nothing():
    assert recorded_fraction(0, 60) == 0.0
    assert not np.signbit(recorded_fraction(0, 60))
    assert clips_per_day(0, 60) == 0.0


def test_events_without_end_record_always():
    assert recorded_fraction(1e6, 60) == 1.0
    assert clips_per_day(1e6, 60) == 0.0
    assert mean_clip_s(1e6, 60) == np.inf


def test_rare_events_never_overlap():
    # One event of 36 s in 1000 h: 36 / 3 600 000 = 1e-5 of the time, 0.024 clips a day of 36 s.
    assert recorded_fraction(0.001, 36) == pytest.approx(1e-5, rel=1e-5)
    assert clips_per_day(0.001, 36) == pytest.approx(0.024, rel=2e-5)
    assert mean_clip_s(0.001, 36) == pytest.approx(36, rel=1e-5)


@given(event_rates, lengths)
def test_clips_times_their_length_are_the_recorded_time(rate, kept):
    seconds_a_day = clips_per_day(rate, kept) * mean_clip_s(rate, kept)
    assert seconds_a_day / 86_400 == pytest.approx(recorded_fraction(rate, kept), rel=1e-9)


@given(event_rates, lengths)
def test_the_fraction_is_below_the_sum_of_the_events(rate, kept):
    fraction = recorded_fraction(rate, kept)
    assert 0 < fraction <= min(1, rate * kept / 3600)
    assert mean_clip_s(rate, kept) >= kept


@given(event_rates, lengths)
def test_independent_causes_leave_the_product_of_what_each_leaves(rate, kept):
    left = (1 - recorded_fraction(rate, kept)) * (1 - recorded_fraction(2 * rate, kept))
    assert 1 - recorded_fraction(3 * rate, kept) == pytest.approx(left, abs=1e-12)


def test_more_or_longer_events_record_more():
    grid = np.linspace(1, 200, 400)
    for fractions in (
        recorded_fraction(grid, 30),
        recorded_fraction(30, grid),
        recorded_fraction(30, 5, grid),
        recorded_fraction(30, 5, 5, grid),
        mean_clip_s(grid, 30),
    ):
        assert np.all(np.diff(fractions) > 0)


def thrown_events(rng, rate_per_h: float, lengths_s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Seconds covered and clips begun in each of 2000 stretches of 12 h, events coming from 1 h before on."""
    stretch, before = 12 * 3600, 3600
    horizon = 2000 * stretch
    count = rng.poisson(rate_per_h * (horizon + before) / 3600)
    starts = np.sort(rng.uniform(-before, horizon, count))
    ends = starts + rng.choice(lengths_s, count)
    covered_to = np.concatenate([[-np.inf], np.maximum.accumulate(ends)[:-1]])
    fresh = starts > covered_to
    # Each event adds what no earlier one covers; what it adds counts for the stretch in which it starts.
    added = np.maximum(0, ends - np.maximum(starts, covered_to))
    inside = starts >= 0
    where = (starts[inside] // stretch).astype(int)
    covered = np.bincount(where, weights=added[inside], minlength=2000)
    return covered / stretch, np.bincount(where, weights=fresh[inside], minlength=2000)


@pytest.mark.parametrize(
    ("rate", "lengths_s"),
    [(12, [25]), (30, [60]), (60, [60]), (60, [5, 20, 155]), (200, [1, 59])],
    ids=["rare", "often", "overlapping", "of three lengths", "dense"],
)
@pytest.mark.slow
def test_events_thrown_at_random_cover_the_fraction_whatever_the_law_of_their_length(rate, lengths_s):
    """In 24 000 h the standard error is 0.0001 to 0.0006 of the time, 0.4 to 1.1 clips a day; four are allowed."""
    covered, clips = thrown_events(np.random.default_rng(20240501), rate, np.array(lengths_s))
    kept = np.mean(lengths_s)
    for thrown, stated in ((covered, recorded_fraction(rate, kept)), (2 * clips, clips_per_day(rate, kept))):
        standard_error = thrown.std(ddof=1) / np.sqrt(thrown.size)
        assert abs(thrown.mean() - stated) < 4 * standard_error
    assert covered.sum() * 12 * 3600 / clips.sum() == pytest.approx(mean_clip_s(rate, kept), rel=0.005)


def test_a_day_that_changes_averages_the_fraction_and_not_the_rate():
    # 8 h at 2, 10 h at 60 and 6 h at 10 an hour, 60 s each: (8 x 0.032784 + 10 x 0.632121 + 6 x 0.153518) / 24.
    assert mean_recorded_fraction([2, 60, 10], [8, 10, 6], 60) == pytest.approx(0.31269, abs=5e-6)
    # The mean rate, (8 x 2 + 10 x 60 + 6 x 10) / 24 = 28.17 an hour, would say 0.37465.
    assert recorded_fraction((8 * 2 + 10 * 60 + 6 * 10) / 24, 60) == pytest.approx(0.37465, abs=5e-6)


@given(st.lists(event_rates, min_size=1, max_size=6), lengths)
def test_the_average_lies_between_its_parts_and_below_that_of_the_mean_rate(rates, kept):
    average = mean_recorded_fraction(rates, [4] * len(rates), kept)
    parts = recorded_fraction(rates, kept)
    assert parts.min() - 1e-12 <= average <= parts.max() + 1e-12
    assert average <= recorded_fraction(np.mean(rates), kept) + 1e-12


def test_one_length_for_all_parts_means_parts_of_equal_length():
    # (0.032784 + 0.632121 + 0.153518) / 3 = 0.272808.
    for hours in (8, [8], [8, 8, 8]):
        assert mean_recorded_fraction([2, 60, 10], hours, 60) == pytest.approx(0.272808, abs=5e-7)


def test_a_single_part_is_the_plain_fraction():
    assert mean_recorded_fraction(30, 24, 60) == pytest.approx(0.393469, abs=5e-7)


def test_a_part_of_no_length_does_not_count():
    assert mean_recorded_fraction([30, 999], [24, 0], 60) == pytest.approx(0.393469, abs=5e-7)


def test_only_the_proportion_of_the_parts_counts():
    # The same day in fractions of a day: 1/3, 5/12 and 1/4.
    assert mean_recorded_fraction([2, 60, 10], [1 / 3, 5 / 12, 1 / 4], 60) == pytest.approx(0.31269, abs=5e-6)


def test_several_cameras_are_averaged_each_over_its_own_day():
    both = mean_recorded_fraction([[2, 60, 10], [30, 30, 30]], [8, 10, 6], 60)
    assert both == pytest.approx([0.31269, 0.39347], abs=5e-6)


def test_parts_that_sum_to_nothing_are_refused():
    message = r"^hours: found parts that sum to 0 h; allowed: parts that sum to more than 0 h\."
    with pytest.raises(InputError, match=message):
        mean_recorded_fraction([2, 60], [0, 0], 60)
    with pytest.raises(InputError, match=message):
        mean_recorded_fraction([2, 60], [[8, 8], [0, 0]], 60)


def test_parts_and_lengths_that_do_not_fit_are_refused():
    with pytest.raises(InputError, match=r"^shapes: found events_per_h \(2,\), hours \(3,\), event_s \(\)"):
        mean_recorded_fraction([2, 60], [8, 8, 8], 60)


def test_the_length_of_a_clip_that_never_comes_is_refused():
    with pytest.raises(InputError, match=r"^events_per_h: is 0 an hour; must be above 0 an hour\."):
        mean_clip_s(0, 60)
