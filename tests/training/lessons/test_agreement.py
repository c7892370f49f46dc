"""What a screen of a lesson says and what it shows are one: the numbers of the text are those that are worked out."""

import re
from dataclasses import replace

import pytest

from edgestore.text import number
from edgestore.training.lessons.gauge import Gauge
from edgestore.training.lessons.quantities import QUANTITIES, longest, shown
from edgestore.training.lessons.screens import lessons, words

NOT_SHOWN = {
    "A card is a tank": {"64", "35.6"},  # the card before, twice as small: 64 ÷ 1.8 = 35.6
    "Bits and bytes": {"8"},  # bits of a byte
    "The one number to know": {"2"},  # the next rate
    "The sum": {"1.8"},  # 4 × 0.45
    "The mark is a promise": {"100"},  # the label's "up to", which promises nothing
    "Count the terabytes": {"15.8"},  # 4 × 0.45 × 24 × 365.25 ÷ 1000
    "What part of the time?": {"300", "3600", "25"},  # 12 × 25; seconds of an hour; 10 + 5 + 10
    "Busy days are not mean days": {"12"},  # the quiet day
    "Which stream?": {"1"},  # the small stream, which the slider comes to
    "The cap": {"8"},  # the cap before
    "Time before and after": {"0"},  # none before
}
"""Numbers of a text that its visual does not show, each for a reason."""

MARK = re.compile(r"\b[A-Z]\d+\b")
NUMBER = re.compile(r"\d+(?:[ \N{NO-BREAK SPACE}]\d{3})*(?:\.\d+)?")

screens = [screen for lesson in lessons() for screen in lesson.screens]
worked_out = [screen for screen in screens if screen.visual]


def numbers(text):
    return {found.replace("\N{NO-BREAK SPACE}", " ") for found in NUMBER.findall(MARK.sub("", text))}


def told(screen):
    """Give what the screen says is so: its question, its text and the right answer."""
    (right,) = (answer.text for answer in screen.answers if answer.is_right)
    return " ".join((screen.question, screen.text, right))


def disagreements(screen):
    """Give the numbers that are told and not shown, and the answer that is shown and not told."""
    now = shown(screen.visual)
    given = [number(value) for value in screen.visual.given.values() if isinstance(value, int | float)]
    given += [f"{value:g}" for value in screen.visual.given.values() if isinstance(value, int | float)]
    all_shown = numbers(" ; ".join([*given, now.told[0], *(bar.told[0] for bar in now.bars)]))
    answer = {figure for figure in numbers(now.told[0]) if figure not in numbers(told(screen))}
    return (numbers(told(screen)) - all_shown - NOT_SHOWN.get(screen.title, set())) | answer


def test_the_numbers_of_every_text_are_those_that_its_visual_works_out():
    assert {screen.title: found for screen in worked_out if (found := disagreements(screen))} == {}


def test_every_number_that_need_not_be_shown_is_told_by_its_screen():
    by_title = {screen.title: screen for screen in worked_out}
    assert {title: unused for title, few in NOT_SHOWN.items() if (unused := few - numbers(told(by_title[title])))} == {}


def test_a_screen_that_works_nothing_out_tells_no_number():
    assert {screen.title: numbers(told(screen)) for screen in screens if not screen.visual} == {
        screen.title: set() for screen in screens if not screen.visual
    }


@pytest.mark.parametrize("screen", worked_out, ids=lambda screen: screen.title)
def test_a_screen_whose_visual_is_preset_to_other_numbers_is_found(screen):
    moved = {name: value * 1.37 for name, value in screen.visual.given.items() if isinstance(value, int | float)} or {
        "marks": ["C4", "V60"],
        "mark": "V6",
    }
    given = {**screen.visual.given, **{name: value for name, value in moved.items() if name in screen.visual.given}}
    assert disagreements(replace(screen, visual=replace(screen.visual, given=given)))


def test_a_screen_shows_one_thing_at_most():
    for screen in screens:
        assert sum(map(bool, (screen.picture, screen.visual, screen.log))) <= 1, screen.title


def test_a_slider_reaches_the_number_of_the_text_and_is_named_with_it():
    for screen in worked_out:
        visual = screen.visual
        if visual.slider:
            steps = (visual.given[visual.slider] - visual.low) / visual.step
            assert visual.low <= visual.given[visual.slider] <= visual.high, screen.title
            assert steps == pytest.approx(round(steps)), screen.title
            assert "{}" in words()[f"move_{visual.slider}"]


def test_a_slider_says_its_number_with_all_its_digits_as_the_text_does():
    (screen,) = (screen for screen in worked_out if screen.title == "The cap is not the mean")
    assert "1.76 Mbit/s" in screen.text
    assert Gauge(screen.visual).slider.description == "Mean: 1.76 Mbit/s"


def test_bars_are_linear_from_zero_and_none_is_longer_than_its_line():
    for screen in worked_out:
        lines = longest(screen.visual)
        ends = (screen.visual.low, screen.visual.high) if screen.visual.slider else ()
        for end in ends:
            for bar in shown(screen.visual, **{screen.visual.slider: end}).bars:
                assert 0 <= bar.length <= lines[bar.scale] * (1 + 1e-12), screen.title


def test_every_word_that_a_visual_needs_is_there_and_every_quantity_is_used():
    needed = {key for screen in worked_out for bar in shown(screen.visual).bars for key in (bar.label, bar.told[1])}
    needed |= {shown(screen.visual).told[1] for screen in worked_out}
    assert needed <= set(words())
    assert {screen.visual.shows for screen in worked_out} == set(QUANTITIES)


def test_lesson_speed_shows_speed_and_looking_after_it_shows_a_log():
    by_key = {lesson.key: lesson for lesson in lessons()}
    assert {s.visual.shows for s in by_key["speed"].screens} == {"margin", "marks", "slot"}
    assert by_key["upkeep"].screens[-1].log[0] == ("Camera", "Card", "Fitted", "Removed", "Why")


def test_the_margin_of_a_mark_is_hand_arithmetic():
    # C10: 10 Mbyte/s are 80 Mbit/s; a cap of 8 Mbit/s ten times over is 80 Mbit/s as well
    now = QUANTITIES["margin"](cap_mbit_s=8, mark="C10")
    assert [bar.length for bar in now.bars] == [80, 80]
    assert now.told == ("10", "times_the_cap")


def test_a_day_and_a_half_without_the_card_is_what_a_long_fault_loses():
    # 64 GB ÷ (4 × 0.45 GB/h) = 35.6 h of the 60
    now = QUANTITIES["fault"](fault_h=60, capacity_gb=64, mean_mbit_s=4)
    assert now.told == ("35.6", "hours")
