"""What a quick look at a few places of a card misses."""

from edgestore import checks
from edgestore.checks import Numbers, Values


def missed_chance(false_fraction: Numbers, probes: Numbers) -> Values:
    r"""Chance that probes of a card find nothing of a false share of its capacity.

    Parameters
    ----------
    false_fraction : float or array_like
        Fraction of the stated capacity that is not there, or does not keep what is written, 0 to 1.
    probes : float or array_like
        Places that are written and read back, drawn at random, a whole number and no fraction, 1 or more.

    Returns
    -------
    float or ndarray
        Chance, a fraction, 0 to 1, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: P(\text{missed}) = (1 - f)^n

    with f the false fraction and n probes. A probe is small against the card, and finds what is false where it falls.
    How many probes find a share with a stated chance tells :func:`edgestore.models.life.cards_for_trial` of ``1 - f``:
    22 find a tenth with 0.9, 66 with 0.999. Only the whole card, written and read back, proves all of it.

    References
    ----------
    Independent draws; common practice, no source.

    Examples
    --------
    10 probes of a card of which half is false: 1 / 2^10.

    >>> print(f"{missed_chance(0.5, 10):.5f}")
    0.00098
    """
    false = checks.fraction("false_fraction", false_fraction)
    places = checks.whole("probes", probes, "probes", at_least=1)
    checks.broadcastable(false_fraction=false, probes=places)
    return (1 - false) ** places
