"""The simulated card on streams of which the answer is known, and what must hold whatever is written to it."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.wear import (
    CardDesign,
    camera_writes,
    circular_writes,
    hot_cold_writes,
    random_writes,
    simulate,
)
from edgestore.models.wear.mapping import MAPPINGS
from edgestore.models.wear.simulated_card import CLEANINGS, LEVELLINGS

pytestmark = pytest.mark.slow

PERCENT_2 = 0.02


def interleaved(design: CardDesign, count: int, files: int, chunk_pages: int) -> np.ndarray:
    """Give the pages of several circular files that are written by turns, a chunk each."""
    room = design.user_pages // files
    turn, step = np.divmod(np.arange(count), files * chunk_pages)
    file, offset = np.divmod(step, chunk_pages)
    return file * room + (turn * chunk_pages + offset) % room


# Streams of which the answer is known


@pytest.mark.parametrize(("mapping", "cleaning"), [("page", "fifo"), ("page", "greedy"), ("unit", "fifo")])
def test_circular_video_is_written_once_exactly(mapping, cleaning):
    design = CardDesign(user_blocks=60, pages_per_block=64, spare_blocks=8, mapping=mapping, cleaning=cleaning)
    card = simulate(design, circular_writes(design.user_pages, 10 * design.user_pages))
    assert card.write_amplification == 1
    assert card.flash_pages.tolist() == card.host_pages.tolist()


@pytest.mark.parametrize("still_blocks", [20, 50, 100])
def test_still_data_on_a_page_mapped_card_is_carried_round(still_blocks):
    # 1 / (1 - C/T): of 200 + 14 blocks one is kept free, so T = 213
    design = CardDesign(user_blocks=200, pages_per_block=64, spare_blocks=14)
    still = still_blocks * 64
    writes = still + circular_writes(design.user_pages - still, 30 * design.user_pages)
    card = simulate(design, writes, warm_up=10 * design.user_pages)
    assert card.write_amplification == pytest.approx(1 / (1 - still_blocks / 213), rel=PERCENT_2)


@pytest.mark.parametrize(("files", "chunk_pages"), [(2, 8), (3, 16), (4, 32)])
def test_files_by_turns_cost_a_unit_a_chunk_when_one_unit_is_open(files, chunk_pages):
    # P / c; with a unit open for each file nothing is written twice
    design = CardDesign(user_blocks=60, pages_per_block=64, spare_blocks=8, mapping="unit", open_units=1)
    writes = interleaved(design, 10 * design.user_pages, files, chunk_pages)
    assert simulate(design, writes).write_amplification == pytest.approx(64 / chunk_pages, rel=PERCENT_2)
    roomy = CardDesign(user_blocks=60, pages_per_block=64, spare_blocks=8, mapping="unit", open_units=files)
    assert simulate(roomy, writes).write_amplification == pytest.approx(1, rel=PERCENT_2)


def test_small_updates_cost_nothing_by_page_until_they_outgrow_the_spare():
    # Simulated apart, 7 % spare (6.5 % of all): a share of 5 % of the writes 1.000, a share of 10 % 2.80, a cliff.
    design = CardDesign(user_blocks=1000, pages_per_block=64, spare_blocks=71)
    for small, expected in ((1, 1.0), (2, 2.8)):
        # a place rewritten whole but for one page, so that next to no still data is carried round
        writes = camera_writes(
            design, 30 * design.user_pages, video_pages=20 * 63 // small - 63, update_places=1, pages_per_place=63
        )
        card = simulate(design, writes, warm_up=15 * design.user_pages)
        assert card.write_amplification == pytest.approx(expected, rel=0.05), small


# What holds whatever is written


@st.composite
def designs(draw):
    mapping = draw(st.sampled_from(MAPPINGS))
    open_units = draw(st.integers(1, 3))
    return CardDesign(
        user_blocks=draw(st.integers(4, 12)),
        pages_per_block=draw(st.integers(2, 8)),
        spare_blocks=draw(st.integers(open_units + 2, 8)),
        mapping=mapping,
        cleaning=draw(st.sampled_from(CLEANINGS)),
        open_units=open_units,
        levelling=draw(st.sampled_from(LEVELLINGS)),
    )


@given(designs(), st.integers(0, 10**6), st.floats(0.3, 1))
def test_every_erase_makes_room_for_one_block_of_flash_pages(design, seed, hot):
    writes = hot_cold_writes(design.user_pages, 2000, hot_write_fraction=hot, hot_page_fraction=0.3, seed=seed)
    card = simulate(design, writes, snapshots=40)
    block = design.pages_per_block
    # Written and not yet paid with an erase: the spare blocks at the start, or the open units and the log.
    partly = block * (design.spare_blocks if design.mapping == "page" else design.open_units + 1)
    assert (np.abs(card.flash_pages - block * card.erase_history.sum(axis=1)) <= partly).all()
    assert (np.diff(card.flash_pages) >= np.diff(card.host_pages)).all()
    assert (np.diff(card.erase_history, axis=0) >= 0).all()
    assert card.erase_history[-1].tolist() == card.erase_counts.tolist()
    assert card.erase_counts.shape == (design.user_blocks + design.spare_blocks,)
    assert card.host_pages[-1] == 2000
    assert card.write_amplification == pytest.approx(card.flash_pages[-1] / 2000)


@given(designs(), st.integers(0, 10**6))
def test_a_run_that_is_longer_begins_like_the_shorter_one(design, seed):
    writes = random_writes(design.user_pages, 600, seed)
    short, long = simulate(design, writes[:300], snapshots=1), simulate(design, writes, snapshots=2)
    assert long.host_pages.tolist() == [300, 600]
    assert long.flash_pages[0] == short.flash_pages[-1]
    assert long.erase_history[0].tolist() == short.erase_counts.tolist()


def test_the_warm_up_is_left_out_of_the_amplification_only():
    design = CardDesign(user_blocks=50, pages_per_block=16, spare_blocks=6)
    writes = np.concatenate([circular_writes(800, 4000), random_writes(800, 4000)])
    whole, after = simulate(design, writes), simulate(design, writes, warm_up=4000)
    assert after.erase_counts.tolist() == whole.erase_counts.tolist()
    at = after.host_pages.tolist().index(4000)
    assert after.write_amplification == (after.flash_pages[-1] - after.flash_pages[at]) / 4000
    assert after.write_amplification > whole.write_amplification


def test_no_more_snapshots_are_kept_than_there_are_writes():
    card = simulate(CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=2), [0, 1, 2, 3], warm_up=2, snapshots=50)
    assert card.host_pages.tolist() == [1, 2, 3, 4]
    assert simulate(
        CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=2), range(10), warm_up=3, snapshots=2
    ).host_pages.tolist() == [3, 5, 10]
    # A third of 10 writes is counted down to whole ones.
    thirds = simulate(CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=2), range(10), snapshots=3)
    assert thirds.host_pages.tolist() == [3, 6, 10]


# Wear levelling

LEVELLED = {
    "page, fifo": CardDesign(user_blocks=100, pages_per_block=16, spare_blocks=10, mapping="page", cleaning="fifo"),
    "page, greedy": CardDesign(user_blocks=100, pages_per_block=16, spare_blocks=10, mapping="page", cleaning="greedy"),
    "unit": CardDesign(user_blocks=100, pages_per_block=16, spare_blocks=10, mapping="unit", open_units=4),
    "unit with log": CardDesign(
        user_blocks=100, pages_per_block=16, spare_blocks=10, mapping="unit with log", open_units=4
    ),
}


def by_levelling(kind: str) -> dict:
    """Run half a card of still data and a few hot pages through each wear levelling."""
    design = LEVELLED[kind]
    half = design.user_pages // 2
    writes = hot_cold_writes(half, 60 * design.user_pages, hot_write_fraction=0.8, hot_page_fraction=0.2)
    if design.mapping != "page":
        writes = camera_writes(
            CardDesign(user_blocks=50, pages_per_block=16, spare_blocks=8, mapping="unit"),
            60 * design.user_pages,
            video_pages=40,
        )
    return {word: simulate(replace(design, levelling=word), writes, snapshots=1) for word in LEVELLINGS}


def spread(card) -> int:
    return int(np.ptp(card.erase_counts))


@pytest.mark.parametrize("kind", LEVELLED)
def test_levelling_by_free_blocks_alone_costs_nothing(kind):
    cards = by_levelling(kind)
    assert cards["dynamic"].write_amplification == cards["off"].write_amplification
    assert cards["dynamic"].erase_counts.sum() == cards["off"].erase_counts.sum()


@pytest.mark.parametrize("kind", LEVELLED)
def test_static_levelling_narrows_the_spread_most_and_costs_little(kind):
    cards = by_levelling(kind)
    assert spread(cards["static"]) <= spread(cards["dynamic"]) <= spread(cards["off"])
    assert cards["static"].write_amplification == pytest.approx(cards["off"].write_amplification, rel=0.1)


@pytest.mark.parametrize("kind", ["unit", "unit with log"])
def test_only_static_levelling_wears_the_units_of_still_data(kind):
    cards = by_levelling(kind)
    assert (cards["off"].erase_counts == 0).sum() >= 50
    assert (cards["dynamic"].erase_counts == 0).sum() >= 50
    assert (cards["static"].erase_counts == 0).sum() == 0


def test_writes_may_be_a_list_an_array_or_a_series():
    design = CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=2)
    pages = [0, 5, 0, 15]
    counts = [simulate(design, kind(pages)).erase_counts.tolist() for kind in (list, np.array, pd.Series, tuple)]
    assert counts == counts[:1] * 4


# Refused


@pytest.mark.parametrize(
    ("writes", "message"),
    [
        ([0, 16], r"writes: is 16 pages; must be 0 or more and at most 15 pages"),
        ([0, -1], r"writes: is -1 pages; must be 0 or more and at most 15 pages"),
        ([0, float("nan")], r"writes: is nan; must be 0 or more and at most 15 pages"),
        ([0, 1.5], r"writes: is 1.5; must be whole page numbers"),
        ([], r"writes: found no number; allowed: 0 or more"),
        ([3], r"writes: found numbers of shape \(1,\); allowed: a row of 2 writes or more"),
        (3, r"writes: found numbers of shape \(\); allowed: a row of 2 writes or more"),
        ([[0, 1], [2, 3]], r"writes: found numbers of shape \(2, 2\); allowed: a row of 2 writes or more"),
        (["a", "b"], r"writes: is 'a'; must be 0 or more"),
    ],
)
def test_writes_that_are_not_on_the_card_are_refused(writes, message):
    with pytest.raises(InputError, match=message):
        simulate(CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=2), writes)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"warm_up": 10}, "warm_up: is 10 writes; must be 0 or more and at most 9 writes"),
        ({"warm_up": -1}, "warm_up: is -1 writes; must be 0 or more"),
        ({"warm_up": 2.5}, "warm_up: is 2.5 writes; must be one whole number"),
        ({"snapshots": 0}, "snapshots: is 0; must be 1 or more"),
    ],
)
def test_a_warm_up_or_snapshots_beyond_the_writes_are_refused(changed, message):
    with pytest.raises(InputError, match=message):
        simulate(CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=2), range(10), **changed)


@pytest.mark.parametrize(
    ("design", "message"),
    [
        ({"user_blocks": 3}, "user_blocks: is 3 blocks; must be 4 or more and at most 1000000 blocks"),
        ({"user_blocks": 20.5}, "user_blocks: is 20.5 blocks; must be one whole number"),
        ({"user_blocks": float("nan")}, "user_blocks: is nan"),
        ({"pages_per_block": 1}, "pages_per_block: is 1 pages; must be 2 or more"),
        ({"pages_per_block": 100_001}, "pages_per_block: is 100001 pages; must be 2 or more and at most 100000 pages"),
        ({"spare_blocks": 1}, "spare_blocks: is 1 blocks; must be 2 or more"),
        ({"spare_blocks": 4, "open_units": 4, "mapping": "unit"}, "spare_blocks: is 4 blocks; must be 5 or more"),
        (
            {"spare_blocks": 5, "open_units": 4, "mapping": "unit with log"},
            "spare_blocks: is 5 blocks; must be 6 or more",
        ),
        ({"spare_blocks": 10_000_001}, "spare_blocks: is 10000001 blocks; must be 2 or more and at most 10000000"),
        ({"open_units": 0}, "open_units: is 0 units; must be 1 or more and at most 1000 units"),
        ({"mapping": "sector"}, "mapping: is 'sector'; must be one of page, unit, unit with log"),
        ({"cleaning": "random"}, "cleaning: is 'random'; must be one of fifo, greedy"),
        ({"levelling": "on"}, "levelling: is 'on'; must be one of off, dynamic, static"),
    ],
)
def test_a_card_that_cannot_be_is_refused(design, message):
    with pytest.raises(InputError, match=message):
        CardDesign(**design)


def test_a_row_of_two_writes_is_run():
    # The blocks have been full from the start: two pages more.
    assert simulate(CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=2), [3, 3]).flash_pages.tolist() == [1, 2]


def test_fifty_states_are_kept_where_nothing_is_said():
    writes = np.zeros(100, int)
    card = simulate(CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=2), writes)
    assert card.host_pages.tolist() == list(range(2, 101, 2))
