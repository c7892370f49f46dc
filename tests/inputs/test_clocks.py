"""Times become moments, on clocks that are put forward and back."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pandas as pd
import pytest

from edgestore import InputError
from edgestore.inputs.clocks import clock_of, moment, read_times

BERLIN = ZoneInfo("Europe/Berlin")


def utc(*texts: str, clock: ZoneInfo | None = BERLIN, column: str = "time") -> list[str]:
    return [f"{time:%Y-%m-%d %H:%M:%S}" for time in read_times(pd.Series(texts), clock)[column]]


def test_berlin_is_one_hour_ahead_in_winter_and_two_in_summer():
    assert utc("2026-03-02T08:00:00", "2026-07-02T08:00:00") == ["2026-03-02 07:00:00", "2026-07-02 06:00:00"]


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-02T08:00:00Z",
        "2026-03-02 08:00Z",
        "2026-03-02T09:30:00+01:30",
        "2026-03-02T03:00-0500",
        "2026-03-02T03:00-05",
    ],
)
def test_an_offset_overrules_the_zone(text):
    assert utc(text) == ["2026-03-02 08:00:00"]
    assert not read_times(pd.Series([text]), BERLIN)["local"].any()


@pytest.mark.parametrize("text", ["2026-03-02T08:00:00.250", "2026-03-02 08:00:00,25"])
def test_parts_of_a_second_may_follow_a_point_or_a_comma(text):
    assert read_times(pd.Series([text]), BERLIN)["time"][0].microsecond == 250_000


@pytest.mark.parametrize(
    "text",
    [
        "",
        "08:00",
        "2026-03-02",
        "02.03.2026 08:00",
        "2026-02-30T08:00",
        "2026-03-02T25:00",
        "2026-03-02T08:61",
        "2026-3-2T08:00",
        "2026-03-02T08:00:00 CET",
        "20260302T080000",
        "now",
    ],
)
def test_what_is_no_time_is_none(text):
    read = read_times(pd.Series([text, "2026-03-02T08:00"]), BERLIN)
    assert read["time"].isna().tolist() == [True, False]


def test_in_autumn_the_repeated_hour_has_two_moments():
    # Clocks go back on 2026-10-25 at 3:00 summer time (1:00 UTC), so 2:00 to 2:59 is shown at 0:xx and at 1:xx UTC.
    texts = ["2026-10-25T01:59:59", "2026-10-25T02:00:00", "2026-10-25T02:59:59", "2026-10-25T03:00:00"]
    assert [time[11:] for time in utc(*texts)] == ["23:59:59", "00:00:00", "00:59:59", "02:00:00"]
    assert [time[11:] for time in utc(*texts, column="later")] == ["23:59:59", "01:00:00", "01:59:59", "02:00:00"]
    assert read_times(pd.Series(texts), BERLIN)["twice"].tolist() == [False, True, True, False]


def test_in_spring_the_skipped_hour_is_read_on_the_clock_before():
    # Clocks go forward on 2026-03-29 at 2:00 winter time (1:00 UTC): 2:30 winter time is 1:30 UTC.
    texts = ["2026-03-29T01:59:59", "2026-03-29T02:30:00", "2026-03-29T03:00:00"]
    for column in ("time", "later"):
        assert [time[11:] for time in utc(*texts, column=column)] == ["00:59:59", "01:30:00", "01:00:00"]
    assert read_times(pd.Series(texts), BERLIN)["skipped"].tolist() == [False, True, False]


def test_a_clock_put_back_by_half_an_hour_repeats_half_an_hour():
    # Lord Howe Island, 2026-04-05: from 2:00 at UTC+11 back to 1:30 at UTC+10:30 (tz database, from memory).
    read = read_times(
        pd.Series(["2026-04-05T01:29", "2026-04-05T01:30", "2026-04-05T01:59"]), ZoneInfo("Australia/Lord_Howe")
    )
    assert read["twice"].tolist() == [False, True, True]
    assert (read["later"] - read["time"]).dt.total_seconds().tolist() == [0, 1800, 1800]


def test_each_hour_of_a_year_agrees_with_the_standard_library():
    wall = pd.date_range("2026-01-01", "2026-12-31 23:00", freq="h")
    expected = [time.to_pydatetime().replace(tzinfo=BERLIN).astimezone(UTC) for time in wall]
    read = read_times(pd.Series([time.isoformat() for time in wall]), BERLIN)
    assert read["time"].tolist() == expected
    assert (read["twice"].sum(), read["skipped"].sum()) == (1, 1)


def test_a_moment_without_offset_needs_a_zone():
    assert moment("first", datetime(2026, 7, 1, 8), BERLIN) == datetime(2026, 7, 1, 6, tzinfo=UTC)
    with pytest.raises(InputError, match="first: found 2026-07-01T08:00:00; allowed: a time with an offset"):
        moment("first", datetime(2026, 7, 1, 8), None)


def test_a_moment_in_no_year_of_a_camera_is_refused():
    with pytest.raises(InputError, match=r"last: found 1999-.*allowed: 2000 to 2099\. Fix: Correct the year"):
        moment("last", datetime(1999, 12, 31, tzinfo=UTC), None)


@pytest.mark.parametrize("zone", ["Berlin", "", "../etc", "/etc/localtime", "CEST+"])
def test_a_zone_that_is_not_known_is_refused(zone):
    with pytest.raises(InputError, match=r"zone: found .*the name of a time zone, as Europe/Berlin"):
        clock_of(zone)
