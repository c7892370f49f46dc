"""The weak share after a trial against the beta law and Bayes by hand."""

import numpy as np
import pytest

from edgestore import InputError
from edgestore.models.lots import updated_weak_fraction
from edgestore.plan.card_life import known_before


def test_on_a_beta_law_it_is_a_beta_law():
    # Beta(2, 50) and 3 of 40 failed: Beta(5, 87), of mean 5 / 92.
    shares = (np.arange(20_000) + 0.5) / 20_000
    after = updated_weak_fraction(shares, shares * (1 - shares) ** 49, cards=40, failures=3)
    assert after.mean_untried == pytest.approx(5 / 92, rel=1e-6)


def test_a_card_that_passed_is_no_weak_one_where_the_trial_shows_all_of_them():
    after = updated_weak_fraction([0.01, 0.2], [0.9, 0.1], cards=10)
    assert after.mean_passed == 0
    # 0.98698 x 0.01 + 0.01302 x 0.2
    assert after.mean_untried == pytest.approx(0.012474, abs=1e-6)


def test_a_trial_that_hardly_shows_weak_cards_says_hardly_anything():
    before = np.array([0.9, 0.1])
    after = updated_weak_fraction([0.01, 0.2], before, cards=10, detected_fraction=1e-6)
    assert after.chance == pytest.approx(before, abs=1e-5)
    assert after.mean_passed == pytest.approx(0.029, abs=1e-5)


def test_where_all_cards_failed_and_all_are_weak_nothing_passed():
    after = updated_weak_fraction([0.5, 1.0], [0.5, 0.5], cards=2, failures=2)
    # 0.25 against 1
    assert after.chance == pytest.approx([0.2, 0.8])
    assert after.mean_passed == 0


def test_the_grid_of_the_plans_belief_goes_in_as_it_is():
    from edgestore.inputs.beliefs import Beliefs

    kind = known_before(Beliefs())
    of_weak = kind.chance.sum(axis=(0, 1))
    after = updated_weak_fraction(kind.weak_fraction, of_weak, cards=50)
    worse = updated_weak_fraction(kind.weak_fraction, of_weak, cards=50, failures=5)
    assert after.mean_untried < kind.mean_weak_fraction < worse.mean_untried
    assert after.chance.sum() == pytest.approx(1)


def test_what_cannot_have_been_seen_and_rows_of_unlike_length_are_refused():
    with pytest.raises(InputError, match=r"allows what was seen; allowed: above 0 for one\. Fix: Give shares"):
        updated_weak_fraction([0.0], [1.0], cards=3, failures=1)
    with pytest.raises(InputError, match=r"chance: found shape \(1,\); allowed: one row as long as weak_fraction"):
        updated_weak_fraction([0.1, 0.2], [1.0], cards=3)
    with pytest.raises(InputError, match=r"chance: found shape \(1, 2\); allowed: one row"):
        updated_weak_fraction([[0.1, 0.2]], [[0.5, 0.5]], cards=3)
    with pytest.raises(InputError, match="failures: is 4"):
        updated_weak_fraction([0.1], [1.0], cards=3, failures=4)


def test_a_trial_of_thousands_leaves_the_share_that_was_seen():
    # (0.5^2)^5000 against (0.4 x 0.6)^5000: each is 0 as a float, the ratio is e^204.
    after = updated_weak_fraction([0.4, 0.5], [0.5, 0.5], cards=10_000, failures=5_000)
    assert after.chance == pytest.approx([0, 1])
    # With a hundred times as many cards the ratio itself is beyond a float.
    assert updated_weak_fraction([0.4, 0.5], [0.5, 0.5], cards=10**6, failures=500_000).chance.tolist() == [0, 1]


def test_a_trial_that_shows_half_of_the_weak_cards_leaves_the_other_half_among_those_that_passed():
    # A share of 0.4 for sure, 0.2 of all are seen: 0.4 x 0.5 / (1 - 0.2). One card tried, none failed.
    after = updated_weak_fraction([0.4], [1.0], cards=1, detected_fraction=0.5)
    assert (after.mean_untried, after.mean_passed) == pytest.approx((0.4, 0.25))


def test_a_detected_share_above_1_is_refused():
    with pytest.raises(InputError, match=r"^detected_fraction: is 1\.5"):
        updated_weak_fraction([0.1], [1.0], cards=3, detected_fraction=1.5)
