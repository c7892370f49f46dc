"""The card: which side is which, where the notch is, where to hold it. Shape: SD Specification, from memory."""

from collections.abc import Sequence

from matplotlib.axes import Axes

from edgestore.drawings.parts import DARK, MIDDLE, PALE, WHITE, Drawing, Point, box, line, shape, words

CARD_MM: tuple[Point, ...] = (
    (0.3, 0), (10.7, 0), (11, 0.3), (11, 7.9), (9.9, 9.0), (9.9, 10.0), (10.6, 10.6),
    (10.6, 11.2), (9.9, 11.8), (9.9, 14.6), (9.5, 15), (0.4, 15), (0, 14.6), (0, 0.3),
)  # fmt: skip
"""Outline from the label side, the contact end up: 11 mm wide, 15 mm long, step and notch at the right; simplified."""

CONTACTS = 8


def card_outline(corner: Point, scale: float, *, back: bool = False) -> list[Point]:
    """Give the card's outline, contact end up, its lower left corner at ``corner``; from the back it is mirrored."""
    return [(corner[0] + scale * (11 - x if back else x), corner[1] + scale * y) for x, y in CARD_MM]


def contacts(axes: Axes, corner: Point, scale: float) -> None:
    """Draw the contacts on a card seen from its back, contact end up."""
    for at in range(CONTACTS):
        box(
            axes,
            (corner[0] + scale * (1.75 + 1.08 * at), corner[1] + scale * 11.4),
            (0.7 * scale, 2.9 * scale),
            DARK,
            4,
        )


def _front(axes: Axes) -> None:
    corner, scale = (9.0, 6.0), 4.4
    shape(axes, card_outline(corner, scale), PALE)
    box(axes, (14, 14), (38, 26), WHITE, 3)
    for y in (34, 28, 22):
        line(axes, [(18, y), (40 if y > 25 else 32, y)], 2, MIDDLE, 4)
    words(axes, "contact end\ngoes in first", (65, 70), (45, 71))
    words(axes, "notch", (65, 52), (53.5, 51), bold=True)
    words(axes, "label side", (65, 31), (46, 31))
    words(axes, "hold it by\nthe edges", (65, 12), (57.4, 15))


def _back(axes: Axes) -> None:
    corner, scale = (50.0, 6.0), 4.4
    shape(axes, card_outline(corner, scale, back=True), PALE)
    contacts(axes, corner, scale)
    words(axes, f"{CONTACTS} contacts:\ndo not touch;\nthey face\nthe board", (45, 65), (58, 62), bold=True, ha="right")
    words(axes, "notch", (43, 40), (53.5, 47), ha="right")
    words(axes, "back", (74, 28), ha="center")


def card_drawings() -> Sequence[Drawing]:
    """Give the card from both sides."""
    return (
        Drawing(
            "The card, label side",
            "A memory card from its label side, the contact end up, the notch at the right edge. Hold it by its edges.",
            _front,
        ),
        Drawing(
            "The card, contact side",
            f"The same card from its back. {CONTACTS} contacts stand in a row near the end that goes in first;"
            " they face the circuit board. From here the notch is at the left edge.",
            _back,
        ),
    )
