"""The band of a chance over what the priors of a card may be, and the papers beside each prior."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.inputs.beliefs import BELIEFS, Beliefs
from edgestore.plan.assured import chance_in_pairs
from edgestore.plan.card_life import known_before
from edgestore.plan.one_card import one_card
from edgestore.plan.prior_band import PRIORS, at_ends, band_of
from edgestore.plan.priors import priors_table
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import SitePlan, site_plan
from edgestore.plan.tables import tables
from edgestore.text import chance_in_band

OF_CARDS = {"random_per_year", "weak_fraction", "wear_shape", "stated_endurance", "batch_correlation", "maps_by_page"}


HEAD = "camera,mean_mbit_s,cap_mbit_s,retention_days,life_years"


def planned(*cameras: str, settings: str = "", endurance: int = 100) -> SitePlan:
    return site_plan(
        read_lists(
            ("cameras.csv", "\n".join([HEAD, *cameras]).encode()),
            ("cards.csv", f"card,capacity_gb,speed_class,endurance_tbw\nk,256,V30,{endurance}\n".encode()),
            ("site.toml", settings.encode()),
        ),
        with_reasons=False,
    )


def test_a_card_that_hardly_wears_has_the_band_of_random_failures_and_weak_cards_by_hand():
    # 0.1 Mbit/s wears nothing. Three years: (1 - w) exp(-3 r) at r 0.03 and w 0.0207, and at r 0.01 / 3 and w 0.0023.
    band = planned("quay,0.1,4,1,3", endurance=10_000).prior_band.iloc[0]
    assert band["chance_kept_low"] == pytest.approx((1 - 0.0207) * np.exp(-0.09), abs=3e-3)
    assert band["chance_kept_high"] == pytest.approx((1 - 0.0023) * np.exp(-0.01), abs=1e-3)
    assert band["told"].endswith(" (89 to 98\xa0%)")


def test_priors_that_are_known_leave_no_band():
    known = "[beliefs]\nrandom_per_year = [0.01, 0.01001]\nweak_fraction = [0.01, 0.01001]\nwear_shape = [3, 3.001]\n"
    plan = planned("quay,4,8,2,3", settings=known)
    band = plan.prior_band.iloc[0]
    kept = plan.plan["chance_kept"].fillna(plan.plan["best_chance"])[0]
    assert [band["chance_kept_low"], band["chance_kept_high"]] == pytest.approx([kept, kept], abs=2e-3)
    assert "(" not in band["told"]


@given(st.floats(0.5, 8), st.floats(1, 9), st.floats(0.5, 20))
def test_the_chance_of_the_plan_is_within_its_band(mean, years, days):
    plan = planned(f"quay,{mean},8,{days},{years}")
    row, band = plan.plan.iloc[0], plan.prior_band.iloc[0]
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


def test_at_each_corner_the_priors_are_known_and_the_endurance_is_as_uncertain_as_before():
    kind = known_before(Beliefs())
    corners = at_ends([kind, kind], Beliefs()["wear_shape"])
    assert [len(corner) for corner in corners] == [2] * 4
    assert [float(corner[0].random_per_year[0]) for corner in corners] == pytest.approx(
        [0.03] * 2 + [0.01 / 3] * 2, rel=0.03
    )
    assert [float(corner[0].shapes[0]) for corner in corners] == [2.2, 3.8, 2.2, 3.8]
    for corner in corners:
        assert corner[0] is corner[1]
        assert corner[0].chance.sum() == pytest.approx(1)
        assert corner[0].quantile("stated_endurance", 0.1) == pytest.approx(kind.quantile("stated_endurance", 0.1))


def test_one_card_tells_the_same_band_as_the_plan_and_none_where_it_is_too_large_for_hope():
    page = one_card(64, 1.0, 4.0, endurance_tbw=100, retention_days=2)
    assert page.kept_low < page.kept < page.kept_high
    assert "over what the priors may be)" in page.sentence
    none = one_card(8, 8.0, 8.0, endurance_tbw=10, retention_days=60)
    assert none.kept_high < 1e-9


def test_a_band_is_told_where_it_reaches_more_than_five_points_from_the_chance():
    assert chance_in_band(0.9, 0.85, 0.95) == "90\xa0%"
    assert chance_in_band(0.9, 0.84, 0.95) == "90\xa0% (84 to 95\xa0%)"
    assert chance_in_band(0.9, 0.9, 0.96) == "90\xa0% (90 to 96\xa0%)"


def test_each_prior_of_a_card_has_a_published_figure_or_says_that_none_was_found_and_what_would_replace_it():
    table = priors_table()
    by_help = {belief.help: belief for belief in BELIEFS}
    assert {by_help[told].name for told in table["prior"]} == OF_CARDS
    assert set(PRIORS) < OF_CARDS
    assert (table[["basis", "published", "read_in", "carried_over", "replaced_by"]] != "").all(axis=None)
    assert (table["low"] <= table["high"]).all()
    stated = priors_table(Beliefs.stated({"wear_shape": (2.0, 3.0)}, "site.toml"))
    assert stated.loc[2, ["low", "high", "basis"]].tolist() == [2, 3, "site.toml"]


def test_the_band_and_the_priors_are_written_with_the_plan():
    written = tables(planned("quay,0.1,4,1,3"))
    assert {"chance_kept_low", "chance_kept_high"} < set(written["plan"].columns)
    assert len(written["priors"]) == len(OF_CARDS)
