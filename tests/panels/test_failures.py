"""A failure of the program in a panel never leaves an old answer on the screen."""

from dataclasses import replace

import pytest

from edgestore.answers.hold import holding
from edgestore.figures.hold import HoldsFigure
from edgestore.panels import hold as holds
from edgestore.panels import proposal as proposals
from edgestore.panels.frame import Frame


def failing(**values):
    if values["wanted_days"] == 13:
        raise ZeroDivisionError("division of <b> by zero")
    return holding(**values)


class Breaking(HoldsFigure):
    broken = False

    def update(self, answer):
        if self.broken:
            raise RuntimeError("the pen broke")
        super().update(answer)


def assert_told(frame, what):
    assert "the program failed" in frame.sentence.value
    assert what in frame.sentence.value
    assert "reload the page" in frame.sentence.value
    assert frame.result is None
    assert frame.save.disabled
    assert frame.remarks.value == frame.table.value == ""
    assert frame.picture.layout.visibility == "hidden"


def test_an_error_of_the_answer_blanks_it_and_says_what_happened_and_what_to_do():
    frame = Frame(replace(holds.PANEL, answer=failing))
    answer = frame.sentence.value
    frame.controls["wanted_days"].value = 13
    assert_told(frame, "ZeroDivisionError: division of &lt;b&gt; by zero")
    frame.controls["wanted_days"].value = 7
    assert frame.sentence.value == answer
    assert not frame.save.disabled


def test_an_error_of_the_picture_blanks_the_answer_and_the_next_picture_is_drawn_anew(monkeypatch):
    frame = Frame(replace(holds.PANEL, figure=Breaking))
    monkeypatch.setattr(Breaking, "broken", True)
    frame.controls["wanted_days"].value = 9
    assert_told(frame, "RuntimeError: the pen broke")
    monkeypatch.setattr(Breaking, "broken", False)
    frame.controls["wanted_days"].value = 7
    assert frame.result is not None


def test_an_error_at_the_start_shows_the_panel_and_says_so():
    def never(**_):
        raise KeyError("gone")

    assert_told(Frame(replace(holds.PANEL, answer=never)), "KeyError")


def test_an_error_while_saving_is_told(tmp_path):
    def broken(_):
        raise MemoryError("full")

    frame = Frame(replace(holds.PANEL, tables=broken))
    frame.folder.value = str(tmp_path / "out")
    frame.save.click()
    assert_told(frame, "MemoryError: full")
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("step", ["page", "pack"])
def test_an_error_of_the_document_or_the_pack_is_told(step, two_cameras, monkeypatch, tmp_path):
    frame = proposals.proposal_panel()
    frame.folder.value = str(tmp_path / "pack")

    def broken(*_, **__):
        raise RecursionError("too deep")

    monkeypatch.setattr(proposals, step, broken)
    if step == "page":
        frame.controls["life_years"].value = 4
    else:
        frame.save.click()
    assert_told(frame, "RecursionError: too deep")
    assert frame.document.value == frame.link.value == ""
    assert not (tmp_path / "pack").exists()
