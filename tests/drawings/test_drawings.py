"""Every drawing of the fitting guide says what it shows, stays in its pane, and is told without colour."""

import re
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch

from edgestore import look
from edgestore.drawings.card import CARD_MM, CONTACTS, card_drawings, card_outline
from edgestore.drawings.closing import CROSSWISE, closing_drawings
from edgestore.drawings.facings import facing_drawing
from edgestore.drawings.housings import housing_drawings
from edgestore.drawings.parts import HIGH, PANE_INCH, WIDE, WORDS_PT, Strip
from edgestore.drawings.slots import slot_drawings
from edgestore.drawings.turned import turned, turned_by
from edgestore.inputs.camera_list import HOUSINGS

FACINGS = ("towards you", "sideways", "down", "up", "hidden")
SLOTS = ("hinged metal latch", "push-to-lock", "slide-in")
DRAWINGS = {
    **{f"card {at}": drawing for at, drawing in enumerate(card_drawings())},
    **{f"closing {drawing.title}": drawing for drawing in closing_drawings()},
    **{f"{slot} {drawing.title}": drawing for slot in SLOTS for drawing in slot_drawings(slot)},
    **{f"{housing} {drawing.title}": drawing for housing in HOUSINGS for drawing in housing_drawings(housing)},
}
DRAWINGS |= {f"facing {facing}": facing_drawing(facing) for facing in FACINGS}
DRAWINGS |= {
    f"{slot} {drawing.title} {facing}": turned(drawing, slot, facing)
    for slot in SLOTS
    for facing in FACINGS
    for drawing in slot_drawings(slot)
    if turned_by(drawing.title, slot, facing)
}
each_drawing = pytest.mark.parametrize("drawing", DRAWINGS.values(), ids=DRAWINGS)


@cache
def drawn(drawing):
    """Draw a drawing once for all tests that only look at it."""
    figure = Figure(figsize=(PANE_INCH, PANE_INCH * HIGH / WIDE), dpi=100)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1), xlim=(0, WIDE), ylim=(0, HIGH))
    drawing.draw(axes)
    figure.canvas.draw()
    return figure, axes


def test_the_drawings_asked_for_are_there():
    turned_ones = 3 * 2 * 4  # each slot two ways, all but the view from above the board
    assert len(DRAWINGS) == 2 + 4 + 3 * 5 + len(HOUSINGS) * 2 + len(FACINGS) + turned_ones
    for slot in SLOTS:
        assert [drawing.title for drawing in slot_drawings(slot)] == ["Open", "Orient", "Push", "Seated", "Release"]


@each_drawing
def test_no_word_leaves_the_pane(drawing):
    figure, axes = drawn(drawing)
    width, height = figure.canvas.get_width_height()
    for text in axes.texts:
        extent = text.get_window_extent()
        assert extent.x0 >= 0, text.get_text()
        assert extent.x1 <= width, text.get_text()
        assert extent.y0 >= -1, text.get_text()
        assert extent.y1 <= height + 1, text.get_text()


@each_drawing
def test_no_two_words_lie_over_each_other(drawing):
    _, axes = drawn(drawing)
    extents = [(text.get_text(), text.get_window_extent()) for text in axes.texts]
    for at, (words, extent) in enumerate(extents):
        for others, other in extents[at + 1 :]:
            assert not extent.shrunk(0.9, 0.8).overlaps(other), (words, others)


@each_drawing
def test_words_can_be_read_three_to_a_page(drawing):
    _, axes = drawn(drawing)
    assert axes.texts
    # 56 mm are 2.205 inch: 11 points become 8.1.
    assert all(text.get_fontsize() * 2.205 / PANE_INCH > 8 for text in axes.texts)
    assert WORDS_PT == 11


@each_drawing
def test_a_drawing_has_a_title_and_an_alt_text_of_its_own(drawing):
    assert drawing.title
    assert 40 < len(drawing.alt_text) < 250
    assert drawing.alt_text.endswith(".")


def test_no_two_drawings_share_an_alt_text():
    texts = [drawing.alt_text for drawing in DRAWINGS.values()]
    assert len(set(texts)) == len(texts)


@each_drawing
def test_a_drawing_is_the_same_each_time_asks_for_nothing_outside_and_has_greys_and_the_accent_alone(
    drawing,
):
    svg = drawing.svg().decode()
    assert svg == drawing.svg().decode()
    assert "<image" not in svg
    ElementTree.fromstring(svg)
    colours = set(re.findall(r"#[0-9a-f]{6}", svg))
    greys = {look.LIGHT[name] for name in ("ground", "shade", "line", "quiet", "ink")}
    assert colours - greys <= {look.LIGHT["accent"]}
    assert look.LIGHT["ink"] in colours


def arrows(drawing):
    """Give the arrows' tails and heads as they stand on the pane, in its own units."""
    _, axes = drawn(drawing)
    back = axes.transData.inverted()
    found = [patch for patch in axes.patches if isinstance(patch, FancyArrowPatch)]
    return [back.transform(patch.get_transform().transform(patch._posA_posB)) for patch in found]


@pytest.mark.parametrize(("facing", "way"), [("sideways", (-1, 0)), ("down", (0, 1)), ("up", (0, -1))])
def test_a_card_goes_into_the_slot_from_where_the_slot_faces(facing, way):
    # A slot that faces down takes the card upwards, and so on.
    (push,) = (drawing for drawing in slot_drawings("slide-in") if drawing.title == "Push")
    ((tail, head),) = arrows(turned(push, "slide-in", facing))
    assert tuple(np.sign(np.round(head - tail, 6))) == way


def test_the_card_is_11_by_15_mm_with_its_notch_at_the_right_and_from_the_back_at_the_left():
    across, up = zip(*CARD_MM, strict=True)
    assert (max(across), max(up)) == (11, 15)
    # microSD: 11 mm wide, 15 mm long, 8 contacts (SD Specification, from memory).
    assert CONTACTS == 8
    front, back = card_outline((0, 0), 1), card_outline((0, 0), 1, back=True)
    assert max(x for x, y in front if y > 14) < 11
    assert min(x for x, y in front if y > 14) < 0.5
    assert min(x for x, y in back if y > 14) > 1


def test_the_second_screw_is_across_from_the_first_and_the_fourth_from_the_third():
    middle = tuple(sum(screw[axis] for screw in CROSSWISE) / 4 for axis in (0, 1))
    for one, other in (CROSSWISE[:2], CROSSWISE[2:]):
        assert tuple((one[axis] + other[axis]) / 2 for axis in (0, 1)) == middle


def test_every_opened_housing_marks_a_slot():
    for housing in HOUSINGS:
        _, axes = drawn(housing_drawings(housing)[1])
        rings = [patch for patch in axes.patches if to_hex(patch.get_edgecolor()) == look.LIGHT["accent"]]
        rings = [patch for patch in rings if not patch.get_fill()]
        assert rings, housing


def test_a_strip_is_a_picture_with_the_words_of_all():
    strip = Strip(card_drawings(), columns=2)
    assert strip.png().startswith(b"\x89PNG")
    assert strip.alt_text().startswith("1. A memory card")
    assert set(strip._repr_mimebundle_()) == {"image/png", "text/plain"}
