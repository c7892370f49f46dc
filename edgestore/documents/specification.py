"""The card asked for in each camera, without make or model: figures that a buyer can put out to tender."""

from collections.abc import Callable, Collection, Mapping
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.documents.language import IN_ENGLISH, Language
from edgestore.models.speed.classes import (
    SPEED_CLASSES,
    guaranteed_write_mbyte_s,
    min_write_mbyte_s,
    write_mbyte_s_for_margin,
)
from edgestore.plan.advice import down, up
from edgestore.plan.asked import FINE_DIGITS, asked_of_cards, rounded
from edgestore.plan.promise import ROUNDING
from edgestore.plan.site_plan import SitePlan
from edgestore.text import chance, grouped, number
from edgestore.units import GB_PER_H_AT_1_MBIT_S, GB_PER_TB

Array = npt.NDArray[np.float64]

NOTES = ("capacity_note", "speed_note", "endurance_note")
"""What is said in small print."""

SOLD_GB = 2.0 ** np.arange(2, 12)
"""Capacities that cards are sold in, 4 to 2048 GB (common practice, no source)."""


def specifications(plan: SitePlan, language: Language = IN_ENGLISH) -> pd.DataFrame:
    """Give what to ask of the card in each camera.

    Parameters
    ----------
    plan : SitePlan
        The plan. Where it chose a card, that card meets what is asked.
    language : Language
        Language of the texts.

    Returns
    -------
    DataFrame
        One row a camera: ``needed_gb``, as printed, and ``least_gb``, the size to ask for: that of the card chosen,
        else the size sold that reaches it (NaN for none); ``usable_gb`` that formatting must leave, ``most_usable_gb``
        by policy and ``slot_gb`` (infinite for no limit); ``write_mbyte_s``, the ``marks`` that promise it in that
        slot, and ``slot_bus``; ``endurance_tbw``, and the same as ``rated_h`` at ``rated_mbit_s``; ``chance``, with
        which any card that has all this keeps what is asked; ``card``, the card of the list that serves.
        What to write in the tender, and in small print: ``capacity`` and ``capacity_note``, and likewise ``speed`` and
        ``endurance``.

    Notes
    -----
    Capacity, endurance and chance of :func:`edgestore.plan.asked.asked_of_cards`. Write rate for the margin wanted over
    the cap, or over the mean where no cap is known.
    """
    chosen, cameras, wanted = plan.plan, plan.site.cameras, plan.site.wanted
    rate = chosen["planned_mbit_s"].to_numpy()
    asked = asked_of_cards(plan.site, plan.chosen).reset_index(drop=True)
    needed, endurance = (asked[name].to_numpy(float) for name in ("needed_gb", "endurance_tbw"))
    slot = cameras["max_card_gb"].fillna(np.inf).to_numpy(float)
    write = write_mbyte_s_for_margin(chosen["margin_over_mbit_s"].to_numpy(), wanted["speed_margin"].to_numpy())
    rows = pd.DataFrame(
        {
            "camera": chosen["camera"],
            "place": chosen["place"],
            "needed_gb": needed,
            "least_gb": np.where(chosen["meets"], needed, _sold(needed)),
            "usable_gb": asked["usable_gb"],
            "most_usable_gb": asked["most_usable_gb"],
            "slot_gb": slot,
            "write_mbyte_s": write,
            "marks": [lowest(enough_marks(bus, rate)) for bus, rate in zip(cameras["slot_bus"], write, strict=True)],
            "slot_bus": cameras["slot_bus"].to_numpy(),
            "endurance_tbw": endurance,
            "assurance": wanted["assurance"].to_numpy(float),
            "chance": asked["chance"],
            "chance_kept": chosen["chance_kept"],
            "rated_h": endurance * GB_PER_TB / (GB_PER_H_AT_1_MBIT_S * rate),
            "rated_mbit_s": rate,
            "card": chosen["card"].where(chosen["meets"], ""),
        }
    )
    told = [words(row, language) for row in rows.to_dict("records")]
    return rows.join(pd.DataFrame(told, index=rows.index))


def specification_table(rows: pd.DataFrame) -> pd.DataFrame:
    """What is asked of the card in each camera, of :func:`specifications`, under the names that a file has it by."""
    named = {
        "camera": "camera",
        "card": "card",
        "least_gb": "capacity_asked_gb",
        "usable_gb": "usable_asked_gb",
        "most_usable_gb": "most_usable_gb",
        "write_mbyte_s": "write_asked_mbyte_s",
        "marks": "marks",
        "endurance_tbw": "endurance_asked_tbw",
        "rated_h": "rated_asked_h",
        "rated_mbit_s": "rated_mbit_s",
        "chance": "chance",
    }
    return rows[list(named)].rename(columns=named)


def words(row: Mapping[Any, Any], language: Language = IN_ENGLISH) -> dict[str, str]:
    """Write a row as a tender has it; where no card at all could have the chance asked, that and why."""
    say = language.say
    if np.isnan(row["needed_gb"]) or np.isnan(row["endurance_tbw"]):
        why = say("too many cards fail otherwise for a chance of {chance}", chance=chance(row["assurance"]))
        return {
            **dict.fromkeys(("capacity", "speed", "endurance"), say("not available")),
            **{**dict.fromkeys(NOTES, ""), "endurance_note": why},
        }
    told = {
        "capacity": _capacity(row, language),
        "capacity_note": _capacity_note(row, language),
        "speed": row["marks"].replace(" or ", say(" or ")) or say("not available"),
        "speed_note": say(
            "at least {rate} Mbyte/s in {slot}",
            rate=_least(row["write_mbyte_s"]),
            slot=_slots(row["slot_bus"], language),
        ),
        "endurance": say("{tb} TB written", tb=_fine(row["endurance_tbw"], np.ceil)),
        "endurance_note": say(
            "or {hours} h at {rate} Mbit/s, as its maker states it: with this capacity, a chance of {chance} to keep"
            " all",
            hours=_least(row["rated_h"]),
            rate=number(row["rated_mbit_s"]),
            chance=chance(row["chance"]),
        ),
    }
    if row["card"] and row["chance"] < row["assurance"] - ROUNDING:
        told["endurance_note"] += say(
            "; the card of the plan has {chance} by what is known of it besides", chance=chance(row["chance_kept"])
        )
    return {name: language.figures(text) for name, text in told.items()}


def _capacity(row: Mapping[Any, Any], language: Language) -> str:
    least, most = row["least_gb"], min(row["most_usable_gb"], row["slot_gb"])
    if most < row["usable_gb"] or row["slot_gb"] < row["needed_gb"] or np.isnan(least):
        return language.say("not available")
    if row["card"] or least <= most:
        return f"{number(least)} GB"
    return language.say("{least} to {most} GB", least=_least(row["needed_gb"]), most=down(most))


def _capacity_note(row: Mapping[Any, Any], language: Language) -> str:
    usable, allowed, say = _fine(row["usable_gb"], np.ceil), row["most_usable_gb"], language.say
    if allowed < row["usable_gb"]:
        return say(
            "no card can serve: {usable} GB must be usable after formatting to hold what is required, and with more"
            " than {allowed} GB footage may be kept for longer than policy allows",
            usable=usable,
            allowed=_fine(allowed, np.floor),
        )
    note = (
        say("at least {usable} GB usable after formatting", usable=usable)
        if np.isinf(allowed)
        else say(
            "at least {usable} GB, at most {allowed} GB usable after formatting",
            usable=usable,
            allowed=_fine(allowed, np.floor),
        )
    )
    if not np.isinf(row["slot_gb"]):
        note += say("; the slot takes {slot} GB at most", slot=number(row["slot_gb"]))
    return note


def _slots(buses: str, language: Language) -> str:
    """Name a slot by its bus, and slots that differ."""
    if " or " in buses:
        named = (language.say(bus) if bus == "unknown" else bus for bus in buses.split(" or "))
        return language.say("slots of bus {buses}", buses=language.say(" or ").join(named))
    return language.say("a slot of unknown bus") if buses == "unknown" else language.say("a {bus} slot", bus=buses)


def _least(value: float) -> str:
    """Write a figure that must be reached; the noise of the last digits does not raise it."""
    return up(round(value, 9))


def _fine(value: float, whole: Callable[..., Array]) -> str:
    """Write a figure with so many digits that the card which it was taken from meets it."""
    figure = float(rounded(value, whole, FINE_DIGITS))
    return grouped(f"{figure:.0f}" if figure >= 10**FINE_DIGITS else f"{figure:.{FINE_DIGITS}g}")


def _sold(needed_gb: Array) -> Array:
    """Give the smallest size sold that holds as much; NaN for none."""
    place = np.searchsorted(SOLD_GB, needed_gb)
    return np.append(SOLD_GB, np.nan)[place]  # a NaN stands after all


@cache
def _promised_mbyte_s(bus: str) -> Mapping[str, float]:
    """What each mark promises to write in a slot of a bus."""
    known = None if bus == "unknown" else bus
    return {mark: guaranteed_write_mbyte_s([mark], known) for mark in SPEED_CLASSES}


def enough_marks(bus: str, write_mbyte_s: float) -> list[str]:
    """Give the marks that promise so much in a slot of a bus."""
    return [mark for mark, rate in _promised_mbyte_s(bus).items() if rate >= write_mbyte_s]


def lowest(marks: Collection[str]) -> str:
    """Give the lowest of some marks, joined by or; nothing where there is none."""
    least = min((min_write_mbyte_s(mark) for mark in marks), default=0)
    return " or ".join(mark for mark in SPEED_CLASSES if mark in marks and min_write_mbyte_s(mark) == least)
