"""What a camera writes, against arithmetic by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.rate import mean_range_mbit_s, mean_under_cap_mbit_s, stored_mbit_s, total_mbit_s
from edgestore.models.rate.bitrate import AUDIO_MBIT_S, CONTAINER_BYTES_PER_FRAME, MEAN_OVER_CAP_BAND

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
    allowed = "above 0 and at most 1000 Mbit/s. Fix: A rate in kbit/s is divided by 1000"
    with pytest.raises(InputError, match=rf"^stream 2: (is .*; must be|found no number; allowed:) {allowed}"):
        total_mbit_s(4, bad, 1)


def test_streams_that_do_not_fit_are_refused():
    with pytest.raises(InputError, match=r"^shapes: found stream 1 \(2,\), stream 2 \(3,\); allowed: shapes that"):
        total_mbit_s([1, 2], [1, 2, 3])


def test_the_cap_cuts_the_busy_hours_and_does_not_fill_the_quiet_ones():
    assert mean_under_cap_mbit_s(6, 4) == 4.0
    assert mean_under_cap_mbit_s(0.5, 4) == 0.5
    # Three quarters of the time 0.5, one quarter 6 cut to 4: 0.375 + 1.
    assert mean_under_cap_mbit_s([0.5, 6], 4, time_fraction=[0.75, 0.25]) == pytest.approx(1.375, rel=1e-14)
    # Two cameras, one a row: 1.375; half of 1 and half of 3: 2.
    both = mean_under_cap_mbit_s([[0.5, 6], [1, 3]], 4, time_fraction=[[0.75, 0.25], [0.5, 0.5]])
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
    [
        ([0.5, 0.25], "0.75"),
        ([0.6, 0.6], "1.2"),
        ([0.5, 0.499], "0.999"),
        ([1.0], "2.0"),
        (1.0, "2.0"),
        ([0.0, 0.0], "0.0"),
    ],
)
def test_shares_of_time_that_do_not_sum_to_1_over_the_states_are_refused(share, found):
    with pytest.raises(
        InputError, match=rf"^time_fraction: found shares that sum to {found}; allowed: shares that sum to 1"
    ):
        mean_under_cap_mbit_s([0.5, 6], 4, share)


@pytest.mark.parametrize(("share", "found"), [([75, 25], "75"), ([-0.5, 1.5], "-0.5"), ([None, 1], "None")])
def test_a_share_of_time_that_is_none_is_refused(share, found):
    with pytest.raises(
        InputError, match=rf"^time_fraction: is {found}; must be 0 or more and at most 1\. Fix: A percentage"
    ):
        mean_under_cap_mbit_s([0.5, 6], 4, share)


def test_shares_and_states_that_do_not_fit_are_refused():
    message = r"^shapes: found natural_mbit_s \(2,\), cap_mbit_s \(\), time_fraction \(3,\)"
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
    assert stored_mbit_s(4, 30, container="avi", audio_mbit_s=0.064) == pytest.approx(4.076, rel=1e-14)
    # 10 frames/s x 4.5 bytes x 8 = 360 bit/s; of 10 bytes 800 bit/s.
    assert stored_mbit_s(1, 10) == pytest.approx(1.00036, rel=1e-14)
    assert stored_mbit_s(1, 10, container="mkv") == pytest.approx(1.0008, rel=1e-14)


def test_sound_is_64_kbit_s_in_g711_and_32_in_g726_and_a_little_more_than_asked_in_aac():
    # ITU-T G.711: 8000 samples/s of 8 bits. AAC-LC: 33.8 and 66.8 kbit/s measured where 32 and 64 were asked.
    assert AUDIO_MBIT_S == {
        "none": 0.0,
        "g711": 0.064,
        "g726": 0.032,
        "aac at 32 kbit/s": 0.0338,
        "aac at 64 kbit/s": 0.0668,
    }


@pytest.mark.parametrize(
    ("call", "name", "words"),
    [
        (lambda word: stored_mbit_s(4, 25, container=word), "container", CONTAINER_BYTES_PER_FRAME),
        (lambda word: mean_range_mbit_s(4, word), "scene", MEAN_OVER_CAP_BAND),
    ],
    ids=["container", "scene of a cap"],
)
@pytest.mark.parametrize("word", ["ts", "Busy", "", None, 4])
def test_an_unknown_word_is_refused_with_all_known_ones(call, name, words, word):
    with pytest.raises(InputError, match=f"^{name}: is {word!r}; must be one of {', '.join(words)}"):
        call(word)
