"""Cards of a kind that were tried teach the plan how many of it are weak."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.inputs.beliefs import Beliefs
from edgestore.inputs.card_list import read_cards
from edgestore.plan.beliefs_table import beliefs_table
from edgestore.plan.card_life import known_before
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.tables import as_csv

BEFORE = known_before(Beliefs())
CAMERAS = ("cameras.csv", b"camera,mean_mbit_s,cap_mbit_s,recording\nQuay,2,4,continuous\n")
HEAD = "card,capacity_gb,usable_fraction,speed_class,endurance_tbw,price"


def cards(head="", cells=""):
    return "cards.csv", f"{HEAD}{head}\nplain,256,0.97,U3 V30,100,20{cells}\n".encode()


def plan(head="", cells=""):
    return site_plan(read_lists(CAMERAS, cards(head, cells)), "camera")


def test_a_trial_that_finds_all_weak_cards_is_bayes_rule_on_their_share():
    # Shares w with chances p, 10 cards without a bad one: p (1 - w)^10 over its sum, by hand on the grid.
    weak, chance = BEFORE.weak_fraction, BEFORE.chance.sum(axis=(0, 1))
    by_hand = chance * (1 - weak) ** 10
    by_hand /= by_hand.sum()
    after = BEFORE.tried(10, 0, 1.0)
    assert after.mean_weak_fraction == pytest.approx(float(by_hand @ weak), rel=1e-12)
    assert after.chance.sum() == pytest.approx(1)
    assert after.mean_random_per_year == pytest.approx(BEFORE.mean_random_per_year)  # of these it says nothing


@given(st.integers(0, 2000), st.integers(0, 2000), st.floats(0.01, 1), st.floats(0.01, 20))
def test_more_cards_tried_with_none_bad_never_lower_the_chance_to_last(one, more, finds, years):
    fewer, all_of_them = BEFORE.tried(one, 0, finds), BEFORE.tried(one + more, 0, finds)
    at = np.array([[10.0]]), np.array([years])
    assert all_of_them.survival(*at)[0, 0, 0] >= fewer.survival(*at)[0, 0, 0] - 1e-12


@given(st.integers(1, 200), st.floats(0.01, 1))
def test_a_bad_card_among_those_tried_makes_more_of_them_weak(tried, finds):
    assert BEFORE.tried(tried, 1, finds).mean_weak_fraction > BEFORE.tried(tried, 0, finds).mean_weak_fraction


def test_none_tried_changes_no_byte_of_a_plan():
    without = plan()
    assert BEFORE.tried(0, 0, 0.5) is BEFORE
    for told in (plan(",tried_cards,weak_found", ",0,0"), plan(",tried_cards,weak_found,trial_finds", ",,,1")):
        assert as_csv(told.plan) == as_csv(without.plan)
        assert as_csv(beliefs_table(told.site)) == as_csv(beliefs_table(without.site))


def test_a_tested_lot_raises_the_chance_of_its_kind_in_the_plan_and_a_bad_one_lowers_it():
    kept = [
        float(made.plan["chance_kept"].iloc[0])
        for made in (plan(",tried_cards,weak_found", ",60,1"), plan(), plan(",tried_cards,trial_finds", ",400,1"))
    ]
    assert kept[0] < kept[1] < kept[2]
    told = beliefs_table(plan(",tried_cards,weak_found", ",60,1").site)
    assert told["basis"].str.contains("60 cards tried, 1 of them bad").any()


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        (",5,6,0.5", "weak_found at most tried_cards"),
        (",,1,0.5", "weak_found at most tried_cards"),
        (",1.5,0,0.5", "whole numbers of cards"),
        (",5,1,0", "trial_finds"),
        (",-1,0,1", "tried_cards"),
    ],
)
def test_a_trial_that_cannot_have_been_is_refused(cells, told):
    with pytest.raises(InputError, match=told):
        read_cards(cards(",tried_cards,weak_found,trial_finds", cells)[1])
