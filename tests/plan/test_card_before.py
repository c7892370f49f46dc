"""Answers of a card that was changed on their day, cameras without a card, and footage that is kept too long."""

from dataclasses import replace
from datetime import timedelta

import pytest
from onvif_answers import SAVED, clock, configuration, history, soap, summary, write
from test_happened import CAMERAS, held, site_of
from test_locked_happened import LOCKED
from test_next_actions import SITE, WHOLE, action, ago, happened

from edgestore.plan.site_plan import site_plan
from edgestore.plan.what_happened import what_happened

CHANGED = "Gate,small,2026-01-01,2026-11-20,planned\nGate,large,2026-11-20,,\nYard,small,2026-01-01,,\n"
"""The Gate's card was changed on the day of its answers."""

FAILED = "Gate,small,2026-01-01,2026-11-22,failed\nYard,small,2026-01-01,,\nDoor,small,2026-11-18,,\n"
"""The Gate's card failed two days after its answers, and no other was entered."""

LATER = SITE.replace("2026-11-20", "2026-11-25")
THREE_DAYS = "retention_days = 2\nretention_days_max = 3"


def test_answers_that_were_saved_before_the_card_was_changed_on_that_day_are_of_the_card_before(tmp_path):
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED), WHOLE)}, log=CHANGED)
    of = told.held[0]
    assert (of.card, of.fitted, of.taken_out, of.verdict) == ("small", "2026-01-01", "2026-11-20", "as planned")
    assert of.why[0] == "of the card before: its small was taken out on 2026-11-20"
    assert action(told, "Gate").what.startswith(
        "Save its answers again: those of 2026-11-20 are of the small that was taken out on 2026-11-20."
    )
    assert action(told, "Gate").when == "at the desk"


def test_answers_that_were_saved_after_the_card_was_changed_on_that_day_are_of_the_new_one(tmp_path):
    # Saved at 9:30 UTC, footage of 1 h.
    of = happened(tmp_path, {"Gate": soap(summary(ago(1), SAVED))}, log=CHANGED).held[0]
    assert (of.card, of.fitted, of.taken_out, of.verdict) == ("large", "2026-11-20", "", "not yet full")


@pytest.mark.parametrize(
    ("zone", "hours", "card"),
    [
        # Saved at 9:30 UTC, which is 22:30 in Auckland: the day began 22.5 h before, and an hour is room.
        ("Pacific/Auckland", 23, "large"),
        ("Pacific/Auckland", 24, "small"),
        # 10:30 in Vienna.
        ("Europe/Vienna", 11, "large"),
        ("Europe/Vienna", 12, "small"),
        # By no zone that is listed it began up to 14 h before that of UTC: 23.5 h before.
        ("", 23, "large"),
        ("", 24, "small"),
    ],
)
def test_the_day_of_the_change_begins_by_the_clocks_of_the_camera(tmp_path, zone, hours, card):
    site = site_of(tmp_path, log="camera,card,fitted,removed,why\n" + CHANGED)
    site = replace(site, cameras=site.cameras.assign(time_zone=zone))
    assert held(tmp_path, site, {"Gate": soap(summary(ago(hours), SAVED))})["Gate"].card == card


@pytest.mark.parametrize("off_days", [-30, 30])
def test_a_wrong_clock_does_not_make_footage_older_or_younger_than_a_card_of_that_day(tmp_path, off_days):
    shows = SAVED + timedelta(days=off_days)
    for hours, card in ((2, "large"), (100, "small")):
        files = {"Gate": soap(summary(shows - timedelta(hours=hours), shows), clock(shows))}
        assert happened(tmp_path, files, log=CHANGED).held[0].card == card


def test_a_card_that_was_taken_out_on_the_day_of_its_answers_without_another_leaves_the_camera_without_one(tmp_path):
    log = CHANGED.replace("Gate,large,2026-11-20,,\n", "")
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED), WHOLE)}, log=log)
    assert (told.held[0].card, told.held[0].has_no_card) == ("small", True)
    # Footage of 1 h is of another card, which the log has not.
    other = happened(tmp_path, {"Gate": soap(summary(ago(1), SAVED))}, log=log)
    assert (other.held[0].verdict, other.held[0].card, other.held[0].has_no_card) == ("cannot tell", "", False)
    assert "the service log has no card in it on that day" in other.held[0].why


FIT = "Fit a card, or enter in the service log the one that was fitted."


@pytest.mark.parametrize(
    "answers",
    [
        (summary(ago(100), SAVED), WHOLE),
        (summary(ago(170), ago(72)), clock(SAVED)),
        (summary(SAVED, SAVED, recordings=0),),
    ],
)
def test_a_camera_whose_card_was_taken_out_and_that_has_no_other_is_urgent(tmp_path, answers):
    told = happened(tmp_path, {"Gate": soap(*answers)}, log=FAILED, site=LATER)
    of = action(told, "Gate")
    assert (of.when, of.rank, told.actions[0].camera) == ("today", 0, "Gate")
    assert of.what.startswith(f"{FIT} At the desk: Save its answers again: those of 2026-11-20 are of the small")
    assert "Begin with Gate: by the service log no card is in it now." in told.sentence
    assert told.held[0].why[:2] == (
        "by the service log no card is in it now",
        "of the card before: its small was taken out on 2026-11-22",
    )


def test_a_camera_without_a_card_is_named_first_with_those_that_do_not_record(tmp_path):
    files = {
        "Gate": soap(summary(ago(100), SAVED), WHOLE),
        "Yard": soap(summary(ago(170), ago(72)), clock(SAVED)),
    }
    told = happened(tmp_path, files, log=FAILED, site=LATER)
    assert told.sentence.startswith("Not recording: Gate, Yard. ")
    with_other = happened(tmp_path, files, log=f"{FAILED}Gate,large,2026-11-22,,\n", site=LATER)
    assert not with_other.sentence.startswith("Not recording")
    assert action(with_other, "Gate").when == "at the desk"


def test_a_camera_without_a_card_is_urgent_without_answers_too(tmp_path):
    told = happened(tmp_path, {"Yard": soap(summary(ago(100), SAVED))}, log=FAILED, site=LATER)
    assert action(told, "Gate").what.startswith(f"{FIT} At the desk: Save its answer as answers/YYYY-MM-DD/Gate.xml")
    assert action(told, "Door").when == "at the desk"  # its card is in service


@pytest.mark.parametrize(
    ("log", "has_no_card"),
    [
        (FAILED, True),
        (FAILED.replace("failed", "evidence"), True),
        (FAILED.replace("failed", "camera gone"), False),
        # A camera of two cards, one of which is in service.
        (f"{FAILED}Gate,large,2026-02-01,,\n", False),
        # Taken out a week before the answers: by their footage there is another, which the log has not.
        (FAILED.replace("2026-11-22", "2026-11-13"), False),
        (FAILED.replace("Gate", "Quay"), False),
    ],
)
def test_a_camera_is_without_a_card_where_the_log_has_none_after_the_one_of_its_answers(tmp_path, log, has_no_card):
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED), WHOLE)}, log=log, site=LATER)
    assert told.held[0].has_no_card == has_no_card
    assert (FIT in action(told, "Gate").what) == has_no_card


GONE = FAILED.replace("failed", "camera gone")
TAKE_OFF = (
    "It is gone since 2026-11-22, by the service log: take it off the camera list, or enter the card of the camera "
    "that is in its place in the service log."
)


@pytest.mark.parametrize("answers", [(), (summary(ago(100), SAVED), WHOLE), (summary(ago(170), ago(72)), clock(SAVED))])
def test_a_camera_that_is_gone_is_to_be_taken_off_the_list_and_asked_for_no_answers(tmp_path, answers):
    files = {"Yard": soap(summary(ago(100), SAVED))} | ({"Gate": soap(*answers)} if answers else {})
    told = happened(tmp_path, files, log=GONE, site=LATER)
    assert (action(told, "Gate").what, action(told, "Gate").when) == (TAKE_OFF, "at the desk")
    assert told.held[0].why[0] == "by the service log the camera is gone since 2026-11-22"
    assert not told.held[0].is_silent
    assert not any("No answers were saved of Gate" in text for text in told.warnings)


@pytest.mark.parametrize(
    "log",
    [
        GONE.replace("2026-11-22", "2026-11-13"),  # it answered a week later
        f"{GONE}Gate,large,2026-11-23,,\n",  # another is in its place
    ],
)
def test_a_camera_that_answered_later_or_has_a_successor_is_not_gone(tmp_path, log):
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED), WHOLE)}, log=log, site=LATER)
    assert told.held[0].gone == ""
    assert "take it off the camera list" not in action(told, "Gate").what


NOT_DELETED = (
    "It is set to delete after 3\N{NO-BREAK SPACE}days and yet holds 12.5\N{NO-BREAK SPACE}days: it does not delete, "
    "or its oldest clip is locked; check which."
)


@pytest.mark.parametrize("seen", ["", history((ago(301), True, True))])
def test_a_camera_that_is_set_to_delete_and_does_not_is_not_told_to_be_set_so(tmp_path, seen):
    files = {"Gate": soap(summary(ago(300), SAVED), configuration("P3D"), seen)}
    told = happened(tmp_path, files, asked=THREE_DAYS)
    of = action(told, "Gate")
    assert of.what.startswith(NOT_DELETED)
    assert of.when == "soon"
    assert "Set it to delete" not in of.what
    assert any(
        why.endswith("(MaximumRetentionTime), and yet it holds 12.5\N{NO-BREAK SPACE}days") for why in told.held[0].why
    )
    assert told.against_asked[0] == "longer than allowed"


@pytest.mark.parametrize(
    ("kept", "is_set_again", "does_not_delete"),
    [("P3D", False, True), ("P10D", True, True), ("P12D", True, False), ("PT0S", True, False), (None, True, False)],
)
def test_a_limit_of_age_that_is_too_long_is_told_beside_one_that_is_not_kept(
    tmp_path, kept, is_set_again, does_not_delete
):
    # 300 h are 12.5 days, half a day more than 12: it may delete once a day.
    files = {"Gate": soap(summary(ago(300), SAVED), configuration(kept) if kept else "")}
    what = action(happened(tmp_path, files, asked=THREE_DAYS), "Gate").what
    assert ("Set it to delete after 3\N{NO-BREAK SPACE}days" in what) == is_set_again
    assert ("does not delete" in what) == does_not_delete


STEADY_H = 76 + 48 * 25
"""Clips of an hour were locked every second day, 25 of them; the ring holds 75 h."""


def steady(folder, cameras, *more):
    """What happened at a site with these cameras, of which the oldest footage of the Gate is 53 days old."""
    write(folder / "answers", {"2026-11-20/Gate.xml": soap(summary(ago(STEADY_H), SAVED), *more)})
    return what_happened(site_plan(site_of(folder, cameras), with_reasons=False), folder / "answers")


def test_where_locked_clips_are_listed_the_oldest_footage_is_likely_one_and_the_camera_is_not_urgent(tmp_path):
    told = steady(tmp_path, LOCKED)
    assert action(told, "Gate").when == "at the desk"
    assert action(told, "Gate").what.startswith(
        "Look for locked clips: its oldest footage may be a locked clip, as listed. Where it is none, it may hardly "
        "record: play back a known event, and check its recording settings. Save its history too"
    )
    # 1 276 h before 9:30 of November 20 is 53 days and 4 h before.
    first, *_, last = told.held[0].why
    assert first == "its oldest footage, of 2026-09-28, may be a locked clip, as listed: a history would tell"
    assert last == "or it has not recorded since"
    assert told.held[0].verdict == "longer"
    assert "Begin with" not in told.sentence


def test_where_none_are_listed_a_camera_that_holds_many_times_what_it_should_is_urgent(tmp_path):
    told = steady(tmp_path, CAMERAS)
    assert action(told, "Gate").when == "today"
    assert action(told, "Gate").what.startswith("It may hardly record, or its oldest footage is a locked clip")
    assert not any("as listed" in why for why in told.held[0].why)


def test_where_a_history_covers_the_footage_listed_clips_do_not_explain_a_mean_that_is_too_low(tmp_path):
    # Recorded without a break for 53 days, which is no clip.
    told = steady(tmp_path, LOCKED, history((ago(STEADY_H), True, True)))
    assert action(told, "Gate").when == "today"
    assert not any("as listed" in why for why in told.held[0].why)
