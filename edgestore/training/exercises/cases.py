"""The case of a card to choose. All sites and cards in it are invented."""

from dataclasses import dataclass
from functools import lru_cache

from edgestore.models.retention import capacity_gb_for_retention, retention_h
from edgestore.models.speed.classes import TRADE_MARGIN, guaranteed_write_mbyte_s, speed_margin
from edgestore.models.wear.endurance import life_years, writes_tb_year
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import LETTERS, Case
from edgestore.units import H_PER_DAY, PERCENT_PER_ONE

PLACES = ("a boat house", "a bus shelter", "a bicycle shed", "a school gate", "a garden centre", "a tram depot")
SIZES_GB = (16, 32, 64, 128, 256, 512, 1024)
MARKS = ("C4", "C6", "C10", "U3", "V60")
CLEARLY = 1.05
"""A card meets or misses what is wanted by this factor or more, so that no rounding decides."""


@dataclass(frozen=True)
class Wanted:
    """What a camera and its site ask of a card."""

    cap_mbit_s: float
    mean_mbit_s: float
    recorded_fraction: float
    days: float
    years: float


@dataclass(frozen=True)
class Offer:
    """A card on offer."""

    capacity_gb: float
    mark: str
    endurance_tbw: float
    price: int

    def __str__(self) -> str:
        words = f"{self.capacity_gb} GB, speed class {self.mark}, endurance {self.endurance_tbw} TB written"
        return f"{words}, {self.price} credits"

    def shortfall(self, wanted: Wanted) -> str:
        """What it lacks, in words; nothing when it meets all."""
        days, margin, years = _ratios(self, wanted)
        if days < 1:
            return f"It holds {days * wanted.days:.1f} days, and {wanted.days} are wanted."
        if margin < 1:
            promised = guaranteed_write_mbyte_s([self.mark])
            return (
                f"{self.mark} promises {promised:g} Mbyte/s: {margin * TRADE_MARGIN:.1f} times the cap, not ten times."
            )
        return f"It lasts {years * wanted.years:.1f} years, and {wanted.years} are wanted." if years < 1 else ""

    def lack(self, wanted: Wanted) -> str:
        """What learners did who chose it although it is not the one."""
        days, margin, years = _ratios(self, wanted)
        if days < 1:
            return "chose a card that is too small"
        if margin < 1:
            return "chose a card that is too slow"
        return "chose a card that wears out too soon" if years < 1 else "chose a card that costs more than it need"


@lru_cache(maxsize=2 * len(LETTERS))
def _ratios(offer: Offer, wanted: Wanted) -> tuple[float, float, float]:
    """What a card gives over what is wanted: days, speed margin, years; asked for several times of each card."""
    days = retention_h(offer.capacity_gb, wanted.mean_mbit_s, wanted.recorded_fraction) / H_PER_DAY
    margin = speed_margin(guaranteed_write_mbyte_s([offer.mark]), wanted.cap_mbit_s)
    years = life_years(offer.endurance_tbw, wanted.mean_mbit_s, wanted.recorded_fraction)
    return days / wanted.days, margin / TRADE_MARGIN, years / wanted.years


def choose_card(draws: Draws) -> Case | None:
    """Ask for the cheapest card that meets what a site wants; nothing when the draws make no clear case."""
    cap = draws.of((3, 5, 6, 7, 10, 12, 14, 16, 20))
    mean = round(cap * draws.of((0.3, 0.35, 0.4, 0.5, 0.6)), 1)
    percent = draws.of((25, 30, 40, 50, 100))
    wanted = Wanted(cap, mean, percent / PERCENT_PER_ONE, draws.of((3, 5, 7, 10, 14)), draws.of((3, 4, 5)))
    offers = draws.some(_offers(draws, wanted), len(LETTERS))
    if not _clear(offers, wanted):
        return None
    best = min((offer for offer in offers if not offer.shortfall(wanted)), key=lambda offer: offer.price)
    recorded = "all the time" if percent == 100 else f"on motion, {percent} % of the time"
    return Case(
        f"A camera at {draws.of(PLACES)} records {recorded}. Its encoder has a cap of {cap} Mbit/s; it writes {mean:g}"
        f" Mbit/s on average while it records. The site wants {wanted.days} days of footage and a card that lasts"
        f" {wanted.years} years. The speed class must promise ten times the cap (common practice, no source). The slot"
        " takes every card. Which is the cheapest card that meets all of this? Answer with its letter.",
        tuple(map(str, offers)),
        offers.index(best),
        tuple(
            "It meets all, and no other that does is cheaper."
            if offer == best
            else offer.shortfall(wanted) or f"It meets all, but costs {offer.price} credits; {best.price} do."
            for offer in offers
        ),
        tuple("" if offer == best else offer.lack(wanted) for offer in offers),
        (
            "Three questions for each card: does it hold the days, does it keep up, does it last?",
            "Days and life go by the mean and the recorded part of the time. Speed goes by the cap.",
            f"It takes {_needed_gb(wanted):.0f} GB, and a promise of {cap * TRADE_MARGIN:g} Mbit/s. Is it in Mbyte/s?",
        ),
    )


def _needed_gb(wanted: Wanted) -> float:
    gb: float = capacity_gb_for_retention(
        wanted.days * H_PER_DAY, wanted.mean_mbit_s, recorded_fraction=wanted.recorded_fraction
    )
    return gb


def _offers(draws: Draws, wanted: Wanted) -> list[Offer]:
    """Give a card that fits, a larger one, and one each that is too small, too slow and too short-lived."""
    size = next((n for n, gb in enumerate(SIZES_GB) if gb >= _needed_gb(wanted)), 0)
    speed = next((n for n, mark in enumerate(MARKS) if _ratios(Offer(1, mark, 1, 1), wanted)[1] >= 1), 0)
    size, speed = min(max(size, 1), len(SIZES_GB) - 2), max(speed, 1)
    tbw = writes_tb_year(wanted.mean_mbit_s, wanted.recorded_fraction) * wanted.years
    enough = [round(tbw * draws.of((1.2, 1.4, 1.7))) + 1 for _ in range(4)]
    price = draws.of(range(20, 61))
    others = [round(price * draws.of((0.6, 0.7, 0.8, 0.9, 1.1, 1.2))) for _ in range(3)]
    return [
        Offer(SIZES_GB[size], MARKS[speed], enough[0], price),
        Offer(SIZES_GB[size + 1], MARKS[speed], enough[1] * 2, round(price * draws.of((1.4, 1.5, 1.6)))),
        Offer(SIZES_GB[size - 1], MARKS[speed], enough[2], others[0]),
        Offer(SIZES_GB[size], MARKS[speed - 1], enough[3], others[1]),
        Offer(SIZES_GB[size], MARKS[speed], max(round(tbw * draws.of((0.5, 0.6, 0.7))), 1), others[2]),
    ]


def _clear(offers: list[Offer], wanted: Wanted) -> bool:
    """Say whether each card lacks one thing at most, by a clear step, and one of two that lack none is cheaper."""
    ratios = [ratio for offer in offers for ratio in _ratios(offer, wanted)]
    lacking = sorted(sum(ratio < 1 for ratio in _ratios(offer, wanted)) for offer in offers)
    prices = {offer.price for offer in offers if not offer.shortfall(wanted)}
    apart = all(ratio >= CLEARLY or ratio <= 1 / CLEARLY for ratio in ratios)
    return apart and lacking == [0, 0, 1, 1, 1] and len(prices) == 2
