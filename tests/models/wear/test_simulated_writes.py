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
    simulate,
    simulated_write_amplification_camera,
    simulated_write_amplification_random,
    write_amplification_camera,
    write_amplification_fifo,
    write_amplification_greedy,
    write_amplification_mixed,
)
from edgestore.models.wear.mapping import MAPPINGS
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
    for share in (0.001, 0.999):
        assert set(hot_cold_writes(2, 100, hot_write_fraction=0.5, hot_page_fraction=share)) == {0, 1}
    one = hot_cold_writes(10, 10_000, hot_write_fraction=0.5, hot_page_fraction=0.001)
    assert (one == 0).sum() == pytest.approx(5000, abs=300)  # of ten pages one is hot; standard deviation 50


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


def test_updates_of_more_than_half_a_block_end_with_it():
    # Blocks of 4 pages, 3 pages of two of them rewritten: pages 1 to 3 and 5 to 7; the video goes round pages 8 to 15.
    design = CardDesign(user_blocks=4, pages_per_block=4)
    writes = camera_writes(design, 10, video_pages=2, update_places=2, pages_per_place=3)
    assert writes.tolist() == [8, 9, 1, 2, 3, 5, 6, 7, 10, 11]


def test_an_update_touches_one_page_in_three_places_where_nothing_is_said():
    design = CardDesign(user_blocks=6, pages_per_block=5)  # the middle page of blocks 0, 1 and 2, and the next video
    assert camera_writes(design, 9, video_pages=3).tolist() == [15, 16, 17, 2, 7, 12, 18, 19, 20]


def test_streams_are_as_short_as_one_write_and_one_page_and_the_seed_is_1_where_nothing_is_said():
    assert random_writes(1, 1).tolist() == circular_writes(1, 1).tolist() == [0]
    assert random_writes(1000, 9).tolist() == random_writes(1000, 9, seed=1).tolist()
    hot = {"hot_write_fraction": 0.5, "hot_page_fraction": 0.5}
    assert hot_cold_writes(1000, 9, **hot).tolist() == hot_cold_writes(1000, 9, **hot, seed=1).tolist()
    assert hot_cold_writes(2, 1, hot_write_fraction=1, hot_page_fraction=0.5).tolist() == [0]
    assert camera_writes(CardDesign(), 1, video_pages=1).size == 1


def test_what_random_writes_cost_is_counted_over_ten_rounds_after_six_on_a_card_with_a_free_block():
    # 20 blocks of 8 pages, 160 in all; a spare of 0.28 is 5.6 blocks, so 6, and one that is free.
    hot = {"hot_write_fraction": 0.8, "hot_page_fraction": 0.3}
    design = CardDesign(user_blocks=20, pages_per_block=8, spare_blocks=7, cleaning="greedy")
    card = simulate(design, hot_cold_writes(160, 16 * 160, **hot, seed=3), warm_up=6 * 160)
    told = simulated_write_amplification_random(
        0.28, pages_per_block=8, cleaning="greedy", user_blocks=20, **hot, seed=3
    )
    assert told == card.write_amplification


def test_500_blocks_of_64_pages_are_cleaned_in_turn_and_written_alike_where_nothing_is_said():
    alike = {"hot_write_fraction": 0.5, "hot_page_fraction": 0.5}
    usual = {"pages_per_block": 64, "cleaning": "fifo", "user_blocks": 500, **alike, "seed": 1}
    assert simulated_write_amplification_random(0.28) == simulated_write_amplification_random(0.28, **usual)


@pytest.mark.parametrize("mapping", MAPPINGS)
def test_what_a_camera_costs_is_counted_over_ten_rounds_after_two_on_a_card_with_four_more_units(mapping):
    # 10 units of 8 pages, 80 in all; two open and four more to spare.
    design = CardDesign(user_blocks=10, pages_per_block=8, spare_blocks=6, mapping=mapping, open_units=2)
    camera = {"video_pages": 7, "update_places": 2, "pages_per_place": 3}
    card = simulate(design, camera_writes(design, 12 * 80, **camera), warm_up=2 * 80)
    told = simulated_write_amplification_camera(**camera, unit_pages=8, open_units=2, mapping=mapping, user_units=10)
    assert told == card.write_amplification


def test_60_units_of_which_four_are_open_take_three_updates_of_a_page_where_nothing_is_said():
    usual = {"update_places": 3, "pages_per_place": 1, "open_units": 4, "mapping": "unit", "user_units": 60}
    assert simulated_write_amplification_camera(31) == simulated_write_amplification_camera(31, **usual)
    four = {"video_pages": 31, "update_places": 4}  # which leave no room for the video
    assert simulated_write_amplification_camera(**four) == simulated_write_amplification_camera(**four, open_units=4)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"user_units": 3}, "user_units: is 3 units; must be 4 or more and at most 1000000 units"),
        ({"unit_pages": 1}, "unit_pages: is 1 pages; must be 2 or more and at most 100000 pages"),
        ({"open_units": 0}, "open_units: is 0 units; must be 1 or more and at most 1000 units"),
    ],
)
def test_a_card_of_a_camera_that_cannot_be_is_refused_in_its_own_words(changed, message):
    with pytest.raises(InputError, match=message):
        simulated_write_amplification_camera(31, **changed)


def test_a_card_for_random_writes_that_cannot_be_is_refused_and_a_spare_of_one_block_is_not():
    assert simulated_write_amplification_random(0.25, user_blocks=4, pages_per_block=2) > 1
    for message, changed in {
        "spare_ratio: is 0; must be above 0 and at most 100": {"spare_ratio": 0},
        "user_blocks: is 3 blocks; must be 4 or more blocks": {"spare_ratio": 1, "user_blocks": 3},
    }.items():
        with pytest.raises(InputError, match=message):
            simulated_write_amplification_random(**changed)
