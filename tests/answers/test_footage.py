"""What measured clips mean for a card, against hand arithmetic."""

import numpy as np
import pandas as pd
import pytest

from edgestore import InputError
from edgestore.answers.footage import COLUMNS, footage_of, writing
from edgestore.inputs.clip import Clip
from edgestore.inputs.footage import Footage
from edgestore.models.speed import min_write_mbyte_s


def clip(trace_mbit_s, name="gate.mp4", overhead=1.0, duration_s=None, **others):
    trace = np.array(trace_mbit_s, dtype=float)
    given = {
        "file": name,
        "container": "mov",
        "codec": "h264",
        "width_px": 640,
        "height_px": 360,
        "packets": 10 * trace.size,
        "bytes": int(trace.sum() * 125_000),
        "key_frames": trace.size,
        "largest_frame_bytes": 20_000,
        "duration_s": float(trace.size) if duration_s is None else duration_s,
        "mean_mbit_s": float(trace.mean()),
        "peak_1s_mbit_s": float(trace.max()),
        "peak_gop_mbit_s": float(trace.max()),
        "key_frame_interval_s": 1.0,
        "key_share": 0.5,
        "frame_rate_fps": 10.0,
        "audio_mbit_s": 0.0,
        "stored_mbit_s": float(trace.mean()) * overhead,
        "overhead_share": 0.0,
        "trace_mbit_s": trace,
        "start": None,
        "start_from": "",
        "warnings": (),
    }
    return Clip(**given | others)


def footage(*clips, notes=()):
    return Footage(tuple(clips), (), tuple(notes), "UTC")


def test_a_card_holds_the_stored_mean_and_the_cap_as_the_sum_says():
    # 64 GB / (2 x 0.45 GB/h) = 71.11 h = 2.963 days; at 8 Mbit/s a quarter of that
    answer = writing(footage(clip([1, 3] * 30)), cap_mbit_s=8, capacity_gb=64)
    assert answer.retention_days["mean"] == pytest.approx(64 / 0.9 / 24)
    assert answer.retention_days["cap"] == pytest.approx(64 / 3.6 / 24)


def test_sound_and_file_format_count_for_the_card():
    assert writing(footage(clip([2] * 10, overhead=1.05))).rates_mbit_s["mean"] == pytest.approx(2.1)


def test_clips_are_weighted_by_their_length():
    # 60 s of 1 Mbit/s and 20 s of 5 Mbit/s: (60 + 100) / 80 = 2
    answer = writing(footage(clip([1] * 60), clip([5] * 20)))
    assert answer.rates_mbit_s["mean"] == pytest.approx(2)
    assert answer.rates_mbit_s["quietest clip"] == pytest.approx(1)
    assert answer.rates_mbit_s["busiest clip"] == pytest.approx(5)


def test_several_clips_give_the_range_from_the_busiest_to_the_quietest():
    answer = writing(footage(clip([1] * 60), clip([5] * 20)), capacity_gb=64)
    assert answer.likely_days == pytest.approx((64 / 2.25 / 24, 64 / 0.45 / 24))
    assert "1 to 5 from clip to clip" in answer.sentence
    assert "1.2 to 5.9 days" in answer.sentence


def test_one_clip_gives_the_range_that_its_own_ups_and_downs_make():
    answer = writing(footage(clip([1, 3] * 30)))
    low, high = answer.likely_days
    assert low < answer.retention_days["mean"] < high


def test_a_steady_clip_gives_no_range():
    assert np.ptp(writing(footage(clip([2] * 60))).likely_days) == pytest.approx(0)


def test_a_trace_of_256_groups_has_its_memory_estimated_and_a_shorter_one_is_taken_at_the_worst():
    rates = np.random.default_rng(3).uniform(1, 3, 400)
    assert any("estimated with a standard error" in text for text in writing(footage(clip(rates))).assumptions)
    short = writing(footage(clip(rates[:200]))).assumptions
    assert any("0.95, taken as 0.95, the highest possible" in text for text in short)
    just = writing(footage(clip(rates[:256]))).assumptions
    assert any("estimated with a standard error" in text for text in just)
    assert np.ptp(writing(footage(clip([2] * 300))).likely_days) == pytest.approx(0)  # nothing to estimate it from


def test_recording_half_of_the_time_holds_twice_as_long():
    whole, half = (writing(footage(clip([1, 3] * 30)), recorded_fraction=part) for part in (1, 0.5))
    assert half.retention_days["mean"] == pytest.approx(2 * whole.retention_days["mean"])


def test_the_busiest_second_is_marked_where_it_is_in_the_row_of_clips():
    answer = writing(footage(clip([1, 1, 1]), clip([1, 9, 1])))
    assert answer.peak_at_s == pytest.approx(4.5)
    assert list(answer.clip_edges_s) == [3]
    three = writing(footage(clip([1, 9, 1]), clip([1, 1]), clip([1, 8, 1])))
    assert three.peak_at_s == pytest.approx(1.5)
    assert list(three.clip_edges_s) == [3, 5]


def test_a_busiest_second_that_a_clip_does_not_fill_is_marked_at_the_last_one_drawn():
    assert writing(footage(clip([1, 1, 9], duration_s=2.5))).peak_at_s == pytest.approx(1.5)


def test_a_second_that_a_clip_does_not_fill_is_not_drawn():
    answer = writing(footage(clip([2, 2, 0.5], duration_s=2.25, mean_mbit_s=2, stored_mbit_s=2)))
    assert answer.edges_s[-1] == 2
    np.testing.assert_allclose(answer.mean_mbit_s, [2, 2])


def test_a_long_trace_is_cut_into_stretches_that_keep_its_mean_and_its_peak():
    trace = np.ones(10_000)
    trace[7_777] = 50
    answer = writing(footage(clip(trace)))
    assert answer.mean_mbit_s.size <= COLUMNS
    assert answer.high_mbit_s.max() == 50
    assert np.average(answer.mean_mbit_s, weights=np.diff(answer.edges_s)) == pytest.approx(trace.mean())


def test_the_margin_is_that_of_the_mark_over_each_rate():
    # Class 10: 10 Mbyte/s are 80 Mbit/s, over a busiest second of 4
    table = writing(footage(clip([2, 4])), mark="C10").table.set_index("at_the_rate_of")
    assert table.loc["peak second", "speed_margin"] == pytest.approx(20)
    assert min_write_mbyte_s("C10") == 10


def test_a_known_buffer_that_is_too_small_is_warned_of_and_one_that_is_enough_is_told():
    # 0.75 s of 4 Mbit/s are 0.375 MB, and the largest picture has 0.02
    assert any("stall" in text for text in writing(footage(clip([4] * 60)), buffer_mb=0.1).warnings)
    enough = writing(footage(clip([4] * 60)), buffer_mb=1)
    assert not any("stall" in text for text in enough.warnings)
    assert any("stall" in text for text in enough.assumptions)


def test_without_a_known_buffer_the_reader_is_told_that_it_decides():
    assert any("buffer is not known" in text for text in writing(footage(clip([4] * 60))).warnings)


def test_a_clip_above_the_cap_is_warned_of():
    assert any("above the cap" in text for text in writing(footage(clip([4] * 60)), cap_mbit_s=3).warnings)
    assert not any("above the cap" in text for text in writing(footage(clip([4] * 60)), cap_mbit_s=4).warnings)


def test_what_the_card_would_hold_by_the_cap_is_told():
    # 64 GB / (8 x 0.45 GB/h) = 17.8 h
    told = writing(footage(clip([4] * 60)), cap_mbit_s=8).sentence
    assert told.endswith("; by the cap of 8 Mbit/s it would be 17.8 hours.")


@pytest.mark.parametrize("order", [(4, 8), (8, 4)])
def test_whether_the_card_keeps_up_is_told_for_the_clip_that_asks_for_the_largest_buffer(order):
    several = writing(footage(*(clip([rate] * 60) for rate in order))).speed.buffer_needed_mb
    slow, fast = (writing(footage(clip([rate] * 60))).speed.buffer_needed_mb for rate in (4, 8))
    assert several == fast > slow


def test_too_few_days_are_warned_of():
    assert any("does not hold 90 days" in text for text in writing(footage(clip([4] * 60)), wanted_days=90).warnings)
    # From 1.2 days in the busiest clip to 5.9 in the quietest.
    clips = footage(clip([1] * 60), clip([5] * 20))
    assert any("does not hold 3 days" in text for text in writing(clips, wanted_days=3).warnings)
    just = writing(clips).likely_days[0]
    assert not any("does not hold" in text for text in writing(clips, wanted_days=just).warnings)


def test_where_nothing_is_said_a_card_of_64_gb_is_to_hold_seven_days():
    answer = writing(footage(clip([2] * 10)))
    assert (answer.capacity_gb, answer.wanted_days) == (64, 7)


def test_what_the_reader_of_clips_has_to_say_is_passed_on():
    assert "cut short" in writing(footage(clip([4] * 60), notes=["cut short"])).warnings


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"cap_mbit_s": -1}, "cap_mbit_s: is -1"),
        ({"capacity_gb": 0}, "capacity_gb: is 0"),
        ({"recorded_fraction": 0}, "recorded_fraction"),
        ({"mark": "V7"}, "mark: is 'V7'"),
        ({"buffer_mb": -1}, "buffer_mb: is -1"),
        ({"wanted_days": -1}, "wanted_days: is -1 days; must be above 0 days"),
        ({"wanted_days": float("nan")}, "wanted_days: is nan"),
        ({"cap_mbit_s": [4, 5]}, "cap_mbit_s: found shape"),
    ],
)
def test_what_cannot_be_is_refused(wrong, message):
    with pytest.raises(InputError, match=message):
        writing(footage(clip([4] * 60)), **wrong)


def test_a_clip_handed_over_as_bytes_is_called_by_its_name_when_it_cannot_be_read():
    with pytest.raises(InputError, match=r"gate\.mp4: found an empty file"):
        footage_of(("gate.mp4", b""))


def test_a_clip_handed_over_as_bytes_is_a_clip_and_its_warnings_have_its_name(monkeypatch):
    def read(content, name):
        return clip([2] * 3, name=name, warnings=("cut short",))

    monkeypatch.setattr("edgestore.answers.footage.read_clip", read)
    given = footage_of(("gate.mp4", b"content"))
    assert [one.file for one in given.clips] == ["gate.mp4"]
    assert given.notes == ("gate.mp4: cut short",)


def test_the_ups_and_downs_told_are_those_of_the_longest_clip():
    # 30 of 1 and 30 of 3 Mbit/s: sqrt(60 / 59) over 2 is 0.504; the other clip is steady.
    told = writing(footage(clip([2] * 10), clip([1, 3] * 30), clip([2] * 20))).assumptions
    assert any("coefficient of variation 0.50," in text for text in told)


def test_ups_and_downs_are_those_from_key_frame_to_key_frame():
    # Steps of 2 s: 15 of 1 and 15 of 3 Mbit/s, sqrt(30 / 29) over 2 is 0.509; what is left over does not count.
    steps = clip([1, 1, 3, 3] * 15 + [50], key_frame_interval_s=2.0)
    assert any("steps of 2 s, coefficient of variation 0.51," in text for text in writing(footage(steps)).assumptions)


@pytest.mark.parametrize(
    ("trace", "told"),
    [
        ([1, 3], "coefficient of variation 0.71,"),  # sqrt(2) over 2
        ([0, 2] * 30, "coefficient of variation 1.01,"),  # sqrt(60 / 59) over 1
    ],
)
def test_two_seconds_are_enough_to_show_ups_and_downs_and_seconds_without_video_count(trace, told):
    assert any(told in text for text in writing(footage(clip(trace))).assumptions)


def test_whole_seconds_without_video_show_no_ups_and_downs():
    # All of it is in the half second at the end.
    assert any("too short to show" in text for text in writing(footage(clip([0, 0, 5], duration_s=2.5))).assumptions)


def test_retention_in_nine_of_ten_moments_is_told_from_the_lower_to_the_higher():
    answer = writing(footage(clip([1, 3] * 30)))
    low, high = (f"{days:.2g}" for days in answer.likely_days)
    assert any(f"move retention between {low} to {high} days" in text for text in answer.assumptions)


def test_a_clip_of_one_second_shows_no_ups_and_downs():
    answer = writing(footage(clip([2])))
    assert "The clips are too short to show how much the rate varies." in answer.assumptions
    assert answer.likely_days == (answer.retention_days["mean"],) * 2


def test_one_clip_is_neither_the_quietest_nor_the_busiest():
    assert set(writing(footage(clip([1, 3] * 30))).rates_mbit_s) == {"mean", "peak second"}


def test_key_frames_closer_than_half_a_second_are_counted_by_the_second():
    told = writing(footage(clip([1, 3] * 30, key_frame_interval_s=0.3))).assumptions
    assert any("steps of 1 s" in text for text in told)


def test_of_a_clip_of_a_second_and_a_half_the_first_second_is_drawn():
    answer = writing(footage(clip([2, 0.5], duration_s=1.5)))
    np.testing.assert_allclose(answer.mean_mbit_s, [2])
    np.testing.assert_allclose(writing(footage(clip([3], duration_s=0.5))).mean_mbit_s, [3])


def test_the_start_of_a_clip_does_not_matter_for_the_card():
    at = pd.Timestamp("2026-10-19", tz="UTC")
    with_start = writing(footage(clip([1, 3] * 30, start=at, start_from="name")))
    assert with_start.sentence == writing(footage(clip([1, 3] * 30))).sentence


def test_of_a_path_the_clips_are_read_with_what_shows_the_progress_and_no_time_zone_of_their_own(monkeypatch):
    given = []
    monkeypatch.setattr("edgestore.answers.footage.read_footage", lambda *arguments: given.append(arguments))
    footage_of("clips", list)
    assert given == [("clips", "UTC", list)]
