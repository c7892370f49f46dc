"""Is this card what its label says: registers against the label, and what the trial of a lot proves."""

import numpy as np
import pytest

from edgestore import InputError
from edgestore.answers.label import EXAMPLE, label_check
from edgestore.text import NO_BREAK


def said(answer):
    return answer.sentence.replace(NO_BREAK, " ")


def test_registers_that_agree_and_those_that_do_not_are_told_first():
    assert said(label_check(EXAMPLE, 32)).startswith(
        "Nothing in the registers (SDHC, 31.9 GB) disagrees with the label."
    )
    wrong = label_check(EXAMPLE, 256)
    assert said(wrong).startswith("The registers (SDHC, 31.9 GB) raise 1 doubt: capacity.")
    assert "256" in wrong.warnings[0]
    assert said(label_check("", 256)).startswith("A lot of 200 with 10 % bad passes in 9.9 % of cases")


def test_the_curve_is_the_hypergeometric_law_of_the_lot():
    # 10 cards, 4 tried, none may fail: with D bad C(10 - D, 4) / C(10, 4): 1, 126/210, 70/210, 35/210.
    answer = label_check("", lot_cards=10, tried_cards=4, may_fail=0)
    assert answer.shares == pytest.approx([0, 0.1, 0.2, 0.3])
    assert answer.chance == pytest.approx([1, 0.6, 1 / 3, 1 / 6])
    assert answer.unacceptable == pytest.approx((0.1, 0.6))
    assert answer.acceptable == pytest.approx((0.01, 0.99**4))
    # 1 - 0.99^4 = 3.9 %
    told = dict(zip(answer.table["what"], answer.table["found"], strict=True))
    said_of = {what.replace(NO_BREAK, " "): found.replace(NO_BREAK, " ") for what, found in told.items()}
    assert said_of["1 % bad: refused with a chance of"] == "3.9 %"


def test_a_single_card_may_be_tried():
    # One bad among ten is not the one that is tried in 9 of 10 cases.
    assert label_check("", lot_cards=10, tried_cards=1, may_fail=0).unacceptable == pytest.approx((0.1, 0.9))


def test_the_example_keeps_a_tenth_of_risk_on_both_sides_and_a_weaker_trial_is_warned_of():
    assert label_check().warnings == ()
    weak = label_check("", tried_cards=5)
    assert "try 35 cards, of which 1 may fail" in weak.warnings[0]
    assert np.all(np.diff(label_check().chance) <= 0)


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ({"lot_cards": 10, "tried_cards": 11, "may_fail": 0}, "tried_cards"),
        ({"may_fail": 36}, "may_fail"),
        ({"may_fail": 0.5}, "may_fail"),
        ({"label_gb": 0}, "label_gb"),
        ({"acceptable_fraction": 0.1}, "acceptable_fraction"),
        ({"registers": "nothing in it"}, "Registers of the card"),
    ],
)
def test_what_cannot_be_is_refused_by_its_name(given, name):
    with pytest.raises(InputError, match=f"^{name}"):
        label_check(**given)
