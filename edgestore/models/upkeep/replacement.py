"""At which age a card is changed before it fails: what that costs a year, the cheapest age, and the next date."""

from collections.abc import Callable
from functools import partial

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.few_failures import MOST_SURE
from edgestore.models.life.law import CardLife
from edgestore.models.life.table import LIVES, Life
from edgestore.models.upkeep._interval import Array, BestInterval, LivedCurve

_SHORTEST, _LONGEST = 1e-4, 1e3
"""Ages looked at, in mean lives: with nearly all cards weak, the others live hundreds of mean lives."""

_HALVINGS = 100


def cost_per_year_for_change(
    change_years: Numbers, card: Life, *, planned_cost: Numbers, failure_cost: Numbers
) -> Values:
    r"""Long-run cost of a camera whose cards are changed at a set age, or when they fail before it.

    Parameters
    ----------
    change_years : float or array_like
        Age at which a card that still works is changed, years, above 0.
    card : CardLife or LifeTable
        Life of the cards: the fraction that survives each age.
    planned_cost : float or array_like
        Cost of a planned change, card, visit and lift together, any currency, above 0.
    failure_cost : float or array_like
        Cost of a change after a failure, the footage lost included, the same currency, 0 or more.

    Returns
    -------
    float or ndarray
        Cost, currency a year, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{cost a year} =
        \frac{\text{planned cost} \cdot R(a) + \text{failure cost} \cdot (1 - R(a))}{\int_0^a R(t)\, dt}

    The mean cost of a card over the
    mean time that it stays. The failure is taken to be seen at once, and the change to take no time.

    References
    ----------
    Barlow and Hunter, Operations Research 8 (1960) 90. Jardine and Tsang, Maintenance, Replacement, and Reliability,
    chapter 2.

    Examples
    --------
    Lives evenly from 0 to 40 years, planned 100, after a failure 200, changed at 20: 150 / 15.

    >>> from edgestore.models.life import LifeTable
    >>> print(f"{cost_per_year_for_change(20, LifeTable([0, 40], [0, 1]), planned_cost=100, failure_cost=200):.3f}")
    10.000
    """
    checks.one_kind("card", card, *LIVES)
    age = checks.in_range("change_years", change_years, "years", above=0)
    planned, failure = _costs(planned_cost, failure_cost)
    checks.broadcastable(change_years=age, card=card.mean_life_years(), planned_cost=planned, failure_cost=failure)
    return _rate(card.survival(age), card.mean_years_until(age), planned, failure)[()]


def best_change_years(card: Life, *, planned_cost: Numbers, failure_cost: Numbers) -> BestInterval:
    r"""Age at which changing cards costs least in the long run.

    Parameters
    ----------
    card : CardLife or LifeTable
        Life of the cards: the fraction that survives each age.
    planned_cost : float or array_like
        Cost of a planned change, card, visit and lift together, any currency, above 0: what costs nothing would be
        done all the time.
    failure_cost : float or array_like
        Cost of a change after a failure, the footage lost included, the same currency, 0 or more.

    Returns
    -------
    BestInterval
        Age in years, costs in currency a year, of the broadcast shape. The age is infinite where a card is best left
        until it fails: when a failure costs no more than a planned change, or cards do not age.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: a^* = \arg\min_{0.0001 \mu \le a \le 1000 \mu} C(a), \quad C(\infty) = \frac{\text{failure cost}}{\mu}

    with C the :func:`cost_per_year_for_change`, and mu the mean life; infinite where the least C is no lower than that
    of never. The curve is flat about its least: some months earlier or later hardly matter, so
    dates can be moved to when a visit is made anyway.

    References
    ----------
    Barlow and Hunter, Operations Research 8 (1960) 90.

    Examples
    --------
    Lives evenly from 0 to 40 years, 100 and 200: the least of ``(1 + a/40) x 100 / (a - a^2/80)`` is at
    ``40 (sqrt 3 - 1)`` years.

    >>> from edgestore.models.life import LifeTable
    >>> best = best_change_years(LifeTable([0, 40], [0, 1]), planned_cost=100, failure_cost=200)
    >>> print(f"{best.interval_years:.2f} {best.cost_per_year:.2f}")
    29.28 9.33
    """
    checks.one_kind("card", card, *LIVES)
    planned, failure = _costs(planned_cost, failure_cost)
    mean = card.mean_life_years()
    checks.broadcastable(card=mean, planned_cost=planned, failure_cost=failure)
    mean, planned, failure = np.broadcast_arrays(mean, planned, failure)
    low, high = _SHORTEST * mean, _LONGEST * mean

    def cost(age: Array, lived: Callable[[Array], Values] = card.mean_years_until) -> Values:
        return _rate(card.survival(age), lived(age), planned, failure)

    # A table knows its sums; those of a law are integrals, which take long one by one.
    nearly = partial(cost, lived=LivedCurve(card, low, high).at) if isinstance(card, CardLife) else cost
    return BestInterval.of_curve(cost, low, high, failure / mean, nearly)


def next_change_years(card: Life, chance: Numbers, age_years: Numbers = 0.0) -> Values:
    r"""Further time for which a card in service lasts with a wanted chance: then it is due for a change.

    Parameters
    ----------
    card : CardLife or LifeTable
        Life of the cards: the fraction that survives each age.
    chance : float or array_like
        Wanted chance that the card lasts until it is changed, a fraction, above 0 and at most 0.9999.
    age_years : float or array_like
        Age of a card that works, years, 0 or more; 0 for a new one. A card 18 months old is 1.5 years old.

    Returns
    -------
    float or ndarray
        Time from now, years, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{next} = \max\left\{ x \ge 0 : \frac{R(\text{age} + x)}{R(\text{age})} \ge \text{chance} \right\}

    with R the fraction of cards that survives each age; 0 at an age that none reaches. A card that works is none of
    those that failed young, so its date moves to a later age than when it was new: ask anew for each card in service.

    References
    ----------
    Conditional survival: NIST/SEMATECH e-Handbook of Statistical Methods, section 8.1 (from memory).

    Examples
    --------
    Lives evenly from 0 to 4 years. A new card lasts 0.4 years with 90 %; one of 2 years 0.2, for half are gone:

    >>> from edgestore.models.life import LifeTable
    >>> print(next_change_years(LifeTable([0, 4], [0, 1]), 0.9, age_years=[0, 2]).round(3))
    [0.4 0.2]
    """
    checks.one_kind("card", card, *LIVES)
    sure = checks.in_range("chance", chance, above=0, at_most=MOST_SURE, mend="A percentage is divided by 100.")
    age = checks.in_range("age_years", age_years, "years", at_least=0)
    mean = card.mean_life_years()
    checks.broadcastable(card=mean, chance=sure, age_years=age)
    mean, sure, age = np.broadcast_arrays(mean, sure, age)
    high = mean / _LONGEST
    while np.any(lasts := card.chance_of_lasting(high, age) >= sure):
        high = np.where(lasts, 2 * high, high)
    low = np.zeros(high.shape)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        lasts = card.chance_of_lasting(middle, age) >= sure
        low, high = np.where(lasts, middle, low), np.where(lasts, high, middle)
    return low[()]


def _rate(left: Values, lived: Values, planned: Values, failure: Values) -> Values:
    return (planned * left + failure * (1 - left)) / lived


def _costs(planned_cost: Numbers, failure_cost: Numbers) -> tuple[Values, Values]:
    mend = "A planned change that costs nothing would be made all the time."
    planned = checks.in_range("planned_cost", planned_cost, "currency", above=0, mend=mend)
    return planned, checks.in_range("failure_cost", failure_cost, "currency", at_least=0)
