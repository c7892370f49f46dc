"""A trainer with a projector and a learner with a keyboard, in a real browser."""

import json
import re

import pytest
from playwright.sync_api import expect

from edgestore.training.lessons.screens import lessons

pytestmark = pytest.mark.browser

TRAINER, LEARNER = "trainer_lesson.ipynb", "learner_exercises.ipynb"
ROOTS = {TRAINER: ".edgestore-lesson", LEARNER: ".edgestore-exercises"}

# Robin's first exercise is pinned in tests/training/test_exercises.py: 33.9 hours; out by a factor of 8, 4.2.
NAME, RIGHT, OUT_BY_8 = "Robin", "33,9", "4.2"

NAMELESS = """() => [...document.querySelectorAll("#rendered_cells :is(input, select, textarea, button, .noUi-handle)")]
  .filter((control) => control.offsetParent !== null)
  .filter((control) => !(control.labels?.length && [...control.labels].some((label) => label.textContent.trim()))
    && !control.getAttribute("aria-label") && !(control.tagName === "BUTTON" && control.textContent.trim()))
  .map((control) => control.outerHTML)"""

both = pytest.mark.parametrize("opened", [TRAINER, LEARNER], indirect=True)
trainer = pytest.mark.parametrize("opened", [TRAINER], indirect=True)
learner = pytest.mark.parametrize("opened", [LEARNER], indirect=True)


def ready(opened):
    opened.page.locator(ROOTS[opened.notebook.name]).wait_for()
    return opened.page


def press_until(page, key, selector):
    """Press a key until the focus is on an element: what a hand on the keyboard does."""
    for _ in range(60):
        if page.evaluate("(selector) => document.activeElement.matches(selector)", selector):
            return
        page.keyboard.press(key)
    pytest.fail(f"{key} never leads to {selector}")


@trainer
def test_all_lessons_are_run_by_keyboard_alone_with_a_slider_moved_in_each_that_has_one(opened):
    page = ready(opened)
    screen, place = page.locator(".edgestore-screen"), page.locator(".edgestore-lesson")
    for lesson in lessons():
        for number in range(1, lesson.count + 1):
            expect(place).to_contain_text(f"Screen {number} of {lesson.count}")
            if 1 < number < len(lesson.screens) + 2:
                expect(screen).to_contain_text(lesson.screens[number - 2].text)
            if number == 2 and lesson.panel:
                answer = page.locator(".edgestore-lesson .edgestore-answer")
                before = answer.inner_text()
                press_until(page, "Tab", ".edgestore-lesson .noUi-handle")
                at_end = page.evaluate("document.activeElement.ariaValueNow === document.activeElement.ariaValueMax")
                for _ in range(10):  # the answer is rounded, so that one step need not change it
                    page.keyboard.press("ArrowLeft" if at_end else "ArrowRight")
                    page.wait_for_timeout(300)
                    if answer.inner_text() != before:
                        break
                expect(answer).not_to_have_text(before)
                press_until(page, "Shift+Tab", ".edgestore-next")
            page.keyboard.press("PageDown")
    expect(page.locator("button.edgestore-next")).to_be_disabled()
    page.keyboard.press("PageUp")
    expect(place).to_contain_text(f"Screen {lessons()[-1].count - 1} of")
    expect(screen).to_have_attribute("role", "status")


@trainer
def test_page_down_and_up_turn_the_screens_from_the_lesson_list_a_slider_and_a_text_box(opened):
    page = ready(opened)
    lesson, choice = page.locator(".edgestore-lesson"), page.get_by_label("Lesson")
    choice.select_option(index=1)
    expect(page.locator(".edgestore-screen")).to_contain_text("work out how long")
    slider = page.locator(".edgestore-lesson .noUi-handle").first
    value = slider.get_attribute("aria-valuenow")
    for box, at in ((choice, 1), (slider, 2), (page.get_by_label("Learners, one a line"), 3)):
        box.press("PageDown")
        expect(lesson).to_contain_text(f"Screen {at + 1} of")
    for box, at in ((slider, 3), (choice, 2)):
        box.press("PageUp")
        expect(lesson).to_contain_text(f"Screen {at} of")
    assert choice.evaluate("(list) => list.selectedIndex") == 1
    assert slider.get_attribute("aria-valuenow") == value


@trainer
def test_page_up_on_the_first_screen_and_page_down_on_the_last_move_no_list_and_no_slider(opened):
    page = ready(opened)
    choice = page.get_by_label("Lesson")
    for index, key in ((0, "PageUp"), (len(lessons()) - 1, "PageDown")):
        choice.select_option(index=index)
        expect(page.locator(".edgestore-lesson")).to_contain_text("Screen 1 of")
        for _ in range(lessons()[index].count - 1 if index else 0):
            page.keyboard.press("PageDown")
        expect(page.locator(f"button.edgestore-{'next' if index else 'back'}")).to_be_disabled()
        choice.press(key)
        page.wait_for_timeout(300)
        assert choice.evaluate("(list) => list.selectedIndex") == index


@trainer
def test_large_type_and_the_key_is_nowhere_on_the_trainers_page(opened, tmp_path):
    page = ready(opened)
    size = page.locator(".edgestore-screen p").first.evaluate("(text) => parseFloat(getComputedStyle(text).fontSize)")
    assert size >= 28
    page.get_by_label("Learners, one a line").fill(f"{NAME}\nAna")
    page.get_by_label("Save to folder").fill(str(tmp_path))
    page.get_by_role("button", name="Save class sheet").press("Enter")
    expect(page.locator(".edgestore-class")).to_contain_text("Saved")
    assert "33.9" in (tmp_path / "answer_key.csv").read_text()
    assert "33.9" not in page.content()


@learner
def test_exercises_are_done_by_keyboard_and_marks_outlive_the_kernel(opened, tmp_path):
    page = ready(opened)
    marks = tmp_path / "marks.jsonl"

    def begin():
        ready(opened)
        page.get_by_label("Marks are kept in").fill(str(marks))
        page.get_by_label("Marks are kept in").press("Tab")
        page.get_by_label("Your name").focus()
        page.keyboard.type(NAME)
        page.keyboard.press("Tab")
        expect(page.locator(".edgestore-question")).to_contain_text("Number")
        page.get_by_label("Exercise").select_option(label="Hours that a card holds")
        expect(page.locator(".edgestore-question")).to_contain_text("How many hours")
        # The question is not the last that is sent: what is typed before the answer's box is emptied would be lost.
        page.wait_for_function("window.jupyterapp.widgetManager.kernel.status === 'idle'")

    begin()
    question, verdict = page.locator(".edgestore-question"), page.locator(".edgestore-verdict")
    page.get_by_label("Your answer").focus()
    page.keyboard.type("many")
    page.keyboard.press("Enter")
    expect(verdict).to_contain_text("cannot read")
    assert not marks.exists()
    page.keyboard.press("Control+A")
    page.keyboard.type(OUT_BY_8)
    page.keyboard.press("Enter")
    expect(verdict).to_contain_text("factor of 8")
    for held in (page.content(), *opened.messages):
        assert "33.9" not in held
        assert "1.89 GB" not in held  # 4.2 x 0.45, a step on the way
    page.keyboard.press("Control+A")
    page.keyboard.type(RIGHT)
    page.keyboard.press("Enter")
    expect(verdict).to_contain_text("Right: 33.9 hours")
    page.keyboard.press("Enter")
    expect(question).to_contain_text("Number 2")
    assert any("factor of 8" in message for message in opened.messages)  # the messages are indeed seen

    page.reload()  # a new page, a new kernel
    begin()
    expect(question).to_contain_text("Number 2")
    expect(page.locator(".edgestore-progress")).to_contain_text("Right so far: 1")
    verdicts = [json.loads(line)["verdict"] for line in marks.read_text().splitlines()[1:]]
    assert verdicts == ["mistake", "right"]
    # A page that is left asks for the end of its kernel, which Voila refuses; the kernel is culled later.
    opened.errors[:] = [error for error in opened.errors if "403" not in error]


@learner
def test_page_down_goes_on_and_hint_and_show_are_reached_by_tab(opened, tmp_path):
    page = ready(opened)
    page.get_by_label("Marks are kept in").fill(str(tmp_path / "marks.jsonl"))
    page.get_by_label("Your name").fill("Ana")
    page.get_by_label("Your name").press("Enter")
    expect(page.locator(".edgestore-question")).to_contain_text("Number 1")
    page.get_by_label("Exercise").select_option(label="GB and GiB")
    expect(page.get_by_label("Your answer")).to_have_attribute("inputmode", "decimal")
    page.get_by_label("Calculator").fill("2 + 3 × 4")
    page.get_by_label("Calculator").press("Enter")
    expect(page.locator(".edgestore-exercises")).to_contain_text("= 14")
    page.get_by_label("Exercise").select_option(label="Choose a card")
    expect(page.get_by_label("Your answer")).to_have_attribute("inputmode", "text")
    expect(page.locator(".edgestore-question")).to_contain_text("credits")
    page.get_by_role("button", name="Hint").press("Enter")
    expect(page.locator(".edgestore-exercises")).to_contain_text("Three questions for each card")
    page.get_by_label("Your answer").fill("F")
    page.get_by_label("Your answer").press("Enter")
    expect(page.locator(".edgestore-verdict")).to_contain_text("A to E")
    for letter in "ABCDE":
        page.get_by_label("Your answer").fill(letter)
        page.get_by_label("Your answer").press("Enter")
        expect(page.locator(".edgestore-verdict")).to_contain_text(re.compile(rf"^(Not {letter}\.|✓ Right)"))
        if page.locator(".edgestore-verdict").inner_text().startswith("✓"):
            break
    expect(page.locator("button.edgestore-next")).to_be_enabled()
    page.keyboard.press("PageDown")
    expect(page.locator(".edgestore-question")).to_contain_text("Number 2")


@both
def test_every_control_has_a_label(opened):
    page = ready(opened)
    assert page.evaluate(NAMELESS) == []


@both
def test_a_narrow_screen_needs_no_scrolling_sideways_when_the_page_is_live(opened):
    page = ready(opened)
    page.set_viewport_size({"width": 390, "height": 844})
    page.wait_for_timeout(500)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    if opened.notebook.name == TRAINER:
        page.get_by_label("Lesson").select_option(index=7)
        for _ in range(6):
            page.locator("button.edgestore-next").press("Enter")
            page.wait_for_timeout(200)
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.set_viewport_size({"width": 1280, "height": 900})


@both
def test_no_outside_host_was_asked_and_no_error_logged(opened):
    ready(opened)
    assert opened.outside_requests + opened.errors == []
