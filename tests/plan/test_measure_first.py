"""What to find out first: ranked, in words, with efforts and prices as the settings state them."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from test_invariants import made as site_of

from edgestore.inputs.settings import read_settings
from edgestore.plan.measure_first import NOT_SERVED, SAME_CARD, WORTH_IT, measure_first, weighed
from edgestore.plan.read import read_lists
from edgestore.plan.requirements import Requirements
from edgestore.plan.site_plan import site_plan
from edgestore.plan.tables import tables
from edgestore.plan.what_first import DAYS, what_first

DATA = Path(__file__).parents[2] / "data"
SITE = (DATA / "ferry_terminal" / "cameras.csv", DATA / "cards.csv", DATA / "ferry_terminal/site.toml")


@pytest.fixture(scope="module")
def demo():
    return site_plan(read_lists(*SITE))


def stating(site, text):
    """Give the site with more settings."""
    other = read_settings(text.encode())
    costs = site.settings.costs
    if other.costs is not None:
        costs = replace(costs, broken_promise_price=other.costs.broken_promise_price)
    return replace(site, settings=replace(site.settings, efforts=other.efforts, costs=costs))


def test_every_camera_card_and_the_recorder_are_told_of(demo):
    table = demo.measure_first.table
    assert set(table["subject"]) == {*demo.site.cameras["camera"], *demo.site.offered["card"], "the recorder"}
    moving = demo.site.cameras.loc[demo.site.cameras["recording"] == "motion", "camera"]
    assert set(table.loc[table["input"] == "events", "subject"]) == set(moving)
    counts = table.groupby("input").size().to_dict()
    assert counts == {"mean rate": 2 * 14, "events": len(moving), "endurance": 2 * 12, "outages": 1}
    assert tables(demo)["measure_first"] is table


def test_counted_in_loss_nothing_found_out_is_worth_less_than_nothing_or_more_than_knowing(demo):
    table = demo.measure_first.table
    assert (table["worth"] >= 0).all()
    assert (table["worth"] <= table["worth_if_known"] + 1e-6).all()
    of_mean = table[table["input"] == "mean rate"].set_index("subject")
    day, week = (of_mean.loc[of_mean["how"].str.contains(word), "worth"] for word in ("a day", "a week"))
    assert (week >= day[week.index] - 0.01).all()
    of_card = table[table["input"] == "endurance"].set_index("subject")
    asked, tried = (of_card.loc[of_card["how"].str.contains(word), "worth"] for word in ("Ask", "Write"))
    assert (tried >= asked[tried.index] - 0.01).all()


def test_the_most_worth_stand_first_and_are_told_with_what_changes_and_what_is_saved(demo):
    first = demo.measure_first
    gain = first.table["net_worth"].round(6)
    assert gain.is_monotonic_decreasing
    assert len(first.best) >= 2
    told = first.sentences
    assert told[0].startswith(f"{first.best['how'].iloc[0]}: ")
    assert f"instead of {first.best['order'].iloc[0]}" in told[0]
    assert "expected saving" in told[0]
    assert all("credits" in sentence for sentence in told[:2])
    assert not first.best.duplicated(["subject", "input"]).any()


def test_what_differs_only_by_rounding_stays_in_the_order_of_the_lists(demo):
    noise = np.random.default_rng(1).uniform(-1e-9, 1e-9, len(demo.measure_first.worths))
    other_processor = demo.measure_first.worths.assign(worth=demo.measure_first.worths["worth"] + noise)
    ranked = weighed(demo.site, other_processor, demo.measure_first.made).table
    keys = ["subject", "how"]
    assert ranked[keys].equals(demo.measure_first.table[keys])


def test_what_is_not_worth_a_visit_is_told_with_the_reason(demo):
    first = demo.measure_first
    verdicts = first.table.set_index(["subject", "input"])["verdict"]
    assert (verdicts["Pay station"] == SAME_CARD).all()  # 0.9 Mbit/s in 64 GB: whatever is likely, the smallest does
    assert (verdicts["Mast top"] == NOT_SERVED).all()  # the slot takes 32 GB, and the cap is 16 Mbit/s
    assert (first.table.loc[first.table["subject"] == "Mast top", "order"] == "").all()  # nothing is ordered for it
    assert (verdicts["the recorder"] == SAME_CARD).all()
    text = " ".join(first.sentences)
    assert f"Not worth the effort, since {SAME_CARD}: " in text
    assert f"Not worth the effort, since {NOT_SERVED}: mean rate of Quay north, Mast top." in text
    assert ", the median of what the assured choices pay for a chance. Efforts that" in text


def test_an_effort_that_is_stated_counts_and_one_that_costs_more_is_not_advised(demo):
    site = stating(demo.site, "[efforts]\nfootage_day_price = 1000\nfootage_week_price = 5\nlot_trial_price = 7\n")
    table = measure_first(site, demo.losses).table
    day = table[table["how"].str.contains("for a day")]
    assert (day["effort"] == 1000).all()
    assert (day["effort_basis"] == "stated").all()
    assert WORTH_IT not in set(day["verdict"])
    assert (table.loc[table["how"].str.contains("footage|a week before"), "effort"].isin([5, 30])).all()
    lot = table[table["how"].str.startswith("Write 5 cards of plain 16 GB")]
    assert lot["effort"].tolist() == [7 + 5 * 4]  # five of its cards at 4 credits
    of_log = table[table["input"] == "events"]
    assert (of_log["effort"] == 30).all()  # half of a visit of 60 credits, our guess
    assert (of_log["effort_basis"] == "guess").all()


def test_a_stated_price_of_a_broken_promise_goes_before_the_one_of_the_assurance(demo):
    site = stating(demo.site, "[costs]\nvisit_price=60\nvisit_with_lift_price=260\nbroken_promise_price = 2500\n")
    first = replace(demo, site=site).measure_first
    assert (first.price, first.is_stated) == (2500.0, True)
    assert "A broken promise is counted at 2\N{NO-BREAK SPACE}500 credits, as the settings state." in first.counted_with


def test_the_order_of_a_doubtful_camera_is_the_best_card_that_the_plan_names(demo):
    plan = site_plan(replace(demo.site, requirements=Requirements(4, 8, 10)))
    best = plan.plan[plan.plan["state"] == "doubtful"].set_index("camera")["best_card"]
    assert len(best) > 3
    of_camera = plan.measure_first.table.query("subject in @best.index")
    assert of_camera["order"].tolist() == best[of_camera["subject"]].tolist()
    # What the others pay for a chance is not moved by cards that are not ordered.
    assert plan.losses.site_price == pytest.approx(replace(plan.losses, named=None).site_price, rel=1e-12)


def test_without_costs_worth_is_told_in_gb_and_no_effort_is_counted(demo):
    site = replace(demo.site, settings=replace(demo.site.settings, costs=None))
    first = site_plan(site).measure_first
    assert first.unit == "GB"
    assert first.table["effort"].isna().all()
    assert "GB" in first.sentences[0]
    assert "effort" not in first.sentences[0]


def test_where_every_camera_is_served_by_the_smallest_card_nothing_is_worth_finding_out():
    site = site_of(["0.1,,quiet,,no"], ["64,C10 V30,900,,,,9", "128,C10 V30,900,,,,19"], Requirements(2, 2, 1))
    first = site_plan(site).measure_first
    assert first.sentences[0] == "Nothing is worth finding out before the cards are ordered."
    assert set(first.table["verdict"]) == {SAME_CARD}


def test_more_footage_is_never_worth_less_and_a_day_and_a_week_are_as_in_the_table(demo):
    answer = what_first(demo)
    of_mean = demo.measure_first.table
    of_mean = of_mean[of_mean["input"] == "mean rate"].set_index("subject")
    assert len(answer.curves) == 3
    for camera, worth in answer.curves.items():
        assert (np.diff(worth) >= -0.01).all()
        day, week = (of_mean.loc[of_mean["how"].str.contains(word), "worth"][camera] for word in ("a day", "a week"))
        assert (worth[DAYS == 1][0], worth[DAYS == 7][0]) == pytest.approx((day, week))


def test_efforts_and_a_price_of_ones_own_go_before_those_of_the_settings(demo):
    answer = what_first(demo, broken_promise_price=2500, footage_day_price=1000, footage_week_price=0)
    assert answer.first.price == 2500
    assert answer.sentence.startswith("Measure Lane 2 booth for a week before ordering: ")
    assert "for an effort of 0 credits." in answer.sentence
    assert demo.site.settings.efforts == {}
    assert {text.split(",")[0] for text in answer.warnings} == {"Not worth the effort"}
    assert [f"{how} before ordering" for how in answer.table["how"]] == list(answer.first.ways["how"])
