"""Replacements under a yearly budget: hand arithmetic, the rule on small cases, and what more money does."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.plan.budget import years_within_budget

CARDS = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 9), st.integers(1, 4)), min_size=1, max_size=8)


def columns(cards):
    cost, risk, due = np.array(cards, dtype=float).T
    return cost, risk, due


def by_the_rule(cost, risk, due, budget):
    """Year by year in plain words: of those due the riskiest first, until one does not fit; the first always does."""
    years = [0.0] * len(cost)
    year = 0
    while 0.0 in years:
        year += 1
        left = budget
        ready = sorted((c for c in range(len(cost)) if years[c] == 0 and due[c] <= year), key=lambda c: (-risk[c], c))
        for place, card in enumerate(ready):
            if place and cost[card] > left:
                break
            years[card], left = float(year), left - cost[card]
    return years


def test_the_riskiest_go_first_and_none_passes_one_that_does_not_fit():
    # 100 a year: 60 and 40; then 70, after which 40 does not fit although the 20 behind it would; then 40 and 20.
    found = years_within_budget([40, 70, 20, 60, 40], [4, 3, 1, 5, 2], budget_per_year=100)
    assert found.tolist() == [1, 2, 3, 1, 3]


@pytest.mark.parametrize(
    ("sizes", "bin_size", "bins"),
    [
        ([2, 5, 4, 7, 1, 3, 8], 11, [0, 0, 0, 1, 1, 1, 2]),  # toolbox_rs, documentation of its next-fit packing
        ([0.2, 0.5, 0.4, 0.7, 0.1, 0.3, 0.8], 1, [0, 0, 1, 2, 2, 3, 4]),  # bin-pack-svc, NextFitTest
    ],
)
def test_cards_in_the_order_of_their_risk_fill_years_as_next_fit_fills_bins_in_other_libraries(sizes, bin_size, bins):
    found = years_within_budget(sizes, -np.arange(len(sizes)), budget_per_year=bin_size)
    assert (found - 1).tolist() == bins


def test_a_card_dearer_than_the_budget_has_a_year_of_its_own():
    assert years_within_budget([10, 300, 10], [3, 2, 1], budget_per_year=100).tolist() == [1, 2, 3]


def test_none_is_replaced_before_it_is_due_and_one_put_off_stands_among_those_of_the_next_year():
    # Year 1: 60 of the first, the second waits. Year 2: the third, due then, is riskier, 50; with it 50 of the second.
    assert years_within_budget([60, 50, 50], [2, 1, 9], budget_per_year=100, due_year=[1, 1, 2]).tolist() == [1, 2, 2]


def test_costs_that_fill_the_budget_to_its_last_decimal_fit():
    assert years_within_budget([0.1, 0.2], [2, 1], budget_per_year=0.3).tolist() == [1, 1]


@given(CARDS, st.integers(1, 120))
def test_years_are_those_of_the_rule_and_no_year_spends_more_than_its_budget_but_on_one_dear_card(cards, budget):
    cost, risk, due = columns(cards)
    found = years_within_budget(cost, risk, budget_per_year=budget, due_year=due)
    assert found.tolist() == by_the_rule(cost, risk, due, budget)
    for year in set(found.tolist()):
        paid = cost[(found == year) & (cost > 0)]
        assert paid.sum() <= budget or len(paid) == 1


@given(CARDS, st.integers(1, 120), st.integers(0, 60))
def test_more_budget_never_means_a_later_year_for_any_card_and_so_no_dearer_wait(cards, budget, more):
    cost, risk, due = columns(cards)
    tight, loose = (
        years_within_budget(cost, risk, budget_per_year=money, due_year=due) for money in (budget, budget + more)
    )
    assert (loose <= tight).all()
    assert risk @ (loose - due) <= risk @ (tight - due)


@given(CARDS)
def test_without_a_budget_each_is_replaced_when_it_is_due_and_all_in_year_one_where_all_are(cards):
    cost, risk, due = columns(cards)
    assert (years_within_budget(cost, risk) == 1).all()
    assert (years_within_budget(cost, risk, due_year=due) == due).all()


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"budget_per_year": 0}, r"^budget_per_year: is 0.*; must be above 0"),
        ({"budget_per_year": float("nan")}, r"^budget_per_year: is nan"),
        ({"replacement_cost": [-1, 2]}, r"^replacement_cost: is -1"),
        ({"due_year": 0}, r"^due_year: is 0"),
        ({"due_year": [1, 1.5]}, r"^due_year: .*whole"),
        ({"risk": [1, 2, 3]}, r"^replacement_cost, risk, due_year: found shapes \(2,\), \(3,\)"),
        ({"due_year": [1, 2, 3]}, r"^replacement_cost, risk, due_year: found shapes"),
    ],
)
def test_what_makes_no_sense_is_refused(given, message):
    with pytest.raises(InputError, match=message):
        years_within_budget(**{"replacement_cost": [1, 2], "risk": [1, 1], **given})
