"""How many cards of a lot are tried, against hand arithmetic, and what the document says of it."""

from math import ceil, comb

import numpy as np
import pytest
from proposals import demo
from scipy import stats
from test_page import every, section_of, words

from edgestore.documents.sampling import BAD_LOT, GOOD_LOT, cards_tried, what_a_common_cause_does

SPACE = "{http://www.w3.org/1999/xhtml}"


def one(cards, spares=0, correlation=0.1):
    [row] = cards_tried([{"lot": 1, "cards": cards, "spares": spares}], correlation)
    return {name: text.replace("\N{NO-BREAK SPACE}", " ") for name, text in row.items()}


def passes(bad, tried, lot):
    """Chance that at most one of the bad cards is among those tried."""
    return (comb(lot - bad, tried) + bad * comb(lot - bad, tried - 1)) / comb(lot, tried)


def test_of_two_hundred_cards_35_are_tried_and_one_may_fail():
    assert passes(20, 35, 200) == pytest.approx(0.0995, abs=5e-5)
    assert passes(20, 34, 200) > 0.1  # one card fewer is not enough
    assert 1 - 0.99**22 > 0.1  # and where none may fail, more than a tenth of good lots are refused: 19.8 %
    # 1 - 0.99^35 - 35 x 0.01 x 0.99^34 = 4.8 %
    told = {"delivered": "200", "tried": "35", "may_fail": "1", "bad_passes": "10 %", "good_refused": "5 %"}
    assert told.items() < one(182, 18).items()


@pytest.mark.parametrize("delivered", [1, 2, 9, 20, 59])
def test_of_a_small_lot_all_are_tried_and_no_chance_is_told(delivered):
    # A chance to pass of 0 % was told of a lot that nobody passes or refuses: each bad card in it is found.
    told = one(delivered)
    assert {told[name] for name in ("tried", "may_fail", "bad_passes", "good_refused")} == {""}


def test_half_of_sixty_is_tried_and_of_fifty_nine_all():
    # 6 are bad: 30 tried and one failing pass 9.7 %, and 29 tried 11.2 %.
    assert passes(6, 30, 60) == pytest.approx(0.0973, abs=1e-3)
    assert passes(6, 29, 60) > 0.1
    assert (one(60)["tried"], one(59)["tried"]) == ("30", "")


def test_no_risk_is_told_lower_than_it_is():
    for delivered in (60, 75, 100, 150, 500):
        told = one(delivered)
        tried, bad = int(told["tried"]), ceil(BAD_LOT * delivered)
        refused = 1 - (1 - GOOD_LOT) ** tried - tried * GOOD_LOT * (1 - GOOD_LOT) ** (tried - 1)
        assert told["may_fail"] == "1"
        assert 0 <= int(told["bad_passes"].split()[0]) - 100 * passes(bad, tried, delivered) < 1
        assert 0 <= int(told["good_refused"].split()[0]) - 100 * refused < 1


def test_a_lot_is_bad_by_the_beta_binomial_law_and_a_trial_that_passes_moves_that_by_bayes_rule():
    # Of 200 cards of a production of which 1 % is bad, with a correlation of 0.1: a = 0.09, b = 8.91.
    count = np.arange(201)
    law = stats.betabinom.pmf(count, 200, 0.09, 8.91)
    passed = law * stats.hypergeom.cdf(1, 200, count, 35)
    told = one(200)
    assert told["is_bad"] == f"{ceil(100 * law[20:].sum())} %"
    assert told["still_bad"] == f"{ceil(100 * passed[20:].sum() / passed.sum())} %"
    # Of 4 cards one is a tenth or more: none is bad with (8.91 9.91 10.91 11.91) / (9 10 11 12).
    assert one(4)["is_bad"] == f"{ceil(100 * (1 - 8.91 * 9.91 * 10.91 * 11.91 / (9 * 10 * 11 * 12)))} %"
    assert one(4)["still_bad"] == ""


def test_the_document_says_what_a_common_cause_does_to_its_largest_lot():
    text = words(section_of(demo(), "acceptance")).replace("\N{NO-BREAK SPACE}", " ")
    largest = int((demo().lots["cards"] + demo().lots["spares"]).max())
    together, apart = (
        1 - law for law in (stats.betabinom.cdf(1, largest, 0.09, 8.91), stats.binom.cdf(1, largest, 0.01))
    )
    assert f"Of a lot of {largest} cards two cards or more are bad with {100 * together:.1f} % so" in text
    assert apart < 0.001  # less than the tenth of a percent to which it is told
    assert "and with less than 0.1 % if cards were bad independently" in text


def test_two_bad_cards_are_told_as_a_chance_in_a_small_lot_and_in_a_large_one():
    def told(cards):
        return what_a_common_cause_does([{"cards": cards, "spares": 0}], 0.1, "8").replace("\N{NO-BREAK SPACE}", " ")

    # Independent, 1 % bad: of 3, 3 x 0.01^2 x 0.99 + 0.01^3 = 0.0298 %; of 10, 1 - 0.99^10 - 0.1 x 0.99^9 = 0.43 %.
    assert "and with less than 0.1 % if cards were bad independently" in told(3)
    assert "and with 0.4 % if cards were bad independently" in told(10)


def test_the_document_says_for_each_lot_of_the_order_how_many_cards_are_tried():
    section = section_of(demo(), "acceptance")
    [table] = [table for table in every(section, "table") if words(table[0]).startswith("Cards of each lot to try")]
    rows = [[words(cell) for cell in row] for row in table.iter(f"{SPACE}tr")][1:]
    order = demo().lots
    assert [row[:3] for row in rows] == [
        [str(lot), str(cards + spares), "all: each card that fails its trial is replaced"]
        for lot, cards, spares in order[["lot", "cards", "spares"]].itertuples(index=False)
    ]
    text = words(section)
    assert "A lot is bad when 10 % of its cards or more would fail" in text.replace("\N{NO-BREAK SPACE}", " ")
    assert "every card" not in words(next(t for t in every(section, "table") if "On delivery" in words(t[0])))
