"""What a camera writes: the sum of its streams, the mean under a cap, and what sound and the file format add."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import BITS_PER_BYTE, BITS_PER_MBIT

MEAN_OVER_CAP_BAND = {
    "quiet": (0.077, 1.0),
    "busy": (0.215, 1.0),
    "noisy night": (0.714, 1.0),
    "unknown": (0.077, 1.0),
}
"""Mean over cap by scene, lowest and highest: 70 capped encodes of fixed-camera footage, standard definition
(data/measured/measured_bitrates.csv). A cap well above what the scene needs gives the low end; one below it, 1."""

CONTAINER_BYTES_PER_FRAME = {"mp4": 4.5, "mkv": 10.0, "avi": 50.0}
"""Bytes that a file format adds a frame, upper end as measured (data/measured/measured_overhead.csv). MPEG-TS adds
3 to 14 % of the stream instead, more for slow streams."""

AUDIO_MBIT_S = {
    "none": 0.0,
    "g711": 0.064,
    "g726": 0.032,
    "aac at 32 kbit/s": 0.0338,
    "aac at 64 kbit/s": 0.0668,
}
"""What recorded sound adds, Mbit/s: G.711 and G.726 by definition, AAC-LC as measured."""


def total_mbit_s(*streams_mbit_s: Numbers) -> Values:
    r"""Sum of the streams that a camera records.

    Parameters
    ----------
    *streams_mbit_s : float or array_like
        Rate of each recorded stream, Mbit/s, above 0.

    Returns
    -------
    float or ndarray
        Rate in Mbit/s, of the broadcast shape.

    Raises
    ------
    InputError
        When there is no stream or a rate is out of range.

    Notes
    -----
    .. math:: \text{total} = \sum_i \text{stream}_i

    Streams that are only watched over the network are not written and do not count.

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> total_mbit_s(4, 0.5)
    4.5
    """
    if not streams_mbit_s:
        raise checks.refuse("streams_mbit_s", "no stream", "one stream or more")
    rates = [checks.bitrate_mbit_s(rate, f"stream {n}") for n, rate in enumerate(streams_mbit_s, start=1)]
    checks.broadcastable(**{f"stream {n}": rate for n, rate in enumerate(rates, start=1)})
    return sum(rates[1:], start=rates[0])


def mean_under_cap_mbit_s(natural_mbit_s: Numbers, cap_mbit_s: Numbers, time_fraction: Numbers | None = None) -> Values:
    r"""Mean rate of a stream whose encoder may not go above a cap.

    Parameters
    ----------
    natural_mbit_s : float or array_like
        Rate that the scene would need without a cap, Mbit/s, above 0; with ``time_fraction``, the last axis runs over
        the states of the scene.
    cap_mbit_s : float or array_like
        Cap of the encoder, Mbit/s, above 0.
    time_fraction : array_like, optional
        Share of time of each state, 0 to 1, summing to 1 along the last axis.

    Returns
    -------
    float or ndarray
        Mean rate in Mbit/s; the last axis is gone when ``time_fraction`` is given.

    Raises
    ------
    InputError
        When a rate is out of range or the shares do not sum to 1.

    Notes
    -----
    .. math:: \text{mean} = \sum_i \text{share}_i \min(\text{natural}_i, \text{cap})

    over the states of the scene, each by its share of time: the cap cuts the busy hours, it does not fill the quiet
    ones. Within 10 % in 69 of 70 encodes measured.

    References
    ----------
    data/measured/measured_bitrates.csv.

    Examples
    --------
    >>> print(f"{mean_under_cap_mbit_s([0.5, 6.0], 4, time_fraction=[0.75, 0.25]):.3f}")
    1.375
    """
    natural = checks.bitrate_mbit_s(natural_mbit_s, "natural_mbit_s")
    cap = checks.bitrate_mbit_s(cap_mbit_s, "cap_mbit_s")
    checks.broadcastable(natural_mbit_s=natural, cap_mbit_s=cap)
    held = np.minimum(natural, cap)
    if time_fraction is None:
        return held
    share = checks.fraction("time_fraction", time_fraction)
    checks.broadcastable(natural_mbit_s=natural, cap_mbit_s=cap, time_fraction=share)
    held, share = np.broadcast_arrays(held, share)
    if not np.allclose(share.sum(axis=-1), 1, atol=1e-6):
        raise checks.refuse("time_fraction", f"shares that sum to {share.sum(axis=-1)}", "shares that sum to 1")
    return (held * share).sum(axis=-1)


def mean_range_mbit_s(cap_mbit_s: Numbers, scene: str = "unknown") -> tuple[Values, Values]:
    r"""Range of the mean rate when only the encoder's cap is known.

    Parameters
    ----------
    cap_mbit_s : float or array_like
        Cap of the encoder, Mbit/s, above 0.
    scene : str
        A key of ``MEAN_OVER_CAP_BAND``.

    Returns
    -------
    tuple of float or ndarray
        Lowest and highest mean in Mbit/s.

    Raises
    ------
    InputError
        When the cap is out of range or the scene unknown.

    Notes
    -----
    .. math:: \text{mean} = \text{cap} \times \text{lowest ratio} \quad \text{to} \quad \text{cap} \times
        \text{highest ratio}

    with the measured band of mean over cap of the scene, ``MEAN_OVER_CAP_BAND``; measured at standard definition with
    caps of 0.06 to 4 Mbit/s, so a range and never a truth.

    References
    ----------
    data/measured/measured_bitrates.csv.

    Examples
    --------
    >>> low, high = mean_range_mbit_s(4, "busy")
    >>> print(f"{low:.2f} to {high:.2f}")
    0.86 to 4.00
    """
    cap = checks.bitrate_mbit_s(cap_mbit_s, "cap_mbit_s")
    low, high = MEAN_OVER_CAP_BAND[checks.one_of("scene", scene, MEAN_OVER_CAP_BAND)]
    return cap * low, cap * high


def stored_mbit_s(
    video_mbit_s: Numbers, frame_rate_fps: Numbers, *, container: str = "mp4", audio_mbit_s: Numbers = 0.0
) -> Values:
    r"""Rate that reaches the card: video, sound and what the file format adds.

    Parameters
    ----------
    video_mbit_s : float or array_like
        Sum of all recorded video streams, Mbit/s, above 0.
    frame_rate_fps : float or array_like
        Sum of their frame rates, frames/s, above 0.
    container : str
        File format, a key of ``CONTAINER_BYTES_PER_FRAME``.
    audio_mbit_s : float or array_like
        Sound, Mbit/s, 0 or more; see ``AUDIO_MBIT_S``.

    Returns
    -------
    float or ndarray
        Rate in Mbit/s, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is out of range or the file format unknown.

    Notes
    -----
    .. math:: \text{stored} = \text{video} + \text{sound}
        + \frac{8 \times \text{bytes per frame} \times \text{frame rate}}{10^6}

    Each frame costs a few bytes of index in a file, ``CONTAINER_BYTES_PER_FRAME``. Network overhead (RTP, some 3 to 4
    %) is not stored.

    References
    ----------
    data/measured/measured_overhead.csv.

    Examples
    --------
    >>> print(f"{stored_mbit_s(4, 30, container='avi', audio_mbit_s=0.064):.4f}")
    4.0760
    """
    video = checks.bitrate_mbit_s(video_mbit_s, "video_mbit_s")
    frame_rate = checks.in_range("frame_rate_fps", frame_rate_fps, "frames/s", above=0)
    audio = checks.in_range("audio_mbit_s", audio_mbit_s, "Mbit/s", at_least=0, at_most=1)
    checks.broadcastable(video_mbit_s=video, frame_rate_fps=frame_rate, audio_mbit_s=audio)
    per_frame = CONTAINER_BYTES_PER_FRAME[checks.one_of("container", container, CONTAINER_BYTES_PER_FRAME)]
    return video + audio + frame_rate * per_frame * BITS_PER_BYTE / BITS_PER_MBIT
