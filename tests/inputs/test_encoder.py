"""An encoder's configuration is read from what open standards write, and nothing in a file is trusted.

Element names, units and the meaning of 0 are those of the public ONVIF schema (onvif.xsd: VideoEncoderConfiguration,
VideoRateControl, VideoEncoder2Configuration, VideoRateControl2). The samples are invented; the arithmetic is beside.
"""

import re
from contextlib import suppress
from pathlib import Path
from xml.sax.saxutils import escape

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.checks import InputError
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.encoder import MAX_FILE_BYTES, read_encoder

SAMPLES = Path(__file__).parent / "encoder"
GOOD = {name: (SAMPLES / name).read_bytes() for name in ("media.xml", "media2.xml", "session.sdp")}
NONE = float("nan")
COLUMNS = [
    *("camera", "encoding", "width_px", "height_px"),
    *("frame_rate_fps", "key_frame_interval_s", "cap_mbit_s", "mean_mbit_s"),
]


def rows(*records: tuple[object, ...]) -> pd.DataFrame:
    return pd.DataFrame(records, columns=COLUMNS)


def same(read: pd.DataFrame, expected: pd.DataFrame) -> None:
    pd.testing.assert_frame_equal(read, expected, check_dtype=False, check_exact=False, rtol=1e-12)


def sample(name: str, old: str = "", new: str = "") -> bytes:
    """Give a good sample in which one thing, that stands there, is changed."""
    text = GOOD[name].decode()
    assert old in text
    return text.replace(old, new, 1).encode()


def media(configuration: str, response: str = "GetVideoEncoderConfigurationResponse") -> bytes:
    child = "Configurations" if "Configurations" in response else "Configuration"
    return (
        f'<m:{response} xmlns:m="http://www.onvif.org/ver10/media/wsdl" xmlns:t="http://www.onvif.org/ver10/schema">'
        f'<m:{child} token="only">{configuration}</m:{child}></m:{response}>'
    ).encode()


def test_media_divides_the_frame_rate_by_the_encoding_interval():
    # 25 frames/s, every 2nd encoded: 12.5; 50 frames at 12.5 a second: 4 s; JPEG has key frames alone: 1 / 5 s.
    same(
        read_encoder(SAMPLES / "media.xml").rows,
        rows(
            ("Quay north", "H264", 1920, 1080, 12.5, 4.0, 4.096, NONE),
            ("enc-2", "JPEG", 640, 360, 5.0, 0.2, 1.5, NONE),
        ),
    )


def test_media2_gives_a_mean_only_where_one_is_set():
    # 60 / 15 = 4 s; 50 / 12.5 = 4 s; 25 / 25 = 1 s. An average of 0 is ignored; one above 0 goes before constant.
    same(
        read_encoder(SAMPLES / "media2.xml").rows,
        rows(
            ("Capped", "H265", 2560, 1440, 15.0, 4.0, 6.0, NONE),
            ("Constant", "H264", 1280, 720, 12.5, 4.0, 2.0, 2.0),
            ("Average", "H264", 1280, 720, 25.0, 1.0, 4.0, 1.5),
        ),
    )


def test_a_session_description_gives_the_cap_and_the_frame_rate():
    # TIAS 4 096 000 bit/s is 4.096 Mbit/s; AS 1500 kbit/s; format 26 is JPEG (RFC 3551), a key frame every 1 / 5 s.
    same(
        read_encoder(SAMPLES / "session.sdp").rows,
        rows(
            ("Ramp", "H264", NONE, NONE, 12.5, NONE, 4.096, NONE),
            ("Yard", "JPEG", NONE, NONE, 5.0, 0.2, 1.5, NONE),
        ),
    )


@pytest.mark.parametrize(
    ("connection", "as_kbit_s"),
    # RFC 3890: AS = (TIAS + maxprate x 320) / 1000 = (4 096 000 + 480 x 320) / 1000 = 4249.6; with the 20 bytes more
    # of an IPv6 header, 480 bits a packet, (4 096 000 + 480 x 480) / 1000 = 4326.4.
    [("IP4 0.0.0.0", "4249.6"), ("IP6 ::", "4326.4")],
)
def test_packet_headers_are_taken_off_as(connection, as_kbit_s):
    text = f"v=0\nc=IN {connection}\nm=video 0 RTP/AVP 96\nb=AS:{as_kbit_s}\na=maxprate:480.0\n"
    table = read_encoder(text.encode())
    assert table.rows["cap_mbit_s"].tolist() == pytest.approx([4.096], rel=1e-12)
    assert not any("includes packet headers" in note for note in table.notes)


def test_the_bandwidth_of_the_session_stands_in_and_is_told():
    table = read_encoder(b"v=0\r\nb=AS:2500\r\nm=video 0 RTP/AVP 96\r\nm=audio 0 RTP/AVP 0\r\n")
    assert table.rows["cap_mbit_s"].tolist() == [2.5]
    assert any("b= of the session" in note for note in table.notes)


def test_the_bandwidth_of_a_stream_goes_before_that_of_the_session():
    table = read_encoder(b"v=0\nb=TIAS:9000000\na=maxprate:480\nm=video 0 RTP/AVP 96\nb=AS:1500\n")
    assert table.rows["cap_mbit_s"].tolist() == [1.5]


def test_a_session_without_a_name_gives_the_number_of_the_stream():
    assert read_encoder(b"v=0\ns=-\nm=video 0 RTP/AVP 96\n").rows["camera"].tolist() == ["video 1"]


def test_a_long_note_names_the_first_streams():
    table = read_encoder(b"v=0\n" + b"m=video 0 RTP/AVP 26\n" * 7)
    assert any(note.endswith("'video 4', 'video 5' and 2 more") for note in table.notes)


def test_blank_lines_before_an_answer_are_passed_over():
    same(read_encoder(b"\r\n " + GOOD["media.xml"]).rows, read_encoder(GOOD["media.xml"]).rows)


def test_the_picture_size_is_taken_from_fmtp_of_the_first_format():
    lines = "m=video 0 RTP/AVP 112 96\na=fmtp:96 width=1; height=1\na=fmtp:112 sampling=YCbCr; width=1280; height=720"
    read = read_encoder(f"v=0\n{lines}\n".encode()).rows
    assert read[["width_px", "height_px"]].to_numpy().tolist() == [[1280, 720]]


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        (GOOD["media.xml"], "BitrateLimit is a cap, not a mean"),
        (GOOD["media.xml"], "a row is one stream"),
        (GOOD["media2.xml"], "not a measurement"),
        (GOOD["session.sdp"], "b= is a cap, not a mean"),
        (GOOD["session.sdp"], "b=AS includes packet headers"),
        (GOOD["session.sdp"], "width_px is not stated for 'Ramp', 'Yard'"),
        (sample("session.sdp", "AS:4250", "AS:4000"), "one of them is wrong"),
        (media("<t:Name>Bare</t:Name>"), "cap_mbit_s is not stated for 'Bare'"),
        (media("<t:Name>Bare</t:Name>"), "EncodingInterval is not stated"),
    ],
)
def test_the_reader_is_told(sent, told):
    assert [note for note in read_encoder(sent).notes if told in note]


def test_notes_on_caps_stand_apart_too():
    table = read_encoder(sample("session.sdp", "AS:1500", "AS:0"))
    assert set(table.cap_notes) < set(table.notes)
    assert [note.split(": ")[1] for note in table.cap_notes] == ["line 18, b=AS"]
    assert read_encoder(GOOD["media.xml"]).cap_notes == ()


def test_what_is_not_stated_stays_empty():
    same(read_encoder(media("")).rows, rows(("only", "", NONE, NONE, NONE, NONE, NONE, NONE)))


def test_an_average_above_the_limit_is_held_by_it():
    # onvif.xsd, AverageBitRate: beyond BitrateLimit the device adapts to BitrateLimit.
    read = read_encoder(sample("media2.xml", ">1500<", ">9000<")).rows
    assert read["mean_mbit_s"].tolist()[2] == 4.0


@pytest.mark.parametrize(
    ("sent", "caps", "place"),
    [
        (sample("media.xml", ">4096<", ">0<"), [NONE, 1.5], r"Configurations\[1\]/RateControl/BitrateLimit"),
        (sample("media2.xml", ">2000<", ">0<"), [6, NONE, 4], r"Configurations\[2\]/RateControl/BitrateLimit"),
        (sample("session.sdp", "AS:1500", "AS:0"), [4.096, NONE], "line 18, b=AS"),
        # 0 as TIAS says nothing: AS less the headers, 4250 - 480 x 320 / 1000 = 4096.4 kbit/s
        (sample("session.sdp", "TIAS:4096000", "TIAS:0"), [4.0964, 1.5], "line 8, b=TIAS"),
    ],
)
def test_a_cap_of_0_is_not_set_and_that_is_told(sent, caps, place):
    table = read_encoder(sent)
    assert table.rows["cap_mbit_s"].tolist() == pytest.approx(caps, nan_ok=True)
    assert any(re.search(f"{place}: 0 is taken as a cap that is not set", note) for note in table.notes)


def test_a_constant_rate_without_a_cap_gives_no_mean():
    read = read_encoder(sample("media2.xml", ">2000<", ">0<")).rows
    assert read["mean_mbit_s"].isna().tolist() == [True, True, False]


CONTROL = (
    "<t:Encoding>H264</t:Encoding><t:RateControl><t:FrameRateLimit>10</t:FrameRateLimit>"
    "<t:BitrateLimit>{cap}</t:BitrateLimit></t:RateControl>"
)


def profiles(*encoders: tuple[str, int], version: str = "ver10") -> bytes:
    """Write an answer to GetProfiles: for each profile the token and the cap of its encoder, '' for none."""
    opens, closes = "<t:VideoEncoderConfiguration token='{}'>", "</t:VideoEncoderConfiguration>"
    if version == "ver20":
        opens, closes = "<m:Configurations><m:VideoEncoder token='{}'>", "</m:VideoEncoder></m:Configurations>"
    bodies = (opens.format(t) + CONTROL.format(cap=cap) + closes if t else "" for t, cap in encoders)
    texts = (f"<m:Profiles token='p{n}'>{body}</m:Profiles>" for n, body in enumerate(bodies))
    return (
        f'<m:GetProfilesResponse xmlns:m="http://www.onvif.org/{version}/media/wsdl"'
        f' xmlns:t="http://www.onvif.org/ver10/schema">{"".join(texts)}</m:GetProfilesResponse>'
    ).encode()


@pytest.mark.parametrize("version", ["ver10", "ver20"])
def test_the_encoders_of_profiles_are_read_each_once(version):
    # Element names: media.wsdl of both versions, onvif.xsd (Profile). The second profile has no encoder.
    table = read_encoder(profiles(("a", 4000), ("", 0), ("b", 1000), ("a", 4000), version=version))
    assert table.rows[["camera", "cap_mbit_s"]].to_numpy().tolist() == [["a", 4.0], ["b", 1.0]]
    assert any("profiles share the encoder 'a': its stream is counted once" in note for note in table.notes)


def test_a_fault_in_a_profile_is_told_with_the_number_of_the_profile():
    with pytest.raises(InputError, match=r"GetProfilesResponse/Profiles\[3\]/RateControl/BitrateLimit: is '-1'"):
        read_encoder(profiles(("a", 4000), ("", 0), ("b", -1)))


def test_profiles_without_an_encoder_are_refused():
    with pytest.raises(InputError, match=r"no configuration in .*GetProfilesResponse"):
        read_encoder(profiles(("", 0)))


def test_mpeg4_has_its_own_group_length():
    # 30 frames at 15 a second: 2 s.
    control = "<t:RateControl><t:FrameRateLimit>15</t:FrameRateLimit></t:RateControl>"
    groups = "<t:MPEG4><t:GovLength>30</t:GovLength></t:MPEG4><t:H264><t:GovLength>0</t:GovLength></t:H264>"
    read = read_encoder(media(f"<t:Encoding>MPEG4</t:Encoding>{control}{groups}")).rows
    assert read["key_frame_interval_s"].tolist() == [2.0]


def test_streams_of_one_name_are_told_apart_by_their_tokens():
    read = read_encoder(sample("media.xml", "<tt:Name/>", "<tt:Name>Quay\n north</tt:Name>")).rows
    assert read["camera"].tolist() == ["Quay north (enc-1)", "Quay north (enc-2)"]


def test_the_older_soap_and_other_prefixes_are_read_alike():
    text = GOOD["media.xml"].decode().replace("http://www.w3.org/2003/05/soap-envelope", "")
    text = text.replace('xmlns:s=""', 'xmlns:s="http://schemas.xmlsoap.org/soap/envelope/"').replace("tt:", "q:")
    same(read_encoder(text.replace("xmlns:tt", "xmlns:q").encode()).rows, read_encoder(GOOD["media.xml"]).rows)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_a_byte_order_mark_is_read(encoding):
    text = GOOD["media2.xml"].decode().replace(' encoding="UTF-8"', "")
    same(read_encoder(text.encode(encoding)).rows, read_encoder(GOOD["media2.xml"]).rows)


def test_a_byte_order_mark_before_a_session_is_read():
    same(read_encoder(b"\xef\xbb\xbf" + GOOD["session.sdp"]).rows, read_encoder(GOOD["session.sdp"]).rows)


def test_the_rows_go_into_a_camera_list():
    read = read_encoder(GOOD["media2.xml"]).rows
    again = read_cameras(read.to_csv(index=False).encode()).rows
    pd.testing.assert_frame_equal(again[["mean_mbit_s", "cap_mbit_s"]], read[["mean_mbit_s", "cap_mbit_s"]])


GOP_AT = r"Configurations\[1\]/H264/GovLength"
LAUGHS = b"""<!DOCTYPE l [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]>
<l>&c;</l>"""
OUTSIDE = b'<!DOCTYPE l [<!ENTITY a SYSTEM "file:///etc/hostname">]><l>&a;</l>'
PARAMETER = b'<!DOCTYPE l [<!ENTITY % a SYSTEM "http://example.invalid/a"> %a;]><l/>'
FAULTS = {
    "a group of 0": (sample("media.xml", ">50<", ">0<"), rf"{GOP_AT}: is '0'; must be 1 or more .* frames"),
    "a broken group": (sample("media.xml", ">50<", ">2.5<"), rf"{GOP_AT}: found '2.5'; allowed: a whole number"),
    "an endless group": (sample("media.xml", ">50<", ">2147483647<"), rf"{GOP_AT}: .*at most 36000"),
    "an interval of 0": (sample("media.xml", ">2<", ">0<"), r"RateControl/EncodingInterval: is '0'"),
    "a cap below 1": (sample("media.xml", ">4096<", ">0.5<"), r"RateControl/BitrateLimit: is '0.5'; must be 1 or"),
    "a negative cap": (sample("media.xml", ">4096<", ">-1<"), r"BitrateLimit: is '-1'"),
    "a cap in bit/s": (sample("media.xml", ">4096<", ">4096000<"), r"is '4096000'.*kbit/s\. Fix: Both standards count"),
    "text for a number": (sample("media.xml", ">4096<", ">high<"), r"BitrateLimit: is 'high'"),
    "a number with an underscore": (sample("media.xml", ">4096<", ">4_096<"), r"BitrateLimit: is '4_096'"),
    "no number": (sample("media.xml", ">4096<", "><"), r"BitrateLimit: is nothing"),
    "not a number": (sample("media2.xml", ">15.0<", ">NaN<"), r"RateControl/FrameRateLimit: is 'NaN'"),
    "a frame rate of 0": (sample("media2.xml", ">15.0<", ">0<"), r"FrameRateLimit: is '0'"),
    "an absurd frame rate": (sample("media2.xml", ">15.0<", ">25000<"), r"FrameRateLimit: .* at most 240 frames/s"),
    "a negative average": (sample("media2.xml", ">1500<", ">-5<"), r"Configurations\[3\]/RateControl/AverageBitRate"),
    "an unclear constant": (sample("media2.xml", '"false"', '"no"'), r"@ConstantBitRate: found 'no'; allowed: true"),
    "a group of 0 in Media2": (sample("media2.xml", '"60"', '"0"'), r"Configurations\[1\]/@GovLength: is '0'"),
    "no width": (sample("media2.xml", ">2560<", ">0<"), r"Resolution/Width: is '0'; must be .* 16384 pixels"),
    "one token twice": (
        sample("media2.xml", "<tt:Name>Constant", "<tt:Name>Capped").replace(b'token="b"', b'token="a"'),
        r"Configurations\[2\]: found 'Capped \(a\)' again",
    ),
    "another response": (
        media("", "GetVideoEncoderConfigurationsReply"),
        r"no configuration in .*Reply.*allowed: a video encoder configuration",
    ),
    "another namespace": (sample("media2.xml", "ver20/media", "ver30/media"), "no configuration in"),
    "an empty response": (b'<r:GetVideoEncoderConfigurationsResponse xmlns:r="urn:r"/>', "no configuration in"),
    "a fault of another language": (b'<Fault xmlns="urn:other"/>', "no configuration in '{urn:other}Fault'"),
    "a fault of the older SOAP": (
        b'<s:Fault xmlns:s="http://schemas.xmlsoap.org/soap/envelope/"><faultstring>Busy</faultstring></s:Fault>',
        "Fault: found Busy; allowed: an answer that is no fault",
    ),
    "an empty body": (
        b'<s:Envelope xmlns:s="http://www.w3.org/2003/05/soap-envelope"><s:Body/></s:Envelope>',
        "no configuration in an empty body",
    ),
    "an encrypted body": (
        b'<s:Envelope xmlns:s="http://www.w3.org/2003/05/soap-envelope"><s:Body>'
        b'<e:EncryptedData xmlns:e="http://www.w3.org/2001/04/xmlenc#"/></s:Body></s:Envelope>',
        "no configuration in .*EncryptedData",
    ),
    "a web page": (b"<html><body>Log in<br></body></html>", "malformed XML .*mismatched tag"),
    "half an answer": (GOOD["media.xml"][:900], "malformed XML"),
    "an unknown encoding": (b'<?xml version="1.0" encoding="x-none"?><a/>', "malformed XML .*encoding"),
    "a multi-byte encoding": (b'<?xml version="1.0" encoding="shift_jis"?><a/>', "malformed XML .*encoding"),
    "billion laughs": (LAUGHS, r"found a document type \(DOCTYPE\)"),
    "an outside entity": (OUTSIDE, r"found a document type \(DOCTYPE\)"),
    "a parameter entity": (PARAMETER, r"found a document type \(DOCTYPE\)"),
    "an outside document type": (b'<!DOCTYPE l SYSTEM "http://example.invalid/l.dtd"><l/>', r"DOCTYPE"),
    "deep nesting": (b"<a>" * 300_000, "nested more than 32 deep"),
    "nothing": (b"", "found nothing in it"),
    "blank lines": (b"\n \n", "found nothing in it"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "found bytes that are not text"),
    "an encrypted file": (bytes(range(128, 256)), "bytes that are not text.*decrypt an encrypted file"),
    "another text": (b"Dear all,\n", "found 'Dear all,'.*starts with v=0"),
    "too large": (b"v=0\n" + b"a=x\n" * (MAX_FILE_BYTES // 4), "found more than 1 MB"),
    "sound alone": (b"v=0\nm=audio 0 RTP/AVP 0\n", r"found 'audio 0 RTP/AVP 0'; allowed: a session with a video"),
    "no medium": (b"v=0\ns=-\n", "found no m= line"),
    "no format": (b"v=0\nm=video 0 RTP/AVP\n", r"line 2, m: found 'video 0 RTP/AVP'"),
    "a line that is none": (sample("session.sdp", "a=framerate:12.5", "framerate"), "line 13: found 'framerate'"),
    "a negative rate in SDP": (sample("session.sdp", "AS:1500", "AS:-1"), r"line 18, b=AS: is '-1'"),
    "AS in bit/s": (sample("session.sdp", "AS:1500", "AS:1500000"), r"b=AS: .*Both standards count kbit/s"),
    "TIAS in kbit/s": (sample("session.sdp", "TIAS:4096000", "TIAS:409"), r"line 8, b=TIAS: .*TIAS counts bit/s"),
    "text for a frame rate": (sample("session.sdp", "rate:12.5", "rate:fast"), r"line 13, a=framerate: is 'fast'"),
    "more headers than rate": (
        b"v=0\nm=video 0 RTP/AVP 96\nb=AS:100\na=maxprate:480\n",  # 480 x 320 bit = 0.1536 Mbit/s
        r"line 4, a=maxprate: found headers of 0\.1536 Mbit/s; allowed: less than b=AS, 0\.1 Mbit/s",
    ),
}


@pytest.mark.parametrize(("sent", "told"), FAULTS.values(), ids=FAULTS)
def test_a_fault_is_told_with_its_place(sent, told):
    with pytest.raises(InputError, match=f"(?s)^encoder file.*{told}"):
        read_encoder(sent)


def test_a_refusal_by_the_camera_is_told_in_its_words():
    with pytest.raises(InputError, match=r"fault\.xml, Fault: found s:Sender: ter:NotAuthorized: Not for this user"):
        read_encoder(SAMPLES / "fault.xml")


def test_all_faults_of_a_file_are_told_together():
    sent = sample("media.xml", ">50<", ">0<").replace(b">4096<", b">much<").replace(b">640<", b">-640<")
    with pytest.raises(InputError) as caught:
        read_encoder(sent)
    places = [fault.where.rpartition("/")[2] for fault in caught.value.faults]
    assert places == ["GovLength", "BitrateLimit", "Width"]


def test_a_fault_of_the_whole_session_is_told_once():
    with pytest.raises(InputError) as caught:
        read_encoder(b"v=0\nb=AS:x\nm=video 0 RTP/AVP 96\nm=video 0 RTP/AVP 96\n")
    assert len(caught.value.faults) == 1


def test_a_file_that_cannot_be_read_is_named(tmp_path):
    with pytest.raises(InputError, match=r"absent\.xml: found no such file"):
        read_encoder(tmp_path / "absent.xml")
    with pytest.raises(InputError, match="found a folder"):
        read_encoder(tmp_path)
    with pytest.raises(InputError, match="embedded null"):
        read_encoder("a\0b")


def test_a_file_too_large_is_refused_by_its_name(tmp_path):
    path = tmp_path / "large.sdp"
    path.write_bytes(b"v=0\n" * MAX_FILE_BYTES)
    with pytest.raises(InputError, match=r"large\.sdp: found more than 1 MB"):
        read_encoder(path)


def answers_or_refuses(sent: bytes) -> None:
    with suppress(InputError):
        table = read_encoder(sent)
        assert list(table.rows.columns) == COLUMNS
        assert len(table.rows)


@given(st.binary(max_size=400), st.sampled_from([b"", b"<", b"v=0\n", b"<?xml", b"\xff\xfe<\0", b"v=0\nm=video "]))
def test_any_bytes_are_read_or_refused(sent, start):
    answers_or_refuses(start + sent)


@given(st.text(max_size=200))
def test_any_lines_after_a_video_are_read_or_refused(text):
    answers_or_refuses(b"v=0\nm=video 0 RTP/AVP 96\n" + text.encode())


@given(st.data(), st.sampled_from(sorted(GOOD)))
def test_any_part_of_a_good_file_is_read_or_refused(data, name):
    good = GOOD[name]
    answers_or_refuses(good[: data.draw(st.integers(0, len(good)))])


@given(st.data(), st.sampled_from(sorted(GOOD)))
def test_any_byte_of_a_good_file_may_be_wrong(data, name):
    changed = bytearray(GOOD[name])
    for at in data.draw(st.lists(st.integers(0, len(changed) - 1), min_size=1, max_size=5)):
        changed[at] = data.draw(st.integers(0, 255))
    answers_or_refuses(bytes(changed))


NAME = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=12)


@given(
    name=NAME,
    width=st.integers(1, 16_384),
    frame_rate=st.integers(1, 240),
    interval=st.integers(1, 240),
    gop=st.integers(1, 36_000),
    cap_kbit_s=st.integers(1, 200_000),
)
def test_a_configuration_that_was_written_reads_back(name, width, frame_rate, interval, gop, cap_kbit_s):
    text = media(
        f"<t:Name>{escape(name)}</t:Name><t:Encoding>H264</t:Encoding>"
        f"<t:Resolution><t:Width>{width}</t:Width><t:Height>1</t:Height></t:Resolution>"
        f"<t:RateControl><t:FrameRateLimit>{frame_rate}</t:FrameRateLimit>"
        f"<t:EncodingInterval>{interval}</t:EncodingInterval><t:BitrateLimit>{cap_kbit_s}</t:BitrateLimit>"
        f"</t:RateControl><t:H264><t:GovLength>{gop}</t:GovLength></t:H264>"
    )
    rate = frame_rate / interval
    same(read_encoder(text).rows, rows((name, "H264", width, 1, rate, gop / rate, cap_kbit_s / 1000, NONE)))


@given(name=NAME.filter(lambda name: name != "-"), tias=st.integers(1000, 200_000_000), frame_rate=st.integers(1, 240))
def test_a_session_that_was_written_reads_back(name, tias, frame_rate):
    lines = ["v=0", f"s={name}", "m=video 0 RTP/AVP 98", f"b=TIAS:{tias}", "a=rtpmap:98 h265/90000"]
    text = "\r\n".join([*lines, f"a=framerate:{frame_rate}", ""])
    expected = rows((name, "H265", NONE, NONE, frame_rate, NONE, tias / 1e6, NONE))
    same(read_encoder(text.encode()).rows, expected)
