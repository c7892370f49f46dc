"""Panel on how long the card holds."""

from edgestore.answers.hold import holding
from edgestore.figures.hold import HoldsFigure
from edgestore.inputs.card_list import USABLE_FRACTION
from edgestore.models.rate.bitrate import MEAN_OVER_CAP_BAND
from edgestore.panels.controls import Choice, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel

USABLE = Number(
    "usable_fraction",
    "Usable part of the capacity",
    "",
    0.8,
    1,
    0.005,
    USABLE_FRACTION,
    "1 counts all that is printed (common practice, no source). Formatting and firmware leave a little less: format the"
    " card in the camera, and divide the GB that it shows as free by those printed.",
)
"""The same on every page that asks for it."""

PANEL = Panel(
    question="How long does the card hold?",
    inputs=(
        Number("capacity_gb", "Card's capacity", "GB", 8, 1024, 8, 64, "As printed on the card."),
        Number("cap_mbit_s", "Cap of the encoder", "Mbit/s", 0.25, 32, 0.25, 4, "The most that the encoder may write."),
        Choice(
            "scene",
            "Scene",
            list(MEAN_OVER_CAP_BAND),
            "unknown",
            "Decides the lowest mean that was measured under a cap.",
        ),
        Number(
            "mean_over_cap",
            "Mean as a share of the cap",
            "",
            0.05,
            1,
            0.01,
            0.44,
            "What the camera writes on average.",
        ),
        Number("recorded_fraction", "Recorded part of the time", "", 0.01, 1, 0.01, 1, "1 is continuous recording."),
        USABLE,
        Number("wanted_days", "Wanted", "days", 0.5, 90, 0.5, 7, "How far back the footage should go."),
    ),
    main=("capacity_gb", "cap_mbit_s", "wanted_days"),
    answer=holding,
    figure=HoldsFigure,
)


def holds_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
