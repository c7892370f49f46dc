"""What would help a camera that no card of the list serves; each figure rounded to the safe side."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.checks import MAX_CAPACITY_GB
from edgestore.models.speed.classes import SPEED_CLASSES, guaranteed_write_mbyte_s, write_mbyte_s_for_margin
from edgestore.plan.assured import asked_of_cards, promises
from edgestore.plan.candidates import Tried
from edgestore.plan.site import Site
from edgestore.text import NO_BREAK, grouped, number
from edgestore.units import PERCENT_PER_ONE

RATES = (
    "low_mbit_s",
    "planned_mbit_s",
    "likely_high_mbit_s",
    "high_mbit_s",
    "peak_mbit_s",
    "cap_mbit_s",
    "margin_over_mbit_s",
)
"""What is lower at a lower rate."""

PARTS_LEFT = np.arange(95, 5, -5) / PERCENT_PER_ONE
"""Parts of a rate, or of the time recorded, that are tried as advice; with less a camera would not do its job."""


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
    rates = site.rates.iloc[rows]
    lower, lower_on = _largest(site, rows, RATES)
    less, less_on = _largest(site, rows, ("recorded_fraction",))
    all_but_most = np.logical_and.reduce(
        [flags[rows] for name, flags in tries.meets.items() if name not in ("maximum", "together")]
    ).any(axis=1)
    holds_too_long = all_but_most & ~tries.meets["maximum"][rows].all(axis=1)
    asked = _cards_asked_for(site, rows)
    names = site.offered["card"].to_list()
    texts = []
    for row, rate in enumerate(rates.to_dict("records")):
        parts = []
        if lower[row]:
            parts.append(_lower_rate(rate["planned_mbit_s"], rate["peak_mbit_s"], lower[row], names[lower_on[row]]))
        if less[row]:
            recorded = down(PERCENT_PER_ONE * rate["recorded_fraction"] * less[row])
            parts.append(f"record at most {recorded}{NO_BREAK}% of the time, on motion, on {names[less_on[row]]}")
        if holds_too_long[row]:
            parts.append("have the camera delete footage by age")
            if rate["mean_basis"] == "assumed":
                parts.append("measure its mean rate to narrow the range")
        elif asked[row]:
            parts.append(asked[row])
        texts.append("; or ".join(parts or ["ask for less, or take another camera"]))
    return texts


def _largest(
    site: Site, rows: npt.NDArray[np.intp], scaled: Sequence[str]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.intp]]:
    """Give for each camera the largest of ``PARTS_LEFT`` of figures at which a card is assured, 0 for none; and it."""
    many = np.repeat(rows, len(PARTS_LEFT))
    part = np.tile(PARTS_LEFT, len(rows))
    stacked = some_cameras(site, many)
    made = promises(stacked, scaled_rates(stacked.rates, part, scaled))
    kept = np.where(made.is_assured, made.kept, 0.0).reshape(len(rows), len(PARTS_LEFT), -1)
    works = kept.max(axis=2) > 0
    first = works.argmax(axis=1)
    card = kept[np.arange(len(rows)), first].argmax(axis=1)
    return np.where(works.any(axis=1), PARTS_LEFT[first], 0.0), card


def some_cameras(site: Site, rows: npt.NDArray[np.intp]) -> Site:
    """Give a site of some of the cameras, by their numbers, one perhaps several times."""
    tables = {name: getattr(site, name).iloc[rows].reset_index(drop=True) for name in ("cameras", "evidence")}
    return replace(site, **tables)


def scaled_rates(rates: pd.DataFrame, times: npt.NDArray[np.float64], columns: Sequence[str] = RATES) -> pd.DataFrame:
    """Give rates of which some columns are so many times as high, camera by camera."""
    return rates.assign(**{name: rates[name].to_numpy() * times for name in columns})


def _lower_rate(planned: float, peak: float, share: float, card: str) -> str:
    return (
        f"lower the rate to {down(PERCENT_PER_ONE * share)}{NO_BREAK}% (mean {planned:.3g} to"
        f" {down(planned * share)} Mbit/s, peak {peak:.3g} to {down(peak * share)} Mbit/s) on {card}"
    )


def _cards_asked_for(site: Site, rows: npt.NDArray[np.intp]) -> list[str]:
    """For each camera the card that would be assured, as figures to ask for; empty where no card could."""
    some = some_cameras(site, rows)
    rates, wanted, asked = some.rates, some.wanted, asked_of_cards(some)
    write = write_mbyte_s_for_margin(rates["margin_over_mbit_s"].to_numpy(), wanted["speed_margin"].to_numpy())
    slot_gb = some.cameras["max_card_gb"].fillna(np.inf).to_numpy(float)
    largest = np.minimum(asked["most_gb"], MAX_CAPACITY_GB)
    columns = (some.cameras["slot_bus"], rates["peak_mbit_s"], write, asked["needed_gb"], asked["endurance_tbw"])
    return [_card_asked_for(*row) for row in zip(*columns, slot_gb, largest, strict=True)]


def _card_asked_for(
    bus: str, peak: float, write: float, capacity: float, endurance: float, slot_gb: float, largest: float
) -> str:
    promised = _promised(bus)
    enough = [rate for rate in promised.values() if rate >= write]
    if not enough:
        most = peak * max(promised.values()) / write
        return f"a peak of at most {down(most)} Mbit/s: no card promises {up(write)} Mbyte/s in this slot"
    if math.isnan(endurance):
        return "less assurance or a shorter life: cards fail for other reasons than wear more often than is allowed"
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
