"""How sure are we: the life of a card as a distribution, from inputs that are known only as ranges."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import ndtr, ndtri

from edgestore import checks, text
from edgestore.answers.ages import years_until
from edgestore.checks import Values
from edgestore.inputs.beliefs import Beliefs
from edgestore.models.life.law import CardLife
from edgestore.models.uncertainty.laws import Z_90, Lognormal, UncertainInput, Uniform, sample, spread
from edgestore.models.uncertainty.sensitivity import Tornado, tornado
from edgestore.models.wear.amplification import (
    UPDATE_INTERVAL_S,
    WRITE_AMPLIFICATION_BEST,
    write_amplification_camera,
)
from edgestore.models.wear.endurance import endurance_tbw_from_cycles, life_years
from edgestore.text import life, number
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

STATED_ENDURANCE = (
    "Whether a stated endurance (cycles, TB written or hours of recording) is a median or an early quantile is not"
    " known: JESD218, the standard for solid-state drives, allows at most 3 % functional failures when it is used up."
    f" Chances take half of all cards as worn out at {STATED.low:g} to {STATED.high:g} times what is stated, once in"
    " ten times at less and once in ten times at more. A life without a chance is the time until what is stated is used"
    " up."
)
"""What a stated endurance is taken to mean, said wherever a chance or a life is told."""

UNIT_SPREAD: dict[str, UncertainInput] = {
    "mean_mbit_s": Lognormal(np.exp(-1), np.exp(1)),
    "flash_tbw": Lognormal(np.exp(-1), np.exp(1)),
    "write_amplification": Uniform(0, 1),
    "random_per_year": Lognormal(1 / RANDOM_WITHIN, RANDOM_WITHIN),
    "wear_shape": WEAR_SHAPES,
}
"""The unknowns of a card in a camera, each spread over a unit range; :func:`possible_cards` fits them."""

INPUT_NAMES = {
    "mean_mbit_s": "mean rate",
    "pe_cycles": "cycles of the flash",
    "stated_endurance": "meaning of the stated cycles",
    "write_amplification": "write amplification",
    "random_per_year": "random failures",
    "wear_shape": "spread between cards",
}


INPUT_UNITS = {
    "mean_mbit_s": "Mbit/s",
    "pe_cycles": "cycles",
    "stated_endurance": "times the stated",
    "write_amplification": "ratio",
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
    chance : float
        Chance that a card lasts the wanted years.
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
    write_amplification_low: float | None = None,
    write_amplification_high: float | None = None,
    random_percent_year: float = 1.0,
    early_percent: float = 1.0,
    wanted_years: float = 3.0,
    update_interval_s: float = UPDATE_INTERVAL_S,
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
        Range of flash writes over host writes, 1 or more; all between alike. An end that is left out is that of an
        unknown card: 1, and for each mean rate :func:`edgestore.models.wear.write_amplification_camera`.
    random_percent_year : float
        Failures for other reasons than wear, % of cards a year, above 0; taken as known within a factor of three.
    early_percent : float
        Cards that are weak from the start, %, 0 to 100.
    wanted_years : float
        Years wanted, above 0.
    update_interval_s : float
        Time between two updates of file tables and index, s, above 0; counts where the high end is left out.

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
    'pe_cycles'
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
    amplification_low = WRITE_AMPLIFICATION_BEST if write_amplification_low is None else write_amplification_low
    checks.in_range("write_amplification_low", amplification_low, at_least=1)
    if write_amplification_high is not None:
        ends = {"write_amplification_low": amplification_low, "write_amplification_high": write_amplification_high}
        _rising(ends, at_least=1)
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
        "write_amplification": Uniform(0, 1),  # the place in its range, which follows from the mean
        "random_per_year": Lognormal(random / RANDOM_WITHIN, random * RANDOM_WITHIN),
        "wear_shape": WEAR_SHAPES,
    }

    def amplification(mean_mbit_s: Values, place: Values) -> Values:
        """Value at a place in the range, 0 to 1, whose high end follows from the mean unless it is stated."""
        high = write_amplification_high
        if high is None:
            high = write_amplification_camera(mean_mbit_s, update_interval_s)
        return amplification_low + place * np.maximum(high - amplification_low, 0)

    def card(
        mean_mbit_s: Values,
        pe_cycles: Values,
        stated_endurance: Values,
        write_amplification: Values,
        random_per_year: Values,
        wear_shape: Values,
    ) -> CardLife:
        mean_mbit_s = np.minimum(mean_mbit_s, most)
        flash_writes = amplification(mean_mbit_s, write_amplification)
        endurance_tbw = endurance_tbw_from_cycles(capacity_gb, pe_cycles * stated_endurance, flash_writes)
        wear_life = life_years(endurance_tbw, mean_mbit_s, recorded_fraction)
        return CardLife(wear_life, wear_shape=wear_shape, random_per_year=random_per_year, early_fraction=weak)

    # A product of two lognormal laws is one, whose spreads add as squares.
    middle = float(np.sqrt(pe_cycles_low * pe_cycles_high * stated_endurance_low * stated_endurance_high))
    half = np.hypot(np.log(pe_cycles_high / pe_cycles_low), np.log(stated_endurance_high / stated_endurance_low)) / 2
    cards = possible_cards(
        [endurance_tbw_from_cycles(capacity_gb, middle * np.exp(side * half)) for side in (-1, 1)],
        [amplification_low, np.nan if write_amplification_high is None else write_amplification_high],
        [mean_low_mbit_s, mean_high_mbit_s],
        most_mbit_s=most,
        stays_at_most=False,
        recorded_fraction=recorded_fraction,
        update_interval_s=update_interval_s,
        random_per_year=random,
        early_fraction=weak,
    )
    survival = cards.survival(YEARS[:, None]).T
    low, high = np.quantile(survival, [0.05, 0.95], axis=0)
    lasting = cards.survival(wanted_years)[0]
    chance, p10_life_years = (float(found[0]) for found in chance_and_p10_life_years(cards, wanted_years))
    range_of_chance = spread(lasting)
    swings = tornado(lambda **values: card(**values).life_quantile_years(0.1), inputs)
    first = INPUT_NAMES[swings.swings[0].name]
    middle_mbit_s = float(mean.quantile(0.5))

    def shown(name: str, value: float) -> float:
        if name == "mean_mbit_s":
            return min(value, most)
        return float(amplification(middle_mbit_s, value)) if name == "write_amplification" else value

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
        survival=survival.mean(axis=0),
        survival_low=low,
        survival_high=high,
        chance=chance,
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
            f"The spread between cards is a Weibull shape of {WEAR_SHAPES.low:g} to {WEAR_SHAPES.high:g} (common"
            " practice, no source).",
            f"Random failures are taken as known within a factor of {RANDOM_WITHIN:g}. The inputs do not depend on one"
            " another.",
            _amplification_words(middle_mbit_s, update_interval_s)
            if write_amplification_high is None
            else "The write amplification is anywhere in its range, whatever the mean rate.",
        ),
        warnings=(
            ("Fewer than nine in ten cards last as long as wanted: plan to change them, or find out more.",)
            if chance < 0.9
            else ()
        ),
    )


def _amplification_words(mean_mbit_s: float, interval_s: float) -> str:
    worst = number(float(write_amplification_camera(mean_mbit_s, interval_s)))
    return (
        f"An unknown card's write amplification is anywhere up to that of a card that maps by unit: {worst} at"
        f" {number(mean_mbit_s)} Mbit/s with an update of file tables every {number(interval_s)} s; more at lower"
        " rates."
    )


def _rising(ends: dict[str, float], unit: str = "", **bounds: Any) -> None:
    """See that two arguments are within their bounds, and the first below the second."""
    (low_name, low), (high_name, high) = (
        (name, checks.in_range(name, value, unit, **bounds)) for name, value in ends.items()
    )
    if not low < high:
        allowed = f"below {high_name}, {high:g} {unit}".strip()
        raise checks.refuse_value(low_name, low, allowed, "Swap the two ends.", unit)


def possible_cards(
    flash_tbw: Sequence[npt.ArrayLike],
    write_amplification: Sequence[npt.ArrayLike],
    mean_mbit_s: Sequence[npt.ArrayLike],
    *,
    most_mbit_s: npt.ArrayLike = checks.MAX_BITRATE_MBIT_S,
    stays_at_most: npt.ArrayLike = True,
    recorded_fraction: npt.ArrayLike = 1.0,
    update_interval_s: npt.ArrayLike = UPDATE_INTERVAL_S,
    random_per_year: npt.ArrayLike = GUESSED_LIFE["random_per_year"],
    early_fraction: npt.ArrayLike = GUESSED_LIFE["early_fraction"],
) -> CardLife:
    """All that a card in a camera may be, as far as is known: the one convention of the plan and of *how sure are we*.

    Parameters
    ----------
    flash_tbw : pair of float or array_like, shape (cards,)
        TB that half of the cards' flash bears: below the first once in ten times, above the second once in ten times. A
        stated endurance counts as such with a write amplification of 1.
    write_amplification : pair of float or array_like, shape (cards,)
        Lowest and highest flash writes per host write, all between equally likely. Where the highest is NaN it is that
        of a card that maps by unit, at each mean rate.
    mean_mbit_s : pair of float or array_like, shape (cards,)
        Mean rate while recording, Mbit/s: below the first once in ten times, above the second once in ten times.
    most_mbit_s : float or array_like, shape (cards,)
        Rate that no mean is above, Mbit/s.
    stays_at_most : bool or array_like, shape (cards,)
        Whether a mean that would be above is at that rate; else it is below, and the law is cut off there, as the plan
        has it of a mean that is listed or measured.
    recorded_fraction : float or array_like, shape (cards,)
        Fraction of time recorded.
    update_interval_s : float or array_like, shape (cards,)
        Time between two updates of file tables and index, s; counts where the highest amplification is NaN.
    random_per_year : float or array_like, shape (cards,)
        Failures for other reasons than wear, a year, known within ``RANDOM_WITHIN``.
    early_fraction : float or array_like, shape (cards,)
        Fraction of cards that are weak from the start.

    Returns
    -------
    CardLife
        Fields of shape (cards, possibilities), each possibility as likely as the others.

    Notes
    -----
    Wear life: ``flash_tbw / write amplification / what the camera writes a year``. Flash and mean rate are lognormal,
    the write amplification is uniform, the Weibull shape is ``WEAR_SHAPES``; a range without width is a known number.
    """
    at = _unit_points()
    flash, rate = (
        np.sqrt(low * high) * at[name] ** (np.log(high / low) / 2)
        for name, (low, high) in (("flash_tbw", _columns(flash_tbw)), ("mean_mbit_s", _columns(mean_mbit_s)))
    )
    rate = _no_more_than(rate, mean_mbit_s, most_mbit_s, stays_at_most)
    least, most = _columns(write_amplification)
    recorded, interval, random, weak = _columns([recorded_fraction, update_interval_s, random_per_year, early_fraction])
    if np.isnan(most).any():
        most = np.where(np.isnan(most), np.maximum(write_amplification_camera(rate, interval), least), most)
    return CardLife(
        life_years(flash / (least + (most - least) * at["write_amplification"]), rate, recorded),
        wear_shape=at["wear_shape"],
        random_per_year=random * at["random_per_year"],
        early_fraction=weak,
    )


def _no_more_than(
    rate: Array, mean_mbit_s: Sequence[npt.ArrayLike], most_mbit_s: npt.ArrayLike, stays: npt.ArrayLike
) -> Array:
    """Means of which none is above a rate: such a one is at it, or the law is cut off there."""
    (low, high), (most, stays_there) = _columns(mean_mbit_s), _columns([most_mbit_s, stays])
    median, sigma = np.sqrt(low * high), np.log(high / low) / (2 * Z_90)
    is_cut = (stays_there == 0) & (sigma > 0)
    width = np.where(sigma > 0, sigma, 1.0)
    below = ndtr(np.log(rate / median) / width) * ndtr(np.log(most / median) / width)
    return np.minimum(np.where(is_cut, median * np.exp(sigma * ndtri(below)), rate), most)


@cache
def _unit_points() -> dict[str, Array]:
    return {name: np.asarray(values) for name, values in sample(UNIT_SPREAD, POINTS).items()}


def _columns(values: Sequence[npt.ArrayLike]) -> list[Array]:
    """Each as a column, a row a card."""
    return [np.atleast_1d(np.asarray(value, dtype=float))[:, None] for value in values]


def chance_and_p10_life_years(cards: CardLife, wanted_years: npt.ArrayLike) -> tuple[Array, Array]:
    """Chance to last the wanted years, and the age at which one card in ten is gone, for many cards at once.

    Parameters
    ----------
    cards : CardLife
        Of :func:`possible_cards`, a row a card.
    wanted_years : float or array_like, shape (cards,)
        Years wanted of each, above 0.

    Returns
    -------
    tuple of ndarray, shape (cards,)
        Chance, 0 to 1, and age in years.
    """
    alive = cards.survival(np.atleast_1d(wanted_years)[:, None]).mean(axis=1)
    return alive, years_until(0.9, lambda ages: cards.survival(ages[:, None]).mean(axis=1), len(alive))
