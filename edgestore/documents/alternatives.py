"""Alternatives side by side: this proposal against other cards, other settings, or cameras without a recorder."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from edgestore.checks import refuse
from edgestore.plan.order import order_list
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.visit_calendar import visit_calendar
from edgestore.plan.what_if import what_if

ALTERNATIVES, PROPOSED = "alternatives.csv", "this proposal"
"""The table of a pack, and what its first row is called."""

MOST = 3
"""So many others stand beside a proposal."""

COLUMNS = (
    *("alternative", "assured", "cameras", "least_chance", "least_chance_low", "cost", "currency", "horizon_years"),
    *("visits", "lifts", "failures", "lost_h_per_year", "order_cards", "order_price"),
)


@dataclass(frozen=True)
class Alternative:
    """A plan of the same cameras, and what to call it."""

    name: str
    plan: SitePlan


def checked(against: Sequence[Alternative]) -> tuple[Alternative, ...]:
    """Refuse more alternatives than a table has room for."""
    if len(against) > MOST:
        raise refuse("--against", f"{len(against)} alternatives", f"{MOST} at most", "Make two proposals.")
    return tuple(against)


def alternatives(proposed: Alternative, against: Sequence[Alternative], day: datetime.date) -> pd.DataFrame:
    """Put plans side by side, each with the figures of its own bill, visits and order.

    Parameters
    ----------
    proposed : Alternative
        What is proposed; it stands first.
    against : sequence of Alternative
        The others.
    day : date
        Day on which the calendars of all begin.

    Returns
    -------
    DataFrame
        ``COLUMNS``, a row a plan; no row without others. Cameras assured, of how many; the least chance of these,
        and the same if untested cards are as bad as is assumed at worst;
        ``cost``, the total of the bill over ``horizon_years``, NaN where no cost is counted; visits, those with a lift,
        failures expected; hours of footage lost a year, NaN where no outages are stated; cards of the order with its
        spares, and their price.
    """
    return pd.DataFrame([_row(one, day) for one in (proposed, *against)] if against else [], columns=list(COLUMNS))


def not_compared(proposed: SitePlan, against: Sequence[Alternative]) -> tuple[str, ...]:
    """What cannot be compared: as :func:`edgestore.what_if` tells it, and bills that begin otherwise."""
    told = []
    for one in against:
        told += [f"{one.name}: {text}" for text in what_if(proposed, one.plan).warnings]
        if (one.plan.calendar is None) != (proposed.calendar is None):
            which = "names no service log" if one.plan.calendar is None else "names a service log, the proposal none"
            told.append(f"{one.name} {which}: its bill and visits begin otherwise, and are not compared.")
    return tuple(told)


def _row(one: Alternative, day: datetime.date) -> dict[str, object]:
    """The figures of one plan."""
    plan = one.plan
    visits, order = visit_calendar(plan.site, plan.plan, day, in_service=plan.calendar), order_list(plan)
    count = order["cards"] + order["spares"]
    rows = plan.plan
    return {
        "alternative": one.name,
        "assured": int(rows["meets"].sum()),
        "cameras": len(rows),
        "least_chance": float(rows.loc[rows["meets"], "chance_kept"].min()),
        "least_chance_low": float(plan.untested_band.loc[rows["meets"], "chance_kept_low"].min()),
        "cost": visits.cost,
        "currency": visits.currency,
        "horizon_years": visits.horizon_years,
        "visits": len(visits.table),
        "lifts": visits.climbs,
        "failures": visits.failures,
        "lost_h_per_year": float(rows["lost_h_per_year"].sum()) if "lost_h_per_year" in rows else np.nan,
        "order_cards": int(count.sum()),
        "order_price": float((order["price"] * count).sum(skipna=False)),
    }
