"""What happened at cameras of which the answers do not tell the rate: nothing is learnt, and the causes are named."""

import numpy as np
import pytest
from onvif_answers import SAVED, clock, history, information, soap, summary, timedelta
from test_happened import CAMERAS, LOG, SITE, ago, held, plain, site_of

from edgestore.inputs.saved_answers import read_answers
from edgestore.plan import happened
from edgestore.plan.credible import learnt_words, may_be_one_clip
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.what_happened import what_happened

DAY = 24
LOG_OF_2025 = LOG.replace("2026-11-18", "2025-01-01")
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
    first = ago(100 * times_longer)
    of, site, learnt = of_gate(tmp_path, summary(first, SAVED), history((first, True, False)))
    assert (not learnt.rates.equals(site.rates)) == is_learnt
    assert (learnt_words(of) == "rate") == is_learnt


@pytest.mark.parametrize(
    ("held_days", "words"),
    [
        (60, "nothing: its oldest footage may be a single clip; a history would tell"),
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


@pytest.mark.parametrize(("hours", "is_one_clip"), [(131, False), (133, True), (200, True), (400, True)])
def test_footage_that_goes_back_farther_than_planned_may_be_one_clip_without_a_history(tmp_path, hours, is_one_clip):
    # Planned 100 h, eight in ten from 75.9 to 131.75: 100 exp(sqrt(0.262364^2 + 0.067659^2 + 0.051293^2)).
    # A locked clip of 400 h ago would make 90 / (400 x 0.45) = 0.5 Mbit/s of the listed 2, within a factor of 5.
    of, site, learnt = of_gate(tmp_path, summary(ago(hours), SAVED))
    assert learnt.rates.equals(site.rates)
    assert may_be_one_clip(of) == is_one_clip
    if is_one_clip:
        assert learnt_words(of) == "nothing: its oldest footage may be a single clip; a history would tell"
        assert of.verdict == "longer"
        assert "a clip that is locked" in of.why[-1]


OPEN_HOURS = "nothing: no history shows whether it recorded all the time: save its history (FindEvents)"


def test_a_summary_alone_never_plans_a_smaller_card_for_a_camera_that_should_record_all_the_time(tmp_path):
    # 64 GB x 0.98 = 62.72 GB in 70.5 h are 62.72 / (70.5 x 0.45) = 1.977 Mbit/s where 2.6 are listed. If it recorded
    # 60 % of the time, in 42.3 h, they are 3.295, of which the card holds 42.3 h of the 48 asked.
    site_of(tmp_path, cameras=CAMERAS.replace("Gate,2,8", "Gate,2.6,8"), log=LOG.replace("Gate,small", "Gate,of 64"))
    cards = (
        "card,capacity_gb,usable_fraction,speed_class,endurance_tbw\nof 64,64,0.98,V30,60\nof 128,128,0.98,V30,120\n"
    )
    (tmp_path / "cards.csv").write_text(cards)
    site = read_lists(tmp_path / "cameras.csv", tmp_path / "cards.csv", tmp_path / "site.toml")
    of = held(tmp_path, site, {"Gate": soap(summary(ago(70.5), SAVED))})["Gate"]
    assert of.follows_mbit_s == pytest.approx(1.977, abs=0.001)
    assert learnt_words(of) == OPEN_HOURS
    whole = held(tmp_path, site, {"Gate": soap(summary(ago(70.5), SAVED), history((ago(71), True, True)))})["Gate"]
    assert learnt_words(whole) == "rate"
    sites = site, happened.learnt_site(site, [of]), happened.learnt_site(site, [whole])
    planned = [site_plan(which, with_reasons=False).plan["card"].iloc[0] for which in sites]
    assert planned == ["of 128", "of 128", "of 64"]


@pytest.mark.parametrize(("hours", "is_learnt"), [(50, True), (70, True), (100, False), (120, False)])
def test_without_a_history_only_a_mean_that_is_higher_than_planned_is_learnt(tmp_path, hours, is_learnt):
    # 90 GB in 50, 70, 100 and 120 h are 4, 2.86, 2 and 1.67 Mbit/s; planned 2, nine in ten up to
    # 2 x 1.3^(1.645 / 1.2816) = 2.80.
    of, site, learnt = of_gate(tmp_path, summary(ago(hours), SAVED))
    assert (learnt_words(of) == OPEN_HOURS) != is_learnt
    assert learnt.rates.equals(site.rates) != is_learnt
    assert not learnt.rates["likely_high_mbit_s"].iloc[0] < site.rates["likely_high_mbit_s"].iloc[0]


def test_the_most_that_a_mean_can_be_is_not_learnt_where_gaps_may_have_kept_the_card_from_filling(tmp_path):
    # The Door's card was fitted two days ago; listed 20 Mbit/s, it would have held 90 GB in 10 h, and has 40 h.
    lists = {"cameras": CAMERAS.replace("Door,2,8", "Door,20,30")}
    of, site, learnt = of_gate(tmp_path, summary(ago(40), SAVED), camera="Door", **lists)
    assert not of.achieved.is_full
    assert learnt.rates.equals(site.rates)
    whole = tmp_path / "whole"
    whole.mkdir()
    of, site, learnt = of_gate(whole, summary(ago(40), SAVED), history((ago(41), True, True)), camera="Door", **lists)
    assert learnt_words(of) == "rate, at most"
    assert learnt.rates["median_mbit_s"].iloc[2] < site.rates["median_mbit_s"].iloc[2]


def test_a_clip_within_a_factor_of_five_does_not_count_for_the_mean_where_the_history_shows_the_pause(tmp_path):
    # A clip of 1 h from 200 h ago, a pause of 99 h, then 100 h: 90 GB in 101 h recorded are 90 / (101 x 0.45) = 1.980
    # Mbit/s, and not the 1 Mbit/s of 200 h. After a pause of 299 h, longer than a card takes to fill, the clip stands
    # apart, and takes its hour of the card too.
    for first in (200, 400):
        folder = tmp_path / str(first)
        folder.mkdir()
        changes = (ago(first), True, False), (ago(first - 1), False, False), (ago(100), True, False)
        of, _, learnt = of_gate(folder, summary(ago(first), SAVED), history(*changes))
        assert of.follows_mbit_s == pytest.approx(90 / (101 * 0.45))
        assert learnt.rates["median_mbit_s"].iloc[0] == pytest.approx(2, rel=0.02)


def test_a_clip_that_is_listed_as_a_recording_of_its_own_is_left_out_without_a_history(tmp_path):
    # GetRecordingInformation lists a clip of 400 h ago and the 100 h up to now; the pause is 299 h.
    clip, rest = ("Video", ago(400), ago(399)), ("Video", ago(100), SAVED)
    of, _, _ = of_gate(tmp_path, information(clip, rest))
    assert (of.verdict, of.achieved.hours, of.follows_mbit_s) == ("as planned", 100, pytest.approx(90 / (101 * 0.45)))
    (why,) = (plain(text) for text in of.why)
    assert why.startswith("1 older clip apart from the rest, which may be locked against overwriting, or nothing was")
    assert why.endswith("recorded for 12.5 days")
    near = tmp_path / "near"  # of 200 h ago: 101 h of footage in 200, so 1.980 Mbit/s, and a gap of 99 h
    near.mkdir()
    of, _, _ = of_gate(near, information(("Video", ago(200), ago(199)), rest))
    assert (of.verdict, of.follows_mbit_s) == ("gaps", pytest.approx(90 / (101 * 0.45)))
    long = tmp_path / "long"  # a recording of 150 h, longer than the 131.75 of the plan, may itself begin with a clip
    long.mkdir()
    of, site, learnt = of_gate(long, information(("Video", ago(301), ago(151)), ("Video", ago(150), SAVED)))
    assert may_be_one_clip(of)
    assert learnt.rates.equals(site.rates)


def test_a_history_of_the_last_part_of_longer_footage_teaches_no_mean(tmp_path):
    # 200 h of footage, of which the history covers 100: before them there may be nothing but a clip.
    of, site, learnt = of_gate(tmp_path, summary(ago(200), SAVED), history((ago(100), True, True)))
    assert of.verdict == "longer"
    assert learnt.rates["mean_basis"].iloc[0] == site.rates["mean_basis"].iloc[0] == "listed"


def test_footage_that_may_be_one_clip_is_not_told_as_what_is_asked(tmp_path):
    # Two days are asked; 200 h may be one clip and two hours.
    files = {"Gate": soap(summary(ago(200), SAVED))}
    told = told_of(tmp_path, files)
    assert told.against_asked[0] == ""
    row = told.showing(shown="planned and achieved").table.set_index("Camera").loc["Gate"]
    assert row["Achieved, days"] == "8.3, or less if the oldest is one clip"
    assert row["Asked, days"] == "2: open"
    action = next(of for of in told.actions if of.camera == "Gate")
    assert (
        "If its history shows that its oldest footage is no single clip, correct the lists: mean_mbit_s" in action.what
    )
    asked = tmp_path / "asked"  # 20 days are more than it can hold in any case
    asked.mkdir()
    assert told_of(asked, files, site=SITE.replace("days = 2", "days = 20")).against_asked[0] == "less than asked"


def test_a_history_of_the_last_part_is_to_be_saved_again_from_the_oldest_footage_on(tmp_path):
    # 200 h, of which the history covers 100.
    told = told_of(tmp_path, {"Gate": soap(summary(ago(200), SAVED), history((ago(100), True, True)))})
    action = next(of for of in told.actions if of.camera == "Gate")
    assert "Save its history from its oldest footage on: " in action.what


def test_without_a_history_what_is_learnt_may_be_rate_or_recorded_part(tmp_path):
    of, _, _ = of_gate(tmp_path, summary(ago(20 * DAY), SAVED), camera="Yard")
    assert learnt_words(of) == "rate or recorded part, which no history tells apart"


def test_a_clip_that_the_history_shows_apart_is_left_out(tmp_path):
    # 1 h of footage of 600 days ago, then 100 h, which is what was planned.
    first = (ago(600 * DAY), True, False), (ago(600 * DAY - 1), False, False)
    of, _, _ = of_gate(tmp_path, summary(ago(600 * DAY), SAVED), history(*first, (ago(100), True, False)))
    assert of.verdict == "as planned"
    assert of.achieved.hours == 100
    (why,) = (plain(text) for text in of.why)
    assert why.startswith("1 older clip apart from the rest, which may be locked against overwriting, or nothing was")
    assert why.endswith("recorded for 596 days")


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
    table = told.showing(shown="planned and achieved").table.set_index("Camera")["Asked, days"]
    assert table["Gate"] == "4: less"
    assert table["Yard"] == "at most 5: longer"
    assert table["Door"] == "4: open"
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
    assert list(table.columns) == ["Hour of the day", "Gate (UTC), until 2026-11-20 09:30"]
    percents = [text.rstrip("%").strip() for text in table.iloc[:, 1]]
    assert percents == ["0"] * 6 + ["100"] * 18 + ["75"]  # five nights of 6 h in 120 h
    assert table["Hour of the day"].iloc[-1] == "all hours"


def test_the_hours_and_the_part_recorded_have_one_end_the_clock_of_the_camera(tmp_path):
    # On events, 48 h ago to now by its clock; recorded are 48 to 24 h ago, then nothing: half of 48 h. To the newest
    # footage it would be all of 24 h. Each hour of the day is seen twice, and recorded once.
    changes = (ago(48), True, False), (ago(24), False, False)
    told = told_of(tmp_path, {"Yard": soap(summary(ago(48), ago(24)), history(*changes), clock(SAVED))})
    of = told.held[1]
    assert of.achieved.recorded_part == pytest.approx(0.5)
    assert plain(of.why[0]).startswith("records 50 % of the time until 2026-11-20 09:30 UTC, planned 18 %")
    table = told.showing(shown="recorded by hour of the day").table
    assert [plain(text) for text in table["Yard (UTC), until 2026-11-20 09:30"]] == ["50 %"] * 25


ZONED = "".join(
    f"{row},{zone}\n" for row, zone in zip(CAMERAS.split(), ("time_zone", "Europe/Berlin", "", ""), strict=True)
)


def test_times_are_told_in_the_zone_of_the_camera_and_else_in_utc(tmp_path):
    # In November Berlin is an hour ahead of UTC: three gaps from 23:58 UTC are from 00:58 there, of the day after.
    nights = [
        (SAVED.replace(hour=hour, minute=58) - timedelta(days=day - is_there), is_there, False)
        for day in (5, 4, 3)
        for hour, is_there in ((23, False), (5, True))
    ]
    text = soap(summary(ago(130), SAVED), history(*nights))
    told = told_of(tmp_path, {"Gate": text, "Door": text}, cameras=ZONED, log=LOG_OF_2025)
    gaps = told.showing(shown="gaps in the recording").table.set_index("Camera")
    assert list(gaps.columns) == ["Time zone", "From (its time zone)", "Until (its time zone)", "Hours"]
    assert gaps.loc["Gate"].iloc[0].tolist() == ["Europe/Berlin", "2026-11-16 00:58", "2026-11-16 06:58", "6"]
    assert gaps.loc["Door"].iloc[0].tolist() == ["UTC", "2026-11-15 23:58", "2026-11-16 05:58", "6"]
    alone = tmp_path / "alone"
    alone.mkdir()
    of_gate_alone = told_of(alone, {"Gate": text}, cameras=ZONED).showing(shown="gaps in the recording").table
    assert list(of_gate_alone.columns) == ["Camera", "From (Europe/Berlin)", "Until (Europe/Berlin)", "Hours"]
    what = {of.camera: of.what for of in told.actions}
    assert "at about 01:00 Europe/Berlin each time" in what["Gate"]
    assert "at about 00:00 UTC each time" in what["Door"]
    assert plain(told.held[0].why[0]).endswith("until 2026-11-20 10:30 Europe/Berlin")
    hours = told.showing(shown="recorded by hour of the day").table.columns
    assert set(hours[1:]) == {
        "Gate (Europe/Berlin), until 2026-11-20 10:30",
        "Door (UTC), until 2026-11-20 09:30",
    }
    written = told.gaps.iloc[0]
    assert (written["from_utc"], written["from_local"]) == ("2026-11-15 23:58", "2026-11-16 00:58")


def test_each_column_of_planned_and_achieved_has_one_unit_in_its_heading(tmp_path):
    # The Gate's card of 90 GB holds 36 h: 1.5 days; planned 100 h are 4.2 days (75.9 to 131.75 h: 3.2 to 5.5).
    told = told_of(tmp_path, {"Gate": soap(summary(ago(36), SAVED))})
    table = told.showing(shown="planned and achieved").table
    row = table.set_index("Camera").loc["Gate"]
    assert row[["Planned, days", "Achieved, days", "Asked, days"]].tolist() == ["4.2 (3.2 to 5.5)", "1.5", "2: less"]
    for heading in ("Planned, days", "Achieved, days", "Asked, days"):
        assert not any(unit in cell for cell in table[heading] for unit in ("day", "hour", "min", " h"))


def test_the_mean_of_the_plan_and_the_mean_expected_have_names_that_tell_them_apart(tmp_path):
    # Without a listed mean the plan takes the cap of 8; the mean expected is what is likely below it.
    files = {"Gate": soap(summary(ago(50), SAVED))}
    told = told_of(tmp_path, files, cameras=CAMERAS.replace("Gate,2,8", "Gate,,8"))
    planned = told.showing(shown="planned and achieved").table.set_index("Camera")
    learnt = told.showing(shown="what was learnt of the rates").table.set_index("Camera")
    assert planned.loc["Gate", "Mean of the plan, or its cap, Mbit/s"] == "8"
    assert float(learnt.loc["Gate", "Mean expected before the answers, Mbit/s"].split()[0]) < 8
    assert not {
        name for name in (*planned.columns, *learnt.columns) if name.startswith(("Mean planned", "Mean before"))
    }
