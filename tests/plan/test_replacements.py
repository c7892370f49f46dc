"""Cards in service replaced under a yearly budget: hand arithmetic, what more money does, and the demo's table."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.inputs.settings import Costs, read_settings
from edgestore.plan.changes import failures_in_service
from edgestore.plan.read import read_lists
from edgestore.plan.replacements import COLUMNS, first_visits, replacements, within_budget
from edgestore.plan.shared_visits import GroupCards, InService, Visit, separate_visits
from edgestore.plan.site_plan import site_plan
from edgestore.plan.standing import TOO_SMALL, WEAR, SiteCards
from edgestore.plan.tables import tables
from edgestore.plan.visit_calendar import visit_calendar

DATA = Path(__file__).parents[2] / "data"
HORIZON = 10.0
START = np.datetime64("2026-01-01")
AGES = np.arange(0, 11.25, 0.25)


def standing(due_years, cost, failures_per_year):
    """Cameras by themselves; the planned cards hold for 20 years and never fail, those in service fail evenly."""
    count = len(due_years)
    failed = np.outer(np.broadcast_to(np.asarray(failures_per_year, float), (count,)), AGES)
    now = InService(np.asarray(due_years, float), failed, failed)
    prices = np.asarray(cost, float) - 60, np.full(count, 60.0)
    cards = GroupCards(np.full(count, 20.0), *prices, AGES, np.zeros((count, len(AGES))), now)
    texts = {"visit_group": "", "lift": False, "card": "new", "in_service_card": "old", "fitted": "", "keep_until": ""}
    names = [f"camera {n}" for n in range(count)]
    of_old = {"age_years": 1.0, "chance_retention": 1.0, "due_for": WEAR}
    table = pd.DataFrame({"camera": names, **texts, **of_old}, index=range(count))
    return SiteCards(table, cards, np.zeros(count), table[:0].assign(due_years=[]))


def found(cards, budget=None, adds=0.0):
    """Replacements under a budget that adds so much to the bill."""
    visits = separate_visits(cards.cards, HORIZON)
    put_off = cards if budget is None else within_budget(cards, visits, budget)
    costs = Costs(60, 260, HORIZON, budget_per_year=budget)
    return replacements(cards, visits, START, put_off=put_off, costs=costs, is_costed=True, budget_adds=adds)


def test_the_riskiest_are_replaced_first_and_the_others_wait_for_the_next_year_s_money():
    # All due in half a year at 100 each. Failures a year 0.1, 0.3 and 0.2: risks 1 - exp(-0.1) and so on, times 100.
    # With 200 a year the second and third are replaced when they are due, the first on the first day of year 2.
    table = found(standing([0.5] * 3, [100] * 3, [0.1, 0.3, 0.2]), 200).table
    assert table["camera"].tolist() == ["camera 1", "camera 2", "camera 0"]
    assert table["budget_year"].tolist() == [1, 1, 2]
    assert table["replace_on"].tolist() == ["2026-07-03", "2026-07-03", "2027-01-01"]
    assert table["put_off_years"].tolist() == [0, 0, 0.5]
    assert table["risk"].to_numpy() == pytest.approx([25.918, 18.127, 9.516], abs=1e-3)


def test_a_card_that_holds_less_goes_before_one_that_is_likelier_to_fail():
    # Failures a year 0.1 and 0.3. The first holds the days asked with 0.6 less chance than the planned card: it
    # is broken within a year with 1 - 0.4 exp(-0.1) = 0.6381, of the other with 1 - exp(-0.3) = 0.2592; times 100.
    cards = replace(standing([0.5] * 2, [100] * 2, [0.1, 0.3]), falls_short=np.array([0.6, 0.0]))
    answer = found(replace(cards, table=cards.table.assign(due_for=[TOO_SMALL, WEAR])), 100)
    assert answer.table["camera"].tolist() == ["camera 0", "camera 1"]
    assert answer.table["budget_year"].tolist() == [1, 2]
    assert answer.table["risk"].to_numpy() == pytest.approx([63.81, 25.92], abs=0.005)
    assert answer.table["chance_fails"].to_numpy() == pytest.approx(1 - np.exp([-0.1, -0.3]))
    assert (
        "of which 1 to be replaced in the first year; due at once: 1, where the chance of holding the days asked, or of"
        " keeping up with the peak, is below the chance asked." in answer.sentences[0]
    )


def test_cards_that_are_due_at_once_are_not_told_as_part_of_those_that_the_budget_replaces():
    # Two hold too few days; a year's money replaces one of them.
    cards = standing([0.5] * 2, [100] * 2, [0.1, 0.3])
    answer = found(replace(cards, table=cards.table.assign(due_for=[TOO_SMALL] * 2)), 100)
    assert "of which 1 to be replaced in the first year; due at once: 2, where" in answer.sentences[0]


def test_a_card_that_no_planned_one_follows_has_its_date_and_nothing_else():
    cards = standing([0.5], [100], 0.1)
    left = cards.table.drop(columns=["card", "lift"]).assign(camera="mast", keep_until="2027-06-01", due_years=1.4)
    row = found(replace(cards, unplanned=left)).table.set_index("camera").loc["mast"]
    assert (row["keep_until"], row["budget_year"]) == ("2027-06-01", 2)
    assert (row["replace_with"], row["replace_on"]) == ("", "")
    assert row[["risk", "cost", "waiting_failures"]].isna().all()


def test_a_visit_put_off_is_not_made_sooner_with_another():
    cards = standing([0.5] * 3, [100] * 3, [0.1, 0.3, 0.2])
    put_off = within_budget(cards, separate_visits(cards.cards, HORIZON), 200).cards
    assert put_off.opens_now_years.tolist() == put_off.now.due_years.tolist() == [1, 0.5, 0.5]


def test_what_the_budget_and_what_waiting_cost_is_counted_by_hand():
    # Put off from 0.5 to 1 year at 0.1 failures a year and 100 a failure: 0.05 failures, 5. Waiting until then, against
    # the first day: 0.3 x 0.5 + 0.2 x 0.5 + 0.1 x 1 = 0.35 failures, 35.
    answer = found(standing([0.5] * 3, [100] * 3, [0.1, 0.3, 0.2]), 200, adds=5)
    assert answer.put_off_failures == pytest.approx(0.05)
    assert answer.table["waiting_failures"].sum() == pytest.approx(0.35)
    assert answer.table["waiting_cost"].sum() == pytest.approx(35)
    assert answer.at_once_cost == 300
    assert answer.sentences == (
        "Cards in service: 3, of which 2 to be replaced in the first year. To replace, riskiest first: camera 1 with"
        " new on 2026-07-03, camera 2 with new on 2026-07-03.",
        "The budget of 200 currency units a year puts off 1 replacement, camera 0 the longest, by 0.5 years, at 0.05"
        " more failures. Over 10 years the site costs 5 currency units more than without a budget, failures included.",
        "Expected until these dates: 0.35 more failures (35 currency units) than if all of them were replaced now, for"
        " 300 currency units.",
    )


def test_the_failures_of_the_new_card_count_against_replacing_early():
    # 0.1 a year of the old card for 4 years, less 0.05 a year of the new ones.
    cards = standing([4], [100], [0.1])
    new = replace(cards.cards, failures=0.05 * AGES[None, :])
    assert found(replace(cards, cards=new)).table["waiting_failures"][0] == pytest.approx(0.2)


def test_without_a_budget_each_is_replaced_at_its_date_and_in_year_one_where_all_are_due_then():
    table = found(standing([0, 0.5, 0.9], [100, 500, 900], 0.1)).table
    assert (table["budget_year"] == 1).all()
    assert (table["put_off_years"] == 0).all()
    later = found(standing([2.5, 0, 12], [100] * 3, 0.1)).table.set_index("camera")
    assert later["budget_year"].tolist() == [1, 3, 13]
    assert np.isnan(later["risk"]["camera 2"])  # nothing is counted beyond the horizon


def test_a_visit_dearer_than_the_budget_is_made_in_a_year_of_its_own_and_told():
    answer = found(standing([0.5] * 3, [100, 400, 100], [0.2, 0.1, 0.05]), 250)
    assert answer.table["camera"].tolist() == ["camera 1", "camera 0", "camera 2"]  # 400 x 0.095 is the highest risk
    assert answer.table["budget_year"].tolist() == [1, 2, 2]
    assert "One visit costs more than a year's budget in 1 year." in answer.sentences[1]


@given(
    st.lists(st.tuples(st.floats(0, 9), st.integers(61, 400), st.floats(0, 0.5)), min_size=1, max_size=7),
    st.integers(50, 800),
    st.integers(0, 400),
)
def test_more_budget_never_means_a_later_replacement_nor_a_dearer_wait_and_each_year_keeps_to_it(drawn, budget, more):
    cards = standing(*zip(*drawn, strict=True))
    tight, loose, free = found(cards, budget), found(cards, budget + more), found(cards)
    years = [one.table.set_index("camera")["put_off_years"].sort_index() for one in (tight, loose)]
    assert (years[1] <= years[0] + 1e-9).all()
    assert free.put_off_failures <= loose.put_off_failures + 1e-9 <= tight.put_off_failures + 2e-9
    assert loose.table["waiting_cost"].sum() <= tight.table["waiting_cost"].sum() + 1e-9
    for _, paid in tight.table.groupby("budget_year")["cost"]:
        assert paid.sum() <= budget or len(paid) == 1


def test_a_visit_is_the_first_one_of_each_card_in_service_and_cameras_without_one_have_none():
    cards = standing([1, 2], [100, 100], 0.1)
    cards = replace(cards, table=cards.table.assign(in_service_card=["old", ""]))
    first = first_visits(cards, separate_visits(replace(cards.cards, change_years=np.full(2, 3.0)), HORIZON))
    assert [(visit.at_years, visit.cards.tolist()) for visit in first] == [(1, [0])]


def test_a_way_that_is_made_for_first_cards_anyway_costs_the_budget_nothing():
    # Camera 1 has no card yet and is fitted on the first day at a way of 60. At the same visit camera 0 adds its card,
    # 40: 200 + 40 are within 240. With a way of its own it costs 100, and waits for the money of the next year.
    cards = standing([0, 0, 0], [100, 100, 200], [0.1, 0, 0.9])
    cards = replace(cards, table=cards.table.assign(in_service_card=["old", "", "old"]))
    together = [Visit(0.0, np.array([0, 1])), Visit(0.0, np.array([2]))]
    apart = [Visit(0.0, np.array([n])) for n in (0, 1, 2)]
    years = [within_budget(cards, visits, 240).cards.now.due_years[0] for visits in (together, apart)]
    assert years == [0, 1]  # camera 2, the riskiest, takes 200 of the 240


def test_the_cost_of_each_card_is_its_own_with_an_equal_part_of_the_way():
    # One visit for both at 60: cards of 40 and 140, and a way of 30 each; the visit costs 60 + 40 + 140 = 240.
    cards = standing([0.5, 0.5], [100, 200], [0.1, 0.3])
    both = [Visit(0.5, np.array([0, 1]))]
    costs = Costs(60, 260, HORIZON)
    table = replacements(cards, both, START, put_off=cards, costs=costs, is_costed=True, budget_adds=0.0).table
    assert table.set_index("camera")["cost"].to_dict() == {"camera 0": 70, "camera 1": 170}
    assert table["cost"].sum() == 240


def test_money_that_is_left_since_the_next_visit_costs_more_is_told():
    # 250 a year: the riskiest takes 100 of the first year; the next, at 200, does not fit in the 150 that are left.
    answer = found(standing([0.5] * 2, [100, 200], [0.9, 0.1]), 250)
    assert "150 currency units of the first year are left, too little for the next visit." in answer.sentences[1]


def test_one_year_is_told_as_one():
    # Both are due after a year; 100 a year pays one of them then, and the other a year later.
    cards = standing([1.0, 1.0], [100, 100], [0.1, 0.3])
    assert ", camera 0 the longest, by 1 year, at" in found(cards, 100).sentences[1]


def test_a_budget_that_makes_the_site_cheaper_says_so_and_that_the_promise_is_broken_meanwhile():
    cards = standing([1.0, 1.0], [100, 100], [0.1, 0.3])
    cards = replace(cards, table=cards.table.assign(due_for=[TOO_SMALL] * 2))
    told = found(cards, 100, adds=-224.3).sentences[1]
    assert (
        " Until then 1 of these breaks the promise. Over 10 years the site costs 224 currency units less than" in told
    )
    assert (
        "failures included, but only because some changes fall beyond that time; broken promises are not in it." in told
    )
    assert "costs as much as without a budget." in found(cards, 100, adds=0.2).sentences[1]
    assert "without a budget" not in found(cards, 100, adds=np.nan).sentences[1]


@pytest.mark.parametrize(
    ("value", "why"), [("0", "must be above 0"), ("-1", "must be above 0"), ('"much"', "a number")]
)
def test_a_budget_that_makes_no_sense_is_refused(value, why):
    text = f"[costs]\nvisit_price = 60\nvisit_with_lift_price = 260\nbudget_per_year = {value}\n"
    with pytest.raises(InputError, match=rf"settings, \[costs\] budget_per_year: .*{why}"):
        read_settings(text.encode())


@pytest.fixture(scope="module")
def demo():
    return site_plan(
        read_lists(DATA / "ferry_terminal/cameras.csv", DATA / "cards.csv", DATA / "ferry_terminal/site.toml")
    )


def test_the_table_of_the_demo_has_the_dates_of_its_calendar_and_its_visits(demo):
    table = tables(demo)["replacements"]
    assert tuple(table) == tuple(name for name in COLUMNS if name != "chance_outage")  # none must be covered
    dates = demo.calendar.set_index("camera")["next_change"]
    assert len(table) == len(dates) == 14
    visits = demo.visits.table
    for row in table[table["replace_with"] != ""].itertuples():
        assert row.keep_until == ("2026-11-25" if row.due_for == TOO_SMALL else dates[row.camera])
        first = visits[visits["cameras"].str.split(", ").map(lambda names, name=row.camera: name in names)].iloc[0]
        assert row.replace_on == first["date"] <= row.keep_until
    planned = demo.plan.set_index("camera")["card"]
    assert (table["replace_with"] == table["camera"].map(planned)).all()
    left = table.set_index("camera").loc[["Quay north", "Mast top"]]
    assert left["replace_with"].tolist() == left["replace_on"].tolist() == ["", ""]
    assert left["keep_until"].tolist() == dates[left.index].tolist()


def test_until_its_next_change_a_card_in_service_fails_with_the_chance_left_over_by_the_settings(demo):
    # The settings keep a card until 0.9 of such cards work: -ln 0.9 = 0.105361 failures; half a year later counted from
    # then on, to the same date, fewer.
    due = demo.calendar["next_change_years"].to_numpy()
    failures = np.diag(failures_in_service(demo.site, demo.calendar, after_years=0.0, years=due))
    assert failures == pytest.approx(0.1053605, abs=1e-6)
    later = np.flatnonzero(due > 0.5)
    left = np.diag(failures_in_service(demo.site, demo.calendar.iloc[later], after_years=0.5, years=due[later] - 0.5))
    assert (left < 0.1053605).all()


def test_under_a_budget_the_visits_of_the_demo_move_and_each_year_of_them_keeps_to_it(demo):
    # 300 a year: the quay, 260 and three cards, and the lanes, 260 and two at 77, cost more: years of their own.
    costs = replace(demo.site.costs, budget_per_year=300)
    site = replace(demo.site, settings=replace(demo.site.settings, costs=costs))
    calendar = visit_calendar(site, demo.plan, in_service=demo.calendar)
    table = calendar.replacements.table
    for _, year in table[table["replace_with"] != ""].groupby("budget_year"):
        assert year["cost"].sum() <= 300 + 1e-6 or set(year["visit_group"]) in ({"quay"}, {"lanes"})
    late = calendar.table[calendar.table["put_off"] != ""]
    assert any(text.startswith("Gangway") for text in late["put_off"])
    moved = {name: row.date for row in late.itertuples() for name in row.cameras.split(", ")}
    assert all(table.set_index("camera")["replace_on"][name] == date for name, date in moved.items())
    # What the budget is said to add is what the bill says: 10 years with it, less 10 years without.
    assert calendar.replacements.budget_adds == pytest.approx(calendar.cost - demo.visits.cost)
    assert abs(calendar.replacements.budget_adds) > 1


def test_a_log_of_cards_that_were_all_taken_out_has_the_calendar_of_new_cards(demo):
    none = pd.DataFrame({name: [] for name in demo.calendar})
    calendar = visit_calendar(demo.site, demo.plan, in_service=none)
    assert calendar.table.equals(visit_calendar(demo.site, demo.plan).table)
    assert calendar.replacements.sentences == ()
    assert calendar.cost < demo.plan["cost"].sum()


def test_where_none_is_due_in_the_first_year_the_next_one_is_told():
    first = found(standing([2.5, 4], [100] * 2, 0.1)).sentences[0]
    assert first == (
        "Cards in service: 2, of which 0 to be replaced in the first year. The next: camera 0 with new on 2028-07-02."
    )


def test_without_a_log_nothing_is_said_of_replacements():
    plan = site_plan(
        read_lists(
            ("cameras.csv", b"camera,mean_mbit_s,cap_mbit_s\ngate,4,8\n"),
            ("cards.csv", b"card,capacity_gb,speed_class,endurance_tbw,price\nc,512,C10 U3,200,9\n"),
        )
    )
    assert "replacements" not in tables(plan)
    assert plan.visits.replacements.table.empty
    assert plan.visits.replacements.sentences == ()
