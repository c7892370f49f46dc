"""The curve of assurance is the plan at each assurance, and more of it never assures more cameras."""

from dataclasses import replace

import pytest
from test_invariants import made

from edgestore.plan.assurance_curve import assurance_curve
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
    assert curve.asked == 0.9
    assert curve.sentence.startswith("With 50\N{NO-BREAK SPACE}% ")
    assert f"with 99\N{NO-BREAK SPACE}% {curve.table['assured'].iloc[-1]} of 4 cameras" in curve.sentence
