"""Checks of the counts of cards that the models of lots share."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values

MOST_CARDS = 1_000_000
"""Cards of the largest lot that is answered: no site has more (our choice)."""


def cards_tried(value: Numbers) -> Values:
    """Check how many cards are tried."""
    return checks.whole("cards", value, "cards", at_least=1)


def cards_that_may_fail(value: Numbers) -> Values:
    """Check how many of the cards tried may fail."""
    return checks.whole("failures", value, "failures", at_least=0)


def cards_of_lot(value: Numbers) -> Values:
    """Check how many cards a lot has."""
    checks.in_range("lot_cards", value, "cards", at_least=1, at_most=MOST_CARDS)
    return checks.whole("lot_cards", value, "cards", at_least=1)


def no_more_than(name: str, value: Values, other: str, most: Values) -> None:
    """Raise :class:`edgestore.InputError` when a count is above another one that holds it."""
    if np.any(np.asarray(value) > np.asarray(most)):
        raise checks.refuse(name, f"more than {other}", f"0 to {other}")
