"""Text from outlines of letters that are kept is the text that matplotlib itself would set."""

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextToPath

from edgestore.figures.letters import OUTLINE_PT, LetterCanvas, line

FONTS = [FontProperties(size=OUTLINE_PT), FontProperties(size=OUTLINE_PT, weight="bold")]


@pytest.mark.parametrize("font", FONTS, ids=("regular", "bold"))
@pytest.mark.parametrize("words", ["1.8 Mbit/s: 3.4 days", "AVATAR, To Wa. 1 047 credits", "a", " x ", "±µ→é"])
def test_a_line_has_the_letters_and_the_kerning_of_the_library(words, font):
    made, setter = line(words, font), TextToPath()
    vertices, codes = setter.get_text_path(font, words)
    # The first point only begins the line, so that it may be empty.
    assert made.path.codes[1:].tolist() == [int(code) for code in codes]
    np.testing.assert_allclose(made.path.vertices[1:], np.reshape(vertices, (-1, 2)), atol=0.05)  # 0.05 % of a letter
    assert made.advance == pytest.approx(setter.get_text_width_height_descent(words, font, ismath=False)[0], abs=0.1)


def test_no_words_are_an_empty_line():
    assert line("", FONTS[0]).advance == 0


def test_a_picture_is_as_dark_and_its_text_stands_as_the_library_sets_it():
    with mpl.rc_context({"text.hinting": "no_hinting"}):  # else the library fits letters to whole pixels
        shown = [drawn(canvas) for canvas in (FigureCanvasAgg, LetterCanvas)]
    ink, same = (255.0 - picture for picture in shown)
    assert same.sum() == pytest.approx(ink.sum(), rel=0.1)
    for axis in (0, 1):  # centre of the ink, within half a pixel
        at = np.arange(ink.shape[axis])
        mean, mean_same = (np.average(at, weights=values.sum(axis=1 - axis)) for values in (ink, same))
        assert mean_same == pytest.approx(mean, abs=0.5)


def test_formulas_and_turned_words_are_drawn_too():
    figure = Figure((3, 3), dpi=100)
    canvas = LetterCanvas(figure)
    figure.text(0.5, 0.5, "$x^2$ upright")
    figure.text(0.2, 0.2, "turned", rotation=90)
    canvas.draw()
    assert (np.asarray(canvas.buffer_rgba())[..., 0] < 128).sum() > 100


def drawn(canvas):
    figure = Figure((3, 2), dpi=100)
    made = canvas(figure)
    figure.text(0.1, 0.5, "Footage held\nfor 3.4 days", fontsize=14, va="center")
    made.draw()
    return np.asarray(made.buffer_rgba())[..., 0].astype(float)
