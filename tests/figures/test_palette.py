"""On a dark screen a picture has the colours that carry the same names there."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image, ImageColor

from edgestore.answers.hold import holding
from edgestore.figures.hold import HoldsFigure
from edgestore.figures.palette import sent
from edgestore.look import DARK, LEAST_CONTRAST, LIGHT, contrast


def on_dark(colour: str) -> tuple[int, int, int]:
    """Give what a dot of this colour becomes."""
    return sent(Image.new("RGB", (1, 1), colour), is_dark=True).convert("RGB").getpixel((0, 0))


@pytest.mark.parametrize("name", ["ink", "ground", "band", "accent", "assured", "doubtful", "not-served"])
def test_a_colour_of_the_look_becomes_the_dark_one_of_its_name(name):
    assert on_dark(LIGHT[name]) == ImageColor.getrgb(DARK[name])


@pytest.mark.parametrize("name", ["shade", "line", "mid", "quiet"])
def test_a_grey_between_ink_and_ground_becomes_about_the_dark_one_of_its_name(name):
    # They are taken from 32 steps between the ends, 7 levels of a channel apart; by eye they are chosen, not computed.
    assert np.abs(np.subtract(on_dark(LIGHT[name]), ImageColor.getrgb(DARK[name]))).max() <= 20


def test_words_of_a_dark_picture_can_be_read_on_its_ground():
    for name in ("ink", "quiet", "accent", "assured", "doubtful", "not-served"):
        shown = "#{:02x}{:02x}{:02x}".format(*on_dark(LIGHT[name]))
        assert contrast(shown, DARK["ground"]) >= LEAST_CONTRAST


def test_a_figure_is_sent_for_a_dark_screen_with_the_same_dots_and_saved_for_paper():
    figure = HoldsFigure(holding())
    light, dark = (Image.open(BytesIO(figure.png(is_dark=on))) for on in (False, True))
    assert light.tobytes() == dark.tobytes()
    assert light.convert("RGB").getpixel((2, 2)) == ImageColor.getrgb(LIGHT["ground"])
    assert dark.convert("RGB").getpixel((2, 2)) == ImageColor.getrgb(DARK["ground"])
