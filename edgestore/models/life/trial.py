"""What a trial of some cards proves of the lot that they come from: how many to try, and what a result shows."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.few_failures import MOST_SURE

MOST_GOOD = 0.999999
"""A better lot than this would need more cards for its trial than any site has."""


def cards_for_trial(good_fraction: Numbers, confidence: Numbers, *, failures: Numbers = 0) -> Values:
    r"""Fewest cards to try before a large order, for *how sure are we?*: what must pass to trust the lot.

    Parameters
    ----------
    good_fraction : float or array_like
        Fraction of the lot that must be good, above 0 and at most 0.999999: that last so long, say, or that keep up.
    confidence : float or array_like
        Confidence that no worse lot passes, a fraction, above 0 and at most 0.9999.
    failures : float or array_like
        Cards that may fail in the trial, a whole number and no fraction, 0 or more.

    Returns
    -------
    float or ndarray
        Count of cards, a whole number, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    The least n for which :func:`confidence_of_trial` reaches the confidence. With no failure it is the success run,

    .. math:: n = \left\lceil \frac{\ln(1 - \text{confidence})}{\ln(\text{good fraction})} \right\rceil

    It holds as well for hours of footage: the largest of n measured hours
    that are independent is exceeded by less than ``1 - good_fraction`` of all hours, with that confidence.

    References
    ----------
    The binomial distribution. Examples: documentation of the open library reliability, Sample size required for no
    failures; test-suite of the open library relistats.

    Examples
    --------
    90 % of the lot good, with 90 % confidence: 0.9^22 = 0.098 is the first power below a tenth.

    >>> print(cards_for_trial(0.9, 0.9))
    22.0
    """
    good, sure, failed = _good(good_fraction), _confidence(confidence), _failures(failures)
    checks.broadcastable(good_fraction=good, confidence=sure, failures=failed)
    shape = 0 * good + 0 * sure + 0 * failed  # carries the labels of a Series
    good, sure, failed = np.broadcast_arrays(good, sure, failed)
    low, high = failed, failed + 1
    while np.any(short := _shown(good, high, failed) < sure):
        low, high = np.where(short, high, low), np.where(short, 2 * high, high)
    while np.any(high - low > 1):
        middle = np.floor((low + high) / 2)
        enough = _shown(good, middle, failed) >= sure
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return shape + high


def confidence_of_trial(good_fraction: Numbers, *, cards: Numbers, failures: Numbers = 0) -> Values:
    r"""Confidence that a lot is so good after a trial, for *how sure are we?*.

    Parameters
    ----------
    good_fraction : float or array_like
        Fraction of the lot that is claimed to be good, above 0 and at most 0.999999.
    cards : float or array_like
        Cards tried, a whole number and no fraction, 1 or more.
    failures : float or array_like
        Cards of these that failed, a whole number and no fraction, 0 to ``cards``.

    Returns
    -------
    float or ndarray
        Confidence, a fraction, 0 to 1, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range, or more cards failed than were tried.

    Notes
    -----
    .. math:: \text{confidence} = 1 - \sum_{j=0}^{\text{failures}} \binom{n}{j} (1 - g)^j g^{n - j}

    with n cards tried and the fraction g good. This is the chance that a lot with just that fraction good would have
    failed more often. The cards are drawn at random from a lot much larger than the trial.

    References
    ----------
    The binomial distribution. Examples: test-suite of the open library relistats.

    Examples
    --------
    8 of 8 cards pass: 1 - 0.7^8.

    >>> print(f"{confidence_of_trial(0.7, cards=8):.3f}")
    0.942
    """
    good, tried, failed = _good(good_fraction), _cards(cards), _failures(failures)
    checks.broadcastable(good_fraction=good, cards=tried, failures=failed)
    _no_more(failed, tried)
    return _shown(good, tried, failed)


def good_fraction_lower(cards: Numbers, *, failures: Numbers = 0, confidence: Numbers = 0.95) -> Values:
    r"""Fraction of a lot that is good at least, shown by a trial, for *how sure are we?*.

    Parameters
    ----------
    cards : float or array_like
        Cards tried, a whole number and no fraction, 1 or more.
    failures : float or array_like
        Cards of these that failed, a whole number and no fraction, 0 to ``cards``.
    confidence : float or array_like
        Confidence that the true fraction is not lower, a fraction, above 0 and at most 0.9999.

    Returns
    -------
    float or ndarray
        Fraction, 0 to 1, of the broadcast shape; 0 where all failed.

    Raises
    ------
    InputError
        When a number is missing or out of range, or more cards failed than were tried.

    Notes
    -----
    .. math:: \text{good} = B^{-1}(1 - \text{confidence};\, n - f,\, f + 1)

    with B the beta distribution, n cards tried and f failures; 0 where f is n. It is the good fraction for which
    :func:`confidence_of_trial` is the confidence, Clopper and Pearson's lower bound. With no failure it is ``(1 -
    confidence)^(1 / cards)``.

    References
    ----------
    Clopper and Pearson, Biometrika 26 (1934) 404 (from memory). Example: documentation of the open library
    reliability, One sample proportion.

    Examples
    --------
    22 of 22 cards pass: 0.1^(1/22).

    >>> print(f"{good_fraction_lower(22, confidence=0.9):.4f}")
    0.9006
    """
    from scipy.special import betaincinv

    tried, failed, sure = _cards(cards), _failures(failures), _confidence(confidence)
    checks.broadcastable(cards=tried, failures=failed, confidence=sure)
    _no_more(failed, tried)
    passed = tried - failed
    return betaincinv(np.maximum(passed, 1), failed + 1, 1 - sure) * (passed > 0)


def _shown(good: Values, cards: Values, failures: Values) -> Values:
    """Give the chance that more than so many of the cards fail where just that fraction is good."""
    from scipy.special import betainc

    return betainc(failures + 1, np.maximum(cards - failures, 1), 1 - good) * (cards > failures)


def _no_more(failures: Values, cards: Values) -> None:
    if np.any(np.asarray(failures) > np.asarray(cards)):
        raise checks.refuse("failures", "more failures than cards", "0 to cards")


def _good(value: Numbers) -> Values:
    return checks.in_range("good_fraction", value, above=0, at_most=MOST_GOOD, mend="A percentage is divided by 100.")


def _cards(value: Numbers) -> Values:
    return checks.whole("cards", value, "cards", at_least=1)


def _failures(value: Numbers) -> Values:
    return checks.whole("failures", value, "failures", at_least=0)


def _confidence(value: Numbers) -> Values:
    return checks.in_range("confidence", value, above=0, at_most=MOST_SURE, mend="A percentage is divided by 100.")
