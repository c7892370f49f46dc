"""Panel on how footage gets off a camera."""

from edgestore.answers.export import exporting
from edgestore.figures.export import ExportFigure
from edgestore.panels.controls import Number
from edgestore.panels.frame import Frame
from edgestore.panels.hold import USABLE
from edgestore.panels.panel import Panel

PANEL = Panel(
    question="How do I get the footage off?",
    inputs=(
        Number("span_h", "Footage wanted", "hours", 0.5, 168, 0.5, 6, "From the first to the last moment wanted."),
        Number("ended_h", "It ended", "hours ago", 0, 336, 0.5, 24, "From its last moment until now."),
        Number("link_mbit_s", "Link to the cameras", "Mbit/s", 1, 200, 1, 16, "Shared; live streams go first."),
        Number("capacity_gb", "Card's capacity", "GB", 8, 1024, 8, 64, "As printed on the card; all of it is copied."),
        Number("bitrate_mbit_s", "Mean rate of a camera", "Mbit/s", 0.1, 32, 0.1, 4, "While it records."),
        Number("cameras", "Cameras live on the link", "", 1, 64, 1, 3, "All at this rate, this one among them."),
        Number(
            "read_mbit_s",
            "Camera reads its card at",
            "Mbit/s",
            1,
            400,
            1,
            50,
            "The most that a camera gives of its recording (our guess): fetch a minute and time it.",
        ),
        Number("fetched", "Fetched at the same time", "", 1, 64, 1, 1, "Of those live; they share what these leave."),
        Number("visit_h", "Until the card is taken out", "hours", 0, 168, 0.5, 8, "The camera records until then."),
        Number("reader_mbyte_s", "Card reader", "Mbyte/s", 1, 400, 1, 40, "With its port and the disk written to."),
        Number("card_read_mbyte_s", "Card reads at", "Mbyte/s", 1, 400, 1, 80, "In sequence; its label says at most."),
        USABLE,
        Number(
            "locked_gb", "Other clips locked", "GB", 0, 1024, 1, 0, "Kept from being overwritten, for whatever reason."
        ),
        Number(
            "wanted_h", "Retention promised", "hours", 1, 1440, 1, 24, "What the card is to hold beside locked clips."
        ),
        Number("key_frame_interval_s", "Key frame every", "s", 0.5, 20, 0.5, 2, "For what signing adds."),
        Number("frame_rate_fps", "Pictures a second", "", 1, 60, 1, 15, "For what signing adds."),
    ),
    main=("span_h", "ended_h", "link_mbit_s"),
    answer=exporting,
    figure=ExportFigure,
)


def export_panel() -> Frame:
    """The panel, live."""
    return Frame(PANEL)
