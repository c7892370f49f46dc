"""The page for a phone says what the plan counts on, of each camera, and has a name that every file system takes."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
import textstat
from pages_of_guides import data_of, words_of

from edgestore.__main__ import main
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.training.fitting.guide import FACINGS, SLOTS, WORKS
from edgestore.training.fitting.handouts import phone_page, safe_names, write_phone_pages
from edgestore.training.fitting.phone import phone_data
from edgestore.training.fitting.planned import planned_cameras

CARDS = b"card,capacity_gb,speed_class,endurance_tbw\nplain,128,C10 V30,600\n"
CAMERAS = (
    b"camera,place,housing,cap_mbit_s,recording,events_per_h,event_s,pre_roll_s,post_roll_s,deletes_by_age,lift,"
    b"retention_days,retention_days_max\n"
    b"Quay,the quay,bullet,4,continuous,,,,,no,yes,2,\n"
    b"Gate,the gate,dome,4,motion,30,12,5,10,yes,no,2,30\n"
    b"Mast,,,4,continuous,,,,,no,no,90,\n"
)
GRADE_6 = 6
"""School grade at which the page is to be read (issue 16)."""


@pytest.fixture(scope="module")
def cameras(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    (folder / "cameras.csv").write_bytes(CAMERAS)
    (folder / "cards.csv").write_bytes(CARDS)
    site = read_lists(folder / "cameras.csv", folder / "cards.csv", None)
    return {camera.camera: camera for camera in planned_cameras(site_plan(site, with_reasons=False))}


def test_a_camera_is_told_its_card_with_capacity_and_marks_and_how_many_to_bring(cameras):
    assert cameras["Quay"].says == "plain (128 GB, marks C10 V30)"
    assert (cameras["Quay"].bring, cameras["Quay"].lift) == (1, True)


def test_the_row_of_a_camera_keeps_the_part_of_its_card_that_locked_clips_hold_where_there_is_one(tmp_path):
    (tmp_path / "cameras.csv").write_text("camera,cap_mbit_s,locked_fraction\nQuay,4,\nGate,4,0.25\n")
    (tmp_path / "cards.csv").write_bytes(CARDS)
    plan = site_plan(read_lists(tmp_path / "cameras.csv", tmp_path / "cards.csv", None), with_reasons=False)
    assert [camera.row.get("locked_fraction") for camera in planned_cameras(plan)] == [None, "0.25"]


@pytest.mark.parametrize(
    ("language", "stay", "release"),
    [
        (
            "en",
            "25\u00a0% of the usable space at most; they are not deleted by age: release each in time",
            "25\u00a0% of the usable space at most; release each that is no longer needed",
        ),
        (
            "de",
            "höchstens 25\u00a0% des nutzbaren Platzes; nach Alter werden sie nicht gelöscht: jeden rechtzeitig "
            "freigeben",
            "höchstens 25\u00a0% des nutzbaren Platzes; jeden freigeben, der nicht mehr gebraucht wird",
        ),
    ],
)
def test_where_clips_are_locked_the_hand_out_says_that_deleting_by_age_leaves_them(tmp_path, language, stay, release):
    rows = "camera,cap_mbit_s,locked_fraction,deletes_by_age,retention_days_max\nQuay,4,0.25,yes,14\nGate,4,0.25,,\n"
    (tmp_path / "cameras.csv").write_text(f"{rows}Mast,4,,yes,14\n")
    (tmp_path / "cards.csv").write_bytes(CARDS)
    plan = site_plan(read_lists(tmp_path / "cameras.csv", tmp_path / "cards.csv", None), with_reasons=False)
    told = [{of.key: of.value for of in camera.settings} for camera in planned_cameras(plan, language)]
    assert [of.get("locked") for of in told] == [stay, release, None]


def test_a_camera_that_no_card_serves_brings_none_and_its_page_has_no_way_on(cameras):
    # 90 days at 4 Mbit/s are 90 * 24 * 0.45 * 4 = 3888 GB; the card has 128.
    mast = cameras["Mast"]
    assert (mast.bring, mast.card, mast.housing) == (0, "", "other")
    assert mast.why_none
    assert data_of(phone_page("other", mast))["planned"]["bring"] == 0


def test_the_settings_are_those_that_the_plan_counts_on(cameras):
    told = {setting.key: setting.value for setting in cameras["Gate"].settings}
    # 30 events an hour of 12 s, each with 5 s before and 10 s after, at random: 1 - exp(-30 * 27 / 3600) = 0.2015.
    assert list(told) == ["housing", "cap", "recording", "pre_roll_s", "post_roll_s", "overwrite", "days", "alarm"]
    assert told["cap"] == "4"
    assert told["recording"] == "on motion, some 20\u00a0% of the time"
    assert (told["pre_roll_s"], told["post_roll_s"]) == ("5 s", "10 s")
    assert told["days"] == "delete footage older than 30 days"
    assert [setting.key for setting in cameras["Quay"].settings] == [
        "housing",
        "cap",
        "recording",
        "overwrite",
        "alarm",
    ]


def test_every_way_through_stands_in_one_file_and_names_its_steps_by_number(cameras):
    data = phone_data("bullet", cameras["Quay"])
    assert len(data["ways"]) == len(WORKS) * len(SLOTS) * len(FACINGS)
    used = {number for way in data["ways"].values() for number in way}
    assert used == set(range(len(data["steps"])))
    named = {key for step in data["steps"] for key in step["pictures"]}
    assert named <= set(data["pictures"])


def test_the_checks_that_steps_do_are_three_and_each_way_that_fits_a_card_has_them():
    data = phone_data("dome")
    for name, way in data["ways"].items():
        done = [data["steps"][at]["check"] for at in way if data["steps"][at]["check"]]
        assert done == (["closed"] if name.startswith("remove") else ["noted", "photographed", "closed"])


def test_data_that_would_end_the_script_cannot():
    hostile = "</script><script>alert(1)</script><!--"
    planned = data_of(phone_page("dome"))
    assert planned["planned"] is None
    camera = replace(_any_camera(), camera=hostile, place=hostile)
    html = phone_page("dome", camera)
    assert html.count("</script>") == 2
    assert data_of(html)["planned"]["camera"] == hostile
    assert "<title>Fit a memory card: &lt;/script&gt;" in html


def _any_camera():
    from edgestore.training.fitting.planned import PlannedCamera

    return PlannedCamera("Quay", "", "dome", False, "plain", "plain: 128 GB", 1, "", (), {"camera": "Quay"})


@pytest.mark.parametrize(
    ("cameras", "names"),
    [
        (["../../etc/passwd", "a/b", "a b"], ["etc_passwd", "a_b", "a_b_2"]),
        (["Quay", "quay", "QUAY 2"], ["Quay", "quay_2", "QUAY_2_2"]),
        (["\u6e2f", "\u6e2f\u53e3", "..."], ["camera", "camera_2", "camera_3"]),
        (["nul", "COM1", "x" * 300], ["camera_nul", "camera_COM1", "x" * 80]),
    ],
)
def test_a_file_is_named_after_its_camera_safely_and_no_two_alike(cameras, names):
    assert safe_names(cameras) == names
    assert len({name.lower() for name in names}) == len(names)


@pytest.mark.parametrize("housing", ["ptz dome", "gimbal dome", "box"])
def test_the_page_is_read_at_grade_6(housing):
    assert textstat.flesch_kincaid_grade(words_of(phone_page(housing))) <= GRADE_6


def test_the_command_writes_a_page_for_each_camera_of_a_site(tmp_path, capsys):
    (tmp_path / "cameras.csv").write_bytes(CAMERAS)
    (tmp_path / "cards.csv").write_bytes(CARDS)
    words = ["handouts", str(tmp_path / "cameras.csv"), "--cards", str(tmp_path / "cards.csv"), "--out"]
    assert main([*words, str(tmp_path / "out")]) == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["Gate.html", "Mast.html", "Quay.html"]
    told = capsys.readouterr().out
    assert "3 pages for a phone, one a camera; 2 cards to bring." in told
    assert "Without a card in the plan, and their pages say so and stop: Mast." in told
    assert main([*words, str(tmp_path / "new"), "--housing", "dome"]) == 2
    assert "--housing: found a choice for one housing; allowed: none beside a site" in capsys.readouterr().err
    assert not (tmp_path / "new").exists()


def test_without_a_site_a_folder_to_write_to_is_asked_for(capsys):
    assert main(["handouts"]) == 2
    assert "--out: found nothing" in capsys.readouterr().err


def test_no_path_of_this_machine_stands_in_a_page(cameras, tmp_path):
    written = write_phone_pages([cameras["Quay"]], tmp_path)
    assert str(Path.home()) not in written[0].read_text(encoding="utf-8")
    assert str(tmp_path) not in json.dumps(data_of(written[0].read_text(encoding="utf-8")))
