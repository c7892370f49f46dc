"""What is lost with each card comes back to the plan's own cost and chance, over all rates and over all endurances."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from test_invariants import ASKED, OFFER, ROWS, made

from edgestore.plan.losses import losses
from edgestore.plan.read import read_lists
from edgestore.plan.site import Site
from edgestore.plan.site_plan import SitePlan, site_plan

DATA = Path(__file__).parents[2] / "data"
SITE = (DATA / "ferry_terminal" / "cameras.csv", DATA / "cards.csv", DATA / "ferry_terminal/site.toml")
some_sites = settings(max_examples=max(settings.default.max_examples // 4, 1))


def numbers(site: Site, plan: SitePlan):
    return pd.Index(site.offered["card"]).get_indexer(pd.Index(plan.plan["card_alone"]))


@some_sites
@given(ROWS, OFFER, ASKED)
def test_over_all_rates_cost_and_chance_are_those_of_the_plan(rows, offer, asked):
    site = made(rows, offer, asked)
    plan = site_plan(site)
    found = losses(site, numbers(site, plan))
    assert found.kept.mean(axis=1) == pytest.approx(plan.tries.kept, abs=1e-9)
    assured = plan.tries.served
    assert found.cost.mean(axis=1)[assured] == pytest.approx(plan.tries.given["cost"][assured], rel=1e-9)


def test_over_all_endurances_too_and_by_name_the_order_is_that_of_the_plan():
    site = read_lists(*SITE)
    plan = site_plan(site)
    found = losses(site, numbers(site, plan))
    assert found.endurance_chance.sum(axis=1) == pytest.approx(np.ones(len(site.offered)))
    kept = (found.kept_by_endurance * found.endurance_chance).sum(axis=2)
    assert kept == pytest.approx(found.kept.mean(axis=1), abs=1e-9)
    cost = (found.cost_by_endurance * found.endurance_chance).sum(axis=2)
    assert cost == pytest.approx(found.cost.mean(axis=1), rel=5e-3)  # read from splines at other places
    names = site.offered["card"].to_numpy(object)
    is_assured = plan.plan["card_alone"] != ""
    assert names[found.order][is_assured].tolist() == plan.plan.loc[is_assured, "card_alone"].tolist()


def test_a_higher_rate_never_keeps_the_promise_more_often_nor_a_lower_endurance():
    site = read_lists(*SITE)
    found = losses(site, np.full(len(site.cameras), -1))
    # Where nothing limits how long footage is kept; and a camera that writes a little more may fill flash pages better,
    # so only cards that state what a host may write.
    free, stated = np.isinf(site.most_days_to_hold), site.offered["endurance_tbw"].notna().to_numpy()
    assert (free.sum(), stated.sum()) == (14, 4)
    assert (np.diff(found.kept[free][:, :, stated], axis=1) <= 1e-9).all()
    # Of a kind that failed in service a high endurance says that something else than wear is at work: only the others.
    no_records = [" other kind" in kind.basis for kind in site.kinds_of(site.offered["card"])]
    assert 0 < sum(no_records) < len(no_records)
    assert (np.diff(found.kept_by_endurance[:, no_records], axis=2) >= -1e-9).all()


def test_without_costs_the_capacity_is_what_is_saved():
    site = read_lists(*SITE)
    free = replace(site, settings=replace(site.settings, costs=None))
    found = losses(free, np.full(len(site.cameras), -1))
    assert (found.cost == free.offered["capacity_gb"].to_numpy()).all()
    assert (found.cost_by_endurance == free.offered["capacity_gb"].to_numpy()[:, None]).all()
