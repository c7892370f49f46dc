"""The band of a chance over what is assumed of an untested card, and the papers beside each assumption."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore.inputs.beliefs import BELIEFS, Beliefs
from edgestore.models.lots import batch_failures_cv
from edgestore.plan.assured import chance_in_pairs
from edgestore.plan.card_life import known_before
from edgestore.plan.one_card import one_card
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import SitePlan, site_plan
from edgestore.plan.tables import tables
from edgestore.plan.untested_band import MIDDLE, VARIED, WHOLE_RANGE, at_ends, band_of
from edgestore.plan.untested_card import untested_card_table
from edgestore.text import chance_in_band

OF_CARDS = {"random_per_year", "weak_fraction", "wear_shape", "stated_endurance", "batch_correlation", "maps_by_page"}


HEAD = "camera,mean_mbit_s,cap_mbit_s,retention_days,life_years"


def planned(*cameras: str, settings: str = "", endurance: int = 100, head: str = HEAD) -> SitePlan:
    return site_plan(
        read_lists(
            ("cameras.csv", "\n".join([head, *cameras]).encode()),
            ("cards.csv", f"card,capacity_gb,speed_class,endurance_tbw\nk,256,V30,{endurance}\n".encode()),
            ("site.toml", settings.encode()),
        ),
        with_reasons=False,
    )


def asked(*cameras: str) -> SitePlan:
    return planned(*cameras, endurance=10_000, head=f"{HEAD},assurance")


def test_a_card_that_hardly_wears_has_the_band_of_random_failures_and_weak_cards_by_hand():
    # 0.1 Mbit/s wears nothing. Three years: (1 - w) exp(-3 r) at r 0.03 and w 0.0207, and at r 0.01 / 3 and w 0.0023.
    band = planned("quay,0.1,4,1,3", endurance=10_000).untested_band.iloc[0]
    assert band["chance_kept_low"] == pytest.approx((1 - 0.0207) * np.exp(-0.09), abs=3e-3)
    assert band["chance_kept_high"] == pytest.approx((1 - 0.0023) * np.exp(-0.01), abs=1e-3)
    assert band["told"].endswith(" (89 to 98\xa0%)")


def test_assumptions_that_are_known_leave_no_band():
    known = "[beliefs]\nrandom_per_year = [0.01, 0.01001]\nweak_fraction = [0.01, 0.01001]\nwear_shape = [3, 3.001]\n"
    known += "stated_endurance = [1.5, 1.501]\n"
    plan = planned("quay,4,8,2,3", settings=known)
    band = plan.untested_band.iloc[0]
    kept = plan.plan["chance_kept"].fillna(plan.plan["best_chance"])[0]
    assert [band["chance_kept_low"], band["chance_kept_high"]] == pytest.approx([kept, kept], abs=2e-3)
    assert "(" not in band["told"]


@given(st.floats(0.5, 8), st.floats(1, 9), st.floats(0.5, 20))
def test_the_chance_of_the_plan_is_within_its_band(mean, years, days):
    plan = planned(f"quay,{mean},8,{days},{years}")
    row, band = plan.plan.iloc[0], plan.untested_band.iloc[0]
    if row["state"] == "not served":
        assert np.isnan(band["chance_kept_low"])
        assert band["told"] == ""
    else:
        kept = row["chance_kept"] if row["state"] == "assured" else row["best_chance"]
        assert 0 <= band["chance_kept_low"] <= kept <= band["chance_kept_high"] <= 1


def test_records_of_ones_own_cards_narrow_the_band():
    from test_service_records import site as of_log

    without, with_log = (of_log(records) for records in ([], [("k0", 1.0, False)] * 400))
    widths = []
    for site in (without, with_log):
        cards = site.offered.iloc[[0] * len(site.cameras)]
        low, high = band_of(site, cards, chance_in_pairs(site, site.rates, cards))
        widths.append(float(high[0] - low[0]))
    assert widths[1] < widths[0]


def test_at_each_corner_all_that_is_assumed_is_known():
    kind = known_before(Beliefs())
    corners = at_ends([kind, kind], Beliefs()["wear_shape"])
    assert [len(corner) for corner in corners] == [2] * 4
    assert [float(corner[0].random_per_year[0]) for corner in corners] == pytest.approx(
        [0.03] * 2 + [0.01 / 3] * 2, rel=0.03
    )
    assert [float(corner[0].shapes[0]) for corner in corners] == [2.2, 3.8, 2.2, 3.8]
    for corner in corners:
        assert corner[0] is corner[1]
        assert corner[0].chance.shape == (1, 1, 1)
    # Bad cards bear once what is stated, good ones 2.8 times.
    assert [float(corner[0].endurance[0]) for corner in corners] == pytest.approx([1, 1, 2.8, 2.8], rel=0.03)


def test_one_card_tells_the_same_band_as_the_plan_and_none_where_it_is_too_large_for_hope():
    page = one_card(64, 1.0, 4.0, endurance_tbw=100, retention_days=2)
    assert page.kept_low < page.kept < page.kept_high
    assert "over what is assumed of an untested card)" in page.sentence
    none = one_card(8, 8.0, 8.0, endurance_tbw=10, retention_days=60)
    assert none.kept_high < 1e-9


def test_a_band_is_told_where_it_reaches_more_than_five_points_from_the_chance():
    assert chance_in_band(0.9, 0.85, 0.95) == "90\xa0%"
    assert chance_in_band(0.9, 0.84, 0.95) == "90\xa0% (84 to 95\xa0%)"
    assert chance_in_band(0.9, 0.9, 0.96) == "90\xa0% (90 to 96\xa0%)"


def test_a_band_is_told_too_where_it_goes_below_the_chance_asked_that_the_chance_reaches():
    assert chance_in_band(0.92, 0.89, 0.95, 0.9) == "92\xa0% (89 to 95\xa0%)"
    assert chance_in_band(0.92, 0.9, 0.95, 0.9) == "92\xa0%"
    assert chance_in_band(0.89, 0.86, 0.92, 0.9) == "89\xa0%"


def test_the_life_of_one_card_and_the_age_of_its_change_have_their_bands_by_hand():
    # A card that hardly wears: (1 - w) exp(-3 r) at the ends; assured until (1 - w) exp(-r t) is 0.9, to the quarter.
    page = one_card(512, 0.5, 4.0, endurance_tbw=15_000, retention_days=2)
    assert page.part_told("life") == "94\xa0% (89 to 98\xa0%)"
    worst = np.log((1 - 0.0207) / 0.9) / 0.03
    assert page.latest_low_years == pytest.approx(np.floor(4 * worst) / 4, abs=0.25)
    assert page.latest_low_years < page.latest_years < page.latest_high_years
    assert page.part_told("retention") == "100\xa0%"


def test_each_assumption_has_a_published_figure_or_says_that_none_was_found_and_what_would_replace_it():
    table = untested_card_table()
    by_help = {belief.help: belief for belief in BELIEFS}
    assert {by_help[told].name for told in table["assumed"]} == OF_CARDS
    assert set(VARIED) < OF_CARDS
    assert (table[["basis", "published", "read_in", "carried_over", "counted", "replaced_by"]] != "").all(axis=None)
    assert (table["low"] < table["high"]).all()
    held = table["counted"].str.startswith("Held at ")
    assert {by_help[told].name for told in table.loc[~held, "assumed"]} == set(VARIED)
    stated = untested_card_table(Beliefs.stated({"wear_shape": (2.0, 3.0)}, "site.toml"))
    assert stated.loc[2, ["low", "high", "basis"]].tolist() == [2, 3, "site.toml"]


def test_an_own_figure_has_the_range_that_is_stated_and_not_the_published_one():
    table = untested_card_table(Beliefs.stated({"batch_correlation": 0.3}, "site.toml")).set_index("basis")
    assert table.loc["site.toml", ["low", "high"]].tolist() == [0.3, 0.3]


def test_the_correlation_of_two_purchases_of_cards_is_that_of_their_bad_shares():
    # 1 665 of 85 769 and 216 of 106 174: variance over w (1 - w) of two shares, by moments.
    shares = np.array([1665 / 85_769, 216 / 106_174])
    mean = shares.mean()
    low = untested_card_table().set_index("assumed")["low"]
    told = low[[about.startswith("correlation") for about in low.index]].item()
    assert shares.var(ddof=1) / (mean * (1 - mean)) == pytest.approx(told, rel=0.03)
    assert batch_failures_cv(mean, told) == pytest.approx(shares.std(ddof=1) / mean, rel=0.02)


def test_the_shapes_of_the_open_endurance_test_follow_from_its_figures():
    # Of n Weibull lives the logarithms have, on average, this range over the shape: that of logarithms of exponential
    # draws. The first of three is 3 to the power of -1 / shape of their mean, both times Gamma(1 + 1 / shape).
    def spread(n):
        draws = np.log(stats.expon.ppf(np.random.default_rng(1).random((100_000, n))))
        return float(np.ptp(draws, axis=1).mean())

    assert spread(6) / np.log(3882 / 921) == pytest.approx(2.2, abs=0.05)
    assert spread(5) / np.log(19_851 / 5165) == pytest.approx(2.1, abs=0.05)
    assert np.log(3) / np.log(3142 / 2747) == pytest.approx(8, abs=0.3)


def test_how_many_stay_assured_over_the_whole_range_is_told_of_a_plan():
    low, high = "a,0.1,4,1,3,0.85", "b,0.1,4,1,3,0.94"
    told = [asked(*cameras).sentence for cameras in ((low, high), (low,), (high,))]
    assert "1 of the 2 stays assured; the lowest chance is then 89\xa0%." in told[0]
    assert "The assured one stays so if untested cards are as bad" in told[1]
    assert "the assured one does not stay so; the lowest chance is then 89\xa0%." in told[2]
    assert asked(low, high).untested_band["assured"].tolist() == [WHOLE_RANGE, MIDDLE]


def test_the_band_and_what_is_assumed_are_written_with_the_plan():
    written = tables(planned("quay,0.1,4,1,3"))
    assert {"chance_kept_low", "chance_kept_high", "assured"} < set(written["plan"].columns)
    assert len(written["untested_card"]) == len(OF_CARDS)


def test_where_the_band_of_one_camera_is_told_that_of_all_is_and_where_none_is_needed_none_is():
    # 0.1 Mbit/s wears nothing: (1 - w) exp(-r t). After 2 years, by hand, 0.922 and 0.991 at the ends, and with the
    # mean r of 0.0144 and w of 0.01 0.962: four and three points. After 3 years 0.895 and 0.988: that of both is told.
    short, both = (planned(*rows, endurance=10_000) for rows in (["a,0.1,4,1,2"], ["a,0.1,4,1,2", "b,0.1,4,1,3"]))
    assert short.untested_band["told"].iloc[0] == "96\xa0%"
    assert [text.partition(" (")[2] for text in both.untested_band["told"]] == ["92 to 99\xa0%)", "89 to 98\xa0%)"]
