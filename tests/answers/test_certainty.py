"""How sure we are: against numerical integration and hand arithmetic."""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from edgestore import InputError
from edgestore.answers.certainty import YEARS, _cut_off, certainty
from edgestore.answers.life import lasting
from edgestore.models.uncertainty import Lognormal
from edgestore.models.wear import write_amplification_camera, write_amplification_page
from edgestore.plan.one_card import CYCLES_KIND, one_card
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.text import life

NARROW = {
    **{"mean_low_mbit_s": 3.999, "mean_high_mbit_s": 4.001, "pe_cycles_low": 2999.0, "pe_cycles_high": 3001.0},
    **{"stated_endurance_low": 0.9999, "stated_endurance_high": 1.0001},  # the stated cycles are a median
}
SURE_OF_FLASH = {"write_amplification_low": 1.999, "write_amplification_high": 2.001}


def test_with_everything_known_the_chance_is_that_of_the_law():
    # 128 GB x 3000 / 2 = 192 TB over 4 x 3.9447 TB a year = 12.168 years, by when half are worn out; shape 2 to 4.
    answer = certainty(**NARROW, **SURE_OF_FLASH, random_percent_year=0.1, early_percent=0, wanted_years=10)
    wear_life = 192 / (4 * 3.9447)

    def worn(shape):
        return math.exp(-math.log(2) * (10 / wear_life) ** shape)

    sigma = math.log(9) / (2 * stats.norm.ppf(0.9))  # from 1/3 to 3 times between the 10 and 90 % quantiles
    random = integrate.quad(lambda z: stats.norm.pdf(z) * math.exp(-0.001 * math.exp(sigma * z) * 10), -8, 8)[0]
    expected = integrate.quad(worn, 2, 4)[0] / 2 * random
    assert answer.chance == pytest.approx(expected, abs=0.002)


def test_the_band_holds_the_curve_and_narrows_when_more_is_known():
    wide, narrow = certainty(), certainty(**NARROW, **SURE_OF_FLASH)
    for answer in (wide, narrow):
        assert np.all(answer.survival_low <= answer.survival + 1e-12)
        assert np.all(answer.survival <= answer.survival_high + 1e-12)
        assert np.all(np.diff(answer.survival) <= 0)
    at = int(np.searchsorted(YEARS, 5))
    assert (wide.survival_high - wide.survival_low)[at] > 2 * (narrow.survival_high - narrow.survival_low)[at]


def test_a_rate_below_a_cap_follows_the_law_cut_off_there():
    # Between 2 and 6 Mbit/s in eight of ten cases, never above 4: scipy's normal law of the logarithm, cut off.
    law, parts = Lognormal(2, 6), np.array([0.1, 0.5, 0.9])
    median, sigma = math.sqrt(12), math.log(3) / (2 * stats.norm.ppf(0.9))
    cut = stats.truncnorm(-math.inf, math.log(4 / median) / sigma, math.log(median), sigma)
    assert _cut_off(law, law.quantile(parts), 4.0) == pytest.approx(np.exp(cut.ppf(parts)), rel=1e-9)


def test_the_curve_begins_with_a_new_card_that_works():
    assert certainty().survival[0] == 1


def test_one_in_ten_is_gone_at_the_p10_life():
    answer = certainty()
    assert np.interp(answer.p10_life_years, YEARS, answer.survival) == pytest.approx(0.9, abs=0.005)


def test_the_tornado_names_what_is_not_known():
    known_flash = certainty(**NARROW, write_amplification_low=1, write_amplification_high=6)
    assert known_flash.tornado.swings[0].name == "write_amplification"
    known_card = certainty(**NARROW | SURE_OF_FLASH | {"mean_low_mbit_s": 0.5, "mean_high_mbit_s": 12})
    assert known_card.tornado.swings[0].name == "mean_mbit_s"
    assert "Find out the mean rate first." in known_card.sentence


def test_how_an_unknown_card_maps_counts_the_more_the_lower_the_rate():
    # At 0.25 Mbit/s, updates every 5 s: by unit 778 / 13 = 59.8 flash writes per host write; by page 13 pages of video
    # to 3 of updates, 1 + 3 / (0.07 x 16) less rounding up to whole pages: 4.3 (docs/models.md). At 4 Mbit/s 5.9 and 1.
    ends = {"mean_low_mbit_s": 0.2499, "mean_high_mbit_s": 0.2501, "update_interval_s": 5}
    table = certainty(**NARROW | ends).table.set_index("input")
    assert table.loc["way the card maps", "from"] == pytest.approx(4.3, abs=0.05)
    assert table.loc["way the card maps", "to"] == pytest.approx(778 / 13)
    assert "update interval" not in table.index
    busy = certainty(**NARROW, update_interval_s=5).table.set_index("input")
    assert busy.loc["way the card maps", ["from", "to"]].tolist() == pytest.approx([1, 5.94], abs=0.01)
    # Every 60 s: 105 pages begun, (105 + 768) / (105 + 3), as in test_one_camera.
    seldom = certainty(**NARROW | ends | {"update_interval_s": 60}).table.set_index("input")
    assert seldom.loc["way the card maps", "to"] == pytest.approx(873 / 108)
    now_and_then = certainty(**NARROW | ends | {"update_interval_s": 20}).table.set_index("input")
    assert now_and_then.loc["way the card maps", "from"] == pytest.approx(write_amplification_page(0.25, 20))
    not_told = certainty(**NARROW).table.set_index("input")
    assert not_told.loc["update interval", ["from", "to"]].tolist() == pytest.approx([1, 60])
    stated = certainty(**NARROW | ends, write_amplification_high=6).table.set_index("input")
    assert stated.loc["write amplification", ["from", "to"]].tolist() == pytest.approx([1.5, 5.5])
    assert "way the card maps" not in stated.index


def test_rarer_updates_make_an_unknown_card_surer():
    chances = [certainty(update_interval_s=interval).chance for interval in (1, 5, 60)]
    assert chances == sorted(chances)
    assert chances[0] < chances[-1]


def test_a_card_that_bears_half_a_cycle_to_one_is_worn_out_within_days():
    # 128 GB once at 1.8 GB/h: 3 days. None is weak from the start.
    assert certainty(pe_cycles_low=0.5, pe_cycles_high=1, early_percent=0, wanted_years=0.25).chance < 1e-6


def test_asking_for_more_years_lowers_the_chance():
    chances = [certainty(wanted_years=years).chance for years in (1, 2, 4, 8)]
    assert chances == sorted(chances, reverse=True)
    assert certainty(wanted_years=8).warnings
    assert not certainty(512, recorded_fraction=0.1, wanted_years=1).warnings


def one_camera(mean_mbit_s, endurance, life_years=1, interval_s=None):
    cards = f"card,capacity_gb,speed_class,endurance_tbw,pe_cycles\nc,64,V30,{endurance}\n"
    settings = f"[requirements]\nretention_days = 1\nlife_years = {life_years}\nspeed_margin = 1\n".encode()
    cameras = f"camera,mean_mbit_s,update_interval_s\ngate,{mean_mbit_s},{interval_s or ''}\n".encode()
    return site_plan(read_lists(("cameras.csv", cameras), ("cards.csv", cards.encode()), ("site.toml", settings)))


@pytest.mark.parametrize(
    ("mean_mbit_s", "cycles", "years", "interval_s"),
    [(2, 3000, 1, None), (0.25, 1500, 2, None), (1, 4000, 2, 5), (0.5, 3000, 1, 1)],
)
def test_the_plan_and_the_page_give_an_unknown_card_the_same_chance(mean_mbit_s, cycles, years, interval_s):
    # A listed mean, known within 1.3; 64 GB; write amplification unknown, update interval listed or not
    row = one_camera(mean_mbit_s, f",{cycles}", years, interval_s).plan.iloc[0]
    flash = {"pe_cycles_low": cycles * (1 - 1e-9), "pe_cycles_high": cycles * (1 + 1e-9)}
    rates = {"mean_low_mbit_s": mean_mbit_s / 1.3, "mean_high_mbit_s": mean_mbit_s * 1.3}
    page = certainty(64, **rates, **flash, wanted_years=years, update_interval_s=interval_s)
    # The same laws, gone through on a grid here and by quasi-random points there.
    best = row["chance_life"] if row["card"] else row["best_chance"]
    assert 0.2 < best < 0.97
    assert page.chance == pytest.approx(best, abs=0.004)


def test_a_write_amplification_is_as_likely_anywhere_in_its_range():
    # 384 TB of flash over w x 4 x 3.9447 TB a year, w even from 1 to 6: half are worn out after 24.34 / w years.
    page = certainty(
        **NARROW | {"write_amplification_low": 1, "write_amplification_high": 6},
        random_percent_year=0.001,
        early_percent=0,
        wanted_years=6,
    )

    def alive(w, shape):
        return math.exp(-math.log(2) * (6 * w / (384 / (4 * 3.9447))) ** shape)

    expected = integrate.dblquad(alive, 2, 4, 1, 6)[0] / 10
    assert page.chance == pytest.approx(expected, abs=0.003)


def test_what_a_stated_endurance_means_is_said_by_plan_and_page():
    for answer in (one_camera(2, "50,"), certainty(), lasting(endurance_kind="terabytes written")):
        assert any(
            "a median or an early quantile is not known" in text and "at most 3 %" in text
            for text in answer.assumptions
        )


def test_a_life_above_ten_years_is_told_as_more_than_ten():
    # A card that maps by unit has an amplification of 10.7 at 2 Mbit/s and 8.5 at 2 x 1.3, with an update every 5 s.
    # 64 GB, 20 000 cycles: 1280 TB / 10.7 = 120 TB; 2 Mbit/s write 7.89 TB a year: 15.2 years; 1280 / 8.5 / 10.3: 14.7
    ends = ["life_years_low", "life_years_high"]
    assert life(*one_camera(2, ",20000", interval_s=5).plan.loc[0, ends]) == "more than 10"
    # 2000 cycles: 128 TB / 10.7 / 7.89: 1.52 years; 128 / 8.5 / 10.3: 1.47; at best 128 / (7.89 / 1.3): 21.1
    assert life(*one_camera(2, ",2000", interval_s=5).plan.loc[0, ends]) == "1.5 to more than 10"
    assert (
        "more than 10 years"
        in certainty(
            512,
            recorded_fraction=0.1,
            mean_low_mbit_s=0.1,
            mean_high_mbit_s=0.2,
            pe_cycles_low=50_000,
            pe_cycles_high=60_000,
            random_percent_year=0.01,
        ).sentence
    )


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"mean_low_mbit_s": 7}, "mean_low_mbit_s: is 7 Mbit/s; must be below mean_high_mbit_s, 6"),
        ({"mean_low_mbit_s": 6}, "mean_low_mbit_s: is 6 Mbit/s; must be below mean_high_mbit_s, 6 Mbit/s"),
        ({"pe_cycles_low": float("nan")}, "nan"),
        ({"write_amplification_low": 0.5}, "write_amplification"),
        ({"random_percent_year": 0}, "random_percent_year: is 0"),
        ({"early_percent": 101}, "early_percent: is 101"),
        ({"wanted_years": -3}, "wanted_years: is -3"),
    ],
)
def test_what_cannot_be_is_refused(wrong, message):
    with pytest.raises(InputError, match=message):
        certainty(**wrong)


def test_a_range_of_rates_up_to_the_highest_that_is_allowed_is_answered():
    # Its lognormal tail passes 1000 Mbit/s, which no argument of the caller does.
    assert 0 <= certainty(mean_low_mbit_s=500, mean_high_mbit_s=1000).chance <= 1


def test_with_a_cap_the_chance_to_last_is_the_one_of_the_plan():
    # A listed mean of 3 Mbit/s is exceeded 1.3 times once in ten, and is never above the cap of 3.3.
    plan = one_card(128, 3, 3.3, endurance_kind=CYCLES_KIND, pe_cycles=900, life_years=3).parts["life"]
    ranges = {"mean_low_mbit_s": 3 / 1.3, "mean_high_mbit_s": 3 * 1.3, "pe_cycles_low": 899.9, "pe_cycles_high": 900.1}
    ranges["update_interval_s"] = 5  # as the other page has it
    capped = certainty(128, **ranges, cap_mbit_s=3.3)
    assert capped.chance == pytest.approx(plan, abs=0.005)
    assert certainty(128, **ranges).chance < capped.chance - 0.005
    row = capped.table.set_index("input").loc["mean rate"]
    assert row[["from", "to"]].tolist() == pytest.approx([3 / 1.3, 3.3])


def test_a_cap_below_the_range_of_the_mean_is_refused():
    with pytest.raises(InputError, match=r"cap_mbit_s: is 2 Mbit/s; must be above 2.5"):
        certainty(mean_low_mbit_s=2.5, cap_mbit_s=2)


def test_the_ages_of_the_picture_go_to_15_years_by_the_quarter():
    np.testing.assert_allclose(YEARS, [quarter / 4 for quarter in range(61)])


def test_random_failures_are_known_within_a_factor_of_three():
    row = certainty(random_percent_year=1).table.set_index("input").loc["random failures"]
    assert row[["from", "to"]].tolist() == pytest.approx([0.01 / 3, 0.03])


def test_the_ends_of_an_input_are_told_with_the_age_at_which_one_in_ten_is_then_gone():
    # 192 TB of the host; at the cap of 4 Mbit/s, 15.7788 TB a year, half are worn out at 12.17 years, at 2 Mbit/s at
    # 24.34; of a Weibull law of shape 3 a tenth at (ln(10 / 9) / ln 2)^(1 / 3) of that.
    known = NARROW | SURE_OF_FLASH | {"mean_low_mbit_s": 2, "mean_high_mbit_s": 6, "random_percent_year": 1e-6}
    row = certainty(**known, early_percent=0, cap_mbit_s=4).table.set_index("input").loc["mean rate"]
    tenth = (math.log(10 / 9) / math.log(2)) ** (1 / 3)
    assert row[["from", "to"]].tolist() == pytest.approx([2, 4])
    lives = [192 / 7.8894 * tenth, 192 / 15.7788 * tenth]
    assert row[["p10_life_years_from", "p10_life_years_to"]].tolist() == pytest.approx(lives, rel=1e-3)


def test_how_the_card_maps_is_told_at_the_middle_of_the_rate_and_of_the_update_interval():
    # Between 0.125 and 0.5 Mbit/s the middle is 0.25; of an interval from 1 to 60 s it is the root of 60.
    wide = NARROW | {"mean_low_mbit_s": 0.125, "mean_high_mbit_s": 0.5}
    row = certainty(**wide, update_interval_s=5).table.set_index("input").loc["way the card maps"]
    assert row["to"] == pytest.approx(778 / 13)
    row = certainty(**wide).table.set_index("input").loc["way the card maps"]
    assert row["to"] == pytest.approx(write_amplification_camera(0.25, 60**0.5))


def test_what_is_assumed_of_the_write_amplification_is_that_of_the_card():
    unknown, stated = (" ".join(certainty(write_amplification_high=high).assumptions) for high in (None, 6))
    assert "A card of unknown write amplification maps by page" in unknown
    assert "may lie anywhere in its range" in stated
    assert "of unknown write amplification" not in stated
