"""Plans for lots against hand arithmetic; each is the smallest that keeps its risks."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore import InputError
from edgestore.models.lots import acceptance_chance, cards_for_lot, lot_acceptance_chance, smallest_plan


def test_the_smallest_trial_of_a_lot_without_a_failure_by_hand():
    # 1 bad of 10: (10 - n) / 10 is a tenth for 9. 2 bad of 20: 6 x 5 / 380 = 0.079 for 14, 7 x 6 / 380 = 0.111 for 13.
    # 1 bad of 5: 1 / 5 is a fifth for 4, 2 / 5 for 3.
    assert cards_for_lot(1, [0.2, 0.4], lot_cards=5).tolist() == [4, 3]
    # 1 bad of 9: 1 - 8 / 9 = 0.111 for 8, so all 9. All bad: one shows it.
    assert cards_for_lot([1, 2, 1, 5], 0.1, lot_cards=[10, 20, 9, 5]).tolist() == [9, 14, 9, 1]


@given(st.integers(2, 300), st.integers(1, 300), st.integers(0, 5), st.floats(0.001, 0.5))
def test_one_card_fewer_does_not_keep_the_buyers_risk(lot, bad, failures, risk):
    bad = min(bad, lot)
    failures = min(failures, bad - 1)
    cards = int(cards_for_lot(bad, risk, lot_cards=lot, failures=failures))
    assert lot_acceptance_chance(bad, cards, lot_cards=lot, failures=failures) <= risk * (1 + 1e-9)
    if cards - 1 > failures:
        assert lot_acceptance_chance(bad, cards - 1, lot_cards=lot, failures=failures) > risk


def test_the_suppliers_risk_makes_the_plan_allow_a_failure():
    # 1 - 0.99^22 = 0.198 is above a tenth: one may fail. 0.99^38 + 38 x 0.01 x 0.99^37 = 0.9446.
    strict = smallest_plan(0.01, 0.1, supplier_risk=0.2)
    fair = smallest_plan(0.01, 0.1)
    assert (strict.cards, strict.failures) == (22, 0)
    assert (fair.cards, fair.failures) == (38, 1)
    assert strict.good_refused == pytest.approx(0.198, abs=5e-4)
    assert fair.good_refused == pytest.approx(0.0554, abs=5e-4)


def test_in_a_lot_the_buyers_risk_is_of_this_lot_and_the_suppliers_of_his_production():
    plan = smallest_plan(0.01, 0.1, lot_cards=200)
    assert plan.bad_passes == lot_acceptance_chance(20, plan.cards, lot_cards=200, failures=plan.failures)
    assert plan.good_refused == 1 - acceptance_chance(0.01, plan.cards, failures=plan.failures)
    assert plan.cards < smallest_plan(0.01, 0.1).cards


def test_a_share_of_a_lot_is_rounded_up_to_whole_cards():
    # A tenth of 15 is 2 cards: 4 x 3 / 210 = 0.057 for 11, 5 x 4 / 210 = 0.095 for 10, 6 x 5 / 210 = 0.143 for 9.
    assert smallest_plan(0, 0.1, lot_cards=15).cards == 10
    # 0.07 x 100 is 7.000000000000001 as a float, and 7 cards.
    assert smallest_plan(0, 0.07, lot_cards=100).bad_passes == lot_acceptance_chance(
        7, smallest_plan(0, 0.07, lot_cards=100).cards, lot_cards=100
    )


@pytest.mark.parametrize("lot", [1, 5, 9])
def test_where_no_smaller_trial_will_do_all_are_tried_and_no_risk_is_left(lot):
    plan = smallest_plan(0.01, 0.1, lot_cards=lot)
    assert (plan.cards, plan.failures, plan.bad_passes, plan.good_refused) == (lot, 0, 0, 0)


def test_of_a_million_cards_a_share_is_so_many_whole_ones():
    # 0.5006 x 1 000 000 is 500600.00000000006 as a float, and 500 600 cards.
    plan = smallest_plan(0, 0.5006, lot_cards=1_000_000)
    assert plan.bad_passes == lot_acceptance_chance(500_600, plan.cards, lot_cards=1_000_000)


def test_a_risk_that_is_just_the_suppliers_is_kept():
    # 1 card, of 0.5 bad: half of the good lots are refused; of 0.9 bad a tenth passes.
    plan = smallest_plan(0.5, 0.9, supplier_risk=0.5, buyer_risk=0.2)
    assert (plan.cards, plan.failures, plan.good_refused) == (1, 0, 0.5)


def test_a_plan_in_which_1000_cards_may_fail_is_the_last_that_is_looked_for():
    # With scipy's binomial law: the fewest cards that keep the buyer's risk, and what they cost the supplier.
    sizes, good = np.arange(4000, 7000), 0.185945
    cards = {c: sizes[stats.binom.cdf(c, sizes, 0.2) <= 0.1][0] for c in (999, 1000, 1001)}
    assert stats.binom.sf(999, cards[999], good) > 0.1 >= stats.binom.sf(1000, cards[1000], good)
    plan = smallest_plan(good, 0.2)
    assert (plan.cards, plan.failures) == (cards[1000], 1000)
    closer = 0.185952
    assert stats.binom.sf(1000, cards[1000], closer) > 0.1 >= stats.binom.sf(1001, cards[1001], closer)
    message = "a plan of too many cards; allowed: at most 1000 failures. Fix: Take fractions that lie further apart"
    with pytest.raises(InputError, match=message):
        smallest_plan(closer, 0.2)


def test_in_a_lot_too_1000_cards_may_fail_and_no_more():
    # 1350 of 1500 are bad in a bad lot; the counts as above, with the hypergeometric law for the buyer.
    sizes, good = np.arange(1100, 1150), 0.8818066
    cards = {c: sizes[stats.hypergeom.cdf(c, 1500, 1350, sizes) <= 0.1][0] for c in (999, 1000, 1001)}
    assert stats.binom.sf(999, cards[999], good) > 0.1 >= stats.binom.sf(1000, cards[1000], good)
    plan = smallest_plan(good, 0.9, lot_cards=1500)
    assert (plan.cards, plan.failures) == (cards[1000], 1000)
    closer = 0.8818359
    assert stats.binom.sf(1000, cards[1000], closer) > 0.1 >= stats.binom.sf(1001, cards[1001], closer)
    assert smallest_plan(closer, 0.9, lot_cards=1500).cards == 1500


def test_fractions_the_wrong_way_round_or_too_close_are_refused():
    with pytest.raises(InputError, match=r"acceptable_fraction: is 0\.1; must be below unacceptable_fraction, 0\.05"):
        smallest_plan(0.1, 0.05)
    with pytest.raises(InputError, match=r"acceptable_fraction: is 0\.1; must be below unacceptable_fraction, 0\.1"):
        smallest_plan(0.1, 0.1)
    with pytest.raises(InputError, match=r"unacceptable_fraction: is 1; must be above 0 and at most 0\.9999"):
        smallest_plan(0.1, 1)


def test_as_many_failures_as_bad_cards_are_refused():
    with pytest.raises(InputError, match="failures: found as many as bad_cards or more; allowed: fewer than bad_cards"):
        cards_for_lot(2, 0.1, lot_cards=10, failures=2)
    with pytest.raises(InputError, match="failures: found as many as bad_cards or more"):
        cards_for_lot(2, 0.1, lot_cards=10, failures=[1, 2])
