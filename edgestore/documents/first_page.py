"""Page 1 of a proposal: what to buy, what it costs, what to find out first, who is left, what is not promised."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from textwrap import wrap
from typing import Any

import numpy as np
import pandas as pd

from edgestore.plan.measure_first import MeasureFirst
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.visit_calendar import VisitCalendar, lifts
from edgestore.text import chance, counted, expected, grouped, money, number, percent, short, span, whole

ROOM, LETTERS_A_LINE, LETTERS_A_FACT, LETTERS_A_TITLE_LINE = 30, 94, 64, 36
"""Lines that page 1 has below its first heading besides its own headings, and letters on a line (measured in print)."""

LONG_TITLE, LETTERS_A_LONG_TITLE_LINE = 76, 52
"""From so many letters on the title is set smaller, with so many on a line."""

NAME, REMEDY, WARNING = 30, 240, 240
"""Letters of a camera's name, of what would help it, and of a warning, so that none takes the page for itself."""

LEAST_SHOWN = {"order": 3, "left": 1, "find_out": 1, "warnings": 1}
"""So many of each stand there whatever the room."""

NOT_PROMISED = (
    "that any one card lasts (the chance says how many may not); footage from a card's failure until it is changed;"
    " anything at rates above those of section {rates}; anything for cameras that are not assured."
)


@dataclass(frozen=True)
class FirstPage:
    """What stands on page 1.

    Attributes
    ----------
    answer : str
        What is recommended, in one or two sentences.
    order : tuple of mapping
        Lines of the order: ``lot``, ``card``, ``cards``, ``spares``, ``price`` of one and ``cost`` of all, as texts.
    total : mapping or None
        The same of the whole order; None where there is nothing to order.
    facts : tuple of (str, str)
        What was asked, costs, what is saved, margins: what, and how much.
    find_out, left, warnings : tuple of str
        What to find out before ordering, the cameras that are not assured with what would help, and warnings, the
        gravest first.
    counts : mapping of str to int
        How many there are of each in all; fewer stand here where the page has no room.
    """

    answer: str
    order: tuple[Mapping[str, str], ...]
    total: Mapping[str, str] | None
    facts: tuple[tuple[str, str], ...]
    find_out: tuple[str, ...]
    left: tuple[str, ...]
    warnings: tuple[str, ...]
    counts: Mapping[str, int]

    def cut(self, name: str) -> int:
        """How many of ``order``, ``find_out``, ``left`` or ``warnings`` do not stand here."""
        return self.counts[name] - len(getattr(self, name))


def first_page(
    plan: SitePlan, lots: pd.DataFrame, visits: VisitCalendar, margins: pd.DataFrame, warnings: Sequence[str]
) -> FirstPage:
    """Say on one page what to decide.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    lots : DataFrame
        The order by lots, of :func:`edgestore.documents.lots.lots`.
    visits : VisitCalendar
        Visits and bill.
    margins : DataFrame
        What would change the choice, of :func:`edgestore.documents.margins.margins`.
    warnings : sequence of str
        Warnings, the gravest first.

    Returns
    -------
    FirstPage
        All of it; :func:`fitted` leaves out what has no room.
    """
    order, found, left = tuple(map(_line, lots.to_dict("records"))), _find_out(plan.measure_first), _left(plan)
    counts = {"order": len(order), "find_out": len(found), "left": len(left), "warnings": len(warnings)}
    return FirstPage(
        answer=_answer(plan, lots),
        order=order,
        total=_total(lots),
        facts=tuple(_facts(plan, visits, margins)),
        find_out=tuple(found),
        left=tuple(left),
        warnings=tuple(short(text, WARNING) for text in warnings),
        counts=counts,
    )


def fitted(first: FirstPage, title: str, *, has_logo: bool) -> FirstPage:
    """Leave out what has no room on the page, so that it is one page whatever the site.

    Parameters
    ----------
    first : FirstPage
        Everything.
    title : str
        Title of the document.
    has_logo : bool
        Whether a logo stands beside the title, which then has half of the width.

    Returns
    -------
    FirstPage
        As much of each part as fits: a line of the order, a camera, a finding and a warning in turn.
    """
    is_long = len(title) > LONG_TITLE
    letters = (LETTERS_A_LONG_TITLE_LINE if is_long else LETTERS_A_TITLE_LINE) // (2 if has_logo else 1)
    room = ROOM - math.ceil((1.4 if is_long else 2) * math.ceil(len(title) / letters)) - _lines(first.answer)
    room -= not first.find_out  # a line says so
    room -= sum(max(1, math.ceil(len(much) / LETTERS_A_FACT)) for _, much in first.facts)
    shown = {name: min(least, first.counts[name]) for name, least in LEAST_SHOWN.items()}

    def taken() -> int:
        lines = 0
        for name, count in shown.items():
            texts = getattr(first, name)[:count]
            lines += sum(1 if name == "order" else _lines(text) for text in texts)
            lines += count < first.counts[name]
        return lines

    going = [name for name in shown if shown[name] < first.counts[name]]
    while going:
        for name in tuple(going):
            shown[name] += 1
            if taken() > room:
                shown[name] -= 1
                going.remove(name)
            elif shown[name] == first.counts[name]:
                going.remove(name)
    return replace(first, **{name: getattr(first, name)[:count] for name, count in shown.items()})


def _lines(text: str) -> int:
    return len(wrap(text, LETTERS_A_LINE))


def _answer(plan: SitePlan, lots: pd.DataFrame) -> str:
    rows, wanted = plan.plan, plan.site.wanted
    if lots.empty:
        return (
            f"No card of the list keeps all that is asked at any of {counted(len(rows), 'camera')}. Order none of them."
        )
    asked = " to ".join(dict.fromkeys(map(chance, (wanted["assurance"].min(), wanted["assurance"].max()))))
    cards, kinds = counted(int(lots["cards"].sum()), "card"), counted(len(lots), "kind")
    years = span(wanted["life_years"].min(), wanted["life_years"].max())
    served = int(rows["meets"].sum())
    text = (
        f"Fit {cards} of {kinds}: {served} of {counted(len(rows), 'camera')} then keep all that is asked for {years}"
        f" years, each with a chance of {asked} or more."
    )
    left = len(rows) - served
    return (
        text
        if not left
        else f"{text} {counted(left, 'camera')} need{'s' if left == 1 else ''} a decision first: see below."
    )


def _line(row: Mapping[Any, Any]) -> Mapping[str, str]:
    is_priced = row["price"] == row["price"]
    return {
        "lot": str(row["lot"]),
        "card": row["card"],
        "cards": grouped(str(row["cards"])),
        "spares": grouped(str(row["spares"])) if row["spares"] else "-",
        "price": whole(row["price"]) if is_priced else "",
        "cost": whole(row["cost"]) if is_priced else "",
    }


def _total(lots: pd.DataFrame) -> Mapping[str, str] | None:
    if lots.empty:
        return None
    cost = lots["cost"].sum(skipna=False)
    return {
        "cards": grouped(str(int(lots["cards"].sum()))),
        "spares": grouped(str(int(lots["spares"].sum()))) if lots["spares"].any() else "-",
        "cost": whole(cost) if cost == cost else "",
    }


def _facts(plan: SitePlan, visits: VisitCalendar, margins: pd.DataFrame) -> list[tuple[str, str]]:
    rows, wanted = plan.plan, plan.site.wanted
    days, most = wanted["retention_days"], wanted["retention_days_max"]
    asked = f"{span(days.min(), days.max())} days of footage"
    if most.notna().any():
        asked += f" (at most {span(most.min(), most.max())} by policy)"
    asked += f"; speed {span(wanted['speed_margin'].min(), wanted['speed_margin'].max())} times the cap"
    if covered := sorted({outage.covered_h for outage in plan.site.outages if outage and outage.covered_h}):
        asked += f"; outages of {span(covered[0], covered[-1])} h covered"
    policy = {"camera": "a card for each camera", "group": "one kind a group", "site": "one kind for the site"}
    facts = [("Asked", f"{asked}; {policy.get(str(plan.kinds), f'{plan.kinds} kinds at most')}")]
    if (bill := visits.bill).cost == bill.cost and rows["meets"].any():
        parts = bill.years[["cards_cost", "visits_cost", "failures_cost"]].sum()
        made = len(visits.table)
        facts.append(
            (
                f"Cost in {counted(visits.horizon_years, 'year')}",
                f"{money(bill.cost, visits.currency)}: cards {whole(parts['cards_cost'])}; {counted(made, 'visit')}"
                f"{lifts(made, visits.climbs)}, {whole(parts['visits_cost'])};"
                f" {expected(visits.failures, 'failure')} expected, {whole(parts['failures_cost'])}",
            )
        )
    if "lost_h_per_year" in rows:
        without = float(rows["lost_h_per_year_without_card"].sum())
        saved = without - float(rows["lost_h_per_year"].sum())
        facts.append(
            ("Against no card", f"{number(saved)} of {number(without)} h a year are saved that the recorder misses")
        )
    if (cheapest := _cheapest(plan)) is not None:
        facts.append(("Against the cheapest", cheapest))
    served = rows[rows["meets"]]
    if len(served):
        least = served.sort_values("chance_kept", kind="stable").iloc[0]
        facts.append(("Least sure", f"{chance(least['chance_kept'])}: {short(least['camera'], NAME)}"))
        ratio = (margins["mean_up_to_mbit_s"] / margins["planned_mbit_s"]).where(margins["first_to_fail"] != "", np.inf)
        more = (ratio[rows["meets"].to_numpy()] - 1).reset_index(drop=True)
        if np.isfinite(more.min()):
            name = short(served["camera"].iloc[int(more.argmin())], NAME)
            facts.append(("Thinnest margin", f"{percent(more.min())} more mean rate, at {name}"))
    return facts


def _cheapest(plan: SitePlan) -> str | None:
    """Say at how many cameras the cheapest card of the list would do; nothing without prices."""
    offered = plan.site.offered
    if offered["price"].isna().all() or not plan.plan["meets"].any():
        return None
    card = int(offered["price"].argmin())
    kept = plan.tries.given["chance_kept"][:, card]
    enough = int((kept >= plan.plan["wanted_assurance"].to_numpy()).sum())
    name, count = short(offered["card"].iloc[card], NAME), len(plan.plan)
    return f"{name} in every camera would keep all that is asked at {enough or 'none'} of {count}"


def _find_out(first: MeasureFirst) -> list[str]:
    """The three best findings, a line each."""
    told = []
    for row in first.best.head(3).to_dict("records"):
        effort = "" if row["effort"] != row["effort"] else f", for {money(row['effort'], first.unit)}"
        how, unit = row["how"].removesuffix(" before ordering"), first.unit
        changes = f"{chance(row['chance_order_changes'])} that the order changes"
        told.append(f"{how}{effort}: {changes}, worth {money(row['worth'], unit)}.")
    return told


def _left(plan: SitePlan) -> list[str]:
    """The cameras that are not assured, the worst first, with what would help and what it costs."""
    some = plan.plan[plan.plan["state"] != "assured"].sort_values("best_chance", kind="stable")
    told = []
    for row in some.to_dict("records"):
        best = f", at best {chance(row['best_chance'])}" if row["state"] == "doubtful" else ""
        remedy = row["remedy"] or f"{row['card_alone']} would do, but is not one of the kinds chosen"
        text = f"{short(row['camera'], NAME)}: {row['state']}{best}. {remedy[0].upper()}{remedy[1:]}"
        told.append(f"{short(text, REMEDY).rstrip('.')}.")
    return told
