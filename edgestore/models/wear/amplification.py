"""Host writes -> flash writes: what the translation layer of a card that maps by page makes of random writes."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values

BISECTIONS = 60
"""Halvings of an interval: to the last digit of a float."""

MIN_SPARE_RATIO = 0.0001
"""One spare block of ten thousand: with less the forms have no digits left, and no card has less."""

MAX_SPARE_RATIO = 100
"""Beyond it nothing is left to save."""

BELOW_ONE = 0.999999
"""The largest share that still leaves something to the rest."""


def write_amplification_fifo(spare_ratio: Numbers) -> Values:
    r"""Write amplification under uniform random page writes when blocks are cleaned in the order they were filled.

    Parameters
    ----------
    spare_ratio : float or array_like
        Spare flash over user flash, a plain ratio, 0.0001 to 100: raw over user capacity less 1.

    Returns
    -------
    float or ndarray
        Flash writes over host writes, a plain ratio, 1 or more.

    Raises
    ------
    InputError
        When a ratio is missing or out of range.

    Notes
    -----
    .. math:: A = \frac{\alpha}{\alpha + W_0(-\alpha e^{-\alpha})}, \quad \alpha = 1 + \text{spare}

    with the Lambert W function; a full
    page-mapped card with many blocks. An upper bound for a video recorder, which hardly writes at random.

    References
    ----------
    Desnoyers, SYSTOR 2012, DOI 10.1145/2367589.2367603; Luojie and Kurkoski, ICNC 2012,
    DOI 10.1109/ICCNC.2012.6167472.

    Examples
    --------
    >>> print(f"{write_amplification_fifo(0.30):.2f}")
    2.36
    """
    from scipy.special import lambertw

    alpha = 1 + _spare(spare_ratio)
    return alpha / (alpha + np.real(lambertw(-alpha * np.exp(-alpha))))


def write_amplification_greedy(spare_ratio: Numbers, pages_per_block: Numbers) -> Values:
    r"""Write amplification under uniform random page writes when the emptiest block is cleaned.

    Parameters
    ----------
    spare_ratio : float or array_like
        Spare flash over user flash, a plain ratio, 0.0001 to 100.
    pages_per_block : float or array_like
        Pages of a flash block, a count of 2 or more.

    Returns
    -------
    float or ndarray
        Flash writes over host writes, a plain ratio, 1 or more.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: A = \frac{b}{b - k} \quad \text{with k from} \quad 1 + \text{spare} = \frac{b\, (H(b) - H(k))}{b - k}

    for many blocks of b pages: the cleaned block keeps k valid pages. H are the harmonic numbers, between whole k too
    (by the digamma function). Solved by bisection.

    References
    ----------
    Bux and Iliadis, Performance Evaluation 67(11), 2010 (from memory); the form re-derived and simulated.

    Examples
    --------
    >>> print(f"{write_amplification_greedy(0.28, 64):.3f}")
    2.402
    """
    from scipy.special import digamma

    alpha = 1 + _spare(spare_ratio)
    pages = checks.in_range("pages_per_block", pages_per_block, "pages", at_least=2)
    checks.broadcastable(spare_ratio=alpha, pages_per_block=pages)
    b, ratio = np.broadcast_arrays(pages, alpha)
    low, high = np.zeros(b.shape), b
    for _ in range(BISECTIONS):
        kept = (low + high) / 2
        too_few = b * (digamma(b + 1) - digamma(kept + 1)) > ratio * (b - kept)
        low, high = np.where(too_few, kept, low), np.where(too_few, high, kept)
    return _indexed(b / (b - low), alpha, pages)


def write_amplification_mixed(spare_ratio: Numbers, hot_write_fraction: Numbers, hot_page_fraction: Numbers) -> Values:
    r"""Write amplification when often and seldom written pages share one log, cleaned in the order it was filled.

    Parameters
    ----------
    spare_ratio : float or array_like
        Spare flash over user flash, a plain ratio, 0.0001 to 100.
    hot_write_fraction : float or array_like
        Fraction of all writes that go to the hot pages, 0 to 1.
    hot_page_fraction : float or array_like
        Fraction of all pages that are hot, above 0 and below 1.

    Returns
    -------
    float or ndarray
        Flash writes over host writes, a plain ratio, 1 or more.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    The ``A`` that solves, over hot and cold,

    .. math:: \sum \frac{r}{1 - e^{-r \alpha / (f A)}} = A

    with r the share of writes and f of pages of each, and alpha = 1 + spare; uniform random within each. Solved by
    bisection.

    References
    ----------
    The model of Desnoyers, SYSTOR 2012; the form re-derived and simulated.

    Examples
    --------
    >>> print(f"{write_amplification_mixed(0.10, 0.8, 0.2):.3f}")
    6.038
    """
    alpha = 1 + _spare(spare_ratio)
    writes = checks.fraction("hot_write_fraction", hot_write_fraction)
    pages = checks.in_range("hot_page_fraction", hot_page_fraction, above=0, at_most=BELOW_ONE)
    checks.broadcastable(spare_ratio=alpha, hot_write_fraction=writes, hot_page_fraction=pages)
    ratio, r_hot, f_hot = np.broadcast_arrays(alpha, writes, pages)
    low, high = np.ones(ratio.shape), np.full(ratio.shape, 1e6)
    for _ in range(BISECTIONS):
        middle = np.sqrt(low * high)
        total = sum(
            np.where(r > 0, r / -np.expm1(-np.maximum(r, 1e-300) * ratio / (f * middle)), f * middle / ratio)
            for r, f in ((r_hot, f_hot), (1 - r_hot, 1 - f_hot))
        )
        low, high = np.where(total > middle, middle, low), np.where(total > middle, high, middle)
    return _indexed(np.sqrt(low * high), alpha, writes, pages)


def write_amplification_separated(
    spare_ratio: Numbers, *, hot_write_fraction: Numbers, hot_page_fraction: Numbers, hot_spare_fraction: Numbers
) -> Values:
    r"""Write amplification when often and seldom written pages have logs and spare flash of their own.

    Parameters
    ----------
    spare_ratio : float or array_like
        Spare flash over user flash, a plain ratio, 0.0001 to 100.
    hot_write_fraction : float or array_like
        Fraction of all writes that go to the hot pages, 0 to 1.
    hot_page_fraction : float or array_like
        Fraction of all pages that are hot, above 0 and below 1.
    hot_spare_fraction : float or array_like
        Fraction of the spare flash that serves the hot pages, above 0 and below 1.

    Returns
    -------
    float or ndarray
        Flash writes over host writes, a plain ratio, 1 or more.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: A_\text{both} = r\, A\left( \frac{s\, q}{f} \right) + (1 - r)\, A\left( \frac{s\, (1 - q)}{1 - f} \right)

    with A the :func:`write_amplification_fifo` of a spare ratio, held to 100 at most, s the spare ratio, r the hot
    share of writes, f of pages and q of the spare flash. Each log behaves as :func:`write_amplification_fifo` with its
    own spare ratio; weighted by the share of writes.

    References
    ----------
    The model of Desnoyers, SYSTOR 2012.

    Examples
    --------
    >>> alike = {"hot_write_fraction": 0.2, "hot_page_fraction": 0.2, "hot_spare_fraction": 0.2}
    >>> print(f"{write_amplification_separated(0.30, **alike):.2f}")
    2.36
    """
    spare = _spare(spare_ratio)
    writes = checks.fraction("hot_write_fraction", hot_write_fraction)
    pages = checks.in_range("hot_page_fraction", hot_page_fraction, above=0, at_most=BELOW_ONE)
    served = checks.in_range("hot_spare_fraction", hot_spare_fraction, above=0, at_most=BELOW_ONE)
    checks.broadcastable(
        spare_ratio=spare, hot_write_fraction=writes, hot_page_fraction=pages, hot_spare_fraction=served
    )
    own_spares = spare * served / pages, spare * (1 - served) / (1 - pages)
    starved = np.asarray(np.minimum(*own_spares)) < MIN_SPARE_RATIO
    if starved.any():
        allowed = f"a share that leaves each log a spare ratio of {MIN_SPARE_RATIO} or more"
        raise checks.refuse("hot_spare_fraction", np.broadcast_to(served, starved.shape)[starved].flat[0], allowed)
    hot, cold = (write_amplification_fifo(np.minimum(own, MAX_SPARE_RATIO)) for own in own_spares)
    return writes * hot + (1 - writes) * cold


def write_amplification_static(static_fraction: Numbers) -> Values:
    r"""Write amplification of circular video on a page-mapped card, part of which is never rewritten.

    Parameters
    ----------
    static_fraction : float or array_like
        Fraction of all flash that holds data never rewritten, 0 or more and below 1.

    Returns
    -------
    float or ndarray
        Flash writes over host writes, a plain ratio, 1 or more.

    Raises
    ------
    InputError
        When a fraction is missing or out of range.

    Notes
    -----
    .. math:: A = \frac{1}{1 - \text{fraction}}

    with cleaning in the order of filling: the still data is carried round with the video.
    Circular video alone makes 1 exactly.

    References
    ----------
    Derived, and simulated.

    Examples
    --------
    >>> write_amplification_static(0.2)
    1.25
    """
    return 1 / (1 - checks.in_range("static_fraction", static_fraction, at_least=0, at_most=BELOW_ONE))


def _spare(spare_ratio: Numbers) -> Values:
    return checks.in_range("spare_ratio", spare_ratio, at_least=MIN_SPARE_RATIO, at_most=MAX_SPARE_RATIO)


def _indexed(result: Values, *given: Values) -> Values:
    """Give the result the shape of all that is given, a float for scalars, and the index of the first Series."""
    whole = np.array(np.broadcast_to(result, np.broadcast_shapes(*map(np.shape, given))))
    series = next((value for value in given if hasattr(value, "index")), None)
    return whole[()] if series is None else 0 * series + whole
