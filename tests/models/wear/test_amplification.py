"""How writes become flash writes: printed values, exact points of the forms, and what they must do at their ends."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.wear import (
    bitrate_mbit_s_for_wear,
    write_amplification_camera,
    write_amplification_fifo,
    write_amplification_greedy,
    write_amplification_mixed,
    write_amplification_separated,
    write_amplification_static,
)
from edgestore.models.wear.amplification import MAPPINGS

SPARES = st.floats(0.001, 10)
SHARES = st.floats(0.01, 0.99)

# One page in each of three units between pieces of long video; an end of file only after thirty years.
CAMERA = {"bitrate_mbit_s": 4.0, "update_interval_s": 5.0, "segment_s": 1e9}


def camera(**changed):
    return write_amplification_camera(**{**CAMERA, **changed})


# Random writes on a card mapped by page


def test_fifo_gives_the_printed_values():
    # Luojie and Kurkoski, ICNC 2012, abstract: 2.36 at 0.3. Park et al., ACM SAC 2017, abstract: 4.08 at 0.147.
    assert write_amplification_fifo([0.30, 0.147]) == pytest.approx([2.36, 4.08], abs=0.005)


@pytest.mark.parametrize("amplification", [1.01, 1.5, 2, 4, 10, 100])
def test_fifo_solved_for_the_spare_is_a_logarithm(amplification):
    # A cleaned block keeps u = 1 - 1/A of its pages and u = exp(-alpha (1 - u)), so alpha = A ln(A / (A - 1)).
    spare = amplification * math.log(amplification / (amplification - 1)) - 1
    assert write_amplification_fifo(spare) == pytest.approx(amplification, rel=1e-6)


def test_fifo_grows_without_bound_as_the_spare_goes_to_nothing():
    # exp to second order: A = 1 / (2 spare) + 2/3
    spare = np.array([0.01, 0.001, 0.0001])
    assert write_amplification_fifo(spare) == pytest.approx(1 / (2 * spare) + 2 / 3, rel=1e-4)


def test_with_much_spare_nothing_is_written_twice():
    for form in (
        write_amplification_fifo(20),
        write_amplification_greedy(20, 64),
        write_amplification_mixed(20, 0.5, 0.5),
        write_amplification_separated(20, hot_write_fraction=0.5, hot_page_fraction=0.5, hot_spare_fraction=0.5),
    ):
        assert form == pytest.approx(1, abs=1e-8)


@pytest.mark.parametrize(("pages", "kept"), [(2, 0), (4, 1), (4, 2), (64, 32), (64, 48), (128, 100)])
def test_greedy_is_exact_where_a_whole_number_of_pages_is_kept(pages, kept):
    # Fractions: alpha = b (1/(k+1) + ... + 1/b) / (b - k), A = b / (b - k); b = 4, k = 2: 7/6 and 2
    alpha = pages * sum(Fraction(1, n) for n in range(kept + 1, pages + 1)) / (pages - kept)
    assert write_amplification_greedy(float(alpha - 1), pages) == pytest.approx(pages / (pages - kept), rel=1e-9)


def test_greedy_cleans_at_least_one_page_of_a_block_even_with_hardly_any_spare():
    assert write_amplification_greedy(0.0001, [2, 8]) == pytest.approx([2, 8], rel=0.01)


def test_greedy_with_spare_for_every_page_but_the_first_writes_nothing_twice():
    # b = 2: nothing is kept when alpha reaches H(2) = 3/2
    assert write_amplification_greedy([0.5, 0.6], 2) == pytest.approx([1, 1], abs=1e-9)


def test_greedy_of_huge_blocks_is_fifo():
    spare = np.array([0.07, 0.28, 0.5])
    assert write_amplification_greedy(spare, 1e6) == pytest.approx(write_amplification_fifo(spare), rel=1e-3)


@given(SPARES, st.integers(2, 512))
def test_greedy_is_never_worse_than_fifo_and_the_better_the_smaller_the_block(spare, pages):
    small, large = write_amplification_greedy(spare, [pages, 2 * pages])
    assert 1 <= small <= large * (1 + 1e-9)
    assert large <= write_amplification_fifo(spare) * (1 + 1e-9)


@given(SPARES, st.floats(1.01, 3), st.integers(2, 512), SHARES, SHARES)
def test_more_spare_never_makes_it_worse(spare, factor, pages, writes, share):
    for form in (
        lambda s: write_amplification_fifo(s),
        lambda s: write_amplification_greedy(s, pages),
        lambda s: write_amplification_mixed(s, writes, share),
    ):
        assert form(spare * factor) <= form(spare) * (1 + 1e-9)


# Hot and cold


def test_hot_and_cold_in_one_log_agree_with_a_simulation_written_apart():
    # 2000 user blocks, warm-up 6 times, measured 10 times the user pages; spare 10 %: 6.042 and 6.686
    assert write_amplification_mixed(0.1, [0.8, 0.9], [0.2, 0.1]) == pytest.approx([6.042, 6.686], rel=0.001)


@given(SPARES, SHARES)
def test_equal_shares_in_one_log_are_uniform_random(spare, share):
    assert write_amplification_mixed(spare, share, share) == pytest.approx(write_amplification_fifo(spare), rel=1e-6)


@given(st.floats(0.01, 1), SHARES)
def test_pages_that_are_never_written_again_are_carried_round_by_the_log(spare, still):
    # The log is 1 + spare long, in user pages, still of them still. The others are uniform random: a fifo log of their
    # own, 1 + spare - still for 1 - still, so with spare / (1 - still); each time round carries the still ones too.
    others = write_amplification_fifo(spare / (1 - still))
    expected = others * (1 + spare) / (1 + spare - still)
    assert write_amplification_mixed(spare, 0, still) == pytest.approx(expected, rel=1e-6)


@given(SPARES, SHARES)
def test_equal_shares_in_two_logs_are_uniform_random(spare, share):
    apart = write_amplification_separated(
        spare, hot_write_fraction=share, hot_page_fraction=share, hot_spare_fraction=share
    )
    assert apart == pytest.approx(write_amplification_fifo(spare), rel=1e-6)


@given(SPARES, SHARES, SHARES)
def test_naming_the_cold_pages_hot_changes_nothing(spare, writes, pages):
    swapped = write_amplification_mixed(spare, 1 - writes, 1 - pages)
    assert write_amplification_mixed(spare, writes, pages) == pytest.approx(swapped, rel=1e-6)


@given(st.floats(0.05, 1), SHARES, SHARES)
def test_the_best_split_of_the_spare_is_no_worse_than_one_log(spare, writes, pages):
    own = np.linspace(0.005, 0.995, 199)
    apart = write_amplification_separated(
        spare, hot_write_fraction=writes, hot_page_fraction=pages, hot_spare_fraction=own[(spare * own / pages > 1e-4)]
    )
    assert apart.min() <= write_amplification_mixed(spare, writes, pages) * 1.005


def test_two_logs_weigh_their_own_amplifications_by_their_writes():
    # Half the pages each; own spares 2 ln 2 - 1 (A = 2) and 4 ln(4/3) - 1 (A = 4); 0.8 x 2 + 0.2 x 4 = 2.4
    hot, cold = 2 * math.log(2) - 1, 4 * math.log(4 / 3) - 1
    spare = (hot + cold) / 2
    assert write_amplification_separated(
        spare, hot_write_fraction=0.8, hot_page_fraction=0.5, hot_spare_fraction=hot / 2 / spare
    ) == pytest.approx(2.4, rel=1e-9)


def test_a_split_that_starves_one_log_is_refused():
    with pytest.raises(InputError, match=r"hot_spare_fraction: is 1e-05; must be a share that leaves each log"):
        write_amplification_separated(0.1, hot_write_fraction=0.5, hot_page_fraction=0.5, hot_spare_fraction=1e-5)
    with pytest.raises(InputError, match=r"hot_spare_fraction: is 0.9999; must be a share that leaves each log"):
        write_amplification_separated(
            0.1, hot_write_fraction=0.5, hot_page_fraction=0.5, hot_spare_fraction=[0.5, 0.9999]
        )


def test_still_data_is_carried_round_with_the_video():
    # 1 / (1 - 1/5) = 5/4
    assert write_amplification_static([0, 0.2, 0.5, 0.75]) == pytest.approx([1, 1.25, 2, 4])


# A camera


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


@given(st.floats(0.001, 3000), st.floats(0.5, 120), st.floats(0.01, 1))
def test_at_the_rate_for_given_flash_writes_and_below_it_no_more_is_written(flash, interval, share):
    rate = bitrate_mbit_s_for_wear(flash, interval)
    for less in (rate, rate * share):
        if less <= 1000:
            assert less * write_amplification_camera(less, interval) <= flash * (1 + 1e-9)
