"""A law of life given as a table, for cards that no formula fits."""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from edgestore import checks
from edgestore.checks import Fault, InputError, Numbers, Values
from edgestore.models.life.law import CardLife


@dataclass(frozen=True)
class LifeTable:
    r"""Law of life given as a table: the fraction that has failed by each age, straight lines between.

    Parameters
    ----------
    ages_years : array_like
        Ages, years, rising from 0.
    failed_fraction : array_like
        Fraction of cards that has failed by each, from 0 to 1, never falling. The last must be 1: what a record does
        not show, its user has to assume.

    Raises
    ------
    InputError
        When the table cannot be a law of life.

    Notes
    -----
    Between two ages t of the table, with the fractions F that have failed by them, and for the mean and the standard
    deviation of life:

    .. math:: R(t) = 1 - F_i - (F_{i+1} - F_i) \frac{t - t_i}{t_{i+1} - t_i}, \quad
        \mu = \sum_i (t_{i+1} - t_i) \left( 1 - \frac{F_i + F_{i+1}}{2} \right)

    .. math:: \sigma^2 = \sum_i (F_{i+1} - F_i) \frac{t_i^2 + t_i t_{i+1} + t_{i+1}^2}{3} - \mu^2

    R is 0 from the last age on; a card of that age has a mean further life of 0.

    References
    ----------
    Arithmetic.

    Examples
    --------
    Lives spread evenly from 0 to 4 years: the mean is 2, and half of those that reach 2 years reach 3.

    >>> life = LifeTable([0, 4], [0, 1])
    >>> print(life.mean_life_years(), life.chance_of_lasting(1, age_years=2))
    2.0 0.5
    """

    ages_years: Values
    failed_fraction: Values

    def __post_init__(self) -> None:
        ages = np.asarray(checks.in_range("ages_years", self.ages_years, "years", at_least=0))
        failed = np.asarray(checks.fraction("failed_fraction", self.failed_fraction))
        if ages.ndim != 1 or ages.shape != failed.shape:
            found = f"shapes {ages.shape} and {failed.shape}"
            raise checks.refuse("failed_fraction", found, "one fraction for each age")
        faults = []
        if ages[0] != 0 or np.any(np.diff(ages) <= 0):
            faults.append(Fault("ages_years", "ages that do not rise from 0", "0 first, then each above the last"))
        if failed[0] != 0 or failed[-1] != 1 or np.any(np.diff(failed) < 0):
            mend = "Say by which age all cards have failed, as an assumption if need be."
            faults.append(Fault("failed_fraction", "fractions that do not rise from 0 to 1", "0 first, 1 last", mend))
        if faults:
            raise InputError(faults)
        object.__setattr__(self, "ages_years", ages)
        object.__setattr__(self, "failed_fraction", failed)

    def survival(self, years: Numbers) -> Values:
        """Fraction of cards, 0 to 1, that still work at an age of ``years``, 0 or more."""
        age = checks.in_range("years", years, "years", at_least=0)
        return 1 - np.interp(age, self.ages_years, self.failed_fraction)

    def chance_of_lasting(self, years: Numbers, age_years: Numbers = 0.0) -> Values:
        """Chance, 0 to 1, that a card works for ``years`` more when it works at ``age_years``, each 0 or more."""
        further, working = checks.in_range("years", years, "years", at_least=0), self.survival(age_years)
        later = self.survival(np.add(further, age_years))
        return np.where(working > 0, later / np.where(working > 0, working, 1), np.equal(further, 0))[()]

    def mean_life_years(self) -> Values:
        """Mean life of a new card, years."""
        return self.mean_years_until(self.ages_years[-1])

    def mean_residual_years(self, age_years: Numbers) -> Values:
        """Mean further life, years, of a card that works at an age of ``age_years``, 0 or more."""
        working = self.survival(age_years)
        further = self.mean_life_years() - self.mean_years_until(age_years)
        return further / np.where(working > 0, working, 1)

    def mean_years_until(self, age_years: Numbers) -> Values:
        """Mean time, years, that a new card works before it fails or reaches an age of ``age_years``, 0 or more."""
        left, working = 1 - self.failed_fraction, self.survival(age_years)
        lived = np.concatenate([[0], np.cumsum(np.diff(self.ages_years) * (left[1:] + left[:-1]) / 2)])
        # Up to the start of a line of the table, and the trapezium from there, which is empty after the last age.
        row = np.searchsorted(self.ages_years, age_years, side="right") - 1
        return lived[row] + np.subtract(age_years, self.ages_years[row]) * (left[row] + working) / 2

    def sd_life_years(self) -> Values:
        """Standard deviation of the life of a new card, years."""
        low, high = self.ages_years[:-1], self.ages_years[1:]
        square = np.sum(np.diff(self.failed_fraction) * (low**2 + low * high + high**2) / 3)
        return float(np.sqrt(max(square - self.mean_life_years() ** 2, 0)))


Life: TypeAlias = CardLife | LifeTable
LIVES = (CardLife, LifeTable)
"""A law of life that can be renewed."""
