"""What a camera writes: the mean under a cap, what sound and the file format add, and an estimate as a range."""

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

FRAME_BITS_PER_PIXEL = {
    "quiet": ((0.418, 1.106), (0.00062, 0.00111)),
    "busy": ((0.399, 1.275), (0.0270, 0.1193)),
    "noisy night": ((0.273, 1.700), (0.00071, 0.6725)),
}
"""Bits a pixel of a key frame and of another frame by scene, each lowest and highest: H.264 and H.265 at
quantiser 24 to 32, standard definition (data/measured/measured_frame_bits.csv)."""

MEASURED_PIXELS = 768 * 576
"""Picture size at which ``FRAME_BITS_PER_PIXEL`` was measured (the traffic clip has 704 x 576)."""

PIXEL_EXPONENTS = (0.72, 0.92)
"""The bit rate grows as pixels to a power in this range, not as pixels (data/measured/measured_bitrates.csv)."""

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
    """Sum of the streams that a camera records.

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


def mean_under_cap_mbit_s(natural_mbit_s: Numbers, cap_mbit_s: Numbers, time_share: Numbers | None = None) -> Values:
    """Mean rate of a stream whose encoder may not go above a cap.

    Parameters
    ----------
    natural_mbit_s : float or array_like
        Rate that the scene would need without a cap, Mbit/s, above 0; with ``time_share``, the last axis runs over
        the states of the scene.
    cap_mbit_s : float or array_like
        Cap of the encoder, Mbit/s, above 0.
    time_share : array_like, optional
        Share of time of each state, 0 to 1, summing to 1 along the last axis.

    Returns
    -------
    float or ndarray
        Mean rate in Mbit/s; the last axis is gone when ``time_share`` is given.

    Raises
    ------
    InputError
        When a rate is out of range or the shares do not sum to 1.

    Notes
    -----
    ``min(natural, cap)`` in each state, weighted by time: the cap cuts the busy hours, it does not fill the quiet
    ones. Within 10 % in 69 of 70 encodes measured.

    References
    ----------
    data/measured/measured_bitrates.csv.

    Examples
    --------
    >>> print(f"{mean_under_cap_mbit_s([0.5, 6.0], 4, time_share=[0.75, 0.25]):.3f}")
    1.375
    """
    natural = checks.bitrate_mbit_s(natural_mbit_s, "natural_mbit_s")
    cap = checks.bitrate_mbit_s(cap_mbit_s, "cap_mbit_s")
    checks.broadcastable(natural_mbit_s=natural, cap_mbit_s=cap)
    held = np.minimum(natural, cap)
    if time_share is None:
        return held
    share = checks.fraction("time_share", time_share)
    checks.broadcastable(natural_mbit_s=natural, cap_mbit_s=cap, time_share=share)
    held, share = np.broadcast_arrays(held, share)
    if not np.allclose(share.sum(axis=-1), 1, atol=1e-6):
        raise checks.refuse("time_share", f"shares that sum to {share.sum(axis=-1)}", "shares that sum to 1")
    return (held * share).sum(axis=-1)


def mean_range_mbit_s(cap_mbit_s: Numbers, scene: str = "unknown") -> tuple[Values, Values]:
    """Range of the mean rate when only the encoder's cap is known.

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
    The cap times the measured band of mean over cap; measured at standard definition with caps of 0.06 to
    4 Mbit/s, so a range and never a truth.

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
    video_mbit_s: Numbers, frame_rate_fps: Numbers, container: str = "mp4", audio_mbit_s: Numbers = 0.0
) -> Values:
    """Rate that reaches the card: video, sound and what the file format adds.

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
    Each frame costs a few bytes of index in a file. Network overhead (RTP, some 3 to 4 %) is not stored.

    References
    ----------
    data/measured/measured_overhead.csv.

    Examples
    --------
    >>> print(f"{stored_mbit_s(4, 30, 'avi', audio_mbit_s=0.064):.4f}")
    4.0760
    """
    video = checks.bitrate_mbit_s(video_mbit_s, "video_mbit_s")
    frame_rate = checks.in_range("frame_rate_fps", frame_rate_fps, "frames/s", above=0)
    audio = checks.in_range("audio_mbit_s", audio_mbit_s, "Mbit/s", at_least=0, at_most=1)
    checks.broadcastable(video_mbit_s=video, frame_rate_fps=frame_rate, audio_mbit_s=audio)
    per_frame = CONTAINER_BYTES_PER_FRAME[checks.one_of("container", container, CONTAINER_BYTES_PER_FRAME)]
    return video + audio + frame_rate * per_frame * BITS_PER_BYTE / BITS_PER_MBIT


def bitrate_from_frames_mbit_s(
    width_px: Numbers,
    height_px: Numbers,
    frame_rate_fps: Numbers,
    key_frame_interval_s: Numbers,
    key_frame_bits_per_pixel: Numbers,
    other_frame_bits_per_pixel: Numbers,
) -> Values:
    """Rate of a stream from its frames: one key frame an interval, all others smaller.

    Parameters
    ----------
    width_px, height_px : float or array_like
        Picture size, pixels, above 0.
    frame_rate_fps : float or array_like
        Frame rate, frames/s, above 0.
    key_frame_interval_s : float or array_like
        Time between key frames, s, at least one frame time.
    key_frame_bits_per_pixel : float or array_like
        Size of a key frame, bits/pixel, above 0.
    other_frame_bits_per_pixel : float or array_like
        Mean size of the other frames, bits/pixel, 0 or more.

    Returns
    -------
    float or ndarray
        Rate in Mbit/s, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is out of range, or key frames are to come more often than frames.

    Notes
    -----
    ``pixels x (i / Tg + p x (fps - 1 / Tg))``. Fitted to encodes with 1 to 8 s between key frames it is off by at
    most 0.3 to 1.2 % in busy scenes and 4 to 11 % in quiet ones; with 5 to 30 frames/s, by at most 7 % (busy).

    References
    ----------
    data/measured/measured_bitrates.csv.

    Examples
    --------
    >>> print(f"{bitrate_from_frames_mbit_s(1000, 1000, 10, 2, 0.5, 0.05):.3f}")
    0.725
    """
    width = checks.in_range("width_px", width_px, "pixels", above=0)
    height = checks.in_range("height_px", height_px, "pixels", above=0)
    frame_rate = checks.in_range("frame_rate_fps", frame_rate_fps, "frames/s", above=0)
    interval = checks.in_range("key_frame_interval_s", key_frame_interval_s, "s", above=0)
    key = checks.in_range("key_frame_bits_per_pixel", key_frame_bits_per_pixel, "bits/pixel", above=0)
    other = checks.in_range("other_frame_bits_per_pixel", other_frame_bits_per_pixel, "bits/pixel", at_least=0)
    checks.broadcastable(
        width_px=width,
        height_px=height,
        frame_rate_fps=frame_rate,
        key_frame_interval_s=interval,
        key_frame_bits_per_pixel=key,
        other_frame_bits_per_pixel=other,
    )
    if np.any(1 / interval > frame_rate * (1 + 1e-9)):
        mend = "The interval is in seconds: a group of 50 frames at 25 frames/s is 2 s."
        raise checks.refuse("key_frame_interval_s", "less than one frame time", "one frame time or more", mend)
    bits_per_pixel_s = key / interval + other * (frame_rate - 1 / interval)
    return width * height * bits_per_pixel_s / BITS_PER_MBIT


def estimated_range_mbit_s(
    width_px: Numbers,
    height_px: Numbers,
    frame_rate_fps: Numbers,
    key_frame_interval_s: Numbers,
    scene: str = "busy",
) -> tuple[Values, Values]:
    """Range of the rate that a camera may need, from what its settings page shows.

    Parameters
    ----------
    width_px, height_px : float or array_like
        Picture size, pixels, above 0.
    frame_rate_fps : float or array_like
        Frame rate, frames/s, above 0.
    key_frame_interval_s : float or array_like
        Time between key frames, s, at least one frame time.
    scene : str
        A key of ``FRAME_BITS_PER_PIXEL``.

    Returns
    -------
    tuple of float or ndarray
        Lowest and highest rate in Mbit/s, before any cap.

    Raises
    ------
    InputError
        When a number is out of range or the scene unknown.

    Notes
    -----
    :func:`bitrate_from_frames_mbit_s` at the measured picture size with the smallest and largest frames measured,
    carried to other sizes by the measured powers of the pixel count. Software encoders at standard definition,
    medium quality (quantiser 24 to 32): a range to start from until the camera itself has been measured, not a bound.
    Encodes at constant quality in place of a constant quantiser went outside it in a quarter of the cases, and a
    still scene full of detail needed four times the high end.

    References
    ----------
    data/measured/measured_frame_bits.csv and measured_bitrates.csv.

    Examples
    --------
    >>> low, high = estimated_range_mbit_s(1920, 1080, 15, 2, "busy")
    >>> print(f"{low:.1f} to {high:.1f} Mbit/s")
    0.8 to 4.3 Mbit/s
    """
    key, other = FRAME_BITS_PER_PIXEL[checks.one_of("scene", scene, FRAME_BITS_PER_PIXEL)]
    low = bitrate_from_frames_mbit_s(width_px, height_px, frame_rate_fps, key_frame_interval_s, key[0], other[0])
    high = bitrate_from_frames_mbit_s(width_px, height_px, frame_rate_fps, key_frame_interval_s, key[1], other[1])
    pixels_ratio = np.asarray(width_px, float) * np.asarray(height_px, float) / MEASURED_PIXELS
    scale = [pixels_ratio ** (exponent - 1) for exponent in PIXEL_EXPONENTS]
    return low * np.minimum(*scale), high * np.maximum(*scale)
