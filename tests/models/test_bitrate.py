"""What a camera writes, against arithmetic by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import (
    InputError,
    bitrate_from_frames_mbit_s,
    estimated_range_mbit_s,
    mean_range_mbit_s,
    mean_under_cap_mbit_s,
    stored_mbit_s,
    total_mbit_s,
)
from edgestore.models.bitrate import AUDIO_MBIT_S, CONTAINER_BYTES_PER_FRAME, FRAME_BITS_PER_PIXEL, MEAN_OVER_CAP_BAND

rates = st.floats(0.01, 1000)


def test_streams_add_up():
    assert total_mbit_s(4) == 4.0
    assert total_mbit_s(4, 0.5, 0.25) == 4.75
    assert total_mbit_s([1, 2], 10).tolist() == [11, 12]
    assert total_mbit_s([[1], [2]], [10, 20]).tolist() == [[11, 21], [12, 22]]


def test_no_stream_is_refused():
    with pytest.raises(InputError, match=r"^streams_mbit_s: found no stream; allowed: one stream or more\.$"):
        total_mbit_s()


@pytest.mark.parametrize("bad", [0, -1, float("nan"), float("inf"), 4000, "four", None, [], True])
def test_a_stream_that_is_none_is_refused_by_its_number(bad):
    allowed = "above 0 and at most 1000 Mbit/s. A rate in kbit/s is divided by 1000"
    with pytest.raises(InputError, match=rf"^stream 2: found .*; allowed: {allowed}"):
        total_mbit_s(4, bad, 1)


def test_streams_that_do_not_fit_are_refused():
    with pytest.raises(InputError, match=r"^shapes: found stream 1 \(2,\), stream 2 \(3,\); allowed: shapes that"):
        total_mbit_s([1, 2], [1, 2, 3])


def test_the_cap_cuts_the_busy_hours_and_does_not_fill_the_quiet_ones():
    assert mean_under_cap_mbit_s(6, 4) == 4.0
    assert mean_under_cap_mbit_s(0.5, 4) == 0.5
    # Three quarters of the time 0.5, one quarter 6 cut to 4: 0.375 + 1.
    assert mean_under_cap_mbit_s([0.5, 6], 4, time_share=[0.75, 0.25]) == pytest.approx(1.375, rel=1e-14)
    # Two cameras, one a row: 1.375; half of 1 and half of 3: 2.
    both = mean_under_cap_mbit_s([[0.5, 6], [1, 3]], 4, time_share=[[0.75, 0.25], [0.5, 0.5]])
    assert both == pytest.approx([1.375, 2.0], rel=1e-14)
    # Two caps for the first camera: under 2, it is 0.375 + 0.5.
    assert mean_under_cap_mbit_s([0.5, 6], [[4], [2]], [0.75, 0.25]) == pytest.approx([1.375, 0.875], rel=1e-14)


@given(rates, rates, st.floats(0, 1), rates)
def test_the_mean_is_never_above_the_cap_nor_the_need(quiet, busy, share, cap):
    mean = mean_under_cap_mbit_s([quiet, busy], cap, [share, 1 - share])
    assert mean <= min(cap, share * quiet + (1 - share) * busy) * (1 + 1e-12)
    assert mean <= mean_under_cap_mbit_s([quiet, busy], min(1000, 2 * cap), [share, 1 - share]) * (1 + 1e-12)


@pytest.mark.parametrize(
    ("share", "found"),
    [([0.5, 0.25], "0.75"), ([0.6, 0.6], "1.2"), ([1.0], "2.0"), (1.0, "2.0"), ([0.0, 0.0], "0.0")],
)
def test_shares_of_time_that_do_not_sum_to_1_over_the_states_are_refused(share, found):
    with pytest.raises(
        InputError, match=rf"^time_share: found shares that sum to {found}; allowed: shares that sum to 1"
    ):
        mean_under_cap_mbit_s([0.5, 6], 4, share)


@pytest.mark.parametrize(("share", "found"), [([75, 25], "75"), ([-0.5, 1.5], "-0.5"), ([None, 1], "None")])
def test_a_share_of_time_that_is_none_is_refused(share, found):
    with pytest.raises(
        InputError, match=rf"^time_share: found {found}; allowed: 0 or more and at most 1\. A percentage"
    ):
        mean_under_cap_mbit_s([0.5, 6], 4, share)


def test_shares_and_states_that_do_not_fit_are_refused():
    message = r"^shapes: found natural_mbit_s \(2,\), cap_mbit_s \(\), time_share \(3,\)"
    with pytest.raises(InputError, match=message):
        mean_under_cap_mbit_s([0.5, 6], 4, [0.5, 0.25, 0.25])


@pytest.mark.parametrize(("scene", "low", "high"), [("quiet", 0.308, 4), ("busy", 0.86, 4), ("noisy night", 2.856, 4)])
def test_a_cap_alone_gives_a_range(scene, low, high):
    # The band of the scene x 4 Mbit/s.
    assert mean_range_mbit_s(4, scene) == pytest.approx((low, high), rel=1e-12)


def test_a_scene_of_which_nothing_is_known_may_be_any():
    bands = [MEAN_OVER_CAP_BAND[scene] for scene in ("quiet", "busy", "noisy night")]
    assert MEAN_OVER_CAP_BAND["unknown"] == (min(low for low, _ in bands), max(high for _, high in bands))
    assert mean_range_mbit_s(4) == mean_range_mbit_s(4, "unknown")


def test_sound_and_file_format_add_a_little():
    # 4 + 0.064 + 30 x 50 bytes x 8 / 10^6 = 4 + 0.064 + 0.012.
    assert stored_mbit_s(4, 30, "avi", audio_mbit_s=0.064) == pytest.approx(4.076, rel=1e-14)
    # 10 frames/s x 4.5 bytes x 8 = 360 bit/s.
    assert stored_mbit_s(1, 10) == pytest.approx(1.00036, rel=1e-14)


def test_sound_is_64_kbit_s_in_g711_and_32_in_g726_and_a_little_more_than_asked_in_aac():
    # ITU-T G.711: 8000 samples/s of 8 bits. AAC-LC: 33.8 and 66.8 kbit/s measured where 32 and 64 were asked.
    assert AUDIO_MBIT_S == {
        "none": 0.0,
        "g711": 0.064,
        "g726": 0.032,
        "aac at 32 kbit/s": 0.0338,
        "aac at 64 kbit/s": 0.0668,
    }


def test_a_rate_from_frames():
    # 10^6 pixels, 10 frames/s, a key frame of 0.5 every 2 s, others of 0.05 bits a pixel:
    # one key frame and 19 others in 2 s = 0.5 + 0.95 = 1.45 Mbit; / 2 s = 0.725 Mbit/s.
    assert bitrate_from_frames_mbit_s(1000, 1000, 10, 2, 0.5, 0.05) == pytest.approx(0.725, rel=1e-14)
    # A key frame alone, every second: 0.5 Mbit/s; nothing but key frames: 10 x 0.5.
    assert bitrate_from_frames_mbit_s(1000, 1000, 1, 1, 0.5, 0.05) == pytest.approx(0.5, rel=1e-14)
    assert bitrate_from_frames_mbit_s(1000, 1000, 10, 0.1, 0.5, 0.05) == pytest.approx(5, rel=1e-14)
    # Still frames between: 0.5 Mbit every 4 s.
    assert bitrate_from_frames_mbit_s(1000, 1000, 25, 4, 0.5, 0) == pytest.approx(0.125, rel=1e-14)


def test_people_at_quantiser_30_follow_166_6_and_282_5_over_the_key_frame_interval():
    # Measured: 450, 306, 237 and 203 kbit/s at 1, 2, 4 and 8 s (768 x 576, 10 frames/s). The form is
    # pixels x p x fps + pixels x (i - p) / Tg, so p = 166.6e3 / (pixels x 10) and i = p + 282.5e3 / pixels.
    pixels = 768 * 576
    other = 166.6e3 / (pixels * 10)
    key = other + 282.5e3 / pixels
    rate = bitrate_from_frames_mbit_s(768, 576, 10, [1, 2, 4, 8], key, other)
    assert rate == pytest.approx([0.44996, 0.3059, 0.23687, 0.20333], rel=0.0071)
    assert rate == pytest.approx([0.4491, 0.30785, 0.237225, 0.2019125], rel=1e-12)


@pytest.mark.parametrize("interval", [0.0399, 0.01, [2, 0.02]])
def test_key_frames_more_often_than_frames_are_refused(interval):
    message = (
        r"^key_frame_interval_s: found less than one frame time; allowed: one frame time or more\. "
        r"The interval is in seconds: a group of 50 frames at 25 frames/s is 2 s\.$"
    )
    with pytest.raises(InputError, match=message):
        bitrate_from_frames_mbit_s(1920, 1080, 25, interval, 0.5, 0.05)


@pytest.mark.parametrize("frame_rate", [3, 7, 12.5, 25, 29.97, 30])
def test_key_frames_as_often_as_frames_are_allowed(frame_rate):
    rate = bitrate_from_frames_mbit_s(100, 100, frame_rate, 1 / frame_rate, 1, 0)
    assert rate == pytest.approx(frame_rate * 0.01, rel=1e-12)


def test_the_rate_grows_with_pixels_frames_and_frame_sizes_and_falls_with_the_interval():
    grid = np.linspace(0.1, 10, 50)
    assert np.all(np.diff(bitrate_from_frames_mbit_s(100 * grid, 1080, 25, 2, 0.5, 0.05)) > 0)
    assert np.all(np.diff(bitrate_from_frames_mbit_s(1920, 1080, 10 * grid, 2, 0.5, 0.05)) > 0)
    assert np.all(np.diff(bitrate_from_frames_mbit_s(1920, 1080, 25, grid, 0.5, 0.05)) < 0)
    assert np.all(np.diff(bitrate_from_frames_mbit_s(1920, 1080, 25, 2, grid, 0.05)) > 0)
    assert np.all(np.diff(bitrate_from_frames_mbit_s(1920, 1080, 25, 2, 0.5, grid)) > 0)


def test_the_estimate_for_a_busy_scene_of_2_megapixels_by_hand():
    # 1920 x 1080 = 2.0736e6 pixels, 4.6875 times 768 x 576; 15 frames/s, one key frame in 2 s: 0.5 + 14.5 a second.
    # Low: 2.0736 x (0.5 x 0.399 + 14.5 x 0.0270) = 1.22550 x 4.6875^(0.72 - 1) = 0.64877: 0.795.
    # High: 2.0736 x (0.5 x 1.275 + 14.5 x 0.1193) = 4.90894 x 4.6875^(0.92 - 1) = 0.88371: 4.338.
    assert estimated_range_mbit_s(1920, 1080, 15, 2, "busy") == pytest.approx((0.795, 4.338), abs=5e-4)
    assert estimated_range_mbit_s(1920, 1080, 15, 2) == estimated_range_mbit_s(1920, 1080, 15, 2, "busy")


@given(
    st.integers(160, 7680),
    st.integers(120, 4320),
    st.floats(1, 60),
    st.floats(1, 20),
    st.sampled_from(["quiet", "busy"]),
)
def test_the_estimate_is_a_range_and_grows_slower_than_the_pixels(width, height, frame_rate, interval, scene):
    low, high = estimated_range_mbit_s(width, height, frame_rate, interval, scene)
    assert 0 < low < high
    wide_low, wide_high = estimated_range_mbit_s(2 * width, height, frame_rate, interval, scene)
    assert low < wide_low < 2 * low
    assert high < wide_high < 2 * high


@pytest.mark.parametrize(
    ("call", "name", "words"),
    [
        (lambda word: stored_mbit_s(4, 25, word), "container", CONTAINER_BYTES_PER_FRAME),
        (lambda word: mean_range_mbit_s(4, word), "scene", MEAN_OVER_CAP_BAND),
        (lambda word: estimated_range_mbit_s(768, 576, 25, 2, word), "scene", FRAME_BITS_PER_PIXEL),
    ],
    ids=["container", "scene of a cap", "scene of an estimate"],
)
@pytest.mark.parametrize("word", ["ts", "Busy", "", None, 4])
def test_an_unknown_word_is_refused_with_all_known_ones(call, name, words, word):
    with pytest.raises(InputError, match=f"^{name}: found {word!r}; allowed: {', '.join(words)}"):
        call(word)
