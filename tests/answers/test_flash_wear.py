"""Where the writes go: the teaching card shows what it claims."""

import numpy as np
import pytest

from edgestore import InputError
from edgestore.answers.flash_wear import PASSES, SPARE_UNITS, UNIT_PAGES, USER_UNITS, flash_use


def test_small_updates_on_a_card_mapped_by_unit_cost_what_the_form_says():
    # 4 Mbit/s x 5 s = 2.5 MB = 153 pages of 16 KiB; (153 + 3 x 256) / (153 + 3) = 5.904
    assert flash_use("unit", "off", small_updates="yes").table["write_amplification"][0] == pytest.approx(
        5.904, rel=0.02
    )


def test_at_a_low_rate_each_update_comes_after_a_page_of_video():
    # 0.1 Mbit/s x 0.5 s = 6.25 kB, less than half a page of 16 KiB: (1 + 3 x 256) / (1 + 3) = 192.25
    wear = flash_use("unit", "off", mean_mbit_s=0.1, update_interval_s=0.5).table
    assert wear["write_amplification"][0] == pytest.approx(192.25, rel=1e-3)


def test_circular_video_alone_costs_one_flash_page_a_page():
    assert flash_use("unit", "off", small_updates="no").table["write_amplification"][0] == pytest.approx(1, abs=0.01)


@pytest.mark.parametrize("updates", ["yes", "no"])
def test_wear_levelling_evens_the_wear_out(updates):
    off, dynamic, static = (
        flash_use("unit", levelling, small_updates=updates).table["most_over_mean"][0]
        for levelling in ("off", "dynamic", "static")
    )
    assert off >= dynamic > static
    assert static < 1.2


def test_without_levelling_still_data_keeps_its_units_fresh():
    erases = flash_use("unit", "off", small_updates="yes", still_fraction=0.5).erases
    assert (erases == 0).sum() >= USER_UNITS // 2


def test_wear_grows_with_the_passes():
    counts = [flash_use(passes=passes).erases.sum() for passes in (1, 5, 20, PASSES)]
    assert counts == sorted(counts)
    assert counts[0] < counts[-1]


def test_erases_account_for_the_flash_pages():
    # An erased unit was filled before: pages written = units filled x pages, but for those open or still free.
    answer = flash_use("unit", "dynamic", small_updates="yes")
    written = answer.amplification_seen[-1] * answer.passes_seen[-1] * USER_UNITS * UNIT_PAGES
    assert answer.erases.sum() == pytest.approx(written / UNIT_PAGES, abs=USER_UNITS + SPARE_UNITS)


def test_the_life_share_is_one_over_cost_and_unevenness():
    row = flash_use().table.iloc[0]
    assert row["life_fraction"] == pytest.approx(row["mean_erases"] / row["most_erases"] / row["write_amplification"])


def test_the_most_erases_of_the_picture_are_those_of_the_most_worn_unit_in_the_end():
    answer = flash_use(passes=PASSES)
    assert answer.most_erases == answer.erases.max() > answer.erases.min()


def test_within_the_first_quarter_of_a_pass_the_state_after_it_is_told():
    row = flash_use("page", "off", small_updates="no", passes=0.01).table.iloc[0]
    assert row["passes"] == pytest.approx(0.25)
    assert flash_use("page", "off", small_updates="no", passes=1).table["passes"][0] == 1


def test_the_seen_amplification_is_the_running_mean():
    answer = flash_use()
    assert np.all(np.diff(answer.passes_seen) > 0)
    assert answer.amplification_seen[-1] == pytest.approx(answer.table["write_amplification"][0])


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"mapping": "magic"}, "mapping: is 'magic'"),
        ({"levelling": "much"}, "levelling: is 'much'"),
        ({"small_updates": "maybe"}, "small_updates: is 'maybe'"),
        ({"mean_mbit_s": 0}, "mean_mbit_s: is 0"),
        ({"update_interval_s": -1}, "update_interval_s: is -1"),
        ({"still_fraction": 0.9}, "still_fraction: is 0.9"),
        ({"passes": 41}, "passes: is 41"),
    ],
)
def test_what_cannot_be_is_refused(wrong, message):
    with pytest.raises(InputError, match=message):
        flash_use(**wrong)


def test_the_simulated_card_is_told_as_it_is():
    answer = flash_use(passes=1)
    assert "has 96 units of 4 MiB, 8 spare units and flash pages of 16 KiB;" in answer.assumptions[0]
    assert len(answer.erases) == 96 + 8
    assert answer.table["least_erases"][0] == answer.erases.min() < answer.erases.max()


def test_one_flash_page_is_told_as_one_and_more_as_more():
    # Circular video on a card mapped by page costs one; with updates by unit 5.9, as above.
    assert "has cost 1 flash page on average" in flash_use("page", small_updates="no", still_fraction=0).sentence
    assert "has cost 5.9 flash pages on average" in flash_use().sentence


def test_an_answer_that_was_compiled_does_not_ask_for_what_compiles_it():
    pytest.importorskip("numba")
    assert not any("edgestore[simulation]" in text for text in flash_use(small_updates="no", passes=1).warnings)
