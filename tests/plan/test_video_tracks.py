"""Two video tracks of which one goes back less far: it is told, and no other card is planned on account of it."""

import numpy as np
import pytest
from onvif_answers import SAVED, history, information, soap, write
from test_happened import ago, held, plain, site_of
from test_next_actions import action, date, happened, read_answers

from edgestore.plan import happened as loop
from edgestore.plan.credible import learnt_words

FROM = "2026-11-19 13:30 UTC"
"""20 h before the answers."""


def tracks(*hours):
    return information(*(("Video", ago(of), SAVED) for of in hours))


def test_a_second_video_track_that_was_switched_on_lately_is_told_and_makes_the_hold_no_shorter(tmp_path):
    # A card of 90 GB holds 100 h at the 2 Mbit/s planned; a second track has footage of the last 20 h.
    gate = Told(happened(tmp_path, {"Gate": soap(tracks(100, 20))}), "Gate")
    assert gate.held.verdict == "as planned"
    assert [plain(text) for text in gate.held.why] == [
        f"one of its video tracks goes back only 20 hours, to {FROM}: it was switched on then, or is kept for less, "
        "which no answer tells"
    ]
    assert gate.held.retention_h == pytest.approx(100)
    assert learnt_words(gate.held) == "nothing: one of its video tracks goes back less far than another"
    assert "another card" not in gate.next
    assert f"if one of its video tracks still begins at {FROM}, it was switched on then" in gate.next
    assert gate.row["all_tracks_h"] == pytest.approx(20)
    assert gate.row["Achieved, days"] == "4.2 (one video track 0.83)"
    assert gate.row["Mean that follows, Mbit/s"] == "at least 2"
    assert gate.row["against_asked"] == ""  # 2 days are asked, and one of the tracks has 20 h


class Told:
    """What is said of a camera: as data, as written, as shown, and what to do next."""

    def __init__(self, told, camera):
        self.held = next(of for of in told.held if of.camera == camera)
        shown = told.showing(shown="planned and achieved").table.set_index("Camera").loc[camera]
        self.row = {**told.happened.set_index("camera").loc[camera], **shown}
        self.next = plain(action(told, camera).what)


@pytest.mark.parametrize(
    ("hours", "asked_days", "against"),
    [
        ((100, 60), 2, "as asked, by summary only"),  # both tracks hold the 48 h
        ((100, 40), 2, ""),
        ((40, 20), 2, "less than asked"),  # neither does
    ],
)
def test_what_is_asked_is_open_where_the_track_that_goes_back_least_does_not_hold_it(
    tmp_path, hours, asked_days, against
):
    told = happened(tmp_path, {"Gate": soap(tracks(*hours))}, asked=f"retention_days = {asked_days}")
    assert Told(told, "Gate").row["against_asked"] == against


@pytest.mark.parametrize("oldest", [45, 70, 100, 150, 180, 400, 4000])
@pytest.mark.parametrize("later", [3, 20, 40])
def test_no_other_card_is_planned_on_account_of_a_track_that_goes_back_less_far(tmp_path, oldest, later):
    site = site_of(tmp_path)
    for n, said in enumerate((tracks(oldest, later), tracks(oldest, later) + one_and(later, oldest))):
        folder = tmp_path / str(n)
        folder.mkdir()
        of = held(folder, site, {"Gate": soap(said)})["Gate"]
        assert of.all_tracks_h == pytest.approx(later)
        assert not of.correct
        assert loop.learnt_site(site, [of]).evidence.equals(site.evidence)


def one_and(later, oldest):
    """Histories of two tracks without gaps, of which the second begins later."""
    return history((ago(oldest), True, True)) + history((ago(later), True, False), token="VIDEO002")


def test_a_gap_before_the_second_track_began_is_one_of_the_first(tmp_path):
    # Of 100 h the first misses 60 to 50 h ago, 10 h; the second begins 20 h ago and misses 4 to 2 h ago.
    first = history((ago(101), True, True), (ago(60), False, False), (ago(50), True, False))
    second = (ago(20), True, False), (ago(4), False, False), (ago(2), True, False)
    said = soap(tracks(100, 20), first, history(*second, token="VIDEO002"))
    of = held(tmp_path, site_of(tmp_path), {"Gate": said})["Gate"]
    assert [(end - begin).total_seconds() / 3600 for begin, end in of.achieved.gaps] == [10, 2]
    assert of.achieved.recorded_part == pytest.approx(0.88)


def test_on_events_the_part_recorded_is_not_learnt_where_one_track_goes_back_less_far(tmp_path):
    site = site_of(tmp_path)
    changes = [(ago(hours), hours % 2 == 0, False) for hours in range(80, 0, -1)]
    twice = history(*changes), history((ago(20), True, False), (ago(19), False, False), token="VIDEO002")
    of = held(tmp_path, site, {"Yard": soap(tracks(80, 20), *twice)})["Yard"]
    assert of.all_tracks_h == pytest.approx(20)
    assert loop.learnt_site(site, [of]).evidence.equals(site.evidence)
    assert not of.correct


def test_where_two_days_show_that_a_track_is_kept_for_less_it_counts(tmp_path):
    # Saved a day apart, one track goes back 20 h both times: what it had of 44 h ago is gone, and the other has it.
    site = site_of(tmp_path)
    files = {"2026-11-19/Gate.xml": soap(tracks(100, 44)), "2026-11-20/Gate.xml": soap(tracks(100, 20))}
    write(tmp_path / "answers", files)
    said = read_answers(tmp_path / "answers", site.cameras["camera"], date(2026, 11, 21))
    of = loop.held_by_cameras(site, said)[0]
    assert (of.verdict, of.retention_h) == ("shorter", pytest.approx(20))
    assert np.isnan(of.all_tracks_h)


def test_a_clip_of_one_track_that_stands_apart_does_not_make_the_others_begin_late(tmp_path):
    # One clip of 400 h ago, of one track; of both 100 h.
    of = held(tmp_path, site_of(tmp_path), {"Gate": soap(_clip_and(100, 100))})["Gate"]
    assert (of.achieved.apart, of.achieved.hours) == (1, pytest.approx(100))
    assert np.isnan(of.all_tracks_h)


def _clip_and(*hours):
    return information(("Video", ago(400), ago(399)), *(("Video", ago(of), SAVED) for of in hours))
