"""What the page for a phone shows, of a kind of housing or a camera of a plan, as data; handouts.py makes the page."""

import hashlib
import itertools
import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from edgestore.inputs.camera_list import CAMERA_COLUMNS
from edgestore.inputs.service_log import WHYS
from edgestore.training.fitting.cautions import Caution
from edgestore.training.fitting.commissioning import CHECKS, COLUMNS
from edgestore.training.fitting.guide import (
    FACINGS,
    SLOT_LOOKS,
    SLOTS,
    TYPICAL,
    WORKS,
    Guide,
    Step,
    guide,
    picture_keys,
    slot_picture,
    up_to_the_slot,
)
from edgestore.training.fitting.language import ENGLISH, say
from edgestore.training.fitting.pictures import picture_of, svg_of
from edgestore.training.fitting.planned import PlannedCamera

WORDS: Mapping[str, str] = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))["words"]
"""What the page itself says, by key."""

PART = "|"
"""Between work, slot and facing in the name of a way through."""


def phone_data(
    housing: str,
    planned: PlannedCamera | None = None,
    *,
    slot: str | None = None,
    facing: str | None = None,
    language: str = ENGLISH,
) -> dict[str, Any]:
    """Give what the page of a housing, or of a camera of a plan, shows, as data.

    Parameters
    ----------
    housing : str
        Kind of housing, as camera lists have them.
    planned : PlannedCamera, optional
        The camera, its card and its settings.
    slot, facing : str, optional
        Kind of slot and where it faces, when these are known; the page asks otherwise.
    language : str
        Language of the texts.

    Returns
    -------
    dict
        ``steps`` and ``pictures`` hold each once; ``ways`` name the steps of each way through by their numbers, and
        ``reach`` says how many of these come before the slot is seen.
    """
    lift = None if planned is None else planned.lift
    steps: dict[str, int] = {}
    ways, reach, of_works = {}, {}, {}
    made: list[dict[str, Any]] = []
    pictures: dict[str, None] = {}
    for work, kind, faces in itertools.product(WORKS, SLOTS, FACINGS):
        way = guide(housing, kind, faces, work, lift=lift, language=language)
        told = [_step(way, section.title, step, language) for section, step in way.steps]
        pictures |= dict.fromkeys(key for one in told for key in one["pictures"])
        for one in told:
            name = json.dumps(one)
            if name not in steps:
                steps[name] = len(made)
                made.append(one)
        ways[PART.join((work, kind, faces))] = [steps[json.dumps(one)] for one in told]
        reach[work] = len(up_to_the_slot(way))
    for work in WORKS:
        any_slot = guide(housing, slot, facing, work, lift=lift, language=language)
        of_works[work] = {"title": say(WORKS[work], language), "tools": any_slot.tools, "never": any_slot.never}
    chosen = _of_slots(language)
    pictures |= dict.fromkeys(one["picture"] for kind in ("slots", "facings") for one in chosen[kind])
    any_guide = guide(housing, language=language)
    data = {
        "language": language,
        "housing": housing,
        "title": any_guide.title,
        "looks": any_guide.looks,
        "typical": say(TYPICAL, language),
        "words": {key: say(text, language) for key, text in WORDS.items()},
        "works": of_works,
        "steps": made,
        "ways": ways,
        "reach": reach,
        **chosen,
        "preset": {"slot": slot, "facing": facing},
        "checks": [
            {"key": c.key, "title": say(c.title, language), "text": say(c.text, language)}
            | {
                "cautions": _cautions(
                    tuple(w for w in c.warnings if w.key != "moving" or "motor" in any_guide.has), language
                )
            }
            for c in CHECKS
        ],
        "whys": WHYS,
        "log_columns": COLUMNS,
        "camera_columns": [column.name for column in CAMERA_COLUMNS],
        **_of_plan(housing, planned),
    }
    data["id"] = hashlib.sha256(json.dumps(data).encode()).hexdigest()[:16]
    data["pictures"] = {key: _picture(key, language) for key in pictures}
    return data


def _of_plan(housing: str, planned: PlannedCamera | None) -> dict[str, Any]:
    if planned is None:
        return {"planned": None, "settings": [], "row": {"camera": "", "housing": housing}}
    settings = [
        {"key": s.key, "what": s.what, "value": s.value, "column": s.column, "words": s.words} for s in planned.settings
    ]
    told = {name: getattr(planned, name) for name in _TOLD}
    return {"planned": told, "settings": settings, "row": dict(planned.row)}


_TOLD = ("camera", "place", "card", "says", "bring", "why_none", "in_service", "fitted", "serial")


def _of_slots(language: str) -> dict[str, list[dict[str, str]]]:
    """Give the kinds of slot and where they face, each with the picture that one taps."""
    slots = [
        {"key": word, "label": say(word, language), "looks": say(looks, language), "picture": slot_picture(word)}
        for word, looks in SLOT_LOOKS.items()
    ]
    facings = [{"key": word, "label": say(word, language), "picture": f"facing {word}"} for word in FACINGS]
    return {"slots": slots, "facings": facings}


def _step(way: Guide, section: str, step: Step, language: str) -> dict[str, Any]:
    return {
        "section": section,
        "parts": list(step.parts),
        "cautions": _cautions(step.warnings, language),
        "pictures": list(dict.fromkeys(picture_keys(way, step))),
        "check": step.check,
        "asks": list(step.asks),
    }


def _cautions(cautions: tuple[Caution, ...], language: str) -> list[dict[str, str]]:
    return [{"title": say(c.title, language), "text": say(c.text, language)} for c in cautions]


def _picture(key: str, language: str) -> dict[str, str]:
    drawing = picture_of(key, language)
    return {"svg": svg_of(key, language).decode(), "alt": drawing.alt_text, "title": drawing.title}
