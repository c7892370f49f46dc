"""One visit with one lift for a whole group of cards: all are changed at fixed intervals."""

from functools import partial

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.table import LIVES, Life
from edgestore.models.upkeep._interval import BestInterval
from edgestore.models.upkeep.renewal import RenewalCurve, expected_replacements

_SHORTEST, _LONGEST = 1e-3, 5.0
"""Intervals looked at, in mean lives: after five, failures come as evenly as they will."""

BETWEEN = ("replaced", "left")
"""What is done about a card that fails between two group visits."""


def cost_per_year_for_group(
    interval_years: Numbers,
    card: Life,
    cards: Numbers,
    *,
    visit_price: Numbers,
    card_cost: Numbers,
    failure_cost: Numbers,
    between: str = "replaced",
) -> Values:
    r"""Long-run cost of a group of cards that are all changed together at fixed intervals.

    Parameters
    ----------
    interval_years : float or array_like
        Time between two group visits, years, above 0; at most 100 mean lives.
    card : CardLife or LifeTable
        Life of the cards: the fraction that survives each age.
    cards : float or array_like
        Count of cards in the group, 1 or more.
    visit_price : float or array_like
        Cost of one group visit, lift and crew, whatever the number of cards, any currency, 0 or more.
    card_cost : float or array_like
        Cost of changing one card while the lift is there, the same currency, 0 or more.
    failure_cost : float or array_like
        With ``replaced``: cost of changing one failed card on a visit of its own, footage lost included, the same
        currency, 0 or more. With ``left``: what the missing footage of one dead card costs, the same currency, a year.
    between : str
        ``replaced``: a card that fails between group visits is replaced at once; ``left``: it is dead until the next.

    Returns
    -------
    float or ndarray
        Cost of the whole group, currency a year, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    ``replaced``:

    .. math:: \text{cost a year} = \frac{\text{visit} + n\, \text{card} + n\, \text{failure}\; m(t)}{t}

    with m the :func:`expected_replacements` of one camera in the time t (block replacement). ``left``, with R the
    fraction of cards that survives each age:

    .. math:: \text{cost a year} = \frac{1}{t} \left( \text{visit} + n\, \text{card}
        + n\, \text{failure} \left( t - \int_0^t R(x)\, dx \right) \right)

    Good cards are
    thrown away too, young ones among them; in return one lift serves all.

    References
    ----------
    Block replacement: Barlow and Hunter, Operations Research 8 (1960) 90; Barlow and Proschan, Mathematical Theory of
    Reliability, 1965, chapter 4 (from memory).

    Examples
    --------
    Ten cards, random failures at 0.1 a year, every 2 years: (300 + 10 x 20 + 10 x 100 x 0.2) / 2.

    >>> from edgestore.models.life import CardLife
    >>> card = CardLife(10, wear_shape=1, failed_at_endurance=0.6321205588285577)
    >>> print(f"{cost_per_year_for_group(2, card, 10, visit_price=300, card_cost=20, failure_cost=100):.2f}")
    350.00
    """
    checks.one_kind("card", card, *LIVES)
    interval = checks.in_range("interval_years", interval_years, "years", above=0)
    count, visit, each, failure = _inputs(cards, visit_price, card_cost, failure_cost, between)
    mean = card.mean_life_years()
    checks.broadcastable(
        interval_years=interval, card=mean, cards=count, visit_price=visit, card_cost=each, failure_cost=failure
    )
    failures = expected_replacements(interval, card) if between == "replaced" else _dead_years(card, interval)
    return (visit + count * (each + failure * failures)) / interval


def best_group_years(
    card: Life,
    cards: Numbers,
    *,
    visit_price: Numbers,
    card_cost: Numbers,
    failure_cost: Numbers,
    between: str = "replaced",
) -> BestInterval:
    r"""Time between group visits that costs least in the long run.

    Parameters
    ----------
    card : CardLife or LifeTable
        Life of the cards: the fraction that survives each age.
    cards : float or array_like
        Count of cards in the group, 1 or more.
    visit_price : float or array_like
        Cost of one group visit, lift and crew, whatever the number of cards, any currency, 0 or more.
    card_cost : float or array_like
        Cost of changing one card while the lift is there, the same currency, 0 or more. One of the two is above 0: what
        costs nothing would be done all the time.
    failure_cost : float or array_like
        As for :func:`cost_per_year_for_group`, the same currency.
    between : str
        ``replaced`` or ``left``, as for :func:`cost_per_year_for_group`.

    Returns
    -------
    BestInterval
        Interval in years, costs of the whole group in currency a year, of the broadcast shape. The interval is infinite
        where no group visit pays: each card is then replaced as it fails, or left dead.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: t^* = \arg\min_{0.001 \mu \le t \le 5 \mu} C(t), \quad C(\infty) = \frac{n\, \text{failure}}{\mu}
        \;\text{(replaced)} \quad \text{or} \quad n\, \text{failure} \;\text{(left)}

    with C the :func:`cost_per_year_for_group`, and mu the mean life; infinite where the least C is no lower than that
    of never. The renewal equation is solved once for each card.

    References
    ----------
    As for :func:`cost_per_year_for_group`.

    Examples
    --------
    Forty cards with one lift: a change together at 20 each and 600 in all, or singly at 400:

    >>> from edgestore.models.life import CardLife
    >>> best = best_group_years(CardLife(6), 40, visit_price=600, card_cost=20, failure_cost=400)
    >>> print(f"{best.interval_years:.1f} {best.cost_per_year:.0f} {best.never_cost_per_year:.0f}")
    2.4 873 2643
    """
    checks.one_kind("card", card, *LIVES)
    count, visit, each, failure = _inputs(cards, visit_price, card_cost, failure_cost, between)
    mean = card.mean_life_years()
    checks.broadcastable(card=mean, cards=count, visit_price=visit, card_cost=each, failure_cost=failure)
    planned = visit + count * each
    if np.any(np.asarray(planned) <= 0):
        mend = "A group visit that costs nothing would be made all the time."
        raise checks.refuse("visit_price", "0 with card_cost 0", "one of the two above 0", mend)
    mean, count, planned, failure = np.broadcast_arrays(mean, count, planned, failure)
    never = count * failure / (mean if between == "replaced" else 1.0)
    low, high = _SHORTEST * mean, _LONGEST * mean
    failures = RenewalCurve(card, high).at if between == "replaced" else partial(_dead_years, card)
    return BestInterval.of_curve(lambda at: (planned + count * failure * failures(at)) / at, low, high, never)


def _dead_years(card: Life, interval: Values) -> Values:
    return interval - card.mean_years_until(interval)


def _inputs(
    cards: Numbers, visit_price: Numbers, card_cost: Numbers, failure_cost: Numbers, between: str
) -> tuple[Values, Values, Values, Values]:
    checks.one_of("between", between, BETWEEN)
    return (
        checks.whole("cards", cards, "cards", at_least=1),
        checks.in_range("visit_price", visit_price, "currency", at_least=0),
        checks.in_range("card_cost", card_cost, "currency", at_least=0),
        checks.in_range("failure_cost", failure_cost, "currency", at_least=0),
    )
