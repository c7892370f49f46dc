"""Clips of one camera: folders, starts by name and tag, gaps, hours of the week, and files that are no clips."""

import math
import os
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from clips import DEMO_FOLDER, as_nobody, draw

from edgestore.checks import InputError
from edgestore.inputs.clip import Clip, read_clip
from edgestore.inputs.footage import FIRST_COLUMNS, Footage, read_footage


@pytest.fixture(scope="module")
def drawn(tmp_path_factory) -> Path:
    return draw(tmp_path_factory.mktemp("footage") / "drawn.mp4", seconds=6)


def copies(folder: Path, source: Path, *names: str) -> list[Path]:
    return [Path(shutil.copy(source, folder / name)) for name in names]


def clip(file: str, start: str | None, trace_mbit_s, mean_mbit_s: float | None = None) -> Clip:
    """Make a clip out of a trace, by hand."""
    trace = np.array(trace_mbit_s, float)
    mean = trace.mean() if mean_mbit_s is None else mean_mbit_s
    return Clip(
        file=file,
        container="mov",
        codec="h264",
        width_px=640,
        height_px=360,
        packets=10 * trace.size,
        bytes=int(trace.sum() * 1e6 / 8),
        key_frames=2,
        largest_frame_bytes=1000,
        duration_s=float(trace.size),
        mean_mbit_s=mean,
        peak_1s_mbit_s=trace.max(),
        peak_gop_mbit_s=trace.max(),
        key_frame_interval_s=2.0,
        key_share=0.5,
        frame_rate_fps=10.0,
        audio_mbit_s=0.0,
        stored_mbit_s=mean * 1.1,
        overhead_share=0.1,
        trace_mbit_s=trace,
        start=None if start is None else pd.Timestamp(start),
        start_from="" if start is None else "name",
        warnings=(),
    )


def footage(*clips: Clip, zone: str = "UTC") -> Footage:
    return Footage(tuple(clips), (), (), zone)


def test_rates_over_all_clips_are_weighted_by_time():
    # 60 s of 1 Mbit/s and 20 s of 5 Mbit/s: (60 + 100) / 80 = 2 Mbit/s.
    both = footage(clip("a", None, [1] * 60), clip("b", None, [5] * 20))
    assert (both.duration_s, both.mean_mbit_s, both.peak_1s_mbit_s) == (80, 2, 5)
    assert both.stored_mbit_s == pytest.approx(2.2)


def test_gaps_run_from_the_end_of_a_clip_to_the_start_of_the_next_whatever_their_order():
    gaps = footage(
        clip("third", "2026-10-19T10:02:00Z", [1] * 60),
        clip("untimed", None, [1] * 60),
        clip("first", "2026-10-19T10:00:00Z", [1] * 60),
        clip("second", "2026-10-19T10:01:05Z", [1] * 60),
    ).gaps
    assert gaps.to_numpy().tolist() == [["first", "second", 5], ["second", "third", -5]]


def test_hours_of_the_week_hold_the_mean_over_time_and_the_spread_between_clips():
    # Monday 10 h, in two weeks: 1 Mbit/s for 60 s and 4 Mbit/s for 20 s: mean 140/80 = 1.75; sd of 1 and 4 is 2.1213.
    hours = footage(clip("a", "2026-10-19T10:00:00Z", [1] * 60), clip("b", "2026-10-26T10:30:00Z", [4] * 20)).hours
    assert len(hours) == 168
    ten = hours.loc[10]
    assert (ten["mean_mbit_s"], ten["clips"], ten["seen_s"]) == (1.75, 2, 80)
    assert ten["sd_mbit_s"] == pytest.approx(3 / math.sqrt(2))
    assert hours["mean_mbit_s"].notna().sum() == 1
    assert hours["seen_s"].sum() == 80


def test_a_clip_over_the_turn_of_an_hour_counts_in_both():
    # From Sunday 23:59:40 on: 20 s of 1 Mbit/s in hour 167, then 40 s of 3 Mbit/s in hour 0.
    hours = footage(clip("a", "2026-10-25T23:59:40Z", [1] * 20 + [3] * 40)).hours
    assert hours.loc[[167, 0], "mean_mbit_s"].tolist() == [1, 3]
    assert hours.loc[[167, 0], "seen_s"].tolist() == [20, 40]
    assert hours["sd_mbit_s"].isna().all()


def test_hours_are_those_of_the_clocks_of_the_zone():
    # 23:30 UTC on a Sunday in October is 1:30 on Monday in Berlin; in half-hour zones hours begin at half past.
    sunday = clip("a", "2026-10-18T23:30:00Z", [2] * 60)
    assert footage(sunday, zone="Europe/Berlin").hours["clips"].idxmax() == 1
    assert footage(sunday, zone="Asia/Kolkata").hours["clips"].idxmax() == 5  # 5:00 on Monday


def test_the_hour_that_clocks_show_twice_counts_once_and_holds_both():
    # Clocks in Berlin go back at 1:00 UTC on 25 October 2026: 0:30 and 1:30 UTC are both 2:30, on a Sunday: 6 x 24 + 2.
    hours = footage(
        clip("a", "2026-10-25T00:30:00Z", [1] * 60), clip("b", "2026-10-25T01:30:00Z", [3] * 60), zone="Europe/Berlin"
    ).hours
    assert (hours.loc[146, "mean_mbit_s"], hours.loc[146, "clips"]) == (2, 2)


def test_without_a_start_no_hour_is_known():
    hours = footage(clip("a", None, [1] * 60)).hours
    assert hours["mean_mbit_s"].isna().all()
    assert (hours["clips"] == 0).all()


@pytest.mark.parametrize(
    ("name", "zone", "start"),
    [
        ("gate_2026-10-19_09-59-55.mp4", None, "2026-10-19T09:59:55Z"),
        ("gate_2026-10-19_09-59-55.mp4", "Europe/Berlin", "2026-10-19T07:59:55Z"),
        ("gate_2026-12-19_09-59-55.mp4", "Europe/Berlin", "2026-12-19T08:59:55Z"),  # winter
        ("20261019T095955.mp4", "Europe/Berlin", "2026-10-19T07:59:55Z"),
        ("20261019T095955Z.mp4", "Europe/Berlin", "2026-10-19T09:59:55Z"),
        ("20261019T095955+0530.mp4", "Europe/Berlin", "2026-10-19T04:29:55Z"),
        ("20261019T095955-0500.mp4", None, "2026-10-19T14:59:55Z"),
        ("2026-10-19_09-59-55-0001.mp4", None, "2026-10-19T09:59:55Z"),  # a number, no offset
        ("cam12-20261019_095955.mp4", None, "2026-10-19T09:59:55Z"),
        ("2026.10.19 09.59.55.mp4", None, "2026-10-19T09:59:55Z"),
        ("gate_2026-10-25_02-30-00.mp4", "Europe/Berlin", "2026-10-25T00:30:00Z"),  # shown twice: the first
        ("gate_2026-03-29_02-30-00.mp4", "Europe/Berlin", "2026-03-29T01:30:00Z"),  # skipped: as on the clock before
        ("99999999_235959_2026-10-19_09-59-55.mp4", None, "2026-10-19T09:59:55Z"),
    ],
)
def test_a_name_says_when_a_clip_begins(name, zone, start, tmp_path, drawn):
    (path,) = copies(tmp_path, drawn, name)
    found = read_clip(path, zone)
    assert (found.start, found.start_from) == (pd.Timestamp(start), "name")


@pytest.mark.parametrize(
    "name",
    [
        "gate.mp4",
        "gate_2026-10-19.mp4",
        "gate_2026-13-01_00-00-00.mp4",
        "gate_2026-02-30_00-00-00.mp4",
        "gate_2026-10-19_25-00-00.mp4",
        "gate_19-10-2026_09-59-55.mp4",
        "1202610190959551.mp4",
    ],
)
def test_a_name_without_a_whole_time_says_nothing(name, tmp_path, drawn):
    (path,) = copies(tmp_path, drawn, name)
    assert (read_clip(path).start, read_clip(path).start_from) == (None, "")


def test_a_folder_that_is_named_after_a_time_says_nothing_of_its_clips(tmp_path, drawn):
    (tmp_path / "2026-10-19_09-59-55").mkdir()
    (path,) = copies(tmp_path / "2026-10-19_09-59-55", drawn, "gate.mp4")
    assert read_clip(path).start is None


@pytest.mark.parametrize(
    ("tag", "start"),
    [
        ("2026-10-19T09:59:55.5Z", "2026-10-19T09:59:55.5Z"),
        ("2026-10-19 09:59:55", "2026-10-19T09:59:55Z"),
        ("1970-01-01T00:00:00Z", None),  # a clock that was never set
    ],
)
def test_a_tag_says_when_a_clip_begins_in_utc(tag, start, tmp_path):
    import av

    path = tmp_path / "gate.mkv"
    source = draw(tmp_path / "drawn.mp4")
    with av.open(str(source)) as plain, av.open(str(path), "w") as tagged:
        tagged.metadata["creation_time"] = tag
        stream = tagged.add_stream_from_template(plain.streams.video[0])
        for packet in plain.demux(video=0):
            if packet.dts is not None:
                packet.stream = stream
                tagged.mux(packet)
    found = read_clip(path, "Asia/Kolkata")
    assert found.start == (start and pd.Timestamp(start))
    assert found.start_from == ("tag" if start else "")


def test_a_name_is_believed_before_a_tag(tmp_path):
    path = draw(tmp_path / "gate_2026-10-19_09-59-55.mp4")
    assert read_clip(path).start_from == "name"


def test_a_folder_is_read_at_any_depth_and_what_is_no_clip_is_left_aside(tmp_path, drawn):
    (tmp_path / "day" / "hour").mkdir(parents=True)
    copies(tmp_path, drawn, "b.MP4", "notes.txt")
    copies(tmp_path / "day" / "hour", drawn, "a.mp4")
    found = read_footage(tmp_path)
    assert [Path(clip.file).name for clip in found.clips] == ["b.MP4", "a.mp4"]
    assert f"{tmp_path}: 1 of 3 files are not clips, by their names" in found.notes


def test_bad_files_are_named_and_the_rest_is_read(tmp_path, drawn):
    copies(tmp_path, drawn, "a.mp4", "z.mkv")
    (tmp_path / "empty.mp4").touch()
    (tmp_path / "text.ts").write_text("no clip")
    (tmp_path / "gone.mp4").symlink_to(tmp_path / "nowhere.mp4")
    found = read_footage([tmp_path, tmp_path / "none.mp4"])
    assert [Path(clip.file).name for clip in found.clips] == ["a.mp4", "z.mkv"]
    assert {Path(fault.where).name for fault in found.faults} == {"empty.mp4", "text.ts", "gone.mp4", "none.mp4"}
    assert sum(note.startswith("not read: ") for note in found.notes) == 4
    table = found.table
    assert len(table) == 6
    assert tuple(table.columns[: len(FIRST_COLUMNS)]) == FIRST_COLUMNS
    assert table.columns[-1] == "warnings"
    bad = table[table["packets"].isna()]
    assert set(bad["file"]) == {fault.where for fault in found.faults}
    assert bad["warnings"].str.startswith("not read: ").all()


def test_when_nothing_can_be_read_all_faults_are_told(tmp_path):
    (tmp_path / "empty.mp4").touch()
    (tmp_path / "text.ts").write_text("no clip")
    with pytest.raises(InputError) as caught:
        read_footage(tmp_path)
    assert [Path(fault.where).name for fault in caught.value.faults] == ["empty.mp4", "text.ts"]


def test_a_folder_without_a_clip_is_told(tmp_path):
    (tmp_path / "notes.txt").touch()
    with pytest.raises(InputError, match=r"found a folder of 1 files without a clip; allowed: clips \(.*\.mp4"):
        read_footage(tmp_path)


def test_a_file_counts_once_however_often_it_is_named(tmp_path, drawn, monkeypatch):
    copies(tmp_path, drawn, "a.mp4")
    (tmp_path / "link.mp4").symlink_to("a.mp4")
    monkeypatch.chdir(tmp_path)
    found = read_footage([tmp_path, "a.mp4", "./a.mp4", tmp_path / "link.mp4", tmp_path / ".." / tmp_path.name])
    assert len(found.clips) == 1


def test_folders_that_lead_into_themselves_end(tmp_path, drawn):
    copies(tmp_path, drawn, "a.mp4")
    (tmp_path / "again").symlink_to(tmp_path, target_is_directory=True)
    (tmp_path / "loop.mp4").symlink_to("loop.mp4")
    found = read_footage(tmp_path)
    assert len(found.clips) == 1
    assert [Path(fault.where).name for fault in found.faults] == ["loop.mp4"]


@pytest.mark.skipif(os.name == "nt", reason="rights of POSIX systems")
def test_a_folder_that_may_not_be_read_is_told(tmp_path, drawn):
    copies(tmp_path, drawn, "a.mp4")
    for name, rights in (("closed", 0), ("listed", 0o444)):
        (tmp_path / name).mkdir()
        copies(tmp_path / name, drawn, "b.mp4")
        (tmp_path / name).chmod(rights)
    with as_nobody(tmp_path):
        found = read_footage(tmp_path)
    for name in ("closed", "listed"):
        (tmp_path / name).chmod(0o755)
    told = {Path(fault.where).relative_to(tmp_path).as_posix(): fault.found for fault in found.faults}
    assert told == {"closed": "no permission to use it", "listed/b.mp4": "no permission to use it"}
    assert len(found.clips) == 1


def test_progress_is_told_of_every_file(tmp_path, drawn):
    copies(tmp_path, drawn, "a.mp4", "b.mp4", "c.mp4")
    seen = []

    def bar(files):
        for path in files:
            seen.append(path.name)
            yield path

    read_footage(tmp_path, progress=bar)
    assert seen == ["a.mp4", "b.mp4", "c.mp4"]


@pytest.mark.parametrize("zone", ["Mars/Olympus", "", "../etc/passwd", "+02:00"])
def test_an_unknown_zone_is_refused_before_any_file_is_read(zone, tmp_path):
    with pytest.raises(InputError, match=r"zone: found .*; allowed: the name of a time zone, as Europe/Berlin or UTC"):
        read_footage(tmp_path / "none.mp4", zone)
    with pytest.raises(InputError, match="zone: found"):
        read_clip(tmp_path / "none.mp4", zone)


def test_overlaps_little_footage_and_guessed_zones_are_told(tmp_path, drawn):
    copies(tmp_path, drawn, "a_2026-10-19_10-00-00.mp4", "b_2026-10-19_10-00-03.mp4", "c_2026-10-19_10-00-09.mp4")
    notes = read_footage(tmp_path).notes
    assert "clips that begin before the previous one has ended: 1; check that all are from one camera" in notes
    assert "18 s of footage is little: other hours, days and weather differ" in notes
    assert "times in the names of clips are taken as UTC: give the zone for local hours" in notes
    assert not any("taken as UTC" in note for note in read_footage(tmp_path, "UTC").notes)


def test_the_demo_clips_are_of_one_camera_at_four_hours_of_the_week():
    demo = read_footage(DEMO_FOLDER, "Europe/Berlin")
    assert demo.faults == ()
    assert all(0.08 < clip.mean_mbit_s < 0.5 and clip.warnings == () for clip in demo.clips)
    assert {(clip.packets, clip.key_frames, clip.width_px, clip.height_px) for clip in demo.clips} == {
        (120, 6, 640, 360)  # 12 s of 10 pictures/s, a key frame every 2 s
    }
    seen = demo.hours[demo.hours["clips"] > 0]
    assert seen.index.tolist() == [3, 12, 24 + 12, 24 + 21]  # Monday 3 and 12 h, Tuesday 12 and 21 h
    assert sum(path.stat().st_size for path in DEMO_FOLDER.iterdir()) < 900_000


def test_a_zero_byte_in_a_path_is_refused():
    with pytest.raises(InputError, match="found a zero byte in the path; allowed: a recorded clip"):
        read_footage(["gate\0.mp4"])
