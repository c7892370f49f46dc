"""The panel of the site reads its lists and the files that they name again when one of them changes, and only then."""

import os
from dataclasses import replace

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


def beside(frame, name):
    return frame.controls[name].row.children[-1].value


def shown(files):
    """Open the panel with the lists of a folder."""
    own = {name: str(files / f"{name}.csv") for name in ("cameras", "cards")}
    inputs = (replace(one, default=own[one.name]) if one.name in own else one for one in site.PANEL.inputs)
    return Frame(replace(site.PANEL, inputs=tuple(inputs), beside=None))  # the second picture shows nothing of this


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
    before = site.state_of([files / "clips"])
    (files / "clips" / "new.mp4").write_bytes(b"clip")
    assert site.state_of([files / "clips"]) != before


def test_a_file_that_has_gone_is_told_at_the_next_move(files):
    frame = shown(files)
    (files / "gate.sdp").unlink()
    frame.controls["life_years"].value = 4
    assert "edgestore looked for" in beside(frame, "cameras")
    assert frame.result is None


def test_the_table_shows_the_basis_and_what_the_cap_would_ask_for(files):
    frame = shown(files)
    assert "mean assumed, cap described" in frame.table.value
    assert "no mean is known: days and life are computed at the cap" in frame.table.value


def test_settings_and_kinds_of_card_change_the_plan_and_the_settings_are_read_again_when_they_change(files):
    (files / "cameras.csv").write_text("camera,cap_mbit_s,group\ngate,2,quay\nyard,2,\n")
    (files / "cards.csv").write_text(
        "card,capacity_gb,speed_class,endurance_tbw,price\nlarge,512,V30,4000,50\nmiddle,256,V30,4000,30\n"
    )
    (files / "site.toml").write_text("[groups.quay]\nretention_days = 20\n")
    frame = shown(files)
    assert frame.result.plan["card"].tolist() == ["middle", "middle"]  # 2 Mbit/s: 256 GB hold 11.9 days
    frame.controls["settings"].value = str(files / "site.toml")
    assert frame.result.plan["card"].tolist() == ["large", "middle"]
    frame.controls["kinds"].value = "site"
    assert frame.result.plan["card"].tolist() == ["large", "large"]
    frame.controls["kinds"].value = "2"
    assert frame.result.plan["card"].tolist() == ["large", "middle"]
    change(files / "site.toml", "[costs]\nvisit_price = 60\nvisit_with_lift_price = 260\n")
    frame.controls["life_years"].value = 5
    assert frame.result.plan["card"].tolist() == ["middle", "middle"]
    assert "currency units in 10 years" in frame.sentence.value


def test_settings_that_cannot_be_used_are_told(files):
    (files / "site.toml").write_text("[cost]\nvisit_price = 60\n")
    frame = shown(files)
    frame.controls["settings"].value = str(files / "site.toml")
    assert "Is it costs?" in beside(frame, "settings")
    assert frame.result is None


def test_what_is_saved_has_the_front_of_kinds(files):
    frame = shown(files)
    saved = frame.panel.files(frame.result, [frame._figure])
    assert set(saved) == {
        "plan.csv",
        "candidates.csv",
        "beliefs.csv",
        "untested_card.csv",
        "all_together.csv",
        "measure_first.csv",
        "camera_side.csv",
        "kinds.csv",
        "spares.csv",
        "visits.csv",
        *("spares_in_service.csv", "replacements.csv", "calendar.csv"),  # of the demo's service log
        "which_card_for_each_camera.png",
        "which_card_for_each_camera.svg",
    }


def test_no_table_of_an_earlier_answer_stays_beside_the_new_ones(files, tmp_path):
    (files / "log.csv").write_text("camera,card,fitted,removed,why\ngate,large,2025-01-01,,\n")
    (files / "site.toml").write_text('[service]\nlog = "log.csv"\nas_of = 2026-01-01\n')
    frame = shown(files)
    frame.folder.value = str(tmp_path / "out")
    frame.controls["settings"].value = str(files / "site.toml")
    frame.save.click()
    assert (tmp_path / "out" / "calendar.csv").exists()
    assert (tmp_path / "out" / "replacements.csv").exists()
    frame.controls["settings"].value = ""
    frame.save.click()
    assert {path.name for path in (tmp_path / "out").glob("*.csv")} == {
        "plan.csv",
        "candidates.csv",
        "beliefs.csv",
        "untested_card.csv",
        "all_together.csv",
        "measure_first.csv",
        "camera_side.csv",
        "kinds.csv",
        "spares.csv",
        "visits.csv",
    }


def test_a_saved_table_that_somebody_changed_is_not_overwritten(files, tmp_path):
    frame = shown(files)
    frame.folder.value = str(tmp_path / "out")
    frame.save.click()
    (tmp_path / "out" / "plan.csv").write_text("mine")
    frame.save.click()
    assert "a file that was changed after it was written" in frame.saved.value
    assert (tmp_path / "out" / "plan.csv").read_text() == "mine"
