"""Two plans side by side, and only what differs between them."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from edgestore.plan.site_plan import STATES, SitePlan
from edgestore.plan.untested_band import WHOLE_RANGE
from edgestore.plan.visit_calendar import LEAST_TOLD, UNCOSTED
from edgestore.text import chance, change_age, counted, life, money, number, whole, whole_percent

COMPARED = (
    *("wanted_retention_days", "wanted_life_years", "wanted_speed_margin", "wanted_retention_days_max"),
    *("wanted_assurance", "state", "card", "retention_days", "nine_in_ten_years", "chance_kept", "change_years"),
    *("speed_margin", "cards_over_horizon", "visits", "cost"),
)
"""Columns of the plan that are compared, in the order in which a reader is told."""

OF_HORIZON = ("cards_over_horizon", "visits", "cost")
"""Of these only plans over the same horizon are compared."""

MOST_LINES = 12
"""So many lines are told of two plans on a console."""

SITE_LOSSES: Mapping[str, Callable[[pd.DataFrame], float]] = {
    "footage lost, h a year": lambda plan: plan["lost_h_per_year"].sum(),
    "footage saved, h a year": lambda plan: (plan["lost_h_per_year_without_card"] - plan["lost_h_per_year"]).sum(),
}
"""What outages cost the cameras of a site together, where its settings state them."""

SAME = 1e-9
"""Figures nearer than this share are the same."""

TOLD: Mapping[str, Callable[[float], str]] = {
    "wanted_assurance": chance,
    "chance_kept": chance,
    "nine_in_ten_years": life,
    "change_years": change_age,
    "cost": whole,
}
"""How a figure is written; the others as plain numbers."""


TOLD_OF_CAMERA = {
    "in the list": "in the list:",
    "state": "state",
    "card": "card",
    "chance_kept": "chance",
    "cost": "cost",
}
"""What is told of a camera in one line, with its word."""


@dataclass(frozen=True)
class WhatIf:
    """What changes from one plan to another.

    Attributes
    ----------
    table : DataFrame
        One row a difference: ``camera``, ``what``, ``before`` and ``after``, as texts.
    sentence : str
        All of it in one sentence.
    totals : DataFrame
        Likewise of the whole site, ``camera`` being empty, with ``difference``; only what differs.
    amounts : DataFrame
        Of each camera of both plans what the picture compares: ``camera``, and as numbers ``before`` and ``after``:
        cost where both count it alike, else the capacity of the card in GB; the largest difference first.
    unit : str
        Unit of these.
    warnings : tuple of str
        What cannot be compared.
    """

    table: pd.DataFrame
    sentence: str
    totals: pd.DataFrame
    amounts: pd.DataFrame
    unit: str
    warnings: tuple[str, ...]

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the comparison rests on."""
        return (
            "Each plan is made by itself, from the same cameras and what their files say. The lowest chance is that of"
            " the cards chosen, over the cameras that both plans serve. The cost of the site is its bill: from the"
            " cards in service on, with visits shared and failures included. That of a camera is by itself, from its"
            " first planned card on, so that the cameras do not add up to the site.",
        )

    @property
    def compared(self) -> pd.DataFrame:
        """All of it in one table: the whole site first, then its cameras."""
        return pd.concat([self.totals, self.table.assign(difference="")], ignore_index=True)

    @property
    def lines(self) -> tuple[str, ...]:
        """A few lines for a console: totals that differ, then the cameras, those of the largest difference first."""
        totals = self.totals.drop(columns="camera").rename(columns={"what": "", "before": "this", "after": "other"})
        lines = totals.to_string(index=False).splitlines() if len(totals) else []
        cameras, count = self.cameras, max(1, MOST_LINES - 3 - len(lines))
        lines += cameras[:count]
        if len(cameras) > count:
            lines.append(f"{counted(len(cameras) - count, 'more camera')} with differences.")
        return tuple(lines)

    @property
    def cameras(self) -> list[str]:
        """A line for each camera that changes, those of the largest difference first."""
        changed = set(self.table["camera"])
        in_both = [camera for camera in self.amounts["camera"] if camera in changed]
        return [self._told(camera) for camera in (*in_both, *sorted(changed - set(in_both)))]

    def _told(self, camera: str) -> str:
        rows = self.table[(self.table["camera"] == camera) & self.table["what"].isin(TOLD_OF_CAMERA)]
        texts = [f"{TOLD_OF_CAMERA[what]} {a} to {b}" for what, a, b in rows[["what", "before", "after"]].to_numpy()]
        return f"{camera}: {', '.join(texts) or 'only the requirement differs'}"


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
    Costs are compared where both plans count them over the same horizon and in the same currency, visits where over the
    same horizon, footage lost and saved where the settings of both state outages; what cannot be is warned of. The
    chance of the whole site is the lowest of the cards chosen, of the cameras that are served in both plans.
    """
    pairs = before.plan.copy().merge(
        after.plan, on="camera", how="outer", suffixes=("_before", "_after"), indicator=True
    )
    names = [*before.plan["camera"], *after.plan.loc[~after.plan["camera"].isin(before.plan["camera"]), "camera"]]
    pairs = pairs.set_index("camera").loc[names].reset_index()
    in_both = pairs["_merge"] == "both"
    rows = [(camera, "in the list", "yes", "no") for camera in pairs.loc[pairs["_merge"] == "left_only", "camera"]]
    rows += [(camera, "in the list", "no", "yes") for camera in pairs.loc[pairs["_merge"] == "right_only", "camera"]]
    place = {camera: at for at, camera in enumerate(names)}
    both = pairs[in_both]
    unlike, warnings = _unlike(before, after)
    for column in COMPARED:
        if column in before.plan and column in after.plan and column not in unlike:
            rows += _differences(both, column)
    rows.sort(key=lambda row: place[row[0]])
    table = pd.DataFrame(rows, columns=["camera", "what", "before", "after"])
    is_costed = "cost" not in unlike
    amounts = _amounts(both, "cost" if is_costed else "capacity_gb")
    unit = before.site.costs.currency if is_costed and before.site.costs is not None else "GB"
    totals = _totals(before, after, both, unlike)
    return WhatIf(table, _sentence(before, after, both), totals, amounts, unit, warnings)


def _unlike(before: SitePlan, after: SitePlan) -> tuple[set[str], tuple[str, ...]]:
    """Give the columns that cannot be compared, and say why."""
    unlike, told = set[str](), []
    one, other = before.site.costs, after.site.costs
    if one is None or other is None:
        unlike.add("cost")
        if one is not other:
            told.append(f"Only the {'other' if one is None else 'first'} plan counts costs: they are not compared.")
    elif one.currency != other.currency:
        unlike.add("cost")
        told.append(f"Costs are in {one.currency} and in {other.currency}: they are not compared.")
    years = [(costs or UNCOSTED).horizon_years for costs in (one, other)]
    if years[0] != years[1]:
        unlike.update(OF_HORIZON)
        horizons = " and ".join(counted(horizon, "year") for horizon in years)
        told.append(f"The plans have different horizons ({horizons}): costs, cards and visits are not compared.")
    outages = ["lost_h_per_year" in plan.plan for plan in (before, after)]
    if not all(outages):
        unlike.update(SITE_LOSSES)
    if outages[0] != outages[1]:
        which = "first" if outages[0] else "other"
        told.append(f"Only the {which} plan states outages: footage lost and saved is not compared.")
    return unlike, tuple(told)


def _amounts(both: pd.DataFrame, column: str) -> pd.DataFrame:
    """Give a column of both plans, 0 for a camera without a card, the largest difference first."""
    ends = {end: both[f"{column}_{end}"].fillna(0.0).to_numpy(float) for end in ("before", "after")}
    table = pd.DataFrame({"camera": both["camera"].to_numpy(object), **ends})
    largest_first = np.argsort(-np.abs(ends["after"] - ends["before"]), kind="stable")
    return table.iloc[largest_first].reset_index(drop=True)


def _totals(before: SitePlan, after: SitePlan, both: pd.DataFrame, unlike: set[str]) -> pd.DataFrame:
    """Give the figures of the whole site that differ, each in both plans, with the difference."""
    plans = (before, after)
    rows = [_total(state, [float((plan.plan["state"] == state).sum()) for plan in plans]) for state in STATES]
    kept = both.loc[both["meets_before"].eq(True) & both["meets_after"].eq(True)]
    if len(kept):
        lowest = [float(whole_percent(kept[f"chance_kept_{end}"].min())) for end in ("before", "after")]
        rows.append(_total("lowest chance kept, %", lowest))
        bands = ((plan.plan["camera"], plan.untested_band["chance_kept_low"]) for plan in plans)
        worst = [float(whole_percent(low[of.isin(kept["camera"])].min())) for of, low in bands]
        rows.append(_total("lowest chance kept if untested cards are bad, %", worst))
    firm = [float((plan.untested_band["assured"] == WHOLE_RANGE).sum()) for plan in plans]
    rows.append(_total("assured over the whole range", firm))
    if "visits" not in unlike:
        rows.append(_total("visits planned", [float(len(plan.visits.table)) for plan in plans]))
        rows.append(_total("of them with a lift", [float(plan.visits.climbs) for plan in plans]))
    for what, of in SITE_LOSSES.items():
        if what not in unlike:
            rows.append(_total(what, [float(of(plan.plan)) for plan in plans]))
    if "cost" not in unlike and before.site.costs is not None:
        costs = [float(np.round(plan.visits.cost)) for plan in plans]
        rows.append(_total(f"cost, {before.site.costs.currency}", costs))
    table = pd.DataFrame(rows, columns=["camera", "what", "before", "after", "difference"])
    return table[table["before"] != table["after"]].reset_index(drop=True)


def _total(what: str, ends: list[float]) -> tuple[str, str, str, str, str]:
    more = ends[1] - ends[0]
    return "", what, number(ends[0]), number(ends[1]), f"{number(abs(more))} {'more' if more > 0 else 'less'}"


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
    return ((camera, column, *ends) for camera, *ends in rows if ends[0] != ends[1])


def _sentence(before: SitePlan, after: SitePlan, both: pd.DataFrame) -> str:
    """Say how many cameras change card, how many are in which state, and what it costs."""
    changing = int((both["card_before"] != both["card_after"]).sum())
    text = f"{counted(changing, 'camera')} of {len(both)} change{'s' if changing == 1 else ''} card"
    for state in STATES:
        ends = [int((plan.plan["state"] == state).sum()) for plan in (before, after)]
        if ends[0] != ends[1]:
            text += f", {ends[1]} {'is' if ends[1] == 1 else 'are'} {state} instead of {ends[0]}"
    if before.site.costs is None or after.site.costs is None:
        return f"{text}."
    measures = [(costs.horizon_years, costs.currency) for costs in (before.site.costs, after.site.costs)]
    if measures[0] != measures[1]:
        return f"{text}; the costs are not compared, since their horizons or currencies differ."
    costs = [plan.visits.cost for plan in (before, after)]
    years, currency = measures[0]
    more = costs[1] - costs[0]
    if abs(more) < LEAST_TOLD:
        return f"{text}; the cost stays {money(costs[0], currency)} in {counted(years, 'year')}."
    change = f"cost {'+' if more > 0 else '-'}{money(abs(more), currency)}"
    from_to = " to ".join(money(cost, currency) for cost in costs)
    text += f"; {change} in {counted(years, 'year')}, from {from_to}."
    lost = int((both["meets_before"].eq(True) & ~both["meets_after"].eq(True)).sum())
    if more < 0 and lost:
        text += (
            f" That is no saving where a camera loses its card, as {counted(lost, 'camera')} "
            f"{'does' if lost == 1 else 'do'}."
        )
    return text
