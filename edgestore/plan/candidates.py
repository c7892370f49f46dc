"""Every card tried in every camera: what it gives there, what that costs, and which requirements it meets."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.retention import retention_h
from edgestore.models.speed.classes import speed_margin
from edgestore.models.wear.endurance import life_years
from edgestore.plan.assured import promises
from edgestore.plan.least_cost import changes
from edgestore.plan.promise import ROUNDING
from edgestore.plan.rates import card_endurance_tbw
from edgestore.plan.site import Site
from edgestore.units import H_PER_DAY

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


LOCKED_ASSUMPTION = (
    "Locked clips: where the camera list states a locked_fraction, clips that are locked against overwriting hold that"
    " part of the usable space, and the days held, the chance to hold them and an outage covered are those of the rest."
    " The high end of the days held, and the most that a card may hold, are counted with nothing locked, as it is"
    " before the first clip is. What the camera writes, and so the life, is counted as without locked clips. A locked"
    " clip stays until it is released, even beyond the most days that policy allows."
)


@dataclass(frozen=True)
class Tried:
    """Every card in every camera; all arrays are of shape (cameras, cards).

    Attributes
    ----------
    given : dict of ndarray
        What each card gives each camera: days, years, a plain ratio; chances, 0 to 1, and the age at which it is
        changed where it is assured; with costs also cards, visits and currency units, as expected over the horizon.
    meets : dict of ndarray of bool
        Whether each part of the promise has the chance asked, and all ``together``.
    burden : ndarray
        What the choice makes small: the expected cost where it is counted, else the capacity in GB.
    least_failures, least_cost : ndarray or None
        What each assured card would come to at the age of least cost, whatever the chance then; None without costs.
    """

    given: dict[str, Array]
    meets: dict[str, Flags]
    burden: Array
    least_failures: Array | None = None
    least_cost: Array | None = None

    @cached_property
    def served(self) -> Flags:
        """Whether each card is assured in each camera."""
        served: Flags = np.logical_and.reduce(list(self.meets.values()))
        return served

    @cached_property
    def ruled_out(self) -> dict[str, Flags]:
        """Which cards each part of the promise rules out in each camera, by the names of ``meets``.

        A card that the slot does not take counts there alone, and one that fails no part but all at once, as such.
        """
        fits = self.meets["slot"]
        others = np.logical_and.reduce([flags for name, flags in self.meets.items() if name != "together"])
        of = {"slot": np.True_, "together": others}
        return {name: ~flags & of.get(name, fits) for name, flags in self.meets.items()}

    @property
    def kept(self) -> Array:
        """Chance that each card keeps all that each camera asks."""
        return self.given["chance_kept"]

    def next_larger_days(self, chosen: npt.NDArray[np.intp]) -> Array:
        """Days held by the next larger card that serves each camera, by the number chosen; NaN where there is none."""
        days = self.given["retention_days"]
        held = np.where(chosen >= 0, days[np.arange(len(chosen)), chosen], np.inf)
        least = np.where(self.served & (days > held[:, None]), days, np.inf).min(axis=1)
        return np.where(np.isfinite(least), least, np.nan)


CHANCES = ("speed", "retention", "maximum", "life", "outage")
"""Parts of the promise of which the plan tells the chance."""


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
    cards, costs = site.offered, site.costs
    given = _given(site, rates)
    most = site.wanted["retention_days_max"].to_numpy(float)
    if not np.isnan(most).all():  # what a camera deletes by age, it does not hold
        by_age = site.cameras["deletes_by_age"].to_numpy(bool)
        allowed = np.where(by_age & ~np.isnan(most), most, np.inf)[:, None]
        given |= {name: np.minimum(given[name], allowed) for name in given if name.startswith("retention")}
    made = promises(site, rates)
    asked = site.wanted["assurance"].to_numpy(float)[:, None]
    meets = {name: chance >= asked - ROUNDING for name, chance in made.chance.items()} | {"together": made.is_assured}
    best = changes(site, made)
    given |= {f"chance_{name}": made.chance[name] for name in CHANCES if name in made.chance}
    given |= {"chance_kept": made.kept, "change_years": best.change_years, "latest_change_years": made.latest_years}
    given["nine_in_ten_years"] = made.nine_in_ten_years
    if costs is None:
        return Tried(given, meets, np.broadcast_to(cards["capacity_gb"].to_numpy(float), made.kept.shape))
    renewed = best.failures + best.planned
    given |= {
        "failures": best.failures,
        "planned_changes": best.planned,
        "cards_over_horizon": 1 + renewed,
        "visits": renewed + costs.first_fitting_is_a_visit,
        "cost": best.cost,
    }
    return Tried(given, meets, best.cost, best.least_failures, best.least_cost)


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
    busiest, quietest = site.busiest_over_mean[:, None], site.quietest_over_mean[:, None]
    in_ring = usable * site.ring_fraction[:, None]
    planned_h = retention_h(capacity, planned, recorded, in_ring)
    given = {
        "retention_days_low": retention_h(capacity, high, recorded, in_ring) / H_PER_DAY / busiest,
        "retention_days": planned_h / H_PER_DAY / busiest,
        "retention_days_high": retention_h(capacity, low, recorded, usable) / H_PER_DAY / quietest,
        "life_years_low": life_low,
        "life_years": life,
        "life_years_high": life_years(endurance_high, low, recorded),
        "speed_margin": speed_margin(site.promised_mbyte_s, margin_over),
    }
    if site.covered_h.any():
        deleted_h = (site.most_days_deleted * H_PER_DAY)[:, None]
        held_h = np.minimum(planned_h / site.busiest_in_outage[:, None], deleted_h)
        given["useful_retention_h"] = held_h * np.where(site.covered_h > 0, site.fetched_fraction, np.nan)[:, None]
    return given
