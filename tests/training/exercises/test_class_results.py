"""What the results of a class teach its trainer, by hand arithmetic."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.training.exercises.class_results import by_question, gain, gains, in_round, missing, mistakes
from edgestore.training.exercises.draws import seed_of
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.marks import Mark, Marks

NAMES = ("Ana", "Ben", "Cleo", "Dov", "Eve")


def a_mark(name, verdict, given="", kind="hours_held", number=1, hints=0):
    return Mark(name, seed_of(name), kind, number, given, verdict, hints)


def slip(name, did, number=1):
    """The answer of a learner who made this mistake."""
    made = exercise("hours_held", seed_of(name), number)
    (answer,) = (answer for answer, done in made.did.items() if done == did)
    return a_mark(name, "mistake", answer, number=number)


CAP = "took the cap for the mean"
FACTOR_8 = "got it wrong by a factor of 8"


def test_a_mistake_is_counted_once_a_learner_and_of_those_who_answered():
    marks = (
        *(slip("Ana", CAP), slip("Ana", CAP), slip("ana", CAP, number=2), slip("Ben", CAP), slip("Ben", FACTOR_8)),
        *(a_mark("Cleo", "wrong", "5"), a_mark("Dov", "right", "33.9")),
    )
    assert mistakes(marks) == ["2 of 4 took the cap for the mean", "1 of 4 got it wrong by a factor of 8"]


def test_what_is_rare_is_counted_and_not_told():
    fault = [Mark("Ana", 412322, "spot_fault", number, "A", "mistake", 0) for number in range(1, 30)]
    asked = [one for one in fault if "A" in exercise("spot_fault", 412322, one.number).mistakes]
    told = mistakes(asked)
    made = {exercise("spot_fault", 412322, one.number).did["A"] for one in asked}
    assert len(told) == 6
    assert told[-1] == f"{len(made) - 5} rarer mistakes"


def test_a_question_has_its_hints_who_was_right_at_once_and_who_is_missing():
    marks = Marks(
        (
            *(a_mark("Ana", "right"), slip("Ben", CAP), a_mark("Ben", "right")),
            *(a_mark("Cleo", "wrong", "5", hints=1), a_mark("Cleo", "right", hints=3)),
            a_mark("DOV", "right", hints=2),
        )
    )
    row = by_question(marks, NAMES).set_index("exercise").loc["Hours that a card holds"]
    # At once: Ana alone; Ben erred first, Cleo and Dov had hints. Hints: Cleo 3 (not 1 + 3), Dov 2.
    assert row.to_dict() == {
        "answered_by": 4,
        "right_at_once": 1,
        "known_mistakes": "1 of 4 took the cap for the mean",
        "hints_used": 5,
        "missing": "Eve",
    }
    assert len(by_question(marks, NAMES)) == len(KINDS)
    assert by_question(marks, NAMES)["missing"].iloc[0] == "Ana, Ben, Cleo, Dov, Eve"


def test_what_was_practised_is_kept_apart_from_each_test():
    marks = Marks(tuple(a_mark("Ana", "right", number=number) for number in (1, 2, 901, 902)))
    numbers = {key: [one.number for one in in_round(marks, key).marks] for key in ("practice", "before", "after")}
    assert numbers == {"practice": [1, 2], "before": [901], "after": [902]}


def test_who_has_no_marks_at_all_is_named():
    assert missing(Marks((a_mark("Ana", "right"),)), ("Ana", "Ben", "Cleo")) == "No marks yet of 2 learners: Ben, Cleo."
    assert missing(Marks((a_mark("ANA", "right"),)), ("Ana",)) == ""


def test_the_gain_is_hakes():
    # Hake (1999), equation 1, by hand: 45 % before, 70 % after: (70 - 45) / (100 - 45) = 25 / 55
    assert gain(0.45, 0.70) == pytest.approx(25 / 55)
    assert gain(0.0, 1.0) == 1
    assert gain(0.5, 0.25) == -0.5
    assert gain(1.0, 1.0) is None


@given(st.floats(0, 0.99), st.floats(0, 1))
def test_the_gain_says_which_part_of_what_was_missing_was_learnt(before, after):
    assert before + gain(before, after) * (1 - before) == pytest.approx(after, abs=1e-9)


def answers(name, number, right):
    kinds = list(KINDS)
    return [
        a_mark(name, "right" if place < right else "wrong", "1", kinds[place], number) for place in range(len(kinds))
    ]


def test_the_gain_of_a_class_is_of_its_averages_and_of_those_alone_who_took_both_tests():
    assert len(KINDS) == 15
    marks = Marks(
        (
            *(*answers("Ana", 901, 3), *answers("Ana", 902, 9)),
            *(*answers("Ben", 901, 9), *answers("Ben", 902, 12)),
            *answers("Cleo", 901, 0),
            *answers("Dov", 1, 15),
        )
    )
    table = gains(marks)
    # Ana: (9 - 3) / (15 - 3) = 0.5; Ben: (12 - 9) / (15 - 9) = 0.5; averages 6 and 10.5: 4.5 / 9 = 0.5
    assert table.to_dict("list") == {
        "learner": ["Ana", "Ben", "Average of 2 learners"],
        "before": [3, 9, 6],
        "after": [9, 12, 10.5],
        "questions": [15, 15, 15],
        "gain": [0.5, 0.5, 0.5],
    }


def test_the_gain_of_the_averages_is_not_the_average_of_the_gains():
    marks = Marks(
        (*answers("Ana", 901, 0), *answers("Ana", 902, 15), *answers("Ben", 901, 12), *answers("Ben", 902, 12))
    )
    # Averages 6 and 13.5 of 15: 7.5 / 9 = 0.8333; the average of 1 and 0 would be 0.5.
    assert gains(marks)["gain"].to_list() == [1, 0, 0.83]


def test_no_tests_give_an_empty_table():
    assert gains(Marks(())).empty
