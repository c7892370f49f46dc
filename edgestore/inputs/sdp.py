"""A session description (SDP) -> its video streams. Opens no file."""

import math
import re

from edgestore.checks import Fault, refuse
from edgestore.inputs.camera_list import MAX_LISTED_MBIT_S
from edgestore.inputs.sheet import shown
from edgestore.inputs.stream import (
    CAP_KBIT_S,
    FRAME_RATE,
    NAMES_IN_A_NOTE,
    PIXELS,
    Quantity,
    Reading,
    Stream,
    distinct,
    key_frame_interval_s,
)
from edgestore.units import BITS_PER_BYTE, BITS_PER_MBIT, KBIT_PER_MBIT

STATIC_PAYLOADS = {"26": "JPEG", "31": "H261", "32": "MPV", "33": "MP2T", "34": "H263"}
"""Encodings that need no rtpmap: RFC 3551, table 5 (from memory)."""

HEADER_BYTES = {"IP4": 40, "IP6": 60}
"""IP, UDP and RTP headers of a packet: 20 or 40, 8 and 12 bytes (RFC 3890 works with 40)."""

BANDWIDTHS = {"b=AS", "b=TIAS"}

_SDP_LINE = re.compile(r"([a-z])=(.*)")
_PICTURE_SIDE = re.compile(r"(?:^|;)\s*(width|height)\s*=\s*([^;\s]*)")

# The bounds: common practice, no source.
CAP_BIT_S = Quantity(
    "bit/s",
    1_000,
    MAX_LISTED_MBIT_S * BITS_PER_MBIT,
    mend="TIAS counts bit/s: 4000000 for 4 Mbit/s.",
    zero=CAP_KBIT_S.zero,
)
PACKET_RATE = Quantity("packets/s", 0.01, 1_000_000)

Section = dict[str, tuple[int, str]]
"""The fields of a session or of one medium: ``m``, ``b=AS``, ``a=fmtp:96`` -> line and value; the first counts."""


def _sdp_text(content: bytes, name: str) -> str:
    """Give the text of a session description."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    found = "nothing in it" if not text.strip() else "bytes that are not text" if "\0" in text else ""
    if not found and not text.lstrip().startswith("v="):
        found = shown(text.strip().splitlines()[0])
    if found:
        mend = "Remove the text before the first < or before v=0; decrypt an encrypted file first."
        raise refuse(name, found, "ONVIF XML, or a session description (SDP) that starts with v=0", mend)
    return text


def _sections(text: str, reading: Reading) -> list[Section]:
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


def sdp_streams(content: bytes, reading: Reading) -> list[Stream]:
    """Read each video stream of a session description."""
    session, *media = _sections(_sdp_text(content, reading.name), reading)
    reading.note("b= is a cap, not a mean; the frame rate is a limit too")
    videos = [section for section in media if section["m"][1].split()[:1] == ["video"]]
    if not videos:
        there = ", ".join(shown(section["m"][1]) for section in media[:NAMES_IN_A_NOTE]) or "no m= line"
        mend = "Save the description of the session that carries the picture."
        reading.faults.append(Fault(reading.name, there, "a session with a video stream (m=video)", mend))
    titles = [section.get("i", session.get("s", (0, "")))[1] for section in videos]
    names = ["" if title == "-" else " ".join(title.split()) for title in titles]
    cameras = distinct(names, [f"video {n}" for n in range(1, len(videos) + 1)])
    return [_described(video, session, camera, reading) for video, camera in zip(videos, cameras, strict=True)]


def _described(video: Section, session: Section, camera: str, reading: Reading) -> Stream:
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
        key_frame_interval_s=key_frame_interval_s(encoding, math.nan, frame_rate),
        cap_mbit_s=_sdp_cap_mbit_s(video, session, reading),
        mean_mbit_s=math.nan,
    )


def _sdp_number(key: str, quantity: Quantity, section: Section, reading: Reading) -> float:
    """Read a number of a section; NaN when it is not stated."""
    line, text = section.get(key, (0, None))
    return reading.number(f"line {line}, {key}", text, quantity)


def _sdp_cap_mbit_s(video: Section, session: Section, reading: Reading) -> float:
    """Cap of a stream without packet headers where that can be told; the session's where it has none of its own."""
    _, connection = video.get("c") or session.get("c") or (0, "")
    stated = video
    if not video.keys() & BANDWIDTHS and session.keys() & BANDWIDTHS:
        stated = session
        reading.note_on_cap("b= of the session is taken as the cap; it counts all streams of the session together")
    cap = _sdp_number("b=TIAS", CAP_BIT_S, stated, reading) / BITS_PER_MBIT
    with_headers = _sdp_number("b=AS", CAP_KBIT_S, stated, reading) / KBIT_PER_MBIT
    packet_rate = _sdp_number("a=maxprate", PACKET_RATE, stated, reading)
    if with_headers < cap:
        line, _ = stated["b=AS"]
        reading.note_on_cap(f"line {line}: b=AS includes packet headers, yet is below b=TIAS: one of them is wrong")
    if not math.isnan(cap) or math.isnan(with_headers):
        return cap
    if "a=maxprate" not in stated:
        reading.note_on_cap("b=AS includes packet headers, some 3 to 4 %, which are not written to the card")
        return with_headers
    headers = packet_rate * HEADER_BYTES["IP6" if "IP6" in connection else "IP4"] * BITS_PER_BYTE / BITS_PER_MBIT
    if headers >= with_headers:
        line, _ = stated["a=maxprate"]
        where, found = f"{reading.name}, line {line}, a=maxprate", f"headers of {headers:g} Mbit/s"
        reading.faults.append(Fault(where, found, f"less than b=AS, {with_headers:g} Mbit/s"))
    return with_headers - headers
