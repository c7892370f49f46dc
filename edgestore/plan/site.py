"""The plan of a site: every camera with every card, and the card that each camera gets, with reasons."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.answers.certainty import chance_and_p10_life_years, due_years
from edgestore.inputs.outages import OutageSettings
from edgestore.inputs.settings import Costs, Service
from edgestore.plan.candidates import Tried, tried
from edgestore.plan.cap_comparison import compared, rates_at_cap
from edgestore.plan.changes import SERVICE_ASSUMPTION, calendar, cards_in_cameras, spare_cards
from edgestore.plan.choice import BY_EXCHANGE, Front, Kinds, checked_kinds, choose, front_of_kinds
from edgestore.plan.cost import COST_ASSUMPTION
from edgestore.plan.evidence import no_evidence
from edgestore.plan.outage_cover import next_larger_days, outage_cover
from edgestore.plan.rates import camera_rates
from edgestore.plan.reasons import reasons
from edgestore.plan.requirements import WANTED, Requirements, raised_to_peak, wanted_by_camera
from edgestore.plan.warnings import ASSUMPTIONS, OUTAGE_ASSUMPTION, SURE_ENOUGH, doubtful, warnings
from edgestore.text import chance, counted, life, money, number, span

Array = npt.NDArray[np.float64]
Chosen = npt.NDArray[np.intp]

SHOWN_RATES = (
    *("planned_mbit_s", "cap_mbit_s", "peak_mbit_s", "margin_over_mbit_s", "recorded_fraction", "update_interval_s"),
    *("mean_basis", "peak_basis", "recorded_basis", "rate_basis"),
)


@dataclass(frozen=True)
class SitePlan:
    """The plan, the inputs it came from and what it assumed.

    Attributes
    ----------
    plan : DataFrame
        One row a camera: the chosen card, what it gives and costs, what was wanted, whether that is met, and why.
    cameras, cards : DataFrame
        The camera list as read, and the cards planned with, from small to large.
    evidence : DataFrame
        What the files say that the camera list names.
    wanted : DataFrame
        What was asked of each camera's card, and by whom.
    costs : Costs or None
        What visits cost; None where no cost is counted.
    kinds : str or int
        The policy: a card for each ``camera``, one kind a ``group`` or for the ``site``, or so many kinds at most.
    tries : Tried
        Every card tried in every camera.
    spares : DataFrame
        Spares to keep of each kind that is planned, of :func:`edgestore.plan.changes.spare_cards`.
    spares_in_service : DataFrame or None
        Likewise of each kind that is in service by the service log; None without a log.
    calendar : DataFrame or None
        The cards in service by their next change (:func:`edgestore.plan.changes.calendar`); None without a log.
    assumptions, warnings : tuple of str
        What a reader must know before repeating an answer.
    override : str
        In what the plan departs from the settings file it was made with; empty when in nothing. Among the warnings.
    """

    plan: pd.DataFrame
    cameras: pd.DataFrame
    cards: pd.DataFrame
    evidence: pd.DataFrame
    wanted: pd.DataFrame
    costs: Costs | None
    kinds: Kinds
    tries: Tried
    spares: pd.DataFrame
    spares_in_service: pd.DataFrame | None
    calendar: pd.DataFrame | None
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]
    override: str = ""

    @cached_property
    def candidates(self) -> pd.DataFrame:
        """One row for every camera with every card."""
        tries, cameras, cards = self.tries, self.cameras["camera"], self.cards["card"]
        columns: Mapping[str, npt.NDArray[np.generic]] = {
            "camera": np.repeat(cameras.to_numpy(object), len(cards)),
            "card": np.tile(cards.to_numpy(object), len(cameras)),
            **{name: values.ravel() for name, values in tries.given.items()},
            **{f"meets_{name}": values.ravel() for name, values in tries.meets.items()},
            "meets": tries.served.ravel(),
        }
        return pd.DataFrame(columns)

    @cached_property
    def front(self) -> Front:
        """What fewer kinds of card serve and cost."""
        costs = self.costs
        unit = "GB" if costs is None else f"{costs.currency} in {counted(costs.horizon_years, 'year')}"
        return front_of_kinds(self.tries, list(self.cards["card"]), unit)

    @property
    def sentence(self) -> str:
        """The answer in one sentence."""
        plan = self.plan
        served = int(plan["meets"].sum())
        if len(plan) == 1:
            text = f"{'A' if served else 'No'} card of the list serves the camera."
        elif served == len(plan):
            text = f"Every one of the {served} cameras is served by a card of the list."
        else:
            text = (
                f"{served} of {len(plan)} cameras are served by a card of the list;"
                " the reasons say what would help the others."
            )
        text += doubtful(plan)
        if self.costs is None or not served:
            return text
        kinds = counted(plan.loc[plan["meets"], "card"].nunique(), "kind")
        cost = money(plan["cost"].sum(), self.costs.currency)
        return f"{text} Cards of {kinds} and visits: {cost} in {counted(self.costs.horizon_years, 'year')}."

    @property
    def table(self) -> pd.DataFrame:
        """The plan in a few columns to read: what it counts on, and in brackets the range that is likely."""
        plan = self.plan

        def figures(name: str, told: Callable[..., str]) -> list[str]:
            columns = zip(plan[name], plan[f"{name}_low"], plan[f"{name}_high"], plan["meets"], strict=True)
            return [_with_range(told, *ends) if served else "" for *ends, served in columns]

        chances = zip(plan["chance_of_lasting"], plan["meets"], strict=True)
        margins = zip(plan["speed_margin"], plan["meets"], strict=True)
        cost = {} if self.costs is None else {"cost": [f"{c:.0f}" if c == c else "" for c in plan["cost"]]}
        return pd.DataFrame(
            {
                "camera": plan["camera"],
                "card": plan["card"].where(plan["meets"], "none"),
                "retention_days": figures("retention_days", span),
                "life_years": figures("life_years", life),
                "chance_of_lasting": [chance(lasts) if served else "" for lasts, served in chances],
                "speed_margin": [number(margin) if served else "" for margin, served in margins],
                **cost,
                "rate_basis": plan["rate_basis"],
                "against_cap": plan["against_cap"],
                "reason": plan["reason"],
            }
        )


def site_plan(
    cameras: pd.DataFrame,
    cards: pd.DataFrame,
    wanted: Requirements | pd.DataFrame,
    evidence: pd.DataFrame | None = None,
    costs: Costs | None = None,
    kinds: Kinds = "camera",
    service: Service | None = None,
    log: pd.DataFrame | None = None,
    outage: OutageSettings | None = None,
) -> SitePlan:
    """Choose a card for every camera of a site.

    Parameters
    ----------
    cameras, cards : DataFrame
        Lists as :mod:`edgestore.inputs` reads them.
    wanted : Requirements or DataFrame
        What every card must reach; or what each camera asks, of
        :func:`edgestore.plan.requirements.wanted_by_camera`.
    evidence : DataFrame, optional
        What the files say that the camera list names (:mod:`edgestore.plan.evidence`); nothing when left out.
    costs : Costs, optional
        What visits cost. Cards without a price are then left out. No cost is counted when left out.
    kinds : str or int
        A card for each ``camera``, one kind a ``group`` or for the whole ``site``, or so many kinds at most.
    service : Service, optional
        How cards in service are looked after; its defaults when left out.
    log : DataFrame, optional
        Rows of the service log, by the day that ``service`` tells: the next change is then a date.
    outage : OutageSettings, optional
        How the recorder fails: adds what the cards save then. Nothing is added when left out.

    Returns
    -------
    SitePlan
        The choice, all candidates, reasons, assumptions and warnings.

    Raises
    ------
    InputError
        When a camera asks what cannot be met, or there is no such policy.

    Notes
    -----
    Of the cards that meet every requirement each camera gets the one that costs least over the horizon; without
    costs, or when that is equal, the smallest; of equal ones the cheapest, then the first listed.
    """
    evidence = no_evidence(cameras) if evidence is None else evidence
    kinds = checked_kinds(kinds)
    wanted = wanted_by_camera(cameras, wanted) if isinstance(wanted, Requirements) else wanted
    service = Service() if service is None else service
    listed = cards
    cards, costs, told = _offer(cards, costs)
    streams = camera_rates(cameras, evidence)
    wanted = raised_to_peak(wanted, streams)
    tries = tried(cameras, cards, streams, wanted, costs)
    alone, choice = (choose(policy, tries, cameras["group"]) for policy in ("camera", kinds))
    chosen = choice.chosen
    at_cap = tried(cameras, cards, rates_at_cap(streams), wanted, costs)
    plan = _plan(cameras, cards, streams, wanted, tries, chosen, alone.chosen)
    plan[["chance_of_lasting", "p10_life_years", "change_years"]] = _certainty(
        cards, streams, chosen, wanted, service.change_chance
    )
    in_service = spares_in_service = None
    if log is not None:
        in_service, unknown = calendar(log, cameras, listed, streams, service)
        told += unknown
        spares_in_service = spare_cards(in_service["card"], in_service["next_change_years"], service)
        plan = plan.join(_soonest(in_service), on="camera").fillna(
            {"in_service_card": "", "in_service_next_change": ""}
        )
    chosen_at_cap = choose(kinds, at_cap, cameras["group"]).chosen
    plan = plan.join(compared(streams, cards, chosen, at_cap.given, chosen_at_cap))
    del at_cap
    plan["reason"] = reasons(cameras, cards, streams, wanted, tries, chosen, alone.chosen, kinds, costs)
    if outage is not None:
        larger_days = next_larger_days(tries, chosen)
        plan = plan.join(outage_cover(plan["retention_days"], outage, larger_days))
    assumed = (
        *ASSUMPTIONS,
        *((OUTAGE_ASSUMPTION,) if outage else ()),
        *((COST_ASSUMPTION,) if costs else ()),
        SERVICE_ASSUMPTION,
        *((f"Kinds of card: {BY_EXCHANGE}.",) if not choice.is_exact else ()),
    )
    told += warnings(plan, cameras, evidence)
    spares = spare_cards(plan.loc[plan["meets"], "card"], plan.loc[plan["meets"], "change_years"], service)
    return SitePlan(
        plan=plan,
        cameras=cameras,
        cards=cards,
        evidence=evidence,
        wanted=wanted,
        costs=costs,
        kinds=kinds,
        tries=tries,
        spares=spares,
        spares_in_service=spares_in_service,
        calendar=in_service,
        assumptions=assumed,
        warnings=told,
    )


def _soonest(in_service: pd.DataFrame) -> pd.DataFrame:
    """For each camera the card in service that is due first, and when."""
    first = in_service.drop_duplicates("camera").set_index("camera")[["card", "next_change", "next_change_years"]]
    return first.astype({"card": object, "next_change": object}).add_prefix("in_service_")


def _offer(cards: pd.DataFrame, costs: Costs | None) -> tuple[pd.DataFrame, Costs | None, tuple[str, ...]]:
    """Give the cards from small to large, with costs only those with a price; and what there is to say about it."""
    cards = cards.iloc[np.lexsort((np.arange(len(cards)), cards["price"].fillna(np.inf), cards["capacity_gb"]))]
    priced = cards["price"].notna()
    if costs is None or priced.all():
        return cards, costs, ()
    if not priced.any():
        return cards, None, ("No card of the list has a price: no cost is counted.",)
    without = ", ".join(cards.loc[~priced, "card"])
    return cards[priced], costs, (f"Cards without a price are left out, since costs are counted: {without}.",)


def _certainty(
    cards: pd.DataFrame, streams: pd.DataFrame, chosen: Chosen, wanted: pd.DataFrame, change_chance: float
) -> Array:
    """Chance that the chosen card lasts the wanted years; ages at which one in ten is gone, and it is to be changed."""
    answers = np.full((len(chosen), 3), np.nan)
    served = chosen >= 0
    if served.any():
        lives = cards_in_cameras(cards.iloc[chosen[served]], streams.loc[served])
        lasts, p10 = chance_and_p10_life_years(lives, wanted.loc[served, "life_years"].to_numpy())
        due = p10 if change_chance == SURE_ENOUGH else due_years(lives, np.zeros(len(lasts)), change_chance)
        answers[served] = np.column_stack([lasts, p10, due])
    return answers


def _plan(
    cameras: pd.DataFrame,
    cards: pd.DataFrame,
    streams: pd.DataFrame,
    wanted: pd.DataFrame,
    tries: Tried,
    chosen: Chosen,
    alone: Chosen,
) -> pd.DataFrame:
    served = chosen >= 0
    rows = np.arange(len(cameras))
    names = cards["card"].to_numpy(object)
    plan = pd.DataFrame({name: cameras[name].to_numpy() for name in ("camera", "place", "group")})
    plan["card"] = np.where(served, names[chosen], "")
    plan["card_alone"] = np.where(alone >= 0, names[alone], "")
    plan["capacity_gb"] = np.where(served, cards["capacity_gb"].to_numpy()[chosen], np.nan)
    for name in SHOWN_RATES:
        plan[name] = streams[name].to_numpy()
    for name in WANTED:
        plan[f"wanted_{name}"] = wanted[name].to_numpy()
    for name, values in tries.given.items():
        plan[name] = np.where(served, values[rows, chosen], np.nan)
    plan["meets"] = served
    return plan


def _with_range(told: Callable[..., str], value: float, low: float, high: float) -> str:
    likely, planned = told(low, high), told(value, value)
    return planned if likely == planned else f"{planned} ({likely})"
