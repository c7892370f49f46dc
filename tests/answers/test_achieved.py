"""What a card holds by the answers of its camera: how far back, whether it was full, gaps, and hours of the week."""

import itertools
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.answers.achieved import achieved, clock_ahead_days
from edgestore.inputs.saved_answers import OnCard

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
LONG_AGO = pd.Timestamp(2026, 1, 1)


def ago(hours):
    return pd.Timestamp(NOW - timedelta(hours=hours))


def card(first, last=0.0, spells=None, now=None, saved=date(2026, 11, 20)):
    stretches = None if spells is None else tuple((ago(a), ago(b)) for a, b in spells)
    return OnCard("Gate", saved, (ago(first), ago(last)), stretches, None if now is None else ago(now), ())


def found(on_card, fitted=LONG_AGO, recording="continuous", zone="UTC", most_h=np.inf, fills_h=60.0, **of_clips):
    return achieved(on_card, fitted, recording, zone=ZoneInfo(zone), most_h=most_h, fills_h=fills_h, **of_clips)


def test_retention_goes_to_the_camera_s_clock_and_without_it_to_the_newest_footage():
    assert found(card(50)).hours == 50
    assert found(card(50, last=0.5, now=0)).hours == 50


def test_a_card_with_footage_of_the_day_of_fitting_is_not_full():
    assert not found(card(50), fitted=pd.Timestamp(2026, 11, 18)).is_full  # the oldest is of 2026-11-18, 10:00
    assert found(card(50), fitted=pd.Timestamp(2026, 11, 17)).is_full  # a day of recording has been overwritten
    assert found(card(50), fitted=pd.Timestamp(2026, 11, 20)).is_older


def test_a_card_that_has_been_in_for_less_than_it_takes_to_fill_need_not_be_full():
    # Fitted on 2026-11-17, 0:00; the oldest is of 2026-11-18, 10:00, so 34 h after it, and 84 h have passed.
    assert found(card(50), fitted=pd.Timestamp(2026, 11, 17), fills_h=84).is_full
    late = found(card(50), fitted=pd.Timestamp(2026, 11, 17), fills_h=85)
    assert not late.is_full
    assert late.begun_h == 34
    assert late.oldest == ago(50)


def test_an_old_clip_before_a_long_pause_stands_apart_and_is_no_gap():
    # 1 h of 900 h ago, then 50 h to now: the pause of 849 h is longer than 50, and than the 60 that fill the card.
    held = found(card(900, spells=[(900, 899), (50, 0)]))
    assert (held.apart, held.hours, held.recorded_h, held.gaps) == (1, 50, 50, ())
    # A pause of 49 h, or 3 h that are more than a twentieth of 53: a gap, and no clip that stands apart.
    assert found(card(100, spells=[(100, 99), (50, 0)])).apart == 0
    assert found(card(900, spells=[(900, 897), (50, 0)])).apart == 0


@pytest.mark.parametrize(
    ("spells", "apart"),
    [
        ([(900, 899.5), (500, 499.5), (50, 30), (20, 0)], 2),  # pauses of 399.5, 449.5 and 10 h; 1 h of 41 is old
        ([(150, 149), (79, 40), (30, 0)], 0),  # a pause of 70 h, but 79 h follow
        ([(81, 80), (30, 0)], 0),  # a pause of 50 h, longer than the 30 h that follow; the card fills in 60 h
        ([(91, 90), (30, 0)], 0),  # of just the 60 h in which the card fills
        ([(91.1, 90.1), (30, 0)], 1),
        ([(900, 899), (19, 0)], 1),  # 1 h of 20 is just a twentieth
        ([(900, 899.5), (890, 840), (50, 0)], 0),  # before the pause of 790 h lie 50.5 h of 100.5
    ],
)
def test_a_clip_stands_apart_by_a_pause_longer_than_all_that_follows_and_than_the_card_holds(spells, apart):
    assert found(card(spells[0][0], spells=spells)).apart == apart


def test_a_history_without_length_tells_no_part_recorded():
    held = found(replace(card(50, spells=[]), covered_from=ago(0)))
    assert (held.covered_h, held.gaps) == (0, ())
    assert np.isnan(held.recorded_part)
    # 0.5 h of which 0.4 h are recorded.
    assert found(card(0.5, spells=[(0.5, 0.1)])).recorded_part == pytest.approx(0.8)


def test_footage_before_the_first_stretch_of_the_history_is_a_gap():
    held = found(card(50, spells=[(40, 20), (16, 0)]))
    assert held.gaps == ((ago(50), ago(40)), (ago(20), ago(16)))
    assert held.longest_gap_h == 10


def test_a_history_that_begins_later_than_the_footage_tells_only_the_part_that_it_covers():
    # 100 h of footage; the history begins 40 h ago, with 10 h of them not recorded: 30 of 40 h.
    held = found(replace(card(100, spells=[(40, 20), (10, 0)]), covered_from=ago(40)))
    assert (held.hours, held.covered_h, held.recorded_h, held.recorded_part) == (100, 40, 30, 0.75)
    assert held.gaps == ((ago(20), ago(10)),)
    assert held.missed == 0.25


def test_a_camera_that_often_pauses_as_long_has_not_stopped():
    # Silent for 6 h, as it was for 12 h on three nights before.
    nights = [(90, 78), (66, 54), (42, 30), (18, 6)]
    assert found(card(90, last=6, spells=nights, now=0)).stopped is None
    assert found(card(66, last=6, spells=nights[1:], now=0)).stopped == ago(6)  # two such pauses are too few
    # Silent for just the 12 h of those nights.
    earlier = [(begin + 6, end + 6) for begin, end in nights]
    assert found(card(96, last=12, spells=earlier, now=0)).stopped is None


def test_footage_that_is_deleted_by_age_does_not_tell_what_the_card_takes():
    held = found(card(7 * 24), most_h=7 * 24)
    assert held.is_deleted
    assert not held.is_full


def test_a_clock_that_is_wrong_by_days_is_put_right_before_the_day_of_fitting_is_looked_at():
    # The clock shows 2026-11-20 while the answers are saved on 2026-12-20: all is 30 days later.
    late = card(50, now=0, saved=date(2026, 12, 20))
    assert not found(late, fitted=pd.Timestamp(2026, 12, 18)).is_full
    assert found(late, fitted=pd.Timestamp(2026, 12, 1)).is_full
    assert found(late).hours == 50


@pytest.mark.parametrize(
    ("recording", "silent_h", "has_stopped"), [("continuous", 2, True), ("motion", 2, False), ("motion", 60, True)]
)
def test_a_camera_without_new_footage_has_stopped_by_how_it_records(recording, silent_h, has_stopped):
    held = found(card(100, last=silent_h, now=0), recording=recording)
    assert (held.stopped is not None) == has_stopped
    assert held.hours == (100 - silent_h if has_stopped else 100)


def test_a_camera_that_has_stopped_is_noticed_without_its_clock_by_the_day_of_saving():
    assert found(card(24 * 10, last=24 * 5)).stopped == ago(24 * 5)


@pytest.mark.parametrize(
    ("first", "fitted", "is_full", "is_older"),
    [(36, 18, True, False), (36.01, 18, False, False), (36, 20, False, False), (36.01, 20, False, True)],
)
def test_a_day_after_the_day_of_fitting_is_full_and_more_than_a_day_before_it_is_older(
    first, fitted, is_full, is_older
):
    # 36 h before noon of 2026-11-20 the 19th begins; the log says a day alone, so that a day either way is left open.
    held = found(card(first), fitted=pd.Timestamp(2026, 11, fitted))
    assert (held.is_full, held.is_older) == (is_full, is_older)


@pytest.mark.parametrize(
    ("most_h", "hours", "is_deleted"), [(168, 143.9, False), (168, 144, True), (48, 35.9, False), (48, 36, True)]
)
def test_footage_within_a_day_or_a_quarter_of_the_age_of_deletion_is_deleted_by_age(most_h, hours, is_deleted):
    assert found(card(hours), most_h=most_h).is_deleted == is_deleted


@pytest.mark.parametrize(
    ("recording", "silent_h", "has_stopped"),
    [("continuous", 1, False), ("continuous", 1.01, True), ("motion", 48, False), ("motion", 48.01, True)],
)
def test_a_camera_may_be_silent_for_an_hour_or_two_days_if_it_waits_for_motion(recording, silent_h, has_stopped):
    assert (found(card(100, silent_h, now=0), recording=recording).stopped is not None) == has_stopped


@pytest.mark.parametrize(("last", "stopped"), [(-24, False), (35.9, False), (36, True)])
def test_without_its_clock_a_camera_has_stopped_if_its_newest_footage_is_not_of_about_the_day_of_saving(last, stopped):
    # Within a day and a half of noon (UTC) of that day it is as new as can be, whatever the time zone.
    assert (found(card(240, last=last)).stopped is not None) == stopped


@pytest.mark.parametrize(("last", "stopped"), [(36, False), (36.1, True)])
def test_without_its_clock_a_camera_is_silent_until_the_end_of_the_day_of_saving(last, stopped):
    # 12 h after noon; one that waits for motion may be silent for 48 h.
    assert (found(card(240, last=last), recording="motion").stopped is not None) == stopped


@pytest.mark.parametrize("now", [1, None])
def test_footage_that_ends_after_the_clock_was_asked_is_no_silence(now):
    # By an hour, or by so much that the clock must be wrong, which was not asked for.
    ends = 0 if now else -240
    of = card(50, last=ends, now=now)
    assert (found(of).hours, found(of).stopped) == (50 - ends, None)
    assert clock_ahead_days(of, ZoneInfo("UTC")) == (0 if now else 10)


@pytest.mark.parametrize(("saved", "ahead"), [(date(2026, 12, 20), -30), (date(2026, 11, 17), 3)])
def test_a_clock_is_ahead_by_the_days_from_that_of_saving_to_the_one_that_it_shows(saved, ahead):
    assert clock_ahead_days(card(50, now=0, saved=saved), ZoneInfo("UTC")) == ahead
    # What the clock shows needs no footage.
    assert clock_ahead_days(replace(card(50, now=0, saved=saved), span=None), ZoneInfo("UTC")) == ahead
    assert clock_ahead_days(replace(card(50, saved=saved), span=None), ZoneInfo("UTC")) == 0


@pytest.mark.parametrize(
    ("clock", "zone", "ahead"),
    [
        # The day of UTC-12 ends at 12:00 UTC of the 21st, that of UTC+14 began at 10:00 UTC of the 19th.
        ("2026-11-21T12:00", "UTC", 0),
        ("2026-11-21T12:01", "UTC", 1),
        ("2026-11-19T10:00", "UTC", 0),
        ("2026-11-19T09:59", "UTC", -1),
        # In Berlin, which is an hour ahead, it lasted from 23:00 to 23:00 UTC, and an hour is left about midnight.
        ("2026-11-21T00:00", "Europe/Berlin", 0),
        ("2026-11-21T00:01", "Europe/Berlin", 1),
        ("2026-11-19T22:00", "Europe/Berlin", 0),
        ("2026-11-19T21:59", "Europe/Berlin", -1),
    ],
)
def test_a_clock_is_wrong_where_it_shows_what_no_clock_of_its_zone_shows_on_the_day_of_saving(clock, zone, ahead):
    now = pd.Timestamp(clock, tz="UTC")
    span = now - pd.Timedelta(hours=50), now
    assert clock_ahead_days(replace(card(50), span=span, now=now), ZoneInfo(zone)) == ahead
    assert found(replace(card(50), span=span, now=now), zone=zone).hours == 50


def test_a_clock_that_was_not_asked_for_is_not_behind_because_nothing_moved_since_yesterday():
    # The newest footage is of 06:00 UTC of the 19th, a day before the answers.
    of = card(100, last=30)
    assert clock_ahead_days(of, ZoneInfo("Europe/Berlin")) == 0
    assert found(of, recording="motion", zone="Europe/Berlin").begun_h == found(of, recording="motion").begun_h


@pytest.mark.parametrize(("saved", "is_full"), [(date(2026, 11, 21), False), (date(2026, 11, 22), True)])
def test_a_clock_that_is_a_day_off_is_left_as_it_is(saved, is_full):
    # The oldest footage is of the 19th, 10:00. Fitted on the 19th; a clock that is two days slow makes it the 21st.
    held = found(card(26, now=0, saved=saved), fitted=pd.Timestamp(2026, 11, 19))
    assert held.is_full == is_full


def test_a_break_of_a_minute_is_no_gap_and_a_second_more_is_one():
    minute, second = 1 / 60, 1 / 3600
    assert found(card(10, spells=[(10, 5), (5 - minute, 0)])).gaps == ()
    assert len(found(card(10, spells=[(10, 5), (5 - minute - second, 0)])).gaps) == 1


def test_what_no_history_tells_is_told_as_unknown():
    held = found(card(48))
    assert np.isnan(held.recorded_h)
    assert np.isnan(held.by_hour).all()
    assert (held.recordings, held.gaps, held.missed, held.longest_gap_h) == (0, (), 0, 0)
    assert found(card(48, spells=[(48, 40), (30, 0)])).recordings == 2


def test_a_week_and_a_day_count_an_hour_of_the_week_twice():
    # 192 h to Friday 12:00: Friday 6:00 to 7:00, 174 and 6 h ago, is seen twice and recorded once.
    held = found(card(192, 5, spells=[(192, 150), (125, 6), (5.75, 5)], now=5))
    assert held.by_hour[4 * 24 + 6] == pytest.approx(0.875)  # 1 and 0.75 h of two
    assert held.by_hour[6] == pytest.approx(1)  # Monday, 102 h ago
    assert held.by_hour[5 * 24 + 20] == pytest.approx(0)  # Saturday, 136 h ago


def test_gaps_are_what_lies_between_stretches_but_not_a_restart():
    # 48 h: recorded 48-40, 30-10, 9.99-0 h ago. Between them 10 h, and 0.01 h = 36 s, which is none.
    held = found(card(48, spells=[(48, 40), (30, 10), (9.99, 0)]))
    assert held.gaps == ((ago(40), ago(30)),)
    assert held.longest_gap_h == 10
    assert held.missed == pytest.approx(10 / 48)
    assert held.recorded_h == pytest.approx(8 + 20 + 9.99)
    assert found(card(48, spells=[(48, 40)]), recording="motion").gaps == ()


def test_part_of_each_hour_of_the_week_is_told_on_the_camera_s_clocks():
    # 2026-11-20 is a Friday. 24 h to 12:00 UTC, recorded but for 06:00 to 06:30 UTC, which in Berlin is 07:00 to 07:30.
    held = found(card(24, spells=[(24, 6), (5.5, 0)]), zone="Europe/Berlin")
    friday = 4 * 24
    assert held.by_hour[friday + 7] == pytest.approx(0.5)
    assert held.by_hour[friday + 8] == 1
    assert np.isnan(held.by_hour[friday + 14])
    assert np.isfinite(held.by_hour).sum() == 24


@given(st.lists(st.floats(0.1, 300), min_size=2, max_size=12, unique=True))
def test_recorded_hours_and_gaps_make_up_the_span(edges):
    edges = sorted(edges, reverse=True)
    edges = edges[: len(edges) // 2 * 2]
    spells = list(zip(edges[::2], edges[1::2], strict=True))
    held = found(card(edges[0], edges[-1], spells))
    gaps = [(a - b) for (_, a), (b, _) in itertools.pairwise(spells)]
    missed = sum(gap for gap in gaps if gap > 1 / 60 + 1e-6)
    assert held.recorded_h == pytest.approx(sum(a - b for a, b in spells), abs=1e-6)
    assert held.missed * held.hours == pytest.approx(missed, abs=0.02 * len(gaps) + 1e-6)
    inside = held.by_hour[np.isfinite(held.by_hour)]
    assert ((inside >= -1e-9) & (inside <= 1 + 1e-9)).all()


def test_without_its_gaps_a_full_card_would_hold_the_footage_that_it_has():
    # 50 h with a gap of 10 hold 40 h. Of a card that is not full, or without gaps, nothing is said.
    gapped = card(50, spells=[(50, 30), (20, 0)])
    assert found(gapped).without_gaps_h == pytest.approx(40)
    assert np.isnan(found(gapped, fitted=pd.Timestamp(2026, 11, 18)).without_gaps_h)
    assert np.isnan(found(card(50, spells=[(50, 0)])).without_gaps_h)


def test_hours_of_the_week_count_until_the_camera_s_clock_as_the_part_recorded_does():
    # 24 h to Friday 12:00 by the clock, the newest footage of 06:00: 18 of 24 h; the six hours since are not recorded.
    held = found(card(24, last=6, spells=[(24, 6)], now=0), recording="motion")
    assert held.until == ago(0)
    assert held.recorded_part == pytest.approx(0.75)
    assert np.nanmean(held.by_hour) == pytest.approx(0.75)
    assert held.by_hour[4 * 24 + 6 : 4 * 24 + 12].tolist() == [0] * 6


def test_without_its_clock_what_a_silent_camera_holds_counts_to_its_newest_footage_alone():
    # Silent for 60 h at noon, 72 h at the end of the day, as it was three times before: it has not stopped. From 500 h
    # ago to 60 h are 440 h of footage; by its clock, which shows noon, the oldest is 500 h old.
    spells = [(500, 490), (410, 400), (320, 310), (230, 220), (70, 60)]
    held = found(card(500, last=60, spells=spells), recording="motion")
    assert (held.stopped, held.hours, held.until, held.covered_h) == (None, 440, ago(60), 440)
    assert found(card(500, last=60, spells=spells, now=0), recording="motion").hours == 500
    # The age at which footage is deleted goes by the calendar: of 14 days 512 h, the end of the day, is long enough.
    assert found(card(500, last=60, spells=spells), recording="motion", most_h=512 + 24).is_deleted
    assert not found(card(500, last=60, spells=spells), recording="motion", most_h=512 + 24.1).is_deleted


@pytest.mark.parametrize(
    ("spells", "maybe_locked"),
    [
        ([(60, 59.8), (30, 0)], 1),  # 0.2 h of 30.2, then the longest pause, of 29.8 h
        ([(80, 79.8), (60, 59.8), (30, 0)], 2),  # pauses of 19.8 and 29.8 h
        ([(100, 50), (25, 0)], 0),  # 50 h of 75 are no clip
        ([(60, 58), (40, 20), (2, 0)], 0),  # 2 h of 24 are more than a twentieth
        ([(60, 59), (19, 0)], 1),  # 1 h of 20 is just a twentieth
        ([(20, 19.75), (19.25, 0)], 1),  # a pause of half an hour: 0.25 h of 19.5
        ([(60, 59.8), (50, 30), (20.2, 0)], 0),  # both pauses are of 9.8 h
        ([(60, 59.8), (50, 30), (20.1, 0)], 0),  # the longest, of 9.9 h, comes after 20.2 h of footage
        ([(60, 0)], 0),
        ([(60, 59.8), (50, 48), (47.99, 0)], 1),  # a pause of 36 s after 2.2 h of 50 is a restart
        ([(110, 109.8), (60, 59.8), (50, 49.8), (30, 0)], 3),  # pauses of 49.8, 9.8 and 19.8 h: none after the last
        ([(110, 109.8), (60, 59.8), (50, 40), (29, 0)], 1),  # 10.4 h of 39.4 are no clips, and 9.8 is not 11
    ],
)
def test_a_short_stretch_before_the_longest_gap_may_be_a_locked_clip(spells, maybe_locked):
    assert (
        found(card(60 if len(spells) == 1 else spells[0][0], spells=spells), fills_h=131).maybe_locked == maybe_locked
    )


def test_the_footage_after_clips_that_may_be_locked_begins_with_the_stretch_after_them():
    held = found(card(110, spells=[(110, 109.8), (60, 59.8), (50, 49.8), (30, 0)]), fills_h=131)
    assert held.maybe_from == ago(30)
    assert found(card(60, spells=[(60, 58), (40, 20), (2, 0)]), fills_h=131).maybe_from is None
    assert found(card(60)).maybe_from is None


def test_a_short_stretch_may_be_a_locked_clip_up_to_one_and_a_half_times_the_part_that_is_expected():
    # 3 h of 20 are 0.15: one and a half times 0.1, and more than that times 0.09.
    on_card = card(60, spells=[(60, 57), (17, 0)])
    for expected, clips in ((0.11, 1), (0.09, 0)):
        assert found(on_card, fills_h=131, locked_fraction=expected).maybe_locked == clips


def test_a_pause_of_a_camera_that_waits_for_motion_is_no_gap_beside_which_a_clip_may_be_locked():
    held = found(card(60, spells=[(60, 59.8), (30, 0)]), recording="motion", fills_h=131)
    assert (held.gaps, held.maybe_locked) == ((), 0)


def test_where_both_are_told_the_history_counts_and_not_the_recordings_that_are_listed():
    # The history tells 35 h of 50, the list 45 h.
    held = found(replace(card(50, spells=[(50, 45), (30, 0)]), pieces=((ago(50), ago(45)), (ago(40), ago(0)))))
    assert (held.recorded_h, held.gaps) == (35, ((ago(45), ago(30)),))


def test_a_history_that_was_asked_for_from_before_the_oldest_footage_covers_that_footage_alone():
    held = found(replace(card(50, spells=[(50, 45), (30, 0)]), covered_from=ago(60)))
    assert (held.covered_h, held.gaps) == (50, ((ago(45), ago(30)),))


def test_a_history_without_a_stretch_is_one_gap_and_tells_of_no_clip():
    held = found(card(60, spells=[]))
    assert (held.gaps, held.maybe_locked, held.recorded_part) == (((ago(60), ago(0)),), 0, 0)


@pytest.mark.parametrize(
    ("listed", "part"),
    [
        ([(50, 30), (20, 0)], 0.8),  # 40 h of 50
        ([(50, 0)], np.nan),  # one recording alone may be all that is told
        ([(100, 30), (20, 0)], np.nan),  # 70 h: no card that fills in 60 h holds it as one recording
    ],
)
def test_recordings_listed_are_a_history_where_there_are_several_and_none_is_longer_than_the_card_holds(listed, part):
    pieces = tuple((ago(begin), ago(end)) for begin, end in listed)
    held = found(replace(card(listed[0][0]), pieces=pieces))
    assert held.recorded_part == pytest.approx(part, nan_ok=True)


def test_a_stretch_that_is_not_the_oldest_footage_is_no_locked_clip():
    # 100 h of footage, of which the history tells the last 60.
    assert found(replace(card(100, spells=[(60, 59.8), (30, 0)]), covered_from=ago(60))).maybe_locked == 0


def test_what_has_stopped_counts_until_its_newest_footage():
    held = found(card(100, last=72, spells=[(100, 72)], now=0))
    assert held.until == held.stopped == ago(72)
    assert held.recorded_part == 1
