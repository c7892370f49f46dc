"""What the plan of a site says to whoever fits its cards: for each camera the card to bring, the settings to make."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from edgestore.inputs.camera_list import CAMERA_COLUMNS
from edgestore.plan.site_plan import SitePlan
from edgestore.text import chance, number
from edgestore.training.fitting.guide import HOUSING_TITLES
from edgestore.training.fitting.language import ENGLISH, say


@dataclass(frozen=True)
class Setting:
    """A setting that the plan counts on: what, the value, and the column of the camera list that holds it, if one does.

    ``words`` are those that the column may hold, none for a number or a free text.
    """

    key: str
    what: str
    value: str
    column: str = ""
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class PlannedCamera:
    """A camera with its card of the plan: ``bring`` cards, none where no card serves it, which ``why_none`` says.

    ``row`` is its row of the camera list, ``in_service`` the card that is in it by the service log, with the day on
    which it was ``fitted`` and its ``serial``.
    """

    camera: str
    place: str
    housing: str
    lift: bool
    card: str
    says: str
    bring: int
    why_none: str
    settings: tuple[Setting, ...]
    row: Mapping[str, str]
    in_service: str = ""
    fitted: str = ""
    serial: str = ""


def planned_cameras(plan: SitePlan, language: str = ENGLISH) -> list[PlannedCamera]:
    """Give what to fit and to set in each camera of a plan.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    language : str
        Language of the texts.

    Returns
    -------
    list of PlannedCamera
        In the order of the camera list.
    """
    cards = plan.site.offered.set_index("card")
    wanted = plan.site.wanted.reset_index(drop=True).to_dict("records")
    rows = plan.site.cameras.reset_index(drop=True).to_dict("records")
    in_service = {} if plan.site.log is None else _in_service(plan.site.log)
    told = [
        in_band or chance(best)
        for in_band, best in zip(plan.untested_band["told"], plan.plan["best_chance"], strict=True)
    ]
    of_plan = plan.plan.assign(best_told=told).to_dict("records")
    return [
        _planned(row, given, most["retention_days_max"], cards, in_service.get(row["camera"], {}), language)
        for row, given, most in zip(rows, of_plan, wanted, strict=True)
    ]


def _planned(
    row: Mapping[Hashable, Any],
    given: Mapping[Hashable, Any],
    days_max: float,
    cards: pd.DataFrame,
    there: Mapping[str, str],
    language: str,
) -> PlannedCamera:
    served = bool(given["meets"])
    says = why = ""
    if served:
        card = cards.loc[given["card"]]
        form = "{card} ({capacity} GB, marks {marks})"
        says = say(form, language, card=given["card"], capacity=number(card["capacity_gb"]), marks=card["speed_class"])
    elif given["best_card"]:
        form = "The best card of the list, {card}, keeps all that is asked with a chance of {chance} only."
        why = say(form, language, card=given["best_card"], chance=given["best_told"])
    else:
        why = say("No card of the list can serve this camera.", language)
    return PlannedCamera(
        camera=str(row["camera"]),
        place=str(row["place"]),
        housing=str(row["housing"]) or "other",
        lift=bool(row["lift"]),
        card=str(given["card"]) if served else "",
        says=says,
        bring=int(served),
        why_none=why,
        settings=tuple(_settings(row, given, days_max, language)),
        row=_cells(row),
        **there,
    )


def _settings(
    row: Mapping[Hashable, Any], given: Mapping[Hashable, Any], days_max: float, language: str
) -> list[Setting]:
    def setting(key: str, what: str, value: str, column: str = "", **values: str) -> Setting:
        words = next((tuple(c.words) for c in CAMERA_COLUMNS if c.name == column and c.kind == "choice"), ())
        return Setting(key, say(what, language), say(value, language, **values), column, words)

    word = row["housing"] or "other"
    housing = f"{say(HOUSING_TITLES[word], language)} ({word})"
    made = [setting("housing", "Kind of housing", "{housing}", "housing", housing=housing)]
    if row["encoder_streams"]:
        made.append(setting("streams", "Streams that are recorded", "{streams}", streams=row["encoder_streams"]))
    if given["cap_mbit_s"] == given["cap_mbit_s"]:
        what = "Cap of the encoder, all recorded streams and sound together, in Mbit/s"
        made.append(setting("cap", what, "{cap}", "cap_mbit_s", cap=number(given["cap_mbit_s"])))
    else:
        what = "Cap of the encoder, in Mbit/s: the plan knows none"
        value = "none known; the plan counts on a mean of {mean} Mbit/s"
        made.append(setting("cap", what, value, "cap_mbit_s", mean=number(given["planned_mbit_s"])))
    if row["recording"] == "motion":
        value = "on motion, some {part} of the time"
        part = f"{given['recorded_fraction']:.0%}".replace("%", "\u00a0%")
        made.append(setting("recording", "When it records", value, "recording", part=part))
        for key, what in (("pre_roll_s", "Recorded before an event"), ("post_roll_s", "Recorded after an event")):
            made.append(setting(key, what, "{seconds} s", key, seconds=number(row[key])))
    else:
        made.append(setting("recording", "When it records", "all the time", "recording"))
    made.append(setting("overwrite", "When the card is full", "overwrite the oldest footage"))
    if np.isfinite(days_max):
        value = "delete footage older than {days} days" if row["deletes_by_age"] else _NO_AGE
        made.append(setting("days", "Days to keep", value, "deletes_by_age", days=number(days_max)))
    if row["locked_fraction"] > 0:
        value = _LOCKED_STAYS if np.isfinite(days_max) else _LOCKED
        part = f"{row['locked_fraction']:.0%}".replace("%", "\u00a0%")
        made.append(setting("locked", "Clips that are locked against overwriting", value, part=part))
    made.append(setting("alarm", "When the card fails or is missing", "an alarm is sent"))
    return made


_NO_AGE = "{days} days at most; the plan counts on overwriting alone"

_LOCKED = "{part} of the usable space at most; release each that is no longer needed"
_LOCKED_STAYS = "{part} of the usable space at most; they are not deleted by age: release each in time"


def _in_service(log: pd.DataFrame) -> dict[str, dict[str, str]]:
    """Give the card that is in each camera, by the service log."""
    there = log[log["removed"].isna()]
    return {
        row["camera"]: {
            "in_service": row["card"],
            "fitted": f"{row['fitted']:%Y-%m-%d}",
            "serial": str(row.get("serial", "") or ""),
        }
        for row in there.to_dict("records")
    }


def _cells(row: Mapping[Hashable, Any]) -> dict[str, str]:
    """Give a row of the camera list as cells of a file; what is empty is left out."""
    cells = {}
    for column in CAMERA_COLUMNS:
        value = row.get(column.name)
        if isinstance(value, bool | np.bool_):
            cells[column.name] = "yes" if value else "no"
        elif isinstance(value, float | np.floating):
            if value == value and np.isfinite(value):
                cells[column.name] = f"{value:.12g}"
        elif value not in (None, ""):
            cells[column.name] = str(value)
    if cells.get("recording") != "motion":  # where these do not count, they only make a note
        cells = {name: cell for name, cell in cells.items() if name not in ("pre_roll_s", "post_roll_s")}
    if cells.get("locked_fraction") == "0":
        del cells["locked_fraction"]
    return cells
