"""What each card promises each camera, as chances, and until which age."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.settings import Costs
from edgestore.models.retention import retention_h
from edgestore.models.speed.classes import speed_margin
from edgestore.plan.card_life import CardKind
from edgestore.plan.change_age import QUARTER_YEARS, age_step_years
from edgestore.plan.flash_writes import FlashWrites, by_class, laws_of, over_nodes, working
from edgestore.plan.promise import (
    AT_ONCE,
    CELLS,
    OF_WRITTEN,
    ROUNDING,
    RateLaw,
    overlap,
    wear_life_years,
)
from edgestore.plan.rates import card_flash
from edgestore.plan.site import Site
from edgestore.units import H_PER_DAY

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Chosen = npt.NDArray[np.intp]

LATEST_YEARS = 15.0
"""No latest age of change is told above, unless the horizon is longer: beyond ten years wear no longer decides."""

NINE_IN_TEN = 0.9
"""The life of a card is told as the age that so many reach."""

PARTS = ("slot", "speed", "retention", "maximum", "life", "outage")
"""The parts of the promise, the last where it is asked. The first two are known and have a chance of 0 or 1."""


@dataclass(frozen=True)
class Promises:
    """What each card promises each camera, as chances; arrays are of shape (cameras, cards) where nothing else is said.

    Attributes
    ----------
    chance : dict of ndarray
        Chance of each of ``PARTS`` by itself.
    kept : ndarray
        Chance that all parts are kept together.
    is_assured : ndarray of bool
        Whether that is as much as is asked.
    years : ndarray, shape (cameras,)
        Life asked, to the end of a quarter of a year.
    asked : ndarray, shape (cameras, 1)
        Chance asked.
    writes : FlashWrites
        What the flash of each class of card may take in a year under each camera.
    wear_life_years : ndarray, shape (cards, nodes)
        Years until the stated endurance of each card is written by these.
    kinds : tuple of CardKind
        What is known of the life of each card.
    ages_years : ndarray, shape (ages,)
        Ages of change that are tried, in whole quarters.
    """

    chance: dict[str, Array]
    kept: Array
    is_assured: Flags
    years: Array
    asked: Array
    writes: FlashWrites
    wear_life_years: Array
    kinds: tuple[CardKind, ...]
    ages_years: Array

    @property
    def holds(self) -> Array:
        """Chance that each card holds as long as is asked, for the retention and for an outage: both bound the rate."""
        return np.minimum(self.chance["retention"], self.chance.get("outage", 1.0))

    @property
    def _alive(self) -> Array:
        """Chance that each card works at each of the ages, by what its flash takes; shape (cards, nodes, ages)."""
        return working(self.writes, self.writes.of_card, self.wear_life_years, self.ages_years, self.kinds)

    @cached_property
    def latest_years(self) -> Array:
        """Latest age at which a card still works with the chance asked; 0 where none does."""
        return self._reached(self.asked)

    @cached_property
    def nine_in_ten_years(self) -> Array:
        """Age that nine in ten such cards reach in each camera, counting all that is not known; 0 where none does."""
        return self.latest_years if (self.asked == NINE_IN_TEN).all() else self._reached(NINE_IN_TEN + 0 * self.asked)

    def _reached(self, chances: Array) -> Array:
        """Latest age at which each card still works with a chance of its camera's, of shape (cameras, 1)."""
        latest = np.zeros(self.kept.shape)
        alive = by_class(self.writes, self._alive)
        for start in range(0, len(latest), AT_ONCE):
            rows = slice(start, start + AT_ONCE)
            works = over_nodes(self.writes, rows, alive)
            latest[rows] = latest_ages(works, self.ages_years, chances[rows])
        return latest

    def works_by_age(self) -> Array:
        """Chance that each card works at each of the ages, whatever is asked; shape (cameras, cards, ages)."""
        return over_nodes(self.writes, slice(None), by_class(self.writes, self._alive))


def promises(site: Site, rates: pd.DataFrame) -> Promises:
    """Tell how likely each card keeps what each camera asks of it.

    Parameters
    ----------
    site : Site
        The site.
    rates : DataFrame
        Rates of its cameras, of :func:`edgestore.plan.rates.camera_rates`.

    Returns
    -------
    Promises
        Chances, and ages in years.

    Notes
    -----
    A life asked is counted to the end of its quarter of a year; with a horizon above 15 years, of two or more quarters.
    """
    flash_tbw, *amplification = site.flash
    law, writes = laws_of(rates, amplification, site.settings.beliefs)
    step, last = _steps_years(site.costs)
    years = years_asked(site.costs, site.wanted["life_years"].to_numpy(float))
    asked = site.wanted["assurance"].to_numpy(float)[:, None]
    wear, asked_years = wear_life_years(flash_tbw, writes.nodes_tb_year), np.unique(years)
    kinds = site.kinds_of(site.offered["card"])
    alive = working(writes, writes.of_card, wear, asked_years, kinds)
    up_to, below, fits, keeps_up = _but_life(site, rates, law)
    life, within = (np.zeros(up_to.shape) for _ in range(2))
    for start in range(0, len(rates), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        lasts = _at_ages(writes, rows, alive, np.searchsorted(asked_years, years[rows]))
        life[rows] = lasts.mean(axis=1)
        within[rows] = (lasts * overlap(below[rows], up_to[rows])).mean(axis=1)
    known = {"slot": fits.astype(float), "speed": keeps_up.astype(float)}
    chance = {**known, "retention": up_to, "maximum": 1 - below, "life": life}
    if site.days_to_cover.any():
        chance |= {
            "retention": _chance_to_hold(site, rates, law, site.retention_days_to_hold),
            "outage": _chance_to_hold(site, rates, law, site.days_to_cover),
        }
    kept = within * fits * keeps_up
    ages = np.union1d(step * np.arange(1, round(last / step) + 1), asked_years)
    return Promises(chance, kept, kept >= asked - ROUNDING, years, asked, writes, wear, kinds, ages)


def may_be_assured(site: Site, rates: pd.DataFrame) -> Flags:
    """Whether a card could be assured in each camera if none ever failed: quickly told, before :func:`promises`.

    Parameters
    ----------
    site, rates
        As for :func:`promises`.

    Returns
    -------
    ndarray of bool, shape (cameras,)
        False where no card of the site is assured.
    """
    law = RateLaw.of(*rates[OF_WRITTEN].to_numpy(float).T)
    up_to, below, fits, keeps_up = _but_life(site, rates, law)
    asked = site.wanted["assurance"].to_numpy(float)[:, None]
    return np.asarray((fits & keeps_up & (up_to - below >= asked - 2 * ROUNDING)).any(axis=1))


def _but_life(site: Site, rates: pd.DataFrame, law: RateLaw) -> tuple[Array, Array, Flags, Flags]:
    """Chances that each card holds as long as is asked, and too long; whether the slot takes it, and it keeps up."""
    cards = site.offered
    days_at_1 = _days_at_1_mbit_s(cards, rates["recorded_fraction"].to_numpy(float)[:, None])
    up_to = _chance_to_hold(site, rates, law, site.days_to_hold)
    below = law.chance_below(days_at_1 / site.most_days_to_hold[:, None])
    fits = cards["capacity_gb"].to_numpy(float) <= site.cameras["max_card_gb"].fillna(np.inf).to_numpy(float)[:, None]
    margin = speed_margin(site.promised_mbyte_s, rates["margin_over_mbit_s"].to_numpy(float)[:, None])
    return up_to, below, fits, margin >= site.wanted["speed_margin"].to_numpy(float)[:, None]


def _chance_to_hold(site: Site, rates: pd.DataFrame, law: RateLaw, days: Array) -> Array:
    """Chance that each card holds so many days of mean writes of each camera; 1 where none are asked."""
    days_at_1 = _days_at_1_mbit_s(site.offered, rates["recorded_fraction"].to_numpy(float)[:, None])
    up_to = law.chance_up_to(days_at_1 / np.where(days > 0, days, 1.0)[:, None])
    return np.where(days[:, None] > 0, up_to, 1.0)


def latest_ages(works: Array, ages_years: Array, asked: Array) -> Array:
    """Latest of the ages at which cards work with chances asked of shape (cameras, 1); 0 where none does."""
    is_enough = works >= asked[..., None] - ROUNDING
    return np.asarray(np.where(is_enough, ages_years, 0.0).max(axis=2))


def chance_in_pairs(
    site: Site, rates: pd.DataFrame, cards: pd.DataFrame, known: Sequence[CardKind] | None = None
) -> Array:
    """Chance that a card of its own in each camera keeps retention, maximum and life together.

    Parameters
    ----------
    site, rates
        As for :func:`promises`.
    cards : DataFrame
        A row of a card list for each camera, in the same order.
    known : sequence of CardKind, optional
        What is taken for known of the life of each of them, in place of what the site knows.

    Returns
    -------
    ndarray, shape (cameras,)
        Chances, 0 to 1. Slot and speed are not among them.
    """
    flash, *ends = card_flash(cards)
    law, writes = laws_of(rates, ends, site.settings.beliefs)
    years = years_asked(site.costs, site.wanted["life_years"].to_numpy(float))
    days_at_1 = _days_at_1_mbit_s(cards, rates["recorded_fraction"].to_numpy(float))[:, None]
    highest, lowest = (
        days_at_1 / site.days_to_hold[:, None],
        days_at_1 / site.most_days_to_hold[:, None],
    )
    parts = overlap(law.chance_below(lowest), law.chance_up_to(highest))[..., 0]
    kept, all_kinds = np.zeros(len(rates)), known or site.kinds_of(cards["card"])
    for start in range(0, len(rates), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        wear, kinds = wear_life_years(flash[rows], writes.nodes_tb_year), all_kinds[rows]
        alive = np.empty_like(wear)
        for age in np.unique(years[rows]):
            at = np.flatnonzero(years[rows] == age)
            of_kind = [kinds[int(row)] for row in at]
            alive[at] = working(writes, writes.of_card[rows][at], wear[at], np.array([age]), of_kind)[..., 0]
        kept[rows] = (writes.mean_in_pairs(rows, alive) * parts[rows]).mean(axis=1)
    return kept


def years_asked(costs: Costs | None, life_years: Array) -> Array:
    """Lives asked, years, to the end of the step between ages that are tried."""
    step, _ = _steps_years(costs)
    return np.asarray(np.ceil(life_years / step - ROUNDING) * step)


def _steps_years(costs: Costs | None) -> tuple[float, float]:
    """Time between two ages that are tried, and the last of them."""
    if costs is None:
        return QUARTER_YEARS, LATEST_YEARS
    horizon = costs.horizon_years
    return age_step_years(horizon), max(LATEST_YEARS, horizon)


def _days_at_1_mbit_s(cards: pd.DataFrame, recorded: Array) -> Array:
    """Days that cards hold at a mean of 1 Mbit/s, recorded so much of the time; so many times less at a higher rate."""
    capacity, usable = cards["capacity_gb"].to_numpy(float), cards["usable_fraction"].to_numpy(float)
    return np.asarray(retention_h(capacity, 1.0, recorded, usable)) / H_PER_DAY


def _at_ages(writes: FlashWrites, rows: slice, alive: Array, at: Chosen) -> Array:
    """Chance that each card works at an age of each of some cameras, by cell of the rate; (cameras, CELLS, cards)."""
    chance = np.empty((len(at), CELLS, len(writes.of_card)))
    cameras = np.arange(len(writes.first[0]))[rows]
    for age in np.unique(at):
        some = np.flatnonzero(at == age)
        for number in range(len(writes.classes)):
            cards = np.flatnonzero(writes.of_card == number)
            works = writes.by_cell(number, cameras[some]) @ alive[cards, :, age].T
            chance[np.ix_(some, np.arange(CELLS), cards)] = works.reshape(len(some), CELLS, -1)
    return chance
