"""The panel that compares two plans: other settings, other cards, other days; what is saved is what the plan writes."""

from dataclasses import replace

import pytest

from edgestore.panels import what_if
from edgestore.panels.frame import Frame

NAME = "what_changes_with_other_settings"
ALERT = 'role="alert"'
OTHER = "[requirements]\nretention_days = 30\n[costs]\nvisit_price = 60\nvisit_with_lift_price = 200\n"


@pytest.fixture(scope="module")
def frame(tmp_path_factory, of_two_cameras):
    """Open the panel with two cameras, of which the other settings ask 30 days."""
    file = tmp_path_factory.mktemp("other") / "other.toml"
    file.write_text(OTHER)
    panel = of_two_cameras(what_if.PANEL)
    own = [replace(one, default=str(file)) if one.name == "other" else one for one in panel.inputs]
    return Frame(replace(panel, inputs=tuple(own)))


@pytest.fixture
def other(frame):
    """Give the control of the other file, which is put back."""
    control = frame.controls["other"]
    was = control.value
    yield control
    control.value = was


def test_the_whole_site_stands_first_and_then_the_cameras_that_change(frame):
    table = frame.result.table
    assert table["camera"].tolist() == sorted(table["camera"], key=lambda name: (name != "whole site", name))
    assert table.iloc[-1]["camera"] == "Quay"
    files = set(frame.panel.files(frame.result, [frame._figure]))
    assert files == {"compared.csv", "camera_side.csv", f"{NAME}.png", f"{NAME}.svg"}


def test_days_of_the_slider_go_before_those_of_the_other_settings(frame):
    days = frame.controls["retention_days"]
    told = {}
    for value in (0, 4, 10):
        days.value = value
        told[value] = frame.sentence.value
    days.value = 0
    assert "0 cameras of 2 change card" in told[4]  # as many as the first settings ask
    assert len(set(told.values())) == 3
    assert frame.sentence.value == told[0]


def test_another_card_list_is_compared_and_no_other_file_changes_nothing(frame, other, tmp_path):
    other.value = ""
    assert "0 cameras of 2 change card; the cost stays" in frame.sentence.value
    cards = tmp_path / "large.csv"
    cards.write_text("card,capacity_gb,speed_class,endurance_tbw,price\nlarge,512,V30,1000,90\n")
    other.value = str(cards)
    assert "2 cameras of 2 change card" in frame.sentence.value


def test_a_fault_of_the_other_file_is_told_as_such(frame, other, tmp_path):
    other.value = str(tmp_path / "missing.toml")
    assert ALERT in other.row.children[-1].value
    assert "the other plan" in other.row.children[-1].value
    assert frame.result is None


def test_the_picture_says_in_words_what_it_shows(frame):
    assert frame._figure.alt_text().endswith(frame.result.sentence)


def test_the_table_of_the_cameras_set_otherwise_is_shown_with_what_is_seen_less_and_the_comparison_stays(frame):
    before, shown = frame.sentence.value, frame.controls["shown"]
    compared = frame.panel.files(frame.result, ())["compared.csv"]
    shown.value = what_if.TABLES[1]
    table = frame.result.table
    assert {"Camera", "Setting", "Card now", "Card then", "Saves in 10 years, currency units"} < set(table)
    assert set(table["Camera"]) <= {"Gate", "Quay"}
    assert table["Image quality given up"].str.len().min() > 20
    assert frame.result.sentence.startswith(frame.result.plans.sentence)
    assert frame.panel.files(frame.result, ())["compared.csv"] == compared
    shown.value = what_if.TABLES[0]
    assert frame.sentence.value == before


def test_a_moved_slider_plans_the_other_site_alone_and_reads_no_file_again(frame, monkeypatch):
    planned, read = [], []
    plan, read_other = what_if.site_plan, what_if.read_other
    monkeypatch.setattr(what_if, "site_plan", lambda *site, **how: planned.append(site) or plan(*site, **how))
    monkeypatch.setattr(what_if, "read_other", lambda *of: read.append(of) or read_other(*of))
    monkeypatch.setattr(what_if.site, "site_plan", None)
    for days in (5, 6, 0):
        frame.controls["retention_days"].value = days
    assert frame.result is not None
    assert (len(planned), read) == (3, [])


def test_other_settings_that_are_written_anew_are_read_again(frame, other, tmp_path):
    file = tmp_path / "other.toml"
    file.write_text(OTHER)
    other.value = str(file)
    before = frame.sentence.value
    file.write_text(OTHER.replace("30", "4") + "spare_fraction = 0.0\n")
    frame.controls["retention_days"].value = 1
    frame.controls["retention_days"].value = 0
    assert frame.sentence.value != before
