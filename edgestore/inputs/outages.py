"""The recorder's outages as the settings state them: ``[outage]`` of a site, ``[groups."NAME".outage]`` of a group."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from edgestore.checks import MAX_LINK_MBIT_S, Fault
from edgestore.inputs.tables import Column
from edgestore.models.outage.repair import SIGMAS
from edgestore.models.outage.saved import LAWS

LAW_KEYS = {
    "exponential": ("repair_mean_h",),
    "lognormal": ("repair_median_h", "repair_sigma"),
    "working hours": ("visit_delay_h", "work_h"),
}
"""The keys by which each law is stated, in the order of its numbers."""

BACKFILL = (
    "rate at which the card of one camera is fetched over the link, beside its live stream; without it the card "
    "is brought in by hand"
)
COVERED = "length of an outage that every card must cover, as a part of the promise"
OF_LAW = ("repair_law", *sum(LAW_KEYS.values(), ()))
"""A law and its numbers: they are stated together."""

OUTAGE_KEYS = (
    Column(
        "recorder_mtbf_h",
        "number",
        "mean time from a repair of the recorder to its next failure",
        "h",
        required=True,
        above=0,
        at_most=10_000_000,
    ),
    Column("repair_law", "choice", "law of the length of an outage", required=True, words=tuple(LAWS)),
    Column("repair_mean_h", "number", "exponential: mean outage", "h", at_least=0, at_most=10_000),
    Column("repair_median_h", "number", "lognormal: median outage", "h", at_least=0, at_most=10_000),
    Column(
        "repair_sigma",
        "number",
        "lognormal: standard deviation of ln(length)",
        at_least=SIGMAS[0],
        at_most=SIGMAS[1],
    ),
    Column("visit_delay_h", "number", "working hours: time until somebody can come", "h", at_least=0, at_most=10_000),
    Column("work_h", "number", "working hours: the repair itself", "h", at_least=0, at_most=10_000),
    Column(
        "shared_cause_share",
        "number",
        "part of the outages whose cause takes the camera too",
        default=0.0,
        at_least=0,
        at_most=1,
        mend="A percentage is divided by 100.",
    ),
    Column("card_failures_per_year", "number", "failures of a card", "a year", default=0.0, at_least=0, at_most=1000),
    Column(
        "inspected_every_days",
        "number",
        "time between two checks of a card",
        "days",
        default=365.0,
        above=0,
        at_most=10_000,
    ),
    Column("backfill_mbit_s", "number", BACKFILL, "Mbit/s", above=0, at_most=MAX_LINK_MBIT_S),
    Column("covered_h", "number", COVERED, "h", above=0, at_most=10_000),
)


@dataclass(frozen=True)
class OutageSettings:
    """How a recorder fails and is repaired; units and meaning as ``OUTAGE_KEYS`` declares them.

    Where a card is brought in, or the link is fast enough, ``backfill_mbit_s`` is infinite; ``covered_h`` is 0 where no
    outage need be covered.
    """

    recorder_mtbf_h: float
    repair_law: str
    repair_numbers: tuple[float, ...]
    shared_cause_share: float = 0.0
    card_failures_per_year: float = 0.0
    inspected_every_days: float = 365.0
    backfill_mbit_s: float = math.inf
    covered_h: float = 0.0


def outage_settings(values: Mapping[str, Any]) -> OutageSettings:
    """Give the settings from the values of a table without faults."""
    keys = LAW_KEYS[values["repair_law"]]
    rest = {name: value for name, value in values.items() if name not in sum(LAW_KEYS.values(), ())}
    return OutageSettings(**rest, repair_numbers=tuple(values[key] for key in keys))


def inherited(group: Mapping[str, Any], site: Mapping[str, Any]) -> dict[str, Any]:
    """Give what the table of a group leaves to that of the site: all but a law, if it names one of its own.

    Examples
    --------
    >>> inherited({"repair_law": "exponential"}, {"recorder_mtbf_h": 9000, "repair_law": "lognormal"})
    {'recorder_mtbf_h': 9000}
    """
    of_law = OF_LAW if "repair_law" in group else ()
    return {name: value for name, value in site.items() if name not in group and name not in of_law}


def law_faults(table: Mapping[str, Any], place: str) -> list[Fault]:
    """Tell which numbers the law of a table lacks, and which belong to another law."""
    law = table.get("repair_law")
    if not isinstance(law, str) or law not in LAW_KEYS:
        return []
    takes = f"{' and '.join(LAW_KEYS[law])} with the law {law}"
    faults = [Fault(f"{place} {key}", "nothing", takes, "Add it.") for key in LAW_KEYS[law] if key not in table]
    others = (key for other, keys in LAW_KEYS.items() if other != law for key in keys)
    mend = "Remove it, or name the law that it belongs to."
    return faults + [Fault(f"{place} {key}", "a number", takes, mend) for key in others if key in table]
