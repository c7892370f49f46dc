"""What the controls stand at: undone, reset, copied as a line, and put back from one."""

from itertools import count
from pathlib import Path

import pytest

from edgestore import InputError
from edgestore.panels import hold, site
from edgestore.panels.frame import Frame
from edgestore.panels.state import History, settings_of, settings_text

DEFAULTS = (
    "capacity_gb=64&cap_mbit_s=4&scene=unknown&mean_over_cap=0.44&recorded_fraction=1&usable_fraction=1&wanted_days=7"
)


@pytest.fixture
def frame():
    return Frame(hold.PANEL)


def at(value):
    return {"a": (value, None), "b": ("0", None)}


def test_a_slider_that_is_dragged_is_one_change():
    history = History(at("1"))
    for value, second in (("2", 10.0), ("3", 10.4), ("4", 11.2)):
        history.note(at(value), second)
    assert history.undo() == at("1")
    assert not history.can_undo


def test_two_changes_with_a_pause_between_are_undone_one_by_one():
    history = History(at("1"))
    history.note(at("2"), 10.0)
    history.note(at("3"), 11.5)
    assert history.undo() == at("2")
    assert history.undo() == at("1")


def test_changes_of_two_controls_are_two_however_soon_they_follow():
    history = History(at("1"))
    history.note(at("2"), 10.0)
    history.note({**at("2"), "b": ("9", None)}, 10.1)
    assert history.undo() == at("2")


def test_undo_takes_the_last_change_back_and_reset_all(frame):
    answer = frame.sentence.value
    assert frame.steps.undo.disabled
    assert frame.steps.reset.disabled
    frame.controls["capacity_gb"].value = 128
    after_one = frame.sentence.value
    frame.controls["scene"].value = "busy"
    frame.steps.undo.click()
    assert frame.controls["scene"].value == "unknown"
    assert frame.sentence.value == after_one
    frame.controls["wanted_days"].value = 3
    frame.steps.reset.click()
    assert (frame.controls["capacity_gb"].value, frame.controls["wanted_days"].value) == (64, 7)
    assert frame.sentence.value == answer
    assert frame.steps.reset.disabled
    frame.steps.undo.click()  # of the reset
    assert frame.controls["capacity_gb"].value == 128


def test_a_refused_number_can_be_undone(frame):
    frame.controls["wanted_days"].row.children[0].value = "1e9"
    assert frame.result is None
    frame.steps.undo.click()
    assert frame.controls["wanted_days"].value == 7
    assert frame.result is not None


def test_undo_of_other_settings_brings_back_what_was_moved_before(of_two_cameras, tmp_path):
    other = tmp_path / "other.toml"
    other.write_text("[requirements]\nretention_days = 20\n")
    frame = Frame(of_two_cameras(site.PANEL))
    frame.controls["life_years"].value = 2
    started = frame.controls["settings"].value
    frame.controls["settings"].value = str(other)
    assert (frame.controls["retention_days"].value, frame.controls["life_years"].value) == (20, 3)
    frame.steps.undo.click()
    assert frame.controls["settings"].value == started
    assert frame.controls["life_years"].value == 2


def test_an_undo_goes_back_past_all_that_was_refused_to_the_last_accepted_state(frame, monkeypatch):
    seconds = count(step=10)
    monkeypatch.setattr("edgestore.panels.frame.time.monotonic", lambda: next(seconds))
    frame.controls["wanted_days"].value = 9
    answer = frame.sentence.value
    box = frame.controls["wanted_days"].row.children[0]
    for refused in ("1e9", "seven"):
        box.value = refused
    assert frame.result is None
    frame.steps.undo.click()
    assert (box.value, frame.refusal.value, frame.sentence.value) == ("9", "", answer)
    box.value = "seven"
    box.value = "8"  # put right: an undo goes back before the mistake
    frame.steps.undo.click()
    assert box.value == "9"


def test_the_line_holds_every_setting_and_put_back_it_gives_the_same_answer(frame):
    assert frame.settings.box.value == DEFAULTS
    frame.controls["capacity_gb"].value = 256
    frame.controls["scene"].value = "busy"
    line, answer = frame.settings.box.value, frame.sentence.value
    other = Frame(hold.PANEL)
    other.settings.box.value = f"http://127.0.0.1:1/voila/render/page.ipynb?token=x&{line}"  # as a whole address
    assert other.sentence.value == answer
    assert other.settings.box.value == line
    other.steps.undo.click()  # a pasted line is one change
    assert other.settings.box.value == DEFAULTS


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("capacity_gb", "name=value"),
        ("capacity_gb=1e9", "8 to 1024 GB"),
        ("scene=lively", "busy"),
        ("size=3", "not a setting of this panel"),
    ],
)
def test_a_line_that_does_not_fit_is_refused_in_words_and_changes_nothing(frame, line, told):
    answer = frame.sentence.value
    frame.settings.box.value = f"wanted_days=3&{line}"
    assert "Not used" in frame.settings.told.value
    assert told in frame.settings.told.value.replace("\N{NO-BREAK SPACE}", " ")
    assert frame.settings.box.value == f"wanted_days=3&{line}"  # to be put right
    assert frame.sentence.value == answer
    frame.settings.box.value = "wanted_days=3"
    assert frame.controls["wanted_days"].value == 3
    assert "Not used" not in frame.settings.told.value


def test_all_that_does_not_fit_in_a_line_is_told_together(frame):
    with pytest.raises(InputError) as refused:
        settings_of(frame.controls, "size=3&capacity_gb=x&wanted_days=7,5")
    assert len(refused.value.faults) == 2


def test_while_an_input_is_refused_there_is_no_line(frame):
    frame.controls["wanted_days"].row.children[0].value = "x"
    assert frame.settings.box.value == ""


def test_files_of_this_computer_stay_out_of_the_line_unless_they_were_typed(of_two_cameras):
    frame = Frame(of_two_cameras(site.PANEL))
    assert "cameras" not in frame.settings.box.value
    values = {"cameras": "mine & yours.csv", "cards": ("handed.csv", b"")}
    assert settings_text(frame.controls, values) == "cameras=mine%20%26%20yours.csv"
    assert Path(settings_of(frame.controls, "cameras=mine%20%26%20yours.csv")["cameras"]).name == "mine & yours.csv"
