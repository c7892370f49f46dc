"""Repairs in working hours: the exact forms against every failure of a week, and the week's corners by hand."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.outage import WorkingHoursRepair

QUARTERS = st.integers(0, 96).map(lambda n: n / 4)
WEEKS = st.builds(
    lambda delay, work, ends, days: WorkingHoursRepair(delay, work, opens_h=min(ends), closes_h=max(ends), days=days),
    st.floats(0, 200),
    st.floats(0, 30),
    st.lists(QUARTERS, min_size=2, max_size=2, unique=True),
    st.integers(1, 7),
)
# The middles of steps of 0.01 h: a wait falls evenly, so that their mean is exact but for the steps at the corners.
MOMENTS = np.arange(0.005, 168, 0.01)


@given(WEEKS, st.floats(0, 250))
def test_the_closed_forms_are_the_means_over_all_failures_of_a_week(law, hours):
    lengths = law.outage_h(MOMENTS)
    assert law.mean_h() == pytest.approx(lengths.mean(), abs=0.03)
    assert law.excess_h(hours) == pytest.approx(np.maximum(lengths - hours, 0).mean(), abs=0.03)
    assume(abs(hours - law.visit_delay_h - law.work_h) > 0.01)
    assert law.survival(hours) == pytest.approx((lengths > hours).mean(), abs=0.002)
    assert lengths.max() == pytest.approx(law.longest_h, abs=0.011)
    assert law.survival(law.longest_h) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("failed_at_h", "outage_h"),
    [
        (0, 8 + 2),  # Monday 0:00: until 8:00
        (8, 2),  # Monday 8:00: at once
        (16.99, 2),  # just before closing: begun work is finished
        (17, 15 + 2),  # at closing: until Tuesday 8:00
        (4 * 24 + 17, 63 + 2),  # Friday 17:00: until Monday 8:00
        (5 * 24 + 12, 44 + 2),  # Saturday noon: 12 + 24 + 8
        (168 + 9, 2),  # the next week is as this one
    ],
)
def test_an_outage_by_the_hour_of_its_failure(failed_at_h, outage_h):
    assert WorkingHoursRepair(0, 2).outage_h(failed_at_h) == pytest.approx(outage_h)


def test_the_way_there_is_counted_by_the_clock():
    law = WorkingHoursRepair(visit_delay_h=4, work_h=2)
    # Monday 14:00: could come at 18:00, comes on Tuesday at 8:00: 18 h, and 2 h of work.
    assert law.outage_h(14) == pytest.approx(20)
    # Sunday 20:00: comes on Monday at 8:00, not at midnight.
    assert law.outage_h(6 * 24 + 20) == pytest.approx(14)
    assert law.longest_h == 69


def test_round_the_clock_there_is_no_wait():
    law = WorkingHoursRepair(4, 2, opens_h=0, closes_h=24, days=7)
    assert law.outage_h([0, 50.5, 167.9]) == pytest.approx([6, 6, 6])
    assert law.survival([5.9, 6]).tolist() == [1, 0]
    assert law.excess_h([0, 2, 6, 9]).tolist() == [6, 4, 0, 0]


@given(WEEKS)
def test_a_longer_working_day_or_week_never_makes_outages_longer(law):
    assume(law.closes_h <= 23 and law.days <= 6)
    longer_day = WorkingHoursRepair(
        law.visit_delay_h, law.work_h, opens_h=law.opens_h, closes_h=law.closes_h + 1, days=law.days
    )
    longer_week = WorkingHoursRepair(
        law.visit_delay_h, law.work_h, opens_h=law.opens_h, closes_h=law.closes_h, days=law.days + 1
    )
    for better in (longer_day, longer_week):
        assert better.mean_h() <= law.mean_h()
        assert np.all(better.excess_h(np.arange(0, 200, 7)) <= law.excess_h(np.arange(0, 200, 7)) + 1e-9)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"visit_delay_h": -1}, r"^visit_delay_h: is -1 h; must be 0 or more h"),
        ({"work_h": float("nan")}, r"^work_h: is nan; "),
        ({"opens_h": 25}, r"^opens_h: is 25 h; must be 0 or more and at most 24 h"),
        ({"closes_h": 8}, r"^opens_h: is 8; must be before closes_h, 8 h"),
        ({"opens_h": 17, "closes_h": 8}, r"^opens_h: is 17[^;]*; .*Give the hours of one day\."),
        ({"days": 0}, r"^days: is 0 days; must be 1 or more and at most 7 days"),
        ({"days": 2.5}, r"^days: is 2\.5 days; must be whole days"),
        ({"days": [5, 6]}, r"^days: found shape \(2,\); allowed: one number"),
        ({"work_h": -1, "days": 8}, r"^work_h: is -1[^;]*; [^\n]*\ndays: is 8[^;]*; "),
    ],
)
def test_what_is_no_week_is_refused(fields, message):
    with pytest.raises(InputError, match=message):
        WorkingHoursRepair(**{"visit_delay_h": 4, "work_h": 2} | fields)
