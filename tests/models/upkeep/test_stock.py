"""Spares by cost against printed examples, plain sums over all counts of failures, and a search over all stocks."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore import InputError
from edgestore.models.upkeep import order_for_cost, spares_cost, spares_for_confidence, spares_for_cost

MEANS, COSTS, CVS = st.floats(0, 30), st.floats(0.1, 50), st.one_of(st.just(0.0), st.floats(0.05, 2))


def cost_by_sum(spares, mean, spare_cost, shortage_cost, cv):
    """Add up over all counts of failures what is left over and what is short."""
    law = stats.nbinom(1 / cv**2, 1 / (1 + cv**2 * mean)) if cv else stats.poisson(mean)
    failures = np.arange(3000)
    left, short = np.maximum(spares - failures, 0), np.maximum(failures - spares, 0)
    return float(law.pmf(failures) @ (spare_cost * left + shortage_cost * short))


def test_the_printed_newsvendor_with_poissons_law():
    # Snyder and Shen, example 4.7: mean 6, 1 for one left over, 4 for one short.
    assert spares_for_cost(6, spare_cost=1, shortage_cost=4) == 8
    costs = spares_cost([8, 5], 6, spare_cost=1, shortage_cost=4)
    assert costs == pytest.approx([3.5701069457709416, 6.590296024616343], rel=1e-12)


def test_the_printed_newsvendor_with_the_normal_law():
    # Snyder and Shen, example 4.3: mean 50, deviation 8, 0.18 and 0.70.
    order = order_for_cost(50, 8, spare_cost=0.18, shortage_cost=0.70)
    assert (order.cards, order.expected_cost) == pytest.approx((56.60395592743389, 1.9976051931766445), rel=1e-12)


@given(st.integers(0, 40), MEANS, COSTS, COSTS, CVS)
def test_the_cost_is_the_sum_over_all_counts_of_failures(spares, mean, spare_cost, shortage_cost, cv):
    found = spares_cost(spares, mean, spare_cost=spare_cost, shortage_cost=shortage_cost, failures_cv=cv)
    assert found == pytest.approx(cost_by_sum(spares, mean, spare_cost, shortage_cost, cv), rel=1e-8, abs=1e-8)


@given(MEANS, COSTS, COSTS, CVS)
def test_no_other_stock_costs_less(mean, spare_cost, shortage_cost, cv):
    costs = {"spare_cost": spare_cost, "shortage_cost": shortage_cost, "failures_cv": cv}
    best = spares_for_cost(mean, **costs)
    others = spares_cost(np.arange(2 * best + 10), mean, **costs)
    assert spares_cost(best, mean, **costs) <= others.min() * (1 + 1e-9) + 1e-9


def test_a_shortage_of_nine_spares_asks_for_nine_in_ten():
    means = [1, 2, 5, 10, 20]
    found = spares_for_cost(means, spare_cost=10, shortage_cost=90)
    assert found.tolist() == spares_for_confidence(means, 0.9).tolist()


def test_the_order_of_least_cost_is_the_least_of_the_loss_integral():
    # E(D - q)+ of a normal law is sd (phi(z) - z (1 - Phi(z))); tried on a fine grid.
    quantity = np.linspace(20, 80, 60_001)
    z = (quantity - 50) / 8
    short = 8 * (stats.norm.pdf(z) - z * stats.norm.sf(z))
    cost = 5 * (quantity - 50 + short) + 20 * short
    order = order_for_cost(50, 8, spare_cost=5, shortage_cost=20)
    assert order.cards == pytest.approx(quantity[cost.argmin()], abs=0.01)
    assert order.expected_cost == pytest.approx(cost.min(), rel=1e-6)


def test_a_shortage_of_just_9999_spares_is_taken():
    # The chance wanted is 9999 / 10000: by Poisson's law of mean 1, of 6 spares short with 0.000083, of 5 with 0.00059.
    assert spares_for_cost(1, spare_cost=1, shortage_cost=9999) == 6


def test_an_order_told_in_thousands_is_as_many_cards():
    # Snyder and Shen, example 4.3, in thousands of cards and of currency.
    order = order_for_cost(0.05, 0.008, spare_cost=0.18, shortage_cost=0.70)
    assert (order.cards, order.expected_cost) == pytest.approx((0.05660395592743389, 0.0019976051931766445), rel=1e-12)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"spare_cost": 0}, "spare_cost: is 0 currency; must be above 0 currency."),
        ({"shortage_cost": -1}, "shortage_cost: is -1 currency; must be above 0 currency."),
        ({"shortage_cost": 1e6}, "shortage_cost: found more than 9999 spares; allowed: at most 9999 times spare_cost."),
        ({"failures_cv": 11}, "failures_cv: is 11; must be 0 or more and at most 10."),
    ],
)
def test_what_costs_nothing_or_decides_nothing_is_refused(changed, message):
    for function in (spares_for_cost, lambda failures, **costs: spares_cost(3, failures, **costs)):
        with pytest.raises(InputError) as caught:
            function(6, **{"spare_cost": 1, "shortage_cost": 4, **changed})
        assert str(caught.value).startswith(message)


def test_half_a_spare_is_refused():
    with pytest.raises(InputError, match=r"spares: is 2\.5 cards; must be whole cards"):
        spares_cost(2.5, 6, spare_cost=1, shortage_cost=4)
