"""What the chosen cards save when the site's recorder is down, and what would save more."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.answers.outage import DAILY
from edgestore.inputs.outages import OutageSettings
from edgestore.models.outage.saved import OutageFigures, outage_figures
from edgestore.units import H_PER_DAY

Array = npt.NDArray[np.float64]


def outage_cover(
    retention_days: "pd.Series[float]", outage: OutageSettings, larger_days: npt.ArrayLike = np.nan
) -> pd.DataFrame:
    """What outages cost each camera with its card and without one, and what would save more.

    Parameters
    ----------
    retention_days : Series
        What each chosen card holds, days; NaN where a camera has none.
    outage : OutageSettings
        How the recorder fails and is repaired.
    larger_days : float or array_like
        What the next larger card holds, days; NaN where there is none.

    Returns
    -------
    DataFrame
        Same index. ``outage_chance_uncovered``, the part of outages, 0 to 1, of which the card does not save all;
        ``lost_h_per_year`` and ``lost_h_per_year_without_card``, footage in h. A camera without a card loses all.
        ``larger_card_saves_h_per_year``, ``daily_check_saves_h_per_year`` and ``own_supply_saves_h_per_year``: how much
        less is lost, h a year, with the next larger card, with a check of the card every day, and where no cause of an
        outage stops the camera too; each by itself, 0 for a camera without a card.

    Notes
    -----
    The card is brought in by hand, or fetched over a link that is fast enough: the panel *what does the card save?*
    has a slow one.
    """
    has_card = retention_days.notna().to_numpy()
    held = np.asarray(retention_days.fillna(0.0), dtype=float)
    larger = np.where(np.isnan(larger_days), held, larger_days)
    found = _figures(outage, held)
    uncovered = 1 - (1 - found.unsaved_fraction) * (1 - np.asarray(found.chance_outlasts))
    lost = np.where(has_card, found.lost_h_per_year, found.lost_without_card_h_per_year)
    checked = replace(outage, inspected_every_days=min(DAILY, outage.inspected_every_days))
    better = {
        "larger_card": _figures(outage, larger),
        "daily_check": _figures(checked, held),
        "own_supply": _figures(replace(outage, shared_cause_share=0.0), held),
    }
    return pd.DataFrame(
        {
            "outage_chance_uncovered": np.where(has_card, uncovered, 1.0),
            "lost_h_per_year": lost,
            "lost_h_per_year_without_card": found.lost_without_card_h_per_year,
            **{
                f"{name}_saves_h_per_year": np.where(has_card, lost - figures.lost_h_per_year, 0.0)
                for name, figures in better.items()
            },
        },
        index=retention_days.index,
    )


def _figures(outage: OutageSettings, held_days: Array) -> OutageFigures:
    return outage_figures(
        outage.repair_law,
        outage.repair_numbers,
        mtbf_h=outage.recorder_mtbf_h,
        retention_h=held_days * H_PER_DAY,
        shared_cause_share=outage.shared_cause_share,
        card_failures_per_year=outage.card_failures_per_year,
        inspected_every_days=outage.inspected_every_days,
    )
