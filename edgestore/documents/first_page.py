"""Page 1 of a proposal: what to buy, what it costs, what to find out first, who is left, what is not promised."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from textwrap import wrap
from typing import Any

import pandas as pd

from edgestore.documents.facts import NAME, facts_of, span_of
from edgestore.documents.language import IN_ENGLISH, STAYS, Language
from edgestore.plan.measure_first import MeasureFirst
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.visit_calendar import VisitCalendar
from edgestore.text import chance, grouped, money, short, whole

ROOM, LETTERS_A_LINE, LETTERS_A_FACT, LETTERS_A_TITLE_LINE = 32, 94, 64, 36
"""Lines that page 1 has below its first heading besides its own headings, and letters on a line (measured in print)."""

LETTERS_AN_ANSWER_LINE, AN_ANSWER_LINE = 60, 1.35
"""Letters on a line of the answer, which is set larger, and how many of the other lines it takes."""

LINES_OF_IDENTITY = 4
"""Lines that client, reference, revision and validity take at most, beside a logo too."""

LONG_TITLE, LETTERS_A_LONG_TITLE_LINE = 76, 52
"""From so many letters on the title is set smaller, with so many on a line."""

REMEDY, WARNING = 240, 240
"""Letters of what would help a camera, and of a warning, so that none takes the page for itself."""

NAMED = 3
"""Cameras named of those that the same would help; the others are counted."""

LEAST_SHOWN = {"order": 3, "left": 1, "find_out": 1, "warnings": 1}
"""So many of each stand there whatever the room."""

LOTS = 6
"""So many lines of the order go before the facts that decide least, where they have room."""

LEAST_FACTS, FACTS_BEFORE_LOTS = 4, 6
"""So many facts stand there whatever the room, and so many go before further lines of the order; the last ones decide
least."""

NOT_PROMISED = (
    "that any one card lasts (the chance says how many may not); footage from a card's failure until it is changed;"
    " anything at rates above those of section {rates}; anything for cameras that are not assured."
)

LETTERS_A_LABEL = 23
"""Letters on a line of what a fact is of."""

AT_THE_END = (
    ("Not promised:", NOT_PROMISED),
    ("Cards are fitted at height and near power:", "the cautions of section {n} come before any work."),
)
"""What stands on the page in any case, below all else; room for it in English is left by ``ROOM``."""


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
    plan: SitePlan,
    lots: pd.DataFrame,
    visits: VisitCalendar,
    margins: pd.DataFrame,
    warnings: Sequence[str],
    language: Language = IN_ENGLISH,
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
    language : Language
        Language of the texts.

    Returns
    -------
    FirstPage
        All of it; :func:`fitted` leaves out what has no room.
    """
    order = tuple(map(_line, lots.to_dict("records")))
    found, left = _find_out(plan.measure_first, language), _left(plan, language)
    counts = {"order": len(order), "find_out": len(found), "left": len(left), "warnings": len(warnings)}
    return FirstPage(
        answer=_answer(plan, lots, visits, language),
        order=order,
        total=_total(lots),
        facts=tuple(facts_of(plan, visits, margins, language)),
        find_out=tuple(found),
        left=tuple(left),
        warnings=tuple(short(language.tell_marked(text), WARNING) for text in warnings),
        counts=counts,
    )


def fitted(
    first: FirstPage,
    title: str,
    *,
    has_logo: bool,
    has_identity: bool = False,
    language: Language = IN_ENGLISH,
) -> FirstPage:
    """Leave out what has no room on the page, so that it is one page whatever the site.

    Parameters
    ----------
    first : FirstPage
        Everything.
    title : str
        Title of the document.
    has_logo : bool
        Whether a logo stands beside the title, which then has half of the width.
    has_identity : bool
        Whether client, reference or revision stand below the title.
    language : Language
        Language of the page.

    Returns
    -------
    FirstPage
        As much of each part as fits: a line of the order, a camera, a finding and a warning in turn.
    """
    is_long = len(title) > LONG_TITLE
    letters = (LETTERS_A_LONG_TITLE_LINE if is_long else LETTERS_A_TITLE_LINE) // (2 if has_logo else 1)
    room = ROOM - math.ceil((1.4 if is_long else 2) * math.ceil(len(title) / letters))
    room -= math.ceil(AN_ANSWER_LINE * _lines(first.answer, LETTERS_AN_ANSWER_LINE))
    room -= LINES_OF_IDENTITY if has_identity else 0
    room -= not first.find_out  # a line says so
    for parts in AT_THE_END:
        room -= max(0, _lines(" ".join(map(language.say, parts))) - _lines(" ".join(parts)))
    shown = {name: min(least, first.counts[name]) for name, least in LEAST_SHOWN.items()}

    def taken() -> int:
        lines = 0
        for name, count in shown.items():
            texts = getattr(first, name)[:count]
            lines += sum(1 if name == "order" else _lines(text) for text in texts)
            lines += count < first.counts[name]
        return lines

    least, shown["order"] = shown["order"], min(LOTS, first.counts["order"])
    if taken() > room - _lines_of_facts(first.facts[:FACTS_BEFORE_LOTS]):
        shown["order"] = least
    facts = first.facts
    while len(facts) > LEAST_FACTS and taken() > room - _lines_of_facts(facts):
        facts = facts[:-1]
    room -= _lines_of_facts(facts)
    going = [name for name in shown if shown[name] < first.counts[name]]
    while going:
        for name in tuple(going):
            shown[name] += 1
            if taken() > room:
                shown[name] -= 1
                going.remove(name)
            elif shown[name] == first.counts[name]:
                going.remove(name)
    return replace(first, facts=facts, **{name: getattr(first, name)[:count] for name, count in shown.items()})


def _lines_of_facts(facts: Sequence[tuple[str, str]]) -> int:
    return sum(
        max(1, math.ceil(len(much) / LETTERS_A_FACT), math.ceil(len(what) / LETTERS_A_LABEL)) for what, much in facts
    )


def _lines(text: str, letters: int = LETTERS_A_LINE) -> int:
    return len(wrap(text, letters))


def _answer(plan: SitePlan, lots: pd.DataFrame, visits: VisitCalendar, language: Language) -> str:
    rows, wanted, say, many = plan.plan, plan.site.wanted, language.say, language.many
    cameras = many("{n} camera", "{n} cameras", len(rows))
    if lots.empty:
        return say(
            "No card of the list keeps all that is asked at any of {cameras}. Order none of them.", cameras=cameras
        )
    ends = dict.fromkeys(map(chance, (wanted["assurance"].min(), wanted["assurance"].max())))
    served, count = int(rows["meets"].sum()), int(lots["cards"].sum())
    told = {
        "cards": many("{n} card", "{n} cards", count),
        "kinds": many("{n} kind", "{n} kinds", len(lots)),
        "served": served,
        "cameras": cameras,
        "years": span_of(wanted["life_years"], language),
        "asked": say(" to ").join(ends),
    }
    now, due = _now(count, visits)
    if due is None:
        text = say(
            "Fit {cards} of {kinds}: {served} of {cameras} then keep all that is asked for {years} years, each with a"
            " chance of {asked} or more.",
            **told,
        )
    elif now:
        text = say(
            "Fit {now} now, the next by {day}, in all {cards} of {kinds}: {served} of {cameras} then keep all that is"
            " asked for {years} years, each with a chance of {asked} or more.",
            **told,
            now=many("{n} card", "{n} cards", now),
            day=language.date(due),
        )
    else:
        text = say(
            "Fit no card now, the first by {day}, in all {cards} of {kinds}: {served} of {cameras} then keep all that"
            " is asked for {years} years, each with a chance of {asked} or more.",
            **told,
            day=language.date(due),
        )
    left = len(rows) - served
    if not left:
        return text
    needing = many(
        "{n} camera needs a decision first: see below.", "{n} cameras need a decision first: see below.", left
    )
    return f"{text} {needing}"


def _now(cards: int, visits: VisitCalendar) -> tuple[int, str | None]:
    """How many of the cards are fitted on the first day, and the date of the next of the others; None without any."""
    rows = visits.replacements.table
    later = rows.loc[
        (rows["replace_with"] != "") & (rows["replace_on"] > visits.bill.years["begins"].iloc[0]), "replace_on"
    ]
    return cards - len(later), min(later, default=None)


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


def _find_out(first: MeasureFirst, language: Language) -> list[str]:
    """The three best findings, a line each."""
    told, say = [], language.say
    for row in first.best.head(3).to_dict("records"):
        how = language.tell_marked(row["how"].removesuffix(" before ordering"))
        if row["effort"] == row["effort"]:
            how = say("{how}, for {effort}", how=how, effort=money(row["effort"], first.unit))
        changes, worth = chance(row["chance_order_changes"]), money(row["worth"], first.unit)
        told.append(say("{how}: {chance} that the order changes, worth {worth}.", how=how, chance=changes, worth=worth))
    return told


def _left(plan: SitePlan, language: Language) -> list[str]:
    """The cameras that are not assured, the worst first and those alike together, with what would help and its cost."""
    rows = plan.plan.assign(told=plan.untested_band["told"])
    some = rows[rows["state"] != "assured"].sort_values("best_chance", kind="stable")
    alike: dict[str, list[str]] = {}
    say = language.say
    for row in some.to_dict("records"):
        state = say(row["state"])
        if row["state"] == "doubtful":
            state = say("{state}, at best {chance}", state=state, chance=language.tell(row["told"]))
        remedy = language.tell_marked(row["remedy"])
        if not remedy:
            remedy = say("{card} would do, but is not one of the kinds chosen", card=row["card_alone"])
        at = remedy.startswith(STAYS)
        remedy = f"{remedy[:at]}{remedy[at].upper()}{remedy[at + 1 :]}"
        alike.setdefault(f"{state}. {remedy}", []).append(short(row["camera"], NAME))
    told = []
    for text, cameras in alike.items():
        names = ", ".join(cameras[:NAMED])
        if len(cameras) > NAMED:
            names = say("{names} and {n} more", names=names, n=len(cameras) - NAMED)
        told.append(f"{short(f'{names}: {text}', REMEDY).rstrip('.')}.")
    return told
