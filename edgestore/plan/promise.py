"""The promise of a site as a chance: how likely each card in each camera keeps all of it, over all that is not known.

Everything unknown of a camera and its card comes together in two numbers: the mean rate, and the TB that the flash
takes in a year. The mean rate is cut into cells of equal chance; in each cell the flash writes are spread over a grid
of their logarithm. A promise is kept where the rate is within what retention allows, times the chance that a card
worn by so many TB a year still works: one expectation over both, so that a high rate shortens both at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri, owens_t

from edgestore import checks
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.card_life import CardKind

Array = npt.NDArray[np.float64]

CELLS = 32
"""Cells of equal chance into which each mean rate is cut."""

FINE = 128
"""Points at which the chance of a product is tabulated, to find the product that has a chance."""

FARTHEST = 6.0
"""So many standard deviations from the middle: nothing is farther that a chance could tell."""

FAR = 40.0
"""A normal score that is as good as infinite."""

ROUNDING = 1e-9
"""A rate that only rounding puts above a limit is within it."""

LONGEST_YEARS = 1e6
"""No wear life is longer: a card that hardly anything is written to."""

OF_WRITTEN = ["low_mbit_s", "median_mbit_s", "most_mbit_s", "stays_at_cap", "recorded_sigma"]
"""Columns of the rates that tell what a camera writes, in the order of :meth:`RateLaw.of`."""

AT_ONCE = 250
"""Cameras computed at once: more of them would only fill the memory."""


@dataclass(frozen=True)
class RateLaw:
    """What each camera writes: the mean rate while it records, lognormal up to the cap, times what it records.

    Attributes
    ----------
    median_mbit_s, sigma, most_mbit_s : ndarray, shape (cameras,)
        Median and standard deviation of the logarithm of the law of the mean before it is cut off, and where that is:
        the highest rate of all where no cap is known.
    part : ndarray, shape (cameras,)
        Part of that law that counts: 1 where a mean that would be above the cap is at the cap, else the part below it.
    recorded_sigma : ndarray, shape (cameras,)
        Standard deviation of the logarithm of a lognormal factor of median 1: how well the part of the time recorded is
        known. Rates with it are those that would write as much while the camera records for the part that is told.
    """

    median_mbit_s: Array
    sigma: Array
    most_mbit_s: Array
    part: Array
    recorded_sigma: Array

    @classmethod
    def of(cls, low: Array, median: Array, most: Array, stays_at_cap: Array, recorded_sigma: Array) -> "RateLaw":
        """Make the laws from the columns ``OF_WRITTEN`` of the rates, a NaN for no cap.

        Of a mean that is known within a factor none is above the cap; one that follows from the cap may stay at it. The
        upper end that is likely does not count: it is cut off already.
        """
        sigma = np.log(median / low) / Z_90
        highest = np.where(np.isnan(most), checks.MAX_BITRATE_MBIT_S, most)
        below = ndtr(np.log(highest / median) / np.where(sigma > 0, sigma, 1.0))
        part = np.where((sigma > 0) & ~stays_at_cap.astype(bool), below, 1.0)
        return cls(median, sigma, highest, part, recorded_sigma)

    @property
    def mean(self) -> "RateLaw":
        """The laws of the mean rate alone."""
        return replace(self, recorded_sigma=np.zeros(len(self.sigma)))

    @property
    def cells_mbit_s(self) -> Array:
        """Rate in the middle of each cell of equal chance, shape (cameras, CELLS)."""
        return self.rate_mbit_s((np.arange(CELLS) + 0.5)[None] / CELLS)

    def rate_mbit_s(self, chance: Array) -> Array:
        """Rate that is not exceeded with chances of shape (cameras or 1, any)."""
        rate = self.median_mbit_s[:, None] * np.exp(self.sigma[:, None] * ndtri(chance * self.part[:, None]))
        rate = np.minimum(rate, self.most_mbit_s[:, None])
        if len(self._varied):
            score = ndtri(np.broadcast_to(chance, rate.shape)[self._varied])
            rows = zip(score, *self._scores, strict=True)
            rate[self._varied] = np.exp([np.interp(wanted, told, logs) for wanted, told, logs in rows])
        return np.asarray(rate)

    def chance_up_to(self, rate_mbit_s: Array) -> Array:
        """Chance that rates of shape (cameras, any) are not exceeded."""
        fields = (self.median_mbit_s, self.sigma, self.most_mbit_s, self.part)
        median, sigma, most, part = (field[:, None] for field in fields)
        limit = rate_mbit_s * (1 + ROUNDING)
        with np.errstate(divide="ignore"):
            logs = np.log(limit)
        score = (logs - np.log(median)) / np.where(sigma > 0, sigma, 1.0)
        chance = np.where(sigma > 0, ndtr(score) / part, limit >= median)
        chance = np.where(limit >= most, 1.0, chance)
        if len(self._varied):
            chance[self._varied] = self._chance_of_product(logs[self._varied])
        return chance

    def chance_below(self, rate_mbit_s: Array) -> Array:
        """Chance that what is written is below rates of shape (cameras, any)."""
        some = np.where(rate_mbit_s > 0, rate_mbit_s, 1.0) * (1 - 2 * ROUNDING)
        return np.where(rate_mbit_s > 0, self.chance_up_to(some), 0.0)

    @cached_property
    def _varied(self) -> npt.NDArray[np.intp]:
        """The cameras that write a product: those of which the part of the time recorded is not known."""
        return np.flatnonzero(self.recorded_sigma > 0)

    def _chance_of_product(self, logs: Array) -> Array:
        """Chance that the logarithm of a mean times its factor is no higher, of the cameras that vary, (varied, any).

        A mean below the cap, times the factor: both normal in the logarithm, so that it and the product have a normal
        law of two. A mean at the cap, times the factor: normal.
        """
        fields = (self.median_mbit_s, self.sigma, self.most_mbit_s, self.part, self.recorded_sigma)
        median, sigma, most, part, factor = (field[self._varied][:, None] for field in fields)
        both = np.hypot(sigma, factor)
        cap = np.where(sigma > 0, np.log(most / median) / np.where(sigma > 0, sigma, 1.0), np.inf)
        below = normal_of_two(cap, (logs - np.log(median)) / both, sigma / both)
        at_cap = np.maximum(1 - ndtr(cap) / part, 0.0)
        return np.asarray(below / part + at_cap * ndtr((logs - np.log(most)) / factor))

    @cached_property
    def _scores(self) -> tuple[Array, Array]:
        """Chances of products as normal scores, rising, and the logarithms that have them; (varied, 2 FINE) each.

        Half of them lie evenly over all that may be, half near the cap, where many a mean may be.
        """
        fields = (self.median_mbit_s, self.sigma, self.most_mbit_s, self.recorded_sigma)
        median, sigma, most, factor = (field[self._varied][:, None] for field in fields)
        reach = FARTHEST * np.hypot(sigma, factor)
        lowest, top = np.log(median) - reach, np.minimum(np.log(median) + FARTHEST * sigma, np.log(most))
        even, highest = np.linspace(0, 1, FINE), top + FARTHEST * factor
        logs = np.concatenate([lowest + (highest - lowest) * even, top + FARTHEST * factor * (2 * even - 1)], axis=1)
        logs.sort(axis=1)
        return np.maximum.accumulate(ndtri(self._chance_of_product(logs)), axis=1), logs


def normal_of_two(first: Array, second: Array, correlation: Array) -> Array:
    """Chance that two normal scores are both no higher than these.

    Parameters
    ----------
    first, second : ndarray
        Scores, of law N(0, 1) each; infinite for no limit.
    correlation : ndarray
        Correlation of the two, 0 or more and below 1.

    Returns
    -------
    ndarray
        Chances, 0 to 1.

    Notes
    -----
    By two of Owen's functions T. A score of 0 is taken as the least above it.

    References
    ----------
    Owen 1956, Tables for computing bivariate normal probabilities, Annals of Mathematical Statistics 27 (from memory).
    """
    h, k, rho = np.broadcast_arrays(np.clip(first, -FAR, FAR), np.clip(second, -FAR, FAR), correlation)
    h, k = (np.where(score == 0, np.finfo(float).tiny, score) for score in (h, k))
    left = np.sqrt(1 - rho**2)
    with np.errstate(over="ignore"):
        of_two = owens_t(h, (k / h - rho) / left) + owens_t(k, (h / k - rho) / left)
    return np.asarray(np.clip((ndtr(h) + ndtr(k) - ((h < 0) != (k < 0))) / 2 - of_two, 0.0, 1.0))


def alike(kinds: Sequence[CardKind]) -> list[tuple[CardKind, npt.NDArray[np.intp]]]:
    """Each that is known of some kind of card once, with the numbers of the cards of which it is known."""
    return [
        (kind, np.flatnonzero([other is kind for other in kinds]))
        for kind in {id(kind): kind for kind in kinds}.values()
    ]


def wear_life_years(flash_tbw: Array, flash_tb_year: Array) -> Array:
    """Years until the stated endurance is written, of shape (cards, nodes); no longer than ``LONGEST_YEARS``."""
    return np.minimum(flash_tbw[:, None] / flash_tb_year, LONGEST_YEARS)


def overlap(below: Array, up_to: Array) -> Array:
    """Part of each cell of the rate between two chances of shape (cameras, cards); shape (cameras, CELLS, cards)."""
    cell = np.arange(CELLS)[:, None]
    ends = (np.clip(end[:, None, :] * CELLS - cell, 0.0, 1.0) for end in (up_to, below))
    return np.asarray(np.maximum(np.subtract(*ends), 0.0))
