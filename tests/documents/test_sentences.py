"""Sentences of a plan in another language: what a pattern is told of, and what stays as it was."""

import pytest

from edgestore.documents.sentences import Sentences

PATTERNS = (
    ("sentence", "No card serves {names}", "Keine Karte bedient {names}"),
    ("sentence", "Replace {n} of {n2}: {names}", "{n} von {n2} zu ersetzen: {names}"),
    ("sentence", "Ask for {what}", "{what} verlangen"),
    ("sentence", "No cap is known of {names}", "Keine Obergrenze bekannt bei {names:weiteren}"),
    ("part", "{n} more", "{n} weitere"),
    ("part", "and", "und"),
    ("part", "{camera} on {date}", "{camera} am {date}"),
)
GERMAN = Sentences(PATTERNS, lambda text: text.replace(".", ","), lambda day: ".".join(reversed(day.split("-"))))


def told(text, names=()):
    return list(GERMAN.of(text, names))


def test_a_list_of_names_has_its_conjunction_in_the_language_and_keeps_its_names():
    # The names hold a conjunction, a full stop and a decimal point.
    names = ["Lock and dock", "Dr. Quay", "Gate 1.5"]
    assert told("No card serves Lock and dock, Dr. Quay, Gate 1.5 and 3 more.", names) == [
        ("Keine Karte bedient Lock and dock, Dr. Quay, Gate 1.5 und 3 weitere.", True)
    ]


def test_a_list_that_is_cut_short_has_the_ending_that_its_place_asks_for():
    # After the preposition "bei" stands the dative: "bei 3 weiteren"; a name that is such a word stays.
    assert told("No cap is known of weitere, Gate and 3 more", ["weitere", "Gate"]) == [
        ("Keine Obergrenze bekannt bei weitere, Gate und 3 weiteren", True)
    ]
    assert told("No cap is known of Gate", ["Gate"]) == [("Keine Obergrenze bekannt bei Gate", True)]


def test_figures_and_dates_are_written_as_the_language_does():
    assert told("Replace 2.5 of 1\N{NO-BREAK SPACE}007: Gate on 2027-01-19.", ["Gate"]) == [
        ("2,5 von 1\N{NO-BREAK SPACE}007 zu ersetzen: Gate am 19.01.2027.", True)
    ]


def test_a_sentence_without_a_pattern_stays_as_it_was_beside_one_that_has_one():
    assert told("No card serves Gate. Wait until 2027.", ["Gate"]) == [
        ("Keine Karte bedient Gate.", True),
        ("Wait until 2027.", False),
    ]


@pytest.mark.parametrize("text", ["Ask for a card of another maker", "Gate is closed on 2027-01-19"])
def test_a_sentence_of_which_words_would_stay_english_is_not_told_in_part(text):
    assert told(text) == [(text, False)]


def test_a_value_reaches_over_no_end_of_a_sentence():
    assert told("No card serves Gate. No card serves Quay.", ["Gate", "Quay"]) == [
        ("Keine Karte bedient Gate.", True),
        ("Keine Karte bedient Quay.", True),
    ]
