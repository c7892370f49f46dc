"""Panel on where the writes go."""

from edgestore.answers.flash_wear import PASSES, YES_NO, flash_use
from edgestore.figures.flash_wear import FlashFigure
from edgestore.models.wear.mapping import MAPPINGS
from edgestore.models.wear.simulated_card import LEVELLINGS
from edgestore.panels.controls import Choice, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel

PANEL = Panel(
    question="Where do the writes go?",
    inputs=(
        Number(
            "passes", "Times the card was filled", "", 0.25, PASSES, 0.25, PASSES, "Move it to watch the card wear."
        ),
        Choice("small_updates", "Small updates between the video", YES_NO, "yes", "File tables and index of the card."),
        Choice(
            "levelling",
            "Wear levelling",
            LEVELLINGS,
            "off",
            "dynamic: uses the least worn free unit; static: moves still data too.",
        ),
        Choice(
            "mapping",
            "The card maps by",
            MAPPINGS,
            "unit",
            "Small cards and cheap ones map by unit (common practice, no source).",
        ),
        Number("update_interval_s", "Time between updates", "s", 1, 60, 1, 5, "The camera's firmware decides."),
        Number("mean_mbit_s", "Mean rate", "Mbit/s", 0.5, 16, 0.5, 4, "Rate at which the camera writes video."),
        Number("still_fraction", "Part never rewritten", "", 0, 0.75, 0.05, 0.25, "Kept events, settings, old files."),
    ),
    main=("passes", "small_updates", "mapping"),
    answer=flash_use,
    figure=FlashFigure,
)


def flash_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
