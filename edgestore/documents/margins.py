"""How far an input may move before the card chosen for a camera serves no longer, or a lesser one would do."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.settings import LEAST_ASKED
from edgestore.plan.advice import down, scaled_rates
from edgestore.plan.assured import chance_in_pairs
from edgestore.plan.candidates import tried
from edgestore.plan.change_age import QUARTER_YEARS
from edgestore.plan.choice import choose
from edgestore.plan.promise import ROUNDING
from edgestore.plan.site_plan import SitePlan
from edgestore.text import LONGEST_LIFE_YEARS, NO_BREAK, life
from edgestore.units import PERCENT_PER_ONE

Array = npt.NDArray[np.float64]

MORE = np.exp(np.arange(0, np.log(20), 0.02))
"""Times a rate, or days, that are tried; a margin of twenty is no margin any more."""

LESS = np.arange(95, 5, -5) / PERCENT_PER_ONE
"""Parts of the rate that are tried for another card."""

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
        One row a camera: the card has the chance asked up to ``mean_up_to_mbit_s``, where the requirement in
        ``first_to_fail`` fails, or where the cap is, and nothing fails; up to ``peak_up_to_mbit_s``, ``days_up_to`` and
        ``years_up_to``. At ``other_from_mbit_s`` and below, ``other_card`` would do, smaller, or cheaper where costs
        are counted. NaN and
        empty where there is none.
        ``words`` says it.

    Notes
    -----
    One input moves, the others stay, until the chance falls below the assurance: found among ``MORE`` and ``LESS``
    times the mean, ``MORE`` times the days, no more of them than are allowed, and the ages
    of change from the life asked on, in quarters of a year. The speed margin goes as one
    over the cap; where no cap is known it goes as one over the mean, and a peak is only kept up with.
    """
    chosen, wanted = plan.plan, plan.site.wanted.reset_index(drop=True)
    margin = chosen["speed_margin"] / wanted["speed_margin"]
    over_mean = chosen["peak_basis"] == "assumed"
    parts = _parts_up_to(plan)
    shares = np.column_stack([parts[name] for name in FAILS[:2]] + [margin.where(over_mean, np.inf)])
    up_to = chosen["planned_mbit_s"] * np.minimum(parts["together"], shares[:, -1])
    cap = plan.site.rates["most_mbit_s"].fillna(np.inf).to_numpy(float)  # where it holds no mean is above
    reaches_cap = up_to >= cap * (1 - 2 * ROUNDING)
    other, other_share = _nearest_other(plan)
    rows = pd.DataFrame(
        {
            "camera": chosen["camera"],
            "planned_mbit_s": chosen["planned_mbit_s"],
            "mean_up_to_mbit_s": up_to.mask(reaches_cap, cap),
            "first_to_fail": np.where(chosen["meets"] & ~reaches_cap, np.array(FAILS)[shares.argmin(axis=1)], ""),
            "peak_up_to_mbit_s": chosen["margin_over_mbit_s"] * np.where(over_mean, chosen["speed_margin"], margin),
            "days_up_to": _days(wanted, parts["days"]),
            "years_up_to": parts["years"],
            "other_card": other,
            "other_from_mbit_s": chosen["planned_mbit_s"] * other_share,
        }
    )
    words = [
        _words(row, served, plan.site.costs is not None)
        for row, served in zip(rows.to_dict("records"), chosen["meets"], strict=True)
    ]
    return rows.assign(words=words)


def _parts_up_to(plan: SitePlan) -> dict[str, Array]:
    """Give the largest of ``MORE`` times the mean and the days, and the years, at which each card has the chance asked.

    NaN where there is none. ``retention`` and ``life`` tell how far each would go by itself.
    """
    served = np.flatnonzero(plan.plan["meets"])
    found = {name: np.full(len(plan.plan), np.nan) for name in ("together", "retention", "life", "days", "years")}
    if not len(served):
        return found
    many, times = np.repeat(served, len(MORE)), np.tile(MORE, len(served))
    site = plan.site.of_cameras(many)
    faster = _with_mean(site.rates, times)
    to_cap = (site.rates["most_mbit_s"] / site.rates["planned_mbit_s"]).fillna(np.inf).to_numpy() * (1 - ROUNDING)
    no_further = np.minimum(times, to_cap)
    cards = plan.site.offered.iloc[plan.chosen[many]].reset_index(drop=True)
    longer = replace(site, cameras=site.cameras.assign(retention_days=_days(site.wanted, times)))
    ages = _ages(site.wanted, np.tile(np.arange(len(MORE)), len(served)))
    older = replace(site, cameras=site.cameras.assign(life_years=ages))
    no_outage = replace(site.settings, outage=None, group_outages={})  # what holds long enough for it is not life
    lasting = replace(site, cameras=site.cameras.assign(retention_days=LEAST_ASKED), settings=no_outage)
    holding = replace(site, cameras=site.cameras.assign(life_years=LEAST_ASKED))
    for name, (asking, rates, tries) in {
        "together": (site, _with_mean(site.rates, no_further), no_further),
        "retention": (holding, faster, times),
        "life": (lasting, faster, times),
        "days": (longer, site.rates, times),
        "years": (older, site.rates, ages),
    }.items():
        enough = chance_in_pairs(asking, rates, cards) >= site.wanted["assurance"].to_numpy(float) - ROUNDING
        last = np.maximum(np.cumprod(enough.reshape(-1, len(MORE)), axis=1).sum(axis=1) - 1, 0)
        found[name][served] = tries.reshape(-1, len(MORE))[np.arange(len(served)), last]
    return found


def _with_mean(rates: pd.DataFrame, times: Array) -> pd.DataFrame:
    """Give rates with so many times the mean; the cap stays, unless the mean is assumed from it, and so does the peak.

    A peak that is assumed from the mean moves with it. No mean is above the cap, unless the planned one is: then the
    cap does not hold.
    """
    moved = scaled_rates(rates, times)
    planned, cap = moved["planned_mbit_s"], rates["cap_mbit_s"]
    by_mean = rates["mean_basis"] != "assumed"
    of_peak = by_mean & (rates["peak_basis"] != "assumed")
    stays = {name: moved[name].mask(of_peak, rates[name]) for name in ("peak_mbit_s", "margin_over_mbit_s")}
    most = moved["most_mbit_s"].mask(by_mean, cap.where(~(planned > cap)))
    high = planned**2 / moved["low_mbit_s"]
    return moved.assign(
        cap_mbit_s=moved["cap_mbit_s"].mask(by_mean, cap),
        likely_high_mbit_s=moved["likely_high_mbit_s"].mask(by_mean, np.fmin(high, most)),
        high_mbit_s=moved["high_mbit_s"].mask(by_mean, most.fillna(high)),
        most_mbit_s=most,
        **stays,
    )


def _days(wanted: pd.DataFrame, times: Array) -> Array:
    """Give so many times the days wanted; no camera may ask for more than it is allowed to hold."""
    days, most = (wanted[name].to_numpy(float) for name in ("retention_days", "retention_days_max"))
    return np.asarray(np.fmin(days * times, most))


def _ages(wanted: pd.DataFrame, quarters: npt.NDArray[np.intp]) -> Array:
    """Give ages so many quarters after that of the life wanted, none beyond the longest that is told."""
    years = wanted["life_years"].to_numpy(float)
    ages = QUARTER_YEARS * (np.ceil(years / QUARTER_YEARS - ROUNDING) + quarters)
    return np.asarray(np.minimum(ages, np.maximum(years, LONGEST_LIFE_YEARS + 1)))


def _nearest_other(plan: SitePlan) -> tuple[list[str], Array]:
    """Give the card that each camera would get at a lower rate, and the largest of ``LESS`` times it for that."""
    names = plan.site.offered["card"].to_numpy(object)
    count = len(plan.plan)
    site = plan.site.of_cameras(np.repeat(np.arange(count), len(LESS)))
    tries = tried(site, _with_mean(site.rates, np.tile(LESS, count)))
    lesser = choose("camera", tries, site.cameras["group"]).chosen.reshape(count, -1)
    differs = (lesser != plan.chosen[:, None]) & (lesser >= 0) & plan.plan["meets"].to_numpy()[:, None]
    found, first = differs.any(axis=1), differs.argmax(axis=1)
    other = np.where(found, names[lesser[np.arange(count), first]], "").tolist()
    return other, np.where(found, LESS[first], np.nan)


def _years(life_years: float) -> str:
    """Write a life wanted that must not be exceeded, and no figure above ten years."""
    if life_years > LONGEST_LIFE_YEARS:
        return f"{life(life_years)} years"
    return "up to a year" if life_years == 1 else f"up to {down(life_years)} years"


def _words(row: Mapping[Any, Any], served: bool, counts_cost: bool) -> str:
    if not served:
        return "No card is chosen: the reasons say why."
    if row["first_to_fail"]:
        more = down(PERCENT_PER_ONE * (row["mean_up_to_mbit_s"] / row["planned_mbit_s"] - 1))
        mean = (
            f"up to a mean of {down(row['mean_up_to_mbit_s'])} Mbit/s ({more}{NO_BREAK}% more than planned), then"
            f" {row['first_to_fail']} fails"
        )
    else:
        mean = f"at any mean up to the cap, {down(row['mean_up_to_mbit_s'])} Mbit/s"
    text = (
        f"Has the chance asked {mean}; up to a peak of {down(row['peak_up_to_mbit_s'])} Mbit/s; for up to"
        f" {down(row['days_up_to'])} days wanted, or for {_years(row['years_up_to'])}."
    )
    if row["other_card"]:
        text += f" From a mean of {down(row['other_from_mbit_s'])} Mbit/s down, {row['other_card']} would do,"
        text += " which costs less." if counts_cost else " which is smaller."
    return text
