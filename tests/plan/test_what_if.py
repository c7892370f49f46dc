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

CARDS = read_cards(b"card,capacity_gb,speed_class,endurance_tbw,price\nsmall,16,C10,500,4\nmiddle,64,C10,500,11\n").rows
COSTS = Costs(visit_price=60, visit_with_lift_price=260, currency="credits")
A, B = "a,1,4", "b,1,4"
P = "\N{NO-BREAK SPACE}%"

# Half of these cards would be worn out after 127 years. With a chance of 0.91 they still work at 6 years and not at
# 6.25; changed then, 2.1355 cards and visits are expected in 10 years (arithmetic in test_choice.py): a small card
# costs 2.1355 x (4 + 60) = 136.7 and a middle one 2.1355 x (11 + 60) = 151.6.


def plan(*rows: str, days=1.0, years=2.0, assurance=0.91, costs=COSTS, kinds="camera"):
    listed = read_cameras("\n".join(["camera,mean_mbit_s,cap_mbit_s", *rows]).encode()).rows
    wanted = Requirements(days, years, 1, None, assurance)
    return site_plan(Site(listed, CARDS, no_evidence(listed), wanted, Settings(costs=costs)), kinds)


def test_a_plan_against_itself_has_no_difference():
    same = what_if(plan(A, B), plan(A, B))
    assert same.table.empty
    # 2 x 136.7
    assert same.sentence == ("0 cameras of 2 change card; the cost stays in 10 years, from 273 credits to 273 credits.")


def test_more_days_change_the_card_and_only_what_differs_is_told():
    # 1 Mbit/s is 10.8 GB a day: 16 GB hold 1.48 days, 64 GB 5.9. A mean 1.48 times the listed is exceeded with 2.7 %
    # (10 % above 1.3 times), and 0.962 of cards work at 2 years: 0.973 x 0.962 = 0.936; none is above 2.96 times.
    answer = what_if(plan(A), plan(A, days=2))
    assert answer.table.to_numpy().tolist() == [
        ["a", "wanted_retention_days", "1", "2"],
        ["a", "card", "small", "middle"],
        ["a", "retention_days", "1.5", "5.9"],
        ["a", "chance_kept", f"93{P}", f"96{P}"],
        ["a", "cost", "137", "152"],
    ]
    assert answer.sentence == (
        "1 camera of 1 changes card; cost +15 credits in 10 years, from 137 credits to 152 credits."
    )


def test_a_camera_that_is_not_served_any_more_is_told_by_state_and_card_and_no_figure_of_a_card_it_has_not():
    # 64 GB hold 9 days up to 0.66 times the mean: a chance of 2 %, less than one in twenty
    answer = what_if(plan(A, B), plan(A, B, days=9))
    assert answer.table["what"].tolist() == ["wanted_retention_days", "state", "card"] * 2
    assert answer.table["after"].tolist() == ["9", "not served", "none"] * 2
    assert answer.sentence.startswith(
        "2 cameras of 2 change card, 0 are assured in place of 2, 2 are not served in place of 0; cost -273 credits"
    )


def test_what_becomes_doubtful_is_told_apart_from_what_is_not_served():
    # 64 GB hold 7 days up to 0.85 times the mean: a chance of 21 %
    answer = what_if(plan(A, B), plan(A, "b,1,4", days=7))
    assert answer.table.query("what == 'state'")["after"].tolist() == ["doubtful"] * 2
    assert ", 0 are assured in place of 2, 2 are doubtful in place of 0;" in answer.sentence
    assert "not served" not in answer.sentence
    assert "1 is doubtful in place of 0" in what_if(plan(A), plan(A, days=7)).sentence


def test_less_assurance_is_told_with_the_later_change_and_what_it_saves():
    # At 10 years 0.8646 of cards work: none is changed. 1 + 0.15588 cards, and as many visits: 1.15588 x 64 = 74.0
    answer = what_if(plan(A), plan(A, assurance=0.8))
    *rows, (camera, what, before, after) = answer.table.to_numpy().tolist()
    assert rows == [
        ["a", "wanted_assurance", f"91{P}", f"80{P}"],
        ["a", "change_years", "6", "more than 10"],
        ["a", "cards_over_horizon", "2.1", "1.2"],
        ["a", "visits", "2.1", "1.2"],
    ]
    assert (camera, what, before) == ("a", "cost", "137")
    assert float(after) == pytest.approx(74.0, rel=0.003)
    assert "." not in after  # money is told in whole units
    assert answer.sentence == (
        "0 cameras of 1 change card; cost -63 credits in 10 years, from 137 credits to 74 credits."
    )


def test_a_chance_that_reads_alike_in_both_plans_is_no_difference_to_a_reader():
    # a mean listed 0.1 % lower moves the chance of 1 day by less than 0.001
    told = what_if(plan(A), plan("a,0.999,4")).table
    assert "chance_kept" not in set(told["what"])


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
