"""What cards hold is held against a plan that counts with locked clips, and teaches what it can teach then."""

import numpy as np
import pytest
from onvif_answers import SAVED, history, soap, summary, write
from test_happened import CAMERAS, ago, held, plain, site_of

from edgestore.plan import happened
from edgestore.plan.credible import learnt_words
from edgestore.plan.site_plan import site_plan
from edgestore.plan.what_happened import means, what_happened

# 90 of 100 GB are usable, of which a quarter locked leaves 67.5 GB: 75 h of 2 Mbit/s, 0.9 GB/h; the whole card 100 h.
LOCKED = "\n".join(f"{row},{'locked_fraction' if row.startswith('camera') else '0.25'}" for row in CAMERAS.splitlines())


def gate(folder, hours, cameras=LOCKED, *more, camera="Gate"):
    return held(folder, site_of(folder, cameras), {camera: soap(summary(ago(hours), SAVED), *more)})[camera]


def seen(hours):
    """The history of a camera that has recorded without a break."""
    return history((ago(hours), True, True))


def test_planned_is_what_the_rest_holds_and_at_most_what_the_whole_card_does(tmp_path):
    with_locked, without = (gate(tmp_path, 75, cameras).planned_h for cameras in (LOCKED, CAMERAS))
    assert (with_locked[0], without[0]) == pytest.approx((75, 100))
    assert with_locked[1] == pytest.approx(0.75 * without[1])
    assert with_locked[2] == pytest.approx(without[2])


@pytest.mark.parametrize("hours", [75, 100])
def test_a_card_of_which_a_quarter_is_locked_or_nothing_is_as_planned(tmp_path, hours):
    of = gate(tmp_path, hours)
    assert (of.verdict, of.correct) == ("as planned", ())


def test_the_mean_that_follows_is_that_of_the_whole_card_and_the_doubt_reaches_to_that_of_the_rest(tmp_path):
    # All that is on the card was recorded in 75 h, what is locked among it: 90 GB / (75 x 0.45) are 2.67 Mbit/s. Clips
    # of which the camera does not tell would leave 67.5 GB, 2 Mbit/s: a factor of 4/3 beside the other doubts.
    with_locked, without = (gate(tmp_path, 75, cameras) for cameras in (LOCKED, CAMERAS))
    assert with_locked.follows_mbit_s == without.follows_mbit_s == pytest.approx(2 * 4 / 3)
    assert with_locked.follows_sigma == pytest.approx(np.hypot(without.follows_sigma, np.log(4 / 3)))


def test_what_would_have_to_be_locked_is_told_beside_what_was_planned(tmp_path):
    # 50 h: 90 GB in them are 4 Mbit/s. At the planned 2 they take 45 of 90 GB; a quarter of 90 GB is 22.5.
    of = gate(tmp_path, 50)
    assert of.verdict == "shorter"
    assert of.follows_mbit_s == pytest.approx(4)
    told = "or 45 GB of clips are locked against overwriting and not the 22.5 GB planned, which no ONVIF"
    assert any(told in why for why in of.why)


def test_a_mean_that_counts_none_of_the_expected_clips_as_locked_says_so(tmp_path):
    # 90 GB in 75 h are 2.67 Mbit/s, and the 67.5 GB beside a quarter that is locked 2: a quarter lower.
    told = (
        "the mean that follows counts none as locked: where some are locked that it does not list, the mean is up to 25"
    )
    for cameras, answers, is_told in ((LOCKED, [seen(75)], True), (LOCKED, [], False), (CAMERAS, [seen(75)], False)):
        assert any(told in plain(why) for why in gate(tmp_path, 75, cameras, *answers).why) == is_told
    oldest, of_clips = clips_then_ring(25, 48, 75)
    assert not any(told in plain(why) for why in gate(tmp_path, oldest, LOCKED, of_clips).why)


def test_a_card_that_is_not_full_bounds_the_mean_by_all_that_was_written_to_it(tmp_path):
    # Of the 90 GB less was written in 40 h: at most 5 Mbit/s, what is locked among it.
    with_locked, without = (gate(tmp_path, 40, cameras, camera="Door") for cameras in (LOCKED, CAMERAS))
    assert with_locked.verdict == "not yet full"
    assert with_locked.follows_mbit_s == without.follows_mbit_s == pytest.approx(5)
    assert with_locked.follows_sigma == without.follows_sigma
    assert with_locked.planned.long_h == pytest.approx(without.planned.long_h)


@pytest.mark.parametrize("hours", [75, 100])
def test_a_true_mean_lies_in_what_was_learnt_whether_the_clips_are_locked_or_not(tmp_path, hours):
    of = gate(tmp_path, hours, LOCKED, seen(hours))
    learnt = happened.learnt_site(site_of(tmp_path, LOCKED), [of])
    assert learnt_words(of) == "rate"
    _, low, high = means(learnt)[0]
    assert low < 2 < high


def test_old_clips_stand_apart_up_to_the_part_that_is_expected_to_be_locked(tmp_path):
    # 15 h of 900 h ago, then 60 h to now: a fifth of what is recorded, less than a quarter and more than a twentieth.
    told = history((ago(900), True, True), (ago(885), False, False), (ago(60), True, False))
    with_locked, without = (gate(tmp_path, 900, cameras, told) for cameras in (LOCKED, CAMERAS))
    assert (with_locked.achieved.apart, with_locked.achieved.hours) == (1, 60)
    assert with_locked.verdict == "as planned"
    assert without.achieved.apart == 0


def clips_then_ring(clips, every_h, ring_h):
    """So many clips of an hour, an equal time from one to the next and to the ring, which has no gap."""
    begins = [ring_h + every_h * n for n in range(clips, 0, -1)]
    told = [change for begin in begins for change in ((ago(begin), True, False), (ago(begin - 1), False, False))]
    return begins[0], history(*told, (ago(ring_h), True, False))


@pytest.mark.parametrize(("part", "clips", "ring_h"), [("0.25", 25, 75), ("0.5", 50, 50), ("0.25", 10, 90)])
def test_clips_that_are_locked_as_listed_leave_the_mean_as_it_is_and_are_no_outages(tmp_path, part, clips, ring_h):
    # The card holds 100 h of 2 Mbit/s: the clips, of an hour each, and the ring. 90 GB / (100 h x 0.45) = 2.
    cameras = LOCKED.replace("0.25", part)
    oldest, told = clips_then_ring(clips, 48, ring_h)
    of = gate(tmp_path, oldest, cameras, told)
    assert (of.achieved.apart, of.achieved.hours, of.achieved.gaps) == (clips, ring_h, ())
    assert (of.achieved.apart_h, of.achieved.apart_pause_h) == (clips, 47)
    assert of.follows_mbit_s == pytest.approx(2)
    assert of.verdict == "as planned"


def test_a_card_without_older_clips_teaches_the_mean_of_all_that_is_on_it(tmp_path):
    # A quarter is listed, but nothing is older than 100 h, in which 90 GB of 2 Mbit/s were recorded without a break.
    assert gate(tmp_path, 100, LOCKED, seen(100)).follows_mbit_s == pytest.approx(2)


@pytest.mark.parametrize(("clips", "ring_h", "apart"), [(37, 63, 37), (40, 60, 0)])
def test_more_clips_than_listed_stand_apart_to_one_and_a_half_times_the_part_then_they_are_gaps(
    tmp_path, clips, ring_h, apart
):
    # Of 100 h recorded 25 are listed as locked, 37.5 is one and a half times that.
    oldest, told = clips_then_ring(clips, 48, ring_h)
    found = gate(tmp_path, oldest, LOCKED, told).achieved
    assert (found.apart, len(found.gaps)) == (apart, clips - apart)


@pytest.mark.parametrize(("oldest_h", "gap_h", "rest_h"), [(60, 20, 30), (20, 5, 70)])
def test_a_gap_of_the_ring_that_is_no_longer_than_the_pauses_between_clips_is_a_gap(tmp_path, oldest_h, gap_h, rest_h):
    # Ten clips of 1 h, each 20 h before the next; then the ring, of 90 h with a gap. Of 100 h recorded 10 are in clips;
    # with the part before the gap it would be 70, more than may be locked, or 30, which might, but its gap is shorter.
    ring_h = oldest_h + gap_h + rest_h
    begins = [ring_h + 21 * n for n in range(10, 0, -1)]
    told = [change for begin in begins for change in ((ago(begin), True, False), (ago(begin - 1), False, False))]
    ring = ((ago(ring_h), True, False), (ago(gap_h + rest_h), False, False), (ago(rest_h), True, False))
    found = gate(tmp_path, begins[0], LOCKED, history(*told, *ring)).achieved
    assert (found.apart, found.hours, len(found.gaps), found.longest_gap_h) == (10, ring_h, 1, gap_h)


def test_pauses_of_a_card_that_reaches_no_further_back_than_planned_are_gaps(tmp_path):
    # 20 h, a pause of 5 h and 75 h to now: the whole card holds 100 h, so that none of it need be locked.
    told = history((ago(100), True, True), (ago(80), False, False), (ago(75), True, False))
    of = gate(tmp_path, 100, LOCKED, told)
    assert (of.achieved.apart, len(of.achieved.gaps)) == (0, 1)


def test_old_footage_before_a_long_pause_may_be_an_outage_and_both_are_told(tmp_path):
    # 25 h from 900 h ago on, nothing for 800 h (33.3 days), then 75 h: locked as listed, or a camera that stood still.
    told = history((ago(900), True, True), (ago(875), False, False), (ago(75), True, False))
    write(tmp_path / "answers", {"2026-11-20/Gate.xml": soap(summary(ago(900), SAVED), told)})
    found = what_happened(site_plan(site_of(tmp_path, LOCKED), with_reasons=False), tmp_path / "answers")
    gate_of = next(of for of in found.held if of.camera == "Gate")
    assert "or nothing was recorded for 33.3 days" in plain(" ".join(gate_of.why))
    action = plain(next(of.what for of in found.actions if of.camera == "Gate"))
    assert "oldest clip, apart from the rest, is locked: else nothing was recorded for 33.3 days." in action


@pytest.mark.parametrize(("cameras", "tells"), [(LOCKED, True), (CAMERAS, False)])
def test_the_assumption_is_told_where_clips_are_expected_to_be_locked(tmp_path, cameras, tells):
    site = site_of(tmp_path, cameras)
    write(tmp_path / "answers", {"2026-11-20/Gate.xml": soap(summary(ago(75), SAVED))})
    told = what_happened(site_plan(site, with_reasons=False), tmp_path / "answers").assumptions
    assert any("locked_fraction" in text for text in told) == tells
