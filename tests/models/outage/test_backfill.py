"""Catching up over the network: check values, the reader and the card's edge run in small steps, orders, refusals."""

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.outage import backfill_h, backfill_of_site, lost_in_backfill_h, useful_retention_h
from edgestore.models.outage.backfill import ORDERS

HOURS = st.floats(0, 200)
HOLDS = st.floats(1, 200)
RATES = st.floats(0.5, 20)
LINKS = st.floats(0.5, 100)
SITES = st.lists(st.tuples(HOURS, HOLDS, RATES), min_size=1, max_size=6)


def stepped(away, holds, rates, link, turn=None, step=0.01):
    """Follow readers and the cards' edges in small steps; ``turn`` fetches one at a time. Give what is lost."""
    away, holds, rates = (np.array(row, float) for row in (away, holds, rates))
    spare, now = link - rates.sum(), 0.0
    read_to, saved = np.zeros(len(away)), np.zeros(len(away))
    while True:
        read_to = np.maximum(read_to, away + now - holds)  # the card has overwritten what lies before
        waiting = read_to < away - 1e-9
        if not waiting.any():
            return away - saved
        chosen = waiting if turn is None else np.arange(len(away)) == next(k for k in turn if waiting[k])
        speed = spare / rates[chosen].sum()
        # Not beyond the end of a camera: who is next begins at once.
        time = min(step, ((away - read_to)[chosen] / speed).min())
        read = np.where(chosen, speed * time, 0)
        read_to, saved, now = read_to + read, saved + read, now + time


def test_the_check_values_of_the_sources_are_met():
    assert lost_in_backfill_h([24, 60, 60], 72, bitrate_mbit_s=4, link_mbit_s=[5, 6, 10]) == pytest.approx([6, 24, 0])
    assert backfill_h(24, 4, 100, cameras=16) == pytest.approx(24 * 64 / 36)
    assert backfill_h(24, 4, 100, cameras=16) == pytest.approx(42.667, abs=0.0005)
    # One camera where none is said: 24 h of 4 Mbit/s over the 6 that it leaves; 72 h x 1 / 4.
    assert backfill_h(24, 4, 10) == pytest.approx(16)
    assert useful_retention_h(72, 4, 5) == pytest.approx(18)


@pytest.mark.parametrize(("away", "ratio", "lost"), [(24, 1.25, 6), (60, 1.5, 24), (60, 2.5, 0), (100, 3, 28)])
def test_small_steps_lose_what_the_closed_form_says(away, ratio, lost):
    # 100 h on a fast link: the card held 72 h at the repair, 28 h were gone.
    assert stepped([away], [72], [4], 4 * ratio)[0] == pytest.approx(lost, abs=0.05)
    assert lost_in_backfill_h(away, 72, bitrate_mbit_s=4, link_mbit_s=4 * ratio) == pytest.approx(lost)


@given(HOURS, HOLDS, RATES, LINKS, LINKS)
def test_a_faster_link_and_a_larger_card_never_lose_more(away, holds, rate, one, other):
    slow, fast = sorted((one, other))
    assert (
        lost_in_backfill_h(away, holds, bitrate_mbit_s=rate, link_mbit_s=fast)
        <= lost_in_backfill_h(away, holds, bitrate_mbit_s=rate, link_mbit_s=slow) + 1e-9
    )
    assert (
        lost_in_backfill_h(away, holds * 1.5, bitrate_mbit_s=rate, link_mbit_s=slow)
        <= lost_in_backfill_h(away, holds, bitrate_mbit_s=rate, link_mbit_s=slow) + 1e-9
    )
    assert 0 <= lost_in_backfill_h(away, holds, bitrate_mbit_s=rate, link_mbit_s=slow) <= away
    assert backfill_h(away, rate, fast) <= backfill_h(away, rate, slow)


@given(HOLDS, RATES, LINKS, st.integers(1, 20))
def test_an_outage_of_the_useful_retention_is_the_longest_that_loses_nothing(holds, rate, link, cameras):
    useful = useful_retention_h(holds, rate, link, cameras=cameras)
    assert 0 <= useful <= holds
    assert lost_in_backfill_h(useful, holds, bitrate_mbit_s=rate, link_mbit_s=link, cameras=cameras) == 0
    assert lost_in_backfill_h(
        useful + 1, holds, bitrate_mbit_s=rate, link_mbit_s=link, cameras=cameras
    ) == pytest.approx(1)


@pytest.mark.parametrize("link", [3, 4])
def test_a_link_no_faster_than_the_cameras_gives_nothing_back(link):
    assert backfill_h(24, 4, link) == inf
    assert backfill_h(1 / 60, 4, link) == inf  # however short the outage
    assert backfill_h(0, 4, link) == 0
    assert useful_retention_h(72, 4, link) == 0
    assert lost_in_backfill_h(24, 72, bitrate_mbit_s=4, link_mbit_s=link) == 24
    for order in ORDERS:
        fetched = backfill_of_site([24, 0], 72, bitrate_mbit_s=[2, 2], link_mbit_s=link, order=order)
        assert fetched.lost_h.tolist() == [24, 0]
        assert fetched.done_h.tolist() == [inf, 0]
        assert fetched.total_lost_h == 24


@given(SITES, st.floats(1.05, 4))
def test_all_at_once_loses_what_small_steps_lose(site, ratio):
    away, holds, rates = zip(*site, strict=True)
    link = ratio * sum(rates)
    expected = stepped(away, holds, rates, link, step=0.05)
    assert backfill_of_site(away, holds, bitrate_mbit_s=rates, link_mbit_s=link).lost_h == pytest.approx(
        expected, abs=0.2
    )


@given(SITES, st.floats(1.05, 4))
def test_one_after_another_loses_what_small_steps_lose(site, ratio):
    away, holds, rates = (np.array(row) for row in zip(*site, strict=True))
    link = ratio * rates.sum()
    for order, turn in (
        ("oldest first", np.argsort(-away, kind="stable")),
        ("most urgent first", np.argsort(holds - away, kind="stable")),
    ):
        fetched = backfill_of_site(away, holds, bitrate_mbit_s=rates, link_mbit_s=link, order=order)
        expected = stepped(away, holds, rates, link, turn, step=0.05)
        assert fetched.lost_h == pytest.approx(expected, abs=0.1 * len(site))
        assert np.all(fetched.begun_h[turn][1:] == fetched.done_h[turn][:-1])


@given(st.floats(1, 60), HOLDS, RATES, st.integers(1, 8), st.floats(1.05, 4))
def test_cameras_that_are_alike_are_one_closed_form(away, holds, rate, cameras, ratio):
    link = ratio * cameras * rate
    fetched = backfill_of_site(np.full(cameras, away), holds, bitrate_mbit_s=rate, link_mbit_s=link)
    lost = lost_in_backfill_h(away, holds, bitrate_mbit_s=rate, link_mbit_s=link, cameras=cameras)
    assert fetched.lost_h == pytest.approx(np.full(cameras, lost), abs=1e-6)
    if lost == 0:
        assert fetched.done_h == pytest.approx(
            np.full(cameras, backfill_h(away, rate, link, cameras=cameras)), rel=1e-6
        )


def test_the_orders_by_hand():
    # 4 + 4 Mbit/s on 10: 2 to spare. Away 24 h, cards of 96 and 48 h.
    # Together s = 0.25: 96 x 0.25 = 24 are saved, 48 x 0.25 = 12.
    assert backfill_of_site(24, [96, 48], bitrate_mbit_s=4, link_mbit_s=10).lost_h == pytest.approx([0, 12])
    # As listed: alone s = 0.5, 48 h; then the other card holds nothing of it any more.
    assert backfill_of_site(
        24, [96, 48], bitrate_mbit_s=4, link_mbit_s=10, order="oldest first"
    ).lost_h == pytest.approx([0, 24])
    # The small card first: 48 x 0.5 = 24, in 48 h; then (96 - 48) x 0.5 = 24.
    urgent = backfill_of_site(24, [96, 48], bitrate_mbit_s=4, link_mbit_s=10, order="most urgent first")
    assert urgent.lost_h == pytest.approx([0, 0])
    assert urgent.begun_h.tolist() == [48, 0]
    assert urgent.done_h.tolist() == [96, 48]


def test_who_is_done_leaves_its_share_to_the_others():
    # 4 + 4 Mbit/s on 16: 8 to spare, s = 1. Away 10 and 30 h: after 10 h the second alone has s = 2: 20 h in 10.
    fetched = backfill_of_site([10, 30], 100, bitrate_mbit_s=4, link_mbit_s=16)
    assert fetched.done_h == pytest.approx([10, 20])
    assert fetched.lost_h == pytest.approx([0, 0])


def test_a_link_that_leaves_half_a_megabit_fetches_and_one_that_leaves_nothing_never_ends():
    # 4 Mbit/s on 4.5: an hour reads 0.5 / 4 = 1/8 h, so that an hour away is fetched in 8 h.
    for order in ORDERS:
        slow = backfill_of_site(1, 72, bitrate_mbit_s=4, link_mbit_s=4.5, order=order)
        assert (slow.lost_h.tolist(), slow.done_h.tolist()) == ([0], [8])
        # Half an hour away, nothing to fetch it over: not even begun.
        none = backfill_of_site([0.5, 0], 72, bitrate_mbit_s=2, link_mbit_s=4, order=order)
        assert (none.begun_h.tolist(), none.done_h.tolist()) == ([inf, 0], [inf, 0])


def test_where_all_is_saved_just_nothing_is_lost():
    # 8 + 8 Mbit/s on 64: three hours are read in an hour, and the cards hold more than was missed. What is read adds
    # up to 4e-15 h more than there was, in floats.
    fetched = backfill_of_site([29.49, 56.17], [146.4, 114.1], bitrate_mbit_s=8, link_mbit_s=64)
    assert (fetched.lost_h.tolist(), fetched.total_lost_h) == ([0, 0], 0)


def test_a_card_that_was_full_at_the_repair_is_read_at_the_pace_of_the_link():
    # 4 Mbit/s on 10: 1.5 h are read in an hour. Of 100 h the card held 72, which take 48 h; 28 were gone before.
    fetched = backfill_of_site(100, 72, bitrate_mbit_s=4, link_mbit_s=10)
    assert (fetched.lost_h, fetched.done_h) == (pytest.approx([28]), pytest.approx([48]))
    # On 5 a quarter: 72 / 4 = 18 h are saved, while the card overwrites before the reader all the way, for 72 h.
    slow = backfill_of_site(100, 72, bitrate_mbit_s=4, link_mbit_s=5)
    assert (slow.lost_h, slow.done_h) == (pytest.approx([82]), pytest.approx([72]))


def test_a_reader_that_rounding_puts_just_short_of_where_the_card_overtakes_it_comes_to_its_end():
    away, holds, rates = [33, 26, 6], [126.5, 56.5, 71.5], [12.5, 1.5, 13.5]
    fetched = backfill_of_site(away, holds, bitrate_mbit_s=rates, link_mbit_s=28.875)
    assert fetched.lost_h == pytest.approx(stepped(away, holds, rates, 28.875, step=0.05), abs=0.2)


def test_a_card_that_holds_less_than_a_rounding_of_the_outage_saves_nothing_and_is_done_at_once():
    # 24 h less 1e-20 h is 24 h as floats: nothing is left to read. The other card saves its 12 h at 16 - 12 Mbit/s.
    site = backfill_of_site([24, 12], [1e-20, 48], bitrate_mbit_s=[4, 8], link_mbit_s=16)
    assert site.lost_h.tolist() == [24, 0]
    assert site.done_h == pytest.approx([0, 24])  # 12 h x 8 Mbit/s over 4 Mbit/s


def test_a_site_of_many_cameras_is_fetched_camera_by_camera():
    fetched = backfill_of_site(
        np.linspace(0, 60, 300), np.linspace(20, 100, 300), bitrate_mbit_s=4, link_mbit_s=300 * 4 * 1.5
    )
    assert fetched.lost_h.shape == fetched.done_h.shape == (300,)
    assert fetched.total_lost_h == pytest.approx(fetched.lost_h.sum())


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        (
            {"order": "newest first"},
            r"^order: is 'newest first'; must be one of together, oldest first, most urgent first",
        ),
        ({"outage_h": -1}, r"^outage_h: is -1 h; must be 0 or more h"),
        ({"retention_h": 0}, r"^retention_h: is 0 h; must be above 0 h"),
        ({"bitrate_mbit_s": 4000}, r"^bitrate_mbit_s: is 4000[^;]*; "),
        ({"link_mbit_s": 0}, r"^link_mbit_s: is 0 Mbit/s; must be above 0 and at most 100000 Mbit/s"),
        ({"link_mbit_s": [10, 20]}, r"^link_mbit_s: found shape \(2,\); allowed: one number"),
        ({"retention_h": [1, 2, 3]}, r"^shapes: found outage_h \(2,\), retention_h \(3,\)"),
        ({"outage_h": [[1, 2]]}, r"^shapes: found shape \(1, 2\); allowed: one row of cameras"),
    ],
)
def test_what_is_no_site_is_refused(changed, message):
    good = {"outage_h": [24, 30], "retention_h": 72, "bitrate_mbit_s": 4, "link_mbit_s": 20}
    with pytest.raises(InputError, match=message):
        backfill_of_site(**good | changed)
