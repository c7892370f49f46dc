"""What happened at a site, as tables with headings to read."""

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from edgestore.plan.as_asked import AS_ASKED, BUT_FOR_GAPS, BY_SUMMARY, LESS, MORE, held_words
from edgestore.plan.credible import may_be_one_clip
from edgestore.plan.next_actions import NOTHING, WHEN, how_to_save
from edgestore.plan.verdicts import Held
from edgestore.text import number, percent, span
from edgestore.units import H_PER_DAY

if TYPE_CHECKING:
    from edgestore.plan.what_happened import WhatHappened

TABLES = (
    "what to do next",
    "planned and achieved",
    "what changes",
    "gaps in the recording",
    "recorded by hour of the day",
    "what was learnt of the rates",
    "what was learnt of the cards",
)
"""What may be shown as a table."""


BY_HOUR = 3
"""Of so many cameras the hours of the day stand side by side, which is as many as a phone shows."""

WHOLE_DAY = "all hours"
"""The row below the hours of the day: the part recorded that the verdict tells."""


def shown_table(happened: "WhatHappened") -> pd.DataFrame:
    """The table that is asked for, of the cameras that are shown."""
    tables = (_next, _planned_and_achieved, _what_changes, _gaps, _by_hour, _rates, _cards)
    return tables[TABLES.index(happened.shown)](happened)


def table_note(happened: "WhatHappened") -> str:
    """What is told once above the table that is shown, of all its rows; empty for nothing."""
    shown = {of.camera for of in happened.listed}
    actions = [action for action in happened.actions if action.camera in shown]
    return how_to_save(actions) if happened.shown == TABLES[0] else ""


def _listed(happened: "WhatHappened", rows: pd.DataFrame) -> pd.DataFrame:
    """Give the rows of the cameras that are shown, in their order."""
    place = rows["camera"].map({of.camera: n for n, of in enumerate(happened.listed)})
    return rows.loc[place.dropna().sort_values(kind="stable").index].reset_index(drop=True)


def _next(happened: "WhatHappened") -> pd.DataFrame:
    rows = _listed(happened, happened.happened)
    told = [
        what if when == WHEN[NOTHING] else f"{when.capitalize()}: {what}"
        for when, what in zip(rows["when"], rows["next"], strict=True)
    ]
    return pd.DataFrame({"Camera": rows["camera"], "Next": told, "Verdict": rows["verdict"]})


def _planned_and_achieved(happened: "WhatHappened") -> pd.DataFrame:
    rows = _listed(happened, happened.happened)
    return pd.DataFrame(
        {
            "Camera": rows["camera"],
            "Verdict": rows["verdict"],
            "Planned, days": [_planned(of) for of in happened.listed],
            "Achieved, days": [achieved_days(of) for of in happened.listed],
            "Asked, days": [
                _asked(*cells) for cells in zip(rows["asked_h"], rows["allowed_h"], rows["against_asked"], strict=True)
            ],
            "Mean of the plan, or its cap, Mbit/s": [number(rate) for rate in rows["planned_mbit_s"]],
            "Mean that follows, Mbit/s": [_follows(of) for of in happened.listed],
            "Why": rows["why"],
        }
    )


def _what_changes(happened: "WhatHappened") -> pd.DataFrame:
    rows = _listed(happened, happened.happened)
    return pd.DataFrame(
        {
            "Camera": rows["camera"],
            "Verdict": rows["verdict"],
            "Card in service": [
                f"{card}, until {taken_out}" if taken_out else card
                for card, taken_out in zip(rows["card"], rows["taken_out"], strict=True)
            ],
            "Card planned": _moved(rows["planned_card_before"], rows["planned_card"]),
            "Next change of the card in service": _moved(rows["next_change_before"], rows["next_change"]),
        }
    )


def _gaps(happened: "WhatHappened") -> pd.DataFrame:
    """From when to when; the time zone in the heading, or in a column where the cameras are in several."""
    rows = _listed(happened, happened.gaps)
    zones = rows["time_zone"].unique()
    zone = zones[0] if len(zones) == 1 else "its time zone"
    return pd.DataFrame(
        {
            "Camera": rows["camera"],
            **({"Time zone": rows["time_zone"]} if len(zones) > 1 else {}),
            f"From ({zone})": rows["from_local"],
            f"Until ({zone})": rows["until_local"],
            "Hours": [number(hours) for hours in rows["gap_h"]],
        }
    )


def _by_hour(happened: "WhatHappened") -> pd.DataFrame:
    """Part recorded of each hour of the day, of the most urgent cameras with a history."""
    with_history = [of for of in happened.listed if of.achieved and not np.isnan(of.achieved.by_hour).all()]
    table = {"Hour of the day": [*(f"{hour:02}:00" for hour in range(int(H_PER_DAY))), WHOLE_DAY]}
    for of in with_history[:BY_HOUR]:
        assert of.achieved is not None
        parts = pd.DataFrame(of.achieved.by_hour.reshape(-1, int(H_PER_DAY))).mean()
        told = ["" if np.isnan(part) else percent(part) for part in [*parts, of.achieved.recorded_part]]
        table[f"{of.camera} ({of.time_zone}), until {of.local(of.achieved.until):%Y-%m-%d %H:%M}"] = told
    return pd.DataFrame(table)


def _rates(happened: "WhatHappened") -> pd.DataFrame:
    rows = _listed(happened, happened.rates)
    columns = [name for name in rows.columns if name.endswith("mbit_s")]
    told = {
        f"Mean expected {when}, Mbit/s": [
            f"{number(m)} ({span(low, high)})" for m, low, high in rows[three].to_numpy(float)
        ]
        for when, three in (("before the answers", columns[:3]), ("now", columns[3:]))
    }
    return pd.DataFrame({"Camera": rows["camera"], **told, "Learnt": rows["learnt"]})


def _cards(happened: "WhatHappened") -> pd.DataFrame:
    rows = happened.kinds
    known = rows[["random_per_year", "random_low_per_year", "random_high_per_year"]].to_numpy(float)
    told = [f"{percent(m, 1)} ({percent(low, 1)} to {percent(high, 1)})" for m, low, high in known]
    return pd.DataFrame(
        {
            "Card": rows["card"],
            "Service log": rows["records"],
            "Failures expected": [number(count) for count in rows["expected_failures"]],
            "Random failures a year": told,
        }
    )


def _planned(of: Held) -> str:
    middle, low, high = (hours / H_PER_DAY for hours in of.planned_h)
    return "" if np.isnan(middle) else f"{number(middle)} ({span(low, high)})"


def _asked(least_h: float, most_h: float, against: str) -> str:
    """Write what is asked of a camera, or what is allowed where it holds more, and whether it holds that."""
    if against == MORE:
        return f"at most {number(most_h / H_PER_DAY)}: longer"
    held = {AS_ASKED: "held", BUT_FOR_GAPS: "held, with gaps", BY_SUMMARY: "held, by summary only"}
    told = {LESS: "less", **held}.get(against, "open")
    return f"{number(least_h / H_PER_DAY)}: {told}"


def achieved_days(of: Held) -> str:
    """Days that the card holds, with those that its footage goes back by gaps; of a card that is not full, at least.

    Where the oldest footage may be a single clip, the card may hold less; of a card that was taken out it is told so.
    """
    if of.achieved is None:
        return ""
    least = "" if of.achieved.is_full or of.achieved.is_deleted or may_be_one_clip(of) else "at least "
    or_less = ", or less if the oldest is one clip" if may_be_one_clip(of) else ""
    return f"{least}{held_words(of)}{or_less}{' (card before)' if of.taken_out else ''}"


def _follows(of: Held) -> str:
    """The mean that follows, with its range; of a card that is not full the most that it can be.

    Where one of several video tracks goes back less far than another, less was recorded before: it is the least.
    """
    if of.achieved is None or np.isnan(of.follows_mbit_s):
        return ""
    if of.all_tracks_h > 0:
        return f"at least {number(of.follows_mbit_s)}" if of.achieved.is_full else ""
    if not of.achieved.is_full:
        return f"at most {number(of.follows_mbit_s)}"
    low, high = of.follows_ends_mbit_s
    return f"{number(of.follows_mbit_s)} ({span(low, high)})"


def _moved(before: "pd.Series[str]", after: "pd.Series[str]") -> list[str]:
    return [old if old == new else f"{old or 'none'} → {new or 'none'}" for old, new in zip(before, after, strict=True)]
