"""The answers for one camera and one card, against hand arithmetic."""

import numpy as np
import pytest

from edgestore import InputError
from edgestore.answers import life as life_answer
from edgestore.answers.hold import CAPACITIES_GB, RATES_MBIT_S, holding
from edgestore.answers.life import FRACTIONS, lasting
from edgestore.models.wear.mapping import UPDATE_INTERVAL_S


def test_the_three_means_are_the_cap_a_share_of_it_and_the_lowest_measured():
    answer = holding(64, 4, scene="busy", mean_over_cap=0.5)
    np.testing.assert_allclose(answer.rates_mbit_s, [4, 2, 0.215 * 4])
    np.testing.assert_allclose(answer.table["retention_h"], [64 / 1.8, 64 / 0.9, 64 / (0.86 * 0.45)])


def test_the_axes_of_the_picture_double_from_step_to_step():
    np.testing.assert_allclose(CAPACITIES_GB, [16 * 2**step for step in range(7)])
    np.testing.assert_allclose(RATES_MBIT_S, [2 ** (step - 4) for step in range(10)])


def test_where_nothing_is_said_the_card_has_64_gb_and_the_cap_is_4_mbit_s():
    # 64 GB / (4 x 0.45 GB/h) = 35.56 h = 1.48 days
    table = holding().table
    assert table.loc[0, ["mean_mbit_s", "retention_h", "retention_days"]].tolist() == pytest.approx(
        [4, 64 / 1.8, 64 / 1.8 / 24]
    )


def test_the_usable_part_is_told_to_a_tenth_of_a_percent():
    told = holding(64, 4, usable_fraction=0.93567).assumptions[0].replace("\N{NO-BREAK SPACE}", " ")
    assert "93.6 % of the capacity" in told


def test_the_wanted_days_ask_for_a_capacity():
    # 7 x 24 h x 1.8 GB/h = 302.4 GB at the cap of 4 Mbit/s
    assert holding(64, 4, wanted_days=7).table["capacity_gb_wanted"][0] == pytest.approx(302.4)


def test_a_card_that_is_too_small_for_the_wanted_days_is_warned_of():
    assert any("7 days need 133 to 302 GB" in text for text in holding(64, 4, wanted_days=7).warnings)
    assert not holding(512, 4, wanted_days=7).warnings


def test_a_mean_below_all_measured_is_warned_of():
    assert any(
        "below all that was measured" in text for text in holding(512, 4, scene="busy", mean_over_cap=0.1).warnings
    )


def test_the_lowest_mean_measured_is_told_and_not_warned_of():
    # MEAN_OVER_CAP_BAND: 0.714 of the cap on a noisy night.
    (told,) = holding(1024, 4, scene="noisy night", mean_over_cap=0.7).warnings
    assert "below all that was measured for such a scene (71 %)" in told.replace("\N{NO-BREAK SPACE}", " ")
    assert holding(1024, 4, scene="noisy night", mean_over_cap=0.714).warnings == ()


def test_a_card_of_just_the_capacity_that_is_wanted_is_large_enough():
    # A day at 10 Mbit/s: 24 h x 4.5 GB/h = 108 GB
    assert holding(108, 10, mean_over_cap=1, usable_fraction=1, wanted_days=1).warnings == ()
    assert holding(107, 10, mean_over_cap=1, usable_fraction=1, wanted_days=1).warnings == (
        "1 days need 108 GB; this card has 107 GB.",
    )


def test_two_months_ask_for_their_capacity():
    # 60 x 24 h x 1.8 GB/h
    assert holding(64, 4, usable_fraction=1, wanted_days=60).table["capacity_gb_wanted"][0] == pytest.approx(2592)


def test_the_curves_are_in_days_of_which_a_part_is_recorded_on_the_usable_part():
    # 64 GB at 4 Mbit/s, half of the time: 57.6 GB / (0.5 x 1.8 GB/h) = 64 h
    curves_days = holding(recorded_fraction=0.5, usable_fraction=0.9).curves_days
    assert curves_days[CAPACITIES_GB == 64, RATES_MBIT_S.round(9) == 4] == pytest.approx([64 / 24])


def test_a_camera_that_writes_at_its_cap_is_told_as_that():
    # 64 / 1.8 = 35.6 h
    assert holding(64, 4, mean_over_cap=1, usable_fraction=1).sentence == (
        "Holds 35.6 hours if the camera writes at its cap all the time, longer if it writes less."
    )


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"capacity_gb": 0}, "capacity_gb: is 0"),
        ({"cap_mbit_s": 4000}, "cap_mbit_s: is 4000"),
        ({"scene": "sunny"}, "scene: is 'sunny'"),
        ({"mean_over_cap": 44}, "mean_over_cap: is 44"),
        ({"wanted_days": float("nan")}, "nan"),
    ],
)
def test_holding_refuses_what_cannot_be(wrong, message):
    with pytest.raises(InputError, match=message):
        holding(**wrong)


def test_life_spans_the_write_amplification():
    answer = lasting(128, 4, pe_cycles=3000, write_amplification_low=1, write_amplification_high=6)
    per_year = 4 * 0.45 * 24 * 365.25 / 1000  # 15.78 TB
    np.testing.assert_allclose(answer.life_years, [64 / per_year, 384 / per_year])
    assert not any("Nothing is known" in text for text in answer.warnings)


@pytest.mark.parametrize(
    ("rate", "interval", "worst"),
    # Pages of 16 KiB between updates: 151.3, 9.46, and 104.1 at 60 s (1 / (1/60 + 1/600) s apart); each begun counts.
    # At 0.5 s: 1 / (1/0.5 + 1/600) s bring 15.2, so 16 pages; (16 + 768) / (16 + 3).
    [(4, 5, 920 / 155), (4, 0.5, 784 / 19), (0.25, 5, 778 / 13), (0.25, 60, 873 / 108)],
)
def test_an_unknown_card_spans_1_to_what_rate_and_update_interval_make(rate, interval, worst):
    answer = lasting(128, rate, pe_cycles=3000, update_interval_s=interval)
    best = 384 / (rate * 0.45 * 24 * 365.25 / 1000)
    np.testing.assert_allclose(answer.life_years, [best / worst, best])
    assert any("Nothing is known" in text for text in answer.warnings)


def test_a_stated_endurance_is_said_to_hold_for_its_makers_pattern_of_writes():
    texts = " ".join(lasting(endurance_kind="terabytes written").assumptions)
    assert "holds for its maker's pattern of writes" in texts


def test_a_stated_endurance_gives_one_life():
    by_hours = lasting(128, 4, endurance_kind="hours of recording", rated_h=20_000, rated_mbit_s=26)
    by_tbw = lasting(128, 4, endurance_kind="terabytes written", endurance_tbw=234)
    np.testing.assert_allclose(by_hours.life_years, by_tbw.life_years)  # 20 000 h x 26 Mbit/s is 234 TB
    assert by_hours.life_years[0] == by_hours.life_years[1]


@pytest.mark.parametrize(("wanted", "words"), [(3, None), (10, "The low end is below"), (30, "Even the high end")])
def test_a_life_below_the_wanted_is_warned_of(wanted, words):
    texts = " ".join(lasting(128, 4, wanted_years=wanted, write_amplification_high=5.9).warnings)
    assert (words or "") in texts
    assert bool(texts) == (words is not None)


def test_a_life_of_just_what_is_wanted_is_long_enough():
    low, high = map(float, lasting(128, 4).life_years)
    assert not any("low end is below" in text for text in lasting(128, 4, wanted_years=low).warnings)
    assert any("The low end is below" in text for text in lasting(128, 4, wanted_years=high).warnings)


def test_a_stated_endurance_that_lasts_just_as_long_as_wanted_is_enough():
    stated = {"endurance_kind": "terabytes written", "endurance_tbw": 0.5}
    years = 0.5 / (4 * 0.45 * 24 * 365.25 / 1000)
    assert lasting(128, 4, **stated).life_years == pytest.approx([years, years])
    exactly = float(lasting(128, 4, **stated).life_years[0])
    assert not any("years wanted" in text for text in lasting(128, 4, **stated, wanted_years=exactly).warnings)


def test_where_no_endurance_is_said_it_is_100_tb():
    assert lasting(endurance_kind="terabytes written").table["endurance_tbw"].tolist() == [100, 100]


def test_a_card_may_be_known_to_write_hardly_more_than_it_is_given():
    answer = lasting(128, 4, pe_cycles=3000, write_amplification_high=1.5)
    assert answer.life_years == pytest.approx([256 / 15.7788, 384 / 15.7788])


def test_an_amplification_range_upside_down_is_refused():
    with pytest.raises(InputError, match=r"write_amplification_low: is 8; must be at most \w+_high, 5\.94"):
        lasting(write_amplification_low=8)


def test_curves_pass_through_the_chosen_point():
    answer = lasting(128, 4, recorded_fraction=1.0)
    np.testing.assert_allclose(answer.life_by_fraction_years[:, -1], answer.life_years)
    np.testing.assert_allclose(answer.life_by_capacity_years[:, 6], answer.life_years)  # 7th of 13 from 16 to 1024: 128


def test_the_axes_of_the_pictures_of_life_go_in_even_ratios_from_end_to_end():
    np.testing.assert_allclose(life_answer.CAPACITIES_GB, [16 * 2 ** (step / 2) for step in range(13)])
    np.testing.assert_allclose(FRACTIONS, [0.02 * 50 ** (step / 12) for step in range(13)])


def test_passes_are_what_is_written_in_a_year_over_what_the_card_holds():
    # 4 Mbit/s are 15.7788 TB a year, over 0.128 TB.
    assert lasting(128, 4).table["passes_per_year"].tolist() == pytest.approx([123.27, 123.27], abs=0.01)


def test_a_write_amplification_that_is_known_is_a_range_of_one():
    answer = lasting(128, 4, pe_cycles=3000, write_amplification_low=2, write_amplification_high=2)
    assert answer.life_years == pytest.approx([192 / 15.7788] * 2)


def test_where_no_update_interval_is_said_it_is_that_of_the_model():
    assert lasting().table.equals(lasting(update_interval_s=UPDATE_INTERVAL_S).table)
