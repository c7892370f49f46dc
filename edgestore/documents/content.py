"""What a proposal says, as data: made from one plan, rendered by the other files of this room."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from edgestore.documents.front import FrontPage
from edgestore.documents.margins import margins
from edgestore.documents.reading import Caution, cautions
from edgestore.documents.specification import specifications
from edgestore.inputs.settings import CardSpecification
from edgestore.plan.changes import SERVICE_ASSUMPTION
from edgestore.plan.order import order_list
from edgestore.plan.rates import is_amplification_unknown
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.visit_calendar import LEAST_TOLD, VisitCalendar, visit_calendar
from edgestore.plan.warnings import ASSUMPTIONS, grave_warnings, warnings
from edgestore.text import chance, counted, grouped, money, number, percent, short, span
from edgestore.verification import own_check_files, read_checks, run

MODELS_OF_A_PLAN = ("bitrate", "classes", "duty", "endurance", "law", "mapping", "retention")
"""The files of outside checks whose models a plan uses."""

KINDS = ("measured", "described", "logged", "listed", "assumed")
"""What a figure can rest on, from the best."""

KINDS_TOLD = tuple(text for text in ASSUMPTIONS if text.startswith("Measured: "))
"""What the kinds mean: told among the terms."""

FOREMOST, NAMES_IN_A_WARNING = 4, 3
"""Warnings in the summary where fewer are grave, and cameras that each names, so that it stays on one page."""

SHARED = "Visits shared"
"""Begins the line of the summary that stands there where cameras share visits, and the summary has room for it."""

IN_A_FACT, IN_A_WARNING = 32, 20
"""Letters of a camera's name in the figures and in the warnings of the summary."""


@dataclass(frozen=True)
class Assumption:
    """What the plan takes for granted, and the kind of it."""

    kind: str
    text: str


@dataclass(frozen=True)
class OutsideChecks:
    """How many values from outside the library were recomputed just now, by the kind of their source."""

    passed: int
    failed: int
    by_kind: Mapping[str, int]


@dataclass(frozen=True)
class Proposal:
    """What a proposal says.

    Attributes
    ----------
    front : FrontPage
        Title, maker, date.
    plan : SitePlan
        The plan that is proposed.
    asked : CardSpecification
        What is asked of every card besides.
    facts : tuple of (str, str)
        The summary in figures: what, and how much.
    order : DataFrame
        The cards of the list that are assured: ``card``, ``capacity_gb``, ``cards`` (how many), ``price`` of one.
    specifications, margins : DataFrame
        A row a camera: the card asked for, and what would change the choice.
    warnings, foremost : tuple of str
        Every warning, the grave ones first; those that stand in the summary: every grave one, with long names cut.
    assumptions : tuple of Assumption
        What holds for the whole plan; what each camera's figures rest on stands in the plan.
    checks : OutsideChecks
        Counts of the outside checks of the models used.
    caution, cautions : str, mapping of str to tuple of Caution
        What stands above all cautions, and the cautions by heading.
    """

    front: FrontPage
    plan: SitePlan
    asked: CardSpecification
    facts: tuple[tuple[str, str], ...]
    order: pd.DataFrame
    specifications: pd.DataFrame
    margins: pd.DataFrame
    warnings: tuple[str, ...]
    foremost: tuple[str, ...]
    assumptions: tuple[Assumption, ...]
    checks: OutsideChecks
    caution: str
    cautions: Mapping[str, tuple[Caution, ...]]

    @cached_property
    def visits(self) -> VisitCalendar:
        """The visits at which cards are changed, from the date of the document on."""
        return visit_calendar(self.plan.site, self.plan.plan, self.front.date, in_service=self.plan.calendar)


def proposal(plan: SitePlan, front: FrontPage, asked: CardSpecification | None = None) -> Proposal:
    """Make a proposal of a plan.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    front : FrontPage
        Title, maker, date.
    asked : CardSpecification, optional
        Temperature range and warranty asked of every card; nothing when left out.

    Returns
    -------
    Proposal
        What the documents say.
    """
    above_all, by_heading = cautions()
    order, moves = order_list(plan), margins(plan)
    return Proposal(
        front=front,
        plan=plan,
        asked=asked or CardSpecification(),
        facts=(*_facts(plan, order, moves), *_shared(plan)),
        order=order,
        specifications=specifications(plan),
        margins=moves,
        warnings=plan.warnings_by_weight,
        foremost=_foremost(plan),
        assumptions=tuple(_assumptions(plan)),
        checks=_checked(),
        caution=above_all,
        cautions=by_heading,
    )


def _foremost(plan: SitePlan) -> tuple[str, ...]:
    """Give the warnings that stand in the summary: every grave one, and where these are few the next."""
    names = [short(camera, IN_A_WARNING) for camera in plan.plan["camera"]]
    rows, site = plan.plan.assign(camera=names), replace(plan.site, cameras=plan.site.cameras.assign(camera=names))
    grave = grave_warnings(rows, site, NAMES_IN_A_WARNING)
    texts = warnings(rows, site, NAMES_IN_A_WARNING)[: max(FOREMOST, len(grave))]
    return (*filter(None, [plan.site.override]), *texts)


def _facts(plan: SitePlan, order: pd.DataFrame, moves: pd.DataFrame) -> list[tuple[str, str]]:
    """Give the summary in figures."""
    rows, wanted = plan.plan, plan.site.wanted.reset_index(drop=True)
    served = rows[rows["meets"]]
    of_kinds = {"camera": "a card for each camera", "group": "one kind a group", "site": "one kind for the site"}
    policy = of_kinds.get(str(plan.kinds), f"{plan.kinds} at most")

    def asked(name: str, thing: str) -> str:
        lowest, highest = wanted[name].min(), wanted[name].max()
        return counted(lowest, thing) if lowest == highest else f"{span(lowest, highest)} {thing}s, by camera"

    facts = [
        ("Cameras", f"{grouped(str(len(rows)))}: {plan.states}"),
        ("Kinds of card", f"{len(order)} for {counted(len(served), 'camera')} ({policy})"),
        ("Footage wanted", asked("retention_days", "day")),
        ("Life wanted", asked("life_years", "year")),
        (
            "Chance asked that a card keeps all of it",
            " to ".join(dict.fromkeys(map(chance, _ends(wanted["assurance"])))),
        ),
        ("Speed margin wanted", asked("speed_margin", "time").replace("1 time", "once") + " the cap"),
    ]
    if wanted["retention_days_max"].notna().any():
        limited = int(wanted["retention_days_max"].notna().sum())
        where = "" if limited == len(rows) else f", for {limited} of {len(rows)} cameras"
        facts.append(("Most footage allowed", asked("retention_days_max", "day") + where))
    if covered := sorted({outage.covered_h for outage in plan.site.outages if outage and outage.covered_h}):
        facts.append(("Outage to be covered", f"{span(covered[0], covered[-1])} h"))
    if len(served):
        named = [short(camera, IN_A_FACT) for camera in served["camera"]]
        held, lasting = served["retention_days"].to_numpy(), served["chance_kept"].to_numpy()
        ratio = (moves["mean_up_to_mbit_s"] / moves["planned_mbit_s"]).where(moves["first_to_fail"] != "", np.inf)
        more = ratio[rows["meets"]].to_numpy() - 1
        thinnest = "none: any mean up to the cap keeps the chance"
        if np.isfinite(more.min()):
            thinnest = f"{percent(more.min())} more mean rate, at {named[more.argmin()]}"
        facts += [
            ("Least footage held", f"{number(held.min())} days, by {named[held.argmin()]}"),
            ("Least sure", f"{chance(lasting.min())} to keep all that is asked, the card of {named[lasting.argmin()]}"),
            ("Thinnest margin", thinnest),
        ]
    if plan.site.costs is not None and len(served):
        over = counted(plan.site.costs.horizon_years, "year")
        facts.append((f"Cards and visits, {over}", money(rows["cost"].sum(), plan.site.costs.currency)))
    elif len(order) and order["price"].notna().all():
        facts.append(("Cards, by the list's prices", grouped(f"{(order['cards'] * order['price']).sum():g}")))
    return facts


def _shared(plan: SitePlan) -> list[tuple[str, str]]:
    """Give visits and lifts over the horizon in figures, where cameras share them."""
    visits = plan.visits
    count = len(visits.table)
    if count == visits.separate_visits:
        return []
    told = f"{count}, {visits.climbs} with a lift; apart {visits.separate_visits} and"
    saved = f"; saves {money(visits.saving, visits.currency)}" if visits.saving >= LEAST_TOLD else ""
    return [(f"{SHARED}, {counted(visits.horizon_years, 'year')}", f"{told} {visits.separate_climbs}{saved}")]


def _ends(values: "pd.Series[float]") -> tuple[float, float]:
    return float(values.min()), float(values.max())


def _assumptions(plan: SitePlan) -> list[Assumption]:
    """Give what holds for the whole plan and bears on a figure of the document, and the kind of each."""
    cards = plan.site.offered
    not_here = {SERVICE_ASSUMPTION, *KINDS_TOLD}  # no next change and no number of spares stands in the document
    stated = cards["endurance_tbw"].notna() | cards["rated_h"].notna()
    by_cycles = is_amplification_unknown(cards)
    known = [Assumption("listed", f"Endurance as stated for {counted(int(stated.sum()), 'card')} of {len(cards)}.")]
    if by_cycles.any():
        which = f"{counted(int(by_cycles.sum()), 'card')} of {len(cards)}"
        text = f"Endurance of {which}: from cycles, with a write amplification that follows from the camera."
        known.append(Assumption("assumed", text))
    return [*known, *(Assumption("assumed", text) for text in plan.assumptions if text not in not_here)]


def _checked() -> OutsideChecks:
    """Recompute the outside checks of the models that a plan uses."""
    files = [path for path in own_check_files() if path.stem in MODELS_OF_A_PLAN]
    results = run(read_checks(files))
    passed = int(results["passed"].sum())
    by_kind = {str(kind): count for kind, count in results["kind"].value_counts().items()}
    return OutsideChecks(passed, len(results) - passed, by_kind)
