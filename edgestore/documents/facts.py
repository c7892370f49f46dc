"""The facts of page 1: what was asked, costs, why now, what is saved, margins; each in a line."""

import datetime
from typing import Any

import numpy as np
import pandas as pd

from edgestore.documents.language import IN_ENGLISH, Language
from edgestore.plan.all_together import AllTogether
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.standing import UNKNOWN, WEAR
from edgestore.plan.untested_band import WHOLE_RANGE
from edgestore.plan.visit_calendar import VisitCalendar
from edgestore.text import chance, money, number, percent, short, span, whole

NAME = 30
"""Letters of a camera's name, so that none takes the page for itself."""

LEAST_MARGIN = 0.01
"""A margin of the mean rate that is thinner is told as less than this share of it."""


def facts_of(
    plan: SitePlan, visits: VisitCalendar, margins: pd.DataFrame, language: Language = IN_ENGLISH
) -> list[tuple[str, str]]:
    """Give the facts by which to decide.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    visits : VisitCalendar
        Visits and bill.
    margins : DataFrame
        What would change the choice, of :func:`edgestore.documents.margins.margins`.
    language : Language
        Language of the texts.

    Returns
    -------
    list of (str, str)
        What, and how much; what decides most comes first, since the last ones go where page 1 has no room.
    """
    rows, say, many, figures = plan.plan, language.say, language.many, language.figures
    facts = [(say("Asked"), _asked(plan, language))]
    if how_far := _assured(plan, language):
        facts.append((say("How firmly assured"), how_far))
    if thinnest := _thinnest(plan, margins, language):
        facts.append((say("Smallest margin"), thinnest))
    if (bill := visits.bill).cost == bill.cost and rows["meets"].any():
        parts = bill.years[["cards_cost", "visits_cost", "failures_cost"]].sum()
        text = say(
            "{cost}: cards {cards}; {visits}, {visits_cost}; {failures} expected, {failures_cost}",
            cost=money(bill.cost, visits.currency),
            cards=whole(parts["cards_cost"]),
            visits=_visits(len(visits.table), int(visits.climbs), language),
            visits_cost=whole(parts["visits_cost"]),
            failures=many("{n} failure", "{n} failures", float(f"{visits.failures:.2g}")),
            failures_cost=whole(parts["failures_cost"]),
        )
        facts.append((many("Cost in {n} year", "Cost in {n} years", visits.horizon_years), text))
        facts.append((say("In the first year"), _first_year(bill.years.iloc[0], visits.currency, language)))
    if why_now := _why_now(visits, language):
        facts.append((say("Why now"), why_now))
    if fitted_when := _when(visits, int(rows["meets"].sum()), language):
        facts.append((say("Fitted"), fitted_when))
    if (together := plan.all_together).cameras > 1:
        text = say("keep what is asked with {chance}; {broken} break it on average", **in_figures(together, language))
        facts.append((say("All of them together"), text))
    if (cheapest := _cheapest(plan, language)) is not None:
        facts.append((say("Against the cheapest"), cheapest))
    if "lost_h_per_year" in rows:
        without = float(rows["lost_h_per_year_without_card"].sum())
        saved = without - float(rows["lost_h_per_year"].sum())
        told = {"saved": figures(number(saved)), "all": figures(number(without))}
        text = say("the cards save {saved} of the {all} h a year that the recorder misses", **told)
        facts.append((say("Against no card"), text))
    if fewer := _fewer_kinds(plan, int(rows.loc[rows["meets"], "card"].nunique()), language):
        facts.append((say("With fewer kinds"), fewer))
    return facts


def in_figures(together: AllTogether, language: Language) -> dict[str, str]:
    """What page 1 tells of all cameras together."""
    kept = together.kept.replace(" to ", language.say(" to "))
    return {"chance": language.figures(kept), "broken": language.figures(number(together.broken))}


def _thinnest(plan: SitePlan, margins: pd.DataFrame, language: Language) -> str:
    """Say which assured camera bears the smallest rise of its mean rate; empty where none has a limit."""
    served = plan.plan[plan.plan["meets"]]
    ratio = (margins["mean_up_to_mbit_s"] / margins["planned_mbit_s"]).where(margins["first_to_fail"] != "", np.inf)
    more = (ratio[plan.plan["meets"].to_numpy()] - 1).reset_index(drop=True)
    if not np.isfinite(more.min()):
        return ""
    name = short(served["camera"].iloc[int(more.argmin())], NAME)
    told = {"percent": language.figures(percent(max(more.min(), LEAST_MARGIN))), "camera": name}
    if more.min() < LEAST_MARGIN:
        return language.say("{camera}: its card is no longer assured if the mean rate is even {percent} higher", **told)
    return language.say("{camera}: its card is no longer assured if the mean rate is {percent} higher", **told)


def _assured(plan: SitePlan, language: Language) -> str:
    """Say how many cameras are assured whatever is true of an untested card, and what the others have at worst."""
    band, say = plan.untested_band, language.say
    some = band[band["assured"] != ""]
    if some.empty:
        return ""
    whole_range, count = int((some["assured"] == WHOLE_RANGE).sum()), len(some)
    if whole_range == count:
        return say("all {count} over the whole range of what is assumed of an untested card", count=count)
    return say(
        "{whole_range} over the whole range of what is assumed of an untested card; {middle} on its middle figures,"
        " with {least} at worst",
        whole_range=whole_range or say("none"),
        middle=count - whole_range,
        least=chance(float(some["chance_kept_low"].min())),
    )


def _first_year(year: "pd.Series[Any]", currency: str, language: Language) -> str:
    """Say what is to be paid in the first year, and for what."""
    return language.say(
        "{cost}: cards {cards}, visits {visits}, failures {failures}",
        cost=money(year["total"], currency),
        cards=whole(year["cards_cost"]),
        visits=whole(year["visits_cost"]),
        failures=whole(year["failures_cost"]),
    )


def _fewer_kinds(plan: SitePlan, kinds: int, language: Language) -> str:
    """Say how few kinds assure as many cameras, and for how much more; empty where that takes all of them."""
    front = plan.front
    as_many = front.table[(front.table["assured"] >= int(plan.plan["meets"].sum())) & (front.table["kinds"] <= kinds)]
    if as_many.empty or (least := as_many.iloc[0])["kinds"] >= kinds:
        return ""
    more = least[front.measure] - as_many[front.measure].iloc[-1]
    return language.say(
        "{kinds} would assure as many, for {more} {unit} more",
        kinds=language.many("{n} kind", "{n} kinds", int(least["kinds"])),
        more=whole(more),
        unit="GB" if plan.site.costs is None else plan.site.costs.currency,
    )


def _why_now(visits: VisitCalendar, language: Language) -> str:
    """Say how many cards in service are due at once, and why; empty where none is."""
    due_for, say = visits.replacements.table["due_for"], language.say
    unknown = int((due_for == UNKNOWN).sum())
    told = []
    if broken := int((due_for != WEAR).sum()) - unknown:
        told.append(
            say("{count} of {all} cards in service now break the promise: due at once", count=broken, all=len(due_for))
        )
    if unknown:
        text = "{count} of {all} cards in service are of a kind that the card list does not have: due at once"
        told.append(say(text, count=unknown, all=len(due_for)))
    return "; ".join(told)


def _when(visits: VisitCalendar, cards: int, language: Language) -> str:
    """Say how many cards are fitted in the first year, and until when the others wait; empty where none waits."""
    rows, say = visits.replacements.table, language.say
    later = rows[(rows["replace_with"] != "") & (rows["budget_year"] > 1)]
    if later.empty:
        return ""
    text = say(
        "{now} of {all} cards in the first year, the others by {day}",
        now=cards - len(later),
        all=cards,
        day=language.date(datetime.date.fromisoformat(max(later["replace_on"]))),
    )
    short = int((~later["due_for"].isin([WEAR, UNKNOWN])).sum())
    return text if not short else text + say("; {count} of these break the promise until then", count=short)


def _visits(made: int, climbs: int, language: Language) -> str:
    """Count visits, and those of them with a lift."""
    visits, say = language.many("{n} visit", "{n} visits", made), language.say
    if made <= 1:
        return say("{visits}, with a lift", visits=visits) if climbs else visits
    return say("{visits}, {lifts} of them with a lift", visits=visits, lifts=climbs or say("none"))


def _asked(plan: SitePlan, language: Language) -> str:
    """Say what is asked of the cards of all cameras."""
    wanted, say = plan.site.wanted, language.say
    asked = say("{days} days of footage", days=span_of(wanted["retention_days"], language))
    if wanted["retention_days_max"].notna().any():
        asked += say(" (at most {days} by policy)", days=span_of(wanted["retention_days_max"], language))
    has_cap = plan.plan["cap_mbit_s"].notna().to_numpy()
    of_cap, of_mean = (wanted["speed_margin"][at] for at in (has_cap, ~has_cap))
    if len(of_cap):
        asked += say("; speed {times} times the cap", times=span_of(of_cap, language))
    if len(of_mean):
        asked += say("; speed {times} times the mean where no cap is known", times=span_of(of_mean, language))
    if covered := sorted({outage.covered_h for outage in plan.site.outages if outage and outage.covered_h}):
        asked += say("; outages of {hours} h covered", hours=language.figures(span(covered[0], covered[-1])))
    policies = {
        "camera": say("a card for each camera"),
        "group": say("one kind a group"),
        "site": say("one kind for the site"),
    }
    kinds = policies.get(str(plan.kinds)) or say("{kinds} kinds at most", kinds=plan.kinds)
    return f"{asked}; {kinds}"


def _cheapest(plan: SitePlan, language: Language) -> str | None:
    """Say at how many cameras the cheapest card of the list would do; nothing without prices."""
    offered = plan.site.offered
    if offered["price"].isna().all() or not plan.plan["meets"].any():
        return None
    card = int(offered["price"].argmin())
    kept = plan.tries.given["chance_kept"][:, card]
    enough = int((kept >= plan.plan["wanted_assurance"].to_numpy()).sum())
    return language.say(
        "{card} in every camera would keep all that is asked at {enough} of {all}",
        card=short(offered["card"].iloc[card], NAME),
        enough=enough or language.say("none"),
        all=len(plan.plan),
    )


def span_of(values: "pd.Series[float]", language: Language) -> str:
    """Write the least and the largest of some values."""
    return language.figures(span(values.min(), values.max())).replace(" to ", language.say(" to "))
