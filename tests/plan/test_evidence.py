"""What the files of a camera list say is joined to the plan, and a file that cannot be used is told with its camera.

Samples are invented; the arithmetic stands beside. How each kind of file is read is tested in tests/inputs.
"""

import os
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import av
import numpy as np
import pandas as pd
import pytest

from edgestore import InputError
from edgestore.inputs.camera_list import read_cameras
from edgestore.plan import evidence as evidence_module
from edgestore.plan.evidence import EVIDENCE_COLUMNS, Evidence, no_evidence, read_evidence
from edgestore.plan.rates import camera_rates
from edgestore.plan.read import read_lists
from edgestore.plan.requirements import Requirements
from edgestore.plan.site_plan import site_plan

HEADER = (
    "camera,mean_mbit_s,cap_mbit_s,recording,events_per_h,event_s,pre_roll_s,post_roll_s,"
    "footage,encoder_file,encoder_streams,event_log,time_zone"
)
CARDS = b"card,capacity_gb,speed_class,endurance_tbw\nsmall,64,C10,100\nlarge,256,C10,400\n"
EASY = Requirements(retention_days=1, life_years=1, speed_margin=1)

TWO_STREAMS = b"v=0\ns=-\nm=video 0 RTP/AVP 96\ni=main\nb=TIAS:3000000\nm=video 0 RTP/AVP 96\ni=sub\nb=TIAS:500000\n"
NO_CAP = b"v=0\ns=-\nm=video 0 RTP/AVP 96\ni=main\nb=TIAS:0\n"
CONSTANT = b"""<m:GetVideoEncoderConfigurationsResponse xmlns:m="http://www.onvif.org/ver20/media/wsdl"
 xmlns:t="http://www.onvif.org/ver10/schema"><m:Configurations token="main"><t:RateControl ConstantBitRate="true">
<t:BitrateLimit>2000</t:BitrateLimit></t:RateControl></m:Configurations></m:GetVideoEncoderConfigurationsResponse>"""
# Two events of 60 s in the hour that the log spans: with 30 s after each, the second cut at the end of the log.
LOG = b"start,end\n2026-03-02T08:00:00,2026-03-02T08:01:00\n2026-03-02T08:59:00,2026-03-02T09:00:00\n"


@pytest.fixture
def folder(tmp_path):
    for name, content in {"two.sdp": TWO_STREAMS, "none.sdp": NO_CAP, "constant.xml": CONSTANT, "log.csv": LOG}.items():
        (tmp_path / name).write_bytes(content)
    (tmp_path / "clips").mkdir()
    (tmp_path / "gate.mp4").write_bytes(b"a clip")
    return tmp_path


def footage(**said):
    """Stand in for clips: what a reader of footage would give, without a clip."""
    usual = {"notes": (), "duration_s": 86_400.0, "stored_mbit_s": 0.5, "peak_1s_mbit_s": 1.25}
    usual["hours"] = pd.DataFrame(
        {"seen_s": np.zeros(168), "mean_mbit_s": np.full(168, np.nan)}
    )  # no clip tells its time
    return lambda path, zone=None: SimpleNamespace(**{**usual, **said})


def cameras(*rows: str) -> pd.DataFrame:
    return read_cameras("\n".join([HEADER, *rows]).encode()).rows


def evidence(folder: Path | None, *rows: str) -> Evidence:
    return read_evidence(cameras(*rows), folder)


def faults(folder: Path | None, *rows: str) -> list[str]:
    with pytest.raises(InputError, match="camera ") as caught:
        evidence(folder, *rows)
    return [str(fault) for fault in caught.value.faults]


def told(folder: Path, *rows: str) -> list[str]:
    """Give the warnings of a plan of these cameras."""
    (folder / "cameras.csv").write_text("\n".join([HEADER, *rows]))
    site = read_lists(folder / "cameras.csv", ("cards.csv", CARDS))
    return list(site_plan(replace(site, requirements=EASY)).warnings)


def has(texts: list[str], part: str) -> bool:
    return any(part in text for text in texts)


def test_a_list_without_files_has_no_evidence_and_opens_none(folder):
    read = evidence(None, "gate,1,4,,,,,,,,,,")
    pd.testing.assert_frame_equal(read.rows, no_evidence(cameras("gate,1,4,,,,,,,,,,")))
    assert tuple(read.rows.columns) == (*EVIDENCE_COLUMNS, "week")
    assert (read.notes, read.files) == ((), ())


def test_all_streams_are_summed_and_that_is_told(folder):
    read = evidence(folder, "gate,,,,,,,,,two.sdp,,,")
    assert read.rows["described_cap_mbit_s"].tolist() == [3.5]  # 3 + 0.5
    assert has(list(read.notes), "gate: two.sdp: all streams are taken as recorded, and summed ('main', 'sub')")
    assert read.files == (folder / "two.sdp",)


@pytest.mark.parametrize(("streams", "cap"), [("main", 3.0), ("sub", 0.5), ("sub + main", 3.5), ("main + main", 3.0)])
def test_the_streams_that_are_named_are_summed(folder, streams, cap):
    read = evidence(folder, f"gate,,,,,,,,,two.sdp,{streams},,")
    assert read.rows["described_cap_mbit_s"].tolist() == [cap]
    assert not has(list(read.notes), "all streams")


def test_a_stream_may_have_a_plus_in_its_name(folder):
    (folder / "two.sdp").write_bytes(TWO_STREAMS.replace(b"i=sub", b"i=sub + sound"))
    assert evidence(folder, "gate,,,,,,,,,two.sdp,sub + sound,,").rows["described_cap_mbit_s"].tolist() == [0.5]


def test_a_stream_that_is_not_in_the_file_is_refused_with_those_that_are(folder):
    (fault,) = faults(folder, "gate,,,,,,,,,two.sdp,main + third,,")
    assert fault.startswith("camera 'gate', two.sdp, encoder_streams: found 'third'; allowed: the streams of the file:")
    assert "'main', 'sub'" in fault


def test_one_stream_without_a_cap_leaves_the_sum_unknown(folder):
    (folder / "two.sdp").write_bytes(TWO_STREAMS.replace(b"500000", b"0"))
    read = evidence(folder, "gate,,4,,,,,,,two.sdp,,,")
    assert read.rows["described_cap_mbit_s"].isna().all()
    assert camera_rates(cameras("gate,,4,,,,,,,two.sdp,,,"), read.rows)["peak_basis"][0] == "listed"
    assert has(list(read.notes), "0 is taken as a cap that is not set")


def test_a_camera_of_which_nothing_is_known_is_refused(folder):
    (fault,) = faults(folder, "gate,,,,,,,,,none.sdp,,,")
    assert "camera 'gate', none.sdp: found streams without a cap" in fault
    assert evidence(folder, "gate,1,,,,,,,,none.sdp,,,").rows["described_cap_mbit_s"].isna().all()


def test_a_sum_that_no_card_is_written_with_is_refused(folder):
    (folder / "two.sdp").write_bytes(TWO_STREAMS.replace(b"3000000", b"199900000"))
    (fault,) = faults(folder, "gate,,,,,,,,,two.sdp,,,")
    assert "is 200.4 Mbit/s; must be at most 200 Mbit/s. Fix: Name the streams that are recorded." in fault


def test_a_constant_rate_is_a_described_mean(folder):
    row = "gate,,,,,,,,,constant.xml,,,"
    rates = camera_rates(cameras(row), evidence(folder, row).rows).iloc[0]
    assert (rates["planned_mbit_s"], rates["low_mbit_s"], rates["peak_mbit_s"]) == (2, 2, 2)
    assert rates["rate_basis"] == "mean described, cap described"


def test_a_log_gives_the_recorded_fraction(folder):
    read = evidence(folder, "gate,1,4,motion,,,0,30,,,,log.csv,Europe/Berlin")
    assert read.rows["logged_fraction"].tolist() == pytest.approx([150 / 3600])  # 60 + 30 and 60 of 3600 s
    assert has(list(read.notes), "of the time is recorded by the log")


def test_a_log_of_a_continuous_camera_is_not_opened(folder):
    assert evidence(folder, "gate,1,4,,,,,,,,,absent.csv,").files == ()


def test_events_without_end_are_as_long_as_the_list_says(folder):
    (folder / "log.csv").write_bytes(b"start\n2026-03-02T08:00:00Z\n2026-03-02T09:00:00Z\n")
    read = evidence(folder, "gate,1,4,motion,,36,,,,,,log.csv,")
    assert read.rows["logged_fraction"].tolist() == pytest.approx([72 / 3636])  # two of 36 s, to the end of the last
    (fault,) = faults(folder, "gate,1,4,motion,,,,,,,,log.csv,")
    assert "camera 'gate', log.csv, line 1, column end: found no such column" in fault


def test_a_log_without_offsets_needs_a_zone(folder):
    (fault, *_) = faults(folder, "gate,1,4,motion,,,,,,,,log.csv,")
    assert "camera 'gate', log.csv, line 2, column start" in fault
    assert "offsets on all times of the file, or a zone" in fault


def test_a_log_in_which_nothing_is_recorded_is_refused(folder):
    (folder / "log.csv").write_bytes(
        b"start,end\n2026-03-02T08:00Z,2026-03-02T08:00Z\n2026-03-02T09:00Z,2026-03-02T09:00Z\n"
    )
    assert has(faults(folder, "gate,1,4,motion,,,,,,,,log.csv,"), "a recording longer than 0 s")


def test_footage_is_measured_with_its_zone(folder, monkeypatch):
    asked = []

    def read(path, zone=None):
        asked.append((path, zone))
        return footage(notes=("one clip is short",))(path)

    monkeypatch.setattr(evidence_module, "read_footage", read)
    read = evidence(folder, "gate,,,,,,,,gate.mp4,,,,Europe/Berlin", "yard,,,,,,,,clips,,,,")
    assert (
        read.rows[["measured_mbit_s", "measured_peak_mbit_s", "measured_h"]].to_numpy().tolist()
        == [[0.5, 1.25, 24]] * 2
    )
    assert asked == [(folder / "gate.mp4", "Europe/Berlin"), (folder / "clips", None)]
    assert read.notes == ("gate: one clip is short", "yard: one clip is short")


def test_a_real_clip_is_measured_as_it_lies_on_the_card(folder):
    with av.open(folder / "real.mp4", "w") as container:
        stream = container.add_stream("mpeg4", rate=25)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
        for n in range(75):
            picture = np.full((48, 64, 3), 3 * n, np.uint8)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")))
        container.mux(stream.encode())
    read = evidence(folder, "gate,,4,,,,,,real.mp4,,,,")
    size = (folder / "real.mp4").stat().st_size
    assert read.rows["measured_mbit_s"].tolist() == pytest.approx(
        [8 * size / 3 / 1e6]
    )  # 75 pictures at 25 a second: 3 s
    assert read.rows["measured_h"].tolist() == pytest.approx([3 / 3600])
    assert has(list(read.notes), "gate: 3 s of footage is little")


def test_many_notes_on_footage_are_cut(folder, monkeypatch):
    notes = tuple(f"clip {n} is short" for n in range(9))
    monkeypatch.setattr(evidence_module, "read_footage", footage(notes=notes))
    read = evidence(folder, "gate,,,,,,,,clips,,,,")
    assert len(read.notes) == 6
    assert read.notes[-1] == "gate: and 4 more notes on its footage: see edgestore measure"


@pytest.mark.parametrize("rate", [0.0, 201.0, float("nan")])
def test_a_measured_rate_that_cannot_be_is_refused(folder, monkeypatch, rate):
    monkeypatch.setattr(evidence_module, "read_footage", footage(stored_mbit_s=rate))
    assert has(faults(folder, "gate,,,,,,,,gate.mp4,,,,"), "camera 'gate', gate.mp4: is")


def test_a_file_that_is_no_clip_is_refused_with_its_camera(folder):
    assert has(faults(folder, "gate,,,,,,,,gate.mp4,,,,"), "camera 'gate', ")


def test_a_folder_without_clips_is_refused_with_its_camera(folder):
    assert has(faults(folder, "gate,,,,,,,,clips,,,,"), "camera 'gate', ")


FAULTY = {
    "a missing file": ("gate,,,,,,,,,absent.xml,,,", "encoder_file 'absent.xml': found nothing of that name"),
    "missing footage": (
        "gate,,,,,,,,absent.mp4,,,,",
        "found nothing of that name; allowed: a clip or a folder of clips",
    ),
    "a missing log": ("gate,1,4,motion,,,,,,,,absent.csv,", "event_log 'absent.csv': found nothing of that name"),
    "a folder in place of a file": ("gate,,,,,,,,,clips,,,", "encoder_file 'clips': found a folder; allowed: a file"),
    "a folder in place of a log": (
        "gate,1,4,motion,,,,,,,,clips,",
        "event_log 'clips': found a folder; allowed: a file",
    ),
    "an address": (
        "gate,,,,,,,,rtsp://192.0.2.1/live,,,,",
        "footage: found 'rtsp://192.0.2.1/live'; allowed: a file on",
    ),
    "an address of a file": ("gate,,,,,,,,,file:///etc/hostname,,,", "encoder_file: found 'file:///etc/hostname'"),
    "a share": (
        "gate,,,,,,,,,//192.0.2.1/share/a.xml,,,",
        "a file on this machine. Fix: Copy the file to this machine",
    ),
    "a share with backslashes": (r"gate,,,,,,,,,\\192.0.2.1\share\a.xml,,,", "allowed: a file on this machine"),
    "a name that no file can have": (f"gate,,,,,,,,,{'x' * 5000}.xml,,,", "found nothing of that name"),
    "faulty XML": ("gate,,,,,,,,,broken.xml,,,", "camera 'gate', broken.xml: found malformed XML"),
    "no SDP": ("gate,,,,,,,,,gate.mp4,,,", "camera 'gate', gate.mp4: found 'a clip'; allowed: ONVIF XML, or a session"),
}


@pytest.mark.parametrize(("row", "part"), FAULTY.values(), ids=FAULTY)
def test_a_file_that_cannot_be_used_is_told_with_its_camera(folder, row, part):
    (folder / "broken.xml").write_bytes(CONSTANT[:200])
    (fault,) = faults(folder, row)
    assert fault.startswith("camera 'gate', ")
    assert part in fault


def test_a_missing_file_is_told_with_where_it_was_looked_for(folder):
    (fault,) = faults(folder, "gate,,,,,,,,,encoder/absent.xml,,,")
    assert f"edgestore looked for {folder / 'encoder' / 'absent.xml'}. Put the file there or correct the path" in fault


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_not_opened(folder):
    os.mkfifo(folder / "pipe")
    for row in ("gate,,,,,,,,pipe,,,,", "gate,,,,,,,,,pipe,,,", "gate,1,4,motion,,,,,,,,pipe,UTC"):
        assert has(faults(folder, row), "found no plain file")


def test_faults_of_all_files_of_all_cameras_are_told_together(folder):
    texts = faults(
        folder,
        "gate,,,motion,,,,,absent.mp4,absent.xml,,absent.csv,",
        "yard,1,4,,,,,,,,,,",
        "ramp,,,,,,,,,two.sdp,third,,",
    )
    assert [text.split(":")[0] for text in texts] == [
        "camera 'gate', footage 'absent.mp4'",
        "camera 'gate', encoder_file 'absent.xml'",
        "camera 'gate', event_log 'absent.csv'",
        "camera 'ramp', two.sdp, encoder_streams",
    ]


def test_a_list_without_a_folder_has_no_relative_paths(folder):
    (fault,) = faults(None, "gate,,,,,,,,,two.sdp,,,")
    assert "found 'two.sdp' in a list without a folder" in fault
    assert "Give the path of the list instead of the list itself, or write absolute paths in it." in fault


def test_whole_paths_are_read_from_a_list_without_a_folder(folder):
    read = evidence(None, f"gate,,,,,,,,,{folder / 'two.sdp'},main,,")
    assert read.rows["described_cap_mbit_s"].tolist() == [3.0]


def test_a_list_handed_over_by_the_browser_is_refused_when_it_names_files(folder):
    rows = f"{HEADER}\ngate,,,,,,,,,two.sdp,,,\n"
    with pytest.raises(InputError, match=r"camera 'gate', encoder_file: found 'two\.sdp' in a list"):
        read_lists(("cameras.csv", rows.encode()), ("cards.csv", CARDS))


def test_paths_count_from_the_folder_of_the_list_wherever_one_stands(folder, monkeypatch):
    monkeypatch.chdir(folder.parent)
    (folder / "cameras.csv").write_text(f"{HEADER}\ngate,,,,,,,,,two.sdp,main,,\n")
    site = read_lists(Path(folder.name) / "cameras.csv", ("cards.csv", CARDS))
    assert site.evidence["described_cap_mbit_s"].tolist() == [3.0]
    assert folder / "two.sdp" in site.files
    assert site.cameras["cap_mbit_s"].isna().all()  # the list stays as it is


def test_faults_of_files_and_of_the_card_list_are_told_together(folder):
    (folder / "cameras.csv").write_text(f"{HEADER}\ngate,,,,,,,,,absent.xml,,,\n")
    with pytest.raises(InputError, match=r"absent\.xml") as caught:
        read_lists(folder / "cameras.csv", ("cards.csv", b"card,capacity_gb\n"))
    assert has([str(fault) for fault in caught.value.faults], "cards.csv")


def test_a_measured_mean_goes_before_a_listed_one_and_both_are_told(folder, monkeypatch):
    monkeypatch.setattr(evidence_module, "read_footage", footage())
    row = "gate,1,4,,,,,,gate.mp4,constant.xml,,,"
    rates = camera_rates(cameras(row), evidence(folder, row).rows).iloc[0]
    assert (rates["high_mbit_s"], rates["peak_mbit_s"]) == (2, 2)
    # A day of footage: other days of the week ln 1.3 / 1.28155 x 6 / 7 = 0.1755, other weeks 0.0528, seconds 0.5 x
    # 86 400^-0.2 = 0.0515; 0.1904 together. The list is known to 0.2047: 0.536 of the weight is the footage's.
    assert rates["planned_mbit_s"] == pytest.approx(0.5**0.536, abs=0.001)
    assert rates["rate_basis"] == "mean measured, cap described"
    warnings = told(folder, row)
    assert "gate: mean 1 Mbit/s by the list, 0.5 by the footage; both are weighed, by its length." in warnings
    assert "gate: mean 0.5 Mbit/s, but the encoder is set to 2; the first is used." in warnings
    assert "gate: cap 4 Mbit/s by the list, 2 by the encoder's file; the file is used." in warnings


def test_a_difference_of_a_twentieth_is_no_disagreement(folder):
    near, far = (told(folder, f"gate,,{cap},,,,,,,two.sdp,main,,") for cap in ("2.86", "2.85"))
    assert not has(near, "by the list")  # 3 / 2.86 is 1.049, 3 / 2.85 is 1.053
    assert has(far, "cap 2.9 Mbit/s by the list, 3 by the encoder's file")


def test_a_second_of_footage_above_the_cap_is_the_peak(folder, monkeypatch):
    monkeypatch.setattr(evidence_module, "read_footage", footage(peak_1s_mbit_s=5.0))
    row = "gate,,4,,,,,,gate.mp4,,,,"
    rates = camera_rates(cameras(row), evidence(folder, row).rows).iloc[0]
    assert (rates["peak_mbit_s"], rates["high_mbit_s"]) == (5, 4)
    assert rates["rate_basis"] == "mean measured, peak measured"
    assert has(told(folder, row), "cap 4 Mbit/s, but 5 in a second of the footage; that second is used as the peak")


def test_without_a_cap_the_peak_is_the_highest_second_and_that_is_told(folder, monkeypatch):
    monkeypatch.setattr(evidence_module, "read_footage", footage())
    row = "gate,,,,,,,,gate.mp4,,,,"
    rates = camera_rates(cameras(row), evidence(folder, row).rows).iloc[0]
    assert (rates["planned_mbit_s"], rates["peak_mbit_s"], rates["high_mbit_s"]) == (
        pytest.approx(0.5),
        1.25,
        pytest.approx(0.5 * np.exp(1.28155 * 0.1904), abs=0.001),  # a day of footage, as above
    )
    assert has(told(folder, row), "No cap is known for gate: the peak is taken as the highest second of the footage")


def test_a_mean_above_the_cap_is_told_and_never_cut(folder, monkeypatch):
    monkeypatch.setattr(evidence_module, "read_footage", footage(stored_mbit_s=3.0, peak_1s_mbit_s=float("nan")))
    row = "gate,,2,,,,,,gate.mp4,,,,"
    rates = camera_rates(cameras(row), evidence(folder, row).rows).iloc[0]
    # A cap of 2 says 2 x 0.077^0.5 = 0.555, known to ln(1 / 0.077) / 2.5631 = 1.000; a day of footage tells 3 to
    # 0.1904: 0.965 of the weight is the footage's. The cap does not hold: the mean may be as far above that as below.
    planned = 0.555 * (3 / 0.555) ** 0.965
    assert rates["planned_mbit_s"] == pytest.approx(planned, abs=0.005)
    assert rates["low_mbit_s"] * rates["high_mbit_s"] == pytest.approx(rates["planned_mbit_s"] ** 2)
    assert rates["peak_mbit_s"] == rates["planned_mbit_s"]
    assert has(told(folder, row), "gate: cap 2 Mbit/s, but a mean of 3: find out which is wrong")


def test_less_than_a_day_of_footage_is_told(folder, monkeypatch):
    for length_s, is_told in ((86_399.0, True), (86_400.0, False)):
        monkeypatch.setattr(evidence_module, "read_footage", footage(duration_s=length_s))
        assert has(told(folder, "gate,,4,,,,,,gate.mp4,,,,"), "Less than a day of footage") == is_told


def test_the_log_goes_before_the_listed_events_and_both_are_told(folder):
    row = "gate,1,4,motion,30,60,0,30,,,,log.csv,UTC"
    rates = camera_rates(cameras(row), evidence(folder, row).rows).iloc[0]
    assert rates["recorded_fraction"] == pytest.approx(150 / 3600)
    assert rates["recorded_basis"] == "logged"
    assert rates["rate_basis"] == "mean listed, cap listed, events logged"
    # by the formula 1 - exp(-30 / 3600 x 90) = 0.53; by the log 150 / 3600 = 0.042
    assert "gate: 0.53 of the time is recorded by the list's events, 0.042 by the log; the log is used." in told(
        folder, row
    )


def test_listed_events_are_laid_by_the_formula_where_no_log_is_named(folder):
    rows = cameras("gate,1,4,motion,30,60,0,30,,,,,", "yard,1,4,motion,,,,,,,,log.csv,UTC", "ramp,1,4,,,,,,,,,,")
    rates = camera_rates(rows, read_evidence(rows, folder).rows)
    # 1 - exp(-0.75); 2 x 60 s of 3600 s; all of the time
    np.testing.assert_allclose(rates["recorded_fraction"], [1 - np.exp(-0.75), 120 / 3600, 1])
    assert rates["recorded_basis"].tolist() == ["listed", "logged", "continuous"]


def test_a_file_that_cameras_read_alike_is_read_once(folder, monkeypatch):
    asked = []
    real = evidence_module.read_events
    monkeypatch.setattr(evidence_module, "read_events", lambda *a, **k: asked.append(a) or real(*a, **k))
    rows = [f"gate {n},1,4,motion,,,0,{30 if n else 0},,,,log.csv,UTC" for n in range(5)]
    read = evidence(folder, *rows)
    # 60 and 60 s of the hour without rolls; with 30 s after each, the second cut at the end: 90 + 60 s.
    assert read.rows["logged_fraction"].tolist() == pytest.approx([120 / 3600, *[150 / 3600] * 4])
    assert len(asked) == 2
    assert sum("of the time is recorded by the log" in note for note in read.notes) == 5


def test_a_faulty_file_is_read_once_and_told_for_each_camera(folder, monkeypatch):
    asked, real = [], evidence_module.read_footage
    monkeypatch.setattr(evidence_module, "read_footage", lambda *a: asked.append(a) or real(*a))
    texts = faults(folder, "gate,,,,,,,,gate.mp4,,,,", "yard,,,,,,,,gate.mp4,,,,")
    assert [text.split(",")[0] for text in texts] == ["camera 'gate'", "camera 'yard'"]
    assert len(asked) == 1


def test_progress_counts_the_cameras_that_name_a_file(folder):
    seen = []

    def progress(rows):
        seen.append(len(rows))
        for row in rows:
            seen.append(row["camera"])
            yield row

    read_evidence(cameras("gate,,,,,,,,,two.sdp,,,", "yard,1,4,,,,,,,,,,", "ramp,,,,,,,,,two.sdp,,,"), folder, progress)
    assert seen == [2, "gate", "ramp"]


# A camera that writes 1 Mbit/s by night and 3 by day, 8:00 to 20:00: 2 in the mean.
BY_HOUR = np.tile(np.repeat([1.0, 3.0, 1.0], [8, 12, 4]), 7)
A_WEEK = {
    "hours": pd.DataFrame({"seen_s": np.full(168, 3600.0), "mean_mbit_s": BY_HOUR}),
    "duration_s": 604_800.0,
    "stored_mbit_s": 2.0,
}


def a_plan(folder: Path, rows: list[str], monkeypatch, **asked):
    """Plan cameras of which a week of footage was seen."""
    monkeypatch.setattr(evidence_module, "read_footage", footage(**A_WEEK))
    (folder / "cameras.csv").write_text("\n".join([HEADER, *rows]))
    site = read_lists(folder / "cameras.csv", ("cards.csv", CARDS))
    return site_plan(replace(site, requirements=replace(EASY, **asked)))


def test_the_days_required_are_those_of_the_busiest_stretch_of_the_week(folder, monkeypatch):
    # 36 h with two days of 12 h at 3 and a night of 12 h at 1: 84 in place of 36 x 2 = 72. Whole days are the mean.
    plan = a_plan(folder, ["gate,,4,,,,,,clips,,,,", "mast,2,4,,,,,,,,,,"], monkeypatch, retention_days=1.5)
    assert plan.site.days_to_hold.tolist() == pytest.approx([1.5 * 84 / 72, 1.5])
    days = a_plan(folder, ["gate,,4,,,,,,clips,,,,"], monkeypatch, retention_days=2).site.days_to_hold
    assert days.tolist() == pytest.approx([2])


def test_the_days_allowed_are_those_of_the_quietest_stretch_of_the_week(folder, monkeypatch):
    # 36 h with two nights of 12 h at 1 and a day at 3: 60 in place of 72.
    plan = a_plan(folder, ["gate,,4,,,,,,clips,,,,"], monkeypatch, retention_days_max=1.5)
    assert plan.site.most_days_to_hold.tolist() == pytest.approx([1.5 * 60 / 72])


def test_what_a_card_holds_is_told_for_the_busiest_stretch_of_the_days_required(folder, monkeypatch):
    plan = a_plan(folder, ["gate,,4,,,,,,clips,,,,"], monkeypatch, retention_days=1.5)
    mean_hours = 64 / (0.45 * plan.site.rates["planned_mbit_s"].iloc[0])
    assert plan.candidates["retention_days"].min() * 24 == pytest.approx(mean_hours * 72 / 84)


def test_footage_that_leaves_an_hour_of_the_week_unseen_shows_no_week(folder, monkeypatch):
    hours = A_WEEK["hours"].copy()
    hours.loc[5, "mean_mbit_s"] = np.nan
    monkeypatch.setattr(evidence_module, "read_footage", footage(**{**A_WEEK, "hours": hours}))
    assert evidence(folder, "gate,,4,,,,,,clips,,,,").rows["week"].tolist() == [None]


def test_a_log_of_weeks_shows_its_busy_hours_and_one_of_an_hour_no_week(folder):
    # Four weeks, with ten events of a minute in each hour of Monday and one on the last Sunday at 23:59: 961 events in
    # 672 h. With the law before the log, 1 event in 672 / 961 h, an hour of Monday has 41 / (4 + 672 / 961) = 8.7247
    # events an hour, Sunday 23:00 has 2 / 4.6993 = 0.4256, each other hour 0.2128; recorded is 1 - exp(-events / 60).
    monday = [
        pd.Timestamp("2026-03-02") + pd.Timedelta(weeks=week, hours=hour) for week in range(4) for hour in range(24)
    ]
    starts = [hour + pd.Timedelta(minutes=6 * k) for hour in monday for k in range(10)]
    starts.append(pd.Timestamp("2026-03-29T23:59:00"))
    lines = [f"{start.isoformat()},{(start + pd.Timedelta(minutes=1)).isoformat()}" for start in starts]
    (folder / "weeks.csv").write_text("\n".join(["start,end", *lines]))
    rows = ["gate,2,4,motion,,,,,,,,log.csv,UTC", "mast,2,4,motion,,,,,,,,weeks.csv,UTC"]
    of_an_hour, of_weeks = evidence(folder, *rows).rows["week"]
    assert of_an_hour is None
    by_hour = 1 - np.exp(-np.repeat([8.7247, 0.2128, 0.4256], [24, 143, 1]) / 60)
    assert np.asarray(of_weeks.by_hour) == pytest.approx(by_hour, rel=1e-3)
