"""Panel on how long the card lasts."""

from typing import Any

from edgestore.answers.life import ENDURANCE_KINDS, Lasting, lasting
from edgestore.figures.life import LastsFigure
from edgestore.models.wear.mapping import UPDATE_INTERVAL_S
from edgestore.panels.controls import Choice, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel

STATED = "cycles and write amplification"
"""The kind of endurance with which the panel asks for the range of the amplification too."""

CYCLES, TBW, HOURS = (("endurance_kind", kind) for kind in ENDURANCE_KINDS)
BOTH = ("endurance_kind", STATED)


def lasting_by_kind(
    endurance_kind: str = ENDURANCE_KINDS[0],
    write_amplification_low: float | None = None,
    write_amplification_high: float | None = None,
    **inputs: Any,
) -> Lasting:
    """How long a card lasts, the range of the amplification from the camera unless the kind says that it is stated.

    A lesson shows few of the inputs: what is left out is as in :func:`edgestore.answers.life.lasting`.
    """
    if endurance_kind != STATED:
        return lasting(endurance_kind=endurance_kind, **inputs)
    return lasting(
        endurance_kind=ENDURANCE_KINDS[0],
        write_amplification_low=write_amplification_low,
        write_amplification_high=write_amplification_high,
        **inputs,
    )


PANEL = Panel(
    question="How long does the card last?",
    inputs=(
        Number("capacity_gb", "Card's capacity", "GB", 8, 1024, 8, 128, "As printed on the card."),
        Number("mean_mbit_s", "Mean rate while recording", "Mbit/s", 0.25, 32, 0.25, 4, "The mean, not the cap."),
        Number("recorded_fraction", "Recorded part of the time", "", 0.02, 1, 0.01, 1, "1 is continuous recording."),
        Choice(
            "endurance_kind",
            "Endurance is stated as",
            (ENDURANCE_KINDS[0], STATED, *ENDURANCE_KINDS[1:]),
            ENDURANCE_KINDS[0],
            "As on the card's data sheet; nothing stated: cycles, with a wide range.",
        ),
        Number(
            "pe_cycles",
            "Program/erase cycles",
            "",
            100,
            30_000,
            100,
            3000,
            "Some thousands for three bits a cell, more for fewer (from memory).",
            (*CYCLES, STATED),
        ),
        Number(
            "update_interval_s",
            "Time between updates of file tables",
            "s",
            1,
            60,
            1,
            UPDATE_INTERVAL_S,
            "The camera's firmware decides; 5 is our guess. With the mean rate it sets the worst write amplification.",
            CYCLES,
        ),
        Number(
            "write_amplification_low",
            "Write amplification, at best",
            "",
            1,
            200,
            0.1,
            1,
            "Flash writes per host write; 1 for long circular video alone.",
            BOTH,
        ),
        Number(
            "write_amplification_high",
            "Write amplification, at worst",
            "",
            1,
            200,
            0.1,
            6,
            "As the card's maker states it for a camera's writes.",
            BOTH,
        ),
        Number("endurance_tbw", "Endurance", "TB written", 1, 2000, 1, 100, "By the host, for this capacity.", TBW),
        Number("rated_h", "Rated recording time", "hours", 1000, 60_000, 500, 20_000, "For this capacity.", HOURS),
        Number(
            "rated_mbit_s",
            "Rated at",
            "Mbit/s",
            1,
            50,
            0.5,
            26,
            "A rating in hours means nothing without its bit rate.",
            HOURS,
        ),
        Number("wanted_years", "Wanted", "years", 0.5, 15, 0.5, 3, "The shortest life that is acceptable."),
    ),
    main=("capacity_gb", "mean_mbit_s", "recorded_fraction"),
    answer=lasting_by_kind,
    figure=LastsFigure,
)


def lasts_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
