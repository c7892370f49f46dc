"""Panel on what the card saves when the recorder is down."""

from edgestore.answers.outage import saving
from edgestore.figures.outage import SavesFigure
from edgestore.models.outage.saved import LAWS
from edgestore.panels.controls import Choice, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel

AT_RANDOM, LONG_TAIL, BY_VISIT = (("repair_law", law) for law in LAWS)

PANEL = Panel(
    question="What does the card save?",
    inputs=(
        Number("capacity_gb", "Card's capacity", "GB", 8, 1024, 8, 64, "As printed on the card."),
        Number("cap_mbit_s", "Cap of the encoder", "Mbit/s", 0.25, 32, 0.25, 4, "The most that the encoder may write."),
        Number(
            "mean_over_cap", "Mean as a share of the cap", "", 0.05, 1, 0.01, 0.44, "What the camera writes on average."
        ),
        Number("recorded_fraction", "Recorded part of the time", "", 0.01, 1, 0.01, 1, "1 is continuous recording."),
        Number(
            "recorder_mtbf_h",
            "Recorder fails every",
            "hours",
            500,
            100_000,
            20,
            17_520,
            "Mean time from a repair to the next failure; a year is 8766 hours. From your own records where you can.",
        ),
        Choice("repair_law", "Outages", list(LAWS), "lognormal", "Distribution of their lengths; the tail decides."),
        Number("repair_mean_h", "Mean outage", "hours", 0.5, 240, 0.5, 24, "From failure to repair.", AT_RANDOM),
        Number("repair_median_h", "Median outage", "hours", 0.5, 240, 0.5, 8, "Half last longer.", LONG_TAIL),
        Number(
            "repair_sigma",
            "Scatter of outages",
            "",
            0.1,
            2.5,
            0.1,
            1.2,
            "Standard deviation of the length's logarithm: at 1.2 one outage in eleven lasts longer than five medians.",
            LONG_TAIL,
        ),
        Number(
            "visit_delay_h",
            "Until somebody could come",
            "hours",
            0,
            72,
            0.5,
            4,
            "Waiting time, nights and weekends included.",
            BY_VISIT,
        ),
        Number(
            "work_h", "Repair itself", "hours", 0.5, 24, 0.5, 2, "Once begun, it is finished without a break.", BY_VISIT
        ),
        Number(
            "shared_cause_share",
            "Outages that take the camera too",
            "",
            0,
            0.5,
            0.01,
            0.02,
            "Part of all outages: mains loss, theft, fire.",
        ),
        Number("card_failures_per_year", "Card's failures", "a year", 0, 0.5, 0.01, 0.02, "0.1 means one card in ten."),
        Number(
            "inspected_every_days",
            "Card is checked every",
            "days",
            1,
            1500,
            1,
            365,
            "A failed card is noticed at the check; a camera that reports it counts as a check every day.",
        ),
        Number("saved_fraction", "Share to be saved", "", 0.5, 0.999, 0.001, 0.95, "Share of the footage of outages."),
        Number(
            "link_mbit_s",
            "Link to the cameras",
            "Mbit/s",
            2,
            1000,
            1,
            100,
            "Shared by all cameras; live streams go first.",
        ),
        Number("cameras", "Cameras on the link", "", 1, 64, 1, 16, "All like this one, and all fetched together."),
        Number("outage_h", "Outage in the picture", "hours", 0, 720, 1, 48, "The upper picture shows this one outage."),
    ),
    main=("capacity_gb", "cap_mbit_s", "outage_h"),
    answer=saving,
    figure=SavesFigure,
)


def saves_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
