"""What cards hold is held against a plan that counts with locked clips, and teaches what it can teach then."""

import numpy as np
import pytest
from onvif_answers import SAVED, history, soap, summary, write
from test_happened import CAMERAS, ago, held, site_of

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


def test_the_mean_that_follows_is_that_of_the_rest_and_the_doubt_reaches_to_that_of_the_whole_card(tmp_path):
    # 67.5 GB in 75 h are 2 Mbit/s, 90 GB 2.67: a factor of 4/3 beside the doubts that there are without locked clips.
    with_locked, without = (gate(tmp_path, 75, cameras) for cameras in (LOCKED, CAMERAS))
    assert with_locked.follows_mbit_s == pytest.approx(2)
    assert without.follows_mbit_s == pytest.approx(2 * 4 / 3)
    assert with_locked.follows_sigma == pytest.approx(np.hypot(without.follows_sigma, np.log(4 / 3)))


def test_what_would_have_to_be_locked_is_told_beside_what_was_planned(tmp_path):
    # 50 h: 67.5 GB in them are 3 Mbit/s. At the planned 2 they take 45 of 90 GB; a quarter of 90 GB is 22.5.
    of = gate(tmp_path, 50)
    assert of.verdict == "shorter"
    assert of.follows_mbit_s == pytest.approx(3)
    assert "or 45 GB of clips are locked against overwriting and not the 22.5 GB planned, which no ONVIF" in of.why[1]


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


@pytest.mark.parametrize(("cameras", "tells"), [(LOCKED, True), (CAMERAS, False)])
def test_the_assumption_is_told_where_clips_are_expected_to_be_locked(tmp_path, cameras, tells):
    site = site_of(tmp_path, cameras)
    write(tmp_path / "answers", {"2026-11-20/Gate.xml": soap(summary(ago(75), SAVED))})
    told = what_happened(site_plan(site, with_reasons=False), tmp_path / "answers").assumptions
    assert any("locked_fraction" in text for text in told) == tells
