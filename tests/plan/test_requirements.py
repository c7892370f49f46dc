"""What a camera asks of its card: its own number before its group's, that before the site's."""

import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.settings import Settings
from edgestore.plan.evidence import no_evidence
from edgestore.plan.requirements import WANTED, Requirements
from edgestore.plan.site import Site

HEADER = "camera,cap_mbit_s,group,retention_days,life_years,retention_days_max"
SITE = Requirements(7, 3, 10)


def cameras(*rows: str) -> pd.DataFrame:
    return read_cameras("\n".join([HEADER, *rows]).encode()).rows


def asked_of(listed: pd.DataFrame, requirements: Requirements, groups=None) -> pd.DataFrame:
    return Site(listed, pd.DataFrame(), no_evidence(listed), requirements, Settings(groups=groups or {})).wanted


def test_a_camera_goes_before_its_group_and_the_group_before_the_site():
    listed = cameras("a,4,,,,", "b,4,quay,,,", "c,4,quay,21,,", "d,4,hall,,5,30")
    wanted = asked_of(listed, SITE, {"quay": {"retention_days": 14.0, "speed_margin": 8.0}})
    assert wanted["retention_days"].tolist() == [7, 14, 21, 7]
    assert wanted["retention_days_from"].tolist() == ["site", "group quay", "camera", "site"]
    assert wanted["life_years"].tolist() == [3, 3, 3, 5]
    assert wanted["speed_margin"].tolist() == [10, 8, 8, 10]
    assert wanted["speed_margin_from"].tolist() == ["site", "group quay", "group quay", "site"]
    assert wanted["retention_days_max"].isna().tolist() == [True, True, True, False]
    assert wanted["retention_days_max"][3] == 30


def test_without_groups_and_numbers_of_their_own_all_cameras_ask_what_the_site_asks():
    wanted = asked_of(cameras("a,4,quay,,,", "b,4,,,,"), Requirements(5, 2, 8, 30))
    assert wanted[list(WANTED)].to_numpy().tolist() == [[5, 2, 8, 30]] * 2
    assert (wanted[[f"{name}_from" for name in WANTED]] == "site").all(axis=None)


def test_all_groups_and_cameras_that_want_more_than_they_may_hold_are_told_together():
    listed = cameras("a,4,hall,,,", "b,4,yard,40,,", "c,4,,,,5")
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
    listed = cameras(*(f"camera {n},4,{group},{days or ''},," for n, (group, days) in enumerate(rows)))
    asked = {group: {"retention_days": days} for group, days in groups.items()}
    wanted = asked_of(listed, Requirements(of_site), asked)
    for (group, days), value in zip(rows, wanted["retention_days"], strict=True):
        assert math.isclose(value, days or groups.get(group) or of_site)


@pytest.mark.parametrize("name", ["retention_days", "life_years", "speed_margin"])
def test_a_requirement_too_small_to_mean_anything_is_refused_by_its_own_name(name):
    with pytest.raises(InputError, match=rf"^{name}: is 1e-320.*must be 0.001 or more"):
        Requirements(**{name: 1e-320})
