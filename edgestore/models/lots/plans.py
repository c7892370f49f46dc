"""How many cards of a lot to try and how many may fail, for the risks that buyer and supplier accept."""

import math
from dataclasses import dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.trial import cards_for_trial
from edgestore.models.lots._counts import cards_of_lot, cards_that_may_fail, no_more_than
from edgestore.models.lots.acceptance import acceptance_chance, lot_acceptance_chance

LEAST_RISK, MOST_RISK = 0.0001, 0.5
"""No trial of some cards proves anything beyond all doubt; a risk of a half is a toss."""

MOST_FAILURES = 1000
"""Plans in which more cards may fail are not looked for (our choice)."""


@dataclass(frozen=True, kw_only=True)
class LotPlan:
    """How many cards of a lot to try, how many may fail, and what that risks.

    Attributes
    ----------
    cards : int
        Cards to try.
    failures : int
        Cards of these that may fail.
    bad_passes : float
        Chance that a bad lot is accepted, a fraction.
    good_refused : float
        Chance that a lot of a good production is refused, a fraction.
    """

    cards: int
    failures: int
    bad_passes: float
    good_refused: float


def cards_for_lot(bad_cards: Numbers, buyer_risk: Numbers, *, lot_cards: Numbers, failures: Numbers = 0) -> Values:
    r"""Fewest cards to try so that one lot with so many bad cards is hardly ever accepted.

    Parameters
    ----------
    bad_cards : float or array_like
        Bad cards in a lot that is not wanted, a whole number and no fraction, 1 to ``lot_cards``.
    buyer_risk : float or array_like
        Chance with which such a lot may be accepted, a fraction, 0.0001 to 0.5.
    lot_cards : float or array_like
        Cards in the lot, a whole number and no fraction, 1 to 1 000 000.
    failures : float or array_like
        Cards of those tried that may fail, a whole number and no fraction, 0 or more and fewer than ``bad_cards``.

    Returns
    -------
    float or ndarray
        Count of cards, a whole number, of the broadcast shape; at most ``lot_cards``.

    Raises
    ------
    InputError
        When a number is missing or out of range, or as many cards may fail as are bad.

    Notes
    -----
    .. math:: n_\text{least} = \min\{n > c : P(n, c) \le \text{risk}\}

    with c failures allowed and P the :func:`lot_acceptance_chance`; all cards of the lot at most. A lot with more bad
    cards is accepted with a lower chance. For a production in place of one lot see
    :func:`edgestore.models.life.cards_for_trial`.

    References
    ----------
    The hypergeometric distribution. Examples: documentation of the open R package RSurveillance, page n.hypergeo.

    Examples
    --------
    10 cards of which 1 is bad: it is missed with a chance of (10 - n) / 10, which is a tenth for 9.

    >>> print(cards_for_lot(1, 0.1, lot_cards=10))
    9.0
    """
    bad, risk = checks.whole("bad_cards", bad_cards, "cards", at_least=1), _risk("buyer_risk", buyer_risk)
    lot, may_fail = cards_of_lot(lot_cards), cards_that_may_fail(failures)
    checks.broadcastable(bad_cards=bad, buyer_risk=risk, lot_cards=lot, failures=may_fail)
    no_more_than("bad_cards", bad, "lot_cards", lot)
    if np.any(np.asarray(may_fail) >= np.asarray(bad)):
        raise checks.refuse("failures", "as many as bad_cards or more", "fewer than bad_cards")
    shape = 0 * bad + 0 * risk + 0 * lot + 0 * may_fail  # carries the labels of a Series
    bad, risk, lot, may_fail = np.broadcast_arrays(*map(np.asarray, (bad, risk, lot, may_fail)))
    low, high = may_fail, lot
    while np.any(high - low > 1):
        middle = np.maximum(np.floor((low + high) / 2), 1)
        # A hair of the risk more: a chance that is the risk exactly must not fail by its last bit.
        enough = lot_acceptance_chance(bad, middle, lot_cards=lot, failures=may_fail) <= risk * (1 + 1e-12)
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return shape + high


def smallest_plan(
    acceptable_fraction: float,
    unacceptable_fraction: float,
    *,
    supplier_risk: float = 0.1,
    buyer_risk: float = 0.1,
    lot_cards: float | None = None,
) -> LotPlan:
    r"""Plan with the fewest cards that keeps the risks of buyer and supplier.

    Parameters
    ----------
    acceptable_fraction : float
        Fraction of bad cards that a good production has (the acceptable quality level, AQL), 0 or more and below
        ``unacceptable_fraction``.
    unacceptable_fraction : float
        Fraction of bad cards that makes a lot a bad one (the lot tolerance percent defective, LTPD), above 0 and at
        most 0.9999.
    supplier_risk : float
        Chance with which a lot of a good production may be refused, a fraction, 0.0001 to 0.5.
    buyer_risk : float
        Chance with which a bad lot may be accepted, a fraction, 0.0001 to 0.5.
    lot_cards : float, optional
        Cards in the lot, a whole number and no fraction, 1 to 1 000 000; a lot much larger than the trial when left
        out.

    Returns
    -------
    LotPlan
        Each count of cards, and each chance that the plan comes to, a fraction. Where no smaller trial keeps both risks
        it is all cards of the lot, of which none may fail and each bad one is replaced: then both chances are 0.

    Raises
    ------
    InputError
        When a number is out of range, or the two fractions are so close that more than 1000 cards would have to fail.

    Notes
    -----
    .. math:: n_c = \min\{n : P_\text{bad}(n, c) \le \text{buyer's risk}\}

    .. math:: c = \min\{c : 1 - P_\text{good}(n_c, c) \le \text{supplier's risk}\}

    with P the chances that a bad lot and one of a good production are accepted: for each number of failures c the least
    n that keeps the buyer's risk is found; the first c is taken whose n keeps the supplier's risk too. The buyer's risk
    is that of this lot, of which ``unacceptable_fraction`` (rounded up to whole cards) is bad: hypergeometric. The
    supplier's risk is that of all lots which he makes: binomial, whatever their size. A large lot is binomial for both.

    References
    ----------
    Two points of the operating-characteristic curve: NIST/SEMATECH e-Handbook, section 6.2.3.2 (from memory). Example:
    vignette of the open R package AccSamplingDesign, page Introduction.

    Examples
    --------
    1 % bad is good, 10 % is bad, both risks a tenth: with no failure 22 cards keep the buyer's, but 1 - 0.99^22 = 20 %
    of good lots would be refused. With one it is 38: 0.9^38 + 38 x 0.1 x 0.9^37 = 9.5 %.

    >>> plan = smallest_plan(0.01, 0.1)
    >>> print(plan.cards, plan.failures, f"{plan.bad_passes:.3f} {plan.good_refused:.3f}")
    38 1 0.095 0.055
    """
    bad = checks.one_number("unacceptable_fraction", unacceptable_fraction, above=0, at_most=1 - LEAST_RISK)
    good = checks.one_number("acceptable_fraction", acceptable_fraction, at_least=0)
    checks.single({"buyer_risk": buyer_risk, "supplier_risk": supplier_risk})
    buyer, supplier = _risk("buyer_risk", buyer_risk), _risk("supplier_risk", supplier_risk)
    if good >= bad:
        raise checks.refuse_value("acceptable_fraction", good, f"below unacceptable_fraction, {bad:g}")
    if lot_cards is None:
        may_fail = np.arange(MOST_FAILURES + 1.0)
        cards = cards_for_trial(1 - bad, 1 - buyer, failures=may_fail)
        passes = acceptance_chance(bad, cards, failures=may_fail)
    else:
        checks.single({"lot_cards": lot_cards})
        lot = cards_of_lot(lot_cards)
        bad_cards = _whole_cards(bad, lot)
        may_fail = np.arange(min(bad_cards, MOST_FAILURES + 1.0))
        cards = cards_for_lot(bad_cards, buyer, lot_cards=lot, failures=may_fail)
        passes = lot_acceptance_chance(bad_cards, cards, lot_cards=lot, failures=may_fail)
    refused = 1 - acceptance_chance(good, cards, failures=may_fail)
    kept = np.flatnonzero((refused <= supplier) & (cards < (lot_cards or math.inf)))
    if kept.size:
        c = int(kept[0])
        return LotPlan(cards=int(cards[c]), failures=c, bad_passes=float(passes[c]), good_refused=float(refused[c]))
    if lot_cards is None:
        mend = "Take fractions that lie further apart, or higher risks."
        raise checks.refuse(
            "acceptable_fraction", "a plan of too many cards", f"at most {MOST_FAILURES} failures", mend
        )
    return LotPlan(cards=int(lot_cards), failures=0, bad_passes=0.0, good_refused=0.0)


def _whole_cards(fraction: float, lot: float) -> float:
    """Cards that are such a fraction of a lot, or more: what is whole but for its last bit stays."""
    return math.ceil(round(fraction * lot, 9))


def _risk(name: str, value: Numbers) -> Values:
    mend = "A percentage is divided by 100."
    return checks.in_range(name, value, at_least=LEAST_RISK, at_most=MOST_RISK, mend=mend)
