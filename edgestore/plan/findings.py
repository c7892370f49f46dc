"""What a finding about a camera's mean rate or a card's endurance is worth, by what is lost with each card."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from edgestore.models.uncertainty import measurement_chance, preposterior
from edgestore.plan.losses import Losses
from edgestore.plan.promise import AT_ONCE

Array = npt.NDArray[np.float64]
Chosen = npt.NDArray[np.intp]

CELLS_OF_FINDING = 128
"""Cells into which what a measurement may say is cut."""

FAINTEST = 1e-6
"""A finding takes away at least this part of what is unknown, or tells nothing."""


@dataclass(frozen=True, kw_only=True)
class Found:
    """What a finding about each camera is worth; arrays of shape (cameras,).

    Attributes
    ----------
    worth : ndarray
        Expected loss that it saves, 0 or more.
    chance_of_change : ndarray
        Chance that another card is ordered after it.
    likely : ndarray of int
        Number of the card that is most likely ordered in place of the present one.
    chance_of_likely : ndarray
        Chance of that.
    saving, fewer_broken : ndarray
        The two parts of what it is worth: expected cost saved, and by how much the chance falls that the promise is
        broken.
    """

    worth: Array
    chance_of_change: Array
    likely: Chosen
    chance_of_likely: Array
    saving: Array
    fewer_broken: Array


def finding_sigma(log_rate: Array, recorded: Array, *, rate_error: Array, events_error: Array) -> Array:
    """Error of the one measurement of what a camera writes that tells as much as a finding about rate and events.

    Parameters
    ----------
    log_rate : ndarray, shape (cameras, cells)
        Logarithm of what the camera may write, in cells of equal chance.
    recorded : ndarray, shape (cameras,)
        Part of its standard deviation that the events bring in.
    rate_error, events_error : ndarray, shape (cameras,)
        Standard deviation with which the logarithm of the mean rate, and of the fraction recorded, is found out;
        infinite where it is not.

    Returns
    -------
    ndarray, shape (cameras,)
        Standard deviation of a logarithm; 0 where what is found leaves nothing unknown.

    Notes
    -----
    Variances add, and a normal law of variance v found with an error of variance e keeps ``1 / (1/v + 1/e)``. Where
    that leaves a of a whole v, a measurement of the whole with ``1 / (1/a - 1/v)`` leaves as much.
    """
    spread = log_rate.var(axis=1)
    whole = np.where(spread > 0, spread, 1.0)
    of_events = np.minimum(recorded**2, spread)
    with np.errstate(divide="ignore"):
        of_rate = 1 / (1 / (whole - of_events) + rate_error**-2.0)
        left = of_rate + 1 / (1 / of_events + events_error**-2.0)
        told = np.maximum(1 / left - 1 / whole, FAINTEST / whole)
    return np.asarray(np.where(spread > 0, told, 1.0) ** -0.5)


def found(made: Losses, sigma: Array) -> Found:
    """What a measurement of each camera's mean rate is worth.

    Parameters
    ----------
    made : Losses
        What is lost with each card at each rate.
    sigma : ndarray, shape (cameras,)
        Standard deviation of the error of the logarithm, of :func:`finding_sigma`.

    Returns
    -------
    Found
        Worth, chances and orders.
    """
    parts = []
    for start in range(0, len(sigma), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        cells = made.log_rate.shape[1]
        joint = measurement_chance(made.log_rate[rows], sigma[rows], CELLS_OF_FINDING) / cells
        then = preposterior(-made.by_rate[rows], joint)
        acts, now = then.acts.astype(np.intp), then.act_without.astype(np.intp)
        ordered = np.zeros((len(now), made.by_rate.shape[2]))
        np.add.at(ordered, (np.arange(len(now))[:, None], acts), then.outcome_chance)
        ordered[np.arange(len(now)), now] = 0.0
        saved = [
            _of_act(mean[rows], now) - _of_acts(joint, values, acts)
            for mean, values in zip(made.means[1:], (made.cost[rows], 1 - made.kept[rows]), strict=True)
        ]
        likely = ordered.argmax(axis=1)
        parts.append((then.evsi, then.chance_of_change, likely, ordered.max(axis=1), *saved))
    columns = [np.concatenate(column) for column in zip(*parts, strict=True)]
    names = ("worth", "chance_of_change", "likely", "chance_of_likely", "saving", "fewer_broken")
    return Found(**dict(zip(names, columns, strict=True)))


def _of_act(values: Array, act: Chosen) -> Array:
    return np.asarray(np.take_along_axis(values, act[:, None], axis=1)[:, 0])


def _of_acts(joint: Array, values: Array, acts: Chosen) -> Array:
    """Mean of values of shape (cameras, cells, cards) when each outcome has its own act."""
    by_outcome = np.swapaxes(joint, 1, 2) @ values
    return np.asarray(np.take_along_axis(by_outcome, acts[..., None], axis=2)[..., 0].sum(axis=1))


def worth_if_known(made: Losses) -> Array:
    """What it is worth to know exactly what each camera writes, shape (cameras,)."""
    best = made.means[0].min(axis=1) - made.by_rate.min(axis=2).mean(axis=1)
    return np.asarray(np.maximum(best, 0.0))


def found_of_card(made: Losses, card: int, sigma: float) -> tuple[float, float, float, float]:
    """What a finding about the endurance of one card is worth to all cameras together.

    Parameters
    ----------
    made : Losses
        What is lost with each card with each endurance.
    card : int
        Number of the card.
    sigma : float
        Standard deviation of the error of the logarithm of its endurance.

    Returns
    -------
    tuple of float
        Worth; chance that some camera gets another card; the cost saved; broken promises fewer.

    Notes
    -----
    The other cards stay as unknown as they are: each camera takes the better of this card and the best of the others.
    """
    weights = made.endurance_chance[card]
    joint = weights[:, None] * measurement_chance(made.log_endurance[card], sigma, CELLS_OF_FINDING)
    outcome = joint.sum(axis=0)
    others_alone = made.means[0].copy()
    others_alone[:, card] = np.inf
    best = others_alone.argmin(axis=1)
    others = [_of_act(values, best) for values in (others_alone, *made.means[1:])]
    this = [made.by_endurance[:, card], made.cost_by_endurance[:, card], 1 - made.kept_by_endurance[:, card]]
    after = [values @ joint for values in this]
    is_now = this[0] @ weights < others[0]
    is_then = after[0] < others[0][:, None] * outcome
    saved = [
        np.where(is_now, of_this @ weights, other) - np.where(is_then, then, other[:, None] * outcome).sum(axis=1)
        for of_this, other, then in zip(this, others, after, strict=True)
    ]
    changes = float(outcome[(is_then != is_now[:, None]).any(axis=0)].sum())
    worth, saving, fewer = (float(values.sum()) for values in saved)
    return max(worth, 0.0), changes, saving, fewer
