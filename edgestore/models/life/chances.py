"""What a law of life means for one card and for several: the figures that people ask for."""

from dataclasses import dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.law import CardLife


@dataclass(frozen=True, kw_only=True)
class LifeFigures:
    """The figures of a law of life; each of the broadcast shape.

    Attributes
    ----------
    chance_of_lasting : float or ndarray
        Chance, 0 to 1, that a card of the present age works for the asked years more.
    mean_residual_years : float or ndarray
        Mean further life of a card of the present age, years.
    hazard_per_year : float or ndarray
        Failures a year among cards of the present age.
    mean_life_years : float or ndarray
        Mean life of a new card, years.
    b1_years, b10_years, b50_years : float or ndarray
        Age by which 1, 10 and 50 % of new cards have failed, years.
    """

    chance_of_lasting: Values
    mean_residual_years: Values
    hazard_per_year: Values
    mean_life_years: Values
    b1_years: Values
    b10_years: Values
    b50_years: Values


def life_figures(
    asked_years: Numbers,
    wear_life_years: Numbers,
    *,
    failed_at_endurance: Numbers = 0.5,
    wear_shape: Numbers = 3.0,
    random_per_year: Numbers = 0.0,
    early_fraction: Numbers = 0.0,
    early_mean_years: Numbers = 0.25,
    age_years: Numbers = 0.0,
    law: str = "weibull",
) -> LifeFigures:
    """Give the figures of a card's life that people ask for, from plain numbers.

    Parameters
    ----------
    asked_years : float or array_like
        Further life asked of a card, years, 0 or more.
    wear_life_years : float or array_like
        Time until the camera has written the stated endurance, years, above 0.
    failed_at_endurance : float or array_like
        Fraction of cards worn out by then, above 0 and at most 0.9999.
    wear_shape : float or array_like
        Weibull shape, a plain ratio, 0.2 to 100; with the lognormal law the standard deviation of ln(life), 0.01 to 2.
    random_per_year : float or array_like
        Failures for other reasons than wear, a year, 0 or more.
    early_fraction : float or array_like
        Fraction of cards that are weak from the start, 0 to 1.
    early_mean_years : float or array_like
        Mean life of a weak card, years, above 0.
    age_years : float or array_like
        Time that the card has been in service, years, 0 or more.
    law : str
        ``weibull`` or ``lognormal``: the law of wear-out.

    Returns
    -------
    LifeFigures
        Times in years, the hazard a year, the chance a fraction.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    The methods of :class:`edgestore.models.life.CardLife`, where the law, its limits and its sources stand.

    References
    ----------
    As for :class:`edgestore.models.life.CardLife`.

    Examples
    --------
    Half of the cards are worn out after 8 years, and one in 50 fails a year for another reason:

    >>> figures = life_figures(5, wear_life_years=8, random_per_year=0.02)
    >>> print(f"{figures.chance_of_lasting:.2f} {figures.b10_years:.2f} {figures.b50_years:.2f}")
    0.76 3.15 7.39
    """
    asked = checks.in_range("asked_years", asked_years, "years", at_least=0)
    card = CardLife(
        wear_life_years,
        failed_at_endurance=failed_at_endurance,
        wear_shape=wear_shape,
        random_per_year=random_per_year,
        early_fraction=early_fraction,
        early_mean_years=early_mean_years,
        law=law,
    )
    checks.broadcastable(  # here, since the law of life keeps no labels
        asked_years=asked,
        wear_life_years=wear_life_years,
        failed_at_endurance=failed_at_endurance,
        wear_shape=wear_shape,
        random_per_year=random_per_year,
        early_fraction=early_fraction,
        early_mean_years=early_mean_years,
        age_years=checks.in_range("age_years", age_years, "years", at_least=0),
    )
    return LifeFigures(
        chance_of_lasting=card.chance_of_lasting(asked, age_years),
        mean_residual_years=card.mean_residual_years(age_years),
        hazard_per_year=card.hazard_per_year(age_years),
        mean_life_years=card.mean_life_years(),
        b1_years=card.life_quantile_years(0.01),
        b10_years=card.life_quantile_years(0.1),
        b50_years=card.life_quantile_years(0.5),
    )


def chance_that_k_of_n_last(k: Numbers, n: Numbers, chance: Numbers) -> Values:
    """Chance that at least k of n cards last.

    Parameters
    ----------
    k : float or array_like
        Cards that must last, a whole number and no fraction, 0 to ``n``.
    n : float or array_like
        Cards in service, a whole number and no fraction, 1 or more.
    chance : float or array_like
        Chance that one card lasts, a fraction, 0 to 1.

    Returns
    -------
    float or ndarray
        Chance, a fraction, 0 to 1, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range, or ``k`` is above ``n``.

    Notes
    -----
    ``sum over j from k to n of C(n, j) p^j (1 - p)^(n - j)``, for cards that fail independently of one another. Cards
    of one batch, at one place, in one heat wave do not: then all or none is likelier than this says.

    References
    ----------
    The binomial distribution.

    Examples
    --------
    >>> print(f"{chance_that_k_of_n_last(2, 3, 0.9):.3f}")
    0.972
    """
    from scipy.special import betainc

    needed = checks.whole("k", k, "cards", at_least=0)
    cards = checks.whole("n", n, "cards", at_least=1)
    one = checks.fraction("chance", chance)
    checks.broadcastable(k=needed, n=cards, chance=one)
    if np.any(np.asarray(needed) > np.asarray(cards)):
        raise checks.refuse("k", "more cards than n", "0 to n cards")
    some = np.maximum(needed, 1)
    return betainc(some, cards - some + 1, one) * (needed > 0) + (needed == 0)
