"""The page of what happened: the answers beside the camera list, the table and the cameras chosen, what is saved."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from onvif_answers import SAVED, soap, summary, timedelta, write

from edgestore.figures.happened import MARKS, HappenedFigure
from edgestore.panels import happened
from edgestore.panels.controls import File
from edgestore.panels.frame import Frame
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.what_happened import ALL, WRONG, what_happened


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    (folder / "cameras.csv").write_text("camera,mean_mbit_s,cap_mbit_s\nGate,2,4\nQuay,2,8\n")
    (folder / "cards.csv").write_text("card,capacity_gb,speed_class,endurance_tbw\nsmall,100,V30,60\n")
    (folder / "log.csv").write_text("camera,card,fitted\nGate,small,2025-01-01\nQuay,small,2025-01-01\n")
    (folder / "site.toml").write_text('[service]\nlog = "log.csv"\nas_of = 2026-11-20\n')
    hours = {"Gate": 110, "Quay": 40}  # 100 GB at 2 Mbit/s are 111 h
    files = {f"{name}.xml": soap(summary(SAVED - timedelta(hours=of), SAVED)) for name, of in hours.items()}
    write(folder / "answers" / "2026-11-20", files)
    return folder


def opened(folder):
    paths = {"cameras": "cameras.csv", "cards": "cards.csv", "settings": "site.toml"}
    own = [
        replace(one, default=str(folder / paths[one.name])) if isinstance(one, File) else one
        for one in happened.PANEL.inputs
    ]
    return Frame(replace(happened.PANEL, inputs=tuple(own)))


def test_the_answers_beside_the_list_are_held_against_the_plan(folder):
    frame = opened(folder)
    assert "1 did as planned, 1 did not (shorter 1)." in frame.sentence.value
    assert "Begin with Quay: rate higher" in frame.sentence.value
    assert list(frame.result.table["Camera"]) == ["Quay", "Gate"]  # the most urgent first
    frame.controls["of_cameras"].value = WRONG
    assert list(frame.result.table["Camera"]) == ["Quay"]
    frame.controls["of_cameras"].value = ALL
    frame.controls["shown"].value = "what was learnt of the rates"
    assert list(frame.result.table.columns) == [
        "Camera",
        "Mean expected before the answers, Mbit/s",
        "Mean expected now, Mbit/s",
        "Learnt",
    ]
    saved = happened.PANEL.files(frame.result, ())
    assert set(saved) == {"what_happened.csv", "rates_learnt.csv", "cards_learnt.csv"}
    assert saved["what_happened.csv"].decode().count("\n") == 3


def test_another_band_moves_the_picture_that_is_drawn_and_reads_nothing_again(folder, monkeypatch):
    frame = opened(folder)
    figure = frame._figure
    axes = figure.figure.axes[0]
    narrow = frame.controls["band"].value = 50
    widths = [width_of_bands(figure)]
    monkeypatch.setattr(happened, "what_happened", None)  # it is not called
    frame.controls["band"].value = 99
    widths.append(width_of_bands(figure))
    assert narrow == 50
    assert frame._figure.figure.axes[0] is axes
    assert (widths[1] > widths[0]).all()


def width_of_bands(figure):
    """Length of each band, in the logarithm of days."""
    return np.array([np.log(end[0] / begin[0]) for begin, end in figure._bands.get_segments()])


def test_without_answers_the_page_says_so(folder, tmp_path):
    for name in ("cameras.csv", "cards.csv", "log.csv", "site.toml"):
        (tmp_path / name).write_text((folder / name).read_text())
    frame = opened(tmp_path)
    assert "None of 2 cameras has saved answers" in frame.sentence.value


def test_the_mark_of_a_camera_with_gaps_is_at_the_days_that_it_would_hold_without_them():
    # The demo's Ramp foot: 130 h with six gaps of 5.75 h hold 95.5 h, 3.98 days; its footage goes back 5.4 days.
    data = Path(happened.__file__).parents[2] / "data"
    site = data / "ferry_terminal"
    plan = site_plan(read_lists(site / "cameras.csv", data / "cards.csv", site / "site.toml"), with_reasons=False)
    told = what_happened(plan, site / "answers")
    of = next(of for of in told.held if of.camera == "Ramp foot")
    assert of.achieved.hours == 130
    assert of.retention_h == pytest.approx(130 - 6 * 5.75)
    (x,), _ = HappenedFigure(told)._marks["gaps"].get_data()
    assert x == pytest.approx(95.5 / 24)


def test_the_key_of_all_verdicts_at_once_lies_within_the_picture(monkeypatch):
    data = Path(happened.__file__).parents[2] / "data"
    site = data / "ferry_terminal"
    plan = site_plan(read_lists(site / "cameras.csv", data / "cards.csv", site / "site.toml"), with_reasons=False)
    monkeypatch.setattr(HappenedFigure, "_keyed", lambda self, rows: tuple(MARKS))
    figure = HappenedFigure(what_happened(plan, site / "answers")).figure
    figure.draw_without_rendering()
    [axes] = figure.axes
    key, within = axes.get_legend().get_window_extent(), figure.bbox
    assert within.x0 <= key.x0 < key.x1 <= within.x1
    first_row = axes.transData.transform((axes.get_xlim()[0], -0.5))[1]
    assert key.y0 >= first_row  # nothing of a camera is behind it
