"""Each kind of housing, closed and opened with the place of the slot marked. The shapes are made up."""

from collections.abc import Callable, Mapping, Sequence

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
    lens,
    line,
    screw,
    screw_side,
    shape,
    slot_mark,
    strap,
    words,
)

Draw = Callable[[Axes], None]

OPENED_BELOW = 50
"""A cover drawn lower than this has been taken off: its screw holes are seen."""


def _ceiling(axes: Axes) -> None:
    hatch(axes, (4, 74), (96, 74), (0, 3))


def _dome_inside(axes: Axes, middle: float = 50) -> None:
    """Draw the base of a dome with its lens part and a board."""
    box(axes, (middle - 30, 65), (60, 9), MIDDLE)
    box(axes, (middle + 14.5, 56.5), (11, 8.5), PALE, 3)  # a board, which holds the slot
    disc(axes, (middle, 56), 11, PALE, 4)
    lens(axes, (middle - 4, 51), 4.5)


def _dome_cover(axes: Axes, middle: Point, *, captive: bool) -> None:
    """Draw a clear cover with its ring; captive screws are seen in it."""
    x, y = middle
    shape(axes, arc((x, y), 28, 180, 360, 0.85), WHITE, 1)
    box(axes, (x - 31, y - 1.5), (62, 5.5), PALE, 3)
    for at in (x - 26, x + 26):
        if captive:
            screw_side(axes, (at, y - 4), up=-1)
        elif y < OPENED_BELOW:
            disc(axes, (at, y + 1.2), 1.6, WHITE, 6)


def _dome_closed(axes: Axes) -> None:
    _ceiling(axes)
    _dome_inside(axes)
    _dome_cover(axes, (50, 62), captive=False)
    for x in (24, 76):
        screw_side(axes, (x, 56), up=-1)
        arrow(axes, (x, 52), (x, 40))
    words(axes, "undo the screws in the ring", (50, 22), ha="center")
    words(axes, "hold the clear cover", (50, 12), ha="center", bold=True)


def _dome_open(axes: Axes) -> None:
    _ceiling(axes)
    _dome_inside(axes)
    slot_mark(axes, (70, 61), (82, 52))
    strap(axes, (24, 65), (20, 30), 0)
    _dome_cover(axes, (50, 28), captive=False)
    words(axes, "strap", (4, 50), (22.2, 48))
    words(axes, "cover hangs", (50, 17), ha="center")


def _captive_closed(axes: Axes) -> None:
    _ceiling(axes)
    _dome_inside(axes)
    _dome_cover(axes, (50, 62), captive=True)
    words(axes, "captive screws: turn until free,\ndo not pull out", (50, 17), ha="center", bold=True)
    for x in (24, 76):
        line(axes, [(x, 24), (x, 48)], 0.8)


def _captive_open(axes: Axes) -> None:
    _ceiling(axes)
    _dome_inside(axes, 62)
    slot_mark(axes, (82, 61), (84, 48), ha="center")
    shape(axes, [(30 - 0.85 * (33.5 - y), 33.5 + x - 30) for x, y in arc((30, 33.5), 27, 180, 360)], WHITE, 1)
    box(axes, (29, 4), (5, 59), PALE, 3)
    for y in (11, 55):
        box(axes, (34, y - 1.6), (4, 3.2), DARK, 5)
    disc(axes, (32, 65), 2, DARK, 6)
    words(axes, "hinge", (10, 66), (31, 66))
    words(axes, "screws stay\nin the cover", (46, 14), (38, 11))
    words(axes, "cover hangs", (46, 30), bold=True)


def _ball(axes: Axes, middle: Point, radius: float = 20) -> None:
    disc(axes, middle, radius, PALE, 4)
    lens(axes, (middle[0] - 6, middle[1] - radius * 0.55), 6)


def _gimbal_closed(axes: Axes) -> None:
    _ceiling(axes)
    box(axes, (22, 64), (56, 10), MIDDLE)
    _ball(axes, (50, 50))
    shape(axes, [(24, 64), (76, 64), (71, 53), (29, 53)], MIDDLE, 5)
    screw(axes, (66, 58.5), 2.4)
    words(axes, "ring and\nits screw", (76, 46), (67, 57))
    words(axes, "ball", (14, 42), (33, 43))
    words(axes, "note where it looks, hold the ball", (50, 14), ha="center", bold=True)
    arrow(axes, (43, 27), (36, 20))


def _gimbal_open(axes: Axes) -> None:
    _ceiling(axes)
    box(axes, (22, 64), (56, 10), MIDDLE)
    strap(axes, (50, 64), (43, 48), 0)
    _ball(axes, (42, 32))
    shape(axes, arc((42, 32), 20, 5, 62), WHITE, 4.5)
    slot_mark(axes, (56, 42), (72, 54))
    shape(axes, [(68, 30), (74, 27), (80, 38), (74, 42)], MIDDLE, 5)
    arrow(axes, (62, 36), (69, 35))
    words(axes, "flap", (81.5, 26), (77, 31))
    words(axes, "cable: no pull", (1, 57), (46, 55))
    words(axes, "ball lowered, held", (50, 5), ha="center", bold=True)


def _tube(axes: Axes) -> None:
    hatch(axes, (5, 6), (5, 76), (-3, 0))
    box(axes, (5, 56), (5, 18), MIDDLE)
    shape(axes, [(10, 68), (10, 62), (38, 54), (46, 57)], MIDDLE, 2)
    box(axes, (22, 34), (62, 24), PALE, 3, round_by=5)
    shape(axes, [(84, 36), (90, 33), (90, 59), (84, 56)], MIDDLE, 3)
    words(axes, "looks\nthis way", (86, 70), ha="center")


def _bullet_closed(axes: Axes) -> None:
    _tube(axes)
    box(axes, (36, 31), (28, 4), DARK, 4)
    for x in (39, 61):
        screw_side(axes, (x, 27), up=-1)
    words(axes, "base flap", (50, 12), (50, 31), bold=True, ha="center")
    words(axes, "screws", (72, 20), (62, 28))


def _bullet_open(axes: Axes) -> None:
    _tube(axes)
    box(axes, (36, 34), (28, 11), WHITE, 4)
    slot_mark(axes, (53, 40), (70, 24))
    strap(axes, (38, 34), (34, 20), 0)
    shape(axes, [(26, 18), (44, 4), (47, 8), (29, 22)], DARK, 4)
    words(axes, "flap hangs\non its strap", (52, 9), (44, 9))
    words(axes, "bag\nbelow", (9, 14))


def _body(axes: Axes) -> None:
    """Draw the hanging body of a pan-tilt-zoom dome."""
    _ceiling(axes)
    box(axes, (46, 66), (8, 8), MIDDLE)
    shape(axes, [(30, 46), (34, 66), (66, 66), (70, 46)], MIDDLE, 2)


def _turning_part(axes: Axes) -> None:
    box(axes, (40, 30), (20, 15), PALE, 4, round_by=3)
    lens(axes, (50, 36), 5)


def _ptz_dome_closed(axes: Axes) -> None:
    _body(axes)
    shape(axes, arc((50, 46), 20, 180, 360), WHITE, 1)
    box(axes, (28, 44), (44, 4), PALE, 5)
    _turning_part(axes)
    arrow(axes, (82, 38), (82, 24), bend=-0.7)
    words(axes, "turns when\nit has power", (77, 14), bold=True, ha="center")
    for x in (31, 69):
        screw_side(axes, (x, 40), up=-1)
    words(axes, "undo screws,\nhold the dome", (4, 20), (29, 36))


def _ptz_dome_open(axes: Axes) -> None:
    _body(axes)
    _turning_part(axes)
    slot_mark(axes, (42, 53), (31, 64), ha="right", text="slot here")
    slot_mark(axes, (63, 36), (74, 28), text="or here")
    strap(axes, (66, 46), (66, 18), 0)
    shape(axes, arc((50, 18), 20, 180, 360, 0.8), WHITE, 1)
    box(axes, (28, 16), (44, 4), PALE, 5)
    words(axes, "strap", (76, 44), (66.5, 42))
    words(axes, "power off", (4, 40), bold=True)


def _positioner(axes: Axes) -> None:
    """Draw a positioner: base, arm, housing with the lens at the left, a lamp beside it."""
    box(axes, (34, 4), (32, 12), MIDDLE)
    box(axes, (44, 16), (12, 18), DARK)
    box(axes, (16, 34), (56, 26), PALE, 3, round_by=3)
    shape(axes, [(16, 36), (10, 33), (10, 61), (16, 58)], MIDDLE, 3)
    disc(axes, (50, 34), 5, MIDDLE, 5)


def _positioner_closed(axes: Axes) -> None:
    _positioner(axes)
    box(axes, (72, 34), (8, 26), MIDDLE, 4, round_by=2)
    for y in (39, 55):
        box(axes, (80, y - 1.8), (2.6, 3.6), DARK, 6)
    words(axes, "rear cover", (97, 71), (76, 58), bold=True, ha="right")
    words(axes, "lens\nand lamp", (3, 72), (12, 58))
    arrow(axes, (36, 28), (66, 28), bend=0.5)
    words(axes, "can crush:\npower off", (69, 12), bold=True)


def _positioner_open(axes: Axes) -> None:
    _positioner(axes)
    box(axes, (56, 37), (16.5, 20), WHITE, 4)
    slot_mark(axes, (64, 48), (64, 70))
    strap(axes, (71, 36), (83, 28), 3)
    shape(axes, [(82, 6), (90, 6), (90, 32), (82, 32)], MIDDLE, 4)
    words(axes, "cover\nhangs", (59, 24), (83, 18))
    words(axes, "pull on no cable", (3, 70))


def _box_closed(axes: Axes) -> None:
    shape(axes, [(8, 26), (92, 26), (92, 30), (8, 30)], MIDDLE, 2)
    shape(axes, [(8, 30), (14, 58), (86, 58), (92, 30)], PALE, 2, linestyle=(0, (4, 2)))
    box(axes, (34, 32), (46, 20), MIDDLE, 3)
    box(axes, (22, 36), (12, 12), DARK, 3)
    words(axes, "housing with a lid (outdoors)", (50, 70), (56, 58), ha="center")
    words(axes, "box", (57, 42), ha="center", bold=True)
    words(axes, "lens", (10, 15), (26, 36))
    words(axes, "open the lid first", (60, 14), ha="center")


def _box_open(axes: Axes) -> None:
    box(axes, (8, 10), (84, 4), MIDDLE)
    shape(axes, [(89, 14), (94, 14), (98, 52), (93, 53)], PALE, 2)
    box(axes, (30, 16), (42, 26), MIDDLE, 3)
    box(axes, (16, 22), (14, 14), DARK, 3)
    slot_mark(axes, (72, 26), (74, 62), ha="center", text="slot at the rear")
    slot_mark(axes, (44, 24), (34, 52), ha="center", text="or at the side")
    words(axes, "lid cannot fall shut", (50, 4), ha="center", bold=True)


def _other_closed(axes: Axes) -> None:
    box(axes, (22, 16), (56, 48), PALE, 2, round_by=8)
    lens(axes, (50, 48), 9)
    words(axes, "no manual:\ndo not open", (50, 28), ha="center", bold=True)
    words(axes, "any other housing", (50, 73), ha="center")
    words(axes, "the manual shows the slot", (50, 7), ha="center")


def _other_open(axes: Axes) -> None:
    box(axes, (30, 24), (40, 36), PALE, 2, round_by=4)
    lens(axes, (36, 48), 4)
    slot_mark(axes, (52, 27), (46, 6), ha="center", text="flap below?")
    slot_mark(axes, (66, 52), (68, 72), ha="center", text="cover at the rear?")
    slot_mark(axes, (66, 38), (84, 15), ha="center", text="cap at\nthe side?")
    words(axes, "look it up:\nusual\nplaces", (3, 66))


_HOUSINGS: Mapping[str, tuple[Draw, str, Draw, str]] = {
    "dome": (
        _dome_closed,
        "A dome on a ceiling from its side; the screws in the ring are undone while a hand holds the clear cover.",
        _dome_open,
        "The clear cover hangs on its strap; the slot is marked on the base beside the lens part.",
    ),
    "captive-cover dome": (
        _captive_closed,
        "A dome on a ceiling from its side; captive screws in the cover are turned until free and not pulled out.",
        _captive_open,
        "The cover hangs from its hinge with its screws in it; the slot is marked on the base beside the lens part.",
    ),
    "gimbal dome": (
        _gimbal_closed,
        "A ball with a lens in a ring on a ceiling; note where it looks and hold it while the ring's screw is undone.",
        _gimbal_open,
        "The ball is lowered and held, its cable slack; a flap at its back is off and the slot behind it is marked.",
    ),
    "bullet": (
        _bullet_closed,
        "A tube on a wall arm from its side; a small flap is below, held by two screws.",
        _bullet_open,
        "The flap hangs on its strap, an open bag hangs below, and the slot behind the flap is marked.",
    ),
    "ptz dome": (
        _ptz_dome_closed,
        "A body that hangs, a clear lower dome with a camera that turns when it has power; hold the dome.",
        _ptz_dome_open,
        "Power off, the dome hangs on its strap; two usual places of the slot: on the board, on the camera part.",
    ),
    "ptz positioner": (
        _positioner_closed,
        "A camera housing on a motor base from its side, lens and lamp in front, a rear cover; power off first.",
        _positioner_open,
        "The rear cover hangs on its strap; the slot is marked on the board inside the rear. Pull on no cable.",
    ),
    "box": (
        _box_closed,
        "A box with a lens inside a housing with a lid, from its side; the lid is opened first.",
        _box_open,
        "The lid is open and cannot fall shut; two usual places of the slot are marked: at the rear and at the side.",
    ),
    "other": (
        _other_closed,
        "Any other housing: the manual shows the slot; with no manual it is not opened.",
        _other_open,
        "Three usual places of a slot, each to be looked up: a flap below, a cover at the rear, a cap at the side.",
    ),
}


def housing_drawings(housing: str) -> Sequence[Drawing]:
    """Give a kind of housing closed, and opened with the slot marked."""
    closed, of_closed, opened, of_opened = _HOUSINGS[housing]
    return (Drawing("Closed", of_closed, closed), Drawing("Opened", of_opened, opened))
