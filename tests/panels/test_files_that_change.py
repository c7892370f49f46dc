"""The panel of the site reads its lists and the files that they name again when one of them changes, and only then."""

import os

import pytest

from edgestore.panels import site
from edgestore.panels.frame import Frame

SDP = "v=0\ns=-\nm=video 0 RTP/AVP 96\nb=TIAS:{}\n"
LATER_NS = 2_000_000_000


@pytest.fixture
def files(tmp_path):
    (tmp_path / "cameras.csv").write_text("camera,encoder_file\ngate,gate.sdp\n")
    (tmp_path / "cards.csv").write_text("card,capacity_gb,speed_class,endurance_tbw\nlarge,512,V30,4000\n")
    (tmp_path / "gate.sdp").write_text(SDP.format(4_000_000))
    return tmp_path


def change(path, text):
    """Write a file so that it is seen to be a later one, however fast the test is."""
    later = path.stat().st_mtime_ns + LATER_NS
    path.write_text(text)
    os.utime(path, ns=(later, later))


def shown(files):
    frame = Frame(site.PANEL)
    frame.controls["cameras"].value = str(files / "cameras.csv")
    frame.controls["cards"].value = str(files / "cards.csv")
    return frame


def planned(frame):
    return frame.result.plan["planned_mbit_s"].tolist()


def test_a_file_that_changed_is_read_at_the_next_move(files):
    frame = shown(files)
    assert planned(frame) == [4]
    change(files / "gate.sdp", SDP.format(2_000_000))
    frame.controls["life_years"].value = 4
    assert planned(frame) == [2]


def test_files_that_did_not_change_are_read_once(files, monkeypatch):
    frame = shown(files)

    def not_again(*_):
        raise AssertionError("read again")

    monkeypatch.setattr(site, "read_lists", not_again)
    for years in (4, 5, 6):
        frame.controls["life_years"].value = years
    assert planned(frame) == [4]


def test_a_clip_added_to_a_folder_is_a_change(files):
    (files / "clips").mkdir()
    before = site._state([files / "clips"])
    (files / "clips" / "new.mp4").write_bytes(b"clip")
    assert site._state([files / "clips"]) != before


def test_a_file_that_has_gone_is_told_at_the_next_move(files):
    frame = shown(files)
    (files / "gate.sdp").unlink()
    frame.controls["life_years"].value = 4
    assert "Looked for" in frame.sentence.value
    assert frame.result is None


def test_the_table_shows_the_basis_and_what_the_cap_would_ask_for(files):
    frame = shown(files)
    assert "mean assumed, cap described" in frame.table.value
    assert "no mean is known: planned at the cap" in frame.table.value
