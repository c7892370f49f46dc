"""What knowing a mean changes, camera by camera, against hand arithmetic."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.plan.evidence import no_evidence
from edgestore.plan.requirements import Requirements
from edgestore.plan.site import Site
from edgestore.plan.site_plan import SitePlan, site_plan

whole_plans = settings(max_examples=settings.default.max_examples // 4)

EASY = Requirements(retention_days=1, life_years=1, speed_margin=1)
CARDS = ("small,16,C10,100", "middle,64,C10,100", "large,256,C10,400")
EMPTY = ["mean_over_cap", "capacity_gb_at_cap", "retention_days_at_cap", "life_years_at_cap"]


def cameras(*rows: str) -> pd.DataFrame:
    return read_cameras("\n".join(["camera,mean_mbit_s,cap_mbit_s,scene,deletes_by_age", *rows]).encode()).rows


def cards(*rows: str) -> pd.DataFrame:
    return read_cards("\n".join(["card,capacity_gb,speed_class,endurance_tbw", *rows]).encode()).rows


def plan(*rows: str, wanted: Requirements = EASY, offer: tuple[str, ...] = CARDS, **said: float) -> SitePlan:
    listed = cameras(*rows)
    return site_plan(Site(listed, cards(*offer), no_evidence(listed).assign(**said), wanted))


A_WEEK = {"measured_h": 168, "measured_hours": 24, "measured_days": 7}


def test_a_measured_mean_is_set_against_the_cap():
    row = plan("gate,,3,,", measured_mbit_s=0.31, **A_WEEK).plan.iloc[0]
    mean = row["planned_mbit_s"]  # a week of footage all but replaces what was known before
    assert mean == pytest.approx(0.31, rel=0.02)
    assert row["card"] == "small"  # 16 / (0.31 x 10.8) = 4.78 days
    assert row["mean_over_cap"] == pytest.approx(mean / 3)
    assert row["card_at_cap"] == "middle"  # by the cap 16 GB would hold 16 / 32.4 = 0.49 days, 64 GB 1.98
    assert row["capacity_gb_at_cap"] == 64
    assert row["retention_days_at_cap"] == pytest.approx(16 / (3 * 0.45 * 24))
    assert row["life_years_at_cap"] == pytest.approx(100 / (3 * 0.45 * 24 * 365.25 / 1000))
    # 3 / 0.31 = 9.677, and a little less for a mean that is taken a little higher
    assert row["against_cap"] == (
        "measured 0.31 of 3 Mbit/s: holds 9.6 times as long as the cap says;"
        " if only the cap were known, the plan would choose middle"
    )


def test_of_little_footage_both_what_it_measured_and_what_is_planned_with_are_told():
    row = plan("gate,,3,,", measured_mbit_s=0.31, measured_h=0.02).plan.iloc[0]
    assert row["planned_mbit_s"] > 0.4
    told = f"{row['planned_mbit_s']:.2g}"
    assert row["against_cap"].startswith(f"measured 0.31, taken as {told} of 3 Mbit/s: holds ")


def test_the_card_by_the_cap_is_the_one_of_a_list_that_knows_the_cap_alone():
    known, alone = (plan(f"gate,{mean},8,busy,no", wanted=Requirements(2, 1, 1)).plan for mean in ("1.5", ""))
    assert known["card"][0] == "middle"  # 64 / (1.5 x 10.8) = 3.95 days
    assert known["card_at_cap"][0] == alone["card"][0] == "large"  # 64 / 86.4 = 0.74, 256 / 86.4 = 2.96 days


def test_policy_is_asked_of_the_cap_with_the_range_of_the_scene():
    # By the cap alone a quiet scene may be at 0.077 of it: 16 / (0.077 x 8 x 10.8) = 2.4 days, more than 2 allowed;
    # at a mean of 4 it is 16 / 43.2 = 0.37 days.
    wanted = Requirements(0.1, 1, 1, retention_days_max=2)
    row = plan("gate,4,8,quiet,no", wanted=wanted, offer=CARDS[:1]).plan.iloc[0]
    assert (row["card"], row["card_at_cap"]) == ("small", "none")
    assert row["against_cap"].endswith("if only the cap were known, no card of the list would be assured")
    assert np.isnan(row["capacity_gb_at_cap"])


def test_the_same_card_is_said_to_be_the_same():
    row = plan("gate,3.5,4,,", offer=CARDS[1:]).plan.iloc[0]
    assert row["card"] == row["card_at_cap"] == "middle"
    assert row["against_cap"] == (
        "listed 3.5 of 4 Mbit/s: holds 1.1 times as long as the cap says;"
        " if only the cap were known, the plan would choose the same card"
    )


def test_a_camera_that_no_card_serves_is_compared_without_figures_of_a_card():
    row = plan("gate,40,80,,", wanted=Requirements(30, 1, 1)).plan.iloc[0]
    assert row["mean_over_cap"] == pytest.approx(0.5)
    assert row[EMPTY[1:]].isna().all()
    assert "holds 2 times as long as the cap says; if only the cap were known, no card" in row["against_cap"]


@pytest.mark.parametrize(
    ("row", "said", "why"),
    [
        ("gate,,4,,", {}, "no mean is known: days and life are computed at the cap"),
        ("gate,2,,,", {}, "no cap is known"),
        ("gate,4,4,,", {}, "the mean is at the cap"),
        ("gate,,4,,", {"measured_mbit_s": 4.5, **A_WEEK}, "the mean is at the cap"),
        ("gate,,4,,", {"described_mean_mbit_s": 4.0}, "the mean is at the cap"),
    ],
)
def test_where_there_is_nothing_to_compare_the_plan_says_why(row, said, why):
    read = plan(row, **said).plan.iloc[0]
    assert read["against_cap"] == why
    assert read["card_at_cap"] == ""
    assert read[EMPTY].isna().all()


def test_the_table_shows_the_basis_and_the_difference():
    table = plan(
        "gate,,3,,", "yard,,4,,", measured_mbit_s=[0.31, np.nan], described_cap_mbit_s=[np.nan, 4], **A_WEEK
    ).table
    assert table["rate_basis"].tolist() == ["mean measured, cap listed", "mean assumed, cap described"]
    assert table["against_cap"].str.startswith(("measured 0.31 of 3", "no mean is known")).all()


@whole_plans
@given(st.floats(0.05, 0.999), st.floats(0.5, 40), st.floats(0.05, 9), st.floats(0.1, 8))
def test_a_lower_mean_never_asks_for_a_larger_card_than_its_cap(share, cap, days, years):
    # 4000 GB hold 40 Mbit/s for 9.3 days and take 100 000 TB, at 158 TB a year in 633 years: some card serves the cap.
    offer = (*CARDS, "huge,1000,V90,100000", "largest,4000,V90,100000")
    row = plan(f"gate,{share * cap:.4f},{cap:.4f},,yes", wanted=Requirements(days, years, 1), offer=offer).plan.iloc[0]
    assert row["meets"]
    assert row["capacity_gb"] <= row["capacity_gb_at_cap"]
    assert row["retention_days"] >= row["retention_days_at_cap"]
    assert row["life_years"] >= row["life_years_at_cap"]


@whole_plans
@given(st.floats(0.05, 0.999), st.floats(0.5, 40))
def test_retention_and_life_at_the_cap_are_those_of_the_mean_times_mean_over_cap(share, cap):
    row = plan(f"gate,{share * cap:.4f},{cap:.4f},,no", offer=("huge,4000,V90,100000",)).plan.iloc[0]
    assert row["retention_days_at_cap"] == pytest.approx(row["retention_days"] * row["mean_over_cap"])
    assert row["life_years_at_cap"] == pytest.approx(row["life_years"] * row["mean_over_cap"])
