"""What is asked of a card gives the chance that is asked, and one card by itself has the chance it has in a list."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.special import ndtri
from test_choice import COSTS, cameras, cards, site
from test_invariants import ASKED, OFFER, ROWS, listed, made

from edgestore.plan import assured
from edgestore.plan.asked import asked_of_cards
from edgestore.plan.assured import chance_in_pairs, latest_ages, may_be_assured, promises
from edgestore.plan.least_cost import changes
from edgestore.plan.requirements import Requirements
from edgestore.plan.site_plan import site_plan

some_sites = settings(max_examples=max(settings.default.max_examples // 4, 1))


@some_sites
@given(ROWS, OFFER, ASKED)
def test_a_card_by_itself_has_the_chance_that_it_has_in_the_list(rows, offer, asked):
    site = made(rows, offer, asked)
    every = promises(site, site.rates)
    possible = every.chance["slot"] * every.chance["speed"]
    for card in range(len(offer)):
        cards = site.offered.iloc[[card] * len(rows)].reset_index(drop=True)
        assert chance_in_pairs(site, site.rates, cards) * possible[:, card] == pytest.approx(
            every.kept[:, card], abs=1e-9
        )


@some_sites
@given(ROWS, OFFER, ASKED)
def test_no_card_is_assured_in_a_camera_where_none_may_be(rows, offer, asked):
    site = made(rows, offer, asked)
    is_assured = promises(site, site.rates).is_assured.any(axis=1)
    assert not (is_assured & ~may_be_assured(site, site.rates)).any()


def test_a_card_too_large_for_the_slot_may_not_be_assured():
    wanted = cameras("small slot,1,4,,8,,,,", "large slot,1,4,,512,,,,")
    one = site(wanted, cards("middle,64,C10,3000,10"))
    assert may_be_assured(one, one.rates).tolist() == [False, True]


def test_one_card_that_holds_enough_and_keeps_up_is_enough_to_be_assured():
    # A day of 8 Mbit/s is 86.4 GB. At its cap of 40 Mbit/s the camera writes 5 MB/s: class 2 promises 2, V90 90.
    small, slow, good = "small,2,V90,300,10", "slow,256,C2,3000,10", "good,256,V90,3000,10"
    for offered, expected in (((small, slow, good), True), ((small, good), True), ((small, slow), False)):
        one = site(cameras("gate,8,40,,,,,,"), cards(*offered))
        assert may_be_assured(one, one.rates).tolist() == [expected], offered
        kept = promises(one, one.rates).kept[0]
        assert all((chance == 0) == (card == slow) for card, chance in zip(offered, kept, strict=True))


def test_a_card_that_holds_longer_than_is_allowed_may_not_be_assured():
    # A day of 1 Mbit/s is 10.8 GB, so that 64 GB hold more than 5 days: too long for 2, not for 30.
    wanted = cameras("strict,1,4,,,,1,5,2", "lenient,1,4,,,,1,5,30")
    one = site(wanted, cards("middle,64,C10,3000,10"))
    assert may_be_assured(one, one.rates).tolist() == [False, True]


def test_the_latest_age_is_the_last_with_the_chance_asked_to_the_rounding_of_its_sum_and_0_where_none_has_it():
    works = np.array([[[0.9 - 5e-10, 0.9 - 5e-9], [0.8, 0.7]]])
    assert latest_ages(works, np.array([1.0, 2.0]), np.array([[0.9]])).tolist() == [[1, 0]]


def test_cameras_beyond_those_that_are_worked_out_at_once_have_their_chance_too(monkeypatch):
    monkeypatch.setattr(assured, "AT_ONCE", 2)
    one = site(cameras(*(f"{name},1,4,,,,1,5," for name in "abc")), cards("middle,64,C10,3000,10"))
    same = chance_in_pairs(one, one.rates, one.offered.iloc[[0, 0, 0]].reset_index(drop=True))
    assert same[0] > 0.5
    assert same == pytest.approx(same[0])


@pytest.mark.parametrize(("horizon", "latest"), [(10, 15), (20, 20)])
def test_ages_are_tried_to_the_end_of_the_horizon_and_at_least_to_15_years(horizon, latest):
    costs = replace(COSTS, horizon_years=horizon)
    one = site(cameras("gate,1,4,,,,,,"), cards("middle,64,C10,3000,10"), costs=costs)
    assert promises(one, one.rates).ages_years[-1] == latest


@some_sites
@given(ROWS, OFFER, ASKED)
def test_the_card_asked_for_has_the_chance_asked_and_hardly_more(rows, offer, asked):
    site = made(rows, offer, asked)
    figures = asked_of_cards(site)
    can = (figures["endurance_tbw"].notna() & figures["needed_gb"].between(1, 4000)).to_numpy()
    if not can.any():
        return
    _, cards = listed(rows, ["64,C10 V30,100,,,,1"] * len(rows))
    cards["capacity_gb"] = np.where(can, figures["needed_gb"], 64.0)
    cards["endurance_tbw"] = np.where(can, figures["endurance_tbw"], 1.0)
    cards["usable_fraction"] = site.offered["usable_fraction"].min()
    kept = chance_in_pairs(site, site.rates, cards)
    most = (
        figures["needed_gb"].to_numpy()
        <= np.minimum(figures["most_usable_gb"], site.cameras["max_card_gb"].fillna(np.inf)).to_numpy()
    )
    assert (kept[can & most] >= asked.assurance - 0.002).all()
    # More than asked is had where the mean may be at the cap, which such a card holds, and where policy sets a limit,
    # for which a larger card, up to the most, would use the rest.
    is_tight = (site.rates["cap_mbit_s"].isna() & site.wanted["retention_days_max"].isna()).to_numpy()
    assert (kept[can & is_tight] <= asked.assurance + 0.02).all()


def test_more_assurance_asks_for_a_larger_and_more_enduring_card():
    figures = [
        asked_of_cards(made(["1,4,busy,,no"], ["64,C10 V30,100,,,,1"], wanting(assurance)))
        for assurance in (0.5, 0.8, 0.9)
    ]
    for column in ("needed_gb", "endurance_tbw"):
        values = [float(table[column].iloc[0]) for table in figures]
        assert values == sorted(set(values))


def test_no_endurance_gives_a_chance_that_random_failures_forbid():
    # In 12 years 0.0144 failures a year leave some 85 % of cards that never wear: less than the 99 % asked.
    site = made(["1,4,busy,,no"], ["64,C10 V30,100,,,,1"], wanting(0.99, life_years=12))
    assert asked_of_cards(site)[["needed_gb", "endurance_tbw"]].isna().all(axis=None)


def wanting(assurance: float, **asked):
    return Requirements(**{"retention_days": 2, "life_years": 2, "speed_margin": 1, **asked}, assurance=assurance)


@pytest.mark.parametrize("assurance", [0.9, 0.8])
def test_the_life_told_is_the_age_that_nine_in_ten_reach_whatever_is_asked(assurance):
    # A card of 936 TB at 0.5 Mbit/s, 1.97 TB a year, does not wear: of 99 in 100 sound ones exp(-0.01 t), within 3
    # times either way, are left at t. That is nine in ten until 0.99 x E[exp(-r t)] = 0.9.
    site = made(["0.5,4,busy,,no"], ["512,C10 V30,936,,,,10"])
    row = site_plan(site.asking(replace(site.requirements, assurance=assurance))).plan.iloc[0]
    random = 0.01 * 3 ** (ndtri((np.arange(4000) + 0.5) / 4000) / ndtri(0.9))
    ages = np.arange(1, 60) / 4
    left = 0.99 * np.exp(-random[:, None] * ages).mean(axis=0)
    assert row["nine_in_ten_years"] == ages[left >= 0.9].max()
    assert (row["latest_change_years"] == row["nine_in_ten_years"]) == (assurance == 0.9)
    assert row["life_years"] > 400  # the flash is used up after 936 / 1.97 = 475 years
    assert site_plan(site).table["nine_in_ten_years"].tolist() == [f"{ages[left >= 0.9].max():g}"]


def test_the_age_that_nine_in_ten_reach_is_the_same_for_cameras_of_which_other_chances_are_asked():
    wanted = cameras("one,1,4,,,,,,", "other,1,4,,,,,,")
    made_ = promises(one := site(wanted, cards("middle,64,C10,3000,10")), one.rates)
    mixed = replace(made_, asked=np.array([[0.9], [0.8]]))
    assert mixed.nine_in_ten_years[0] == mixed.nine_in_ten_years[1] < mixed.latest_years[1]


def test_without_costs_a_card_is_changed_at_its_latest_age_where_it_is_assured():
    wanted = cameras("small slot,1,4,,8,,,,", "large slot,1,4,,512,,,,")
    one = site(wanted, cards("middle,64,C10,3000,10"))
    whole = promises(one, one.rates)
    aged = changes(one, whole)
    # As in test_choice: 0.91 of such cards still work at 6 years, and not at 6.25.
    np.testing.assert_array_equal(aged.change_years, [[np.nan], [6.0]])
    assert np.isnan(aged.cost).all()
