"""The pages of docs/ that a proposal repeats: the cautions and the terms. Reads those two files only."""

import re
from dataclasses import dataclass
from functools import cache

from edgestore.bundled import bundled
from edgestore.documents.language import ENGLISH, IN_ENGLISH, Language

ELSEWHERE = ("Exercises", "Buffers and traces", "Inside the card")
"""Headings of terms.md whose words have another meaning in a proposal: the mark of a learner, a page of flash."""

ENDINGS = {ENGLISH: "(?:e?s)?", "de": "(?:e?[ns]|e[rm]?)?"}
"""What may follow a term in each language."""


@dataclass(frozen=True)
class Caution:
    """What to do, in a word or two, and the rest of it."""

    lead: str
    text: str


@dataclass(frozen=True)
class Term:
    """A term, its other names, and what it means."""

    names: tuple[str, ...]
    meaning: str


@cache
def cautions() -> tuple[str, dict[str, tuple[Caution, ...]]]:
    """Give docs/safety.md: what stands above all cautions, and the cautions by heading."""
    head, *parts = re.split(r"^## ", _page("safety.md"), flags=re.MULTILINE)
    by_heading = {}
    for part in parts:
        heading, _, text = part.partition("\n")
        items = [" ".join(item.split()) for item in re.split(r"^\* ", text, flags=re.MULTILINE)[1:]]
        by_heading[heading] = tuple(_caution(item) for item in items)
    return " ".join(head.partition("\n")[2].replace("**", "").split()), by_heading


def _caution(item: str) -> Caution:
    _, lead, text = item.split("**", 2) if item.startswith("**") else ("", "", item)
    return Caution(lead, text.strip())


@cache
def terms() -> tuple[Term, ...]:
    """Give the terms of docs/terms.md that pertain to a proposal: all but those under ``ELSEWHERE``."""
    _, *parts = re.split(r"^## ", _page("terms.md"), flags=re.MULTILINE)
    pertaining = "\n".join(part for part in parts if part.partition("\n")[0] not in ELSEWHERE)
    rows = re.findall(r"^\| \*\*(.+?)\*\* \| (.+?) \|$", pertaining, flags=re.MULTILINE)
    return tuple(Term(tuple(name.split(", ")), meaning.replace("`", "")) for name, meaning in rows)


def terms_used(text: str, language: Language = IN_ENGLISH) -> tuple[Term, ...]:
    """Give the terms that pertain to a proposal and that a text uses as whole words, in alphabetical order.

    In the language of the text, with the endings of its plurals.
    """
    told = [Term(tuple(map(language.tell, term.names)), language.tell(term.meaning)) for term in terms()]
    ending = ENDINGS[language.code]
    used = [
        term
        for term in told
        if any(re.search(rf"\b{re.escape(name)}{ending}\b", text, flags=re.IGNORECASE) for name in term.names)
    ]
    return tuple(sorted(used, key=lambda term: term.names[0].lower()))


def _page(name: str) -> str:
    return (bundled("docs") / name).read_text(encoding="utf-8")
