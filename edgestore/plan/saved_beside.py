"""What saved answers of the cameras, beside their list, say of a plan that does not use them."""

from dataclasses import replace
from pathlib import Path

from edgestore.inputs.saved_answers import ANSWERS_FOLDER
from edgestore.plan.input_file import CAMERAS
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.what_happened import what_happened
from edgestore.text import counted, short

NAMED, LETTERS = 3, 20
"""Cameras named, and letters of each name, so that page 1 of a proposal has room for the sentence."""


def with_saved_answers(plan: SitePlan) -> SitePlan:
    """The plan, warned where answers were saved of its cameras that would change a card of it.

    Parameters
    ----------
    plan : SitePlan
        The plan.

    Returns
    -------
    SitePlan
        The same with that warning, after the first one, which is of what departs from the settings or of cameras
        without a card; unchanged where no answers stand in the folder beside the camera list, or none of them changes
        a card.
    """
    folder = _folder(plan)
    if folder is None or not folder.is_dir():
        return plan
    happened = what_happened(plan, folder)
    changed = happened.other_cards
    if changed.empty:
        return plan
    names = [short(camera, LETTERS) for camera in changed["camera"][:NAMED]]
    more = f" and {len(changed) - NAMED} more" if len(changed) > NAMED else ""
    told = (
        f"Saved answers of {counted(len(happened.answers.by_camera), 'camera')}, which this plan does not use, would"
        f" change the card of {len(changed)}: {', '.join(names)}{more}. Before ordering see the page What"
        " happened? or run edgestore happened."
    )
    return replace(plan, beside=told, warnings=(*plan.warnings[:1], told, *plan.warnings[1:]))


def _folder(plan: SitePlan) -> Path | None:
    """Where answers of its cameras would be; None for lists that were handed over without a place."""
    places = (file.source for file in plan.site.inputs if file.role == CAMERAS)
    return next((place.parent / ANSWERS_FOLDER for place in places if isinstance(place, Path)), None)
