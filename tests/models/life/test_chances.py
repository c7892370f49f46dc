"""Several cards last as coins fall."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.life import chance_that_k_of_n_last


@pytest.mark.parametrize("chance", [0.0, 0.3, 0.9, 1.0])
@pytest.mark.parametrize("n", [1, 2, 4])
def test_k_of_n_is_the_sum_over_all_ways_to_fail(n, chance):
    for k in range(n + 1):
        ways = [way for way in product([0, 1], repeat=n) if sum(way) >= k]
        expected = sum(chance ** sum(way) * (1 - chance) ** (n - sum(way)) for way in ways)
        assert chance_that_k_of_n_last(k, n, chance) == pytest.approx(expected, abs=1e-15)


def test_18_of_20_cards_that_last_with_90_percent():
    # 190 x 0.9^18 x 0.01 + 20 x 0.9^19 x 0.1 + 0.9^20 = 0.285180 + 0.270170 + 0.121577
    assert chance_that_k_of_n_last(18, 20, 0.9) == pytest.approx(0.676927, abs=1e-6)


@given(st.integers(1, 500), st.floats(0, 1))
def test_no_card_is_always_enough_and_all_are_the_power(n, chance):
    assert chance_that_k_of_n_last(0, n, chance) == 1
    assert chance_that_k_of_n_last(n, n, chance) == pytest.approx(chance**n, rel=1e-10, abs=1e-300)
    assert chance_that_k_of_n_last(1, n, chance) == pytest.approx(1 - (1 - chance) ** n, abs=1e-12)


@given(st.integers(1, 60), st.floats(0, 1))
def test_more_cards_asked_for_are_less_likely(n, chance):
    assert np.all(np.diff(chance_that_k_of_n_last(np.arange(n + 1), n, chance)) <= 1e-15)


@pytest.mark.parametrize(
    ("k", "n", "message"),
    [
        (3, 2, "k: found more cards than n; allowed: 0 to n cards"),
        (1.5, 2, "k: is 1.5 cards; must be whole cards"),
        (1, 2.5, "n: is 2.5 cards; must be whole cards"),
        ([1, 3], [2, 2], "k: found more cards than n"),
    ],
)
def test_cards_that_cannot_be_are_refused(k, n, message):
    with pytest.raises(InputError, match=message):
        chance_that_k_of_n_last(k, n, 0.9)
