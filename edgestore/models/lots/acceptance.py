"""With which chance a lot is accepted when some of its cards are tried and a few may fail."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.lots._counts import cards_of_lot, cards_that_may_fail, cards_tried, no_more_than


def acceptance_chance(bad_fraction: Numbers, cards: Numbers, *, failures: Numbers = 0) -> Values:
    r"""Chance that a lot out of a long production is accepted.

    Parameters
    ----------
    bad_fraction : float or array_like
        Fraction of all cards so made that are bad, 0 to 1. Over an array of fractions the answer is the
        operating-characteristic curve of the plan.
    cards : float or array_like
        Cards of the lot that are tried, drawn at random, a whole number and no fraction, 1 or more.
    failures : float or array_like
        Cards of these that may fail, a whole number and no fraction, 0 to ``cards``.

    Returns
    -------
    float or ndarray
        Chance, a fraction, 0 to 1, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range, or more cards may fail than are tried.

    Notes
    -----
    .. math:: P(\text{accepted}) = \sum_{j=0}^{c} \binom{n}{j} p^j (1 - p)^{n - j}

    with n cards tried, c failures allowed and the fraction p bad: the binomial law (a type B curve). It holds for a
    lot of any size when the share is that of the production, and for one lot when that is much larger than what is
    tried. A bad card that is tried is taken to be seen.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 6.2.3.2 (from memory).

    Examples
    --------
    22 cards are tried and none may fail, one card in ten is bad: 0.9^22.

    >>> print(f"{acceptance_chance(0.1, 22):.4f}")
    0.0985
    """
    from scipy.stats import binom

    bad = checks.fraction("bad_fraction", bad_fraction)
    tried, may_fail = cards_tried(cards), cards_that_may_fail(failures)
    checks.broadcastable(bad_fraction=bad, cards=tried, failures=may_fail)
    no_more_than("failures", may_fail, "cards", tried)
    return 0 * bad + 0 * tried + 0 * may_fail + binom.cdf(*map(np.asarray, (may_fail, tried, bad)))


def lot_acceptance_chance(bad_cards: Numbers, cards: Numbers, *, lot_cards: Numbers, failures: Numbers = 0) -> Values:
    r"""Chance that one lot with so many bad cards in it is accepted.

    Parameters
    ----------
    bad_cards : float or array_like
        Bad cards in the lot, a whole number and no fraction, 0 to ``lot_cards``. Over all numbers of bad cards the
        answer is the operating-characteristic curve of the plan for this lot.
    cards : float or array_like
        Cards of the lot that are tried, drawn at random, a whole number and no fraction, 1 to ``lot_cards``.
    lot_cards : float or array_like
        Cards in the lot, a whole number and no fraction, 1 to 1 000 000.
    failures : float or array_like
        Cards of these that may fail, a whole number and no fraction, 0 to ``cards``.

    Returns
    -------
    float or ndarray
        Chance, a fraction, 0 to 1, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range, or more cards are bad or tried than the lot has.

    Notes
    -----
    .. math:: P(\text{accepted}) = \sum_{j=0}^{c} \binom{D}{j} \binom{N - D}{n - j} / \binom{N}{n}

    with n of N cards tried, D bad ones in the lot and c failures allowed: the hypergeometric law (a type A curve). What
    is tried is not put back. In a large lot it comes to :func:`acceptance_chance` of ``D / N``.

    References
    ----------
    The hypergeometric distribution.

    Examples
    --------
    4 of 10 cards are tried, none may fail, one is bad: it is among the other 6 with a chance of 6 in 10.

    >>> print(f"{lot_acceptance_chance(1, 4, lot_cards=10):.2f}")
    0.60
    """
    from scipy.stats import hypergeom

    bad, tried = checks.whole("bad_cards", bad_cards, "cards", at_least=0), cards_tried(cards)
    lot, may_fail = cards_of_lot(lot_cards), cards_that_may_fail(failures)
    checks.broadcastable(bad_cards=bad, cards=tried, lot_cards=lot, failures=may_fail)
    no_more_than("bad_cards", bad, "lot_cards", lot)
    no_more_than("cards", tried, "lot_cards", lot)
    no_more_than("failures", may_fail, "cards", tried)
    shape = 0 * bad + 0 * tried + 0 * lot + 0 * may_fail  # carries the labels of a Series
    return shape + hypergeom.cdf(*map(np.asarray, (may_fail, lot, bad, tried)))
