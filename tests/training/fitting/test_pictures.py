"""The pictures of the guide in another language: each word is translated, stays in its pane and lies over no other."""

import re

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from edgestore.drawings.parts import HIGH, PANE_INCH, WIDE
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.training.fitting import phone
from edgestore.training.fitting.language import ENGLISH, LANGUAGES, say_drawn, translations
from edgestore.training.fitting.pictures import picture_of, svg_of

OTHERS = [code for code in LANGUAGES if code != ENGLISH]


@pytest.fixture(scope="module")
def keys():
    """Give the keys of all pictures that any page for a phone shows."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(phone, "svg_of", lambda *_: b"")
        return {key for housing in HOUSINGS for key in phone.phone_data(housing)["pictures"]}


def words_on(key, language):
    figure = Figure(figsize=(PANE_INCH, PANE_INCH * HIGH / WIDE), dpi=100)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1), xlim=(0, WIDE), ylim=(0, HIGH))
    picture_of(key, language).draw(axes)
    renderer = figure.canvas.get_renderer()
    return [(text.get_text(), text.get_window_extent(renderer)) for text in axes.texts]


@pytest.mark.parametrize("language", OTHERS)
def test_words_of_a_translated_picture_stay_in_its_pane_and_lie_over_no_other(keys, language):
    high, wide = 100 * PANE_INCH * HIGH / WIDE, 100 * PANE_INCH
    for key in sorted(keys):
        said = words_on(key, language)
        for at, (text, box) in enumerate(said):
            assert min(box.x0, box.y0 + 1, wide - box.x1, high + 1 - box.y1) >= 0, (key, text)
            for other, of_other in said[at + 1 :]:
                assert not box.shrunk(0.9, 0.8).overlaps(of_other), (key, text, other)


@pytest.mark.parametrize("language", OTHERS)
def test_every_word_on_a_picture_has_a_translation_and_none_is_left_over(keys, language):
    unturned = {key.rpartition(": ")[0] + ": " if key.startswith("slot ") else key for key in keys}
    drawn = {text for key in unturned for text, _ in words_on(key, ENGLISH)}
    assert drawn == set(translations(language, "drawn"))
    same = {text for text in drawn if say_drawn(text, language) == text}
    assert same <= {"1", "2", "3", "4"}


def test_a_turned_slot_has_german_words_and_the_german_way_it_faces():
    (of_key,) = {"slot slide-in: Push: down"}
    picture = picture_of(of_key, "de")
    text = " ".join(words for words, _ in words_on(of_key, "de")).replace("\n", " ")
    assert "gerade schieben bis zum Anschlag" in text
    assert not re.search(r"slide|board", text)
    assert "Steckplatz" in picture.alt_text
    assert svg_of(of_key, "de") != svg_of(of_key)
