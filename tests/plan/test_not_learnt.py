"""What happened at cameras of which the answers do not tell the rate: nothing is learnt, and the causes are named."""

import numpy as np
import pytest
from onvif_answers import SAVED, clock, history, information, soap, summary, timedelta
from test_happened import CAMERAS, SITE, ago, held, site_of

from edgestore.inputs.saved_answers import read_answers
from edgestore.plan import happened
from edgestore.plan.credible import learnt_words
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.what_happened import what_happened

DAY = 24
ENCODER = (
    '<trt:GetVideoEncoderConfigurationsResponse xmlns:trt="http://www.onvif.org/ver10/media/wsdl">'
    '<trt:Configurations token="V1"><tt:Name>rec</tt:Name><tt:UseCount>1</tt:UseCount><tt:Encoding>H264</tt:Encoding>'
    "<tt:Resolution><tt:Width>1920</tt:Width><tt:Height>1080</tt:Height></tt:Resolution><tt:Quality>5</tt:Quality>"
    "<tt:RateControl><tt:FrameRateLimit>25</tt:FrameRateLimit><tt:EncodingInterval>1</tt:EncodingInterval>"
    "<tt:BitrateLimit>16000</tt:BitrateLimit></tt:RateControl><tt:H264><tt:GovLength>50</tt:GovLength>"
    "<tt:H264Profile>Main</tt:H264Profile></tt:H264></trt:Configurations></trt:GetVideoEncoderConfigurationsResponse>"
)
"""A cap of 16 000 kbit/s."""


def of_gate(folder, *answers, camera="Gate", **lists):
    """Hold the answers of one camera against the plan: what it holds, the site, and the site with what was learnt."""
    site = site_of(folder, **lists)
    of = held(folder, site, {camera: soap(*answers)})[camera]
    return of, site, happened.learnt_site(site, [of])


def test_one_old_clip_teaches_no_rate_and_never_plans_a_smaller_card(tmp_path):
    # 90 GB in 600 days are 90 / (14 400 x 0.45) = 0.0139 Mbit/s where 2 are planned: 144 times less.
    of, site, learnt = of_gate(tmp_path, summary(ago(600 * DAY), SAVED))
    assert of.verdict == "longer"
    assert of.follows_mbit_s == pytest.approx(1 / 72)
    assert of.why[0] == "0.014 Mbit/s would follow, too far from what was planned to be learnt"
    assert of.why[1] == (
        "or the footage of 2025-03-30 is a clip that is locked, or it has not recorded since: a history would tell"
    )
    assert of.correct == ()
    assert learnt.rates.equals(site.rates)
    plans = [site_plan(which, with_reasons=False).plan["card"] for which in (site, learnt)]
    assert plans[0].equals(plans[1])


@pytest.mark.parametrize(("times_longer", "is_learnt"), [(2, True), (4, True), (8, False), (40, False)])
def test_a_mean_more_than_some_five_times_lower_has_another_cause(tmp_path, times_longer, is_learnt):
    # Eight in ten mistaken means are within exp(1.2816 x 1.25) = 4.96; what follows is itself in doubt by some 10 %.
    of, site, learnt = of_gate(tmp_path, summary(ago(100 * times_longer), SAVED))
    assert (not learnt.rates.equals(site.rates)) == is_learnt
    assert (learnt_words(of) == "rate") == is_learnt


@pytest.mark.parametrize(
    ("held_days", "words"),
    [
        (60, "rate or recorded part, which no history tells apart"),
        (400, "nothing: 0.11 Mbit/s would be too far off"),
    ],
)
def test_a_trigger_that_does_not_fire_is_named_and_a_rate_far_too_low_not_learnt(tmp_path, held_days, words):
    # Recorded are 18.2 % of the time (20 events of 36 s an hour): 100 / 0.182 = 550 h = 22.9 days are planned.
    # 400 days follow from 2 x 22.9 / 400 = 0.11 Mbit/s, or fewer events.
    of, _, _ = of_gate(tmp_path, summary(ago(held_days * DAY), SAVED), camera="Yard")
    assert of.verdict == "longer"
    assert "or its trigger does not fire: a history would tell" in of.why[-1]
    assert learnt_words(of) == words


def test_without_a_history_what_is_learnt_may_be_rate_or_recorded_part(tmp_path):
    of, _, _ = of_gate(tmp_path, summary(ago(20 * DAY), SAVED), camera="Yard")
    assert learnt_words(of) == "rate or recorded part, which no history tells apart"


def test_a_clip_that_the_history_shows_apart_is_left_out(tmp_path):
    # 1 h of footage of 600 days ago, then 100 h, which is what was planned.
    first = (ago(600 * DAY), True, False), (ago(600 * DAY - 1), False, False)
    of, _, _ = of_gate(tmp_path, summary(ago(600 * DAY), SAVED), history(*first, (ago(100), True, False)))
    assert of.verdict == "as planned"
    assert of.achieved.hours == 100
    assert of.why == ("1 older clip apart from the rest, which may be locked against overwriting",)


def test_a_camera_that_began_two_days_after_the_fitting_may_not_be_full(tmp_path):
    # Fitted on 2026-11-18; 20 h of footage, from 2026-11-19 13:30 on: 90 GB in 20 h would be 10 Mbit/s.
    of, site, learnt = of_gate(tmp_path, summary(ago(20), SAVED), camera="Door")
    assert of.verdict == "not yet full"
    assert of.why == (
        "its oldest footage is 37.5\N{NO-BREAK SPACE}hours after the fitting, when it may have begun to record, or "
        "been formatted or reset: it may not be full",
    )
    assert learnt.rates.equals(site.rates)


def test_a_cap_that_the_camera_was_set_to_holds_before_the_listed_one(tmp_path):
    # 8 h follow from 90 / (8 x 0.45) = 25 Mbit/s, 10 h from 20, 12.5 h from 16: the cap that its settings have.
    few = CAMERAS.replace("Gate,2,8", "Gate,2,4")
    for hours, is_learnt in ((8, False), (12.5, True)):
        folder = tmp_path / str(hours)
        folder.mkdir()
        of, site, learnt = of_gate(folder, summary(ago(hours), SAVED), ENCODER, cameras=few)
        assert "cap set to 16 Mbit/s, planned 4" in of.why
        assert learnt.rates["cap_mbit_s"].iloc[0] == 16
        assert (learnt.rates["mean_basis"].iloc[0] == "achieved") == is_learnt, hours
        assert site.rates["cap_mbit_s"].iloc[0] == 4


def test_a_history_of_the_last_day_is_no_gap_before_it(tmp_path):
    # 100 h of footage, the search began 24 h ago, with data then.
    of, _, _ = of_gate(tmp_path, summary(ago(100), SAVED), history((ago(24), True, True)))
    assert of.verdict == "as planned"
    assert of.why == ("the history covers the last 24\N{NO-BREAK SPACE}hours of 4.2\N{NO-BREAK SPACE}days",)
    assert of.follows_mbit_s == pytest.approx(2)


def test_part_of_a_history_leaves_the_rest_in_doubt(tmp_path):
    # 24 h covered, 12 of them recorded: half, and if it was so in all 100 h, 90 / (50 x 0.45) = 4 Mbit/s, else 2.
    changes = (ago(24), False, True), (ago(12), True, False)
    of, _, _ = of_gate(tmp_path, summary(ago(100), SAVED), history(*changes))
    assert of.verdict == "gaps"
    assert of.follows_mbit_s == pytest.approx(4)
    assert of.follows_sigma >= np.log(2)


def test_video_that_is_lost_while_sound_goes_on_is_a_gap(tmp_path):
    tracks = information(("Video", ago(125), SAVED), ("Audio", ago(125), SAVED))
    video = history((ago(125), True, False), (ago(75), False, False), (ago(50), True, False))
    of, _, _ = of_gate(tmp_path, tracks, video, history((ago(125), True, False), token="AUDIO001"))
    assert of.verdict == "gaps"
    assert of.achieved.recorded_part == pytest.approx(0.8)


def told_of(folder, files, site=SITE, **lists):
    read = site_of(folder, **lists)
    (folder / "site.toml").write_text(site)
    read = read_lists(folder / "cameras.csv", folder / "cards.csv", folder / "site.toml")
    for name, text in files.items():
        path = folder / "answers" / "2026-11-20" / f"{name}.xml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return what_happened(site_plan(read, with_reasons=False), read_answers(folder / "answers", read.cameras["camera"]))


def test_cameras_that_do_not_record_come_first_everywhere_and_teach_nothing(tmp_path):
    # The Yard is silent for five days, the Door has no recordings at all; the Gate holds less than planned.
    files = {
        "Gate": soap(summary(ago(50), SAVED)),
        "Yard": soap(summary(ago(20 * DAY), ago(5 * DAY)), clock(SAVED)),
        "Door": soap(summary(SAVED, SAVED, recordings=0)),
    }
    told = told_of(tmp_path, files)
    assert told.sentence.startswith("Not recording: Door, Yard. Of 3 cameras")
    assert [action.camera for action in told.actions] == ["Door", "Yard", "Gate"]
    assert [of.camera for of in told.listed] == ["Door", "Yard", "Gate"]
    assert told.warnings[0].startswith("Door: not recording; the camera says that it holds no recordings")
    assert told.warnings[1] == "Yard: not recording; nothing recorded since 2026-11-15 09:30 UTC."
    learnt = told.rates.set_index("camera")
    for camera in ("Yard", "Door"):
        assert learnt.loc[camera, "learnt"] == "nothing: the camera is not recording"
        assert learnt.loc[camera, "mean_now_mbit_s"] == learnt.loc[camera, "mean_before_mbit_s"]
    assert told.after.site.evidence["logged_fraction"].isna().all()


def test_an_old_card_whose_footage_ends_a_year_ago_may_have_a_clock_that_is_behind(tmp_path):
    old = summary(ago(365 * DAY + 100), ago(365 * DAY))
    of, _, _ = of_gate(tmp_path, old)
    assert of.verdict == "not recording"
    assert of.why == (
        "nothing recorded since 2025-11-20 09:30 UTC, or its clock is 365 days behind: it was not asked for",
    )
    asked = tmp_path / "asked"
    asked.mkdir()
    of, _, _ = of_gate(asked, old, clock(SAVED))
    assert of.why == ("nothing recorded since 2025-11-20 09:30 UTC",)


def test_a_clock_of_1970_is_told_of_that_camera_and_the_others_are_judged(tmp_path):
    lost = soap(summary(ago(100), SAVED)).replace("2026-", "1970-")
    told = told_of(tmp_path, {"Gate": lost, "Yard": soap(summary(ago(20 * DAY), SAVED))})
    assert [of.verdict for of in told.held] == ["wrong clock", "as planned", "no answers"]
    (warning,) = [text for text in told.warnings if text.startswith("Gate")]
    assert warning == "Gate: wrong clock; its clock was wrong: its answers have a time of '1970-11-16T05:30:00Z'."
    of = told.actions[0]
    assert (of.camera, of.when) == ("Gate", "soon")
    assert of.what.startswith("Set the clock of the camera (NTP)")


def test_that_no_service_log_was_given_is_said_once(tmp_path):
    files = {name: soap(summary(ago(50), SAVED)) for name in ("Gate", "Yard", "Door")}
    told = told_of(tmp_path, files, site="[requirements]\nretention_days = 2\n")
    assert {(of.when, of.what) for of in told.actions} == {
        ("at the desk", "Enter the cards of the site in a service log, and name it in [service] of the settings.")
    }
    assert [of.verdict for of in told.held] == ["cannot tell"] * 3
    assert [text for text in told.warnings if "log" in text] == [
        "Nothing can be said of 3 cameras: no service log was given, which tells the card and the day of fitting."
    ]


def test_each_camera_is_held_against_what_is_asked_and_what_is_allowed(tmp_path):
    # Asked 4 days, allowed 5. The Gate holds 50 h, the Yard 20 days; the Door is too new to have them.
    files = {
        "Gate": soap(summary(ago(50), SAVED)),
        "Yard": soap(summary(ago(20 * DAY), SAVED)),
        "Door": soap(summary(ago(40), SAVED)),
    }
    asked = SITE.replace("retention_days = 2", "retention_days = 4\nretention_days_max = 5")
    told = told_of(tmp_path, files, site=asked)
    assert told.against_asked == ("less than asked", "longer than allowed", "")
    assert "1 holds less than is asked and 1 holds footage for longer than is allowed." in told.sentence
    no_break = "\N{NO-BREAK SPACE}"
    assert f"Less than asked: Gate (2.1 of 4{no_break}days)." in told.warnings
    assert f"Longer than allowed: Yard (20{no_break}days, allowed 5{no_break}days)." in told.warnings
    table = told.showing(shown="planned and achieved").table.set_index("Camera")["Asked"]
    assert table["Gate"] == f"4{no_break}days: less"
    assert table["Yard"] == f"at most 5{no_break}days: longer"
    assert table["Door"] == f"4{no_break}days: open"
    written = told.happened.set_index("camera")
    assert written.loc["Gate", ["asked_h", "allowed_h", "against_asked"]].tolist() == [96, 120, "less than asked"]


def test_the_part_recorded_is_told_by_hour_of_the_day(tmp_path):
    # Five days to 09:30, of which each night from 00:00 to 06:00 UTC is not recorded.
    nights = [
        (SAVED.replace(hour=hour, minute=0) - timedelta(days=day), is_there, False)
        for day in (4, 3, 2, 1, 0)
        for hour, is_there in ((0, False), (6, True))
    ]
    told = told_of(tmp_path, {"Gate": soap(summary(ago(5 * DAY), SAVED), history(*nights))})
    table = told.showing(shown="recorded by hour of the day").table
    assert list(table.columns) == ["Hour of the day", "Gate"]
    percents = [text.rstrip("%").strip() for text in table["Gate"]]
    assert percents == ["0"] * 6 + ["100"] * 18
