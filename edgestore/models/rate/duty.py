"""Which fraction of time is recorded when recording follows events, and what the clips look like."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import H_PER_DAY, S_PER_H


def kept_s(event_s: Numbers, pre_roll_s: Numbers = 0.0, post_roll_s: Numbers = 0.0) -> Values:
    r"""Recorded time of one event that stands alone.

    Parameters
    ----------
    event_s : float or array_like
        Mean length of an event, s, 0 or more.
    pre_roll_s, post_roll_s : float or array_like
        Recording kept before and after an event, s, 0 or more.

    Returns
    -------
    float or ndarray
        Time in s, of the broadcast shape.

    Raises
    ------
    InputError
        When a time is missing or negative.

    Notes
    -----
    .. math:: \text{kept} = \text{event} + \text{pre-roll} + \text{post-roll}

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> kept_s(10, 5, 10)
    25.0
    """
    event = checks.in_range("event_s", event_s, "s", at_least=0)
    pre = checks.in_range("pre_roll_s", pre_roll_s, "s", at_least=0)
    post = checks.in_range("post_roll_s", post_roll_s, "s", at_least=0)
    checks.broadcastable(event_s=event, pre_roll_s=pre, post_roll_s=post)
    return event + pre + post


def recorded_fraction(
    events_per_h: Numbers, event_s: Numbers, pre_roll_s: Numbers = 0.0, post_roll_s: Numbers = 0.0
) -> Values:
    r"""Fraction of time that is recorded when recording follows events.

    Parameters
    ----------
    events_per_h : float or array_like
        Mean number of events an hour, 0 or more.
    event_s : float or array_like
        Mean length of an event, s, 0 or more.
    pre_roll_s, post_roll_s : float or array_like
        Recording kept before and after an event, s, 0 or more.

    Returns
    -------
    float or ndarray
        Fraction, 0 to 1, of the broadcast shape. Continuous recording is the fraction 1.

    Raises
    ------
    InputError
        When a number is missing or negative.

    Notes
    -----
    .. math:: \text{recorded} = 1 - e^{-\text{rate} \times (\text{event} + \text{pre-roll} + \text{post-roll}) / 3600}

    with the rate an hour and the times in s, for events that come independently of one another (Poisson), whatever
    the law of their length: overlapping clips are recorded once. Events that come in bunches overlap more, so the
    true fraction is then smaller.

    References
    ----------
    The covered fraction of a Boolean model: Hall, Introduction to the Theory of Coverage Processes, 1988.

    Examples
    --------
    >>> print(f"{recorded_fraction(events_per_h=12, event_s=10, pre_roll_s=5, post_roll_s=10):.4f}")
    0.0800
    """
    return -np.expm1(-_load(events_per_h, event_s, pre_roll_s, post_roll_s))


def mean_recorded_fraction(
    events_per_h: Numbers,
    hours: Numbers,
    event_s: Numbers,
    *,
    pre_roll_s: Numbers = 0.0,
    post_roll_s: Numbers = 0.0,
) -> Values:
    r"""Recorded fraction over a day or a week whose event rate changes.

    Parameters
    ----------
    events_per_h : array_like
        Mean number of events an hour in each part of the day, 0 or more.
    hours : array_like
        Length of each part, h, 0 or more, with a sum above 0; same last axis.
    event_s : float or array_like
        Mean length of an event, s, 0 or more.
    pre_roll_s, post_roll_s : float or array_like
        Recording kept before and after an event, s, 0 or more.

    Returns
    -------
    float or ndarray
        Fraction, 0 to 1; the last axis is averaged away.

    Raises
    ------
    InputError
        When a number is missing or negative, or all parts have no length.

    Notes
    -----
    .. math:: \text{recorded} = \frac{\sum_i \text{hours}_i \left( 1 - e^{-\text{rate}_i \times \text{kept} / 3600}
        \right)}{\sum_i \text{hours}_i}

    with the rate an hour in each part, and what is kept of an event, pre-roll and post-roll included, in s.
    The fraction is averaged, not the rate: a busy part is covered once however many events it holds, so the
    average rate would overstate what is recorded.

    References
    ----------
    As for :func:`recorded_fraction`.

    Examples
    --------
    >>> print(f"{mean_recorded_fraction([2, 60, 10], [8, 10, 6], 60):.4f}")
    0.3127
    """
    part = recorded_fraction(events_per_h, event_s, pre_roll_s, post_roll_s)
    weight = checks.in_range("hours", hours, "h", at_least=0)
    checks.broadcastable(
        events_per_h=events_per_h, hours=hours, event_s=event_s, pre_roll_s=pre_roll_s, post_roll_s=post_roll_s
    )
    part, weight = np.broadcast_arrays(part, weight)
    if np.any(weight.sum(axis=-1) <= 0):
        raise checks.refuse("hours", "parts that sum to 0 h", "parts that sum to more than 0 h")
    return (part * weight).sum(axis=-1) / weight.sum(axis=-1)


def clips_per_day(
    events_per_h: Numbers, event_s: Numbers, *, pre_roll_s: Numbers = 0.0, post_roll_s: Numbers = 0.0
) -> Values:
    r"""Clips that are written in a day, events that overlap making one clip.

    Parameters
    ----------
    events_per_h : float or array_like
        Mean number of events an hour, 0 or more.
    event_s : float or array_like
        Mean length of an event, s, 0 or more.
    pre_roll_s, post_roll_s : float or array_like
        Recording kept before and after an event, s, 0 or more.

    Returns
    -------
    float or ndarray
        Clips a day, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or negative.

    Notes
    -----
    .. math:: \text{clips a day} = 24 \times \text{rate} \times e^{-\text{rate} \times \text{kept} / 3600}

    with the rate an hour, and what is kept of an event, pre-roll and post-roll included, in s. A clip begins with each
    event that finds no recording under way.

    References
    ----------
    Busy periods of the M/G/infinity queue (Takacs, Introduction to the Theory of Queues, 1962; from memory).

    Examples
    --------
    >>> print(f"{clips_per_day(30, 60):.2f}")
    436.70
    """
    rate_per_h = checks.in_range("events_per_h", events_per_h, "an hour", at_least=0)
    return H_PER_DAY * rate_per_h * np.exp(-_load(rate_per_h, event_s, pre_roll_s, post_roll_s))


def mean_clip_s(
    events_per_h: Numbers, event_s: Numbers, *, pre_roll_s: Numbers = 0.0, post_roll_s: Numbers = 0.0
) -> Values:
    r"""Mean length of a clip, events that overlap making one clip.

    Parameters
    ----------
    events_per_h : float or array_like
        Mean number of events an hour, above 0.
    event_s : float or array_like
        Mean length of an event, s, 0 or more.
    pre_roll_s, post_roll_s : float or array_like
        Recording kept before and after an event, s, 0 or more.

    Returns
    -------
    float or ndarray
        Length in s, of the broadcast shape; infinite where events overlap so densely that no float can hold it.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{clip} = \frac{3600}{\text{rate}} \left( e^{\text{rate} \times \text{kept} / 3600} - 1 \right)

    with the rate an hour, and what is kept of an event, pre-roll and post-roll included, in s.

    References
    ----------
    Busy periods of the M/G/infinity queue (Takacs, Introduction to the Theory of Queues, 1962; from memory).

    Examples
    --------
    >>> print(f"{mean_clip_s(30, 60):.3f}")
    77.847
    """
    rate_per_h = checks.in_range("events_per_h", events_per_h, "an hour", above=0)
    with np.errstate(over="ignore"):
        return np.expm1(_load(rate_per_h, event_s, pre_roll_s, post_roll_s)) / (rate_per_h / S_PER_H)


def _load(events_per_h: Numbers, event_s: Numbers, pre_roll_s: Numbers, post_roll_s: Numbers) -> Values:
    """Mean number of events under way at a moment, rolls included: rate x kept time."""
    rate_per_h = checks.in_range("events_per_h", events_per_h, "an hour", at_least=0)
    kept = kept_s(event_s, pre_roll_s, post_roll_s)
    checks.broadcastable(events_per_h=events_per_h, event_s=event_s, pre_roll_s=pre_roll_s, post_roll_s=post_roll_s)
    return rate_per_h / S_PER_H * kept
