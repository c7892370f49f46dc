"""Fetching over the link: the reader and the ring's edge run in small steps, what it shares with back-fill."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.models.export import fetch_h, footage_per_h, lost_in_fetch_h
from edgestore.models.outage import backfill_h, lost_in_backfill_h

HOURS = st.floats(0, 200)
HOLDS = st.floats(1, 200)
RATES = st.floats(0.5, 20)
LINKS = st.floats(0.5, 100)
COUNTS = st.integers(1, 20)


def stepped(span, ended, holds, pace, step=0.001):
    """Follow the reader and the edge of the ring in small steps, hours before now; give what is lost."""
    place, end, edge, saved = ended + span, ended, holds, 0.0  # ages at the start; the edge comes nearer to now
    while True:
        place = min(place, edge)  # what is older is overwritten
        if place <= end:
            return span - saved
        read = min(pace * step, place - end)
        place, saved, edge = place - read, saved + read, edge - step


@pytest.mark.parametrize(
    ("span", "ended", "holds", "pace"),
    [(12, 24, 32, 0.5), (12, 24, 48, 0.25), (12, 24, 48, 3), (12, 24, 30, 3), (6, 0, 36, 0.1), (12, 40, 32, 2)],
)
def test_small_steps_lose_what_the_closed_form_says(span, ended, holds, pace):
    # One camera of 4 Mbit/s: a link of 4 x (1 + pace) leaves that pace.
    lost = lost_in_fetch_h(span, ended, holds, bitrate_mbit_s=4, link_mbit_s=4 * (1 + pace))
    assert stepped(span, ended, holds, pace) == pytest.approx(lost, abs=0.01)


@given(HOURS, HOLDS, RATES, LINKS, COUNTS)
def test_a_span_that_has_just_ended_is_an_outage_that_has_just_ended(span, holds, rate, link, cameras):
    asked = {"bitrate_mbit_s": rate, "link_mbit_s": link, "cameras": cameras}
    assert lost_in_fetch_h(span, 0, holds, **asked, fetched=cameras) == lost_in_backfill_h(span, holds, **asked)
    assert fetch_h(span, rate, link, cameras=cameras, fetched=cameras) == backfill_h(span, rate, link, cameras=cameras)


@given(HOURS, HOURS, HOLDS, RATES, LINKS, LINKS)
def test_waiting_longer_or_a_slower_camera_never_saves_more(span, ended, holds, rate, link, read):
    at_once = lost_in_fetch_h(span, ended, holds, bitrate_mbit_s=rate, link_mbit_s=link)
    assert 0 <= at_once <= span
    assert lost_in_fetch_h(span, ended + 1, holds, bitrate_mbit_s=rate, link_mbit_s=link) >= at_once
    slower = lost_in_fetch_h(span, ended, holds, bitrate_mbit_s=rate, link_mbit_s=link, read_mbit_s=read)
    assert slower >= at_once


@given(RATES, LINKS, COUNTS, LINKS)
def test_no_camera_gives_more_than_it_reads_out_and_all_together_no_more_than_is_left(rate, link, fetched, read):
    pace = footage_per_h(rate, link, fetched=fetched, read_mbit_s=read)
    assert pace * rate <= read * (1 + 1e-9)
    assert pace * rate * fetched <= max(link - rate, 0) * (1 + 1e-9)


def test_one_camera_alone_is_fetched_at_what_its_own_stream_leaves():
    # 10 - 4 = 6 Mbit/s, which is 1.5 times 4.
    assert footage_per_h(4, 10) == 1.5


def test_a_link_that_the_live_streams_fill_fetches_nothing():
    assert footage_per_h(4, 8, cameras=2) == 0
    assert fetch_h(6, 4, 8, cameras=2) == inf
    assert fetch_h(1, 4, 4) == inf  # was 4.5e307 h
    assert fetch_h(0, 4, 8, cameras=2) == 0
    assert lost_in_fetch_h(6, 1, 100, bitrate_mbit_s=4, link_mbit_s=8, cameras=2) == 6
