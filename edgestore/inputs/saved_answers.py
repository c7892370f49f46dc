"""A folder of answers that cameras gave about their recordings, saved as files -> what each has on its card, by day."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from pathlib import Path

import numpy as np
import pandas as pd

from edgestore.checks import Fault, InputError, not_opened, refuse
from edgestore.inputs.clocks import latest_day
from edgestore.inputs.encoder import read_encoder
from edgestore.inputs.names import printable
from edgestore.inputs.onvif_recordings import STATES, Recordings, StateChange, has_encoder, read_recordings
from edgestore.inputs.sheet import shown
from edgestore.inputs.stream import Reading
from edgestore.plain_file import plain_file

ANSWERS_FOLDER = "answers"
"""The folder of saved answers in that of a site."""

MOST_BYTES = 16_000_000
"""A recording history of 20 000 events has some 16 MB (our choice)."""

_NOT_IN_A_NAME = re.compile(r'[\\/:*?"<>|]')
_LAYOUT = "Put the answers of a camera into answers/YYYY-MM-DD/CAMERA.xml, or several into answers/YYYY-MM-DD/CAMERA/."

Spell = tuple[pd.Timestamp, pd.Timestamp]


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
        Beginning and end of each stretch that is recorded, within the span; None where no history was saved.
    now : Timestamp or None
        What the clock showed; None where it was not asked.
    encoders : tuple of Path
        The files with encoder settings.
    """

    camera: str
    saved: date
    span: Spell | None
    spells: tuple[Spell, ...] | None
    now: pd.Timestamp | None
    encoders: tuple[Path, ...]


@dataclass(frozen=True)
class SavedAnswers:
    """What the cameras of a site said last, by name; notes for the reader, and the files that were read."""

    by_camera: dict[str, OnCard]
    notes: tuple[str, ...]
    files: tuple[Path, ...]


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
        GetRecordingSearchResults, GetEventSearchResults), and where they were saved GetSystemDateAndTime and those with
        encoder settings.
    cameras : iterable of str
        Names in the camera list.
    today : date, optional
        Day after which nothing can have been saved; by default the day on this machine's clock.

    Returns
    -------
    SavedAnswers
        Of each camera the answers of the last day that has any.

    Raises
    ------
    InputError
        With every fault of all files; or when there is no such folder.

    Notes
    -----
    A device tells of all tracks; those of video count, and all data only where no track is told. The history counts by
    the state of the tracks, else by that of the recordings; a stretch is recorded while any track of video is.
    """
    by_name = {file_name(camera): camera for camera in cameras}
    faults: list[Fault] = []
    notes: dict[str, None] = {}
    said: dict[str, OnCard] = {}
    files: list[Path] = []
    for day, inside in _days(folder, latest_day(today), faults):
        for name, of_camera in groupby(_answers(inside, faults), key=lambda path: _camera_of(path, inside)):
            paths = list(of_camera)
            if name not in by_name:
                notes[f"{day}: the camera list has no {shown(name)}; its answers are not used"] = None
                continue
            files += paths
            try:
                said[by_name[name]], told = _on_card(by_name[name], day, paths)
                notes |= dict.fromkeys(f"{by_name[name]}: {text}" for text in told)
            except InputError as error:
                faults += error.faults
    if faults:
        raise InputError(dict.fromkeys(faults))
    return SavedAnswers(said, tuple(notes), tuple(files))


def _days(folder: Path, latest: date, faults: list[Fault]) -> Iterator[tuple[date, Path]]:
    """Give the folders of days in order."""
    for path in _inside(folder):
        if path.name.startswith(".") or path.name.lower().startswith("readme"):
            continue
        try:
            day = date.fromisoformat(path.name)
        except ValueError:
            faults.append(Fault(printable(str(path)), "no day", "a folder named as 2026-11-20", _LAYOUT))
            continue
        if day > latest:
            faults.append(Fault(printable(str(path)), str(day), f"{latest} or before", "Correct the year."))
            continue
        yield day, path


def _answers(day: Path, faults: list[Fault]) -> Iterator[Path]:
    """Give the files of a day, camera by camera."""
    for path in _inside(day):
        for file in _inside(path) if path.is_dir() else [path]:
            if file.name.startswith("."):
                continue
            if file.suffix.lower() != ".xml":
                faults.append(Fault(printable(str(file)), "another file", "saved answers, which end in .xml", _LAYOUT))
                continue
            yield file


def _camera_of(path: Path, day: Path) -> str:
    return path.stem if path.parent == day else path.parent.name


def _inside(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except OSError as error:
        place = printable(str(folder))
        raise refuse(place, not_opened(error), "a folder of saved answers", _LAYOUT) from None


def _on_card(camera: str, saved: date, paths: Sequence[Path]) -> tuple[OnCard, list[str]]:
    """Read all answers of one camera and one day; all their faults are told together."""
    said, encoders, faults, notes = Recordings(), list[Path](), list[Fault](), list[str]()
    for path in paths:
        place = f"{saved}, {camera}, {path.name}"
        reading = Reading(printable(place))
        try:
            content = plain_file(path, place, MOST_BYTES, "a saved answer", _LAYOUT).lstrip()
            if has_encoder(content, reading.name):
                read_encoder(path)
                encoders.append(path)
            read_recordings(content, reading, said)
        except InputError as error:
            faults += error.faults
        faults += reading.faults
        notes += reading.notes
    spans = said.spans or [span for span in (said.summary,) if span is not None]
    if not spans and not said.is_empty and not faults:
        allowed = "DataFrom and DataUntil of GetRecordingSummary, or a track of video"
        faults.append(Fault(f"{saved}, {camera}", "no answer that tells from when the footage is", allowed, _LAYOUT))
    if faults:
        raise InputError(faults)
    span = (min(first for first, _ in spans), max(last for _, last in spans)) if spans else None
    if span is not None and said.clock is None and span[1].date() > saved + timedelta(days=1):  # a day for time zones
        notes.append(
            f"the footage ends on {span[1].date()}, after the day of its folder, {saved}: clock or folder is wrong"
        )
    spells = None if span is None or not said.changes else _spells(said.changes, span)
    return OnCard(camera, saved, span, spells, said.clock, tuple(encoders)), notes


def _spells(changes: Sequence[StateChange], span: Spell) -> tuple[Spell, ...]:
    """Stretches that are recorded within a span, from the changes of state; where tracks overlap, one stretch.

    What was before the first change is its opposite, but for one that marks the state at the start of the search.
    """
    closest = next(topic for topic in STATES if any(change.topic == topic for change in changes))
    ordered = sorted((change for change in changes if change.topic == closest), key=lambda c: (c.of, c.time))
    steps: dict[pd.Timestamp, int] = {}
    for _, of_track in groupby(ordered, key=lambda change: change.of):
        track = list(of_track)
        state = track[0].is_recording == track[0].is_start
        begin = span[0]
        for change in (*track, None):
            end = span[1] if change is None else min(max(change.time, span[0]), span[1])
            if state and end > begin:
                steps[begin], steps[end] = steps.get(begin, 0) + 1, steps.get(end, 0) - 1
            if change is not None:
                state, begin = change.is_recording, end
    times = sorted(steps)
    is_recorded = np.cumsum([steps[time] for time in times]) > 0
    edges = np.flatnonzero(np.diff(is_recorded, prepend=False))
    return tuple((times[begin], times[end]) for begin, end in zip(edges[::2], edges[1::2], strict=True))
