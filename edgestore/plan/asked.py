"""What to ask of the card in each camera, without make or model, so that any card that has it keeps what is asked."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.retention import capacity_gb_for_retention, retention_h
from edgestore.plan.assured import years_asked
from edgestore.plan.flash_writes import STEP, FlashWrites, laws_of
from edgestore.plan.promise import (
    AT_ONCE,
    CELLS,
    LONGEST_YEARS,
    RateLaw,
    overlap,
    wear_life_years,
)
from edgestore.plan.rates import card_endurance_tbw
from edgestore.plan.site import Site
from edgestore.units import H_PER_DAY

Array = npt.NDArray[np.float64]
Chosen = npt.NDArray[np.intp]

DIGITS, FINE_DIGITS = 3, 4
"""Digits of a figure to ask for, and of one that must not be above what the chosen card has."""

LEAST_CHANCE = 1e-12
"""Chance below which a rate stands that is as good as never met."""


def asked_of_cards(site: Site, chosen: Chosen | None = None) -> pd.DataFrame:
    """What to ask of the card in each camera so that it is assured, without make or model.

    Parameters
    ----------
    site : Site
        The site.
    chosen : ndarray of int, shape (cameras,), optional
        Number of the card that the plan chose for each camera, -1 for none; none has one when left out.

    Returns
    -------
    DataFrame
        A row a camera: ``needed_gb``, the capacity as printed; ``usable_gb``, what formatting must leave of it;
        ``most_usable_gb``, no more than which it may, by policy (infinite for no limit); ``endurance_tbw``, TB written
        by the camera, as makers state it; and ``chance``, with which any card that has these keeps all that is asked.
        NaN where no card could be assured.

    Notes
    -----
    Of a camera with a card by the plan its capacity is asked for, and the least endurance that has the chance asked
    with it, but no more than that card has; where policy sets a limit, half of the chance that the card has to spare
    goes into a larger capacity. Where the card has its chance by its records, or by what its flash may write, other
    cards may have less with these figures: ``chance`` tells it.

    Where the plan chose none: of cards that never wear a part r still works after the life asked. What is left of the
    chance, 1 - assurance / r, may be lost: half of it to a mean rate that is too high for the capacity, where policy
    sets a limit a quarter to one that is too low, the rest to wear. Of the cards of the site only the least fraction
    that formatting leaves counts.
    """
    of_stated = [np.ones(1), np.ones(1)]
    law, writes = laws_of(site.rates, of_stated, site.settings.beliefs)
    figures, most_tbw = _by_halves(site, law), np.full(len(site.cameras), np.nan)
    if chosen is not None and (has_card := chosen >= 0).any():
        of_plan, endurance_tbw = _as_chosen(site, law, writes, np.maximum(chosen, 0))
        figures = of_plan.where(pd.Series(has_card, of_plan.index), figures)
        most_tbw = np.where(has_card, endurance_tbw, np.nan)
    joint = _writes_within(law, writes, site, figures)
    least_tbw = rounded(_least_endurance_tbw(site, writes, joint), np.ceil)
    of_card = ~np.isnan(most_tbw) & ~(least_tbw <= most_tbw)
    least_tbw = np.where(of_card, rounded(most_tbw, np.floor, FINE_DIGITS), least_tbw)
    return figures.assign(endurance_tbw=least_tbw, chance=_chance(site, writes, joint, least_tbw))


def chance_with(site: Site, asked: pd.DataFrame) -> Array:
    """Chance that cards of which nothing else is known keep all that is asked of each camera.

    Parameters
    ----------
    site : Site
        The site.
    asked : DataFrame
        A row a camera: ``usable_gb``, ``most_usable_gb`` and ``endurance_tbw`` of its card, as of
        :func:`asked_of_cards`.

    Returns
    -------
    ndarray, shape (cameras,)
        Chances; NaN where an endurance is missing.
    """
    law, writes = laws_of(site.rates, [np.ones(1), np.ones(1)], site.settings.beliefs)
    return _chance(site, writes, _writes_within(law, writes, site, asked), asked["endurance_tbw"].to_numpy(float))


def rounded(value: float | Array, whole: Callable[..., Array], digits: int = DIGITS) -> Array:
    """Round figures above 0 to so many significant digits, down or up as ``whole`` does."""
    unit = 10.0 ** (digits - 1 - np.floor(np.log10(value)))
    return np.asarray(whole(np.round(value * unit, 6)) / unit)  # what is rounded already stays


def _years(site: Site) -> Array:
    return years_asked(site.costs, site.wanted["life_years"].to_numpy(float))


def _by_halves(site: Site, law: RateLaw) -> pd.DataFrame:
    """Capacities for half of the loss that the assurance allows; NaN where no card could be assured."""
    recorded, usable = site.rates["recorded_fraction"].to_numpy(float), float(site.offered["usable_fraction"].min())
    asked = site.wanted["assurance"].to_numpy(float)
    unworn = site.any_kind.survival(np.array([[LONGEST_YEARS]]), _years(site))[0, 0]
    can = asked < unworn
    room = np.where(can, 1 - asked / unworn, 0.5)  # what may be lost to retention, policy and wear
    highest = law.rate_mbit_s(1 - room[:, None] / 2)[:, 0]
    hours = site.days_to_hold * H_PER_DAY
    needed = capacity_gb_for_retention(hours, highest, recorded_fraction=recorded, usable_fraction=usable)
    columns = {"needed_gb": needed, "usable_gb": usable * needed, "most_usable_gb": _allowed_gb(site, law, room / 4)}
    return pd.DataFrame({name: np.where(can, values, np.nan) for name, values in columns.items()}, site.rates.index)


def _as_chosen(site: Site, law: RateLaw, writes: FlashWrites, card: Chosen) -> tuple[pd.DataFrame, Array]:
    """Capacities of cards by their numbers, one a camera, and their endurance as it is told, TB."""
    cards, rates = site.offered.iloc[card], site.rates
    capacity = cards["capacity_gb"].to_numpy(float)
    usable = capacity * cards["usable_fraction"].to_numpy(float)
    by_rate = (rates[name].to_numpy(float) for name in ("planned_mbit_s", "update_interval_s"))
    endurance, _ = card_endurance_tbw(cards, *by_rate)
    columns = {"needed_gb": capacity, "usable_gb": rounded(usable, np.floor, FINE_DIGITS), "most_usable_gb": usable}
    figures = pd.DataFrame(columns, rates.index)
    kept = _chance(site, writes, _writes_within(law, writes, site, figures), endurance)
    spare = np.maximum(kept - site.wanted["assurance"].to_numpy(float), 0.0)
    below = law.chance_below(_rate_mbit_s(site, usable, site.most_days_to_hold))[:, 0]
    most = np.maximum(_allowed_gb(site, law, below + spare / 2), rounded(usable, np.ceil, FINE_DIGITS))
    return figures.assign(most_usable_gb=most), endurance


def _allowed_gb(site: Site, law: RateLaw, below: Array) -> Array:
    """Most that a card may hold, GB, so that it holds too much with such chances; infinite for no limit of policy."""
    is_limited = np.isfinite(site.most_days_to_hold)
    rate = law.rate_mbit_s(np.where(is_limited, np.maximum(below, LEAST_CHANCE), 0.5)[:, None])[:, 0]
    hours = np.where(is_limited, site.most_days_to_hold, 1.0) * H_PER_DAY
    recorded = site.rates["recorded_fraction"].to_numpy(float)
    return np.where(is_limited, capacity_gb_for_retention(hours, rate, recorded_fraction=recorded), np.inf)


def _rate_mbit_s(site: Site, usable_gb: Array, days: Array) -> Array:
    """Mean rate at which so many GB are written in so many days by each camera, shape (cameras, 1)."""
    recorded = site.rates["recorded_fraction"].to_numpy(float)
    return np.asarray(usable_gb * retention_h(1.0, 1.0, recorded) / H_PER_DAY / days)[:, None]


def _writes_within(law: RateLaw, writes: FlashWrites, site: Site, figures: pd.DataFrame) -> Array:
    """Chance of each node of the flash writes, together with a mean that cards of such capacities are right for."""
    least, most = (figures[name].fillna(1.0).to_numpy(float) for name in ("usable_gb", "most_usable_gb"))
    up_to = law.chance_up_to(_rate_mbit_s(site, least, site.days_to_hold))
    largest = np.where(np.isfinite(most), most, 1.0)
    below = law.chance_below(_rate_mbit_s(site, largest, site.most_days_to_hold))
    parts = overlap(below, up_to)[..., 0]
    joint = np.empty((len(parts), len(writes.nodes_tb_year)))
    for start in range(0, len(parts), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        joint[rows] = np.einsum("cqg,cq->cg", writes.weights(rows)[0], parts[rows]) / CELLS
    return joint


def _least_endurance_tbw(site: Site, writes: FlashWrites, joint: Array) -> Array:
    """The least endurance that has the chance asked, TB written by the camera; NaN where none has."""
    years, asked = _years(site), site.wanted["assurance"].to_numpy(float)[:, None]
    least, most = years.min() / 4 * writes.nodes_tb_year[0], years.max() * 40 * writes.nodes_tb_year[-1]
    step = STEP / 4  # a hundredth more endurance: no chance told moves
    tried_tbw = np.exp(step * np.arange(np.floor(np.log(least) / step), np.ceil(np.log(most) / step)))
    wear = wear_life_years(tried_tbw, writes.nodes_tb_year)
    endurance = np.full(len(joint), np.nan)
    for age in np.unique(years):
        works = site.any_kind.survival(wear, np.array([age]))[..., 0].T
        every = np.flatnonzero(years == age)
        for at in np.split(every, np.arange(AT_ONCE, len(every), AT_ONCE)):
            enough = joint[at] @ works >= asked[at]
            endurance[at] = np.where(enough.any(axis=1), tried_tbw[enough.argmax(axis=1)], np.nan)
    return endurance


def _chance(site: Site, writes: FlashWrites, joint: Array, endurance_tbw: Array) -> Array:
    """Chance that cards of an endurance each, of which nothing else is known, keep all that is asked."""
    years, kept = _years(site), np.full(len(joint), np.nan)
    for age in np.unique(years):
        at = np.flatnonzero((years == age) & ~np.isnan(endurance_tbw))
        wear = wear_life_years(endurance_tbw[at], writes.nodes_tb_year)
        kept[at] = (joint[at] * site.any_kind.survival(wear, np.array([age]))[..., 0]).sum(axis=1)
    return kept
