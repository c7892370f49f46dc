"""The curve of assurance is the plan at each assurance, and more of it never assures more cameras."""

import math
from dataclasses import replace

import numpy as np
import pytest
from test_invariants import made

from edgestore.inputs.settings import Settings
from edgestore.plan.assurance_curve import assurance_curve, site_chances
from edgestore.plan.assurance_words import kept_to_change
from edgestore.plan.assured import promises
from edgestore.plan.change_age import expected_changes
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


def test_more_assurance_never_assures_more_and_the_sentence_ends_where_none_is_assured():
    curve = assurance_curve(made(ROWS, OFFER))
    assert curve.table["assured"].is_monotonic_decreasing
    some = curve.table[curve.table["assured"] > 0]
    last, none = some.iloc[-1], curve.table[curve.table["assured"] == 0].iloc[0]
    told = curve.sentence.replace("\N{NO-BREAK SPACE}", " ")
    assert told.startswith("With an assurance of 50 %, ")
    assert f"; with {100 * last['assurance']:.0f} %, {last['assured']:.0f} of 4 cameras are assured for " in told
    assert told.endswith(f"; with {100 * none['assurance']:.0f} % or more, none are.")
    assert " 0 of" not in told
    assert " 0 currency" not in told
    assert curve.table.loc[curve.table["assured"] == 0, "cost"].isna().all()  # nothing is bought: that is not free
    assert some["cost"].notna().all()


def test_where_no_camera_is_assured_at_any_assurance_the_curve_says_only_that():
    curve = assurance_curve(made(["90,,busy,,no"], OFFER))
    assert curve.sentence == "No camera is assured with a chance of 50\N{NO-BREAK SPACE}% or more."


def test_the_highest_assurance_is_what_random_failures_and_weak_cards_leave_and_is_told_where_more_is_asked():
    # 1 in 100 cards is weak; of the others 1 in 100 fails a year, where one rate in ten is 3 times as high: in 3 years
    # 0.99 times the mean of exp(-0.03 x 3^z) are left. Such cards wear out in a thousand years.
    z = np.linspace(-8, 8, 4001)
    left = 0.99 * np.average(np.exp(-0.03 * 3 ** (z / 1.2815516)), weights=np.exp(-(z**2) / 2))
    assert 0.94 < left < 0.96
    site = made(["0.1,4,busy,,no"] * 2, ["512,C10 V30,9000,,,,10"])
    site = site.asking(replace(site.requirements, life_years=3.0))
    assert site_chances(site).highest == pytest.approx(left, abs=1e-3)
    told = {
        asked: [text for text in plan.warnings if "The assurance asked is higher than any card can reach" in text]
        for asked in (0.94, 0.96)
        for plan in [site_plan(site.asking(replace(site.requirements, assurance=asked)))]
    }
    assert told[0.94] == []
    [text] = told[0.96]
    # At the ends of what is assumed: 2.07 % weak and 3 % a year, 0.23 % and a third of 1 %.
    low, high = (
        math.floor(100 * (1 - weak) * math.exp(-3 * rate)) for weak, rate in ((0.0207, 0.03), (0.0023, 0.01 / 3))
    )
    highest = f"the highest possible here is {math.floor(100 * left)} % ({low} to {high} %) for 3 years"
    assert f"at 2 of 2 cameras: {highest}" in text.replace("\N{NO-BREAK SPACE}", " ")
    for help_ in ("[beliefs]", "random_per_year", "service log", "test cards", "shorter life"):
        assert help_ in text


@pytest.mark.parametrize(("cost", "told"), [(1111, ""), (1112, "Of this, 112 credits keep the assurance")])
def test_what_keeping_the_assurance_to_the_change_costs_is_told_from_a_tenth_of_the_whole_on(cost, told):
    # A tenth of 1 111 is 111.1: 111 is less, 112 of 1 112 is more.
    text = kept_to_change(cost, 2.07, 1000, 2.26, currency="credits").replace("\N{NO-BREAK SPACE}", " ")
    assert text.startswith(told)
    assert bool(text) == bool(told)
    if told:
        assert (
            "at the ages of least cost, the same cards would cost 1 000 credits, with 2.3 failures expected instead of"
            " 2.1." in text
        )


@pytest.mark.parametrize(
    ("failures", "told"),
    [
        (2.07, "with 2.3 failures expected instead of 2.1."),
        (2.258, "with the same number of failures expected, 2.3."),
        (2.41, "with fewer failures expected, 2.3 instead of 2.4, since a new card may be a weak one."),
    ],
)
def test_that_keeping_the_assurance_avoids_no_failures_is_said_plainly(failures, told):
    text = kept_to_change(3000, failures, 1000, 2.26, currency="credits")
    assert told in text


def test_plan_and_page_tell_what_the_assurance_of_planned_changes_costs_by_the_ages_of_least_cost():
    # A card of 936 TB at 0.5 Mbit/s, 1.97 TB a year, does not wear in 10 years: it is cheapest never changed, for its
    # price of 10 and what 1.44 in 100 a year cost that fail otherwise; 0.99 x exp(-0.0144 t) is 0.9 at 6.6 years.
    site = made(["0.5,4,busy,,no"], ["512,C10 V30,936,,,,10"])
    site = site.asking(replace(site.requirements, assurance=0.9, retention_days=2.0, life_years=3.0))
    plan, choice = site_plan(site), site_chances(site).at(0.9)
    expected = expected_changes(10.0, promises(site, site.rates).wear_life_years, site.kinds_of(site.offered["card"]))
    assert plan.plan["change_years"][0] < 8
    assert plan.kept_to_change in plan.sentence
    assert choice.sentence.endswith(choice.kept_to_change)
    assert choice.kept_to_change == plan.kept_to_change
    costs, renewed = site.costs, expected[1][0, 0, -1]  # failures where no change is planned
    least = 10 * (1 + costs.spare_fraction) * (1 + renewed)
    least += costs.visit_price * (renewed + costs.first_fitting_is_a_visit)
    assert f"the same cards would cost {least:.0f} currency units" in plan.kept_to_change.replace(
        "\N{NO-BREAK SPACE}", " "
    )


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
