"""Cards of a kind that are bought together, in the plan: its spares, and a trial of their batch."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore.inputs.beliefs import Beliefs
from edgestore.models.lots import batch_failures_cv
from edgestore.models.upkeep import chance_spares_last, spares_for_separate
from edgestore.plan.card_life import known_before
from edgestore.plan.changes import planned_spares, spare_cards
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import SitePlan, site_plan

BEFORE = known_before(Beliefs())
YEARS = np.array([1.0]), np.array([[10.0]])


def planned(correlation: float | None, cameras: int = 300, trial: str = ",,") -> SitePlan:
    rows = "".join(f"c{number},2,4,continuous\n" for number in range(cameras))
    beliefs = "" if correlation is None else f"[beliefs]\nbatch_correlation = {correlation}\n"
    head = b"card,capacity_gb,usable_fraction,speed_class,endurance_tbw,price,tried_cards,weak_found,trial_finds\n"
    return site_plan(
        read_lists(
            ("cameras.csv", f"camera,mean_mbit_s,cap_mbit_s,recording\n{rows}".encode()),
            ("cards.csv", head + f"plain,256,0.97,U3 V30,400,20{trial}\n".encode()),
            ("site.toml", f"[service]\nlead_days = 200\n{beliefs}".encode()),
        ),
        with_reasons=False,
    )


def test_at_0_spares_are_those_of_independent_cards_and_two_batches_save_none():
    plan = planned(0)
    served = plan.plan[plan.plan["meets"]]
    service = plan.site.settings.service
    alone = spare_cards(served["card"], served["failures_per_year"] * 200 / 365.25, service)
    assert plan.spares["spares"].tolist() == plan.spares["spares_in_2_batches"].tolist() == alone["spares"].tolist()
    assert alone["spares"][0] == stats.poisson.ppf(0.95, alone["failures"][0])


def test_a_batch_takes_more_spares_than_independent_cards_and_two_batches_fewer_than_one():
    independent, guessed, much = (planned(correlation).spares.iloc[0] for correlation in (0, None, 0.3))
    assert independent["failures"] == pytest.approx(guessed["failures"])
    assert independent["failures"] == pytest.approx(much["failures"])
    assert independent["spares"] < guessed["spares"] < much["spares"]
    assert independent["spares"] < much["spares_in_2_batches"] < much["spares"]


@pytest.mark.parametrize("cameras", [1, 3, 10, 40])
@pytest.mark.parametrize("correlation", [0.05, 0.5, 0.9999])
def test_the_guessed_correlation_saves_no_spare(cameras, correlation):
    few = planned(0, cameras)
    of = planned(correlation, cameras)
    told = planned_spares(of.site, of.plan[of.plan["meets"]])
    assert (told["spares"] >= few.spares["spares"]).all()
    assert (told["spares_in_2_batches"] >= few.spares["spares"]).all()


def test_a_plan_without_cards_has_no_spares():
    plan = planned(0.1, 1)
    assert planned_spares(plan.site, plan.plan.iloc[:0]).empty


@given(st.floats(0.1, 8), st.floats(0.1, 8), st.floats(0, 5), st.floats(0, 5), st.floats(0.5, 0.99))
def test_the_fewest_spares_of_two_kinds_that_are_enough_together_by_trying_all(first, second, cv, other_cv, sure):
    told = spares_for_separate([first, second], sure, [cv, other_cv])
    counts = np.arange(told.sum() + 1)
    enough = np.outer(chance_spares_last(counts, first, cv), chance_spares_last(counts, second, other_cv))
    of_all = counts[:, None] + counts
    assert enough[tuple(told.astype(int))] >= sure
    assert enough[of_all < told.sum()].max(initial=0) < sure


def test_a_trial_says_more_of_the_batch_it_is_of_than_of_cards_that_are_independent():
    alone, batch = (BEFORE.tried(20, 0, 1.0, rho) for rho in (0, 0.1))
    assert batch.mean_weak_fraction < 0.5 * alone.mean_weak_fraction < 0.5 * BEFORE.mean_weak_fraction
    bad_alone, bad_batch = (BEFORE.tried(20, 2, 1.0, rho) for rho in (0, 0.1))
    # Of a batch with 2 bad of 20, (0.09 + 2) / 29 at a share of 1 %.
    assert bad_batch.mean_weak_fraction == pytest.approx(2.09 / 29, rel=0.05)
    assert bad_batch.mean_weak_fraction > bad_alone.mean_weak_fraction
    assert bad_batch.survival(YEARS[1], YEARS[0])[0, 0, 0] < bad_alone.survival(YEARS[1], YEARS[0])[0, 0, 0]


def test_a_trial_moves_the_share_of_the_kind_less_when_it_may_have_been_a_bad_batch():
    shares = [
        kind.chance.sum(axis=(0, 1)) @ kind.weak_fraction for kind in (BEFORE.tried(20, 2, 1.0, r) for r in (0, 0.1))
    ]
    assert BEFORE.mean_weak_fraction < shares[1] < shares[0]


def test_a_trial_with_the_least_correlation_is_nearly_that_of_independent_cards():
    alone, hardly = (BEFORE.tried(30, 1, 0.5, rho) for rho in (0, 1e-9))
    assert hardly.mean_weak_fraction == pytest.approx(alone.mean_weak_fraction, rel=1e-5)
    assert hardly.chance == pytest.approx(alone.chance, abs=1e-7)


def test_the_plan_counts_on_the_batch_that_was_tried():
    without, tried = (planned(rho, 2, ",20,0,1").plan["chance_kept"][0] for rho in (0, 0.1))
    assert tried > without > planned(0.1, 2).plan["chance_kept"][0]


def test_the_spread_of_a_plan_is_that_of_its_weak_cards():
    # A fifth of the failures by weak cards of 1 %, correlation 0.1: 0.2 x sqrt(0.1 x 0.99 / 0.01) = 0.629.
    assert batch_failures_cv(0.01, 0.1, weak_part=0.2) == pytest.approx(0.2 * 9.9**0.5)
