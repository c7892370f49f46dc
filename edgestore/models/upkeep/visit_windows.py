"""The fewest visits that reach every card within the time in which it may be changed."""

from dataclasses import dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values


@dataclass(frozen=True, kw_only=True)
class Visits:
    """Visits, and the one at which each card is changed.

    Attributes
    ----------
    at_years : ndarray, shape (visits,)
        When each visit is made, years from now, in order.
    visit : ndarray, shape (cards,)
        Number of the visit at which each card is changed, from 0: the last one within its window.
    """

    at_years: Values
    visit: Values


def fewest_visits(opens_years: Numbers, closes_years: Numbers) -> Visits:
    """Fewest visits that reach every card within its window, for cameras that share a visit and a lift.

    Parameters
    ----------
    opens_years : float or array_like, shape (cards,)
        From when on each card may be changed, years from now.
    closes_years : float or array_like, shape (cards,)
        Until when, years from now; not before ``opens_years``.

    Returns
    -------
    Visits
        Times in years, and for each card the number of its visit: a count from 0.

    Raises
    ------
    InputError
        When a number is missing or infinite, a window closes before it opens, or the shapes do not fit.

    Notes
    -----
    A procedure, not a formula: points that stab all intervals: a visit when the first window closes, which reaches all
    that are open then, and so on with those that are left. No choice has fewer: of the windows whose end made a visit
    no two overlap, so each needs its own. No choice with as few has later visits either.

    References
    ----------
    Interval stabbing, the dual of interval scheduling: Kleinberg and Tardos, Algorithm Design, 2006, section 4.1 (from
    memory).

    Examples
    --------
    One visit in year 3 for the first two, another in year 7 for the third:

    >>> found = fewest_visits([0, 2, 5], [3, 4, 7])
    >>> print(found.at_years.tolist(), found.visit.tolist())
    [3.0, 7.0] [0.0, 0.0, 1.0]
    """
    opens = np.atleast_1d(checks.in_range("opens_years", opens_years, "years"))
    closes = np.atleast_1d(checks.in_range("closes_years", closes_years, "years"))
    if opens.ndim != 1 or opens.shape != closes.shape:
        found = f"shapes {opens.shape} and {closes.shape}"
        raise checks.refuse("opens_years, closes_years", found, "one row of each, equally long")
    if (early := closes < opens).any():
        card = int(early.argmax())
        allowed = f"{opens[card]:g} years or more, when its window opens"
        raise checks.refuse_value("closes_years", float(closes[card]), allowed, "Swap them.", "years")
    at: list[float] = []
    for card in np.argsort(closes, kind="stable"):
        if not at or opens[card] > at[-1]:
            at.append(float(closes[card]))
    times = np.array(at)
    visit = np.searchsorted(times, closes, side="right") - 1
    return Visits(at_years=times, visit=visit.astype(float))
