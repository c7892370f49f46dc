"""Where a slot faces: the slot with its board, a card that goes in, and the eye that looks at it."""

from collections.abc import Callable, Mapping

from matplotlib.axes import Axes
from matplotlib.transforms import Affine2D

from edgestore.drawings.parts import (
    DARK,
    MIDDLE,
    PALE,
    WHITE,
    Drawing,
    arc,
    arrow,
    box,
    disc,
    line,
    shape,
    words,
)

CENTRE = (46, 40)


def _eye(axes: Axes, x: float, y: float) -> None:
    """Draw an eye that looks to the left."""
    shape(axes, [*arc((x, y), 8, 20, 160, 0.7), *arc((x, y), 8, 200, 340, 0.7)], WHITE, 5)
    disc(axes, (x - 2, y), 2.6, DARK, 6)


def _slot(axes: Axes, angle: float) -> None:
    """Draw a slot from its side, its mouth at the right before it is turned, and a card before the mouth."""
    before = len(axes.patches), len(axes.lines)
    box(axes, (18, 22), (44, 5), MIDDLE)
    box(axes, (28, 27), (30, 16), PALE)
    box(axes, (32, 30.5), (26.5, 7), WHITE, 2.5)
    box(axes, (66, 31.5), (24, 4), WHITE, 4)
    box(axes, (68, 29.9), (8, 1.8), DARK, 4.5)
    arrow(axes, (88, 42), (66, 42))
    turn = Affine2D().rotate_deg_around(*CENTRE, angle)
    if angle % 180:
        turn.translate(-CENTRE[0], -CENTRE[1]).scale(0.75).translate(*CENTRE)
    for artist in (*axes.patches[before[0] :], *axes.lines[before[1] :]):
        artist.set_transform(turn + axes.transData)


def _towards(axes: Axes) -> None:
    box(axes, (14, 18), (66, 44), PALE)
    box(axes, (14, 18), (66, 6), MIDDLE, 3)
    box(axes, (28, 30), (38, 8), DARK, 4)
    line(axes, [(62, 50), (66, 50), (66, 46), (69, 46), (69, 56), (58, 56), (58, 50), (62, 50)], 1.4)
    words(axes, "mouth", (47, 46), ha="center", bold=True)
    words(axes, "sign", (72, 68), (66, 56))
    words(axes, "circuit board", (47, 11), ha="center")


def _sideways(axes: Axes) -> None:
    _slot(axes, 0)
    words(axes, "slot at the side", (50, 66), ha="center", bold=True)
    words(axes, "circuit board", (18, 14))


def _down(axes: Axes) -> None:
    _slot(axes, -90)
    words(axes, "slot\nbelow", (98, 30), ha="right", bold=True)
    words(axes, "bag below", (98, 10), ha="right")
    words(axes, "circuit\nboard", (2, 64))


def _up(axes: Axes) -> None:
    _slot(axes, 90)
    words(axes, "slot\nabove", (2, 70), bold=True)
    words(axes, "no drops,\nno dirt", (2, 48))
    words(axes, "circuit\nboard", (98, 14), ha="right")


def _hidden(axes: Axes) -> None:
    box(axes, (6, 12), (38, 56), MIDDLE, 4)
    _slot(axes, 0)
    shape(axes, [(8, 12), (8, 68), (40, 68), (40, 12)], MIDDLE, 6)
    shape(axes, [(70, 60), (86, 70), (84, 73), (68, 63)], DARK, 6)
    _eye(axes, 91, 54)
    words(axes, "lens part\nin front", (24, 40), ha="center")
    words(axes, "small mirror", (62, 75), ha="right", bold=True)
    words(axes, "then by touch", (70, 12), ha="center")


_FACINGS: Mapping[str, tuple[Callable[[Axes], None], str]] = {
    "towards you": (_towards, "A slot that faces you: its mouth and the sign beside it are seen, the board below it."),
    "sideways": (
        _sideways,
        "A slot that faces to the side: the card goes in from the side, its contacts to the board.",
    ),
    "down": (_down, "A slot that faces down: the card goes in from below, and an open bag hangs below it."),
    "up": (_up, "A slot that faces up: the card goes in from above; no drops and no dirt fall into it."),
    "hidden": (
        _hidden,
        "A slot out of sight behind the lens part: it is seen in a small mirror, then worked by touch.",
    ),
}


def facing_drawing(facing: str) -> Drawing:
    """Give the drawing of where a slot faces."""
    draw, alt_text = _FACINGS[facing]
    return Drawing(f"Faces {facing}" if facing != "hidden" else "Out of sight", alt_text, draw)
