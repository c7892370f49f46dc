"""The lessons: short, plain, sourced, and leading to what exists."""

import re
from fractions import Fraction
from pathlib import Path

import pytest
import textstat

from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.statements import points
from edgestore.training.fitting.cautions import CAUTIONS
from edgestore.training.lessons.page import PANELS
from edgestore.training.lessons.screens import lessons, lessons_table

ROOT = Path(__file__).parents[3]
GRADE = 8
"""United States school grade of a reader of 13 to 14: Flesch-Kincaid, as textstat has it."""
EXERCISE_GRADE = 6
"""The same, of a reader of 11 to 12: an exercise is read alone, a lesson is told."""

each_lesson = pytest.mark.parametrize("lesson", [pytest.param(lesson, id=lesson.key) for lesson in lessons()])


def sentences(*texts):
    return " ".join(text if text[-1] in ".?!" else f"{text}." for text in texts)


def test_the_grade_is_flesch_and_kincaids():
    # 13 words in 2 sentences, 15 syllables counted by hand: 0.39 x 13/2 + 11.8 x 15/13 - 15.59 = 0.56
    grade = textstat.flesch_kincaid_grade("A card keeps the footage. When it is full, the oldest goes first.")
    assert grade == pytest.approx(0.39 * 13 / 2 + 11.8 * 15 / 13 - 15.59)


def test_there_is_a_lesson_on_each_topic_in_order():
    keys = "records hours speed endurance motion backup choose fit prove upkeep evidence"
    assert [lesson.key for lesson in lessons()] == keys.split()


@each_lesson
def test_a_lesson_can_be_read_at_fourteen(lesson):
    told = [text for screen in lesson.screens for text in (screen.title, screen.text)]
    text = sentences(lesson.title, lesson.goal, *told, *(caution.text for caution in lesson.cautions))
    assert textstat.flesch_kincaid_grade(text) <= GRADE


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
    assert 4 <= len(lesson.screens) <= 6
    for screen in lesson.screens:
        assert len(screen.text.split()) <= 40
        assert len(screen.title.split()) <= 8
        assert screen.source


@each_lesson
def test_the_sources_that_are_files_exist(lesson):
    for screen in lesson.screens:
        for name in re.findall(r"(?:docs|data)/[\w/]+\.\w+", screen.source):
            assert (ROOT / name).is_file(), name


@each_lesson
def test_what_a_lesson_points_to_exists(lesson):
    assert (ROOT / "notebooks" / lesson.notebook).is_file()
    assert set(lesson.exercises) <= set(KINDS)
    if lesson.panel:
        assert lesson.sliders
        assert set(lesson.sliders) <= {spec.name for spec in PANELS[lesson.panel].inputs}


def test_every_kind_of_exercise_follows_a_lesson_and_every_caution_is_in_one():
    assert {kind for lesson in lessons() for kind in lesson.exercises} == set(KINDS)
    assert {caution.key for lesson in lessons() for caution in lesson.cautions} == set(CAUTIONS)


def text_of(key):
    (lesson,) = (lesson for lesson in lessons() if lesson.key == key)
    return " ".join(screen.text for screen in lesson.screens)


def test_the_figures_in_the_lessons_are_those_of_hand_arithmetic():
    gb_h = Fraction(3600 * 10**6, 8 * 10**9)  # 1 Mbit/s for an hour, in GB
    assert gb_h == Fraction("0.45")
    # 32 / (4 x 0.45) = 17.78; 64 x 10^9 / 2^30 = 59.60
    assert f"{float(32 / (4 * gb_h)):.1f} hours" in text_of("hours")
    assert f"{64e9 / 2**30:.1f} GiB" in text_of("hours")
    # 10 x 8 = 80 Mbit/s, ten times 8 Mbit/s
    assert "10 Mbyte/s is 80 Mbit/s" in text_of("speed")
    # 4 x 0.45 x 24 x 365.25 / 1000 = 15.78 TB a year; 100 / 15.78 = 6.34 years
    year_tb = 4 * gb_h * 24 * Fraction("365.25") / 1000
    assert f"{float(year_tb):.1f} TB a year. That makes {float(100 / year_tb):.1f} years" in text_of("endurance")
    # 12 x 25 = 300 s of 3600: 8.3 %
    assert "make 300 seconds. That is 300 of 3600: some 8 %" in text_of("motion")


def test_the_table_has_a_row_for_each_lesson():
    table = lessons_table()
    assert len(table) == 11
    assert list(table.columns) == ["lesson", "goal", "screens", "exercises"]
