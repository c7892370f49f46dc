"""An encoder's configuration as open standards write it -> rows for a camera list. Reads one file, ONVIF XML or SDP.

A row is one stream. What is stated is a setting, not a measurement; what is not stated stays empty, with a note.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from edgestore.checks import InputError
from edgestore.inputs.onvif import onvif_streams
from edgestore.inputs.sdp import sdp_streams
from edgestore.inputs.sheet import Source, shown
from edgestore.inputs.stream import NAMES_IN_A_NOTE, Reading, Stream
from edgestore.inputs.tables import Table
from edgestore.plain_file import plain_file

MAX_FILE_BYTES = 1_000_000
"""An answer of a camera has some kilobytes (common practice, no source)."""


@dataclass(frozen=True)
class EncoderTable(Table):
    """The streams of a file, and which of its notes concern their caps."""

    cap_notes: tuple[str, ...]


def read_encoder(source: Source, name: str = "encoder file") -> EncoderTable:
    r"""Read the configuration of a camera's encoders, as ONVIF XML or SDP.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the file, or its content: the answer to ONVIF's GetVideoEncoderConfigurations,
        GetVideoEncoderConfiguration or GetProfiles (Media or Media2), in a SOAP envelope or bare; or a session
        description (SDP).
    name : str
        What messages call the file when ``source`` is its content; a file is called by its own name.

    Returns
    -------
    EncoderTable
        One row a stream with the columns of ``Stream``; NaN or an empty text for what is not stated; and notes.

    Raises
    ------
    InputError
        With every fault of the file: where (file, element path or line), what was found, what is allowed.

    Notes
    -----
    Frame rate: FrameRateLimit / EncodingInterval. Key-frame interval: GovLength / frame rate; JPEG has only key frames.
    Cap: BitrateLimit; in SDP ``TIAS``, else ``AS`` less the packet headers, ``AS x 1000 - maxprate x 320`` (IPv4);
    a cap of 0 is taken as not set, as many devices mean it (common practice, no source).
    The mean is given only where one is set: AverageBitRate above 0, at most the cap, else the cap at ConstantBitRate.
    No document type, entity or outside reference is read; elements not known are passed over.

    References
    ----------
    ONVIF schema onvif.xsd (VideoEncoderConfiguration, VideoRateControl, VideoEncoder2Configuration,
    VideoRateControl2) and media.wsdl (GetProfilesResponse). SDP: RFC 8866; TIAS and maxprate: RFC 3890; width and
    height in fmtp: RFC 4175 (these from memory).

    Examples
    --------
    >>> session = b"v=0\ns=Quay north\nm=video 0 RTP/AVP 96\nb=TIAS:4096000\na=rtpmap:96 H264/90000\na=framerate:12.5\n"
    >>> table = read_encoder(session)
    >>> table.rows[["camera", "encoding", "frame_rate_fps", "cap_mbit_s"]].to_dict("records")
    [{'camera': 'Quay north', 'encoding': 'H264', 'frame_rate_fps': 12.5, 'cap_mbit_s': 4.096}]
    """
    if not isinstance(source, bytes):
        name, place, source = Path(source).name, str(source), Path(source)
    else:
        place = name
    mend = "Give the path of the saved answer or session description."
    source = plain_file(source, place, MAX_FILE_BYTES, "an ONVIF XML or SDP file that can be read", mend)
    reading = Reading(name)
    is_xml = source.lstrip(b"\xef\xbb\xbf \t\r\n").startswith((b"<", b"\xff\xfe<", b"\xfe\xff\0<"))
    streams = onvif_streams(source.lstrip(), reading) if is_xml else sdp_streams(source, reading)
    if reading.faults:
        raise InputError(dict.fromkeys(reading.faults))
    rows = pd.DataFrame(streams, columns=list(Stream.__annotations__))
    if len(rows) > 1:
        reading.note("a row is one stream; what a camera writes is the sum of those that it records")
    if rows["mean_mbit_s"].notna().any():
        reading.note("mean_mbit_s is the constant or average rate that is set, not a measurement")
    for column in rows.columns.drop("mean_mbit_s"):
        missing = rows["camera"][rows[column].isna() | (rows[column] == "")]
        if len(missing):
            reading.note(f"{column} is not stated for {_few(missing)}")
    return EncoderTable(name, rows, tuple(reading.notes), tuple(reading.cap_notes))


def _few(names: Iterable[str]) -> str:
    """Name the streams of a note, only the first when there are many."""
    every = [shown(name) for name in names]
    more = len(every) - NAMES_IN_A_NOTE
    return ", ".join(every[:NAMES_IN_A_NOTE]) + (f" and {more} more" if more > 0 else "")
