"""What a plan that decides by chance and by cost must keep to, whatever the site."""

from dataclasses import replace
from itertools import product

import numpy as np
import pandas as pd
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.special import ndtr, ndtri

from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.settings import Costs, Settings
from edgestore.models.life.law import CardLife
from edgestore.models.retention import retention_h
from edgestore.models.uncertainty.laws import Z_90
from edgestore.models.wear.endurance import life_years
from edgestore.plan.candidates import tried
from edgestore.plan.change_age import change_table
from edgestore.plan.evidence import no_evidence
from edgestore.plan.rates import card_flash
from edgestore.plan.requirements import Requirements
from edgestore.plan.site import Site
from edgestore.plan.site_plan import site_plan

some_sites = settings(max_examples=max(settings.default.max_examples // 2 - 2, 1))  # each is two plans: 3, or 73
few_sites = settings(max_examples=max(settings.default.max_examples // 8, 1))

CENT = 0.01
"""Costs nearer than this are the same."""


@st.composite
def camera_rows(draw):
    mean = draw(st.sampled_from([None, 0.1, 0.5, 1, 2, 4, 8]))
    cap = draw(st.sampled_from([None, 2, 4, 8, 16])) if mean else draw(st.sampled_from([2, 4, 8, 16]))
    cap = max(cap, mean) if cap and mean else cap
    most = draw(st.sampled_from([None, 64, 256]))
    scene = draw(st.sampled_from(["quiet", "busy", "noisy night"]))
    return f"{mean or ''},{cap or ''},{scene},{most or ''},{draw(st.sampled_from(['yes', 'no']))}"


@st.composite
def card_rows(draw):
    size = draw(st.sampled_from([16, 32, 64, 128, 256, 512]))
    cycles = draw(st.sampled_from([500, 1000, 3000, 20000]))
    kind = draw(st.sampled_from(["stated", "range", "unknown"]))
    wear = {
        "stated": f"{size * cycles / 2000:g},,,",
        "range": f",{cycles},1.1,{draw(st.sampled_from([2, 4]))}",
        "unknown": f",{cycles},,",
    }[kind]
    return f"{size},C10 V30,{wear},{draw(st.integers(4, 200))}"


def listed(rows, offer):
    cameras = "\n".join(
        ["camera,mean_mbit_s,cap_mbit_s,scene,max_card_gb,lift", *(f"c{n},{row}" for n, row in enumerate(rows))]
    )
    cards = "\n".join(
        [
            "card,capacity_gb,speed_class,endurance_tbw,pe_cycles,write_amplification_low,write_amplification_high,price",
            *(f"k{n},{row}" for n, row in enumerate(offer)),
        ]
    )
    return read_cameras(cameras.encode()).rows, read_cards(cards.encode()).rows


def made(rows, offer, requirements=None, costs=None) -> Site:
    cameras, cards = listed(rows, offer)
    asked = requirements or Requirements(retention_days=2, life_years=2, speed_margin=1)
    return Site(cameras, cards, no_evidence(cameras), asked, Settings(costs=costs or COSTS))


COSTS = Costs(60, 260, spare_fraction=0.1, first_fitting_is_a_visit=False)

ROWS, OFFER = st.lists(camera_rows(), min_size=1, max_size=5), st.lists(card_rows(), min_size=1, max_size=6)
ASKED = st.builds(
    Requirements,
    retention_days=st.sampled_from([0.5, 1, 2, 4, 7]),
    life_years=st.sampled_from([0.5, 1, 2.1, 3, 5]),
    speed_margin=st.sampled_from([1, 5, 10]),
    retention_days_max=st.sampled_from([None, 14.0, 30.0]),
    assurance=st.sampled_from([0.5, 0.8, 0.9, 0.95]),
)


def cost_and_state(site: Site) -> tuple[np.ndarray, np.ndarray]:
    plan = site_plan(site).plan
    return plan["cost"].to_numpy(float), plan["meets"].to_numpy()


@some_sites
@given(ROWS, OFFER, ASKED, ASKED)
def test_a_stricter_promise_never_costs_less_and_never_assures_more(rows, offer, one, other):
    strict = Requirements(
        max(one.retention_days, other.retention_days),
        max(one.life_years, other.life_years),
        max(one.speed_margin, other.speed_margin),
        min(one.retention_days_max or 1000.0, other.retention_days_max or 1000.0),
        max(one.assurance, other.assurance),
    )
    assume(strict.retention_days_max >= strict.retention_days)
    cost, meets = cost_and_state(made(rows, offer, one))
    more, still = cost_and_state(made(rows, offer, strict))
    assert not (still & ~meets).any()
    assert (more[still] >= cost[still] - CENT).all()


@some_sites
@given(ROWS, OFFER, card_rows(), ASKED)
def test_one_more_card_on_the_list_never_costs_more(rows, offer, another, asked):
    cost, meets = cost_and_state(made(rows, offer, asked))
    less, still = cost_and_state(made(rows, [*offer, another], asked))
    assert still[meets].all()
    assert (less[meets] <= cost[meets] + CENT).all()


@some_sites
@given(ROWS, OFFER, ASKED, st.floats(0, 60), st.floats(0, 260))
def test_a_cheaper_visit_never_costs_more(rows, offer, asked, visit, with_lift):
    cost, meets = cost_and_state(made(rows, offer, asked))
    less, still = cost_and_state(
        made(rows, offer, asked, replace(COSTS, visit_price=visit, visit_with_lift_price=with_lift))
    )
    assert (still == meets).all()
    assert (less[meets] <= cost[meets] + CENT).all()


@some_sites
@given(ROWS, OFFER, ASKED)
def test_every_assured_camera_has_the_chance_asked_and_is_changed_within_its_window(rows, offer, asked):
    plan = site_plan(made(rows, offer, asked)).plan
    some = plan[plan["meets"]]
    assert (some["chance_kept"] >= asked.assurance - 1e-9).all()
    assert (some["chance_kept"] <= some[["chance_retention", "chance_maximum", "chance_life"]].min(axis=1) + 1e-9).all()
    assert (some["change_years"] >= asked.life_years - 1e-9).all()
    assert (some["change_years"] <= some["latest_change_years"] + 1e-9).all()
    assert (plan.loc[~plan["meets"], "best_chance"] < asked.assurance).all()


# The same by brute force: no grid of writes, no table, no interpolation; the cells of the rate, the places in the range
# of the amplification, the ways to map with 64 update intervals each, and the shapes are gone through one by one.
U = (np.arange(32) + 0.5) / 32
PLACES = (np.arange(8) + 0.5) / 8
SHAPES = 2 + 2 * (np.arange(3) + 0.5) / 3
RANDOM = 0.01 * 3 ** (ndtri((np.arange(101) + 0.5) / 101) / Z_90)
ENDURANCE = 2.8 ** (0.5 + ndtri((np.arange(41) + 0.5) / 41) / Z_90 / 2)
"""Half of the cards are worn out at so many times the stated endurance: 1 one in ten times, 2.8 one in ten times."""
WEAK = 0.01
INTERVALS = 60 ** (0.5 + ndtri((np.arange(64) + 0.5) / 64) / Z_90 / 2)
"""Seconds between two updates of a camera that does not tell it: one in ten below 1, one in ten above 60."""


def of_unknown_card(rate_mbit_s, interval_s):
    """Flash pages for one of video, a third of the cards each: mapped by page, by unit with a log, by unit.

    c pages of 16 KiB are begun between updates, of which one more comes at each end of a file of 10 minutes. An update
    is 3 pages: with 7 % of spare flash more than 0.07 c of them send video round 3 / 0.07 / (c + 3) times; with a log
    each costs its unit's share, 3 x 4; by unit 3 x 256.
    """
    c = np.ceil(rate_mbit_s * 1e6 / 8 / 16384 / (1 / interval_s + 1 / 600))
    by_page = np.where(c * 0.07 >= 3, 1.0, 1 + 3 / 0.07 / (c + 3))
    return [by_page, (c + 12) / (c + 3), (c + 768) / (c + 3)]


def brute_force(site: Site, camera: int, card: int, age: float) -> tuple[float, float]:
    """Chance that a card keeps retention and life and works at an age; and that it works then, whatever it holds."""
    wanted = site.wanted.iloc[camera]
    wear, held = possible(site, camera, card)
    lives = wear[..., None] * ENDURANCE
    sound = np.mean([CardLife(lives, wear_shape=shape).survival(age).mean(axis=2) for shape in SHAPES], axis=0)
    works = WEAK * np.exp(-age / 0.25) + (1 - WEAK) * sound * np.exp(-RANDOM * age).mean()
    ok = held >= wanted["retention_days"] * (1 - 1e-9)
    if not np.isnan(wanted["retention_days_max"]):
        ok &= held <= wanted["retention_days_max"] * (1 + 1e-9)
    return float((works.mean(axis=1) * ok).mean()), float(works.mean())


def nearness(site: Site) -> np.ndarray:
    """How near the chances of each card are: of an unknown one the plan tries 160 update intervals, not 32 x 192."""
    unknown = site.offered["pe_cycles"].notna() & site.offered["write_amplification_high"].isna()
    return np.where(unknown, 0.01, 0.004)


def possible(site: Site, camera: int, card: int) -> tuple[np.ndarray, np.ndarray]:
    """Years to the stated endurance, of shape (cells, possibilities), and days held in each cell."""
    from statistics import NormalDist

    rate, row = site.rates.iloc[camera], site.offered.iloc[[card]]
    low, median, cap = rate["low_mbit_s"], rate["median_mbit_s"], rate["cap_mbit_s"]
    sigma = np.log(median / low) / Z_90
    part = 1.0 if rate["stays_at_cap"] or cap != cap else NormalDist().cdf(np.log(cap / median) / sigma)
    mean = median * np.exp(sigma * np.array([NormalDist().inv_cdf(u * part) for u in U]))
    mean = np.minimum(mean, cap) if cap == cap else mean
    flash, least, most = (ends[0] for ends in card_flash(row))
    amplification = np.broadcast_to(least + (most - least) * PLACES, (len(U), len(PLACES)))
    if np.isnan(most):
        amplification = np.concatenate(of_unknown_card(mean[:, None], INTERVALS), axis=1)
    wear = life_years(flash / amplification, mean[:, None], 1.0)
    held = retention_h(row["capacity_gb"].iloc[0], mean, usable_fraction=row["usable_fraction"].iloc[0]) / 24
    return wear, held


@few_sites
@given(ROWS, OFFER, ASKED)
def test_the_chances_are_those_of_brute_force(rows, offer, asked):
    site = made(rows, offer, asked)
    given = tried(site, site.rates).given
    age = np.ceil(asked.life_years * 4 - 1e-9) / 4
    fits = site.offered["capacity_gb"].to_numpy() <= site.cameras["max_card_gb"].fillna(np.inf).to_numpy()[:, None]
    near_by_card = nearness(site)
    for camera, card in product(range(len(rows)), range(len(offer))):
        kept, works = brute_force(site, camera, card, age)
        near = near_by_card[card]
        assert given["chance_life"][camera, card] == pytest.approx(works, abs=near)
        if fits[camera, card] and given["speed_margin"][camera, card] >= site.wanted["speed_margin"].iloc[camera]:
            # a cell of the rate that a limit cuts counts in part here, and whole or not at all by brute force
            assert given["chance_kept"][camera, card] == pytest.approx(kept, abs=near + 2 / len(U))


@few_sites
@given(ROWS, OFFER, ASKED)
def test_over_all_assured_cards_and_all_ages_nothing_is_cheaper_by_brute_force(rows, offer, asked):
    """Every possibility of each card at every quarter; the table of changes is held to the models in another file."""
    site = made(rows[:2], offer[:4], asked)
    tries, table = tried(site, site.rates), change_table(COSTS.horizon_years, site.any_kind)
    plan = site_plan(site).plan
    for camera in np.flatnonzero(plan["meets"]):
        visit = COSTS.visit_with_lift_price if site.cameras["lift"].iloc[camera] else COSTS.visit_price
        costs = {}
        for card in np.flatnonzero(tries.served[camera]):
            price = site.offered["price"].iloc[card] * (1 + COSTS.spare_fraction)
            renewed = sum(table.expected(possible(site, camera, card)[0])).mean(axis=(0, 1))
            name = site.offered["card"].iloc[card]
            for age, count in zip(np.minimum(table.ages_years, COSTS.horizon_years), renewed, strict=True):
                # Within the window by a little more than the two ways of counting differ.
                enough = asked.assurance + nearness(site)[card]
                if age >= asked.life_years and brute_force(site, camera, card, age)[1] >= enough:
                    costs[name, age] = price + (price + visit) * count
        chosen = plan["card"][camera], min(plan["change_years"][camera], COSTS.horizon_years)
        assert plan["cost"][camera] <= min(costs.values(), default=np.inf) * 1.005 + CENT
        if chosen in costs:
            assert plan["cost"][camera] == pytest.approx(costs[chosen], rel=0.005)


@pytest.mark.slow
@few_sites
@given(ROWS, OFFER, ASKED, st.integers(0, 1000))
def test_a_site_lived_through_agrees_with_chance_and_cost(rows, offer, asked, seed):
    """Draw the truth from the laws, draw failures, and live through ten years, 20 000 times for one camera."""
    site = made(rows[:1], offer, asked)
    plan = site_plan(site).plan.iloc[0]
    assume(bool(plan["meets"]))
    random, count = np.random.default_rng(seed), 20_000
    rate, card = site.rates.iloc[0], site.offered[site.offered["card"] == plan["card"]]
    low, median, cap = rate["low_mbit_s"], rate["median_mbit_s"], rate["cap_mbit_s"]
    sigma = np.log(median / low) / Z_90
    part = 1.0 if rate["stays_at_cap"] or cap != cap else ndtr(np.log(cap / median) / sigma)
    mean = median * np.exp(ndtri(random.random(count) * part) * sigma)
    mean = np.minimum(mean, cap) if cap == cap else mean
    flash, least, most = (ends[0] for ends in card_flash(card))
    amplification = least + (most - least) * random.random(count)
    if np.isnan(most):
        drawn = of_unknown_card(mean, 60 ** (0.5 + random.normal(size=count) / Z_90 / 2))
        amplification = np.choose(random.integers(0, 3, count), drawn)
    wear = life_years(flash / amplification, mean, 1.0)
    wear = wear * np.exp(np.log(2.8) * (0.5 + random.normal(size=count) / Z_90 / 2))
    shape = random.uniform(2, 4, count)
    failing = 0.01 * np.exp(random.normal(size=count) * np.log(3) / Z_90)

    def life() -> np.ndarray:
        worn = wear * (random.exponential(size=count) / np.log(2)) ** (1 / shape)
        sound = np.minimum(worn, random.exponential(size=count) / failing)
        weak = random.exponential(0.25, count)
        return np.where(random.random(count) < WEAK, weak, sound)

    first = life()
    held = retention_h(card["capacity_gb"].iloc[0], mean, usable_fraction=card["usable_fraction"].iloc[0]) / 24
    kept = (first >= np.ceil(asked.life_years * 4 - 1e-9) / 4) & (held >= asked.retention_days * (1 - 1e-9))
    if asked.retention_days_max is not None:
        kept &= held <= asked.retention_days_max * (1 + 1e-9)
    spread = np.sqrt(plan["chance_kept"] * (1 - plan["chance_kept"]) / count)
    assert kept.mean() == pytest.approx(plan["chance_kept"], abs=3.5 * spread + 0.004)
    changes, now, age = np.zeros(count), np.zeros(count), plan["change_years"]
    step = np.minimum(first, age)
    while (due := now + step < 10 - 1e-9).any():
        changes += due
        now = np.where(due, now + step, 10.0)
        step = np.minimum(life(), age)
    price = card["price"].iloc[0] * (1 + COSTS.spare_fraction)
    visit = COSTS.visit_with_lift_price if site.cameras["lift"].iloc[0] else COSTS.visit_price
    cost = price + changes * (price + visit)
    assert cost.mean() == pytest.approx(plan["cost"], abs=3.5 * cost.std() / np.sqrt(count) + 0.005 * plan["cost"])


def test_the_plan_is_the_same_however_the_cameras_are_grouped_for_computing(monkeypatch):
    rows = ["1,4,busy,,no", ",8,quiet,,no", "4,8,noisy night,64,yes"] * 2
    offer = ["64,C10 V30,,1000,,,20", "128,C10 V30,200,,,,40", "256,C10 V30,,3000,1.1,4,60"]
    one = site_plan(made(rows, offer)).plan
    for room in ("assured", "least_cost"):
        monkeypatch.setattr(f"edgestore.plan.{room}.AT_ONCE", 2)
    pd.testing.assert_frame_equal(site_plan(made(rows, offer)).plan, one)
