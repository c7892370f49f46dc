"""The panels on one card in one camera: each number moves the answer, and both follow the endurance that is stated."""

import html

import pytest

from edgestore.panels.controls import Number
from edgestore.panels.frame import Frame
from edgestore.panels.one_card import CHANCES, CHANGE
from edgestore.plan.one_card import CYCLES_KIND


@pytest.mark.parametrize("panel", [CHANCES, CHANGE], ids=["chances", "change"])
def test_every_number_moves_the_picture_or_the_table(panel, held):
    frame = Frame(panel)
    start = bytes(frame.picture.value), frame.table.value
    for name, control in frame.controls.items():
        if isinstance(control.spec, Number) and control.row.layout.display != "none":
            was, shown = control.value, start
            for value in {control.spec.low, control.spec.high} - {was}:
                if shown == start:  # one of the ends is enough
                    control.value = value
                    shown = bytes(frame.picture.value), frame.table.value
            assert shown != start, name
            with held(frame, control):
                control.value = was


@pytest.mark.parametrize("panel", [CHANCES, CHANGE], ids=["chances", "change"])
def test_cycles_in_place_of_terabytes_are_asked_for_with_the_interval_of_updates(panel):
    frame = Frame(panel)
    before = frame.picture.value
    frame.controls["endurance_kind"].value = CYCLES_KIND
    shown = {name for name, control in frame.controls.items() if control.row.layout.display != "none"}
    assert {"pe_cycles", "update_interval_s"} <= shown
    assert "endurance_tbw" not in shown
    assert frame.picture.value != before


def test_the_pictures_say_in_words_what_they_show():
    chances, change = Frame(CHANCES), Frame(CHANGE)
    assert "the card works as long as asked: 9" in chances._figure.alt_text()
    assert change._figure.alt_text().endswith(change.result.sentence)


@pytest.mark.parametrize(
    ("name", "value", "beside", "told"),
    [
        (
            "mean_mbit_s",
            32,
            "mean_mbit_s",
            "Mean rate of the camera: is 32 Mbit/s; must be at most Cap of the camera, 4 Mbit/s."
            " Fix: Lower the mean, or raise the cap.",
        ),
        (
            "capacity_gb",
            8,
            "endurance_tbw",
            "Endurance of the card: is 2000 TB; must be at most 1 600 TB for a card of 8 GB, 200 000 times its size."
            " Fix: Lower the endurance, or take a larger card.",
        ),
    ],
)
def test_a_number_that_cannot_be_is_told_by_the_name_of_its_slider_and_no_list_is_named(name, value, beside, told):
    frame = Frame(CHANCES)
    frame.controls["endurance_tbw"].value = 2000
    frame.controls[name].value = value
    shown = html.unescape(frame.controls[beside].row.children[-1].value.partition("<small>")[0]).replace(
        "\N{NO-BREAK SPACE}", " "
    )
    assert told in shown
    assert not any(word in shown for word in ("list", "line", "column", "_"))
