"""Saved answers of cameras about their recordings: read as ONVIF has them, and refused with all faults when wrong."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from onvif_answers import SAVED, clock, configuration, history, information, recordings, soap, summary, write

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
    return [str(fault) for of in read(tmp_path, files, cameras).unread.values() for fault in of]


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


def test_tracks_that_are_listed_one_by_one_are_told_apart_and_as_one_where_they_overlap(tmp_path):
    # 200 to 199 h ago; 90 to 60 h and 70 to 1 h ago, which overlap; the sound does not count.
    tracks = information(
        ("Video", at(90), at(60)), ("Audio", at(300), SAVED), ("Video", at(200), at(199)), ("Video", at(70), at(1))
    )
    said = read(tmp_path, {"Gate.xml": soap(tracks)}).by_camera["Gate"]
    assert said.pieces == tuple((pd.Timestamp(at(a)), pd.Timestamp(at(b))) for a, b in ((200, 199), (90, 1)))
    assert read(tmp_path / "summary", {"Gate.xml": soap(summary(at(50), SAVED))}).by_camera["Gate"].pieces == ()


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


def covered(tmp_path, *answers):
    files = {"Gate/a.xml": soap(summary(at(48), SAVED)), "Gate/b.xml": soap(*answers)}
    return (pd.Timestamp(SAVED) - read(tmp_path, files).by_camera["Gate"].covered_from) / pd.Timedelta(hours=1)


@pytest.mark.parametrize(
    ("changes", "covered_h"),
    [
        ([(50, True, True)], 48),  # the state at the start of a search from before the oldest footage
        ([(48, True, False)], 48),
        ([(40, False, False)], 48),  # data until then, and there are data at the beginning
        ([(20, True, True)], 20),  # data 20 h ago say nothing of the 28 h before
        ([(20, False, True), (15, True, False)], 20),  # nor do none
        ([(20, True, False)], 20),  # data that begin then, where there were some 48 h ago: changes are missing
    ],
)
def test_a_history_covers_the_footage_from_its_first_state_on(tmp_path, changes, covered_h):
    assert covered(tmp_path, history(*((at(hours), *rest) for hours, *rest in changes))) == covered_h


def test_data_at_the_start_of_a_search_do_not_fill_the_time_before_it(tmp_path):
    assert spells(tmp_path, history((at(20), True, True))) == [(20, 0)]


def of_tracks(*kinds, first):
    return information(*((kind, first, SAVED) for kind in kinds))


def video_lost(video="VIDEO001", audio="AUDIO001"):
    """Of 504 h the video has no data for 240, from 264 to 24 h ago; sound goes on."""
    video_changes = ((at(504), True, False), (at(264), False, False), (at(24), True, False))
    return history(*video_changes, token=video), history((at(504), True, False), token=audio)


def lost_spells(tmp_path, files):
    said = read(tmp_path, {"Gate/a.xml": soap(summary(at(504), SAVED)), **files}).by_camera["Gate"].spells
    return [tuple((pd.Timestamp(SAVED) - moment) / pd.Timedelta(hours=1) for moment in spell) for spell in said]


def test_sound_that_runs_on_does_not_fill_a_gap_of_the_video(tmp_path):
    tracks = soap(of_tracks("Video", "Audio", first=at(504)))
    files = {"Gate/b.xml": tracks, "Gate/c.xml": soap(*video_lost())}
    assert lost_spells(tmp_path, files) == [(504, 264), (24, 0)]
    # By type, whatever the tokens are: here that of the sound says video, and the other way round.
    turned = {
        name: text.replace("<tt:TrackType>Video", "<tt:TrackType>?").replace("Audio<", "Video<")
        for name, text in files.items()
    }
    turned = {name: text.replace("<tt:TrackType>?", "<tt:TrackType>Audio") for name, text in turned.items()}
    turned["Gate/c.xml"] = soap(*video_lost("AUDIO001", "VIDEO001"))
    assert lost_spells(tmp_path / "turned", turned) == [(504, 264), (24, 0)]


def test_where_no_type_is_told_the_tokens_that_devices_give_their_tracks_tell_it(tmp_path):
    assert lost_spells(tmp_path, {"Gate/c.xml": soap(*video_lost())}) == [(504, 264), (24, 0)]


def test_tracks_without_video_are_told(tmp_path):
    files = {
        "Gate/a.xml": soap(summary(at(48), SAVED)),
        "Gate/b.xml": soap(of_tracks("Audio", "Metadata", first=at(48))),
    }
    assert any("no track of video among its tracks" in note for note in read(tmp_path, files).notes)


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
        ("", "Gate.xml: found an empty file; allowed: an answer of the camera"),
        ("  \n", "an empty file"),
        ("<a>", "malformed XML"),
        ("<a/>", "no answer about recordings in 'a'"),
        ("<a>" * 40 + "</a>" * 40, "nested more than 32 deep"),
        (
            soap("<s:Fault><s:Reason><s:Text>Sender not authorized</s:Text></s:Reason></s:Fault>"),
            "Sender not authorized",
        ),
    ],
)
def test_a_file_that_nobody_has_vouched_for_is_not_used(tmp_path, text, told):
    assert any(told in fault for fault in faults(tmp_path, {"Gate.xml": text}))


def test_a_broken_file_is_named_and_the_other_cameras_and_files_are_read(tmp_path):
    # GetRecordingSummary "is mandatory to support for a device implementing the recording search service".
    whole = soap(summary(at(50), SAVED))
    files = {"Gate.xml": "", "Quay.xml": whole, "Pier/a.xml": whole, "Pier/history.xml": "<a>"}
    said = read(tmp_path, files, ("Gate", "Quay", "Pier"))
    assert set(said.by_camera) == {"Quay", "Pier"}
    assert set(said.unread) == {"Gate", "Pier"}
    (fault,) = said.unread["Gate"]
    assert str(fault) == (
        "2026-11-20, Gate, Gate.xml: found an empty file; allowed: an answer of the camera. Fix: Save the answer "
        "again, whole and as the camera sent it. GetRecordingSummary, which every camera with ONVIF's recording search "
        "answers, tells how far back it goes."
    )
    assert "Pier, history.xml" in said.unread["Pier"][0].where


def test_a_history_with_one_faulty_event_is_left_out_as_a_whole(tmp_path):
    odd = soap(history((at(40), False, False), (at(30), True, False))).replace('Value="true"', 'Value="perhaps"')
    said = read(tmp_path, {"Gate/a.xml": soap(summary(at(48), SAVED)), "Gate/b.xml": odd})
    assert said.by_camera["Gate"].spells is None
    assert "IsDataPresent" in said.unread["Gate"][0].where


def test_earlier_answers_are_used_where_the_last_cannot_be_read_and_that_is_told(tmp_path):
    write(tmp_path / "answers", {"2026-10-01/Gate.xml": soap(summary(at(2000), at(1200)))})
    said = read(tmp_path, {"Gate.xml": ""})
    assert said.by_camera["Gate"].saved == date(2026, 10, 1)
    assert "Gate: its answers of 2026-11-20 could not be read; those of 2026-10-01 are used" in said.notes
    assert "Gate" in said.unread
    later = read(tmp_path, {"Gate.xml": soap(summary(at(48), SAVED))})
    assert not later.unread


def test_oldest_footage_in_the_future_says_that_the_clock_of_the_camera_may_be_wrong(tmp_path):
    (told,) = faults(tmp_path, {"Gate.xml": soap(summary(at(-24 * 90), SAVED))})
    assert "found DataUntil before DataFrom, 2026-11-20 09:30 before 2027-02-18 09:30 UTC" in told
    assert "the clock of the camera was wrong" in told
    assert "Set the clock of the camera (NTP)" in told


@pytest.mark.parametrize(
    ("duration", "hours"),
    [("P14D", 336), ("PT36H", 36), ("P1DT12H30M", 36.5), ("PT5400S", 1.5), ("P1M", 365.25 * 2), ("P1Y", 8766)],
)
def test_how_long_a_camera_keeps_footage_is_an_xs_duration(tmp_path, duration, hours):
    # RecordingConfiguration, MaximumRetentionTime: "The device shall delete any data older than the maximum retention
    # time." A year is 365.25 days, a month a twelfth of it.
    files = {"Gate/a.xml": soap(summary(at(48), SAVED)), "Gate/b.xml": soap(configuration(duration))}
    assert read(tmp_path, files).by_camera["Gate"].kept_h == pytest.approx(hours)


def test_a_retention_of_0_is_no_limit_and_of_several_recordings_the_longest_counts(tmp_path):
    # "If the MaximumRetentionPeriod is set to 0, the device shall not limit the retention time of stored data".
    whole = {"Gate/a.xml": soap(summary(at(48), SAVED))}
    for n, (kept, hours) in enumerate(((("PT0S",), np.inf), (("P3D", "P7D"), 168), (("P3D", "PT0S"), np.inf))):
        said = read(tmp_path / str(n), {**whole, "Gate/b.xml": soap(recordings(*kept))})
        assert said.by_camera["Gate"].kept_h == hours
    assert np.isnan(read(tmp_path / "none", whole).by_camera["Gate"].kept_h)


@pytest.mark.parametrize("duration", ["", "14", "P", "PT", "P1", "-P1D", "P1DT", "P\u0661D"])
def test_a_retention_that_is_no_duration_is_refused(tmp_path, duration):
    files = {"Gate/a.xml": soap(summary(at(48), SAVED)), "Gate/b.xml": soap(configuration(duration))}
    (told,) = faults(tmp_path, files)
    assert "allowed: a duration as P14D, or PT0S for no limit" in told


def test_folders_and_files_that_are_none_of_this_are_told(tmp_path):
    write(tmp_path / "answers", {"2026-11-30/Gate.xml": "", "lately/Gate.xml": "", "2026-11-20/Gate.txt": ""})
    (tmp_path / "answers" / "2026-11-19").write_text("")
    said = read_answers(tmp_path / "answers", ["Gate"], TODAY)
    assert said.by_camera == {}
    told = "\n".join(said.notes)
    assert "2026-11-19: found a file where its path has a folder" in told
    assert "found 2026-11-30; allowed: 2026-11-22 or before" in told
    assert "found no day; allowed: a folder named as 2026-11-20" in told
    assert "found another file; allowed: saved answers, which end in .xml" in told
    with pytest.raises(InputError, match="a folder of saved answers"):
        read_answers(tmp_path / "none", ["Gate"], TODAY)


def test_footage_that_ends_after_its_day_is_told_unless_the_clock_of_the_camera_explains_it(tmp_path):
    ahead = soap(summary(at(-365 * 24), at(-370 * 24)))  # five days, of a clock that is a year ahead
    [note] = read(tmp_path / "a", {"Gate.xml": ahead}).notes
    assert note.endswith(
        "the footage ends on 2027-11-25, after the day of its folder, 2026-11-20: the clock of the camera, or the name "
        "of the folder, is wrong"
    )
    with_clock = {"Gate/a.xml": ahead, "Gate/b.xml": soap(clock(at(-370 * 24)))}
    assert read(tmp_path / "b", with_clock).notes == ()
    assert read(tmp_path / "c", {"Gate.xml": soap(summary(at(48), SAVED))}).notes == ()


def test_pages_of_a_search_that_ended_with_the_last_are_one_history(tmp_path):
    # The first page says Searching, the second Completed.
    first = history((at(40), False, False), state="Searching")
    assert spells(tmp_path, first, history((at(30), True, False))) == [(48, 40), (30, 0)]


def test_of_a_search_that_had_not_ended_only_the_time_between_its_results_is_covered(tmp_path):
    # Backwards or forwards: nothing is known of the 8 h before its first result and of the 20 h after its last.
    changes = (at(40), False, False), (at(30), True, False), (at(20), True, False)
    for n, ordered in enumerate((changes, changes[::-1])):
        history_of = {"Gate.xml": soap(summary(at(48), SAVED), history(*ordered, state="Searching"))}
        said = read(tmp_path / str(n), history_of).by_camera["Gate"]
        assert said.spells == ((pd.Timestamp(at(30)), pd.Timestamp(at(20))),)
        assert (said.covered_from, said.covered_until) == (pd.Timestamp(at(40)), pd.Timestamp(at(20)))


def test_of_two_tracks_that_are_recorded_by_now_each_has_its_gaps_from_its_beginning_on(tmp_path):
    # 60 and 30 h back. The first has no data from 02:00 to 06:00 of the 20th, the second from 04:00 to 08:00; saved at
    # 09:30, so that of 7.5 to 1.5 h ago one of them is missing.
    files = {
        "Gate/a.xml": soap(information(("Video", at(60), SAVED), ("Video", at(30), SAVED))),
        "Gate/b.xml": soap(history((at(60), True, True), (at(7.5), False, False), (at(3.5), True, False))),
        "Gate/c.xml": soap(
            history((at(30), True, False), (at(5.5), False, False), (at(1.5), True, False), token="VIDEO002")
        ),
    }
    said = read(tmp_path, files).by_camera["Gate"]
    assert (said.span, said.all_from) == ((pd.Timestamp(at(60)), pd.Timestamp(SAVED)), pd.Timestamp(at(30)))
    assert said.spells == tuple((pd.Timestamp(at(a)), pd.Timestamp(at(b))) for a, b in ((60, 7.5), (1.5, 0)))
    assert said.covered_from == pd.Timestamp(at(60))


def saved_on(tmp_path, *days):
    """Read lists of tracks that were saved on the days before, one list a day, the last on the 20th."""
    files = {f"{20 - ago}/Gate.xml": soap(information(*tracks)) for ago, tracks in enumerate(reversed(days))}
    write(tmp_path / "answers", {f"2026-11-{name}": text for name, text in files.items()})
    return read_answers(tmp_path / "answers", ("Gate",), TODAY)


def test_a_track_that_began_later_than_another_is_told_and_the_span_is_that_of_the_other(tmp_path):
    # TrackInformation: DataFrom is the oldest data of each track. Within an hour they go back as far.
    said = saved_on(tmp_path, (("Video", at(100), SAVED), ("Video", at(20), SAVED))).by_camera["Gate"]
    assert (said.span[0], said.all_from) == (pd.Timestamp(at(100)), pd.Timestamp(at(20)))
    assert said.pieces == ((pd.Timestamp(at(100)), pd.Timestamp(SAVED)),)
    alike = saved_on(tmp_path / "alike", (("Video", at(100), SAVED), ("Video", at(99), SAVED))).by_camera["Gate"]
    assert (alike.span[0], alike.all_from) == (pd.Timestamp(at(99)), None)


@pytest.mark.parametrize(
    ("before", "now", "begins", "all_from"),
    [
        ((100, 44), (100, 20), 20, None),  # data of 44 h ago were there, and are gone, though the other has them
        ((68, 44.5), (68, 44), 68, 44),  # the same moment, but for half an hour
        ((90, 90), (100, 20), 100, 20),  # on the day before there was no telling which
        (
            (60, 54),
            (30, 20),
            20,
            None,
        ),  # each had data an hour before the newest, of 25 h ago; one has none
        ((60, 54), (24.5, 20), 24.5, 20),  # nor has the other: they may have been off, or the card is another
    ],
)
def test_a_track_whose_oldest_data_move_while_another_keeps_as_old_ones_is_kept_for_less(
    tmp_path, before, now, begins, all_from
):
    # Saved a day apart; hours before the second time.
    days = [[("Video", at(hours), at(end)) for hours in of_day] for of_day, end in ((before, 24), (now, 0))]
    said = saved_on(tmp_path, *days)
    of = said.by_camera["Gate"]
    assert of.span[0] == of.pieces[0][0] == pd.Timestamp(at(begins))
    assert of.all_from == (None if all_from is None else pd.Timestamp(at(all_from)))
    assert any("kept for less than another" in note for note in said.notes) == (all_from is None)


def test_a_history_of_a_track_that_is_kept_for_less_counts_from_its_oldest_data_on(tmp_path):
    tracks = information(("Video", at(100), SAVED), ("Video", at(20), SAVED))
    first = history((at(90), True, True), (at(50), False, False), (at(40), True, False), (at(10), False, False))
    files = {
        "2026-11-19/Gate.xml": soap(information(("Video", at(100), SAVED), ("Video", at(44), SAVED))),
        "2026-11-20/Gate/a.xml": soap(tracks),
        "2026-11-20/Gate/b.xml": soap(first, history((at(20), True, False), token="VIDEO002")),
    }
    write(tmp_path / "answers", files)
    said = read_answers(tmp_path / "answers", ("Gate",), TODAY).by_camera["Gate"]
    assert said.spells == ((pd.Timestamp(at(20)), pd.Timestamp(at(10))),)
    assert said.covered_from == pd.Timestamp(at(20))


def test_two_histories_are_of_tracks_that_each_count_where_only_a_summary_was_saved(tmp_path):
    # As above, without a list of the tracks: of 7.5 to 1.5 h ago one of the two is missing. The second begins 30 h ago.
    first = history((at(60), True, True), (at(7.5), False, False), (at(3.5), True, False))
    second = (at(5.5), False, False), (at(1.5), True, False)
    files = {
        "Gate/a.xml": soap(summary(at(60), SAVED)),
        "Gate/b.xml": soap(first),
        "Gate/c.xml": soap(history((at(30), True, False), *second, token="VIDEO002")),
    }
    said = read(tmp_path, files).by_camera["Gate"]
    assert said.spells == tuple((pd.Timestamp(at(a)), pd.Timestamp(at(b))) for a, b in ((60, 7.5), (1.5, 0)))
    assert (said.covered_from, said.all_from) == (pd.Timestamp(at(60)), pd.Timestamp(at(30)))
    # The second is searched from 20 h ago on: before that its state is not known, which is no gap.
    files["Gate/c.xml"] = soap(history((at(20), True, True), *second, token="VIDEO002"))
    said = read(tmp_path, files).by_camera["Gate"]
    assert (said.covered_from, said.all_from) == (pd.Timestamp(at(20)), None)
    assert said.spells[-2:] == tuple((pd.Timestamp(at(a)), pd.Timestamp(at(b))) for a, b in ((20, 7.5), (1.5, 0)))


@pytest.mark.parametrize(
    "tracks",
    [
        [(60, 30), (30, 0)],  # one after the other
        [(60, 0), (40, 3)],  # the second has ended
        [(60, 59), (59, 58.9), (0.7, 0.5), (0.4, 0)],  # stretches of motion
    ],
)
def test_tracks_that_are_not_recorded_beside_each_other_by_now_count_together(tmp_path, tracks):
    told = information(*(("Video", at(begin), at(end)) for begin, end in tracks))
    assert read(tmp_path, {"Gate.xml": soap(told)}).by_camera["Gate"].span == (
        pd.Timestamp(at(60)),
        pd.Timestamp(SAVED),
    )


def test_two_tracks_that_are_listed_by_the_hour_go_back_to_their_oldest_hour(tmp_path):
    hours = [("Video", at(n + 1), at(n)) for n in range(12)]
    said = read(tmp_path, {"Gate.xml": soap(information(*hours, *hours))}).by_camera["Gate"]
    assert said.span == (pd.Timestamp(at(12)), pd.Timestamp(SAVED))
