"""What a row of each list stands for: the rates of a camera, the endurance of a card."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.bitrate import MEAN_OVER_CAP_BAND
from edgestore.models.duty import recorded_fraction
from edgestore.models.wear import (
    WRITE_AMPLIFICATION_BRACKET,
    endurance_tbw_from_cycles,
    endurance_tbw_from_hours,
)

Array = npt.NDArray[np.float64]

PEAK_OVER_MEAN = 4.4
"""Largest group of pictures over the mean in published traces of fixed cameras (TU Berlin / ASU trace library:
1.3 to 4.4); used when a camera's cap is not known."""


def camera_rates(cameras: pd.DataFrame) -> pd.DataFrame:
    """Rates that a camera's row stands for.

    Parameters
    ----------
    cameras : DataFrame
        Camera list.

    Returns
    -------
    DataFrame
        ``low_mbit_s``, ``planned_mbit_s``, ``high_mbit_s``, ``peak_mbit_s`` while recording, the
        ``recorded_fraction`` and the ``rate_basis`` in words; same index.
    """
    mean, cap = cameras["mean_mbit_s"], cameras["cap_mbit_s"]
    lowest_share = cameras["scene"].map({scene: low for scene, (low, _) in MEAN_OVER_CAP_BAND.items()}).astype(float)
    moving = (cameras["recording"] == "motion").to_numpy()
    on_motion = cameras.loc[moving, ["events_per_h", "event_s", "pre_roll_s", "post_roll_s"]]
    recorded = np.ones(len(cameras))
    if moving.any():
        recorded[moving] = recorded_fraction(*(on_motion[name].to_numpy() for name in on_motion))
    return pd.DataFrame(
        {
            "low_mbit_s": mean.fillna(cap * lowest_share),
            "planned_mbit_s": mean.fillna(cap),
            "high_mbit_s": cap.fillna(mean),
            "peak_mbit_s": cap.fillna(mean * PEAK_OVER_MEAN),
            "recorded_fraction": recorded,
            "rate_basis": np.select([mean.isna(), cap.isna()], ["cap alone", "mean alone"], "mean and cap"),
        },
        index=cameras.index,
    )


def card_endurance_tbw(cards: pd.DataFrame) -> tuple[Array, Array]:
    """Lowest and highest endurance of each card, TB written by the host.

    Parameters
    ----------
    cards : DataFrame
        Card list.

    Returns
    -------
    tuple of ndarray
        Lowest and highest endurance, shape (cards,).

    Notes
    -----
    A stated TBW is taken first, then a rating in hours, then cycles over write amplification.
    """
    low, high = (cards["endurance_tbw"].to_numpy(float, copy=True) for _ in range(2))
    by_hours = np.isnan(low) & cards["rated_h"].notna().to_numpy()
    if by_hours.any():
        rated = cards.loc[by_hours]
        low[by_hours] = high[by_hours] = endurance_tbw_from_hours(
            rated["rated_h"].to_numpy(), rated["rated_mbit_s"].to_numpy()
        )
    by_cycles = np.isnan(low)
    if by_cycles.any():
        flash = cards.loc[by_cycles]
        capacity, cycles = flash["capacity_gb"].to_numpy(), flash["pe_cycles"].to_numpy()
        best, worst = WRITE_AMPLIFICATION_BRACKET
        low[by_cycles] = endurance_tbw_from_cycles(
            capacity, cycles, flash["write_amplification_high"].fillna(worst).to_numpy()
        )
        high[by_cycles] = endurance_tbw_from_cycles(
            capacity, cycles, flash["write_amplification_low"].fillna(best).to_numpy()
        )
    return low, high
