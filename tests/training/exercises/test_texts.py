"""The words of the exercises stand as data: none in the code, all of them used, and what is filled in is known."""

import ast
from pathlib import Path

import pytest

from edgestore.training.exercises import texts as of_texts
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.texts import texts

FOLDER = Path(of_texts.__file__).parent
MADE_OF_WORDS = ("sums", "labels", "backup", "cases", "statements", "kinds", "texts")
SUMS = [kind for kind in KINDS if kind in texts("sums")]


def sentences_in(code):
    """Give the strings of code that have three words or more and are no docstrings."""
    tree = ast.parse(code)
    said = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    strings = [n for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
    return [one.value for one in strings if id(one) not in said and len(one.value.split()) >= 3]


@pytest.mark.parametrize("name", MADE_OF_WORDS)
def test_no_sentence_stands_in_the_code(name):
    assert sentences_in((FOLDER / f"{name}.py").read_text(encoding="utf-8")) == []


def test_a_sentence_in_code_would_be_found():
    assert sentences_in('"""A doc string is none."""\nx = f"How many hours {x} is that?"') == ["How many hours "]


@pytest.mark.parametrize("kind", SUMS)
def test_every_slip_that_has_words_is_made_by_some_learner(kind):
    made = [exercise(kind, seed) for seed in range(20)]
    did = {slip.did for one in made for slip in one.slips}
    assert {words["did"] for words in texts("sums")[kind]["slips"].values()} <= did


@pytest.mark.parametrize("kind", KINDS)
def test_all_braces_are_filled_in(kind):
    for seed in range(10):
        made = exercise(kind, seed)
        told = (made.question, *made.steps, *made.hints, *made.mistakes.values(), *made.did.values())
        assert not [text for text in told if "{" in text or "}" in text or not text.strip()]


def test_words_of_another_language_give_the_same_sum_with_the_same_numbers(monkeypatch):
    english = exercise("hours_held", 1)
    other = {**texts("sums"), "hours_held": {**texts("sums")["hours_held"], "question": "{capacity_gb} GB?"}}
    monkeypatch.setattr(of_texts, "texts", lambda name: other if name == "sums" else texts(name))
    made = exercise("hours_held", 1)
    assert (made.value, made.slips) == (english.value, english.slips)
    assert made.question.endswith(" GB?")
    assert made.question.split()[0] in english.question
