"""What is known of the life of one kind of card: its endurance, its random failures, its share of weak cards.

The three are taken together on one grid, so that records of cards in service can say how likely each combination is.
"""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from edgestore.inputs.beliefs import Belief, Beliefs
from edgestore.models.life.law import SHAPES as POSSIBLE_SHAPES
from edgestore.models.life.law import CardLife
from edgestore.models.lots import tried_batch, updated_weak_fraction
from edgestore.text import counted

Array = npt.NDArray[np.float64]

SHAPES_TRIED = 3
"""Weibull shapes of wear-out, each as likely as the others."""

SCORE_STEP = 0.5
"""Step of the grids, in standard deviations of the logarithm: at it a sum over a normal law is its integral to the last
digit told, and records that narrow it to a quarter of what it was are still seen."""

SCORES = {"stated_endurance": (-4.0, 4.0), "random_per_year": (-4.0, 9.0), "weak_fraction": (-4.0, 6.0)}
"""Ends of the grids: up to ten failures a year, and to nearly all cards weak."""

AGE_STEP = 0.01
"""Step of the table of wear-out, in the logarithm of the age over the wear life."""

AGE_ENDS = (-10.0, 5.0)
"""Ends of that table: no card is worn out, or all are."""


POINTS_A_STATE = 2
"""Points of the grid of endurance that are taken together where it is asked what knowing it would be worth."""


@dataclass(frozen=True, eq=False)
class CardKind:
    """What is known of the life of one kind of card.

    Attributes
    ----------
    shapes : ndarray, shape (shapes,)
        Weibull shapes of wear-out, each as likely as the others.
    endurance, random_per_year, weak_fraction : ndarray, shape (e,), (r,), (w,)
        The endurance that half of the cards reach, over the one that is stated; failures for other reasons than wear, a
        year; part of the cards that are weak from the start.
    chance : ndarray, shape (e, r, w)
        Chance of each combination, 1 in all.
    basis : str
        What it rests on, in words.
    weak_untried : ndarray, shape (w,), or None
        For each weak share of the kind that of the batch of which some cards were tried, in the mean: what counts of
        cards to be fitted. None where no batch was tried, and batches differ as nobody knows.
    """

    shapes: Array
    endurance: Array
    random_per_year: Array
    weak_fraction: Array
    chance: Array
    basis: str = "assumed"
    weak_untried: Array | None = None

    @property
    def weak_when_new(self) -> Array:
        """Part of the cards to be fitted that is weak, for each of ``weak_fraction``."""
        return self.weak_fraction if self.weak_untried is None else self.weak_untried

    @cached_property
    def mean_random_per_year(self) -> float:
        """Random failures a year, in the mean."""
        return float(self.chance.sum(axis=(0, 2)) @ self.random_per_year)

    @cached_property
    def mean_weak_fraction(self) -> float:
        """Part of the cards to be fitted that is weak, in the mean."""
        return float(self.chance.sum(axis=(0, 1)) @ self.weak_when_new)

    @cached_property
    def by_endurance(self) -> "tuple[KnownEndurance, ...]":
        """What would be known if the endurance were: the points of the grid, ``POINTS_A_STATE`` at a time."""
        of_point = self.chance.sum(axis=(1, 2))
        states = []
        for start in range(0, len(self.endurance), POINTS_A_STATE):
            points = slice(start, start + POINTS_A_STATE)
            chance = float(of_point[points].sum())
            given = self.chance[points] / chance if chance > 0 else self.chance[points]
            middle = float(np.exp(np.log(self.endurance[points]).mean()))
            states.append(KnownEndurance(chance, middle, replace(self, endurance=self.endurance[points], chance=given)))
        return tuple(states)

    @cached_property
    def not_worn(self) -> Array:
        """Part of the cards not worn out, by age over wear life (rows, :func:`places`) and endurance (columns)."""
        return _not_worn(tuple(self.shapes), tuple(self.endurance))

    @cached_property
    def _sound(self) -> Array:
        """Part of the cards neither weak nor worn out, by age over wear life and by random failures a year."""
        return np.asarray(self.not_worn @ (self.chance * (1 - self.weak_when_new)).sum(axis=2))

    def survival(self, wear_life_years: Array, years: Array) -> Array:
        """Chance that such a card works at an age, over all that is not known of it.

        Parameters
        ----------
        wear_life_years : ndarray, shape (cards, nodes)
            Years until the stated endurance is written.
        years : ndarray, shape (ages,)
            Ages, years, 0 or more.

        Returns
        -------
        ndarray, shape (cards, nodes, ages)
            Chances, 0 to 1.

        Notes
        -----
        Wear-out depends on the age over the wear life alone: it is tabulated in the logarithm of that and read in
        straight lines, which is off by 0.0001 at most.
        """
        works = self._sound @ np.exp(-np.outer(self.random_per_year, years))
        with np.errstate(divide="ignore"):
            at, part = places(np.log(years) - np.log(wear_life_years)[..., None])
        at *= len(years)
        at += np.arange(len(years))
        flat = works.ravel()
        main = flat.take(at)
        at += len(years)
        more = flat.take(at)
        more -= main
        more *= part
        main += more
        main += self.mean_weak_fraction * np.exp(-years / CardLife.early_mean_years)
        return main

    def tried(self, cards: float, weak: float, finds: float, batch_correlation: float = 0.0) -> "CardKind":
        """What is known of the kind after a trial of some of its cards.

        Parameters
        ----------
        cards, weak : float
            Cards tried, and how many of them were found bad; whole numbers.
        finds : float
            Part of the weak cards that the trial finds, above 0 to 1.
        batch_correlation : float
            Correlation of the weak cards of a batch: the cards to be fitted are of the batch that was tried.

        Returns
        -------
        CardKind
            With the chances of :func:`edgestore.models.lots.updated_weak_fraction`, or of
            :func:`edgestore.models.lots.tried_batch` where batches differ; itself where none was tried.
        """
        if not cards:
            return self
        before, untried = self.chance.sum(axis=(0, 1)), None
        seen: dict[str, Any] = {"cards": cards, "failures": weak, "detected_fraction": finds}
        if batch_correlation:
            batch = tried_batch(self.weak_fraction, batch_correlation=batch_correlation, **seen)
            untried, after = batch.mean_untried, before * batch.chance_seen
            after = after / after.sum()
        else:
            after = updated_weak_fraction(self.weak_fraction, before, **seen).chance
        told = f"{self.basis}, and {counted(cards, 'card')} tried, {weak:.0f} of them bad"
        ratio = np.divide(after, before, out=np.zeros_like(before), where=before > 0)
        return replace(self, chance=self.chance * ratio, basis=told, weak_untried=untried)

    def quantile(self, name: str, fraction: float) -> float:
        """Value of the endurance, of random failures or of the weak share below which a part of the chance lies.

        Between the points of the grid the logarithm of the value is read in straight lines over the normal quantiles.
        """
        axis = list(SCORES).index(name)
        values = (self.endurance, self.random_per_year, self.weak_when_new)[axis]
        chance = self.chance.sum(axis=tuple(other for other in range(3) if other != axis))
        below = np.clip(np.cumsum(chance) - chance / 2, 1e-300, 1 - 1e-16)
        return float(np.exp(np.interp(ndtri(fraction), ndtri(below), np.log(values))))


@dataclass(frozen=True)
class KnownEndurance:
    """A kind of card with an endurance that is known.

    Attributes
    ----------
    of_all : float
        Chance of that endurance.
    median_endurance : float
        What half of the cards reach, over what is stated.
    kind : CardKind
        What is known then.
    """

    of_all: float
    median_endurance: float
    kind: CardKind


@lru_cache(maxsize=8)
def _not_worn(shapes: tuple[float, ...], endurance: tuple[float, ...]) -> Array:
    """Table of :attr:`CardKind.not_worn`, which kinds of card share whatever their records tell."""
    over_median = np.arange(*AGE_ENDS, AGE_STEP)[:, None] - np.log(endurance)
    return np.asarray(np.mean([2.0 ** -np.exp(shape * over_median) for shape in shapes], axis=0))


def places(log_age: Array) -> tuple[npt.NDArray[np.intp], Array]:
    """Row of the table of wear-out below the logarithm of an age over a wear life, and how far it is to the next."""
    at = log_age - AGE_ENDS[0]
    at /= AGE_STEP
    np.clip(at, 0, (AGE_ENDS[1] - AGE_ENDS[0]) / AGE_STEP - 1.001, out=at)
    below = at.astype(np.intp)
    at -= below
    return below, at


@lru_cache(maxsize=8)
def known_before(beliefs: Beliefs) -> CardKind:
    """What is known of a kind of card of which nobody has records.

    Parameters
    ----------
    beliefs : Beliefs
        What is taken for known.

    Returns
    -------
    CardKind
        The three independent of one another.
    """
    (endurance, of_endurance), (random, of_random), (weak, of_weak) = (_grid(beliefs[name]) for name in SCORES)
    chance = of_endurance[:, None, None] * of_random[:, None] * of_weak
    return CardKind(shapes(beliefs["wear_shape"]), endurance, random, np.minimum(weak, 1.0), chance)


def shapes(belief: Belief) -> Array:
    """Weibull shapes of wear-out, each as likely as the others: the middles of equal parts of the range."""
    parts = (np.arange(SHAPES_TRIED) + 0.5) / SHAPES_TRIED
    # A tenth of the chance is below the low end and a tenth above the high one.
    whole = (belief.high - belief.low) / 0.8
    low, high = POSSIBLE_SHAPES["weibull"]
    return np.asarray(np.clip(belief.median + whole * (parts - 0.5), low, high))


def _grid(belief: Belief) -> tuple[Array, Array]:
    """Values of a belief of which the logarithm is normal, and their chances."""
    low, high = SCORES[belief.name]
    score = np.arange(low, high + SCORE_STEP / 2, SCORE_STEP)
    weight = np.exp(-(score**2) / 2)
    return belief.median * np.exp(belief.sigma * score), weight / weight.sum()
