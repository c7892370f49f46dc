"""At which age a card is changed, and what it then costs over the horizon, failures between changes among it.

A table of expected failures and planned changes over one horizon is made once, by wear life and age of change, since
they depend on nothing else of a camera; the plan reads it at what each camera's flash may take.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

from edgestore.answers.certainty import GUESSED_LIFE, RANDOM_WITHIN
from edgestore.models.life.law import CardLife
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.promise import ROUNDING, SHAPES

Array = npt.NDArray[np.float64]

QUARTER_YEARS = 0.25
"""Cards are changed at whole quarters of a year: nobody plans a visit closer than that (our choice)."""

MOST_AGES = 60
"""A horizon has no more ages of change: of a longer one whole multiples of a quarter are tried."""

STEPS_AN_AGE = 4
"""Steps of the renewal equation between two ages."""

MEAN_RANDOM = GUESSED_LIFE["random_per_year"] * float(np.exp((np.log(RANDOM_WITHIN) / Z_90) ** 2 / 2))
"""Random failures a year, the mean of a lognormal law of which the middle is guessed."""

SHORTEST, LONGEST, LIVES = 0.01, 30.0, 49
"""Wear lives of the table, in horizons; outside, a card is used up at once, or does not wear."""


@dataclass(frozen=True)
class ChangeTable:
    """Expected failures and planned changes over a horizon, by wear life and age of change.

    Attributes
    ----------
    horizon_years : float
        The horizon.
    step_years : float
        Time between two ages.
    ages_years : ndarray, shape (ages,)
        Ages of change, above 0; the last is infinite: no change is planned within the horizon.
    failures, planned : CubicSpline
        Expected numbers by the logarithm of the wear life in horizons, of shape (ages,) each.
    """

    horizon_years: float
    step_years: float
    ages_years: Array
    failures: CubicSpline
    planned: CubicSpline

    def expected(self, wear_life_years: Array) -> tuple[Array, Array]:
        """Failures and planned changes at wear lives of any shape, the ages last."""
        at = np.log(np.clip(wear_life_years / self.horizon_years, SHORTEST, LONGEST))
        return np.maximum(self.failures(at), 0.0), np.maximum(self.planned(at), 0.0)


@dataclass(frozen=True)
class CostsByAge:
    """What each card costs each camera over the horizon, changed at each age: the same whatever assurance is asked.

    Attributes
    ----------
    ages_years : ndarray, shape (ages,)
        Ages of change; the last is infinite: no change is planned within the horizon.
    horizon_years : float
        The horizon.
    failures, planned, cost : ndarray, shape (cameras, cards, ages)
        Expected failures and planned changes, and cost in currency units.
    """

    ages_years: Array
    horizon_years: float
    failures: Array
    planned: Array
    cost: Array

    def best(self, latest_years: Array, years: Array) -> Array:
        """Age of change of least cost between the lives asked and the latest ages, failures, planned changes, cost."""
        latest, least = latest_years[..., None], years[:, None, None]
        due = np.minimum(self.ages_years, self.horizon_years)
        may = (due >= least - ROUNDING) & (due <= latest + ROUNDING)
        may[..., -1] |= least[..., 0] >= self.horizon_years  # no change is wanted within the horizon
        at = np.where(may, self.cost, np.inf).argmin(axis=2)[..., None]
        found = (np.take_along_axis(values, at, axis=2)[..., 0] for values in (self.failures, self.planned, self.cost))
        return np.array([np.minimum(self.ages_years[at[..., 0]], latest_years), *found])


@lru_cache(maxsize=8)
def change_table(horizon_years: float) -> ChangeTable:
    """Make the table for a horizon.

    Parameters
    ----------
    horizon_years : float
        Time over which changes are counted, years, above 0.

    Returns
    -------
    ChangeTable
        Of :data:`edgestore.answers.certainty.GUESSED_LIFE`, averaged over the spread of wear-out.

    Notes
    -----
    The renewal equation in even steps h, each failure put at the nearest step, and a change at age a where it is. Of U
    renewals, the first card counted, those that fail within the horizon H are the sum of ``U_i (1 - R(min(H - t_i,
    a)))``, and planned changes that of ``U_i R(a)`` over t_i + a < H: a change due at the very end is not made. Random
    failures, some 0.1 in a horizon, are taken at the mean of their range.
    """
    multiple = max(1, int(np.ceil(horizon_years / QUARTER_YEARS / MOST_AGES)))
    age_step = QUARTER_YEARS * multiple
    count = max(int(np.ceil(horizon_years / age_step - ROUNDING)) - 1, 0)
    step = age_step / STEPS_AN_AGE
    steps = int(np.ceil(horizon_years / step - ROUNDING))
    left = np.asarray(horizon_years - step * np.arange(steps), dtype=np.float64)  # time to the end at each step
    at_log = np.linspace(np.log(SHORTEST), np.log(LONGEST), LIVES)
    lives = horizon_years * np.exp(at_log)
    ages = np.asarray(age_step * np.arange(1, count + 1), dtype=np.float64)
    failed: Array = np.zeros((LIVES, count + 1))
    planned: Array = failed
    for shape in SHAPES:
        card = CardLife(lives[:, None], **{**GUESSED_LIFE, "wear_shape": shape, "random_per_year": MEAN_RANDOM})
        one = _expected(card, ages, step, steps, left)
        failed, planned = failed + one[0] / len(SHAPES), planned + one[1] / len(SHAPES)
    table = [CubicSpline(at_log, values) for values in (failed, planned)]
    return ChangeTable(horizon_years, age_step, np.append(ages, np.inf), *table)


def _expected(card: CardLife, ages: Array, step: float, steps: int, left: Array) -> tuple[Array, Array]:
    """Failures and planned changes of shape (lives, ages + 1), the last without a planned change."""
    number = np.append(STEPS_AN_AGE * np.arange(1, len(ages) + 1), 2 * steps)  # of the step at each age
    half = card.survival(step * (np.arange(2 * steps + 1) + 0.5))  # survival at the middle after each step
    whole = card.survival(step * np.arange(steps + 1))
    fails = np.empty((whole.shape[0], steps))
    fails[:, 0] = 1 - half[:, 0]
    fails[:, 1:] = half[:, : steps - 1] - half[:, 1:steps]
    renewals = np.zeros((steps, whole.shape[0], len(number)))
    renewals[0] = 1 / (1 - fails[:, :1])
    at_age = [whole[:, n] if n <= steps else np.zeros(len(whole)) for n in number]
    to_age = [half[:, n - 1] - whole[:, n] if n <= steps else np.zeros(len(whole)) for n in number]
    reaches, last_half = np.stack(at_age, axis=1), np.stack(to_age, axis=1)
    for i in range(1, steps):
        back = np.arange(1, i + 1)
        within = back[:, None] < number  # of a card that is changed at its age no failure comes later
        total = np.einsum("jl,jla->la", fails[:, back].T, renewals[i - back] * within[:, None, :])
        for at, n in enumerate(number):
            if n <= i:
                total[:, at] += (last_half[:, at] + reaches[:, at]) * renewals[i - n, :, at]
        renewals[i] = total / (1 - fails[:, :1])
    due = np.minimum(left[:, None], np.append(ages, np.inf))
    dead = 1 - card.survival(due.reshape(1, -1)).reshape(len(whole), *due.shape)
    failures = np.einsum("ila,lia->la", renewals, dead)
    is_made = left[:, None] > np.append(ages, np.inf) + ROUNDING
    planned = np.einsum("ila,ia->la", renewals, is_made) * reaches
    return failures, planned
