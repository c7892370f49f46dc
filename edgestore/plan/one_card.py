"""One card in one camera, computed as the plan does: the chance of each part of the promise, and the age of change."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.answers.certainty import STATED_ENDURANCE
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import MAX_PE_CYCLES, read_cards
from edgestore.inputs.settings import Costs, Settings
from edgestore.models.speed.classes import TRADE_MARGIN
from edgestore.models.wear.mapping import UPDATE_INTERVAL_S
from edgestore.plan.assured import promises
from edgestore.plan.change_age import CostsByAge
from edgestore.plan.evidence import no_evidence
from edgestore.plan.least_cost import COST_ASSUMPTION, changes, costs_by_age, expected_by_age
from edgestore.plan.promise import ROUNDING
from edgestore.plan.requirements import Requirements
from edgestore.plan.site import Site
from edgestore.plan.untested_band import BAND_ASSUMPTION, MIDDLE, WHOLE_RANGE, at_ends, band_of
from edgestore.text import chance, chance_in_band, change_age, counted, grouped, money, number
from edgestore.units import GB_PER_TB, PERCENT_PER_ONE

Array = npt.NDArray[np.float64]

PART_NAMES = {
    "slot": "the slot takes the card",
    "speed": "the card keeps up",
    "retention": "the footage goes back far enough",
    "maximum": "the footage goes back no further than allowed",
    "life": "the card works as long as asked",
}
"""Parts of the promise, in words."""

STATED_KIND, CYCLES_KIND = ENDURANCES = ("terabytes written", "cycles of the flash")
"""How a card's endurance is stated; with cycles the write amplification follows from the camera."""


@dataclass(frozen=True, kw_only=True)
class OneCard:
    """What one card promises one camera.

    Attributes
    ----------
    parts : dict of float
        Chance of each of ``PART_NAMES`` by itself.
    kept : float
        Chance that all are kept together.
    kept_low, kept_high : float
        The least and the highest that it is over what is assumed of an untested card.
    asked : Requirements
        What is asked, the assurance among it.
    ages_years, works, works_low, works_high : ndarray, shape (ages,)
        Ages, and the chance that the card works at each, with the ends of that over what is assumed likewise.
    latest_years, latest_low_years, latest_high_years : float
        Latest age at which it works with the chance asked, and the ends of that; 0 for none.
    by_age : CostsByAge
        What the camera costs over the horizon, by age of change.
    change_years : float
        Age of change of least expected cost; NaN where the card is not assured.
    cost : float
        What that costs over the horizon, currency units; likewise.
    """

    parts: dict[str, float]
    kept: float
    kept_low: float
    kept_high: float
    asked: Requirements
    ages_years: Array
    works: Array
    works_low: Array
    works_high: Array
    latest_years: float
    latest_low_years: float
    latest_high_years: float
    by_age: CostsByAge
    change_years: float
    cost: float

    @property
    def is_assured(self) -> bool:
        """Whether the chance is as high as is asked."""
        return self.kept >= self.asked.assurance - ROUNDING

    @property
    def kept_ends(self) -> tuple[float, float, float, float]:
        """The chance of all together, the ends of its band, and the chance asked."""
        return self.kept, self.kept_low, self.kept_high, self.asked.assurance

    @property
    def kept_told(self) -> str:
        """The chance of all together, with its band where that moves it by more than five points."""
        return chance_in_band(*self.kept_ends).replace(")", ", over what is assumed of an untested card)")

    def part_told(self, name: str) -> str:
        """The chance of one of the parts, that of the life with its band: the others are of the camera alone."""
        value = self.parts[name]
        if name != "life":
            return chance(value)
        at = int(np.searchsorted(self.ages_years, self.asked.life_years - ROUNDING))
        return chance_in_band(value, min(value, self.works_low[at]), max(value, self.works_high[at]))

    @property
    def sentence(self) -> str:
        """The chance of the whole, against what is asked, in one sentence."""
        how_far = WHOLE_RANGE if self.kept_low >= self.asked.assurance - ROUNDING else MIDDLE
        verdict = f"assured {how_far}" if self.is_assured else "not assured"
        text = (
            f"The chance that the card keeps all that is asked is {self.kept_told}, where "
            f"{chance(self.asked.assurance)} is asked: it is {verdict}."
        )
        weakest = min(self.parts, key=lambda name: self.parts[name])
        if self.is_assured:
            return text
        return f"{text} The weakest part: {PART_NAMES[weakest]}, {self.part_told(weakest)}."

    @property
    def table(self) -> pd.DataFrame:
        """The chance of each part and of all together."""
        told = [*(self.part_told(name) for name in self.parts), self.kept_told]
        return pd.DataFrame({"part": [*(PART_NAMES[name] for name in self.parts), "all together"], "chance": told})

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the answer rests on."""
        return (
            STATED_ENDURANCE,
            "All parts are counted over the same possible mean rates, which are never above the cap: a high rate "
            "shortens both retention and life. So the chance of all together is not the product of the chances "
            "of the parts.",
            BAND_ASSUMPTION,
            COST_ASSUMPTION,
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """What to be careful about."""
        return ()


@dataclass(frozen=True, kw_only=True)
class WhenToChange(OneCard):
    """The same, asked for the age of change."""

    @property
    def sentence(self) -> str:
        """The age of change and what it costs, in one sentence."""
        horizon = counted(self.by_age.horizon_years, "year")
        if np.isnan(self.change_years):
            return (
                "The card is not assured at any age of change: the chance that it keeps all that is asked is only "
                f"{self.kept_told}, and {chance(self.asked.assurance)} is asked."
            )
        text = (
            f"Change the card after {change_age(self.change_years)} years: this costs least, "
            f"{money(self.cost, 'currency units')} in {horizon}, of all ages from the "
            f"{counted(self.asked.life_years, 'year')} asked to {change_age(self.latest_years)} years. Any later, the "
            f"chance that it still works is below the {chance(self.asked.assurance)} asked."
        )
        latest = change_age(self.latest_low_years), change_age(self.latest_high_years)
        if latest[0] != latest[1]:
            text += f" Over what is assumed of an untested card, that age is {latest[0]} to {latest[1]} years."
        if (never := float(self.by_age.cost[0, 0, -1])) < self.cost:
            text += f" Left in until it fails, it would cost {money(never, 'currency units')}, without that chance."
        return text

    @property
    def table(self) -> pd.DataFrame:
        """Cost, failures and planned changes by age of change."""
        ages, by_age = self.by_age.ages_years, self.by_age
        known = (self.works, self.works_low, self.works_high)
        ends = zip(
            *(np.interp(np.minimum(ages, self.ages_years[-1]), self.ages_years, each) for each in known), strict=True
        )
        return pd.DataFrame(
            {
                "change_years": [f"{age:g}" if np.isfinite(age) else "no planned change" for age in ages],
                "chance_works": [
                    chance_in_band(*works) if np.isfinite(age) else "" for age, works in zip(ages, ends, strict=True)
                ],
                "failures": [number(count) for count in by_age.failures[0, 0]],
                "planned_changes": [number(count) for count in by_age.planned[0, 0]],
                "cost": [grouped(f"{cost:.0f}") for cost in by_age.cost[0, 0]],
            }
        )


def one_card(
    capacity_gb: float = 128.0,
    mean_mbit_s: float = 2.0,
    cap_mbit_s: float = 4.0,
    *,
    endurance_kind: str = ENDURANCES[0],
    endurance_tbw: float = 150.0,
    pe_cycles: float = 3000.0,
    recorded_fraction: float = 1.0,
    update_interval_s: float = UPDATE_INTERVAL_S,
    speed_class: str = "V30",
    retention_days: float = 4.0,
    life_years: float = 3.0,
    speed_margin: float = TRADE_MARGIN,
    assurance_percent: float = 90.0,
    card_price: float = 38.0,
    visit_price: float = 60.0,
    horizon_years: float = 10.0,
) -> OneCard:
    """How likely one card keeps all that is asked in one camera, exactly as the plan of a site counts it.

    Parameters
    ----------
    capacity_gb : float
        Capacity printed on the card, GB, above 0.
    mean_mbit_s : float
        Mean rate while recording, Mbit/s, above 0 and at most the cap.
    cap_mbit_s : float
        Highest rate that the camera is set to, Mbit/s.
    endurance_kind : str
        One of ``ENDURANCES``: it says which of the two that follow counts.
    endurance_tbw : float
        Endurance, TB written, above 0.
    pe_cycles : float
        Program/erase cycles, above 0; the write amplification is not known.
    recorded_fraction : float
        Fraction of time recorded, above 0 and at most 1.
    update_interval_s : float
        Time between two updates of file tables and index, s, above 0.
    speed_class : str
        Mark of the card, as in a card list.
    retention_days : float
        Days of footage asked.
    life_years : float
        Years asked until the card is changed.
    speed_margin : float
        Card's promised rate over the cap, a plain ratio.
    assurance_percent : float
        Chance asked, %, 50 to 99.
    card_price, visit_price : float
        Price of a card and of a visit, currency units, 0 or more.
    horizon_years : float
        Time over which costs are counted, years, above 0.

    Returns
    -------
    OneCard
        Chances, ages and costs.

    Raises
    ------
    InputError
        When a number is out of range.

    Examples
    --------
    >>> one_card(64, retention_days=2).is_assured
    True
    """
    checks.single(locals())
    checks.one_of("endurance_kind", endurance_kind, ENDURANCES)
    checks.fraction("recorded_fraction", recorded_fraction, above=0)
    if mean_mbit_s > cap_mbit_s:
        allowed = f"at most cap_mbit_s, {cap_mbit_s:g} Mbit/s"
        mend = "Lower the mean, or raise the cap."
        raise checks.refuse_value("mean_mbit_s", float(mean_mbit_s), allowed, mend, "Mbit/s")
    most_tbw = MAX_PE_CYCLES * capacity_gb / GB_PER_TB
    if endurance_kind == STATED_KIND and endurance_tbw > most_tbw:
        allowed = (
            f"at most {number(most_tbw)} TB for a card of {capacity_gb:g} GB, {number(MAX_PE_CYCLES)} times its size"
        )
        mend = "Lower the endurance, or take a larger card."
        raise checks.refuse_value("endurance_tbw", float(endurance_tbw), allowed, mend, "TB")
    camera = f"camera,mean_mbit_s,cap_mbit_s,update_interval_s\none,{mean_mbit_s},{cap_mbit_s},{update_interval_s}\n"
    endurance = f"{endurance_tbw}," if endurance_kind == ENDURANCES[0] else f",{pe_cycles}"
    card = (
        "card,capacity_gb,usable_fraction,speed_class,endurance_tbw,pe_cycles,price\n"
        f"one,{capacity_gb},1,{speed_class},{endurance},{card_price}\n"
    )
    try:
        cameras, cards = read_cameras(camera.encode()).rows, read_cards(card.encode()).rows
    except checks.InputError as error:  # no list is there for the reader: a column has the name of its argument
        named = (replace(fault, where=fault.where.rpartition("column ")[2]) for fault in error.faults)
        raise checks.InputError(named) from None
    evidence = no_evidence(cameras)
    if recorded_fraction < 1:
        cameras = cameras.assign(recording="motion")
        evidence = evidence.assign(logged_fraction=recorded_fraction)
    asked = Requirements(retention_days, life_years, speed_margin, assurance=assurance_percent / PERCENT_PER_ONE)
    costs = Costs(
        visit_price, visit_price, horizon_years=horizon_years, spare_fraction=0.0, first_fitting_is_a_visit=False
    )
    return of_site(Site(cameras, cards, evidence, asked, Settings(costs=costs)))


def of_site(site: Site) -> OneCard:
    """What the only card of a list promises the only camera of a site; a camera and a card without a price are refused.

    Parameters
    ----------
    site : Site
        Of one camera and one card, with costs.

    Returns
    -------
    OneCard
        Chances, ages and costs.

    Raises
    ------
    InputError
        When the site has no costs.
    """
    if site.costs is None:
        raise checks.refuse("costs", "no costs", "costs in the settings and a price of the card")
    made = promises(site, site.rates)
    best = changes(site, made)
    expected = expected_by_age(site.costs, made)
    prices, is_lift = site.offered["price"].to_numpy(float), site.cameras["lift"].to_numpy(bool)
    wanted = site.wanted.iloc[0]
    most, kept = float(wanted["retention_days_max"]), made.kept[:, 0]
    low, high = band_of(site, site.offered, kept) if kept[0] > 0 else (kept, kept)
    ends = [replace(made, kinds=tuple(end)) for end in at_ends(made.kinds, site.settings.beliefs["wear_shape"])]
    works = np.array([made.works_by_age()[0, 0], *(end.works_by_age()[0, 0] for end in ends)])
    latest = [float(each.latest_years[0, 0]) for each in (made, *ends)]
    return OneCard(
        parts={name: float(made.chance[name][0, 0]) for name in PART_NAMES},
        kept=float(kept[0]),
        kept_low=float(low[0]),
        kept_high=float(high[0]),
        asked=Requirements(
            float(wanted["retention_days"]),
            float(wanted["life_years"]),
            float(wanted["speed_margin"]),
            None if np.isnan(most) else most,
            float(wanted["assurance"]),
        ),
        ages_years=made.ages_years,
        works=works[0],
        works_low=works.min(axis=0),
        works_high=works.max(axis=0),
        latest_years=latest[0],
        latest_low_years=min(latest),
        latest_high_years=max(latest),
        by_age=costs_by_age(site.costs, made, expected, prices, is_lift),
        change_years=float(best.change_years[0, 0]),
        cost=float(best.cost[0, 0]),
    )


def when_to_change(**inputs: float | str) -> WhenToChange:
    """The age at which one card in one camera is changed, as the plan chooses it.

    Parameters
    ----------
    inputs
        Those of :func:`one_card`.

    Returns
    -------
    WhenToChange
        The same, asked for the age.
    """
    return WhenToChange(**vars(one_card(**inputs)))  # type: ignore[arg-type]  # one_card checks each by its name
