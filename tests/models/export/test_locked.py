"""Locked clips: what the ring has left, and the inverse."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.models.export import most_locked_gb, retention_with_locked_h
from edgestore.models.retention import retention_h

CAPACITIES = st.floats(1, 4000)
RATES = st.floats(0.1, 100)
FRACTIONS = st.floats(0.05, 1)


def test_a_quarter_of_the_card_locked_takes_a_quarter_of_the_hold():
    # 64 GB at 1.8 GB/h hold 35.556 h; 48 GB hold 26.667 h.
    assert retention_with_locked_h(64, 4, locked_gb=16) == pytest.approx(26.667, abs=0.0005)
    assert retention_with_locked_h(64, 4, locked_gb=0) == retention_h(64, 4)


@pytest.mark.parametrize("locked", [57.6, 64, 1000])
def test_a_card_full_of_locked_clips_holds_nothing_more(locked):
    assert retention_with_locked_h(64, 4, locked_gb=locked, usable_fraction=0.9) == pytest.approx(0)


@given(CAPACITIES, RATES, st.floats(0.01, 1), FRACTIONS, FRACTIONS)
def test_with_the_most_that_may_be_locked_the_card_holds_just_what_is_wanted(capacity, rate, share, recorded, usable):
    given_too = {"recorded_fraction": recorded, "usable_fraction": usable}
    wanted = share * retention_h(capacity, rate, **given_too)
    locked = most_locked_gb(wanted, capacity, rate, **given_too)
    assert 0 <= locked <= capacity * usable
    assert retention_with_locked_h(capacity, rate, locked_gb=locked, **given_too) == pytest.approx(wanted, rel=1e-6)
    assert most_locked_gb(2 * wanted / share, capacity, rate, **given_too) == 0
