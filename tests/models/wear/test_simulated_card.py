"""The simulated card against the closed forms, at several sizes, and what must hold whatever is written to it."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.wear import (
    simulated_write_amplification_camera,
    simulated_write_amplification_random,
    write_amplification_camera,
    write_amplification_fifo,
    write_amplification_greedy,
    write_amplification_mixed,
)
from edgestore.models.wear.amplification import MAPPINGS
from edgestore.models.wear.simulated_card import (
    CLEANINGS,
    LEVELLINGS,
    CardDesign,
    camera_writes,
    circular_writes,
    hot_cold_writes,
    random_writes,
    simulate,
)

pytestmark = pytest.mark.slow

PERCENT_2 = 0.02
SPARES = [0.07, 0.10, 0.28, 0.50]


def interleaved(design: CardDesign, count: int, files: int, chunk_pages: int) -> np.ndarray:
    """Give the pages of several circular files that are written by turns, a chunk each."""
    room = design.user_pages // files
    turn, step = np.divmod(np.arange(count), files * chunk_pages)
    file, offset = np.divmod(step, chunk_pages)
    return file * room + (turn * chunk_pages + offset) % room


# Agreement with the closed forms


@pytest.mark.parametrize("spare_ratio", SPARES)
def test_fifo_cleaning_agrees_with_its_form(spare_ratio):
    got = simulated_write_amplification_random(spare_ratio, user_blocks=300)
    assert got == pytest.approx(write_amplification_fifo(spare_ratio), rel=PERCENT_2)


@pytest.mark.parametrize("pages_per_block", [64, 128])
@pytest.mark.parametrize("spare_ratio", SPARES)
def test_greedy_cleaning_agrees_with_its_form(spare_ratio, pages_per_block):
    got = simulated_write_amplification_random(
        spare_ratio, pages_per_block=pages_per_block, cleaning="greedy", user_blocks=300
    )
    assert got == pytest.approx(write_amplification_greedy(spare_ratio, pages_per_block), rel=PERCENT_2)


@pytest.mark.parametrize(("writes", "pages"), [(0.8, 0.2), (0.9, 0.1), (0.5, 0.1)])
def test_hot_and_cold_in_one_log_agree_with_their_form(writes, pages):
    got = simulated_write_amplification_random(0.1, user_blocks=300, hot_write_fraction=writes, hot_page_fraction=pages)
    assert got == pytest.approx(write_amplification_mixed(0.1, writes, pages), rel=PERCENT_2)


@pytest.mark.parametrize(("interval_s", "video_pages"), [(1, 31), (5, 153), (30, 916)])
@pytest.mark.parametrize(
    "kind", [{}, {"open_units": 1}, {"open_units": 3}, {"mapping": "unit with log"}, {"update_places": 1}], ids=str
)
def test_a_camera_agrees_with_its_form(interval_s, video_pages, kind):
    # 4 Mbit/s are 30.52 pages of 16 KiB a second.
    form = write_amplification_camera(4, interval_s, segment_s=1e9, **kind)
    got = simulated_write_amplification_camera(video_pages, user_units=200, **kind)
    assert got == pytest.approx(form, rel=PERCENT_2)


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


# Small cards stand for large ones


@pytest.mark.parametrize("cleaning", CLEANINGS)
def test_a_scaled_down_card_gives_the_amplification_of_larger_ones(cleaning):
    sizes = [100, 300, 1000]
    small, middle, large = (
        simulated_write_amplification_random(0.28, pages_per_block=64, cleaning=cleaning, user_blocks=size)
        for size in sizes
    )
    assert [small, middle] == pytest.approx([large, large], rel=PERCENT_2)


@pytest.mark.parametrize("mapping", ["unit", "unit with log"])
def test_a_scaled_down_card_gives_a_camera_the_amplification_of_larger_ones(mapping):
    small, middle, large = (
        simulated_write_amplification_camera(153, mapping=mapping, user_units=size) for size in (20, 60, 500)
    )
    assert [small, middle] == pytest.approx([large, large], rel=PERCENT_2)


def test_the_seed_decides_and_hardly_matters():
    first, again, other = (simulated_write_amplification_random(0.28, seed=seed) for seed in (1, 1, 2))
    assert first == again != other
    assert other == pytest.approx(first, rel=PERCENT_2)


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


# Streams


def test_a_stream_of_random_writes_reaches_every_page_alike():
    # 100 000 writes on 10 pages: 10 000 each, standard deviation 95
    counts = np.bincount(random_writes(10, 100_000), minlength=10)
    assert counts.sum() == 100_000
    assert np.abs(counts - 10_000).max() < 500


def test_hot_pages_get_their_share_and_come_first():
    # 80 % of 100 000 writes, standard deviation 126
    writes = hot_cold_writes(1000, 100_000, hot_write_fraction=0.8, hot_page_fraction=0.2)
    assert (writes < 200).sum() == pytest.approx(80_000, abs=700)
    assert (writes.min(), writes.max()) == (0, 999)
    assert set(hot_cold_writes(2, 100, hot_write_fraction=0.5, hot_page_fraction=0.001)) == {0, 1}


def test_camera_writes_go_round_the_card_between_updates_of_the_same_pages():
    # Units of 4 pages, two places: pages 2 and 6; the video goes round pages 8 to 15.
    design = CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=6, mapping="unit")
    writes = camera_writes(design, 15, video_pages=3, update_places=2)
    assert writes.tolist() == [8, 9, 10, 2, 6, 11, 12, 13, 2, 6, 14, 15, 8, 2, 6]


def test_camera_writes_without_updates_are_circular():
    design = CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=6, mapping="unit")
    assert camera_writes(design, 40, video_pages=3, update_places=0).tolist() == circular_writes(16, 40).tolist()


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
        ({"spare_blocks": 1}, "spare_blocks: is 1 blocks; must be 2 or more"),
        ({"spare_blocks": 4, "open_units": 4, "mapping": "unit"}, "spare_blocks: is 4 blocks; must be 5 or more"),
        (
            {"spare_blocks": 5, "open_units": 4, "mapping": "unit with log"},
            "spare_blocks: is 5 blocks; must be 6 or more",
        ),
        ({"open_units": 0}, "open_units: is 0 units; must be 1 or more"),
        ({"mapping": "sector"}, "mapping: is 'sector'; must be one of page, unit, unit with log"),
        ({"cleaning": "random"}, "cleaning: is 'random'; must be one of fifo, greedy"),
        ({"levelling": "on"}, "levelling: is 'on'; must be one of off, dynamic, static"),
    ],
)
def test_a_card_that_cannot_be_is_refused(design, message):
    with pytest.raises(InputError, match=message):
        CardDesign(**design)


def test_streams_that_cannot_be_are_refused():
    design = CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=6, mapping="unit")
    for message, stream in {
        "count: is 0 writes; must be 1 or more writes": lambda: random_writes(10, 0),
        "user_pages: is 0 pages; must be 1 or more pages": lambda: circular_writes(0, 10),
        "user_pages: is 1 pages; must be 2 or more pages": lambda: hot_cold_writes(
            1, 10, hot_write_fraction=0.5, hot_page_fraction=0.5
        ),
        "seed: is -1; must be 0 or more": lambda: random_writes(10, 10, seed=-1),
        "hot_write_fraction: is 80; must be 0 or more and at most 1": lambda: hot_cold_writes(
            10, 10, hot_write_fraction=80, hot_page_fraction=0.5
        ),
        "hot_page_fraction: is 1; must be above 0 and at most 0.999999": lambda: hot_cold_writes(
            10, 10, hot_write_fraction=0.8, hot_page_fraction=1
        ),
        "video_pages: is 0 pages; must be 1 or more pages": lambda: camera_writes(design, 10, video_pages=0),
        "update_places: is 4 blocks; must be 0 or more and at most 3 blocks": lambda: camera_writes(
            design, 10, video_pages=3, update_places=4
        ),
        "pages_per_place: is 4 pages; must be 1 or more and at most 3": lambda: camera_writes(
            design, 10, video_pages=3, update_places=1, pages_per_place=4
        ),
    }.items():
        with pytest.raises(InputError, match=message):
            stream()


def test_a_spare_of_less_than_a_block_is_refused_with_the_way_out():
    with pytest.raises(
        InputError, match=r"spare_ratio: is 0\.001; must be one spare block or more\. Fix: Give more user"
    ):
        simulated_write_amplification_random(0.001, user_blocks=100)
