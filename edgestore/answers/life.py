"""How long does the card last: one camera and one card, between the worst and the best use of its flash."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.answers.certainty import STATED_ENDURANCE
from edgestore.models.wear.endurance import (
    WEAR_ALONE,
    endurance_tbw_from_cycles,
    endurance_tbw_from_hours,
    life_years,
    passes_per_year,
    writes_tb_year,
)
from edgestore.models.wear.mapping import (
    UPDATE_INTERVAL_S,
    WRITE_AMPLIFICATION_BEST,
    write_amplification_camera,
)
from edgestore.text import life, number

CAPACITIES_GB = np.geomspace(16, 1024, 13)
"""Capacities along the axis of the left picture."""

FRACTIONS = np.geomspace(0.02, 1, 13)
"""Recorded fractions along the axis of the right picture."""

ENDURANCE_KINDS = ("cycles of the flash", "terabytes written", "hours of recording")
"""How a card's endurance may be stated."""


@dataclass(frozen=True, kw_only=True)
class Lasting:
    """How long a card lasts, as a range with its reason.

    Attributes
    ----------
    life_years : ndarray, shape (2,)
        Lowest and highest life.
    life_by_capacity_years, life_by_fraction_years : ndarray, shape (2, points)
        The same along ``CAPACITIES_GB`` and ``FRACTIONS``.
    endurance_words : tuple of str
        What stands behind the lowest and the highest endurance.
    table : DataFrame
        One row for the lowest and one for the highest endurance.
    """

    capacity_gb: float
    mean_mbit_s: float
    recorded_fraction: float
    wanted_years: float
    life_years: npt.NDArray[np.float64]
    life_by_capacity_years: npt.NDArray[np.float64]
    life_by_fraction_years: npt.NDArray[np.float64]
    endurance_words: tuple[str, str]
    table: pd.DataFrame
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def lasting(
    capacity_gb: float = 128.0,
    mean_mbit_s: float = 4.0,
    *,
    recorded_fraction: float = 1.0,
    endurance_kind: str = ENDURANCE_KINDS[0],
    pe_cycles: float = 3000.0,
    write_amplification_low: float | None = None,
    write_amplification_high: float | None = None,
    endurance_tbw: float = 100.0,
    rated_h: float = 20_000.0,
    rated_mbit_s: float = 26.0,
    wanted_years: float = 3.0,
    update_interval_s: float = UPDATE_INTERVAL_S,
) -> Lasting:
    """How long a card lasts under a camera, from its endurance in whichever way that is stated.

    Parameters
    ----------
    capacity_gb : float
        Capacity printed on the card, GB, above 0.
    mean_mbit_s : float
        Mean rate while recording, Mbit/s, above 0.
    recorded_fraction : float
        Fraction of time recorded, above 0 and at most 1.
    endurance_kind : str
        One of ``ENDURANCE_KINDS``; it says which of the next arguments count.
    pe_cycles : float
        Program/erase cycles that each block bears, above 0.
    write_amplification_low, write_amplification_high : float, optional
        Range of flash writes over host writes, 1 or more, low at most high. An end that is left out is that of an
        unknown card: 1, and :func:`edgestore.models.wear.write_amplification_camera` for this rate and update interval.
    endurance_tbw : float
        Endurance of this card, TB written by the host, above 0.
    rated_h, rated_mbit_s : float
        Rating of this card: hours of recording, and the bit rate at which they hold, above 0.
    wanted_years : float
        Years wanted, above 0.
    update_interval_s : float
        Time between two updates of file tables and index, s, above 0; counts where the high end is left out.

    Returns
    -------
    Lasting
        The range, the table, the curves and the sentence.

    Raises
    ------
    InputError
        When a number is out of range, or the amplification's low end above its high end.

    Examples
    --------
    >>> lasting(128, 4, pe_cycles=3000).sentence
    'Lasts 4.1 to more than 10 years: how the card turns writes into flash writes decides which.'
    """
    checks.single(locals())
    checks.one_of("endurance_kind", endurance_kind, ENDURANCE_KINDS)
    checks.bitrate_mbit_s(mean_mbit_s, "mean_mbit_s")
    checks.in_range("endurance_tbw", endurance_tbw, "TB", above=0)
    checks.in_range("wanted_years", wanted_years, "years", above=0)
    checks.in_range("update_interval_s", update_interval_s, "s", above=0)
    by_unit = float(write_amplification_camera(mean_mbit_s, update_interval_s))
    low = WRITE_AMPLIFICATION_BEST if write_amplification_low is None else write_amplification_low
    high = by_unit if write_amplification_high is None else write_amplification_high
    checks.in_range("write_amplification_low", low, at_least=1)
    checks.in_range("write_amplification_high", high, at_least=1)
    if low > high:
        allowed = f"at most write_amplification_high, {high:.3g}"
        raise checks.refuse_value("write_amplification_low", low, allowed, "Swap the two ends.")
    cycles, hours = endurance_kind == ENDURANCE_KINDS[0], endurance_kind == ENDURANCE_KINDS[2]
    amplification = np.array([high, low])
    if cycles:
        endurance = endurance_tbw_from_cycles(capacity_gb, pe_cycles, amplification)
        words = (f"write amplification {number(high)}", f"write amplification {number(low)}")
    else:
        stated = endurance_tbw_from_hours(rated_h, rated_mbit_s) if hours else endurance_tbw
        endurance = np.full(2, stated)
        words = ("", f"{number(float(stated))} TB written, as stated")
    years = life_years(endurance, mean_mbit_s, recorded_fraction)
    by_capacity = endurance[:, None] * CAPACITIES_GB / checks.capacity_gb(capacity_gb)
    table = pd.DataFrame(
        {
            "endurance": ["lowest", "highest"],
            "endurance_tbw": endurance,
            "writes_tb_year": writes_tb_year(mean_mbit_s, recorded_fraction),
            "passes_per_year": passes_per_year(capacity_gb, mean_mbit_s, recorded_fraction),
            "life_years": years,
        }
    )
    warnings = []
    if years[0] < wanted_years <= years[1]:
        warnings.append(
            f"The low end is below the {number(wanted_years)} years wanted: find out more, or plan to change the "
            "card earlier."
        )
    elif years[1] < wanted_years:
        warnings.append(
            f"Even the high end is below the {number(wanted_years)} years wanted: choose another card or write less."
        )
    assumptions = [
        WEAR_ALONE,
        STATED_ENDURANCE,
        "The curve against capacity shows other sizes of the same kind of card, with endurance in proportion to "
        "capacity (common practice, no source).",
    ]
    if not cycles:
        assumptions.append(
            "A stated endurance holds for its maker's pattern of writes: small updates between the video may use "
            "it up sooner."
        )
    elif write_amplification_high is None:
        assumptions.append(
            f"At worst the card maps by unit: with an update of file tables every {number(update_interval_s)} s "
            f"and {number(mean_mbit_s)} Mbit/s it writes {number(high)} times as much to its flash. The lower the "
            "rate, the higher this factor; updates happen only while the camera records."
        )
        warnings.append(
            "Nothing is known of this card's write amplification. Data from its maker, or how often the camera "
            "updates its file tables, would narrow the range."
        )
    return Lasting(
        capacity_gb=capacity_gb,
        mean_mbit_s=mean_mbit_s,
        recorded_fraction=recorded_fraction,
        wanted_years=wanted_years,
        life_years=years,
        life_by_capacity_years=life_years(by_capacity, mean_mbit_s, recorded_fraction),
        life_by_fraction_years=life_years(endurance[:, None], mean_mbit_s, FRACTIONS),
        endurance_words=words,
        table=table,
        sentence=_sentence(years),
        assumptions=tuple(assumptions),
        warnings=tuple(warnings),
    )


def _sentence(years: npt.NDArray[np.float64]) -> str:
    low, high = years
    if number(low) == number(high):
        return f"Lasts {life(low)} years if the stated endurance holds for a camera's way of writing."
    return f"Lasts {life(low, high)} years: how the card turns writes into flash writes decides which."
