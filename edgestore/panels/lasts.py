"""Panel on how long the card lasts."""

from edgestore.figures.lasts import LastsFigure
from edgestore.panels.frame import Choice, Frame, Number, Panel
from edgestore.planning.lasts import ENDURANCE_KINDS, lasting

CYCLES, TBW, HOURS = (("endurance_kind", kind) for kind in ENDURANCE_KINDS)

PANEL = Panel(
    question="How long does the card last?",
    inputs=(
        Number("capacity_gb", "Card's capacity", "GB", 8, 1024, 8, 128, "As printed on the card."),
        Number("mean_mbit_s", "Mean rate while recording", "Mbit/s", 0.25, 32, 0.25, 4, "The mean, not the cap."),
        Number("recorded_fraction", "Recorded part of the time", "", 0.02, 1, 0.01, 1, "1 is continuous recording."),
        Choice(
            "endurance_kind",
            "Endurance is stated as",
            ENDURANCE_KINDS,
            ENDURANCE_KINDS[0],
            "As the card's data sheet has it; nothing stated: cycles, with a wide range.",
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
            CYCLES,
        ),
        Number(
            "write_amplification_low",
            "Write amplification, at best",
            "",
            1,
            10,
            0.1,
            1,
            "Flash writes a host write; 1 for long circular video alone.",
            CYCLES,
        ),
        Number(
            "write_amplification_high",
            "Write amplification, at worst",
            "",
            1,
            10,
            0.1,
            6,
            "6 when nothing is known of the card.",
            CYCLES,
        ),
        Number("endurance_tbw", "Endurance", "TB written", 1, 2000, 1, 100, "By the host, for this capacity.", TBW),
        Number("rated_h", "Rated recording time", "hours", 1000, 60_000, 500, 20_000, "For this capacity.", HOURS),
        Number("rated_mbit_s", "Rated at", "Mbit/s", 1, 50, 0.5, 26, "Hours without a bit rate say nothing.", HOURS),
        Number("wanted_years", "Wanted", "years", 0.5, 15, 0.5, 3, "How long until the card is to be changed."),
    ),
    answer=lasting,
    figure=LastsFigure,
)


def lasts_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
