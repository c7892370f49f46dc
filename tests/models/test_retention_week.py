"""Retention through a week, against a minute-by-minute count made here in whole numbers.

A minute of 1 Mbit/s is 7.5 MB, the unit of the count. Rates of 0, 1, 2 and 4 Mbit/s and cards in steps of 4 units
(0.03 GB) put every bend of the curve on a whole minute, so the count misses none.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError, retention_h
from edgestore.models.retention import WeekOfWrites, retention_through_week

HOURS = 7 * 24
MINUTES = HOURS * 60
GB_PER_UNIT = 0.0075
RATES = np.array([1, 2, 4])

# A day with a night pause, a quiet hour and a busy afternoon, and a week of six of them and a Sunday off.
DAY = np.array([0] * 6 + [1] * 6 + [2, 2, 4, 4, 4, 4, 2, 1] + [0] * 4)
WEEK = np.concatenate([np.tile(DAY, 6), np.zeros(24, dtype=int)])


def counted_ages_h(card_units: int, rates) -> np.ndarray:
    """Age of the oldest footage at each minute: since the last moment with a card's worth written after it."""
    written = np.concatenate([[0], np.cumsum(np.repeat(rates, 60))])
    now = np.arange(MINUTES)
    weeks, level = np.divmod(written[:-1] - card_units, written[-1])
    minute = np.searchsorted(written, level, side="right") - 1
    part = (level - written[minute]) / (written[minute + 1] - written[minute])
    return (now - (weeks * MINUTES + minute + part)) / 60


def assert_as_counted(card_units: int, rates) -> None:
    counted = counted_ages_h(card_units, rates)
    week = retention_through_week(card_units * GB_PER_UNIT, rates)
    assert week.oldest_h == pytest.approx(counted[::60], abs=1e-6)
    assert week.worst_h == pytest.approx(counted.min(), abs=1e-6)
    assert counted[round(week.worst_hour * 60) % MINUTES] == pytest.approx(counted.min(), abs=1e-6)


def random_week(rng, pause: float):
    rates = np.where(rng.random(HOURS) < pause, 0, rng.choice(RATES, HOURS))
    rates[rng.integers(HOURS)] = 1
    return rates


@pytest.mark.parametrize("pause", [0.0, 0.3, 0.7, 0.95, 1.0])
def test_random_weeks_and_cards_from_minutes_to_months_are_as_counted(pause):
    rng = np.random.default_rng(20240501)
    for _ in range(60):
        rates = random_week(rng, pause)
        weeks_held = 10 ** rng.uniform(-3.5, 1)
        card_units = 4 * max(1, round(weeks_held * rates.sum() * 60 / 4))
        assert_as_counted(card_units, rates)


@pytest.mark.parametrize("pause", [0.3, 0.95])
def test_a_card_that_fills_to_the_very_hour_of_a_pause_is_as_counted(pause):
    rng = np.random.default_rng(7)
    for _ in range(60):
        rates = random_week(rng, pause)
        start, end = sorted(rng.integers(1, HOURS, 2))
        card_units = int(rates[start : end + 1].sum()) * 60 or 60
        assert_as_counted(card_units, rates)


@pytest.mark.parametrize("times", [97.3, 1e-10])
def test_rates_that_are_not_round_or_next_to_nothing_are_as_counted_from_monday_0_00_on_too(times):
    rng = np.random.default_rng(7)
    for _ in range(150):
        rates = random_week(rng, 0.9)
        start, end = sorted(rng.integers(1, HOURS, 2))
        card_units = int(rates[start : end + 1].sum()) * 60 or 60
        counted = counted_ages_h(card_units, rates)
        card_gb = times * card_units * GB_PER_UNIT
        week = retention_through_week(card_gb, times * rates)
        assert week.oldest_h == pytest.approx(counted[::60], abs=1e-6)
        # The week begins where the least age was: at its hour 0, not 168.
        turned = retention_through_week(card_gb, np.roll(times * rates, -int(week.worst_hour)))
        assert turned.worst_h == pytest.approx(counted.min(), abs=1e-6)
        assert 0 <= turned.worst_hour < HOURS


def test_the_worst_moment_may_lie_within_the_first_hour():
    # 1 Mbit/s, but 4 in the last hour of the week and 2 in the first; a card of 5 hours of 1 Mbit/s. Half an
    # hour after midnight it holds just these: 1.5 h. At midnight it was 4 + 1, 2 h; at one 2 + 3 of 4, 1.75 h.
    rates = np.ones(HOURS)
    rates[[-1, 0]] = 4, 2
    week = retention_through_week(5 * 0.45, rates)
    assert (week.worst_h, week.worst_hour) == (pytest.approx(1.5), pytest.approx(0.5))
    assert week.oldest_h[:2] == pytest.approx([2, 1.75])


@pytest.mark.parametrize("weeks", [1, 2, 5])
def test_a_card_of_whole_weeks_loses_the_longest_pause_at_its_start(weeks):
    # At Saturday 20:00 the camera pauses until Monday 06:00, 34 h. A card of n weeks then still ends where the
    # pause of n weeks ago ended: n x 168 h - 34 h.
    for rates in (WEEK, 3 * WEEK):  # three times: rounding makes the card a hair more than whole weeks
        assert_as_counted(weeks * int(rates.sum()) * 60, rates)
    week = retention_through_week(weeks * int(WEEK.sum()) * 60 * GB_PER_UNIT, WEEK)
    assert week.worst_h == pytest.approx(weeks * HOURS - 34, abs=1e-6)
    assert week.worst_hour == pytest.approx(5 * 24 + 20, abs=1e-6)


@pytest.mark.parametrize("card_units", [4, 40, 60, 236, 240, 244, 1000, 4000, 12_000, 20_000, 200_000])
def test_a_working_week_is_as_counted(card_units):
    assert_as_counted(card_units, WEEK)


def test_a_card_smaller_than_an_hour_of_writing_is_worst_in_the_busiest_hour():
    # 0.9 GB at 4 Mbit/s (1.8 GB/h) is half an hour: on Monday from half an hour after 14:00 until the hour ends at
    # 18:00, and on five days more.
    week = retention_through_week(0.9, WEEK)
    assert week.worst_h == pytest.approx(0.5, rel=1e-9)
    assert 14.5 <= week.worst_hour % 24 <= 18
    # At 06:00 nothing was written since 20:00, when the last hour held 1 Mbit/s = 0.45 GB, and the one before
    # 2 Mbit/s = 0.9 GB: half of that hour is still there. 10 h + 1 h + 0.5 h; on Monday, 24 h more.
    assert week.oldest_h[[6, 30]] == pytest.approx([35.5, 11.5], rel=1e-9)


def test_one_hour_of_recording_a_week_goes_back_by_whole_weeks():
    # 1 Mbit/s in hour 100 alone: 0.45 GB a week. A card of 0.9 GB holds two such hours.
    rates = np.zeros(HOURS)
    rates[100] = 1
    week = retention_through_week(0.9, rates)
    # When hour 100 begins, the hours of one and of two weeks ago are on the card; when it ends, the first of them is
    # just gone, and what is left begins one week before that hour began: 169 h.
    assert week.oldest_h[100] == pytest.approx(2 * HOURS, abs=1e-6)
    assert week.worst_h == pytest.approx(HOURS + 1, abs=1e-6)
    assert week.worst_hour == pytest.approx(101, abs=1e-6)


def test_a_card_of_three_weeks_of_the_last_hour_of_the_week_goes_back_by_whole_weeks():
    # 4.1 Mbit/s from hour 167 to 168 alone: 1.845 GB a week. On Monday 0:00 a card of three weeks holds the hours that
    # began 1, 169 and 337 h ago, though three times that volume is not its sum as floats.
    rates = np.zeros(HOURS)
    rates[-1] = 4.1
    week = retention_through_week(5.535, rates)
    assert (week.oldest_h[0], week.worst_h, week.worst_hour) == pytest.approx((337, 337, 0), abs=1e-6)


@given(st.floats(0.01, 4000), st.floats(0.01, 1000), st.floats(0.01, 1))
def test_a_steady_rate_gives_the_closed_form_at_every_hour(capacity, rate, usable):
    week = retention_through_week(capacity, np.full(HOURS, rate), usable)
    # Bytes x 8 / (bit/s) / 3600.
    expected = capacity * usable * 1e9 * 8 / (rate * 1e6) / 3600
    assert week.oldest_h == pytest.approx(np.full(HOURS, expected), rel=1e-9, abs=1e-7)
    assert week.worst_h == pytest.approx(expected, rel=1e-9, abs=1e-7)
    assert week.worst_h == pytest.approx(retention_h(capacity, rate, usable_fraction=usable), rel=1e-9, abs=1e-7)


def test_the_result_for_scalars_is_floats_and_one_week():
    week = retention_through_week(32, list(WEEK))
    assert week.oldest_h.shape == (HOURS,)
    assert isinstance(week.worst_h, float)
    assert isinstance(week.worst_hour, float)


def test_the_worst_is_never_above_any_hour_and_lies_in_the_week():
    week = retention_through_week(np.geomspace(0.01, 500, 60), WEEK)
    assert np.all(week.worst_h <= week.oldest_h.min(axis=-1))
    assert np.all((week.worst_hour >= 0) & (week.worst_hour < HOURS))


def test_a_larger_card_never_holds_less_at_any_hour():
    week = retention_through_week(np.geomspace(0.01, 500, 200), WEEK)
    assert np.all(np.diff(week.oldest_h, axis=0) >= -1e-9)
    assert np.all(np.diff(week.worst_h) >= -1e-9)


@pytest.mark.parametrize("shift", [1, 24, 100])
def test_a_week_that_begins_later_tells_the_same(shift):
    week = retention_through_week(7.5, WEEK)
    later = retention_through_week(7.5, np.roll(WEEK, -shift))
    assert later.oldest_h == pytest.approx(np.roll(week.oldest_h, -shift), abs=1e-6)
    assert later.worst_h == pytest.approx(week.worst_h, abs=1e-6)


def test_twice_the_card_and_twice_the_rate_hold_the_same():
    single, double = retention_through_week(7.5, WEEK), retention_through_week(15, 2 * WEEK)
    assert double.oldest_h == pytest.approx(single.oldest_h, abs=1e-6)


def test_cards_and_weeks_stack():
    rng = np.random.default_rng(3)
    cards, weeks = np.array([[0.9], [9.0], [90.0]]), np.stack([random_week(rng, 0.3), WEEK])
    together = retention_through_week(cards, weeks, usable_fraction=[0.9, 1.0])
    assert together.oldest_h.shape == (3, 2, HOURS)
    assert together.worst_h.shape == together.worst_hour.shape == (3, 2)
    for i, card in enumerate(cards[:, 0]):
        for j, (rates, usable) in enumerate(zip(weeks, [0.9, 1.0], strict=True)):
            one = retention_through_week(card, rates, usable)
            assert together.oldest_h[i, j].tolist() == one.oldest_h.tolist()
            assert (together.worst_h[i, j], together.worst_hour[i, j]) == (one.worst_h, one.worst_hour)


def test_one_card_meets_a_stack_of_weeks():
    rng = np.random.default_rng(4)
    weeks = np.stack([[random_week(rng, 0.3) for _ in range(3)] for _ in range(2)])
    stacked = retention_through_week(9.0, weeks)
    assert stacked.worst_h.shape == (2, 3)
    assert stacked.oldest_h[1, 2].tolist() == retention_through_week(9.0, weeks[1, 2]).oldest_h.tolist()


def test_a_card_of_a_few_bytes_holds_next_to_nothing_and_never_less():
    week = retention_through_week(1e-9, 100 * WEEK)
    assert 0 <= week.worst_h < 1e-6
    assert np.all(week.oldest_h >= 0)


@pytest.mark.parametrize(
    ("rates", "found", "allowed"),
    [
        (4, r"shape \(\)", "168 rates, one an hour of the week, last axis"),
        ([4] * 24, r"shape \(24,\)", "168 rates"),
        (np.ones((HOURS, 2)), r"shape \(168, 2\)", "168 rates"),
        ([0] * HOURS, "a week without recording", "one hour or more above 0 Mbit/s"),
        (np.stack([WEEK, 0 * WEEK]), "a week without recording", "one hour or more above 0 Mbit/s"),
        ([4] * 167 + [-1], "-1", "0 or more and at most 1000 Mbit/s"),
        ([4] * 167 + [float("nan")], "nan", "0 or more and at most 1000 Mbit/s"),
        ([4] * 167 + [float("inf")], "inf", "0 or more and at most 1000 Mbit/s"),
        ([4] * 167 + [4000], "4000", "0 or more and at most 1000 Mbit/s"),
        ([4] * 167 + ["four"], "'four'", "0 or more and at most 1000 Mbit/s"),
        ([4] * 167 + [None], "None", "0 or more and at most 1000 Mbit/s"),
        ([], "no number", "0 or more and at most 1000 Mbit/s"),
        (None, "None", "0 or more and at most 1000 Mbit/s"),
    ],
)
def test_a_week_that_is_none_is_refused(rates, found, allowed):
    with pytest.raises(InputError, match=f"^bitrate_mbit_s: (is|found) {found}[^;]*; (must be|allowed:) {allowed}"):
        retention_through_week(32, rates)


@pytest.mark.parametrize(
    ("arguments", "name", "found"),
    [
        ((0, WEEK), "capacity_gb", "0"),
        ((64000, WEEK), "capacity_gb", "64000"),
        ((32, WEEK, 93), "usable_fraction", "93"),
    ],
)
def test_a_card_that_is_none_is_refused(arguments, name, found):
    with pytest.raises(InputError, match=f"^{name}: (is|found) {found}[^;]*; (must be|allowed:) above 0 and at most "):
        retention_through_week(*arguments)


def test_cards_and_weeks_that_do_not_fit_are_refused():
    message = r"^shapes: found capacity_gb \(3,\), usable_fraction \(\), bitrate_mbit_s \(2,\)"
    with pytest.raises(InputError, match=message):
        retention_through_week([8, 16, 32], np.stack([WEEK, WEEK]))


OFFICE = WeekOfWrites(([0] * 8 + [3] * 8 + [0] * 8) * 5 + [0] * 48)
"""Eight hours a day from Monday to Friday: the mean of the week is 5 x 8 x 3 / 168 = 5/7 an hour."""


@pytest.mark.parametrize(
    ("hours", "busiest", "quietest"),
    [
        (8, 3 * 7 / 5, 0),  # a working day against the mean of 5/7
        (24, 1 * 7 / 5, 0),  # 24 units in 24 h; a day of the weekend
        (104, (5 * 24 / 104) * 7 / 5, (2 * 24 / 104) * 7 / 5),  # all five days; Thursday 16:00 to Monday 24:00: two
        (168, 1, 1),
        (336, 1, 1),
        (192, (5 * 24 + 24) / 192 * 7 / 5, 5 * 24 / 192 * 7 / 5),  # a week and its busiest, its quietest day
    ],
)
def test_an_office_week_by_hand(hours, busiest, quietest):
    assert OFFICE.busiest_over_mean(hours) == pytest.approx(busiest)
    assert OFFICE.quietest_over_mean(hours) == pytest.approx(quietest)


@given(st.lists(st.integers(1, 9), min_size=HOURS, max_size=HOURS), st.integers(1, 400))
def test_a_card_of_the_busiest_stretch_holds_it_at_the_worst_moment_of_the_curve_of_the_week(rates, hours):
    capacity_gb = hours * WeekOfWrites(rates).busiest_over_mean(hours) * np.mean(rates) * 0.45
    assert retention_through_week(capacity_gb, rates).worst_h == pytest.approx(hours)


@given(st.lists(st.integers(1, 9), min_size=HOURS, max_size=HOURS), st.integers(1, 400))
def test_a_card_of_the_quietest_stretch_never_holds_more_at_whole_hours(rates, hours):
    capacity_gb = hours * WeekOfWrites(rates).quietest_over_mean(hours) * np.mean(rates) * 0.45
    assert retention_through_week(capacity_gb, rates).oldest_h.max() <= hours * (1 + 1e-9)


@given(st.lists(st.integers(0, 9), min_size=HOURS, max_size=HOURS).filter(any), st.floats(0.05, 1000))
def test_the_mean_lies_between_the_quietest_and_the_busiest_and_whole_weeks_are_the_mean(rates, hours):
    week = WeekOfWrites(rates)
    assert week.quietest_over_mean(hours) <= 1 + 1e-12
    assert week.busiest_over_mean(hours) >= 1 - 1e-12
    assert week.busiest_over_mean([168, 840]) == pytest.approx(1)
    assert week.quietest_over_mean([168, 840]) == pytest.approx(1)


@pytest.mark.parametrize(
    ("by_hour", "message"),
    [
        ([1] * 167, r"by_hour: found shape \(167,\); allowed: 168 numbers, one for each hour of the week"),
        ([0] * 168, "by_hour: found a week without writes; allowed: one hour or more above 0"),
        ([1] * 167 + [-1], "by_hour: is -1; must be 0 or more"),
        ([1] * 167 + [np.nan], "by_hour: is nan; must be 0 or more"),
    ],
)
def test_hours_that_are_no_week_of_writes_are_refused(by_hour, message):
    with pytest.raises(InputError, match=message):
        WeekOfWrites(by_hour)


@pytest.mark.parametrize("hours", [0, -1, np.nan])
def test_a_stretch_without_length_is_refused(hours):
    with pytest.raises(InputError, match=r"hours: is .*; must be above 0 h"):
        OFFICE.busiest_over_mean(hours)


@pytest.mark.parametrize("card_gb", [302.4, 302.40000000756095, 302.4000001])
def test_a_card_of_four_weeks_and_a_rounding_holds_four_weeks(card_gb):
    # 1 Mbit/s is 0.45 GB an hour and 75.6 GB a week: 302.4 GB in four weeks, of 672 h.
    week = retention_through_week(card_gb, [1.0] * 168)
    assert week.worst_h == pytest.approx(672, abs=1e-3)
    assert week.oldest_h == pytest.approx(672, abs=1e-3)
