"""The three kinds of slot in five steps each: open, orient, push, seated, release. From the side, or from above."""

from collections.abc import Callable, Mapping, Sequence

from matplotlib.axes import Axes

from edgestore.drawings.card import card_outline
from edgestore.drawings.parts import (
    DARK,
    MIDDLE,
    PALE,
    WHITE,
    Drawing,
    Point,
    arrow,
    box,
    line,
    shape,
    words,
)

BOARD_Y = 20.0
"""Top of the circuit board in a view from the side."""


def _board(axes: Axes, y: float = BOARD_Y) -> None:
    box(axes, (6, y - 5), (88, 5), MIDDLE)
    words(axes, "circuit board", (8, y - 10))


def _card_side(axes: Axes, left: float, y: float, *, contacts_at_left: bool = True, long: float = 42) -> None:
    """Draw a card from its side, contacts below, its contact end at the left."""
    box(axes, (left, y), (long, 4), WHITE, 4)
    start = left + 2 if contacts_at_left else left + long - 12
    box(axes, (start, y - 1.6), (10, 1.8), DARK, 4.5)


def _springs(axes: Axes, left: float, y: float = BOARD_Y) -> None:
    """Draw the springs of a slot that touch the contacts."""
    for at in (0, 5):
        line(axes, [(left + at, y), (left + at + 2.5, y + 3), (left + at + 5, y + 2)], 1.8)


def _finger(axes: Axes, tip: Point, *, from_right: bool = True) -> None:
    """Draw a fingertip that points to the left, or down."""
    x, y = tip
    if from_right:
        box(axes, (x, y - 6), (24, 12), PALE, 6, round_by=5.5)
        line(axes, [(x + 3, y + 4), (x + 8, y + 5), (x + 12, y + 5)], 1.2, zorder=6.5)
    else:
        box(axes, (x - 6, y), (12, 20), PALE, 6, round_by=5.5)


# Hinged metal latch: hinge at the left, the lid swings up to the left.
_BED_Y = BOARD_Y + 4


def _bed(axes: Axes) -> None:
    _board(axes)
    box(axes, (20, BOARD_Y), (52, 3), PALE)
    _springs(axes, 27, BOARD_Y + 2)
    box(axes, (15, BOARD_Y), (5, 9), DARK, 5)


def _lid(axes: Axes, rise: float) -> None:
    """Draw the lid, its free end ``rise`` high; 0 is flat on the card."""
    y = BOARD_Y + 11
    if rise == 0:
        shape(axes, [(17, y), (74, y), (74, y - 7), (71.5, y - 7), (71.5, y - 2.2), (17, y - 2.2)], DARK, 5)
    else:
        end = (17 + (57**2 - rise**2) ** 0.5, y - 2 + rise)
        shape(axes, [(17, y - 3), end, (end[0] - 1.2, end[1] + 2.4), (17, y)], DARK, 5)


def _latch_open(axes: Axes) -> None:
    _bed(axes)
    _lid(axes, 38)
    words(axes, "hinge", (2, 42), (17, 28))
    arrow(axes, (84, 26), (74, 26))
    words(axes, "1 slide", (86, 33), ha="center")
    arrow(axes, (80, 40), (63, 66), bend=0.25)
    words(axes, "2 swing up", (82, 73), ha="center")
    words(axes, "metal lid", (14, 62), (38, 48))


def _above(axes: Axes, *, latch: bool) -> None:
    """Draw the card beside its place, from above the board: the label side is seen, so the contacts face the board."""
    box(axes, (3, 14), (94, 62), PALE, 1)
    scale = 2.5
    turned = [(y, x) for x, y in card_outline((0, 0), scale)]  # contact end to the right; flipped below
    place = [(48 - x, 33 + y) for x, y in turned]
    card = [(93 - x, 33 + y) for x, y in turned]
    if latch:
        shape(axes, place, WHITE, 2, linestyle=(0, (3, 2)))
        words(axes, "bed", (27, 44), ha="center")
    else:
        box(axes, (8, 29), (34, 36), MIDDLE, 2)
        shape(axes, place, WHITE, 3, linestyle=(0, (3, 2)))
        words(axes, "slot", (26, 44), ha="center")
    shape(axes, card, WHITE, 4)
    words(axes, "label\nup", (75, 44), ha="center")
    arrow(axes, (55, 46), (45, 46))
    words(axes, "notch to notch", (50, 71), bold=True, ha="center")
    for x in (23, 68):
        line(axes, [(x - 2 if x < 50 else x + 2, 68), (x, 61)], 0.8)
    words(axes, "seen from above:\ncontacts face the board", (50, 21.5), ha="center")


def _latch_orient(axes: Axes) -> None:
    _above(axes, latch=True)


def _mouth_orient(axes: Axes) -> None:
    _above(axes, latch=False)


def _latch_push(axes: Axes) -> None:
    _bed(axes)
    _card_side(axes, 24, _BED_Y + 0.4)
    _lid(axes, 22)
    _finger(axes, (52, 46.5), from_right=False)
    arrow(axes, (68, 72), (68, 57))
    words(axes, "1 down\nflat", (73, 66))
    arrow(axes, (78, 27), (90, 27))
    words(axes, "2 slide", (84, 35), ha="center")
    words(axes, "card", (4, 48), (26, 27))


def _latch_seated(axes: Axes) -> None:
    _bed(axes)
    _card_side(axes, 24, _BED_Y + 0.4)
    _lid(axes, 0)
    words(axes, "lid flat and locked", (66, 70), (66, 31), bold=True, ha="center")
    words(axes, "card level,\ndoes not move", (6, 51), (30, 27))


def _latch_release(axes: Axes) -> None:
    _bed(axes)
    _lid(axes, 46)
    _card_side(axes, 38, 40)
    arrow(axes, (66, 46), (66, 60))
    words(axes, "2 lift by\nthe edges", (58, 69))
    words(axes, "1 lid up", (6, 68), (40, 62))
    words(axes, "contacts", (74, 31), (47, 39))
    words(axes, "power off first", (50, 4), bold=True, ha="center")


# Push-to-lock and slide-in: the mouth is at the right, the card comes from the right.
def _mouth(axes: Axes, *, spring: float | None) -> None:
    """Draw a slot with a mouth; ``spring`` is where its spring ends, none for a slot without one."""
    _board(axes)
    box(axes, (12, BOARD_Y), (46, 14), PALE)
    box(axes, (15, BOARD_Y + 2.4), (43.5, 9), WHITE, 2.5)
    line(axes, [(58.4, BOARD_Y + 2.6), (58.4, BOARD_Y + 11.2)], 2.4, WHITE, 2.8)
    _springs(axes, 19 if spring is None else 26, BOARD_Y + 2)
    if spring is not None:
        steps = 7
        zigzag = [(16 + (spring - 16) * at / steps, BOARD_Y + (5.5 if at % 2 else 9.5)) for at in range(steps + 1)]
        line(axes, zigzag, 1.6)
        line(axes, [(spring, BOARD_Y + 4.5), (spring, BOARD_Y + 10.5)], 2.4)


_IN_Y = BOARD_Y + 5.6


def _cap(axes: Axes, *, spring: float | None) -> None:
    _mouth(axes, spring=spring)
    shape(
        axes,
        [(62, BOARD_Y + 1), (66, BOARD_Y + 1), (66, BOARD_Y + 14), (62, BOARD_Y + 14)],
        WHITE,
        4,
        linestyle=(0, (3, 2)),
    )
    shape(axes, [(70, 50), (83, 54), (82, 57.5), (69, 53.5)], DARK, 4)
    arrow(axes, (68, 36), (76, 50), bend=-0.3)
    words(axes, "small cap,\nif there is one", (60, 68))
    words(axes, "mouth", (74, 28), (58, 27), bold=True)


def _lock_open(axes: Axes) -> None:
    _cap(axes, spring=26)
    words(axes, "spring", (10, 50), (20, 29))


def _slide_open(axes: Axes) -> None:
    _cap(axes, spring=None)
    words(axes, "no spring", (10, 50), (18, 29))


def _lock_push(axes: Axes) -> None:
    _mouth(axes, spring=20)
    _card_side(axes, 21, _IN_Y)
    _finger(axes, (63.5, _IN_Y + 2))
    arrow(axes, (84, 44), (64, 44))
    words(axes, "push until\nit clicks", (74, 55), ha="center", bold=True)
    words(axes, "spring is\npressed", (20, 52), (18, 29), ha="center")


def _lock_seated(axes: Axes) -> None:
    _mouth(axes, spring=22)
    _card_side(axes, 23, _IN_Y, long=38.5)
    line(axes, [(58.4, 38), (58.4, 50)], 0.8)
    line(axes, [(61.5, 38), (61.5, 50)], 0.8)
    words(axes, "about 1 mm\nstands out", (64, 48), bold=True)
    words(axes, "stays in by itself", (36, 62), (40, 28), ha="center")


def _lock_release(axes: Axes) -> None:
    _mouth(axes, spring=26)
    _card_side(axes, 30, _IN_Y)
    arrow(axes, (92, 44), (74, 44))
    words(axes, "1 push: click", (70, 51), ha="center")
    arrow(axes, (76, 61), (94, 61))
    words(axes, "2 let it come out", (62, 70), ha="center")
    words(axes, "finger stays\non it", (82, 7.5), ha="center")
    words(axes, "power off first", (42, 3.5), bold=True, ha="center")
    _finger(axes, (72.5, _IN_Y + 2))


def _slide_push(axes: Axes) -> None:
    _mouth(axes, spring=None)
    _card_side(axes, 30, _IN_Y)
    _finger(axes, (72.5, _IN_Y + 2))
    arrow(axes, (92, 44), (72, 44))
    words(axes, "slide in straight\nuntil it stops", (64, 56), ha="center", bold=True)
    words(axes, "no click", (8, 46), ha="left")


def _slide_seated(axes: Axes) -> None:
    _mouth(axes, spring=None)
    _card_side(axes, 16, _IN_Y, long=44)
    words(axes, "at the stop", (10, 52), (16.4, 28))
    words(axes, "only the rim\nshows", (61, 48), (59.5, 27.5), bold=True)


def _slide_release(axes: Axes) -> None:
    _mouth(axes, spring=None)
    _card_side(axes, 36, _IN_Y)
    arrow(axes, (74, 44), (94, 44))
    words(axes, "draw straight out", (66, 54), ha="center", bold=True)
    words(axes, "do not rock it", (66, 64), ha="center")
    words(axes, "hold the rim", (66, 35.5))
    words(axes, "power off first", (50, 4), bold=True, ha="center")


_TITLES = ("Open", "Orient", "Push", "Seated", "Release")
_ORIENT = (
    "From above the board: the card with its label up beside its place, notch to notch; the contacts, below, face the"
    " board."
)

_SLOTS: Mapping[str, Sequence[tuple[Callable[[Axes], None], str]]] = {
    "hinged metal latch": (
        (_latch_open, "From the side: the metal lid is slid a little, then swung up about its hinge."),
        (_latch_orient, _ORIENT),
        (
            _latch_push,
            "From the side: the card lies in its bed; the lid is pressed down flat, then slid until it locks.",
        ),
        (_latch_seated, "From the side: the lid lies flat and locked, the card level under it."),
        (_latch_release, "From the side: power off, the lid up, and the card lifted out by its edges."),
    ),
    "push-to-lock": (
        (_lock_open, "From the side: a narrow mouth with a spring inside; a small cap is moved aside if there is one."),
        (_mouth_orient, _ORIENT),
        (_lock_push, "From the side: a fingertip pushes the card in against the spring until it clicks."),
        (_lock_seated, "From the side: the card stays in by itself and stands out by about 1 mm."),
        (_lock_release, "From the side: power off, the card is pushed until it clicks, then comes out under a finger."),
    ),
    "slide-in": (
        (_slide_open, "From the side: a narrow mouth with no spring; a small cap is moved aside if there is one."),
        (_mouth_orient, _ORIENT),
        (_slide_push, "From the side: the card is slid in straight until it stops; there is no click."),
        (_slide_seated, "From the side: the card is at the stop and only its rim shows."),
        (
            _slide_release,
            "From the side: power off, the card is held by its rim and drawn straight out, without rocking.",
        ),
    ),
}


def slot_drawings(slot: str) -> Sequence[Drawing]:
    """Give the five steps of a kind of slot."""
    return tuple(
        Drawing(title, f"{slot.capitalize()}. {text}", draw)
        for title, (draw, text) in zip(_TITLES, _SLOTS[slot], strict=True)
    )
