"""What a stream needs, from its frames, against arithmetic by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.rate import bitrate_from_frames_mbit_s, estimated_range_mbit_s
from edgestore.models.rate.frames import CODECS, FRAME_BITS_PER_PIXEL, QUANTISERS

WORDS = {
    "scene": FRAME_BITS_PER_PIXEL,
    "codec": CODECS,
    "night_noise": FRAME_BITS_PER_PIXEL["quiet"],
    "quality": QUANTISERS,
}
words = {name: st.sampled_from(sorted(allowed)) for name, allowed in WORDS.items()}
settings = st.fixed_dictionaries({"key_frame_interval_s": st.floats(1, 20), **words})
numbers_of_a_picture = st.tuples(st.integers(160, 7680), st.integers(120, 4320), st.floats(1, 60))


def test_a_rate_from_frames():
    # 10^6 pixels, 10 frames/s, a key frame of 0.5 every 2 s, others of 0.05 bits a pixel:
    # one key frame and 19 others in 2 s = 0.5 + 0.95 = 1.45 Mbit; / 2 s = 0.725 Mbit/s.
    assert bitrate_from_frames_mbit_s(
        1000, 1000, 10, key_frame_interval_s=2, key_frame_bits_per_pixel=0.5, other_frame_bits_per_pixel=0.05
    ) == pytest.approx(0.725, rel=1e-14)
    # A key frame alone, every second: 0.5 Mbit/s; nothing but key frames: 10 x 0.5.
    assert bitrate_from_frames_mbit_s(
        1000, 1000, 1, key_frame_interval_s=1, key_frame_bits_per_pixel=0.5, other_frame_bits_per_pixel=0.05
    ) == pytest.approx(0.5, rel=1e-14)
    assert bitrate_from_frames_mbit_s(
        1000, 1000, 10, key_frame_interval_s=0.1, key_frame_bits_per_pixel=0.5, other_frame_bits_per_pixel=0.05
    ) == pytest.approx(5, rel=1e-14)
    # Still frames between: 0.5 Mbit every 4 s.
    assert bitrate_from_frames_mbit_s(
        1000, 1000, 25, key_frame_interval_s=4, key_frame_bits_per_pixel=0.5, other_frame_bits_per_pixel=0
    ) == pytest.approx(0.125, rel=1e-14)


def test_people_at_quantiser_30_follow_166_6_and_282_5_over_the_key_frame_interval():
    # Measured: 450, 306, 237 and 203 kbit/s at 1, 2, 4 and 8 s (768 x 576, 10 frames/s). The form is
    # pixels x p x fps + pixels x (i - p) / Tg, so p = 166.6e3 / (pixels x 10) and i = p + 282.5e3 / pixels.
    pixels = 768 * 576
    other = 166.6e3 / (pixels * 10)
    key = other + 282.5e3 / pixels
    rate = bitrate_from_frames_mbit_s(
        768, 576, 10, key_frame_interval_s=[1, 2, 4, 8], key_frame_bits_per_pixel=key, other_frame_bits_per_pixel=other
    )
    assert rate == pytest.approx([0.44996, 0.3059, 0.23687, 0.20333], rel=0.0071)
    assert rate == pytest.approx([0.4491, 0.30785, 0.237225, 0.2019125], rel=1e-12)


@pytest.mark.parametrize("interval", [0.0399, 0.01, [2, 0.02]])
def test_key_frames_more_often_than_frames_are_refused(interval):
    message = (
        r"^key_frame_interval_s: found less than one frame time; allowed: one frame time or more\. "
        r"Fix: The interval is in seconds: a group of 50 frames at 25 frames/s is 2 s\.$"
    )
    with pytest.raises(InputError, match=message):
        bitrate_from_frames_mbit_s(
            1920, 1080, 25, key_frame_interval_s=interval, key_frame_bits_per_pixel=0.5, other_frame_bits_per_pixel=0.05
        )


# 1 / (1 / 49) is a little more than 49.
@pytest.mark.parametrize("frame_rate", [3, 7, 12.5, 25, 29.97, 30, 49])
def test_key_frames_as_often_as_frames_are_allowed(frame_rate):
    rate = bitrate_from_frames_mbit_s(
        100,
        100,
        frame_rate,
        key_frame_interval_s=1 / frame_rate,
        key_frame_bits_per_pixel=1,
        other_frame_bits_per_pixel=0,
    )
    assert rate == pytest.approx(frame_rate * 0.01, rel=1e-12)


def test_the_rate_grows_with_pixels_frames_and_frame_sizes_and_falls_with_the_interval():
    grid = np.linspace(0.1, 10, 50)
    assert np.all(
        np.diff(
            bitrate_from_frames_mbit_s(
                100 * grid,
                1080,
                25,
                key_frame_interval_s=2,
                key_frame_bits_per_pixel=0.5,
                other_frame_bits_per_pixel=0.05,
            )
        )
        > 0
    )
    assert np.all(
        np.diff(
            bitrate_from_frames_mbit_s(
                1920,
                1080,
                10 * grid,
                key_frame_interval_s=2,
                key_frame_bits_per_pixel=0.5,
                other_frame_bits_per_pixel=0.05,
            )
        )
        > 0
    )
    assert np.all(
        np.diff(
            bitrate_from_frames_mbit_s(
                1920, 1080, 25, key_frame_interval_s=grid, key_frame_bits_per_pixel=0.5, other_frame_bits_per_pixel=0.05
            )
        )
        < 0
    )
    assert np.all(
        np.diff(
            bitrate_from_frames_mbit_s(
                1920, 1080, 25, key_frame_interval_s=2, key_frame_bits_per_pixel=grid, other_frame_bits_per_pixel=0.05
            )
        )
        > 0
    )
    assert np.all(
        np.diff(
            bitrate_from_frames_mbit_s(
                1920, 1080, 25, key_frame_interval_s=2, key_frame_bits_per_pixel=0.5, other_frame_bits_per_pixel=grid
            )
        )
        > 0
    )


def test_the_estimate_for_a_busy_scene_of_2_megapixels_by_hand():
    # 1920 x 1080 = 2.0736e6 pixels, 4.6875 times 768 x 576; 15 frames/s, one key frame in 2 s: 0.5 + 14.5 a second.
    # Low, quantiser 32: 2.0736 x (0.5 x 0.457 + 14.5 x 0.0277) = 1.306679; x 0.55 (steady quality)
    # x 4.6875^(0.72 - 1) = 0.648819: 0.46629.
    # High, quantiser 28: 2.0736 x (0.5 x 0.883 + 14.5 x 0.0609) = 2.746587; x 1.35
    # x 4.6875^(0.92 - 1) = 0.883737: 3.27681.
    medium = estimated_range_mbit_s(
        1920, 1080, 15, key_frame_interval_s=2, scene="busy", codec="h264", quality="medium"
    )
    assert medium == pytest.approx((0.46629, 3.27681), abs=5e-5)


def test_the_low_end_of_h265_is_65_percent_of_the_frames_measured():
    # 768 x 576 at 10 frames/s, a key frame in 2 s: 0.5 + 9.5 a second; 0.442368 Mpixel.
    # Low, quantiser 32: 0.442368 x (0.5 x 0.418 + 9.5 x 0.000933) = 0.096376; x 1 x 0.65 = 0.062644.
    # High, quantiser 24: 0.442368 x (0.5 x 0.973 + 9.5 x 0.00111) = 0.219877; x 3.37 = 0.740985.
    assert estimated_range_mbit_s(768, 576, 10, key_frame_interval_s=2, scene="quiet", codec="h265") == pytest.approx(
        (0.062644, 0.740985), abs=1e-6
    )


def test_a_steady_picture_in_a_noisy_night_by_hand():
    # As above: low 0.442368 x (0.5 x 0.279 + 9.5 x 0.000705) x 0.86 = 0.055618,
    # high 0.442368 x (0.5 x 1.6 + 9.5 x 0.637) x 1.19 = 3.0308843 x 1.19 = 3.606752.
    night = estimated_range_mbit_s(
        768, 576, 10, key_frame_interval_s=2, scene="quiet", codec="h264", night_noise="visible"
    )
    assert night == pytest.approx((0.055618, 3.606752), rel=2e-5)


def test_without_words_the_scene_is_busy_by_day_the_codec_unknown_and_the_quality_usual():
    said = estimated_range_mbit_s(
        1920, 1080, 15, key_frame_interval_s=2, scene="busy", codec="unknown", night_noise="none", quality="usual"
    )
    assert estimated_range_mbit_s(1920, 1080, 15, key_frame_interval_s=2) == said


@given(numbers_of_a_picture, settings)
def test_the_estimate_is_a_range_and_grows_slower_than_the_pixels(numbers, said):
    width, *others = numbers
    low, high = estimated_range_mbit_s(width, *others, **said)
    assert 0 < low < high
    wide_low, wide_high = estimated_range_mbit_s(2 * width, *others, **said)
    assert low < wide_low < 2 * low
    assert high < wide_high < 2 * high


@given(numbers_of_a_picture, settings)
def test_knowing_the_codec_or_the_quality_narrows_the_range_and_never_moves_it(numbers, said):
    low, high = estimated_range_mbit_s(*numbers, **{**said, "codec": "unknown"})
    for codec in ("h264", "h265"):
        codec_low, codec_high = estimated_range_mbit_s(*numbers, **{**said, "codec": codec})
        assert low <= codec_low < codec_high <= high
    low, high = estimated_range_mbit_s(*numbers, **{**said, "quality": "usual"})
    for quality in ("fine", "medium"):
        quality_low, quality_high = estimated_range_mbit_s(*numbers, **{**said, "quality": quality})
        assert low <= quality_low < quality_high <= high


@given(numbers_of_a_picture, settings)
def test_a_busy_scene_needs_more_than_a_quiet_one_and_a_coarser_picture_less(numbers, said):
    assert "busy" in WORDS["scene"]
    ends = [
        estimated_range_mbit_s(*numbers, **{**said, "quality": quality}) for quality in ("fine", "medium", "coarse")
    ]
    assert np.all(np.diff(ends, axis=0) < 0)


@pytest.mark.parametrize("name", WORDS)
@pytest.mark.parametrize("word", ["mjpeg", "Busy", "", None, 4])
def test_an_unknown_word_is_refused_with_all_known_ones(name, word):
    with pytest.raises(InputError, match=f"^{name}: is {word!r}; must be one of {', '.join(WORDS[name])}"):
        estimated_range_mbit_s(768, 576, 25, key_frame_interval_s=2, **{name: word})
