"""The two lists of a site, read with the faults of both told together, and the plan straight from them."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from edgestore.checks import Fault, InputError
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.sheet import Source
from edgestore.inputs.tables import Table
from edgestore.planning.requirements import Requirements
from edgestore.planning.site import SitePlan, site_plan

ListFile = Path | str | tuple[str, bytes]
"""Path of a list, or its name and content."""


@dataclass(frozen=True)
class SiteLists:
    """The cameras of a site, the cards on offer, and what there is to say about the lists."""

    cameras: pd.DataFrame
    cards: pd.DataFrame
    notes: tuple[str, ...]

    def plan(self, requirements: Requirements) -> SitePlan:
        """Plan the site; the plan's warnings begin with the notes."""
        plan = site_plan(self.cameras, self.cards, requirements)
        return replace(plan, warnings=(*self.notes, *plan.warnings))


def read_lists(cameras: ListFile, cards: ListFile) -> SiteLists:
    """Read a camera list and a card list.

    Parameters
    ----------
    cameras, cards : Path, str or tuple
        Path of each list, or its name and content as bytes.

    Returns
    -------
    SiteLists
        Both lists, ready to be planned.

    Raises
    ------
    InputError
        With every fault of both lists.
    """
    faults: list[Fault] = []
    camera_table, card_table = _read(read_cameras, cameras, faults), _read(read_cards, cards, faults)
    if camera_table is None or card_table is None:
        raise InputError(faults)
    return SiteLists(camera_table.rows, card_table.rows, (*camera_table.notes, *card_table.notes))


def _read(read: Callable[[Source, str], Table], source: ListFile, faults: list[Fault]) -> Table | None:
    name, content = source if isinstance(source, tuple) else (Path(source).name, source)
    try:
        return read(content, name)
    except InputError as error:
        faults += error.faults
        return None
