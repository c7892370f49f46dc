"""The chance to accept a lot against hand arithmetic, and its two laws against each other."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.life import confidence_of_trial
from edgestore.models.lots import acceptance_chance, lot_acceptance_chance


def test_the_curve_of_a_plan_over_an_array_of_shares_by_hand():
    # 2 tried, 1 may fail: 1 - p^2.
    assert acceptance_chance([0, 0.1, 0.5, 1], 2, failures=1) == pytest.approx([1, 0.99, 0.75, 0])


def test_the_curve_of_a_plan_for_one_lot_by_hand():
    # 2 of 4 tried, none may fail, 0 to 4 bad: C(4 - D, 2) / 6.
    assert lot_acceptance_chance(np.arange(5), 2, lot_cards=4) == pytest.approx([1, 3 / 6, 1 / 6, 0, 0])


def test_a_lot_that_is_tried_whole_passes_when_no_more_are_bad_than_may_fail():
    assert lot_acceptance_chance([1, 2, 3], 10, lot_cards=10, failures=2) == pytest.approx([1, 1, 0])


@given(st.integers(1, 300), st.integers(0, 5), st.floats(0.001, 0.9))
def test_it_is_what_a_trial_does_not_show(cards, failures, bad):
    failures = min(failures, cards)
    shown = confidence_of_trial(1 - bad, cards=cards, failures=failures)
    assert acceptance_chance(bad, cards, failures=failures) == pytest.approx(1 - shown, abs=1e-9)


@given(st.integers(1, 40), st.integers(0, 3))
def test_a_lot_much_larger_than_the_trial_is_as_a_production(cards, failures):
    failures = min(failures, cards)
    of_lot = lot_acceptance_chance(100_000, cards, lot_cards=1_000_000, failures=failures)
    assert of_lot == pytest.approx(acceptance_chance(0.1, cards, failures=failures), abs=3e-4)


def test_counts_that_cannot_be_are_refused_by_name():
    with pytest.raises(InputError, match="failures: found more than cards; allowed: 0 to cards"):
        acceptance_chance(0.1, 3, failures=4)
    with pytest.raises(InputError, match="bad_cards: found more than lot_cards"):
        lot_acceptance_chance([1, 11], 3, lot_cards=10)
    with pytest.raises(InputError, match="cards: found more than lot_cards"):
        lot_acceptance_chance(1, 11, lot_cards=10)
    with pytest.raises(InputError, match="lot_cards: is 1000001 cards; must be 1 or more and at most 1000000 cards"):
        lot_acceptance_chance(1, 11, lot_cards=1_000_001)
