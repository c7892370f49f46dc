"""Every card tried in every camera: what it gives there, what that costs, and which requirements it meets."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.retention import retention_h
from edgestore.models.speed.classes import speed_margin
from edgestore.models.wear.amplification import bitrate_mbit_s_for_wear
from edgestore.models.wear.endurance import life_years, writes_tb_year, writes_tb_year_for_life
from edgestore.plan.cost import cards_over_horizon, cost_over_horizon, visits_over_horizon
from edgestore.plan.rates import card_endurance_tbw, is_amplification_unknown
from edgestore.plan.requirements import WANTED
from edgestore.plan.site import Site
from edgestore.units import H_PER_DAY

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Tried:
    """Every card in every camera; all arrays are of shape (cameras, cards).

    Attributes
    ----------
    given : dict of ndarray
        What each card gives each camera: days, years, a plain ratio; with costs also cards, visits and currency units.
    meets : dict of ndarray of bool
        Whether that meets each requirement.
    life_fraction : ndarray
        Times the planned mean rate at which each card's life would just be as wanted.
    burden : ndarray
        What the choice makes small: the cost over the horizon where it is counted, else the capacity in GB.
    """

    given: dict[str, Array]
    meets: dict[str, Flags]
    life_fraction: Array
    burden: Array

    @cached_property
    def served(self) -> Flags:
        """Whether each card meets all requirements in each camera."""
        served: Flags = np.logical_and.reduce(list(self.meets.values()))
        return served

    def of(self, rows: npt.NDArray[np.intp]) -> "Tried":
        """Give the same of some cameras, by their numbers."""
        given = {name: values[rows] for name, values in self.given.items()}
        meets = {name: flags[rows] for name, flags in self.meets.items()}
        return Tried(given, meets, self.life_fraction[rows], self.burden[rows])


def tried(site: Site, rates: pd.DataFrame) -> Tried:
    """Try every card in every camera.

    Parameters
    ----------
    site : Site
        The site.
    rates : DataFrame
        Rates of its cameras: those of the site, or of :func:`edgestore.plan.cap_comparison.rates_at_cap`.

    Returns
    -------
    Tried
        What each card gives each camera, which requirements that meets, and what the choice makes small.
    """
    cameras, cards, costs = site.cameras, site.offered, site.costs
    given = _given(site, rates)
    by_age = cameras["deletes_by_age"].to_numpy(bool)[:, None]
    days, years, margin, most = (site.wanted[name].to_numpy(float)[:, None] for name in WANTED[:4])
    most = np.where(np.isnan(most), np.inf, most)
    life_fraction = _life_fraction(cards, rates, years, given["life_years"])
    meets = {
        "slot": cards["capacity_gb"].to_numpy() <= cameras["max_card_gb"].fillna(np.inf).to_numpy()[:, None],
        "speed": given["speed_margin"] >= margin,
        "retention": given["retention_days"] >= days,
        "life": given["life_years"] >= years,
        "maximum": (given["retention_days_high"] <= most) | by_age,
    }
    if np.isfinite(most).any():
        held = np.where(by_age, most, np.inf)
        given |= {name: np.minimum(given[name], held) for name in given if name.startswith("retention")}
    if costs is None:
        capacity = np.broadcast_to(cards["capacity_gb"].to_numpy(float), meets["life"].shape)
        return Tried(given, meets, life_fraction, capacity)
    used = cards_over_horizon(given["life_years"], years, costs.horizon_years)
    visits = visits_over_horizon(used, costs)
    lift = cameras["lift"].to_numpy(bool)[:, None]
    cost = cost_over_horizon(used, visits, cards["price"].to_numpy(float), lift, costs)
    return Tried(given | {"cards_over_horizon": used, "visits": visits, "cost": cost}, meets, life_fraction, cost)


def _given(site: Site, rates: pd.DataFrame) -> dict[str, Array]:
    """What each card gives each camera."""
    cards = site.offered
    capacity, usable = cards["capacity_gb"].to_numpy(float), cards["usable_fraction"].to_numpy(float)
    recorded, interval = (rates[name].to_numpy()[:, None] for name in ("recorded_fraction", "update_interval_s"))
    low, planned, high, margin_over = (
        rates[f"{name}_mbit_s"].to_numpy(float)[:, None] for name in ("low", "planned", "high", "margin_over")
    )
    endurance_low, endurance_high = card_endurance_tbw(cards, planned, interval)
    life = life_years(endurance_low, planned, recorded)
    # An update fills whole flash pages: a rate that is a little higher may write a little less of them.
    life_low = np.minimum(life, life_years(card_endurance_tbw(cards, high, interval)[0], high, recorded))
    return {
        "retention_days_low": retention_h(capacity, high, recorded, usable) / H_PER_DAY,
        "retention_days": retention_h(capacity, planned, recorded, usable) / H_PER_DAY,
        "retention_days_high": retention_h(capacity, low, recorded, usable) / H_PER_DAY,
        "life_years_low": life_low,
        "life_years": life,
        "life_years_high": life_years(endurance_high, low, recorded),
        "speed_margin": speed_margin(site.promised_mbyte_s, margin_over),
    }


def _life_fraction(cards: pd.DataFrame, rates: pd.DataFrame, years: Array, life: Array) -> Array:
    """Times the planned mean at which each card would last as many years as wanted.

    Life goes as one over the mean, but not on a card that may map by unit: at half the rate the updates stay.
    """
    share: Array = life / years
    unknown = is_amplification_unknown(cards)
    if unknown.any():
        rate, recorded, interval = (
            rates[name].to_numpy(float)[:, None]
            for name in ("planned_mbit_s", "recorded_fraction", "update_interval_s")
        )
        endurance = card_endurance_tbw(cards.loc[unknown], rate, interval)[1]
        flash_mbit_s = writes_tb_year_for_life(endurance, years) / writes_tb_year(1.0, recorded)
        likely = bitrate_mbit_s_for_wear(flash_mbit_s, interval) / rate
        share[:, unknown] = np.where(share[:, unknown] >= 1, np.maximum(likely, 1.0), likely)
    return share
