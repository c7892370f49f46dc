"""Is this card what its label says: registers against the label, and what the trial of a lot proves."""

import math

import numpy as np
import pytest
from made_registers import closed, register
from scipy import stats

from edgestore import InputError
from edgestore.answers.label import EXAMPLE, label_check
from edgestore.figures.lots import LotFigure
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
    assert said(label_check("", 256)).startswith(
        "A lot of 200 with 20 bad cards (10 % or more) passes in 9.9 % of cases."
    )


def test_the_bad_cards_are_those_of_the_lot_and_the_chance_of_a_good_one_is_that_of_a_production():
    # A tenth of 205 is 20.5, so 21 bad cards: at most 1 of 35 tried with [C(184, 35) + 21 C(184, 34)] / C(205, 35). One
    # in a hundred of 205 would be 2.05 cards: it is a production's, 1 - 0.99^35 - 35 x 0.01 x 0.99^34.
    passes = (math.comb(184, 35) + 21 * math.comb(184, 34)) / math.comb(205, 35)
    refused = 1 - 0.99**35 - 35 * 0.01 * 0.99**34
    assert (round(100 * passes, 1), round(100 * refused, 1)) == (9.2, 4.8)
    answer = label_check("", lot_cards=205)
    assert said(answer) == (
        "A lot of 205 with 21 bad cards (10 % or more) passes in 9.2 % of cases. Of lots from a production with 1 %"
        " bad, 4.8 % fail."
    )
    assert answer.table["what"].iloc[:2].str.replace(NO_BREAK, " ").tolist() == [
        "21 of 205 bad: passes with a chance of",
        "production with 1 % bad: refused with a chance of",
    ]
    told = LotFigure(answer).alt_text().replace(NO_BREAK, " ")
    assert "9.2 % with 10.2 %. Of lots from a production with 1.0 % bad 95 % are accepted." in told


def test_a_lot_of_which_every_card_is_tried_leaves_nothing_to_chance_and_is_told_so():
    told = said(label_check("", lot_cards=10, tried_cards=10, may_fail=0))
    assert told == "All 10 cards of the lot are tried, so nothing is left to chance: it passes if at most 0 fail."


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
    assert said_of["production with 1 % bad: refused with a chance of"] == "3.9 %"


def test_a_single_card_may_be_tried():
    # One bad among ten is not the one that is tried in 9 of 10 cases.
    assert label_check("", lot_cards=10, tried_cards=1, may_fail=0).unacceptable == pytest.approx((0.1, 0.9))


def test_a_trial_that_may_fail_more_cards_than_are_bad_lets_the_lot_pass():
    # 5 % of 18 cards is one bad card, and six may fail.
    answer = label_check("", lot_cards=18, tried_cards=7, may_fail=6, unacceptable_fraction=0.05)
    assert answer.unacceptable == pytest.approx((1 / 18, 1))


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


def test_what_the_first_year_may_bring_is_told_for_one_batch_and_several():
    # 20 cards, 1 % bad of which 1 - exp(-4) fail, of the others 1 - exp(-0.01): 0.0196674 each, 0.3933 of 20.
    answer = label_check("", lot_cards=20, tried_cards=4, may_fail=0)
    of_batches = answer.table[answer.table["about"] == "batches"]
    assert of_batches["found"].iloc[0] == "0.39"
    each = 0.01 * (1 - np.exp(-4)) + 0.99 * (1 - np.exp(-0.01))
    counts = np.arange(7)  # up to three tenths of 20
    assert answer.first_year_shares == pytest.approx(counts / 20)
    assert answer.first_year[0] == pytest.approx(stats.binom.sf(counts, 20, each))
    assert answer.first_year[0][5] < answer.first_year[4][5] < answer.first_year[2][5] < answer.first_year[1][5]
    # None of 4 bad: 0.01 x 0.9 / (0.9 + 0.4)
    assert of_batches["found"].iloc[-1] == f"0.7{NO_BREAK}%"


def test_without_correlation_one_batch_is_like_four_and_a_trial_says_nothing_of_the_rest():
    answer = label_check("", batch_correlation=0)
    for batches in (1, 2, 4):
        assert answer.first_year[batches] == pytest.approx(answer.first_year[0], abs=1e-12)
    assert answer.table["found"].iloc[-1] == f"1.0{NO_BREAK}%"


def test_a_register_printed_one_byte_to_the_right_is_told_as_such_and_compares_no_capacity():
    told = label_check("cid: 00ad4c5355534430301038942790018a")
    assert told.sentence.startswith("The registers state no capacity, so nothing was compared with the label.")
    [remark] = told.table[told.table["about"] == "remark"].itertuples()
    assert remark.what == "print of the CID"
    assert "one byte to the right" in remark.found


def test_the_first_year_is_told_by_the_chance_of_more_than_a_tenth_and_by_the_spares_that_19_in_20_need():
    # As above, 0.0196674 each and independent: more than 2 of 20 with 0.7 %, more than 1 with 5.8 %, so that 1 spare is
    # not enough for 95 %. More than 20 of 200: below one in a hundred million.
    each = 0.01 * (1 - np.exp(-4)) + 0.99 * (1 - np.exp(-0.01))
    more = stats.binom.sf([1, 2], 20, each)
    assert more == pytest.approx([0.058, 0.0068], abs=5e-4)
    few, many = (
        label_check("", lot_cards=lot, tried_cards=4, may_fail=0).table.set_index("what")["found"] for lot in (20, 200)
    )
    (told,) = (what for what in few.index if what.startswith("cards independent"))
    assert told.replace(NO_BREAK, " ") == "cards independent: more than 10 % of them fail in the first year with"
    assert few[told].replace(NO_BREAK, " ") == "0.7 %; 2 spares for 95 %"
    assert many[told].replace(NO_BREAK, " ").startswith("less than 0.1 %; ")


def test_where_cards_of_a_batch_are_all_alike_many_failures_are_likelier_in_four_batches_and_it_is_said():
    # A batch is bad as a whole or not at all: the only one with 1 %; one or more of four with 1 - 0.99^4 = 3.94 %, and
    # it is a quarter of the cards, above the tenth that is told. More than a quarter takes two of four: 6 x 0.01^2.
    answer = label_check("", batch_correlation=0.9999)
    one, four = (answer.first_year[batches] for batches in (1, 4))
    assert (one[20], four[20]) == (pytest.approx(0.01, abs=2e-4), pytest.approx(0.0394, abs=2e-4))
    assert (one[60], four[60]) == (pytest.approx(0.01, abs=2e-4), pytest.approx(0.0006, abs=1e-4))
    (told,) = (text for text in answer.warnings if "likelier" in text)
    assert f"with 3.9{NO_BREAK}% in four batches, with 1.0{NO_BREAK}% in one." in told
    # As is assumed, most of a batch are not alike, and more batches save that too: nothing is to be said.
    for correlation in (0, 0.1):
        answer = label_check("", batch_correlation=correlation)
        assert not [text for text in answer.warnings if "likelier" in text]
        assert answer.first_year[4][20] <= answer.first_year[1][20] + 1e-12


def test_where_two_batches_make_many_failures_likeliest_these_are_named():
    # Of 40 cards more than 4 are bad, by the beta-binomial law with a mean of 0.02 and a correlation of 0.3 (scipy):
    # 5.4 % in one batch, 6.1 % in two of 20, 5.2 % in four of 10. Random failures add as much to each.
    answer = label_check("", lot_cards=40, tried_cards=2, acceptable_fraction=0.02, batch_correlation=0.3)
    (told,) = (text for text in answer.warnings if "likelier" in text)
    assert "in two batches, with" in told


def test_a_card_of_half_a_gigabyte_has_a_label_too():
    assert label_check("", label_gb=0.5).sentence == label_check("").sentence  # no registers to hold it against


def test_the_curve_goes_to_three_tenths_of_the_lot_in_steps_of_a_two_hundredth():
    assert label_check("", lot_cards=2000).shares == pytest.approx([step / 200 for step in range(61)])


def test_a_lot_of_one_card_is_told_of_as_any_other():
    # 1 - exp(-0.01) of the good and 1 - exp(-4) of the 1 % bad fail in a year: 0.0197, whatever the batches.
    answer = label_check("", lot_cards=1, tried_cards=1, may_fail=0)
    of_batches = answer.table[answer.table["about"] == "batches"]
    assert of_batches["found"].iloc[0] == "0.02"
    assert [chance.tolist() for chance in answer.first_year.values()] == [pytest.approx([0.0196674], abs=1e-6)] * 4


@pytest.mark.parametrize(("tried", "passes"), [(9, "10 %"), (8, "20 %")])
def test_a_chance_of_a_tenth_is_told_without_a_digit_and_is_what_a_buyer_risks(tried, passes):
    # The bad one of 10 cards is not among those tried in 1 or 2 of 10 cases.
    answer = label_check("", lot_cards=10, tried_cards=tried, may_fail=0)
    found = answer.table.set_index("what")["found"]
    assert found["1 of 10 bad: passes with a chance of"] == passes.replace(" ", NO_BREAK)
    assert bool(answer.warnings) == (tried == 8)


def test_what_registers_are_is_said_where_there_are_any():
    said_of_registers = [
        any("Registers are what the card says of itself" in text for text in label_check(text_).assumptions)
        for text_ in (EXAMPLE, "")
    ]
    assert said_of_registers == [True, False]


def test_a_doubt_of_registers_without_a_capacity_is_told():
    # A reserved version of the CSD, which states no capacity and is of no family.
    reserved = closed(register(128, {(127, 126): 3}))
    assert said(label_check(f"csd: {reserved}")).startswith("The registers raise 1 doubt: family. ")
