"""How far an input may move before the card chosen for a camera serves no longer, or a lesser one would do."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.retention import retention_h
from edgestore.plan.advice import down
from edgestore.plan.site_plan import SitePlan
from edgestore.text import LONGEST_LIFE_YEARS, NO_BREAK, life
from edgestore.units import H_PER_DAY, PERCENT_PER_ONE

Array = npt.NDArray[np.float64]

FAILS = ("retention", "life", "speed")
"""What fails when the mean rises."""


def margins(plan: SitePlan) -> pd.DataFrame:
    """Say what would change the choice for each camera.

    Parameters
    ----------
    plan : SitePlan
        The plan.

    Returns
    -------
    DataFrame
        One row a camera: the card serves up to ``mean_up_to_mbit_s``, where the requirement in ``first_to_fail``
        fails; up to ``peak_up_to_mbit_s``, ``days_up_to`` and ``years_up_to``. At ``other_from_mbit_s`` and below,
        ``other_card`` would do, smaller, or cheaper where costs are counted. NaN and empty where there is none.
        ``words`` says it.

    Notes
    -----
    One input moves, the others stay. Retention goes as one over the mean, and so does life, but on a card that may map
    by unit; the speed margin goes as one over the cap. Where no cap is known it goes as one over the mean, and a peak
    is only kept up with.
    """
    chosen, wanted = plan.plan, plan.site.wanted.reset_index(drop=True)
    margin = chosen["speed_margin"] / wanted["speed_margin"]
    over_mean = chosen["peak_basis"] == "assumed"
    shares = np.column_stack(
        [_held_days(plan) / wanted["retention_days"], _life_fraction(plan), margin.where(over_mean, np.inf)]
    )
    other, other_share = _nearest_other(plan)
    rows = pd.DataFrame(
        {
            "camera": chosen["camera"],
            "planned_mbit_s": chosen["planned_mbit_s"],
            "mean_up_to_mbit_s": chosen["planned_mbit_s"] * shares.min(axis=1),
            "first_to_fail": np.where(chosen["meets"], np.array(FAILS)[shares.argmin(axis=1)], ""),
            "peak_up_to_mbit_s": chosen["margin_over_mbit_s"] * np.where(over_mean, chosen["speed_margin"], margin),
            "days_up_to": chosen["retention_days"],
            "years_up_to": chosen["life_years"],
            "other_card": other,
            "other_from_mbit_s": chosen["planned_mbit_s"] * other_share,
        }
    )
    words = [
        _words(row, served, plan.site.costs is not None)
        for row, served in zip(rows.to_dict("records"), chosen["meets"], strict=True)
    ]
    return rows.assign(words=words)


def _chosen(plan: SitePlan) -> npt.NDArray[np.intp]:
    """Give the number of the card chosen for each camera; -1 where there is none."""
    place = {card: number for number, card in enumerate(plan.site.offered["card"])}
    return np.array([place.get(card, -1) for card in plan.plan["card"]])


def _life_fraction(plan: SitePlan) -> Array:
    """Give the share of the mean at which the chosen card lasts as wanted; NaN where there is none."""
    chosen = _chosen(plan)
    return np.where(chosen >= 0, plan.tries.life_fraction[np.arange(len(chosen)), chosen], np.nan)


def _held_days(plan: SitePlan) -> Array:
    """Give the days that the chosen card holds at the planned rate, whatever policy has the camera delete."""
    served = plan.plan["meets"].to_numpy()
    rows = plan.plan[served]
    usable = rows["card"].map(plan.site.offered.set_index("card")["usable_fraction"]).to_numpy(float)
    held = np.full(len(served), np.nan)
    if served.any():
        capacity, rate, recorded = rows[["capacity_gb", "planned_mbit_s", "recorded_fraction"]].to_numpy().T
        held[served] = retention_h(capacity, rate, recorded, usable) / H_PER_DAY
    return held


def _nearest_other(plan: SitePlan) -> tuple[list[str], Array]:
    """Give the card of less burden that is nearest to serving, and the share of the mean at which it would."""
    given, meets, burden = plan.tries.given, plan.tries.meets, plan.tries.burden
    rows = np.arange(len(plan.plan))
    chosen = _chosen(plan)
    share = np.minimum(
        given["retention_days"] / plan.site.wanted["retention_days"].to_numpy()[:, None], plan.tries.life_fraction
    )
    is_less = burden < np.where(chosen >= 0, burden[rows, chosen], -np.inf)[:, None]
    able = is_less & meets["slot"] & meets["speed"] & meets["maximum"] & (share < 1)
    share = np.where(able, share, -np.inf)
    best, found = share.argmax(axis=1), able.any(axis=1)
    names = np.where(found, plan.site.offered["card"].to_numpy(object)[best], "").tolist()
    return names, np.where(found, share[rows, best], np.nan)


def _years(life_years: float) -> str:
    """Write a life that must not be exceeded, and no figure above ten years."""
    return down(life_years) if life_years <= LONGEST_LIFE_YEARS else life(life_years)


def _words(row: Mapping[Any, Any], served: bool, counts_cost: bool) -> str:
    if not served:
        return "No card is chosen: the reasons say why."
    more = down(PERCENT_PER_ONE * (row["mean_up_to_mbit_s"] / row["planned_mbit_s"] - 1))
    text = (
        f"Serves up to a mean of {down(row['mean_up_to_mbit_s'])} Mbit/s ({more}{NO_BREAK}% more than planned), then"
        f" {row['first_to_fail']} fails; up to a peak of {down(row['peak_up_to_mbit_s'])} Mbit/s; for up to"
        f" {down(row['days_up_to'])} days or {_years(row['years_up_to'])} years wanted."
    )
    if row["other_card"]:
        text += f" From a mean of {down(row['other_from_mbit_s'])} Mbit/s down, {row['other_card']} would do,"
        text += " which costs less." if counts_cost else " which is smaller."
    return text
