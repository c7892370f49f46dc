"""The pictures of the fitting guide by key, each drawn once: the words of a step name them."""

from collections.abc import Mapping, Sequence
from functools import cache

from edgestore.drawings.card import card_drawings
from edgestore.drawings.closing import closing_drawings
from edgestore.drawings.facings import facing_drawing
from edgestore.drawings.housings import housing_drawings
from edgestore.drawings.parts import Drawing
from edgestore.drawings.slots import slot_drawings
from edgestore.drawings.turned import turned, turned_by

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
def picture_of(key: str) -> Drawing:
    """Give a picture by its key; a slot turned as it faces."""
    what, _, title = key.partition(": ")
    if what.startswith("facing "):
        return facing_drawing(what.removeprefix("facing "))
    if what.startswith("slot "):
        slot = what.removeprefix("slot ")
        title, _, facing = title.partition(": ")
        (drawing,) = (drawing for drawing in slot_drawings(slot) if drawing.title == title)
        return turned(drawing, slot, facing)
    if what == "card":
        of_all = card_drawings()
    elif what == "closing":
        of_all = closing_drawings()
    else:
        of_all = housing_drawings(what.removeprefix("housing "))
    return next(drawing for drawing in of_all if drawing.title == title)


@cache
def svg_of(key: str) -> bytes:
    """Give a picture as SVG, made once in a run: 200 cameras share the same pictures."""
    return picture_of(key).svg()
