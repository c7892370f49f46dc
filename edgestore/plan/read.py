"""The two lists of a site, its settings and the files that these name, read as one site; all faults told together."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TypeVar

import pandas as pd

from edgestore.checks import Fault, InputError, refuse
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.cards_checked import not_accepted, read_cards_checked
from edgestore.inputs.service_log import read_service_log
from edgestore.inputs.settings import Settings, group_notes, read_settings
from edgestore.inputs.settings_sheet import is_settings_sheet
from edgestore.inputs.sheet import shown
from edgestore.inputs.site_folder import LIST_SUFFIXES
from edgestore.plan.evidence import Progress, read_evidence
from edgestore.plan.input_file import CAMERAS, CARDS, CHECKED, LOG, SETTINGS, InputFile, Kept
from edgestore.plan.site import Site

ListFile = Path | str | tuple[str, bytes]
"""Path of a list or of settings, or its name and content."""

Read = TypeVar("Read")


def read_lists(
    cameras: ListFile,
    cards: ListFile,
    settings: ListFile | None = None,
    progress: Progress = iter,
    *,
    kept: Kept | None = None,
) -> Site:
    """Read a camera list, the files that it names, a card list, the settings of the site and the log these name.

    Parameters
    ----------
    cameras, cards : Path, str or tuple
        Path of each list, or its name and content as bytes.
    settings : Path, str or tuple, optional
        Likewise the settings; none when left out.
    progress : callable
        Gives the cameras whose files are read back one by one, as a progress bar does.
    kept : mapping, optional
        Copies in the place of the files that the lists name, as a proposal keeps them
        (:data:`edgestore.plan.input_file.Kept`).

    Returns
    -------
    Site
        All of it, ready to be planned (:func:`edgestore.site_plan`).

    Raises
    ------
    InputError
        With every fault of the lists, of the settings, and of all files that the camera list or the settings name.
    """
    faults: list[Fault] = []
    camera_table, card_table = _read(read_cameras, cameras, faults), _read(read_cards, cards, faults)
    asked = Settings() if settings is None else _read(read_settings, settings, faults)
    if asked is not None:
        log, accepted = (_kept_file(role, file, kept) for role, file in _named(asked))
        asked = replace(asked, service=replace(asked.service, log=log, accepted=accepted))
    evidence = None
    if camera_table is not None:
        try:
            evidence = read_evidence(camera_table.rows, _folder(cameras), progress, kept=kept)
        except InputError as error:
            faults += error.faults
    rows, log_notes = _log(asked, faults)
    if faults or camera_table is None or card_table is None or evidence is None or asked is None:
        raise InputError(faults)
    sources = [source for source in (cameras, cards, settings) if source is not None]
    groups = group_notes(asked, _name(sources[-1]), camera_table.rows["group"])
    notes = (*camera_table.notes, *card_table.notes, *groups, *evidence.notes, *log_notes)
    inputs = [_input(role, of) for role, of in ((CAMERAS, cameras), (CARDS, cards), (SETTINGS, settings)) if of]
    inputs += [InputFile(role, file.name, file) for role, file in _named(asked) if file]
    return Site(
        camera_table.rows,
        card_table.rows,
        evidence.rows,
        settings=asked,
        log=rows,
        settings_name="" if settings is None else _name(settings),
        notes=notes,
        inputs=(*inputs, *evidence.inputs),
    )


def read_other(site: Site, other: ListFile, log: Path | None = None) -> Site:
    """Read other settings or another card list for the cameras of a site, to compare both plans.

    Parameters
    ----------
    site : Site
        The site, as :func:`read_lists` reads it.
    other : Path, str or tuple
        Path of settings (TOML, XLSX or ODS) or of a card list (CSV, XLSX or ODS), or its name and content as bytes.
    log : Path, optional
        Where the service log that these settings name is now.

    Returns
    -------
    Site
        The same cameras with the other settings or cards; what their files say is not read again.

    Raises
    ------
    InputError
        With every fault of the other file and of the log that it names; each says that the other file is meant.
    """
    name, faults = _name(other), list[Fault]()
    kind = Path(name).suffix.lower()
    if kind not in (".toml", *LIST_SUFFIXES):
        mend = "Give the path of other settings, or of another card list."
        raise refuse("The other plan", shown(name), f"a file that ends in .toml, {', '.join(LIST_SUFFIXES)}", mend)
    content = other[1] if isinstance(other, tuple) else Path(other)
    is_list = kind in LIST_SUFFIXES and not is_settings_sheet(content, name)
    made = replace(site, inputs=(*site.inputs, _input(CARDS if is_list else SETTINGS, other)))
    if is_list:
        cards = _read(read_cards, other, faults)
        if cards is not None:
            made = replace(made, cards=cards.rows, notes=tuple(cards.notes), taught={})
    else:
        asked = _read(read_settings, other, faults)
        if asked is not None and log is not None:
            asked = replace(asked, service=replace(asked.service, log=log))
        served, log_notes = _log(asked, faults)
        if asked is not None:
            notes = (*group_notes(asked, name, site.cameras["group"]), *log_notes)
            made = replace(
                made, requirements=None, settings=asked, log=served, settings_name=name, notes=notes, taught={}
            )
    try:
        if faults:
            raise InputError(faults)
        _ = made.days_to_cover  # refused here, where it is known that the other file is to blame
    except InputError as error:
        raise InputError(replace(fault, where=f"the other plan, {fault.where}") for fault in error.faults) from None
    return made


def _log(asked: Settings | None, faults: list[Fault]) -> tuple[pd.DataFrame | None, tuple[str, ...]]:
    """Read the service log that settings name, with what there is to say of it; none where they name none."""
    if asked is None or asked.service.log is None or asked.service.as_of is None:
        return None, ()
    log = _read(partial(read_service_log, as_of=asked.service.as_of), asked.service.log, faults)
    checked = None if asked.service.accepted is None else _read(read_cards_checked, asked.service.accepted, faults)
    if log is None:
        return None, ()
    return log.rows, (*log.notes, *(() if checked is None else not_accepted(log.rows, checked.rows)))


def _named(asked: Settings) -> tuple[tuple[str, Path | None], ...]:
    """The files that settings name and a plan reads, by role."""
    return (LOG, asked.service.log), (CHECKED, asked.service.accepted)


def _kept_file(role: str, file: Path | None, kept: Kept | None) -> Path | None:
    """A file that settings name, or its copy."""
    copy = None if kept is None or file is None else kept.get((role, file.name, ""))
    return copy if isinstance(copy, Path) else file


def _input(role: str, source: ListFile) -> InputFile:
    return InputFile(role, _name(source), source[1] if isinstance(source, tuple) else Path(source))


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
