"""What finding out is worth: of acts whose worth is not known, how much better the best one is once more is known.

Each row of ``worth`` is one draw of all that is unknown, or one state of the world; each column is an act. More is
better: a cost goes in as less than nothing. What nobody could act on is worth nothing, however little is known of it.
"""

import math
from collections.abc import Iterable
from itertools import combinations_with_replacement

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers, Values

Array = npt.NDArray[np.float64]

MOST_GROUPS = 64
"""Draws are averaged in at most so many groups of like values of an input: of 16 384, some 256 a group."""

DEGREE = 3
"""Degree of the polynomial that stands for the worth of an act as a function of several inputs."""

DRAWS_A_TERM = 10
"""A polynomial is fitted to at least so many draws for each of its terms."""

SUM_TOLERANCE = 2e-6
"""Chances that are off 1 in all by no more are taken for rounded, as three of 0.333333 are."""


def value_without_information(worth: Numbers, chance: Numbers | None = None) -> float:
    r"""Expected worth of the best act while nothing more is known.

    Parameters
    ----------
    worth : array_like, shape (draws, acts)
        Worth of each act in each draw, in any unit (currency, GB, hours, a ratio, ...); more is better.
    chance : array_like, shape (draws,), optional
        Chance of each draw, a fraction, 1 in all; the same for all when left out.

    Returns
    -------
    float
        Expected worth, in the unit of ``worth`` (hours, a ratio, ...).

    Raises
    ------
    InputError
        When a number is missing or infinite, the chances are not 1 in all, or the shapes do not fit.

    Notes
    -----
    .. math:: \text{worth} = \max_a \sum_i p_i\, w_{i a}

    with p the chance of each draw i and w the worth of each act a in it. The largest of the acts' means: the prior
    analysis of a decision.

    References
    ----------
    Raiffa, Decision Analysis, 1968, pp. 34-50, inputs as printed in course notes.

    Examples
    --------
    A well may be dry, wet or soaking; drilled, it is worth -70, 50 or 200, left alone nothing:

    >>> print(f"{value_without_information([[-70, 0], [50, 0], [200, 0]], [0.5, 0.3, 0.2]):.6g}")
    20
    """
    values, weights = _draws(worth, chance)
    return _best_of_means(values, weights)


def evpi(worth: Numbers, chance: Numbers | None = None) -> float:
    r"""Expected value of perfect information: what knowing everything before choosing is worth.

    Parameters
    ----------
    worth : array_like, shape (draws, acts)
        Worth of each act in each draw, in any unit (currency, GB, hours, a ratio, ...); more is better.
    chance : array_like, shape (draws,), optional
        Chance of each draw, a fraction, 1 in all; the same for all when left out.

    Returns
    -------
    float
        Value, 0 or more, in the unit of ``worth`` (hours, a ratio, ...).

    Raises
    ------
    InputError
        When a number is missing or infinite, the chances are not 1 in all, or the shapes do not fit.

    Notes
    -----
    .. math:: \text{worth} = \max\left( 0, \sum_i p_i \max_a w_{i a} - \max_a \sum_i p_i\, w_{i a} \right)

    with p the chance of each draw i and w the worth of each act a in it. Mean of the best less the best of the means.
    No finding is worth more.

    References
    ----------
    Raiffa, Decision Analysis, 1968, pp. 34-50, inputs as printed in course notes.

    Examples
    --------
    Who knew would drill in half of the cases, 0.3 x 50 + 0.2 x 200 = 55, against 20 for drilling always:

    >>> print(f"{evpi([[-70, 0], [50, 0], [200, 0]], [0.5, 0.3, 0.2]):.6g}")
    35
    """
    values, weights = _draws(worth, chance)
    return max(float(weights @ values.max(axis=1)) - _best_of_means(values, weights), 0.0)


def evppi(worth: Numbers, values: Numbers, chance: Numbers | None = None) -> float:
    r"""Expected value of knowing one input alone, all others staying as unknown as they are.

    Parameters
    ----------
    worth : array_like, shape (draws, acts)
        Worth of each act in each draw, in any unit (currency, GB, hours, a ratio, ...); more is better.
    values : array_like, shape (draws,)
        The input in each draw, in its own unit (hours, a ratio, ...).
    chance : array_like, shape (draws,), optional
        Chance of each draw, a fraction, 1 in all; the same for all when left out.

    Returns
    -------
    float
        Value, 0 or more, in the unit of ``worth`` (hours, a ratio, ...).

    Raises
    ------
    InputError
        When a number is missing or infinite, the chances are not 1 in all, or the shapes do not fit.

    Notes
    -----
    .. math:: \text{worth} = \max\left( 0, \sum_g p_g \max_a m_{g a} - \max_a \sum_g p_g\, m_{g a} \right)

    with p the chance of each group g of draws and m the mean worth of each act a in it. Draws are sorted by the input
    and the others averaged: in groups of equal values, or of neighbours where there are more than ``MOST_GROUPS``
    different values. Then it is the :func:`evpi` of the groups. With few draws of a continuous input the value comes
    out too high: take 10 000 or more.

    References
    ----------
    Decision tree procedure of a statistics package, user guide, section Value of perfect information. Strong and
    Oakley, Medical Decision Making 33 (2013) 755 (from memory).

    Examples
    --------
    Of two inputs, each 0 or 1, the first decides whether the second act is better than the first:

    >>> gains = [[0, -1], [0, -1], [0, 1], [0, 1]]
    >>> print(evppi(gains, [0, 0, 1, 1]), evppi(gains, [0, 1, 0, 1]))
    0.5 0.0
    """
    _, means, weights = _grouped(worth, values, chance)
    return max(float(weights @ means.max(axis=1)) - _best_of_means(means, weights), 0.0)


def evppi_from_regression(worth: Numbers, inputs: Numbers) -> float:
    r"""Expected value of knowing several inputs together, all others staying as unknown as they are.

    Parameters
    ----------
    worth : array_like, shape (draws, acts)
        Worth of each act in each draw, in any unit (currency, GB, hours, a ratio, ...); more is better.
    inputs : array_like, shape (draws, inputs)
        The inputs in each draw, each in its own unit (hours, a ratio, ...).

    Returns
    -------
    float
        Value, 0 or more, in the unit of ``worth`` (hours, a ratio, ...).

    Raises
    ------
    InputError
        When a number is missing or infinite, the shapes do not fit, or the draws are too few.

    Notes
    -----
    .. math:: \text{worth} = \max\left( 0, \frac{1}{n} \sum_i \max_a f_a(x_i) - \max_a \frac{1}{n} \sum_i
        f_a(x_i) \right)

    with x the inputs in each of n draws and f the fitted worth of each act a over the first. What each act is worth
    more than the first is fitted by least squares as a polynomial of the inputs, of degree 3, cross terms included;
    what it gives in each draw stands for the mean over all else, and the result is the :func:`evpi` of these. What
    depends on an input by factors is better given as its logarithm.

    References
    ----------
    Strong, Oakley and Brennan, Medical Decision Making 34 (2014) 311, which fits splines or Gaussian processes
    (from memory).

    Examples
    --------
    The second act is better by the sum of two coins less 1; both known, that is 1 in a quarter of the draws, and 0 in
    half of them:

    >>> tosses = [[0, 0], [0, 1], [1, 0], [1, 1]] * 40
    >>> print(f"{evppi_from_regression([[0, first + second - 1] for first, second in tosses], tosses):.4f}")
    0.2500
    """
    values, weights = _draws(worth, None)
    given = np.asarray(checks.in_range("inputs", inputs))
    given = given[:, None] if given.ndim == 1 else given
    if given.ndim != 2 or len(given) != len(values):
        raise checks.refuse("inputs", f"shape {given.shape}", f"a row for each of the {len(values)} draws")
    terms = math.comb(given.shape[1] + DEGREE, DEGREE)
    if len(values) < DRAWS_A_TERM * terms:
        mend = "Take more draws, or fewer inputs at once."
        raise checks.refuse("worth", f"{len(values)} draws", f"{DRAWS_A_TERM * terms} draws or more", mend)
    spread = given.std(axis=0)
    scores = (given - given.mean(axis=0)) / np.where(spread > 0, spread, 1.0)
    columns = [
        np.prod(scores[:, list(which)], axis=1)
        for degree in range(DEGREE + 1)
        for which in combinations_with_replacement(range(given.shape[1]), degree)
    ]
    table = np.transpose(columns)
    over_first = values - values[:, :1]
    fitted = table @ np.linalg.lstsq(table, over_first, rcond=None)[0]
    return max(float(weights @ fitted.max(axis=1)) - _best_of_means(fitted, weights), 0.0)


def evpi_of_normal(mean: Numbers, sigma: Numbers) -> Values:
    r"""Expected value of knowing by how much one act is better than another, of which a normal law is known.

    Parameters
    ----------
    mean : float or array_like
        Mean of the difference in worth, in any unit (currency, GB, hours, a ratio, ...).
    sigma : float or array_like
        Its standard deviation, in that unit (hours, a ratio, ...), 0 or more; of a finding, that of the mean after it.

    Returns
    -------
    float or ndarray
        Value, 0 or more, in that unit (hours, a ratio, ...), of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing, infinite or out of range.

    Notes
    -----
    .. math:: s \left( \varphi(u) - u\, (1 - \Phi(u)) \right), \quad u = \frac{|\text{mean}|}{s}

    The factor of s is the unit normal loss integral. A finding that leaves a
    standard deviation of t of a difference known to S is worth as much as knowing one of ``sqrt(S^2 - t^2)``.

    References
    ----------
    Raiffa and Schlaifer, Applied Statistical Decision Theory, 1961 (from memory). Example: R package voi, vignette.

    Examples
    --------
    Mean 1, standard deviation 2: u = 0.5, 2 x (0.35207 - 0.5 x 0.30854) = 0.3956.

    >>> print(f"{evpi_of_normal(1, 2):.4f}")
    0.3956
    """
    from scipy.special import ndtr

    middle = checks.in_range("mean", mean)
    spread = checks.in_range("sigma", sigma, at_least=0)
    checks.broadcastable(mean=middle, sigma=spread)
    is_known = np.asarray(spread) == 0
    score = np.abs(middle) / np.where(is_known, 1.0, spread)
    density = np.exp(-(score**2) / 2) / math.sqrt(2 * math.pi)
    return np.maximum(spread * (density - score * ndtr(-score)), 0.0)


def _draws(worth: Numbers, chance: Numbers | None) -> tuple[Array, Array]:
    """Worth of shape (draws, acts), and the chance of each draw."""
    values = np.asarray(checks.in_range("worth", worth), dtype=np.float64)
    if values.ndim != 2:
        raise checks.refuse("worth", f"shape {values.shape}", "a row for each draw, a column for each act")
    if chance is None:
        return values, np.full(len(values), 1 / len(values))
    weights = np.asarray(checks.in_range("chance", chance, at_least=0), dtype=np.float64)
    if weights.shape != values.shape[:1]:
        raise checks.refuse("chance", f"shape {weights.shape}", f"one for each of the {len(values)} draws")
    return values, _summed_to_1("chance", weights)


def _summed_to_1(name: str, chances: Array, axes: tuple[int, ...] = (-1,)) -> Array:
    whole = chances.sum(axis=axes, keepdims=True)
    if (is_off := np.abs(whole - 1) > SUM_TOLERANCE).any():
        found = f"{float(whole[is_off][0]):g} in all"
        raise checks.refuse(name, found, "chances that are 1 in all", "A percentage is divided by 100.")
    return np.asarray(chances / whole)


def _best_of_means(values: Array, weights: Array) -> float:
    return float((weights @ values).max())


def _grouped(worth: Numbers, values: Numbers, chance: Numbers | None) -> tuple[Array, Array, Array]:
    """Groups of draws of like values of an input: its mean, the mean worth of each act, and the chance of each."""
    gains, weights = _draws(worth, chance)
    given = np.asarray(checks.in_range("values", values), dtype=np.float64)
    if given.shape != weights.shape:
        raise checks.refuse("values", f"shape {given.shape}", f"one for each of the {len(weights)} draws")
    known, group = np.unique(given, return_inverse=True)
    group = group.ravel()
    if len(known) > MOST_GROUPS:
        of_value = np.bincount(group, weights)
        middle = np.cumsum(of_value) - of_value / 2
        group = np.unique(np.floor(middle * MOST_GROUPS), return_inverse=True)[1].ravel()[group]
    total = np.bincount(group, weights).astype(np.float64)
    some = np.where(total > 0, total, 1.0)

    def mean(columns: Iterable[Array]) -> Array:
        return np.array([np.bincount(group, weights * column) / some for column in columns]).T

    return mean([given])[:, 0], mean(gains.T), total
