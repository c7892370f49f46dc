"""What to do next at each camera: by verdict, the most urgent first, and what to save where nothing can be judged."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from onvif_answers import SAVED, clock, configuration, history, information, soap, summary, write
from test_happened import plain

from edgestore.inputs.saved_answers import read_answers
from edgestore.plan.as_asked import Asked
from edgestore.plan.happened_tables import table_note
from edgestore.plan.next_actions import WHEN, _steps
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.what_happened import what_happened

CARDS = "card,capacity_gb,usable_fraction,speed_class,endurance_tbw\nsmall,100,0.9,V30,60\nlarge,400,0.9,V30,240\n"
CAMERAS = {
    "Gate": "2,8,continuous,,",
    "Yard": "2,8,motion,20,36",
    "Door": "2,8,continuous,,",
}
SITE = '[service]\nlog = "log.csv"\nas_of = 2026-11-20\nlead_days = 30\n'
LOG = "Gate,small,2026-01-01\nYard,small,2026-01-01\nDoor,small,2026-11-18\n"


def ago(hours):
    return SAVED - timedelta(hours=hours)


def happened(folder, files, *, asked="retention_days = 2", log=LOG, site=SITE, deletes="no"):
    """Plan a site of three cameras, and hold these answers against it."""
    rows = "".join(f"{camera},{row},{deletes}\n" for camera, row in CAMERAS.items())
    columns = "camera,mean_mbit_s,cap_mbit_s,recording,events_per_h,event_s,deletes_by_age"
    (folder / "cameras.csv").write_text(f"{columns}\n{rows}")
    (folder / "cards.csv").write_text(CARDS)
    columns = "camera,card,fitted,removed,why" if ",," in log else "camera,card,fitted"
    (folder / "log.csv").write_text(f"{columns}\n{log}")
    (folder / "site.toml").write_text(f"{site}[requirements]\nlife_years = 1\n{asked}\n")
    write(folder / "answers", {f"2026-11-20/{name}.xml": text for name, text in files.items()})
    lists = read_lists(folder / "cameras.csv", folder / "cards.csv", folder / "site.toml")
    said = read_answers(folder / "answers", lists.cameras["camera"], date(2026, 11, 21))
    return what_happened(site_plan(lists, with_reasons=False), said)


WHOLE = history((ago(101), True, True))
"""A history of 100 h without a gap."""

WHOLE_40 = history((ago(41), True, True))
"""One of 40 h."""


def action(told, camera):
    return next(of for of in told.actions if of.camera == camera)


def test_the_worst_comes_first_and_each_camera_has_one_action(tmp_path):
    # Gate has stopped three days ago; the Yard holds 40 of 48 h asked; the Door said nothing.
    files = {
        "Gate": soap(summary(ago(170), ago(72)), clock(SAVED)),
        "Yard": soap(summary(ago(40), SAVED), history((ago(40), True, True))),
    }
    told = happened(tmp_path, files)
    assert [of.camera for of in told.actions] == ["Gate", "Yard", "Door"]
    assert [of.when for of in told.actions] == ["today", "soon", "at the desk"]
    assert sorted(WHEN.index(of.when) for of in told.actions) == [WHEN.index(of.when) for of in told.actions]
    assert list(told.table["Camera"]) == ["Gate", "Yard", "Door"]


def test_a_camera_that_holds_less_than_is_asked_is_told_which_card_to_fit(tmp_path):
    # 90 GB in 40 h are 5 Mbit/s; two days of that take 108 GB, which the card of 400 has.
    told = action(happened(tmp_path, {"Gate": soap(summary(ago(40), SAVED))}), "Gate")
    assert told.what.startswith("Check for locked clips (54 GB of them would explain it)")  # 90 - 40 x 0.9
    assert "It holds 1.7 of the 2\N{NO-BREAK SPACE}days required: fit a large." in told.what
    assert "If no clip is locked, correct the lists: mean_mbit_s to 5." in told.what


OUTAGE = '[outage]\nrecorder_mtbf_h = 17520\nrepair_law = "exponential"\nrepair_mean_h = 8\n'


def test_a_camera_that_holds_less_than_an_outage_to_be_covered_is_told_which_card_to_fit(tmp_path):
    # 40 h where a day is asked; 48 h of 90 GB / 40 h = 5 Mbit/s take 108 GB, which the card of 400 has.
    files, site = {"Gate": soap(summary(ago(40), SAVED), WHOLE_40)}, f"{SITE}{OUTAGE}covered_h = 48\n"
    told = happened(tmp_path, files, asked="retention_days = 1", site=site)
    words = "It holds 1.7 of the 2\N{NO-BREAK SPACE}days required to cover an outage: fit a large."
    assert words in action(told, "Gate").what
    assert told.happened.set_index("camera").loc["Gate", "against_asked"] == "less than asked"


def test_no_outage_asks_a_camera_to_keep_footage_for_longer_than_is_allowed(tmp_path):
    # 96 h are to be covered, and policy allows 2 days: 40 h of a day asked are held against 48 h.
    files, site = {"Gate": soap(summary(ago(40), SAVED), WHOLE_40)}, f"{SITE}{OUTAGE}covered_h = 96\n"
    told = happened(tmp_path, files, asked="retention_days = 1\nretention_days_max = 2", site=site)
    row = told.happened.set_index("camera").loc["Gate"]
    assert (row["asked_h"], row["allowed_h"]) == (48, 48)


def test_over_a_slow_link_an_outage_to_be_covered_asks_for_as_much_more(tmp_path):
    # A link of 2 Mbit/s fetches 2 / r of an hour in an hour of a camera that writes r: 24 h ask for 24 r / 2.
    files, site = (
        {"Gate": soap(summary(ago(40), SAVED), WHOLE_40)},
        f"{SITE}{OUTAGE}covered_h = 24\nbackfill_mbit_s = 2\n",
    )
    told = happened(tmp_path, files, asked="retention_days = 1", site=site)
    rate = told.after.site.rates["planned_mbit_s"].iloc[0]
    assert rate > 4
    assert told.happened["asked_h"].iloc[0] == pytest.approx(12 * rate)


def test_a_camera_that_holds_an_outage_to_be_covered_is_as_asked(tmp_path):
    site = f"{SITE}{OUTAGE}covered_h = 39\n"
    told = happened(tmp_path, {"Gate": soap(summary(ago(40), SAVED), WHOLE_40)}, asked="retention_days = 1", site=site)
    assert "required" not in action(told, "Gate").what
    row = told.happened.set_index("camera").loc["Gate"]
    assert (row["asked_h"], row["against_asked"]) == (39, "as asked")


def test_a_shorter_hold_that_still_is_what_is_asked_is_for_the_desk(tmp_path):
    # 60 h where 100 were planned and 48 are asked.
    told = action(happened(tmp_path, {"Gate": soap(summary(ago(60), SAVED))}), "Gate")
    assert told.when == "at the desk"
    assert "required" not in told.what


def test_a_camera_on_events_that_holds_many_times_what_it_should_may_hardly_record(tmp_path):
    # 100 GB planned for some 22 days; 300 days held are less than 0.2 Mbit/s where 2 were planned.
    told = action(happened(tmp_path, {"Yard": soap(summary(ago(24 * 300), SAVED))}), "Yard")
    assert told.when == "today"
    assert told.what.startswith("It may hardly record, or its oldest footage is a locked clip: play back a known event")
    assert "check its trigger, the mask and the sensitivity" in told.what
    assert "Save its history too: without it rate and recorded part cannot be told apart." in told.what


def test_gaps_that_begin_at_the_same_time_of_the_day_are_told_with_the_time(tmp_path):
    nights = [
        (SAVED.replace(hour=hour, minute=58) - timedelta(days=day - is_there), is_there, False)
        for day in (5, 4, 3, 2)
        for hour, is_there in ((23, False), (5, True))
    ]
    told = action(happened(tmp_path, {"Gate": soap(summary(ago(130), SAVED), history(*nights))}), "Gate")
    assert told.when == "today"
    assert "Find what stops the recording at about 00:00 UTC each time" in told.what
    at_any_time = [(ago(hour), hour % 2 == 1, False) for hour in (100, 91, 70, 69, 52, 33)]
    told = action(happened(tmp_path, {"Gate": soap(summary(ago(130), SAVED), history(*at_any_time))}), "Gate")
    assert "Find what stops the recording: power, restarts, a failing card." in told.what


def test_footage_kept_for_longer_than_is_allowed_is_to_be_deleted(tmp_path):
    files = {"Gate": soap(summary(ago(24 * 5), SAVED), configuration("PT0S"))}
    told = action(happened(tmp_path, files, asked="retention_days = 2\nretention_days_max = 3"), "Gate")
    assert told.when == "soon"
    assert "Set it to delete after 3\N{NO-BREAK SPACE}days: it keeps footage for longer than allowed." in told.what
    first = "Copy what is still needed before that, as evidence or for a request: the camera may delete at once what is"
    assert f"{first} older than 3\N{NO-BREAK SPACE}days." in told.what


@pytest.mark.parametrize(("held_days", "warns"), [(5, True), (2.5, False)])
def test_what_is_still_needed_is_copied_before_an_age_is_set_where_footage_is_older_than_that(
    tmp_path, held_days, warns
):
    files = {"Yard": soap(summary(ago(24 * held_days), SAVED), configuration("PT0S"))}
    asked = "retention_days = 2\nretention_days_max = 3"
    what = action(happened(tmp_path, files, asked=asked, deletes="yes"), "Yard").what
    assert "to 3\N{NO-BREAK SPACE}days" in what or "after 3\N{NO-BREAK SPACE}days" in what
    assert ("Copy what is still needed before that" in what) == warns


def test_a_camera_that_deletes_before_the_days_asked_is_to_be_set_otherwise(tmp_path):
    files = {"Gate": soap(summary(ago(24), SAVED), configuration("P1D"))}
    told = action(happened(tmp_path, files), "Gate")
    assert "Set its MaximumRetentionTime to 2\N{NO-BREAK SPACE}days or more" in told.what
    files = {"Gate": soap(summary(ago(48), SAVED), configuration("P2D"), history((ago(48), True, True)))}
    assert action(happened(tmp_path, files), "Gate").when == "nothing"


@pytest.mark.parametrize(
    ("log", "told"),
    [
        (LOG.replace("Gate,small", "Quay,small"), "Enter its card, and the day of fitting, in the service log."),
        (
            LOG.replace("Gate,small", "Gate,other"),
            "Add other to the card list, or correct its name in the service log.",
        ),
        (
            LOG.replace("Gate,small,2026-01-01", "Gate,small,2026-11-20"),
            "Correct the day of fitting in the service log",
        ),
    ],
)
def test_what_cannot_be_judged_says_what_would_help(tmp_path, log, told):
    of = action(happened(tmp_path, {"Gate": soap(summary(ago(60), SAVED))}, log=log), "Gate")
    assert told in of.what
    assert of.when == "at the desk"


def test_a_card_that_is_not_full_says_from_when_on_to_ask_again(tmp_path):
    # From 2026-11-18 17:30 on, planned 100 h, nine in ten below 132: by 2026-11-24 05:30.
    of = action(happened(tmp_path, {"Door": soap(summary(ago(40), SAVED))}), "Door")
    assert of.when == "later"
    assert of.what == "Save its answers again from 2026-11-24 on: by then the card should be full."


def test_a_card_that_is_due_within_the_lead_time_is_for_the_next_visit(tmp_path):
    # A card of 60 TB takes 2 Mbit/s, 7.9 TB a year, for 7.6 years at its rating; this one has been in since 2015.
    log = LOG.replace("Gate,small,2026-01-01", "Gate,small,2015-01-01")
    files = {"Gate": soap(summary(ago(100), SAVED), WHOLE)}
    early, late = (
        action(happened(tmp_path, files, log=log, site=SITE.replace("lead_days = 30", f"lead_days = {days}")), "Gate")
        for days in (30, 365)
    )
    due = early.what.removeprefix("Nothing until its card is due, on ").rstrip(".")
    assert timedelta(30) < date.fromisoformat(due) - date(2026, 11, 20) <= timedelta(365)
    assert (early.when, late.when) == ("nothing", "next visit")
    assert late.what == f"Replace its small card, due on {due}."


def test_what_is_for_later_is_told_with_when_beside_what_is_for_today(tmp_path):
    # A camera that has stopped, with a card that is due in some months: look today, replace it at the next visit.
    files = {"Gate": soap(summary(ago(170), ago(72)), clock(SAVED))}
    log = LOG.replace("Gate,small,2026-01-01", "Gate,small,2015-01-01")
    told = happened(tmp_path, files, log=log, site=SITE.replace("lead_days = 30", "lead_days = 365"))
    of = action(told, "Gate")
    assert of.when == "today"
    now, later = of.what.split(" Next visit: ")
    assert now.startswith("Open its live picture")
    assert "due" not in now
    assert later.startswith("Replace its small card, due on 20")
    shown = told.table.set_index("Camera").loc["Gate", "Next"]
    assert shown == f"Today: {of.what}"


def test_days_that_are_reached_by_gaps_alone_are_too_few_for_what_is_asked(tmp_path):
    # 125 h with a gap of 25 h hold 100 h of footage: 4.2 of the 5 days asked, though the oldest is of 5.2 days ago.
    text = soap(summary(ago(125), SAVED), history((ago(75), False, False), (ago(50), True, False)))
    told = happened(tmp_path, {"Gate": text}, asked="retention_days = 5")
    assert "Soon: It holds 4.2 (with its gaps 5.2) of the 5\N{NO-BREAK SPACE}days required: fit a large." in (
        action(told, "Gate").what
    )
    row = told.showing(shown="planned and achieved").table.set_index("Camera").loc["Gate"]
    assert row["Achieved, days"] == "4.2 (with its gaps 5.2)"
    assert row["Asked, days"] == "5: less"
    assert told.happened.set_index("camera").loc["Gate", ["achieved_h", "without_gaps_h"]].tolist() == [125, 100]


def test_a_broken_answer_is_named_and_the_others_are_judged(tmp_path):
    told = happened(tmp_path, {"Gate": "", "Door": soap(summary(ago(40), SAVED))})
    assert told.held[0].verdict == "no answers"
    assert "Gate.xml: an empty file" in told.held[0].why[0]
    assert "Save its answer as answers/YYYY-MM-DD/Gate.xml: GetRecordingSummary" in action(told, "Gate").what
    assert told.held[2].verdict == "not yet full"
    assert any(text.startswith("Gate: 2026-11-20, Gate, Gate.xml: found an empty file") for text in told.warnings)


def test_a_history_whose_search_had_not_ended_tells_no_gap_after_its_last_result_and_is_to_be_saved_again(tmp_path):
    # 100 h of footage up to now; the last result, of 66 h ago, ends data: 34 h are covered, all of them recorded.
    changes = (ago(101), True, True), (ago(66), False, False)
    for state in ("Searching", "Queued"):
        folder = tmp_path / state
        folder.mkdir()
        told = happened(folder, {"Gate": soap(summary(ago(100), SAVED), history(*changes, state=state))})
        of = told.held[0]
        assert of.verdict == "as planned"
        assert (of.achieved.gaps, of.achieved.covered_h, of.achieved.recorded_h) == ((), 34, 34)
        assert of.achieved.until == ago(66)
        assert of.why[0].replace("\N{NO-BREAK SPACE}", " ") == (
            "the search of its history had not ended: it covers 34 hours of 4.2 days, and tells nothing of the rest"
        )
        assert action(told, "Gate").when == "at the desk"
        assert action(told, "Gate").what.startswith("Save its history again: the search had not ended.")
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED), history(*changes))})
    assert told.held[0].verdict == "gaps"  # a search that had ended: nothing recorded since


def test_a_gap_before_the_last_result_of_an_unfinished_history_is_told(tmp_path):
    # 100 h; no data from 90 to 80 h ago, and the last result says that there are data 50 h ago.
    changes = (ago(101), True, True), (ago(90), False, False), (ago(80), True, False), (ago(50), True, False)
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED), history(*changes, state="Searching"))})
    found = told.held[0].achieved
    assert told.held[0].verdict == "gaps"
    assert (found.gaps, found.covered_h, found.recorded_h) == (((ago(90), ago(80)),), 50, 40)


def test_an_unfinished_history_without_results_tells_nothing(tmp_path):
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED), history(state="Queued"))})
    found = told.held[0].achieved
    assert (found.is_unfinished, found.gaps, found.recordings) == (True, (), 0)
    assert "it covers nothing" in told.held[0].why[0]
    assert "Save its history again" in action(told, "Gate").what


@pytest.mark.parametrize(("off_h", "words"), [(30, "ahead"), (-30, "behind")])
def test_a_clock_that_is_30_h_wrong_is_told_and_to_be_set(tmp_path, off_h, words):
    # Saved at 09:30 UTC of the 20th, the clock shows 15:30 of the 21st, or 03:30 of the 19th.
    shows = ago(-off_h)
    first = shows - timedelta(hours=100)
    told = happened(tmp_path, {"Gate": soap(summary(first, shows), clock(shows), history((first, True, True)))})
    assert told.held[0].why == (f"its clock is 1 day {words}",)
    of = action(told, "Gate")
    assert of.when == "soon"
    assert of.what == (
        "Set its clock (NTP): footage with a wrong time is worth little as evidence. First note how far off it is"
        f" (1 day {words}): the times of the footage on the card need it."
    )


@pytest.mark.parametrize(("held_h", "verdict"), [(100, "as planned"), (60, "shorter")])
def test_a_wrong_clock_is_warned_of_once_whatever_the_verdict(tmp_path, held_h, verdict):
    shows = ago(-30)
    first = shows - timedelta(hours=held_h)
    told = happened(tmp_path, {"Gate": soap(summary(first, shows), clock(shows), history((first, True, True)))})
    assert told.held[0].verdict == verdict
    [warning] = [text for text in told.warnings if "its clock is 1 day ahead" in text]
    assert warning.startswith(f"Gate: {verdict}")
    assert (warning == "Gate: as planned, but its clock is 1 day ahead.") == (verdict == "as planned")


@pytest.mark.parametrize(("off_h", "warns"), [(-720, True), (720, False)])
def test_before_a_clock_that_is_behind_is_set_footage_that_age_would_delete_is_to_be_copied(tmp_path, off_h, warns):
    # 30 days behind, the camera takes 100 h of footage for new; by the right time all of it is older than 14 days.
    shows = ago(-off_h)
    files = {"Gate": soap(summary(shows - timedelta(hours=100), shows), clock(shows), configuration("P14D"))}
    what = action(happened(tmp_path, files), "Gate").what
    assert ("Copy what is still needed before that" in what) == warns
    assert ("then takes for older than 14\N{NO-BREAK SPACE}days" in what) == warns


@pytest.mark.parametrize("deletes", ["yes", "no"])
def test_the_last_footage_of_a_camera_that_stopped_is_to_be_copied_before_age_deletes_it(tmp_path, deletes):
    # Nothing for two days of three: a day later the rest is gone too.
    files = {"Gate": soap(summary(ago(24 * 3), ago(24 * 2)), clock(SAVED))}
    told = happened(tmp_path, files, asked="retention_days = 2\nretention_days_max = 3", deletes=deletes)
    assert told.held[0].verdict == "not recording"
    first = "Copy what is still needed: the camera may delete it at an age of 3\N{NO-BREAK SPACE}days. Open its live"
    assert action(told, "Gate").what.startswith(first) == (deletes == "yes")


def test_a_camera_that_keeps_all_where_an_age_was_planned_has_no_other_rate_for_that(tmp_path):
    # 90 GB, some 20 days on events, planned to be deleted after 3: 5 days follow from no age that is set, from no rate.
    files = {"Yard": soap(summary(ago(24 * 5), SAVED), configuration("PT0S"))}
    asked = "retention_days = 2\nretention_days_max = 3"
    told = happened(tmp_path, files, asked=asked, deletes="yes")
    [yard] = [of for of in told.held if of.camera == "Yard"]
    assert yard.verdict == "longer"
    assert any("no age is set in it at which it deletes" in why for why in yard.why)
    assert not yard.correct
    assert not any("lower" in why for why in yard.why)
    assert "Set it to delete after 3\N{NO-BREAK SPACE}days" in action(told, "Yard").what


def test_footage_that_ends_after_the_day_of_its_answers_calls_for_a_look_at_the_clock(tmp_path):
    # No clock was saved; footage of the 23rd, 09:30, in answers of the 20th.
    told = happened(tmp_path, {"Gate": soap(summary(ago(28), ago(-72)))})
    assert told.held[0].why == ("its footage ends 3 days after the day of its answers",)
    assert action(told, "Gate").what.startswith("Check its clock, which seems to be ahead, and the day in the name")


def test_a_camera_that_does_not_record_and_has_a_wrong_clock_is_to_be_set_too(tmp_path):
    told = happened(tmp_path, {"Gate": soap(summary(ago(500), ago(400)), clock(ago(240)))})
    assert told.held[0].verdict == "not recording"
    assert "Soon: Set its clock (NTP)" in action(told, "Gate").what


def test_a_camera_that_holds_what_is_asked_though_it_has_gaps_does_not_hold_less(tmp_path):
    # 53 h with a gap of 1 h, 2 % of them, hold 52 h of the 48 asked: 2.2 days, as its footage goes back 2.2 days.
    text = soap(
        summary(ago(53), SAVED), history((ago(53), True, True), (ago(20), False, False), (ago(19), True, False))
    )
    told = happened(tmp_path, {"Gate": text})
    assert (told.held[0].verdict, told.held[0].retention_h) == ("gaps", 52)
    assert told.against_asked[0] == "as asked but for gaps"
    row = told.showing(shown="planned and achieved").table.set_index("Camera").loc["Gate"]
    assert (row["Achieved, days"], row["Asked, days"]) == ("2.2", "2: held, with gaps")
    assert not any("only because of the gaps" in text for text in told.held[0].why)
    assert not any(text.startswith("Less than asked") for text in told.warnings)
    assert action(told, "Gate").when == "today"


SAVE_HISTORY = (
    "Save its history from its oldest footage on: without it that may be a single clip, and gaps do not show."
)


def test_how_to_save_a_history_is_told_once_where_a_camera_that_is_shown_needs_it(tmp_path):
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED))})
    how = table_note(told)
    assert how.startswith("To save a history: FindEvents with IncludeStartState")
    assert not any("FindEvents" in action.what for action in told.actions)
    assert table_note(told.showing(shown="planned and achieved")) == ""
    assert table_note(told.showing(of_cameras="not as planned")) == ""  # the Gate is as planned
    whole = tmp_path / "whole"
    whole.mkdir()
    assert table_note(happened(whole, {"Gate": soap(summary(ago(100), SAVED), WHOLE)})) == ""


def test_a_camera_within_the_band_is_told_to_hold_what_is_asked_by_summary_only_until_a_history_shows_it(tmp_path):
    # Planned 100 h, asked 48: the oldest footage is of 100 h ago, which a single locked clip would tell as well.
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED))})
    assert (told.held[0].verdict, told.against_asked[0]) == ("as planned", "as asked, by summary only")
    row = told.showing(shown="planned and achieved").table.set_index("Camera").loc["Gate"]
    assert row["Asked, days"] == "2: held, by summary only"
    assert "; of those as planned, 1 is so by summary only." in told.sentence
    assert (action(told, "Gate").when, action(told, "Gate").what) == ("at the desk", SAVE_HISTORY)
    # A history of the last 90 h leaves the oldest footage open.
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED), history((ago(90), True, True)))})
    assert told.against_asked[0] == "as asked, by summary only"
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED), WHOLE)})
    assert told.against_asked[0] == "as asked"
    assert "by summary only" not in told.sentence
    assert action(told, "Gate").when == "nothing"


def test_a_camera_on_events_is_to_save_its_history_for_the_part_that_it_records(tmp_path):
    # 18.2 % recorded by plan: 100 / 0.182 = 550 h.
    of = action(happened(tmp_path, {"Yard": soap(summary(ago(550), SAVED))}), "Yard")
    assert of.what == SAVE_HISTORY.replace("gaps do not show", "the part recorded is not known")


def test_a_camera_of_which_too_little_is_known_by_its_summary_is_to_save_its_history_beside_what_else_is_to_be_done(
    tmp_path,
):
    # Asked 7 days, planned 100 h: too small by plan, whatever its history tells.
    of = action(happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED))}, asked="retention_days = 7"), "Gate")
    assert of.when == "soon"
    assert of.what.startswith("It holds 4.2 of the 7\N{NO-BREAK SPACE}days required: fit a large.")
    assert of.what.endswith(f"At the desk: {SAVE_HISTORY}")


OUT = "Gate,small,2026-01-01,2026-11-22,failed\nGate,large,2026-11-22,,\n"
"""The Gate's card of the day of its answers failed two days later."""


@pytest.mark.parametrize(
    ("answers", "verdict"),
    [
        ((summary(ago(50), SAVED),), "shorter"),
        ((summary(ago(170), ago(72)), clock(SAVED)), "not recording"),
        ((summary(SAVED, SAVED, recordings=0),), "not recording"),
        ((summary(ago(100), SAVED), WHOLE), "as planned"),
    ],
)
def test_answers_of_a_card_that_was_taken_out_since_say_nothing_of_the_one_in_the_camera(tmp_path, answers, verdict):
    site = SITE.replace("2026-11-20", "2026-11-25")
    log = f"{OUT}Yard,small,2026-01-01,,\n"
    told = happened(tmp_path, {"Gate": soap(*answers)}, log=log, site=site, asked="retention_days = 3")
    of = told.held[0]
    assert (of.verdict, of.card, of.taken_out) == (verdict, "small", "2026-11-22")
    assert of.why[0] == "of the card before: its small was taken out on 2026-11-22"
    assert told.against_asked[0] == ""
    assert action(told, "Gate").when == "at the desk"
    assert action(told, "Gate").what.startswith(
        "Save its answers again: those of 2026-11-20 are of the small that was taken out on 2026-11-22."
    )
    assert not told.sentence.startswith("Not recording")
    assert "Begin with" not in told.sentence
    assert "less than is asked" not in told.sentence
    assert "Taken out since it answered is the card of Gate (on 2026-11-22)." in told.warnings
    changes = told.showing(shown="what changes").table.set_index("Camera")
    assert changes.loc["Gate", "Card in service"] == "small, until 2026-11-22"
    achieved = told.showing(shown="planned and achieved").table.set_index("Camera").loc["Gate", "Achieved, days"]
    assert achieved.endswith(" (card before)") or of.achieved is None
    assert told.happened.set_index("camera").loc["Gate", "taken_out"] == "2026-11-22"


def test_a_card_that_is_due_in_the_place_of_the_one_of_the_answers_is_not_called_by_its_name(tmp_path):
    told = happened(tmp_path, {"Gate": soap(summary(ago(100), SAVED))})
    day = pd.Timestamp(2026, 12, 1)
    asked = Asked(
        held_h=48, is_for_outage=False, allowed_h=np.inf, deleted_h=np.inf, card="small", due=day, orders_by=day
    )
    for taken_out, words in (("", "small card"), ("2026-11-22", "card")):
        steps = [text for _, text in _steps(replace(told.held[0], taken_out=taken_out), asked, None)]
        assert f"Replace its {words}, due on 2026-12-01." in steps


def test_a_listed_clip_before_the_longest_gap_may_be_locked_and_then_nothing_is_missing(tmp_path):
    # A clip of 0.2 h of 60 h ago, and a recording of the last 30 h: a gap of 29.8 h, or a locked clip and a card that
    # holds 30 h. Planned 100 h, eight in ten to 132, so that the pause alone does not tell.
    listed = information(("Video", ago(60), ago(59.8)), ("Video", ago(30), SAVED))
    told = happened(tmp_path, {"Gate": soap(listed)})
    of = told.held[0]
    assert (of.verdict, of.retention_h) == ("gaps", pytest.approx(30.2))
    assert (
        "or the oldest clip may be locked against overwriting: then the longest gap is none, and the rest goes back "
        "30 hours"
    ) in [plain(text) for text in of.why]
    assert action(told, "Gate").what.startswith(
        "Look for locked clips: where its oldest footage is one, the longest gap is none. Find what stops the recording"
    )
    # Three clips of 0.2 h of 110, 60 and 50 h ago: the longest gap comes after the first, and none later is as long as
    # the one after the third. 30 h ago is 2026-11-19 03:30.
    clips = (("Video", ago(begin), ago(begin - 0.2)) for begin in (110, 60, 50))
    told = happened(tmp_path, {"Gate": soap(information(*clips, ("Video", ago(30), SAVED)))})
    assert (told.held[0].achieved.maybe_locked, told.held[0].achieved.apart) == (3, 0)
    assert (
        "or the 3 oldest clips may be locked against overwriting: then the gaps before 2026-11-19 03:30 UTC are none, "
        "and the rest goes back 30 hours"
    ) in [plain(text) for text in told.held[0].why]
    assert action(told, "Gate").what.startswith(
        "Look for locked clips: where its 3 oldest clips are such, the gaps before 2026-11-19 03:30 UTC are none."
    )
    # 4 h before the gap, of 34 h recorded: no clip.
    longer = information(("Video", ago(60), ago(56)), ("Video", ago(30), SAVED))
    told = happened(tmp_path, {"Gate": soap(longer)})
    assert not any("locked" in text for text in told.held[0].why)
    assert action(told, "Gate").what.startswith("Find what stops the recording")


@pytest.mark.parametrize(
    ("log", "answer", "verdict"),
    [
        ("Yard,small,2026-01-01\n", summary, "cannot tell"),
        ("Gate,other,2026-01-01\n", summary, "cannot tell"),
        (LOG, lambda *span: summary(*span, recordings=0), "not recording"),
    ],
)
def test_a_clock_is_told_of_a_camera_whatever_is_known_of_its_card(tmp_path, log, answer, verdict):
    # 30 h ahead: 15:30 of the 21st.
    shows = ago(-30)
    files = {"Gate": soap(answer(shows - timedelta(hours=50), shows), clock(shows))}
    told = happened(tmp_path, files, log=log)
    assert told.held[0].verdict == verdict
    assert told.held[0].why[-1] == "its clock is 1 day ahead"
    assert "Set its clock (NTP)" in action(told, "Gate").what


def test_without_a_service_log_a_wrong_clock_is_told_and_the_camera_counted_among_those_without_one(tmp_path):
    shows = ago(-30)
    files = {
        "Gate": soap(summary(shows - timedelta(hours=50), shows), clock(shows)),
        "Yard": soap(summary(ago(50), SAVED)),
    }
    told = happened(tmp_path, files, site="")
    assert any(text.startswith("Nothing can be said of 2 cameras: no service log") for text in told.warnings)
    assert any(text.startswith("Gate: cannot tell") and "its clock is 1 day ahead" in text for text in told.warnings)
