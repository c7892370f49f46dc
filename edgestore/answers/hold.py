"""How long does the card hold: one camera and one card, between the cap and the lowest mean that is likely."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.inputs.card_list import USABLE_FRACTION
from edgestore.models.rate.bitrate import mean_range_mbit_s
from edgestore.models.retention import capacity_gb_for_retention, retention_h
from edgestore.text import hold_span, number, percent, span
from edgestore.units import H_PER_DAY

CAPACITIES_GB = np.array([16, 32, 64, 128, 256, 512, 1024], dtype=float)
"""Sizes that cards are commonly sold in (common practice, no source)."""

RATES_MBIT_S = np.geomspace(0.0625, 32, 10)
"""Rates along the axis of the picture."""


@dataclass(frozen=True, kw_only=True)
class Holding:
    """How long a card holds, as a range with its reason.

    Attributes
    ----------
    table : DataFrame
        One row for each mean: at the cap, at the mean looked at, at the lowest mean measured for such a scene.
    curves_days : ndarray, shape (sizes, rates)
        Days held by each of ``CAPACITIES_GB`` at each of ``RATES_MBIT_S``.
    rates_mbit_s, retention_days : ndarray, shape (3,)
        The means of the table from high to low, and the days held at each.
    """

    capacity_gb: float
    cap_mbit_s: float
    scene: str
    mean_over_cap: float
    recorded_fraction: float
    wanted_days: float
    rates_mbit_s: npt.NDArray[np.float64]
    retention_days: npt.NDArray[np.float64]
    curves_days: npt.NDArray[np.float64]
    table: pd.DataFrame
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def holding(
    capacity_gb: float = 64.0,
    cap_mbit_s: float = 4.0,
    *,
    scene: str = "unknown",
    mean_over_cap: float = 0.44,
    recorded_fraction: float = 1.0,
    usable_fraction: float = USABLE_FRACTION,
    wanted_days: float = 7.0,
) -> Holding:
    """How long a card holds the stream of a camera whose cap is known and whose mean is not.

    Parameters
    ----------
    capacity_gb : float
        Capacity printed on the card, GB, above 0.
    cap_mbit_s : float
        Cap set in the encoder, Mbit/s, above 0.
    scene : str
        Scene, a key of ``edgestore.models.rate.bitrate.MEAN_OVER_CAP_BAND``: it sets the lowest mean that was measured
        under a cap.
    mean_over_cap : float
        Mean looked at, as a share of the cap, above 0 and at most 1.
    recorded_fraction : float
        Fraction of time recorded, above 0 and at most 1.
    usable_fraction : float
        What formatting and firmware leave of the capacity, above 0 and at most 1.
    wanted_days : float
        Days wanted, above 0.

    Returns
    -------
    Holding
        The range, the table, the curves and the sentence.

    Raises
    ------
    InputError
        When a number is out of range or the scene unknown.

    Examples
    --------
    >>> holding(32, 4).sentence.replace("\N{NO-BREAK SPACE}", " ")
    'Holds 17.8 hours at the cap, 40.4 hours at a mean of 44 % of the cap. The scene decides which.'
    """
    checks.single(locals())
    checks.in_range("wanted_days", wanted_days, "days", above=0)
    lowest, _ = mean_range_mbit_s(cap_mbit_s, scene)
    share = checks.fraction("mean_over_cap", mean_over_cap, above=0)
    rates = np.array([cap_mbit_s, cap_mbit_s * share, lowest])
    held_h = retention_h(capacity_gb, rates, recorded_fraction, usable_fraction)
    needed_gb = capacity_gb_for_retention(
        wanted_days * H_PER_DAY, rates, recorded_fraction=recorded_fraction, usable_fraction=usable_fraction
    )
    table = pd.DataFrame(
        {
            "mean": ["at the cap", f"{percent(share)} of the cap", f"lowest measured, {scene} scene"],
            "mean_mbit_s": rates,
            "retention_h": held_h,
            "retention_days": held_h / H_PER_DAY,
            "capacity_gb_wanted": needed_gb,
        }
    )
    warnings = []
    if rates[1] < lowest:
        warnings.append(
            f"A mean of {percent(share)} of the cap is below all that was measured for such a scene"
            f" ({percent(lowest / cap_mbit_s)}): measure it before relying on it."
        )
    if needed_gb[1] > capacity_gb:
        warnings.append(
            f"{number(wanted_days)} days need {span(needed_gb[1], needed_gb[0])} GB;"
            f" this card has {number(capacity_gb)} GB."
        )
    return Holding(
        capacity_gb=capacity_gb,
        cap_mbit_s=cap_mbit_s,
        scene=scene,
        mean_over_cap=float(share),
        recorded_fraction=recorded_fraction,
        wanted_days=wanted_days,
        rates_mbit_s=rates,
        retention_days=held_h / H_PER_DAY,
        curves_days=retention_h(CAPACITIES_GB[:, None], RATES_MBIT_S, recorded_fraction, usable_fraction) / H_PER_DAY,
        table=table,
        sentence=_sentence(held_h, float(share)),
        assumptions=(
            f"{percent(recorded_fraction)} of the time is recorded; {percent(usable_fraction, 1)} of the capacity is"
            " usable.",
            "The cap is the most that the encoder writes. The lowest mean is the lowest measured for such a "
            "scene, at standard definition under caps of 0.06 to 4 Mbit/s; a camera may write less or more.",
        ),
        warnings=tuple(warnings),
    )


def _sentence(held_h: npt.NDArray[np.float64], share: float) -> str:
    at_cap, at_mean = held_h[:2]
    if share == 1:
        return (
            f"Holds {hold_span(at_cap, at_cap)} if the camera writes at its cap all the time, longer if it writes less."
        )
    least, most = hold_span(at_cap, at_cap), hold_span(at_mean, at_mean)
    return f"Holds {least} at the cap, {most} at a mean of {percent(share)} of the cap. The scene decides which."
