"""The age at which each card is best changed in each camera, by expected cost, and what that costs."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from edgestore.inputs.settings import Costs
from edgestore.plan.assured import Promises
from edgestore.plan.change_age import CostsByAge, expected_changes
from edgestore.plan.flash_writes import by_class, over_nodes
from edgestore.plan.promise import AT_ONCE
from edgestore.plan.site import Site

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Expected = tuple[Array, list[Array], list[Array]]

COST_ASSUMPTION = (
    "Cost: the cost expected over the horizon at today's prices, not discounted. Each card is changed at the age "
    "of least cost, but not before the life required, and not after its chance to work falls below the "
    "assurance. Failures between planned changes are counted, each with a card and a visit."
)


@dataclass(frozen=True)
class Changes:
    """The age at which each card is best changed in each camera, and what that costs; of shape (cameras, cards).

    Attributes
    ----------
    change_years : ndarray
        Age of change of least expected cost among those from the life asked to the latest; the latest itself where no
        cost is counted, and where it is cheapest to plan no change within the horizon. NaN where a card is not assured.
    failures, planned : ndarray
        Expected failures and planned changes over the horizon; NaN where a card is not assured, or no cost is counted.
    cost : ndarray
        Expected cost over the horizon, currency units; likewise.
    least_failures, least_cost : ndarray
        The same at the age of least cost from the life asked on, whatever chance there is left then.
    """

    change_years: Array
    failures: Array
    planned: Array
    cost: Array
    least_failures: Array
    least_cost: Array


def changes(site: Site, made: Promises) -> Changes:
    """Choose the age at which each card that is assured is changed in each camera, by expected cost.

    Parameters
    ----------
    site : Site
        The site.
    made : Promises
        What its cards promise.

    Returns
    -------
    Changes
        Ages in years, expected numbers and costs.

    Notes
    -----
    Not before the life asked, which the site wants no visit within, and not after the latest age at which the card
    still works with the chance asked. A failure is priced as a planned change is: a card, its share of spares, and a
    visit.
    """
    costs = site.costs
    if costs is None:
        nothing = np.full(made.kept.shape, np.nan)
        return Changes(np.where(made.is_assured, made.latest_years, np.nan), *[nothing] * 5)
    expected = expected_by_age(costs, made)
    prices, is_lift = site.offered["price"].to_numpy(float), site.cameras["lift"].to_numpy(bool)
    best = np.full((6, *made.kept.shape), np.nan)
    for start in range(0, len(best[0]), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        by_age = costs_by_age(costs, made, expected, prices, is_lift, rows)
        found = by_age.best(made.latest_years[rows], made.years[rows]), by_age.least(made.years[rows])
        best[:, rows] = np.where(made.is_assured[rows], np.concatenate(found), np.nan)
    return Changes(*best)


def expected_by_age(costs: Costs, made: Promises) -> Expected:
    """Ages of change, and failures and planned changes at each over the horizon, of :func:`by_class`."""
    ages, failures, planned = expected_changes(costs.horizon_years, made.wear_life_years, made.kinds)
    return ages, by_class(made.writes, failures), by_class(made.writes, planned)


def costs_by_age(
    costs: Costs, made: Promises, expected: Expected, prices: Array, is_lift: Flags, rows: slice = slice(None)
) -> CostsByAge:
    """Price every card in some cameras, changed at each age.

    Parameters
    ----------
    costs : Costs
        What visits cost, and the horizon.
    made : Promises
        What the cards promise the cameras.
    expected : tuple
        Ages, failures and planned changes, of :func:`expected_by_age`.
    prices : ndarray, shape (cards,)
        Price of each card, currency units.
    is_lift : ndarray of bool, shape (cameras,)
        Whether each camera is reached with lifting gear.
    rows : slice
        The cameras that are priced; all when left out.

    Returns
    -------
    CostsByAge
        Expected numbers and costs.
    """
    price = prices[:, None] * (1 + costs.spare_fraction)
    visit = np.where(is_lift[rows], costs.visit_with_lift_price, costs.visit_price)[:, None, None]
    ages, *numbers = expected
    failures, planned = (over_nodes(made.writes, rows, values) for values in numbers)
    renewed = failures + planned
    cost = price * (1 + renewed) + visit * (renewed + costs.first_fitting_is_a_visit)
    return CostsByAge(ages, costs.horizon_years, failures, planned, cost)
