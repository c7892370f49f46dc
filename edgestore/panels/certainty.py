"""Panel on how sure we are of a card's life."""

from typing import Any

from edgestore.answers.certainty import Certainty, certainty
from edgestore.figures.certainty import SureFigure
from edgestore.models.wear.mapping import UPDATE_INTERVAL_S
from edgestore.panels.controls import Choice, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel

UNKNOWN, UPDATES_KNOWN, STATED = "unknown", "unknown; update interval known", "stated"
"""What is known of the card's write amplification."""

BY_CAMERA, BY_MAKER = ("amplification", UPDATES_KNOWN), ("amplification", STATED)


def certainty_by_amplification(
    amplification: str,
    write_amplification_low: float,
    write_amplification_high: float,
    update_interval_s: float,
    **inputs: Any,
) -> Certainty:
    """How sure it is that a card lasts; how it maps, and how often it is updated, count unless they are known."""
    if amplification == STATED:
        ends = {
            "write_amplification_low": write_amplification_low,
            "write_amplification_high": write_amplification_high,
        }
        return certainty(**ends, **inputs)
    return certainty(update_interval_s=update_interval_s if amplification == UPDATES_KNOWN else None, **inputs)


PANEL = Panel(
    question="How sure are we?",
    inputs=(
        Number("wanted_years", "Wanted", "years", 0.5, 15, 0.5, 3, "How long the card is to last."),
        Number("capacity_gb", "Card's capacity", "GB", 8, 1024, 8, 128, "As printed on the card."),
        Number("recorded_fraction", "Recorded part of the time", "", 0.02, 1, 0.01, 1, "1 is continuous recording."),
        Number("mean_low_mbit_s", "Mean rate, low", "Mbit/s", 0.25, 30, 0.25, 2, "One mean in ten is below this."),
        Number("mean_high_mbit_s", "Mean rate, high", "Mbit/s", 0.5, 32, 0.25, 6, "One mean in ten is above this."),
        Number("cap_mbit_s", "Cap set on the rate", "Mbit/s", 0.5, 32, 0.25, 8, "No mean is above it."),
        Number("pe_cycles_low", "Cycles, low", "", 100, 20_000, 100, 1000, "One card in ten bears fewer."),
        Number("pe_cycles_high", "Cycles, high", "", 200, 30_000, 100, 5000, "One card in ten bears more."),
        Choice(
            "amplification",
            "Write amplification is",
            (UNKNOWN, UPDATES_KNOWN, STATED),
            UNKNOWN,
            "Unknown: the card may map by page, by unit with a log or by unit, each equally likely; how much "
            "each writes follows from the camera.",
        ),
        Number(
            "update_interval_s",
            "Time between updates of file tables",
            "s",
            1,
            60,
            1,
            UPDATE_INTERVAL_S,
            "The camera's firmware decides.",
            BY_CAMERA,
        ),
        Number(
            "write_amplification_low", "Write amplification, low", "", 1, 199, 0.1, 1, "1 if it maps by page.", BY_MAKER
        ),
        Number(
            "write_amplification_high",
            "Write amplification, high",
            "",
            1.1,
            200,
            0.1,
            6,
            "The most that its maker states.",
            BY_MAKER,
        ),
        Number(
            "random_percent_year",
            "Random failures",
            "% a year",
            0.1,
            10,
            0.1,
            1,
            "Failures for reasons other than wear; a guess.",
        ),
        Number("early_percent", "Weak from the start", "%", 0, 20, 0.5, 1, "Cards that fail within months; a guess."),
    ),
    main=("wanted_years", "capacity_gb", "amplification"),
    answer=certainty_by_amplification,
    figure=SureFigure,
)


def sure_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
