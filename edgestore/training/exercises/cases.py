"""The cases: a card to choose, and a fault to find in an installation. All sites and cards in them are invented."""

import tomllib
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

from edgestore.models.retention import capacity_gb_for_retention, retention_h
from edgestore.models.speed.classes import SPEED_CLASSES, TRADE_MARGIN, guaranteed_write_mbyte_s, speed_margin
from edgestore.models.wear.endurance import life_years, writes_tb_year
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import LETTERS, Case
from edgestore.units import BITS_PER_BYTE, GIB_PER_GB, H_PER_DAY, MBYTE_PER_MBIT, PERCENT_PER_ONE

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


@dataclass(frozen=True)
class Point:
    """One thing said of an installation: as it should be, with the fault in it, and why each is what it is."""

    right: str
    wrong: str
    why_right: str
    why_wrong: str


@cache
def points() -> tuple[Point, ...]:
    """Give the points of practice: the data file beside this one."""
    text = files("edgestore.training.exercises").joinpath("installations.toml").read_text(encoding="utf-8")
    return tuple(
        Point(row["right"], row["wrong"], row["why_right"], row["why_wrong"]) for row in tomllib.loads(text)["point"]
    )


def spot_fault(draws: Draws) -> Case:
    """Ask which of five things said of an installation is wrong."""
    figures = draws.of((_held, _shown, _promised, _worn))
    chosen = [figures(draws), *draws.some(points(), len(LETTERS) - 1)]
    told = draws.some(chosen, len(LETTERS))
    wrong = draws.of(range(len(LETTERS)))
    return Case(
        f"A card was fitted in a camera at {draws.of(PLACES)}. Here are five statements about the job. One of them"
        " is wrong. Which? Answer with its letter.",
        tuple(point.wrong if n == wrong else point.right for n, point in enumerate(told)),
        wrong,
        tuple(point.why_wrong if n == wrong else point.why_right for n, point in enumerate(told)),
        (
            "Read each line twice. Four of them are as they should be.",
            "Do the sum in the line that holds figures: does it come out?",
            _narrowed(wrong, draws),
        ),
    )


def _narrowed(wrong: int, draws: Draws) -> str:
    fine = draws.some([letter for n, letter in enumerate(LETTERS) if n != wrong], 3)
    return f"These are as they should be: {', '.join(sorted(fine))}."


def _held(draws: Draws) -> Point:
    capacity_gb, mean = draws.of((64, 128, 256)), draws.of((2, 2.5, 3, 4, 5))
    hours = retention_h(capacity_gb, mean)
    said = f"The card has {capacity_gb} GB. The camera writes {mean:g} Mbit/s on average, all the time. The card holds"
    why = f"{capacity_gb} ÷ ({mean:g} × 0.45) = {hours:.0f} hours."
    wrong = draws.of((4, 5, 8))
    return Point(f"{said} some {hours:.0f} hours.", f"{said} some {hours * wrong:.0f} hours.", why, why)


def _shown(draws: Draws) -> Point:
    capacity_gb = draws.of((32, 64, 128, 256, 512))
    said = f"The card's label says {capacity_gb} GB. A computer shows some {capacity_gb * GIB_PER_GB:.0f} GiB"
    why = f"{capacity_gb} GB are {capacity_gb * GIB_PER_GB:.1f} GiB. GiB are larger, so there are fewer."
    return Point(
        f"{said}, which is the same size in another unit.", f"{said}, so the card is a fake and goes back.", why, why
    )


def _promised(draws: Draws) -> Point:
    mark, cap = draws.of(("C10", "U1", "V10")), draws.of((4, 5, 6))
    promised = SPEED_CLASSES[mark].min_write_mbyte_s
    said = f"The camera's cap is {cap} Mbit/s and the card is marked {mark}. That mark promises {promised:g}"
    why = f"{mark} promises {promised:g} Mbyte/s. 8 Mbit/s are 1 Mbyte/s."
    right = f"{said} Mbyte/s, which is {promised * BITS_PER_BYTE:g} Mbit/s."
    wrong = f"{said} Mbit/s, which is {promised * MBYTE_PER_MBIT:g} Mbyte/s."
    return Point(right, wrong, why, why)


def _worn(draws: Draws) -> Point:
    endurance_tbw, mean = draws.of((30, 40, 60, 80)), draws.of((2, 3, 4, 5))
    years = life_years(endurance_tbw, mean)
    rates = f"The camera writes {mean} Mbit/s on average, all the time."
    said = f"The card's endurance is {endurance_tbw} TB written. {rates} By wear alone it lasts some"
    why = f"{mean} Mbit/s write {writes_tb_year(mean):.1f} TB a year: {years:.1f} years by wear alone."
    wrong = years * draws.of((5, 8))
    return Point(f"{said} {years:.1f} years.", f"{said} {wrong:.1f} years.", why, why)
