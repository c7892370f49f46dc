"""The picture of a moved slider comes first; what takes longer follows when no control has moved for a while."""

import asyncio
from dataclasses import replace

import pytest

from edgestore.panels import frame as frames
from edgestore.panels import site
from edgestore.panels.frame import OLD, Frame
from edgestore.plan import site_plan as plans


@pytest.fixture
def planned(monkeypatch):
    """Count the plans that are made."""
    made = []
    monkeypatch.setattr(site, "site_plan", lambda *inputs: made.append(inputs) or plans.site_plan(*inputs))
    return made


async def in_view(frame):
    """Say what a page says when it shows the table's place, and let the panel answer."""
    frame.table._view_count = 1
    await asyncio.sleep(frames.PAUSE_S + 0.05)
    return frame


def test_a_panel_is_in_view_with_picture_and_sentence_before_it_has_planned(planned, of_two_cameras):
    async def opened():
        frame = Frame(of_two_cameras(site.PANEL))
        assert "assured" in frame.sentence.value
        assert frame.picture.value
        assert (planned, frame.result, frame.table.value) == ([], None, "")
        await in_view(frame)
        assert len(planned) == 1
        assert frame.result is not None
        assert frame.table.value
        assert not frame.save.disabled

    asyncio.run(opened())


def test_while_the_slider_moves_only_the_picture_is_made_and_then_one_answer(planned, monkeypatch):
    monkeypatch.setattr(frames, "PAUSE_S", 0.05)

    async def moved():
        frame = await in_view(Frame(site.PANEL))  # of which each of these assurances chooses other cards
        frame.controls["settings"].value = str(site.DATA / "ferry_terminal" / "site.toml")
        await asyncio.sleep(0.2)
        assert frame.result is not None
        planned.clear()
        pictures, table = {frame.picture.value}, frame.table.value
        for percent in (60, 92, 50):
            frame.controls["assurance"].value = percent
            pictures.add(frame.picture.value)
            assert frame.result is None
            assert frame.save.disabled  # what is saved would not be what the picture shows
            assert OLD in frame.table._dom_classes
        assert (len(pictures), len(planned)) == (4, 0)
        assert frame.table.value == table
        assert "assured" in frame.sentence.value
        await asyncio.sleep(0.2)
        assert len(planned) == 1
        assert frame.table.value != table
        assert OLD not in frame.table._dom_classes
        assert not frame.save.disabled
        assert frame.result.site.requirements.assurance == 0.5

    asyncio.run(moved())


def test_an_input_refused_while_an_answer_is_to_come_leaves_the_last_whole_answer(planned, monkeypatch, of_two_cameras):
    monkeypatch.setattr(frames, "PAUSE_S", 0.05)

    async def moved():
        frame = await in_view(Frame(of_two_cameras(site.PANEL)))
        whole = frame.sentence.value, bytes(frame.picture.value), frame.table.value
        planned.clear()
        frame.controls["assurance"].value = 60
        frame.controls["cards"].value = "none.csv"
        await asyncio.sleep(0.2)
        assert planned == []
        assert frame.result is None
        assert "none.csv" in frame.controls["cards"].row.children[-1].value
        assert (frame.sentence.value, bytes(frame.picture.value), frame.table.value) == whole  # not of 60 %
        assert OLD not in frame.table._dom_classes

    asyncio.run(moved())


def test_an_answer_that_fails_late_is_told(monkeypatch, of_two_cameras):
    monkeypatch.setattr(frames, "PAUSE_S", 0.01)

    def broken(*_):
        raise ZeroDivisionError("late")

    async def moved():
        frame = await in_view(Frame(of_two_cameras(site.PANEL)))
        monkeypatch.setattr(site, "site_plan", broken)
        frame.controls["assurance"].value = 60
        await asyncio.sleep(0.1)
        assert "ZeroDivisionError: late" in frame.sentence.value
        assert frame.picture.layout.visibility == "hidden"

    asyncio.run(moved())


def test_beside_the_cards_stands_the_cost_against_the_assurance_with_the_point_asked(of_two_cameras):
    frame = Frame(replace(of_two_cameras(site.PANEL), beside=site.PANEL.beside))
    before = frame.picture_beside.value
    assert before
    frame.controls["assurance"].value = 60
    assert frame.picture_beside.value != before
    assert "against the assurance" in frame.caption.value
