"""How many spare cards to keep, so that they last until more arrive."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.few_failures import MOST_SURE

MOST_FAILURES = 1e6
"""More failures in a lead time than this are a slip of units."""

KNOWN_CV = 3e-6
"""A mean that is known so well is known for certain: below it scipy's incomplete beta function loses digits."""

MOST_CV = 10
"""A mean that is known no better than this is not known at all."""


def chance_spares_last(spares: Numbers, failures: Numbers, failures_cv: Numbers = 0.0) -> Values:
    r"""Chance that a number of spares is enough.

    Parameters
    ----------
    spares : float or array_like
        Count of spare cards, a whole number, 0 or more.
    failures : float or array_like
        Expected count of failures within the lead time, all cards together, 0 to 1 000 000.
    failures_cv : float or array_like
        How well that expectation is known: its standard deviation over its mean, a plain ratio, 0 to 10; 0 is known for
        certain. A :class:`edgestore.models.life.RandomRate` learnt from records has ``1 / sqrt(a)``.

    Returns
    -------
    float or ndarray
        Chance, a fraction, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: P(N \le \text{spares}) = \sum_{j=0}^{\text{spares}} \frac{\lambda^j}{j!} e^{-\lambda}, \quad
        \lambda = \text{failures}

    N by Poisson's law. Where the rate is uncertain, gamma distributed with variance ``(cv failures)^2``, N is negative
    binomial:

    .. math:: P(N \le k) = \sum_{j=0}^{k} \frac{\Gamma(r + j)}{j!\, \Gamma(r)}\, p^r (1 - p)^j, \quad
        r = \frac{1}{\mathrm{cv}^2}, \quad p = \frac{r}{r + \lambda}

    Cards that
    wear out scatter less than Poisson says, which errs on the safe side; a bad batch or a heat wave makes them fail
    together, which does not.

    References
    ----------
    Barlow and Proschan, Statistical Theory of Reliability and Life Testing, 1981. Gamma mixture of Poisson laws:
    Greenwood and Yule 1920 (from memory).

    Examples
    --------
    No failure and no spare: exp(-1).

    >>> print(f"{chance_spares_last(0, 1):.4f}")
    0.3679
    """
    kept = checks.whole("spares", spares, "cards", at_least=0)
    mean, cv = _failures(failures, failures_cv)
    checks.broadcastable(spares=kept, failures=mean, failures_cv=cv)
    return _chance(np.asarray(kept), np.asarray(mean), np.asarray(cv))[()]


def spares_for_confidence(failures: Numbers, confidence: Numbers, failures_cv: Numbers = 0.0) -> Values:
    r"""Least number of spares that is enough with a wanted confidence; one stock serves all cameras.

    Parameters
    ----------
    failures : float or array_like
        Expected count of failures within the lead time, 0 to 1 000 000. Over a site: the sum of
        :func:`edgestore.models.upkeep.expected_replacements` over its cameras, each with the age of its card.
    confidence : float or array_like
        Chance that the spares are enough, a fraction, above 0 and at most 0.9999.
    failures_cv : float or array_like
        Standard deviation of that expectation over its mean, a plain ratio, 0 to 10.

    Returns
    -------
    float or ndarray
        Count of spares, a whole number, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{spares} = \min\{k \ge 0 : P(N \le k) \ge \text{confidence}\}

    with the chance that k spares are enough by :func:`chance_spares_last`.

    References
    ----------
    Blanchard, Logistics Engineering and Management (spares by Poisson's law, from memory).

    Examples
    --------
    30 parts for 90 days of 24 h, mean life 10 000 h: 6.48 failures.

    >>> print(spares_for_confidence(6.48, 0.95))
    11.0
    """
    mean, cv = _failures(failures, failures_cv)
    sure = checks.in_range("confidence", confidence, above=0, at_most=MOST_SURE, mend="A percentage is divided by 100.")
    checks.broadcastable(failures=mean, confidence=sure, failures_cv=cv)
    mean, sure, cv = np.broadcast_arrays(mean, sure, cv)
    low, high = np.full(mean.shape, -1.0), np.ceil(mean) + 1
    while np.any(short := _chance(high, mean, cv) < sure):
        low, high = np.where(short, high, low), np.where(short, 2 * high, high)
    while np.any(high - low > 1):
        middle = np.floor((low + high) / 2)
        enough = (middle >= 0) & (_chance(middle, mean, cv) >= sure)
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return high[()]


def spares_for_separate(failures: Numbers, confidence: float, failures_cv: Numbers = 0.0) -> Values:
    r"""Least spares of several stocks that cannot help one another, enough everywhere with a wanted confidence.

    Parameters
    ----------
    failures : array_like
        Expected count of failures within the lead time for each stock, 0 to 1 000 000: card sizes that cannot stand in
        for one another, or sites far apart.
    confidence : float
        Chance that every stock is enough, a fraction, above 0 and at most 0.9999.
    failures_cv : float or array_like
        Standard deviation of each expectation over its mean, a plain ratio, 0 to 10; the stocks are independent.

    Returns
    -------
    ndarray
        Count of spares of each stock, whole numbers, in the shape of ``failures``.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{spares} = \min \sum_i k_i \quad \text{so that} \quad \prod_i P(N_i \le k_i) \ge \text{confidence}

    with the chance that k spares are enough for a stock by :func:`chance_spares_last`. Beginning with what each stock
    needs by itself, one spare after another goes where it raises the product of the chances most. As the chance that k
    are enough is log-concave in k, by Poisson's law as by the negative binomial one, no other way needs fewer. One
    stock for all (:func:`spares_for_confidence` of the sum) never needs more where the means are known.

    References
    ----------
    Barlow and Proschan, Statistical Theory of Reliability and Life Testing, 1981.

    Examples
    --------
    Together the three need 12:

    >>> print(spares_for_separate([2.6, 3.0, 2.4], 0.9), spares_for_confidence(2.6 + 3.0 + 2.4, 0.9))
    [6. 6. 5.] 12.0
    """
    mean, cv = _failures(failures, failures_cv)
    sure = checks.in_range("confidence", confidence, above=0, at_most=MOST_SURE, mend="A percentage is divided by 100.")
    if np.ndim(sure):
        raise checks.refuse("confidence", "several numbers", "one number for all stocks")
    checks.broadcastable(failures=mean, failures_cv=cv)
    spares = np.array(spares_for_confidence(mean, sure, cv), dtype=float, ndmin=1)
    mean, cv = (np.broadcast_to(known, spares.shape) for known in (mean, cv))
    while np.sum(np.log(chance := _chance(spares, mean, cv))) < np.log(sure):
        gain = _chance(spares + 1, mean, cv) / chance
        spares[np.unravel_index(np.argmax(gain), gain.shape)] += 1
    return spares.reshape(np.broadcast_shapes(np.shape(failures), np.shape(failures_cv)))


def _chance(spares: Values, mean: Values, cv: Values) -> Values:
    from scipy.special import betainc, pdtr

    known = cv <= KNOWN_CV
    size = 1 / np.where(known, 1, cv) ** 2
    return np.where(known, pdtr(spares, mean), betainc(size, spares + 1, size / (size + mean)))


def _failures(failures: Numbers, failures_cv: Numbers) -> tuple[Values, Values]:
    mean = checks.in_range("failures", failures, "failures", at_least=0, at_most=MOST_FAILURES)
    return mean, checks.in_range("failures_cv", failures_cv, "", at_least=0, at_most=MOST_CV)
