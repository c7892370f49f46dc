"""An encoder's configuration as open standards write it -> rows for a camera list. Reads one file, ONVIF XML or SDP.

A row is one stream. What is stated is a setting, not a measurement; what is not stated stays empty, with a note.
"""

import io
import math
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from textwrap import shorten
from typing import TypedDict
from xml.etree.ElementTree import Element, ParseError

import pandas as pd
from defusedxml import DefusedXmlException
from defusedxml.ElementTree import iterparse

from edgestore.checks import Fault, InputError, in_range, refuse
from edgestore.inputs.camera_list import MAX_LISTED_MBIT_S
from edgestore.inputs.sheet import Source, shown
from edgestore.inputs.tables import YES_NO, Table
from edgestore.units import BITS_PER_BYTE, BITS_PER_MBIT, KBIT_PER_MBIT

MAX_FILE_BYTES = 1_000_000
MAX_NESTING = 32
"""An answer of a camera has some kilobytes and is nested some six deep (common practice, no source)."""

SCHEMA = "http://www.onvif.org/ver10/schema"
MEDIA = "http://www.onvif.org/ver10/media/wsdl"
MEDIA2 = "http://www.onvif.org/ver20/media/wsdl"
SOAP = ("http://www.w3.org/2003/05/soap-envelope", "http://schemas.xmlsoap.org/soap/envelope/")
CONFIGURATIONS = {
    "GetVideoEncoderConfigurationsResponse": "Configurations",
    "GetVideoEncoderConfigurationResponse": "Configuration",
}
"""Responses and the element in them that holds an encoder's configuration, by local name."""

STATIC_PAYLOADS = {"26": "JPEG", "31": "H261", "32": "MPV", "33": "MP2T", "34": "H263"}
"""Encodings that need no rtpmap: RFC 3551, table 5 (from memory)."""

HEADER_BYTES = {"IP4": 40, "IP6": 60}
"""IP, UDP and RTP headers of a packet: 20 or 40, 8 and 12 bytes (RFC 3890 works with 40)."""

BANDWIDTHS = {"b=AS", "b=TIAS"}

_XML_MEND = "Save the answer to GetVideoEncoderConfigurations again, whole and as the camera sent it."
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.ASCII | re.IGNORECASE)
_SDP_LINE = re.compile(r"([a-z])=(.*)")
_PICTURE_SIDE = re.compile(r"(?:^|;)\s*(width|height)\s*=\s*([^;\s]*)")
_NAMES_IN_A_NOTE = 5
_LETTERS_OF_A_FAULT = 300


@dataclass(frozen=True)
class Quantity:
    """What a number in the file may be."""

    unit: str
    at_least: float
    at_most: float
    is_whole: bool = False
    mend: str = ""


# The bounds: common practice, no source.
PIXELS = Quantity("pixels", 1, 16_384, is_whole=True)
FRAME_RATE = Quantity("frames/s", 0.01, 240)
ENCODING_INTERVAL = Quantity("frames", 1, 240, is_whole=True, mend="1 means that every frame is encoded.")
GOP = Quantity("frames", 1, 36_000, is_whole=True, mend="1 means that every frame is a key frame.")
RATE_KBIT_S = Quantity(
    "kbit/s", 1, MAX_LISTED_MBIT_S * KBIT_PER_MBIT, mend="Both standards count kbit/s here: 4000 for 4 Mbit/s."
)
AVERAGE_KBIT_S = replace(RATE_KBIT_S, at_least=0, mend="0 means that no average is set.")
RATE_BIT_S = Quantity(
    "bit/s", 1_000, MAX_LISTED_MBIT_S * BITS_PER_MBIT, mend="TIAS counts bit/s: 4000000 for 4 Mbit/s."
)
PACKET_RATE = Quantity("packets/s", 0.01, 1_000_000)


class Stream(TypedDict):
    """What a file states of one stream: a row of the table."""

    camera: str
    encoding: str
    width_px: float
    height_px: float
    frame_rate_fps: float
    key_frame_interval_s: float
    cap_mbit_s: float
    mean_mbit_s: float


@dataclass
class _Reading:
    """A file while it is read: its name, all faults found in it, and what its reader should know."""

    name: str
    faults: list[Fault] = field(default_factory=list)
    notes: dict[str, None] = field(default_factory=dict)

    def number(self, where: str, text: str | None, quantity: Quantity) -> float:
        """Read a number within its bounds; NaN when there is none, or a faulty one."""
        if text is None:
            return math.nan
        text = text.strip()
        number = float(text) if _NUMBER.fullmatch(text) else math.nan
        low, high = quantity.at_least, quantity.at_most
        try:
            in_range(where, number, quantity.unit, at_least=low, at_most=high, mend=quantity.mend)
            if quantity.is_whole and not number.is_integer():
                raise refuse(where, text, f"a whole number of {quantity.unit}", quantity.mend)
        except InputError as error:
            found = shown(text) if text else "nothing"
            self.faults += [replace(fault, where=f"{self.name}, {where}", found=found) for fault in error.faults]
            return math.nan
        return number

    def note(self, text: str) -> None:
        """Tell the reader something, once."""
        self.notes[f"{self.name}: {text}"] = None


def read_encoder(source: Source, name: str = "encoder file") -> Table:
    r"""Read the configuration of a camera's encoders, as ONVIF XML or SDP.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the file, or its content: the answer to ONVIF's GetVideoEncoderConfigurations or
        GetVideoEncoderConfiguration (Media or Media2), in a SOAP envelope or bare; or a session description (SDP).
    name : str
        What messages call the file when ``source`` is its content; a file is called by its own name.

    Returns
    -------
    Table
        One row a stream with the columns of ``Stream``; NaN or an empty text for what is not stated; and notes.

    Raises
    ------
    InputError
        With every fault of the file: where (file, element path or line), what was found, what is allowed.

    Notes
    -----
    Frame rate: FrameRateLimit / EncodingInterval. Key-frame interval: GovLength / frame rate; JPEG has only key frames.
    Cap: BitrateLimit; in SDP ``TIAS``, else ``AS`` less the packet headers, ``AS x 1000 - maxprate x 320`` (IPv4).
    The mean is given only where one is set: AverageBitRate above 0, at most the cap, else the cap at ConstantBitRate.
    No document type, entity or outside reference is read; elements not known are passed over.

    References
    ----------
    ONVIF schema onvif.xsd (VideoEncoderConfiguration, VideoRateControl, VideoEncoder2Configuration,
    VideoRateControl2). SDP: RFC 8866; TIAS and maxprate: RFC 3890; width and height in fmtp:
    RFC 4175 (these from memory).

    Examples
    --------
    >>> session = b"v=0\ns=Quay north\nm=video 0 RTP/AVP 96\nb=TIAS:4096000\na=rtpmap:96 H264/90000\na=framerate:12.5\n"
    >>> table = read_encoder(session)
    >>> table.rows[["camera", "encoding", "frame_rate_fps", "cap_mbit_s"]].to_dict("records")
    [{'camera': 'Quay north', 'encoding': 'H264', 'frame_rate_fps': 12.5, 'cap_mbit_s': 4.096}]
    """
    if not isinstance(source, bytes):
        name, source = Path(source).name, _content(Path(source))
    if len(source) > MAX_FILE_BYTES:
        mend = "A camera's answer has some kilobytes: is it the right file?"
        raise refuse(name, f"more than {MAX_FILE_BYTES} bytes", f"at most {MAX_FILE_BYTES} bytes", mend)
    reading = _Reading(name)
    is_xml = source.lstrip(b"\xef\xbb\xbf \t\r\n").startswith((b"<", b"\xff\xfe<", b"\xfe\xff\0<"))
    streams = _onvif_streams(source.lstrip(), reading) if is_xml else _sdp_streams(_sdp_text(source, name), reading)
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
    return Table(name, rows, tuple(reading.notes))


def _content(path: Path) -> bytes:
    """Give what the file holds, up to one byte more than is allowed."""
    try:
        with path.open("rb") as file:
            return file.read(MAX_FILE_BYTES + 1)
    except (OSError, ValueError) as error:
        why = "a folder" if path.is_dir() else getattr(error, "strerror", None) or str(error)
        mend = "Give the path of the saved answer or session description."
        raise refuse(str(path), why, "an ONVIF XML or SDP file that can be read", mend) from None


def _few(names: Iterable[str]) -> str:
    """Name the streams of a note, only the first when there are many."""
    every = [shown(name) for name in names]
    more = len(every) - _NAMES_IN_A_NOTE
    return ", ".join(every[:_NAMES_IN_A_NOTE]) + (f" and {more} more" if more > 0 else "")


def _distinct(names: list[str], tokens: list[str]) -> list[str]:
    """Call each stream by its name, by its token when it has none, and by both when others have the same name."""
    count = Counter(names)
    return [
        token if not name else name if count[name] == 1 else f"{name} ({token})"
        for name, token in zip(names, tokens, strict=True)
    ]


def _key_frame_interval_s(encoding: str, gop_frames: float, frame_rate_fps: float) -> float:
    """Time between key frames; JPEG has no other frames."""
    return (1 if encoding == "JPEG" else gop_frames) / frame_rate_fps


# ONVIF


def _onvif_streams(content: bytes, reading: _Reading) -> list[Stream]:
    """Read each configuration of an ONVIF response."""
    found = _configurations(_root(content, reading.name), reading.name)
    names = [" ".join((_stated(element, "Name") or "").split()) for _, element, _ in found]
    tokens = [element.get("token", "").strip() or f"configuration {n}" for n, (_, element, _) in enumerate(found, 1)]
    cameras = _distinct(names, tokens)
    count = Counter(cameras)
    for (path, *_), camera in zip(found, cameras, strict=True):
        if count[camera] > 1:
            mend = "Is the same answer in the file twice?"
            reading.faults.append(Fault(f"{reading.name}, {path}", f"{shown(camera)} again", "each token once", mend))
    reading.note("BitrateLimit is a cap, not a mean; the frame rate is a limit too")
    return [
        _configured(path, element, service, camera, reading)
        for (path, element, service), camera in zip(found, cameras, strict=True)
    ]


def _root(content: bytes, name: str) -> Element:
    """Parse XML that nobody has vouched for."""
    root: Element | None = None
    depth = 0
    try:
        for event, element in iterparse(io.BytesIO(content), events=("start", "end"), forbid_dtd=True):
            root = element if root is None else root
            depth += 1 if event == "start" else -1
            if depth > MAX_NESTING:
                raise refuse(name, f"elements nested more than {MAX_NESTING} deep", f"at most {MAX_NESTING}", _XML_MEND)
    except DefusedXmlException:
        mend = "No answer of a camera has one: do not use this file unless you know where it comes from."
        raise refuse(name, "a document type (DOCTYPE) or entity", "XML without one", mend) from None
    except InputError:
        raise
    except (ParseError, LookupError, ValueError) as error:  # the last two: an encoding that the parser does not know
        raise refuse(name, f"no whole XML ({error})", "well-formed XML", _XML_MEND) from None
    assert root is not None
    return root


def _configurations(root: Element, name: str) -> list[tuple[str, Element, str]]:
    """Give the path, element and service of each configuration in a response, or say what stands there instead."""
    envelopes = {f"{{{soap}}}Envelope": f"{{{soap}}}Body" for soap in SOAP}
    body = root.findall(f"{envelopes[root.tag]}/*") if root.tag in envelopes else [root]
    found = []
    for response in body:
        service, _, local = response.tag.removeprefix("{").rpartition("}")
        if service in SOAP and local == "Fault":
            texts = [" ".join((element.text or "").split()) for element in response.iter()]
            said = shorten(": ".join(filter(None, texts)), _LETTERS_OF_A_FAULT) or "nothing said"
            raise refuse(f"{name}, Fault", said, "an answer that is no fault", f"Mend what it says. {_XML_MEND}")
        if service in (MEDIA, MEDIA2) and local in CONFIGURATIONS:
            child = CONFIGURATIONS[local]
            elements = response.findall(f"{{{service}}}{child}")
            found += [(f"{local}/{child}[{n}]", element, service) for n, element in enumerate(elements, 1)]
    if not found:
        there = ", ".join(shown(response.tag) for response in body[:_NAMES_IN_A_NOTE]) or "an empty body"
        allowed = f"a video encoder configuration: {' or '.join(CONFIGURATIONS)} of {MEDIA} or {MEDIA2}"
        raise refuse(name, f"no configuration in {there}", allowed, _XML_MEND)
    return found


def _stated(configuration: Element, path: str) -> str | None:
    """Give the text at a path of the schema's elements, the last step perhaps an attribute; None when not there."""
    steps, _, attribute = path.partition("@")
    below = "/".join(f"{{{SCHEMA}}}{step}" for step in steps.split("/") if step)
    element = configuration.find(below) if below else configuration
    if element is None:
        return None
    return element.get(attribute) if attribute else element.text or ""


def _configured(path: str, element: Element, service: str, camera: str, reading: _Reading) -> Stream:
    """Read one configuration."""

    def number(step: str, quantity: Quantity) -> float:
        return reading.number(f"{path}/{step}", _stated(element, step), quantity)

    encoding = (_stated(element, "Encoding") or "").strip().upper()
    frame_rate = number("RateControl/FrameRateLimit", FRAME_RATE)
    gop_at = "@GovLength"
    if service == MEDIA:
        interval = number("RateControl/EncodingInterval", ENCODING_INTERVAL)
        frame_rate /= 1 if math.isnan(interval) else interval
        if _stated(element, "RateControl/EncodingInterval") is None:
            reading.note("where EncodingInterval is not stated, every frame is taken to be encoded")
        gop_at = "MPEG4/GovLength" if encoding == "MPEG4" else "H264/GovLength"
    gop = math.nan if encoding == "JPEG" else number(gop_at, GOP)
    cap = number("RateControl/BitrateLimit", RATE_KBIT_S) / KBIT_PER_MBIT
    mean = math.nan
    if service == MEDIA2:
        average = number("RateControl/AverageBitRate", AVERAGE_KBIT_S) / KBIT_PER_MBIT
        constant = (_stated(element, "RateControl/@ConstantBitRate") or "false").strip()
        if constant not in YES_NO or constant in ("yes", "no"):
            where = f"{reading.name}, {path}/RateControl/@ConstantBitRate"
            reading.faults.append(Fault(where, shown(constant), "true, false, 1 or 0"))
        elif average > 0:
            mean = average if math.isnan(cap) else min(average, cap)
        elif YES_NO[constant]:
            mean = cap
    return Stream(
        camera=camera,
        encoding=encoding,
        width_px=number("Resolution/Width", PIXELS),
        height_px=number("Resolution/Height", PIXELS),
        frame_rate_fps=frame_rate,
        key_frame_interval_s=_key_frame_interval_s(encoding, gop, frame_rate),
        cap_mbit_s=cap,
        mean_mbit_s=mean,
    )


# SDP

Section = dict[str, tuple[int, str]]
"""The fields of a session or of one medium: ``m``, ``b=AS``, ``a=fmtp:96`` -> line and value; the first counts."""


def _sdp_text(content: bytes, name: str) -> str:
    """Give the text of a session description."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    found = "nothing in it" if not text.strip() else "bytes that are no text" if "\0" in text else ""
    if not found and not text.lstrip().startswith("v="):
        found = shown(text.strip().splitlines()[0])
    if found:
        mend = "Leave out what stands before the first < or before v=0; an encrypted file is decrypted first."
        raise refuse(name, found, "ONVIF XML, or a session description (SDP) that starts with v=0", mend)
    return text


def _sections(text: str, reading: _Reading) -> list[Section]:
    """Cut a session description into the session and its media."""
    sections: list[Section] = [{}]
    for n, line in enumerate(re.split(r"\r\n|\r|\n", text), 1):
        if not line.strip():
            continue
        parts = _SDP_LINE.fullmatch(line.strip())
        if not parts:
            where = f"{reading.name}, line {n}"
            reading.faults.append(Fault(where, shown(line.strip()), "a letter, = and a value, as a=framerate:25"))
            continue
        key, value = parts.groups()
        if key == "m":
            sections.append({})
        if key in "ab":
            modifier, _, value = value.partition(":")
            key = f"{key}={modifier}"
            if modifier in ("rtpmap", "fmtp"):
                payload, _, value = value.partition(" ")
                key = f"{key}:{payload}"
        sections[-1].setdefault(key, (n, value.strip()))
    return sections


def _sdp_streams(text: str, reading: _Reading) -> list[Stream]:
    """Read each video stream of a session description."""
    session, *media = _sections(text, reading)
    reading.note("b= is a cap, not a mean; the frame rate is a limit too")
    videos = [section for section in media if section["m"][1].split()[:1] == ["video"]]
    if not videos:
        there = ", ".join(shown(section["m"][1]) for section in media[:_NAMES_IN_A_NOTE]) or "no m= line"
        mend = "Save the description of the session that carries the picture."
        reading.faults.append(Fault(reading.name, there, "a session with a video stream (m=video)", mend))
    titles = [section.get("i", session.get("s", (0, "")))[1] for section in videos]
    names = ["" if title == "-" else " ".join(title.split()) for title in titles]
    cameras = _distinct(names, [f"video {n}" for n in range(1, len(videos) + 1)])
    return [_described(video, session, camera, reading) for video, camera in zip(videos, cameras, strict=True)]


def _described(video: Section, session: Section, camera: str, reading: _Reading) -> Stream:
    """Read one video stream."""
    line, value = video["m"]
    _, _, _, payload, *_ = [*value.split(), *[""] * 4]
    if not payload:
        where = f"{reading.name}, line {line}, m"
        reading.faults.append(Fault(where, shown(value), "medium, port, protocol and format, as video 0 RTP/AVP 96"))
    _, mapped = video.get(f"a=rtpmap:{payload}", (0, STATIC_PAYLOADS.get(payload, "")))
    encoding = mapped.partition("/")[0].strip().upper()
    frame_rate = _sdp_number("a=framerate", FRAME_RATE, video, reading)
    line, parameters = video.get(f"a=fmtp:{payload}", (0, ""))
    size = dict(_PICTURE_SIDE.findall(parameters))
    return Stream(
        camera=camera,
        encoding=encoding,
        width_px=reading.number(f"line {line}, width", size.get("width"), PIXELS),
        height_px=reading.number(f"line {line}, height", size.get("height"), PIXELS),
        frame_rate_fps=frame_rate,
        key_frame_interval_s=_key_frame_interval_s(encoding, math.nan, frame_rate),
        cap_mbit_s=_sdp_cap_mbit_s(video, session, reading),
        mean_mbit_s=math.nan,
    )


def _sdp_number(key: str, quantity: Quantity, section: Section, reading: _Reading) -> float:
    """Read a number of a section; NaN when it is not stated."""
    line, text = section.get(key, (0, None))
    return reading.number(f"line {line}, {key}", text, quantity)


def _sdp_cap_mbit_s(video: Section, session: Section, reading: _Reading) -> float:
    """Cap of a stream without packet headers where that can be told; the session's where it has none of its own."""
    _, connection = video.get("c") or session.get("c") or (0, "")
    stated = video
    if not video.keys() & BANDWIDTHS and session.keys() & BANDWIDTHS:
        stated = session
        reading.note("b= of the session is taken as the cap; it counts all streams of the session together")
    cap = _sdp_number("b=TIAS", RATE_BIT_S, stated, reading) / BITS_PER_MBIT
    with_headers = _sdp_number("b=AS", RATE_KBIT_S, stated, reading) / KBIT_PER_MBIT
    packet_rate = _sdp_number("a=maxprate", PACKET_RATE, stated, reading)
    if with_headers < cap:
        line, _ = stated["b=AS"]
        reading.note(f"line {line}: b=AS includes packet headers, yet is below b=TIAS: one of them is wrong")
    if not math.isnan(cap) or math.isnan(with_headers):
        return cap
    if "a=maxprate" not in stated:
        reading.note("b=AS includes packet headers, some 3 to 4 %, which are not written to the card")
        return with_headers
    headers = packet_rate * HEADER_BYTES["IP6" if "IP6" in connection else "IP4"] * BITS_PER_BYTE / BITS_PER_MBIT
    if headers >= with_headers:
        line, _ = stated["a=maxprate"]
        where, found = f"{reading.name}, line {line}, a=maxprate", f"headers of {headers:g} Mbit/s"
        reading.faults.append(Fault(where, found, f"less than b=AS, {with_headers:g} Mbit/s"))
    return with_headers - headers
