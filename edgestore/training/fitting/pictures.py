"""The pictures of the fitting guide by key, each drawn once: the words of a step name them."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache

from edgestore.drawings.card import card_drawings
from edgestore.drawings.closing import closing_drawings
from edgestore.drawings.facings import facing_drawing
from edgestore.drawings.housings import housing_drawings
from edgestore.drawings.parts import Drawing, in_words_of
from edgestore.drawings.slots import slot_drawings
from edgestore.drawings.turned import turned, turned_by
from edgestore.training.fitting.language import ENGLISH, say, say_drawn

PICTURES: Mapping[str, Sequence[str]] = {
    "card": ("card: The card, label side", "card: The card, contact side"),
    "closed": ("housing {housing}: Closed",),
    "opened": ("housing {housing}: Opened",),
    "open": ("facing {facing}", "slot {slot}: Open: {facing}"),
    "orient": ("slot {slot}: Orient: {facing}",),
    "push": ("slot {slot}: Push: {facing}",),
    "seated": ("slot {slot}: Seated: {facing}",),
    "release": ("slot {slot}: Release: {facing}",),
    "seal": ("closing: Seal",),
    "cover": ("closing: Cover on straight",),
    "crosswise": ("closing: Screws crosswise",),
    "stays": ("closing: What stays",),
}
"""Keys of the pictures that a word of the guide's data stands for, with braces for what a guide chooses."""


def picture_key(form: str, *, housing: str, slot: str, facing: str) -> str:
    """Give the key of a picture; one that is the same wherever the slot faces has one key."""
    title = form.rpartition("{slot}: ")[2].partition(":")[0]
    same = form.startswith("slot ") and not turned_by(title, slot, facing)
    return form.format(housing=housing, slot=slot, facing="" if same else facing)


@cache
def picture_of(key: str, language: str = ENGLISH) -> Drawing:
    """Give a picture by its key with its words, title and alt text in a language; a slot turned as it faces."""
    what, _, title = key.partition(": ")
    title, _, facing = title.partition(": ")
    drawing = in_words_of(_drawn(what, title), lambda words: say_drawn(words, language))
    if what.startswith("slot "):
        drawing = turned(drawing, what.removeprefix("slot "), facing)
    alt_text = " ".join(say(sentence, language) for sentence in re.split(r"(?<=[.;]) ", drawing.alt_text))
    return replace(drawing, title=say(drawing.title, language), alt_text=alt_text)


def _drawn(what: str, title: str) -> Drawing:
    """Give a drawing as it was drawn, by what it shows and its title."""
    kind, _, word = what.partition(" ")
    if kind == "facing":
        return facing_drawing(word)
    of_all = {
        "slot": lambda: slot_drawings(word),
        "housing": lambda: housing_drawings(word),
        "card": card_drawings,
        "closing": closing_drawings,
    }[kind]()
    return next(drawing for drawing in of_all if drawing.title == title)


@cache
def svg_of(key: str, language: str = ENGLISH) -> bytes:
    """Give a picture as SVG, made once in a run: 200 cameras share the same pictures."""
    return picture_of(key, language).svg()
