"""What a service log teaches, against conjugate formulas, quadrature and hand arithmetic."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from test_invariants import listed

from edgestore.inputs.beliefs import Beliefs
from edgestore.inputs.settings import Costs, Service, Settings
from edgestore.models.life.law import CardLife
from edgestore.plan.card_life import CardKind, known_before
from edgestore.plan.evidence import no_evidence
from edgestore.plan.requirements import Requirements
from edgestore.plan.service_records import Records, learnt, without_themselves
from edgestore.plan.site import Site
from edgestore.plan.site_plan import site_plan

BEFORE = known_before(Beliefs())
DAY = pd.Timestamp(2026, 1, 1)
OFFER = ["64,C10 V30,300,,,,20", "128,C10 V30,600,,,,40"]


def records(failed_years=(), running_years=(), wear_life_years=1e5) -> Records:
    """Records of cards that hardly wear, or wear in so many years."""
    years = np.array([*failed_years, *running_years], dtype=float)
    failed = np.arange(len(years)) < len(failed_years)
    return Records(years, failed, np.array([wear_life_years]), np.ones((len(years), 1)))


def site(rows=(), cameras=4) -> Site:
    """Cameras of 1 Mbit/s, and a log with (kind, years in service, whether it failed)."""
    listing, cards = listed(["1,4,busy,,no"] * cameras, OFFER)
    log = pd.DataFrame(
        [
            (f"c{n % cameras}", kind, DAY - pd.Timedelta(days=365.25 * years), failed)
            for n, (kind, years, failed) in enumerate(rows)
        ],
        columns=["camera", "card", "fitted", "failed"],
    )
    log = log.assign(
        fitted=pd.to_datetime(log["fitted"]),
        removed=pd.to_datetime(pd.Series(np.where(log["failed"], DAY, pd.NaT))),
        why=np.where(log["failed"], "failed", ""),
        serial="",
    )
    settings = Settings(costs=Costs(60, 260), service=Service(as_of=DAY.date()))
    asked = Requirements(retention_days=2, life_years=3, speed_margin=1)
    return Site(listing, cards, no_evidence(listing), asked, settings, log=log)


def chances(of: Site, card: str) -> np.ndarray:
    candidates = site_plan(of).candidates
    return candidates.loc[candidates["card"] == card, "chance_life"].to_numpy()


def test_random_failures_alone_follow_the_rule_of_bayes_by_quadrature():
    # No card is weak and none wears: a lognormal prior of 0.01 within 3 times, and 3 failures in 41 card-years, whose
    # likelihood is rate^3 exp(-41 rate). The mean by summing over 200 000 rates.
    never = Beliefs.stated({"weak_fraction": (1e-12, 1e-12)}, "known")
    _, kinds = learnt(known_before(never), {"plain": records([5, 6, 7], [11, 12])})
    rate = np.exp(np.linspace(np.log(1e-5), np.log(10), 200_001))
    density = stats.lognorm.pdf(rate, math.log(3) / 1.2815516, scale=0.01) * rate * rate**3 * np.exp(-41 * rate)
    assert kinds["plain"].mean_random_per_year == pytest.approx(density @ rate / density.sum(), rel=0.01)
    assert kinds["plain"].basis == "assumed, with 3 failures in 41 card-years"


def test_random_failures_come_near_to_the_conjugate_gamma_law():
    # The gamma law of the same mean, 0.01444, and variance as that lognormal law, 0.01444^2 x (exp(0.8572^2) - 1):
    # shape 1 / 1.085 = 0.922, 63.8 card-years. With 10 failures in 200 card-years: 10.922 / 263.8 = 0.0414 a year.
    never = Beliefs.stated({"weak_fraction": (1e-12, 1e-12)}, "known")
    _, kinds = learnt(known_before(never), {"plain": records(np.linspace(5, 15, 10), np.full(10, 10.0))})
    assert kinds["plain"].mean_random_per_year == pytest.approx(10.922 / 263.8, rel=0.08)


def test_the_weak_share_follows_the_binomial_law_and_comes_near_to_the_conjugate_beta_law():
    # No wear, no random failures: 5 of 100 cards failed, all weak, and 95 worked for 10 years: likelihood w^5 (1-w)^95.
    # Prior lognormal, 0.0023 to 0.0207; the mean by summing over 200 000 shares.
    never = Beliefs.stated({"random_per_year": (1e-12, 1e-12)}, "known")
    _, kinds = learnt(known_before(never), {"plain": records([0.1] * 5, [10.0] * 95)})
    found = kinds["plain"].mean_weak_fraction
    ends = np.log([0.0023, 0.0207])
    shares = np.exp(np.linspace(np.log(1e-5), np.log(0.999), 200_001))
    prior = stats.norm.pdf(np.log(shares), ends.mean(), (ends[1] - ends[0]) / 2 / 1.2815516)
    density = prior * shares**5 * (1 - shares) ** 95
    assert found == pytest.approx(density @ shares / density.sum(), rel=0.01)
    # The beta law of that mean, 0.00996, and variance, 0.00996^2 x (exp(0.8572^2) - 1): a = 0.903, b = 89.7; with the
    # records 5.903 / (0.903 + 89.7 + 100) = 0.0310.
    assert found == pytest.approx(5.903 / 190.6, rel=0.1)


def test_an_empty_log_changes_nothing():
    assert learnt(BEFORE, {}) == (BEFORE, {})
    with_log, without = site(), replace(site(), log=None)
    np.testing.assert_array_equal(chances(with_log, "k0"), chances(without, "k0"))


def test_records_of_no_card_years_change_nothing():
    any_kind, kinds = learnt(BEFORE, {"plain": records([], [1e-9])})
    for kind in (any_kind, kinds["plain"]):
        np.testing.assert_allclose(kind.chance, BEFORE.chance, atol=1e-9)


def test_survivors_only_raise_the_chance_of_their_kind_and_of_the_others():
    none, some, more = (site([("k0", years, False)] * 8) for years in (0.0, 2.0, 4.0))
    for card in ("k0", "k1"):
        assert (chances(none, card) < chances(some, card)).all()
        assert (chances(some, card) < chances(more, card)).all()


def test_111_early_failures_rule_a_kind_out_and_leave_the_other_kinds_in():
    before, after = site(cameras=3), site([("k0", 0.4 + n % 7 / 10, True) for n in range(111)], cameras=3)
    assert (chances(before, "k0") > 0.9).all()
    assert (chances(after, "k0") < 0.05).all()
    plan = site_plan(after).plan
    assert (plan["card"] == "k1").all()
    # They are strange to what is known of cards: of other kinds they tell hardly anything.
    np.testing.assert_allclose(chances(after, "k1"), chances(before, "k1"), atol=0.03)


def test_wear_that_comes_early_lowers_the_endurance_and_hardly_the_rest():
    # 20 cards, all worn out at the age at which the stated endurance was used up, give or take a seventh.
    _, kinds = learnt(BEFORE, {"plain": records(np.linspace(4.3, 5.7, 20), wear_life_years=5.0)})
    assert kinds["plain"].quantile("stated_endurance", 0.5) == pytest.approx(1, abs=0.12)
    assert kinds["plain"].quantile("stated_endurance", 0.5) < BEFORE.quantile("stated_endurance", 0.2)
    assert kinds["plain"].mean_weak_fraction < BEFORE.mean_weak_fraction


def test_endurance_follows_the_rule_of_bayes_by_quadrature():
    # A known shape of 3, no random failures and no weak cards: a lognormal prior, and Weibull lives seen to 4 and 6
    # years or ended at 5, with the median life as the unknown.
    ends = {"wear_shape": (3.0, 3.0), "random_per_year": (1e-12, 1e-12), "weak_fraction": (1e-12, 1e-12)}
    _, kinds = learnt(known_before(Beliefs.stated(ends, "known")), {"plain": records([5], [4, 6], 3.0)})
    times = np.exp(np.linspace(np.log(0.2), np.log(12), 100_001))
    scale = 3.0 * times / math.log(2) ** (1 / 3)
    prior = stats.lognorm.pdf(times, math.log(2.8) / 2 / 1.2815516, scale=math.sqrt(2.8)) * times
    density = prior * stats.weibull_min.pdf(5, 3, scale=scale)
    density *= stats.weibull_min.sf(4, 3, scale=scale) * stats.weibull_min.sf(6, 3, scale=scale)
    found = kinds["plain"].chance.sum(axis=(1, 2)) @ kinds["plain"].endurance
    assert found == pytest.approx(density @ times / density.sum(), rel=0.01)


def test_a_kind_without_records_keeps_what_is_known_of_any():
    of = site([("k0", 3.0, False)] * 4)
    assert of.kinds_of(pd.Series(["k1"]))[0] is of.any_kind
    assert of.any_kind.basis == "assumed, with the service log of 1 other kind"


def test_a_card_without_its_own_record_is_what_the_other_records_of_its_kind_tell():
    # The card of 3 years has a wear life of 4, so that its record tells of endurance; another kind speaks along.
    other_kind = records([1, 2], [6, 7, 8], 5.0)
    _, with_it = learnt(BEFORE, {"plain": records([2.5], [3, 5, 4], 4.0), "other": other_kind})
    _, without = learnt(BEFORE, {"plain": records([2.5], [5, 4], 4.0), "other": other_kind})
    ages = np.array([0.5, 2, 4, 7])
    found = [without_themselves(with_it["plain"], records([], [3], 4.0))(np.array([age]))[0] for age in ages]
    np.testing.assert_allclose(found, without["plain"].survival(np.array([[4.0]]), ages)[0, 0], atol=1e-3)
    # Counted twice, the chance at 4 years is told higher.
    twice = with_it["plain"].survival(np.array([[4.0]]), ages)[0, 0]
    assert twice[2] > found[2] + 0.01


def test_a_kind_of_which_all_is_known_leaves_nothing_to_take_out():
    # Shape 3, half worn out at the stated endurance of 5 years, 1 % a year fail otherwise, 1 % weak: the law itself.
    known = CardKind(np.array([3.0]), *np.array([[1.0], [0.01], [0.01]]), np.ones((1, 1, 1)))
    found = without_themselves(known, records([], [2.0, 6.0], 5.0))(np.array([4.0, 7.0]))
    expected = CardLife(5.0, wear_shape=3.0, random_per_year=0.01, early_fraction=0.01).survival([4.0, 7.0])
    np.testing.assert_allclose(found, expected, atol=1e-4)
