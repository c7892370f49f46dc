"""The proposal as one HTML file that asks for nothing else: no script, no outside reference, every picture in it."""

import base64
import re
from collections.abc import Callable, Hashable, Mapping
from functools import partial
from html import unescape
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from edgestore.documents.alternatives import not_compared
from edgestore.documents.conditions import AFTER_FITTING, DEPENDS_ON, ON_DELIVERY, asked_of_offers
from edgestore.documents.content import KINDS, Proposal
from edgestore.documents.first_page import LONG_TITLE, NOT_PROMISED, fitted
from edgestore.documents.front import FrontPage
from edgestore.documents.language import ENGLISH, GOES_ON, STAYS, Language
from edgestore.documents.margins import in_cells
from edgestore.documents.reading import terms_used
from edgestore.documents.sampling import cards_tried, what_a_common_cause_does, what_the_risks_are
from edgestore.documents.untested import told_rows
from edgestore.documents.visits import by_date
from edgestore.documents.why import shown, why
from edgestore.figures.printed import kinds_chart, life_charts, retention_charts
from edgestore.look import STATES, filled, marked
from edgestore.plan.advice import down, up
from edgestore.plan.untested_band import MIDDLE
from edgestore.text import MADE_WITH, NO_BREAK, chance, counted, money, number, short, visible, whole
from edgestore.units import PERCENT_PER_ONE

TEMPLATE = Path(__file__).with_name("template")

RUNNING = 80
"""Letters of the title at the head of every page; the whole title stands on the first."""

OR_NOT: Mapping[str, Callable[[float], str]] = {"whole": whole, "number": number, "chance": chance}
"""How figures are written that a plan may not have."""

IN_THE_HEAD = 60
"""Letters of client, reference and revision, each, on page 1; of the last two a third at every page's head."""

UNITS = ("GB", "TB", "h", "Mbit/s", "Mbyte/s", "%", "days", "years")
BOUND = re.compile(rf"(\d) (?=(?:{'|'.join(map(re.escape, UNITS))})(?![\w/]))")
"""Space between a figure and its unit, where no line may end."""

MOST_UNSERVED = 20
"""Cameras of no lot for which the document specifies a card; all stand in specification.csv."""

NAMED, IN_A_VISIT = 8, 120
"""So many cameras of a lot are named, and letters of the cameras, and of the cards, of a visit."""


LANGUAGE_NOTE = (
    "Where a sentence on this site is not in the catalogue of this language, it is in English, as is the writing in the"
    " charts."
)


def page(proposal: Proposal) -> str:
    """Write a proposal as HTML.

    Parameters
    ----------
    proposal : Proposal
        What it says.

    Returns
    -------
    str
        The page, the same for the same proposal.

    Notes
    -----
    Every text is escaped where it is put in. Letters that no page may hold (control characters, signs that turn the
    direction of what follows) are shown as a replacement character.
    """
    plan, wanted, front = proposal.plan.plan, proposal.plan.site.wanted, proposal.plan.front
    language, identity = proposal.language, _identity(proposal)
    specifications = proposal.specifications.to_dict("records")
    unserved = [(n, row) for n, row in enumerate(specifications, start=1) if not row["card"]]
    has_logo = proposal.front.logo is not None
    lots, together = proposal.lots.to_dict("records"), proposal.plan.site.settings.beliefs["batch_correlation"].median
    saying = {
        "proposal": proposal,
        "NAMED": NAMED,
        "IN_A_VISIT": IN_A_VISIT,
        "LONG_TITLE": LONG_TITLE,
        "made_with": MADE_WITH,
        "rows": plan.to_dict("records"),
        "lots": lots,
        "unserved": unserved[:MOST_UNSERVED],
        "unserved_more": len(unserved[MOST_UNSERVED:]),
        "asked": [*_asked_by_lot(proposal), *asked_of_offers(proposal.asked, language)],
        "bill": _bill(proposal),
        "choice_cost": _choice_cost(proposal),
        "on_delivery": ON_DELIVERY,
        "cards_tried": cards_tried(lots, together),
        "what_the_risks_are": what_the_risks_are(language),
        "common_cause": partial(what_a_common_cause_does, lots, together, language=language),
        "after_fitting": AFTER_FITTING,
        "depends_on": DEPENDS_ON,
        "not_promised": NOT_PROMISED,
        "order_lines": proposal.first_page.order,
        "first_page": fitted(
            proposal.first_page, proposal.front.title, has_logo=has_logo, has_identity=bool(identity), language=language
        ),
        "language": language,
        "say": language.say,
        "many": language.many,
        "language_note": "" if language.code == ENGLISH else language.say(LANGUAGE_NOTE),
        "identity": identity,
        "properties": _properties(proposal.front),
        "validity": _validity(proposal),
        "shown": shown(proposal.plan),
        "told": proposal.plan.table.to_dict("records"),
        "MIDDLE": MIDDLE,
        "untested": told_rows(proposal.plan.site.settings.beliefs, language),
        "why": why(proposal.plan, language),
        "margins": in_cells(proposal.margins, wanted, language),
        "others": proposal.margins["other_card"].tolist(),
        "lesser": "A card that costs less" if proposal.plan.site.costs else "A smaller card",
        "visits_by_date": by_date(proposal.visits, proposal.front.date),
        "kinds": KINDS,
        "alternatives": proposal.alternatives.to_dict("records"),
        "not_compared": not_compared(proposal.plan, proposal.against),
        "charts": {
            "retention": retention_charts(plan, wanted),
            "life": life_charts(plan, wanted),
            "kinds": kinds_chart(front),
        },
        "front": front,
        "first": proposal.plan.measure_first,
        "css": Markup(_style(proposal)),  # nothing of the user's is in it but colours and fonts that were looked at
        "STATES": STATES,
        "running": _running(proposal),
    }
    template = _environment(language).get_template("page.html.j2")
    words = re.sub(r"<style>.*?</style>|<[^>]+>", " ", template.render(saying, glossary=()), flags=re.DOTALL)
    return template.render(saying, glossary=terms_used(_without(unescape(words), proposal.names), language))


def _style(proposal: Proposal) -> str:
    """The stylesheet with the colours and fonts of the house."""
    theme = proposal.front.theme
    return filled((TEMPLATE / "page.css").read_text(encoding="utf-8"), theme.colours) + theme.faces


def _identity(proposal: Proposal) -> list[tuple[str, str]]:
    """For whom the document is, its reference, its revision and how long it holds; what is not stated is left out."""
    front, language = proposal.front, proposal.language
    until = "" if front.valid_until is None else language.date(front.valid_until)
    told = (
        (language.say("For"), front.client),
        (language.say("Reference"), front.reference),
        (language.say("Revision"), front.revision),
        (language.say("Valid until"), until),
    )
    return [(what, short(text, IN_THE_HEAD)) for what, text in told if text]


def _running(proposal: Proposal) -> str:
    """What stands at the head of every page: the title, the reference and the revision."""
    front, letters = proposal.front, IN_THE_HEAD // 3
    named = [short(front.reference, letters)] if front.reference else []
    if front.revision:
        named.append(proposal.language.say("revision {revision}", revision=short(front.revision, letters)))
    own = ", ".join(named)
    return ", ".join(filter(None, [short(front.title, RUNNING - len(own)), own]))


def _properties(front: FrontPage) -> list[tuple[str, str]]:
    """Properties of the document besides title and author, by name."""
    until = "" if front.valid_until is None else front.valid_until.isoformat()
    told = {
        "client": front.client,
        "reference": front.reference,
        "revision": front.revision,
        "valid-until": until,
        "organisation": front.organisation,
    }
    return [(name, text) for name, text in told.items() if text]


def _validity(proposal: Proposal) -> str:
    """Say how long the proposal holds, and what the house says of it."""
    front, language = proposal.front, proposal.language
    told = [front.theme.validity]
    if front.valid_until is not None:
        told.insert(0, language.say("This proposal is valid until {date}.", date=language.date(front.valid_until)))
    return " ".join(filter(None, told))


def _bill(proposal: Proposal) -> list[Mapping[Hashable, Any]]:
    """The bill by year, with the total below; nothing where no cost is counted."""
    bill = proposal.visits.bill
    if bill.cost != bill.cost or proposal.lots.empty:
        return []
    rows = bill.years.to_dict("records")
    return [*rows, {**bill.years.sum(numeric_only=True).to_dict(), "year": "All", "begins": ""}]


def _asked_by_lot(proposal: Proposal) -> list[tuple[str, str]]:
    """What is asked of each lot, in a row of the table that a bidder fills in."""
    return [
        (proposal.language.say("Lot {n}", n=row["lot"]), f"{row['capacity']}; {row['speed']}; {row['endurance']}")
        for row in proposal.lots.to_dict("records")
    ]


def _choice_cost(proposal: Proposal) -> str:
    """Say what the choice made small, and why the bill is another figure; empty where no cost is counted."""
    costs, rows = proposal.plan.site.costs, proposal.plan.plan
    if costs is None or not rows["meets"].any():
        return ""
    return (
        f"The kinds are compared by what new cards, each camera visited by itself, cost in"
        f" {counted(costs.horizon_years, 'year')}: {money(rows['cost'].sum(), costs.currency)}. The bill of section"
        f" 1 begins with the cards in service, shares the visits and keeps their dates when a card fails."
        f" {proposal.plan.kept_to_change}"
    ).rstrip()


def _without(text: str, names: frozenset[str]) -> str:
    """Leave out of a text the names that hold a term."""
    for name in sorted((name for name in names if terms_used(name)), key=len, reverse=True):
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", " ", text)
    return text


def _environment(language: Language) -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATE),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "number": number,
        "up": up,
        "down": down,
        "percent": lambda fraction: f"{PERCENT_PER_ONE * fraction:.3g}",
        "whole": whole,
        **{f"{name}_or_not": partial(_or_not, told=told) for name, told in OR_NOT.items()},
        "short": short,
        "name": lambda text: Markup("<bdi>{}</bdi>").format(visible(text)),
        "embedded": _embedded,
        "states": _with_states,
        "english": _english,
        "say": language.say,
        "tell": partial(_told, language=language),
        "figures": language.figures,
        "date": language.date,
        "bound": lambda text: BOUND.sub(rf"\1{NO_BREAK}", text),
    }
    return environment


def _told(text: str, language: Language) -> Markup:
    """Escape what the plan says, in the language of the document; what stayed English is marked."""
    parts = (
        Markup("{}" if is_told else '<span lang="en">{}</span>').format(visible(part))
        for part, is_told in language.parts(text)
    )
    return Markup(" ").join(parts)


def _english(text: str) -> Markup:
    """Escape a text of page 1, and mark what stayed English in it, where it was cut short too."""
    parts = re.split(f"{STAYS}|{GOES_ON}", text)
    return Markup().join(
        Markup('<span lang="en">{}</span>' if at % 2 else "{}").format(visible(part)) for at, part in enumerate(parts)
    )


def _with_states(text: str) -> Markup:
    """Escape a text, and let the stylesheet mark the states that it counts."""
    return Markup(marked(str(escape(text)), lambda state, words: f'<span class="state {state.colour}">{words}</span>'))


def _shown(value: Any) -> Any:
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _or_not(value: float, told: Callable[[float], str]) -> str:
    """Write a figure, or a dash where there is none."""
    return told(value) if value == value else "-"


def _embedded(content: bytes, media_type: str) -> str:
    """Give a file as an address that holds it."""
    return f"data:{media_type};base64,{base64.b64encode(content).decode()}"
