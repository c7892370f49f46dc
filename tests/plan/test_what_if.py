"""Two plans side by side: only the differences."""

import numpy as np
import openpyxl
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.checks import InputError
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.outages import OutageSettings
from edgestore.inputs.settings import Costs, Settings
from edgestore.plan.evidence import no_evidence
from edgestore.plan.read import read_lists, read_other
from edgestore.plan.requirements import Requirements
from edgestore.plan.site import Site
from edgestore.plan.site_plan import site_plan
from edgestore.plan.what_if import COMPARED, _amounts, _differences, what_if
from edgestore.text import whole_percent

CARDS = read_cards(b"card,capacity_gb,speed_class,endurance_tbw,price\nsmall,16,C10,500,4\nmiddle,64,C10,500,11\n").rows
COSTS = Costs(visit_price=60, visit_with_lift_price=260, currency="credits")
A, B = "a,1,4", "b,1,4"
P = "\N{NO-BREAK SPACE}%"

# Half of these cards would be worn out after 127 years. With a chance of 0.91 they still work at 6 years and not at
# 6.25; changed then, 2.1355 cards and visits are expected in 10 years (arithmetic in test_choice.py): a small card
# costs 2.1355 x (4 + 60) = 136.7 and a middle one 2.1355 x (11 + 60) = 151.6.
# The bill of the site keeps its dates when a card fails: cards and visits on the first day and at 6 years, and failures
# of -ln 0.9111 until then and -ln 0.936 in the 4 years after, 0.159 in all: 2.159 x 64 = 138.2 and 2.159 x 71 = 153.3.


def plan(*rows: str, days=1.0, years=2.0, assurance=0.91, costs=COSTS, kinds="camera", outage=None):
    listed = read_cameras("\n".join(["camera,mean_mbit_s,cap_mbit_s", *rows]).encode()).rows
    wanted = Requirements(days, years, 1, None, assurance)
    return site_plan(Site(listed, CARDS, no_evidence(listed), wanted, Settings(costs=costs, outage=outage)), kinds)


def test_a_plan_against_itself_has_no_difference():
    same = what_if(plan(A, B), plan(A, B))
    assert same.table.empty
    # 2 x 138.2
    assert same.sentence == ("0 cameras of 2 change card; the cost stays 276 credits in 10 years.")


def test_a_workbook_with_a_row_a_setting_is_compared_as_settings_and_not_as_cards(tmp_path):
    book = openpyxl.Workbook()
    for row in (("Setting", "Value"), ("Retention (days)", 12)):
        book.worksheets[0].append(row)
    book.save(tmp_path / "settings.xlsx")
    listed = read_cameras(b"camera,mean_mbit_s,cap_mbit_s\na,1,4\n").rows
    other = read_other(Site(listed, CARDS, no_evidence(listed)), tmp_path / "settings.xlsx")
    assert other.settings.requirements == {"retention_days": 12}
    assert other.cards is CARDS


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
        "1 camera of 1 changes card; cost +15 credits in 10 years, from 138 credits to 153 credits."
    )


def test_a_camera_that_is_not_served_any_more_is_told_by_state_and_card_and_no_figure_of_a_card_it_has_not():
    # 64 GB hold 9 days up to 0.66 times the mean: a chance of 2 %, less than one in twenty
    answer = what_if(plan(A, B), plan(A, B, days=9))
    assert answer.table["what"].tolist() == ["wanted_retention_days", "state", "card"] * 2
    assert answer.table["after"].tolist() == ["9", "not served", "none"] * 2
    assert answer.sentence.startswith(
        "2 cameras of 2 change card, 0 are assured instead of 2, 2 are not served instead of 0; cost -276 credits"
    )
    assert answer.sentence.endswith(" That is no saving where a camera loses its card, as 2 cameras do.")


def test_what_becomes_doubtful_is_told_apart_from_what_is_not_served():
    # 64 GB hold 7 days up to 0.85 times the mean: a chance of 21 %
    answer = what_if(plan(A, B), plan(A, "b,1,4", days=7))
    assert answer.table.query("what == 'state'")["after"].tolist() == ["doubtful"] * 2
    assert ", 0 are assured instead of 2, 2 are doubtful instead of 0;" in answer.sentence
    assert "not served" not in answer.sentence
    assert "1 is doubtful instead of 0" in what_if(plan(A), plan(A, days=7)).sentence


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
    # the bill: 138.2 as above, and with no change (1 - ln 0.8646) x 64 = 73.3
    assert answer.sentence == (
        "0 cameras of 1 change card; cost -65 credits in 10 years, from 138 credits to 73 credits."
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
            "the costs are not compared, since their horizons or currencies differ."
        )


@pytest.mark.parametrize("kinds", ["group", "site", 2])
def test_the_differences_rebuild_the_other_plan(kinds):
    rows = [f"camera {n},{1 + n % 4},{8}" for n in range(9)]
    one, other = plan(*rows), plan(*rows, kinds=kinds)
    changed = what_if(one, other).table.query("what == 'card'").set_index("camera")["after"]
    cards = one.plan.set_index("camera")["card"].replace("", "none")
    cards.update(changed)
    pd.testing.assert_series_equal(cards, other.plan.set_index("camera")["card"].replace("", "none"))


def test_the_whole_site_is_told_by_what_differs_in_both_plans_with_the_difference():
    # the figures of one camera above: chances of 93 and 96 %, bills of 138.2 and 153.3
    answer = what_if(plan(A), plan(A, days=2))
    ends = [whole_percent(each.untested_band["chance_kept_low"][0]) for each in (plan(A), plan(A, days=2))]
    assert ends[0] < 90 <= ends[1]
    assert answer.totals.to_numpy().tolist() == [
        ["", "lowest chance kept, %", "93", "96", "3 more"],
        ["", "lowest chance kept if untested cards are bad, %", *map(str, ends), f"{ends[1] - ends[0]} more"],
        ["", "assured over the whole range", "0", "1", "1 more"],
        ["", "cost, credits", "138", "153", "15 more"],
    ]
    assert answer.compared["camera"].tolist() == [*[""] * 4, *answer.table["camera"]]
    assert what_if(plan(A), plan(A)).totals.empty
    states = what_if(plan(A, B), plan(A, B, days=9)).totals.set_index("what")
    assert states.loc["assured"].tolist() == ["", "2", "0", "2 less"]
    assert states.loc["not served"].tolist() == ["", "0", "2", "2 more"]


def test_the_cost_that_is_compared_is_the_bill_with_visits_shared():
    # Two cameras of one visit group: 4 cards at 4 and 2 visits at 60, or at 100, and 2 x 0.159 failures at 64, or 104.
    listed = read_cameras(b"camera,mean_mbit_s,cap_mbit_s,visit_group\na,1,4,yard\nb,1,4,yard\n").rows
    wanted, dearer = Requirements(1, 2, 1, None, 0.91), Costs(100, 260, currency="credits")
    one, other = (
        site_plan(Site(listed, CARDS, no_evidence(listed), wanted, Settings(costs=costs))) for costs in (COSTS, dearer)
    )
    answer = what_if(one, other)
    assert answer.totals.to_numpy().tolist() == [["", "cost, credits", "156", "249", "93 more"]]
    assert answer.sentence.endswith("cost +93 credits in 10 years, from 156 credits to 249 credits.")


def test_footage_lost_and_saved_a_year_is_compared_where_both_state_outages():
    # 16 GB at 1 Mbit/s hold 35.6 h. Exponential repairs of 24 h: 8766 / 17544 x 24 = 11.99 h a year are lost without a
    # card, exp(-35.6 / 24) = 0.2273 of them with it: 2.73, and 9.27 saved. 48 h: 8766 / 17568 x 48 = 23.95, of which
    # exp(-35.6 / 48) = 0.4767: 11.4 lost and 12.5 saved.
    day, two = (OutageSettings(17_520, "exponential", (hours,)) for hours in (24.0, 48.0))
    answer = what_if(plan(A, outage=day), plan(A, outage=two))
    told = answer.totals.set_index("what")[["before", "after"]]
    assert told.loc["footage lost, h a year"].tolist() == ["2.7", "11.4"]
    assert told.loc["footage saved, h a year"].tolist() == ["9.3", "12.5"]
    alone = what_if(plan(A), plan(A, outage=two))
    assert alone.totals.empty
    assert alone.warnings == ("Only the other plan states outages: footage lost and saved is not compared.",)


def test_costs_over_other_horizons_or_in_other_currencies_are_said_not_to_be_compared_and_the_rest_is():
    other = Costs(60, 260, horizon_years=5, currency="credits")
    answer = what_if(plan(A), plan(A, days=2, costs=other))
    assert answer.warnings == (
        "The plans have different horizons (10 years and 5 years): costs, cards and visits are not compared.",
    )
    assert not {"cost", "visits", "cards_over_horizon"} & set(answer.table["what"])
    of_chance = [
        "lowest chance kept, %",
        "lowest chance kept if untested cards are bad, %",
        "assured over the whole range",
    ]
    assert answer.totals["what"].tolist() == of_chance
    assert "card" in set(answer.table["what"])
    crowns = what_if(plan(A), plan(A, days=2, costs=Costs(60, 260, currency="crowns")))
    assert crowns.warnings == ("Costs are in credits and in crowns: they are not compared.",)
    assert "cost" not in set(crowns.table["what"])
    assert "Only the first plan counts costs" in what_if(plan(A), plan(A, costs=None)).warnings[0]


def test_at_most_12_lines_are_told_of_many_cameras_the_largest_cost_first_and_the_rest_counted():
    cheap, dear = "b,1,4", [f"camera {n},1,4" for n in range(30)]
    answer = what_if(plan(cheap, *dear), plan(cheap, *dear, days=2))
    assert len(answer.lines) + 2 <= 12  # a title and the sentence besides
    assert answer.lines[-1].endswith("more cameras with differences.")
    listed = read_cameras(b"camera,mean_mbit_s,cap_mbit_s,lift\na,1,4,no\nz,1,4,yes\n").rows
    wanted, dearer = Requirements(1, 2, 1, None, 0.91), Costs(60, 300, currency="credits")
    one, other = (
        site_plan(Site(listed, CARDS, no_evidence(listed), wanted, Settings(costs=costs))) for costs in (COSTS, dearer)
    )
    # 2.1355 visits with a lift at 300 in place of 260: z costs 85.4 more, a as much as before
    answer = what_if(one, other)
    assert answer.amounts["camera"].tolist() == ["z", "a"]
    assert answer.lines[-1] == "z: cost 564 to 649"  # 2.1355 x 264 = 563.8; 2.1355 x 304 = 649.2


HEAD = b"card,capacity_gb,speed_class,endurance_tbw\n"
LISTS = (("cameras.csv", b"camera,mean_mbit_s,cap_mbit_s\na,1,4\n"), ("cards.csv", HEAD + b"small,16,C10,500\n"))


def test_other_settings_or_cards_are_read_for_the_same_cameras():
    site = read_lists(*LISTS, ("site.toml", b"[requirements]\nretention_days = 3\n"))
    asked = read_other(site, ("other.toml", b"[requirements]\nretention_days = 9\n"))
    assert asked.wanted["retention_days"].tolist() == [9]
    assert asked.cameras is site.cameras
    offered = read_other(site, ("other.csv", HEAD + b"large,512,C10,500\n"))
    assert offered.cards["card"].tolist() == ["large"]
    assert offered.wanted["retention_days"].tolist() == [3]


def test_a_fault_of_the_other_file_says_that_it_is_the_other():
    site = read_lists(*LISTS)
    with pytest.raises(InputError, match=r"the other plan, site\.toml, \[requirements\] retention_days"):
        read_other(site, ("site.toml", b"[requirements]\nretention_days = -9\n"))
    with pytest.raises(InputError, match=r"the other plan, .*none\.csv"):
        read_other(site, "none.csv")
    with pytest.raises(InputError, match=r"ends in \.toml, \.xlsx, \.ods, \.csv"):
        read_other(site, "plan.pdf")


FIGURES = st.one_of(st.just(np.nan), st.floats(0, 1e4), st.integers(0, 100).map(float))
CAMERAS = st.lists(st.tuples(FIGURES, FIGURES), min_size=1, max_size=6)


def pairs_of(ends, column):
    names = {f"{column}_before": [a for a, _ in ends], f"{column}_after": [b for _, b in ends]}
    return pd.DataFrame({"camera": [f"c{n}" for n in range(len(ends))], **names})


def turned(pairs):
    ends = {"before": "after", "after": "before"}
    return pairs.rename(
        columns=lambda name: next((name[: -len(e)] + o for e, o in ends.items() if name.endswith(e)), name)
    )


@given(CAMERAS, st.sampled_from(["cost", "retention_days", "nine_in_ten_years", "change_years", "wanted_life_years"]))
def test_figures_against_themselves_differ_in_nothing_and_turned_round_they_change_places(ends, column):
    pairs = pairs_of(ends, column)
    there, back = (list(_differences(of, column)) for of in (pairs, turned(pairs)))
    assert back == [(camera, what, after, before) for camera, what, before, after in there]
    assert not list(_differences(pairs_of([(a, a) for a, _ in ends], column), column))
    amounts, turned_amounts = _amounts(pairs, column), _amounts(turned(pairs), column)
    assert turned_amounts["camera"].tolist() == amounts["camera"].tolist()
    assert (turned_amounts["before"] == amounts["after"]).all()
    assert (amounts["before"] - amounts["after"]).abs().is_monotonic_decreasing


@given(st.lists(st.tuples(*[st.sampled_from(["", "small", "large"])] * 2), min_size=1, max_size=6))
def test_cards_against_themselves_differ_in_nothing_and_turned_round_they_change_places(ends):
    pairs = pairs_of(ends, "card")
    there, back = (list(_differences(of, "card")) for of in (pairs, turned(pairs)))
    assert back == [(camera, what, after, before) for camera, what, before, after in there]
    assert [camera for camera, *_ in there] == [f"c{n}" for n, (a, b) in enumerate(ends) if a != b]
    assert not list(_differences(pairs_of([(a, a) for a, _ in ends], "card"), "card"))


def test_the_life_that_is_compared_is_the_one_that_nine_in_ten_reach():
    # Longer lives asked than the cards reach are told by that age; the median life is no column of the comparison.
    assert "nine_in_ten_years" in COMPARED
    assert "life_years" not in COMPARED
