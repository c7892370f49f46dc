"""Two plans side by side, and only what differs between them."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from edgestore.plan.site_plan import STATES, SitePlan
from edgestore.text import chance, change_age, counted, life, money, number, whole

COMPARED = (
    *("wanted_retention_days", "wanted_life_years", "wanted_speed_margin", "wanted_retention_days_max"),
    *("wanted_assurance", "state", "card", "retention_days", "life_years", "chance_kept", "change_years"),
    *("speed_margin", "cards_over_horizon", "visits", "cost"),
)
"""Columns of the plan that are compared, in the order in which a reader is told."""

SAME = 1e-9
"""Figures nearer than this share are the same."""

TOLD: Mapping[str, Callable[[float], str]] = {
    "wanted_assurance": chance,
    "chance_kept": chance,
    "life_years": life,
    "change_years": change_age,
    "cost": whole,
}
"""How a figure is written; the others as plain numbers."""


@dataclass(frozen=True)
class WhatIf:
    """What changes from one plan to another.

    Attributes
    ----------
    table : DataFrame
        One row a difference: ``camera``, ``what``, ``before`` and ``after``, as texts.
    sentence : str
        All of it in one sentence.
    """

    table: pd.DataFrame
    sentence: str


def what_if(before: SitePlan, after: SitePlan) -> WhatIf:
    """Compare two plans.

    Parameters
    ----------
    before, after : SitePlan
        The plans; cameras are the same where their names are.

    Returns
    -------
    WhatIf
        Only the differences that a reader sees: chances in whole percent, and no life above ten years.

    Notes
    -----
    Costs are compared where both plans count them over the same horizon and in the same currency.
    """
    pairs = before.plan.merge(after.plan, on="camera", how="outer", suffixes=("_before", "_after"), indicator=True)
    names = [*before.plan["camera"], *after.plan.loc[~after.plan["camera"].isin(before.plan["camera"]), "camera"]]
    pairs = pairs.set_index("camera").loc[names].reset_index()
    in_both = pairs["_merge"] == "both"
    rows = [(camera, "in the list", "yes", "no") for camera in pairs.loc[pairs["_merge"] == "left_only", "camera"]]
    rows += [(camera, "in the list", "no", "yes") for camera in pairs.loc[pairs["_merge"] == "right_only", "camera"]]
    place = {camera: at for at, camera in enumerate(names)}
    both = pairs[in_both]
    for column in COMPARED:
        if column in before.plan and column in after.plan:
            rows += _differences(both, column)
    rows.sort(key=lambda row: place[row[0]])
    table = pd.DataFrame(rows, columns=["camera", "what", "before", "after"])
    return WhatIf(table, _sentence(before, after, both))


def _differences(both: pd.DataFrame, column: str) -> Iterator[tuple[str, str, str, str]]:
    """Give the rows of one column that differ."""
    one, other = both[f"{column}_before"], both[f"{column}_after"]
    if column in ("card", "state"):
        differs = (one != other).to_numpy()
        texts = [[text or "none" for text in side] for side in (one[differs], other[differs])]
    else:
        differs = ~np.isclose(one, other, rtol=SAME, atol=0, equal_nan=True)
        if not column.startswith("wanted"):  # that a camera has no card any more is told once
            differs &= (one.notna() & other.notna()).to_numpy()
        told = TOLD.get(column, number)
        texts = [["none" if np.isnan(v) else told(v) for v in side] for side in (one[differs], other[differs])]
    rows = zip(both.loc[differs, "camera"], *texts, strict=True)
    return ((camera, column, *ends) for camera, *ends in rows if column not in TOLD or ends[0] != ends[1])


def _sentence(before: SitePlan, after: SitePlan, both: pd.DataFrame) -> str:
    """Say how many cameras change card, how many are in which state, and what it costs."""
    changing = int((both["card_before"] != both["card_after"]).sum())
    text = f"{counted(changing, 'camera')} of {len(both)} change{'s' if changing == 1 else ''} card"
    for state in STATES:
        ends = [int((plan.plan["state"] == state).sum()) for plan in (before, after)]
        if ends[0] != ends[1]:
            text += f", {ends[1]} {'is' if ends[1] == 1 else 'are'} {state} in place of {ends[0]}"
    if before.site.costs is None or after.site.costs is None:
        return f"{text}."
    measures = [(costs.horizon_years, costs.currency) for costs in (before.site.costs, after.site.costs)]
    if measures[0] != measures[1]:
        return f"{text}; the costs are of unlike horizons or currencies and not compared."
    costs = [float(plan.plan["cost"].sum()) for plan in (before, after)]
    years, currency = measures[0]
    more = costs[1] - costs[0]
    change = "the cost stays" if abs(more) < 0.5 else f"cost {'+' if more > 0 else '-'}{money(abs(more), currency)}"
    from_to = " to ".join(money(cost, currency) for cost in costs)
    return f"{text}; {change} in {counted(years, 'year')}, from {from_to}."
