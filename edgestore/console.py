"""What the commands ``plan`` and ``propose`` print: a summary that fits a screen, everything, or JSON for programs."""

import datetime
import json
import os
import re
import shutil
import textwrap
import unicodedata
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

import numpy as np
import pandas as pd

from edgestore.look import STATES, State, marked
from edgestore.text import MADE_WITH, NO_BREAK, chance, counted, money, short, visible

if TYPE_CHECKING:
    from edgestore.plan.site_plan import SitePlan
    from edgestore.plan.what_if import WhatIf

LINES = 30
"""The summary of any site has no more."""

LONGEST_LINE = 100
"""Prose is not set wider than this, however wide the terminal is."""

NAME = 28
"""So many letters of a name stand in the summary."""

WORST = 5
"""Cameras not assured that the summary names, the worst first."""

KINDS = 4
"""Kinds of card that the summary counts one by one."""

VISITS = 3
"""Days with visits that the summary tells."""

GRAVEST = 2
"""Warnings that the summary tells."""


SECOND = "\ufdd0"
"""Stands for the second column of a letter that takes two; a code point that no text has."""

_WIDE = re.compile(f"(.{SECOND})")


class _Wrapper(textwrap.TextWrapper):
    """Breaks lines between wide letters too, as their scripts do, but never within a path that stays whole."""

    def _split(self, text: str) -> list[str]:
        chunks: list[str] = super()._split(text)
        return [
            part for chunk in chunks for part in (_WIDE.split(chunk) if self._may_break(chunk) else [chunk]) if part
        ]

    def _may_break(self, chunk: str) -> bool:
        return self.break_long_words or not re.search(r"[/\\]", chunk)


def _spread(text: str) -> str:
    """Put ``SECOND`` after each letter that takes two columns of a terminal, as Chinese ones do."""
    if text.isascii():
        return text
    return "".join(f"{c}{SECOND}" if unicodedata.east_asian_width(c) in "WF" else c for c in text)


def width_of(line: str) -> int:
    """Columns of a terminal that a line takes.

    Examples
    --------
    >>> width_of("gate"), width_of("正門")
    (4, 4)
    """
    return len(_spread(line))


def columns() -> int:
    """Width of the terminal, in letters; ``LONGEST_LINE`` where the output goes to a file."""
    return shutil.get_terminal_size((LONGEST_LINE, LINES)).columns


def paragraph(
    text: str, width: int, *, lines: int | None = None, indent: str = "", whole_words: bool = False
) -> list[str]:
    """Set a text in lines.

    Parameters
    ----------
    text : str
        The text.
    width : int
        Most columns of a line, of which a Chinese letter takes two; prose is not set wider than ``LONGEST_LINE``.
    lines : int, optional
        Most lines; what does not fit is left out, marked by an ellipsis. All of it when left out.
    indent : str
        What the first line begins with; the others stand four letters further in.
    whole_words : bool
        Leave a word that is wider than the terminal whole, as a path that is to be copied.

    Returns
    -------
    list of str
        The lines.
    """
    wrapper = _Wrapper(
        min(width, LONGEST_LINE),
        initial_indent=indent,
        subsequent_indent=f"{indent}    ",
        break_on_hyphens=False,
        break_long_words=not whole_words,
        max_lines=lines,
        placeholder=" …",
    )
    return [line.replace(SECOND, "") for line in wrapper.wrap(_spread(text))]


def say(text: str) -> None:
    """Print a text in lines no wider than the terminal; a word stays whole, as a path that is to be copied."""
    for line in paragraph(text, columns(), whole_words=True):
        print(line)


def summary(
    plan: "SitePlan",
    folder: Path,
    width: int,
    *,
    first: Sequence[str] = (),
    change: "WhatIf | None" = None,
    last: Sequence[str] = (),
) -> list[str]:
    """Tell a plan in at most ``LINES`` lines.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    folder : Path
        Where the rest was written.
    width : int
        Width of the terminal, in letters; only the path of the folder, which must stay whole, may be longer.
    first : sequence of str
        Warnings that go before those of the plan.
    change : WhatIf, optional
        The comparison with another plan.
    last : sequence of str
        What is told after the headline: two lines each at most, one where there are more than two.

    Returns
    -------
    list of str
        The lines: the headline, the cameras that no card serves as asked and what would help, what to buy, the next
        visits, what to find out first, the gravest warnings, and where the rest is.
    """
    texts = (*first, *plan.warnings_by_weight)
    rest = f"{counted(len(texts), 'warning')}, all reasons and assumptions: --full. The tables are in"
    where = [*paragraph(rest, width, lines=2), f"    {folder}"]
    foot = [*_gravest(texts, width, GRAVEST), *where]
    comparison = [] if change is None else paragraph(f"Compared: {change.sentence}", width, lines=2)
    head = [
        *paragraph(marked(plan.headline, _with_mark), width, lines=4),
        *(line for text in last for line in paragraph(text, width, lines=2 if len(last) <= 2 else 1)),
    ]
    middle = [_to_buy(plan, width), _next_visits(plan, width), [*_find_out(plan, width), *comparison]]
    room = LINES - sum(map(len, (head, *middle, foot)))
    above = [section for section in (head, _undecided(plan, width, room), *middle) if section]
    spare = LINES - sum(map(len, above)) - len(where)
    gaps = spare - len(_gravest(texts, width, spare))  # blank lines, from the top on
    sections = [*above, [*_gravest(texts, width, spare), *where]]
    return [line for at, section in enumerate(sections) for line in ([""] * (0 < at <= gaps) + section)]


def _gravest(texts: Sequence[str], width: int, room: int) -> list[str]:
    """Tell the gravest warnings whole, or as far as they name the cameras, or fewer of them, as the room allows."""
    told = [f"Warning: {text}" for text in texts[:GRAVEST]]
    named = [f"Warning: {text.partition(': ')[0].rstrip('.')}." for text in texts[:GRAVEST]]
    ways = [told, [*told[:1], *named[1:]], named, told[:1], named[:1]]
    lines = ([line for text in way for line in paragraph(text, width)] for way in ways)
    first = next((way for way in lines if len(way) <= room), None)
    return paragraph(named[0], width, lines=room) if first is None else first


def _with_mark(state: State, words: str) -> str:
    return f"{state.mark}{NO_BREAK}{words}"


def as_shown(line: str, stream: TextIO) -> str:
    """Fit the marks of the states to what a stream shows: colours on a terminal, plain letters where it has no others.

    Parameters
    ----------
    line : str
        A line of the summary.
    stream : TextIO
        Where it is printed. Nothing is coloured where the environment sets ``NO_COLOR`` or says ``TERM=dumb``.

    Returns
    -------
    str
        The line for it.
    """
    marks = "".join(state.mark for state in STATES.values())
    is_plain = marks.encode(stream.encoding or "ascii", "ignore").decode(stream.encoding or "ascii") != marks
    is_coloured = stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    for word, state in STATES.items():
        pattern = rf"{state.mark}{NO_BREAK}((?:\d[\d{NO_BREAK}]* )?{word}\b)"
        shown = rf"{state.plain if is_plain else state.mark} \1"
        line = re.sub(pattern, f"\x1b[{state.ansi}m{shown}\x1b[0m" if is_coloured else shown, line)
    return line


def _undecided(plan: "SitePlan", width: int, room: int) -> list[str]:
    """Name the worst cameras that are not assured, with what would help."""
    rows = plan.plan.assign(told=plan.untested_band["told"])
    some = rows[rows["state"] != "assured"].sort_values("best_chance", kind="stable")
    if some.empty:
        return []
    items = [_helped(row) for row in some.head(min(WORST, max(room - 1, 0))).to_dict("records")]
    told = [paragraph(text, width, lines=2, indent="  ") for text in items]
    for at in reversed(range(len(told))):
        if 1 + sum(map(len, told)) > room:
            told[at] = paragraph(items[at], width, lines=1, indent="  ")
    which = f"the worst {len(items)} of {len(some)}" if len(some) > len(items) else str(len(some))
    heading = paragraph(f"Not assured ({which}), and what would help:", width, lines=1)
    return [*heading, *(line for lines in told for line in lines)]


def _helped(row: dict[Any, Any]) -> str:
    """Tell of a camera how sure its best card is, and the first remedy."""
    best = f" with {row['told']}" if row["state"] == "doubtful" else ""
    remedy = row["remedy"] or f"{_name(row['card_alone'])} would do, but is not one of the kinds chosen"
    state = _with_mark(STATES[row["state"]], row["state"])
    return f"{_name(row['camera'])}: {state}{best}. {visible(remedy[0].upper() + remedy[1:])}"


def _to_buy(plan: "SitePlan", width: int) -> list[str]:
    """Tell the cards to buy, by kind, with their total where all have a price."""
    from edgestore.plan.order import order_list

    order = order_list(plan)
    if order.empty:
        return []
    count, spares, costs = order["cards"] + order["spares"], int(order["spares"].sum()), plan.site.costs
    text = "To buy" if plan.calendar is None else "To buy, each by the date of its visit"
    text += f": {counted(count.sum(), 'card')}"
    if spares:
        text += f" with {counted(spares, 'spare')}"
    if costs is not None and order["price"].notna().all():
        text += f", {money((count * order['price']).sum(), costs.currency)}"
    shown = len(order) if len(order) <= KINDS + 1 else KINDS  # a line on one other kind would be no shorter
    kinds = [f"{number} x {_name(card)}" for number, card in zip(count[:shown], order["card"][:shown], strict=True)]
    if len(order) > shown:
        others = counted(len(order) - shown, "other kind")
        kinds.append(f"{counted(count[shown:].sum(), 'card')} of {others}")
    lines = [line for kind in kinds for line in paragraph(kind, width, lines=1, indent="  ")]
    return [*paragraph(text, width, lines=1), *lines]


def _next_visits(plan: "SitePlan", width: int) -> list[str]:
    """Count the visits over the horizon, and tell the next days of visits in a line each."""
    from edgestore.plan.visit_calendar import lifts

    visits = plan.visits
    climbs = f", {visits.climbs} of them with a lift" if visits.climbs else ""
    counts = f"{counted(len(visits.table), 'visit')} in {counted(visits.horizon_years, 'year')}"
    lines = paragraph(f"Next of {counts}{climbs}:", width, lines=1)
    for date, rows in list(visits.table.groupby("date"))[:VISITS]:
        way = " with a lift" if rows["with_lift"].any() else ""
        text = f"{visible(rows['cameras'].iloc[0])}; bring {visible(rows['cards'].iloc[0])}"
        if len(rows) > 1:
            many = lifts(len(rows), int(rows["with_lift"].sum())) if way else ""
            way, text = "", f"{len(rows)} visits{many}, the first to {visible(rows['cameras'].iloc[0])}"
        day = str(date) if str(date) >= str(datetime.date.today()) else "Now"
        lines += paragraph(f"{day}{way}: {text}", width, lines=1, indent="  ")
    return [*lines, *paragraph(visits.replacements.put_off, width, lines=4)]


def _find_out(plan: "SitePlan", width: int) -> list[str]:
    """Tell the finding that is worth most, or that none is worth its effort, and what to state to have it in money."""
    first = plan.measure_first
    told = paragraph(f"Find out first: {first.sentences[0]}", width, lines=3)
    return [*told, *(line for text in first.in_money for line in paragraph(text, width, indent="    "))]


def _name(name: str) -> str:
    return visible(short(name, NAME))


def full_text(plan: "SitePlan", width: int, *, change: "WhatIf | None" = None, last: Sequence[str] = ()) -> list[str]:
    """Tell all of a plan: tables, reasons, findings, visits, warnings and assumptions, the headline first and last."""
    from edgestore.plan.visit_calendar import VISITS_ASSUMPTION

    answer = [plan.sentence, plan.visits.sentence, *plan.visits.replacements.sentences, *last]
    warnings = [f"Warning: {text}" for text in plan.warnings]
    assumptions = [f"Assumption: {text}" for text in (*plan.assumptions, VISITS_ASSUMPTION)]
    lines = paragraph(plan.sentence, width)
    for title, told in _parts(plan, change):
        lines += ["", *paragraph(title, width)]
        for part in told:
            lines += table_lines(part, width) if isinstance(part, pd.DataFrame) else paragraph(part, width)
    return [*lines, "", *(line for text in (*answer, *warnings, *assumptions) for line in paragraph(text, width))]


def _parts(plan: "SitePlan", change: "WhatIf | None") -> Iterator[tuple[str, Sequence[pd.DataFrame | str]]]:
    """Give the parts of the whole text: a heading, and tables and paragraphs."""
    yield "", [plan.table.drop(columns=["reason", "against_cap"])]
    for title, column in (("Why:", "reason"), ("What knowing the mean changes:", "against_cap")):
        yield title, [f"{camera}: {text}" for camera, text in zip(plan.plan["camera"], plan.plan[column], strict=True)]
    yield "What to find out first:", plan.measure_first.sentences
    yield "What other settings of the cameras would change:", plan.camera_side.sentences
    kinds = plan.front.table
    yield "Kinds of card:", [*([] if kinds.empty else [kinds.round({"cost": 0})]), plan.front.sentence]
    days = f"{plan.site.settings.service.lead_days:g} days"
    for which, spares in (("planned cards", plan.spares), ("cards in service", plan.spares_in_service)):
        if spares is not None and not spares.empty:
            yield f"Spares of the {which} for {days}:", [spares.round({"failures": 3})]
    if told := plan.all_together.sentences:
        yield "All cameras together:", told
    if plan.calendar is not None:
        table = plan.calendar.drop(columns="change_when_new")
        for name in ("chance_retention", "chance_maximum"):
            table[name] = [chance(known) if known == known else "" for known in table[name]]
        yield "Next changes of the cards in service:", [table.round({"age_years": 1, "next_change_years": 1})]
    if plan.visits.next_visits:
        yield "Next visits:", plan.visits.next_visits
    if change is not None:
        yield "With the other plan instead of this one:", [change.sentence, *change.lines, *change.warnings]


def table_lines(table: pd.DataFrame, width: int) -> list[str]:
    """Set a table in lines no wider than the terminal: what does not fit beside the first columns stands below.

    Where a column alone is wider, each row is a paragraph, in which a path stays whole.
    """
    with pd.option_context("display.unicode.east_asian_width", True):
        text = table.to_string(index=False, line_width=width - 1, na_rep="")  # one column more would be set
    lines = [line.rstrip() for line in text.splitlines()]
    if max(map(width_of, lines), default=0) <= width:
        return lines
    rows = (", ".join(f"{name} {value}" for name, value in row.items()) for row in table.to_dict("records"))
    return [line for row in rows for line in paragraph(row, width, whole_words=True)]


def as_json(plan: "SitePlan", written: Sequence[Path], change: "WhatIf | None" = None) -> str:
    """Give a plan as one JSON object for programs.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    written : sequence of Path
        The files written.
    change : WhatIf, optional
        The comparison with another plan.

    Returns
    -------
    str
        An object; tables are lists of objects with the columns of the CSV of that name, and what is not known is
        ``null``.
    """
    from edgestore.plan.order import order_list
    from edgestore.plan.tables import tables

    costs = plan.site.costs
    answer: dict[str, Any] = {
        "made_with": MADE_WITH,
        "headline": plan.headline,
        "states": plan.plan["state"].value_counts().to_dict(),
        "cost": plan.visits.cost if plan.visits.cost == plan.visits.cost else None,
        "currency": None if costs is None else costs.currency,
        "horizon_years": plan.visits.horizon_years,
        "order": _records(order_list(plan)),
        **{name: _records(table) for name, table in tables(plan).items() if name != "candidates"},
        **({} if change is None else {"compared": _records(change.compared)}),
        "warnings": list(plan.warnings),
        "assumptions": list(plan.assumptions),
        "written": list(map(str, written)),
    }
    return json.dumps(answer, indent=1, allow_nan=False)


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Give the rows of a table as objects; a number that is not finite is none, since JSON has no word for it."""
    finite = table.astype(object).where(table.notna(), None).replace([np.inf, -np.inf], None)
    rows: list[dict[str, Any]] = json.loads(finite.to_json(orient="records", double_precision=15))
    return rows
