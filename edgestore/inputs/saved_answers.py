"""A folder of answers that cameras gave about their recordings, saved as files -> what each has on its card, by day."""

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import groupby
from pathlib import Path

import pandas as pd

from edgestore.checks import Fault, InputError, not_opened, refuse
from edgestore.inputs.clocks import latest_day
from edgestore.inputs.encoder import read_encoder
from edgestore.inputs.names import printable
from edgestore.inputs.onvif_recordings import NEEDED, Recordings, read_recordings
from edgestore.inputs.recorded_tracks import OF_NOW, Spell, after, listed_tracks, recorded_spells
from edgestore.inputs.sheet import shown
from edgestore.inputs.stream import Reading
from edgestore.plain_file import plain_file

ANSWERS_FOLDER = "answers"
"""The folder of saved answers in that of a site."""

MOST_BYTES = 16_000_000
"""A recording history of 20 000 events has some 16 MB (our choice)."""

_NOT_IN_A_NAME = re.compile(r'[\\/:*?"<>|]')
_LAYOUT = "Put the answers of a camera into answers/YYYY-MM-DD/CAMERA.xml, or several into answers/YYYY-MM-DD/CAMERA/."


@dataclass(frozen=True)
class OnCard:
    """What a camera said of the footage on its card. All times are its clock's, as UTC.

    Attributes
    ----------
    camera : str
        Its name in the camera list.
    saved : date
        Day on which the answers were saved.
    span : tuple or None
        Oldest and newest moment of footage; None where there is none.
    spells : tuple or None
        Beginning and end of each stretch that is recorded, within the part of the span that the history covers; None
        where no history was saved.
    now : Timestamp or None
        What the clock showed; None where it was not asked.
    encoders : tuple of Path
        The files with encoder settings.
    kept_h : float
        Age at which the camera is set to delete footage, h; infinite for no limit, NaN where it was not asked.
    covered_from : Timestamp or None
        From when on the history tells what is recorded, until the end of the span; None for all of the span.
    covered_until : Timestamp or None
        The last result of a history whose search had not ended, which tells nothing of what came after; else None.
    pieces : tuple of Spell
        Beginning and end of each video track that was listed, as one where they touch, or, where several are recorded
        by now, from ``all_from`` on of the time that all have; between them is no footage. Empty where only the span of
        all was told.
    all_from : Timestamp or None
        From when on each video track that is recorded by now has footage, where one goes back farther: the others may
        have been switched on then, or be kept for less, which no answer tells. None where all go back alike.
    """

    camera: str
    saved: date
    span: Spell | None
    spells: tuple[Spell, ...] | None
    now: pd.Timestamp | None
    encoders: tuple[Path, ...]
    kept_h: float = math.nan
    covered_from: pd.Timestamp | None = None
    pieces: tuple[Spell, ...] = ()
    covered_until: pd.Timestamp | None = None
    all_from: pd.Timestamp | None = None


@dataclass(frozen=True)
class SavedAnswers:
    """What the cameras of a site said last.

    Attributes
    ----------
    by_camera : dict
        What each camera said, by its name.
    notes : tuple of str
        What the reader should know.
    files : tuple of Path
        The files that were read.
    unread : dict
        By the name of the camera what of its last answers could not be read; the rest of them, or else answers of
        an earlier day, stand in ``by_camera``.
    """

    by_camera: dict[str, OnCard]
    notes: tuple[str, ...]
    files: tuple[Path, ...]
    unread: dict[str, tuple[Fault, ...]] = field(default_factory=dict)


def file_name(camera: str) -> str:
    """Name of a camera as its file or folder has it: what no file system takes is written as _."""
    return _NOT_IN_A_NAME.sub("_", camera)


def read_answers(folder: Path, cameras: Iterable[str], today: date | None = None) -> SavedAnswers:
    """Read the answers that were saved of the cameras of a site.

    Parameters
    ----------
    folder : Path
        Has a folder for each day, named as 2026-11-20, and in it for each camera a file or a folder with several files,
        both of its name: answers of ONVIF's Recording Search (GetRecordingSummary, GetRecordingInformation,
        GetRecordingSearchResults, GetEventSearchResults), and where they were saved those of Recording Control
        (GetRecordingConfiguration, GetRecordings), GetSystemDateAndTime and those with encoder settings.
    cameras : iterable of str
        Names in the camera list.
    today : date, optional
        Day after which nothing can have been saved; by default the day on this machine's clock.

    Returns
    -------
    SavedAnswers
        Of each camera the answers of the last day that has any. What cannot be read is told, and the others are used.

    Raises
    ------
    InputError
        When there is no such folder.

    Notes
    -----
    A device tells of all tracks; those of video count, and all data only where no track is told. The history counts by
    the state of the tracks of video, else by that of the recordings; a stretch is recorded while any such track is, or,
    where several are recorded beside each other by now, all that have begun: each has its gaps. The span is that of the
    track that goes back farthest, or least where answers of an earlier day show that footage of that one is deleted
    before that of the other, though both are as old. The history covers it from the first state on. Where that is a
    change to no data, data are taken for recorded from the oldest footage until then. Of a search that had not ended
    only the time from its first to its last result is covered.
    """
    by_name = {file_name(camera): camera for camera in cameras}
    notes: dict[str, None] = {}
    said: dict[str, OnCard] = {}
    unread: dict[str, tuple[Fault, ...]] = {}
    files: list[Path] = []
    for day, inside in _days(folder, latest_day(today), notes):
        for name, of_camera in groupby(_answers(inside, notes), key=lambda path: _camera_of(path, inside)):
            paths = list(of_camera)
            if name not in by_name:
                notes[f"{day}: the camera list has no {shown(name)}; its answers are not used"] = None
                continue
            files += paths
            camera = by_name[name]
            on_card, faults, told = _on_card(camera, day, paths)
            unread.pop(camera, None)
            if faults:
                unread[camera] = faults
            if on_card is not None:
                if camera in said and _is_kept_for_less(said[camera], on_card):
                    on_card = _of_all_tracks(on_card)
                    told = (*told, "one of its video tracks is kept for less than another, as two days show: it counts")
                said[camera] = on_card
            elif camera in said:
                told = (*told, f"its answers of {day} could not be read; those of {said[camera].saved} are used")
            notes |= dict.fromkeys(f"{camera}: {text}" for text in told)
    return SavedAnswers(said, tuple(notes), tuple(files), unread)


def _is_kept_for_less(before: OnCard, now: OnCard) -> bool:
    """Whether footage of a video track was deleted before that of another track which is as old.

    On the day before each track had footage of two moments at least: ``all_from``, and an hour before the newest.
    """
    if before.span is None or before.all_from is None or now.span is None or now.all_from is None:
        return False
    had = before.all_from, before.span[1] - OF_NOW
    return any(now.span[0] <= moment < now.all_from - OF_NOW for moment in had)


def _of_all_tracks(on_card: OnCard) -> OnCard:
    """The same from where on all video tracks have footage."""
    since = on_card.all_from
    assert since is not None
    assert on_card.span is not None
    return replace(
        on_card,
        span=(since, on_card.span[1]),
        spells=None if on_card.spells is None else after(on_card.spells, since),
        covered_from=None if on_card.covered_from is None else max(on_card.covered_from, since),
        pieces=after(on_card.pieces, since),
        all_from=None,
    )


def _days(folder: Path, latest: date, notes: dict[str, None]) -> Iterator[tuple[date, Path]]:
    """Give the folders of days in order."""
    for path in _inside(folder):
        if path.name.startswith(".") or path.name.lower().startswith("readme"):
            continue
        try:
            day = date.fromisoformat(path.name)
        except ValueError:
            notes[_told(Fault(printable(str(path)), "no day", "a folder named as 2026-11-20", _LAYOUT))] = None
            continue
        if day > latest:
            notes[_told(Fault(printable(str(path)), str(day), f"{latest} or before", "Correct the year."))] = None
            continue
        yield day, path


def _answers(day: Path, notes: dict[str, None]) -> Iterator[Path]:
    """Give the files of a day, camera by camera."""
    for path in _listed(day, notes):
        for file in _listed(path, notes) if path.is_dir() else [path]:
            if file.name.startswith("."):
                continue
            if file.suffix.lower() != ".xml":
                fault = Fault(printable(str(file)), "another file", "saved answers, which end in .xml", _LAYOUT)
                notes[_told(fault)] = None
                continue
            yield file


def _listed(folder: Path, notes: dict[str, None]) -> list[Path]:
    """What is in a folder below that of the answers; one that cannot be opened is told."""
    try:
        return _inside(folder)
    except InputError as error:
        notes |= dict.fromkeys(map(_told, error.faults))
        return []


def _told(fault: Fault) -> str:
    return f"Not used: {fault}".removesuffix(".")


def _camera_of(path: Path, day: Path) -> str:
    return path.stem if path.parent == day else path.parent.name


def _inside(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except OSError as error:
        place = printable(str(folder))
        raise refuse(place, not_opened(error), "a folder of saved answers", _LAYOUT) from None


def _on_card(
    camera: str, saved: date, paths: Sequence[Path]
) -> tuple[OnCard | None, tuple[Fault, ...], tuple[str, ...]]:
    """Read all answers of one camera and one day: what they say, what could not be read, notes.

    A file with a fault is left out as a whole: half a history would tell gaps that there were not.
    """
    said, encoders, faults, notes = Recordings(), list[Path](), list[Fault](), list[str]()
    for path in paths:
        place = f"{saved}, {camera}, {path.name}"
        reading, of_file = Reading(printable(place)), Recordings()
        try:
            content = plain_file(path, place, MOST_BYTES, "a saved answer", _LAYOUT).lstrip()
            if read_recordings(content, reading, of_file):
                read_encoder(path)
                encoders.append(path)
        except InputError as error:
            reading.faults += error.faults
        faults += reading.faults
        notes += reading.notes
        if not reading.faults:
            said.take(of_file)
    spans = said.spans or [span for span in (said.summary,) if span is not None]
    if not spans and not said.is_empty:
        if not faults:
            allowed = "DataFrom and DataUntil of GetRecordingSummary, or a track of video"
            found, mend = "no answer that tells from when the footage is", f"Ask for more: {NEEDED}"
            faults.append(Fault(f"{saved}, {camera}", found, allowed, mend))
        return None, tuple(dict.fromkeys(faults)), tuple(notes)
    pieces, all_from = listed_tracks(said.spans)
    of_all = (min(first for first, _ in spans), max(last for _, last in spans)) if spans else None
    span = (pieces[0][0], pieces[-1][1]) if pieces else of_all
    if span is not None and said.clock is None and span[1].date() > saved + timedelta(days=1):  # a day for time zones
        wrong = "the clock of the camera, or the name of the folder, is wrong"
        notes.append(f"the footage ends on {span[1].date()}, after the day of its folder, {saved}: {wrong}")
    if not said.spans and said.tracks:
        kinds = " and ".join(sorted(set(said.tracks.values())))
        notes.append(f"no track of video among its tracks, which are {shown(kinds)}: the times of all data are used")
    spells, begin, until, begun = (None, None, None, None) if span is None else _history(said, span, all_from)
    kept, since = max(said.kept_h, default=math.nan), begun if all_from is None else all_from
    on_card = OnCard(camera, saved, span, spells, said.clock, tuple(encoders), kept, begin, pieces, until, since)
    return on_card, tuple(dict.fromkeys(faults)), tuple(notes)


def _history(
    said: Recordings, span: Spell, all_from: pd.Timestamp | None
) -> tuple[tuple[Spell, ...] | None, pd.Timestamp | None, pd.Timestamp | None, pd.Timestamp | None]:
    """Stretches recorded, from when on the history tells them, until when if its search had not ended, ``all_from``."""
    until = None
    if said.have_ended == {False}:
        times = [change.time for change in said.of_video]
        until = min(max(times, default=span[0]), span[1])
        span = max(min(times, default=span[0]), span[0]), until
    if not said.of_video or span[1] <= span[0]:
        return None, None, until, None
    spells, begin, begun = recorded_spells(said.of_video, span, said.spans, all_from)
    return spells, begin, until, begun
