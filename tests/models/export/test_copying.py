"""Copying a card: the slower of reader and card decides."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.models.export import copy_h

RATES = st.floats(0.1, 1000)


def test_64_gb_at_20_mbyte_s_take_3200_s_however_fast_the_other_is():
    # 64 000 MB / 20 Mbyte/s = 3200 s
    assert copy_h(64, 20, 90) * 3600 == pytest.approx(3200)
    assert copy_h(64, 90, 20) * 3600 == pytest.approx(3200)


@given(st.floats(0, 4000), RATES, RATES, RATES)
def test_more_to_copy_takes_in_proportion_longer_and_a_faster_reader_never_longer(used, one, other, card):
    slow, fast = sorted((one, other))
    assert copy_h(2 * used, slow, card) == pytest.approx(2 * copy_h(used, slow, card))
    assert copy_h(used, fast, card) <= copy_h(used, slow, card)
