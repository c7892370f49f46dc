"""Saved answers of cameras about their recordings: read as ONVIF has them, and refused with all faults when wrong."""

from datetime import UTC, date, datetime, timedelta

import pandas as pd
import pytest
from onvif_answers import SAVED, clock, history, information, soap, summary, write

from edgestore import InputError
from edgestore.inputs.saved_answers import file_name, read_answers

TODAY = date(2026, 11, 21)
DAY = "2026-11-20"


def read(tmp_path, files, cameras=("Gate",)):
    write(tmp_path / "answers", {f"{DAY}/{name}": text for name, text in files.items()})
    return read_answers(tmp_path / "answers", cameras, TODAY)


def at(hours):
    return SAVED - timedelta(hours=hours)


def faults(tmp_path, files, cameras=("Gate",)):
    with pytest.raises(InputError) as raised:
        read(tmp_path, files, cameras)
    return [str(fault) for fault in raised.value.faults]


def test_the_summary_tells_from_when_to_when_there_is_footage(tmp_path):
    # Recording Search Specification 22.06, GetRecordingSummary: DataFrom, DataUntil, NumberRecordings.
    said = read(tmp_path, {"Gate.xml": soap(summary(at(50), SAVED))}).by_camera["Gate"]
    assert said.span == (pd.Timestamp(at(50)), pd.Timestamp(SAVED))
    assert (said.saved, said.spells, said.now) == (date(2026, 11, 20), None, None)


def test_times_of_a_device_without_recordings_are_ignored(tmp_path):
    # The same: "If a device returns NumberRecordings as zero, both DataFrom and DataUntil can be safely ignored."
    text = soap(summary(datetime(1970, 1, 1, tzinfo=UTC), datetime(1970, 1, 1, tzinfo=UTC), recordings=0))
    assert read(tmp_path, {"Gate.xml": text}).by_camera["Gate"].span is None


def test_the_track_of_video_counts_and_not_that_of_audio_nor_the_summary(tmp_path):
    # TrackInformation: DataFrom "of the oldest recorded data in the track", DataTo of the newest.
    tracks = information(("Audio", at(90), SAVED), ("Video", at(60), at(1)), ("Metadata", at(200), SAVED))
    files = {"Gate/a.xml": soap(summary(at(200), SAVED)), "Gate/b.xml": soap(tracks)}
    assert read(tmp_path, files).by_camera["Gate"].span == (pd.Timestamp(at(60)), pd.Timestamp(at(1)))


def test_the_clock_of_the_camera_is_read(tmp_path):
    files = {"Gate/a.xml": soap(summary(at(60), at(1))), "Gate/b.xml": soap(clock(at(0.5)))}
    assert read(tmp_path, files).by_camera["Gate"].now == pd.Timestamp(at(0.5))


def spells(tmp_path, *answers):
    files = {"Gate/a.xml": soap(summary(at(48), SAVED)), "Gate/b.xml": soap(*answers)}
    said = read(tmp_path, files).by_camera["Gate"].spells
    return [tuple((pd.Timestamp(SAVED) - moment) / pd.Timedelta(hours=1) for moment in spell) for spell in said]


def test_before_its_first_change_a_track_was_in_the_opposite_state(tmp_path):
    # 48 h of footage; data end 40 h ago and begin again 30 h ago: recorded from 48 to 40 and from 30 to 0 h ago.
    assert spells(tmp_path, history((at(40), False, False), (at(30), True, False))) == [(48, 40), (30, 0)]


def test_a_start_state_says_what_was_before_it_too(tmp_path):
    # FindEvents with IncludeStartState: a virtual event at the start of the search, here 45 h ago, and no data then.
    assert spells(tmp_path, history((at(45), False, True), (at(30), True, False))) == [(30, 0)]


def test_a_history_that_was_searched_backwards_says_the_same(tmp_path):
    # "Results shall be ordered by time, ascending in case of forward search, or descending in case of backward search."
    assert spells(tmp_path, history((at(30), True, False), (at(40), False, False))) == [(48, 40), (30, 0)]


def test_changes_before_the_oldest_footage_do_not_count(tmp_path):
    assert spells(tmp_path, history((at(90), True, False), (at(20), False, False))) == [(48, 20)]


def test_tracks_that_overlap_are_one_stretch(tmp_path):
    one = history((at(40), True, False), (at(20), False, False))
    other = history((at(25), True, False), (at(10), False, False), token="VIDEO002")
    assert spells(tmp_path, one, other) == [(40, 10)]


def test_the_state_of_tracks_is_closer_than_that_of_recordings(tmp_path):
    # IsRecording is sent when a client starts or stops recording, IsDataPresent when data become present.
    recording = history((at(48), True, True), topic="Recording", token="")
    assert spells(tmp_path, recording, history((at(12), True, False))) == [(12, 0)]


def test_a_search_that_had_not_ended_is_noted(tmp_path):
    text = soap(history((at(10), True, False), state="Searching"))
    notes = read(tmp_path, {"Gate/a.xml": soap(summary(at(48), SAVED)), "Gate/b.xml": text}).notes
    assert any("ask until SearchState is Completed" in note for note in notes)


def test_the_last_day_counts_and_names_that_no_file_system_takes_are_found(tmp_path):
    write(tmp_path / "answers", {"2026-10-01/Yard_Gate.xml": soap(summary(at(2000), at(1200)))})
    said = read(tmp_path, {"Yard_Gate.xml": soap(summary(at(9), SAVED))}, ["Yard/Gate"]).by_camera["Yard/Gate"]
    assert (said.saved.month, said.span[0]) == (11, pd.Timestamp(at(9)))
    assert file_name('A:B?"C') == "A_B__C"


def test_a_camera_that_the_list_does_not_have_is_noted(tmp_path):
    said = read(tmp_path, {"Gaet.xml": soap(summary(at(9), SAVED))})
    assert said.by_camera == {}
    assert "2026-11-20: the camera list has no 'Gaet'; its answers are not used" in said.notes


def test_all_faults_of_all_cameras_are_told_at_once(tmp_path):
    bad = soap(summary(at(9), SAVED)).replace("<tt:DataFrom>2026", "<tt:DataFrom>soon")
    odd = soap(history((at(9), True, False))).replace('Value="true"', 'Value="perhaps"')
    files = {
        "Gate/a.xml": bad.replace("<tt:DataUntil>2026", "<tt:DataUntil>1970"),
        "Gate/b.xml": odd,
        "Quay.xml": soap(summary(SAVED, at(9))),
        "Pier.xml": soap(clock(SAVED)),
    }
    told = faults(tmp_path, files, ("Gate", "Quay", "Pier"))
    for words in (
        "a.xml, Summary/DataFrom: found 'soon",
        "a.xml, Summary/DataUntil: found '1970-11-20T09:30:00Z'; allowed: 2000 to 2099",
        "b.xml, Result[1]/IsDataPresent: found 'perhaps'; allowed: true or false",
        "Quay.xml, Summary: found DataUntil before DataFrom",
        "Pier: found no answer that tells from when the footage is",
    ):
        assert any(words in fault for fault in told), words
    assert len(told) == 5


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>", "a document type (DOCTYPE) or entity"),
        ("<a>", "malformed XML"),
        ("<a/>", "no answer about recordings in 'a'"),
        ("<a>" * 40 + "</a>" * 40, "nested more than 32 deep"),
        (
            soap("<s:Fault><s:Reason><s:Text>Sender not authorized</s:Text></s:Reason></s:Fault>"),
            "Sender not authorized",
        ),
    ],
)
def test_a_file_that_nobody_has_vouched_for_is_refused(tmp_path, text, told):
    assert any(told in fault for fault in faults(tmp_path, {"Gate.xml": text}))


def test_folders_and_files_that_are_none_of_this_are_refused(tmp_path):
    write(tmp_path / "answers", {"2026-11-30/Gate.xml": "", "lately/Gate.xml": "", "2026-11-20/Gate.txt": ""})
    with pytest.raises(InputError) as raised:
        read_answers(tmp_path / "answers", ["Gate"], TODAY)
    told = "\n".join(map(str, raised.value.faults))
    assert "found 2026-11-30; allowed: 2026-11-22 or before" in told
    assert "found no day; allowed: a folder named as 2026-11-20" in told
    assert "found another file; allowed: saved answers, which end in .xml" in told
    with pytest.raises(InputError, match="a folder of saved answers"):
        read_answers(tmp_path / "none", ["Gate"], TODAY)


def test_footage_that_ends_after_its_day_is_told_unless_the_clock_of_the_camera_explains_it(tmp_path):
    ahead = soap(summary(at(-365 * 24), at(-370 * 24)))  # five days, of a clock that is a year ahead
    [note] = read(tmp_path / "a", {"Gate.xml": ahead}).notes
    assert note.endswith(
        "the footage ends on 2027-11-25, after the day of its folder, 2026-11-20: clock or folder is wrong"
    )
    with_clock = {"Gate/a.xml": ahead, "Gate/b.xml": soap(clock(at(-370 * 24)))}
    assert read(tmp_path / "b", with_clock).notes == ()
    assert read(tmp_path / "c", {"Gate.xml": soap(summary(at(48), SAVED))}).notes == ()
