"""An event log is read on local clocks, and says what is recorded: by the log itself and by the formula."""

import math
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.inputs.event_statistics import event_statistics
from edgestore.inputs.events import EVENT_COLUMNS, read_events

DATA = Path(__file__).parents[2] / "data"
DEMO = DATA / "ferry_terminal" / "events.csv"
MONDAY = datetime(2026, 3, 2)  # 2 March 2026 is a Monday.
SUNDAY_2 = 6 * 24 + 2  # The hour of the week from Sunday 2:00.


def read(*lines: str, zone: str | None = "UTC", **arguments):
    return read_events(("start,end\n" + "\n".join(lines) + "\n").encode(), zone, name="log.csv", **arguments)


def log_of(spans, begin=MONDAY, length=timedelta(days=7)):
    """Read events that are given as seconds from the first moment to their start and to their end."""
    lines = (f"{begin + timedelta(seconds=a)},{begin + timedelta(seconds=b)}" for a, b in spans)
    return read(*lines, first=begin, last=begin + length, today=date(2099, 1, 1))


def day(*lines: str, pre=0, post=0):
    """Give the statistics of a log of Monday, in UTC."""
    log = read(
        *(f"2026-03-02T{line.replace(',', ',2026-03-02T')}" for line in lines), first=MONDAY, last=MONDAY + timedelta(1)
    )
    return event_statistics(log, pre, post)


# What is recorded, by hand: a day has 86 400 s.


def test_events_that_stand_alone_add_up():
    result = day("08:00:00,08:00:10", "09:00:00,09:00:30", pre=5, post=15)
    # (10 + 20) + (30 + 20) = 80 s in two clips.
    assert (result.events, result.event_s) == (2, 20)
    assert result.from_log.fraction == pytest.approx(80 / 86400)
    assert (result.from_log.clips_per_day, result.from_log.mean_clip_s) == (2, 40)


def test_rolls_that_meet_make_one_clip():
    # 7:59:55 to 8:00:25 and 8:00:25 to 8:00:55 touch: one clip of 60 s. A second later they are two of 30 s.
    assert day("08:00:00,08:00:10", "08:00:30,08:00:40", pre=5, post=15).from_log.mean_clip_s == 60
    assert day("08:00:00,08:00:10", "08:00:31,08:00:41", pre=5, post=15).from_log.mean_clip_s == 30


def test_an_event_within_another_records_nothing_more():
    # 8:00 to 8:10 holds 8:01 to 8:02; 8:09 to 8:11 adds a minute: one clip of 660 s.
    result = day("08:00,08:10", "08:01,08:02", "08:09,08:11")
    assert (result.from_log.clips_per_day, result.from_log.mean_clip_s) == (1, 660)
    # (600 + 60 + 120) / 3
    assert result.event_s == 260


def test_rolls_reach_over_midnight_and_end_with_the_observed_period():
    log = read(
        "2026-03-02T00:00:02,2026-03-02T00:00:04",
        "2026-03-02T23:59:50,2026-03-03T00:00:10",
        "2026-03-03T23:59:58,2026-03-03T23:59:59",
        first=MONDAY,
        last=MONDAY + timedelta(2),
    )
    result = event_statistics(log, 5, 5)
    # 0:00:00 to 0:00:09; 23:59:45 to 0:00:15; 23:59:53 to 24:00:00: 9 + 30 + 7 = 46 s in three clips of two days.
    assert result.from_log.fraction == pytest.approx(46 / 172800)
    assert result.from_log.clips_per_day == 1.5
    # The second starts on Monday at 23, the third on Tuesday at 23.
    assert np.flatnonzero(np.nan_to_num(result.events_per_h)).tolist() == [0, 23, 47]


def test_an_event_from_before_the_first_moment_records_and_is_not_counted():
    log = read(
        "2026-03-01T23:59,2026-03-02T00:01",
        "2026-03-02T12:00,2026-03-02T12:02",
        first=MONDAY,
        last=MONDAY + timedelta(1),
    )
    result = event_statistics(log)
    # 60 s of the first and 120 s of the second.
    assert (result.events, result.event_s) == (1, 120)
    assert result.from_log.fraction == pytest.approx(180 / 86400)
    assert any("line 2: a start before the first moment. The event is not counted" in note for note in log.notes)


def test_events_without_length_and_rolls_record_nothing():
    result = day("08:00,08:00", "09:00,09:00")
    assert result.from_log.fraction == 0
    assert math.isnan(result.from_log.mean_clip_s)
    assert not result.differs


# The formula.


def test_the_formula_averages_the_fraction_not_the_rate():
    # 60 events of 60 s in the hour from 8:00, one each minute, no other in the day: 1 - exp(-1) in one hour of 24,
    # 0.6321206 / 24 = 0.02633836; clips 24 x 60 x exp(-1) a day in that hour: 529.746 / 24
    # (Takacs, M/G/infinity: 60/h and 60 s give 529.746 clips a day of 103.097 s).
    result = day(*(f"08:{m:02}:00,08:{m:02}:59.999999" for m in range(60)))
    assert result.by_formula.fraction == pytest.approx(0.02633836, abs=5e-9)
    assert result.by_formula.clips_per_day == pytest.approx(529.746 / 24, abs=1e-4)
    assert result.by_formula.mean_clip_s == pytest.approx(103.097, abs=1e-3)
    # The log: events a microsecond apart record the whole hour.
    assert result.from_log.fraction == pytest.approx(1 / 24)
    assert result.differs
    assert "spaced out" in result.advice


@pytest.mark.parametrize(("seed", "per_h"), [(1, 2), (2, 12), (3, 30)])
def test_a_poisson_log_agrees_with_the_formula(seed, per_h):
    # 20 weeks of independent events of 10 to 50 s, rolls of 5 and 10 s: kept 45 s on the average.
    random, period_s, weeks = np.random.default_rng(seed), 20 * 604800, 20
    starts = np.sort(random.uniform(0, period_s, random.poisson(per_h * period_s / 3600)))
    log = log_of(
        np.column_stack([starts, starts + random.uniform(10, 50, len(starts))]).tolist(), length=timedelta(weeks=weeks)
    )
    result = event_statistics(log, 5, 10)
    fraction = 1 - math.exp(-per_h * 45 / 3600)
    # Standard error of the covered part of T, given the rate: its variance is at most (2 / T) integral of the
    # covariance, exp(-2 l E) (exp(l (E - t)+) - 1), over t; with lengths up to 65 s at most that of a fixed 65 s.
    t = np.linspace(0, 65, 6501)
    covariance = np.exp(-2 * per_h * 45 / 3600) * np.expm1(per_h / 3600 * (65 - t))
    error = math.sqrt(2 / period_s * covariance.sum() * 0.01)
    assert abs(result.from_log.fraction - fraction) < 4 * error
    # The rate of each hour of the week comes from 20 hours: its variance is rate / 20 h, and so the average fraction
    # is too low by E / (2 x 20 h) of itself: 45 / 144 000, below 0.001.
    assert result.by_formula.fraction == pytest.approx(result.from_log.fraction, abs=4 * error + 0.001 * fraction)
    # 3360 counts: the index of dispersion has a standard error of sqrt(2 / 3359) = 0.0244.
    assert abs(result.dispersion - 1) < 4 * 0.0244
    assert not result.differs
    assert "agree within a tenth" in result.advice


def test_the_same_number_of_events_in_clusters_record_less_than_the_formula_says():
    # At a random minute of each six hours 24 events of 20 s within four minutes, in a week: 4 an hour.
    random = np.random.default_rng(5)
    spans = [
        (s, s + 20)
        for part in range(28)
        for s in (part * 21600 + random.uniform(0, 21000) + random.uniform(0, 240, 24)).tolist()
    ]
    result = event_statistics(log_of(spans), 5, 10)
    # Nothing outside the four minutes and 35 s is recorded: at most 275 s of each six hours.
    assert result.from_log.fraction < 275 / 21600
    assert result.differs
    assert result.by_formula.fraction > 1.1 * result.from_log.fraction
    assert result.dispersion > 10
    assert "come in clusters" in result.advice
    assert "index of dispersion of hourly counts" in result.advice
    assert result.advice.endswith("Use the figure from the log.")


def test_clusters_that_come_every_hour_show_within_the_hour_only():
    # In each hour ten events of 20 s, a second apart: each count is 10, so the variance and the index are 0. Recorded
    # are 29 s of 3600; the formula has 1 - exp(-200 / 3600) = 0.05404 against 0.00806.
    spans = [(hour * 3600 + n, hour * 3600 + n + 20) for hour in range(168) for n in range(10)]
    result = event_statistics(log_of(spans))
    assert result.dispersion == 0
    assert result.from_log.fraction == pytest.approx(29 / 3600)
    assert result.by_formula.fraction == pytest.approx(0.05404, abs=5e-6)
    assert "clusters shorter than an hour" in result.advice


def test_a_log_too_short_for_an_index_says_so():
    # Three events of 20 s on top of one another in ten minutes.
    lines = [f"2026-03-02T08:00:0{n},2026-03-02T08:00:2{n}" for n in range(3)]
    log = read(*lines, first=MONDAY + timedelta(hours=8), last=MONDAY + timedelta(hours=8, minutes=10))
    assert "no index of dispersion" in event_statistics(log).advice


def test_the_index_of_dispersion_is_the_variance_over_the_mean_of_hourly_counts():
    # Counts 2, 0, 1 in three whole hours, and one event in the half hour that is left: variance 1, mean 1.
    lines = [f"2026-03-02T{t},2026-03-02T{t}" for t in ("00:10", "00:20", "02:00", "03:10")]
    log = read(*lines, first=MONDAY, last=MONDAY + timedelta(hours=3.5))
    assert event_statistics(log, 1, 1).dispersion == 1
    short = read(*lines[:2], first=MONDAY, last=MONDAY + timedelta(hours=1.5))
    assert math.isnan(event_statistics(short).dispersion)


# The hours of the week.


def test_rates_are_events_over_the_hours_observed():
    # Monday 8:00 is seen twice in the nine days from Sunday on, Wednesday 8:00 once.
    log = read(
        "2026-03-02T08:00,2026-03-02T08:01",
        "2026-03-09T08:59:59,2026-03-09T09:01",
        "2026-03-09T08:10,2026-03-09T08:11",
        "2026-03-04T08:30,2026-03-04T08:31",
        first=datetime(2026, 3, 1),
        last=datetime(2026, 3, 10),
    )
    result = event_statistics(log)
    assert result.observed_h[8] == 2
    assert result.observed_h[48 + 8] == 1
    assert result.observed_h.sum() == 9 * 24
    assert result.events_per_h[8] == 1.5
    assert result.events_per_h[48 + 8] == 1
    assert np.nansum(result.events_per_h) == 2.5


def test_the_week_begins_on_monday_at_midnight_and_parts_of_hours_count_as_parts():
    log = read(
        "2026-03-08T23:59:59,2026-03-09T00:00:01",
        "2026-03-09T00:00:00,2026-03-09T00:00:01",
        first=datetime(2026, 3, 8, 23, 50),
        last=datetime(2026, 3, 9, 0, 20, 30),
    )
    result = event_statistics(log)
    # Ten minutes of Sunday's last hour, twenty and a half of Monday's first.
    assert result.observed_h[[167, 0]] == pytest.approx([10 / 60, 20.5 / 60])
    assert result.observed_h.sum() == pytest.approx(30.5 / 60)
    assert result.events_per_h[[167, 0]] == pytest.approx([6, 60 / 20.5])
    assert np.isnan(result.events_per_h).sum() == 166


def test_local_hours_of_a_zone_with_a_half_hour_begin_there():
    # 2:00 UTC on Monday is 7:30 in Kolkata (UTC+5:30): half an hour of 7, then half an hour of 8.
    log = read(
        "2026-03-02T02:10Z,2026-03-02T02:11Z",
        zone="Asia/Kolkata",
        first=datetime(2026, 3, 2, 2, tzinfo=UTC),
        last=datetime(2026, 3, 2, 3, tzinfo=UTC),
    )
    result = event_statistics(log)
    assert result.observed_h[7:9].tolist() == [0.5, 0.5]
    assert result.events_per_h[7] == 2


# Clocks put forward and back, in Berlin on 29 March and on 25 October 2026.


def test_in_spring_the_skipped_hour_is_not_observed():
    log = read(
        "2026-03-29T01:59:50,2026-03-29T03:00:10",
        zone="Europe/Berlin",
        first=datetime(2026, 3, 23),
        last=datetime(2026, 3, 30),
    )
    result = event_statistics(log)
    assert result.event_s == 20
    assert result.observed_h[SUNDAY_2] == 0
    assert math.isnan(result.events_per_h[SUNDAY_2])
    assert result.observed_h.sum() == 167
    assert result.from_log.fraction == pytest.approx(20 / (167 * 3600))


def test_in_autumn_the_repeated_hour_is_observed_twice():
    log = read(
        "2026-10-25T02:30:00+02:00,2026-10-25T02:30:10+02:00",
        "2026-10-25T02:30:00+01:00,2026-10-25T02:30:10+01:00",
        zone="Europe/Berlin",
        first=datetime(2026, 10, 19),
        last=datetime(2026, 10, 26),
    )
    result = event_statistics(log)
    assert log.notes == ()
    assert result.observed_h[SUNDAY_2] == 2
    assert result.observed_h.sum() == 169
    assert result.events_per_h[SUNDAY_2] == 1
    assert result.from_log.clips_per_day == pytest.approx(2 * 24 / 169)


def test_an_end_in_the_repeated_hour_is_not_before_its_start():
    # 2:50 is taken as summer time, 0:50 UTC; 2:10 then is winter time, 1:10 UTC: 20 minutes. 1:50 to 2:10: 20 minutes.
    log = read("2026-10-25T02:50,2026-10-25T02:10", "2026-10-25T01:50,2026-10-25T02:10", zone="Europe/Berlin")
    assert (log.rows["end"] - log.rows["start"]).dt.total_seconds().tolist() == [1200, 1200]
    assert log.notes[0].startswith(
        "log.csv, lines 2, 3: a time that clocks show twice in autumn. The first of the two is taken"
    )


def test_a_skipped_time_is_told_and_read():
    log = read("2026-03-29T02:30,2026-03-29T03:31", zone="Europe/Berlin")
    # 2:30 on the clock before is 3:30 on the clock after.
    assert (log.rows["end"] - log.rows["start"]).dt.total_seconds().tolist() == [60]
    assert log.notes[0].startswith("log.csv, line 2: a time that clocks skip in spring")


# Rows as logs have them.


def test_what_is_odd_is_told_by_line():
    log = read(
        "2026-03-02T08:00,2026-03-02T08:10",
        "2026-03-02T09:00,2026-03-02T09:10",
        "2026-03-02T08:05,2026-03-02T08:15",
        "2026-03-02T09:00:00Z,2026-03-02T10:10+01:00",
        first=MONDAY,
        last=MONDAY + timedelta(1),
    )
    assert log.notes == (
        "log.csv, line 4: a start before that of the row above. The order of rows does not matter.",
        "log.csv, line 5: the same event as in a row above. It is counted once.",
        "log.csv, line 4: a start while another event was under way. Both are counted; the time that"
        " they share is recorded once.",
    )
    assert log.rows["start"].dt.strftime("%H:%M").tolist() == ["08:00", "08:05", "09:00"]
    assert event_statistics(log).from_log.fraction == pytest.approx((15 + 10) / 1440)


def test_an_event_under_a_long_one_is_told_though_a_short_one_lies_between():
    notes = read(
        "2026-03-02T08:00,2026-03-02T08:30", "2026-03-02T08:05,2026-03-02T08:06", "2026-03-02T08:20,2026-03-02T08:21"
    ).notes
    assert notes[0].startswith("log.csv, lines 3, 4: a start while another event was under way")


def test_a_start_at_the_last_moment_is_not_too_late():
    log = read("2026-03-02T08:00,2026-03-02T08:01", "2026-03-03T00:00,2026-03-03T00:01", last=MONDAY + timedelta(1))
    assert len(log.rows) == 2


def test_without_a_period_quiet_time_outside_is_not_counted_and_that_is_told():
    log = read("2026-03-02T08:00,2026-03-02T09:00", "2026-03-02T08:10,2026-03-02T08:20")
    assert (log.first, log.last) == (datetime(2026, 3, 2, 8, tzinfo=UTC), datetime(2026, 3, 2, 9, tzinfo=UTC))
    assert "from the first start to the last end: quiet time before and after is not counted" in log.notes[-1]
    assert "to the last end: quiet time after is" in read("2026-03-02T08:00,2026-03-02T09:00", first=MONDAY).notes[-1]


def test_without_a_zone_offsets_are_enough_and_hours_are_in_utc():
    log = read("2026-03-02T08:00+01:00,2026-03-02T08:01+01:00", zone=None)
    assert event_statistics(log).events_per_h[7] == pytest.approx(60)
    assert "hours of the week are in UTC" in log.notes[0]


def test_a_log_without_ends_takes_the_length_that_is_given():
    log = read_events(
        b"\xef\xbb\xbfStart;Place\r\n2026-03-02 08:00:00,5;gate\r\n\r\n2026-03-02 09:00;gate\r\n", "UTC", event_s=20
    )
    result = event_statistics(log)
    assert (result.events, result.event_s) == (2, 20)
    assert any("lines 2, 4: no end; taken as 20.0 s long" in note for note in log.notes)


def test_a_length_that_is_given_leaves_known_ends_alone():
    log = read("2026-03-02T08:00:00,2026-03-02T08:01:00", "2026-03-02T09:00:00,", event_s=20)
    assert (log.rows["end"] - log.rows["start"]).dt.total_seconds().tolist() == [60, 20]


def test_an_event_of_more_than_a_day_is_told():
    notes = read("2026-03-02T08:00,2026-03-03T08:00", "2026-03-04T08:00,2026-03-05T08:00:01").notes
    assert notes[0] == "log.csv, line 3: an event longer than a day. Check the dates."


# What cannot be.


@pytest.mark.parametrize(
    ("line", "column", "allowed", "mend"),
    [
        (",2026-03-02T08:00", "start", "a text", "Give the start"),
        ("2026-03-02,2026-03-02T08:00", "start", "a time as 2026-03-15T14:05:00", "format the cells as text"),
        ("2026-03-02T08:00,8:10", "end", "a time as 2026-03-15T14:05:00", "format the cells as text"),
        ("2026-03-02T08:00,", "end", "an end", "a length for events without end"),
        ("2026-03-02T08:00:01,2026-03-02T08:00", "end", "an end at or after the start", "swapped"),
        ("2026-03-03T00:00:01,2026-03-03T00:01", "start", "2026-03-03T00:00:00+00:00 or before", "later last moment"),
        ("1970-01-01T00:00,2026-03-02T08:00", "start", "2000 to 2099", "Correct the year"),
        ("0000-01-01T00:00,2026-03-02T08:00", "start", "", ""),  # A year for some versions of pandas, for others none.
        ("2026-03-02T08:00,2206-03-02T08:01", "end", "2000 to 2099", "Correct the year"),
    ],
)
def test_what_cannot_have_happened_is_refused(line, column, allowed, mend):
    with pytest.raises(InputError, match=r"log\.csv, line 2") as caught:
        read(line, last=MONDAY + timedelta(1))
    (fault,) = caught.value.faults
    assert fault.where == f"log.csv, line 2, column {column}"
    assert allowed in fault.allowed
    assert mend in fault.mend


characters = st.sampled_from('0123456789-:T+Z .,;\n"é')


@given(st.lists(st.tuples(st.integers(10, 110), characters), max_size=4), st.sampled_from([None, "Europe/Berlin"]))
def test_a_spoilt_log_is_read_or_refused_and_never_crashes(changes, zone):
    text = list(
        "start,end\n2026-03-02T08:00,2026-03-02T09:00Z\n2026-03-29T02:00,2026-03-29T03:00\n2026-10-25T02:00:00,"
    )
    for place, character in changes:
        text[min(place, len(text) - 1)] = character
    try:
        result = event_statistics(read_events("".join(text).encode(), zone, event_s=5))
    except InputError:
        return
    assert 0 <= result.from_log.fraction <= 1


def test_all_faults_of_a_log_come_together():
    with pytest.raises(InputError, match="line 2") as caught:
        read(
            "2026-03-02T08:00,2026-03-02T07:00",
            "2026-03-02T08:00,2026-03-02T08:01",
            ",2026-03-02T08:01",
            "2026-03-09T08:00,2026-03-09T08:01",
            "8 o'clock,later",
            "2026-03-02T08:00",
            last=MONDAY + timedelta(1),
        )
    assert [fault.where.removeprefix("log.csv, ") for fault in caught.value.faults] == [
        "line 2, column end",
        "line 4, column start",
        "line 5, column start",
        "line 6, column start",
        "line 6, column end",
        "line 7, column end",
    ]


def test_a_log_without_offset_or_zone_is_refused_once():
    with pytest.raises(InputError, match="offsets on all times of the file, or a zone") as caught:
        read("2026-03-02T08:00Z,2026-03-02T08:01", "2026-03-02T08:00,2026-03-02T08:01", zone=None)
    (fault,) = caught.value.faults
    assert fault.where == "log.csv, line 2, column start"


def test_a_log_without_the_column_of_ends_is_refused_once():
    with pytest.raises(InputError, match=r"line 1, column end: found no such column.*a length for events without end"):
        read_events(b"start\n2026-03-02T08:00\n2026-03-02T09:00\n", "UTC")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"first": MONDAY, "last": MONDAY}, "last: found 2026-03-02.*after 2026-03-02.*the first moment"),
        ({"first": MONDAY + timedelta(1)}, "first: found 2026-03-03.*at most 2026-03-02T08:00:00.*the last start"),
        ({"event_s": -1}, "event_s: is -1 s; must be 0 or more and at most 86400 s"),
        ({"event_s": 1e300}, "event_s: is 1e.300 s; must be 0 or more and at most 86400 s"),
        ({"zone": "Berlin"}, "zone: found 'Berlin'"),
        ({"zone": None, "first": MONDAY}, "first: found .*a time with an offset"),
    ],
)
def test_arguments_that_cannot_be_are_refused(arguments, message):
    with pytest.raises(InputError, match=message):
        read("2026-03-02T08:00Z,2026-03-02T08:01Z", **arguments)


def test_a_period_of_no_length_is_refused():
    with pytest.raises(InputError, match=r"an observed period of 0 s; .*Give the first and the last moment"):
        read("2026-03-02T08:00,2026-03-02T08:00")


@pytest.mark.parametrize("roll", ["pre_roll_s", "post_roll_s"])
@pytest.mark.parametrize("value", [-1, math.nan, math.inf])
def test_rolls_that_cannot_be_are_refused(roll, value):
    with pytest.raises(InputError, match=f"{roll}: is .*0 or more s"):
        event_statistics(read("2026-03-02T08:00,2026-03-02T08:01"), **{roll: value})


# The demo.


def test_the_demo_log_is_as_its_page_says():
    log = read_events(DEMO, "Europe/Berlin", first=datetime(2026, 10, 19), last=datetime(2026, 11, 2))
    lines = DEMO.read_text(encoding="utf-8").splitlines()
    result = event_statistics(log, 10, 20)
    assert result.events == len(lines) - 1 == 319
    # Two weeks and the hour that clocks show twice.
    assert result.observed_h.sum() == 14 * 24 + 1
    assert result.differs
    assert "come in clusters" in result.advice
    assert [note.split(": ")[1].split(".")[0] for note in log.notes] == [
        "a time that clocks show twice in autumn",
        "a start while another event was under way",
    ]


def test_the_demo_page_describes_the_columns_and_says_invented():
    page = (DATA / "README.md").read_text(encoding="utf-8")
    section = page.split("## ferry_terminal/events.csv")[1].split("\n## ")[0]
    assert "The times are\ninvented" in section
    for column in EVENT_COLUMNS:
        empty = "not allowed" if column.required else "allowed"
        assert f"| `{column.name}` | - | time | {empty} | {column.help} |" in section


# Facts of any log: whole seconds within a week, lengths up to 20 minutes.

spans = st.lists(st.tuples(st.integers(0, 604_799), st.integers(0, 1200)), min_size=1, max_size=25).map(
    lambda pairs: [(start, start + length) for start, length in pairs]
)
rolls = st.integers(0, 900)


def figures(result):
    """Give all numbers of a result."""
    logged, formula = result.from_log, result.by_formula
    return [
        *(result.events, result.event_s, result.dispersion),
        *(logged.fraction, logged.clips_per_day, logged.mean_clip_s),
        *(formula.fraction, formula.clips_per_day, formula.mean_clip_s),
        *result.events_per_h,
        *result.observed_h,
    ]


@given(spans, rolls, rolls)
def test_a_grid_of_seconds_gives_the_same(events, pre, post):
    result = event_statistics(log_of(events), pre, post)
    grid = np.zeros(604_800, dtype=bool)
    for start, end in set(events):
        grid[max(start - pre, 0) : end + post] = True
    assert result.from_log.fraction == pytest.approx(grid.mean(), abs=1e-12)
    # Whole seconds: two clips are apart by a second or more, so each begins where a recorded second follows another.
    clips = int(grid[0]) + np.count_nonzero(grid[1:] & ~grid[:-1])
    assert result.from_log.clips_per_day == pytest.approx(clips / 7)
    counts = np.zeros(168)
    for start, _ in set(events):
        counts[start // 3600] += 1
    np.testing.assert_allclose(result.events_per_h, counts)


@given(spans, rolls, rolls, st.integers(-200, 200))
def test_whole_weeks_later_nothing_changes(events, pre, post, weeks):
    here = event_statistics(log_of(events), pre, post)
    there = event_statistics(log_of(events, MONDAY + timedelta(weeks=weeks)), pre, post)
    np.testing.assert_array_equal(figures(there), figures(here))


@given(spans.flatmap(lambda events: st.tuples(st.just(events), st.permutations(events))), rolls, rolls)
def test_the_order_of_rows_changes_nothing(both, pre, post):
    one, other = (event_statistics(log_of(events), pre, post) for events in both)
    np.testing.assert_array_equal(figures(other), figures(one))


@given(spans, rolls, rolls, rolls, rolls)
def test_more_roll_never_records_less_and_a_fraction_is_one(events, pre, post, more_pre, more_post):
    log = log_of(events)
    less, more = event_statistics(log, pre, post), event_statistics(log, pre + more_pre, post + more_post)
    for small, large in ((less.from_log, more.from_log), (less.by_formula, more.by_formula)):
        assert 0 <= small.fraction <= large.fraction + 1e-15
        assert large.fraction <= 1


@given(spans, rolls, rolls)
def test_what_stands_twice_changes_nothing(events, pre, post):
    one, twice = (event_statistics(log_of(given_events), pre, post) for given_events in (events, events + events))
    np.testing.assert_array_equal(figures(twice), figures(one))


# One wrong year.

MARCH = [f"2026-03-{day:02}T08:00,2026-03-{day:02}T08:01" for day in range(1, 20)]


@pytest.mark.parametrize(
    ("row", "column"), [("2099-03-02T08:00,2099-03-02T08:01", "start"), ("2026-03-02T09:00,2099-03-02T09:01", "end")]
)
def test_an_event_that_is_yet_to_come_is_refused_with_its_line(row, column):
    with pytest.raises(
        InputError, match=rf"log\.csv, line 21, column {column}: found .*2099.*; allowed: 2026-04-02 or"
    ):
        read(*MARCH, row, today=date(2026, 4, 1))


def test_an_event_of_today_is_read_in_every_zone():
    # Clocks of the east are up to 14 h ahead of UTC: there the 2nd has begun.
    log = read("2026-04-01T08:00,2026-04-01T09:00", "2026-04-02T08:00,2026-04-02T09:00", today=date(2026, 4, 1))
    assert len(log.rows) == 2


def test_a_last_moment_that_is_yet_to_come_is_refused():
    with pytest.raises(InputError, match=r"last: found 2099-01-01T00:00:00.*; allowed: 2026-04-02 or before"):
        read(*MARCH, last=datetime(2099, 1, 1), today=date(2026, 4, 1))


@pytest.mark.parametrize("year", [2001, 2016, 2025])
def test_an_event_half_a_year_from_all_others_is_refused_with_its_line(year):
    with pytest.raises(InputError, match=r"log\.csv, line 21, column start: .* within 183 days of the rest") as caught:
        read(*MARCH, f"{year}-03-02T08:00,{year}-03-02T08:01")
    assert len(caught.value.faults) == 1


def test_an_event_months_from_all_others_is_told_with_its_line():
    log = read(*MARCH, "2026-05-19T08:00,2026-05-19T08:01", today=date(2026, 6, 1))
    assert any("line 21: a start over 28 days from all but a few others" in note for note in log.notes)


@pytest.mark.parametrize("others", [MARCH[:1], MARCH[:2]])
def test_of_so_few_events_that_none_is_usual_a_wrong_year_is_told_with_its_line(others):
    log = read(*others, "2024-03-02T08:00,2024-03-02T08:01")
    assert any("a start over 28 days from all but a few others" in note for note in log.notes)


def test_a_far_event_stretches_no_period_that_is_given():
    log = read(*MARCH, "2025-03-02T08:00,2025-03-02T08:01", first=datetime(2026, 3, 1))
    # 19 events of 60 s from the 1st, 0:00, to the 19th, 8:01: 18 days, 8 h and 1 min.
    assert event_statistics(log).from_log.fraction == pytest.approx(19 * 60 / (18 * 86400 + 8 * 3600 + 60))


def test_a_quiet_camera_and_a_season_are_no_wrong_years():
    monthly = [
        f"{2024 + n // 12}-{1 + n % 12:02}-15T08:00,{2024 + n // 12}-{1 + n % 12:02}-15T08:01" for n in range(0, 24, 2)
    ]
    summers = [f"{year}-07-{day:02}T08:00,{year}-07-{day:02}T08:01" for year in (2024, 2025) for day in range(1, 30)]
    for lines in (monthly, summers, MARCH):
        assert not any("over 28 days" in note for note in read(*lines).notes)
