"""The sums on what is read off a card's label and off a computer's screen. All labels are invented."""

from edgestore.models.speed.classes import SPEED_CLASSES, TRADE_MARGIN, guaranteed_write_mbyte_s
from edgestore.training.exercises.cases import PLACES
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import Sum
from edgestore.training.exercises.texts import told_sum
from edgestore.units import BITS_PER_BYTE, GIB_PER_GB

STRONG = ("U3", "V30", "V60", "V90")
WEAK = ("C4", "C6", "C10", "U1", "V10")


def cap_for_label(draws: Draws) -> Sum:
    """Ask up to which cap a label keeps its promise with the margin of the trade."""
    strong, weak, read_mbyte_s = draws.of(STRONG), draws.of(WEAK), draws.of(range(95, 255, 5))
    promised = guaranteed_write_mbyte_s([strong, weak])
    weaker = SPEED_CLASSES[weak].min_write_mbyte_s
    cap = promised * BITS_PER_BYTE / TRADE_MARGIN
    slips = {
        "up_to": read_mbyte_s * BITS_PER_BYTE / TRADE_MARGIN,
        "weaker_mark": weaker * BITS_PER_BYTE / TRADE_MARGIN,
        "no_margin": promised * BITS_PER_BYTE,
        "left_in_bytes": promised / TRADE_MARGIN,
    }
    figures = {
        "place": draws.of(PLACES),
        "read_mbyte_s": read_mbyte_s,
        "weak": weak,
        "strong": strong,
        "weaker": weaker,
        "promised": promised,
        "promised_mbit_s": promised * BITS_PER_BYTE,
        "margin": TRADE_MARGIN,
    }
    return told_sum("cap_for_label", cap, slips, **figures)


def gb_on_screen(draws: Draws) -> Sum:
    """Ask how many GB a screen means that counts in GiB and writes GB."""
    shown = draws.of(range(200, 9400)) / 10
    slips = {
        "as_shown": shown,
        "wrong_way": shown * GIB_PER_GB,
        "once": shown / GIB_PER_GB ** (1 / 3),
        "twice": shown / GIB_PER_GB ** (2 / 3),
    }
    return told_sum("gb_on_screen", shown / GIB_PER_GB, slips, shown=shown)
