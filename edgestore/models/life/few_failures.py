"""What records with few failures or none tell: a failure rate learnt, and bounds with a stated confidence."""

from dataclasses import dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.law import SHAPES

MOST_SURE = 0.9999
"""No record proves anything beyond all doubt: the highest confidence that is answered."""


@dataclass(frozen=True, kw_only=True)
class RandomRate:
    """What is known of a constant failure rate: a gamma distribution of it.

    Attributes
    ----------
    a : float or ndarray
        Shape of the distribution: failures seen, those of the prior included.
    b_years : float or ndarray
        Card-years seen, those of the prior included, years.
    mean_per_year : float or ndarray
        Mean of the rate, failures a year.
    low_per_year, high_per_year : float or ndarray
        Ends between which the rate lies with chance ``confidence``, as much beyond one as beyond the other.
    confidence : float or ndarray
        That chance, a fraction.
    """

    a: Values
    b_years: Values
    mean_per_year: Values
    low_per_year: Values
    high_per_year: Values
    confidence: Values


def updated_random_rate(
    prior_a: Numbers, prior_b_years: Numbers, *, failures: Numbers, unit_years: Numbers, confidence: Numbers = 0.9
) -> RandomRate:
    r"""Update what a supplier says of the failure rate by own records.

    Parameters
    ----------
    prior_a : float or array_like
        Failures that the supplier's figure is worth, 0 or more, a fraction of one too.
    prior_b_years : float or array_like
        Card-years that it is worth, years, 0 or more: the supplier's rate is ``prior_a / prior_b_years``.
    failures : float or array_like
        Own failures for other reasons than wear, a whole number and no fraction, 0 or more.
    unit_years : float or array_like
        Own cards' years in service added up, years, above 0.
    confidence : float or array_like
        Chance that the rate lies between ``low_per_year`` and ``high_per_year``, a fraction, above 0 and at most
        0.9999.

    Returns
    -------
    RandomRate
        Gamma posterior of the rate a year, the chance a fraction.

    Raises
    ------
    InputError
        When a number is missing or out of range, or neither prior nor records hold a failure or part of one.

    Notes
    -----
    .. math:: a' = a + \text{failures}, \quad b' = b + \text{unit years}, \quad \text{mean} = \frac{a'}{b'}

    .. math:: \text{low, high} = \frac{1}{b'}\, G^{-1}\left( \frac{1 \mp \text{confidence}}{2};\, a' \right)

    A gamma prior with shape a and b card-years becomes one with a' and b'; G is the gamma distribution of scale 1. How
    many card-years
    a data sheet is worth is a judgement: when it is worth one failure, own records soon count more. The rate is taken
    to be alike at all ages, and the cards to fail independently.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.6.

    Examples
    --------
    A supplier says 1 % a year, taken as worth 50 card-years; then 3 of 100 cards fail in a year:

    >>> rate = updated_random_rate(0.5, 50, failures=3, unit_years=100)
    >>> print(f"{rate.mean_per_year:.4f}")
    0.0233
    """
    from scipy.special import gammaincinv

    a, b = _posterior(prior_a, prior_b_years, failures, unit_years)
    sure = _confidence("confidence", confidence)
    checks.broadcastable(a=a, b=b, confidence=sure)
    return RandomRate(
        a=a,
        b_years=b,
        mean_per_year=a / b,
        low_per_year=gammaincinv(a, (1 - sure) / 2) / b,
        high_per_year=gammaincinv(a, (1 + sure) / 2) / b,
        confidence=sure,
    )


def mtbf_lower_years(
    failures: Numbers,
    unit_years: Numbers,
    *,
    confidence: Numbers = 0.9,
    prior_a: Numbers = 1.0,
    prior_b_years: Numbers = 0.0,
) -> Values:
    r"""Mean time between failures that is reached or exceeded with a stated confidence.

    Parameters
    ----------
    failures : float or array_like
        Failures for other reasons than wear, a whole number and no fraction, 0 or more.
    unit_years : float or array_like
        Cards' years in service added up, years, above 0.
    confidence : float or array_like
        Confidence that the true value is not lower, a fraction, above 0 and at most 0.9999.
    prior_a : float or array_like
        Failures that a prior is worth, 0 or more, a fraction of one too. 1, with no years, gives the classical bound.
    prior_b_years : float or array_like
        Card-years that a prior is worth, years, 0 or more.

    Returns
    -------
    float or ndarray
        Time in years, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range, or neither prior nor records hold a failure or part of one.

    Notes
    -----
    .. math:: \mathrm{MTBF} = \frac{b + \text{unit years}}{G^{-1}(\text{confidence};\, a + \text{failures})}

    with G the gamma distribution of scale 1, and a and b of the prior. Without a prior this is the
    ``2 T / chi2(confidence, 2 r + 2)`` of records that end at a date, not at a failure. It speaks of random failures
    at any age, so it is no card's life: a card wears out long before an MTBF of 50 years.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, sections 8.4.5.1 and 8.4.6.

    Examples
    --------
    No failure in 300 card-years: 300 / 2.303 years with 90 % confidence, for -ln(0.1) = 2.303.

    >>> print(f"{mtbf_lower_years(0, 300):.1f}")
    130.3
    """
    from scipy.special import gammaincinv

    a, b = _posterior(prior_a, prior_b_years, failures, unit_years)
    sure = _confidence("confidence", confidence)
    checks.broadcastable(
        failures=failures,
        unit_years=unit_years,
        confidence=sure,
        prior_a=prior_a,
        prior_b_years=prior_b_years,
    )
    return b / gammaincinv(a, sure)


def weibull_scale_lower_years(
    ages_years: Numbers, wear_shape: Numbers, *, confidence: Numbers = 0.95, failures: Numbers = 0
) -> Values:
    r"""Weibull scale that is reached or exceeded with a stated confidence, when the shape is taken as known (Weibayes).

    Parameters
    ----------
    ages_years : array_like
        Age of every card, failed or not, years, above 0; the cards along the last axis.
    wear_shape : float or array_like
        Weibull shape taken as known, a plain ratio, 0.2 to 100. Shape without the last axis, as what follows.
    confidence : float or array_like
        Confidence that the true scale is not lower, a fraction, above 0 and at most 0.9999.
    failures : float or array_like
        How many of the cards have failed, a whole number and no fraction, 0 or more.

    Returns
    -------
    float or ndarray
        Scale in years; the last axis is summed away.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{scale} =
        \left( \frac{\sum \text{age}^k}{G^{-1}(\text{confidence};\, \text{failures} + 1)} \right)^{1/k}

    with k the shape and G the gamma distribution of scale 1; with no failure the divisor is ``-ln(1 - confidence)``.
    What it says hangs on the assumed shape: try the lowest and the highest that may be.

    References
    ----------
    Weibayes: Abernethy, The New Weibull Handbook (from memory).

    Examples
    --------
    50 cards, none failed in 2 years, shape 3: (50 x 8 / 2.9957)^(1/3).

    >>> print(f"{weibull_scale_lower_years([2.0] * 50, 3):.3f}")
    5.111
    """
    from scipy.special import gammaincinv

    ages = np.atleast_1d(np.asarray(checks.in_range("ages_years", ages_years, "years", above=0)))
    shape = checks.in_range("wear_shape", wear_shape, "", at_least=SHAPES["weibull"][0], at_most=SHAPES["weibull"][1])
    sure, failed = _confidence("confidence", confidence), _failures(failures)
    checks.broadcastable(ages_years=ages[..., 0], wear_shape=shape, confidence=sure, failures=failed)
    if np.any(np.asarray(failed) > ages.shape[-1]):
        raise checks.refuse("failures", "more failures than cards", f"0 to {ages.shape[-1]}, the number of ages")
    oldest = ages.max(axis=-1)
    sizes = (ages / oldest[..., np.newaxis]) ** np.asarray(shape)[..., np.newaxis]
    return oldest * (sizes.sum(axis=-1) / gammaincinv(failed + 1, sure)) ** (1 / shape)


def _posterior(
    prior_a: Numbers, prior_b_years: Numbers, failures: Numbers, unit_years: Numbers
) -> tuple[Values, Values]:
    """Give shape and card-years of the gamma distribution of the rate, with the prior and the records in it."""
    a = checks.in_range("prior_a", prior_a, "failures", at_least=0)
    b = checks.in_range("prior_b_years", prior_b_years, "years", at_least=0)
    failed = _failures(failures)
    years = checks.in_range("unit_years", unit_years, "years", above=0)
    checks.broadcastable(prior_a=a, prior_b_years=b, failures=failed, unit_years=years)
    if np.any(np.asarray(a + failed) <= 0):
        mend = "Give a prior, or prior_a = 1 with no years for the classical bound."
        raise checks.refuse("prior_a", "0 with no failure", "above 0 where nothing has failed", mend)
    return a + failed, b + years


def _failures(value: Numbers) -> Values:
    failures = checks.in_range("failures", value, "failures", at_least=0)
    if np.any(np.mod(failures, 1) != 0):
        raise checks.refuse("failures", "a fraction of a failure", "whole numbers")
    return failures


def _confidence(name: str, value: Numbers) -> Values:
    return checks.in_range(name, value, above=0, at_most=MOST_SURE, mend="A percentage is divided by 100.")
