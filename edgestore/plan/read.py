"""The two lists of a site and the files they name, all faults told together, and the plan straight from them."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TypeVar

import pandas as pd

from edgestore.checks import Fault, InputError
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.service_log import read_service_log
from edgestore.inputs.settings import Settings, group_notes, read_settings
from edgestore.plan.choice import Kinds
from edgestore.plan.evidence import Evidence, Progress, read_evidence
from edgestore.plan.requirements import Requirements, override, wanted_by_camera
from edgestore.plan.site import SitePlan, site_plan

ListFile = Path | str | tuple[str, bytes]
"""Path of a list or of settings, or its name and content."""

Read = TypeVar("Read")


@dataclass(frozen=True)
class SiteLists:
    """The cameras of a site, the cards on offer, what the cameras' files say, and what there is to say about it all."""

    cameras: pd.DataFrame
    cards: pd.DataFrame
    evidence: Evidence
    notes: tuple[str, ...]
    files: tuple[Path, ...]
    settings: Settings = field(default_factory=Settings)
    log: pd.DataFrame | None = None
    settings_name: str = ""

    def plan(self, site: Requirements | None = None, kinds: Kinds = "camera") -> SitePlan:
        """Plan the site; the plan's warnings begin with what departs from the settings, and the notes.

        Parameters
        ----------
        site : Requirements, optional
            What is asked of every card where neither its camera nor its group asks otherwise; by the settings when
            left out.
        kinds : str or int
            A card for each ``camera``, one kind a ``group`` or for the ``site``, or so many kinds at most.

        Returns
        -------
        SitePlan
            The plan.

        Raises
        ------
        InputError
            When the site, a group or a camera asks what cannot be met, or there is no such policy.
        """
        stated = Requirements(**self.settings.requirements)
        site = stated if site is None else site
        departs = override(site, stated, self.settings_name) if self.settings_name else ""
        wanted = wanted_by_camera(self.cameras, site, self.settings.groups)
        asked, evidence = self.settings, self.evidence.rows
        looked_after = (asked.service, self.log)
        plan = site_plan(
            self.cameras, self.cards, wanted, evidence, asked.costs, kinds, *looked_after, outage=asked.outage
        )
        warnings = (*filter(None, [departs]), *self.notes, *plan.warnings)
        return replace(plan, warnings=warnings, override=departs)


def read_lists(
    cameras: ListFile, cards: ListFile, settings: ListFile | None = None, progress: Progress = iter
) -> SiteLists:
    """Read a camera list, the files that it names, a card list, the settings of the site and the log these name.

    Parameters
    ----------
    cameras, cards : Path, str or tuple
        Path of each list, or its name and content as bytes.
    settings : Path, str or tuple, optional
        Likewise the settings; none when left out.
    progress : callable
        Gives the cameras whose files are read back one by one, as a progress bar does.

    Returns
    -------
    SiteLists
        All of it, ready to be planned.

    Raises
    ------
    InputError
        With every fault of the lists, of the settings, and of all files that the camera list or the settings name.
    """
    faults: list[Fault] = []
    camera_table, card_table = _read(read_cameras, cameras, faults), _read(read_cards, cards, faults)
    asked = Settings() if settings is None else _read(read_settings, settings, faults)
    evidence = None
    if camera_table is not None:
        try:
            evidence = read_evidence(camera_table.rows, _folder(cameras), progress)
        except InputError as error:
            faults += error.faults
    log = None
    if asked is not None and asked.service.log is not None and asked.service.as_of is not None:
        log = _read(partial(read_service_log, as_of=asked.service.as_of), asked.service.log, faults)
    if faults or camera_table is None or card_table is None or evidence is None or asked is None:
        raise InputError(faults)
    sources = [source for source in (cameras, cards, settings) if source is not None]
    groups = group_notes(asked, _name(sources[-1]), camera_table.rows["group"])
    notes = (*camera_table.notes, *card_table.notes, *groups, *evidence.notes, *(log.notes if log else ()))
    files = [Path(source) for source in sources if not isinstance(source, tuple)]
    files += [asked.service.log] if asked.service.log else []
    rows = log.rows if log else None
    named = "" if settings is None else _name(settings)
    return SiteLists(camera_table.rows, card_table.rows, evidence, notes, (*files, *evidence.files), asked, rows, named)


def _folder(source: ListFile) -> Path | None:
    return None if isinstance(source, tuple) else Path(source).parent


def _name(source: ListFile) -> str:
    return source[0] if isinstance(source, tuple) else Path(source).name


def _read(read: Callable[..., Read], source: ListFile, faults: list[Fault]) -> Read | None:
    content = source[1] if isinstance(source, tuple) else source
    try:
        return read(content, name=_name(source))
    except InputError as error:
        faults += error.faults
        return None
