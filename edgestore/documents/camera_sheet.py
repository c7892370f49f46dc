"""The sheet of the cameras: what is planned for each, and formulas for what follows from its rate and its card."""

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import units
from edgestore.documents.card_sheet import BUSES, card_columns
from edgestore.documents.content import Proposal
from edgestore.documents.spreadsheet import Column, letters
from edgestore.plan.rates import card_endurance_tbw, is_amplification_unknown
from edgestore.plan.site_plan import SitePlan
from edgestore.text import whole_percent
from edgestore.units import PERCENT_PER_ONE

Array = npt.NDArray[np.float64]

LARGEST = 1e99
"""Stands for no limit."""

BITS = "BYTES_PER_GB*BITS_PER_BYTE"
BITS_A_DAY = "*BITS_PER_MBIT*[recorded_fraction]*S_PER_H*H_PER_DAY"
HOLDS = (
    f'=IF([card]="","",MIN([capacity_gb]*[usable_fraction]RING*{BITS}/([RATE]{BITS_A_DAY}*[WEEK]),'
    'IF(AND([deletes_by_age]="yes",[retention_days_max]<>""),[retention_days_max],' + f"{LARGEST:g})))"
)
PAGES = "ROUNDUP([RATE]*FLASH_PAGES_PER_MBIT/(1/[update_interval_s]+1/SEGMENT_S),0)"
ENDURES = (
    f'=IF([endurance_by_camera]="yes",[endurance_high_tbw]*({PAGES}+UPDATED_PAGES)/({PAGES}+CLOSED_PAGES),[STATED])'
)
LASTS = f'=IF([card]="","",[ENDURANCE]*GB_PER_TB*{BITS}/([RATE]{BITS_A_DAY}*DAYS_PER_YEAR))'


def camera_columns(proposal: Proposal) -> list[Column]:
    """Columns of the sheet, a row for each camera; those that a reader may change are marked as inputs."""
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

    in_cards = letters(card_columns(offered))

    def of_card(name: str) -> str:
        letter = in_cards[name]
        return f'=IF([number_of_card]="","",INDEX(Cards!${letter}$2:${letter}${len(offered) + 1},[number_of_card]))'

    first, last = in_cards[BUSES[0]], in_cards[BUSES[-1]]
    by_bus = (
        f'=IF([card]="","",INDEX(Cards!${first}$2:${last}${len(offered) + 1},[number_of_card],'
        f"MATCH([slot_bus],Cards!${first}$1:${last}$1,0)))"
    )

    def held(end: str, rate: str, head: str) -> Column:
        name = f"retention_days{end}"
        week = "quietest_over_mean" if end == "_high" else "busiest_over_mean"
        ring = "*(1-[locked_fraction])" if plan.site.has_locked and end != "_high" else ""
        formula = HOLDS.replace("RATE", rate).replace("WEEK", week).replace("RING", ring)
        return Column(name, head, list(rows[name]), "days", 12, formula)

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
    band = plan.untested_band.where(rows["meets"])
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
        *(_locked_columns(plan) if plan.site.has_locked else ()),
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
        Column("chance_kept", "Chance to keep all", _chances(rows["chance_kept"]), "chance", 11),
        Column(
            "chance_kept_low", "The same if untested cards are bad", _chances(band["chance_kept_low"]), "chance", 11
        ),
        Column(
            "chance_kept_high", "The same if untested cards are good", _chances(band["chance_kept_high"]), "chance", 11
        ),
        Column("assured", "Assured", list(band["assured"].fillna("")), "text", 22),
        Column("change_years", "Changed at the age of", list(rows["change_years"]), "life", 19),
        Column("meets", "Meets all at the planned rate", _meets_as_planned(plan), "text", 9, meets),
        *(_cost_columns(proposal.plan, of_card("price")) if plan.site.costs else ()),
    ]


def _chances(values: "pd.Series[float]") -> list[float]:
    """Chances as they are told everywhere: no more than they are."""
    return [whole_percent(value) / PERCENT_PER_ONE if value == value else value for value in values]


def _wanted_days(plan: SitePlan) -> list[float]:
    """Give the days of footage that each camera asks, or the outage asked where that is more."""
    site = plan.site
    to_cover = site.days_to_cover * site.ring_fraction / site.busiest_over_mean
    return list(np.maximum(site.wanted["retention_days"].to_numpy(float), to_cover))


def _locked_columns(plan: SitePlan) -> list[Column]:
    locked, head = list(plan.site.cameras["locked_fraction"]), "Part of the usable space held by locked clips"
    return [Column("locked_fraction", head, locked, "fraction", 11, is_input=True)]


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
