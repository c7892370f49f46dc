"""The curve of assurance is the plan at each assurance, and more of it never assures more cameras."""

from dataclasses import replace

import numpy as np
import pytest
from test_invariants import made

from edgestore.inputs.settings import Settings
from edgestore.plan.assurance_curve import assurance_curve, site_chances
from edgestore.plan.site_plan import site_plan

ROWS = ["1,4,busy,,no", ",4,quiet,,no", "3,8,noisy night,,yes", "0.2,4,quiet,32,no"]
OFFER = ["32,C10 V30,20,,,,10", "128,C10 V30,300,,,,40", "512,C10 V30,3000,,,,130"]


@pytest.mark.parametrize("level", [0.5, 0.9, 0.95])
def test_a_point_of_the_curve_is_the_plan_with_that_assurance(level):
    site = made(ROWS, OFFER)
    row = assurance_curve(site, [level]).table.iloc[0]
    plan = site_plan(replace(site, requirements=replace(site.requirements, assurance=level))).plan
    assert row["assured"] == plan["meets"].sum()
    assert row["cost"] == pytest.approx(plan["cost"].sum())


def test_more_assurance_never_assures_more_and_the_sentence_names_both_ends():
    curve = assurance_curve(made(ROWS, OFFER))
    assert curve.table["assured"].is_monotonic_decreasing
    assert curve.sentence.startswith("With 50\N{NO-BREAK SPACE}% ")
    assert f"with 99\N{NO-BREAK SPACE}% {curve.table['assured'].iloc[-1]} of 4 cameras" in curve.sentence


@pytest.mark.parametrize("kinds", ["camera", "group", "site", 2])
@pytest.mark.parametrize("costs", [True, False])
def test_what_is_kept_of_a_site_chooses_at_every_assurance_the_cards_of_the_plan(kinds, costs):
    site = made(ROWS, OFFER)
    site = replace(site, cameras=site.cameras.assign(group=["a", "a", "b", ""]))
    if not costs:
        site = replace(site, settings=Settings())
    kept = site_chances(site)
    for level in (0.5, 0.8, 0.9, 0.95):
        choice = kept.at(level, kinds)
        asked = replace(site, requirements=replace(site.requirements, assurance=level))
        plan = site_plan(asked, kinds).plan
        names = [site.offered["card"].iloc[card] if card >= 0 else "" for card in choice.chosen]
        assert names == plan["card"].tolist()
        assert choice.state.tolist() == plan["state"].tolist()
        if costs:
            assert choice.cost == pytest.approx(plan["cost"].to_numpy(float), nan_ok=True)


def test_a_camera_that_asks_for_an_assurance_of_its_own_keeps_it():
    site = made(ROWS, OFFER)
    own = replace(site, cameras=site.cameras.assign(assurance=[0.6, np.nan, np.nan, np.nan]))
    choice, plan = site_chances(own).at(0.95), site_plan(own).plan
    assert choice.state[0] == plan["state"][0] == "assured"
    assert choice.chosen[0] == site_chances(site).at(0.6).chosen[0]
    strict = site_plan(replace(own, requirements=replace(own.requirements, assurance=0.95))).plan
    assert choice.state.tolist() == strict["state"].tolist()


def test_other_requirements_of_the_same_lists_take_over_what_does_not_depend_on_them():
    site = made(ROWS, OFFER)
    before = site_chances(site)
    days, years = (
        before.site.asking(replace(site.requirements, **{name: 4})) for name in ("retention_days", "life_years")
    )
    assert site_chances(days, before).works is before.works
    for other in (days, years):
        fresh, taken = site_chances(other).at(0.9), site_chances(other, before).at(0.9)
        assert taken.chosen.tolist() == fresh.chosen.tolist()
        assert taken.cost == pytest.approx(fresh.cost, nan_ok=True)
