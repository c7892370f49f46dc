"""What a camera answers about its recordings, as ONVIF writes it -> times. Opens no file; nothing in it is trusted."""

import math
import re
from dataclasses import dataclass, field
from datetime import UTC, datetime
from xml.etree.ElementTree import Element

import pandas as pd

from edgestore.checks import Fault, refuse
from edgestore.inputs.clocks import FIRST_MOMENT, LAST_MOMENT, YEARS
from edgestore.inputs.onvif import ENCODERS, SCHEMA, onvif_responses, service_and_name
from edgestore.inputs.sheet import shown
from edgestore.inputs.stream import Reading
from edgestore.units import H_PER_DAY, H_PER_YEAR, S_PER_H, S_PER_MIN

SEARCH = "http://www.onvif.org/ver10/search/wsdl"
CONTROL = "http://www.onvif.org/ver10/recording/wsdl"
DEVICE = "http://www.onvif.org/ver10/device/wsdl"
NOTIFICATION = "http://docs.oasis-open.org/wsn/b-2"

SUMMARY, INFORMATION, SEARCHED, EVENTS = (
    (SEARCH, f"{name}Response")
    for name in ("GetRecordingSummary", "GetRecordingInformation", "GetRecordingSearchResults", "GetEventSearchResults")
)
CONFIGURATIONS = {
    (CONTROL, "GetRecordingConfigurationResponse"): f"{{{CONTROL}}}RecordingConfiguration",
    (CONTROL, "GetRecordingsResponse"): f"{{{CONTROL}}}RecordingItem/{{{SCHEMA}}}Configuration",
}
"""Answers that tell how long recordings are kept: where in them each recording's configuration stands."""

CLOCK = (DEVICE, "GetSystemDateAndTimeResponse")
ANSWERS = (SUMMARY, INFORMATION, SEARCHED, EVENTS, *CONFIGURATIONS, CLOCK, *ENCODERS)
"""The answers that are read, by service and local name."""

STATES = {"RecordingHistory/Track/State": "IsDataPresent", "RecordingHistory/Recording/State": "IsRecording"}
"""The topics of the recording history, below their prefix, and the item that tells the state; the first is closer."""

OTHER_TRACKS = ("AUDIO", "META")
"""With these begin the tokens of tracks that are no video where the device makes the tracks, which then have the tokens
VIDEO001, AUDIO001 and META001 (Recording Control Specification, CreateRecording, from memory)."""

NAMED = 3

_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?(Z|[+-]\d\d:\d\d)?", re.ASCII)
"""xs:dateTime, but for years before 0 and after 9999."""

_DURATION = re.compile(
    r"P(?=\d|T\d)(?:(\d+)Y)?(?:(\d+)M)?(?:(\d+)D)?(?:T(?=\d)(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:\.\d+)?)S)?)?", re.ASCII
)
"""xs:duration, but for those before 0."""

_H_OF_PARTS = (H_PER_YEAR, H_PER_YEAR / 12, H_PER_DAY, 1.0, S_PER_MIN / S_PER_H, 1 / S_PER_H)
"""Hours in a year, a month, a day, an hour, a minute and a second."""

VIDEO = "video"
"""TrackType of video, in small letters."""

_TRUTH = {"true": True, "1": True, "false": False, "0": False}
_SAVE = "Save the answer again, whole and as the camera sent it."
NEEDED = "GetRecordingSummary, which every camera with ONVIF's recording search answers, tells how far back it goes."
"""What to ask for first."""

_ASK_AGAIN = f"{_SAVE} {NEEDED}"
_SET_CLOCK = "Set the clock of the camera (NTP), and save the answers when it has recorded since."
_CLOCK_OR_SAVE = f"{_SAVE} If it says the same, the clock of the camera was wrong when it recorded. {_SET_CLOCK}"


@dataclass(frozen=True)
class StateChange:
    """From when on a track or a recording holds data, or not; ``is_start`` marks the state when the search begins."""

    topic: str
    of: tuple[str, str]
    time: pd.Timestamp
    is_recording: bool
    is_start: bool


@dataclass
class Recordings:
    """What the answers of one camera say, gathered file by file; times are those of the camera's clock, as UTC.

    Attributes
    ----------
    spans : list of tuple
        Oldest and newest moment of each video track; of whole recordings where no track is told.
    summary : tuple or None
        Oldest and newest moment of all data, whatever it is.
    changes : list of StateChange
        The recording history.
    tracks : dict
        Type of each track, in small letters, by the tokens of recording and track.
    kept_h : list of float
        Age at which the camera deletes the data of each recording, h; infinite where it does not.
    clock : Timestamp or None
        What the camera's clock showed when it answered.
    is_empty : bool
        Whether the camera says that there are no recordings.
    have_ended : set of bool
        Of each answer to a search of the history whether that search had ended; the last one of a search should say so.
    """

    spans: list[tuple[pd.Timestamp, pd.Timestamp]] = field(default_factory=list)
    summary: tuple[pd.Timestamp, pd.Timestamp] | None = None
    changes: list[StateChange] = field(default_factory=list)
    tracks: dict[tuple[str, str], str] = field(default_factory=dict)
    kept_h: list[float] = field(default_factory=list)
    clock: pd.Timestamp | None = None
    is_empty: bool = False
    have_ended: set[bool] = field(default_factory=set)

    def take(self, other: "Recordings") -> None:
        """Add what another file says."""
        self.spans += other.spans
        self.summary = other.summary or self.summary
        self.changes += other.changes
        self.tracks |= other.tracks
        self.kept_h += other.kept_h
        self.clock = self.clock if other.clock is None else other.clock
        self.is_empty |= other.is_empty
        self.have_ended |= other.have_ended

    @property
    def of_video(self) -> list[StateChange]:
        """The history without tracks of sound and metadata: by the type that is told of a track, else by its token."""
        return [change for change in self.changes if self._is_video(*change.of)]

    def _is_video(self, recording: str, track: str) -> bool:
        kind = self.tracks.get((recording, track))
        return not track.upper().startswith(OTHER_TRACKS) if kind is None else kind == VIDEO


def read_recordings(content: bytes, reading: Reading, into: Recordings) -> bool:
    """Read one answer about recordings.

    Parameters
    ----------
    content : bytes
        The answer, in a SOAP envelope or bare.
    reading : Reading
        Takes every fault, and what the reader should know.
    into : Recordings
        What the file says.

    Returns
    -------
    bool
        Whether it holds the settings of an encoder, which are read elsewhere.

    Raises
    ------
    InputError
        When it is no well-formed XML, a fault, or none of ``ANSWERS``.

    References
    ----------
    ONVIF Recording Search Specification, 22.06: RecordingInformation and TrackInformation structures,
    GetRecordingSummary, GetRecordingInformation, GetRecordingSearchResults, GetEventSearchResults, Recording Event
    Descriptions (all read). ONVIF Recording Control Service Specification, 26.06, RecordingConfiguration:
    MaximumRetentionTime, 0 for no limit (read). GetSystemDateAndTime: schema onvif.xsd, SystemDateTime (as quoted in
    bindings).
    """
    responses = onvif_responses(content, reading.name, _ASK_AGAIN)
    kinds = [service_and_name(response) for response in responses]
    if not any(kind in ANSWERS for kind in kinds):
        there = ", ".join(shown(local) for _, local in kinds[:NAMED]) or "an empty body"
        allowed = f"one of {', '.join(dict.fromkeys(local for _, local in ANSWERS))}"
        raise refuse(reading.name, f"no answer about recordings in {there}", allowed, _ASK_AGAIN)
    for kind, response in zip(kinds, responses, strict=True):
        if kind == SUMMARY:
            for summary in response.findall(f"{{{SEARCH}}}Summary"):
                _read_summary(summary, reading, into)
        elif kind == INFORMATION:
            for recording in response.findall(f"{{{SEARCH}}}RecordingInformation"):
                _read_recording(recording, reading, into)
        elif kind in (SEARCHED, EVENTS):
            for found in response.findall(f"{{{SEARCH}}}ResultList"):
                has_ended = _text(found, "SearchState") in ("", "Completed")
                if kind == EVENTS:
                    into.have_ended.add(has_ended)
                if not has_ended:
                    reading.note("the search had not ended when it was saved: ask until SearchState is Completed")
                for recording in found.findall(f"{{{SCHEMA}}}RecordingInformation"):
                    _read_recording(recording, reading, into)
                for n, result in enumerate(found.findall(f"{{{SCHEMA}}}Result"), 1):
                    _read_event(n, result, reading, into)
        elif kind in CONFIGURATIONS:
            for configuration in response.findall(CONFIGURATIONS[kind]):
                _read_kept(configuration, reading, into)
        elif kind == CLOCK:
            for clock in response.findall(f"{{{DEVICE}}}SystemDateAndTime"):
                into.clock = _read_clock(clock, reading)
    return any(kind in ENCODERS for kind in kinds)


def _read_summary(summary: Element, reading: Reading, into: Recordings) -> None:
    if _text(summary, "NumberRecordings") == "0":  # the times can then be ignored, by the specification
        into.is_empty = True
        return
    into.summary = _span(summary, "Summary", ("DataFrom", "DataUntil"), reading)


def _read_recording(recording: Element, reading: Reading, into: Recordings) -> None:
    tracks = recording.findall(f"{{{SCHEMA}}}Track")
    token = _text(recording, "RecordingToken")
    into.tracks |= {(token, _text(track, "TrackToken")): _text(track, "TrackType").lower() for track in tracks}
    video = [track for track in tracks if _text(track, "TrackType").lower() == VIDEO]
    spans = [_span(track, "Track", ("DataFrom", "DataTo"), reading) for track in video]
    if not tracks and _text(recording, "EarliestRecording"):
        spans = [_span(recording, "RecordingInformation", ("EarliestRecording", "LatestRecording"), reading)]
    into.spans += [span for span in spans if span is not None]


def _read_event(n: int, result: Element, reading: Reading, into: Recordings) -> None:
    event = result.find(f"{{{SCHEMA}}}Event")
    topic = "" if event is None else (event.findtext(f"{{{NOTIFICATION}}}Topic") or "").strip().rpartition(":")[2]
    if event is None or topic not in STATES:
        return
    where = f"Result[{n}]"
    items = event.iterfind(f".//{{{SCHEMA}}}Data/{{{SCHEMA}}}SimpleItem")
    values = [item.get("Value", "") for item in items if item.get("Name") == STATES[topic]]
    state = _TRUTH.get(values[0].strip().lower()) if values else None
    if state is None:
        found = shown(values[0]) if values else "nothing"
        reading.faults.append(Fault(f"{reading.name}, {where}/{STATES[topic]}", found, "true or false", _SAVE))
    time = _time(result, "Time", where, reading)
    if time is not None and state is not None:
        of = _text(result, "RecordingToken"), _text(result, "TrackToken")
        is_start = _TRUTH.get(_text(result, "StartStateEvent").lower(), False)
        into.changes.append(StateChange(topic, of, time, state, is_start))


def _read_kept(configuration: Element, reading: Reading, into: Recordings) -> None:
    """Read the age at which data of a recording are deleted."""
    text = _text(configuration, "MaximumRetentionTime")
    parts = _DURATION.fullmatch(text)
    if parts is None:
        found, where = shown(text) if text else "nothing", f"{reading.name}, MaximumRetentionTime"
        reading.faults.append(Fault(where, found, "a duration as P14D, or PT0S for no limit", _SAVE))
        return
    hours = sum(float(part or 0) * of for part, of in zip(parts.groups(), _H_OF_PARTS, strict=True))
    into.kept_h.append(hours or math.inf)


def _read_clock(clock: Element, reading: Reading) -> pd.Timestamp | None:
    """Read the UTC that the camera shows; None where it does not tell it."""
    utc = clock.find(f"{{{SCHEMA}}}UTCDateTime")
    if utc is None:
        reading.note("the answer about the clock has no UTCDateTime, and is not used")
        return None
    parts = [_text(utc, f"Date/{name}") for name in ("Year", "Month", "Day")]
    parts += [_text(utc, f"Time/{name}") for name in ("Hour", "Minute", "Second")]
    year, month, day, hour, minute, second = (part.zfill(2) for part in parts)
    return _moment(f"{year}-{month}-{day}T{hour}:{minute}:{second}Z", "UTCDateTime", reading)


def _span(
    element: Element, where: str, names: tuple[str, str], reading: Reading
) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    first, last = (_time(element, name, where, reading) for name in names)
    if first is None or last is None:
        return None
    if last < first:
        found = f"{names[1]} before {names[0]}, {last:%Y-%m-%d %H:%M} before {first:%Y-%m-%d %H:%M} UTC"
        allowed = "the oldest data before the newest"
        reading.faults.append(Fault(f"{reading.name}, {where}", found, allowed, _CLOCK_OR_SAVE))
        return None
    return first, last


def _time(element: Element, name: str, where: str, reading: Reading) -> pd.Timestamp | None:
    return _moment(_text(element, name), f"{where}/{name}", reading)


def _moment(text: str, where: str, reading: Reading) -> pd.Timestamp | None:
    """Read a time; the specification has all in UTC, with Z."""
    where = f"{reading.name}, {where}"
    try:
        time = datetime.fromisoformat(text if _TIME.fullmatch(text) else "")
    except ValueError:
        found = shown(text) if text else "nothing"
        reading.faults.append(Fault(where, found, "a time as 2026-11-20T08:00:00Z", _SAVE))
        return None
    if time.tzinfo is None:
        reading.note("a time without Z is read as UTC")
        time = time.replace(tzinfo=UTC)
    if not FIRST_MOMENT <= time < LAST_MOMENT:
        reading.faults.append(Fault(where, shown(text), YEARS, _SET_CLOCK))
        return None
    return pd.Timestamp(time).tz_convert("UTC")


def _text(element: Element, path: str) -> str:
    """Give the text at a path of the schema's elements; empty when it is not there."""
    below = "/".join(f"{{{SCHEMA}}}{step}" for step in path.split("/"))
    return (element.findtext(below) or "").strip()
