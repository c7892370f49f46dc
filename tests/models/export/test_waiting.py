"""What is overwritten before somebody acts: by hand, and how it hangs together with fetching."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.models.export import lost_in_fetch_h, lost_in_wait_h

HOURS = st.floats(0, 200)
HOLDS = st.floats(1, 200)


def test_of_a_span_that_still_goes_the_wait_costs_hour_for_hour():
    # The last of 12 h that ended 24 h ago goes after 32 - 24 = 8 h: 4 h are gone, 5 h more after 5 h, all after 8 h.
    assert lost_in_wait_h(12, 24, 32, wait_h=[0, 5, 8, 9]).tolist() == [4, 9, 12, 12]
    assert lost_in_wait_h(6, 24, 32, wait_h=[0, 2, 3]).tolist() == [0, 0, 1]


@given(HOURS, HOURS, HOLDS, HOURS)
def test_a_longer_wait_never_loses_less_and_never_more_than_is_wanted(span, ended, holds, wait):
    now, later = lost_in_wait_h(span, ended, holds, wait_h=[0, wait])
    assert 0 <= now <= later <= span
    assert later == pytest.approx(lost_in_wait_h(span, ended + wait, holds, wait_h=0), abs=1e-9)


@given(HOURS, HOURS, HOLDS)
def test_fetching_at_the_pace_of_recording_or_faster_loses_what_a_lock_at_once_does(span, ended, holds):
    assert lost_in_wait_h(span, ended, holds, wait_h=0) == lost_in_fetch_h(
        span, ended, holds, bitrate_mbit_s=4, link_mbit_s=8
    )
