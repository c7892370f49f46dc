"""Choose, justify and look after the memory card that lets a network camera record on its own.

The answers about one camera, the lists of a site and its plan stand here; the models they rest on are in
:mod:`edgestore.models`, a package a question.
"""

from edgestore import _interrupt as _interrupt  # isort: skip  (before all that takes long to load)

from importlib import import_module
from typing import TYPE_CHECKING, Any

from edgestore.checks import Fault, InputError
from edgestore.models.rate import recorded_fraction
from edgestore.models.retention import bitrate_mbit_s_for_retention, capacity_gb_for_retention, retention_h
from edgestore.models.wear import endurance_tbw_from_hours, life_years
from edgestore.text import VERSION

if TYPE_CHECKING:
    from edgestore.answers.certainty import certainty
    from edgestore.answers.change import upkeep
    from edgestore.answers.flash_wear import flash_use
    from edgestore.answers.footage import writing
    from edgestore.answers.hold import holding
    from edgestore.answers.life import lasting
    from edgestore.answers.outage import saving
    from edgestore.inputs.camera_list import read_cameras
    from edgestore.inputs.card_list import read_cards
    from edgestore.inputs.footage import read_footage
    from edgestore.inputs.settings import read_settings
    from edgestore.plan.read import read_lists
    from edgestore.plan.requirements import Requirements
    from edgestore.plan.site import Site
    from edgestore.plan.site_plan import SitePlan, site_plan
    from edgestore.plan.what_if import what_if

__version__ = VERSION

_LOADED_WHEN_USED = {
    "certainty": "answers.certainty",
    "upkeep": "answers.change",
    "flash_use": "answers.flash_wear",
    "writing": "answers.footage",
    "holding": "answers.hold",
    "lasting": "answers.life",
    "saving": "answers.outage",
    "read_cameras": "inputs.camera_list",
    "read_cards": "inputs.card_list",
    "read_footage": "inputs.footage",
    "read_settings": "inputs.settings",
    "Site": "plan.site",
    "read_lists": "plan.read",
    "Requirements": "plan.requirements",
    "SitePlan": "plan.site_plan",
    "site_plan": "plan.site_plan",
    "what_if": "plan.what_if",
}
"""Names whose modules import pandas: it takes longer to load than all else, and the models do without."""

__all__ = [
    "Fault",
    "InputError",
    "Requirements",
    "Site",
    "SitePlan",
    "__version__",
    "bitrate_mbit_s_for_retention",
    "capacity_gb_for_retention",
    "certainty",
    "endurance_tbw_from_hours",
    "flash_use",
    "holding",
    "lasting",
    "life_years",
    "read_cameras",
    "read_cards",
    "read_footage",
    "read_lists",
    "read_settings",
    "recorded_fraction",
    "retention_h",
    "saving",
    "site_plan",
    "upkeep",
    "what_if",
    "writing",
]


def __getattr__(name: str) -> Any:
    """A public name of a module that is loaded when it is first used."""
    if name not in _LOADED_WHEN_USED:
        raise AttributeError(f"module 'edgestore' has no attribute {name!r}")
    return getattr(import_module(f"edgestore.{_LOADED_WHEN_USED[name]}"), name)
