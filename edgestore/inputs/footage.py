"""Recorded clips of one camera -> what it really writes, over all of them and by hour of the week.

Opens local files only, and writes none.
"""

import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd

from edgestore.checks import Fault, InputError, not_opened
from edgestore.inputs.clip import Clip, read_clip
from edgestore.inputs.clocks import CLOCK_STEP, clock_of
from edgestore.inputs.names import printable
from edgestore.units import H_PER_DAY, H_PER_WEEK, S_PER_H

CLIP_SUFFIXES = (
    *(".mp4", ".m4v", ".mov", ".mkv", ".webm", ".avi", ".ts", ".mts", ".m2ts", ".mpg", ".mpeg"),
    *(".h264", ".264", ".avc", ".h265", ".265", ".hevc"),
)
"""Files of a folder that are taken for clips; a file that is named is read whatever it is called."""

FIRST_COLUMNS = (
    *("file", "packets", "bytes", "key_frames"),
    *("duration_s", "mean_mbit_s", "peak_1s_mbit_s", "peak_gop_mbit_s"),
)
COUNTS = ("packets", "bytes", "key_frames", "largest_frame_bytes", "width_px", "height_px")
"""Columns of the table: those that come first, and those that hold whole numbers."""

SHORT_S = S_PER_H
"""Less footage than this is said to be little: hours differ (our choice)."""

SAME_MOMENT_S = 1.0
"""Clips that follow each other nearer than this have no gap and no overlap: starts are often told in whole seconds."""


@dataclass(frozen=True, eq=False)
class Footage:
    """Clips of one camera, files that could not be read, and what there is to know."""

    clips: tuple[Clip, ...]
    faults: tuple[Fault, ...]
    notes: tuple[str, ...]
    zone: str

    @property
    def duration_s(self) -> float:
        """Length of all clips together, s."""
        return sum(clip.duration_s for clip in self.clips)

    @property
    def mean_mbit_s(self) -> float:
        """Mean rate of the video over all clips, Mbit/s."""
        return self._over_time("mean_mbit_s")

    @property
    def stored_mbit_s(self) -> float:
        """Mean rate of all that was stored (video, sound, container) over all clips, Mbit/s."""
        return self._over_time("stored_mbit_s")

    @property
    def peak_1s_mbit_s(self) -> float:
        """Highest second of any clip, Mbit/s."""
        return max(clip.peak_1s_mbit_s for clip in self.clips)

    @property
    def table(self) -> pd.DataFrame:
        """One row a file, also for those that could not be read."""
        others = [
            entry.name for entry in fields(Clip) if entry.name not in (*FIRST_COLUMNS, "trace_mbit_s", "warnings")
        ]
        names = [*FIRST_COLUMNS, *others]
        rows = [{**{n: getattr(c, n) for n in names}, "warnings": "; ".join(c.warnings)} for c in self.clips]
        rows += [{"file": fault.where, "warnings": f"not read: {fault}"} for fault in self.faults]
        table = pd.DataFrame(rows, columns=[*names, "warnings"])
        return table.astype(dict.fromkeys(COUNTS, "Int64"))

    @property
    def gaps(self) -> pd.DataFrame:
        """From the end of each clip to the start of the next, s; below 0 they overlap. Only clips with a start."""
        timed = [(clip.start, clip) for clip in self.clips if clip.start is not None]
        timed.sort(key=lambda at: at[0])
        rows = [
            {
                "after": before.file,
                "before": after.file,
                "gap_s": (start - before_start).total_seconds() - before.duration_s,
            }
            for (before_start, before), (start, after) in pairwise(timed)
        ]
        return pd.DataFrame(rows, columns=["after", "before", "gap_s"])

    @property
    def hours(self) -> pd.DataFrame:
        """Rates by hour of the week, Monday 0:00 first, on local clocks, from the clips whose start is known.

        Columns ``mean_mbit_s`` (NaN where nothing was seen), ``sd_mbit_s`` (between the clips of that hour; NaN with
        fewer than two), ``clips`` and ``seen_s``.
        """
        parts = pd.concat([_by_hour(clip, self.zone) for clip in self.clips if clip.start is not None] or [_NO_HOURS])
        parts = parts.groupby(["clip", "hour"], as_index=False)[["mbit", "seen_s"]].sum()
        parts["mbit_s"] = parts["mbit"] / parts["seen_s"]
        hours = parts.groupby("hour").agg(
            mbit=("mbit", "sum"), seen_s=("seen_s", "sum"), sd_mbit_s=("mbit_s", "std"), clips=("clip", "size")
        )
        hours = hours.reindex(range(H_PER_WEEK))
        return pd.DataFrame(
            {
                "mean_mbit_s": hours["mbit"] / hours["seen_s"],
                "sd_mbit_s": hours["sd_mbit_s"],
                "clips": hours["clips"].fillna(0).astype(int),
                "seen_s": hours["seen_s"].fillna(0.0),
            }
        )

    def _over_time(self, name: str) -> float:
        return float(sum(getattr(clip, name) * clip.duration_s for clip in self.clips) / self.duration_s)


def read_footage(
    paths: Path | str | Sequence[Path | str],
    zone: str | None = None,
    progress: Callable[[Sequence[Path]], Iterable[Path]] = iter,
) -> Footage:
    """Read the clips of one camera.

    Parameters
    ----------
    paths : Path, str or sequence of them
        Clips, or folders that are searched for clips at any depth.
    zone : str, optional
        Name of the time zone, as Europe/Berlin: of times in file names, and of the hours of the week; UTC without it.
    progress : callable
        Gives the files back one by one, as a progress bar does.

    Returns
    -------
    Footage
        The clips that could be read, a fault for each that could not, and notes.

    Raises
    ------
    InputError
        When no clip could be read, with the fault of each file.

    Notes
    -----
    A clip begins when its name says so (as ``2026-10-25_14-05-00``), else when its container's tag says so, in UTC. The
    date of a file is not used: copying changes it.

    References
    ----------
    Times in names: common practice, no source. ``creation_time`` in UTC: ISO/IEC 14496-12 (from memory).

    Examples
    --------
    >>> read_footage("nowhere.mp4")
    Traceback (most recent call last):
    ...
    edgestore.checks.InputError: nowhere.mp4: found no such file; allowed: a recorded clip. Fix: Check the path.
    """
    if zone is not None:
        clock_of(zone)
    files, faults, notes = clip_files([paths] if isinstance(paths, Path | str) else paths)
    clips: list[Clip] = []
    for path in progress(files):
        try:
            clips.append(read_clip(path, zone))
        except InputError as error:
            faults += error.faults
    if not clips:
        raise InputError(faults)
    footage = Footage(tuple(clips), tuple(faults), (), zone or "UTC")
    return replace(footage, notes=(*notes, *_notes(footage, zone)))


def clip_files(paths: Iterable[Path | str]) -> tuple[list[Path], list[Fault], list[str]]:
    """Give the clips among files and folders, each once, the paths that are none, and what was left aside."""
    files: dict[str, Path] = {}  # by where links lead
    faults: list[Fault] = []
    notes: list[str] = []
    for path in map(Path, paths):
        if "\0" in str(path):
            faults.append(Fault(printable(str(path)), "a zero byte in the path", "a recorded clip", "Check the path."))
            continue
        if not os.path.isdir(path):
            files.setdefault(os.path.realpath(path), path)
            continue
        closed: list[OSError] = []
        shown = printable(str(path))
        found = sorted(
            Path(folder, name) for folder, _, names in os.walk(path, onerror=closed.append) for name in names
        )
        clips = [below for below in found if below.suffix.lower() in CLIP_SUFFIXES]
        for below in clips:
            files.setdefault(os.path.realpath(below), below)
        faults += [
            Fault(
                printable(str(e.filename)),
                not_opened(e),
                "a folder that can be read",
                "Ask for permission to read it, or copy the files elsewhere.",
            )
            for e in closed
        ]
        if len(found) > len(clips):
            notes.append(f"{shown}: {len(found) - len(clips)} of {len(found)} files are not clips, by their names")
        if not clips and not closed:
            known = ", ".join(sorted(CLIP_SUFFIXES))
            faults.append(Fault(shown, f"a folder of {len(found)} files without a clip", f"clips ({known})"))
    return list(files.values()), faults, notes


def _notes(footage: Footage, zone: str | None) -> list[str]:
    """Say what to know about clips as a whole."""
    clips = footage.clips
    notes = [f"not read: {fault}" for fault in footage.faults]
    notes += [f"{clip.file}: {text}" for clip in clips for text in clip.warnings]
    if footage.duration_s < SHORT_S:
        notes.append(f"{footage.duration_s:.3g} s of footage is little: other hours, days and weather differ")
    by_name = [clip for clip in clips if clip.start_from == "name"]
    if by_name and zone is None:
        notes.append("times in the names of clips are taken as UTC: give the zone for local hours")
    if any(clip.start_from == "tag" for clip in clips):
        notes.append(
            "where the name of a clip gives no time, the time in its tag is used, which copying or another "
            "program may change"
        )
    overlaps = int((footage.gaps["gap_s"] < -SAME_MOMENT_S).sum())
    if overlaps:
        notes.append(
            f"clips that begin before the previous one has ended: {overlaps}; check that all are from one camera"
        )
    return notes


_NO_HOURS = pd.DataFrame({"clip": [], "hour": [], "mbit": [], "seen_s": []}, dtype=float)


def _by_hour(clip: Clip, zone: str) -> pd.DataFrame:
    """Give what a clip wrote in each hour of the week, Mbit, and for how long, s."""
    assert clip.start is not None
    quarter_s = int(pd.Timedelta(CLOCK_STEP).total_seconds())
    first_s = quarter_s - int(clip.start.timestamp()) % quarter_s  # clocks are set at whole quarters
    edges = np.concatenate([[0], np.arange(first_s, clip.trace_mbit_s.size, quarter_s)])
    local = (clip.start + pd.to_timedelta(edges, unit="s")).tz_convert(zone)
    return pd.DataFrame(
        {
            "clip": clip.file,
            "hour": local.day_of_week * int(H_PER_DAY) + local.hour,
            "mbit": np.add.reduceat(clip.trace_mbit_s, edges),
            "seen_s": np.diff(edges, append=clip.duration_s),
        }
    )
