"""The proposal as one HTML file that asks for nothing else: no script, no outside reference, every picture in it."""

import base64
import math
import re
from html import unescape
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from edgestore.documents.content import KINDS, SHARED, Proposal
from edgestore.documents.reading import terms_used
from edgestore.figures.printed import kinds_chart, life_charts, retention_charts
from edgestore.look import STATES, filled, marked
from edgestore.plan.advice import down, up
from edgestore.text import MADE_WITH, grouped, number, short, visible
from edgestore.units import PERCENT_PER_ONE

TEMPLATE = Path(__file__).with_name("template")

RUNNING = 80
"""Letters of the title at the head of every page; the whole title stands on the first."""

LETTERS_A_FACT = 60
"""Letters on a line of a figure of the summary."""

SUMMARY_LINES, WITHOUT_ORDER, LETTERS_A_LINE, LETTERS_A_TITLE_LINE = 18, 21, 95, 38
"""Lines that title, answer, warnings, visits and kinds of card may take in the summary, so that it stays on one page,
and those that they may take where no kind of card stands there (measured in print)."""


LONG_ANSWER = 300
"""From so many letters on the answer is set in the size of the text."""


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
    answer, facts, order_rows = _summary(proposal)
    saying = {
        "proposal": proposal,
        "LONG_ANSWER": LONG_ANSWER,
        "made_with": MADE_WITH,
        "rows": plan.to_dict("records"),
        "specifications": proposal.specifications.to_dict("records"),
        "margins": proposal.margins.to_dict("records"),
        "order": proposal.order.to_dict("records"),
        "kinds": KINDS,
        "charts": {
            "retention": retention_charts(plan, wanted),
            "life": life_charts(plan, wanted),
            "kinds": kinds_chart(front),
        },
        "front": front,
        "first": proposal.plan.measure_first,
        "css": Markup(filled((TEMPLATE / "page.css").read_text(encoding="utf-8"))),  # nothing of the user's is in it
        "STATES": STATES,
        "running": short(proposal.front.title, RUNNING),
        "answer": answer,
        "facts": facts,
        "order_rows": order_rows,
    }
    template = _environment().get_template("page.html.j2")
    words = re.sub(r"<style>.*?</style>|<[^>]+>", " ", template.render(saying, glossary=()), flags=re.DOTALL)
    return template.render(saying, glossary=terms_used(_without(unescape(words), _names(proposal))))


def _summary(proposal: Proposal) -> tuple[str, list[tuple[str, str]], int]:
    """Give answer and figures of the summary, and how many kinds of card it has room for.

    Where that leaves no line free, the answer comes without the footage saved. The section on kinds tells both.
    """
    answer = proposal.plan.sentence
    if _lines(proposal, answer) >= SUMMARY_LINES:
        answer = answer.replace(proposal.plan.footage_saved, "")
    lines, facts = _lines(proposal, answer), []
    for what, much in proposal.facts:
        if what.startswith(SHARED):
            more = math.ceil(len(much) / LETTERS_A_FACT)
            if lines + more > WITHOUT_ORDER:
                continue
            lines += more
        facts.append((what, much))
    return answer, facts, max(0, SUMMARY_LINES - lines)


def _lines(proposal: Proposal, answer: str) -> int:
    """Count the lines of title, answer and warnings in the summary."""
    title = 2 * math.ceil(len(proposal.front.title) / LETTERS_A_TITLE_LINE)
    return title + sum(math.ceil(len(text) / LETTERS_A_LINE) for text in (answer, *proposal.foremost))


def _names(proposal: Proposal) -> set[str]:
    """Give the texts of the user, which may hold a term in another meaning."""
    front, plan = proposal.front, proposal.plan
    cameras = plan.site.cameras
    columns = (cameras["camera"], cameras["place"], cameras["group"], plan.site.offered["card"])
    return {front.title, front.organisation, front.author}.union(*columns)


def _without(text: str, names: set[str]) -> str:
    """Leave out of a text the names that hold a term."""
    for name in sorted((name for name in names if terms_used(name)), key=len, reverse=True):
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", " ", text)
    return text


def _environment() -> Environment:
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
        "whole": lambda amount: grouped(f"{amount:.0f}"),
        "short": short,
        "name": lambda text: Markup("<bdi>{}</bdi>").format(visible(text)),
        "embedded": _embedded,
        "states": _with_states,
    }
    return environment


def _with_states(text: str) -> Markup:
    """Escape a text, and let the stylesheet mark the states that it counts."""
    return Markup(marked(str(escape(text)), lambda state, words: f'<span class="state {state.colour}">{words}</span>'))


def _shown(value: Any) -> Any:
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _embedded(content: bytes, media_type: str) -> str:
    """Give a file as an address that holds it."""
    return f"data:{media_type};base64,{base64.b64encode(content).decode()}"
