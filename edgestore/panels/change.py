"""Panel on when to change the cards."""

import pandas as pd

from edgestore.answers.certainty import STATED
from edgestore.answers.change import REACHED, Upkeep, upkeep
from edgestore.figures.change import UpkeepFigure
from edgestore.panels.controls import Choice, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel

LADDER, LIFT = (("reached", way) for way in REACHED)


def _tables(result: Upkeep) -> dict[str, pd.DataFrame]:
    return {"when_do_we_change_the_cards": result.ways}


PANEL = Panel(
    question="When do we change the cards?",
    inputs=(
        Number(
            "wear_life_low_years",
            "Wear life, at worst",
            "years",
            1,
            30,
            0.1,
            5,
            f"Until half of such cards are worn out: {STATED.low:g} times the life that 'How long does the card "
            "last?' gives.",
        ),
        Number(
            "wear_life_high_years",
            "Wear life, at best",
            "years",
            1,
            30,
            0.1,
            12,
            f"The same in the best case: {STATED.high:g} times that life.",
        ),
        Number(
            "wear_shape",
            "Spread of wear-out",
            "Weibull shape",
            1,
            10,
            0.1,
            3,
            "At 1 a card does not age; the higher, the more cards wear out together (3 is a guess: common "
            "practice, no source).",
        ),
        Number("random_percent_year", "Random failures", "% a year", 0, 20, 0.1, 1, "For reasons other than wear."),
        Number("early_percent", "Weak cards", "%", 0, 20, 0.1, 1, "Bad from the start, dead within months."),
        Number("card_price", "Price of a card", "currency units", 1, 500, 1, 22, "What this size costs."),
        Number("double_price", "Price of twice the size", "times", 1, 2.5, 0.05, 1.8, "Over the price of this size."),
        Choice("reached", "The cameras are reached", REACHED, REACHED[1], "It decides what a visit costs."),
        Number("visit_price", "A visit", "currency units", 10, 1000, 5, 60, "Price of changing one card.", LADDER),
        Number(
            "visit_with_lift_price",
            "A visit with lift",
            "currency units",
            10,
            2000,
            10,
            260,
            "With the lift and its crew.",
            LIFT,
        ),
        Number(
            "lost_cost",
            "Footage lost at a failure",
            "currency units",
            0,
            5000,
            10,
            500,
            "The value of the footage lost at a failure; your own judgement.",
        ),
        Number("cards", "Similar cameras", "cards", 1, 1000, 1, 40, "Each has one card."),
        Number("horizon_years", "Horizon", "years", 1, 20, 0.5, 10, "Time over which costs are counted."),
        Number("lead_days", "Lead time of cards", "days", 1, 365, 1, 90, "From an order until the cards arrive."),
        Number(
            "confidence_percent",
            "Spares last with",
            "%",
            50,
            99.9,
            0.1,
            95,
            "Confidence that they last until more arrive.",
        ),
    ),
    main=("card_price", "reached", "lost_cost"),
    answer=upkeep,
    figure=UpkeepFigure,
    tables=_tables,
)


def upkeep_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
