"""The packets of a recorded clip, never decoded, some thousands at a time. The only file that knows PyAV.

Opens the one local file that it is asked for, and nothing that this names.
"""

import io
import math
from collections.abc import Generator, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import av
import av.stream
import numpy as np
import numpy.typing as npt

from edgestore.checks import refuse

FORMATS = ("mov", "matroska", "mpegts", "avi", "h264", "hevc", "mpeg")
"""File formats that are tried, by the names of the FFmpeg libraries: no picture, no play list, no script, and no raw
stream of pictures, whose times the libraries make up without a word."""

KEEPS_PICTURES_APART = ("mov", "matroska")

CHUNK_PACKETS = 4096

ASSUMED_FPS = 25.0
"""Frame rate where neither the file nor the stream states a likely one: what the FFmpeg libraries take."""

LIKELY_FPS = (0.5, 240.0)
"""Between these a frame rate that a raw stream states is believed (common practice, no source)."""

MICROSECONDS_PER_S = 1e6
"""The unit of a container's length in the FFmpeg libraries."""

UNREADABLE = (av.FFmpegError, ValueError, OSError, RuntimeError, AttributeError, LookupError, MemoryError)
"""What PyAV raises: a family of its own, and plain errors (PyAV 18)."""

KINDS = "MP4, MOV, MKV, AVI, MPEG-TS and raw H.264 or H.265 are read."


@dataclass(frozen=True)
class Packets:
    """Video packets in the order of storage: presentation time in s (NaN where there is none), bytes, key or not."""

    times_s: npt.NDArray[np.float64]
    sizes: npt.NDArray[np.int64]
    keys: npt.NDArray[np.bool_]


@dataclass
class ClipFile:
    """A clip that is open: what its header states, and, as its packets are read, what else was met.

    Attributes
    ----------
    container, codec : str
        Names as the FFmpeg libraries write them; an unknown codec is an empty text.
    width_px, height_px : int
        Picture size as stated; 0 when it is not.
    stated_s : float
        Length that is stated for the video, else for all that is in the container; NaN when none is.
    created : str
        When the recording began, as a tag of the container says; empty without one.
    video_streams : int
        How many there are; the first is read.
    even_fps : float
        Rate at which pictures without a time are spaced.
    even_fps_is_stated : bool
        Whether the stream states that rate.
    other_bytes : dict of str to int
        Bytes of all other streams, by kind, so far.
    other_packets : int
        Packets of all other streams, so far.
    corrupt : int
        Packets marked as damaged, so far.
    encrypted : bool
        Whether the first packets are marked as encrypted.
    stopped : str
        Why reading ended early; empty when it did not.
    """

    container: str
    codec: str
    width_px: int
    height_px: int
    stated_s: float
    created: str
    video_streams: int
    even_fps: float
    even_fps_is_stated: bool
    _av: Any
    _video: Any
    other_bytes: dict[str, int] = field(default_factory=dict)
    other_packets: int = 0
    corrupt: int = 0
    encrypted: bool = False
    stopped: str = ""

    def packets(self) -> Generator[Packets, None, None]:
        """Read the video packets, once, and close the file.

        Yields
        ------
        Packets
            Some thousands at a time; the last ones may be fewer.
        """
        seconds = float(self._video.time_base or 0)
        with self._av:
            demuxed = self._av.demux()
            is_more = True
            while is_more:
                times: list[int | None] = []  # in units of the stream's clock
                sizes: list[int] = []
                keys: list[bool] = []
                is_more = self._take(demuxed, times, sizes, keys)
                if sizes:
                    times_s = np.array(times, np.float64) * seconds  # None becomes NaN
                    yield Packets(times_s, np.array(sizes, np.int64), np.array(keys, np.bool_))

    def _take(self, demuxed: Iterator[Any], times: list[int | None], sizes: list[int], keys: list[bool]) -> bool:
        """Append the video packets of a chunk, count what else comes, and tell whether there may be more."""
        index, has_no_pts = self._video.index, self.container == "avi"
        add_time, add_size, add_key = times.append, sizes.append, keys.append
        try:
            for packet in demuxed:
                size = packet.size
                if packet.stream_index != index:
                    kind = packet.stream.type
                    self.other_bytes[kind] = self.other_bytes.get(kind, 0) + size
                    self.other_packets += 1
                    continue
                # AVI has an order of storage only; what the library gives as presentation time there is made up.
                time = packet.dts if has_no_pts else packet.pts
                if time is None:
                    time = packet.dts
                    if time is None and not size:
                        continue  # the end of a stream
                if not sizes:
                    self.encrypted |= packet.has_sidedata("encryption_info")
                add_time(time)
                add_size(size)
                add_key(packet.is_keyframe)
                if packet.is_corrupt:
                    self.corrupt += 1
                if len(sizes) == CHUNK_PACKETS:
                    return True
        except UNREADABLE as error:
            self.stopped = _told(error)
        return False


def open_clip(source: Path | bytes, name: str) -> ClipFile:
    """Open a clip.

    Parameters
    ----------
    source : Path or bytes
        A local file, or its content.
    name : str
        What messages call it.

    Returns
    -------
    ClipFile
        Its header, and its packets to be read once.

    Raises
    ------
    InputError
        When no video can be read from it.
    """
    try:
        container = _opened(source)
    except UNREADABLE as error:
        raise refuse(name, f"no video that can be read ({_told(error)})", "a recorded clip", KINDS) from None
    videos = [
        stream for stream in container.streams.video if not stream.disposition & av.stream.Disposition.attached_pic
    ]
    if not videos:
        container.close()
        raise refuse(name, f"{container.format.name} without a video stream", "a clip with video", KINDS)
    video = videos[0]
    context = video.codec_context
    stated_s = float(video.duration * video.time_base) if video.duration and video.time_base else math.nan
    if math.isnan(stated_s) and container.duration:
        stated_s = container.duration / MICROSECONDS_PER_S
    stated_fps = float(context.framerate or 0) if context else 0.0
    is_likely = LIKELY_FPS[0] <= stated_fps <= LIKELY_FPS[1]
    return ClipFile(
        container=container.format.name,
        codec=(context.name or "") if context else "",
        width_px=context.width if context else 0,
        height_px=context.height if context else 0,
        stated_s=stated_s,
        created=str(container.metadata.get("creation_time", "")),
        video_streams=len(videos),
        even_fps=stated_fps if is_likely else ASSUMED_FPS,
        even_fps_is_stated=is_likely,
        _av=container,
        _video=video,
    )


def _opened(source: Path | bytes) -> Any:
    """Open a clip; one whose container keeps whole pictures apart is not searched for them again."""
    container = _opened_with(source, fflags="noparse")
    if container.format.name.startswith(KEEPS_PICTURES_APART):
        return container
    container.close()
    return _opened_with(source)


def _opened_with(source: Path | bytes, **options: str) -> Any:
    file = io.BytesIO(source) if isinstance(source, bytes) else f"file:{source.absolute()}"
    only_local = {"format_whitelist": ",".join(FORMATS), "protocol_whitelist": "file"}
    return av.open(file, options=only_local | options, metadata_errors="replace")


def _told(error: BaseException) -> str:
    """Say an error in the library's words, without the path."""
    return getattr(error, "strerror", None) or str(error) or type(error).__name__
