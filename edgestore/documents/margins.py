"""How far an input may move before the card chosen for a camera serves no longer, or a lesser one would do."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.documents.language import IN_ENGLISH, Language
from edgestore.inputs.settings import LEAST_ASKED
from edgestore.plan.advice import down, scaled_rates
from edgestore.plan.assured import chance_in_pairs
from edgestore.plan.candidates import tried
from edgestore.plan.change_age import QUARTER_YEARS
from edgestore.plan.choice import choose
from edgestore.plan.promise import ROUNDING
from edgestore.plan.site_plan import SitePlan
from edgestore.text import LONGEST_LIFE_YEARS, NO_BREAK, life, number
from edgestore.units import PERCENT_PER_ONE

Array = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]

MORE = np.exp(np.arange(0, np.log(20), 0.02))
"""Times a rate, or days, that are tried; a margin of twenty is no margin any more."""

STRIDE = 12
"""So many tries are left out between those that are tried first: about the root of their number."""

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
        are counted. NaN and empty where there is none.

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
    return pd.DataFrame(
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


def _parts_up_to(plan: SitePlan) -> dict[str, Array]:
    """Give the largest of ``MORE`` times the mean and the days, and the years, at which each card has the chance asked.

    NaN where there is none. ``retention`` and ``life`` tell how far each would go by itself.
    """
    served = np.flatnonzero(plan.plan["meets"])
    found = {name: np.full(len(plan.plan), np.nan) for name in ("together", "retention", "life", "days", "years")}
    if not len(served):
        return found
    counts = np.zeros(len(served), dtype=np.intp)
    for name in found:
        last = _last_enough(partial(_enough, plan, name, served), counts.copy())
        found[name][served] = _tries(plan, name, served, last)
    return found


def _last_enough(is_enough: Callable[[Whole], Flags], last: Whole) -> Whole:
    """Find the last of ``MORE`` before the first that is not enough: by every ``STRIDE``-th, then by those between.

    What is asked of all cards at once is asked of a sixth of the tries so.
    """
    for steps in (np.arange(STRIDE, len(MORE) + STRIDE, STRIDE), np.arange(1, STRIDE)):
        tries = np.minimum(last[:, None] + steps, len(MORE) - 1)
        enough = is_enough(tries.ravel()).reshape(tries.shape)
        held = np.cumprod(enough, axis=1).sum(axis=1)
        last = np.where(held > 0, np.take_along_axis(tries, np.maximum(held - 1, 0)[:, None], axis=1)[:, 0], last)
    return last


def _tries(plan: SitePlan, name: str, served: Whole, at: Whole) -> Array:
    """What is tried of a figure: times the mean, no further than the cap for all together; times the days; years."""
    site = plan.site.of_cameras(np.repeat(served, len(at) // len(served)))
    times = MORE[at]
    if name == "years":
        return _ages(site.wanted, at)
    to_cap = (site.rates["most_mbit_s"] / site.rates["planned_mbit_s"]).fillna(np.inf).to_numpy() * (1 - ROUNDING)
    return np.asarray(np.minimum(times, to_cap)) if name == "together" else times


def _enough(plan: SitePlan, name: str, served: Whole, at: Whole) -> Flags:
    """Whether the chosen cards have the chance asked where a figure is so much."""
    many = np.repeat(served, len(at) // len(served))
    site, tries = plan.site.of_cameras(many), _tries(plan, name, served, at)
    cards = plan.site.offered.iloc[plan.chosen[many]].reset_index(drop=True)
    asking, rates = site, site.rates
    if name in ("together", "retention", "life"):
        rates = _with_mean(site.rates, tries)
    if name == "retention":
        asking = replace(site, cameras=site.cameras.assign(life_years=LEAST_ASKED))
    elif name == "life":  # what holds long enough for an outage is not life
        no_outage = replace(site.settings, outage=None, group_outages={})
        asking = replace(site, cameras=site.cameras.assign(retention_days=LEAST_ASKED), settings=no_outage)
    elif name == "days":
        asking = replace(site, cameras=site.cameras.assign(retention_days=_days(site.wanted, tries)))
    elif name == "years":
        asking = replace(site, cameras=site.cameras.assign(life_years=tries))
    return np.asarray(chance_in_pairs(asking, rates, cards) >= site.wanted["assurance"].to_numpy(float) - ROUNDING)


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


def in_cells(rows: pd.DataFrame, wanted: pd.DataFrame, language: Language = IN_ENGLISH) -> list[dict[str, str]]:
    """Write the margins of each camera as cells of a table.

    Parameters
    ----------
    rows : DataFrame
        Of :func:`margins`.
    wanted : DataFrame
        What is wanted of each camera.
    language : Language
        Language of the figures.

    Returns
    -------
    list of dict of str
        For each camera the ``mean`` planned, ``up_to`` which mean the card serves, ``more`` than planned that is, and
        what ``fails`` then, empty for the cap; the peak, days and years up to which it serves, with those wanted; and
        the rate from which on down another card would do. No cell where no card is chosen.
    """
    days, years = (wanted[name].to_numpy(float) for name in ("retention_days", "life_years"))
    told = [_cells(row, days[at], years[at]) for at, row in enumerate(rows.to_dict("records"))]
    return [{name: language.figures(text) for name, text in cells.items()} for cells in told]


def _cells(row: Mapping[Any, Any], days: float, years: float) -> dict[str, str]:
    """The cells of one camera; what must not be exceeded is rounded down."""
    up_to, planned = row["mean_up_to_mbit_s"], row["planned_mbit_s"]
    if np.isnan(up_to):
        return {}
    longest = row["years_up_to"]
    return {
        "mean": number(planned),
        "up_to": down(up_to),
        "more": f"+{down(PERCENT_PER_ONE * (up_to / planned - 1))}{NO_BREAK}%" if row["first_to_fail"] else "",
        "fails": row["first_to_fail"],
        "peak": down(row["peak_up_to_mbit_s"]),
        "days_wanted": number(days),
        "days": down(row["days_up_to"]),
        "years_wanted": life(years),
        "years": life(longest) if longest > LONGEST_LIFE_YEARS else down(longest),
        "other_from": down(row["other_from_mbit_s"]) if row["other_card"] else "",
    }
