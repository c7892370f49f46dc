"""What each card promises each camera, as chances; the age at which it is best changed, and what that costs."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.retention import retention_h
from edgestore.models.speed.classes import speed_margin
from edgestore.plan.change_age import QUARTER_YEARS, change_table
from edgestore.plan.promise import AT_ONCE, CELLS, ROUNDING, FlashWrites, RateLaw, wear_life_years, working
from edgestore.plan.rates import card_flash
from edgestore.plan.site import Site
from edgestore.units import H_PER_DAY

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Chosen = npt.NDArray[np.intp]

LATEST_YEARS = 15.0
"""No latest age of change is told above, unless the horizon is longer: beyond ten years wear no longer decides."""

PARTS = ("slot", "speed", "retention", "maximum", "life")
"""The parts of the promise. The first two are known and have a chance of 0 or 1."""


@dataclass(frozen=True)
class Assured:
    """Every card in every camera; all arrays are of shape (cameras, cards).

    Attributes
    ----------
    chance : dict of ndarray
        Chance of each of ``PARTS`` by itself.
    kept : ndarray
        Chance that the whole promise is kept, all parts together.
    is_assured : ndarray of bool
        Whether that is as much as the site asks.
    latest_years : ndarray
        Latest age, in whole quarters, at which a card still works with the chance asked; 0 where no quarter does.
    change_years : ndarray
        Age of change of least expected cost among those from the life asked to the latest; the latest where no cost is
        counted, and where no change within the horizon is cheapest. NaN where a card is not assured.
    failures, planned : ndarray
        Expected failures and planned changes over the horizon with that age; NaN where not assured, or no cost.
    cost : ndarray
        Expected cost over the horizon, currency units; likewise.
    """

    chance: dict[str, Array]
    kept: Array
    is_assured: Flags
    latest_years: Array
    change_years: Array
    failures: Array
    planned: Array
    cost: Array


def assured(site: Site, rates: pd.DataFrame) -> Assured:
    """Tell what each card promises each camera, and when it is best changed.

    Parameters
    ----------
    site : Site
        The site.
    rates : DataFrame
        Rates of its cameras, of :func:`edgestore.plan.rates.camera_rates`.

    Returns
    -------
    Assured
        Chances, ages in years and costs.

    Notes
    -----
    A life asked is counted to the end of its quarter. A planned change is priced as a failure is: a card and a visit.
    """
    cards, costs = site.offered, site.costs
    law = RateLaw.of(rates)
    writes = FlashWrites.of(cards, rates, law.cells_mbit_s)
    wear = wear_life_years(card_flash(cards)[0], writes.nodes_tb_year)
    table = None if costs is None else change_table(costs.horizon_years)
    step = QUARTER_YEARS if table is None else table.step_years
    years = np.ceil(site.wanted["life_years"].to_numpy(float) / step - ROUNDING) * step
    asked = site.wanted["assurance"].to_numpy(float)[:, None]
    last = max(LATEST_YEARS, 0.0 if costs is None else costs.horizon_years)
    ages = np.union1d(step * np.arange(1, round(last / step) + 1), years)
    alive = working(wear, ages)
    fits, keeps_up = _slot(site), _speed(site, rates)
    highest, lowest = _rate_bounds(site, rates)
    up_to, below = law.chance_up_to(highest), np.where(lowest > 0, law.chance_up_to(lowest * (1 - 2 * ROUNDING)), 0.0)
    life, within, latest = (np.zeros(up_to.shape) for _ in range(3))
    means = np.zeros((len(writes.classes), len(rates), len(writes.nodes_tb_year)))
    for start in range(0, len(rates), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        weights = writes.weights(rows)
        means[:, rows] = weights.mean(axis=2)
        lasts = _at_ages(weights, writes.of_card, alive, np.searchsorted(ages, years[rows] - ROUNDING))
        life[rows] = lasts.mean(axis=1)
        within[rows] = (lasts * _overlap(below[rows], up_to[rows])).mean(axis=1)
        works = _over_nodes(means[:, rows], writes.of_card, alive) >= asked[rows, :, None]
        latest[rows] = np.where(works, ages, 0.0).max(axis=2)
    kept = within * fits * keeps_up
    is_assured = kept >= asked
    chance = {
        "slot": fits.astype(float),
        "speed": keeps_up.astype(float),
        "retention": up_to,
        "maximum": 1 - below,
        "life": life,
    }
    if table is None or costs is None:
        nothing = np.full(kept.shape, np.nan)
        return Assured(chance, kept, is_assured, latest, np.where(is_assured, latest, np.nan), *[nothing] * 3)
    price = cards["price"].to_numpy(float) * (1 + costs.spare_fraction)
    visit = np.where(site.cameras["lift"].to_numpy(bool), costs.visit_with_lift_price, costs.visit_price)
    best = np.full((4, *kept.shape), np.nan)
    tables = table.expected(wear)
    for start in range(0, len(rates), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        failures, planned = (_over_nodes(means[:, rows], writes.of_card, values) for values in tables)
        changes = failures + planned
        cost = price[:, None] * (1 + changes) + visit[rows, None, None] * (changes + costs.first_fitting_is_a_visit)
        due = np.where(np.isfinite(table.ages_years), table.ages_years, costs.horizon_years)
        may = (due >= years[rows, None, None] - ROUNDING) & (due <= latest[rows, :, None] + ROUNDING)
        may[..., -1] |= years[rows, None] >= costs.horizon_years
        cost = np.where(may & is_assured[rows, :, None], cost, np.inf)
        at = cost.argmin(axis=2)[..., None]
        age = np.minimum(table.ages_years[at[..., 0]], latest[rows])
        found = [age, *(np.take_along_axis(values, at, axis=2)[..., 0] for values in (failures, planned, cost))]
        best[:, rows] = np.where(is_assured[rows], found, np.nan)
    return Assured(chance, kept, is_assured, latest, *best)


def _slot(site: Site) -> Flags:
    """Whether each card is no larger than each slot takes."""
    most = site.cameras["max_card_gb"].fillna(np.inf).to_numpy(float)[:, None]
    return np.asarray(site.offered["capacity_gb"].to_numpy(float) <= most)


def _speed(site: Site, rates: pd.DataFrame) -> Flags:
    """Whether each card keeps up with each camera by the margin asked."""
    margin = speed_margin(site.promised_mbyte_s, rates["margin_over_mbit_s"].to_numpy(float)[:, None])
    return np.asarray(margin >= site.wanted["speed_margin"].to_numpy(float)[:, None])


def _rate_bounds(site: Site, rates: pd.DataFrame) -> tuple[Array, Array]:
    """Highest mean rate at which each card holds the days asked, and lowest at which it holds no more than allowed."""
    cards = site.offered
    recorded = rates["recorded_fraction"].to_numpy(float)[:, None]
    days = retention_h(cards["capacity_gb"].to_numpy(float), 1.0, recorded, cards["usable_fraction"].to_numpy(float))
    days = days / H_PER_DAY  # at 1 Mbit/s, and the less the higher the rate
    most = site.wanted["retention_days_max"].fillna(np.inf).to_numpy(float)
    most = np.where(site.cameras["deletes_by_age"].to_numpy(bool), np.inf, most)
    return days / site.wanted["retention_days"].to_numpy(float)[:, None], days / most[:, None]


def _overlap(below: Array, up_to: Array) -> Array:
    """Part of each cell of the rate that lies within the bounds; shape (cameras, CELLS, cards)."""
    cell = np.arange(CELLS)[:, None]
    ends = (np.clip(end[:, None, :] * CELLS - cell, 0.0, 1.0) for end in (up_to, below))
    return np.maximum(np.subtract(*ends), 0.0)


def _at_ages(weights: Array, of_card: Chosen, alive: Array, at: Chosen) -> Array:
    """Chance that each card works at an age of each camera, by cell of the rate; shape (cameras, CELLS, cards)."""
    chance = np.empty((*weights.shape[1:3], len(of_card)))
    for age in np.unique(at):
        rows = np.flatnonzero(at == age)
        for number in np.unique(of_card):
            cards = np.flatnonzero(of_card == number)
            chance[np.ix_(rows, np.arange(CELLS), cards)] = weights[number, rows] @ alive[cards, :, age].T
    return chance


def _over_nodes(means: Array, of_card: Chosen, values: Array) -> Array:
    """Mean of values of shape (cards, nodes, ages) over what each camera's flash may take; (cameras, cards, ages)."""
    cards, nodes, ages = values.shape
    mean = np.empty((means.shape[1], cards, ages))
    for number in np.unique(of_card):
        alike = np.flatnonzero(of_card == number)
        columns = values[alike].transpose(1, 0, 2).reshape(nodes, -1)
        mean[:, alike] = (means[number] @ columns).reshape(-1, len(alike), ages)
    return mean
