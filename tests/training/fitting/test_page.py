"""The page on fitting a card, its controls set as a reader sets them."""

from datetime import date, timedelta
from html import unescape

import pytest

from edgestore.inputs.service_log import read_service_log
from edgestore.training.fitting.commissioning import CHECKS
from edgestore.training.fitting.guide import SLOTS, TYPICAL, WORKS, drawings
from edgestore.training.fitting.page import NO_CARD, CheckPage, GuidePage


def filled(log):
    page = CheckPage()
    page.log_file.value = str(log)
    fill(page, "Quay", "A-1")
    return page


def fill(page, camera, serial):
    page.camera.value, page.card.value, page.serial.value = camera, "plain", serial
    for box in page.checks.values():
        box.value = True


def test_the_rule_comes_before_the_steps_and_each_caution_beside_its_step():
    page = GuidePage()
    page.slot.value = "slide-in"
    assert page.children.index(page.above_all) < page.children.index(page.step)
    assert TYPICAL.replace("'", "&#x27;") in page.above_all.value
    for _, step in page.guide.steps:
        assert page.step.value.count("Warning: ") == len(step.cautions)
        assert all(caution.text.replace("'", "&#x27;") in page.step.value for caution in step.warnings)
        assert "Warning" not in page.above_all.value
        page.onward.click()


def test_the_buttons_walk_through_all_steps_and_no_further():
    page = GuidePage()
    page.slot.value = "slide-in"
    total = len(page.guide.steps)
    assert page.back.disabled
    shown = 0
    for at in range(total):
        assert f"Step {at + 1} of {total}." in page.step.value
        shown += "<img" in page.pictures.value
        page.onward.click()
    assert f"Step {total} of {total}." in page.step.value
    assert page.onward.disabled
    assert shown == sum(bool(drawings(page.guide, step)) for _, step in page.guide.steps) > 6
    page.back.click()
    assert f"Step {total - 1} of {total}." in page.step.value


def test_a_choice_changes_the_guide_and_starts_anew():
    page = GuidePage()
    page.onward.click()
    page.housing.value, page.slot.value, page.facing.value = "bullet", "slide-in", "down"
    assert page.guide.title == "Bullet with a base flap, slide-in slot that faces down"
    assert "Step 1 of" in page.step.value


def test_who_does_not_know_the_slot_is_asked_at_the_slot_and_goes_on_there_with_one_slot_alone():
    page = GuidePage()
    before = [step.text for _, step in page.guide.steps if not step.slot]
    shown = []
    while "Which slot is it?" not in page.step.value:
        assert "up to the slot" in page.step.value
        shown.append(page.step.value)
        page.onward.click()
    assert "If the slot is" not in "".join(shown)
    assert before[len(shown) - 1] in unescape(shown[-1])
    assert page.onward.disabled
    assert page.pictures.value.count("<img") == len(SLOTS)
    assert all(f"{at}. {word}</figcaption>" in page.pictures.value for at, word in enumerate(SLOTS, 1))
    page.back.click()
    assert page.step.value == shown[-1]
    page.onward.click()
    page.slot.value = "slide-in"
    total = len(page.guide.steps)
    assert f"Step {len(shown) + 1} of {total}." in page.step.value
    while not page.onward.disabled:
        assert page.guide.steps[page.at][1].slot in ("", "slide-in")
        page.onward.click()
    assert f"Step {total} of {total}." in page.step.value


def test_the_slot_is_asked_with_buttons_in_the_step_and_nowhere_else():
    page = GuidePage()
    assert (page.kinds.layout.display, page.step.layout.display) == ("none", None)
    while "Which slot is it?" not in page.step.value:
        page.onward.click()
    assert page.kinds.layout.display == "flex"
    assert page.children.index(page.step) < page.children.index(page.kinds) < page.children.index(page.pictures)
    reached = page.at
    page.kinds.children[list(SLOTS).index("push-to-lock")].click()
    assert (page.slot.value, page.at, page.kinds.layout.display) == ("push-to-lock", reached, "none")


def test_arrow_keys_that_pass_a_slot_on_the_way_to_another_do_not_lead_back_to_step_1():
    page = GuidePage()
    while "Which slot is it?" not in page.step.value:
        page.onward.click()
    reached = page.at
    for word in SLOTS:  # an arrow key on a list sets each entry that it passes
        page.slot.value = word
        assert f"Step {reached + 1} of" in page.step.value


def test_who_corrects_the_slot_later_goes_on_where_the_slots_part():
    page = GuidePage()
    page.slot.value = "slide-in"
    while not page.onward.disabled:
        page.onward.click()
    page.slot.value = "push-to-lock"
    assert page.guide.steps[page.at][1].slot == "push-to-lock"
    assert page.guide.steps[page.at - 1][1].slot == ""


def test_the_work_chosen_gives_its_own_way_through():
    page = GuidePage()
    page.slot.value = "push-to-lock"
    ways = {}
    for work in WORKS:
        page.work.value = work
        ways[work] = [step.text for _, step in page.guide.steps]
    assert page.guide.work == "remove"
    assert [any("the old card" in text for text in way) for way in ways.values()] == [False, True, True]


def test_every_picture_has_an_alt_text():
    page = GuidePage()
    page.slot.value = "hinged metal latch"
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
    fill(page, "Quay", "A-2")
    before = log.read_bytes()
    page.enter.click()
    assert "a card in service since" in page.entered.value
    assert log.read_bytes() == before
    page.why.value = "planned"
    page.enter.click()
    assert read_service_log(log, date.today()).rows["why"].tolist() == ["planned", ""]


def test_after_an_entry_nothing_of_that_card_is_left_to_be_entered_again(tmp_path):
    log = tmp_path / "log.csv"
    page = filled(log)
    page.enter.click()
    assert not any(box.value for box in page.checks.values())
    assert (page.camera.value, page.serial.value, page.why.value) == ("", "", NO_CARD)
    before = log.read_bytes()
    page.camera.value = "Yard"
    page.enter.click()
    assert page.entered.value.count("found not ticked") == len(CHECKS)
    assert log.read_bytes() == before


def test_what_was_typed_stays_when_the_entry_is_refused(tmp_path):
    page = filled(tmp_path / "log.csv")
    page.day.value = "tomorrow"
    page.enter.click()
    assert all(box.value for box in page.checks.values())
    assert (page.camera.value, page.serial.value) == ("Quay", "A-1")


def test_the_same_card_under_another_camera_is_refused_and_told_where_it_is(tmp_path):
    log = tmp_path / "log.csv"
    page = filled(log)
    page.enter.click()
    before = log.read_bytes()
    fill(page, "Quay 2", "a-1")
    page.enter.click()
    assert "in service in camera &#x27;Quay&#x27; since" in page.entered.value
    assert log.read_bytes() == before


@pytest.mark.parametrize("day", ["", "25.11.2026", "2026-02-30", "tomorrow"])
def test_a_day_that_is_none_is_told(tmp_path, day):
    page = filled(tmp_path / "log.csv")
    page.day.value = day
    page.enter.click()
    assert "a date as 2026-03-15" in page.entered.value
    assert not (tmp_path / "log.csv").exists()


def test_a_log_below_the_home_folder_is_found_by_its_short_name(tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    page = filled("~/log.csv")
    page.enter.click()
    assert (tmp_path / "log.csv").is_file()


@pytest.mark.parametrize(("log", "told"), [(" ", "an empty box"), ("a\x00b", "a control character")])
def test_a_log_that_has_no_path_is_refused_and_nothing_is_written(log, told, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    page = filled(log)
    page.enter.click()
    assert told in page.entered.value
    assert not list(tmp_path.iterdir())


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
