"""Answers of cameras about their recordings as ONVIF has them. Run as a program it writes those of the demo."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

NAMESPACES = (
    'xmlns:s="http://www.w3.org/2003/05/soap-envelope" xmlns:tse="http://www.onvif.org/ver10/search/wsdl"'
    ' xmlns:trc="http://www.onvif.org/ver10/recording/wsdl"'
    ' xmlns:tds="http://www.onvif.org/ver10/device/wsdl" xmlns:tt="http://www.onvif.org/ver10/schema"'
    ' xmlns:wsnt="http://docs.oasis-open.org/wsn/b-2" xmlns:tns1="http://www.onvif.org/ver10/topics"'
)
SAVED = datetime(2026, 11, 20, 9, 30, tzinfo=UTC)


def soap(*bodies):
    """Wrap answers in an envelope."""
    body = f"<s:Envelope {NAMESPACES}><s:Body>\n{''.join(bodies)}</s:Body></s:Envelope>"
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'


def iso(time):
    """Write a time in UTC, with Z."""
    return time.strftime("%Y-%m-%dT%H:%M:%SZ")


def summary(first, last, recordings=1):
    """GetRecordingSummaryResponse."""
    return (
        f"<tse:GetRecordingSummaryResponse><tse:Summary><tt:DataFrom>{iso(first)}</tt:DataFrom>"
        f"<tt:DataUntil>{iso(last)}</tt:DataUntil><tt:NumberRecordings>{recordings}</tt:NumberRecordings>"
        "</tse:Summary></tse:GetRecordingSummaryResponse>\n"
    )


def information(*tracks):
    """GetRecordingInformationResponse with tracks: type, first, last."""
    told = "".join(
        f"<tt:Track><tt:TrackToken>{kind.upper()}001</tt:TrackToken><tt:TrackType>{kind}</tt:TrackType><tt:Description/>"
        f"<tt:DataFrom>{iso(first)}</tt:DataFrom><tt:DataTo>{iso(last)}</tt:DataTo></tt:Track>"
        for kind, first, last in tracks
    )
    return (
        "<tse:GetRecordingInformationResponse><tse:RecordingInformation><tt:RecordingToken>card</tt:RecordingToken>"
        "<tt:Source><tt:SourceId>urn:invented</tt:SourceId><tt:Name/><tt:Location/><tt:Description/><tt:Address/></tt:Source>"
        f"<tt:Content/>{told}<tt:RecordingStatus>Recording</tt:RecordingStatus>"
        "</tse:RecordingInformation></tse:GetRecordingInformationResponse>\n"
    )


def history(*changes, topic="Track", state="Completed", token="VIDEO001"):
    """GetEventSearchResultsResponse with changes of state: time, whether there is data, whether it is the start."""
    item = {"Track": "IsDataPresent", "Recording": "IsRecording"}[topic]
    told = "".join(
        f"<tt:Result><tt:RecordingToken>card</tt:RecordingToken><tt:TrackToken>{token}</tt:TrackToken>"
        f"<tt:Time>{iso(time)}</tt:Time><tt:Event><wsnt:Topic"
        ' Dialect="http://www.onvif.org/ver10/tev/topicExpression/ConcreteSet">'
        f"tns1:RecordingHistory/{topic}/State</wsnt:Topic><wsnt:Message>"
        f'<tt:Message UtcTime="{iso(time)}" PropertyOperation="{"Initialized" if start else "Changed"}">'
        '<tt:Source><tt:SimpleItem Name="RecordingToken" Value="card"/></tt:Source>'
        f'<tt:Data><tt:SimpleItem Name="{item}" Value="{str(is_there).lower()}"/></tt:Data></tt:Message></wsnt:Message>'
        f"</tt:Event><tt:StartStateEvent>{str(start).lower()}</tt:StartStateEvent></tt:Result>\n"
        for time, is_there, start in changes
    )
    return (
        f"<tse:GetEventSearchResultsResponse><tse:ResultList><tt:SearchState>{state}</tt:SearchState>\n{told}"
        "</tse:ResultList></tse:GetEventSearchResultsResponse>\n"
    )


def configuration(kept, content=""):
    """GetRecordingConfigurationResponse with a MaximumRetentionTime."""
    return (
        "<trc:GetRecordingConfigurationResponse><trc:RecordingConfiguration><tt:Source/>"
        f"<tt:Content>{content}</tt:Content><tt:MaximumRetentionTime>{kept}</tt:MaximumRetentionTime>"
        "</trc:RecordingConfiguration></trc:GetRecordingConfigurationResponse>\n"
    )


def recordings(*kept):
    """GetRecordingsResponse: a recording for each MaximumRetentionTime."""
    told = "".join(
        "<trc:RecordingItem><tt:RecordingToken>card</tt:RecordingToken><tt:Configuration><tt:Source/><tt:Content/>"
        f"<tt:MaximumRetentionTime>{of}</tt:MaximumRetentionTime></tt:Configuration><tt:Tracks/></trc:RecordingItem>"
        for of in kept
    )
    return f"<trc:GetRecordingsResponse>{told}</trc:GetRecordingsResponse>\n"


def clock(now):
    """GetSystemDateAndTimeResponse."""
    return (
        "<tds:GetSystemDateAndTimeResponse><tds:SystemDateAndTime><tt:DateTimeType>NTP</tt:DateTimeType>"
        "<tt:DaylightSavings>false</tt:DaylightSavings><tt:UTCDateTime>"
        f"<tt:Time><tt:Hour>{now.hour}</tt:Hour><tt:Minute>{now.minute}</tt:Minute><tt:Second>{now.second}</tt:Second></tt:Time>"
        f"<tt:Date><tt:Year>{now.year}</tt:Year><tt:Month>{now.month}</tt:Month><tt:Day>{now.day}</tt:Day></tt:Date>"
        "</tt:UTCDateTime></tds:SystemDateAndTime></tds:GetSystemDateAndTimeResponse>\n"
    )


def demo():
    """Give the demo's answers by file below the folder of the day: invented, some as planned and some not."""

    def back(hours):
        return SAVED - timedelta(hours=hours)

    nights = [
        (SAVED.replace(hour=hour, minute=minute) - timedelta(days=days), is_there, False)
        for days in (5, 4, 3, 2, 1, 0)
        for hour, minute, is_there in ((0, 5, False), (5, 50, True))
    ]
    crowds = [
        (SAVED.replace(hour=hour, minute=0) - timedelta(days=days), is_there, False)
        for days in (7, 6, 5, 4, 3, 2, 1)
        for hour, is_there in ((4, True), (9, False), (9 + 1, True), (21, False))
    ]
    whole = {
        "Lane 1 booth": 56.2,
        "Lane 2 booth": 41,
        "Lane 5 height gauge": 88,
        "Marshalling yard": 33,
        "Quay north": 61,
        "Quay south": 71.5,
        "Ticket hall": 98,
        "Fuel store": 149,
    }
    files = {f"{camera}.xml": soap(summary(back(hours), SAVED)) for camera, hours in whole.items()}
    files["Quay south.xml"] = soap(information(("Audio", back(72), SAVED), ("Video", back(71.5), SAVED)))
    files["Ramp foot/summary.xml"] = soap(summary(back(130), SAVED))
    files["Ramp foot/history.xml"] = soap(history(*nights))
    files["Gangway/summary.xml"] = soap(summary(back(172), SAVED - timedelta(hours=12.5)))
    files["Gangway/history.xml"] = soap(history(*crowds))
    files["Gangway/clock.xml"] = soap(clock(SAVED))
    files["Waiting room/summary.xml"] = soap(summary(back(335.5), SAVED))
    files["Waiting room/configuration.xml"] = soap(configuration("P14D"))
    files["Staff gate.xml"] = soap(summary(back(3900), back(5)))
    files["Pay station.xml"] = soap(summary(datetime(2025, 2, 18, 13, tzinfo=UTC), back(2)))
    last = datetime(2026, 11, 2, 3, 12, tzinfo=UTC)
    files["Mast top/summary.xml"] = soap(summary(last - timedelta(hours=4.6), last))
    files["Mast top/clock.xml"] = soap(clock(SAVED))
    return files


def write(folder, files):
    """Write answers below a folder."""
    for name, text in files.items():
        path = Path(folder) / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write(Path(__file__).parents[2] / "data" / "ferry_terminal" / "answers" / "2026-11-20", demo())
