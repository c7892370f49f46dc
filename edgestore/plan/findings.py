"""What a finding about a camera's mean rate or a card's endurance is worth, by what is lost with each card."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from edgestore.models.uncertainty import measurement_chance, preposterior
from edgestore.plan.losses import Losses
from edgestore.plan.promise import AT_ONCE, CELLS, RateLaw

Array = npt.NDArray[np.float64]
Chosen = npt.NDArray[np.intp]

CELLS_OF_FINDING = 128
"""Cells into which what a measurement may say is cut."""

EDGES = np.arange(1, CELLS) / CELLS
"""Chances of the edges between the cells of what a camera writes."""


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


@dataclass(frozen=True)
class Part:
    """What can be found out by itself of what each camera writes: the mean rate, or the part of the time recorded.

    Attributes
    ----------
    log : ndarray, shape (cameras, values)
        Logarithms of values of equal chance that it may have.
    of_cell : ndarray, shape (cameras, CELLS, values)
        Chance of each of them in each cell of what the camera writes; they add to 1 in each cell.
    """

    log: Array
    of_cell: Array

    @classmethod
    def mean_rate(cls, law: RateLaw) -> "Part":
        """Give the mean rate while recording: all of what is unknown where the part of the time recorded is known."""
        log, sigma = np.log(law.mean.cells_mbit_s), law.recorded_sigma
        edges = np.log(law.rate_mbit_s(EDGES[None]))
        up_to = ndtr((edges[:, :, None] - log[:, None, :]) / np.where(sigma > 0, sigma, 1.0)[:, None, None])
        same = np.eye(CELLS)[None]
        return cls(log, np.where(sigma[:, None, None] > 0, _of_cells(up_to), same))

    @classmethod
    def recorded(cls, law: RateLaw) -> "Part":
        """Give the factor on the part of the time recorded; where that is known it tells nothing."""
        log = law.recorded_sigma[:, None] * ndtri((np.arange(CELLS) + 0.5) / CELLS)
        rates = law.rate_mbit_s(EDGES[None])[:, :, None] / np.exp(log)[:, None, :]
        up_to = law.mean.chance_up_to(rates.reshape(len(log), -1)).reshape(rates.shape)
        return cls(log, np.where(law.recorded_sigma[:, None, None] > 0, _of_cells(up_to), 1 / CELLS))

    def outcomes(self, sigma: Array, rows: slice = slice(None)) -> Array:
        """Chance of each cell of what the camera writes together with what a measurement of the part says.

        The measurements have errors of these standard deviations of the logarithm, shape (cameras,); the chances are of
        shape (cameras, CELLS, outcomes), of some cameras.
        """
        said = measurement_chance(self.log[rows], sigma[rows], CELLS_OF_FINDING)
        return np.asarray(self.of_cell[rows] @ said / self.of_cell.shape[1])


def _of_cells(up_to: Array) -> Array:
    """Chance of each value in each cell, from the chances that a camera with it is below each edge between cells."""
    ends = np.zeros((len(up_to), 1, up_to.shape[2]))
    in_cell = np.diff(up_to, axis=1, prepend=ends, append=1 + ends)
    whole = in_cell.sum(axis=2, keepdims=True)
    return np.where(whole > 0, in_cell / np.where(whole > 0, whole, 1.0), 1 / up_to.shape[2])


def found(made: Losses, part: Part, sigma: Array) -> Found:
    """What a measurement of a part of what each camera writes is worth.

    Parameters
    ----------
    made : Losses
        What is lost with each card at each rate.
    part : Part
        What is measured.
    sigma : ndarray, shape (cameras,)
        Standard deviation of the error of its logarithm.

    Returns
    -------
    Found
        Worth, chances and orders.
    """
    parts = []
    for start in range(0, len(sigma), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        joint = part.outcomes(sigma, rows)
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
