"""The plan as a spreadsheet whose retention, life and speed margin follow when the reader changes a rate or a card.

Texts of the user are written as texts, so that none becomes a formula. Beside each formula stands the value of the
library, for viewers that do not compute.
"""

import datetime
import io
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

from edgestore import units
from edgestore.documents.content import Assumption, Proposal
from edgestore.documents.spreadsheet import ROW, Column, made_forms, write_table
from edgestore.inputs.settings import Costs
from edgestore.models.speed.classes import BUS_MBYTE_S, guaranteed_write_mbyte_s
from edgestore.models.wear import mapping
from edgestore.plan.rates import card_endurance_tbw, is_amplification_unknown
from edgestore.plan.site_plan import SitePlan
from edgestore.text import MADE_WITH, short, visible, whole_percent
from edgestore.units import PERCENT_PER_ONE

Array = npt.NDArray[np.float64]

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

BUSES = (*BUS_MBYTE_S, "unknown")
IN_A_PROPERTY = 250
"""Letters that spreadsheet programs take in a property of a file."""

LARGEST = 1e99
"""Stands for no limit."""

BITS = "BYTES_PER_GB*BITS_PER_BYTE"
BITS_A_DAY = "*BITS_PER_MBIT*[recorded_fraction]*S_PER_H*H_PER_DAY"
HOLDS = (
    f'=IF([card]="","",MIN([capacity_gb]*[usable_fraction]*{BITS}/([RATE]{BITS_A_DAY}*[WEEK]),'
    'IF(AND([deletes_by_age]="yes",[retention_days_max]<>""),[retention_days_max],' + f"{LARGEST:g})))"
)
PAGES = "ROUNDUP([RATE]*FLASH_PAGES_PER_MBIT/(1/[update_interval_s]+1/SEGMENT_S),0)"
ENDURES = (
    f'=IF([endurance_by_camera]="yes",[endurance_high_tbw]*({PAGES}+UPDATED_PAGES)/({PAGES}+CLOSED_PAGES),[STATED])'
)
LASTS = f'=IF([card]="","",[ENDURANCE]*GB_PER_TB*{BITS}/([RATE]{BITS_A_DAY}*DAYS_PER_YEAR))'


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
        ``Assumptions``, ``Factors``.

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
            "comments": f"Made with {MADE_WITH}",
            "created": datetime.datetime.combine(front.date, datetime.time()),
        }
    )
    forms = made_forms(book)
    sheets = {
        name: book.add_worksheet(name) for name in ("Read me", "Cameras", "Cards", "Assumptions", "Factors", PLANNED)
    }
    sheets[PLANNED].hide()
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    write_table(sheets["Read me"], [_read_me(proposal)], forms, bold)
    columns = _camera_columns(proposal)
    planned = [replace(column, is_input=False) for column in columns if column.name in (*_inputs(columns), *DECIDED)]
    write_table(sheets["Cameras"], _as_long_as_planned(columns, planned), forms, bold)
    write_table(sheets[PLANNED], planned, forms, bold)
    write_table(sheets["Cards"], _card_columns(proposal.plan.site.offered), forms, bold)
    told = [*proposal.assumptions, *(Assumption("warning", text) for text in proposal.warnings)]
    kinds = Column("kind", "Kind", [one.kind for one in told], width=14)
    write_table(
        sheets["Assumptions"], [kinds, Column("text", "What", [one.text for one in told], "words", 100)], forms, bold
    )
    costs = proposal.plan.site.costs
    factors = [
        *(float(getattr(units, name)) for name in FACTORS),
        *(float(getattr(mapping, name)) for name in FLASH_FACTORS),
        *(_cost_factors(costs) if costs else ()),
    ]
    names = {**FACTORS, **FLASH_FACTORS, **(COST_FACTORS if costs else {})}
    write_table(
        sheets["Factors"],
        [
            Column("name", "Name", list(names), width=18),
            Column("factor", "Factor", factors, "factor", 16),
            Column("what", "What it is", list(names.values()), width=50),
        ],
        forms,
        bold,
    )
    for row, name in enumerate(names, start=2):
        book.define_name(name, f"=Factors!$B${row}")
    book.close()
    return file.getvalue()


def _inputs(columns: Sequence[Column]) -> list[str]:
    """Name the cells on which the choice rests, and that a reader may change."""
    return [column.name for column in columns if column.is_input and column.name not in OF_COST]


def _as_long_as_planned(columns: Sequence[Column], planned: Sequence[Column]) -> list[Column]:
    """Have what was decided told for the inputs that it was decided with, and no others."""
    letters = {column.name: f"'{PLANNED}'!${xl_col_to_name(number)}{ROW}" for number, column in enumerate(planned)}
    same = ",".join(f"[{name}]={letters[name]}" for name in _inputs(columns))
    told = []
    for column in columns:
        if column.name == DECIDED[0]:
            as_planned = ["yes"] * len(column.values)
            head = "Inputs are those of the plan"
            told.append(Column("as_planned", head, as_planned, "text", 12, f'=IF(AND({same}),"yes","no")'))
        if column.name in DECIDED:
            planned_value = f'IF({letters[column.name]}="","",{letters[column.name]})'
            column = replace(column, formula=f'=IF([as_planned]="yes",{planned_value},"{AGAIN}")')
        told.append(column)
    return told


def _camera_columns(proposal: Proposal) -> list[Column]:
    plan = proposal.plan
    rows, cameras, wanted, rates = plan.plan, plan.site.cameras, plan.site.wanted, plan.site.rates
    offered, served = plan.site.offered, rows["meets"].to_numpy()
    place = {card: number for number, card in enumerate(offered["card"], start=1)}
    chosen = [place.get(card) for card in rows["card"]]
    cards = offered.iloc[[number - 1 if number else 0 for number in chosen]]
    at_planned, at_high = (
        card_endurance_tbw(cards, rates[name].to_numpy(), rates["update_interval_s"].to_numpy())
        for name in ("planned_mbit_s", "high_mbit_s")
    )
    by_camera = np.where(is_amplification_unknown(cards), "yes", "no")

    def of_served(values: npt.NDArray[Any]) -> list[Any]:
        return [value if ok else None for value, ok in zip(values.tolist(), served, strict=True)]

    by_age = ["yes" if deletes else "no" for deletes in cameras["deletes_by_age"]]
    usable = offered["usable_fraction"].to_numpy()
    write = np.array(rows["speed_margin"] * rows["margin_over_mbit_s"] * units.MBYTE_PER_MBIT)
    margin_of = np.where(rates["peak_basis"] == "assumed", "mean", "peak").tolist()

    def of_card(name: str) -> str:
        letter = next(xl_col_to_name(n) for n, c in enumerate(_card_columns(offered)) if c.name == name)
        return f'=IF([number_of_card]="","",INDEX(Cards!${letter}$2:${letter}${len(offered) + 1},[number_of_card]))'

    first, last = (xl_col_to_name(len(CARD_HEADS) + n) for n in (0, len(BUSES) - 1))
    by_bus = (
        f'=IF([card]="","",INDEX(Cards!${first}$2:${last}${len(offered) + 1},[number_of_card],'
        f"MATCH([slot_bus],Cards!${first}$1:${last}$1,0)))"
    )

    def held(end: str, rate: str, head: str) -> Column:
        name = f"retention_days{end}"
        week = "quietest_over_mean" if end == "_high" else "busiest_over_mean"
        return Column(name, head, list(rows[name]), "days", 12, HOLDS.replace("RATE", rate).replace("WEEK", week))

    def enduring(name: str, rate: str, values: Array, head: str) -> Column:
        by_rate = ENDURES.replace("RATE", rate).replace("[STATED]", of_card("endurance_low_tbw").removeprefix("="))
        return Column(name, head, of_served(values), "tb", 12, f'=IF([card]="","",{by_rate.removeprefix("=")})')

    def lasting(end: str, rate: str, endurance: str, head: str) -> Column:
        formula = LASTS.replace("RATE", rate).replace("ENDURANCE", endurance)
        if end == "_low":
            formula = f'=IF([card]="","",MIN([life_years],{formula.removeprefix("=")}))'
        return Column(f"life_years{end}", head, list(rows[f"life_years{end}"]), "life", 19, formula)

    meets = (
        '=IF([card]="","no",IF(AND([capacity_gb]<=IF([max_card_gb]="",' + f"{LARGEST:g}" + ",[max_card_gb]),"
        '[speed_margin]>=[wanted_margin],OR([margin_of]="peak",[write_mbyte_s]*BITS_PER_BYTE>=[peak_mbit_s]),'
        "[retention_days]>=[wanted_days],[life_years]>=[wanted_years],"
        'OR([deletes_by_age]="yes",[retention_days_max]="",[retention_days_high]<=[retention_days_max])),"yes","no"))'
    )
    chances = [whole_percent(kept) / PERCENT_PER_ONE if kept == kept else kept for kept in rows["chance_kept"]]
    return [
        Column("number", "No.", list(range(1, len(rows) + 1)), "count", 6),
        Column("camera", "Camera", list(rows["camera"]), width=28),
        Column("place", "Place", list(rows["place"]), width=28),
        Column("number_of_card", "Number of the card (sheet Cards)", chosen, "count", 12, is_input=True),
        Column("planned_mbit_s", "Mean rate", list(rows["planned_mbit_s"]), "rate", 14, is_input=True),
        Column("low_mbit_s", "Lowest mean", list(rates["low_mbit_s"]), "rate", 14, is_input=True),
        Column("high_mbit_s", "Highest mean", list(rates["high_mbit_s"]), "rate", 14, is_input=True),
        Column("peak_mbit_s", "Peak rate", list(rows["peak_mbit_s"]), "rate", 14, is_input=True),
        Column("margin_of", "Speed margin is over the", margin_of, width=12),
        Column(
            "update_interval_s",
            "Time between updates of file tables",
            list(rates["update_interval_s"]),
            "seconds",
            12,
            is_input=True,
        ),
        Column(
            "recorded_fraction",
            "Recorded part of the time",
            list(rows["recorded_fraction"]),
            "fraction",
            11,
            is_input=True,
        ),
        Column("rate_basis", "Rates rest on", list(rows["rate_basis"]), width=40),
        Column("wanted_days", "Footage wanted", _wanted_days(plan), "days", 12, is_input=True),
        Column("wanted_years", "Life wanted", list(wanted["life_years"]), "years", 12, is_input=True),
        Column("wanted_margin", "Speed margin wanted", list(wanted["speed_margin"]), "ratio", 12, is_input=True),
        Column(
            "retention_days_max", "Most footage allowed", list(wanted["retention_days_max"]), "days", 12, is_input=True
        ),
        Column(
            "busiest_over_mean",
            "Writes of the busiest stretch of that length, over the mean of the week",
            list(plan.site.busiest_over_mean),
            "ratio",
            14,
            is_input=True,
        ),
        Column(
            "quietest_over_mean",
            "Writes of the quietest stretch allowed, over the mean of the week",
            list(plan.site.quietest_over_mean),
            "ratio",
            14,
            is_input=True,
        ),
        Column("deletes_by_age", "Deletes by age", by_age, width=9),
        Column("max_card_gb", "Largest card", list(cameras["max_card_gb"]), "gb", 11),
        Column("slot_bus", "Slot bus", list(cameras["slot_bus"]), width=12),
        Column(
            "card",
            "Card",
            [name if ok else "" for name, ok in zip(rows["card"], served, strict=True)],
            "text",
            24,
            of_card("card"),
        ),
        Column("capacity_gb", "Capacity", list(rows["capacity_gb"]), "gb", 11, of_card("capacity_gb")),
        Column(
            "usable_fraction",
            "Usable part",
            [usable[n - 1] if n else None for n in chosen],
            "fraction",
            9,
            of_card("usable_fraction"),
        ),
        Column(
            "endurance_by_camera",
            "Lowest endurance follows from the camera",
            of_served(by_camera),
            "text",
            12,
            of_card("endurance_by_camera"),
        ),
        Column(
            "endurance_high_tbw",
            "Endurance, highest",
            of_served(at_planned[1]),
            "tb",
            12,
            of_card("endurance_high_tbw"),
        ),
        enduring("endurance_planned_tbw", "planned_mbit_s", at_planned[0], "Endurance, lowest, as planned"),
        enduring("endurance_least_tbw", "high_mbit_s", at_high[0], "Endurance, lowest, at the highest mean"),
        Column("write_mbyte_s", "Write rate promised", list(write), "write", 14, by_bus),
        held("", "planned_mbit_s", "Holds, as planned"),
        held("_low", "high_mbit_s", "Holds, at least"),
        held("_high", "low_mbit_s", "Holds, at most"),
        lasting("", "planned_mbit_s", "endurance_planned_tbw", "Flash used up after, as planned"),
        lasting("_low", "high_mbit_s", "endurance_least_tbw", "Flash used up after, at worst"),
        lasting("_high", "low_mbit_s", "endurance_high_tbw", "Flash used up after, at best"),
        Column(
            "speed_margin",
            "Speed margin",
            list(rows["speed_margin"]),
            "ratio",
            11,
            '=IF([card]="","",[write_mbyte_s]*BITS_PER_BYTE/IF([margin_of]="mean",[planned_mbit_s],[peak_mbit_s]))',
        ),
        Column("state", "Decided by chance", list(rows["state"]), width=12),
        Column("chance_kept", "Chance to keep all", chances, "chance", 11),
        Column("change_years", "Changed at the age of", list(rows["change_years"]), "life", 19),
        Column("meets", "Meets all at the planned rate", _meets_as_planned(plan), "text", 9, meets),
        *(_cost_columns(proposal.plan, of_card("price")) if plan.site.costs else ()),
    ]


def _wanted_days(plan: SitePlan) -> list[float]:
    """Give the days of footage that each camera asks, or the outage asked where that is more."""
    site = plan.site
    return list(np.maximum(site.wanted["retention_days"].to_numpy(float), site.days_to_cover / site.busiest_over_mean))


def _meets_as_planned(plan: SitePlan) -> list[str]:
    """Say of each camera whether the figures of its row meet what it asks: by the planned rate, whatever the chance."""
    rows, wanted = plan.plan, plan.site.wanted.reset_index(drop=True)
    by_age, most = plan.site.cameras["deletes_by_age"].to_numpy(bool), wanted["retention_days_max"]
    meets = (
        rows["meets"]
        & (rows["retention_days"] >= _wanted_days(plan))
        & (rows["life_years"] >= wanted["life_years"])
        & (by_age | most.isna() | (rows["retention_days_high"] <= most))
    )
    return ["yes" if ok else "no" for ok in meets]


PLANNED = "As planned"
"""The hidden sheet with the inputs that the plan was made with, and what it decided."""

DECIDED = ("state", "chance_kept", "change_years")
OF_COST = ("visit", "cards")
"""Columns that the plan decides, and inputs that only the cost follows from."""

AGAIN = "run edgestore again"

COST_FACTORS = {
    "HORIZON_YEARS": "years over which costs are counted",
    "SPARE_FRACTION": "spare cards bought over cards fitted",
    "FIRST_VISITS": "1 when the first card takes a visit of its own, else 0",
}


def _cost_factors(costs: Costs) -> list[float]:
    return [costs.horizon_years, costs.spare_fraction, float(costs.first_fitting_is_a_visit)]


def _cost_columns(plan: SitePlan, price: str) -> list[Column]:
    costs, rows = plan.site.costs, plan.plan
    assert costs is not None
    visit = np.where(plan.site.cameras["lift"], costs.visit_with_lift_price, costs.visit_price).tolist()
    prices = rows["card"].map(plan.site.offered.set_index("card")["price"])
    cost = '=IF([card]="","",[cards]*(1+SPARE_FRACTION)*[price]+([cards]-1+FIRST_VISITS)*[visit])'
    return [
        Column("visit", f"Price of a visit, {costs.currency}", visit, "price", 12, is_input=True),
        Column("price", f"Price of the card, {costs.currency}", list(prices), "price", 12, price),
        Column(
            "cards", "Cards expected over the horizon", list(rows["cards_over_horizon"]), "ratio", 10, is_input=True
        ),
        Column("cost", f"Cost over the horizon, {costs.currency}", list(rows["cost"]), "price", 13, cost),
    ]


CARD_HEADS: Mapping[str, tuple[str, str, float]] = {
    "number": ("No.", "count", 6),
    "card": ("Card", "text", 28),
    "capacity_gb": ("Capacity", "gb", 11),
    "usable_fraction": ("Usable part", "fraction", 9),
    "endurance_by_camera": ("Lowest endurance follows from the camera", "text", 12),
    "endurance_low_tbw": ("Endurance, lowest", "tb", 12),
    "endurance_high_tbw": ("Endurance, highest", "tb", 12),
    "price": ("Price", "price", 9),
}


def _card_columns(cards: pd.DataFrame) -> list[Column]:
    by_camera = is_amplification_unknown(cards)
    low, high = card_endurance_tbw(cards, 1.0, mapping.UPDATE_INTERVAL_S)
    known = cards.assign(
        number=np.arange(1, len(cards) + 1),
        endurance_by_camera=np.where(by_camera, "yes", "no"),
        endurance_low_tbw=np.where(by_camera, np.nan, low),
        endurance_high_tbw=high,
    )
    columns = [Column(name, head, list(known[name]), form, width) for name, (head, form, width) in CARD_HEADS.items()]
    marks = [text.split() for text in cards["speed_class"]]
    for bus in BUSES:
        promised = [guaranteed_write_mbyte_s(m, None if bus == "unknown" else bus) for m in marks]
        columns.append(Column(bus, bus, promised, "write", 14))
    return columns


def _read_me(proposal: Proposal) -> Column:
    front = proposal.front
    maker = ", ".join(part for part in (front.organisation, front.author, front.date.isoformat()) if part)
    texts = (
        maker,
        proposal.plan.sentence,
        "Sheet Cameras: change a pale, framed cell (a rate, what is wanted, the number of a card) and what follows is"
        " computed anew: how long the card holds, when it is worn out, its speed margin, and whether it meets all.",
        "Sheet Cards: the cards of the list by number, and what they promise to write in a slot of each bus.",
        "Sheet Assumptions: what all this rests on, and what to take care of.",
        "The choice itself, the chances, the age of change and the cards expected over the horizon are not computed"
        f" anew here: where a row's inputs are no longer those of the plan, it says: {AGAIN}. A cost follows from the"
        " cards expected as they stand in its row.",
        proposal.caution,
    )
    return Column("text", visible(front.title), texts, "words", 100)
