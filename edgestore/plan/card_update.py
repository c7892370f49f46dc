"""What is known of a mean rate when it was seen how far back the footage on a card goes."""

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr, ndtri

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

LEAST_SIGMA = 1e-6
"""Nothing is known better than to this part."""

Z_95 = float(ndtri(0.95))
"""Nine in ten of a normal law are within so many standard deviations of its middle."""

MISTAKEN, MISTAKEN_SIGMA = 0.1, 1.25
"""Chance that what was known of a mean is mistaken, as of another stream or another setting, and the deviation of its
logarithm then: eight in ten within a factor of 5 (our guess)."""


def updated_by_card(
    before: Array, before_sigma: Array, achieved: Array, achieved_sigma: Array, at_most: Array
) -> tuple[Array, Array]:
    """Median of the mean rate after it was seen what a card holds, and the standard deviation of its logarithm.

    Parameters
    ----------
    before, before_sigma : ndarray
        Median before, Mbit/s, and standard deviation of the logarithm; NaN where nothing was known.
    achieved, achieved_sigma : ndarray
        Mean that follows from the footage on the card, Mbit/s, and how well it tells the true one; NaN without any.
    at_most : ndarray
        1 where the card was not full, so that the mean is at most what follows; else 0 or NaN.

    Returns
    -------
    tuple of ndarray
        Both, NaN where nothing is known.

    Notes
    -----
    All in the logarithm, and each of two laws by itself: what was known, and a law of the deviation ``MISTAKEN_SIGMA``
    about the same median, for the case that it was mistaken.

    Of a full card the update of each is that of two normal laws. The law that is given has nine in ten between the
    lowest and the highest end of nine in ten of both: it holds whether what was known was right or mistaken, and says
    no less of the doubt than the card alone. Weighed by how likely each is, as below, a listed mean that is wrong by a
    factor of 1.6 would still count for right where little was recorded, and the truth lie outside the band in three of
    ten sites.

    Of a card that is not full the law is weighed with the chance that such a mean leaves the card unfilled, and both
    laws by how well they foretold it, the second with chance ``MISTAKEN``; the normal law of the mean and variance of
    both together is taken: with ``s`` both deviations together, ``z`` what follows less the middle,
    over ``s``, and ``m`` the inverse Mills ratio phi(z) / Phi(z), the middle moves by ``- sigma^2 m / s`` and the
    variance by ``- sigma^4 m (z + m) / s^2``.

    References
    ----------
    Moments of a normal law that is cut off softly: Rasmussen and Williams, Gaussian Processes for Machine Learning
    (2006), section 3.9 (from memory).
    """
    told = np.isfinite(achieved) & np.isfinite(before)
    middle, sigma, seen, off = (np.where(told, of, 1.0) for of in (before, before_sigma, achieved, achieved_sigma))
    wide = np.maximum(sigma, MISTAKEN_SIGMA)
    parts = [
        _after_card(np.log(middle), of, np.log(seen), off, at_most == 1)
        for of in (np.maximum(sigma, LEAST_SIGMA), wide)
    ]
    likely = np.array([np.log1p(-MISTAKEN) + parts[0][2], np.log(MISTAKEN) + parts[1][2]])
    share = np.exp(likely - np.logaddexp(*likely))
    log_mean = sum(of * part[0] for of, part in zip(share, parts, strict=True))
    variance = sum(of * (part[1] + (part[0] - log_mean) ** 2) for of, part in zip(share, parts, strict=True))
    low, high = (
        np.minimum(*(part[0] - Z_95 * np.sqrt(part[1]) for part in parts)),
        np.maximum(*(part[0] + Z_95 * np.sqrt(part[1]) for part in parts)),
    )
    is_bound = at_most == 1
    log_middle = np.where(is_bound, log_mean, (low + high) / 2)
    deviation = np.where(is_bound, np.sqrt(variance), (high - low) / (2 * Z_95))
    alone = np.isfinite(achieved) & np.isnan(before) & (at_most != 1)
    median = np.where(told, np.exp(log_middle), np.where(alone, achieved, before))
    return median, np.where(told, deviation, np.where(alone, achieved_sigma, before_sigma))


def _after_card(
    middle: Array, sigma: Array, seen: Array, seen_sigma: Array, is_bound: Flags
) -> tuple[Array, Array, Array]:
    """Mean and variance of one normal law after what was seen, and the logarithm of how likely that was by it."""
    both = np.hypot(sigma, seen_sigma)
    z = (seen - middle) / both
    density = -(z**2) / 2 - np.log(np.sqrt(2 * np.pi))
    mills = np.exp(density - log_ndtr(z))
    shift, less = np.where(is_bound, -mills, z), np.where(is_bound, mills * (z + mills), 1.0)
    likely = np.where(is_bound, log_ndtr(z), density - np.log(both))
    return middle + sigma**2 / both * shift, sigma**2 - sigma**4 / both**2 * less, likely
