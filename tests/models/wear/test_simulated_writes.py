"""Streams of page writes, and what the simulated card makes of them against the closed forms, at several sizes."""

import numpy as np
import pytest

from edgestore import InputError
from edgestore.models.wear import (
    CardDesign,
    camera_writes,
    circular_writes,
    hot_cold_writes,
    random_writes,
    simulated_write_amplification_camera,
    simulated_write_amplification_random,
    write_amplification_camera,
    write_amplification_fifo,
    write_amplification_greedy,
    write_amplification_mixed,
)
from edgestore.models.wear.simulated_card import CLEANINGS

pytestmark = pytest.mark.slow

PERCENT_2 = 0.02
SPARES = [0.07, 0.10, 0.28, 0.50]


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


@pytest.mark.parametrize("cleaning", CLEANINGS)
def test_a_scaled_down_card_gives_the_amplification_of_larger_ones(cleaning):
    sizes = [100, 300, 1000]
    small, middle, large = (
        simulated_write_amplification_random(0.28, pages_per_block=64, cleaning=cleaning, user_blocks=size)
        for size in sizes
    )
    assert [small, middle] == pytest.approx([large, large], rel=PERCENT_2)


def test_a_unit_has_256_pages_where_nothing_is_said():
    few = {"video_pages": 153, "user_units": 20}
    assert simulated_write_amplification_camera(**few) == simulated_write_amplification_camera(**few, unit_pages=256)


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
