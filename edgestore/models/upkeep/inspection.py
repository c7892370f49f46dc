"""How often somebody looks whether a card still records: a card fails silently and is changed when that is found."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.table import LIVES, Life
from edgestore.models.upkeep._interval import Array, BestInterval

_SHORTEST, _LONGEST = 1e-4, 1e2
"""Intervals looked at, in mean lives."""

_SUMMED = 64
"""Inspections added up one by one; the others are an integral."""

_MIDPOINT = 24
"""Divisor of the second term of the Euler-Maclaurin sum at midpoints."""


def cost_per_year_for_inspection(
    interval_years: Numbers,
    card: Life,
    *,
    inspection_cost: Numbers,
    change_cost: Numbers,
    lost_cost_per_year: Numbers,
) -> Values:
    r"""Long-run cost of a camera whose card is looked at in even intervals, and changed when it is found failed.

    Parameters
    ----------
    interval_years : float or array_like
        Time between two inspections, years, above 0; at least 0.0001 mean lives.
    card : CardLife or LifeTable
        Life of the cards: the fraction that survives each age.
    inspection_cost : float or array_like
        Cost of one inspection, any currency, 0 or more.
    change_cost : float or array_like
        Cost of a change on top of the inspection that found it needed, the same currency, 0 or more.
    lost_cost_per_year : float or array_like
        What the missing footage costs while the card is dead, the same currency, a year, 0 or more.

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
    A card is looked at K times in the mean, the last time being the one that finds it failed. It stays K intervals, of
    which it works its mean life and is dead the rest:

    .. math:: K = \sum_{k=0}^\infty R(k\, \text{interval})

    .. math:: \text{cost a year} = \frac{\text{inspection}\, K + \text{change} + \text{lost} \times (K\, \text{interval}
        - \text{mean life})}{K\, \text{interval}}

    An inspection sees every failure
    and causes none; the next interval begins with the new card.

    References
    ----------
    Barlow and Proschan, Mathematical Theory of Reliability, 1965, chapter 4 (from memory).

    Examples
    --------
    Lives evenly from 0 to 4 years, looked at every 2: K = 1 + 1/2, 3 years, 1 of them dead: (15 + 85 + 100)/3.

    >>> from edgestore.models.life import LifeTable
    >>> costs = {"inspection_cost": 10, "change_cost": 85, "lost_cost_per_year": 100}
    >>> print(f"{cost_per_year_for_inspection(2, LifeTable([0, 4], [0, 1]), **costs):.2f}")
    66.67
    """
    checks.one_kind("card", card, *LIVES)
    interval = checks.in_range("interval_years", interval_years, "years", above=0)
    looking, change, lost = _costs(inspection_cost, change_cost, lost_cost_per_year)
    mean = card.mean_life_years()
    checks.broadcastable(
        interval_years=interval, card=mean, inspection_cost=looking, change_cost=change, lost_cost_per_year=lost
    )
    if np.any(np.asarray(interval) < _SHORTEST * mean * (1 - 1e-9)):
        allowed = f"{_SHORTEST:g} mean lives of the card or more"
        raise checks.refuse_value("interval_years", float(np.min(interval)), allowed, unit="years")
    return _rate(np.asarray(interval), card, looking, change, lost)[()]


def best_inspection_years(
    card: Life, *, inspection_cost: Numbers, change_cost: Numbers, lost_cost_per_year: Numbers
) -> BestInterval:
    r"""Time between inspections that costs least in the long run.

    Parameters
    ----------
    card : CardLife or LifeTable
        Life of the cards: the fraction that survives each age.
    inspection_cost : float or array_like
        Cost of one inspection, any currency, above 0: what costs nothing would be done all the time.
    change_cost : float or array_like
        Cost of a change on top of the inspection that found it needed, the same currency, 0 or more.
    lost_cost_per_year : float or array_like
        What the missing footage costs while the card is dead, the same currency, a year, 0 or more.

    Returns
    -------
    BestInterval
        Interval in years, costs in currency a year, of the broadcast shape. It is infinite where footage is worth so
        little that nobody need look; that then costs the lost footage for ever.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: t^* = \arg\min_{0.0001 \mu \le t \le 100 \mu} C(t), \quad C(\infty) = \text{lost cost a year}

    with C the :func:`cost_per_year_for_inspection`, and mu the mean life; infinite where the least C is no lower than
    that of never. For random failures at
    a small rate it nears ``sqrt(2 inspection cost / (rate x lost cost))``.

    References
    ----------
    Barlow and Proschan, Mathematical Theory of Reliability, 1965, chapter 4 (from memory).

    Examples
    --------
    Looked at for 1, footage worth 1000 a year, failures at 2 % a year: about sqrt(2 / 20) = 0.32 years.

    >>> from edgestore.models.life import CardLife
    >>> card = CardLife(50, wear_shape=1, failed_at_endurance=0.6321205588)
    >>> costs = {"inspection_cost": 1, "change_cost": 50, "lost_cost_per_year": 1000}
    >>> print(f"{best_inspection_years(card, **costs).interval_years:.2f}")
    0.32
    """
    checks.one_kind("card", card, *LIVES)
    looking, change, lost = _costs(inspection_cost, change_cost, lost_cost_per_year)
    mend = "An inspection that costs nothing would be made all the time: use best_change_years."
    looking = checks.in_range("inspection_cost", looking, "currency", above=0, mend=mend)
    mean = card.mean_life_years()
    checks.broadcastable(card=mean, inspection_cost=looking, change_cost=change, lost_cost_per_year=lost)
    mean, looking, change, lost = np.broadcast_arrays(mean, looking, change, lost)
    low, high = _SHORTEST * mean, _LONGEST * mean
    return BestInterval.of_curve(lambda at: _rate(at, card, looking, change, lost), low, high, never=lost)


def _rate(interval: Array, card: Life, looking: Array, change: Array, lost: Array) -> Values:
    times = _inspections(interval, card)
    stay = np.maximum(times * interval, card.mean_life_years())
    return (looking * times + change + lost * (stay - card.mean_life_years())) / stay


def _inspections(interval: Array, card: Life) -> Values:
    """Mean number of inspections that a card sees: R added up over them, in the tail by an integral.

    Euler and Maclaurin: the sum of R(k t) over k from n is the integral of R from ``s = (n - 1/2) t`` on, over t, and
    ``t R'(s) / 24``.
    """
    total = sum(card.survival(k * interval) for k in range(_SUMMED))
    start = (_SUMMED - 0.5) * interval
    left = card.survival(start)
    tail = np.where(left > 0, left * card.mean_residual_years(start), 0.0) / interval
    return total + tail + (card.survival(start + interval / 2) - card.survival(start - interval / 2)) / _MIDPOINT


def _costs(
    inspection_cost: Numbers, change_cost: Numbers, lost_cost_per_year: Numbers
) -> tuple[Values, Values, Values]:
    return (
        checks.in_range("inspection_cost", inspection_cost, "currency", at_least=0),
        checks.in_range("change_cost", change_cost, "currency", at_least=0),
        checks.in_range("lost_cost_per_year", lost_cost_per_year, "currency a year", at_least=0),
    )
