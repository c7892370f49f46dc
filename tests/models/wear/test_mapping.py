"""Flash writes of a camera by how its card maps: by hand, and against the simulated card."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.wear import (
    CardDesign,
    bitrate_mbit_s_for_wear,
    camera_writes,
    simulate,
    write_amplification_camera,
    write_amplification_page,
)
from edgestore.models.wear.mapping import MAPPINGS, SPARE_RATIO
from edgestore.models.wear.simulated_card import CLEANINGS

# One page in each of three units between pieces of long video; an end of file only after thirty years.
CAMERA = {"bitrate_mbit_s": 4.0, "update_interval_s": 5.0, "segment_s": 1e9}


def camera(**changed):
    return write_amplification_camera(**{**CAMERA, **changed})


@pytest.mark.parametrize(
    ("interval_s", "video_pages", "simulated"), [(1, 31, 23.496), (5, 153, 5.900), (30, 916, 1.825)]
)
def test_by_unit_agrees_with_hand_arithmetic_and_with_a_simulation_written_apart(interval_s, video_pages, simulated):
    # 4 Mbit/s are 30.52 pages of 16 KiB a second: 31, 153 and 916 whole pages; (c + 3 x 256) / (c + 3)
    got = camera(update_interval_s=interval_s)
    assert got == pytest.approx((video_pages + 768) / (video_pages + 3), rel=1e-12)
    assert got == pytest.approx(simulated, rel=0.005)


def test_a_log_for_small_writes_leaves_six_percent():
    # (153 + 3 (1 + 3)) / (153 + 3) = 165/156; simulated apart: 1.054
    assert camera(mapping="unit with log") == pytest.approx(165 / 156, rel=1e-12)
    assert camera(mapping="unit with log") == pytest.approx(1.054, rel=0.005)


def test_one_page_in_one_unit():
    # (153 + 256) / 154; simulated apart: 2.654
    assert camera(update_places=1) == pytest.approx(409 / 154, rel=1e-12)
    assert camera(update_places=1) == pytest.approx(2.654, rel=0.001)


def test_with_too_few_open_units_the_video_is_closed_too():
    # K > g has room: 4 units for 1 stream and 3 places; with fewer (153 + 4 x 256) / 156
    assert camera(open_units=[1, 2, 3]) == pytest.approx([1177 / 156] * 3, rel=1e-12)
    assert camera(open_units=[4, 8]) == pytest.approx([921 / 156] * 2, rel=1e-12)


def test_long_video_alone_is_written_once():
    for mapping in MAPPINGS:
        assert camera(update_places=0, mapping=mapping, open_units=1) == 1


def test_by_page_it_is_written_once_with_updates_too():
    assert camera(mapping="page") == 1
    assert camera(mapping="page", bitrate_mbit_s=[2, 4]).tolist() == [1, 1]


@pytest.mark.parametrize("mapping", ["unit", "unit with log"])
def test_several_files_by_turns_cost_a_unit_a_chunk(mapping):
    # P / c: 4 MiB / 512 KiB = 8, 4 MiB / 2 MiB = 2; a chunk of a unit or more costs nothing
    chunks = camera(files_open=2, open_units=1, update_places=0, chunk_kib=[512, 2048, 4096, 9999], mapping=mapping)
    assert chunks == pytest.approx([8, 2, 1, 1])
    assert camera(files_open=2, open_units=2, update_places=0, mapping=mapping) == 1


def test_more_files_are_never_cheaper():
    for chunk_kib in (16, 512, 4096):
        row = camera(files_open=[1, 2, 3, 4], open_units=3, chunk_kib=chunk_kib)
        assert (np.diff(row) >= 0).all()


def test_an_end_of_file_is_one_more_update():
    # Updates every 10 s and files of 10 s are updates every 5 s.
    assert camera(update_interval_s=10, segment_s=10) == pytest.approx(camera(), rel=1e-12)


@given(st.floats(0.1, 300), st.floats(1, 5), st.floats(0.5, 20), st.integers(1, 16))
def test_rarer_updates_are_never_worse(interval_s, factor, rate, units):
    often, rarely = camera(update_interval_s=[interval_s, factor * interval_s], bitrate_mbit_s=rate, open_units=units)
    assert 1 <= rarely <= often * (1 + 1e-12)


@given(st.floats(0.1, 300), st.integers(0, 10), st.integers(1, 256))
def test_more_places_are_never_better_as_long_as_all_have_room(interval_s, places, pages):
    few, many = camera(
        update_interval_s=interval_s, update_places=[places, places + 1], open_units=12, pages_per_place=pages
    )
    assert 1 <= few <= many * (1 + 1e-12)


@given(st.floats(0.1, 300), st.floats(0.5, 64), st.floats(1, 8))
def test_larger_units_are_never_better(interval_s, unit_mib, factor):
    small, large = camera(update_interval_s=interval_s, unit_mib=[unit_mib, unit_mib * factor])
    assert 1 <= small <= large * (1 + 1e-12)


def test_updates_of_whole_units_cost_nothing_more():
    assert camera(pages_per_place=256) == 1


def test_a_page_larger_than_its_unit_is_refused():
    with pytest.raises(InputError, match="page_kib: found a page larger than its unit; allowed: at most one"):
        camera(page_kib=[16, 5000])


def test_an_update_larger_than_its_unit_is_refused():
    with pytest.raises(InputError, match="pages_per_place: found more pages than a unit has; allowed: at most the"):
        camera(pages_per_place=257)


def test_an_unknown_mapping_is_refused_and_the_known_are_named():
    with pytest.raises(InputError, match="mapping: is 'sector'; must be one of page, unit, unit with log"):
        camera(mapping="sector")


def test_more_updates_than_spare_flash_fall_off_a_cliff_and_are_refused():
    # 7 % spare: 0.0654 of all flash. Every second 31 video pages and 3 others: 3/34 = 0.088 of all writes.
    with pytest.raises(InputError, match="spare_ratio: found less spare flash than updates"):
        write_amplification_camera(4, 1, mapping="page", spare_ratio=0.07)
    assert write_amplification_camera(4, 1, mapping="page", spare_ratio=0.28) == 1


def test_by_unit_the_spare_flash_does_not_count():
    assert np.ptp(write_amplification_camera(4, 5, spare_ratio=[0.02, 0.07, 0.5])) == 0


# Pages of video between two updates 1 / (1/5 + 1/600) s apart, 16 KiB each: 151.3, 75.7, 37.8 and 9.46, each begun one
# whole. Then by hand (152 + 3 x 256) / (152 + 3), 844/79, 806/41 and 778/13.
@pytest.mark.parametrize(("rate", "expected"), [(4, 920 / 155), (2, 844 / 79), (1, 806 / 41), (0.25, 778 / 13)])
def test_the_less_video_lies_between_updates_the_more_each_costs(rate, expected):
    assert write_amplification_camera(rate, 5) == pytest.approx(expected, rel=1e-12)


def test_the_rate_for_given_flash_writes_against_hand_arithmetic():
    # 150 pages every 1 / (1/5 + 1/600) s are 150 x 16 x 1024 x 8 / 4.958678 = 3.964928 Mbit/s; flash writes
    # (150 + 768) / (150 + 3) = 6 times that.
    rate = 150 * 16 * 1024 * 8 / 1e6 * (1 / 5 + 1 / 600)
    assert rate == pytest.approx(3.964928, rel=1e-6)
    assert bitrate_mbit_s_for_wear(6 * rate, 5) == pytest.approx(rate, rel=1e-12)
    # Ten updates a second: 2 pages between two of them, and (2 + 768) / (2 + 3) = 154 times that.
    rate = 2 * 16 * 1024 * 8 / 1e6 * (10 + 1 / 600)
    assert bitrate_mbit_s_for_wear(154 * rate, 0.1) == pytest.approx(rate, rel=1e-12)


@given(st.floats(0.001, 3000), st.floats(0.5, 120), st.floats(0.01, 1))
def test_at_the_rate_for_given_flash_writes_and_below_it_no_more_is_written(flash, interval, share):
    rate = bitrate_mbit_s_for_wear(flash, interval)
    for less in (rate, rate * share):
        if less <= 1000:
            assert less * write_amplification_camera(less, interval) <= flash * (1 + 1e-9)


def test_by_page_video_is_written_once_until_updates_outgrow_the_spare_flash():
    # 4 Mbit/s and 5 s: 152 pages are begun, 3 / 152 = 0.02 are below 0.07. 0.25 Mbit/s: 10 pages, 1 + 3 / (0.07 x 13).
    assert write_amplification_page(4, 5) == 1
    assert write_amplification_page(0.25, 5) == pytest.approx(1 + 3 / 0.91)
    assert write_amplification_page(0.25, 5, 0.31) == 1  # 10 x 0.31 = 3.1 pages of spare for 3


@pytest.mark.parametrize("cleaning", CLEANINGS)
def test_beyond_the_cliff_the_form_is_within_0_7_to_1_2_of_the_simulated_card(cleaning):
    design = CardDesign(user_blocks=200, pages_per_block=32, spare_blocks=14, cleaning=cleaning)
    for video in (38, 10, 2):
        writes = camera_writes(design, 24 * design.user_pages, video_pages=video, update_places=3, pages_per_place=1)
        seen = simulate(design, writes, warm_up=12 * design.user_pages).write_amplification
        # so many pages of 131 072 bit each second lie between updates of 1 s; a segment every 600 s is one more
        told = write_amplification_page((video - 0.5) * 0.131072 * (1 + 1 / 600), 1)
        assert 0.7 <= told / seen <= 1.2, video


@given(st.floats(0.01, 50), st.floats(0.1, 600), st.floats(1, 10))
def test_a_more_frequent_update_never_writes_less(rate, interval, times):
    seldom, often = write_amplification_page(rate, np.array([interval * times, interval]))
    assert 1 <= seldom <= often * (1 + 1e-12)


@pytest.mark.parametrize(("interval_s", "is_enough"), [(1.37, False), (1.405, True)])
def test_mapped_by_page_updates_may_be_as_much_of_the_video_as_the_spare_is_of_the_card(interval_s, is_enough):
    # 4 Mbit/s are 30.52 pages of 16 KiB a second: 42 or 43 between updates of 3. Of 7 % spare, 3 / 0.07 = 42.9.
    camera = {"mapping": "page", "update_places": 1, "pages_per_place": 3, "segment_s": 1e9, "spare_ratio": 0.07}
    if is_enough:
        assert write_amplification_camera(4, interval_s, page_kib=16, **camera) == 1
    else:
        with pytest.raises(InputError, match="spare_ratio: found less spare flash than updates"):
            write_amplification_camera(4, interval_s, page_kib=16, **camera)


def test_a_chunk_larger_than_a_unit_is_written_unit_by_unit():
    # As much as a unit holds is written at once at most, on a card that logs and on one that does not.
    for mapping in ("unit", "unit with log"):
        units = {"mapping": mapping, "unit_mib": 1, "open_units": 1, "files_open": 3}
        usual = write_amplification_camera(4, 1, chunk_kib=1024, **units)
        assert write_amplification_camera(4, 1, chunk_kib=65_536, **units) == usual


def test_a_page_as_large_as_its_unit_has_nothing_to_be_copied():
    assert camera(page_kib=4096, unit_mib=4) == 1


def test_one_place_that_has_no_room_closes_the_video_too():
    # (153 + 256 + 256) / 154
    assert camera(update_places=1, open_units=1) == pytest.approx(665 / 154, rel=1e-12)


def test_files_by_turns_cost_a_unit_a_chunk_or_what_the_updates_close():
    # Chunks of 32 pages: 153 x 256 / 32 = 1224, and 768 of the updates. Of a unit: 153, less than 153 + 256 by closing.
    turns = camera(files_open=2, open_units=1, chunk_kib=[512, 4096])
    assert turns == pytest.approx([(1224 + 768) / 156, (153 + 256 + 768) / 156], rel=1e-12)
    # With a log nothing is closed by updates: 1224 or 153, and 3 x (1 + 3) pages.
    turns = camera(files_open=2, open_units=1, chunk_kib=[512, 4096], mapping="unit with log")
    assert turns == pytest.approx([1236 / 156, 165 / 156], rel=1e-12)


def test_a_chunk_begins_its_last_page_whole():
    # 520 KiB are 32.5 pages, so 33 are written: 256 / 33
    assert camera(files_open=2, open_units=1, update_places=0, chunk_kib=520) == pytest.approx(256 / 33, rel=1e-12)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"pages_per_place": [1, 257]}, "pages_per_place: found more pages than a unit has"),
        ({"mapping": "page", "bitrate_mbit_s": [0.25, 4]}, "spare_ratio: found less spare flash than updates"),
        ({"unit_mib": 1025}, "unit_mib: is 1025 MiB; must be above 0 and at most 1024 MiB"),
    ],
)
def test_one_of_several_that_cannot_be_is_refused(changed, message):
    with pytest.raises(InputError, match=message):
        camera(**changed)


def test_updates_of_just_the_share_of_the_spare_flash_are_refused():
    # 48 pages between updates of 3: a share of 3 / 51 = 1/17 of all writes, and 0.0625 / 1.0625 = 1/17 of all flash.
    with pytest.raises(InputError, match="spare_ratio: found less spare flash than updates"):
        camera(update_interval_s=1.57, mapping="page", spare_ratio=0.0625)
    assert camera(update_interval_s=1.57, mapping="page", spare_ratio=0.0626) == 1


def test_by_page_updates_of_just_the_spare_flash_write_nothing_twice():
    # 10 pages of video are begun between updates of 3, which is 0.3 of them.
    assert write_amplification_page(0.25, 5, 0.3) == 1
    # Just below, the form has a step: 1 + 3 / (0.299 x 13)
    assert write_amplification_page(0.25, 5, 0.299) == pytest.approx(1 + 3 / (0.299 * 13), rel=1e-12)


@pytest.mark.parametrize("pages", [47.5, 48, 48.5, 49])
def test_the_rate_is_found_where_the_flash_writes_are_those_of_the_updates_alone(pages):
    # Between updates 48 pages of video make (48 + 768) / (48 + 3) = 16 times as many, 768: those of the updates.
    rate = pages * 16 * 1024 * 8 / 1e6 * (1 / 5 + 1 / 600)
    assert bitrate_mbit_s_for_wear(rate * (pages + 768) / (pages + 3), 5) == pytest.approx(rate, rel=1e-12)


def test_two_files_have_no_room_and_7_percent_are_spare_where_nothing_is_said():
    # 4 units are fewer than 2 files and 3 places. Chunks of 512 KiB, 32 pages: 153 x 256 / 32 = 1224.
    assert camera(files_open=2) == pytest.approx((1224 + 768) / 156, rel=1e-12)
    # 31 pages between updates of 3: 3 / 34 = 0.088 of all writes, for 0.07 / 1.07 = 0.065 of all flash.
    mend = "allowed: more than the share of updates. Fix: Update less often, or simulate the card"
    with pytest.raises(InputError, match=mend):
        camera(mapping="page", update_interval_s=1)


def test_the_answer_has_the_name_of_the_first_row_that_has_one():
    flash, interval = pd.Series([10.0, 20.0], name="flash"), pd.Series([5.0, 9.0], name="interval")
    assert bitrate_mbit_s_for_wear(flash, interval).name == "flash"


def test_each_end_of_a_file_is_an_update_on_a_card_mapped_by_page_too():
    # 0.01 Mbit/s are 0.0763 pages a second; updates and ends of files every 600 s: in 300 s 22.9 pages, of 3 / 0.07.
    assert write_amplification_page(0.01, 600) == pytest.approx(1 + 3 / (0.07 * 26), rel=1e-12)


def test_where_nothing_is_said_the_spare_flash_is_what_gib_sold_as_gb_leave():
    # 2^30 / 10^9 - 1 = 0.0737.
    assert pytest.approx(2**30 / 1e9 - 1, abs=0.005) == SPARE_RATIO
