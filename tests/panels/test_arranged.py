"""The answer first, then the controls that decide most; the others fold, and open where one of them is refused."""

from io import BytesIO

import ipywidgets as widgets
import pytest
from ipywidgets.widgets.widget import _instances
from PIL import Image, ImageColor

from edgestore.look import DARK, LIGHT
from edgestore.panels import (
    certainty,
    change,
    first,
    flash_wear,
    footage,
    happened,
    hold,
    life,
    one_card,
    outage,
    proposal,
    site,
    visits,
    what_if,
)
from edgestore.panels.arranged import LISTS, MORE
from edgestore.panels.frame import ON_DARK, Frame
from edgestore.panels.shared import shared

MODULES = (certainty, change, first, flash_wear, footage, happened, hold, life, outage, proposal, site, visits, what_if)
PANELS = [*(module.PANEL for module in MODULES), one_card.CHANCES, one_card.CHANGE]


@pytest.mark.parametrize("panel", PANELS, ids=lambda panel: panel.question)
def test_each_panel_names_two_or_three_of_its_inputs_as_those_that_decide_most(panel):
    names = [spec.name for spec in panel.inputs]
    assert 2 <= len(panel.main) <= 3
    assert len({*panel.main}) == len(panel.main)
    assert {*panel.main} <= {*names}


def labels(rows):
    return [row.children[0].description for row in rows]


def test_the_answer_comes_first_then_what_decides_most_and_the_rest_is_folded():
    frame = Frame(hold.PANEL)
    shown, asked, said = frame.children[0].children
    assert list(shown.children) == [frame.refusal, frame.sentence, frame.picture, frame.room]
    assert said is frame.remarks
    *rows, fold, steps = asked.children
    assert steps is frame.steps
    assert labels(rows) == ["Card's capacity, GB", "Cap of the encoder, Mbit/s", "Wanted, days"]
    assert fold.button.description == MORE
    assert fold.inside.layout.display == "none"
    assert fold.inside.children == ()  # made when it is opened: a page need not fetch what nobody looks at
    fold.button.value = True
    assert len(fold.inside.children) == len(hold.PANEL.inputs) - len(rows)
    assert fold.inside.layout.display == ""


def test_the_files_of_a_site_fold_on_their_own(of_two_cameras):
    frame = Frame(of_two_cameras(site.PANEL))
    by_label = {fold.button.description: fold for fold in frame.children[0].children[1].children[-3:-1]}
    by_label[LISTS].unfold()
    assert labels(by_label[LISTS].inside.children) == ["Camera list", "Cards on offer", "Settings"]


def test_a_fold_opens_where_a_control_in_it_is_refused():
    frame = Frame(hold.PANEL)
    fold = frame.children[0].children[1].children[-2]
    control = frame.controls["usable_fraction"]
    control.value = 2
    assert fold.button.value
    assert fold.inside.layout.display == ""
    assert control.row in fold.inside.children
    assert (control.row.children[0].value, "Not used" in control.row.children[-1].value) == ("2", True)


def test_a_control_in_a_closed_fold_is_moved_and_shows_what_it_holds_when_it_is_opened():
    frame = Frame(hold.PANEL)
    control, before = frame.controls["recorded_fraction"], frame.sentence.value
    control.value = 0.5
    assert frame.sentence.value != before
    frame._folds[MORE].unfold()
    box, slider, _ = control.row.children
    assert (box.value, slider.value) == ("0.5", 0.5)
    box.value = "0.6"
    assert (control.value, slider.value) == (0.6, 0.6)
    frame.steps.reset.click()
    assert (box.value, slider.value) == ("1", 1)


def test_widgets_alike_share_layout_and_style_and_a_row_that_hides_has_a_layout_of_its_own():
    frame = Frame(life.PANEL)
    frame._folds[MORE].unfold()
    rows = {name: control.row for name, control in frame.controls.items()}
    boxes = [row.children[0] for row in rows.values() if isinstance(row.children[0], widgets.Text)]
    assert len({box.style.model_id for box in boxes}) == len({box.layout.model_id for box in boxes}) == 1
    hiding = [rows[spec.name].layout for spec in life.PANEL.inputs if spec.shown_when]
    others = [rows[spec.name].layout for spec in life.PANEL.inputs if not spec.shown_when]
    assert len({layout.model_id for layout in hiding}) == len(hiding)
    assert len({layout.model_id for layout in others}) == 1
    assert not {layout.model_id for layout in hiding} & {layout.model_id for layout in others}


@pytest.mark.parametrize("panel", [hold.PANEL, life.PANEL, outage.PANEL], ids=lambda panel: panel.question)
def test_a_page_makes_at_most_55_widgets_a_panel_before_a_fold_is_opened(panel, monkeypatch):
    monkeypatch.setenv("SERVER_SOFTWARE", "voila")
    widgets.Widget.close_all()
    Frame(panel)
    assert len(_instances) <= 55  # it was 140 to 261, at some 2 ms of the browser each


def test_a_layout_that_was_closed_is_made_anew():
    one = shared(widgets.HTML)
    widgets.Widget.close_all()
    other = shared(widgets.HTML)
    assert other.layout.comm is not None
    assert other.layout is not one.layout


def test_a_fold_opens_where_the_model_refuses_a_number_in_it():
    frame = Frame(life.PANEL)
    frame.controls["endurance_kind"].value = life.STATED
    frame.controls["write_amplification_low"].value = 8  # above the high one, 6
    assert frame.children[0].children[1].children[-2].button.value


def size(picture):
    return Image.open(BytesIO(picture.value)).size


def test_the_picture_is_drawn_for_the_room_that_the_page_says_it_has():
    frame = Frame(hold.PANEL)
    wide, sentence = size(frame.picture), frame.sentence.value
    frame.room.value = "344"
    assert frame.picture.layout.width == "344px"
    assert size(frame.picture)[0] == 2 * 344  # two dots of a phone for a pixel of the page
    frame.controls["capacity_gb"].value = 128
    assert size(frame.picture)[0] == 2 * 344
    frame.room.value = "760"
    assert size(frame.picture) == wide
    assert frame.sentence.value != sentence


def test_a_room_told_while_an_input_is_refused_counts_for_the_last_good_picture_and_the_next():
    frame = Frame(hold.PANEL)
    frame.controls["capacity_gb"].value = 1e9
    frame.room.value = "344"
    assert frame.picture.layout.width == "344px"
    assert frame.refusal.value  # the last good picture, still marked as that
    frame.controls["capacity_gb"].value = 64
    assert frame.picture.layout.width == "344px"
    assert frame.refusal.value == ""


def test_a_picture_saved_on_a_phone_is_the_wide_one(tmp_path):
    frame = Frame(hold.PANEL)
    wide = frame.picture.value
    frame.room.value = "344"
    frame.folder.value = str(tmp_path / "out")
    frame.save.click()
    assert next((tmp_path / "out").glob("*.png")).read_bytes() == wide


def test_a_page_on_a_dark_ground_gets_dark_pictures_and_saves_light_ones(tmp_path):
    frame = Frame(hold.PANEL)
    light = bytes(frame.picture.value)
    frame.room.value = "760 dark"
    assert frame.picture.value != light
    assert ON_DARK in frame._dom_classes
    ground = Image.open(BytesIO(frame.picture.value)).convert("RGB").getpixel((2, 2))
    assert ground == ImageColor.getrgb(DARK["ground"])
    frame.folder.value = str(tmp_path / "out")
    frame.save.click()
    saved = [Image.open(file).convert("RGB").getpixel((2, 2)) for file in tmp_path.rglob("*.png")]
    assert saved == [ImageColor.getrgb(LIGHT["ground"])]
    frame.room.value = "760"
    assert frame.picture.value == light
