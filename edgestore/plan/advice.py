"""What would help a camera that no card of the list serves; each figure rounded to the safe side."""

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.checks import MAX_CAPACITY_GB
from edgestore.models.retention import capacity_gb_for_retention
from edgestore.models.speed.classes import SPEED_CLASSES, guaranteed_write_mbyte_s, write_mbyte_s_for_margin
from edgestore.models.wear.endurance import writes_tb_year
from edgestore.plan.candidates import Tried
from edgestore.plan.site import Site
from edgestore.text import NO_BREAK, grouped, number
from edgestore.units import H_PER_DAY, PERCENT_PER_ONE

ROOM = 0.98
"""Advice to write less keeps this far below the most that policy allows, so that rounding does not cross it."""

FOR_EVER_DAYS = 1e300
"""Where policy sets no limit."""

LEAST_SHARE = 0.1
"""No advice asks for less than this share of the rate or of the time: such a camera would not do its job."""


def helps(site: Site, tries: Tried, rows: npt.NDArray[np.intp]) -> list[str]:
    """Say for some cameras that no card serves what would make one serve each.

    Parameters
    ----------
    site : Site
        The site.
    tries : Tried
        Every card tried in every camera.
    rows : ndarray
        Numbers of the cameras that no card serves.

    Returns
    -------
    list of str
        One text a camera.
    """
    if not len(rows):
        return []
    tries = tries.of(rows)
    cameras, rates, wanted = (table.iloc[rows] for table in (site.cameras, site.rates, site.wanted))
    given, meets = tries.given, tries.meets
    days, years, margin = (
        wanted[name].to_numpy()[:, None] for name in ("retention_days", "life_years", "speed_margin")
    )
    most = wanted["retention_days_max"].fillna(FOR_EVER_DAYS).to_numpy()[:, None]
    by_age = cameras["deletes_by_age"].to_numpy(bool)[:, None]
    keeps = np.minimum(given["retention_days"] / days, given["life_years"] / years)
    share = np.minimum.reduce([given["retention_days"] / days, tries.life_fraction, given["speed_margin"] / margin])
    may = [
        meets["slot"] & (by_age | (given["retention_days_high"] <= ROOM * most * np.minimum(part, 1)))
        for part in (share, keeps)
    ]
    lower, lower_on = _largest(share, may[0])
    less, less_on = _largest(keeps, may[1] & meets["speed"])
    all_but_most = np.logical_and.reduce([flags for name, flags in meets.items() if name != "maximum"]).any(axis=1)
    asked = _cards_asked_for(cameras, rates, wanted, float(site.offered["usable_fraction"].min()))
    names = site.offered["card"].to_list()
    texts = []
    for row, rate in enumerate(rates.to_dict("records")):
        parts = []
        if LEAST_SHARE <= lower[row] < 1:
            parts.append(_lower_rate(rate["planned_mbit_s"], rate["peak_mbit_s"], lower[row], names[lower_on[row]]))
        if LEAST_SHARE <= less[row] < 1:
            recorded = down(PERCENT_PER_ONE * rate["recorded_fraction"] * less[row])
            parts.append(f"record at most {recorded}{NO_BREAK}% of the time, on motion, on {names[less_on[row]]}")
        if all_but_most[row]:
            parts.append("have the camera delete footage by age")
            if rate["mean_basis"] == "assumed":
                parts.append("measure its mean rate to narrow the range")
        elif asked[row]:
            parts.append(asked[row])
        texts.append("; or ".join(parts or ["ask for less, or take another camera"]))
    return texts


def _largest(
    share: npt.NDArray[np.float64], allowed: npt.NDArray[np.bool_]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.intp]]:
    """Give for each camera the largest share allowed, -1 for none, and the card that has it."""
    shares = np.where(allowed, share, -1.0)
    cards = shares.argmax(axis=1)
    return shares[np.arange(len(cards)), cards], cards


def _lower_rate(planned: float, peak: float, share: float, card: str) -> str:
    return (
        f"lower the rate to {down(PERCENT_PER_ONE * share)}{NO_BREAK}% (mean {planned:.3g} to"
        f" {down(planned * share)} Mbit/s, peak {peak:.3g} to {down(peak * share)} Mbit/s) on {card}"
    )


def _cards_asked_for(
    cameras: pd.DataFrame, rates: pd.DataFrame, wanted: pd.DataFrame, least_usable: float
) -> list[str]:
    """For each camera the card that would serve, as figures to ask for; empty where no card could."""
    planned, recorded, low, peak = (
        rates[name].to_numpy() for name in ("planned_mbit_s", "recorded_fraction", "low_mbit_s", "peak_mbit_s")
    )
    write = write_mbyte_s_for_margin(rates["margin_over_mbit_s"].to_numpy(), wanted["speed_margin"].to_numpy())
    held_h = wanted["retention_days"].to_numpy() * H_PER_DAY
    capacity = capacity_gb_for_retention(held_h, planned, recorded_fraction=recorded, usable_fraction=least_usable)
    endurance = writes_tb_year(planned, recorded) * wanted["life_years"].to_numpy()
    slot_gb = cameras["max_card_gb"].fillna(np.inf).to_numpy()
    capped = wanted["retention_days_max"].notna().to_numpy() & ~cameras["deletes_by_age"].to_numpy(bool)
    most_h = wanted["retention_days_max"].fillna(1.0).to_numpy() * H_PER_DAY
    largest = np.minimum(slot_gb, MAX_CAPACITY_GB)
    largest = np.where(
        capped, np.minimum(largest, capacity_gb_for_retention(most_h, low, recorded_fraction=recorded)), largest
    )
    columns = (cameras["slot_bus"], peak, write, capacity, endurance, slot_gb, largest)
    return [_card_asked_for(*row) for row in zip(*columns, strict=True)]


def _card_asked_for(
    bus: str, peak: float, write: float, capacity: float, endurance: float, slot_gb: float, largest: float
) -> str:
    promised = _promised(bus)
    enough = [rate for rate in promised.values() if rate >= write]
    if not enough:
        most = peak * max(promised.values()) / write
        return f"a peak of at most {down(most)} Mbit/s: no card promises {up(write)} Mbyte/s in this slot"
    marks = " or ".join(mark for mark, rate in promised.items() if rate == min(enough))
    if float(_rounded(capacity, math.ceil)) <= largest:
        size = f"at least {up(capacity)} GB" if largest == MAX_CAPACITY_GB else f"{up(capacity)} to {down(largest)} GB"
        return f"a card of {size}, {up(endurance)} TB written, marked {marks}"
    if capacity > slot_gb:
        return f"another camera: this slot takes at most {number(slot_gb)} GB, {up(capacity)} GB are needed"
    return ""


@lru_cache
def _promised(bus: str) -> dict[str, float]:
    """Write rate that each class promises in a slot, Mbyte/s."""
    return {mark: guaranteed_write_mbyte_s([mark], None if bus == "unknown" else bus) for mark in SPEED_CLASSES}


def down(value: float) -> str:
    """Write a figure that must not be exceeded: three digits, never more than it is."""
    return grouped(_rounded(value, math.floor))


def up(value: float) -> str:
    """Write a figure that must be reached: three digits, never less than it is."""
    return grouped(_rounded(value, math.ceil))


def _rounded(value: float, whole: Callable[[float], int]) -> str:
    if value <= 0 or not math.isfinite(value):
        return f"{value:g}"
    digits = 2 - math.floor(math.log10(value))
    figure = whole(value * 10.0**digits) / 10.0**digits
    return f"{figure:.{max(digits, 0)}f}".rstrip("0").rstrip(".") if digits > 0 else f"{figure:.0f}"
