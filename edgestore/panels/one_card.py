"""Panels on one card in one camera, counted as the plan counts it: how sure it is, and when it is changed."""

from edgestore.figures.one_card import ChancesFigure, ChangeAgeFigure
from edgestore.models.speed.classes import SPEED_CLASSES, TRADE_MARGIN
from edgestore.models.wear.mapping import UPDATE_INTERVAL_S
from edgestore.panels.controls import Choice, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel
from edgestore.plan.one_card import ENDURANCES, one_card, when_to_change

STATED, CYCLES = (("endurance_kind", kind) for kind in ENDURANCES)

ASKED = (
    Number(
        "assurance_percent", "Assurance asked", "%", 50, 99, 1, 90, "Chance that the card keeps all of this together."
    ),
    Number("retention_days", "Footage asked", "days", 0.5, 90, 0.5, 4, "How far back it must go."),
    Number("life_years", "Life asked", "years", 0.5, 15, 0.5, 3, "Shortest time until the card is changed."),
)

CARD_IN_CAMERA = (
    Number("capacity_gb", "Capacity printed on the card", "GB", 8, 1024, 8, 128, "One card of the list."),
    Number("mean_mbit_s", "Mean rate of the camera", "Mbit/s", 0.25, 32, 0.25, 2, "While it records, as listed."),
    Number("cap_mbit_s", "Cap of the camera", "Mbit/s", 0.25, 32, 0.25, 4, "The mean is never above it."),
    Number("recorded_fraction", "Part of the time that is recorded", "", 0.02, 1, 0.01, 1, "1 is continuous."),
    Choice("endurance_kind", "The card states its endurance as", ENDURANCES, ENDURANCES[0], "As its data sheet does."),
    Number(
        "endurance_tbw", "Endurance of the card", "TB written", 5, 2000, 5, 150, "As its data sheet states.", STATED
    ),
    Number("pe_cycles", "Cycles of its flash", "", 100, 30_000, 100, 3000, "The rest follows from the camera.", CYCLES),
    Number(
        "update_interval_s",
        "Time between updates of its file tables",
        "s",
        1,
        60,
        1,
        UPDATE_INTERVAL_S,
        "The camera's firmware decides; 5 is our guess.",
        CYCLES,
    ),
)

CHANCES = Panel(
    question="How sure is one card in one camera?",
    inputs=(
        *ASKED,
        *CARD_IN_CAMERA,
        Choice("speed_class", "Mark of the card", tuple(SPEED_CLASSES), "V30", "What it promises to write."),
        Number("speed_margin", "Speed margin asked", "", 1, 100, 0.5, TRADE_MARGIN, "Promised rate over the cap."),
    ),
    main=("assurance_percent", "capacity_gb", "mean_mbit_s"),
    answer=one_card,
    figure=ChancesFigure,
)

CHANGE = Panel(
    question="When is the card in a camera changed?",
    inputs=(
        *ASKED,
        Number("card_price", "Price of the card", "currency units", 1, 500, 1, 38, "What this card costs."),
        Number("visit_price", "Price of a visit", "currency units", 1, 1000, 1, 60, "Including lifting gear."),
        Number("horizon_years", "Years counted", "years", 1, 20, 0.5, 10, "Time over which costs are counted."),
        *CARD_IN_CAMERA,
    ),
    main=("assurance_percent", "card_price", "visit_price"),
    answer=when_to_change,
    figure=ChangeAgeFigure,
)


def chances_panel() -> Frame:
    """Give the panel on the chances, live."""
    return Frame(CHANCES)


def change_age_panel() -> Frame:
    """Give the panel on the age of change, live."""
    return Frame(CHANGE)
