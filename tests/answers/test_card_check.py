"""The verdict on a checked card, from what a check measured; the checks themselves are tests/inputs/bench."""

import pytest

from edgestore.answers.card_check import Label, Weight, checked_card
from edgestore.inputs.bench.check import FULL, QUICK, CardCheck, Run

SIZE_BYTES = 64 * 10**9


def reasons(mode=FULL, label=None, **measured):
    check = CardCheck("card", mode, True, SIZE_BYTES, SIZE_BYTES, is_removed=True, **measured)
    return {reason.name: reason.weight for reason in checked_card(check, label or Label()).reasons}


@pytest.mark.parametrize(
    ("mean", "slowest", "weight"),
    [(40, 30, None), (40, 29.9, Weight.LEAVES_OPEN), (29.9, 20, Weight.REFUSES), (30, 20, Weight.LEAVES_OPEN)],
)
def test_a_card_of_30_mbyte_s_is_slower_than_its_marks_below_that(mean, slowest, weight):
    found = reasons(label=Label(min_write_mbyte_s=30), runs=(Run(10**9, mean, slowest, 0.1),))
    assert found.get("slower than its marks") == weight


def test_a_quick_check_that_came_to_no_probe_says_nothing_of_probes():
    assert {"quick", "not tried"}.isdisjoint(reasons(QUICK))
