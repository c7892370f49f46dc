"""One recorded clip -> what it says: counts, rates, key frames, the trace, when it begins, what is wrong with it.

It is read packet by packet and never decoded. Opens the one local file that it is asked for, and writes none.
"""

import math
import re
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.checks import MAX_BITRATE_MBIT_S, InputError, not_opened, refuse
from edgestore.inputs.clip_bytes import end_is_missing, is_scrambled, size_of, why_no_clip
from edgestore.inputs.clip_sums import PAUSE_S, ClipSums
from edgestore.inputs.clocks import clock_of, moment
from edgestore.inputs.names import printable
from edgestore.inputs.packets import ClipFile, open_clip
from edgestore.units import BITS_PER_BYTE, BITS_PER_MBIT

SAME_LENGTH = 0.02
"""A container that states a length longer than its pictures by more than this part, and a second, misses some."""

EVEN_STEPS = 1.5
"""Longest over mean step between pictures from which a frame rate is called variable (our choice)."""

OVERHEAD_SHARE = 0.15
OVERHEAD_PACKET_BYTES = 400
OVERHEAD_BYTES_S = 5_000
OVERHEAD_ONCE_BYTES = 100_000
"""The most that a file format is believed to add: a part of the streams, for each packet, for each second, and once.
Measured formats add up to 0.14 of the streams (data/measured/measured_overhead.csv). A transport stream fills two
packets of 188 bytes for a small picture, and sends its tables, 2 of them, 10 times a second; headers, indexes and
what is set aside for them come once (from memory; the bounds are our choice)."""

_TIME_IN_NAME = re.compile(
    r"(?<!\d)(20\d\d)[-_.]?([01]\d)[-_.]?([0-3]\d)(T|[_ .-]?)([0-2]\d)[-_.:h]?([0-5]\d)[-_.:m]?([0-5]\d)"
    r"(Z|[+-]\d\d:?\d\d)?(?!\d)"
)
_UTC = ZoneInfo("UTC")


@dataclass(frozen=True, eq=False)
class Clip:
    """What one clip says. Rates are of the video alone unless their name says otherwise.

    Attributes
    ----------
    file, container, codec : str
        Its name and its formats.
    width_px, height_px : int
        Picture size as stated; 0 when it is not.
    packets, bytes, key_frames, largest_frame_bytes : int
        Pictures, their bytes, the key frames among them, the largest.
    duration_s : float
        From the first picture to the end of the last.
    mean_mbit_s, peak_1s_mbit_s, peak_gop_mbit_s : float
        Mean; highest whole second from the first picture; highest group of pictures that a next key frame closes (NaN
        when none is).
    key_frame_interval_s, key_share, frame_rate_fps : float
        Mean time between key frames (NaN with fewer than two), their share of the bytes, pictures a second between
        pauses (NaN when all of these have one time).
    audio_mbit_s, stored_mbit_s, overhead_share : float
        Sound; the whole file over its duration, or only its streams where the file holds more beside these than any
        format adds; what is neither video nor another stream, as a share of the file.
    trace_mbit_s : ndarray
        Rate in each whole second from the first picture; of the last one, what there is of it.
    start : Timestamp or None
        When it begins (UTC), by its name or its tag; None when neither says.
    start_from : str
        "name", "tag" or an empty text.
    warnings : tuple of str
        What to know before using it.
    """

    file: str
    container: str
    codec: str
    width_px: int
    height_px: int
    packets: int
    bytes: int
    key_frames: int
    largest_frame_bytes: int
    duration_s: float
    mean_mbit_s: float
    peak_1s_mbit_s: float
    peak_gop_mbit_s: float
    key_frame_interval_s: float
    key_share: float
    frame_rate_fps: float
    audio_mbit_s: float
    stored_mbit_s: float
    overhead_share: float
    trace_mbit_s: npt.NDArray[np.float64] = field(repr=False)
    start: pd.Timestamp | None
    start_from: str
    warnings: tuple[str, ...]

    @property
    def peak_second(self) -> int:
        """The second, counted from 0, in which most was written."""
        return int(self.trace_mbit_s.argmax())


def read_clip(source: Path | str | bytes, zone: str | None = None, name: str = "clip") -> Clip:
    """Read one recorded clip packet by packet, without decoding it.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the file, or its content. MP4, MOV, MKV, AVI, MPEG-TS and raw H.264 or H.265 are read.
    zone : str, optional
        Name of the time zone, as Europe/Berlin, of a time that stands in the name of the file; UTC without it.
    name : str
        What messages call the clip when ``source`` is its content.

    Returns
    -------
    Clip
        Counts, rates in Mbit/s, the trace in whole seconds, and warnings.

    Raises
    ------
    InputError
        When no rate can be told from it: no such file, no video, one picture only.

    Notes
    -----
    The time of the k-th packet is the k-th smallest presentation time, which gives the same rates in every container.
    The duration goes from the first picture to the last, and by a mean step on. Only pictures without any time are
    spaced evenly, at the frame rate that the stream states or else at 25 frames/s: their rates are in doubt.

    References
    ----------
    Packets and times: the FFmpeg libraries through PyAV; checked against ffprobe. Largest picture buffer: H.264,
    Annex A, and H.265, Annex A (from memory).

    Examples
    --------
    >>> read_clip(b"", name="gate.mp4")
    Traceback (most recent call last):
    ...
    edgestore.checks.InputError: gate.mp4: found an empty file; allowed: a recorded clip. Fix: Export the clip ...
    """
    clock = None if zone is None else clock_of(zone)
    if not isinstance(source, bytes):
        source = Path(source)
        name = printable(str(source))
    try:
        if isinstance(source, Path) and not source.is_file():
            found = "a folder" if source.is_dir() else "a pipe or device" if source.exists() else "no such file"
            raise refuse(name, found, "a recorded clip", "Check the path.")
        return _measured(source, clock, name)
    except OSError as error:
        raise refuse(name, not_opened(error), "a readable clip", "Check that you are allowed to read it.") from None


def _measured(source: Path | bytes, clock: ZoneInfo | None, name: str) -> Clip:
    try:
        file = open_clip(source, name)
    except InputError as error:
        raise _no_clip(source, name, error) from None
    sums = ClipSums(file.even_fps)
    try:
        with closing(file.packets()) as chunks:
            for packets in chunks:
                sums.add(packets.times_s, packets.sizes, packets.keys)
        sums.close()
    except InputError as error:
        (fault,) = error.faults
        raise refuse(name, f"{fault.where} with {fault.found}", fault.allowed) from None
    duration_s = sums.span_s + sums.step_s
    if not duration_s:
        pictures = {0: "no picture", 1: "one picture"}.get(sums.pictures, f"{sums.pictures} pictures at one moment")
        why = f" ({file.stopped})" if file.stopped else ""
        short = refuse(name, f"{pictures}{why}", "pictures over some seconds", "Export a longer clip.")
        raise short if sums.pictures else _no_clip(source, name, short)
    mbit_s = BITS_PER_BYTE / BITS_PER_MBIT / duration_s
    if sums.total_bytes * mbit_s > MAX_BITRATE_MBIT_S:
        mean = f"{sums.total_bytes} bytes in {duration_s:.3g} s"
        raise refuse(name, mean, f"a mean of at most {MAX_BITRATE_MBIT_S:g} Mbit/s", "Its time stamps may be damaged.")
    size = size_of(source)
    streams_bytes = sums.total_bytes + sum(file.other_bytes.values())
    is_padded = size - streams_bytes > _most_overhead_bytes(
        streams_bytes, sums.pictures + file.other_packets, duration_s
    )
    start, start_from = _start(name, file.created, clock)
    trace = sums.bytes_by_s * BITS_PER_BYTE / BITS_PER_MBIT
    keys = sums.keys
    return Clip(
        file=name,
        container=file.container,
        codec=file.codec,
        width_px=file.width_px,
        height_px=file.height_px,
        packets=sums.pictures,
        bytes=sums.total_bytes,
        key_frames=keys,
        largest_frame_bytes=sums.largest_bytes,
        duration_s=duration_s,
        mean_mbit_s=sums.total_bytes * mbit_s,
        peak_1s_mbit_s=float(trace.max()) if duration_s >= 1 else sums.total_bytes * mbit_s,
        peak_gop_mbit_s=sums.peak_group_bytes_s * BITS_PER_BYTE / BITS_PER_MBIT,
        key_frame_interval_s=(sums.last_key_s - sums.first_key_s) / (keys - 1) if keys > 1 else math.nan,
        key_share=sums.key_bytes / sums.total_bytes if sums.total_bytes else 0.0,
        frame_rate_fps=1 / sums.step_s if sums.step_s else math.nan,
        audio_mbit_s=file.other_bytes.get("audio", 0) * mbit_s,
        stored_mbit_s=(streams_bytes if is_padded else size) * mbit_s,
        overhead_share=max(0.0, 1 - streams_bytes / size),
        trace_mbit_s=trace,
        start=start,
        start_from=start_from,
        warnings=(
            *_warnings(source, file, sums, duration_s),
            *([_padding(size - streams_bytes, size)] if is_padded else ()),
        ),
    )


def _most_overhead_bytes(streams_bytes: int, packets: int, duration_s: float) -> float:
    """Give the most bytes that a file format is believed to add to its streams."""
    for_streams = OVERHEAD_SHARE * streams_bytes + OVERHEAD_PACKET_BYTES * packets
    return for_streams + OVERHEAD_BYTES_S * duration_s + OVERHEAD_ONCE_BYTES


def _padding(beside_bytes: int, size: int) -> str:
    """Say that most of what stands beside the streams of a file is not from its format."""
    return (
        f"{beside_bytes} of its {size} bytes belong to no stream, more than a file format adds: padding, or a part that"
        " cannot be read; the rate as stored is that of its streams alone"
    )


def _no_clip(source: Path | bytes, name: str, error: InputError) -> InputError:
    """Say what a file without a picture is, or else what its reader says of it."""
    found, mend = why_no_clip(source)
    return refuse(name, found, "a recorded clip", mend) if found else error


def _warnings(source: Path | bytes, file: ClipFile, sums: ClipSums, duration_s: float) -> Iterable[str]:
    """Say what to know before a clip is used."""
    if file.stopped:
        yield f"reading ended after {duration_s:.3g} s: {file.stopped}"
    cut = end_is_missing(source, file.container)
    if cut:
        yield cut
    if file.stated_s > duration_s * (1 + SAME_LENGTH) + 1:
        yield f"{file.stated_s:.4g} s long by its header, with only {duration_s:.4g} s of pictures: parts are missing"
    if file.corrupt:
        yield f"pictures marked as damaged: {file.corrupt}"
    if file.encrypted or (file.container == "mpegts" and is_scrambled(source)):
        yield "encrypted: sizes and times are counted as stored"
    if sums.untimed == sums.pictures:
        stated = "the stream states" if file.even_fps_is_stated else "nothing in it states"
        yield (
            f"no time stamps: pictures are spaced evenly at {file.even_fps:g} frames/s, which {stated}; if that is "
            "wrong, all rates are wrong in the same proportion"
        )
    elif sums.untimed:
        yield f"pictures without a time stamp: {sums.untimed}; each is put after the previous one"
    if sums.clock_breaks:
        yield f"jumps of its clock: {sums.clock_breaks}; time continues from the previous picture"
    if sums.pauses:
        yield f"pauses of more than {PAUSE_S:g} s: {sums.pauses}, {sums.pause_s:.4g} s in all, included in the mean"
    if sums.longest_s > EVEN_STEPS * sums.step_s:
        yield f"variable frame rate: pictures {sums.shortest_s:.3g} to {sums.longest_s:.3g} s apart"
    if sums.keys < 2:
        yield f"{'one' if sums.keys else 'no'} key frame: no complete group of pictures"
    if file.video_streams > 1:
        yield f"{file.video_streams} video streams: the first is measured; the others count only in what is stored"


def _start(name: str, tag: str, clock: ZoneInfo | None) -> tuple[pd.Timestamp | None, str]:
    """Tell when a clip begins, and from what."""
    for written in _TIME_IN_NAME.finditer(Path(name).name):
        year, month, day, joint, hour, minute, second, offset = written.groups()
        try:
            time = datetime(int(year), int(month), int(day), int(hour), int(minute), int(second))
            if offset and (joint == "T" or offset == "Z"):  # elsewhere -0001 is a number of a file
                time = time.replace(tzinfo=datetime.strptime(offset, "%z").tzinfo)
            return moment(name, time, clock or _UTC), "name"
        except (ValueError, InputError):  # no such day or hour
            continue
    try:
        return moment(name, datetime.fromisoformat(tag), _UTC), "tag"
    except (ValueError, InputError):
        return None, ""
