"""A site plan straight from its two lists, with the faults of both told together."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from edgestore.checks import Fault, InputError
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.sheet import Source
from edgestore.inputs.tables import Table
from edgestore.planning.requirements import Requirements
from edgestore.planning.site import SitePlan, site_plan

ListFile = Path | str | tuple[str, bytes]
"""Path of a list, or its name and content."""


def plan_from_lists(cameras: ListFile, cards: ListFile, requirements: Requirements) -> SitePlan:
    """Read a camera list and a card list and plan the site.

    Parameters
    ----------
    cameras, cards : Path, str or tuple
        Path of each list, or its name and content as bytes.
    requirements : Requirements
        What every card must reach.

    Returns
    -------
    SitePlan
        The plan; its warnings begin with what there is to say about the lists.

    Raises
    ------
    InputError
        With every fault of both lists.
    """
    faults: list[Fault] = []
    tables = [_read(read, source, faults) for read, source in ((read_cameras, cameras), (read_cards, cards))]
    camera_table, card_table = tables
    if camera_table is None or card_table is None:
        raise InputError(faults)
    plan = site_plan(camera_table.rows, card_table.rows, requirements)
    return replace(plan, warnings=(*camera_table.notes, *card_table.notes, *plan.warnings))


def _read(read: Callable[[Source, str], Table], source: ListFile, faults: list[Fault]) -> Table | None:
    name, content = source if isinstance(source, tuple) else (Path(source).name, source)
    try:
        return read(content, name)
    except InputError as error:
        faults += error.faults
        return None
