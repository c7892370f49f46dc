"""The proposal as one HTML file that asks for nothing else: no script, no outside reference, every picture in it."""

import base64
import re
import unicodedata
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.documents.asked import wanted_of
from edgestore.documents.content import KINDS, Proposal
from edgestore.documents.reading import terms_used
from edgestore.figures.printed import life_charts, retention_charts
from edgestore.planning.words import down, number, up

TEMPLATE = Path(__file__).with_name("template")

RUNNING = 80
"""Letters of the title at the head of every page; the whole title stands on the first."""

IN_A_WARNING = 240
"""Letters of a warning in the summary, so that it stays on one page; all of each stands in a later section."""

MISLEADING = {*range(0x202A, 0x202F), *range(0x2066, 0x206A)}
"""Signs that turn the direction of the text around them: only ever seen as what they make of it."""


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
    plan, wanted = proposal.plan.plan, wanted_of(proposal.plan)
    saying = {
        "proposal": proposal,
        "rows": plan.to_dict("records"),
        "specifications": proposal.specifications.to_dict("records"),
        "margins": proposal.margins.to_dict("records"),
        "order": proposal.order.to_dict("records"),
        "kinds": KINDS,
        "charts": {"retention": retention_charts(plan, wanted), "life": life_charts(plan, wanted)},
        "css": Markup(
            (TEMPLATE / "page.css").read_text(encoding="utf-8")
        ),  # our own file; nothing of the user's is in it
        "running": _short(proposal.front.title, RUNNING),
        "in_a_warning": IN_A_WARNING,
    }
    template = _environment().get_template("page.html.j2")
    words = re.sub(r"<[^>]+>", " ", template.render(saying, glossary=()))
    return template.render(saying, glossary=terms_used(words))


def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATE),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_visible,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "number": number,
        "up": up,
        "down": down,
        "short": _short,
        "name": lambda text: Markup("<bdi>{}</bdi>").format(_visible(text)),
        "embedded": _embedded,
    }
    return environment


def _visible(value: Any) -> Any:
    """Show letters that no page may hold as a replacement character."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    return "".join("\N{REPLACEMENT CHARACTER}" if _is_unseen(letter) else letter for letter in value)


def _is_unseen(letter: str) -> bool:
    return (unicodedata.category(letter) in ("Cc", "Cs") and letter not in "\n\t") or ord(letter) in MISLEADING


def _short(text: str, letters: int) -> str:
    return text if len(text) <= letters else f"{text[: letters - 1]}…"


def _embedded(content: bytes, media_type: str) -> str:
    """Give a file as an address that holds it."""
    return f"data:{media_type};base64,{base64.b64encode(content).decode()}"
