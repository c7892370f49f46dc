"""The answer first, then the controls that decide most; the others fold, and open where one of them is refused."""

from io import BytesIO

import pytest
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
    assert len(fold.inside.children) == len(hold.PANEL.inputs) - len(rows)
    assert fold.inside.layout.display == "none"
    fold.button.value = True
    assert fold.inside.layout.display == ""


def test_the_files_of_a_site_fold_on_their_own(of_two_cameras):
    frame = Frame(of_two_cameras(site.PANEL))
    by_label = {fold.button.description: fold for fold in frame.children[0].children[1].children[-3:-1]}
    assert labels(by_label[LISTS].inside.children) == ["Camera list", "Cards on offer", "Settings"]


def test_a_fold_opens_where_a_control_in_it_is_refused():
    frame = Frame(hold.PANEL)
    fold = frame.children[0].children[1].children[-2]
    frame.controls["usable_fraction"].value = 2
    assert fold.button.value
    assert fold.inside.layout.display == ""


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
