"""How many spare cards pay: what a shortage costs against what a spare costs that nobody needed."""

from dataclasses import dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.life.few_failures import MOST_SURE
from edgestore.models.upkeep.spares import _chance, _failures, spares_for_confidence


@dataclass(frozen=True, kw_only=True)
class Order:
    """Cards to order where the need is known by its mean and its scatter; each of the broadcast shape.

    Attributes
    ----------
    cards : float or ndarray
        Cards of least expected cost, a count that need not be whole: order the next whole number.
    expected_cost : float or ndarray
        What is paid on average for cards left over and for cards short, currency.
    """

    cards: Values
    expected_cost: Values


def spares_for_cost(
    failures: Numbers, *, spare_cost: Numbers, shortage_cost: Numbers, failures_cv: Numbers = 0.0
) -> Values:
    r"""Number of spares of least expected cost, for *when do we change the cards?* where no confidence is asked.

    Parameters
    ----------
    failures : float or array_like
        Expected count of failures within the lead time, all cards together, 0 to 1 000 000.
    spare_cost : float or array_like
        Cost of a spare that is left over when the next ones arrive, any currency, above 0: what its money and its place
        cost until then, or its whole price where nobody will want it later.
    shortage_cost : float or array_like
        Cost of a failure for which no spare is left, the same currency, above 0: footage lost while a card is on its
        way, a second visit.
    failures_cv : float or array_like
        How well the expectation is known: its standard deviation over its mean, a plain ratio, 0 to 10.

    Returns
    -------
    float or ndarray
        Count of spares, a whole number, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range, or a shortage costs more than 9999 spares.

    Notes
    -----
    .. math:: \text{spares} = \min\left\{ k \ge 0 : P(N \le k) \ge
        \frac{\text{shortage cost}}{\text{shortage cost} + \text{spare cost}} \right\}

    The newsvendor's rule, with the chance that k spares are enough by
    :func:`edgestore.models.upkeep.chance_spares_last`. So a confidence of 90 % is right where a shortage costs nine
    times what a spare does.

    References
    ----------
    Snyder and Shen, Fundamentals of Supply Chain Theory, 2019, chapter 4, as its examples stand in the documentation of
    the open library stockpyl.

    Examples
    --------
    6 failures expected, a shortage as dear as four spares: a chance of 4/5 is reached with 8.

    >>> print(spares_for_cost(6, spare_cost=1, shortage_cost=4))
    8.0
    """
    mean, cv = _failures(failures, failures_cv)
    spare, shortage = _costs(spare_cost, shortage_cost)
    checks.broadcastable(failures=mean, spare_cost=spare, shortage_cost=shortage, failures_cv=cv)
    return spares_for_confidence(failures, _wanted_chance(spare, shortage), failures_cv)


def spares_cost(
    spares: Numbers, failures: Numbers, *, spare_cost: Numbers, shortage_cost: Numbers, failures_cv: Numbers = 0.0
) -> Values:
    r"""Expected cost of a stock of spares, those left over and those short, for *when do we change the cards?*.

    Parameters
    ----------
    spares : float or array_like
        Count of spare cards, a whole number, 0 or more.
    failures : float or array_like
        Expected count of failures within the lead time, all cards together, 0 to 1 000 000.
    spare_cost : float or array_like
        Cost of a spare that is left over when the next ones arrive, any currency, above 0.
    shortage_cost : float or array_like
        Cost of a failure for which no spare is left, the same currency, above 0.
    failures_cv : float or array_like
        How well the expectation is known: its standard deviation over its mean, a plain ratio, 0 to 10.

    Returns
    -------
    float or ndarray
        Cost, currency a lead time, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range, or a shortage costs more than 9999 spares.

    Notes
    -----
    .. math:: \text{cost} = h\, E(k - N)^+ + p\, E(N - k)^+

    with k spares, h the cost of one left over, p that of one short, and N failures by the law of
    :func:`edgestore.models.upkeep.chance_spares_last`. The mean
    left over is ``k P(N < k) - failures P(M < k - 1)``, where M is N itself by Poisson's law; where the rate is
    uncertain, M is negative binomial with size ``1 / cv^2 + 1``.

    References
    ----------
    Snyder and Shen, Fundamentals of Supply Chain Theory, 2019, equation 4.6, as the documentation of the open library
    stockpyl gives it.

    Examples
    --------
    No spare and 2 failures expected, 50 each:

    >>> print(spares_cost(0, 2, spare_cost=10, shortage_cost=50))
    100.0
    """
    kept = checks.whole("spares", spares, "cards", at_least=0)
    mean, cv = _failures(failures, failures_cv)
    spare, shortage = _costs(spare_cost, shortage_cost)
    checks.broadcastable(spares=kept, failures=mean, spare_cost=spare, shortage_cost=shortage, failures_cv=cv)
    left = kept * _fewer(kept, mean, cv) - mean * _fewer(kept - 1, mean * (1 + cv**2), cv / np.sqrt(1 + cv**2))
    return spare * left + shortage * (mean - kept + left)


def order_for_cost(cards: Numbers, cards_sd: Numbers, *, spare_cost: Numbers, shortage_cost: Numbers) -> Order:
    r"""Cards to order at least expected cost where the need scatters less than failures do: planned changes of a year.

    Parameters
    ----------
    cards : float or array_like
        Expected count of cards needed until the next order arrives, above 0.
    cards_sd : float or array_like
        Standard deviation of that count, cards, above 0. Of ``n`` cards that each need a change with chance ``c`` it is
        ``sqrt(n c (1 - c))``.
    spare_cost : float or array_like
        Cost of a card that is left over when the next ones arrive, any currency, above 0.
    shortage_cost : float or array_like
        Cost of a card that is short, the same currency, above 0.

    Returns
    -------
    Order
        Count of cards and expected cost, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range, or a shortage costs more than 9999 spares.

    Notes
    -----
    .. math:: \text{ordered} = \text{mean} + z\, s, \quad \text{cost} = (h + p)\, s\,
        \frac{e^{-z^2 / 2}}{\sqrt{2 \pi}}, \quad z = \Phi^{-1}\left( \frac{p}{p + h} \right)

    with the mean and the standard deviation s of the cards needed, h the cost of one left over, p that of one short,
    and Phi the normal distribution. The
    normal law serves a count of some twenty or more. Below that :func:`spares_for_cost` counts one by one.

    References
    ----------
    Snyder and Shen, Fundamentals of Supply Chain Theory, 2019, example 4.3, as the documentation of the open library
    stockpyl gives it.

    Examples
    --------
    A shortage as dear as a spare: the mean is ordered.

    >>> print(order_for_cost(40, 5, spare_cost=10, shortage_cost=10).cards)
    40.0
    """
    from scipy.special import ndtri

    mean = checks.in_range("cards", cards, "cards", above=0)
    scatter = checks.in_range("cards_sd", cards_sd, "cards", above=0)
    spare, shortage = _costs(spare_cost, shortage_cost)
    checks.broadcastable(cards=mean, cards_sd=scatter, spare_cost=spare, shortage_cost=shortage)
    z = ndtri(_wanted_chance(spare, shortage))
    density = np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi)
    return Order(cards=mean + z * scatter, expected_cost=(spare + shortage) * density * scatter)


def _fewer(spares: Values, mean: Values, cv: Values) -> Values:
    """Give the chance of fewer failures than spares."""
    return np.where(spares > 0, _chance(spares - 1, mean, cv), 0.0)[()]


def _wanted_chance(spare: Values, shortage: Values) -> Values:
    """Give the chance of no shortage beyond which one more spare costs more than it saves."""
    return shortage / (shortage + spare)


def _costs(spare_cost: Numbers, shortage_cost: Numbers) -> tuple[Values, Values]:
    spare = checks.in_range("spare_cost", spare_cost, "currency", above=0)
    shortage = checks.in_range("shortage_cost", shortage_cost, "currency", above=0)
    checks.broadcastable(spare_cost=spare, shortage_cost=shortage)
    if np.any(np.asarray(_wanted_chance(spare, shortage)) > MOST_SURE):
        raise checks.refuse("shortage_cost", "more than 9999 spares", "at most 9999 times spare_cost")
    return spare, shortage
