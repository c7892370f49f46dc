"""In which year each card is replaced, riskiest first, where a year has only so much money."""

from heapq import heappop, heappush

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values

ROUNDING = 1e-9
"""So much of a year's budget is a matter of rounding."""


def years_within_budget(
    replacement_cost: Numbers, risk: Numbers, *, budget_per_year: float = np.inf, due_year: Numbers = 1
) -> Values:
    """Year in which each card is replaced, riskiest first, under a budget for each year; 1 is the first.

    Parameters
    ----------
    replacement_cost : float or array_like, shape (cards,)
        Cost of replacing each card, currency units, 0 or more.
    risk : float or array_like, shape (cards,)
        What putting each replacement off would cost, in any unit: only its order counts, not a ratio. Of equal ones the
        first goes first.
    budget_per_year : float
        Money to spend a year, currency units a year, above 0; infinite for no limit. What is left is not carried over.
    due_year : float or array_like, shape (cards,)
        First year in which each may be replaced, a count from 1.

    Returns
    -------
    ndarray, shape (cards,)
        The year of each, a count from 1, never before its ``due_year``.

    Raises
    ------
    InputError
        When a number is missing or out of range, or the shapes do not fit.

    Notes
    -----
    A rule, not the best of all choices: each year replaces those that are due in the order of their risk, and ends
    before the first that it cannot pay; none passes a riskier one. What is dearer than a whole year's budget is
    replaced in a year of its own, as it else never would be: that year alone exceeds its budget. Whatever is replaced
    by the end of a year is so under a larger budget too, since what is left of a list's beginning is a beginning of
    what is left: more money never means a later year for any card. Cheaper cards drawn forward to fill a year would
    break that.

    References
    ----------
    Risk as probability times consequence, and its use to rank maintenance: IEC 60300-3-11 and ISO 31000 (from memory).
    The order is that of next-fit packing, and is checked against results of two open libraries for it (toolbox_rs,
    bin-pack-svc). No row of the outside checks: examples of capital rationing in textbooks look for the largest value
    within one budget, which is another question, and none that we found spreads ranked work over years.

    Examples
    --------
    At 100 a year the first two fit; the third, which is the riskiest of the rest, is dearer and has a year of its own:

    >>> years_within_budget([60, 40, 150, 10], [4, 3, 2, 1], budget_per_year=100).tolist()
    [1.0, 1.0, 2.0, 3.0]
    """
    cost = np.atleast_1d(checks.in_range("replacement_cost", replacement_cost, "currency", at_least=0))
    risks = np.atleast_1d(checks.in_range("risk", risk))
    due = checks.whole("due_year", due_year, "years", at_least=1)
    budget = float(checks.in_range("budget_per_year", budget_per_year, "currency a year", above=0, or_infinite=True))
    if cost.ndim != 1 or cost.shape != risks.shape or np.ndim(due) > 1 or np.size(due) not in (1, len(cost)):
        found = f"shapes {cost.shape}, {risks.shape} and {np.shape(due)}"
        raise checks.refuse("replacement_cost, risk, due_year", found, "one row of each, equally long")
    due = np.broadcast_to(due, cost.shape)
    years = np.zeros(len(cost))
    waiting: list[tuple[float, int]] = []
    coming = [int(card) for card in np.argsort(due, kind="stable")[::-1]]
    year = 0.0
    while waiting or coming:
        year = year + 1 if waiting else max(year + 1, float(due[coming[-1]]))
        while coming and due[coming[-1]] <= year:
            card = coming.pop()
            heappush(waiting, (-float(risks[card]), card))
        left, is_first = budget, True
        while waiting and (is_first or cost[waiting[0][1]] <= left * (1 + ROUNDING)):
            _, card = heappop(waiting)
            years[card] = year
            left, is_first = max(left - float(cost[card]), 0.0), False
    return years
