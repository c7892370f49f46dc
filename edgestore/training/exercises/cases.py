"""The case of a card to choose. All sites and cards in it are invented."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from edgestore.models.retention import capacity_gb_for_retention, retention_h
from edgestore.models.speed.classes import TRADE_MARGIN, guaranteed_write_mbyte_s, speed_margin
from edgestore.models.wear.endurance import life_years, writes_tb_year
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import LETTERS, Case
from edgestore.training.exercises.texts import texts
from edgestore.units import H_PER_DAY, PERCENT_PER_ONE

PLACES = tuple(texts("cases")["places"])
SIZES_GB = (16, 32, 64, 128, 256, 512, 1024)
MARKS = ("C4", "C6", "C10", "U3", "V60")
DEARER = "dearer"
"""Key of the words for a card that meets all and costs more than the one to choose."""

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
        said: str = _words()["offer"].format(**vars(self))
        return said

    def lacks(self, wanted: Wanted) -> str:
        """The key of the words for what it lacks; empty when it meets all."""
        days, margin, years = _ratios(self, wanted)
        if days < 1:
            return "too_small"
        if margin < 1:
            return "too_slow"
        return "too_short" if years < 1 else ""

    def why(self, wanted: Wanted, best: "Offer") -> str:
        """Why it is the card to choose, or is not, in words."""
        if self == best:
            return str(_words()["right"])
        key = self.lacks(wanted)
        days, margin, years = _ratios(self, wanted)
        figures: dict[str, dict[str, Any]] = {
            "too_small": {"days": days * wanted.days, "wanted": wanted.days},
            "too_slow": {"promised": guaranteed_write_mbyte_s([self.mark]), "times": margin * TRADE_MARGIN},
            "too_short": {"years": years * wanted.years, "wanted": wanted.years},
            "": {"best": best.price},
        }
        said: str = _words()[key or DEARER]["why"].format(mark=self.mark, price=self.price, **figures[key])
        return said


def _words() -> Mapping[str, Any]:
    """Give the words of the case."""
    words: Mapping[str, Any] = texts("cases")["choose_card"]
    return words


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
    best = min((offer for offer in offers if not offer.lacks(wanted)), key=lambda offer: offer.price)
    words = _words()
    recorded = words["all_the_time" if percent == 100 else "on_motion"].format(percent=percent)
    of_site = {"place": draws.of(PLACES), "days": wanted.days, "years": wanted.years}
    return Case(
        words["question"].format(recorded=recorded, cap=cap, mean=mean, **of_site),
        tuple(map(str, offers)),
        offers.index(best),
        tuple(offer.why(wanted, best) for offer in offers),
        tuple("" if offer == best else words[offer.lacks(wanted) or DEARER]["did"] for offer in offers),
        tuple(hint.format(needed_gb=_needed_gb(wanted), promise=cap * TRADE_MARGIN) for hint in words["hints"]),
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
    prices = {offer.price for offer in offers if not offer.lacks(wanted)}
    apart = all(ratio >= CLEARLY or ratio <= 1 / CLEARLY for ratio in ratios)
    return apart and lacking == [0, 0, 1, 1, 1] and len(prices) == 2
