"""What the chance of one card means for several."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values


def chance_that_k_of_n_last(k: Numbers, n: Numbers, chance: Numbers) -> Values:
    r"""Chance that at least k of n cards last.

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
    .. math:: P = \sum_{j=k}^{n} \binom{n}{j} p^j (1 - p)^{n - j}

    with p the chance that one lasts, for cards that fail independently of one another. Cards
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
