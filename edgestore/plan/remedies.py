"""What a doubtful camera could be asked less of, what measuring it would tell, and what each remedy costs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.efforts import effort_price
from edgestore.inputs.outages import OutageSettings
from edgestore.inputs.settings import LEAST_ASSURANCE
from edgestore.plan.assured import promises
from edgestore.plan.change_age import QUARTER_YEARS
from edgestore.plan.least_cost import changes
from edgestore.plan.promise import OF_WRITTEN, RateLaw
from edgestore.plan.site import Site
from edgestore.text import chance, counted, money
from edgestore.units import PERCENT_PER_ONE

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

LIVES = 8
"""Shorter lives that are tried, evenly between none and the one asked, in whole quarters of a year, and outages."""

LEAST_LIFE_YEARS = 1.0
"""No shorter life is advised: nobody buys a card to change it within a year (our choice)."""

MEANS = (np.arange(10) + 0.5) / 10
"""Places in the law of the mean rate, each as likely as the others, at which it is taken as known."""

LEAST_WORTH = 0.1
"""Measuring is advised where a card of the list would then be assured in so many cases (our choice)."""


@dataclass(frozen=True)
class Remedy:
    """Something that helps some cameras, free by itself.

    Attributes
    ----------
    rates : DataFrame
        Rates of all cameras with the remedy.
    wanted : mapping of str to ndarray
        What is then asked of each otherwise.
    is_found : ndarray of bool, shape (cameras,)
        The cameras that it helps.
    by_age : bool
        Whether the cameras then delete footage by age.
    covered_h : ndarray, shape (cameras,), or None
        The outage that the card of each must then cover, h; as the settings say when left out.
    locked_fraction : ndarray, shape (cameras,), or None
        Part of the usable space that locked clips then hold; as the camera list says when left out.
    """

    rates: pd.DataFrame
    wanted: Mapping[str, Array]
    is_found: Flags
    by_age: bool = False
    covered_h: Array | None = None
    locked_fraction: Array | None = None


class OnCard(NamedTuple):
    """The card of a remedy with its cost, in words, and that cost; infinite where none is counted."""

    words: str = ""
    cost: float = np.inf


def on_cards(site: Site, remedies: Sequence[Remedy]) -> list[list[OnCard]]:
    """The card that each camera gets with each remedy, and what it costs.

    Parameters
    ----------
    site : Site
        The cameras.
    remedies : sequence of Remedy
        What is tried.

    Returns
    -------
    list of list of OnCard
        For each remedy and camera the card of least expected cost of those that are then assured, and that cost over
        the horizon; where no cost is counted the smallest card. Its words are empty where the remedy does not help.
    """
    given = [[OnCard()] * len(site.cameras) for _ in remedies]
    helped = [(number, row) for number, one in enumerate(remedies) for row in np.flatnonzero(one.is_found).tolist()]
    if not helped:
        return given
    rows = [np.flatnonzero(one.is_found) for one in remedies]
    costs, some = site.costs, site.of_cameras(np.concatenate(rows))
    wanted = [
        site.wanted.assign(**one.wanted).iloc[found] for one, found in zip(remedies, rows, strict=True)
    ]  # all remedies in one go
    by_age = np.repeat([one.by_age for one in remedies], [len(found) for found in rows])
    deletes = some.cameras["deletes_by_age"].to_numpy(bool) | by_age
    now = site.cameras["locked_fraction"].to_numpy(float)
    shares = [now if one.locked_fraction is None else one.locked_fraction for one in remedies]
    locked = np.concatenate([share[found] for share, found in zip(shares, rows, strict=True)])
    cameras = some.cameras.assign(deletes_by_age=deletes, locked_fraction=locked)
    vars(some).update(wanted=pd.concat(wanted, ignore_index=True), cameras=cameras)
    covered = [one.covered_h for one in remedies]
    if any(hours is not None for hours in covered):
        told = [(site.covered_h if hours is None else hours)[at] for hours, at in zip(covered, rows, strict=True)]
        vars(some)["outages"] = _covering(some, np.concatenate(told))
    rates = pd.concat([one.rates.iloc[found] for one, found in zip(remedies, rows, strict=True)], ignore_index=True)
    made = promises(some, rates)
    names, within = site.offered["card"].to_list(), "" if costs is None else counted(costs.horizon_years, "year")
    burden = np.broadcast_to(site.offered["capacity_gb"].to_numpy(float), made.kept.shape)
    if costs is not None:
        burden = changes(some, made).cost
    burden = np.where(made.is_assured, burden, np.inf)
    for (number, row), card, least in zip(helped, burden.argmin(axis=1), burden.min(axis=1), strict=True):
        if np.isfinite(least):
            amount = f"{least:g} GB" if costs is None else _with_cost(least, costs.currency, within)
            given[number][row] = OnCard(f"{names[card]} ({amount})", np.inf if costs is None else float(least))
    return given


def _with_cost(amount: float, currency: str, within: str) -> str:
    return f"no cost of its own; card and visits {money(amount, currency)} in {within}"


def shorter_life(site: Site) -> Array:
    """The longest life of a year or more, below the one asked, with which a card is assured, years; 0 for none."""
    asked, count = site.wanted["life_years"].to_numpy(float), len(site.cameras)
    parts = np.arange(LIVES - 1, 0, -1) / LIVES
    years = np.floor(asked[:, None] * parts / QUARTER_YEARS) * QUARTER_YEARS
    stacked = site.of_cameras(np.repeat(np.arange(count), len(parts)))
    vars(stacked)["wanted"] = stacked.wanted.assign(life_years=np.maximum(years, LEAST_LIFE_YEARS).ravel())
    works = promises(stacked, stacked.rates).is_assured.any(axis=1).reshape(years.shape) & (years >= LEAST_LIFE_YEARS)
    return np.where(works.any(axis=1), years[np.arange(count), works.argmax(axis=1)], 0.0)


def shorter_outage(site: Site) -> Array:
    """The longest outage, whole hours below the one to be covered, with which a card is assured; 0 for none."""
    asked, count = site.covered_h, len(site.cameras)
    if not asked.any():
        return np.zeros(count)
    hours = np.floor(asked[:, None] * np.arange(LIVES - 1, 0, -1) / LIVES)
    stacked = site.of_cameras(np.repeat(np.arange(count), LIVES - 1))
    vars(stacked)["outages"] = _covering(stacked, hours.ravel())
    works = promises(stacked, stacked.rates).is_assured.any(axis=1).reshape(hours.shape) & (hours > 0)
    return np.where(works.any(axis=1), hours[np.arange(count), works.argmax(axis=1)], 0.0)


def fewer_locked(site: Site) -> Array:
    """The largest whole percent below the part now locked with which a card is assured, as a part; NaN for none.

    Found by halving, since a card promises no less the fewer clips are locked: they count neither in a maximum nor in
    what is written.
    """
    now = PERCENT_PER_ONE * site.cameras["locked_fraction"].to_numpy(float)
    fails, works = np.ceil(np.round(now, 6)), np.full(len(now), -1.0)  # no clip locked, which is 0, may not do either
    while (is_open := fails - works > 1).any():
        tried = np.floor((fails + works) / 2)
        some = site.of_cameras(rows := np.flatnonzero(is_open))
        vars(some)["cameras"] = some.cameras.assign(locked_fraction=tried[rows] / PERCENT_PER_ONE)
        is_assured = np.zeros(len(now), dtype=bool)
        is_assured[rows] = promises(some, some.rates).is_assured.any(axis=1)
        works, fails = np.where(is_assured, tried, works), np.where(is_open & ~is_assured, tried, fails)
    return np.where(works >= 0, works / PERCENT_PER_ONE, np.nan)


def _covering(site: Site, hours: Array) -> list[OutageSettings | None]:
    """The recorder of each camera, with an outage of so many hours to be covered."""
    pairs = zip(site.outages, hours.tolist(), strict=True)
    return [replace(outage, covered_h=covered) if outage else None for outage, covered in pairs]


def less_assurance(site: Site) -> Array:
    """The whole percent of assurance that the best card of each camera has, as a chance; 0 below what may be asked."""
    best = np.floor(PERCENT_PER_ONE * promises(site, site.rates).kept.max(axis=1) + 1e-9) / PERCENT_PER_ONE
    return np.where(best >= LEAST_ASSURANCE, best, 0.0)


def measuring(site: Site) -> list[str]:
    """How likely a card of each camera is assured once its mean rate is known, in words; empty where it hardly is."""
    rates, count = site.rates, len(site.cameras)
    law = RateLaw.of(*rates[OF_WRITTEN].to_numpy(float).T).mean
    stacked = site.of_cameras(np.repeat(np.arange(count), len(MEANS)))
    known = law.rate_mbit_s(MEANS[None, :]).ravel()
    told = dict.fromkeys(("low_mbit_s", "median_mbit_s", "planned_mbit_s", "likely_high_mbit_s"), known)
    made = promises(stacked, stacked.rates.assign(**told))
    best = made.kept.max(axis=1).reshape(count, -1).mean(axis=1)
    share = made.is_assured.any(axis=1).reshape(count, -1).mean(axis=1)
    is_open = (rates["mean_basis"] != "measured").to_numpy() & (law.sigma > 0)
    return [
        f"with the mean known, a card of the list is assured in"
        f" {round(10 * cases)} of 10 cases, and the best card keeps all with a chance of {chance(mean)} on average"
        if unknown and cases >= LEAST_WORTH
        else ""
        for unknown, cases, mean in zip(is_open, share, best, strict=True)
    ]


def week_of_footage(site: Site) -> str:
    """How a mean rate is measured, with the effort where costs are counted."""
    if site.costs is None:
        return "a week of footage"
    price = effort_price("footage_week_price", site.settings.efforts, site.costs.visit_price)
    return f"a week of footage: an effort of {money(price, site.costs.currency)}"
