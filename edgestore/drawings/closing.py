"""How a housing is closed: the seal, the cover, the screws crosswise, and what stays in it."""

from collections.abc import Sequence
from itertools import pairwise

from matplotlib.axes import Axes

from edgestore.drawings.parts import (
    DARK,
    MIDDLE,
    PALE,
    WHITE,
    Drawing,
    Point,
    arc,
    arrow,
    box,
    disc,
    hatch,
    line,
    screw,
    screw_side,
    shape,
    strap,
    words,
)
from edgestore.figures import style

CROSSWISE: Sequence[Point] = ((71, 59), (29, 21), (29, 59), (71, 21))
"""Screws of a round cover in the order in which they are tightened: each across from the previous one, or beside it."""


def _seal(axes: Axes) -> None:
    """Draw a groove cut across, the seal in it, and the cover above."""
    shape(axes, [(8, 12), (92, 12), (92, 34), (62, 34), (62, 22), (38, 22), (38, 34), (8, 34)], MIDDLE)
    disc(axes, (50, 31), 9, DARK, 4)
    shape(axes, [(8, 58), (92, 58), (92, 70), (8, 70)], PALE)
    arrow(axes, (82, 55), (82, 40))
    words(axes, "cover", (14, 64))
    words(axes, "seal: clean, no cut,\nin its groove", (5, 48), (47, 38), bold=True)
    words(axes, "housing", (10, 18))


def _cover_on(axes: Axes) -> None:
    """Draw a cover from the side on its housing, screws started by hand."""
    box(axes, (14, 12), (72, 22), MIDDLE)
    box(axes, (14, 34), (72, 3), DARK, 3)
    box(axes, (10, 37), (80, 9), PALE, 4)
    for x in (22, 78):
        screw_side(axes, (x, 58))
        arrow(axes, (x - 6, 66), (x + 6, 66), bend=-0.5)
    words(axes, "start all screws\nby hand", (50, 62), ha="center", bold=True)
    words(axes, "seal", (13.2, 22), (14, 35.5), ha="right")
    words(axes, "cover straight, nothing caught", (50, 5), ha="center")
    line(axes, [(2, 41.5), (98, 41.5)], 0.8, style.INK, 5, (0, (4, 3)))


def _crosswise(axes: Axes) -> None:
    """Draw a round cover from the front with four screws numbered crosswise."""
    disc(axes, (50, 40), 36, PALE)
    disc(axes, (50, 40), 18, WHITE)
    for start, end in pairwise(CROSSWISE):
        across, up = end[0] - start[0], end[1] - start[1]
        far = 6.5 / (across**2 + up**2) ** 0.5
        arrow(axes, (start[0] + far * across, start[1] + far * up), (end[0] - far * across, end[1] - far * up))
    for number, (x, y) in enumerate(CROSSWISE, 1):
        screw(axes, (x, y), 4)
        words(axes, str(number), (x + (-10 if x > 50 else 10), y + (1 if y > 40 else -1)), bold=True, ha="center")
    words(axes, "go round\ntwice", (3, 72))
    words(axes, "then stop:\nno force", (98, 72), ha="right")


def _stays_in(axes: Axes) -> None:
    """Draw what stays in the housing: desiccant bag, strap, captive screws."""
    hatch(axes, (5, 74), (95, 74), (0, 3))
    box(axes, (18, 64), (64, 10), MIDDLE)
    shape(axes, [(20, 64), *arc((50, 64), 30, 180, 360)], WHITE, 1)
    disc(axes, (50, 52), 12, PALE, 3)
    disc(axes, (50, 46), 4, DARK, 4)
    box(axes, (66, 55), (11, 8), WHITE, 4, round_by=1.5)
    strap(axes, (23, 62), (37, 63), 5)
    for x in (20, 80):
        screw_side(axes, (x, 58), up=-1)
    words(axes, "desiccant bag\nstays in", (98, 27), (72, 55), bold=True, ha="right")
    words(axes, "strap\ntucked in", (2, 36), (29, 57))
    words(axes, "captive screws stay in the cover", (50, 12), ha="center")
    line(axes, [(20, 16), (20, 49)], 0.8)
    line(axes, [(80, 16), (80, 22)], 0.8)
    line(axes, [(80, 33), (80, 49)], 0.8)
    words(axes, "clear cover: dry cloth, no oil", (50, 4), ha="center")


def closing_drawings() -> Sequence[Drawing]:
    """Give the closing in four steps."""
    return (
        Drawing(
            "Seal",
            "A housing cut across: the seal is clean, has no cut and lies in its groove; the cover comes on.",
            _seal,
        ),
        Drawing(
            "Cover on straight",
            "A cover from its side, straight on the seal with nothing caught; all screws are started by hand.",
            _cover_on,
        ),
        Drawing(
            "Screws crosswise",
            "A round cover from the front with four screws. Screw 2 is across from 1, and 4 is across from 3."
            " Go round twice, then stop: no force.",
            _crosswise,
        ),
        Drawing(
            "What stays",
            "A closed dome from its side: the desiccant bag stays in, the strap is tucked in, captive screws stay in"
            " the cover, and the clear cover is wiped with a dry cloth without oil.",
            _stays_in,
        ),
    )
