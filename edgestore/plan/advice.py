"""What would help a camera that no card of the list serves; each figure rounded to the safe side."""

import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache, partial
from operator import itemgetter
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.checks import MAX_CAPACITY_GB
from edgestore.inputs.beliefs import Beliefs
from edgestore.models.speed.classes import SPEED_CLASSES, guaranteed_write_mbyte_s, write_mbyte_s_for_margin
from edgestore.plan.asked import asked_of_cards, rounded
from edgestore.plan.assured import may_be_assured, promises
from edgestore.plan.promise import ROUNDING
from edgestore.plan.rates import recorded_sigma
from edgestore.plan.remedies import (
    Remedy,
    fewer_locked,
    less_assurance,
    measuring,
    on_cards,
    shorter_life,
    shorter_outage,
    week_of_footage,
)
from edgestore.plan.site import Site
from edgestore.text import NO_BREAK, chance, counted, grouped, number, percent
from edgestore.units import PERCENT_PER_ONE

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]
Whole = Callable[..., Array]

RATES = (
    "low_mbit_s",
    "planned_mbit_s",
    "likely_high_mbit_s",
    "high_mbit_s",
    "median_mbit_s",
    "most_mbit_s",
    "peak_mbit_s",
    "cap_mbit_s",
    "margin_over_mbit_s",
)
"""What is lower at a lower rate."""

BY_AGE, BUT_LOCKED = "have the camera delete footage by age", ", which leaves locked clips"
"""The remedy of a camera that policy limits, and what is added to it where clips are expected to be locked."""

UNPRICED = "not on the list: ask for its price"

TOO_OFTEN = "less assurance or a shorter life"

PARTS_LEFT = np.arange(19, 1, -1) / 20
"""Parts of a rate, or of the time recorded, that are tried as advice; with less a camera would not do its job."""

MOST_ASKED_LESS = 200
"""Cameras for which it is tried what they could be asked less of; of more only the first (our choice)."""

MOST_WEIGHED = 200
"""Cameras of a site of which it is said whether measuring is worth it; of more ``measure_first.csv`` says so."""

AT_ONCE = 1000
"""Cameras for which all these are tried at once: more of them would only fill the memory."""


def helps(site: Site, rows: Rows, is_worth_measuring: Callable[[], Flags]) -> list[tuple[str, ...]]:
    """Say for some cameras that have no assured card what would make one assured in each, and what that costs.

    Parameters
    ----------
    site : Site
        The site.
    rows : ndarray
        Numbers of the cameras that have no assured card.
    is_worth_measuring : callable
        Gives whether measuring each camera of the site is worth its effort; asked of a site of up to ``MOST_WEIGHED``.

    Returns
    -------
    list of tuple of str
        For each camera the remedies, each of which was tried: fewer locked clips, which leave rate and card as they
        are, then the cheapest over the horizon first, then those of which no cost is known. What is asked less of a
        camera, what measuring would tell, and how many clips may be locked, is found for ``MOST_ASKED_LESS`` of them.
    """
    if not len(rows):
        return []
    some = site.of_cameras(rows)
    less_recorded = partial(_less_recorded, beliefs=site.settings.beliefs)
    lower, less = (_largest(some, told) for told in (_lower_rates, less_recorded))
    few = min(len(rows), MOST_ASKED_LESS)
    life, sure, cover, locked = (np.full(len(rows), none) for none in (0.0, 0.0, 0.0, np.nan))
    first = some.of_cameras(np.arange(few))
    measured, life[:few], sure[:few] = measuring(first), shorter_life(first), less_assurance(first)
    verdicts = [""] * few
    if any(measured) and len(site.cameras) <= MOST_WEIGHED:
        verdicts = [
            ", worth the effort" if is_worth else ", not worth the effort"
            for is_worth in is_worth_measuring()[rows[:few]]
        ]
    week = week_of_footage(first)
    measured = [
        f"measure its mean rate ({week}{verdict}): {told}" if told else ""
        for told, verdict in zip(measured, verdicts, strict=True)
    ]
    cover[:few], locked[:few] = shorter_outage(first), fewer_locked(first)
    asked, (serves_by_age, asked_by_age) = _cards_asked_for(some), _by_age(some)
    on = on_cards(
        some,
        [
            Remedy(some.rates, {}, locked >= 0, locked_fraction=locked),
            Remedy(_lower_rates(some.rates, np.where(lower > 0, lower, 1.0)), {}, lower > 0),
            Remedy(less_recorded(some.rates, np.where(less > 0, less, 1.0)), {}, less > 0),
            Remedy(some.rates, {}, serves_by_age, by_age=True),
            Remedy(some.rates, {}, cover > 0, covered_h=cover),
            Remedy(some.rates, {"life_years": life}, life > 0),
            Remedy(some.rates, {"assurance": sure}, sure > 0),
        ],
    )
    rates, years = some.rates.to_dict("records"), some.wanted["life_years"].tolist()
    by_age = [BY_AGE + BUT_LOCKED if has_locked else BY_AGE for has_locked in some.cameras["locked_fraction"] > 0]
    texts = []
    for row, figures in enumerate(zip(by_age, rates, years, locked, lower, less, cover, life, sure, strict=True)):
        with_card = [one[row] for one in on]
        unlocked, *ways = [
            (one.cost, f"{way}, on {one.words}" if one.words else "")
            for way, one in zip(_ways(*figures), with_card, strict=True)
        ]
        parts = [way for _, way in (unlocked, *sorted(ways, key=itemgetter(0))) if way]
        less_asked = [*measured[row : row + 1], *(one.words for one in with_card[-2:])]
        if asked[row] and not serves_by_age[row] and not (asked[row].startswith(TOO_OFTEN) and any(less_asked)):
            parts.append(f"ask for {asked[row]}")
        elif asked_by_age[row] and not serves_by_age[row]:
            parts.append(f"{by_age[row]}, with {asked_by_age[row]}")
        parts += filter(None, measured[row : row + 1])
        texts.append(tuple(parts) or ("ask for less, or choose another camera",))
    return texts


def _ways(
    by_age: str,
    rate: Mapping[Hashable, Any],
    years: float,
    locked: float,
    lower: float,
    less: float,
    cover: float,
    life: float,
    sure: float,
) -> list[str]:
    """What a camera can do otherwise or be asked less of, in words, in the order in which the remedies are tried."""
    return [
        f"lock no more than {percent(locked)} of the usable space" if locked > 0 else "lock no clips",
        _lower_rate(rate, lower),
        f"record at most {down(PERCENT_PER_ONE * rate['recorded_fraction'] * less)}{NO_BREAK}% of the time, on motion",
        by_age,
        f"require the card to cover an outage of at most {counted(cover, 'hour')}",
        f"ask for a life of {counted(life, 'year')} instead of {counted(years, 'year')}",
        f"ask for an assurance of {chance(sure)}",
    ]


def _largest(site: Site, told: Callable[[pd.DataFrame, Array], pd.DataFrame]) -> Array:
    """Give for each camera the largest of ``PARTS_LEFT`` at which a card is assured, 0 for none.

    ``told`` gives the rates that come of such parts when a reader sets the figures that he is told.
    """
    found = np.zeros(len(site.cameras))
    for start in range(0, len(found), AT_ONCE):
        rows = np.arange(start, min(start + AT_ONCE, len(found)))
        stacked = site.of_cameras(np.repeat(rows, len(PARTS_LEFT)))
        rates = told(stacked.rates, np.tile(PARTS_LEFT, len(rows)))
        may = may_be_assured(stacked, rates).reshape(len(rows), -1)
        is_largest = may & (np.cumsum(may, axis=1) == 1)
        works = _is_assured(stacked, rates, is_largest)  # most often the largest that may be is
        works |= _is_assured(stacked, rates, may & ~is_largest & ~works.any(axis=1, keepdims=True))
        found[rows] = np.where(works.any(axis=1), PARTS_LEFT[works.argmax(axis=1)], 0.0)
    return found


def _is_assured(site: Site, rates: pd.DataFrame, asked: Flags) -> Flags:
    """Whether a card is assured in those cameras, of all one after the other, of which it is asked."""
    works, rows = np.zeros(asked.shape, dtype=bool), np.flatnonzero(asked)
    if len(rows):
        made = promises(site.of_cameras(rows), rates.iloc[rows].reset_index(drop=True))
        works.flat[rows] = made.is_assured.any(axis=1)
    return works


def _lower_rates(rates: pd.DataFrame, part: Array) -> pd.DataFrame:
    """Rates of a mean and a peak that are such parts of those planned, as they are told: rounded down."""
    planned, peak = (rounded(rates[f"{name}_mbit_s"].to_numpy() * part, np.floor) for name in ("planned", "peak"))
    lower = planned / rates["planned_mbit_s"].to_numpy()
    cap = rates["cap_mbit_s"].to_numpy() * peak / rates["peak_mbit_s"].to_numpy()
    low = rates["low_mbit_s"].to_numpy() * lower
    high = planned**2 / low  # as far above the mean as the low is below it
    most = np.where(rates["most_mbit_s"].isna(), np.nan, cap)
    is_over_peak = (rates["peak_basis"] != "assumed").to_numpy()
    return rates.assign(
        low_mbit_s=low,
        planned_mbit_s=planned,
        likely_high_mbit_s=np.fmax(np.fmin(high, most), planned),
        high_mbit_s=np.fmax(np.where(np.isnan(most), high, most), planned),
        median_mbit_s=rates["median_mbit_s"].to_numpy() * lower,
        most_mbit_s=most,
        peak_mbit_s=peak,
        cap_mbit_s=cap,
        margin_over_mbit_s=np.where(is_over_peak, peak, planned),
    )


def _less_recorded(rates: pd.DataFrame, part: Array, beliefs: Beliefs) -> pd.DataFrame:
    """Rates of a camera that records such a part of the time that it did, as it is told: rounded down.

    How often something moves is then known as a list tells it, also where the camera has recorded all the time.
    """
    told = rounded(PERCENT_PER_ONE * rates["recorded_fraction"].to_numpy() * part, np.floor) / PERCENT_PER_ONE
    known = recorded_sigma(told, np.full(told.shape, np.nan), beliefs)
    return rates.assign(recorded_fraction=told, recorded_sigma=np.fmax(known, rates["recorded_sigma"].to_numpy()))


def _by_age(site: Site) -> tuple[Flags, list[str]]:
    """Whether a card of each camera that policy limits is assured if it deletes footage by age; the card to ask for."""
    serves, asked = np.zeros(len(site.cameras), dtype=bool), [""] * len(site.cameras)
    is_limited = site.wanted["retention_days_max"].notna() & ~site.cameras["deletes_by_age"]
    is_kept = site.days_to_fetch <= site.wanted["retention_days_max"].to_numpy(float)  # until an outage is fetched
    rows = np.flatnonzero(is_limited & is_kept)
    if len(rows):
        limited = site.of_cameras(rows)
        by_age = replace(limited, cameras=limited.cameras.assign(deletes_by_age=True))
        serves[rows] = promises(by_age, by_age.rates).is_assured.any(axis=1)
        for row, card in zip(rows.tolist(), _cards_asked_for(by_age), strict=True):
            asked[row] = card
    return serves, asked


def scaled_rates(rates: pd.DataFrame, times: Array, columns: Sequence[str] = RATES) -> pd.DataFrame:
    """Give rates of which some columns are so many times as high, camera by camera."""
    return rates.assign(**{name: rates[name].to_numpy() * times for name in columns})


def _lower_rate(rate: Mapping[Hashable, Any], share: float) -> str:
    planned, peak = rate["planned_mbit_s"], rate["peak_mbit_s"]
    lower, lower_peak = down(planned * share), down(peak * share)
    if rate["mean_basis"] == "assumed":
        return f"lower the cap from {peak:.3g} to {lower_peak} Mbit/s"
    return (
        f"lower the rate to {down(PERCENT_PER_ONE * share)}{NO_BREAK}% (mean {planned:.3g} to {lower} Mbit/s, peak"
        f" {peak:.3g} to {lower_peak} Mbit/s)"
    )


def _cards_asked_for(site: Site) -> list[str]:
    """For each camera the card that would be assured, as figures to ask for; empty where no card could."""
    rates, wanted, asked = site.rates, site.wanted, asked_of_cards(site)
    write = write_mbyte_s_for_margin(rates["margin_over_mbit_s"].to_numpy(), wanted["speed_margin"].to_numpy())
    slot_gb = site.cameras["max_card_gb"].fillna(np.inf).to_numpy(float)
    largest = np.minimum(np.minimum(slot_gb, asked["most_usable_gb"].fillna(np.inf)), MAX_CAPACITY_GB)
    columns = (site.cameras["slot_bus"], rates["peak_mbit_s"], write, asked["needed_gb"], asked["endurance_tbw"])
    is_limited = wanted["retention_days_max"].notna() & ~site.cameras["deletes_by_age"].to_numpy(bool)
    return [_card_asked_for(*row) for row in zip(*columns, slot_gb, largest, is_limited, strict=True)]


def _card_asked_for(
    bus: str,
    peak: float,
    write: float,
    capacity: float,
    endurance: float,
    slot_gb: float,
    largest: float,
    is_limited: bool,
) -> str:
    promised = _promised(bus)
    share, limit = min(max(promised.values()) / write, 1.0), ""
    if share < 1:
        limit = (
            f"a peak of at most {down(peak * share)} Mbit/s (no card promises {up(write)} Mbyte/s in this slot); "
            "then, with the mean lowered in proportion, "
        )
        if is_limited:
            largest *= share  # policy allows less at a lower rate
        write, capacity, endurance = write * share, capacity * share, endurance * share
    if math.isnan(endurance):
        return f"{TOO_OFTEN}: cards fail for reasons other than wear more often than is allowed"
    slowest = min(rate for rate in promised.values() if rate >= write * (1 - ROUNDING))
    marks = " or ".join(mark for mark, rate in promised.items() if rate == slowest)
    if rounded(capacity, np.ceil) <= largest:
        size = f"at least {up(capacity)} GB" if largest == MAX_CAPACITY_GB else f"{up(capacity)} to {down(largest)} GB"
        return f"{limit}a card of {size}, {up(endurance)} TB written, marked {marks} ({UNPRICED})"
    if capacity > slot_gb:
        slow = f"no card promises {up(write / share)} Mbyte/s in this slot, and " if limit else ""
        return (
            f"another camera: {slow}this slot takes at most {number(slot_gb)} GB, and {up(capacity / share)} GB "
            f"is needed ({UNPRICED})"
        )
    return ""


@lru_cache
def _promised(bus: str) -> dict[str, float]:
    """Write rate that each class promises in a slot, Mbyte/s."""
    return {mark: guaranteed_write_mbyte_s([mark], None if bus == "unknown" else bus) for mark in SPEED_CLASSES}


def down(value: float) -> str:
    """Write a figure that must not be exceeded: three digits, never more than it is."""
    return grouped(_rounded(value, np.floor))


def up(value: float) -> str:
    """Write a figure that must be reached: three digits, never less than it is."""
    return grouped(_rounded(value, np.ceil))


def _rounded(value: float, whole: Whole) -> str:
    if value <= 0 or not math.isfinite(value):
        return f"{value:g}"
    digits = 2 - math.floor(math.log10(value))
    figure = float(rounded(value, whole))
    return f"{figure:.{max(digits, 0)}f}".rstrip("0").rstrip(".") if digits > 0 else f"{figure:.0f}"
