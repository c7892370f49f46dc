"""The lessons: each idea asked before it is told, short, plain, sourced, and leading to what exists."""

import re
import tomllib
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
import textstat

from edgestore.training.exercises.assessment import parts
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.statements import points
from edgestore.training.fitting.cautions import CAUTIONS
from edgestore.training.lessons import as_html
from edgestore.training.lessons.gauge import Gauge
from edgestore.training.lessons.notes import notes_html
from edgestore.training.lessons.page import LessonPage
from edgestore.training.lessons.screens import CAUTION_WORDS, ORDER, lessons, lessons_table, words

ROOT = Path(__file__).parents[3]
GRADE = 8
"""United States school grade of a reader of 13 to 14: Flesch-Kincaid, as textstat has it."""
EXERCISE_GRADE = 6
"""The same, of a reader of 11 to 12: an exercise is read alone, a lesson is told."""

LESSON_GRADE = 6
"""That of a reader of 11 to 12: what a class reads from a screen, and a trainer beside it."""

each_lesson = pytest.mark.parametrize("lesson", [pytest.param(lesson, id=lesson.key) for lesson in lessons()])


def sentences(*texts):
    return " ".join(text if text[-1] in ".?!" else f"{text}." for text in texts)


def test_the_grade_is_flesch_and_kincaids():
    # 13 words in 2 sentences, 15 syllables counted by hand: 0.39 x 13/2 + 11.8 x 15/13 - 15.59 = 0.56
    grade = textstat.flesch_kincaid_grade("A card keeps the footage. When it is full, the oldest goes first.")
    assert grade == pytest.approx(0.39 * 13 / 2 + 11.8 * 15 / 13 - 15.59)


def test_there_is_a_lesson_on_each_topic_in_order():
    keys = "records hours speed endurance motion backup choose setup fit prove upkeep evidence"
    assert [lesson.key for lesson in lessons()] == keys.split()


def as_read(html):
    """Give HTML with the marks of its letters and its spaces as the texts have them."""
    return html.replace("&#x27;", "'").replace("\N{NO-BREAK SPACE}", " ")


def ideas(lesson):
    """Give each idea of a lesson with the number of its screen."""
    return [(page.number, page.screen) for page in lesson.pages if page.screen and not page.is_answered]


def said_to_the_class(screen):
    votes = [text for answer in screen.answers for text in (answer.text, answer.mistake) if text]
    return [screen.title, screen.question, *votes, screen.text]


@each_lesson
def test_screens_questions_answers_and_mistakes_can_be_read_at_twelve(lesson):
    told = [text for screen in lesson.screens for text in said_to_the_class(screen)]
    assert textstat.flesch_kincaid_grade(sentences(lesson.title, lesson.goal, *told)) <= LESSON_GRADE
    for screen in lesson.screens:
        assert textstat.flesch_kincaid_grade(sentences(*said_to_the_class(screen))) <= LESSON_GRADE, screen.title


@each_lesson
def test_the_trainers_notes_can_be_read_at_twelve(lesson):
    notes = [text for screen in lesson.screens for text in (screen.note.ask, screen.note.usual)]
    assert textstat.flesch_kincaid_grade(sentences(*notes)) <= LESSON_GRADE


@each_lesson
def test_cautions_can_be_read_at_fourteen(lesson):
    cautions = [caution.text for part in lesson.cautions for caution in part]
    assert textstat.flesch_kincaid_grade(sentences(lesson.title, lesson.goal, *cautions)) <= GRADE


def test_exercises_and_what_is_said_of_them_can_be_read_at_twelve():
    for made in (exercise(kind, seed) for kind in KINDS for seed in range(3)):
        assert textstat.flesch_kincaid_grade(made.question.replace(";", ".")) <= EXERCISE_GRADE, made.question
        assert textstat.flesch_kincaid_grade(sentences(*made.hints, *made.mistakes.values())) <= EXERCISE_GRADE, made
        assert textstat.flesch_kincaid_grade(sentences(*made.steps)) <= EXERCISE_GRADE, made.steps
    topics = [point for topic in ("records", "installations", "proof") for point in points(topic)]
    said = [text for point in topics for text in (point.right, point.wrong, point.why_right, point.why_wrong)]
    assert textstat.flesch_kincaid_grade(sentences(*said)) <= EXERCISE_GRADE


@each_lesson
def test_a_screen_has_one_idea_in_few_words_and_says_where_it_comes_from(lesson):
    assert 4 <= len(lesson.screens) <= 7
    for screen in lesson.screens:
        assert len(screen.text.split()) <= 34, screen.title
        assert len(screen.title.split()) <= 8
        assert screen.source


@each_lesson
def test_an_idea_asks_with_two_to_four_answers_of_which_one_is_right_and_names_what_led_to_the_others(lesson):
    for screen in lesson.screens:
        assert screen.question.endswith("?"), screen.title
        assert len(screen.question.split()) <= 20, screen.title
        assert 2 <= len(screen.answers) <= 4
        assert [answer.is_right for answer in screen.answers].count(True) == 1, screen.title
        assert all(len(answer.text.split()) <= 8 for answer in screen.answers), screen.title
        for wrong in (answer for answer in screen.answers if not answer.is_right):
            assert wrong.mistake.endswith("."), wrong.text
            assert len(wrong.mistake.split()) <= 16, wrong.mistake


def test_the_right_answer_is_not_always_in_the_same_place():
    places = [[a.is_right for a in s.answers].index(True) for lesson in lessons() for s in lesson.screens]
    assert {0, 1, 2} <= set(places)


@each_lesson
def test_nothing_of_the_answer_is_on_the_screen_that_asks(lesson):
    page = LessonPage()
    for at, screen in ideas(lesson):
        page.at.value = f"{lesson.key} {at}"
        assert screen.question in as_read(page.screen.value)
        assert page.beside.children == ()
        listed = " ".join(label for label, _ in page.screens.options[1:])
        for hidden in (screen.text, "✓", *(answer.mistake for answer in screen.answers if answer.mistake)):
            assert hidden not in as_read(page.screen.value) + listed, screen.title


@each_lesson
def test_the_answer_shows_the_right_one_what_led_to_each_wrong_one_and_its_visual(lesson):
    page = LessonPage()
    for at, screen in ideas(lesson):
        page.at.value = f"{lesson.key} {at} answer"
        for told in (screen.text, *(answer.mistake or f"✓ {answer.text}" for answer in screen.answers)):
            assert told in as_read(page.screen.value), screen.title
        assert len(page.beside.children) == bool(screen.visual or screen.picture or screen.log), screen.title
        assert isinstance(page.beside.children[0], Gauge) if screen.visual else True


@each_lesson
def test_the_notes_of_each_screen_say_what_to_ask_the_usual_answers_and_minutes(lesson):
    notes = notes_html()
    for at, screen in ideas(lesson):
        note = as_read(notes.split(f'id="edgestore-note-{lesson.key}-{at}"')[1].split("</article>")[0])
        assert 1 <= screen.note.minutes <= 10
        told = (screen.note.ask, screen.note.usual, f"({screen.note.minutes} min)", screen.question)
        assert all(text in note for text in told), screen.title


def test_a_lesson_that_means_a_climb_has_the_cautions_of_a_climb():
    for lesson in lessons():
        keys = {caution.key for part in lesson.cautions for caution in part}
        climbs = lesson.key in ("fit", "prove", "upkeep", "evidence")
        of_a_climb = {"height", "ladder", "lift", "overhead", "alone", "room", "power", "off"}
        assert of_a_climb <= keys if climbs else not of_a_climb & keys, lesson.key


def test_a_card_that_is_handed_over_has_its_cautions_in_the_lesson_on_evidence():
    (keys,) = ({c.key for part in lesson.cautions for c in part} for lesson in lessons() if lesson.key == "evidence")
    assert {"evidence", "custody", "privacy", "room"} <= keys


@each_lesson
def test_a_figure_of_a_wrong_answer_does_not_run_into_what_led_to_it_nor_a_number_into_the_next_line(lesson):
    for screen in lesson.screens:
        html = as_html.answered(screen, words())
        assert not re.search(r"[^.?!:]</em>", html), screen.title
        assert not re.search(r"\d (\d{3}\b|GB|GiB|TB|Mbit/s|Mbyte/s|%|hours|days|years)", html.split("Source:")[0])


def test_at_most_two_drawings_stand_beside_a_text_so_that_their_words_can_be_read():
    assert max(len(screen.picture) for lesson in lessons() for screen in lesson.screens) == 2


def test_the_cautions_of_an_idea_stand_right_after_its_answer_and_before_the_next_question():
    (fit,) = (lesson for lesson in lessons() if lesson.key == "fit")
    after = [
        (page.screen.title, [c.key for c in following.cautions])
        for page, following in pairwise(fit.pages)
        if page.is_answered
    ]
    first = dict(after)
    assert first["Safe first"][0] == "height"
    assert first["Find the slot"] == ["static"]
    assert first["It goes in one way"] == ["force"]
    assert first["Manual first"] == []
    assert [page.number for page in fit.pages] == sorted(page.number for page in fit.pages)


@pytest.mark.parametrize(
    ("key", "cautions", "step"),
    [
        ("fit", {"height", "ladder", "dead", "moving", "hot", "edges", "light", "sealed"}, "Find the slot"),
        ("fit", {"static"}, "It goes in one way"),
        ("prove", {"room", "height", "ladder", "power"}, "Cut the link"),
        ("prove", {"moving"}, "Play it back"),
        ("evidence", {"room", "height", "permit", "traffic", "off", "dead", "static"}, "Hands off the footage"),
    ],
)
def test_a_caution_stands_before_the_step_that_it_belongs_to(key, cautions, step):
    (lesson,) = (lesson for lesson in lessons() if lesson.key == key)
    asked = next(page.number for page in lesson.pages if page.screen and page.screen.title == step)
    before = {c.key for page in lesson.pages for c in page.cautions if page.number < asked}
    assert cautions <= before


def test_the_clock_of_the_camera_is_compared_before_its_power_goes_off():
    (screen,) = (
        s for lesson in lessons() if lesson.key == "evidence" for s in lesson.screens if s.title == "Who says so?"
    )
    assert "Compare the camera's clock with a good one before you switch it off" in screen.text
    assert {"off", "power"} <= {c.key for part in screen.cautions for c in part}
    swap = next(part for part in parts() if part.title == "Swap").points
    compared, off = (next(at for at, said in enumerate(swap) if words in said) for words in ("clock", "switches off"))
    assert compared < off


def test_cautions_are_parted_into_screens_that_can_be_read_from_afar():
    for lesson in lessons():
        for part in lesson.cautions:
            assert len(part) == 1 or sum(len(caution.text.split()) for caution in part) <= CAUTION_WORDS


def test_every_text_of_lessons_page_and_notes_can_be_translated():
    def say(text):
        return "".join(f"«{part}»" if at % 2 == 0 and part.strip() else part for at, part in enumerate(cut(text)))

    def cut(text):
        return re.split(r"(\{\w*\})", text)  # what stands in braces is filled in

    shown = [notes_html(say)]
    page = LessonPage(say)
    while True:
        shown += [page.screen.value, page.place.value, *(label for label, _ in page.screens.options)]
        shown += [child.shown.value if isinstance(child, Gauge) else child.value for child in page.beside.children]
        if page.next.disabled:
            break
        page.next.click()
    told = re.sub(r"<figure.*?</figure>|<[^>]+>", " ", " ".join(shown), flags=re.DOTALL)
    left = re.sub(r"«[^»]*»", " ", told).replace("&#x27;", "'")
    # What stands elsewhere: cautions, titles of exercises and of notebooks, figures and marks.
    for one in (caution for lesson in lessons() for part in lesson.cautions for caution in part):
        left = left.replace(one.title, "").replace(one.text, "")
    for known in (as_html.RULE, *(kind.title for kind in KINDS.values())):
        left = left.replace(known, "")
    left = re.sub(r"(How|What|Which)[a-zI ]+\?", "", left)
    assert set(re.findall(r"[A-Za-z]{2,}", left)) <= {"C10", "U1"}


def test_every_file_of_texts_is_read():
    folder = Path(as_html.__file__).with_name("texts")
    assert {path.stem for path in folder.glob("*.toml")} == {*ORDER, "words"}
    assert set(tomllib.loads((folder / "words.toml").read_text(encoding="utf-8"))) == set(words())


@each_lesson
def test_the_sources_that_are_files_exist(lesson):
    for screen in lesson.screens:
        for name in re.findall(r"(?:docs|data)/[\w/]+\.\w+", screen.source):
            assert (ROOT / name).is_file(), name


@each_lesson
def test_what_a_lesson_points_to_exists(lesson):
    assert (ROOT / "notebooks" / lesson.notebook).is_file()
    assert set(lesson.exercises) <= set(KINDS)


def test_every_kind_of_exercise_follows_a_lesson_and_every_caution_is_in_one():
    assert {kind for lesson in lessons() for kind in lesson.exercises} == set(KINDS)
    assert {c.key for lesson in lessons() for part in lesson.cautions for c in part} == set(CAUTIONS)


def text_of(key):
    (lesson,) = (lesson for lesson in lessons() if lesson.key == key)
    return " ".join(screen.text for screen in lesson.screens)


def test_no_question_is_asked_twice():
    # How long a dead card goes unseen is asked in two lessons, of cards looked at every 4 and every 6 months.
    asked = [screen.question for lesson in lessons() for screen in lesson.screens]
    assert len(set(asked)) == len(asked)
    visuals = [screen.visual for lesson in lessons() for screen in lesson.screens if screen.visual]
    months = [visual.given["months"] for visual in visuals if visual.shows == "unseen"]
    assert sorted(months) == [4, 6]


def test_the_figures_in_the_lessons_are_those_of_hand_arithmetic():
    gb_h = Fraction(3600 * 10**6, 8 * 10**9)  # 1 Mbit/s for an hour, in GB
    assert gb_h == Fraction("0.45")
    # 32 / (4 x 0.45) = 17.78; 64 x 10^9 / 2^30 = 59.60
    assert f"{float(32 / (4 * gb_h)):.1f} hours" in text_of("hours")
    assert f"{64e9 / 2**30:.1f} GiB" in text_of("hours")
    # 32 / (3 x 0.45) = 32 / 1.35 = 23.70: no screen asks what another one has told
    assert f"{float(32 / (3 * gb_h)):.1f} hours" in text_of("records")
    assert "17.8" not in text_of("records")
    # 10 x 8 = 80 Mbit/s, twenty times 4 Mbit/s
    assert "C10 is 80 Mbit/s. That is 20 times the cap of 4 Mbit/s" in text_of("speed")
    # 4 x 0.45 x 24 x 365.25 / 1000 = 15.78 TB a year; 100 / 15.78 = 6.34 years
    year_tb = 4 * gb_h * 24 * Fraction("365.25") / 1000
    assert f"{float(year_tb):.1f} TB in a year" in text_of("endurance")
    assert f"is {float(100 / year_tb):.1f} years" in text_of("endurance")
    # 12 x 25 = 300 s of 3600: 8.3 %
    assert "make 300 seconds of 3600. That is some 8 %" in text_of("motion")


def test_the_table_has_a_row_for_each_lesson():
    table = lessons_table()
    assert len(table) == 12
    assert list(table.columns) == ["lesson", "goal", "screens", "minutes", "exercises"]
