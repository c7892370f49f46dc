"""What a stream needs, from its frames: the sum of key frames and others, and an estimate as a range."""

from functools import partial, reduce

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import BITS_PER_MBIT

FRAME_BITS_PER_PIXEL = {
    "quiet": {
        "none": {
            "h264": {
                24: [(1.11, 0.000731), (1.08, 0.000711)],
                28: [(0.762, 0.000665), (0.752, 0.000664)],
                32: [(0.476, 0.00063), (0.471, 0.000622)],
                36: [(0.306, 0.000618), (0.304, 0.000623)],
            },
            "h265": {
                24: [(0.973, 0.00111), (0.945, 0.000958)],
                28: [(0.661, 0.001), (0.65, 0.000953)],
                32: [(0.422, 0.000946), (0.418, 0.000933)],
                36: [(0.264, 0.000904), (0.262, 0.000901)],
            },
        },
        "visible": {
            "h264": {24: [(1.6, 0.637)], 28: [(0.807, 0.021)], 32: [(0.279, 0.000705)], 36: [(0.137, 0.000618)]},
            "h265": {24: [(1.64, 0.564)], 28: [(0.817, 0.0541)], 32: [(0.273, 0.00213)], 36: [(0.121, 0.000924)]},
        },
    },
    "busy": {
        "none": {
            "h264": {
                24: [(1.27, 0.0887), (0.933, 0.118)],
                28: [(0.883, 0.0474), (0.689, 0.0609)],
                32: [(0.539, 0.0277), (0.457, 0.0285)],
                36: [(0.347, 0.0169), (0.307, 0.0147)],
            },
            "h265": {
                24: [(1.16, 0.085), (0.857, 0.119)],
                28: [(0.785, 0.0453), (0.596, 0.0597)],
                32: [(0.484, 0.027), (0.399, 0.0284)],
                36: [(0.301, 0.0165), (0.266, 0.0142)],
            },
        },
        "visible": {
            "h264": {24: [(1.66, 0.672)], 28: [(0.857, 0.0503)], 32: [(0.313, 0.0127)], 36: [(0.156, 0.00722)]},
            "h265": {24: [(1.7, 0.607)], 28: [(0.868, 0.0835)], 32: [(0.307, 0.0148)], 36: [(0.138, 0.0077)]},
        },
    },
}
"""Bits a pixel of a key frame and of another frame, a pair for each clip: by scene and night noise, codec and fixed
quantiser (data/measured/measured_frame_bits.csv). Standard definition. Noise of a standard deviation up to 1 grey level
changes nothing at these quantisers (``none``); ``visible`` is 4 grey levels on the darkened picture."""

STEADY_QUALITY_OVER_FIXED_QUANTISER = {
    "quiet": {
        "none": {"h264": (1.0, 3.24), "h265": (1.0, 3.37)},
        "visible": {"h264": (0.86, 1.19), "h265": (1.0, 1.42)},
    },
    "busy": {
        "none": {"h264": (0.55, 1.35), "h265": (0.78, 1.63)},
        "visible": {"h264": (0.76, 1.0), "h265": (0.98, 1.2)},
    },
}
"""Rate of an encoder that holds the quality steady over that of one that holds the quantiser, lowest and highest, 1
included: the first spends up to three times as much on a still scene and saves where much moves
(data/measured/measured_bitrates.csv, E1_crf over E9_cqp)."""

PUBLISHED_H265_OVER_MEASURED = 0.65
"""How much less than ours another H.265 encoder may need: at equal picture quality our H.265 frames of day scenes took
0.77 to 0.85 of H.264's; published encoders reach 0.5 (Ohm et al., IEEE TCSVT 22 (2012) 1669), and 0.5 / 0.77 = 0.65."""

CODECS = {"h264": ("h264",), "h265": ("h265",), "unknown": ("h264", "h265")}
"""Which measured codecs an answer covers."""

QUANTISERS = {"usual": (24, 32), "fine": (24, 28), "medium": (28, 32), "coarse": (32, 36)}
"""Finest and coarsest quantiser that a word for the picture quality covers; the words and ``usual`` are ours."""

MEASURED_PIXELS = 768 * 576
"""Picture size at which ``FRAME_BITS_PER_PIXEL`` was measured (the traffic clip has 704 x 576)."""

PIXEL_EXPONENTS = (0.72, 0.92)
"""The bit rate grows as pixels to a power in this range, not as pixels (data/measured/measured_bitrates.csv)."""


def bitrate_from_frames_mbit_s(
    width_px: Numbers,
    height_px: Numbers,
    frame_rate_fps: Numbers,
    *,
    key_frame_interval_s: Numbers,
    key_frame_bits_per_pixel: Numbers,
    other_frame_bits_per_pixel: Numbers,
) -> Values:
    r"""Rate of a stream from its frames: one key frame an interval, all others smaller.

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
    .. math:: \text{rate} = \frac{\text{width} \times \text{height}}{10^6}
        \left( \frac{i}{T} + p \left( f - \frac{1}{T} \right) \right)

    with i bits a pixel of a key frame, p of another frame, f frames a second and T s between key frames. Fitted to
    encodes with 1 to 8 s between key frames it is off by at most 0.3 to 1.2 % in busy scenes and 4 to 11 % in quiet
    ones; with 5 to 30 frames/s, by at most 7 % (busy).

    References
    ----------
    data/measured/measured_bitrates.csv.

    Examples
    --------
    >>> bits = {"key_frame_bits_per_pixel": 0.5, "other_frame_bits_per_pixel": 0.05}
    >>> print(f"{bitrate_from_frames_mbit_s(1000, 1000, 10, key_frame_interval_s=2, **bits):.3f}")
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
    *,
    key_frame_interval_s: Numbers,
    scene: str = "busy",
    codec: str = "unknown",
    night_noise: str = "none",
    quality: str = "usual",
) -> tuple[Values, Values]:
    r"""Range of the rate that a camera may need, from what its settings page shows and what it looks at.

    Parameters
    ----------
    width_px, height_px : float or array_like
        Picture size, pixels, above 0.
    frame_rate_fps : float or array_like
        Frame rate, frames/s, above 0.
    key_frame_interval_s : float or array_like
        Time between key frames, s, at least one frame time.
    scene : str
        Activity: ``quiet`` (hardly anything moves) or ``busy``.
    codec : str
        ``h264``, ``h265`` or ``unknown``.
    night_noise : str
        ``none``: by day, or a picture without grain; ``visible``: grain of a standard deviation of 2 to 4 grey levels.
    quality : str
        Picture quality: ``usual`` (quantiser 24 to 32), or ``fine`` (24 to 28), ``medium`` (28 to 32), ``coarse`` (32
        to 36) where more is known.

    Returns
    -------
    tuple of float or ndarray
        Lowest and highest rate in Mbit/s, before any cap.

    Raises
    ------
    InputError
        When a number is out of range or a word unknown.

    Notes
    -----
    .. math:: \text{rate} = \min_c \left( s_c\, B(\min i_c, \min p_c) \right) \times \min_e q^{e - 1} \quad \text{to}

    .. math:: \text{rate} = \max_c \left( S_c\, B(\max i_c, \max p_c) \right) \times \max_e q^{e - 1}

    over the codecs c that are possible and the exponents e of 0.72 and 0.92, with q the pixels over 768 x 576, i and p
    the bits a pixel of key frames and of others at the quantiser, B the rate that follows from them, s and S the
    widening.

    This is :func:`bitrate_from_frames_mbit_s` with the smallest frames at the coarsest quantiser and the largest at the
    finest; widened because encoders hold quality, not the quantiser (``STEADY_QUALITY_OVER_FIXED_QUANTISER``) and
    because some H.265 encoders save more than ours (``PUBLISHED_H265_OVER_MEASURED``, low end alone); carried to other
    sizes by the measured powers of the pixel count.

    Checked against 148 encodes to which neither frame sizes nor widening were fitted: 140 are inside; the other eight,
    a perfectly still photograph full of detail, are 1.22 to 1.38 times the high end. By day the range spans a factor of
    5 to 8 once codec and quality are known, 12 or 13 when neither is, and a third more at 1920 x 1080. Noise is a
    cliff: the same grain is coded at quantiser 24 and lost at 32, so by night it is 3 to 13 at coarse or medium
    quality, 10 to 17 at fine, 30 to 90 at usual quality.

    Software encoders, mostly standard definition: a range to start from until the camera itself has been measured. Not
    covered: grain above 4 grey levels, and smooth scenes such as open water, whose key frames take a tenth or less.

    References
    ----------
    data/measured/measured_frame_bits.csv and measured_bitrates.csv; for H.265 Ohm et al., IEEE TCSVT 22 (2012) 1669
    (abstract).

    Examples
    --------
    >>> words = {"scene": "busy", "codec": "h264", "quality": "medium"}
    >>> low, high = estimated_range_mbit_s(1920, 1080, 15, key_frame_interval_s=2, **words)
    >>> print(f"{low:.1f} to {high:.1f} Mbit/s")
    0.5 to 3.3 Mbit/s
    """
    by_noise = FRAME_BITS_PER_PIXEL[checks.one_of("scene", scene, FRAME_BITS_PER_PIXEL)]
    by_codec = by_noise[checks.one_of("night_noise", night_noise, by_noise)]
    finest, coarsest = QUANTISERS[checks.one_of("quality", quality, QUANTISERS)]
    rate_mbit_s = partial(
        bitrate_from_frames_mbit_s, width_px, height_px, frame_rate_fps, key_frame_interval_s=key_frame_interval_s
    )
    lows, highs = [], []
    for measured in CODECS[checks.one_of("codec", codec, CODECS)]:
        frames = by_codec[measured]
        saved, spent = STEADY_QUALITY_OVER_FIXED_QUANTISER[scene][night_noise][measured]
        if measured == "h265":
            saved *= PUBLISHED_H265_OVER_MEASURED
        key, other = np.min(frames[coarsest], axis=0)
        lows.append(saved * rate_mbit_s(key_frame_bits_per_pixel=key, other_frame_bits_per_pixel=other))
        key, other = np.max(frames[finest], axis=0)
        highs.append(spent * rate_mbit_s(key_frame_bits_per_pixel=key, other_frame_bits_per_pixel=other))
    pixels_ratio = np.asarray(width_px, float) * np.asarray(height_px, float) / MEASURED_PIXELS
    scale = [pixels_ratio ** (exponent - 1) for exponent in PIXEL_EXPONENTS]
    return reduce(np.minimum, lows) * np.minimum(*scale), reduce(np.maximum, highs) * np.maximum(*scale)
