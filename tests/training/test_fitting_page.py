"""The page on fitting a card, its controls set as a reader sets them."""

from datetime import date, timedelta

import pytest

from edgestore.inputs.service_log import read_service_log
from edgestore.training.commissioning import CHECKS
from edgestore.training.fitting import TYPICAL
from edgestore.training.fitting_page import CheckPage, GuidePage


def filled(log):
    page = CheckPage()
    page.camera.value, page.card.value, page.serial.value = "Quay", "plain", "A-1"
    page.log_file.value = str(log)
    for box in page.checks.values():
        box.value = True
    return page


def test_the_cautions_come_before_the_steps_with_the_rule():
    page = GuidePage()
    assert page.children.index(page.cautions) < page.children.index(page.step)
    assert TYPICAL.replace("'", "&#x27;") in page.cautions.value


def test_the_buttons_walk_through_all_steps_and_no_further():
    page = GuidePage()
    total = len(page.guide.steps)
    assert page.back.disabled
    shown = 0
    for at in range(total):
        assert f"Step {at + 1} of {total}." in page.step.value
        shown += "<img" in page.pictures.value
        page.onward.click()
    assert f"Step {total} of {total}." in page.step.value
    assert page.onward.disabled
    assert shown == 6
    page.back.click()
    assert f"Step {total - 1} of {total}." in page.step.value


def test_a_choice_changes_the_guide_and_starts_anew():
    page = GuidePage()
    page.onward.click()
    page.housing.value, page.slot.value, page.facing.value = "bullet", "slide-in", "down"
    assert page.guide.title == "Bullet with a base flap, slide-in slot that faces down"
    assert "Step 1 of" in page.step.value


def test_every_picture_has_an_alt_text():
    page = GuidePage()
    for _ in page.guide.steps:
        assert page.pictures.value.count("<img") == page.pictures.value.count('alt="')
        page.onward.click()


def test_hand_outs_are_saved_or_the_reason_is_told(tmp_path):
    page = GuidePage()
    page.folder.value = str(tmp_path / "saved")
    page.save.click()
    assert 'role="status"' in page.saved.value
    assert (tmp_path / "saved" / "fitting_guide.html").is_file()
    (tmp_path / "file").write_text("")
    page.folder.value = str(tmp_path / "file")
    page.save.click()
    assert 'role="alert"' in page.saved.value


def test_a_card_that_passed_all_checks_is_entered(tmp_path):
    page = filled(tmp_path / "log.csv")
    page.enter.click()
    assert 'role="status"' in page.entered.value
    row = read_service_log(tmp_path / "log.csv", date.today()).rows.iloc[0]
    assert (row["camera"], row["card"], row["serial"]) == ("Quay", "plain", "A-1")


def test_the_same_camera_twice_needs_a_reason(tmp_path):
    log = tmp_path / "log.csv"
    page = filled(log)
    page.day.value = (date.today() - timedelta(days=9)).isoformat()
    page.enter.click()
    page.day.value = date.today().isoformat()
    before = log.read_bytes()
    page.enter.click()
    assert "a card in service since" in page.entered.value
    assert log.read_bytes() == before
    page.why.value = "planned"
    page.enter.click()
    assert read_service_log(log, date.today()).rows["why"].tolist() == ["planned", ""]


@pytest.mark.parametrize("day", ["", "25.11.2026", "2026-02-30", "tomorrow"])
def test_a_day_that_is_none_is_told(tmp_path, day):
    page = filled(tmp_path / "log.csv")
    page.day.value = day
    page.enter.click()
    assert "a date as 2026-03-15" in page.entered.value
    assert not (tmp_path / "log.csv").exists()


def test_an_open_check_is_told_and_nothing_is_written(tmp_path):
    page = filled(tmp_path / "log.csv")
    page.checks[CHECKS[4].key].value = False
    page.enter.click()
    assert f"{CHECKS[4].title}: found not ticked" in page.entered.value
    assert not (tmp_path / "log.csv").exists()


def test_what_was_typed_is_shown_as_text(tmp_path):
    page = filled(tmp_path / "log.csv")
    page.camera.value = "=<img src=x>"
    page.enter.click()
    assert "<img" not in page.entered.value
    assert "&lt;img" in page.entered.value
