"""What a camera asks of its card: its own number before its group's, that before the site's."""

import csv
import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.__main__ import main
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.settings import Settings
from edgestore.plan.evidence import no_evidence
from edgestore.plan.requirements import WANTED, Requirements
from edgestore.plan.site import Site

HEADER = "camera,cap_mbit_s,group,retention_days,life_years,retention_days_max,assurance"
SITE = Requirements(7, 3, 10)


def cameras(*rows: str) -> pd.DataFrame:
    return read_cameras("\n".join([HEADER, *rows]).encode()).rows


def asked_of(listed: pd.DataFrame, requirements: Requirements, groups=None) -> pd.DataFrame:
    return Site(listed, pd.DataFrame(), no_evidence(listed), requirements, Settings(groups=groups or {})).wanted


def test_a_camera_goes_before_its_group_and_the_group_before_the_site():
    listed = cameras("a,4,,,,,", "b,4,quay,,,,", "c,4,quay,21,,,", "d,4,hall,,5,30,")
    wanted = asked_of(listed, SITE, {"quay": {"retention_days": 14.0, "speed_margin": 8.0}})
    assert wanted["retention_days"].tolist() == [7, 14, 21, 7]
    assert wanted["retention_days_from"].tolist() == ["site", "group quay", "camera", "site"]
    assert wanted["life_years"].tolist() == [3, 3, 3, 5]
    assert wanted["speed_margin"].tolist() == [10, 8, 8, 10]
    assert wanted["speed_margin_from"].tolist() == ["site", "group quay", "group quay", "site"]
    assert wanted["retention_days_max"].isna().tolist() == [True, True, True, False]
    assert wanted["retention_days_max"][3] == 30


def test_without_groups_and_numbers_of_their_own_all_cameras_ask_what_the_site_asks():
    wanted = asked_of(cameras("a,4,quay,,,,", "b,4,,,,,"), Requirements(5, 2, 8, 30, 0.8))
    assert wanted[list(WANTED)].to_numpy().tolist() == [[5, 2, 8, 30, 0.8]] * 2
    assert (wanted[[f"{name}_from" for name in WANTED]] == "site").all(axis=None)


def test_all_groups_and_cameras_that_want_more_than_they_may_hold_are_told_together():
    listed = cameras("a,4,hall,,,,", "b,4,yard,40,,,", "c,4,,,,5,")
    groups = {"hall": {"retention_days_max": 3.0}, "yard": {"retention_days_max": 30.0}, "gate": {"life_years": -1.0}}
    with pytest.raises(InputError, match="group hall") as caught:
        asked_of(listed, SITE, groups)
    assert [(fault.where, fault.found, fault.allowed) for fault in caught.value.faults] == [
        ("group hall, retention_days_max", "3 days", "7 days or more, the retention wanted"),
        ("group gate, life_years", "-1 years", "0.001 or more and at most 10000 years"),
        (
            "camera 'b', retention_days_max",
            "30 days (by the group yard)",
            "40 days or more, the retention wanted (by the camera)",
        ),
        (
            "camera 'c', retention_days_max",
            "5 days (by the camera)",
            "7 days or more, the retention wanted (by the site)",
        ),
    ]


@given(
    st.lists(st.tuples(st.sampled_from(["", "x", "y"]), st.none() | st.floats(0.5, 90)), min_size=1, max_size=6),
    st.dictionaries(st.sampled_from(["x", "y", "z"]), st.floats(0.5, 90), max_size=3),
    st.floats(0.5, 90),
)
def test_the_narrowest_that_asks_is_the_one_that_counts(rows, groups, of_site):
    listed = cameras(*(f"camera {n},4,{group},{days or ''},,," for n, (group, days) in enumerate(rows)))
    asked = {group: {"retention_days": days} for group, days in groups.items()}
    wanted = asked_of(listed, Requirements(of_site), asked)
    for (group, days), value in zip(rows, wanted["retention_days"], strict=True):
        assert math.isclose(value, days or groups.get(group) or of_site)


@pytest.mark.parametrize("name", ["retention_days", "life_years", "speed_margin"])
def test_a_requirement_too_small_to_mean_anything_is_refused_by_its_own_name(name):
    with pytest.raises(InputError, match=rf"^{name}: is 1e-320.*must be 0.001 or more"):
        Requirements(**{name: 1e-320})


def test_the_assurance_of_a_camera_goes_before_that_of_its_group_and_that_before_the_site():
    listed = cameras("a,4,,,,,", "b,4,quay,,,,", "c,4,quay,,,,0.6", "d,4,,,,,0.99", "e,4,hall,,,,")
    wanted = asked_of(listed, Requirements(assurance=0.8), {"quay": {"assurance": 0.95}, "hall": {"life_years": 5.0}})
    assert wanted["assurance"].tolist() == [0.8, 0.95, 0.6, 0.99, 0.8]
    assert wanted["assurance_from"].tolist() == ["site", "group quay", "camera", "camera", "site"]


def test_nine_in_ten_is_asked_where_nothing_states_an_assurance():
    assert asked_of(cameras("a,4,,,,,"), Requirements())["assurance"].tolist() == [0.9]


@pytest.mark.parametrize("chance", [90, 0.4999, 0.9901, math.nan])
def test_an_assurance_out_of_bounds_is_refused_for_the_site_and_named_for_a_group(chance):
    with pytest.raises(InputError, match=r"^assurance: is .*must be 0\.5 or more and at most 0\.99"):
        Requirements(assurance=chance)
    with pytest.raises(InputError, match=r"^group quay, assurance: is .*must be 0\.5 or more and at most 0\.99"):
        asked_of(cameras("a,4,quay,,,,"), SITE, {"quay": {"assurance": chance}})


CARDS = "card,capacity_gb,speed_class,endurance_tbw\nc,512,V30,1000\n"
LISTED = f"{HEADER}\na,4,,,,,\nb,4,quay,,,,\nc,4,quay,,,,0.6\n"
SETTINGS = "[requirements]\nassurance = 0.85\n[groups.quay]\nassurance = 0.95\n"


def planned(folder, *options: str) -> tuple[int, list[dict[str, str]]]:
    for name, text in (("cameras.csv", LISTED), ("cards.csv", CARDS), ("site.toml", SETTINGS)):
        (folder / name).write_text(text)
    listed, cards, settings, out = (str(folder / name) for name in ("cameras.csv", "cards.csv", "site.toml", "plan"))
    code = main(["plan", listed, "--cards", cards, "--settings", settings, "--out", out, *options])
    return code, list(csv.DictReader((folder / "plan" / "plan.csv").read_text().splitlines())) if code == 0 else []


def test_the_command_line_states_the_assurance_of_the_site_and_of_no_group_or_camera_that_states_its_own(tmp_path):
    code, rows = planned(tmp_path)
    assert code == 0
    assert [row["wanted_assurance"] for row in rows] == ["0.85", "0.95", "0.6"]
    code, rows = planned(tmp_path, "--assurance", "0.7")
    assert code == 0
    assert [row["wanted_assurance"] for row in rows] == ["0.7", "0.95", "0.6"]
    assert {row["override"] for row in rows} == {
        "Set otherwise than in site.toml: assurance 70\N{NO-BREAK SPACE}% (the file: 85\N{NO-BREAK SPACE}%)."
    }


def test_an_assurance_in_percent_on_the_command_line_is_refused_and_nothing_is_written(tmp_path, capsys):
    code, _ = planned(tmp_path, "--assurance", "90")
    assert code == 2
    told = capsys.readouterr().err
    assert "assurance: is 90; must be 0.5 or more and at most 0.99" in told
    assert "A percentage is divided by 100" in told
    assert not (tmp_path / "plan").exists()
