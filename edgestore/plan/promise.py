"""The promise of a site as a chance: how likely each card in each camera keeps all of it, over all that is not known.

Everything unknown of a camera and its card comes together in two numbers: the mean rate, and the TB that the flash
takes in a year. The mean rate is cut into cells of equal chance; in each cell the flash writes are spread over a grid
of their logarithm. A promise is kept where the rate is within what retention allows, times the chance that a card
worn by so many TB a year still works: one expectation over both, so that a high rate shortens both at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from edgestore import checks
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.card_life import CardKind

Array = npt.NDArray[np.float64]

CELLS = 32
"""Cells of equal chance into which each mean rate is cut."""

FINE = 256
"""Points at which a law is averaged where it is made into another."""

ROUNDING = 1e-9
"""A rate that only rounding puts above a limit is within it."""

LONGEST_YEARS = 1e6
"""No wear life is longer: a card that hardly anything is written to."""

OF_MEAN = ("low_mbit_s", "median_mbit_s", "most_mbit_s", "stays_at_cap")
"""Columns of the rates that tell the law of the mean, in the order of :meth:`RateLaw.of`."""

AT_ONCE = 250
"""Cameras computed at once: more of them would only fill the memory."""


@dataclass(frozen=True)
class RateLaw:
    """The mean rate of each camera while it records: a lognormal law, and no more than the cap.

    Attributes
    ----------
    median_mbit_s, sigma, most_mbit_s : ndarray, shape (cameras,)
        Median and standard deviation of the logarithm of the law before it is cut off, and where that is: the highest
        rate of all where no cap is known.
    part : ndarray, shape (cameras,)
        Part of that law that counts: 1 where a mean that would be above the cap is at the cap, else the part below it.
    """

    median_mbit_s: Array
    sigma: Array
    most_mbit_s: Array
    part: Array

    @classmethod
    def of(cls, low: Array, median: Array, most: Array, stays_at_cap: Array) -> "RateLaw":
        """Make the laws from the rate that one mean in ten is below, the median and the cap (NaN: none), in Mbit/s.

        Of a mean that is known within a factor none is above the cap; one that follows from the cap may stay at it. The
        upper end that is likely does not count: it is cut off already.
        """
        sigma = np.log(median / low) / Z_90
        highest = np.where(np.isnan(most), checks.MAX_BITRATE_MBIT_S, most)
        below = ndtr(np.log(highest / median) / np.where(sigma > 0, sigma, 1.0))
        return cls(median, sigma, highest, np.where((sigma > 0) & ~stays_at_cap.astype(bool), below, 1.0))

    def spread_by(self, sigma: Array) -> "RateLaw":
        """Laws of these rates times a factor of median 1 whose logarithm has a standard deviation, shape (cameras,).

        Where that is not 0 the law is lognormal, of the median and the spread that the logarithm of the product has: of
        a rate that is cut off at its cap no chance told is off by more than 0.03.
        """
        if not sigma.any():
            return self
        logs = np.log(self.rate_mbit_s((np.arange(FINE) + 0.5)[None] / FINE))
        is_spread = sigma > 0
        median = np.where(is_spread, np.exp(logs.mean(axis=1)), self.median_mbit_s)
        whole = np.where(is_spread, np.hypot(logs.std(axis=1), sigma), self.sigma)
        most = np.where(is_spread, checks.MAX_BITRATE_MBIT_S, self.most_mbit_s)
        return RateLaw(median, whole, most, np.where(is_spread, 1.0, self.part))

    @property
    def cells_mbit_s(self) -> Array:
        """Rate in the middle of each cell of equal chance, shape (cameras, CELLS)."""
        return self.rate_mbit_s((np.arange(CELLS) + 0.5) / CELLS)

    def rate_mbit_s(self, chance: Array) -> Array:
        """Rate that the mean does not exceed with chances of shape (cameras or 1, any)."""
        rate = self.median_mbit_s[:, None] * np.exp(self.sigma[:, None] * ndtri(chance * self.part[:, None]))
        return np.asarray(np.minimum(rate, self.most_mbit_s[:, None]))

    def chance_up_to(self, rate_mbit_s: Array) -> Array:
        """Chance that the mean is no higher than rates of shape (cameras, cards)."""
        fields = (self.median_mbit_s, self.sigma, self.most_mbit_s, self.part)
        median, sigma, most, part = (field[:, None] for field in fields)
        limit = rate_mbit_s * (1 + ROUNDING)
        with np.errstate(divide="ignore"):
            score = np.log(limit / median) / np.where(sigma > 0, sigma, 1.0)
        chance = np.where(sigma > 0, ndtr(score) / part, limit >= median)
        return np.where(limit >= most, 1.0, chance)

    def chance_below(self, rate_mbit_s: Array) -> Array:
        """Chance that the mean is below rates of shape (cameras, cards)."""
        some = np.where(rate_mbit_s > 0, rate_mbit_s, 1.0) * (1 - 2 * ROUNDING)
        return np.where(rate_mbit_s > 0, self.chance_up_to(some), 0.0)


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
