"""Ages at which cards are gone with a chance, for many cards at once, whatever law their lives have."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

Survival = Callable[[Array], Array]
"""Chance that each of many cards works at an age of its own, years; both of shape (cards,)."""

SHORTEST_YEARS, LONGEST_YEARS = 1e-6, 1000.0
"""No age looked for is beyond."""

MOST_STEPS, CLOSE, LEAST_ALIVE = 60, 1e-9, 1e-300
"""The search for an age: steps at most, share of the risk by which it may miss, and least fraction told from none."""


def due_years(survival: Survival, age_years: Array, chance: float) -> Array:
    """Further time for which each of many cards in service lasts with a wanted chance.

    Parameters
    ----------
    survival : callable
        Chance that each card works at an age, over all that is not known of it.
    age_years : ndarray, shape (cards,)
        Age of each card, which works, years, 0 or more.
    chance : float
        Chance that it lasts until then, above 0 and below 1.

    Returns
    -------
    ndarray, shape (cards,)
        Years from now; 0 where no such card would work so long.

    Notes
    -----
    As :func:`edgestore.models.upkeep.next_change_years`, for any law of life: the root x of ``R(age + x) = chance x
    R(age)``.
    """
    now = survival(age_years)
    some = np.where(now > 0, now, 1.0)
    further = years_until(chance, lambda x: survival(age_years + x) / some, len(now))
    return np.where(now > 0, further, 0.0)


def years_until(left: float, survival: Survival, count: int) -> Array:
    """Ages at which a fraction is left, for ``count`` falling curves at once.

    Parameters
    ----------
    left : float
        Fraction that is left, above 0 and below 1.
    survival : callable
        The curves.
    count : int
        How many they are.

    Returns
    -------
    ndarray, shape (count,)
        Ages, years.

    Notes
    -----
    False position with the Illinois rule, in the logarithms of the age and of ``-ln R``: nearly a straight line.
    """

    def over(log_age: Array) -> Array:
        risk = -np.log(np.clip(survival(np.exp(log_age)), LEAST_ALIVE, None))
        return np.asarray(np.log(np.maximum(risk, LEAST_ALIVE) / -np.log(left)))

    low, high = (np.full(count, np.log(years)) for years in (SHORTEST_YEARS, LONGEST_YEARS))
    at_low, at_high = over(low), over(high)
    middle, was_over = high, np.zeros(count, dtype=bool)
    for step in range(MOST_STEPS):
        before, rise = middle, np.where(at_high > at_low, at_high - at_low, 1.0)
        middle = np.clip(low - (high - low) * at_low / rise, low, high)
        at_middle = over(middle)
        if np.all((np.abs(at_middle) < CLOSE) | (middle == before)):
            break
        is_over = at_middle > 0
        stays = np.where((is_over == was_over) & (step > 0), 0.5, 1.0)  # an end that stays twice counts for half
        at_low, at_high = np.where(is_over, stays * at_low, at_middle), np.where(is_over, at_middle, stays * at_high)
        low, high, was_over = np.where(is_over, low, middle), np.where(is_over, middle, high), is_over
    return np.asarray(np.exp(middle))
