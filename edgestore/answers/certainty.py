"""How sure are we: the life of a card as a distribution, from inputs that are known only as ranges."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import ndtr

from edgestore import checks, text
from edgestore.answers.ages import years_until
from edgestore.checks import Values
from edgestore.inputs.beliefs import Beliefs
from edgestore.models.life.law import CardLife
from edgestore.models.uncertainty.laws import Z_90, Lognormal, UncertainInput, Uniform, sample, spread
from edgestore.models.uncertainty.sensitivity import Tornado, tornado
from edgestore.models.wear.endurance import endurance_tbw_from_cycles, life_years
from edgestore.models.wear.mapping import (
    KINDS_OF_MAPPING,
    WRITE_AMPLIFICATION_BEST,
    write_amplification_camera,
    write_amplification_page,
)
from edgestore.text import life, number, percent
from edgestore.units import PERCENT_PER_ONE

Array = npt.NDArray[np.float64]

YEARS = np.linspace(0, 15, 61)
"""Ages along the axis of the picture."""

POINTS = 256
"""Samples of the uncertain inputs: with 64 times as many no chance of the demo site moves by 0.001, no age by 1 %."""

GUESSED_LIFE: dict[str, Any] = {"wear_shape": 3.0, "random_per_year": 0.01, "early_fraction": 0.01}
"""The middle of what is taken for every card: spread of wear-out, random failures a year and share of weak cards
(common practice, no source; no published figures for cards under cameras were found)."""

WEAR_SHAPES = Uniform(2, 4)
"""Spread of wear-out between cards, a Weibull shape (common practice, no source)."""

RANDOM_WITHIN = 3.0
"""Random failures are taken as known within this factor (our guess)."""

STATED = Beliefs()["stated_endurance"]

UPDATES = Lognormal(Beliefs()["update_interval"].low, Beliefs()["update_interval"].high)
"""Time between two updates of file tables, of a camera that does not tell it, s."""

MAPPING_SHARES = Beliefs().mapping_shares
"""Chance of each way to map, of a card that does not tell its write amplification."""

STATED_ENDURANCE = (
    "Whether a stated endurance (cycles, TB written or hours of recording) is a median or an early quantile is "
    "not known: JESD218, the standard for solid-state drives, allows at most 3 % functional failures when it is "
    f"used up. The chances assume that half of all cards are worn out at {STATED.low:g} to {STATED.high:g} times what "
    "is stated, with one chance in ten that it is less and one in ten that it is more. A life without a chance "
    "is the time until what is stated is used up."
)
"""What a stated endurance is taken to mean, said wherever a chance or a life is told."""

INPUT_NAMES = {
    "mean_mbit_s": "mean rate",
    "pe_cycles": "cycles of the flash",
    "stated_endurance": "meaning of the stated cycles",
    "write_amplification": "write amplification",
    "mapping": "way the card maps",
    "update_interval_s": "update interval",
    "random_per_year": "random failures",
    "wear_shape": "spread between cards",
}


INPUT_UNITS = {
    "mean_mbit_s": "Mbit/s",
    "pe_cycles": "cycles",
    "stated_endurance": "times the stated",
    "write_amplification": "ratio",
    "mapping": "write amplification",
    "update_interval_s": "s",
    "random_per_year": "cards a year",
    "wear_shape": "Weibull shape",
}


@dataclass(frozen=True, kw_only=True)
class Certainty:
    """How sure the life of a card is.

    Attributes
    ----------
    survival : ndarray, shape (ages,)
        Fraction of cards that still work at each of ``YEARS``, over all that is not known.
    survival_low, survival_high : ndarray, shape (ages,)
        The same if what is not known turns out badly or well: 5 and 95 % of the chance lie below.
    chance, chance_low, chance_high : float
        Chance that a card lasts the wanted years, and 5 and 95 % of what it may be.
    p10_life_years : float
        Age at which one card in ten is gone.
    tornado : Tornado
        How far each input moves the age at which one card in ten is gone.
    """

    wanted_years: float
    survival: Array
    survival_low: Array
    survival_high: Array
    chance: float
    chance_low: float
    chance_high: float
    p10_life_years: float
    tornado: Tornado
    table: pd.DataFrame
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def certainty(
    capacity_gb: float = 128.0,
    *,
    recorded_fraction: float = 1.0,
    mean_low_mbit_s: float = 2.0,
    mean_high_mbit_s: float = 6.0,
    cap_mbit_s: float | None = None,
    pe_cycles_low: float = 1000.0,
    pe_cycles_high: float = 5000.0,
    stated_endurance_low: float = STATED.low,
    stated_endurance_high: float = STATED.high,
    write_amplification_low: float = WRITE_AMPLIFICATION_BEST,
    write_amplification_high: float | None = None,
    random_percent_year: float = 1.0,
    early_percent: float = 1.0,
    wanted_years: float = 3.0,
    update_interval_s: float | None = None,
) -> Certainty:
    """How sure it is that a card lasts, when most of what decides is known only as a range.

    Parameters
    ----------
    capacity_gb : float
        Capacity printed on the card, GB, above 0.
    recorded_fraction : float
        Fraction of time recorded, above 0 and at most 1.
    mean_low_mbit_s, mean_high_mbit_s : float
        Mean rate while recording, Mbit/s: one chance in ten that it is below the one, one in ten above the other.
    cap_mbit_s : float, optional
        Highest rate that the camera is set to, Mbit/s, above the low end of the mean: no mean is above it. None known
        when left out.
    pe_cycles_low, pe_cycles_high : float
        Program/erase cycles as they are stated, likewise.
    stated_endurance_low, stated_endurance_high : float
        Cycles that half of the cards reach over those that are stated, a plain ratio, likewise.
    write_amplification_low, write_amplification_high : float, optional
        Range of flash writes over host writes, 1 or more; all between alike. Without the high end nothing is known: the
        card maps by page, by unit with a log or by unit, and the camera decides how much that writes, as in the plan.
    random_percent_year : float
        Failures for other reasons than wear, % of cards a year, above 0; taken as known within a factor of three.
    early_percent : float
        Cards that are weak from the start, %, 0 to 100.
    wanted_years : float
        Years wanted, above 0.
    update_interval_s : float, optional
        Time between two updates of file tables and index, s, above 0; counts where the write amplification is not
        known. When left out it is taken as the plan takes that of a camera which does not tell it.

    Returns
    -------
    Certainty
        Survival with its band, the chance to last, and which input to find out next.

    Raises
    ------
    InputError
        When a number is out of range, or a low end not below its high end.

    Examples
    --------
    >>> certainty().tornado.swings[0].name
    'random_per_year'
    """
    checks.single(locals())
    checks.in_range("wanted_years", wanted_years, "years", above=0)
    checks.fraction("recorded_fraction", recorded_fraction, above=0)
    rates = {"mean_low_mbit_s": mean_low_mbit_s, "mean_high_mbit_s": mean_high_mbit_s}
    _rising(rates, "Mbit/s", above=0, at_most=checks.MAX_BITRATE_MBIT_S)
    most = checks.MAX_BITRATE_MBIT_S
    if cap_mbit_s is not None:
        most = checks.in_range("cap_mbit_s", cap_mbit_s, "Mbit/s", above=mean_low_mbit_s, at_most=most)
    _rising({"pe_cycles_low": pe_cycles_low, "pe_cycles_high": pe_cycles_high}, "cycles", above=0)
    stated = {"stated_endurance_low": stated_endurance_low, "stated_endurance_high": stated_endurance_high}
    _rising(stated, above=0)
    checks.in_range("write_amplification_low", write_amplification_low, at_least=1)
    if write_amplification_high is not None:
        ends = {
            "write_amplification_low": write_amplification_low,
            "write_amplification_high": write_amplification_high,
        }
        _rising(ends, at_least=1)
    if update_interval_s is not None:
        checks.in_range("update_interval_s", update_interval_s, "s", above=0)
    random = (
        checks.in_range("random_percent_year", random_percent_year, "%", above=0, at_most=PERCENT_PER_ONE)
        / PERCENT_PER_ONE
    )
    weak = checks.in_range("early_percent", early_percent, "%", at_least=0, at_most=PERCENT_PER_ONE) / PERCENT_PER_ONE
    mean = Lognormal(mean_low_mbit_s, mean_high_mbit_s)
    inputs: dict[str, UncertainInput] = {
        "mean_mbit_s": mean,
        "pe_cycles": Lognormal(pe_cycles_low, pe_cycles_high),
        "stated_endurance": Lognormal(stated_endurance_low, stated_endurance_high),
        **_flash_writes(write_amplification_low, write_amplification_high, update_interval_s),
        "random_per_year": Lognormal(random / RANDOM_WITHIN, random * RANDOM_WITHIN),
        "wear_shape": WEAR_SHAPES,
    }

    def card(
        mean_mbit_s: Values,
        pe_cycles: Values,
        stated_endurance: Values,
        random_per_year: Values,
        wear_shape: Values,
        **flash_writes: Values,
    ) -> CardLife:
        mean_mbit_s = np.minimum(mean_mbit_s, most)
        amplification = _amplification(mean_mbit_s, **flash_writes)
        endurance_tbw = endurance_tbw_from_cycles(capacity_gb, pe_cycles * stated_endurance, amplification)
        wear_life = life_years(endurance_tbw, mean_mbit_s, recorded_fraction)
        return CardLife(wear_life, wear_shape=wear_shape, random_per_year=random_per_year, early_fraction=weak)

    points = sample(inputs, POINTS)
    cards = card(**points | {"mean_mbit_s": _cut_off(mean, points["mean_mbit_s"], most)})
    survival = cards.survival(YEARS[:, None])
    low, high = np.quantile(survival, [0.05, 0.95], axis=1)
    lasting = np.asarray(cards.survival(wanted_years))
    chance = float(lasting.mean())
    p10_life_years = float(years_until(0.9, lambda ages: cards.survival(ages[:, None]).mean(axis=1), 1)[0])
    range_of_chance = spread(lasting)
    swings = tornado(lambda **values: card(**values).life_quantile_years(0.1), inputs)
    first = INPUT_NAMES[swings.swings[0].name]
    middle_mbit_s = float(mean.quantile(0.5))
    middle_interval_s = UPDATES.quantile(0.5) if update_interval_s is None else update_interval_s

    def shown(name: str, value: float) -> float:
        if name == "mean_mbit_s":
            return min(value, most)
        if name == "mapping":
            return float(_amplification(middle_mbit_s, mapping=value, update_interval_s=middle_interval_s))
        return value

    table = pd.DataFrame(
        {
            "input": [INPUT_NAMES[swing.name] for swing in swings.swings],
            "unit": [INPUT_UNITS[swing.name] for swing in swings.swings],
            "from": [shown(swing.name, swing.input_low) for swing in swings.swings],
            "to": [shown(swing.name, swing.input_high) for swing in swings.swings],
            "p10_life_years_from": [swing.answer_low for swing in swings.swings],
            "p10_life_years_to": [swing.answer_high for swing in swings.swings],
        }
    )
    return Certainty(
        wanted_years=wanted_years,
        survival=survival.mean(axis=1),
        survival_low=low,
        survival_high=high,
        chance=chance,
        chance_low=range_of_chance.p5,
        chance_high=range_of_chance.p95,
        p10_life_years=p10_life_years,
        tornado=swings,
        table=table,
        sentence=(
            f"{text.chance(chance)} of such cards last {number(wanted_years)} years ({text.chance(range_of_chance.p5)}"
            f" to {text.chance(range_of_chance.p95)}, depending on what is not known); one in ten is gone after"
            f" {life(p10_life_years)} years. Find out the {first} first."
        ),
        assumptions=(
            STATED_ENDURANCE,
            f"The spread of wear-out between cards is a Weibull shape of {WEAR_SHAPES.low:g} to {WEAR_SHAPES.high:g} "
            "(common practice, no source).",
            f"The rate of random failures is assumed to be known within a factor of {RANDOM_WITHIN:g}. The inputs "
            "do not depend on one another.",
            _unknown_card(update_interval_s)
            if write_amplification_high is None
            else "The write amplification may lie anywhere in its range, whatever the mean rate.",
        ),
        warnings=(
            ("Fewer than nine in ten cards last as long as wanted: plan to change them, or find out more.",)
            if chance < 0.9
            else ()
        ),
    )


def mapped_write_amplification(way: str, mean_mbit_s: Values, update_interval_s: Values) -> Values:
    """Flash writes per host write of a camera on a card that maps in one of ``KINDS_OF_MAPPING``."""
    if way == "page":
        return write_amplification_page(mean_mbit_s, update_interval_s)
    return write_amplification_camera(mean_mbit_s, update_interval_s, mapping=way)


def _flash_writes(low: float, high: float | None, interval_s: float | None) -> dict[str, UncertainInput]:
    """What decides how much the flash takes: the stated range, or how the card maps and how often it is updated."""
    if high is not None:
        return {"write_amplification": Uniform(low, high)}
    return {"mapping": Uniform(0, 1), "update_interval_s": UPDATES if interval_s is None else interval_s}


def _amplification(
    mean_mbit_s: Values,
    *,
    mapping: Values = 0.0,
    update_interval_s: Values = 1.0,
    write_amplification: Values | None = None,
) -> Values:
    """Flash writes per host write: as stated, or of a card that maps in the way at a place from 0 to 1."""
    if write_amplification is not None:
        return write_amplification
    way = np.searchsorted(np.cumsum(list(MAPPING_SHARES.values()))[:-1], mapping, side="right")
    by_way = {
        number: mapped_write_amplification(KINDS_OF_MAPPING[number], mean_mbit_s, update_interval_s)
        for number in np.unique(way)
    }
    return np.select([way == number for number in by_way], list(by_way.values()))


def _cut_off(law: Lognormal, values: Values, most: float) -> Values:
    """Values of a law as they are where none is above a limit: it is cut off there, as the plan has it."""
    median, sigma = law.quantile(0.5), np.log(law.p90 / law.p10) / (2 * Z_90)
    return law.quantile(ndtr(np.log(values / median) / sigma) * ndtr(np.log(most / median) / sigma))


def _unknown_card(interval_s: float | None) -> str:
    shares = ", ".join(f"by {kind} ({percent(share)})" for kind, share in MAPPING_SHARES.items())
    maps = f"A card of unknown write amplification maps {shares}, which is our guess."
    if interval_s is not None:
        return f"{maps} The camera updates its file tables every {number(interval_s)} s."
    ends = f"{number(UPDATES.p10)} to {number(UPDATES.p90)} s"
    return f"{maps} The camera updates its file tables every {ends} (our guess; one chance in ten beyond either end)."


def _rising(ends: dict[str, float], unit: str = "", **bounds: Any) -> None:
    """See that two arguments are within their bounds, and the first below the second."""
    (low_name, low), (high_name, high) = (
        (name, checks.in_range(name, value, unit, **bounds)) for name, value in ends.items()
    )
    if not low < high:
        allowed = f"below {high_name}, {high:g} {unit}".strip()
        raise checks.refuse_value(low_name, low, allowed, "Swap the two ends.", unit)
