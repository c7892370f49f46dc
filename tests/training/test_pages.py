"""The pages without a browser: what a press does, what is kept, and what is not there to be found."""

import json
import re
from pathlib import Path

import ipywidgets as widgets
import pytest

from edgestore.training.exercises.class_page import ClassPage
from edgestore.training.exercises.codes import HandedIn, Tried, result_code
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.marks import read_marks
from edgestore.training.exercises.page import ExercisesPage
from edgestore.training.fitting.cautions import RULE
from edgestore.training.lessons.page import LessonPage
from edgestore.training.lessons.screens import lessons, words

PAGES = Path(__file__).parents[2] / "notebooks"
ROBIN = 412322  # pinned in test_exercises.py


@pytest.fixture
def file(tmp_path):
    return tmp_path / "marks.jsonl"


@pytest.fixture
def page(file):
    page = ExercisesPage(file)
    page.name.value = "Robin"
    page.kind.value = "hours_held"
    return page


def answer(page, text):
    page.reply.value = text
    page.check.click()


def state_of(widget):
    """Give all that a page holds of a widget and of those in it, as text."""
    own = {name: value for name, value in widget.get_state().items() if not isinstance(value, list | bytes)}
    inner = widget.children if isinstance(widget, widgets.Box) else ()
    text = json.dumps(own, default=str, ensure_ascii=False) + "".join(map(state_of, inner))
    return re.sub("IPY_MODEL_[0-9a-f]+", "", text)  # a random name, which may hold any figure


@pytest.mark.parametrize("kind", KINDS)
def test_the_page_holds_no_answer_no_step_and_no_mistake_before_they_are_earned(page, kind):
    page.kind.value = kind
    asked = exercise(kind, ROBIN)
    answer(page, "0" if asked.unit != "letter" else "?")
    state = state_of(page)
    assert asked.question[-20:] in state
    for hidden in (*asked.steps, *asked.mistakes.values()):
        assert hidden not in state
    if asked.unit != "letter":
        assert not any(f"{answer} " in state or f'{answer}"' in state for answer in [asked.answer])


def test_without_a_name_nothing_can_be_answered(file):
    page = ExercisesPage(file)
    assert "Type a name first" in page.question.value
    assert page.reply.disabled
    assert page.check.disabled
    page.name.value = "Robin"
    assert not page.check.disabled
    assert page.seed.value == str(ROBIN)


def test_a_right_answer_is_kept_explained_and_leads_on(page, file):
    answer(page, "33,9 h")
    assert "Right: 33.9 hours." in page.verdict.value
    assert "64 GB ÷ 1.89" in page.solution.value
    assert (page.check.disabled, page.next.disabled) == (True, False)
    assert "Right so far: 1" in page.progress.value
    (kept,) = read_marks(file).marks
    assert (kept.learner, kept.seed, kept.kind, kept.number) == ("Robin", ROBIN, "hours_held", 1)
    page.next.click()
    assert "Number 2" in page.question.value
    assert page.reply.value == page.verdict.value == page.solution.value == ""


def test_a_second_press_at_once_marks_nothing_twice(page, file):
    answer(page, "33.9")
    page.check.click()
    page.show.click()
    assert len(read_marks(file).marks) == 1


def test_a_known_mistake_is_explained_and_may_be_tried_again(page, file):
    answer(page, "4.2")  # 33.9 / 8
    assert "factor of 8" in page.verdict.value
    assert not page.check.disabled
    answer(page, "33.9")
    assert [mark.verdict for mark in read_marks(file).marks] == ["mistake", "right"]


def test_what_cannot_be_read_is_not_kept(page, file):
    answer(page, "")
    answer(page, "many")
    assert "cannot read" in page.verdict.value
    assert not file.exists()


def test_hints_come_one_by_one_and_are_counted(page, file):
    asked = exercise("hours_held", ROBIN)
    for seen in range(1, 5):
        page.hint.click()
        assert page.hints.value.count("<li>") == min(seen, len(asked.hints))
    answer(page, "33.9")
    assert read_marks(file).marks[0].hints == len(asked.hints)


def test_being_shown_how_comes_after_a_try_and_is_kept_as_given_up(page, file):
    assert page.show.disabled
    answer(page, "1000")
    assert not page.show.disabled
    page.show.click()
    assert "33.9 hours" in page.verdict.value
    assert read_marks(file).marks[-1].verdict == "given up"
    page.next.click()
    assert "Number 2" in page.question.value
    assert "Right so far: 0" in page.progress.value


def test_after_a_restart_a_learner_goes_on_where_they_were(page, file):
    answer(page, "33.9")
    page.next.click()
    page.hint.click()
    answer(page, "1")
    again = ExercisesPage(file)
    again.name.value = " robin "
    again.kind.value = "hours_held"
    assert "Number 2" in again.question.value
    assert "Right so far: 1" in again.progress.value
    assert again.hints.value.count("<li>") == 1
    assert not again.show.disabled


def test_another_learner_has_other_numbers_and_no_marks(page, file):
    answer(page, "33.9")
    before = page.question.value
    page.name.value = "Ana"
    assert page.question.value != before
    assert "Right so far: 0" in page.progress.value


def test_the_seed_of_the_class_sheet_may_be_typed(page):
    page.seed.value = "7"
    assert exercise("hours_held", 7).question in page.question.value


@pytest.mark.parametrize("seed", ["", "x", "-1", "1000000", "1.5"])
def test_a_seed_that_cannot_be_used_is_refused_and_nothing_can_be_answered(page, seed):
    page.seed.value = seed
    assert "seed" in page.question.value
    assert page.check.disabled
    page.seed.value = "7"
    assert not page.check.disabled


def test_a_name_that_cannot_be_kept_is_refused(page):
    page.name.value = "x" * 41
    assert "made-up name" in page.question.value
    assert page.check.disabled


def test_a_marks_file_that_cannot_be_read_is_told(page, tmp_path):
    (tmp_path / "letter.txt").write_text("Dear all\n")
    page.file.value = str(tmp_path / "letter.txt")
    assert "something other than marks" in page.question.value
    assert page.check.disabled


@pytest.mark.parametrize(("typed", "told"), [(" ", "an empty box"), ("a\x00b", "a control character")])
def test_a_marks_file_that_has_no_path_is_refused(page, typed, told, file):
    page.file.value = typed
    assert told in page.question.value
    assert page.check.disabled
    sheets = ClassPage(file)
    sheets.file.value = typed
    sheets.show.click()
    assert told in sheets.said.value


def test_a_marks_file_below_the_home_folder_is_found_by_its_short_name(page, tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    page.file.value = "~/course/marks.jsonl"
    answer(page, exercise("hours_held", ROBIN).answer)
    assert len(read_marks(tmp_path / "course" / "marks.jsonl").marks) == 1


def test_a_mark_that_cannot_be_kept_is_told_beside_the_verdict(page, file):
    file.mkdir()
    answer(page, "33.9")
    assert "Right" in page.verdict.value
    assert "not kept" in page.verdict.value


def test_the_calculator_works_a_sum_out_and_says_what_is_none(page):
    page.sum.value = "64 ÷ (4 × 0.45)"
    assert "= 35.55555556" in page.result.value
    page.sum.value = "<b>"
    assert "Type it again" in page.result.value
    assert "<b>" not in page.result.value
    page.sum.value = ""
    assert page.result.value == ""


def test_the_box_is_for_a_number_only_where_a_number_is_asked_for(page):
    assert "edgestore-number" in page.reply._dom_classes
    page.kind.value = "choose_card"
    assert "edgestore-number" not in page.reply._dom_classes


def test_a_name_is_shown_as_text_and_never_as_markup(page):
    page.name.value = "<b>Bo</b>"
    assert "<b>" not in page.question.value + page.progress.value


def test_every_page_of_every_lesson_can_be_reached_by_next_and_by_back():
    page = LessonPage()
    seen = [page.screen.value]
    while not page.next.disabled:
        page.next.click()
        seen.append(page.screen.value)
    assert len(seen) == sum(lesson.count + len(lesson.screens) for lesson in lessons())
    assert len(set(seen)) == len(seen)
    assert page.choice.value == len(lessons()) - 1
    back = [page.screen.value]
    while not page.back.disabled:
        page.back.click()
        back.append(page.screen.value)
    assert back[::-1] == seen
    cautions = [screen for screen in seen if "<h2>Warnings</h2>" in screen]
    assert len(cautions) == sum(len(lesson.cautions) for lesson in lessons())
    assert all(RULE.replace("'", "&#x27;") in screen for screen in cautions)


def test_show_the_answer_turns_from_the_question_to_its_answer_and_is_off_elsewhere():
    page = LessonPage()
    assert page.reveal.disabled
    page.next.click()
    assert not page.reveal.disabled
    page.reveal.click()
    assert page.at.value == "records 2 answer"
    assert page.reveal.disabled


def test_a_slider_moves_the_answer_and_stands_at_the_number_of_the_text_when_it_is_shown_again():
    page = LessonPage()
    page.at.value = "hours 5 answer"
    (gauge,) = page.beside.children
    # 32 GB at 4 Mbit/s: 32 / 1.8 = 17.8 hours; at 8 Mbit/s 8.9 hours
    assert "17.8\N{NO-BREAK SPACE}hours" in gauge.shown.value
    gauge.slider.value = 8
    assert "8.9\N{NO-BREAK SPACE}hours" in gauge.shown.value
    assert gauge.slider.description == "Mean: 8 Mbit/s"
    page.next.click()
    page.back.click()
    assert "17.8\N{NO-BREAK SPACE}hours" in page.beside.children[0].shown.value


def test_the_place_is_told_and_a_page_can_be_come_back_to_or_jumped_to():
    page = LessonPage()
    page.at.value = "setup 4 answer"  # as a page that was loaded again says it
    assert page.lesson.key == "setup"
    assert "Screen 4 of" in page.place.value
    page.at.value = "go 6"
    assert (page.lesson.key, page.at.value) == ("setup", "setup 6")
    page.screens.value = 3
    assert page.at.value == "setup 3"
    page.at.value = "go 99"
    assert page.at.value == f"setup {page.lesson.count}"
    for nonsense in ("", "go", "nothing 3", "go x", "setup"):
        page.at.value = nonsense
        assert "What next?" in page.screen.value


def test_fitting_shows_drawings_that_are_described():
    page = LessonPage()
    page.choice.value = next(n for n, lesson in enumerate(lessons()) if lesson.key == "fit")
    shown = []
    for _ in range(page.lesson.count + len(page.lesson.screens)):
        shown += [child.value for child in page.beside.children]
        page.next.click()
    assert len(shown) == 4
    assert all('alt="' in picture and 'alt=""' not in picture for picture in shown)


def test_the_class_page_saves_the_sheets_and_never_shows_the_key(page, file, tmp_path):
    answer(page, "33.9")
    sheets = ClassPage(file, tmp_path / "class")
    sheets.names.value = "Robin\nAna\n"
    sheets.save.click()
    names = {path.name for path in (tmp_path / "class").iterdir()}
    tables = ("class_sheet", "answer_key", "by_question", "before_and_after", "results")
    assert names == {f"{stem}.{end}" for stem in tables for end in ("csv", "html")} | {"assessment_sheet.html"}
    assert "254,GB" in (tmp_path / "class" / "answer_key.csv").read_text()
    assert "254" not in state_of(sheets).replace(str(tmp_path), "")
    sheets.show.click()
    assert "Hours that a card holds" in sheets.table.value


def test_the_class_page_reads_codes_pasted_and_in_a_file_and_says_what_is_refused(file, tmp_path):
    before, after = (
        result_code(HandedIn(ROBIN, key, {"hours_held": Tried(0, (exercise("hours_held", ROBIN, number).answer,))}))
        for key, number in (("before", 901), ("after", 902))
    )
    sheets = ClassPage(file, tmp_path / "class")
    sheets.names.value = "Robin\nAna\n"
    sheets.codes.value = f"{before}\n{before.replace('E1', 'E2')}"
    (tmp_path / "codes.txt").write_text(f"Hello\n{after}\n")
    sheets.codes_file.value = str(tmp_path / "codes.txt")
    sheets.show.click()
    assert "Code 2 is refused" in sheets.said.value
    assert "No marks yet of 1 learner: Ana." in sheets.said.value
    assert "Before and after" in sheets.table.value
    assert "By question before the course" in sheets.table.value
    assert "By question after the course" in sheets.table.value
    assert "<summary>By question</summary>" not in sheets.table.value  # nobody practised
    sheets.codes_file.value = str(tmp_path / "none.txt")
    sheets.show.click()
    assert "cannot be used" in sheets.said.value


def test_the_class_page_saves_a_file_for_each_learner(file, tmp_path):
    sheets = ClassPage(file, tmp_path / "class")
    sheets.give_out.click()
    assert "one name a line" in sheets.said.value
    sheets.names.value, sheets.round.value = "Robin\nAna\n", "before"
    sheets.give_out.click()
    assert "before_412322.html" in {path.name for path in (tmp_path / "class").iterdir()}


def test_the_class_page_tells_all_that_is_wrong_and_writes_nothing(file, tmp_path):
    sheets = ClassPage(file, tmp_path / "class")
    for names in ("", "Ana\nANA"):
        sheets.names.value = names
        sheets.save.click()
        assert "cannot be used" in sheets.said.value
    assert not (tmp_path / "class").exists()
    sheets.names.value = ""
    sheets.show.click()
    assert "No marks" in sheets.said.value


def test_the_trainer_is_told_to_show_the_lessons_on_the_full_screen():
    cells = json.loads((PAGES / "trainer_lesson.ipynb").read_text(encoding="utf-8"))["cells"]
    prose = "".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")
    assert f"press *{words()['present']}*" in prose
