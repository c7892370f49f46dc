"""Controls start from the settings file, and what is set otherwise is named wherever the answer goes."""

import csv
import io
import os
from dataclasses import replace

import pytest
from openpyxl import load_workbook

from edgestore.documents import pack as packs
from edgestore.panels import proposal, site
from edgestore.panels.frame import Frame
from edgestore.panels.proposal import proposal_panel
from edgestore.panels.site import SETTINGS as DEMO_SETTINGS
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan

ASKED = "[requirements]\nretention_days = 3\nretention_days_max = 5\n"
"""From the issue: these became 7 days and no limit."""


OF_THE_DEMO = replace(site.PANEL, beside=None)  # whose second picture shows nothing of this


@pytest.fixture
def settings(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(ASKED)
    return path


@pytest.fixture
def frame(settings, of_two_cameras):
    frame = Frame(of_two_cameras(site.PANEL))
    frame.controls["settings"].value = str(settings)
    return frame


def numbers(frame):
    return {name: frame.controls[name].value for name in site._stated("")}


def rewrite(path, text):
    later = path.stat().st_mtime_ns + 2_000_000_000
    path.write_text(text)
    os.utime(path, ns=(later, later))


def test_the_controls_start_from_the_file_and_the_plan_is_the_one_of_the_file(frame, settings):
    assert numbers(frame) == {
        "retention_days": 3,
        "life_years": 3,
        "speed_margin": 10,
        "retention_days_max": 5,
        "assurance": 90,
    }
    lists = read_lists(frame.controls["cameras"].value, frame.controls["cards"].value, settings)
    assert frame.result.plan.equals(site_plan(lists).plan)
    assert frame.result.site.override == ""
    assert "Set otherwise" not in frame.remarks.value


def test_a_control_that_overrules_a_number_that_the_file_does_not_state_says_so_and_who_keeps_another(frame, tmp_path):
    cameras, path = tmp_path / "cameras.csv", tmp_path / "groups" / "site.toml"
    path.parent.mkdir()
    cameras.write_text("camera,mean_mbit_s,group\nGate,2,\nQuay,4,quay\n")
    path.write_text("[requirements]\nretention_days = 3\n[groups.quay]\nassurance = 0.6\n")
    frame.controls["cameras"].value = str(cameras)
    frame.controls["settings"].value = str(path)
    frame.controls["assurance"].value = 95
    told = frame.result.warnings
    assert told[0] == (
        "Set otherwise than in site.toml: assurance 95\N{NO-BREAK SPACE}% (the file states none:"
        " 90\N{NO-BREAK SPACE}% by default)."
    )
    assert told[1] == "With their own assurance: group quay 60\N{NO-BREAK SPACE}%."


def test_without_a_file_the_controls_are_back_at_their_own_start_and_nothing_is_overridden(frame):
    frame.controls["settings"].value = ""
    assert numbers(frame) == {
        "retention_days": 7,
        "life_years": 3,
        "speed_margin": 10,
        "retention_days_max": 0,
        "assurance": 90,
    }
    frame.controls["retention_days"].value = 12
    assert frame.result.site.override == ""


def test_a_control_that_is_moved_is_named_in_the_remarks_and_in_every_file_saved(settings, tmp_path):
    frame = Frame(OF_THE_DEMO)  # of which every table has rows
    frame.controls["settings"].value = str(settings)
    frame.controls["retention_days"].value = 4.5
    told = "Set otherwise than in site.toml: retention wanted 4.5 days (the file: 3 days)."
    assert told in frame.remarks.value
    assert frame.result.warnings[0] == told
    frame.folder.value = str(tmp_path / "out")
    frame.save.click()
    saved = {path.name: path.read_text() for path in (tmp_path / "out").glob("*.csv")}
    names = {"plan", "candidates", "beliefs", "untested_card", "all_together", "measure_first", "camera_side", "kinds"}
    names |= {"spares", "visits"}
    assert set(saved) == {f"{name}.csv" for name in names}
    for text in saved.values():
        assert {row["override"] for row in csv.DictReader(io.StringIO(text))} == {told}


def test_a_limit_taken_away_is_named_and_setting_it_back_ends_the_override(frame):
    frame.controls["retention_days_max"].value = 0
    assert "most retention allowed no limit (the file: 5 days)" in frame.remarks.value
    frame.controls["retention_days_max"].value = 5
    assert "Set otherwise" not in frame.remarks.value


def test_the_assurance_starts_from_the_file_in_percent_and_is_the_same_chance_again(frame, tmp_path):
    for told, percent in (("0.5", 50), ("0.57", 57), ("0.923", 92.3), ("0.99", 99)):
        (tmp_path / f"{told}.toml").write_text(f"[requirements]\nassurance = {told}\n")
        frame.controls["settings"].value = str(tmp_path / f"{told}.toml")
        assert frame.controls["assurance"].value == percent
        assert set(frame.result.site.wanted["assurance"]) == {float(told)}
        assert frame.result.site.override == ""


def test_moving_the_assurance_moves_cards_cost_and_counts_and_is_named():
    frame = Frame(OF_THE_DEMO)
    frame.controls["settings"].value = DEMO_SETTINGS
    before = frame.result.plan
    frame.controls["assurance"].value = 60
    less = frame.result.plan
    assert (
        "assurance 60\N{NO-BREAK SPACE}% (the file states none: 90\N{NO-BREAK SPACE}% by default)"
        in frame.remarks.value
    )
    assert frame.result.site.override == frame.result.warnings[0]
    both = before["meets"] & less["meets"]
    assert (less.loc[both, "cost"] <= before.loc[both, "cost"]).all()  # a promise that is less strict costs no more
    assert less["cost"].sum() < before["cost"].sum()
    assert list(less["card"]) != list(before["card"])
    frame.controls["assurance"].value = 96
    more = frame.result.plan
    assert (
        (more["state"] == "assured").sum() < (before["state"] == "assured").sum() <= (less["state"] == "assured").sum()
    )
    assert (more["state"] == "doubtful").sum() > 0
    assert "doubtful" in frame.sentence.value
    frame.controls["assurance"].value = 90
    assert frame.result.plan.equals(before)
    assert "Set otherwise" not in frame.remarks.value


def test_an_assurance_beyond_what_can_be_asked_is_refused_and_the_control_ends_there(frame, settings):
    assert "50 to 99 %" in frame.controls["assurance"].row.children[-1].value.replace("\N{NO-BREAK SPACE}", " ")
    rewrite(settings, "[requirements]\nassurance = 90\n")
    frame.controls["life_years"].value = 4
    assert "assurance" in frame.controls["settings"].row.children[-1].value
    assert frame.result is None


def test_a_file_handed_over_by_the_browser_starts_the_controls_too():
    assert site._stated(("mine.toml", ASKED.encode()))["retention_days"] == 3


def test_a_number_of_the_file_beyond_the_slider_is_kept_and_widens_it(settings, of_two_cameras):
    settings.write_text("[requirements]\nretention_days = 120.25\n")
    frame = Frame(of_two_cameras(site.PANEL))
    frame.controls["settings"].value = str(settings)
    assert frame.controls["retention_days"].value == 120.25
    assert frame.result.site.wanted["retention_days"].max() == 120.25
    assert "0.5 to 120.25 days" in frame.controls["retention_days"].row.children[-1].value


def test_a_file_that_changes_moves_the_controls_that_nobody_moved(frame, settings):
    frame.controls["retention_days"].value = 4
    rewrite(settings, "[requirements]\nretention_days = 6\nlife_years = 2\n")
    frame.controls["speed_margin"].value = 9
    assert numbers(frame) == {
        "retention_days": 4,
        "life_years": 2,
        "speed_margin": 9,
        "retention_days_max": 0,
        "assurance": 90,
    }
    assert (
        "retention wanted 4 days (the file: 6 days), speed margin wanted 9 (the file states none: 10 by default)"
        in frame.remarks.value
    )


def test_another_file_starts_all_controls_anew(frame, tmp_path):
    frame.controls["retention_days"].value = 4
    (tmp_path / "other.toml").write_text("[requirements]\nlife_years = 5\n")
    frame.controls["settings"].value = str(tmp_path / "other.toml")
    assert numbers(frame) == {
        "retention_days": 7,
        "life_years": 5,
        "speed_margin": 10,
        "retention_days_max": 0,
        "assurance": 90,
    }


def test_a_file_that_cannot_be_used_is_told_and_moves_nothing(frame, settings):
    rewrite(settings, "[requirements]\nretention_days = -3\n")
    frame.controls["life_years"].value = 4
    assert "retention_days" in frame.controls["settings"].row.children[-1].value
    assert frame.result is None
    assert frame.controls["retention_days"].value == 3


def test_the_proposal_starts_from_its_settings_and_shows_the_cost_of_the_page(of_two_cameras, monkeypatch):
    monkeypatch.setattr(proposal, "PANEL", of_two_cameras(proposal.PANEL))
    panel = proposal_panel()
    lists = read_lists(*(panel.controls[name].value for name in ("cameras", "cards", "settings")))
    assert panel.result.sentence == site_plan(lists).sentence
    assert panel.controls["retention_days"].value == 4  # of the settings
    assert "Set otherwise" not in panel.document.value


def test_an_override_is_named_in_the_panel_and_in_every_file_of_the_pack(of_two_cameras, monkeypatch):
    monkeypatch.setattr(proposal, "PANEL", of_two_cameras(proposal.PANEL))
    monkeypatch.setattr(packs, "pdf", str.encode)  # the printed document is the page, printed in tests/documents
    panel = proposal_panel()
    panel.controls["retention_days"].value = 5
    told = "Set otherwise than in site.toml: retention wanted 5 days (the file: 4 days)."
    assert told in panel.remarks.value
    made = panel._pack().files
    html = made["proposal.html"].decode()
    assert html.count(told) == 2  # in the summary, and among all warnings
    assert told in made["plan.csv"].decode()
    assert "Set otherwise than in site.toml" in made["visits.ics"].decode().replace("\r\n ", "")
    sheets = load_workbook(io.BytesIO(made["plan.xlsx"]))
    assert any(told == cell for sheet in sheets for row in sheet.iter_rows(values_only=True) for cell in row)
