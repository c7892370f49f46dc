"""The file of exercises: what it holds, and what only an answer opens."""

import hashlib
import hmac
import json
import re

import pytest

from edgestore.checks import InputError
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.offline import offline_files, offline_page
from edgestore.training.exercises.questions import Case

ROBIN = 412322


def content(page):
    return json.loads(re.search(r'<script id="data" type="application/json">(.*?)</script>', page, re.DOTALL)[1])


@pytest.fixture(scope="module")
def page():
    return offline_page(ROBIN, "practice")


def opened(asked, answer):
    """Open a text by its answer, after RFC 8018 and RFC 2104, in steps of its own."""
    key = hashlib.pbkdf2_hmac("sha256", answer.encode(), asked["salt"].encode(), 5000, 32)
    tag = hmac.new(key, b"tag", "sha256").hexdigest()[:16]
    for told, hidden in asked["sealed"]:
        if told == tag:
            raw = bytes.fromhex(hidden)
            blocks = [hmac.new(key, b"%d" % n, "sha256").digest() for n in range(len(raw) // 32 + 1)]
            return json.loads(bytes(a ^ b for a, b in zip(raw, b"".join(blocks), strict=False)))
    return None


def test_the_file_asks_every_kind_and_says_no_answer_no_step_and_no_mistake(page):
    asked = content(page)["exercises"]
    assert [one["kind"] for one in asked] == list(KINDS)
    for one in asked:
        made = exercise(one["kind"], ROBIN)
        assert one["question"] == made.question
        for hidden in (*made.mistakes.values(), *([] if isinstance(made, Case) else [made.steps[-1]])):
            assert hidden not in page, hidden


def test_the_right_answer_opens_how_it_goes_and_a_known_mistake_its_reason(page):
    asked = {one["kind"]: one for one in content(page)["exercises"]}
    # Robin's 33.9 hours are 339 tenths; out by 8 they are 42 tenths.
    assert opened(asked["hours_held"], "339")["right"] == "Right: 33.9 hours."
    assert "33.9 hours" in opened(asked["hours_held"], "339")["steps"][-1]
    assert "factor of 8" in opened(asked["hours_held"], "42")["why"]
    assert opened(asked["hours_held"], "340") is None
    assert opened(asked["choose_card"], "D")["right"] == "Right: D."


def test_the_length_of_what_is_hidden_does_not_tell_the_right_answer(page):
    for one in content(page)["exercises"]:
        assert len({len(hidden) for _, hidden in one["sealed"]}) == 1
        assert [tag for tag, _ in one["sealed"]] == sorted(tag for tag, _ in one["sealed"])


@pytest.mark.parametrize("round_", ["before", "after"])
def test_the_file_of_a_test_holds_no_answers_and_no_hints(round_):
    for one in content(offline_page(ROBIN, round_))["exercises"]:
        assert one["sealed"] == one["hints"] == []


def test_the_tests_before_and_after_ask_the_same_kinds_in_other_numbers():
    before, after = (content(offline_page(ROBIN, one))["exercises"] for one in ("before", "after"))
    assert [one["kind"] for one in before] == [one["kind"] for one in after]
    assert all(
        (one["question"], one["options"]) != (two["question"], two["options"])
        for one, two in zip(before, after, strict=True)
    )


def test_the_file_asks_nothing_of_any_network_and_has_no_learners_name():
    files = offline_files(["Robin", "Ana"], "before")
    assert set(files) >= {"before_412322.html"}
    assert len(files) == 2
    for page in files.values():
        assert b"Robin" not in page
        assert b"http:" not in page
        assert b"https:" not in page
        assert b"default-src 'none'" in page


def test_a_round_that_is_not_known_and_a_seed_out_of_range_are_refused():
    with pytest.raises(InputError, match=r"^round: is 'exam'; must be one of practice, before, after\."):
        offline_page(1, "exam")
    with pytest.raises(InputError, match=r"^seed: "):
        offline_page(-1, "before")
