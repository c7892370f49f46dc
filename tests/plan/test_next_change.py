"""Dates and spares of a site: against hand arithmetic, moved by the log, and refused when it cannot be."""

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from edgestore import InputError
from edgestore.answers.ages import due_years
from edgestore.answers.certainty import GUESSED_LIFE
from edgestore.inputs.settings import Service
from edgestore.models.life.law import CardLife
from edgestore.models.upkeep import next_change_years
from edgestore.plan.changes import failures_in_lead_time, spare_cards
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.tables import tables

CAMERAS = ("cameras.csv", b"camera,mean_mbit_s,cap_mbit_s\ngate,4,8\nyard,4,8\n")
CARDS = ("cards.csv", b"card,capacity_gb,speed_class,endurance_tbw\nc,64,C10,100\nlarge,128,C10,200\n")
AS_OF = date(2026, 3, 1)


def cards(*wear_lives):
    """Cards of which each wear life is as likely as the others."""
    of_each = CardLife(np.array([wear_lives]), **GUESSED_LIFE)
    return lambda years: of_each.survival(years[:, None]).mean(axis=1)


def alive(years, wear_life):
    """Weak 1 %, mean a quarter of a year; random 1 % a year; Weibull shape 3, half worn out at the wear life."""
    worn = math.exp(-math.log(2) * (years / wear_life) ** 3)
    return 0.01 * math.exp(-years / 0.25) + 0.99 * worn * math.exp(-0.01 * years)


def planned(tmp_path, log, service="", cameras=CAMERAS, cards=CARDS, asked="retention_days = 1"):
    (tmp_path / "log.csv").write_text("camera,card,fitted,removed,why\n" + log)
    (tmp_path / "site.toml").write_text(
        f'[requirements]\n{asked}\nlife_years = 1\nspeed_margin = 1\n[service]\nlog = "log.csv"\n'
        f"as_of = {AS_OF}\n{service}"
    )
    return site_plan(read_lists(cameras, cards, tmp_path / "site.toml"))


def test_a_card_is_due_when_a_chance_of_nine_in_ten_is_used_up_all_wear_lives_alike():
    age = np.array([2.0])
    further = due_years(cards(5.0, 8.0), age, 0.9)[0]

    def left(x):
        return (alive(2 + x, 5) + alive(2 + x, 8)) / (alive(2, 5) + alive(2, 8)) - 0.9

    assert further == pytest.approx(optimize.brentq(left, 0, 20), abs=1e-8)


@given(st.floats(0.5, 30), st.floats(0, 10), st.floats(0.5, 0.99))
def test_with_one_wear_life_it_is_the_model_of_a_card(life, age, chance):
    expected = next_change_years(CardLife(life, **GUESSED_LIFE), chance, age)
    found = due_years(cards(life), np.array([age]), chance)[0]
    assert found == pytest.approx(expected, abs=1e-6)


def test_a_card_far_beyond_its_life_is_due_now():
    # At 20 years none but a weak card could be left, mean further life 0.25 years: 0.25 x -ln 0.9
    assert due_years(cards(0.1), np.array([20.0]), 0.9)[0] == pytest.approx(0.25 * 0.1053605, rel=1e-5)
    assert due_years(cards(0.1), np.array([500.0]), 0.9)[0] == 0


def test_the_log_moves_the_date_as_the_card_ages(tmp_path):
    cameras = ("cameras.csv", b"camera,mean_mbit_s,cap_mbit_s\ngate,4,8\nyard,3.8,8\n")
    plan = planned(tmp_path, "gate,c,2024-03-01,,\n", cameras=cameras)
    # 4 Mbit/s x 0.45 GB/h x 24 h x 365.25 / 1000 = 15.78 TB a year: 100 TB last 6.338 years
    life, age = 100 / (4 * 0.45 * 24 * 365.25 / 1000), 730 / 365.25
    new = optimize.brentq(lambda x: alive_on_average(x, life) - 0.9, 0, 20)
    now = alive_on_average(age, life)
    further = optimize.brentq(lambda x: alive_on_average(age + x, life) / now - 0.9, 0, 20)
    row = plan.calendar.iloc[0]
    assert row["age_years"] == pytest.approx(age)
    told_when_new = (date.fromisoformat(row["change_when_new"]) - date(2024, 3, 1)).days / 365.25
    assert told_when_new == pytest.approx(new, rel=0.01)
    # That it works after two years is counted once: for its date, and not as the only record of its kind besides.
    assert row["next_change_years"] == pytest.approx(further, rel=0.01)
    assert row["next_change"] == str(AS_OF + timedelta(days=round(row["next_change_years"] * 365.25)))
    assert row["next_change"] > row["change_when_new"]
    gate, yard = plan.plan.iloc[0], plan.plan.iloc[1]
    assert gate["in_service_card"] == "c"
    assert gate["in_service_next_change"] == row["next_change"]
    assert gate["in_service_next_change_years"] == row["next_change_years"]
    assert yard["in_service_card"] == yard["in_service_next_change"] == ""  # the log has no card there
    assert np.isnan(yard["in_service_next_change_years"])
    # The planned card is changed by the same law, without prices at the last whole quarter of a year before that age.
    # At 3.8 Mbit/s that age is well within its quarter, which what the log says of the kind does not leave.
    by_hand = 100 / (3.8 * 0.45 * 24 * 365.25 / 1000)
    latest = optimize.brentq(lambda x: alive_on_average(x, by_hand) - 0.9, 0, 20)
    assert yard["change_years"] == math.floor(latest * 4) / 4
    assert (
        alive_on_average(yard["change_years"], by_hand) >= 0.9 > alive_on_average(yard["change_years"] + 0.25, by_hand)
    )


def alive_on_average(years, wear_life):
    """Mean known within a factor of 1.3, random failures within 3 (10 and 90 % points), Weibull shape 2 to 4; half of
    the cards worn out at 1 to 2.8 times the stated endurance."""
    z, weight = np.polynomial.hermite_e.hermegauss(24)
    weight = weight / weight.sum()
    u, part = np.polynomial.legendre.leggauss(12)
    reached = 2.8 ** (0.5 + z / stats.norm.ppf(0.9) / 2)
    ratio = years / (wear_life * 1.3 ** (z / stats.norm.ppf(0.9)) * reached[:, None])
    worn = weight @ np.exp(-math.log(2) * ratio[..., None] ** (3 + u))
    random = weight @ np.exp(-0.01 * 3 ** (z / stats.norm.ppf(0.9)) * years)
    return 0.01 * math.exp(-years / 0.25) + 0.99 * (weight @ worn @ part / 2) * random


def test_the_planned_card_and_the_card_in_service_never_lend_each_other_a_date(tmp_path):
    # gate is planned with c, the smallest that serves; the larger card of twice the endurance is in it since 2024.
    plan = planned(tmp_path, "gate,large,2024-03-01,,\n", "lead_days = 365.25\nspares_confidence = 0.8\n")
    gate, yard = plan.plan.iloc[0], plan.plan.iloc[1]
    assert gate["card"] == yard["card"] == "c"
    assert gate["in_service_card"] == "large"
    assert gate["change_years"] == yard["change_years"]  # both from fitting: what is in service changes neither
    # -ln 0.9 = 0.10536 failures until each change, spread evenly: of kind c from its age alone, of large from its own
    assert plan.spares["card"].tolist() == ["c"]
    assert plan.spares["failures"][0] == pytest.approx(2 * 0.1053605 / gate["change_years"], rel=1e-5)
    assert plan.spares_in_service["card"].tolist() == ["large"]
    further = gate["in_service_next_change_years"]
    assert plan.spares_in_service["failures"][0] == pytest.approx(0.1053605 / further, rel=1e-5)
    assert tables(plan)["spares_in_service"] is plan.spares_in_service  # what is written beside spares.csv
    assert "spares_in_service" not in tables(site_plan(read_lists(CAMERAS, CARDS)))


def test_a_card_of_unknown_write_amplification_is_due_by_the_laws_of_the_plan(tmp_path):
    # Fitted on the day of the log it is due as the planned card of its kind, which is told in whole quarters of a year.
    unknown = ("cards.csv", b"card,capacity_gb,speed_class,pe_cycles\nc,64,C10,20000\n")
    cameras = ("cameras.csv", b"camera,mean_mbit_s\ngate,0.5\nyard,0.5\n")
    plan = planned(tmp_path, f"gate,c,{AS_OF},,\n", cameras=cameras, cards=unknown)
    due, latest = plan.calendar["next_change_years"][0], plan.plan["latest_change_years"][0]
    assert 1 < latest < 10
    assert latest <= due < latest + 0.25


def test_without_a_log_there_are_years_and_no_dates():
    plan = site_plan(read_lists(CAMERAS, CARDS))
    assert plan.calendar is None
    assert plan.spares_in_service is None
    assert not [name for name in plan.plan if name.startswith("in_service")]
    np.testing.assert_array_equal(plan.plan["change_years"], plan.plan["latest_change_years"])


def test_a_surer_change_comes_sooner(tmp_path):
    sure, surer = (
        planned(tmp_path, "gate,c,2024-03-01,,\n", f"change_chance = {p}\n").calendar["next_change_years"][0]
        for p in (0.9, 0.95)
    )
    assert surer < sure


def test_cards_taken_out_have_no_date_and_of_two_in_a_camera_the_sooner_counts(tmp_path):
    log = "gate,c,2020-03-01,2024-02-01,failed\ngate,large,2024-03-01,,\ngate,c,2022-03-01,,\n"
    plan = planned(tmp_path, log)
    assert plan.calendar["card"].tolist() == ["c", "large"]
    soonest, later = plan.calendar["next_change"]
    assert plan.plan["in_service_next_change"][0] == soonest < later
    assert any("has 2 cards in service in gate: the one that is due first counts" in text for text in plan.warnings)


def test_what_the_lists_do_not_know_is_told_and_has_no_date(tmp_path):
    plan = planned(tmp_path, "shed,c,2024-03-01,,\ngate,old kind,2024-03-01,,\n")
    assert plan.calendar.empty
    assert plan.spares_in_service.empty
    assert (plan.plan["in_service_card"] == "").all()
    assert (plan.plan["in_service_next_change"] == "").all()
    assert any("has c in shed, which the lists do not contain" in text for text in plan.warnings)
    of_gate, of_shed = (next(t for t in plan.warnings if f"in {name}, which" in t) for name in ("gate", "shed"))
    assert of_gate.startswith("The service log has old kind in gate")
    assert of_gate.endswith("It is taken as due on the first day.")
    assert "due on the first day" not in of_shed  # no camera of the list


def test_a_card_of_unknown_kind_is_replaced_on_the_first_day_at_a_visit_of_its_own(tmp_path):
    plan = planned(tmp_path, "gate,old kind,2024-03-01,,\n")
    [row] = plan.visits.replacements.table.to_dict("records")
    assert (row["in_service_card"], row["due_for"]) == ("old kind", "a kind that is not in the card list")
    first = plan.visits.table.iloc[0]
    assert (first["cameras"], first["work"]) == ("gate", "change the cards")
    assert row["replace_on"] == first["date"]
    assert plan.visits.bill.first_cards == 1  # of the yard, which has no card yet
    assert "due at once: 1 of a kind that is not in the card list. Replace" in " ".join(
        plan.visits.replacements.sentences
    )


def test_spares_are_counted_by_hand():
    kinds, years = pd.Series(["a", "b", "a"]), pd.Series([2.0, 4.0, 0.1])
    service = Service(change_chance=0.9, lead_days=365.25, spares_confidence=0.8)
    failures = failures_in_lead_time(years, service)
    table = spare_cards(kinds, failures, service)
    # -ln 0.9 = 0.10536 failures until the change; of kind a 1/2 of that and, due within the lead time, all of that
    assert table["card"].tolist() == ["a", "b"]
    assert table["cameras"].tolist() == [2, 1]
    np.testing.assert_allclose(table["failures"], [0.10536 * 1.5, 0.10536 / 4], rtol=1e-4)
    enough = stats.poisson.cdf(table["spares"], table["failures"]).prod()
    assert enough >= 0.8
    assert table["spares"].tolist() == [0, 0]  # exp(-0.1844) = 0.8316
    surer = Service(lead_days=365.25, spares_confidence=0.9)
    assert spare_cards(kinds, failures, surer)["spares"].tolist() == [1, 0]


def test_a_site_that_no_card_serves_needs_no_spares():
    assert spare_cards(pd.Series([], dtype=object), pd.Series([], dtype=float), Service()).empty


@pytest.mark.parametrize(
    ("service", "message"),
    [
        ('log = "log.csv"', r"site\.toml, \[service\]: found a log without as_of; allowed: both or neither"),
        ("as_of = 2026-03-01", "found as_of without a log"),
        ('log = "none.csv"\nas_of = 2026-03-01', r"none\.csv"),
        ('log = "log.csv"\nas_of = "2026-03-01"', r"\[service\] as_of: found '2026-03-01'"),
        ("change_chance = 90", r"\[service\] change_chance: is 90.* A percentage is divided by 100"),
        ("spares_confidence = 1", r"\[service\] spares_confidence: is 1"),
        ("lead_days = 0", r"\[service\] lead_days: is 0"),
        ("lead_day = 30", "Is it lead_days"),
    ],
)
def test_a_service_table_that_cannot_be_used_is_refused(tmp_path, service, message):
    (tmp_path / "log.csv").write_text("camera,card,fitted,removed,why\ngate,c,2024-03-01,,\n")
    (tmp_path / "site.toml").write_text(f"[service]\n{service}\n")
    with pytest.raises(InputError, match=message):
        read_lists(CAMERAS, CARDS, tmp_path / "site.toml")


def test_faults_of_the_log_and_of_the_lists_are_told_together(tmp_path):
    (tmp_path / "log.csv").write_text("camera,card,fitted,removed,why\ngate,c,2026-03-02,,\n,c,soon,,\n")
    (tmp_path / "site.toml").write_text(f'[service]\nlog = "log.csv"\nas_of = {AS_OF}\n')
    with pytest.raises(InputError) as caught:
        read_lists(("cameras.csv", b"camera,mean_mbit_s\ngate,-4\n"), CARDS, tmp_path / "site.toml")
    assert [fault.where for fault in caught.value.faults] == [
        "cameras.csv, line 2, column mean_mbit_s",
        "log.csv, line 2, column fitted",
        "log.csv, line 3, column camera",
        "log.csv, line 3, column fitted",
    ]


def test_a_log_needs_its_day():
    site = read_lists(CAMERAS, CARDS)
    log = pd.DataFrame({"camera": ["gate"], "card": ["c"], "fitted": [pd.Timestamp(2024, 1, 1)], "removed": [pd.NaT]})
    with pytest.raises(InputError, match="as_of: found no day"):
        site_plan(replace(site, log=log))


def test_a_card_in_service_that_may_not_hold_the_days_asked_is_told_with_its_chance_and_warned_of(tmp_path):
    # A listed mean of 4 Mbit/s is known within 1.3 (one in ten above): ln 1.3 / 1.2816 = 0.2047. None is above the cap
    # of 8: ln 2 / 0.2047 = 3.386. 64 GB hold a day up to 64 / 10.8 = 5.926 Mbit/s: ln(5.926 / 4) / 0.2047 = 1.920.
    cards = ("cards.csv", b"card,capacity_gb,speed_class,endurance_tbw\nc,64,C10,100\ntiny,32,C10,50\n")
    plan = planned(tmp_path, "gate,c,2024-03-01,,\nyard,tiny,2024-03-01,,\n", cards=cards)
    phi = stats.norm.cdf
    told = plan.plan["in_service_chance_retention"].tolist()
    assert told[0] == pytest.approx(phi(1.920) / phi(3.386), abs=0.002)
    # 32 GB: 2.963 Mbit/s, ln(2.963 / 4) / 0.2047 = -1.466
    assert told[1] == pytest.approx(phi(-1.466) / phi(3.386), abs=0.002)
    assert plan.calendar.set_index("camera")["chance_retention"].to_dict() == dict(
        zip(["gate", "yard"], told, strict=True)
    )
    warning = (
        "The card that is in yard now is not sure to hold the days asked: replace it at once, where the plan has"
        " another card."
    )
    assert warning in plan.warnings


def test_a_card_in_service_that_may_hold_longer_than_policy_allows_is_told_with_its_chance_and_warned_of(tmp_path):
    # At most a day: 64 GB hold no more from a mean of 5.926 Mbit/s on, 32 GB from 2.963 on (see the test above):
    # 3 % and 93 % of the means below the cap, and the assurance is 90 %.
    cards = ("cards.csv", b"card,capacity_gb,speed_class,endurance_tbw\nc,64,C10,100\ntiny,32,C10,50\n")
    asked = "retention_days = 0.2\nretention_days_max = 1"
    plan = planned(tmp_path, "gate,c,2024-03-01,,\nyard,tiny,2024-03-01,,\n", cards=cards, asked=asked)
    phi = stats.norm.cdf
    told = plan.plan["in_service_chance_maximum"].tolist()
    assert told[0] == pytest.approx(1 - phi(1.920) / phi(3.386), abs=0.002)
    assert told[1] == pytest.approx(1 - phi(-1.466) / phi(3.386), abs=0.002)
    warning = (
        "The card that is in gate now may hold longer than allowed: have the camera delete footage by age, or replace"
        " the card first."
    )
    assert warning in plan.warnings
    locked = ("cameras.csv", CAMERAS[1].replace(b"mbit_s\n", b"mbit_s,locked_fraction\n").replace(b"8\n", b"8,0.1\n"))
    plan = planned(tmp_path, "gate,c,2024-03-01,,\n", cards=cards, asked=asked, cameras=locked)
    assert warning not in plan.warnings
    assert warning.replace("by age,", "by age, which leaves locked clips,") in plan.warnings
    deletes = ("cameras.csv", CAMERAS[1].replace(b"mbit_s\n", b"mbit_s,deletes_by_age\n").replace(b"8\n", b"8,yes\n"))
    allowed = planned(tmp_path, "gate,c,2024-03-01,,\n", cards=cards, asked=asked, cameras=deletes)
    assert not [text for text in allowed.warnings if "longer than allowed" in text]
