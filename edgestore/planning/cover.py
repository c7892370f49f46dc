"""What the chosen cards save when the site's recorder is away."""

import numpy as np
import pandas as pd

from edgestore.inputs.outages import OutageSettings
from edgestore.models.saved import outage_figures
from edgestore.units import H_PER_DAY


def outage_cover(retention_days: "pd.Series[float]", outage: OutageSettings) -> pd.DataFrame:
    """Give what outages cost each camera with its card and without one.

    Parameters
    ----------
    retention_days : Series
        What each chosen card holds, days; NaN where a camera has none.
    outage : OutageSettings
        How the recorder fails and is repaired.

    Returns
    -------
    DataFrame
        Same index. ``outage_chance_uncovered``, the part of outages, 0 to 1, of which the card does not save all;
        ``lost_h_per_year`` and ``lost_h_per_year_without_card``, footage in h. A camera without a card loses all.

    Notes
    -----
    The card is brought in by hand, or fetched over a link that is fast enough: the panel *what does the card save?*
    has a slow one.
    """
    found = outage_figures(
        outage.repair_law,
        outage.repair_numbers,
        outage.recorder_mtbf_h,
        retention_days.fillna(0.0).to_numpy(float) * H_PER_DAY,
        outage.shared_cause_share,
        outage.card_failures_per_year,
        outage.inspected_every_days,
    )
    uncovered = 1 - (1 - found.unsaved_share) * (1 - np.asarray(found.chance_outlasts))
    return pd.DataFrame(
        {
            "outage_chance_uncovered": np.where(retention_days.isna(), 1.0, uncovered),
            "lost_h_per_year": np.where(
                retention_days.isna(), found.lost_without_card_h_per_year, found.lost_h_per_year
            ),
            "lost_h_per_year_without_card": found.lost_without_card_h_per_year,
        },
        index=retention_days.index,
    )
