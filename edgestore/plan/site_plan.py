"""The plan of a site: every camera with every card, and the card that each camera gets, with reasons."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.plan.all_together import AllTogether, all_together
from edgestore.plan.assurance_words import kept_to_change
from edgestore.plan.candidates import LOCKED_ASSUMPTION, Tried, tried
from edgestore.plan.cap_comparison import compared, rates_at_cap
from edgestore.plan.changes import (
    OF_CARD_IN_SERVICE,
    SERVICE_ASSUMPTION,
    calendar,
    failures_in_lead_time,
    planned_spares,
    spare_cards,
)
from edgestore.plan.choice import BY_EXCHANGE, Front, Kinds, checked_kinds, choose, front_of_kinds
from edgestore.plan.least_cost import COST_ASSUMPTION
from edgestore.plan.outage_cover import outage_cover
from edgestore.plan.reasons import reasons
from edgestore.plan.requirements import WANTED
from edgestore.plan.site import Site
from edgestore.plan.untested_band import over_range, untested_band
from edgestore.plan.warnings import ASSUMPTIONS, OUTAGE_ASSUMPTION, doubtful, grave_warnings, left_out, warnings
from edgestore.text import change_age, counted, grouped, money, number, span, whole

if TYPE_CHECKING:
    from edgestore.plan.camera_side import CameraSide
    from edgestore.plan.losses import Losses
    from edgestore.plan.measure_first import MeasureFirst
    from edgestore.plan.visit_calendar import VisitCalendar

Array = npt.NDArray[np.float64]
Chosen = npt.NDArray[np.intp]

SHOWN_RATES = (
    *("planned_mbit_s", "cap_mbit_s", "peak_mbit_s", "margin_over_mbit_s", "recorded_fraction", "update_interval_s"),
    *("mean_basis", "peak_basis", "recorded_basis", "rate_basis"),
)

STATES = ("assured", "doubtful", "not served")
"""A camera's card keeps all with the chance asked; the best of the list has a smaller chance; none has one worth it."""

LEAST_DOUBTFUL = 0.05
"""A camera is not served where no card of the list has a chance of as much (our choice)."""


@dataclass(frozen=True)
class SitePlan:
    """The plan, the site it is of and what it assumed.

    Attributes
    ----------
    plan : DataFrame
        One row a camera: the chosen card, what it gives and costs, what was wanted, whether that is met, and why.
    site : Site
        The site that is planned.
    kinds : str or int
        The policy: a card for each ``camera``, one kind a ``group`` or for the ``site``, or so many kinds at most.
    tries : Tried
        Every card tried in every camera.
    calendar : DataFrame or None
        The cards in service by their next change (:func:`edgestore.plan.changes.calendar`); None without a log.
    assumptions, warnings : tuple of str
        What a reader must know before repeating an answer; the warnings begin with what departs from the settings
        file, and the notes of the lists.
    beside : str
        That one of the warnings that saved answers of the cameras give; empty for none.
    """

    plan: pd.DataFrame
    site: Site
    kinds: Kinds
    tries: Tried
    calendar: pd.DataFrame | None
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]
    beside: str = ""

    @property
    def chosen(self) -> Chosen:
        """Number of the card offered that each camera gets; -1 for none."""
        return np.asarray(pd.Index(self.site.offered["card"]).get_indexer(pd.Index(self.plan["card"])), dtype=np.intp)

    @cached_property
    def candidates(self) -> pd.DataFrame:
        """One row for every camera with every card."""
        tries, cameras, cards = self.tries, self.site.cameras["camera"], self.site.offered["card"]
        columns: Mapping[str, npt.NDArray[np.generic]] = {
            "camera": np.repeat(cameras.to_numpy(object), len(cards)),
            "card": np.tile(cards.to_numpy(object), len(cameras)),
            **{name: values.ravel() for name, values in tries.given.items()},
            **{f"meets_{name}": values.ravel() for name, values in tries.meets.items()},
            "meets": tries.served.ravel(),
        }
        return pd.DataFrame(columns)

    @cached_property
    def spares(self) -> pd.DataFrame:
        """Spares to keep of each kind that is planned, of :func:`edgestore.plan.changes.planned_spares`."""
        return planned_spares(self.site, self.plan[self.plan["meets"]])

    @cached_property
    def spares_in_service(self) -> pd.DataFrame | None:
        """Likewise of each kind that is in service by the service log; None without a log."""
        now, service = self.calendar, self.site.settings.service
        if now is None:
            return None
        return spare_cards(now["card"], failures_in_lead_time(now["next_change_years"], service), service)

    @cached_property
    def untested_band(self) -> pd.DataFrame:
        """How far chances depend on what is assumed of cards, of :func:`edgestore.plan.untested_band.untested_band`."""
        return untested_band(self.site, self.plan)

    @cached_property
    def all_together(self) -> AllTogether:
        """What all cameras promise together, of :func:`edgestore.plan.all_together.all_together`."""
        return all_together(self.site, self.plan, self.untested_band)

    @cached_property
    def front(self) -> Front:
        """How many cameras fewer kinds of card assure, and what they cost."""
        costs = self.site.costs
        unit = "GB" if costs is None else f"{costs.currency} in {counted(costs.horizon_years, 'year')}"
        return front_of_kinds(self.tries, list(self.site.offered["card"]), unit)

    @cached_property
    def losses(self) -> "Losses":
        """What is lost with each card in each camera, of :func:`edgestore.plan.losses.losses`."""
        return _losses(self.site, self.plan)

    @cached_property
    def measure_first(self) -> "MeasureFirst":
        """What to find out before the cards are ordered, of :func:`edgestore.plan.measure_first.measure_first`."""
        from edgestore.plan.measure_first import measure_first

        return measure_first(self.site, self.losses)

    @cached_property
    def camera_side(self) -> "CameraSide":
        """What other settings of the cameras would change, of :func:`edgestore.plan.camera_side.camera_side`."""
        from edgestore.plan.camera_side import camera_side

        return camera_side(self.site)

    @cached_property
    def visits(self) -> "VisitCalendar":
        """The visits by date, shared by visit group, of :func:`edgestore.plan.visit_calendar.visit_calendar`."""
        from edgestore.plan.visit_calendar import visit_calendar

        return visit_calendar(self.site, self.plan, in_service=self.calendar)

    @property
    def states(self) -> str:
        """How many cameras are assured, doubtful and not served, in this order; a state that none is in is left out."""
        counts = {state: int((self.plan["state"] == state).sum()) for state in STATES}
        return ", ".join(f"{grouped(str(count))} {state}" for state, count in counts.items() if count)

    @property
    def sentence(self) -> str:
        """The answer in a few sentences: the headline, with the doubtful by name and what the assurance costs."""
        return f"{self._counts}{doubtful(self.plan, self.untested_band['told'])}{self._cost_words}{self.footage_saved}"

    @property
    def headline(self) -> str:
        """How many cameras are assured, what that costs, and how much footage is saved."""
        return f"{self._counts}{self.visits.cost_words}{self.footage_saved}"

    @property
    def _counts(self) -> str:
        told = f"Of {counted(len(self.plan), 'camera')}: {self.states}."
        return f"{told} {over_range(self.untested_band)}".rstrip()

    @property
    def _cost_words(self) -> str:
        plan, costs = self.plan, self.site.costs
        if costs is None or not plan["meets"].any():
            return ""
        kinds = counted(plan.loc[plan["meets"], "card"].nunique(), "kind")
        cost = money(plan["cost"].sum(), costs.currency)
        apart = f"Cards of {kinds} and visits, each camera by itself: {cost} in {counted(costs.horizon_years, 'year')}."
        return f"{self.visits.beside(plan['cost'].sum())} {apart} {self.kept_to_change}".rstrip()

    @property
    def warnings_by_weight(self) -> tuple[str, ...]:
        """All warnings: of what departs from the settings, the gravest, saved answers, other grave ones, the rest."""
        gravest, *others = [*grave_warnings(self.plan, self.site), ""]
        grave = [*filter(None, [self.site.override, gravest, self.beside, *others])]
        return (*grave, *(text for text in self.warnings if text not in grave))

    @property
    def footage_saved(self) -> str:
        """Hours of footage that the cards save, of all that the recorder misses; empty where no outages are stated."""
        if "lost_h_per_year" not in self.plan:
            return ""
        without = float(self.plan["lost_h_per_year_without_card"].sum())
        saved = without - float(self.plan["lost_h_per_year"].sum())
        return f" Footage saved: {number(saved)} of {number(without)} h a year."

    @cached_property
    def kept_to_change(self) -> str:
        """What keeping the assurance until the planned changes costs, in one sentence; empty where it costs little."""
        served, (failures, cost) = np.flatnonzero(self.chosen >= 0), (self.tries.least_failures, self.tries.least_cost)
        if self.site.costs is None or failures is None or cost is None:
            return ""
        pairs = served, self.chosen[served]
        known, least = self.plan[["cost", "failures"]].sum(), [float(each[pairs].sum()) for each in (cost, failures)]
        return kept_to_change(known["cost"], known["failures"], *least, currency=self.site.costs.currency)

    @property
    def table(self) -> pd.DataFrame:
        """The plan in a few columns to read: what it counts on, and in brackets the range, up to a known cap.

        Of a doubtful camera the best card stands there, marked as that, with its chance alone.
        """
        plan = self.plan

        def figures(name: str, told: Callable[..., str]) -> list[str]:
            is_capped = self.site.rates["most_mbit_s"].notna()
            columns = zip(plan[name], plan[f"{name}_low"], plan[f"{name}_high"], is_capped, plan["meets"], strict=True)
            return [_with_range(told, *ends) if served else "" for *ends, served in columns]

        is_doubtful = plan["state"] == "doubtful"
        card = plan["card"].where(plan["meets"], "none").mask(is_doubtful, plan["best_card"] + " (doubtful)")
        change = zip(plan["change_years"], plan["meets"], strict=True)
        reached = zip(plan["nine_in_ten_years"], plan["meets"], strict=True)
        margins = zip(plan["speed_margin"], plan["meets"], strict=True)
        costs = self.site.costs
        cost = {} if costs is None else {f"Cost, {costs.currency}": ["" if c != c else whole(c) for c in plan["cost"]]}
        return pd.DataFrame(
            {
                "camera": plan["camera"],
                "state": plan["state"],
                "card": card,
                "retention_days": figures("retention_days", span),
                "nine_in_ten_years": [change_age(years) if served else "" for years, served in reached],
                "chance_kept": self.untested_band["told"],
                "assured": self.untested_band["assured"],
                "change_years": [change_age(years) if served else "" for years, served in change],
                "speed_margin": [number(margin) if served else "" for margin, served in margins],
                **cost,
                "rate_basis": plan["rate_basis"],
                "against_cap": plan["against_cap"],
                "reason": plan["reason"],
            }
        )


def site_plan(site: Site, kinds: Kinds = "camera", *, with_reasons: bool = True) -> SitePlan:
    """Choose a card for every camera of a site.

    Parameters
    ----------
    site : Site
        The site, as :func:`edgestore.read_lists` reads it.
    kinds : str or int
        A card for each ``camera``, one kind a ``group`` or for the whole ``site``, or so many kinds at most.
    with_reasons : bool
        Whether each camera is told why its card was chosen, what would help it, and what knowing its mean changes:
        half of the work, and left out where plans are only compared.

    Returns
    -------
    SitePlan
        The choice, all candidates, reasons, assumptions and warnings.

    Raises
    ------
    InputError
        When the site, a group or a camera asks what cannot be met, or there is no such policy.

    Notes
    -----
    Of the cards that are assured, which keep all that is asked with the chance asked, each camera gets the one of least
    expected cost over the horizon, changed at the age of least cost; without costs, or when that is equal, the
    smallest; of equal ones the cheapest, then the first listed. With costs, cards without a price are left out. The
    settings of the site say whether the plan also tells what the cards save when the recorder fails.
    """
    kinds = checked_kinds(kinds)
    outage = any(site.outages)
    tries, groups = tried(site, site.rates), site.cameras["group"]
    alone, choice = (choose(policy, tries, groups) for policy in ("camera", kinds))
    chosen = choice.chosen
    plan = _plan(site, tries, chosen, alone.chosen)
    told = (*filter(None, [site.override]), *site.notes, *left_out(site.cards, site.settings.costs))
    in_service = None
    if site.log is not None:
        in_service, unknown = calendar(site, site.log, tries.given)
        told += unknown
        known = [name for name in OF_CARD_IN_SERVICE if name in in_service]
        soonest = in_service.drop_duplicates("camera").set_index("camera")[known]
        soonest = soonest.astype({"card": object, "next_change": object}).add_prefix("in_service_")
        plan = plan.join(soonest, on="camera").fillna({"in_service_card": "", "in_service_next_change": ""})
    if with_reasons:
        at_cap = tried(site, rates_at_cap(site.rates))
        plan = plan.join(compared(site, chosen, at_cap.given, choose(kinds, at_cap, groups).chosen))
        del at_cap
        worth = partial(_is_worth_measuring, site, plan)
        plan["reason"], plan["remedy"] = reasons(site, tries, chosen, alone.chosen, kinds, is_worth_measuring=worth)
    if outage:
        held, fetched, recorded = plan["retention_days"], site.fetched_fraction, plan["recorded_fraction"]
        larger = tries.next_larger_days(chosen)
        plan = plan.join(outage_cover(held, site.outages, larger, fetched_fraction=fetched, recorded_fraction=recorded))
    return SitePlan(
        plan=plan,
        site=site,
        kinds=kinds,
        tries=tries,
        calendar=in_service,
        assumptions=(
            *ASSUMPTIONS,
            *((OUTAGE_ASSUMPTION,) if outage else ()),
            *((LOCKED_ASSUMPTION,) if site.has_locked else ()),
            *((COST_ASSUMPTION,) if site.costs else ()),
            SERVICE_ASSUMPTION,
            *((f"Kinds of card: {BY_EXCHANGE}.",) if not choice.is_exact else ()),
        ),
        warnings=(*told, *(warnings(plan, site) if with_reasons else ())),
    )


def _plan(site: Site, tries: Tried, chosen: Chosen, alone: Chosen) -> pd.DataFrame:
    cameras, cards = site.cameras, site.offered
    served, rows = chosen >= 0, np.arange(len(cameras))
    names = cards["card"].to_numpy(object)
    plan = pd.DataFrame({name: cameras[name].to_numpy() for name in ("camera", "place", "group")})
    plan["card"] = np.where(served, names[chosen], "")
    plan["card_alone"] = np.where(alone >= 0, names[alone], "")
    plan["capacity_gb"] = np.where(served, cards["capacity_gb"].to_numpy()[chosen], np.nan)
    for name in SHOWN_RATES:
        plan[name] = site.rates[name].to_numpy()
    if site.has_locked:
        plan["locked_fraction"] = cameras["locked_fraction"].to_numpy()
    for name in WANTED:
        plan[f"wanted_{name}"] = site.wanted[name].to_numpy()
    of_chosen = {name: np.where(served, values[rows, chosen], np.nan) for name, values in tries.given.items()}
    plan = plan.join(pd.DataFrame(of_chosen))
    plan["meets"] = served
    if site.costs is None:
        plan["failures_per_year"] = -np.log(plan["wanted_assurance"]) / plan["change_years"]
    else:
        plan["failures_per_year"] = plan["failures"] / site.costs.horizon_years
    best = tries.kept.argmax(axis=1)
    plan["best_chance"] = tries.kept[rows, best]
    plan["best_card"] = np.where(plan["best_chance"] > 0, names[best], "")
    plan["state"] = camera_states(tries.kept, chosen, alone)
    return plan


def _losses(site: Site, plan: pd.DataFrame) -> "Losses":
    """What is lost with each card, when each camera gets the one planned or is named its best."""
    from edgestore.plan.losses import losses  # a plan that nobody asks for it does without

    best = plan["best_card"].where(plan["state"] == "doubtful", "")
    named = plan["card_alone"].where(plan["card_alone"] != "", best)
    cards = pd.Index(site.offered["card"])
    return losses(site, *(cards.get_indexer(pd.Index(of)) for of in (plan["card_alone"], named)))


def _is_worth_measuring(site: Site, plan: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """Whether measuring each camera is worth its effort: asked by the advice for doubtful ones."""
    from edgestore.plan.measure_first import is_worth_measuring

    return is_worth_measuring(site, _losses(site, plan))


def camera_states(kept: Array, chosen: Chosen, alone: Chosen) -> npt.NDArray[np.str_]:
    """State of each camera, one of ``STATES``.

    Parameters
    ----------
    kept : ndarray, shape (cameras, cards)
        Chance that each card keeps all that is asked.
    chosen, alone : ndarray of int, shape (cameras,)
        Number of the card chosen, and of the one that the camera would get by itself; -1 where there is none.

    Returns
    -------
    ndarray of str, shape (cameras,)
        The states.
    """
    is_doubtful = (alone < 0) & (kept.max(axis=1) >= LEAST_DOUBTFUL)
    return np.select([chosen >= 0, is_doubtful], STATES[:2], STATES[2])


def _with_range(told: Callable[..., str], value: float, low: float, high: float, is_capped: bool) -> str:
    """Write what is planned, and in brackets the range; its low end is that at the cap where one is known."""
    likely, planned = told(low, high), told(value, value)
    if likely == planned:
        return planned
    return f"{planned} ({likely.replace(' to ', ' at the cap to ')})" if is_capped else f"{planned} ({likely})"
