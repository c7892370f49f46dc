"""Panel on whether a card is what its label says."""

from edgestore.answers.label import BATCH_CORRELATION, EXAMPLE, label_check
from edgestore.figures.lots import LotFigure
from edgestore.panels.controls import Number, Text
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel

PANEL = Panel(
    question="Is this card what its label says?",
    inputs=(
        Text(
            "registers",
            "Registers of the card",
            EXAMPLE,
            "Paste them as hexadecimal text, or the lines of a boot log; empty for none. Here: a published example.",
        ),
        Number("label_gb", "Capacity on the label", "GB", 1, 2048, 1, 32, "As printed on the card."),
        Number("lot_cards", "Cards in the lot", "", 2, 1000, 1, 200, "All that came together."),
        Number("tried_cards", "Cards tried", "", 1, 1000, 1, 35, "Drawn at random, each checked in full."),
        Number("may_fail", "Of these may fail", "", 0, 20, 1, 1, "One more, and the lot goes back."),
        Number(
            "acceptable_fraction",
            "Good lot: bad cards at most",
            "",
            0,
            0.1,
            0.005,
            0.01,
            "A share that the buyer still takes; 0.01 is 1 %.",
        ),
        Number(
            "unacceptable_fraction",
            "Bad lot: bad cards at least",
            "",
            0.02,
            0.3,
            0.01,
            0.1,
            "A share that the buyer will not have; 0.1 is 10 %.",
        ),
        Number(
            "batch_correlation",
            "Bad cards of a batch go together",
            "",
            0,
            0.9,
            0.01,
            BATCH_CORRELATION,
            "0: independent; 0.1: where one is bad, another of its batch is with 10 % more. A guess.",
        ),
    ),
    main=("registers", "lot_cards", "tried_cards"),
    answer=label_check,
    figure=LotFigure,
)


def label_panel() -> Frame:
    """The panel, live."""
    return Frame(PANEL)
