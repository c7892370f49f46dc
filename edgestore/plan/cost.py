"""What a card in a camera costs over a horizon: cards bought, visits to change them, spares."""

import numpy as np
import numpy.typing as npt

from edgestore.inputs.settings import Costs

Array = npt.NDArray[np.float64]

SAME_DAY = 1e-9
"""A change that falls on the last day of the horizon is not made, rounding or not."""

COST_ASSUMPTION = (
    "Cost: prices of today, not discounted. A card is changed at the wanted life, or when its endurance is used up if"
    " that is sooner; to see what longer-lived cards save, ask for a longer life. Failures in between are not counted."
)


def cards_over_horizon(life_years: npt.ArrayLike, wanted_life_years: npt.ArrayLike, horizon_years: float) -> Array:
    """Count the cards that a camera uses up: the first, and one at each planned change.

    Parameters
    ----------
    life_years : array_like
        Years until the card's endurance is used up, above 0.
    wanted_life_years : array_like
        Years after which cards are changed as planned, above 0.
    horizon_years : float
        Time over which to count, years, above 0.

    Returns
    -------
    ndarray
        Whole numbers of 1 or more, of the broadcast shape.

    Notes
    -----
    ``ceil(horizon / min(life, wanted life))``: a change due on the last day is not made.

    Examples
    --------
    Changed every 3 years in 10: at 0, 3, 6 and 9. A card that lasts 2.5 years: at 0, 2.5, 5 and 7.5.

    >>> cards_over_horizon([20.0, 2.5], 3, 10).tolist()
    [4.0, 4.0]
    """
    changed_after = np.minimum(life_years, wanted_life_years)
    return np.maximum(np.ceil(horizon_years / changed_after - SAME_DAY), 1.0)


def visits_over_horizon(cards: npt.ArrayLike, costs: Costs) -> Array:
    """Count the visits: one a card, the first perhaps fitted with the camera.

    Parameters
    ----------
    cards : array_like
        Cards used up over the horizon, 1 or more.
    costs : Costs
        Whether the first fitting is a visit.

    Returns
    -------
    ndarray
        Whole numbers, of the shape of ``cards``.
    """
    return np.asarray(cards, dtype=float) - (not costs.first_fitting_is_a_visit)


def cost_over_horizon(
    cards: npt.ArrayLike, visits: npt.ArrayLike, price: npt.ArrayLike, lift: npt.ArrayLike, costs: Costs
) -> Array:
    """Cost of cards, spares and visits.

    Parameters
    ----------
    cards, visits : array_like
        Cards used up over the horizon, and visits to fit them.
    price : array_like
        Price of one card, currency units; NaN where it is not known.
    lift : array_like of bool
        Whether the camera is reached only with lifting gear.
    costs : Costs
        Prices of visits and the fraction of spares.

    Returns
    -------
    ndarray
        Currency units, of the broadcast shape; NaN where the price is not known.

    Notes
    -----
    ``cards x (1 + spares) x price + visits x price of a visit``.

    Examples
    --------
    Four cards at 20 with a tenth of spares are 88, three visits at 60 are 180.

    >>> cost_over_horizon(4, 3, 20, False, Costs(60, 260, spare_fraction=0.1)).tolist()
    268.0
    """
    visit = np.where(lift, costs.visit_with_lift_price, costs.visit_price)
    bought = np.asarray(cards) * (1 + costs.spare_fraction) * np.asarray(price, dtype=float)
    return np.asarray(bought + visits * visit)
