"""What is refused is told beside the control that caused it."""

import pytest

from edgestore.checks import Fault, ValueFault
from edgestore.panels.as_html import FAULTS, faults_html
from edgestore.panels.controls import Control, File, Number
from edgestore.panels.refused import blamed, refusal_html


@pytest.fixture(scope="module")
def controls():
    specs = (
        Number("wanted_days", "Wanted", "days", 0.5, 90, 0.5, 7, ""),
        Number("most_days", "Most allowed", "days", 0, 180, 1, 0, ""),
        File("cameras", "Camera list", "lists/cameras.csv", ""),
        File("settings", "Settings", "lists/site.toml", ""),
        File("other", "Other settings", "other/site.toml", ""),
    )
    return {spec.name: Control(spec) for spec in specs}


@pytest.mark.parametrize(
    ("where", "control"),
    [
        ("wanted_days", "wanted_days"),  # an argument of the answer
        ("Most allowed", "most_days"),  # a number typed, told by its label
        ("cameras.csv, line 3, column camera", "cameras"),
        ("lists/cameras.csv", "cameras"),  # no such file
        ("camera 'gate', encoder_file 'gate.xml'", "cameras"),  # a file that the list names
        ("site.toml, [requirements] retention_days", "settings"),
        ("the other plan, site.toml, 'cost'", "other"),  # of two files with one name the later
        ("as_of", ""),
    ],
)
def test_a_fault_is_told_beside_the_control_that_holds_its_cause(controls, where, control):
    assert list(blamed([Fault(where, "x", "y")], controls)) == [control]


def test_a_file_handed_over_is_known_by_its_name_and_no_longer_by_the_path_typed(controls):
    control = controls["cameras"]
    control.put(("lists/cameras.csv", ("mine.csv", b"")))
    assert list(blamed([Fault("mine.csv, line 2", "x", "y")], controls)) == ["cameras"]
    assert list(blamed([Fault("cameras.csv, line 2", "x", "y")], controls)) == [""]
    control.put(("lists/cameras.csv", None))


def test_an_argument_that_is_held_against_another_is_told_by_the_labels_of_both(controls):
    (fault,) = blamed([ValueFault("wanted_days", "8", "at most most_days, 6")], controls)["wanted_days"]
    assert str(fault) == "Wanted: is 8; must be at most Most allowed, 6."


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("1 or more cards", "1 or more cards"),  # the word
        ("at most 'cards', 6", "at most Similar cameras, 6"),  # the argument
        ("the two cards' sum", "the two cards' sum"),
        ("at most most_days", "at most Most allowed"),
        ("(most_days)", "(Most allowed)"),
        ("below most_days.", "below Most allowed."),
        ("at most most_days_of_all", "at most most_days_of_all"),  # another name
        ("not in almost_days", "not in almost_days"),
        ("see most_days.csv", "see most_days.csv"),  # a file
        ("plans/most_days/x", "plans/most_days/x"),
        ("--most_days", "--most_days"),
    ],
)
def test_only_the_name_of_an_argument_is_told_by_its_label_and_no_word_that_reads_alike(controls, text, told):
    similar = {**controls, "cards": Control(Number("cards", "Similar cameras", "cards", 1, 1000, 1, 40, ""))}
    (fault,) = blamed([ValueFault("wanted_days", text, text, text)], similar)["wanted_days"]
    assert (fault.where, fault.found, fault.allowed, fault.mend) == ("Wanted", told, told, told)


def test_an_argument_whose_name_is_a_word_keeps_the_word_in_its_unit():
    cards = {"cards": Control(Number("cards", "Similar cameras", "cards", 1, 1000, 1, 40, ""))}
    (fault,) = blamed([ValueFault("cards", "1.5 cards", "a whole number of cards")], cards)["cards"]
    assert str(fault) == "Similar cameras: is 1.5 cards; must be a whole number of cards."


def test_of_many_faults_of_a_list_five_are_in_view_and_the_others_folded():
    html = faults_html([Fault(f"line {n}", "<x>", "y") for n in range(7)])
    shown, _, folded = html.partition("<details>")
    assert shown.count("<li>") == FAULTS == 5
    assert folded.count("<li>") == 2
    assert "<summary>2 more faults</summary>" in folded
    assert "&lt;x&gt;" in shown


def test_what_no_control_caused_is_told_above_the_answer_and_what_one_did_is_only_named_there():
    named = refusal_html(["Wanted"], [], has_answer=True)
    assert "Not used: Wanted. What you see is the answer for the last good settings." in named
    assert "alert" not in named
    told = refusal_html([], [Fault("as_of", "no day", "a day")], has_answer=False)
    assert "There is no answer yet." in told
    assert 'role="alert"' in told
    assert "as_of: found no day" in told
