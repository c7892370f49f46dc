"""How fast footage is fetched over the link beside the live streams, and what the card overwrites meanwhile."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values

_TINY = np.finfo(float).smallest_subnormal


def footage_per_h(
    bitrate_mbit_s: Numbers,
    link_mbit_s: Numbers,
    *,
    cameras: Numbers = 1.0,
    fetched: Numbers = 1.0,
    read_mbit_s: Numbers = checks.MAX_LINK_MBIT_S,
) -> Values:
    r"""Hours of a camera's footage that are fetched in an hour, beside the live streams.

    Parameters
    ----------
    bitrate_mbit_s : float or array_like
        Mean rate of a camera while recording, Mbit/s, above 0.
    link_mbit_s : float or array_like
        What the link they share carries, Mbit/s, above 0.
    cameras : float or array_like
        Count of cameras that send live over the link, 1 or more.
    fetched : float or array_like
        Count of cameras that are fetched from at the same time, 1 or more, each with an equal share.
    read_mbit_s : float or array_like
        Rate at which a camera reads its card out, Mbit/s, above 0; that of the fastest link where it sets no limit.

    Returns
    -------
    float or ndarray
        Hours an hour, of the broadcast shape; 0 when the live streams fill the link.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: s = \frac{1}{r} \min\left(\frac{\max(0, C - n r)}{k}, L\right)

    with C the link, n live cameras of rate r, k of them fetched from and L what a camera reads: live streams go first,
    what they leave is shared, a camera gives no more than it reads. Streams that ask for more than the link carries
    leave nothing.

    References
    ----------
    Draining of a queue, arithmetic.

    Examples
    --------
    16 cameras leave 36 of 100 Mbit/s. One that is fetched alone comes at nine times its pace, at five if it reads out
    at 20 Mbit/s:

    >>> print(footage_per_h(4, 100, cameras=16), footage_per_h(4, 100, cameras=16, read_mbit_s=20))
    9.0 5.0
    """
    rate = checks.bitrate_mbit_s(bitrate_mbit_s)
    link = checks.link_mbit_s(link_mbit_s)
    live = checks.in_range("cameras", cameras, "cameras", at_least=1)
    at_once = checks.in_range("fetched", fetched, "cameras", at_least=1)
    most = checks.link_mbit_s(read_mbit_s, "read_mbit_s")
    checks.broadcastable(bitrate_mbit_s=rate, link_mbit_s=link, cameras=live, fetched=at_once, read_mbit_s=most)
    left = np.maximum(link - live * rate, 0.0) / at_once
    return np.minimum(left, most) / rate


def fetch_h(
    span_h: Numbers,
    bitrate_mbit_s: Numbers,
    link_mbit_s: Numbers,
    *,
    cameras: Numbers = 1.0,
    fetched: Numbers = 1.0,
    read_mbit_s: Numbers = checks.MAX_LINK_MBIT_S,
) -> Values:
    r"""Time to fetch a span of a camera's footage over the link, when its card loses none of it.

    Parameters
    ----------
    span_h : float or array_like
        Footage wanted of each camera, h, 0 or more.
    bitrate_mbit_s : float or array_like
        Mean rate of a camera while recording, Mbit/s, above 0.
    link_mbit_s : float or array_like
        What the link they share carries, Mbit/s, above 0.
    cameras : float or array_like
        Count of cameras that send live over the link, 1 or more.
    fetched : float or array_like
        Count of cameras that are fetched from at the same time, 1 or more.
    read_mbit_s : float or array_like
        Rate at which a camera reads its card out, Mbit/s, above 0; that of the fastest link where it sets no limit.

    Returns
    -------
    float or ndarray
        Time in h, of the broadcast shape; infinite when the live streams fill the link.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: t = \frac{w}{s}

    with w the span and s as :func:`footage_per_h`; infinite where s is 0, but 0 for a span of 0. Footage of a fixed
    rate is taken: a busy span takes longer.

    References
    ----------
    Draining of a queue, arithmetic.

    Examples
    --------
    >>> print(fetch_h(6, 4, 10), fetch_h(6, 4, 4))
    4.0 inf
    """
    span = checks.in_range("span_h", span_h, "h", at_least=0)
    pace = footage_per_h(bitrate_mbit_s, link_mbit_s, cameras=cameras, fetched=fetched, read_mbit_s=read_mbit_s)
    checks.broadcastable(
        span_h=span_h,
        bitrate_mbit_s=bitrate_mbit_s,
        link_mbit_s=link_mbit_s,
        cameras=cameras,
        fetched=fetched,
        read_mbit_s=read_mbit_s,
    )
    with np.errstate(over="ignore"):
        return np.divide(span, np.maximum(pace, _TINY))


def lost_in_fetch_h(
    span_h: Numbers,
    ended_h: Numbers,
    retention_h: Numbers,
    *,
    bitrate_mbit_s: Numbers,
    link_mbit_s: Numbers,
    cameras: Numbers = 1.0,
    fetched: Numbers = 1.0,
    read_mbit_s: Numbers = checks.MAX_LINK_MBIT_S,
) -> Values:
    r"""Footage of a wanted span that the card overwrites before it is fetched, the oldest first.

    Parameters
    ----------
    span_h : float or array_like
        Footage wanted, h, 0 or more.
    ended_h : float or array_like
        How long ago the span ended when fetching begins, h, 0 or more.
    retention_h : float or array_like
        How far back the card reaches, h, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate of a camera while recording, Mbit/s, above 0.
    link_mbit_s : float or array_like
        What the link they share carries, Mbit/s, above 0.
    cameras : float or array_like
        Count of cameras that send live over the link, 1 or more.
    fetched : float or array_like
        Count of cameras that are fetched from at the same time, 1 or more.
    read_mbit_s : float or array_like
        Rate at which a camera reads its card out, Mbit/s, above 0; that of the fastest link where it sets no limit.

    Returns
    -------
    float or ndarray
        Footage lost in h, of the broadcast shape, what was gone before it began included.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{lost} = \max\left(0, w - \max(0, R - e) \min(1, s)\right)

    with w hours that ended e hours ago, R the retention and s as :func:`footage_per_h`. The edge of the ring
    passes the end of the span after R - e hours. With s below 1 the edge overtakes the reader, or begins at it;
    it then reads s of each hour that the edge passes. For e = 0 this is
    :func:`edgestore.models.outage.backfill.lost_in_backfill_h`.

    References
    ----------
    Derived here, checked by a simulation in small steps.

    Examples
    --------
    A span of 12 h that ended 24 h ago, on a card of 32 h. Of the last 8 h half is saved at half the pace:

    >>> print(lost_in_fetch_h(12, 24, 32, bitrate_mbit_s=4, link_mbit_s=6))
    8.0
    """
    span = checks.in_range("span_h", span_h, "h", at_least=0)
    ended = checks.in_range("ended_h", ended_h, "h", at_least=0)
    retention = checks.in_range("retention_h", retention_h, "h", above=0)
    pace = footage_per_h(bitrate_mbit_s, link_mbit_s, cameras=cameras, fetched=fetched, read_mbit_s=read_mbit_s)
    checks.broadcastable(
        span_h=span_h,
        ended_h=ended_h,
        retention_h=retention_h,
        bitrate_mbit_s=bitrate_mbit_s,
        link_mbit_s=link_mbit_s,
        cameras=cameras,
        fetched=fetched,
        read_mbit_s=read_mbit_s,
    )
    saved = np.maximum(retention - ended, 0.0) * np.minimum(pace, 1.0)
    return np.maximum(span - saved, 0.0)
