"""The plan as a spreadsheet whose retention, life and speed margin follow when the reader changes a rate or a card.

Texts of the user are written as texts, so that none becomes a formula. Beside each formula stands the value of the
library, for viewers that do not compute.
"""

import datetime
import io
from typing import Any

import xlsxwriter

from edgestore import units
from edgestore.documents.as_planned import AGAIN, PLANNED, as_long_as_planned, planned_columns
from edgestore.documents.bill_sheets import BILL, FAILURES, VISITS, bill_columns, failure_columns, visit_columns
from edgestore.documents.camera_sheet import camera_columns
from edgestore.documents.card_sheet import card_columns
from edgestore.documents.content import Assumption, Proposal
from edgestore.documents.spreadsheet import Column, made_forms, write_table
from edgestore.documents.trace_sheets import FIGURES, REQUIREMENTS, figure_columns, requirement_columns
from edgestore.inputs.settings import Costs
from edgestore.models.wear import mapping
from edgestore.text import MADE_WITH, short, visible

FACTORS = {
    "BYTES_PER_GB": "bytes in 1 GB",
    "GB_PER_TB": "GB in 1 TB",
    "BITS_PER_BYTE": "bits in a byte",
    "BITS_PER_MBIT": "bits in 1 Mbit",
    "S_PER_H": "seconds in an hour",
    "H_PER_DAY": "hours in a day",
    "DAYS_PER_YEAR": "days in a year",
}
"""Factors of the library that the formulas use, by their names there."""

FLASH_FACTORS = {
    "FLASH_PAGES_PER_MBIT": "flash pages that 1 Mbit of video fills, on a card that maps by unit (our guess)",
    "UPDATED_PAGES": "flash pages that an update of file tables rewrites (our guess)",
    "CLOSED_PAGES": "flash pages that such a card writes for it (our guess)",
    "SEGMENT_S": "seconds in a video file (our guess)",
}
"""Factors of the write amplification, by their names in the library."""

COST_FACTORS = {
    "HORIZON_YEARS": "years over which costs are counted",
    "SPARE_FRACTION": "spare cards bought over cards fitted",
    "FIRST_VISITS": "1 when the first card takes a visit of its own, else 0",
}
"""Factors of the costs, where they are stated."""

IN_A_PROPERTY = 250
"""Letters that spreadsheet programs take in a property of a file."""


def workbook(proposal: Proposal) -> bytes:
    """Write the plan as a spreadsheet that computes.

    Parameters
    ----------
    proposal : Proposal
        What is proposed.

    Returns
    -------
    bytes
        An .xlsx file, the same for the same proposal. Its sheets: ``Read me``, ``Cameras``, ``Cards``,
        with costs ``Bill``, ``Visits`` and ``Failures``, ``Details``, ``Assumptions``, ``Figures``, ``Requirements``,
        ``Factors``.

    Notes
    -----
    Rates, recorded parts, requirements and the number of the card may be changed; what follows from them is computed
    as :func:`edgestore.retention_h`, :func:`edgestore.models.wear.life_years` and
    :func:`edgestore.models.speed.speed_margin` do.
    """
    file = io.BytesIO()
    book = xlsxwriter.Workbook(file, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    front = proposal.front
    book.set_properties(
        {
            "title": short(visible(front.title), IN_A_PROPERTY),
            "author": short(visible(front.author), IN_A_PROPERTY),
            "company": short(visible(front.organisation), IN_A_PROPERTY),
            "subject": short(visible(front.reference), IN_A_PROPERTY),
            "comments": f"Made with {MADE_WITH}",
            "created": datetime.datetime.combine(front.date, datetime.time()),
        }
    )
    until = None if front.valid_until is None else datetime.datetime.combine(front.valid_until, datetime.time())
    own = {"Client": front.client, "Reference": front.reference, "Revision": front.revision, "Valid until": until}
    for name, value in own.items():
        if value:
            book.set_custom_property(name, short(visible(value), IN_A_PROPERTY) if isinstance(value, str) else value)
    forms = made_forms(book)
    costs = proposal.plan.site.costs
    bill = (BILL, VISITS, FAILURES) if costs else ()
    names = ("Read me", "Cameras", "Cards", *bill, "Details", "Assumptions", FIGURES, REQUIREMENTS, "Factors", PLANNED)
    sheets = {name: book.add_worksheet(name) for name in names}
    sheets[PLANNED].hide()
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    write_table(sheets["Read me"], [_read_me(proposal)], forms, bold)
    columns = camera_columns(proposal)
    planned = planned_columns(columns)
    write_table(sheets["Cameras"], as_long_as_planned(columns, planned), forms, bold)
    write_table(sheets[PLANNED], planned, forms, bold)
    write_table(sheets["Cards"], card_columns(proposal.plan.site.offered), forms, bold)
    write_table(sheets["Details"], _details(proposal), forms, bold)
    told = [*proposal.assumptions, *(Assumption("warning", text) for text in proposal.warnings)]
    kinds = Column("kind", "Kind", [one.kind for one in told], width=14)
    write_table(
        sheets["Assumptions"], [kinds, Column("text", "What", [one.text for one in told], "words", 100)], forms, bold
    )
    if costs:
        for name, made in ((BILL, bill_columns), (VISITS, visit_columns), (FAILURES, failure_columns)):
            write_table(sheets[name], made(proposal), forms, bold)
    write_table(sheets[FIGURES], figure_columns(proposal.visits.currency), forms, bold)
    write_table(sheets[REQUIREMENTS], requirement_columns(proposal), forms, bold)
    factors = [
        *(float(getattr(units, name)) for name in FACTORS),
        *(float(getattr(mapping, name)) for name in FLASH_FACTORS),
        *(_cost_factors(costs) if costs else ()),
    ]
    told_factors = {**FACTORS, **FLASH_FACTORS, **(COST_FACTORS if costs else {})}
    write_table(
        sheets["Factors"],
        [
            Column("name", "Name", list(told_factors), width=18),
            Column("factor", "Factor", factors, "factor", 16),
            Column("what", "What it is", list(told_factors.values()), width=50),
        ],
        forms,
        bold,
    )
    for row, name in enumerate(told_factors, start=2):
        book.define_name(name, f"=Factors!$B${row}")
    book.close()
    return file.getvalue()


def _cost_factors(costs: Costs) -> list[float]:
    return [costs.horizon_years, costs.spare_fraction, float(costs.first_fitting_is_a_visit)]


def _details(proposal: Proposal) -> list[Column]:
    """What the document says of each camera in words; of many cameras it has a part, and this sheet all."""
    rows, margins = proposal.plan.plan, proposal.margins

    def of_margins(name: str) -> list[Any]:
        values = margins[name]
        return values.astype(object).where(values.notna(), None).tolist()

    return [
        Column("number", "No.", list(range(1, len(rows) + 1)), "count", 6),
        Column("camera", "Camera", list(rows["camera"]), width=28),
        Column("reason", "Why this card", list(rows["reason"]), "words", 60),
        Column("against_cap", "Against the cap", list(rows["against_cap"]), "words", 40),
        Column("mean_up_to", "Serves up to a mean of", of_margins("mean_up_to_mbit_s"), "rate", 16),
        Column("first_to_fail", "What fails then (nothing: up to the cap)", of_margins("first_to_fail"), width=18),
        Column("peak_up_to", "Serves up to a peak of", of_margins("peak_up_to_mbit_s"), "rate", 16),
        Column("days_up_to", "Serves if so many are wanted", of_margins("days_up_to"), "days", 14),
        Column("years_up_to", "Serves for a life of", of_margins("years_up_to"), "life", 14),
        Column("other_from", "At this mean and below", of_margins("other_from_mbit_s"), "rate", 16),
        Column("other_card", "this card would do", of_margins("other_card"), "words", 28),
    ]


def _read_me(proposal: Proposal) -> Column:
    front = proposal.front
    until = "" if front.valid_until is None else front.valid_until.isoformat()
    own = {"for": front.client, "reference": front.reference, "revision": front.revision, "valid until": until}
    identity = [f"{what} {text}" for what, text in own.items() if text]
    maker = ", ".join(part for part in (front.organisation, front.author, front.date.isoformat(), *identity) if part)
    texts = (
        maker,
        proposal.plan.sentence,
        "Sheet Cameras: change a pale, framed cell (a rate, what is wanted, the number of a card) and what follows is"
        " computed anew: how long the card holds, when it is worn out, its speed margin, and whether it meets all.",
        "Sheet Cards: the cards of the list by number, and what they promise to write in a slot of each bus.",
        *(
            [
                "Sheet Bill: what cards, visits and failures cost by year and together, added up from the sheets Visits"
                " and Failures: change a price, a way or a date's year there, and the bill follows."
            ]
            if proposal.plan.site.costs
            else []
        ),
        "Sheet Details: why each camera gets its card, and what would change that.",
        "Sheet Assumptions: what all this rests on, and the warnings.",
        "Sheet Figures: how each figure was worked out, and its source. Sheet Requirements: what the site and open"
        " standards ask, where it is answered, and what is not answered here.",
        "The choice itself, the chances, the age of change and the cards expected over the horizon are not computed"
        f" anew here: where a row's inputs are no longer those of the plan, it says: {AGAIN}. A cost follows from the"
        " cards expected as they stand in its row.",
        proposal.caution,
    )
    return Column("text", visible(front.title), texts, "words", 100)
