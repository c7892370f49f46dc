"""What cards cost over the years that a site is kept, visits, lifts and lost footage too, and which is cheapest."""

from dataclasses import dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.table import LIVES, Life
from edgestore.models.upkeep.renewal import expected_changes, expected_replacements
from edgestore.models.upkeep.replacement import best_change_years
from edgestore.units import DAYS_PER_YEAR

POLICIES = ("failure", "age", "group", "group left")
"""When cards are changed: as they fail; at a set age; all at intervals, failures between replaced singly or left."""

_ROUNDING = 1e-9


@dataclass(frozen=True, kw_only=True)
class HorizonCost:
    """Expected cost of one or several cameras' cards over a horizon, each of the broadcast shape.

    Attributes
    ----------
    total_cost : float or ndarray
        Sum of the four that follow, currency.
    cards_cost, visits_cost, lifts_cost, lost_cost : float or ndarray
        Cards, the first ones included; visits; lifting gear; footage lost; currency.
    failed : float or ndarray
        Expected count of cards that fail.
    changed_working : float or ndarray
        Expected count of cards that are changed while they still work.
    visits : float or ndarray
        Expected count of visits.
    """

    total_cost: Values
    cards_cost: Values
    visits_cost: Values
    lifts_cost: Values
    lost_cost: Values
    failed: Values
    changed_working: Values
    visits: Values


@dataclass(frozen=True, kw_only=True)
class CheapestCard:
    """Cards compared over a horizon; cards along the last axis.

    Attributes
    ----------
    left_cost, changed_cost : ndarray
        Expected cost of a camera with each card, left until it fails and changed at its age, currency.
    total_cost : ndarray
        The lower of the two.
    change_years : ndarray
        Age at which each card is changed, years; infinite where it is left until it fails.
    on_shelf : int or ndarray
        Place of the card with the lowest price, counted from 0.
    over_horizon : int or ndarray
        Place of the card with the lowest expected cost, counted from 0.
    saving : float or ndarray
        What this one costs less than that one over the horizon, currency.
    """

    left_cost: Values
    changed_cost: Values
    total_cost: Values
    change_years: Values
    on_shelf: Values
    over_horizon: Values
    saving: Values


def cost_for_horizon(
    years: Numbers,
    card: Life,
    *,
    card_price: Numbers,
    visit_price: Numbers,
    lift_price: Numbers = 0.0,
    lost_cost_per_day: Numbers = 0.0,
    dead_days: Numbers = 0.0,
    cards: Numbers = 1.0,
    policy: str = "failure",
    change_years: Numbers | None = None,
) -> HorizonCost:
    r"""Give the expected cost of cards over a horizon, by what it is spent on.

    Parameters
    ----------
    years : float or array_like
        Horizon, from new cards on, years, 0 or more; at most 100 mean lives.
    card : CardLife or LifeTable
        Life of the cards: the fraction that survives each age.
    card_price : float or array_like
        Price of one card, any currency, 0 or more.
    visit_price : float or array_like
        Price of one visit without the lift, the same currency, 0 or more.
    lift_price : float or array_like
        Price of lifting gear and what comes with it for one visit, the same currency, 0 or more.
    lost_cost_per_day : float or array_like
        What a day without footage of one camera costs, the same currency, a day, 0 or more.
    dead_days : float or array_like
        Time from a failure until the card is replaced, days, 0 or more; not used with ``group left``.
    cards : float or array_like
        Count of cameras, 1 or more, each with one card.
    policy : str
        ``failure``: a card is changed when it fails; ``age``: or at ``change_years``, on a visit of its own; ``group``:
        all are changed every ``change_years`` on one visit with one lift, and failures between on visits of their own;
        ``group left``: failures between stay dead until the group visit.
    change_years : float or array_like, optional
        Age of a planned change, or time between group visits, years, above 0; none with ``failure``.

    Returns
    -------
    HorizonCost
        Costs in currency, of cards and visits a count, for all cameras together.

    Raises
    ------
    InputError
        When a number is missing or out of range, or ``change_years`` does not go with the policy.

    Notes
    -----
    .. math:: \text{cost} = \text{card price} \times (n + \text{bought}) + \text{visits} \times (\text{visit} +
        \text{lift}) + \text{lost} \times \text{days}

    for n cameras. ``failure`` and ``age``: each change, failed or planned, is one card and one visit; the number is n
    times :func:`expected_replacements` m or :func:`expected_changes`. In groups, g visits at intervals a leave a rest:

    .. math:: g = \max\left( 0, \lceil t / a \rceil - 1 \right), \quad r = t - g\, a, \quad
        \text{failed} = n\, (g\, m(a) + m(r))

    ``group``: ``failed + n g`` cards are bought, on ``failed + g`` visits. In these three ways each failure costs its
    dead days. ``group left``: ``n g`` cards, g visits, and, with R the fraction that survives,

    .. math:: \text{days} = 365.25\, n \left( g \left( a - \int_0^a R(x)\, dx \right) + r - \int_0^r R(x)\, dx \right)

    No interest, prices as today. The first cards are bought, the visit to fit them is part of the installation.
    A planned change that falls due at the very end is not made. The dead days are taken as few against a card's life.

    References
    ----------
    As for :func:`expected_changes`.

    Examples
    --------
    Random failures at 0.1 a year for ten years: one expected, at 20 + 150 + 250 and 3 days of 40; and the first card.

    >>> from edgestore.models.life import CardLife
    >>> card = CardLife(10, wear_shape=1, failed_at_endurance=0.6321205588285577)
    >>> prices = {"card_price": 20, "visit_price": 150, "lift_price": 250, "lost_cost_per_day": 40}
    >>> cost = cost_for_horizon(10, card, **prices, dead_days=3)
    >>> print(f"{cost.total_cost:.2f} {cost.cards_cost:.2f} {cost.lost_cost:.2f}")
    560.00 40.00 120.00
    """
    checks.one_of("policy", policy, POLICIES)
    checks.one_kind("card", card, *LIVES)
    t = checks.in_range("years", years, "years", at_least=0)
    price, visit, lift, lost, dead = _prices(card_price, visit_price, lift_price, lost_cost_per_day, dead_days)
    count = checks.whole("cards", cards, "cards", at_least=1)
    if (change_years is None) != (policy == "failure"):
        found = "none" if change_years is None else "an age"
        allowed = "an age or interval with " + ", ".join(POLICIES[1:]) + "; none with failure"
        raise checks.refuse("change_years", f"{found} with policy {policy!r}", allowed)
    change = t if change_years is None else checks.in_range("change_years", change_years, "years", above=0)
    checks.broadcastable(
        years=t,
        card=card.mean_life_years(),
        card_price=price,
        visit_price=visit,
        lift_price=lift,
        lost_cost_per_day=lost,
        dead_days=dead,
        cards=count,
        change_years=change,
    )
    groups, rest = _group_visits(t, change) if policy.startswith("group") else (np.zeros(np.shape(t))[()], t)
    interval = np.minimum(change, t)
    if policy == "failure":
        failed, working = expected_replacements(t, card), 0.0 * t
    elif policy == "age":
        expected = expected_changes(t, card, change)
        failed, working = expected.failures, expected.planned
    elif policy == "group":
        between, after = expected_replacements(np.stack(np.broadcast_arrays(interval, rest)), card)
        failed = groups * between + after
        working = groups
    else:
        kept = card.survival(interval)
        failed, working = groups * (1 - kept) + 1 - card.survival(rest), groups * kept
    failed, working = count * failed, count * working
    if policy == "group left":
        dead_years = groups * (interval - card.mean_years_until(interval)) + rest - card.mean_years_until(rest)
        bought, visits, days = count * groups, groups, count * dead_years * DAYS_PER_YEAR
    else:
        bought, days = failed + working, failed * dead
        visits = failed + (groups if policy == "group" else working)
    cards_cost, visits_cost, lifts_cost, lost_cost = (
        price * (count + bought),
        visits * visit,
        visits * lift,
        days * lost,
    )
    return HorizonCost(
        total_cost=cards_cost + visits_cost + lifts_cost + lost_cost,
        cards_cost=cards_cost,
        visits_cost=visits_cost,
        lifts_cost=lifts_cost,
        lost_cost=lost_cost,
        failed=failed,
        changed_working=working,
        visits=visits,
    )


def cheapest_card(
    years: float,
    card: Life,
    *,
    card_price: Numbers,
    visit_price: Numbers,
    lift_price: Numbers = 0.0,
    lost_cost_per_day: Numbers = 0.0,
    dead_days: Numbers = 0.0,
    change_years: Numbers | None = None,
) -> CheapestCard:
    r"""Tell which of several cards is cheapest over a horizon, and which on the shelf.

    Parameters
    ----------
    years : float
        Horizon, from new cards on, years, 0 or more; at most 100 mean lives of any of the cards.
    card : CardLife
        Lives of the cards under one camera, cards along the last axis: the fraction that survives each age.
    card_price : array_like
        Price of each card, any currency, 0 or more; cards along the last axis.
    visit_price : float or array_like
        Price of one visit without the lift, the same currency, 0 or more.
    lift_price : float or array_like
        Price of lifting gear for one visit, the same currency, 0 or more.
    lost_cost_per_day : float or array_like
        What a day without footage costs, the same currency, a day, 0 or more.
    dead_days : float or array_like
        Time from a failure until the card is replaced, days, 0 or more.
    change_years : float or array_like, optional
        Age of a planned change of each, years, above 0, infinite for never; that of :func:`best_change_years` when left
        out.

    Returns
    -------
    CheapestCard
        Costs in currency, ages in years, and the two places in the list, a count from 0.

    Raises
    ------
    InputError
        When a number is missing or out of range, or a change costs nothing at all.

    Notes
    -----
    .. math:: C_i = \min(\text{left}_i, \text{changed}_i), \quad \text{saving} = C_s - \min_i C_i, \quad
        s = \arg\min_i \text{price}_i

    with both costs by :func:`cost_for_horizon`; a card whose age of change is the horizon or more is left. Each card
    is kept in the cheaper of two ways over this horizon: left until it fails, or changed at its
    :func:`best_change_years`. A card of twice the size lasts twice as long under the same camera, and a card costs less
    than the visit that changes it: the larger one is then cheaper though it costs more on the shelf.

    References
    ----------
    As for :func:`cost_for_horizon`.

    Examples
    --------
    Three sizes that last 5, 10 and 20 years in the mean and do not age, each dearer than the last; a visit with a lift
    costs 400. The first needs two more in ten years: 15 + 2 x 415; the last half a card: 60 + 460 / 2.

    >>> from edgestore.models.life import CardLife
    >>> cards = CardLife([5, 10, 20], wear_shape=1, failed_at_endurance=0.6321205588285577)
    >>> found = cheapest_card(10, cards, card_price=[15, 25, 60], visit_price=150, lift_price=250)
    >>> print(found.on_shelf, found.over_horizon, found.total_cost.round(2))
    0 2 [845. 450. 290.]
    """
    checks.one_kind("card", card, *LIVES)
    t = checks.in_range("years", years, "years", at_least=0)
    if np.ndim(t):
        raise checks.refuse("years", "several numbers", "one horizon")
    price, visit, lift, lost, dead = _prices(card_price, visit_price, lift_price, lost_cost_per_day, dead_days)
    mean = card.mean_life_years()
    checks.broadcastable(
        card=mean, card_price=price, visit_price=visit, lift_price=lift, lost_cost_per_day=lost, dead_days=dead
    )
    planned = price + visit + lift
    if np.any(np.asarray(planned) <= 0):
        raise checks.refuse("card_price", "0 with visit and lift 0", "one of the three above 0")
    shape = np.broadcast_shapes(np.shape(mean), np.shape(planned), np.shape(lost * dead))
    if not shape:
        raise checks.refuse("card_price", "one card", "several cards along the last axis")
    age = (
        best_change_years(card, planned_cost=planned, failure_cost=planned + lost * dead).interval_years
        if change_years is None
        else checks.in_range("change_years", change_years, "years", above=0, or_infinite=True)
    )
    checks.broadcastable(card=np.empty(shape), change_years=age)
    left = cost_for_horizon(
        t, card, card_price=price, visit_price=visit, lift_price=lift, lost_cost_per_day=lost, dead_days=dead
    ).total_cost
    within = np.where(age < t, age, max(t, np.finfo(float).tiny))
    changed = cost_for_horizon(
        t,
        card,
        card_price=price,
        visit_price=visit,
        lift_price=lift,
        lost_cost_per_day=lost,
        dead_days=dead,
        policy="age",
        change_years=within,
    ).total_cost
    left, changed, age = (np.broadcast_to(values, shape) for values in (left, changed, age))
    pays = changed < left * (1 - _ROUNDING)
    total = np.where(pays, changed, left)
    on_shelf = np.argmin(np.broadcast_to(price, shape), axis=-1)
    over_horizon = np.argmin(total, axis=-1)
    of_shelf = np.take_along_axis(total, np.expand_dims(on_shelf, -1), axis=-1)[..., 0]
    saving = of_shelf - total.min(axis=-1)
    change = np.where(pays, age, np.inf)
    return CheapestCard(
        left_cost=left,
        changed_cost=changed,
        total_cost=total,
        change_years=change,
        on_shelf=on_shelf,
        over_horizon=over_horizon,
        saving=saving,
    )


def _group_visits(t: Values, interval: Values) -> tuple[Values, Values]:
    """Group visits before the end, and the time from the last of them to the end, years."""
    visits = np.maximum(np.ceil(t / interval - _ROUNDING) - 1, 0)
    return visits, t - visits * interval


def _prices(
    card_price: Numbers, visit_price: Numbers, lift_price: Numbers, lost_cost_per_day: Numbers, dead_days: Numbers
) -> tuple[Values, ...]:
    return (
        checks.in_range("card_price", card_price, "currency", at_least=0),
        checks.in_range("visit_price", visit_price, "currency", at_least=0),
        checks.in_range("lift_price", lift_price, "currency", at_least=0),
        checks.in_range("lost_cost_per_day", lost_cost_per_day, "currency a day", at_least=0),
        checks.in_range("dead_days", dead_days, "days", at_least=0),
    )
