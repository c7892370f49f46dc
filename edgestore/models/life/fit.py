"""What service records say about life: fitted laws with their intervals, and failure rates learnt from own cards."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Fault, InputError, Numbers
from edgestore.models.life.few_failures import MOST_SURE
from edgestore.models.life.law import CardLife

Ages: TypeAlias = npt.NDArray[np.float64]

FITTED = 2
"""Scale and shape."""

FEWEST_FAILURES = 2
"""One failure has an age but no spread."""


@dataclass(frozen=True, kw_only=True)
class LifeFit:
    """A law of life fitted to service records.

    Attributes
    ----------
    law : str
        ``weibull`` or ``lognormal``.
    scale_years : float
        Weibull scale, the age by which 63.2 % have failed; lognormal: the median; years.
    shape : float
        Weibull shape; lognormal: the standard deviation of ln(life).
    scale_low_years, scale_high_years, shape_low, shape_high : float
        Ends of the profile-likelihood intervals at ``confidence``.
    confidence : float
        Confidence of each interval, a fraction.
    mean_years, sd_years : float
        Mean and standard deviation of life by the fitted law, years.
    log_likelihood, aic : float
        Natural logarithm of the likelihood with ages in years, and Akaike's criterion: of two laws the one with the
        smaller fits better.
    failed, running : int
        How many cards had failed and how many had not.
    """

    law: str
    scale_years: float
    shape: float
    scale_low_years: float
    scale_high_years: float
    shape_low: float
    shape_high: float
    confidence: float
    mean_years: float
    sd_years: float
    log_likelihood: float
    aic: float
    failed: int
    running: int

    def card_life(self) -> CardLife:
        """Give the fitted law as a :class:`edgestore.models.life.CardLife`, all failures taken together as wear."""
        failed_at_scale = -np.expm1(-1) if self.law == "weibull" else 0.5
        return CardLife(self.scale_years, failed_at_endurance=failed_at_scale, wear_shape=self.shape, law=self.law)


def fit_weibull(failed_years: Numbers, running_years: Numbers = (), confidence: float = 0.95) -> LifeFit:
    r"""Fit a Weibull law to cards that failed and cards that had not failed when last seen.

    Parameters
    ----------
    failed_years : array_like
        Age of each card at its failure, years, above 0: two or more.
    running_years : array_like
        Age of each card that still works or was taken out for another reason, years, above 0; may be none.
    confidence : float
        Confidence of the intervals, a fraction, above 0 and at most 0.9999.

    Returns
    -------
    LifeFit
        Scale and spread in years, shape a plain ratio, each with its interval.

    Raises
    ------
    InputError
        When an age is missing or not above 0, or the failures cannot tell a scale and a shape.

    Notes
    -----
    Maximum likelihood with right-censored ages t: the scale s and the shape k are where the logarithm is largest of

    .. math:: \ln\,L = \sum_\text{failed} \left( \ln\frac{k}{s} + (k - 1) \ln\frac{t}{s} \right)
        - \sum_\text{all} \left( \frac{t}{s} \right)^k

    The mean is ``s Gamma(1 + 1/k)``, ``aic`` is ``4 - 2 ln L``. The intervals are by **profile likelihood**: all values
    at which the likelihood, maximised over the other parameter, is within ``chi2(confidence, 1) / 2`` of its maximum in
    the logarithm. Other programs print Wald intervals, on the natural or the logarithmic scale: for the scale in the
    handbook's example 362 to 851 and 405 to 908, where the profile gives 438 to 1119. Cards taken out because they
    seemed about to fail are not censored at random, and the fit is then too hopeful. A shape near 1 may hide early
    failures beside wear-out: look at the ages first.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.1. Profile likelihood: Meeker and Escobar, Statistical
    Methods for Reliability Data, 1998 (from memory).

    Examples
    --------
    The handbook's example, its hours taken as years:

    >>> fit = fit_weibull([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], running_years=[500] * 10)
    >>> print(f"{fit.scale_years:.2f} {fit.shape:.4f} {fit.log_likelihood:.3f}")
    606.53 1.7208 -75.135
    """
    return _fit("weibull", failed_years, running_years, confidence)


def fit_lognormal(failed_years: Numbers, running_years: Numbers = (), confidence: float = 0.95) -> LifeFit:
    r"""Fit a lognormal law to cards that failed and cards that had not failed when last seen.

    Parameters
    ----------
    failed_years : array_like
        Age of each card at its failure, years, above 0: two or more.
    running_years : array_like
        Age of each card that still works or was taken out for another reason, years, above 0; may be none.
    confidence : float
        Confidence of the intervals, a fraction, above 0 and at most 0.9999.

    Returns
    -------
    LifeFit
        Median (as the scale) and spread in years, standard deviation of ln(life) (as the shape) a plain ratio, each
        of the two with its interval.

    Raises
    ------
    InputError
        When an age is missing or not above 0, or the failures cannot tell a scale and a shape.

    Notes
    -----
    As for :func:`fit_weibull`, with the median m and the spread s of the logarithm where this is largest:

    .. math:: \ln\,L = \sum_\text{failed} \left( -\frac{z^2}{2} - \ln\left( \sqrt{2 \pi}\, s\, t \right) \right)
        + \sum_\text{running} \ln\,\Phi(-z), \quad z = \frac{\ln\,t - \ln\,m}{s}

    Phi is the normal distribution; the mean is ``m exp(s^2 / 2)``. The smaller ``aic`` of the two fits the records
    better; a difference below 2 says little (common practice, no source).

    References
    ----------
    As for :func:`fit_weibull`.

    Examples
    --------
    The median of 2, 4 and 8 years is 4; the mean square of their logarithms about it is 2 ln(2)^2 / 3:

    >>> fit = fit_lognormal([2.0, 4.0, 8.0])
    >>> print(f"{fit.scale_years:.3f} {fit.shape:.4f}")
    4.000 0.5660
    """
    return _fit("lognormal", failed_years, running_years, confidence)


class _Law(NamedTuple):
    """A law of ``z = (ln(life) - m) / s``: log density and log survival, how these change with z, and its moments."""

    name: str
    log_density: Callable[[Ages], Ages]
    log_survival: Callable[[Ages], Ages]
    density_slope: Callable[[Ages], Ages]
    survival_slope: Callable[[Ages], Ages]
    log_moment: Callable[[float], float]
    """ln of the mean of ``exp(q s z)``, of the argument ``q s``."""


def _laws() -> dict[str, _Law]:
    from scipy.special import erfcx, gammaln, log_ndtr

    weibull = _Law(
        "weibull",
        log_density=lambda z: z - np.exp(z),
        log_survival=lambda z: -np.exp(z),
        density_slope=lambda z: 1 - np.exp(z),
        survival_slope=lambda z: -np.exp(z),
        log_moment=lambda x: gammaln(1 + x),
    )
    lognormal = _Law(
        "lognormal",
        log_density=lambda z: -(z**2) / 2 - np.log(2 * np.pi) / 2,
        log_survival=lambda z: log_ndtr(-z),
        density_slope=lambda z: -z,
        survival_slope=lambda z: -np.sqrt(2 / np.pi) / erfcx(z / np.sqrt(2)),
        log_moment=lambda x: x**2 / 2,
    )
    return {law.name: law for law in (weibull, lognormal)}


@dataclass(frozen=True)
class _Likelihood:
    """Likelihood of a law in m and ln(s): as the laws are log-concave, one maximum along each, and one in all."""

    law: _Law
    failed: Ages
    running: Ages

    def value(self, m: float, log_s: float) -> float:
        failed, running = self._z(m, log_s)
        densities = self.law.log_density(failed) - log_s - self.failed
        return float(densities.sum() + self.law.log_survival(running).sum())

    def slope_m(self, m: float, log_s: float) -> float:
        failed, running = self._z(m, log_s)
        return -float(self.law.density_slope(failed).sum() + self.law.survival_slope(running).sum())

    def slope_log_s(self, m: float, log_s: float) -> float:
        failed, running = self._z(m, log_s)
        moved = (failed * self.law.density_slope(failed)).sum() + (running * self.law.survival_slope(running)).sum()
        return -float(moved) - len(failed)

    def best_m(self, log_s: float) -> float:
        return _falling_root(lambda m: self.slope_m(m, log_s), float(self.failed.mean()), np.exp(log_s))

    def best_log_s(self, m: float) -> float:
        return _falling_root(lambda log_s: self.slope_log_s(m, log_s), 0.0, 1.0)

    def _z(self, m: float, log_s: float) -> tuple[Ages, Ages]:
        return (self.failed - m) / np.exp(log_s), (self.running - m) / np.exp(log_s)


def _falling_root(function: Callable[[float], float], start: float, step: float) -> float:
    """Root of a function that is above 0 before it and below 0 after it, sought outwards from ``start``."""
    from scipy.optimize import brentq

    near = far = start
    value = function(start)
    way = 1.0 if value > 0 else -1.0
    while way * value > 0:
        near, far, step = far, far + way * step, 2 * step
        value = function(far)
    return float(brentq(function, min(near, far), max(near, far), xtol=1e-13)) if near != far else start


def _interval(excess: Callable[[float], float], best: float, step: float) -> tuple[float, float]:
    """Both ends of the stretch about ``best`` in which the likelihood exceeds what the confidence asks for."""
    below = best - _falling_root(lambda way: excess(best - way), 0.0, step)
    above = best + _falling_root(lambda way: excess(best + way), 0.0, step)
    return below, above


def _fit(name: str, failed_years: Numbers, running_years: Numbers, confidence: float) -> LifeFit:
    from scipy.special import chdtri

    failed, running = _records(failed_years, running_years)
    sure = float(
        checks.in_range("confidence", confidence, above=0, at_most=MOST_SURE, mend="A percentage is divided by 100.")
    )
    law = _laws()[name]
    likelihood = _Likelihood(law, np.log(failed), np.log(running))
    with np.errstate(over="ignore"):  # far from the records: likelihood 0, age infinite
        log_s = _falling_root(lambda at: likelihood.slope_log_s(likelihood.best_m(at), at), 0.0, 1.0)
        m, s = likelihood.best_m(log_s), float(np.exp(log_s))
        best = likelihood.value(m, log_s)
        least = best - float(chdtri(1, 1 - sure)) / 2
        step = float(len(failed) ** -0.5)
        m_ends = _interval(lambda at: likelihood.value(at, likelihood.best_log_s(at)) - least, m, step * s)
        s_ends = np.exp(_interval(lambda at: likelihood.value(likelihood.best_m(at), at) - least, log_s, step))
        mean = np.exp(m + law.log_moment(s))
        sd = mean * np.sqrt(np.expm1(max(law.log_moment(2 * s) - 2 * law.log_moment(s), 0)))
        low, high = np.exp(m_ends)
    shape, shape_low, shape_high = (1 / s, 1 / s_ends[1], 1 / s_ends[0]) if name == "weibull" else (s, *s_ends)
    return LifeFit(
        law=name,
        scale_years=float(np.exp(m)),
        shape=shape,
        scale_low_years=float(low),
        scale_high_years=float(high),
        shape_low=float(shape_low),
        shape_high=float(shape_high),
        confidence=sure,
        mean_years=float(mean),
        sd_years=float(sd),
        log_likelihood=best,
        aic=2 * FITTED - 2 * best,
        failed=len(failed),
        running=len(running),
    )


def _records(failed_years: Numbers, running_years: Numbers) -> tuple[Ages, Ages]:
    """Give both lists of ages, or say all that keeps a law from being fitted to them."""
    faults: list[Fault] = []
    ages = []
    for name, value in (("failed_years", failed_years), ("running_years", running_years)):
        try:
            ages.append(_ages(name, value))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    failed, running = ages
    if len(failed) < FEWEST_FAILURES:
        found = f"{len(failed)} failed and {len(running)} running cards"
        mend = "With none or one, take a shape as known: weibull_scale_lower_years gives the least scale."
        raise checks.refuse("failed_years", found, f"{FEWEST_FAILURES} failures or more", mend)
    if failed.min() == failed.max() and not np.any(running > failed.max()):
        found = f"all failures at {failed.max():g} years and no card older"
        raise checks.refuse("failed_years", found, "failures at two ages or more", "Give ages to the day.")
    return failed, running


def _ages(name: str, value: Numbers) -> Ages:
    if np.asarray(value, dtype=object).size == 0:
        return np.empty(0)
    return np.ravel(checks.in_range(name, value, "years", above=0))
