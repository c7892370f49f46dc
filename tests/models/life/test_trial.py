"""A lot trial against published sizes, scipy's binomial law, and its three forms against one another."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore import InputError
from edgestore.models.life import cards_for_trial, confidence_of_trial, good_fraction_lower

GOOD, SURE, FAILURES = st.floats(0.05, 0.999), st.floats(0.01, 0.999), st.integers(0, 20)


def test_the_published_success_runs():
    # reliability: .999/.95 2995; relistats: .9/.9 22, .95/.95 59; by hand ln 0.05 / ln 0.99 = 298.07.
    assert cards_for_trial([0.999, 0.9, 0.95, 0.99], [0.95, 0.9, 0.95, 0.95]).tolist() == [2995, 22, 59, 299]


def test_a_trial_that_shows_just_what_is_asked_is_enough():
    # 1 - 1/2 and 1 - 1/8.
    assert cards_for_trial(0.5, [0.5, 0.875]).tolist() == [1, 3]
    assert (cards_for_trial(0.5, 0.5), cards_for_trial(0.5, 0.75)) == (1, 2)


def test_a_failure_that_is_allowed_asks_for_more_cards():
    # relistats: 38 and 93 with one failure.
    assert cards_for_trial([0.9, 0.95], [0.9, 0.95], failures=1).tolist() == [38, 93]


def test_the_published_confidences():
    # relistats; 1 - 0.7^8 = 0.942, 1 - 0.9^8 = 0.570, 0.9^10 = 0.349.
    found = confidence_of_trial([0.7, 0.9, 0.1], cards=[8, 8, 10], failures=[0, 0, 9])
    assert found == pytest.approx([0.942, 0.570, 0.349], abs=5e-4)


def test_the_published_lower_bound():
    # reliability: 29 of 30, two-sided 95 %.
    assert good_fraction_lower(30, failures=1, confidence=0.975) == pytest.approx(0.8278305443665873, rel=1e-12)


@given(GOOD, SURE, FAILURES)
def test_the_cards_are_the_fewest_that_show_it(good, sure, failures):
    cards = cards_for_trial(good, sure, failures=failures)
    assert stats.binom.sf(failures, cards, 1 - good) >= sure - 1e-9
    assert stats.binom.sf(failures, cards - 1, 1 - good) < sure + 1e-9


@given(st.integers(1, 300), FAILURES, SURE)
def test_the_lower_bound_is_shown_with_its_confidence(passed, failures, sure):
    cards = passed + failures
    bound = good_fraction_lower(cards, failures=failures, confidence=sure)
    assert confidence_of_trial(min(bound, 0.999999), cards=cards, failures=failures) == pytest.approx(sure, abs=2e-4)


@given(GOOD, st.integers(1, 500), FAILURES)
def test_scipy_gives_the_same_confidence(good, cards, failures):
    failed = min(failures, cards)
    found = confidence_of_trial(good, cards=cards, failures=failed)
    assert found == pytest.approx(stats.binom.sf(failed, cards, 1 - good), abs=1e-9)


def test_where_all_failed_nothing_is_shown():
    assert good_fraction_lower(4, failures=4) == 0
    assert confidence_of_trial(0.5, cards=4, failures=4) == 0


def test_of_one_card_that_passed_and_one_that_failed_the_bound_is_the_root_of_a_square():
    # More than one of two fail with (1 - g)^2, which is 0.25 for a half.
    assert good_fraction_lower(2, failures=1, confidence=0.25) == pytest.approx(0.5, rel=1e-12)


def test_a_large_trial_of_a_nearly_perfect_lot_is_found():
    # ln 0.0001 / ln 0.999999 = 9 210 335.8
    assert cards_for_trial(0.999999, 0.9999) == np.ceil(np.log(1e-4) / np.log1p(-1e-6))


@pytest.mark.parametrize("function", [confidence_of_trial, good_fraction_lower])
def test_more_failures_than_cards_are_refused(function):
    good = {"good_fraction": 0.9} if function is confidence_of_trial else {}
    with pytest.raises(InputError, match="failures: found more failures than cards; allowed: 0 to cards"):
        function(**good, cards=3, failures=4)
    with pytest.raises(InputError, match="failures: found more failures than cards"):
        function(**good, cards=3, failures=[1, 4])
