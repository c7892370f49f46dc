"""How far an input may move before the card chosen for a camera serves no longer, or a smaller one would do."""

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.documents.asked import wanted_of
from edgestore.planning.site import SitePlan
from edgestore.planning.words import down
from edgestore.units import PERCENT_PER_ONE

Array = npt.NDArray[np.float64]


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
        fails; up to ``peak_up_to_mbit_s``, ``days_up_to`` and ``years_up_to``. At ``smaller_from_mbit_s`` and below,
        ``smaller_card`` would do, the next smaller of the list. NaN and empty where there is none. ``words`` says it.

    Notes
    -----
    One input moves, the others stay. Retention and life go as one over the mean, the speed margin as one over the peak.
    """
    chosen, wanted = plan.plan, wanted_of(plan)
    by_days, by_years = (chosen[name] / wanted[name] for name in ("retention_days", "life_years"))
    share = np.fmin(by_days, by_years)
    smaller, smaller_share = _next_smaller(plan, wanted)
    rows = pd.DataFrame(
        {
            "camera": chosen["camera"],
            "planned_mbit_s": chosen["planned_mbit_s"],
            "mean_up_to_mbit_s": chosen["planned_mbit_s"] * share,
            "first_to_fail": np.where(chosen["meets"], np.where(by_days <= by_years, "retention", "life"), ""),
            "peak_up_to_mbit_s": chosen["peak_mbit_s"] * chosen["speed_margin"] / wanted["speed_margin"],
            "days_up_to": chosen["retention_days"],
            "years_up_to": chosen["life_years"],
            "smaller_card": smaller,
            "smaller_from_mbit_s": chosen["planned_mbit_s"] * smaller_share,
        }
    )
    words = [_words(row, served) for row, served in zip(rows.to_dict("records"), chosen["meets"], strict=True)]
    return rows.assign(words=words)


def _next_smaller(plan: SitePlan, wanted: pd.DataFrame) -> tuple[list[str], Array]:
    """Give the smaller card that is nearest to serving, and the share of the mean at which it would."""
    every, cameras = plan.candidates, len(plan.plan)
    grid = {
        name: every[name].to_numpy().reshape(cameras, -1)
        for name in ("retention_days", "life_years", "meets_slot", "meets_speed", "meets_maximum")
    }
    capacity = plan.cards["capacity_gb"].to_numpy()
    days, years = (wanted[name].to_numpy()[:, None] for name in ("retention_days", "life_years"))
    share = np.minimum(grid["retention_days"] / days, grid["life_years"] / years)
    is_smaller = capacity < plan.plan["capacity_gb"].to_numpy()[:, None]  # NaN, no card chosen, is above nothing
    able = is_smaller & grid["meets_slot"] & grid["meets_speed"] & grid["meets_maximum"] & (share < 1)
    share = np.where(able, share, -np.inf)
    best = share.argmax(axis=1)
    found = able.any(axis=1)
    names = np.where(found, plan.cards["card"].to_numpy(object)[best], "").tolist()
    return names, np.where(found, share[np.arange(cameras), best], np.nan)


def _words(row: dict[str, Any], served: bool) -> str:
    if not served:
        return "No card of the list serves: the reasons say what would help."
    more = down(PERCENT_PER_ONE * (row["mean_up_to_mbit_s"] / row["planned_mbit_s"] - 1))
    text = (
        f"Serves up to a mean of {down(row['mean_up_to_mbit_s'])} Mbit/s ({more}% more than planned), then"
        f" {row['first_to_fail']} fails; up to a peak of {down(row['peak_up_to_mbit_s'])} Mbit/s; for up to"
        f" {down(row['days_up_to'])} days or {down(row['years_up_to'])} years wanted."
    )
    if row["smaller_card"]:
        text += f" From a mean of {down(row['smaller_from_mbit_s'])} Mbit/s down, {row['smaller_card']} would do."
    return text
