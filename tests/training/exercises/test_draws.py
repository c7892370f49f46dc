"""What is drawn from: seeds, names and lists; what they are refused for; and which draws leave no doubt."""

import pytest

from edgestore.checks import InputError
from edgestore.training.exercises.draws import Draws, learner_name, seed_of
from edgestore.training.exercises.kinds import exercise
from edgestore.training.exercises.questions import Slip, Sum


@pytest.mark.parametrize(
    ("seed", "message"),
    [
        (-1, "is -1; must be 0 or more and at most 999999"),
        (1_000_000, "found a number of more than 6 digits; allowed: 0 to 999999"),
        (0.5, "is 0.5; must be a whole number"),
        (float("nan"), "is nan; must be 0 or more and at most 999999"),
        (True, "is True; must be 0 or more and at most 999999"),
        ("7", "is '7'; must be 0 or more and at most 999999"),
    ],
)
def test_a_seed_out_of_range_is_refused(seed, message):
    with pytest.raises(InputError, match=f"^seed: {message}"):
        exercise("hours_held", seed)


def test_an_unknown_kind_and_a_number_below_one_are_refused():
    with pytest.raises(InputError, match=r"^kind: is 'poetry'; must be one of what_is_recorded, hours_held, "):
        exercise("poetry", 1)
    with pytest.raises(InputError, match=r"^number: is 0; must be 1 or more\."):
        exercise("hours_held", 1, 0)


@pytest.mark.parametrize("name", ["", "   ", "x" * 41, "a\x00b", "a\u202eb"])
def test_a_name_that_cannot_be_kept_is_refused(name):
    with pytest.raises(InputError, match=r"^name: found .*; allowed: 1 to 40 printable letters\."):
        learner_name(name)


def test_blanks_capitals_and_the_way_accents_are_coded_make_no_other_learner():
    assert seed_of(" ana  maría ") == seed_of("Ana María") == seed_of("ANA MARI\u0301A")
    assert seed_of("Ana") != seed_of("Anna")


def test_draws_without_replacement_give_each_option_once():
    assert sorted(Draws("x").some(range(20), 20)) == list(range(20))


def a_sum(value, *slips, decimals=1):
    return Sum("?", "hours", decimals, value, ("",), ("",), tuple(Slip(slip, "why", "did") for slip in slips))


def test_a_value_near_a_tie_or_answers_near_each_other_are_not_clear():
    assert a_sum(17.72, 2.2, 8.0).is_clear()
    assert not a_sum(17.75, 2.2).is_clear()
    assert not a_sum(17.7496, 2.2).is_clear()
    assert not a_sum(17.72, 17.9).is_clear()
    assert not a_sum(17.72, 5.0, 5.2).is_clear()
    assert not a_sum(17.72, 0.04).is_clear()
