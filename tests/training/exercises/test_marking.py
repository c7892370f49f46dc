"""What a learner may type, and what is made of it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.training.exercises.marking import MISTAKE, RIGHT, UNREAD, WRONG, mark
from edgestore.training.exercises.questions import Case, Slip, Sum

# 64 GB at a mean of 8 Mbit/s: 64 / 3.6 = 17.78 h; out by 8: 2.2 h.
HOURS = Sum(
    "How long?",
    "hours",
    1,
    64 / 3.6,
    ("64 ÷ 3.6",),
    ("First.", "Second."),
    (Slip(64 / 3.6 / 8, "Factor 8.", "took bits for bytes"),),
)
LARGE = Sum("How much?", "GB", 0, 1234.2, ("...",), ("Hint.",), (Slip(154.3, "Factor 8.", "took bits for bytes"),))
RATE = Sum(
    "How fast?", "Mbyte/s", 2, 0.5625, ("...",), ("Hint.",), (Slip(4.5, "Still in Mbit/s.", "left it in Mbit/s"),)
)
PART = Sum("What part?", "%", 1, 25.2, ("...",), ("Hint.",), (Slip(0.252, "From 0 to 1.", "gave a part of 1"),))
CARD = Case(
    "Which?",
    ("one", "two", "three"),
    1,
    ("Too small.", "It fits.", "Too slow."),
    ("chose a small one", "", "chose a slow one"),
    ("Look.",),
)


def verdict(exercise, typed):
    return mark(exercise, typed).verdict


@pytest.mark.parametrize(
    "typed",
    [
        "17.8",
        "17,8",
        " 17.8 ",
        "17.8 h",
        "17,8h",
        "17.8 Hours",
        "17.8 hours.",
        "17.78",
        "17.777778",
        "17.7",  # cut off, not rounded: one unit of the last place is allowed
        "17.9",
        "= 17.8",
        "≈17.8 h",
        "about 17.8",
        "+17.8",
        "\uff11\uff17\uff0e\uff18",  # full-width digits
        "17.8\u00a0h",
        "017.8",
    ],
)
def test_the_answer_is_right_however_it_is_written(typed):
    assert mark(HOURS, typed).verdict == RIGHT
    assert "17.8 hours" in mark(HOURS, typed).text


@pytest.mark.parametrize(
    "typed", ["1234", "1 234", "1234 GB", "1'234", "1,234.0", "1.234,0", "1\u202f234", "1235", "1233"]
)
def test_thousands_are_read_where_there_is_no_doubt(typed):
    assert verdict(LARGE, typed) == RIGHT


@pytest.mark.parametrize("typed", ["1,234", "1.234"])
def test_a_mark_that_may_be_between_thousands_is_asked_about(typed):
    marked = mark(LARGE, typed)
    assert marked.verdict == UNREAD
    assert "decimal mark" in marked.text


def test_a_known_mistake_is_explained_and_does_not_say_the_answer():
    marked = mark(HOURS, "2.2")
    assert (marked.verdict, marked.text, marked.did) == (MISTAKE, "Factor 8.", "took bits for bytes")
    assert mark(CARD, "c").did == "chose a slow one"
    assert mark(HOURS, "5").did == mark(HOURS, "17.8").did == ""


def test_a_wrong_answer_gets_the_next_hint_and_the_last_again_when_none_is_left():
    assert [mark(HOURS, "99", seen).text for seen in (0, 1, 2, 9)] == [
        "Not yet. First.",
        "Not yet. Second.",
        "Not yet. Second.",
        "Not yet. Second.",
    ]
    assert verdict(HOURS, "99") == WRONG


def test_of_a_small_answer_what_rounds_to_it_is_right_and_a_fifth_more_or_less_is_not():
    # Half a year with one decimal: 0.4 and 0.6 are a fifth off, 0.46 and 0.54 round to 0.5.
    small = Sum("?", "years", 1, 0.49, ("",), ("Divide.",), ())
    assert [verdict(small, typed) for typed in ("0.5", "0.46", "0.54", "0.49")] == [RIGHT] * 4
    assert [verdict(small, typed) for typed in ("0.4", "0.6", "0.44", "0.56")] == [WRONG] * 4


def test_of_an_answer_of_2_a_unit_of_its_last_place_is_a_twentieth_and_is_allowed():
    for value, is_allowed in ((2.0, True), (1.9, False)):
        near = Sum("?", "years", 1, value, ("",), ("Divide.",), ())
        assert (verdict(near, f"{value + 0.1:.1f}") == RIGHT) == is_allowed


def test_an_answer_just_out_of_tolerance_is_wrong():
    assert [verdict(HOURS, typed) for typed in ("17.69", "17.91", "17.6")] == [WRONG] * 3


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "   ",
        "many",
        "17.8.1",
        "17,8,1",
        "1 7",
        "1,23,456",
        "17.8 apples",
        "nan",
        "inf",
        "-",
        ".",
        ",",
        "0x11",
        "1e3",
        "17.8 hours hours",
        "17.8; drop table",
        "<b>17.8</b>",
        "9" * 61,
        "\x00",
        "\ud800",
    ],
)
def test_what_is_no_number_is_refused_kindly_and_counts_for_nothing(typed):
    marked = mark(HOURS, typed)
    assert marked.verdict == UNREAD
    assert marked.text
    assert "17.8 hours" not in marked.text


def test_another_unit_is_named_and_counts_for_nothing():
    assert mark(HOURS, "0.7 days").text == "You wrote days. The answer is asked for in hours."
    assert mark(LARGE, "1234 GiB").text == "You wrote GiB. The answer is asked for in GB."
    assert mark(LARGE, "1.1 TiB").text == "You wrote TiB. The answer is asked for in GB."
    assert mark(RATE, "0.56 Mbit/s").text == "You wrote Mbit/s. The answer is asked for in Mbyte/s."


def test_one_letter_for_bits_or_bytes_is_read_by_its_capital():
    assert verdict(RATE, "0.56 MB/s") == RIGHT
    assert verdict(RATE, "0.56 MBps") == RIGHT
    assert mark(RATE, "0.56 Mb/s").text == "You wrote Mbit/s. The answer is asked for in Mbyte/s."
    assert verdict(RATE, "0.56 MB") == verdict(RATE, "0.56 Mbyte") == RIGHT
    assert mark(RATE, "0.56 Mb").text == mark(RATE, "0.56 mbits").text == mark(RATE, "0.56 Mb/s").text
    assert verdict(LARGE, "1234 Gbyte") == RIGHT
    assert mark(LARGE, "1234 Gb").text == "You wrote Gbit. The answer is asked for in GB."
    assert verdict(LARGE, "1234 gb") == RIGHT
    assert verdict(RATE, "4.5") == MISTAKE


def test_a_percent_sign_is_tolerated_and_a_part_of_one_is_a_known_mistake():
    assert [verdict(PART, typed) for typed in ("25.2", "25,2 %", "25.2 percent", "0.25")] == [RIGHT] * 3 + [MISTAKE]


def test_a_negative_answer_is_wrong():
    assert verdict(HOURS, "-17.8") == verdict(HOURS, "\u221217.8") == WRONG
    assert "below zero" in mark(HOURS, "-17.8").text


@pytest.mark.parametrize("typed", ["B", "b", " b) ", "(B)", "B.", "Card B", "line b", "\uff22"])
def test_a_letter_is_read_however_it_is_written(typed):
    assert verdict(CARD, typed) == RIGHT


@pytest.mark.parametrize("typed", ["", "D", "AB", "2", "two", "A or B", "?"])
def test_what_is_no_letter_on_offer_is_refused_kindly(typed):
    assert verdict(CARD, typed) == UNREAD


def test_another_letter_is_told_why_it_is_not_the_answer():
    assert mark(CARD, "a").text == "Not A. Too small. Look."
    assert mark(CARD, "c").verdict == MISTAKE


@given(st.text(max_size=80))
def test_nothing_that_is_typed_breaks_the_marking(typed):
    for made in (HOURS, LARGE, RATE, PART, CARD):
        marked = mark(made, typed)
        assert marked.verdict in (RIGHT, MISTAKE, WRONG, UNREAD)
        assert marked.text


@given(st.text(alphabet="0123456789.,' +-eE%hGBMbits/", max_size=20))
def test_nothing_like_a_number_breaks_the_marking(typed):
    assert mark(HOURS, typed).verdict in (RIGHT, MISTAKE, WRONG, UNREAD)
