"""Clips locked against overwriting: the rest of the card holds less, and from some volume on less than promised."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.retention import capacity_gb_for_retention, retention_h


def retention_with_locked_h(
    capacity_gb: Numbers,
    bitrate_mbit_s: Numbers,
    *,
    locked_gb: Numbers,
    recorded_fraction: Numbers = 1.0,
    usable_fraction: Numbers = 1.0,
) -> Values:
    r"""Retention of what a card goes on recording, when clips on it are locked against overwriting.

    Parameters
    ----------
    capacity_gb : float or array_like
        Capacity printed on the card, GB, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate while recording, Mbit/s, above 0.
    locked_gb : float or array_like
        Volume of the locked clips, GB, 0 or more.
    recorded_fraction : float or array_like
        Fraction of time recorded, above 0 and at most 1.
    usable_fraction : float or array_like
        Fraction of the capacity that formatting and firmware leave, above 0 and at most 1.

    Returns
    -------
    float or ndarray
        Retention in h by the clock, of the broadcast shape; 0 when the locked clips fill the card.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: R_L = R \max\left(0, 1 - \frac{L}{C u}\right)

    with R the retention of the whole card, L what is locked, C the capacity and u its usable fraction: the ring is what
    the locked clips leave. A card that is full of locked clips records nothing more.

    References
    ----------
    The storage sum of UFC 4-021-02NF (2006), section 4-8.2, with a part taken away: arithmetic.

    Examples
    --------
    >>> print(f"{retention_with_locked_h(64, 4, locked_gb=16):.3f}")
    26.667
    """
    locked = checks.in_range("locked_gb", locked_gb, "GB", at_least=0)
    held = retention_h(capacity_gb, bitrate_mbit_s, recorded_fraction, usable_fraction)
    checks.broadcastable(
        capacity_gb=capacity_gb,
        bitrate_mbit_s=bitrate_mbit_s,
        locked_gb=locked_gb,
        recorded_fraction=recorded_fraction,
        usable_fraction=usable_fraction,
    )
    usable_gb = checks.capacity_gb(capacity_gb) * checks.fraction("usable_fraction", usable_fraction, above=0)
    return held * np.maximum(1.0 - locked / usable_gb, 0.0)


def most_locked_gb(
    retention_h: Numbers,
    capacity_gb: Numbers,
    bitrate_mbit_s: Numbers,
    *,
    recorded_fraction: Numbers = 1.0,
    usable_fraction: Numbers = 1.0,
) -> Values:
    r"""Largest volume of locked clips with which a card still holds a wanted time.

    Parameters
    ----------
    retention_h : float or array_like
        Wanted time, h, above 0.
    capacity_gb : float or array_like
        Capacity printed on the card, GB, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate while recording, Mbit/s, above 0.
    recorded_fraction : float or array_like
        Fraction of time recorded, above 0 and at most 1.
    usable_fraction : float or array_like
        Fraction of the capacity that formatting and firmware leave, above 0 and at most 1.

    Returns
    -------
    float or ndarray
        Volume in GB, of the broadcast shape; 0 when the card holds no longer than is wanted with nothing locked.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: L = \max(0, C u - t f)

    with C the capacity, u its usable fraction, t the time asked and f what an hour writes: the inverse of
    :func:`retention_with_locked_h`.

    References
    ----------
    As for :func:`retention_with_locked_h`.

    Examples
    --------
    A day at 4 Mbit/s takes 43.2 of 64 GB:

    >>> print(f"{most_locked_gb(24, 64, 4):.1f}")
    20.8
    """
    needed = capacity_gb_for_retention(
        retention_h, bitrate_mbit_s, recorded_fraction=recorded_fraction, usable_fraction=usable_fraction
    )
    capacity = checks.capacity_gb(capacity_gb)
    usable = checks.fraction("usable_fraction", usable_fraction, above=0)
    checks.broadcastable(
        retention_h=retention_h,
        capacity_gb=capacity_gb,
        bitrate_mbit_s=bitrate_mbit_s,
        recorded_fraction=recorded_fraction,
        usable_fraction=usable_fraction,
    )
    return np.maximum(capacity - needed, 0.0) * usable
