"""What a reader must know of the assurance before deciding: what it costs in planned changes, and how high it goes."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from edgestore.plan.assured import years_asked
from edgestore.plan.card_life import CardKind
from edgestore.plan.promise import LONGEST_YEARS, ROUNDING, alike
from edgestore.plan.site import Site
from edgestore.plan.untested_band import at_ends
from edgestore.text import chance_in_band, counted, money, number

Array = npt.NDArray[np.float64]

WORTH_TELLING = 0.1
"""What the assurance of planned changes costs is told where it is so much of the whole (our choice): prices, and how
often cards fail, are not known closer."""

LIVES_TOLD = 3
"""Lives asked for which the highest assurance is told; a site seldom asks more."""


def kept_to_change(cost: float, failures: float, least_cost: float, least_failures: float, *, currency: str) -> str:
    r"""Say what it costs to keep the assurance until each planned change, and which failures that avoids.

    Parameters
    ----------
    cost, failures : float
        Expected cost of the cards chosen, currency units, and their failures over the horizon.
    least_cost, least_failures : float
        The same of the same cards, changed at the ages of least cost from the life asked on, whatever the chance then.
    currency : str
        Unit of the cost.

    Returns
    -------
    str
        One sentence; empty where it is less than ``WORTH_TELLING`` of the cost.

    Examples
    --------
    >>> kept_to_change(3000, 2.1, 1100, 2.3, currency="credits").replace("\N{NO-BREAK SPACE}", "_")[:67]
    'Of this, 1_900 credits keep the assurance until each planned change'
    """
    if not cost - least_cost > WORTH_TELLING * cost:
        return ""
    planned, least = number(failures), number(least_failures)
    told = f"with {least} failures expected instead of {planned}"
    if planned == least:
        told = f"with the same number of failures expected, {planned}"
    elif failures > least_failures:
        told = f"with fewer failures expected, {least} instead of {planned}, since a new card may be a weak one"
    return (
        f"Of this, {money(cost - least_cost, currency)} keep the assurance until each planned change: "
        f"changed at the ages of least cost, the same cards would cost {money(least_cost, currency)}, {told}."
    )


def highest_assurance(kinds: Sequence[CardKind], years: Array) -> Array:
    """Chance that a card that never wears works at some ages: no assurance above it can be kept.

    Parameters
    ----------
    kinds : sequence of CardKind
        What is known of the life of each card offered.
    years : ndarray, shape (cameras,)
        Life asked of the card in each camera, years.

    Returns
    -------
    ndarray, shape (cameras,)
        Chance of the best kind, 0 to 1.
    """
    ages, which = np.unique(years, return_inverse=True)
    unworn = [kind.survival(np.array([[LONGEST_YEARS]]), ages)[0, 0] for kind, _ in alike(kinds)]
    return np.asarray(np.max(unworn, axis=0)[which])


def highest_in_band(site: Site, kinds: Sequence[CardKind], years: Array) -> list[tuple[float, float, float]]:
    """The same for each camera, with its least and its highest over what is assumed of an untested card.

    Parameters
    ----------
    site : Site
        The site.
    kinds, years
        As for :func:`highest_assurance`.

    Returns
    -------
    list of tuple of float
        The chance and both ends, 0 to 1, a tuple for each camera.
    """
    highest = highest_assurance(kinds, years)
    ends = [highest_assurance(end, years) for end in at_ends(kinds, site.settings.beliefs["wear_shape"])]
    low, high = np.minimum.reduce([highest, *ends]), np.maximum.reduce([highest, *ends])
    return list(zip(highest.tolist(), low.tolist(), high.tolist(), strict=True))


def above_highest(site: Site) -> list[str]:
    """Say where more is asked than any card can keep, which is the most, and what would change it; else nothing."""
    years = years_asked(site.costs, site.wanted["life_years"].to_numpy(float))
    kinds = site.kinds_of(site.offered["card"])
    highest = highest_assurance(kinds, years)
    asked = site.wanted["assurance"].to_numpy(float)
    beyond = np.flatnonzero(asked > highest + ROUNDING)
    if not len(beyond):
        return []
    lives = np.unique(years[beyond])[:LIVES_TOLD]
    most = highest_in_band(site, kinds, lives)
    told = [f"{chance_in_band(*ends)} for {counted(age, 'year')}" for ends, age in zip(most, lives, strict=True)]
    return [
        f"The assurance asked is higher than any card can reach at {len(beyond)} of "
        f"{counted(len(asked), 'camera')}: the highest possible here is {', '.join(told)}. The rest is lost to "
        "random failures and weak cards, however large or durable a card is; without a service log, their rates "
        "are guesses. To raise this limit, state your own figures in [beliefs] of the settings (random_per_year, "
        "weak_fraction), keep a service log of such cards, test cards before they are fitted, or ask for a "
        "shorter life."
    ]
