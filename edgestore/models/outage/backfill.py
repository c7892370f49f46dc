"""Catching up over the network after an outage, while the card goes on overwriting what it should give back."""

from dataclasses import dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.export.fetching import footage_per_h
from edgestore.models.outage.repair import Floats

ORDERS = ("together", "oldest first", "most urgent first")
"""How several cameras are fetched over one link: all at once; or one after another, the longest missing first, or the
one first whose card will soonest overwrite something."""

_TINY = np.finfo(float).smallest_subnormal
"""Any outage over it is infinite, and none is 0."""
_SAME = 1e-9


def backfill_h(outage_h: Numbers, bitrate_mbit_s: Numbers, link_mbit_s: Numbers, *, cameras: Numbers = 1.0) -> Values:
    r"""Time from the repair until the recorder has all footage of an outage, when no card loses any.

    Parameters
    ----------
    outage_h : float or array_like
        Length of the outage, h, 0 or more.
    bitrate_mbit_s : float or array_like
        Mean rate of a camera while recording, Mbit/s, above 0.
    link_mbit_s : float or array_like
        What the link they share carries, Mbit/s, above 0.
    cameras : float or array_like
        Count of cameras on the link, 1 or more, all recording on.

    Returns
    -------
    float or ndarray
        Time in h, of the broadcast shape; infinite when the cameras' own streams fill the link.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: t = \frac{D\, n\, r}{\max(0, C - n r)}

    with D the length of the outage, h, n cameras of the rate r and the link C, both in Mbit/s. A backlog drains at what
    the live streams leave free.

    References
    ----------
    Draining of a queue, arithmetic.

    Examples
    --------
    16 cameras leave 36 of 100 Mbit/s for the 24 h x 64 Mbit/s that wait:

    >>> print(f"{backfill_h(24, 4, 100, cameras=16):.3f}")
    42.667
    """
    outage = checks.in_range("outage_h", outage_h, "h", at_least=0)
    ahead = footage_per_h(bitrate_mbit_s, link_mbit_s, cameras=cameras, fetched=cameras)
    checks.broadcastable(outage_h=outage, bitrate_mbit_s=bitrate_mbit_s, link_mbit_s=link_mbit_s, cameras=cameras)
    with np.errstate(over="ignore"):
        return np.divide(outage, np.maximum(ahead, _TINY))


def useful_retention_h(
    retention_h: Numbers, bitrate_mbit_s: Numbers, link_mbit_s: Numbers, *, cameras: Numbers = 1.0
) -> Values:
    r"""Longest outage whose footage can be fetched over the network before the card has overwritten it.

    Parameters
    ----------
    retention_h : float or array_like
        What the card holds, h, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate of a camera while recording, Mbit/s, above 0.
    link_mbit_s : float or array_like
        What the link they share carries, Mbit/s, above 0.
    cameras : float or array_like
        Count of cameras on the link, 1 or more, all recording on, fetched together.

    Returns
    -------
    float or ndarray
        Retention in h, of the broadcast shape; 0 when the cameras' own streams fill the link.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: R_u = R \min(1, s), \quad s = \max\left( 0, \frac{C - n r}{n r} \right)

    with R what the card holds, h, n cameras of the rate r and the link C, both in Mbit/s, and s the hours of footage
    that are read in an hour. The oldest footage is
    read first; with s below 1 the card overwrites faster than it is read, and the reader that began ahead is overtaken
    at ``s t = D + t - R``. Newest first would save less: ``R s / (1 + s)``. A card that records only while the recorder
    is down overwrites nothing while it is read: there R itself is useful.

    References
    ----------
    Derived here, checked by a simulation in small steps.

    Examples
    --------
    >>> print(useful_retention_h(72, 4, 5), useful_retention_h(72, 4, 10))
    18.0 72.0
    """
    retention = checks.in_range("retention_h", retention_h, "h", above=0)
    ahead = footage_per_h(bitrate_mbit_s, link_mbit_s, cameras=cameras, fetched=cameras)
    checks.broadcastable(retention_h=retention, bitrate_mbit_s=bitrate_mbit_s, link_mbit_s=link_mbit_s, cameras=cameras)
    return retention * np.minimum(ahead, 1.0)


def lost_in_backfill_h(
    outage_h: Numbers, retention_h: Numbers, *, bitrate_mbit_s: Numbers, link_mbit_s: Numbers, cameras: Numbers = 1.0
) -> Values:
    r"""Footage of one outage that is lost although the card is read over the network as soon as it can be.

    Parameters
    ----------
    outage_h : float or array_like
        Length of the outage, h, 0 or more.
    retention_h : float or array_like
        What the card holds, h, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate of a camera while recording, Mbit/s, above 0.
    link_mbit_s : float or array_like
        What the link they share carries, Mbit/s, above 0.
    cameras : float or array_like
        Count of cameras on the link, 1 or more, all recording on, fetched together.

    Returns
    -------
    float or ndarray
        Footage of each camera in h, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{lost} = \max(0, D - R \min(1, s)), \quad s = \max\left( 0, \frac{C - n r}{n r} \right)

    with D the length of the outage, h; the others and their reasons: :func:`useful_retention_h`.

    References
    ----------
    As for :func:`useful_retention_h`.

    Examples
    --------
    A link with a quarter to spare saves a quarter of the 72 h that the card holds:

    >>> print(lost_in_backfill_h(24, 72, bitrate_mbit_s=4, link_mbit_s=5))
    6.0
    """
    outage = checks.in_range("outage_h", outage_h, "h", at_least=0)
    useful = useful_retention_h(retention_h, bitrate_mbit_s, link_mbit_s, cameras=cameras)
    checks.broadcastable(
        outage_h=outage_h,
        retention_h=retention_h,
        bitrate_mbit_s=bitrate_mbit_s,
        link_mbit_s=link_mbit_s,
        cameras=cameras,
    )
    return np.maximum(outage - useful, 0.0)


@dataclass(frozen=True, kw_only=True)
class Backfill:
    """How the cameras of one link were fetched after an outage.

    Attributes
    ----------
    lost_h : ndarray, shape (cameras,)
        Footage of each camera that its card had overwritten before it was read, h.
    begun_h, done_h : ndarray, shape (cameras,)
        When its fetching began and ended, h since the repair; both infinite where nothing can be fetched.
    total_lost_h : float
        Sum of ``lost_h``, camera-hours.
    """

    lost_h: Floats
    begun_h: Floats
    done_h: Floats
    total_lost_h: float


def backfill_of_site(
    outage_h: Numbers, retention_h: Numbers, *, bitrate_mbit_s: Numbers, link_mbit_s: float, order: str = "together"
) -> Backfill:
    r"""What each camera of a link loses when they are fetched in an order.

    Parameters
    ----------
    outage_h : float or array_like
        How long each camera's footage did not arrive, h, 0 or more; shape (cameras,) or one for all.
    retention_h : float or array_like
        What each card holds, h, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate of each camera, Mbit/s, above 0.
    link_mbit_s : float
        What the link they share carries, Mbit/s, above 0.
    order : str
        One of ``ORDERS``.

    Returns
    -------
    Backfill
        Times in hours.

    Raises
    ------
    InputError
        When a number is missing or out of range, the order is unknown, or the cameras are no single row.

    Notes
    -----
    All cameras record on and send live; what they leave free, B, fetches. One after another:

    .. math:: B = C - \sum_i r_i, \quad s_i = \frac{B}{r_i}

    .. math:: \text{saved}_i = \min\left( D_i, \max(0, R_i - T_i) \min(1, s_i) \right), \quad
        T_{i+1} = T_i + \frac{\text{saved}_i}{s_i}

    with the link C and the rates r in Mbit/s, the outage D and what the card holds R in h, and the time T at which a
    camera's turn comes, h since the repair, 0 for the first. Lost is ``max(0, D - saved)``, and all where B is not
    above 0. Together: in proportion to their rates, so that all footage of one hour comes at once; what a camera that
    is done leaves free goes to the others. One after another: all of B goes to one camera while the others' cards
    overwrite. Most urgent first takes the least ``R - D``. No order is best for all: one after another saves some
    cameras whole where all at once loses a part of each.

    References
    ----------
    Derived here, checked by a simulation in small steps.

    Examples
    --------
    Two cameras of 4 Mbit/s on 10 Mbit/s, away for 24 h. Together each is read at a quarter of an hour an hour; one at
    a time at half, and the second waits:

    >>> for order in ORDERS:
    ...     print(order, backfill_of_site(24, [48, 96], bitrate_mbit_s=4, link_mbit_s=10, order=order).lost_h)
    together [12.  0.]
    oldest first [0. 0.]
    most urgent first [0. 0.]
    """
    checks.one_of("order", order, ORDERS)
    outage = checks.in_range("outage_h", outage_h, "h", at_least=0)
    retention = checks.in_range("retention_h", retention_h, "h", above=0)
    rate = checks.bitrate_mbit_s(bitrate_mbit_s)
    link = checks.link_mbit_s(link_mbit_s)
    if np.ndim(link):
        raise checks.refuse("link_mbit_s", f"shape {np.shape(link)}", "one number")
    checks.broadcastable(outage_h=outage, retention_h=retention, bitrate_mbit_s=rate)
    away, holds, rates = (np.atleast_1d(row) for row in np.broadcast_arrays(outage, retention, rate))
    if away.ndim != 1:
        raise checks.refuse("shapes", f"shape {away.shape}", "one row of cameras")
    free = link - float(rates.sum())
    if free <= 0:
        begun = np.where(away > 0, np.inf, 0.0)
        return Backfill(lost_h=np.array(away), begun_h=begun, done_h=begun, total_lost_h=float(away.sum()))
    if order == "together":
        saved, done = _together(away, holds, free / rates, rates)
        begun = np.zeros(away.shape)
    else:
        turn = np.argsort(-away if order == "oldest first" else holds - away, kind="stable")
        saved, begun, done = _one_after_another(away, holds, free / rates, turn)
    lost = np.maximum(away - saved, 0.0)
    return Backfill(lost_h=lost, begun_h=begun, done_h=done, total_lost_h=float(lost.sum()))


def _one_after_another(away: Floats, holds: Floats, alone: Floats, turn: Values) -> tuple[Floats, Floats, Floats]:
    """Give what is saved and when each fetching begins and ends; ``alone`` is what a camera's own hour reads, h."""
    saved, begun, done = np.zeros(away.shape), np.zeros(away.shape), np.zeros(away.shape)
    now = 0.0
    for camera in turn:
        still_held = max(holds[camera] - now, 0.0)
        saved[camera] = min(away[camera], still_held * min(alone[camera], 1.0))
        begun[camera] = now
        now += saved[camera] / alone[camera]
        done[camera] = now
    return saved, begun, done


def _together(away: Floats, holds: Floats, alone: Floats, rates: Floats) -> tuple[Floats, Floats]:
    """Give what is saved and when each fetching ends, from one camera's end or overtaking to the next."""
    now = 0.0
    read_to = np.maximum(away - holds, 0.0)  # hours since the failure; what lies before is read or overwritten
    saved, done = np.zeros(away.shape), np.zeros(away.shape)
    active = away > 0
    while active.any():
        # All read the same hours of footage an hour: B over the sum of the rates still to be fetched.
        speed = float((alone * rates)[0] / rates[active].sum())
        oldest = away + now - holds
        overtaken = active & (oldest >= read_to - _SAME) & (speed < 1)
        pace = np.where(overtaken, 1.0, speed)
        ends = np.where(active, (away - read_to) / pace, np.inf)
        meets = np.full(away.shape, np.inf)
        if speed < 1:
            meets = np.where(active & ~overtaken, (read_to - oldest) / (1 - speed), np.inf)
        step = float(np.minimum(ends, meets).min())
        now += step
        read_to = np.where(active, read_to + pace * step, read_to)
        saved = np.where(active, saved + speed * step, saved)
        over = active & (ends <= step * (1 + _SAME))
        done[over] = now
        active &= ~over
    return saved, done
