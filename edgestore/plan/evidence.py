"""What the files that a camera list names say of its cameras: measured, described, logged. Opens those files only."""

import re
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from os.path import exists, isdir, isfile  # unlike those of Path they take any name
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.checks import Fault, InputError, in_range, refuse
from edgestore.inputs.camera_list import FILE_COLUMNS, MAX_LISTED_MBIT_S
from edgestore.inputs.encoder import read_encoder
from edgestore.inputs.event_statistics import EventStatistics, event_statistics
from edgestore.inputs.events import read_events
from edgestore.inputs.footage import Footage, read_footage
from edgestore.inputs.sheet import shown
from edgestore.models.rate.duty import recorded_fraction
from edgestore.models.retention import WeekOfWrites
from edgestore.plan.input_file import InputFile, Kept
from edgestore.units import H_PER_DAY, H_PER_WEEK, S_PER_H

Array = npt.NDArray[np.float64]

EVIDENCE_COLUMNS = (
    "measured_mbit_s",
    "measured_peak_mbit_s",
    "measured_h",
    "measured_hours",
    "measured_days",
    "achieved_mbit_s",
    "achieved_sigma",
    "achieved_at_most",
    "described_cap_mbit_s",
    "described_mean_mbit_s",
    "logged_fraction",
    "logged_events",
    "logged_h",
)

BETWEEN_STREAMS = " + "

NOTES_OF_FOOTAGE = 5
"""A folder of clips may have a note for each; so many are told with the plan."""

_NOT_ON_THIS_MACHINE = re.compile(r"[a-z][a-z0-9+.-]*://|[\\/]{2}", re.IGNORECASE | re.ASCII)
"""An address of the network, or a share in it."""


@dataclass(frozen=True)
class Evidence:
    """What the files of a list say.

    Attributes
    ----------
    rows : DataFrame
        The index of the camera list and ``EVIDENCE_COLUMNS``: rates in Mbit/s, length of the footage in h, hours of
        the day and days of the week that it shows, fraction of the time, events and the hours in which they were
        counted; NaN where no file says it. ``achieved`` is the mean that follows from what a card holds
        (:mod:`edgestore.plan.happened`), with the standard deviation of its logarithm, and 1 where that is only the
        most that it can be.
    notes : tuple of str
        What the reader should know.
    inputs : tuple of InputFile
        The files and folders that were read, by column and cell.
    """

    rows: pd.DataFrame
    notes: tuple[str, ...]
    inputs: tuple[InputFile, ...]

    @property
    def files(self) -> tuple[Path, ...]:
        """Where they are, each once."""
        return tuple(dict.fromkeys(file.source for file in self.inputs if isinstance(file.source, Path)))


def no_evidence(cameras: pd.DataFrame) -> pd.DataFrame:
    """Give the rows of :class:`Evidence` for cameras without any file."""
    return pd.DataFrame(np.nan, index=cameras.index, columns=list(EVIDENCE_COLUMNS)).assign(week=None)


Row = Mapping[Hashable, Any]
"""The cells of one camera, by column."""

Progress = Callable[[Sequence[Row]], Iterable[Row]]
"""Gives the cameras back one by one, as a progress bar does."""


def read_evidence(
    cameras: pd.DataFrame, folder: Path | None, progress: Progress = iter, *, kept: Kept | None = None
) -> Evidence:
    """Read the files that a camera list names.

    Parameters
    ----------
    cameras : DataFrame
        Camera list; it stays as it is.
    folder : Path or None
        Where relative paths count from: the folder of the list; None for a list that has none.
    progress : callable
        Gives the cameras that name a file back one by one, as a progress bar does.
    kept : mapping, optional
        Copies in the place of the files that are named, and of footage what it said: that is not read again.

    Returns
    -------
    Evidence
        What the files say, camera by camera.

    Raises
    ------
    InputError
        With the faults of all files of all cameras: the camera, the file, what was found, what is allowed.

    Notes
    -----
    A file that several cameras name is read once for all that read it alike. The measured rate is what a card would
    have written, sound and file format included. A described cap is the sum of the caps of the recorded streams. The
    logged fraction comes from laying pre- and post-roll over the real log.

    References
    ----------
    :mod:`edgestore.inputs.encoder`, :mod:`edgestore.inputs.event_statistics`, :mod:`edgestore.inputs.footage`.
    """
    reading = _Reading(folder, kept)
    names_a_file = (cameras[list(FILE_COLUMNS)] != "").any(axis=1)
    said: list[dict[str, Any]] = []
    for row in progress(cameras[names_a_file].to_dict("records")):
        said.append({})
        for column in FILE_COLUMNS:
            if row[column] and (column != "event_log" or row["recording"] == "motion"):
                said[-1] |= reading.attempt(row, column)
    if reading.faults:
        raise InputError(reading.faults)
    rows, index = no_evidence(cameras), cameras.index[names_a_file]
    rows.loc[names_a_file, list(EVIDENCE_COLUMNS)] = pd.DataFrame(said, index, list(EVIDENCE_COLUMNS), float)
    weeks = dict(zip(index, map(_week, said), strict=True))
    rows["week"] = [weeks.get(at) for at in rows.index]
    return Evidence(rows, tuple(reading.notes), tuple(reading.inputs.values()))


def _week(values: Mapping[str, Any]) -> WeekOfWrites | None:
    """What is written by hour of the week, from footage and log together; None where neither shows all hours."""
    seen = [values[name] for name in ("measured_week", "logged_week") if values.get(name) is not None]
    by_hour = np.prod(seen, axis=0)
    return WeekOfWrites(by_hour) if np.any(by_hour) and seen else None


@dataclass
class _Reading:
    """The files while they are read: where relative paths count from, all faults, notes and files, what each said."""

    folder: Path | None
    kept: Kept | None = None
    faults: list[Fault] = field(default_factory=list)
    notes: dict[str, None] = field(default_factory=dict)
    inputs: dict[tuple[str, str, str], InputFile] = field(default_factory=dict)
    said: dict[tuple[Any, ...], "Said | InputError"] = field(default_factory=dict)

    def attempt(self, row: Row, column: str) -> dict[str, Any]:
        """Give what the file in a cell says, read once for all cameras that read it alike, or keep its faults."""
        camera, read, how = row["camera"], _READERS[column], _HOW[column](row)
        key = (column, row[column], how)
        if key not in self.said:
            try:
                self.said[key] = self.read(row, column, read, how)
            except InputError as error:
                self.said[key] = error
        said = self.said[key]
        if isinstance(said, InputError):
            self.faults += [replace(fault, where=f"camera {shown(camera)}, {fault.where}") for fault in said.faults]
            return {}
        values, notes = said
        self.notes |= dict.fromkeys(f"{camera}: {note}" for note in notes)
        return values

    def read(self, row: Row, column: str, read: Callable[..., "Said"], how: tuple[Any, ...]) -> "Said":
        """Read a file or its copy, and put it down; of footage that is kept take what it said."""
        name, zone = row[column], row["time_zone"] if column == "footage" else ""
        known = None if self.kept is None else self.kept.get((column, name, zone))
        if isinstance(known, dict):
            return known, ()
        path = self.path(name, column) if known is None else known
        self.inputs[column, name, zone] = InputFile(column, name, path, zone)
        said = read(path, *how)
        if column == "footage":
            self.inputs[column, name, zone] = InputFile(column, name, path, zone, said[0])
        return said

    def path(self, text: str, column: str) -> Path:
        """Find a file on this machine, or say where it was looked for."""
        if _NOT_ON_THIS_MACHINE.match(text):
            mend = "Copy the file to this machine and give its path."
            raise refuse(column, shown(text), "a file on this machine", mend)
        path = Path(text)
        if self.folder is None and not path.is_absolute():
            mend = "Give the path of the list instead of the list itself, or write absolute paths in it."
            raise refuse(column, f"{shown(text)} in a list without a folder", "a path that says where to look", mend)
        path = (self.folder or Path()).absolute() / path
        wanted, there = "a file", isfile(path)
        if column == "footage":
            wanted, there = "a clip or a folder of clips", there or isdir(path)
        if not there:
            found = "a folder" if isdir(path) else "no plain file" if exists(path) else "nothing of that name"
            mend = (
                f"edgestore looked for {path}. Put the file there or correct the path, which is relative "
                "to the list's folder and has / between folders."
            )
            raise refuse(f"{column} {shown(text)}", found, wanted, mend)
        return path


Said = tuple[dict[str, Any], Sequence[str]]
"""What one file says: values by column of the evidence, and notes."""


def _measured(path: Path, zone: str | None) -> Said:
    """Read footage."""
    footage = read_footage(path, zone)
    rate = in_range(path.name, footage.stored_mbit_s, "Mbit/s", above=0, at_most=MAX_LISTED_MBIT_S)
    values = {
        "measured_mbit_s": rate,
        "measured_peak_mbit_s": footage.peak_1s_mbit_s,
        "measured_h": footage.duration_s / S_PER_H,
        "measured_week": _whole(footage.hours["mean_mbit_s"].to_numpy(float)),
        **_seen(footage),
    }
    more = len(footage.notes) - NOTES_OF_FOOTAGE
    rest = [f"and {more} more notes on its footage: see edgestore measure"] if more > 0 else []
    return values, [*footage.notes[:NOTES_OF_FOOTAGE], *rest]


def described(path: Path, wanted: str, is_listed: bool) -> Said:
    """What an encoder's settings say, the streams that are recorded added up, by column of the evidence, and notes."""
    table = read_encoder(path)
    notes = list(table.cap_notes)
    streams = _recorded(table.rows, wanted, path.name)
    if len(streams) > 1 and not wanted:
        names = ", ".join(map(shown, streams["camera"]))
        notes.append(f"{path.name}: all streams are taken as recorded, and summed ({names}); see encoder_streams")
    cap, mean = (streams[column].sum(skipna=False) for column in ("cap_mbit_s", "mean_mbit_s"))
    for rate in (cap, mean):
        if not np.isnan(rate):
            in_range(path.name, rate, "Mbit/s", at_most=MAX_LISTED_MBIT_S, mend="Name the streams that are recorded.")
    if np.isnan(cap) and np.isnan(mean) and not is_listed:
        allowed = "a cap of every recorded stream, or a rate in the list"
        mend = "Set a cap in the camera and save the file again, or give cap_mbit_s."
        raise refuse(path.name, "streams without a cap", allowed, mend)
    return {"described_cap_mbit_s": cap, "described_mean_mbit_s": mean}, notes


def _recorded(streams: pd.DataFrame, wanted: str, name: str) -> pd.DataFrame:
    """Give the streams that are named, all of them when none is."""
    names = list(streams["camera"])
    chosen = [wanted] if wanted in names else [part.strip() for part in wanted.split(BETWEEN_STREAMS)]
    unknown = [part for part in chosen if part not in names]
    if wanted and unknown:
        found, there = ", ".join(map(shown, unknown)), ", ".join(map(shown, names))
        raise refuse(f"{name}, encoder_streams", found, f"the streams of the file: {there}", "Join several with ' + '.")
    return streams[streams["camera"].isin(chosen)] if wanted else streams


def _logged(path: Path, zone: str | None, event_s: float | None, pre_roll_s: float, post_roll_s: float) -> Said:
    """Read a log of events."""
    log = read_events(path, zone, event_s=event_s)
    statistics = event_statistics(log, pre_roll_s, post_roll_s)
    fraction = statistics.from_log.fraction
    if fraction == 0:
        raise refuse(
            path.name,
            "events without a length and without pre- or post-roll",
            "a recording longer than 0 s",
            "Give the pre-roll or the post-roll.",
        )
    # Events in clusters tell as much as so many fewer that come independently of one another.
    counted = statistics.events / max(1.0, np.nan_to_num(statistics.dispersion, nan=1.0))
    values = {
        "logged_fraction": fraction,
        "logged_events": counted,
        "logged_h": float(statistics.observed_h.sum()),
        "logged_week": _whole(_recorded_by_hour(statistics)),
    }
    return values, [statistics.advice, *log.notes]


def _seen(footage: Footage) -> dict[str, float]:
    """Hours of the day and days of the week of which there is footage; by its length where no clip tells its time."""
    hours = footage.duration_s / S_PER_H
    seen = footage.hours["seen_s"].to_numpy().reshape(-1, int(H_PER_DAY)) > 0
    return {
        "measured_hours": min(max(hours, float(seen.any(axis=0).sum())), H_PER_DAY),
        "measured_days": min(max(hours / H_PER_DAY, float(seen.any(axis=1).sum())), H_PER_WEEK / H_PER_DAY),
    }


def _recorded_by_hour(statistics: EventStatistics) -> Array:
    """Fraction recorded in each hour of the week, NaN where none was observed.

    The rate of events in an hour is a gamma law, before the log an exponential one about the mean rate: an hour
    observed once, without an event, is quiet but not silent.
    """
    observed = statistics.observed_h
    counted = np.nan_to_num(statistics.events_per_h) * observed
    before_h = observed.sum() / statistics.events if statistics.events else np.inf
    rate = (counted + 1) / (observed + before_h)
    rolls = {"pre_roll_s": statistics.pre_roll_s, "post_roll_s": statistics.post_roll_s}
    return np.where(observed > 0, recorded_fraction(rate, statistics.event_s, **rolls), np.nan)


def _whole(by_hour: Array) -> Array | None:
    """A week of which every hour was seen, and in which something was written; None for any other."""
    return None if np.isnan(by_hour).any() or not by_hour.any() else by_hour


def _is_listed(row: Row) -> bool:
    """Tell whether the list has a rate of the camera, or footage that has."""
    return bool(row["footage"]) or not (np.isnan(row["mean_mbit_s"]) and np.isnan(row["cap_mbit_s"]))


_READERS: dict[str, Callable[..., Said]] = dict(zip(FILE_COLUMNS, (_measured, described, _logged), strict=True))

_HOW: dict[str, Callable[[Row], tuple[Any, ...]]] = {
    "footage": lambda row: (row["time_zone"] or None,),
    "encoder_file": lambda row: (row["encoder_streams"], _is_listed(row)),
    "event_log": lambda row: (
        row["time_zone"] or None,
        None if np.isnan(row["event_s"]) else row["event_s"],
        row["pre_roll_s"],
        row["post_roll_s"],
    ),
}
"""What besides the file itself decides what is read from it: the arguments of its reader, by column."""
