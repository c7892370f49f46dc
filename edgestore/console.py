"""What the commands ``plan`` and ``propose`` print: a summary that fits a screen, everything, or JSON for programs."""

import datetime
import json
import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

import numpy as np
import pandas as pd

from edgestore.look import STATES, State, marked
from edgestore.terminal import LONGEST_LINE, paragraph, table_lines
from edgestore.text import MADE_WITH, NO_BREAK, chance, counted, money, short, visible

if TYPE_CHECKING:
    from edgestore.plan.site_plan import SitePlan
    from edgestore.plan.what_if import WhatIf

LINES = 30
"""The summary of any site has no more."""

NAME = 28
"""So many letters of a name stand in the summary."""

BESIDE = 20
"""Columns that a camera's name leaves on a line of a wide terminal, where cameras with long names are told apart."""

WORST = 5
"""Cameras not assured that the summary names, the worst first."""

KINDS = 4
"""Kinds of card that the summary counts one by one."""

VISITS = 3
"""Days with visits that the summary tells."""

GRAVEST = 2
"""Warnings that the summary tells."""


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
    rest = "All reasons and assumptions: --full. The tables are in"
    if texts:
        rest = f"{counted(len(texts), 'warning')}, all reasons and assumptions: --full. The tables are in"
    where = [*paragraph(rest, width, lines=2), f"    {folder}"]
    gravest = texts[:GRAVEST]
    foot = [*_gravest(plan, gravest, width, GRAVEST), *where]
    comparison = [] if change is None else paragraph(f"Compared: {change.sentence}", width, lines=2)
    head = [
        *paragraph(marked(plan.headline, _with_mark), width, lines=4),
        *(line for text in last for line in paragraph(text, width, lines=2 if len(last) <= 2 else 1)),
    ]
    middle = [_to_buy(plan, width), _next_visits(plan, width), [*_find_out(plan, width), *comparison]]
    room = LINES - sum(map(len, (head, *middle, foot)))
    above = [section for section in (head, _undecided(plan, width, room), *middle) if section]
    spare = LINES - sum(map(len, above)) - len(where)
    told = _gravest(plan, gravest, width, spare)
    gaps = spare - len(told)  # blank lines, from the top on
    sections = [*above, [*told, *where]]
    return [line for at, section in enumerate(sections) for line in ([""] * (0 < at <= gaps) + section)]


def _gravest(plan: "SitePlan", texts: Sequence[str], width: int, room: int) -> list[str]:
    """Tell the gravest warnings whole, or with fewer names, or as far as they name the cameras, as the room allows.

    A camera's name is never cut: those that find no room are counted.
    """
    from edgestore.plan.warnings import NAMES, grave_warnings

    names = plan.plan["camera"]
    full = grave_warnings(plan.plan, plan.site)
    fewer = [dict(zip(full, grave_warnings(plan.plan, plan.site, most), strict=True)) for most in range(NAMES, -1, -1)]
    told = [[f"Warning: {by_text.get(text, text)}" for text in texts] for by_text in fewer]
    named = [[f"Warning: {_naming(text.removeprefix('Warning: '), names)}." for text in some] for some in told]
    ways = [told[0], [*told[0][:1], *named[0][1:]], *named, *(some[:1] for some in named)]
    lines = ([line for text in way for line in paragraph(text, width)] for way in ways)
    first = next((way for way in lines if len(way) <= room), None)
    return paragraph(named[-1][0], width, lines=room) if first is None else first


def _naming(text: str, names: "pd.Series[str]") -> str:
    """Give a warning up to the colon after the cameras that it names; a colon within a name is none."""
    with_colon = sorted((name for name in names if ": " in name), key=len, reverse=True)
    names_and_colons = re.finditer("|".join([*map(re.escape, with_colon), ": "]), text)
    end = next((found.start() for found in names_and_colons if found[0] == ": "), len(text))
    return text[:end].rstrip(".")


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
    letters = max(NAME, min(width, LONGEST_LINE) - BESIDE)
    items = [_helped(row, letters) for row in some.head(min(WORST, max(room - 1, 0))).to_dict("records")]
    told = [paragraph(text, width, lines=2, indent="  ") for text in items]
    for at in reversed(range(len(told))):
        if 1 + sum(map(len, told)) > room:
            told[at] = paragraph(items[at], width, lines=1, indent="  ")
    which = f"the worst {len(items)} of {len(some)}" if len(some) > len(items) else str(len(some))
    heading = paragraph(f"Not assured ({which}), and what would help:", width, lines=1)
    return [*heading, *(line for lines in told for line in lines)]


def _helped(row: dict[Any, Any], letters: int) -> str:
    """Tell of a camera, by its name or so many letters of it, how sure its best card is, and the first remedy."""
    best = f" with {row['told']}" if row["state"] == "doubtful" else ""
    remedy = row["remedy"] or f"{_name(row['card_alone'])} would do, but is not one of the kinds chosen"
    state = _with_mark(STATES[row["state"]], row["state"])
    return f"{_name(row['camera'], letters)}: {state}{best}. {visible(remedy[0].upper() + remedy[1:])}"


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
        way, first = " with a lift" if rows["with_lift"].any() else "", rows.iloc[0]
        day = str(date) if str(date) >= str(datetime.date.today()) else "Now"
        places = visible(first["cameras"]), _where(first)
        bring = [f"; bring {cards}" for cards in (visible(first["cards"]), counted(first["cards_to_bring"], "card"))]
        ways = [f"{day}{way}: {place}{cards}" for cards in (*bring, "") for place in places]
        if len(rows) > 1:
            visit = f"{day}: {len(rows)} visits{lifts(len(rows), int(rows['with_lift'].sum())) if way else ''}"
            ways = [*(f"{visit}, the first to {place}" for place in places), visit]
        lines += _on_one_line(ways, width)
    return [*lines, *paragraph(visits.replacements.put_off, width, lines=4)]


def _on_one_line(ways: Sequence[str], width: int) -> list[str]:
    """Set the first of some texts that fits one line; where none does, the last is cut."""
    lines = next((set_ for text in ways if len(set_ := paragraph(text, width, indent="  ")) == 1), None)
    return lines or paragraph(ways[-1], width, lines=1, indent="  ")


def _where(visit: "pd.Series[Any]") -> str:
    """Say where a visit goes, in few words: how many cameras, and of which visit group."""
    group = f" of {_name(visit['visit_group'])}" if visit["visit_group"] else ""
    return f"{counted(visit['cards_to_bring'], 'camera')}{group}"


def _find_out(plan: "SitePlan", width: int) -> list[str]:
    """Tell the finding that is worth most, or that none is worth its effort, and what to state to have it in money."""
    first = plan.measure_first
    told = paragraph(f"Find out first: {first.sentences[0]}", width, lines=3)
    return [*told, *(line for text in first.in_money for line in paragraph(text, width, indent="    "))]


def _name(name: str, letters: int = NAME) -> str:
    return visible(short(name, letters))


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
        digits = {"age_years": 1, "next_change_years": 1, "useful_retention_h": 0}
        for name in table.columns.intersection(["chance_retention", "chance_maximum", "chance_outage"]):
            table[name] = [chance(known) if known == known else "" for known in table[name]]
        yield "Next changes of the cards in service:", [table.round(digits)]
    if plan.visits.next_visits:
        yield "Next visits:", plan.visits.next_visits
    if change is not None:
        yield "With the other plan instead of this one:", [change.sentence, *change.lines, *change.warnings]


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
