"""What a panel says beside its answer: three warnings in view, the others and the assumptions folded."""

from edgestore.panels.as_html import answer_html, remarks_html, shown_and_rest


def test_the_first_sentence_of_an_answer_is_the_loud_one():
    html = answer_html("Holds 3.4 days at 1.8 Mbit/s. The <scene> decides.")
    assert html == "<p><strong>Holds 3.4 days at 1.8 Mbit/s.</strong> The &lt;scene&gt; decides.</p>"
    assert answer_html("Lasts 4 years.") == "<p><strong>Lasts 4 years.</strong></p>"


def before_and_in_the_fold(html):
    """What is in view, and what is folded."""
    shown, _, folded = html.partition("<details>")
    return shown, folded


def test_the_three_worst_warnings_are_in_view_and_four_more_are_folded():
    shown, folded = before_and_in_the_fold(remarks_html([f"w{n}" for n in range(7)], []))
    assert [f"w{n}" in shown for n in range(7)] == [True] * 3 + [False] * 4
    assert [f"w{n}" in folded for n in range(7)] == [False] * 3 + [True] * 4
    assert "<summary>4 more warnings</summary>" in folded


def test_one_warning_beyond_the_third_is_told_in_the_singular():
    assert "<summary>1 more warning</summary>" in remarks_html(["a", "b", "c", "d"], [])


def test_three_warnings_need_no_fold():
    assert "<details>" not in remarks_html(["a", "b", "c"], [])


def test_assumptions_are_folded_and_every_text_is_escaped():
    shown, folded = before_and_in_the_fold(remarks_html(["<b>"], ["<i>"]))
    assert "&lt;b&gt;" in shown
    assert "&lt;i&gt;" in folded
    assert "<summary>Assumptions</summary>" in folded


def test_nothing_is_said_where_there_is_nothing_to_say():
    assert remarks_html([], []) == ""


def test_a_long_answer_shows_whole_sentences_of_forty_words_after_the_first_and_folds_the_rest():
    first, twenty, twenty_one = "It holds 3.4 days.", f"A{' word' * 19}.", f"B{' word' * 20}."
    assert shown_and_rest(f"{first} {twenty} {twenty} {twenty_one}") == ([first, twenty, twenty], [twenty_one])
    assert shown_and_rest(f"{first} {twenty_one} {twenty}") == ([first, twenty_one], [twenty])
    assert shown_and_rest(first) == ([first], [])
    assert twenty_one not in answer_html(f"{first} {twenty} {twenty} {twenty_one}")
    folded = remarks_html([], [], [twenty_one])
    assert folded == f"<details><summary>More of the answer</summary><ul><li>{twenty_one}</li></ul></details>"
