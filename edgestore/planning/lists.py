"""The two lists of a site and the files they name, all faults told together, and the plan straight from them."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from edgestore.checks import Fault, InputError
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.sheet import Source
from edgestore.inputs.tables import Table
from edgestore.planning.evidence import Evidence, read_evidence
from edgestore.planning.requirements import Requirements
from edgestore.planning.site import SitePlan, site_plan

ListFile = Path | str | tuple[str, bytes]
"""Path of a list, or its name and content."""


@dataclass(frozen=True)
class SiteLists:
    """The cameras of a site, the cards on offer, what the cameras' files say, and what there is to say about it all."""

    cameras: pd.DataFrame
    cards: pd.DataFrame
    evidence: Evidence
    notes: tuple[str, ...]
    files: tuple[Path, ...]

    def plan(self, requirements: Requirements) -> SitePlan:
        """Plan the site; the plan's warnings begin with the notes."""
        plan = site_plan(self.cameras, self.cards, requirements, self.evidence.rows)
        return replace(plan, warnings=(*self.notes, *plan.warnings))


def read_lists(cameras: ListFile, cards: ListFile) -> SiteLists:
    """Read a camera list, the files that it names, and a card list.

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
        With every fault of both lists, and of all files that the camera list names.
    """
    faults: list[Fault] = []
    camera_table, card_table = _read(read_cameras, cameras, faults), _read(read_cards, cards, faults)
    evidence = None
    if camera_table is not None:
        try:
            evidence = read_evidence(camera_table.rows, _folder(cameras))
        except InputError as error:
            faults += error.faults
    if camera_table is None or card_table is None or evidence is None:
        raise InputError(faults)
    notes = (*camera_table.notes, *card_table.notes, *evidence.notes)
    lists = tuple(Path(source) for source in (cameras, cards) if not isinstance(source, tuple))
    return SiteLists(camera_table.rows, card_table.rows, evidence, notes, (*lists, *evidence.files))


def _folder(source: ListFile) -> Path | None:
    return None if isinstance(source, tuple) else Path(source).parent


def _read(read: Callable[[Source, str], Table], source: ListFile, faults: list[Fault]) -> Table | None:
    name, content = source if isinstance(source, tuple) else (Path(source).name, source)
    try:
        return read(content, name)
    except InputError as error:
        faults += error.faults
        return None
