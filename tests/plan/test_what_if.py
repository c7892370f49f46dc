"""Two plans side by side: only the differences."""

import pandas as pd
import pytest

from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.settings import Costs, Settings
from edgestore.plan.evidence import no_evidence
from edgestore.plan.requirements import Requirements
from edgestore.plan.site import Site
from edgestore.plan.site_plan import site_plan
from edgestore.plan.what_if import what_if

CARDS = read_cards(b"card,capacity_gb,speed_class,endurance_tbw,price\nsmall,16,C10,500,5\nmiddle,64,C10,500,10\n").rows
COSTS = Costs(visit_price=60, visit_with_lift_price=260, currency="credits")
A, B = "a,1,4", "b,1,4"


def plan(*rows: str, days=1.0, years=2.0, costs=COSTS, kinds="camera"):
    listed = read_cameras("\n".join(["camera,mean_mbit_s,cap_mbit_s", *rows]).encode()).rows
    wanted = Requirements(days, years, 1)
    return site_plan(Site(listed, CARDS, no_evidence(listed), wanted, Settings(costs=costs)), kinds)


def test_a_plan_against_itself_has_no_difference():
    same = what_if(plan(A, B), plan(A, B))
    assert same.table.empty
    # 5 x (5 + 60) a camera
    assert same.sentence == ("0 cameras of 2 change card; the cost stays in 10 years, from 650 credits to 650 credits.")


def test_more_days_change_the_card_and_only_what_differs_is_told():
    # 1 Mbit/s is 10.8 GB a day: 16 GB hold 1.48 days, 64 GB 5.9; a middle card costs 5 more, five times in 10 years
    answer = what_if(plan(A), plan(A, days=2))
    assert answer.table.to_numpy().tolist() == [
        ["a", "wanted_retention_days", "1", "2"],
        ["a", "card", "small", "middle"],
        ["a", "retention_days", "1.5", "5.9"],
        ["a", "cost", "325", "350"],
    ]
    assert answer.sentence == (
        "1 camera of 1 changes card; cost +25 credits in 10 years, from 325 credits to 350 credits."
    )


def test_a_camera_that_is_not_served_any_more_is_told_once():
    answer = what_if(plan(A, B), plan(A, B, days=9))
    assert answer.table["what"].tolist() == ["wanted_retention_days", "card"] * 2
    assert answer.table["after"].tolist() == ["9", "none"] * 2
    assert "2 cameras of 2 change card, 0 are served in place of 2; cost -650 credits" in answer.sentence


def test_cameras_in_one_list_alone_are_named_in_the_order_of_the_lists():
    answer = what_if(plan(B, A), plan("c,1,4", A))
    assert answer.table.to_numpy().tolist() == [["b", "in the list", "yes", "no"], ["c", "in the list", "no", "yes"]]


def test_unlike_costs_are_not_compared():
    assert what_if(plan(A), plan(A, costs=None)).sentence == "0 cameras of 1 change card."
    for other in (Costs(60, 260, horizon_years=5, currency="credits"), Costs(60, 260, currency="crowns")):
        assert what_if(plan(A), plan(A, costs=other)).sentence.endswith(
            "unlike horizons or currencies and not compared."
        )


@pytest.mark.parametrize("kinds", ["group", "site", 2])
def test_the_differences_rebuild_the_other_plan(kinds):
    rows = [f"camera {n},{1 + n % 4},{8}" for n in range(9)]
    one, other = plan(*rows), plan(*rows, kinds=kinds)
    changed = what_if(one, other).table.query("what == 'card'").set_index("camera")["after"]
    cards = one.plan.set_index("camera")["card"].replace("", "none")
    cards.update(changed)
    pd.testing.assert_series_equal(cards, other.plan.set_index("camera")["card"].replace("", "none"))
