"""The sums on what is read off a card's label and off a computer's screen. All labels are invented."""

from edgestore.models.speed.classes import SPEED_CLASSES, TRADE_MARGIN, guaranteed_write_mbyte_s
from edgestore.training.exercises.cases import PLACES
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import Slip, Sum
from edgestore.training.exercises.sums import NOT_3_TIMES, WRONG_WAY
from edgestore.units import BITS_PER_BYTE, GIB_PER_GB

STRONG = ("U3", "V30", "V60", "V90")
WEAK = ("C4", "C6", "C10", "U1", "V10")


def cap_for_label(draws: Draws) -> Sum:
    """Ask up to which cap a label keeps its promise with the margin of the trade."""
    strong, weak, read_mbyte_s = draws.of(STRONG), draws.of(WEAK), draws.of(range(95, 255, 5))
    promised = guaranteed_write_mbyte_s([strong, weak])
    weaker = SPEED_CLASSES[weak].min_write_mbyte_s
    cap = promised * BITS_PER_BYTE / TRADE_MARGIN
    return Sum(
        f"A card for a camera at {draws.of(PLACES)} has a large “up to {read_mbyte_s} MB/s” on its label, and two small"
        f" marks: {weak} and {strong}. Its slot is made for both. The promise shall be {TRADE_MARGIN:g} times the cap"
        " (common practice, no source). How high may the cap be? Answer in Mbit/s, with one decimal.",
        "Mbit/s",
        1,
        cap,
        (
            f"“Up to {read_mbyte_s} MB/s” promises nothing here. It is the most, and mostly for reading.",
            f"The marks promise. {weak}: {weaker:g} Mbyte/s. {strong}: {promised:g} Mbyte/s. The best counts.",
            f"8 bits are 1 byte: {promised:g} × 8 = {promised * BITS_PER_BYTE:g} Mbit/s.",
            f"Ten times the cap: {promised * BITS_PER_BYTE:g} ÷ {TRADE_MARGIN:g} = {cap:.1f} Mbit/s.",
        ),
        (
            "Which of the three is a promise to write? One of them says “up to”.",
            f"What does {strong} promise, in Mbyte/s? And how much is that in Mbit/s?",
            "Times 8 for Mbit/s. Then divide by ten for the margin.",
        ),
        (
            Slip(
                read_mbyte_s * BITS_PER_BYTE / TRADE_MARGIN,
                "You took the large figure. “Up to” is the most, not the least, and mostly for reading.",
                "took the “up to” figure for a promise",
            ),
            Slip(
                weaker * BITS_PER_BYTE / TRADE_MARGIN,
                "You took the weaker mark. A card must keep both of its promises, so the better one counts.",
                "took the weaker mark",
            ),
            Slip(promised * BITS_PER_BYTE, "You left out the margin of ten.", "left out the margin of ten"),
            Slip(
                promised / TRADE_MARGIN,
                "That is still in Mbyte/s. The cap is in Mbit/s: 8 bits are 1 byte.",
                "left it in Mbyte/s",
            ),
        ),
    )


def gb_on_screen(draws: Draws) -> Sum:
    """Ask how many GB a screen means that counts in GiB and writes GB."""
    shown = draws.of(range(200, 9400)) / 10
    gb = shown / GIB_PER_GB
    return Sum(
        f"A computer shows a folder of footage as “{shown:.1f} GB”. But it counts in GiB, and only writes GB for short."
        " How many GB are that in the unit of a card's label? Answer in GB, with one decimal.",
        "GB",
        1,
        gb,
        (
            "The screen says GB, but it means GiB. Many screens do so: a card of 64 GB shows as “59.6 GB”.",
            "1 GiB is 1024 × 1024 × 1024 = 1 073 741 824 bytes. So it is 1.073742 GB.",
            f"{shown:.1f} × 1.073742 = {gb:.1f} GB.",
        ),
        (
            "The screen counts in the larger unit. So is the number in GB larger or smaller?",
            "1 GiB is 1024 × 1024 × 1024 bytes; 1 GB is 1 000 000 000 bytes.",
            f"Multiply {shown:.1f} by 1.073742.",
        ),
        (
            Slip(
                shown,
                "You took the screen's word for it. It writes GB, but it counts in GiB.",
                "took the screen's word",
            ),
            Slip(shown * GIB_PER_GB, "The wrong way round: a GB is less than a GiB, so there are more.", WRONG_WAY),
            Slip(shown / GIB_PER_GB ** (1 / 3), "You took 1024 for 1000 once. It is 3 times.", NOT_3_TIMES),
            Slip(shown / GIB_PER_GB ** (2 / 3), "You took 1024 for 1000 twice. It is 3 times.", NOT_3_TIMES),
        ),
    )
