"""What people type is read as they mean it, or refused in words that name the range and the unit; never clamped."""

import re
from pathlib import Path

import pytest

from edgestore import InputError
from edgestore.panels import hold as holds
from edgestore.panels import life as lasts
from edgestore.panels import site
from edgestore.panels.frame import LAST_GOOD, Frame
from edgestore.panels.typed import number_text, typed_folder, typed_number, typed_path


def read(text):
    return typed_number(text, "Wanted", "days", 0.5, 90)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("7.5", 7.5),
        ("7,5", 7.5),
        (" 7 ", 7),
        ("+7", 7),
        ("7.", 7),
        (".5", 0.5),
        ("0,5", 0.5),
        ("0,500", 0.5),  # no thousands begin with 0
        ("7e0", 7),
        ("0.5", 0.5),
        ("90", 90),
        ("7 days", 7),
        ("7,5 Days", 7.5),
        ("7days", 7),
    ],
)
def test_a_number_is_read_with_a_decimal_point_or_a_decimal_comma_and_with_its_unit_or_without(text, number):
    assert read(text) == number


@pytest.mark.parametrize("text", ["17 520", "17\u00a0520", "17\u202f520", "17520", "1.752e4"])
def test_thousands_may_be_set_apart_by_blanks(text):
    assert typed_number(text, "Recorder fails every", "hours", 500, 100_000) == 17_520


@pytest.mark.parametrize("text", ["95", "0,4", "0", "-7", "1e9", "1e999", "9" * 5000])
def test_a_number_out_of_range_is_refused_with_the_range_and_the_unit(text):
    with pytest.raises(InputError, match=re.escape("a number from 0.5 to 90 days")) as refused:
        read(text)
    assert "Wanted" in str(refused.value)
    assert len(str(refused.value)) < 300


@pytest.mark.parametrize(
    "text", ["", " ", ".", ",", "e5", "seven", "7 hours", "days", "nan", "inf", "7,5,1", "1_0", "\u0667", "7\x00"]
)
def test_what_is_not_a_number_is_refused_with_the_range_and_the_unit(text):
    with pytest.raises(InputError, match=re.escape("a number from 0.5 to 90 days")):
        read(text)


@pytest.mark.parametrize("text", ["1,024", "1,000,000"])
def test_a_comma_that_may_mean_thousands_is_refused_and_asked_about(text):
    with pytest.raises(InputError, match="a comma may mean thousands"):
        typed_number(text, "Footage lost", "currency units", 0, 5000)


@pytest.mark.parametrize(("number", "text"), [(7.0, "7"), (0.44, "0.44"), (100_000.0, "100000"), (1e-5, "0.00001")])
def test_a_number_is_written_with_all_its_digits_and_no_exponent(number, text):
    assert number_text(number) == text


def test_a_tilde_is_the_home_folder(monkeypatch, tmp_path):
    monkeypatch.setenv("HOME", str(tmp_path))
    assert typed_folder("~/plans", "Save to folder") == tmp_path / "plans"
    assert typed_path("~/cameras.csv", "Camera list") == str(tmp_path / "cameras.csv")
    with pytest.raises(InputError, match="write the full path of the folder"):
        typed_path("~nobody-of-this-name/x", "Camera list")


@pytest.mark.parametrize("text", ["", "  "])
def test_an_empty_save_folder_is_refused(text):
    with pytest.raises(InputError, match="an empty box"):
        typed_folder(text, "Save to folder")


@pytest.mark.parametrize("text", ["a\x00b", "a\nb", "\ud800"])
def test_a_path_with_a_control_character_is_refused(text):
    with pytest.raises(InputError, match="with a control character"):
        typed_path(text, "Camera list")


# In a panel


def box(control):
    return control.row.children[0]


def shown(frame):
    return frame.sentence.value, bytes(frame.picture.value), frame.picture.layout.visibility, frame.table.value


def told_beside(control):
    return control.row.children[-1].value


def test_a_decimal_comma_typed_into_a_panel_is_the_number_and_moves_the_slider():
    frame = Frame(holds.PANEL)
    box(frame.controls["wanted_days"]).value = "7,5"
    assert frame.controls["wanted_days"].value == 7.5
    assert frame.controls["wanted_days"].row.children[1].value == 7.5
    assert frame.result is not None


@pytest.mark.parametrize("text", ["1e9", "0", "seven", "", "7\x00"])
def test_a_refused_number_is_told_beside_its_box_and_the_last_good_answer_stays_marked_as_that(text, tmp_path):
    frame = Frame(holds.PANEL)
    control, other = frame.controls["wanted_days"], frame.controls["capacity_gb"]
    frame.folder.value = str(tmp_path / "out")
    answer = shown(frame)
    box(control).value = text
    assert "Not used: Wanted" in told_beside(control)
    assert "0.5 to 90 days" in told_beside(control)
    assert "Not used" not in told_beside(other)
    assert told_beside(control).count('role="alert"') == 1  # announced once,
    assert "alert" not in frame.refusal.value  # and not by what stands above the answer too
    assert "Not used: Wanted. What you see is the answer for the last good settings." in frame.refusal.value
    assert LAST_GOOD in frame._dom_classes
    assert shown(frame) == answer
    assert box(control).value == text  # what was typed stays, to be mended
    assert frame.result is None
    assert frame.save.disabled
    frame.save.click()
    assert not (tmp_path / "out").exists()
    control.value = 7
    assert "Not used" not in told_beside(control)
    assert frame.refusal.value == ""
    assert LAST_GOOD not in frame._dom_classes
    assert shown(frame) == answer


def test_the_slider_replaces_a_number_that_was_refused():
    frame = Frame(holds.PANEL)
    control = frame.controls["wanted_days"]
    box(control).value = "seven"
    control.row.children[1].value = 8
    assert control.value == 8
    assert frame.result is not None


def test_a_refused_number_in_a_row_that_is_hidden_does_not_stand_in_the_way():
    frame = Frame(lasts.PANEL)
    box(frame.controls["pe_cycles"]).value = "many"
    assert frame.result is None
    frame.controls["endurance_kind"].value = "terabytes written"
    assert frame.result is not None


def test_two_refused_inputs_are_told_together(of_two_cameras):
    frame = Frame(of_two_cameras(site.PANEL))
    box(frame.controls["life_years"]).value = "1e9"
    frame.controls["cameras"].value = "cameras\x00.csv"
    assert "Not used: Camera list; Wanted life." in frame.refusal.value
    assert "Not used: Wanted life" in told_beside(frame.controls["life_years"])
    assert "control character" in told_beside(frame.controls["cameras"])


def test_a_path_with_a_tilde_is_planned(monkeypatch, tmp_path, of_two_cameras):
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "cameras.csv").write_text("camera,cap_mbit_s\ngate,2\n")
    frame = Frame(of_two_cameras(site.PANEL))
    frame.controls["cameras"].value = "~/cameras.csv"
    assert frame.result.plan["camera"].tolist() == ["gate"]


def test_a_save_folder_with_a_tilde_is_in_the_home_folder(monkeypatch, tmp_path):
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    frame = Frame(holds.PANEL)
    frame.folder.value = "~/plans"
    frame.save.click()
    assert list((tmp_path / "home" / "plans").iterdir())
    assert not Path("~").exists()


@pytest.mark.parametrize("text", ["", " ", "a\x00b"])
def test_nothing_is_saved_where_no_folder_is_named(text, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    frame = Frame(holds.PANEL)
    frame.folder.value = text
    frame.save.click()
    assert "Save to folder" in frame.saved.value
    assert 'role="alert"' in frame.saved.value
    assert list(tmp_path.iterdir()) == []
