"""A trainer with a projector and a learner with a keyboard, in a real browser."""

import json
import re

import pytest
from playwright.sync_api import expect

from edgestore.drawings.parts import HIGH, PANE_INCH, WIDE, WORDS_PT
from edgestore.training.lessons.screens import lessons
from tests.browser.test_accessibility import AXE, GRAVE, RULES

pytestmark = pytest.mark.browser

TRAINER, LEARNER, NOTES = "trainer_lesson.ipynb", "learner_exercises.ipynb", "trainer_notes.ipynb"
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


@pytest.fixture(autouse=True)
def _off_the_full_screen(opened):
    """Leave the full screen after a test, so that a failure stays one."""
    yield
    if opened.page.locator(".edgestore-presenting").count():
        opened.page.keyboard.press("Escape")


def at(page, place):
    """Wait until the lesson is at a place: lesson, screen, and whether its answer is shown."""
    expect(page.locator(".edgestore-screen [data-at]")).to_have_attribute("data-at", place)


def go_to(page, place):
    """Go to a page of a lesson, as the page itself does after it was loaded again."""
    box = page.locator(".edgestore-at input")
    box.evaluate("(box, to) => { box.value = to; box.dispatchEvent(new Event('change', {bubbles: true})) }", place)
    at(page, place)


def present(page):
    page.get_by_role("button", name="Full screen").press("Enter")
    page.locator(".edgestore-presenting").wait_for()


def places():
    """Give each page of all lessons in the order of Page Down."""
    for lesson in lessons():
        for page in lesson.pages:
            yield f"{lesson.key} {page.number}{' answer' if page.is_answered else ''}"


def answer_of(key, title):
    """Give the place where an idea is answered."""
    pages = [page for lesson in lessons() if lesson.key == key for page in lesson.pages]
    (number,) = {page.number for page in pages if page.screen and page.screen.title == title}
    return f"{key} {number} answer"


UPKEEP_LOG, FIND_THE_SLOT = answer_of("upkeep", "Keep a log"), answer_of("fit", "Find the slot")


@trainer
def test_a_lesson_is_taken_by_keyboard_alone_with_a_question_its_answer_and_a_slider(opened):
    page = ready(opened)
    lesson = next(lesson for lesson in lessons() if lesson.key == "setup")
    go_to(page, "setup 1")
    present(page)
    screen = page.locator(".edgestore-screen")
    for number, idea in enumerate(lesson.screens, start=2):
        page.keyboard.press("PageDown")
        at(page, f"setup {number}")
        expect(screen).to_contain_text(idea.question)
        expect(screen).not_to_contain_text(idea.text)
        assert page.locator(".edgestore-gauge").count() == 0
        page.keyboard.press("PageDown")
        at(page, f"setup {number} answer")
        expect(screen).to_contain_text(idea.text)
        if idea.visual.slider:
            told = page.locator(".edgestore-gauge .edgestore-big, .edgestore-gauge .edgestore-measure")
            before = told.all_inner_texts()
            press_until(page, "Tab", ".edgestore-gauge .noUi-handle")
            at_end = page.evaluate("document.activeElement.ariaValueNow === document.activeElement.ariaValueMax")
            for _ in range(4):  # what is told is rounded
                page.keyboard.press("ArrowLeft" if at_end else "ArrowRight")
                page.wait_for_timeout(300)
                if told.all_inner_texts() != before:
                    break
            assert told.all_inner_texts() != before, idea.title
    page.keyboard.press("PageUp")  # from the slider
    at(page, f"setup {len(lesson.screens) + 1}")
    page.keyboard.press("Escape")
    expect(page.locator(".edgestore-presenting")).to_have_count(0)


@trainer
def test_page_down_and_up_turn_the_pages_from_the_lists_a_slider_and_a_text_box(opened):
    page = ready(opened)
    choice = page.get_by_label("Lesson", exact=True)
    go_to(page, "hours 1")
    choice.press("PageDown")
    at(page, "hours 2")
    page.get_by_label("Screen", exact=True).press("PageDown")
    at(page, "hours 2 answer")
    slider = page.locator(".edgestore-gauge .noUi-handle")
    slider.press("PageDown")
    at(page, "hours 3")
    page.get_by_label("Learners, one a line").press("PageDown")
    at(page, "hours 3 answer")
    page.locator(".edgestore-gauge .noUi-handle").press("PageUp")
    at(page, "hours 3")
    choice.press("PageUp")
    at(page, "hours 2 answer")
    assert choice.evaluate("(list) => list.selectedIndex") == 1


@trainer
def test_a_number_and_enter_jump_b_and_a_full_stop_make_it_black_and_a_page_key_ends_that(opened):
    page = ready(opened)
    go_to(page, "evidence 1")
    present(page)
    for key in "12":
        page.keyboard.press(key)
    page.keyboard.press("Enter")
    at(page, f"evidence {min(12, next(one.count for one in lessons() if one.key == 'evidence'))}")
    page.keyboard.press("3")
    page.keyboard.press("Enter")
    at(page, "evidence 3")
    black = "getComputedStyle(document.querySelector('.edgestore-presenting')).filter === 'brightness(0)'"
    for key in ("b", "."):
        page.keyboard.press(key)
        assert page.evaluate(black)
        page.keyboard.press(key)
        assert not page.evaluate(black)
    page.keyboard.press("b")
    page.keyboard.press("PageDown")
    at(page, "evidence 3 answer")
    assert not page.evaluate(black)
    page.keyboard.press("Escape")


LETTERS = """() => [...document.querySelectorAll(".edgestore-slide *")].filter((one) => one.offsetParent !== null
    && [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim()))
  .map((one) => [parseFloat(getComputedStyle(one).fontSize) / innerHeight,
    one.closest(".edgestore-label, figcaption, caption, th, td") ? "labels" : "body"])"""
DRAWN = """() => [...document.querySelectorAll(".edgestore-slide img")].map((one) => one.getBoundingClientRect())
  .map((box) => Math.min(box.height, box.width * HIGH / WIDE) / innerHeight)"""
"""Height of each drawing as a share of the picture's; the words in it are ``WORDS_IN_A_PANE`` of that."""
WORDS_IN_A_PANE = WORDS_PT / (PANE_INCH * HIGH / WIDE * 72)
ROOM = "(one) => [one.scrollHeight - one.clientHeight, one.scrollWidth - one.clientWidth]"


@trainer
def test_on_the_full_screen_letters_are_a_25th_of_the_height_labels_a_40th_and_each_page_fits(opened):
    page = ready(opened)
    least, drawn = {}, DRAWN.replace("HIGH", str(HIGH)).replace("WIDE", str(WIDE))
    go_to(page, "records 1")
    present(page)
    shown = page.locator(".edgestore-presenting")
    others = "[...document.querySelectorAll('.edgestore-lesson > *')].filter((one) => one.offsetParent !== null).length"
    for place in places():
        at(page, place)
        for width, height in ((1920, 1080), (1280, 800)):
            page.set_viewport_size({"width": width, "height": height})
            for size, kind in page.evaluate(LETTERS):
                least[width, kind] = min(size, least.get((width, kind), 1))
            for high in page.evaluate(drawn):
                least[width, "drawn"] = min(high * WORDS_IN_A_PANE, least.get((width, "drawn"), 1))
            assert max(shown.evaluate(ROOM)) <= 0, (place, width)
            assert page.evaluate(others) == 1, place  # nothing but the slide
        page.keyboard.press("PageDown")
    page.keyboard.press("Escape")
    page.set_viewport_size({"width": 1280, "height": 900})
    for (width, kind), size in sorted(least.items()):
        print(f"{width} px wide: {kind} at least 1/{1 / size:.1f} of the height")
        assert size >= (1 / 25 if kind == "body" else 1 / 40), (width, kind)
    assert len(least) == 6


@trainer
def test_axe_has_no_grave_finding_on_questions_answers_and_the_full_screen(opened):
    page = ready(opened)
    page.evaluate(AXE)
    for place in ("setup 2", "setup 2 answer", UPKEEP_LOG, FIND_THE_SLOT):
        go_to(page, place)
        present(page)
        page.wait_for_function("!document.querySelector('img:not([alt])')")
        found = page.evaluate(RULES)["violations"]
        assert [rule["nodes"][0]["html"][:200] for rule in found if rule["impact"] in GRAVE] == [], place
        page.keyboard.press("Escape")


@trainer
def test_page_up_on_the_first_screen_and_page_down_on_the_last_move_no_list_and_no_slider(opened):
    page = ready(opened)
    choice = page.get_by_label("Lesson", exact=True)
    for index, key in ((0, "PageUp"), (len(lessons()) - 1, "PageDown")):
        go_to(page, f"{lessons()[index].key} {lessons()[index].count if index else 1}")
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
        assert not re.search(r"(?<![\d:])33\.9", held)  # messages tell when they were sent, as 13:06:33.974987
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


@trainer
def test_the_place_is_kept_over_a_reload(opened):
    page = ready(opened)
    go_to(page, "hours 4 answer")
    page.reload()
    ready(opened)
    at(page, "hours 4 answer")
    expect(page.locator(".edgestore-gauge")).to_contain_text("0.45")
    page.wait_for_timeout(2000)
    # A page that is left asks for the end of its kernel, which Voila refuses; the kernel is culled later.
    opened.errors[:] = [error for error in opened.errors if "403" not in error]


@trainer
def test_the_notes_on_a_second_page_follow_the_lesson(opened):
    page = ready(opened)
    go_to(page, "evidence 2")
    notes = page.context.new_page()
    notes.goto(page.url.replace(TRAINER, NOTES))
    now = notes.locator(".edgestore-now")
    expect(now).to_have_attribute("id", "edgestore-note-evidence-2")  # where the lesson is when the notes are opened
    for key, place, note in (
        ("PageDown", "evidence 2 answer", "evidence-2"),
        ("PageDown", "evidence 3", "evidence-3"),
        ("PageUp", "evidence 2 answer", "evidence-2"),
        ("PageUp", "evidence 2", "evidence-2"),
        ("PageUp", "evidence 1", "evidence-1"),
    ):
        page.keyboard.press(key)
        at(page, place)
        expect(now).to_have_attribute("id", f"edgestore-note-{note}")
        assert now.count() == 1
        expect(now).to_be_in_viewport()
    notes.close()


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
        for place in (FIND_THE_SLOT, UPKEEP_LOG, "setup 2 answer"):
            go_to(page, place)
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
            present(page)
            assert page.locator(".edgestore-presenting").evaluate(ROOM)[1] <= 0
            page.keyboard.press("Escape")
    page.set_viewport_size({"width": 1280, "height": 900})


@both
def test_no_outside_host_was_asked_and_no_error_logged(opened):
    ready(opened)
    assert opened.outside_requests + opened.errors == []
