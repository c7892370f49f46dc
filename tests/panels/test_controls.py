"""A control by itself: what is typed stays as it was typed."""

import pytest

from edgestore.panels.controls import Choice, Control, Number


@pytest.mark.parametrize(("step", "snapped", "next_stop"), [(1, 8, 9), (5, 10, 15)])
def test_a_number_typed_between_two_stops_of_the_slider_stays(step: float, snapped: float, next_stop: float) -> None:
    """A page puts its slider on the next stop and tells so: 7,5 became 8, and with stops of 5 it became 10."""
    control = Control(Number("days", "Wanted", "days", 0, 90, step, 0, "How far back."))
    box, slider, _ = control.row.children
    box.value = "7,5"
    slider.value = snapped
    assert (box.value, control.value) == ("7,5", 7.5)
    slider.value = next_stop
    assert control.value == next_stop


def test_a_choice_may_show_more_words_than_it_holds():
    choice = Choice("kinds", "Kinds", ("site", "2"), "site", "", words={"site": "one for the whole site"})
    control = Control(choice)
    box = control.row.children[0]
    assert [label for label, _ in box.options] == ["one for the whole site", "2"]
    box.label = "2"
    assert control.value == "2"


def test_what_a_page_says_back_with_a_rounding_error_is_no_move():
    """A page made its slider at 4 days and said 3.9999999999999996, after its address had asked for 20: 4 came back."""
    control = Control(Number("days", "Wanted", "days", 0.5, 90, 0.5, 4, "How far back."))
    box, slider, _ = control.row.children
    box.value = "20"
    slider.value = 3.9999999999999996
    slider.value = 19.999999999999996
    assert (box.value, slider.value) == ("20", 19.999999999999996)
    slider.value = 3.9999999999999996  # said back once: this is a move
    assert control.value == 4
