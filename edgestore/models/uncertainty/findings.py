"""What a finding is worth before it is made: a study with a few outcomes, or a measurement with an error.

Rows, columns and signs are those of :mod:`edgestore.models.uncertainty.information`.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.uncertainty.information import _grouped, _summed_to_1

Array = npt.NDArray[np.float64]

CELLS = 512
"""Cells into which what a measurement may say is cut."""

TAILS = 4.0
"""The outermost cells begin so many standard deviations of the measurement beyond all values."""

ROUNDING = 1e-12
"""An act that is better by no more than this part of all that is at stake is no better."""


@dataclass(frozen=True, kw_only=True)
class Preposterior:
    """Acts chosen before a finding and after it.

    Attributes
    ----------
    value_without : float or ndarray
        Expected worth of the best act while nothing more is known.
    value_with : float or ndarray
        Expected worth when the best act is chosen after the finding, whatever that will be.
    evsi : float or ndarray
        The second less the first: expected value of the finding, 0 or more.
    act_without : float or ndarray
        Number of the best act while nothing more is known, from 0.
    acts : ndarray, shape (..., outcomes)
        Number of the best act after each outcome.
    outcome_chance : ndarray, shape (..., outcomes)
        Chance of each outcome.
    chance_of_change : float or ndarray
        Chance that the best act after the finding is another than before.
    """

    value_without: Values
    value_with: Values
    evsi: Values
    act_without: Values
    acts: Values
    outcome_chance: Values
    chance_of_change: Values


def preposterior(worth: Numbers, joint: Numbers) -> Preposterior:
    r"""What to do before a finding and after each of its outcomes, and what the finding is worth.

    Parameters
    ----------
    worth : array_like, shape (..., states, acts)
        Worth of each act in each state of the world, in any unit (currency, GB, hours, a ratio, ...); more is better.
        Axes before these two are as many decisions, each by itself.
    joint : array_like, shape (..., states, outcomes)
        Chance of each state together with each outcome of the finding, a fraction, 1 in all for each decision.

    Returns
    -------
    Preposterior
        Worth and value in the unit of ``worth`` (hours, a ratio, ...); chances are fractions. Arrays, where there are
        several decisions.

    Raises
    ------
    InputError
        When a number is missing or infinite, the chances are not 1 in all, or the shapes do not fit.

    Notes
    -----
    .. math:: \mathrm{EVSI} = \sum_\text{outcomes} \max_\text{acts} \sum_\text{states} \text{joint} \times \text{worth}
        - \max_\text{acts} \sum_\text{outcomes} \sum_\text{states} \text{joint} \times \text{worth}

    Where acts
    are equally good, the first is taken, and before the finding no other one is.

    References
    ----------
    Raiffa, Decision Analysis, 1968, pp. 34-50, inputs as printed in course notes.

    Examples
    --------
    The well of :func:`edgestore.models.uncertainty.evpi`, and a sounding that finds no, open or closed structure:

    >>> sounding = [[0.3, 0.15, 0.05], [0.09, 0.12, 0.09], [0.02, 0.08, 0.1]]
    >>> found = preposterior([[-70, 0], [50, 0], [200, 0]], sounding)
    >>> print(f"{found.evsi:.6g}", found.acts.tolist(), f"{found.chance_of_change:.6g}")
    12.5 [1.0, 0.0, 0.0] 0.41
    """
    values = np.asarray(checks.in_range("worth", worth), dtype=np.float64)
    chances = np.asarray(checks.in_range("joint", joint, at_least=0), dtype=np.float64)
    if values.ndim < 2 or chances.shape[:-1] != values.shape[:-1]:
        found = f"shapes {values.shape} and {chances.shape}"
        raise checks.refuse("worth, joint", found, "a row for each state in both, and as many decisions")
    return _preposterior(values, _summed_to_1("joint", chances, axes=(-2, -1)))


def evsi(worth: Numbers, values: Numbers, sigma: float, *, chance: Numbers | None = None) -> float:
    r"""Expected value of a measurement of one input: it says the true value with a normal error.

    Parameters
    ----------
    worth : array_like, shape (draws, acts)
        Worth of each act in each draw, in any unit (currency, GB, hours, a ratio, ...); more is better.
    values : array_like, shape (draws,)
        The input in each draw, in its own unit (hours, a ratio, ...); its logarithm, where the error is by a factor.
    sigma : float
        Standard deviation of the error, in the unit of ``values`` (hours, a ratio, ...), 0 or more.
    chance : array_like, shape (draws,), optional
        Chance of each draw, a fraction, 1 in all; the same for all when left out.

    Returns
    -------
    float
        Value, 0 or more and no more than of knowing the input, in the unit of ``worth`` (hours, a ratio, ...).

    Raises
    ------
    InputError
        When a number is missing or out of range, the chances are not 1 in all, or the shapes do not fit.

    Notes
    -----
    .. math:: \text{worth} = \sum_k \max_a \sum_g p_g\, P(k \mid g)\, m_{g a} - \max_a \sum_g p_g\, m_{g a}

    with p the chance of each group g and m the mean worth of each act a in it, and P the :func:`measurement_chance` of
    each cell k. Bayes' rule on the groups of :func:`edgestore.models.uncertainty.evppi`, for each of ``CELLS`` cells of
    what the measurement may say; whatever the law of the input is. n independent measurements with an error of s each
    are one with ``s / sqrt(n)``.

    References
    ----------
    Pre-posterior analysis: Raiffa and Schlaifer, Applied Statistical Decision Theory, 1961 (from memory).

    Examples
    --------
    A measurement without error is worth knowing the input; one that hardly tells anything is worth nothing.

    >>> gains, known = [[0, -1], [0, -1], [0, 1], [0, 1]], [0, 0, 1, 1]
    >>> print(evsi(gains, known, 0), f"{evsi(gains, known, 0.5):.3f} {evsi(gains, known, 50):.3f}")
    0.5 0.341 0.004
    """
    centres, means, weights = _grouped(worth, values, chance)
    joint = weights[:, None] * measurement_chance(centres, sigma)
    return float(_preposterior(means, joint).evsi)


def measurement_chance(values: Numbers, sigma: Numbers, cells: int = CELLS) -> Array:
    r"""Chance of each cell of what a measurement may say, for each true value.

    Parameters
    ----------
    values : array_like, shape (..., values)
        True values, in any unit (hours, a ratio, ...). Axes before the last are as many measurements.
    sigma : float or array_like, shape (...)
        Standard deviation of the error of each measurement, in that unit (hours, a ratio, ...), 0 or more.
    cells : int
        Count of cells, 3 or more.

    Returns
    -------
    ndarray, shape (..., values, outcomes)
        Chances, each a fraction; a row is 1 in all. Where no measurement has an error each value is an outcome.

    Raises
    ------
    InputError
        When a number is missing, infinite or out of range, or the shapes do not fit.

    Notes
    -----
    .. math:: P(k \mid x) = \Phi\left( \frac{e_{k+1} - x}{\sigma} \right) - \Phi\left( \frac{e_k - x}{\sigma} \right)

    with x the true value and e the edges of the cells. Normal law about the true value, over even cells from ``TAILS``
    standard deviations below the least value to as much above the greatest; the outermost are open. Values within one
    cell are not told apart.

    References
    ----------
    The normal distribution.

    Examples
    --------
    >>> print(measurement_chance([1, 2], 0).tolist(), measurement_chance([1, 2], 0.5).sum(axis=1).round(9).tolist())
    [[1.0, 0.0], [0.0, 1.0]] [1.0, 1.0]
    """
    from scipy.special import ndtr

    centres = np.atleast_1d(np.asarray(checks.in_range("values", values), dtype=np.float64))
    error = np.asarray(checks.in_range("sigma", sigma, at_least=0), dtype=np.float64)
    count = int(checks.whole("cells", cells, "cells", at_least=3))
    if error.shape != centres.shape[:-1]:
        raise checks.refuse("sigma", f"shape {error.shape}", f"one for each measurement, shape {centres.shape[:-1]}")
    if not error.any():
        return np.broadcast_to(np.eye(centres.shape[-1]), (*centres.shape, centres.shape[-1]))
    lowest, highest = centres.min(axis=-1) - TAILS * error, centres.max(axis=-1) + TAILS * error
    edges = np.linspace(lowest, highest, count + 1, axis=-1)[..., None, 1:-1]
    some = np.where(error > 0, error, np.finfo(float).tiny)[..., None, None]
    below = np.zeros((*centres.shape, count + 1))
    below[..., 1:-1], below[..., -1] = ndtr((edges - centres[..., None]) / some), 1.0
    return np.diff(below, axis=-1)


def _preposterior(values: Array, joint: Array) -> Preposterior:
    by_outcome = np.swapaxes(joint, -1, -2) @ values
    before = by_outcome.sum(axis=-2)
    first, best = before.argmax(axis=-1), by_outcome.max(axis=-1)
    of_first = np.take_along_axis(by_outcome, first[..., None, None], axis=-1)[..., 0]
    at_stake = np.abs(by_outcome).max(axis=(-2, -1))[..., None]
    acts = np.where(of_first >= best - ROUNDING * at_stake, first[..., None], by_outcome.argmax(axis=-1))
    chance, without = joint.sum(axis=-2), before.max(axis=-1)
    with_it = np.maximum(best.sum(axis=-1), without)
    return Preposterior(
        value_without=_plain(without),
        value_with=_plain(with_it),
        evsi=_plain(with_it - without),
        act_without=_plain(first.astype(float)),
        acts=acts.astype(float),
        outcome_chance=chance,
        chance_of_change=_plain(np.where(acts != first[..., None], chance, 0.0).sum(axis=-1)),
    )


def _plain(values: Values) -> Values:
    """A float for a single decision."""
    return values if np.ndim(values) else float(values)
