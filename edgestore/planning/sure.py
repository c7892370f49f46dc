"""How sure are we: the life of a card as a distribution, from inputs that are known only as ranges."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.checks import Values
from edgestore.models.lifetime import CardLife
from edgestore.models.sensitivity import Tornado, tornado
from edgestore.models.uncertainty import Lognormal, UncertainInput, Uniform, sample, spread
from edgestore.models.wear import WRITE_AMPLIFICATION_BRACKET, endurance_tbw_from_cycles, life_years
from edgestore.planning.words import number
from edgestore.units import PERCENT_PER_ONE

Array = npt.NDArray[np.float64]

YEARS = np.linspace(0, 15, 61)
"""Ages along the axis of the picture."""

POINTS = 512
"""Samples of the uncertain inputs: a quasi-random set of this size moves no answer shown by more than its rounding."""

LONGEST_YEARS = 1000.0
"""No age looked for is beyond."""

GUESSED_LIFE: dict[str, Any] = {"wear_shape": 3.0, "random_per_year": 0.01, "early_share": 0.01}
"""What the plan takes for every card until a service log says better: spread of wear-out, random failures a year and
share of weak cards (common practice, no source; no published figures for cards under cameras were found)."""

INPUT_NAMES = {
    "mean_mbit_s": "mean rate",
    "pe_cycles": "cycles of the flash",
    "write_amplification": "write amplification",
    "random_per_year": "random failures",
    "wear_shape": "spread between cards",
}


INPUT_UNITS = {
    "mean_mbit_s": "Mbit/s",
    "pe_cycles": "cycles",
    "write_amplification": "ratio",
    "random_per_year": "cards a year",
    "wear_shape": "Weibull shape",
}


@dataclass(frozen=True)
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
    recorded_fraction: float = 1.0,
    mean_low_mbit_s: float = 2.0,
    mean_high_mbit_s: float = 6.0,
    pe_cycles_low: float = 1000.0,
    pe_cycles_high: float = 5000.0,
    write_amplification_low: float = WRITE_AMPLIFICATION_BRACKET[0],
    write_amplification_high: float = WRITE_AMPLIFICATION_BRACKET[1],
    random_percent_year: float = 1.0,
    early_percent: float = 1.0,
    wanted_years: float = 3.0,
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
    pe_cycles_low, pe_cycles_high : float
        Program/erase cycles, likewise.
    write_amplification_low, write_amplification_high : float
        Range of flash writes over host writes, 1 or more; all between alike.
    random_percent_year : float
        Failures for other reasons than wear, % of cards a year, above 0; taken as known within a factor of three.
    early_percent : float
        Cards that are weak from the start, %, 0 to 100.
    wanted_years : float
        Years wanted, above 0.

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
    rates = {"mean_low_mbit_s": mean_low_mbit_s, "mean_high_mbit_s": mean_high_mbit_s}
    _rising(rates, "Mbit/s", above=0, at_most=checks.MAX_BITRATE_MBIT_S)
    _rising({"pe_cycles_low": pe_cycles_low, "pe_cycles_high": pe_cycles_high}, "cycles", above=0)
    ends = {"write_amplification_low": write_amplification_low, "write_amplification_high": write_amplification_high}
    _rising(ends, at_least=1)
    random = (
        checks.in_range("random_percent_year", random_percent_year, "%", above=0, at_most=PERCENT_PER_ONE)
        / PERCENT_PER_ONE
    )
    weak = checks.in_range("early_percent", early_percent, "%", at_least=0, at_most=PERCENT_PER_ONE) / PERCENT_PER_ONE
    inputs: dict[str, UncertainInput] = {
        "mean_mbit_s": Lognormal(mean_low_mbit_s, mean_high_mbit_s),
        "pe_cycles": Lognormal(pe_cycles_low, pe_cycles_high),
        "write_amplification": Uniform(write_amplification_low, write_amplification_high),
        "random_per_year": Lognormal(random / 3, random * 3),
        "wear_shape": Uniform(2, 4),
    }

    def card(
        mean_mbit_s: Values, pe_cycles: Values, write_amplification: Values, random_per_year: Values, wear_shape: Values
    ) -> CardLife:
        endurance_tbw = endurance_tbw_from_cycles(capacity_gb, pe_cycles, write_amplification)
        wear_life = life_years(endurance_tbw, mean_mbit_s, recorded_fraction)
        return CardLife(wear_life, wear_shape=wear_shape, random_per_year=random_per_year, early_share=weak)

    cards = card(**{name: np.asarray(values)[:, None] for name, values in sample(inputs, POINTS).items()})
    survival = cards.survival(YEARS)
    low, high = np.quantile(survival, [0.05, 0.95], axis=0)
    lasting = cards.survival(wanted_years)[:, 0]
    chance, range_of_chance = float(lasting.mean()), spread(lasting)
    p10_life_years = float(_years_until(0.9, lambda ages: cards.survival(ages).mean(axis=0), 1)[0])
    swings = tornado(lambda **values: card(**values).life_quantile_years(0.1), inputs)
    first = INPUT_NAMES[swings.swings[0].name]
    table = pd.DataFrame(
        {
            "input": [INPUT_NAMES[swing.name] for swing in swings.swings],
            "unit": [INPUT_UNITS[swing.name] for swing in swings.swings],
            "from": [swing.input_low for swing in swings.swings],
            "to": [swing.input_high for swing in swings.swings],
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
            f"{chance:.0%} of such cards last {number(wanted_years)} years ({range_of_chance.p5:.0%} to"
            f" {range_of_chance.p95:.0%}, depending on what is not known); one in ten is gone after"
            f" {number(p10_life_years)} years. Find out the {first} first."
        ),
        assumptions=(
            "Half of all cards are worn out when the stated endurance is used up; the spread between cards is a Weibull"
            " shape of 2 to 4 (common practice, no source).",
            "Random failures are taken as known within a factor of three. The inputs do not depend on one another.",
            "An unknown card's write amplification is anywhere from 1 to 6: how it maps and how often the camera"
            " updates its file tables decide.",
        ),
        warnings=(
            ("Fewer than nine in ten cards last as long as wanted: plan to change them, or find out more.",)
            if chance < 0.9
            else ()
        ),
    )


def _rising(ends: dict[str, float], unit: str = "", **bounds: Any) -> None:
    """See that two arguments are within their bounds, and the first below the second."""
    (low_name, low), (high_name, high) = (
        (name, checks.in_range(name, value, unit, **bounds)) for name, value in ends.items()
    )
    if not low < high:
        allowed = f"below {high_name}, {high:g} {unit}".strip()
        raise checks.refuse_value(low_name, low, allowed, "Swap the two ends.", unit)


def chance_and_p10_life_years(wear_life_years: Array, wanted_years: npt.ArrayLike) -> tuple[Array, Array]:
    """Chance to last the wanted years, and the age at which one card in ten is gone, for many cards at once.

    Parameters
    ----------
    wear_life_years : ndarray, shape (cards, possibilities)
        Years until the endurance of each card is used up, each possibility as likely as the others.
    wanted_years : float or array_like, shape (cards,)
        Years wanted of each, above 0.

    Returns
    -------
    tuple of ndarray, shape (cards,)
        Chance, 0 to 1, and age in years, with ``GUESSED_LIFE`` for what is known of no card.
    """
    cards = CardLife(wear_life_years, **GUESSED_LIFE)
    alive = cards.survival(np.atleast_1d(wanted_years)[:, None]).mean(axis=1)
    return alive, _years_until(0.9, lambda ages: cards.survival(ages[:, None]).mean(axis=1), len(alive))


def due_years(wear_life_years: Array, age_years: Array, chance: float) -> Array:
    """Further time for which each of many cards in service lasts with a wanted chance.

    Parameters
    ----------
    wear_life_years : ndarray, shape (cards, possibilities)
        Years until the endurance of each card is used up, each possibility as likely as the others.
    age_years : ndarray, shape (cards,)
        Age of each card, which works, years, 0 or more.
    chance : float
        Chance that it lasts until then, above 0 and below 1.

    Returns
    -------
    ndarray, shape (cards,)
        Years from now, with ``GUESSED_LIFE`` for what is known of no card; 0 where no such card would work so long.

    Notes
    -----
    As :func:`edgestore.next_change_years`, for a wear life that is known only as a range: the root x of
    ``mean R(age + x) = chance x mean R(age)`` over the possibilities.
    """
    cards = CardLife(wear_life_years, **GUESSED_LIFE)
    now = cards.survival(age_years[:, None]).mean(axis=1)
    further = _years_until(chance * now, lambda x: cards.survival((age_years + x)[:, None]).mean(axis=1), len(now))
    return np.where(now > 0, further, 0.0)


def _years_until(left: float | Array, alive: Callable[[Array], Array], count: int) -> Array:
    """Ages at which a fraction is left, for ``count`` falling curves at once, by bisection."""
    low, high = np.zeros(count), np.full(count, LONGEST_YEARS)
    for _ in range(40):
        middle = (low + high) / 2
        most_alive = alive(middle) > left
        low, high = np.where(most_alive, middle, low), np.where(most_alive, high, middle)
    return high
