"""Result codes are read as they were made; whatever was changed in one is refused in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.training.exercises.codes import HandedIn, Tried, marks_of_codes, read_codes, result_code
from edgestore.training.exercises.kinds import KINDS
from edgestore.training.exercises.rounds import ROUNDS

ROBIN = 412322  # pinned in test_kinds.py; the first answer of "hours_held" is 33.9

ANSWERS = st.text(st.characters(exclude_categories=["Cs"]), max_size=60)
TRIED = st.builds(Tried, st.integers(0, 3), st.lists(ANSWERS, max_size=4).map(tuple))
HANDED = st.builds(
    HandedIn,
    st.integers(0, 999_999),
    st.sampled_from(list(ROUNDS)),
    st.dictionaries(st.sampled_from(list(KINDS)), TRIED, max_size=4),
)


def a_code(*answers, kind="hours_held", round_="practice", seed=ROBIN, hints=0):
    return result_code(HandedIn(seed, round_, {kind: Tried(hints, answers)}))


@given(HANDED)
def test_what_a_learner_did_is_read_back_from_its_code(handed):
    assert read_codes(result_code(handed)) == ([handed], [])


@given(HANDED, st.data())
def test_a_code_with_one_changed_letter_is_refused(handed, data):
    code = result_code(handed)
    at = data.draw(st.integers(0, len(code) - 1))
    other = data.draw(st.characters(exclude_categories=["Cs", "Z", "Cc"], exclude_characters=code[at]))
    read, faults = read_codes(code[:at] + other + code[at + 1 :])
    assert read == []
    assert faults


def test_the_checksum_is_crc_32_as_published():
    # The check value of CRC-32 for the digits 1 to 9 is cbf43926 (ISO-HDLC in the catalogues of checksums).
    import zlib

    assert f"{zlib.crc32(b'123456789'):08x}" == "cbf43926"
    text, _, told = a_code("17.8").strip("()").rpartition(".")
    assert f"{zlib.crc32(text.encode()):08x}" == told


def test_codes_are_found_among_words_and_over_broken_lines():
    first, second = a_code("33.9"), a_code("1", seed=7)
    message = f"Hello, here is mine:\r\n> {first[:30]}\r\n {first[30:]}\n\nAna: {second}\nBye"
    read, faults = read_codes(message)
    # A mark of a quoted line inside a code would be a changed letter; blanks and line ends are none.
    assert [one.seed for one in read] == [ROBIN, 7]
    assert faults == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (a_code("33.9").replace("E1", "E2"), "no result code"),
        (a_code("33.9")[:-4] + "000)", "checksum does not fit"),
        (a_code("33.9")[:-5], "cut off"),
        (a_code("33.9")[5:], "cut off"),
        ("(hello)", "no result code"),
        ("x" * 1_000_001, "in parts"),
    ],
)
def test_a_code_that_cannot_be_read_is_refused_in_words(text, told):
    read, (fault,) = read_codes(text)
    assert read == []
    assert told in fault


@pytest.mark.parametrize(
    "handed",
    [
        HandedIn(-1, "practice", {}),
        HandedIn(1_000_000, "practice", {}),
        HandedIn(1, "poetry", {}),
        HandedIn(1, "practice", {"poetry": Tried(0, ())}),
        HandedIn(1, "practice", {"gib_shown": Tried(-1, ())}),
        HandedIn(1, "practice", {"gib_shown": Tried(0, ("x" * 61,))}),
        HandedIn(1, "practice", {"gib_shown": Tried(0, ("1",) * 51)}),
    ],
)
def test_a_code_of_what_is_not_known_here_is_refused_although_its_checksum_fits(handed):
    read, (fault,) = read_codes(result_code(handed))
    assert read == []
    assert "no exercise that is known" in fault


def test_answers_are_marked_anew_up_to_the_right_one_and_unread_ones_count_for_nothing():
    # 33.9 / 8 = 4.2: out by a factor of 8.
    marks = marks_of_codes(a_code("many", "4.2", "33,9 h", "5", hints=2), ["Robin"])
    assert [(one.learner, one.given, one.verdict, one.hints) for one in marks.marks] == [
        ("Robin", "4.2", "mistake", 2),
        ("Robin", "33,9 h", "right", 2),
    ]
    assert marks.notes == ()


def test_of_a_test_the_first_answer_counts():
    marks = marks_of_codes(a_code("0.5", "33.9", round_="before"), ["Robin"])
    assert [(one.number, one.given) for one in marks.marks] == [(901, "0.5")]


def test_a_seed_of_nobody_and_a_round_that_came_twice_are_told_and_the_last_counts():
    marks = marks_of_codes(a_code("4.2") + a_code("33.9") + a_code("33.9"), ["Ana"])
    assert [(one.learner, one.verdict) for one in marks.marks] == [(f"seed {ROBIN}", "right")]
    assert any("nobody in the list" in note for note in marks.notes)
    assert any("more than once" in note for note in marks.notes)
