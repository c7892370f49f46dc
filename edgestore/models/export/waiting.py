"""What a card overwrites of wanted footage until somebody acts: locks it, or takes the card out."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values


def lost_in_wait_h(span_h: Numbers, ended_h: Numbers, retention_h: Numbers, *, wait_h: Numbers) -> Values:
    r"""Footage of a wanted span that the card overwrites before its clips are locked or it is taken out.

    Parameters
    ----------
    span_h : float or array_like
        Footage wanted, h, 0 or more.
    ended_h : float or array_like
        How long ago the span ended, h, 0 or more.
    retention_h : float or array_like
        How far back the card reaches, h, above 0.
    wait_h : float or array_like
        Time until the clips are locked or the card is taken out, h, 0 or more.

    Returns
    -------
    float or ndarray
        Footage lost in h, of the broadcast shape, what is gone already included.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{lost} = \max\left(0, w - \max(0, R - e - t)\right)

    with w hours that ended e hours ago, R the retention and t the wait: the card goes on recording, and its ring then
    reaches R hours back, t hours of them new. What is locked or taken out by then is kept, so with the clips locked
    at once (t = 0) no later wait loses any of them.

    References
    ----------
    Derived here, checked by a simulation clip by clip.

    Examples
    --------
    A span of 12 h that ended 24 h ago, on a card of 32 h: locked now it loses the 4 h that are gone, taken out after
    3 h it loses 7 h:

    >>> print(lost_in_wait_h(12, 24, 32, wait_h=0), lost_in_wait_h(12, 24, 32, wait_h=3))
    4.0 7.0
    """
    span = checks.in_range("span_h", span_h, "h", at_least=0)
    ended = checks.in_range("ended_h", ended_h, "h", at_least=0)
    retention = checks.in_range("retention_h", retention_h, "h", above=0)
    wait = checks.in_range("wait_h", wait_h, "h", at_least=0)
    checks.broadcastable(span_h=span_h, ended_h=ended_h, retention_h=retention_h, wait_h=wait_h)
    return np.maximum(span - np.maximum(retention - ended - wait, 0.0), 0.0)
