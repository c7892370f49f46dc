"""The proposal as one HTML file that asks for nothing else: no script, no outside reference, every picture in it."""

import base64
import math
import re
from html import unescape
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.documents.content import KINDS, Proposal
from edgestore.documents.reading import terms_used
from edgestore.figures.printed import kinds_chart, life_charts, retention_charts
from edgestore.plan.advice import down, up
from edgestore.text import MADE_WITH, grouped, number, short, visible
from edgestore.units import PERCENT_PER_ONE

TEMPLATE = Path(__file__).with_name("template")

RUNNING = 80
"""Letters of the title at the head of every page; the whole title stands on the first."""

SUMMARY_LINES, LETTERS_A_LINE, LETTERS_A_TITLE_LINE = 18, 90, 38
"""Lines that title, answer, warnings and kinds of card may take in the summary, so that it stays on one page."""


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
    answer = _answer(proposal)
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
        "css": Markup(
            (TEMPLATE / "page.css").read_text(encoding="utf-8")
        ),  # our own file; nothing of the user's is in it
        "running": short(proposal.front.title, RUNNING),
        "answer": answer,
        "order_rows": max(0, _lines_left(proposal, answer)),  # kinds of card that the summary has room for
    }
    template = _environment().get_template("page.html.j2")
    words = re.sub(r"<style>.*?</style>|<[^>]+>", " ", template.render(saying, glossary=()), flags=re.DOTALL)
    return template.render(saying, glossary=terms_used(_without(unescape(words), _names(proposal))))


def _answer(proposal: Proposal) -> str:
    """Give the answer of the summary; where it would leave no line free, without the footage saved."""
    answer = proposal.plan.sentence
    return answer if _lines_left(proposal, answer) > 0 else answer.replace(proposal.plan.footage_saved, "")


def _lines_left(proposal: Proposal, answer: str) -> int:
    """Give how many lines title, answer and warnings leave in the summary."""
    title = 2 * math.ceil(len(proposal.front.title) / LETTERS_A_TITLE_LINE)
    texts = (answer, *proposal.foremost)
    return SUMMARY_LINES - title - sum(math.ceil(len(text) / LETTERS_A_LINE) for text in texts)


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
    }
    return environment


def _shown(value: Any) -> Any:
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _embedded(content: bytes, media_type: str) -> str:
    """Give a file as an address that holds it."""
    return f"data:{media_type};base64,{base64.b64encode(content).decode()}"
