"""A drawing of a slot turned as the slot faces: the shapes turn, the words stay upright beside them."""

from dataclasses import replace
from textwrap import wrap
from typing import Any

from matplotlib.axes import Axes
from matplotlib.transforms import Affine2D

from edgestore.drawings.parts import HIGH, LETTER, LINE_HIGH, WIDE, Drawing, Point, Said, taken_off, words

MIDDLE = (WIDE / 2, HIGH / 2)

ANGLES = {"sideways": 0, "down": -90, "up": 90}
"""Degrees by which a slot with its mouth at the right is turned to face so."""

LATCH_ANGLES = {"up": 0, "sideways": -90, "down": 180}
"""The same of a lid that is drawn facing up."""

LYING = 0.8
"""Scale of a pane that is turned on its side: it is as high then as it was wide."""

MARGIN = 1.5

BOARD = 22
"""How far the circuit board of a slot that is turned reaches from the middle."""


def turned(drawing: Drawing, slot: str, facing: str) -> Drawing:
    """Give a drawing of a slot as the slot faces.

    Parameters
    ----------
    drawing : Drawing
        One of the slot's; that from above the board stays as it is, since the board turns with the slot.
    slot : str
        Kind of slot.
    facing : str
        Where it faces; empty where that is not known. A slot that faces the reader or is hidden is shown from its side.

    Returns
    -------
    Drawing
        The same with its shapes turned, or the drawing itself where nothing turns.
    """
    angle = turned_by(drawing.title, slot, facing)
    if not angle:
        return drawing
    way = {"down": "down", "up": "up", "sideways": "to the side"}[facing]

    def draw(axes: Axes) -> None:
        drawing.draw(axes)
        _turn(axes, angle)

    return Drawing(drawing.title, f"{drawing.alt_text} The slot faces {way}.", draw)


def turned_by(title: str, slot: str, facing: str) -> float:
    """Give the degrees by which a drawing of a slot is turned; 0 for one that stays as it is."""
    angles = LATCH_ANGLES if slot == "hinged metal latch" else ANGLES
    return 0 if title == "Orient" else angles.get(facing, 0)


def _turn(axes: Axes, angle: float) -> None:
    scale = LYING if angle % 180 else 1.0
    turn = Affine2D().rotate_deg_around(*MIDDLE, angle)
    turn.translate(-MIDDLE[0], -MIDDLE[1]).scale(scale).translate(*MIDDLE)
    said = [
        replace(one, at=_point(turn, one.at), tip=None if one.tip is None else _point(turn, one.tip))
        for one in taken_off(axes)
    ]
    artists: list[Any] = [*axes.patches, *axes.lines]
    for artist in artists:
        artist.set_transform(turn + axes.transData)
    for side in (-1, 1):
        beside_board = angle % 180 and side * angle > 0
        _column(
            axes, [one for one in said if (one.at[0] > MIDDLE[0]) == (side > 0)], side, BOARD if beside_board else 14
        )


def _point(turn: Affine2D, point: Point) -> Point:
    x, y = turn.transform(point).tolist()
    return x, y


def _column(axes: Axes, said: list[Said], side: int, taken: float) -> None:
    """Write words in a column at the left or the right edge, from above, none over another."""
    wide = int((WIDE / 2 - taken) / LETTER)
    texts = [(one, "\n".join(wrap(one.text.replace("\n", " "), wide))) for one in said]
    texts.sort(key=lambda pair: -pair[0].at[1])
    halves = [LINE_HIGH * (text.count("\n") + 1) / 2 for _, text in texts]
    places = [min(HIGH - half, max(half, one.at[1])) for (one, _), half in zip(texts, halves, strict=True)]
    for at in range(1, len(places)):
        places[at] = min(places[at], places[at - 1] - halves[at - 1] - halves[at] - MARGIN)
    for at in reversed(range(len(places))):
        below = halves[at] if at == len(places) - 1 else places[at + 1] + halves[at + 1] + halves[at] + MARGIN
        places[at] = max(places[at], below)
    for (one, text), y in zip(texts, places, strict=True):
        x, ha = (MARGIN, "left") if side < 0 else (WIDE - MARGIN, "right")
        words(axes, text, (x, y), one.tip, bold=one.bold, ha=ha)
