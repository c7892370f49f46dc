"""What the chosen cards save when the site's recorder is down, and what would save more."""

from collections.abc import Sequence
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
    retention_days: "pd.Series[float]",
    outage: OutageSettings | Sequence[OutageSettings | None],
    larger_days: npt.ArrayLike = np.nan,
    *,
    fetched_fraction: npt.ArrayLike = 1.0,
    recorded_fraction: npt.ArrayLike = 1.0,
) -> pd.DataFrame:
    """What outages cost each camera with its card and without one, and what would save more.

    Parameters
    ----------
    retention_days : Series
        What each chosen card holds, days; NaN where a camera has none.
    outage : OutageSettings or sequence of OutageSettings
        How the recorder fails and is repaired, of all cameras or of each; None for a camera of which that is not told.
    larger_days : float or array_like
        What the next larger card holds, days; NaN where there is none.
    fetched_fraction : float or array_like
        Part of what a card holds that back-fill saves, 0 to 1.
    recorded_fraction : float or array_like
        Part of the time that each camera records, 0 to 1: an hour of an outage has so much footage.

    Returns
    -------
    DataFrame
        Same index; NaN where no outages are told. ``outage_chance_uncovered``, the part of outages, 0 to 1, of which
        the card does not save all;
        ``lost_h_per_year`` and ``lost_h_per_year_without_card``, footage in h. A camera without a card loses all.
        ``larger_card_saves_h_per_year``, ``daily_check_saves_h_per_year`` and ``own_supply_saves_h_per_year``: how much
        less is lost, h a year, with the next larger card, with a check of the card every day, and where no cause of an
        outage stops the camera too; each by itself, 0 for a camera without a card.

    Notes
    -----
    A card that is brought in by hand, or fetched over a link that is fast enough, saves all that it holds
    (:func:`edgestore.models.outage.useful_retention_h` of a slower one).
    """
    fetched = np.asarray(fetched_fraction, dtype=float)
    held = retention_days.to_numpy(float) * fetched
    larger = np.broadcast_to(np.asarray(larger_days, dtype=float), held.shape) * fetched
    of_each = [outage] * len(held) if isinstance(outage, OutageSettings) else outage
    parts = []
    for one in dict.fromkeys(stated for stated in of_each if stated is not None):
        rows = np.flatnonzero([stated == one for stated in of_each])
        parts.append(_cover(held[rows], one, larger[rows]).set_index(retention_days.index[rows]))
    cover = pd.concat(parts).reindex(retention_days.index)
    footage = cover.columns[1:]
    cover[footage] = cover[footage].mul(np.broadcast_to(recorded_fraction, held.shape), axis=0)
    return cover


def _cover(held_days: Array, outage: OutageSettings, larger_days: Array) -> pd.DataFrame:
    """Give what :func:`outage_cover` does, for cameras of one recorder."""
    has_card = ~np.isnan(held_days)
    held = np.where(has_card, held_days, 0.0)
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
            "lost_h_per_year_without_card": np.broadcast_to(found.lost_without_card_h_per_year, held.shape),
            **{
                f"{name}_saves_h_per_year": np.where(has_card, lost - figures.lost_h_per_year, 0.0)
                for name, figures in better.items()
            },
        }
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
