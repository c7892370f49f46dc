"""Every panel: controls that say what they are, answers that move with them, and refusals that lose nothing."""

import os
import re
from datetime import datetime
from html import escape
from pathlib import Path

import ipywidgets as widgets
import numpy as np
import pandas as pd
import pytest

from edgestore.output import MANIFEST
from edgestore.panels import certainty as sure
from edgestore.panels import change as upkeep
from edgestore.panels import export, label, site
from edgestore.panels import flash_wear as flash
from edgestore.panels import footage as writes
from edgestore.panels import hold as holds
from edgestore.panels import life as lasts
from edgestore.panels import outage as saves
from edgestore.panels.controls import Choice, File, Number
from edgestore.panels.frame import Frame
from edgestore.panels.table import table_html
from edgestore.plan.tables import as_csv

MODULES = (export, flash, holds, label, lasts, saves, site, sure, upkeep, writes)
PANELS = [pytest.param(module.PANEL, id=module.__name__.split(".")[-1]) for module in MODULES]


@pytest.fixture(scope="module", params=PANELS)
def frame(request, of_two_cameras):
    """Give each panel once, to all tests that leave it as they found it; the site's with few cameras and cards."""
    return Frame(of_two_cameras(request.param))


def numbers(frame):
    """The number controls that are on the screen."""
    return {
        name: control
        for name, control in frame.controls.items()
        if isinstance(control.spec, Number) and control.row.layout.display != "none"
    }


def beside(frame, name):
    """What is told beside a control."""
    return frame.controls[name].row.children[-1].value


def test_slider_and_box_move_together_and_each_number_moves_the_answer(frame, held):
    before = frame.table.value, frame.picture.value, frame.remarks.value
    for at, (name, control) in enumerate(numbers(frame).items()):
        was = control.value
        box, slider, _ = control.row.children
        low, high = control.spec.low, control.spec.high
        end = high if was == low or (at % 2 and was != high) else low
        slider.value = end
        assert float(box.value) == control.value == pytest.approx(end)
        assert (frame.table.value, frame.picture.value, frame.remarks.value) != before, name
        with held(frame, control):
            box.value = f"{was}"  # no other is judged by what this one leaves, such as no card at all
        assert slider.value == pytest.approx(was)


def test_a_number_typed_between_two_steps_is_kept(frame):
    control = next(iter(numbers(frame).values()))
    between = (control.spec.low + control.spec.high) / 2 + control.spec.step / 4
    control.value = between
    assert control.value == between
    control.value = control.spec.default


def test_every_control_shows_its_label_its_unit_and_its_range(frame):
    for control in frame.controls.values():
        labelled, help_text = control.row.children[0], control.row.children[-1]
        assert control.spec.label in labelled.description
        assert escape(control.spec.help) in help_text.value
        if isinstance(control.spec, Number):
            assert control.spec.unit in labelled.description
            assert f"{control.spec.low:g} to {control.spec.high:g}" in help_text.value
            assert control.spec.low <= control.spec.default <= control.spec.high


def test_no_name_of_the_program_stands_in_the_head_of_the_table(frame):
    heads = re.findall(r"<th[^>]*>(.*?)</th>", frame.table.value)
    assert heads
    assert [head for head in heads if re.search(r"[a-z]_[a-z]", head)] == []


def test_every_choice_can_be_taken(frame):
    for control in frame.controls.values():
        if isinstance(control.spec, Choice):
            for word in sorted(control.spec.options, key=lambda word: word == control.spec.default):  # which stays
                control.value = word
                assert frame.refusal.value == ""
                assert frame.result is not None


def test_the_button_saves_the_tables_and_the_picture(frame, tmp_path):
    frame.folder.value = str(tmp_path / "out")
    frame.save.click()
    written = [path for path in (tmp_path / "out").iterdir() if path.name != MANIFEST]
    assert {path.suffix for path in written} == {".csv", ".png", ".svg"}
    assert all(str(path) in frame.saved.value for path in written)


def test_two_pictures_side_by_side_are_both_saved_and_an_svg_has_the_same_bytes_each_time():
    figure = holds.PANEL.figure(holds.PANEL.answer())
    files = holds.PANEL.files(holds.PANEL.answer(), [figure, figure])
    stem = "how_long_does_the_card_hold"
    pictures = {f"{stem}{beside}.{kind}" for beside in ("", "_beside") for kind in ("png", "svg")}
    assert set(files) == {f"{stem}.csv", *pictures}
    svg = files[f"{stem}.svg"]
    assert svg.startswith(b"<?xml")
    assert svg == files[f"{stem}_beside.svg"]
    assert b"<text" not in svg  # letters are outlines


def test_a_folder_that_cannot_be_written_to_is_told(frame, tmp_path):
    (tmp_path / "file").write_text("mine")
    frame.folder.value = str(tmp_path / "file")
    frame.save.click()
    told = "or one that the page" if frame.panel.own_folder else "a folder that can be written to"
    assert told in frame.saved.value
    assert (tmp_path / "file").read_text() == "mine"


def test_only_the_rows_of_the_chosen_kind_of_endurance_are_shown():
    frame = Frame(lasts.PANEL)
    frame.controls["endurance_kind"].value = "hours of recording"
    shown = {name for name, control in frame.controls.items() if control.row.layout.display != "none"}
    assert {"rated_h", "rated_mbit_s"} <= shown
    assert not {"pe_cycles", "write_amplification_low", "endurance_tbw"} & shown


def test_the_update_interval_decides_until_a_write_amplification_is_stated():
    frame = Frame(lasts.PANEL)
    frame.controls["write_amplification_high"].value = 2  # not shown, so that it does not count
    # 384 TB over 15.78 TB a year are 24.336 years; by unit over 920 / 155, an update every 5 s, it is 4.10
    assert frame.result.life_years == pytest.approx([24.336 * 155 / 920, 24.336], rel=1e-3)
    frame.controls["update_interval_s"].value = 60
    # 1665 pages between updates: 24.336 over (1665 + 768) / 1668
    assert frame.result.life_years == pytest.approx([24.336 * 1668 / 2433, 24.336], rel=1e-3)
    frame.controls["endurance_kind"].value = lasts.STATED
    assert frame.result.life_years == pytest.approx([24.336 / 2, 24.336], rel=1e-3)


def test_a_stated_write_amplification_narrows_how_sure_we_are():
    frame = Frame(sure.PANEL)
    before = frame.result.chance
    frame.controls["write_amplification_high"].value = 1.5
    assert frame.result.chance == before
    frame.controls["amplification"].value = sure.STATED
    assert frame.result.chance > before


def test_a_refused_input_is_told_and_the_next_good_one_is_answered():
    frame = Frame(lasts.PANEL)
    frame.controls["endurance_kind"].value = lasts.STATED
    frame.controls["write_amplification_low"].value = 8
    assert "Not used: Write amplification, at best." in frame.refusal.value
    assert "must be at most Write amplification, at worst, 6" in beside(frame, "write_amplification_low")
    assert frame.save.disabled
    frame.controls["write_amplification_low"].value = 2
    assert "Lasts" in frame.sentence.value
    assert frame.refusal.value == ""
    assert not frame.save.disabled


def test_a_list_handed_over_by_the_browser_is_planned(of_two_cameras):
    frame = Frame(of_two_cameras(site.PANEL))
    hand_over(frame, "mine.csv", b"camera,cap_mbit_s\nMy <b>gate</b>,2\n")
    assert len(frame.result.plan) == 1
    assert "My &lt;b&gt;gate" in frame.table.value


def test_a_list_that_names_files_is_to_be_given_by_its_path(of_two_cameras):
    frame = Frame(of_two_cameras(site.PANEL))
    hand_over(frame, "mine.csv", b"camera,encoder_file\ngate,gate.xml\n")
    assert "Give the path of the list instead of the list itself" in beside(frame, "cameras")


def test_a_list_with_faults_is_told_fault_by_fault(of_two_cameras):
    frame = Frame(of_two_cameras(site.PANEL))
    hand_over(frame, "mine.csv", b"camera,cap_mbit_s\ngate,-2\ngate,x\n")
    assert beside(frame, "cameras").count("<li>") == 3
    assert "mine.csv" in beside(frame, "cameras")


def test_a_path_typed_after_a_handed_over_list_wins(of_two_cameras):
    frame = Frame(of_two_cameras(site.PANEL))
    whole = len(frame.result.plan)
    hand_over(frame, "mine.csv", b"camera,cap_mbit_s\ngate,2\n")
    frame.controls["cameras"].value = (
        str(Path(frame.controls["cameras"].spec.default).parent / "." / "cameras.csv") + " "
    )
    frame.controls["cameras"].value = frame.controls["cameras"].spec.default
    assert len(frame.result.plan) == whole


def hand_over(frame, name, content):
    assert isinstance(frame.controls["cameras"].spec, File)
    upload = next(w for w in frame.controls["cameras"].row.children if isinstance(w, widgets.FileUpload))
    file = {"name": name, "type": "text/csv", "size": len(content), "content": memoryview(content)}
    upload.value = ({**file, "last_modified": datetime(2026, 1, 1)},)


def test_a_list_that_changes_on_the_disk_is_read_anew(of_two_cameras, tmp_path):
    path = tmp_path / "mine.csv"
    path.write_text("camera,cap_mbit_s\ngate,2\n")
    frame = Frame(of_two_cameras(site.PANEL))
    frame.controls["cameras"].value = str(path)
    path.write_text("camera,cap_mbit_s\ngate,2\nyard,3\n")
    os.utime(path, (1, 1))
    frame.controls["life_years"].value = 2
    assert len(frame.result.plan) == 2


def test_a_table_tells_no_life_above_ten_years_and_keeps_the_number_for_the_file():
    table = pd.DataFrame({"life_years": [4.0563, 24.34, np.nan], "endurance_tbw": [64.0, 384.0, 1.0]})
    html = table_html(table)
    assert "<td>4.1</td>" in html  # as the headline tells it
    assert "<td>more than 10</td>" in html
    assert "24.3" not in html
    assert "nan" not in html
    assert "<td>384</td>" in html
    assert b"24.34" in as_csv(table)
