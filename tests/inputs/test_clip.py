"""A clip is read as ffprobe reads it, and gives the same rates in whatever file format it comes."""

import json
import math
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from clips import DEMO_CLIPS, DEMO_FOLDER, FORMATS, Scene, copied_into, draw, real_clip, tool

from edgestore.inputs import packets
from edgestore.inputs.clip import read_clip
from edgestore.inputs.packets import ClipFile, Packets, open_clip

# Packet listings of the published clips by ffprobe and PyAV, which agree: packets, bytes, key frames; rates in kbit/s:
# mean, highest whole second, highest closed group of pictures (of one clip there is none).
PUBLISHED = {
    "traffic_sequence.mp4": (350, 1_924_849, 2, 1319.896, 1764.464, 1299.673),
    "vtest.avi": (795, 8_108_111, 4, 815.911, 1949.064, None),
    "bikes.mp4": (250, 506_093, 6, 404.874, 575.048, 458.696),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("clips")


@pytest.fixture(scope="module")
def silent(folder) -> Path:
    """Draw ten seconds without sound, once for all tests that do not change the file."""
    return draw(folder / "silent.mp4", seconds=10)


@pytest.fixture(scope="module")
def sounding(folder) -> Path:
    """Draw the same ten seconds with sound."""
    return draw(folder / "sounding.mp4", seconds=10, audio=True)


def kbit_s(rate_mbit_s: float) -> float:
    return rate_mbit_s * 1000


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_published_clip_gives_its_published_figures(name, folder):
    count, size, keys, mean, peak_1s, peak_gop = PUBLISHED[name]
    clip = read_clip(real_clip(name, folder))
    assert (clip.packets, clip.bytes, clip.key_frames) == (count, size, keys)
    assert kbit_s(clip.mean_mbit_s) == pytest.approx(mean, abs=0.01)
    assert kbit_s(clip.peak_1s_mbit_s) == pytest.approx(peak_1s, abs=0.01)
    if peak_gop is not None:
        assert kbit_s(clip.peak_gop_mbit_s) == pytest.approx(peak_gop, abs=0.01)
    assert clip.warnings == ()


def test_the_groups_of_a_published_clip_have_their_published_lengths(folder):
    # Groups of 30, 46, 61, 50 and 55 pictures at 25 pictures/s before the last key frame: 242 pictures in 9.68 s.
    clip = read_clip(real_clip("bikes.mp4", folder))
    assert clip.frame_rate_fps == pytest.approx(25)
    assert clip.key_frame_interval_s == pytest.approx(9.68 / 5)
    assert clip.duration_s == pytest.approx(10)
    assert clip.trace_mbit_s.sum() * 1e6 / 8 == pytest.approx(506_093)


@pytest.mark.parametrize("name", ["bikes.mp4", "traffic_sequence.mp4"])
@pytest.mark.parametrize("form", ["mov", "fragmented mp4", "avi"])
def test_another_file_format_gives_the_same_rates(form, name, folder):
    suffix, options = FORMATS[form]
    words = [word for key, value in options.items() for word in (f"-{key}", value)]
    clip = read_clip(copied_into(folder / f"{name}-{form}{suffix}", real_clip(name, folder), *words))
    count, size, keys, mean, peak_1s, peak_gop = PUBLISHED[name]
    assert (clip.packets, clip.bytes, clip.key_frames) == (count, size, keys)
    rates = [clip.mean_mbit_s, clip.peak_1s_mbit_s, clip.peak_gop_mbit_s]
    assert [kbit_s(rate) for rate in rates] == pytest.approx([mean, peak_1s, peak_gop], abs=0.01)


@pytest.mark.parametrize("name", ["bikes.mp4", "traffic_sequence.mp4"])
def test_matroska_gives_the_same_rates_but_for_times_in_whole_milliseconds(name, folder):
    clip = read_clip(copied_into(folder / f"{name}.mkv", real_clip(name, folder)))
    count, size, keys, mean, peak_1s, peak_gop = PUBLISHED[name]
    assert (clip.packets, clip.bytes, clip.key_frames) == (count, size, keys)
    assert kbit_s(clip.peak_1s_mbit_s) == pytest.approx(peak_1s, abs=0.01)
    for rate, expected in ((clip.mean_mbit_s, mean), (clip.peak_gop_mbit_s, peak_gop)):
        # Both ends of a span may be off by half a millisecond: of 1.2 s (the shortest group, 30 pictures) 0.083 %.
        assert kbit_s(rate) == pytest.approx(expected, rel=0.001 / 1.2)


@pytest.mark.parametrize("name", ["bikes.mp4", "traffic_sequence.mp4"])
def test_a_transport_stream_adds_delimiters_and_the_headers_of_each_key_frame_and_nothing_else(name, folder):
    clip = read_clip(copied_into(folder / f"{name}.ts", real_clip(name, folder)))
    count, size, keys, mean, _, _ = PUBLISHED[name]
    assert (clip.packets, clip.key_frames) == (count, keys)
    # An access unit delimiter is 6 bytes; the parameter sets before each key frame are some dozens.
    assert 6 * count < clip.bytes - size < 6 * count + 100 * keys
    assert kbit_s(clip.mean_mbit_s) * size / clip.bytes == pytest.approx(mean, abs=0.01)
    assert clip.stored_mbit_s > clip.mean_mbit_s * 1.03  # sources of the trade: 3 to 14 % overhead


def test_a_raw_stream_is_spaced_at_the_rate_that_it_states_and_says_so(folder):
    # 250 pictures at the stated 25 pictures/s last 10 s.
    clip = read_clip(copied_into(folder / "bikes.h264", real_clip("bikes.mp4", folder)))
    assert (clip.packets, clip.duration_s, clip.frame_rate_fps) == (250, pytest.approx(10), pytest.approx(25))
    assert clip.mean_mbit_s == pytest.approx(clip.bytes * 8 / 10 / 1e6)
    (warning,) = clip.warnings
    assert warning.startswith("no time stamps: pictures are spaced evenly at 25 frames/s, which the stream states")


def test_a_raw_stream_that_states_no_rate_is_in_doubt(folder):
    clip = read_clip(copied_into(folder / "traffic.h264", real_clip("traffic_sequence.mp4", folder)))
    assert clip.duration_s == pytest.approx(350 / 25)
    assert "25 frames/s, which nothing in it states; if that is wrong, all rates" in clip.warnings[0]


def listed(path: Path) -> tuple[list[int], list[bool]]:
    """List sizes and key flags of the first video stream with ffprobe."""
    words = [tool("ffprobe"), "-v", "error", "-select_streams", "v:0", "-show_packets", "-of", "json", path]
    found = json.loads(subprocess.run(words, capture_output=True, check=True).stdout)["packets"]
    return [int(packet["size"]) for packet in found], ["K" in packet["flags"] for packet in found]


def read(path: Path) -> tuple[list[int], list[bool]]:
    chunks = list(open_clip(path, path.name).packets())
    return [int(s) for chunk in chunks for s in chunk.sizes], [bool(k) for chunk in chunks for k in chunk.keys]


@pytest.mark.parametrize("name", PUBLISHED)
def test_ffprobe_lists_the_same_packets_of_a_published_clip(name, folder):
    path = real_clip(name, folder)
    assert read(path) == listed(path)


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("name", ["bikes.mp4", "traffic_sequence.mp4"])
def test_ffprobe_lists_the_same_packets_of_a_published_clip_in_another_format(name, form, folder):
    suffix, options = FORMATS[form]
    words = [word for key, value in options.items() for word in (f"-{key}", value)]
    path = copied_into(folder / f"other-{name}-{form}{suffix}", real_clip(name, folder), *words)
    assert read(path) == listed(path)


@pytest.mark.parametrize("b_frames", [0, 3], ids=["in order", "out of order"])
@pytest.mark.parametrize(
    ("form", "audio"),
    [(form, audio) for audio in (False, True) for form in FORMATS if not (audio and form == "raw h264")],  # no room
)
def test_ffprobe_lists_the_same_packets_of_a_drawn_clip(form, b_frames, audio, folder):
    suffix, options = FORMATS[form]
    path = folder / f"{form}-{b_frames}-{audio}{suffix}"
    draw(path, b_frames=b_frames, audio=audio, file_options=dict(options))
    assert read(path) == listed(path)
    clip = read_clip(path)
    assert (clip.packets, clip.key_frames) == (40, 2)  # 4 s of 10 pictures a second, a key frame every 2 s
    assert clip.duration_s == pytest.approx(4, abs=0.001)
    assert clip.key_frame_interval_s == pytest.approx(2, abs=0.001)


@pytest.mark.parametrize("suffix", [".hevc", ".mp4", ".mkv", ".ts"])
def test_ffprobe_lists_the_same_packets_of_h265(suffix, folder):
    path = folder / f"h265{suffix}"
    coding = ["-c:v", "libx265", "-x265-params", "keyint=20:bframes=3:log-level=none"]
    words = ["-v", "error", "-y", "-i", draw(folder / "h264.mp4"), *coding, path]
    subprocess.run([tool("ffmpeg"), *words], check=True, stdin=subprocess.DEVNULL)
    (sizes, keys), (listed_sizes, listed_keys) = read(path), listed(path)
    assert keys == listed_keys
    assert sum(sizes) == sum(listed_sizes)
    # Versions of the FFmpeg libraries differ in whose a zero byte between two pictures of a stream is (5.1 and 8 do).
    apart = 1 if suffix in (".hevc", ".ts") else 0
    assert sizes == pytest.approx(listed_sizes, abs=apart)
    clip = read_clip(path)
    assert (clip.codec, clip.packets, clip.duration_s) == ("hevc", 40, pytest.approx(4))  # 4 s of 10 pictures/s


@pytest.mark.parametrize("name", DEMO_CLIPS)
def test_ffprobe_lists_the_same_packets_of_a_demo_clip(name):
    assert read(DEMO_FOLDER / name) == listed(DEMO_FOLDER / name)


def test_sound_is_counted_apart(silent, sounding):
    without, with_sound = read_clip(silent), read_clip(sounding)
    words = [tool("ffprobe"), "-v", "error", "-select_streams", "a", "-show_packets", "-of", "json"]
    found = subprocess.run([*words, sounding], capture_output=True, check=True).stdout
    heard = sum(int(packet["size"]) for packet in json.loads(found)["packets"])
    assert (with_sound.mean_mbit_s, without.audio_mbit_s) == (without.mean_mbit_s, 0)
    assert with_sound.audio_mbit_s == pytest.approx(heard * 8 / 10 / 1e6)


def test_overhead_is_what_is_neither_picture_nor_sound(sounding, folder):
    path = copied_into(folder / "overhead.mkv", sounding)
    clip = read_clip(path)
    size = path.stat().st_size
    carried = clip.bytes + clip.audio_mbit_s * 1e6 / 8 * clip.duration_s
    assert clip.overhead_share == pytest.approx(1 - carried / size)
    assert clip.stored_mbit_s == pytest.approx(size * 8 / clip.duration_s / 1e6)


def test_sound_that_goes_on_after_the_pictures_is_no_missing_part(sounding, folder):
    short, both = draw(folder / "short.mp4", seconds=3), folder / "both.mp4"
    words = ["-v", "error", "-y", "-i", short, "-i", sounding, "-map", "0:v", "-map", "1:a", "-c", "copy", both]
    subprocess.run([tool("ffmpeg"), *words], check=True, stdin=subprocess.DEVNULL)
    clip = read_clip(both)
    assert clip.duration_s == pytest.approx(3)
    assert clip.warnings == ()


def test_of_two_video_streams_the_first_is_measured(folder):
    first, second = draw(folder / "one.mp4", crf=20), draw(folder / "two.mp4", Scene(seed=9), crf=40)
    both = folder / "both.mkv"
    words = ["-v", "error", "-y", "-i", first, "-i", second, "-map", "0:v", "-map", "1:v", "-c", "copy", both]
    subprocess.run([tool("ffmpeg"), *words], check=True, stdin=subprocess.DEVNULL)
    clip = read_clip(both)
    assert clip.bytes == read_clip(first).bytes
    assert clip.warnings == ("2 video streams: the first is measured; the others count only in what is stored",)


def test_a_variable_frame_rate_is_told_with_its_steps(folder):
    # Ten pictures 0.1 s apart, then nine 0.5 s apart: the last at 0.9 + 4.5 = 5.4 s; 18 steps, 0.3 s on average.
    times_ms = [*range(0, 1000, 100), *range(1400, 5401, 500)]
    clip = read_clip(draw(folder / "variable.mkv", times_ms=times_ms))
    assert clip.packets == 19
    assert clip.duration_s == pytest.approx(5.7)
    assert clip.frame_rate_fps == pytest.approx(1 / 0.3)
    assert "variable frame rate: pictures 0.1 to 0.5 s apart" in clip.warnings


def test_a_pause_is_told_and_counts_in_the_mean(folder):
    # Two bursts of 1 s with 30 s between: 10 pictures, the next at 31 s, the last at 31.9 s, and a step of 0.1 s.
    times_ms = [*range(0, 1000, 100), *range(31_000, 32_000, 100)]
    clip = read_clip(draw(folder / "pause.mkv", times_ms=times_ms))
    assert clip.duration_s == pytest.approx(32)
    assert clip.frame_rate_fps == pytest.approx(10)
    assert clip.mean_mbit_s == pytest.approx(clip.bytes * 8 / 32 / 1e6)
    assert "pauses of more than 10 s: 1, 30.1 s in all, included in the mean" in clip.warnings


def test_pieces_joined_one_after_the_other_count_one_after_the_other(folder):
    piece = draw(folder / "piece.ts", seconds=4).read_bytes()
    one, three = read_clip(piece), read_clip(piece * 3)
    assert three.packets == 3 * one.packets
    assert three.duration_s == pytest.approx(12)
    assert three.mean_mbit_s == pytest.approx(one.mean_mbit_s)
    assert "jumps of its clock: 2; time continues from the previous picture" in three.warnings


def test_a_transport_clock_that_begins_anew_after_26_hours_changes_nothing(folder):
    # 2^33 ticks of 1/90000 s are 95 443.7 s.
    source = draw(folder / "before.ts", seconds=6)
    wrapped = read_clip(copied_into(folder / "wrapped.ts", source, "-output_ts_offset", "95440"))
    assert (wrapped.duration_s, wrapped.packets) == (pytest.approx(6), 60)
    assert wrapped.mean_mbit_s == pytest.approx(read_clip(source).mean_mbit_s)


def test_packets_come_in_chunks_and_none_is_lost_between_them(silent, monkeypatch):
    monkeypatch.setattr(packets, "CHUNK_PACKETS", 41)
    chunks = [chunk.sizes.size for chunk in open_clip(silent, silent.name).packets()]
    assert chunks == [41, 41, 100 - 2 * 41]  # 10 s of 10 pictures a second
    clip = read_clip(silent)
    assert (clip.packets, clip.duration_s) == (100, pytest.approx(10))
    assert (clip.bytes, clip.key_frames) == (sum(listed(silent)[0]), 5)  # at 0, 2, ... 8 s


def test_the_content_of_a_file_gives_what_the_file_gives(folder):
    path = draw(folder / "uploaded.mp4")
    from_path, from_bytes = read_clip(path), read_clip(path.read_bytes(), name="uploaded.mp4")
    for name in ("bytes", "mean_mbit_s", "peak_1s_mbit_s", "peak_gop_mbit_s", "stored_mbit_s", "duration_s"):
        assert getattr(from_path, name) == getattr(from_bytes, name)
    assert from_bytes.file == "uploaded.mp4"


def test_a_clip_of_one_group_has_no_group_rate(folder):
    clip = read_clip(draw(folder / "group.mp4", seconds=1, key_s=10))
    assert math.isnan(clip.peak_gop_mbit_s)
    assert math.isnan(clip.key_frame_interval_s)
    assert "one key frame: no complete group of pictures" in clip.warnings


def test_pictures_of_one_time_before_a_pause_have_no_frame_rate(folder, monkeypatch):
    def two_at_once(file):
        with file._av:
            yield Packets(np.array([0, 0, 20.0]), np.array([100, 100, 50]), np.array([True, False, False]))

    monkeypatch.setattr(ClipFile, "packets", two_at_once)
    clip = read_clip(draw(folder / "moment.mp4"))
    assert math.isnan(clip.frame_rate_fps)
    assert (clip.duration_s, clip.mean_mbit_s) == (20, pytest.approx(0.0001))  # 250 bytes, 2000 bits


def test_a_clip_of_less_than_a_second_peaks_at_its_mean(folder):
    clip = read_clip(draw(folder / "brief.mp4", seconds=0.5))
    assert clip.duration_s == pytest.approx(0.5)
    assert clip.peak_1s_mbit_s == clip.mean_mbit_s == pytest.approx(clip.bytes * 8 / 0.5 / 1e6)


def test_a_clip_that_is_padded_with_nothing_is_measured_by_its_streams(silent, folder):
    path = shutil.copy(silent, folder / "padded.mp4")
    plain = read_clip(path)
    nothing = 12_000_000
    with path.open("ab") as file:  # a box of free space: its length, its kind, and zeros (ISO/IEC 14496-12, 8.1.2)
        file.write((8 + nothing).to_bytes(4, "big") + b"free")
        file.truncate(path.stat().st_size + 8 + nothing)
    padded = read_clip(path)
    assert plain.warnings == ()
    assert padded.mean_mbit_s == plain.mean_mbit_s
    assert padded.stored_mbit_s == pytest.approx(plain.bytes * 8 / 10 / 1e6)
    assert padded.overhead_share > 0.99
    (warning,) = padded.warnings
    assert "belong to no stream, more than a file format adds" in warning


@pytest.mark.parametrize("form", FORMATS)
def test_no_file_format_is_taken_for_padding_even_with_small_pictures(form, silent, sounding, folder):
    suffix, options = FORMATS[form]
    words = [word for key, value in options.items() for word in (f"-{key}", value)]
    source = silent if form == "raw h264" else sounding  # a raw stream has no room for sound
    clip = read_clip(copied_into(folder / f"small-{form}{suffix}", source, *words))
    assert not any("no stream" in warning for warning in clip.warnings)
