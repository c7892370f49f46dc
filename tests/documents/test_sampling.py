"""How many cards of a lot are tried, against hand arithmetic, and what the document says of it."""

from math import ceil, comb

import pytest
from proposals import demo
from test_page import every, section_of, words

from edgestore.documents.sampling import BAD_LOT, GOOD_LOT, cards_tried

SPACE = "{http://www.w3.org/1999/xhtml}"


def one(cards, spares=0):
    [row] = cards_tried([{"lot": 1, "cards": cards, "spares": spares}])
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
    assert one(182, 18) == {"lot": "1", **told}


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


def test_the_document_says_for_each_lot_of_the_order_how_many_cards_are_tried():
    section = section_of(demo(), "acceptance")
    [table] = [table for table in every(section, "table") if words(table[0]).startswith("Cards of each lot to try")]
    rows = [[words(cell) for cell in row] for row in table.iter(f"{SPACE}tr")][1:]
    order = demo().lots
    assert [row[:3] for row in rows] == [
        [str(lot), str(cards + spares), "all: every bad card is found and replaced"]
        for lot, cards, spares in order[["lot", "cards", "spares"]].itertuples(index=False)
    ]
    text = words(section)
    assert "A lot is bad when 10 % of its cards or more would fail" in text.replace("\N{NO-BREAK SPACE}", " ")
    assert "every card" not in words(next(t for t in every(section, "table") if "On delivery" in words(t[0])))
