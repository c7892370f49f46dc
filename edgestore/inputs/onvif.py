"""An encoder's configuration as ONVIF answers it -> its streams. Opens no file; nothing in the XML is trusted."""

import io
import math
from collections import Counter
from dataclasses import replace
from textwrap import shorten
from typing import TypeAlias
from xml.etree.ElementTree import Element, ParseError

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import iterparse

from edgestore.checks import Fault, InputError, refuse
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
from edgestore.inputs.tables import YES_NO
from edgestore.units import KBIT_PER_MBIT

MAX_NESTING = 32
"""An answer of a camera is nested some six deep (common practice, no source)."""

SCHEMA = "http://www.onvif.org/ver10/schema"
MEDIA = "http://www.onvif.org/ver10/media/wsdl"
MEDIA2 = "http://www.onvif.org/ver20/media/wsdl"
SOAP = ("http://www.w3.org/2003/05/soap-envelope", "http://schemas.xmlsoap.org/soap/envelope/")
ENCODERS = {
    (MEDIA, "GetVideoEncoderConfigurationsResponse"): ("Configurations", ""),
    (MEDIA, "GetVideoEncoderConfigurationResponse"): ("Configuration", ""),
    (MEDIA, "GetProfilesResponse"): ("Profiles", f"{{{SCHEMA}}}VideoEncoderConfiguration"),
    (MEDIA2, "GetVideoEncoderConfigurationsResponse"): ("Configurations", ""),
    (MEDIA2, "GetVideoEncoderConfigurationResponse"): ("Configuration", ""),
    (MEDIA2, "GetProfilesResponse"): ("Profiles", f"{{{MEDIA2}}}Configurations/{{{MEDIA2}}}VideoEncoder"),
}
"""Responses, by service and local name: the element that repeats in it, and below that the encoder's configuration."""

Configuration: TypeAlias = tuple[str, Element, str]
"""The path of an encoder's configuration in the file, its element, and the service that answered."""

_XML_MEND = "Save the answer again, whole and as the camera sent it: GetVideoEncoderConfigurations, GetProfiles."
_LETTERS_OF_A_FAULT = 300

# The bounds: common practice, no source.
ENCODING_INTERVAL = Quantity("frames", 1, 240, is_whole=True, mend="1 means that every frame is encoded.")
GOP = Quantity("frames", 1, 36_000, is_whole=True, mend="1 means that every frame is a key frame.")
AVERAGE_KBIT_S = replace(CAP_KBIT_S, at_least=0, mend="0 means that no average is set.", zero="")


def onvif_streams(content: bytes, reading: Reading) -> list[Stream]:
    """Read each configuration of an ONVIF response."""
    found = _each_once(_configurations(onvif_responses(content, reading.name), reading.name), reading)
    names = [" ".join((_stated(element, "Name") or "").split()) for _, element, _ in found]
    tokens = [element.get("token", "").strip() or f"configuration {n}" for n, (_, element, _) in enumerate(found, 1)]
    cameras = distinct(names, tokens)
    count = Counter(cameras)
    for (path, *_), camera in zip(found, cameras, strict=True):
        if count[camera] > 1:
            mend = "Keep one of them: the same answer may be in the file twice."
            reading.faults.append(Fault(f"{reading.name}, {path}", f"{shown(camera)} again", "each token once", mend))
    reading.note("BitrateLimit is a cap, not a mean; the frame rate is a limit too")
    return [
        _configured(path, element, service, camera, reading)
        for (path, element, service), camera in zip(found, cameras, strict=True)
    ]


def _root(content: bytes, name: str, mend: str) -> Element:
    """Parse XML that nobody has vouched for."""
    if not content.strip():
        raise refuse(name, "an empty file", "an answer of the camera", mend)
    root: Element | None = None
    depth = 0
    try:
        for event, element in iterparse(io.BytesIO(content), events=("start", "end"), forbid_dtd=True):
            root = element if root is None else root
            depth += 1 if event == "start" else -1
            if depth > MAX_NESTING:
                raise refuse(name, f"elements nested more than {MAX_NESTING} deep", f"at most {MAX_NESTING}", mend)
    except DefusedXmlException:
        unsafe = "No answer of a camera has one: do not use this file unless you know where it comes from."
        raise refuse(name, "a document type (DOCTYPE) or entity", "XML without one", unsafe) from None
    except InputError:
        raise
    except (ParseError, LookupError, ValueError) as error:  # the last two: an encoding that the parser does not know
        raise refuse(name, f"malformed XML ({error})", "well-formed XML", mend) from None
    assert root is not None
    return root


def onvif_responses(content: bytes, name: str, mend: str = _XML_MEND) -> list[Element]:
    """Give what stands in the body of a SOAP envelope, or the bare answer; a fault that a device reports is refused.

    What to do about a file that cannot be read is ``mend``, by default to ask for the encoder again.
    """
    root = _root(content, name, mend)
    envelopes = {f"{{{soap}}}Envelope": f"{{{soap}}}Body" for soap in SOAP}
    body = root.findall(f"{envelopes[root.tag]}/*") if root.tag in envelopes else [root]
    for response in body:
        service, local = service_and_name(response)
        if service in SOAP and local == "Fault":
            texts = [" ".join((element.text or "").split()) for element in response.iter()]
            said = shorten(": ".join(filter(None, texts)), _LETTERS_OF_A_FAULT) or "nothing said"
            raise refuse(f"{name}, Fault", said, "an answer that is no fault", f"Correct what it reports. {mend}")
    return body


def service_and_name(response: Element) -> tuple[str, str]:
    """Give the service that answered, by its namespace, and the local name of the answer."""
    service, _, local = response.tag.removeprefix("{").rpartition("}")
    return service, local


def _configurations(body: list[Element], name: str) -> list[Configuration]:
    """Give the path, element and service of each configuration in a response, or say what stands there instead."""
    found: list[Configuration] = []
    for response in body:
        service, local = service_and_name(response)
        if (service, local) in ENCODERS:
            outer, inner = ENCODERS[service, local]
            for n, element in enumerate(response.findall(f"{{{service}}}{outer}"), 1):
                encoder = element.find(inner) if inner else element
                if encoder is not None:
                    found.append((f"{local}/{outer}[{n}]", encoder, service))
    if not found:
        there = ", ".join(shown(response.tag) for response in body[:NAMES_IN_A_NOTE]) or "an empty body"
        names = dict.fromkeys(local for _, local in ENCODERS)
        allowed = f"a video encoder configuration: {' or '.join(names)} of {MEDIA} or {MEDIA2}"
        raise refuse(name, f"no configuration in {there}", allowed, _XML_MEND)
    return found


def _each_once(found: list[Configuration], reading: Reading) -> list[Configuration]:
    """Leave out an encoder that an earlier profile has; profiles may share one, and it writes its stream once."""
    once: list[Configuration] = []
    tokens = set()
    for path, element, service in found:
        token = element.get("token", "").strip()
        if "/Profiles[" in path and token and token in tokens:
            reading.note_on_cap(f"profiles share the encoder {shown(token)}: its stream is counted once")
            continue
        tokens.add(token)
        once.append((path, element, service))
    return once


def _stated(configuration: Element, path: str) -> str | None:
    """Give the text at a path of the schema's elements, the last step perhaps an attribute; None when not there."""
    steps, _, attribute = path.partition("@")
    below = "/".join(f"{{{SCHEMA}}}{step}" for step in steps.split("/") if step)
    element = configuration.find(below) if below else configuration
    if element is None:
        return None
    return element.get(attribute) if attribute else element.text or ""


def _configured(path: str, element: Element, service: str, camera: str, reading: Reading) -> Stream:
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
    cap = number("RateControl/BitrateLimit", CAP_KBIT_S) / KBIT_PER_MBIT
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
        key_frame_interval_s=key_frame_interval_s(encoding, gop, frame_rate),
        cap_mbit_s=cap,
        mean_mbit_s=mean,
    )
