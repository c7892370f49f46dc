"""What a finding is worth, whatever is lost with each card: against hand arithmetic, drawn truths, and itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtri

from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.findings import Part, found, found_of_card, worth_if_known
from edgestore.plan.losses import Losses
from edgestore.plan.promise import CELLS, RateLaw, overlap

STATES = np.array([0.05, 0.25, 0.4, 0.25, 0.05])


def losses_of(cost, kept, *, log_rate=None, stated_price=None, planned=None, by_endurance=None) -> Losses:
    """Make losses of cost and chance by camera, cell and card; the endurance does nothing where it is not given."""
    cameras, cells, cards = cost.shape
    of_endurance = [np.repeat(values.mean(axis=1)[..., None], len(STATES), axis=2) for values in (cost, kept)]
    middles = ndtri((np.arange(cells) + 0.5) / cells)
    return Losses(
        log_rate=np.tile(middles, (cameras, 1)) if log_rate is None else log_rate,
        cost=cost,
        kept=kept,
        log_endurance=np.tile([-1.0, -0.4, 0.0, 0.4, 1.0], (cards, 1)),
        endurance_chance=np.tile(STATES, (cards, 1)),
        cost_by_endurance=of_endurance[0] if by_endurance is None else by_endurance[0],
        kept_by_endurance=of_endurance[1] if by_endurance is None else by_endurance[1],
        is_possible=np.ones((cameras, cards), dtype=bool),
        planned=np.full(cameras, -1) if planned is None else np.array(planned),
        stated_price=stated_price,
    )


def cells(made: Losses) -> Part:
    """What each camera writes, as it is measured in one."""
    return Part(made.log_rate, np.broadcast_to(np.eye(CELLS), (len(made.log_rate), CELLS, CELLS)))


@st.composite
def any_losses(draw):
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    shape = (draw(st.integers(1, 4)), CELLS, draw(st.integers(1, 5)))
    cost = rng.uniform(50, 500, (shape[0], 1, shape[2])) * np.exp(0.3 * rng.normal(size=shape).cumsum(axis=1) / 5)
    kept = np.sort(rng.uniform(0, 1, shape), axis=1)[:, ::-1]
    of_endurance = (shape[0], shape[2], len(STATES))
    by_endurance = rng.uniform(50, 500, of_endurance), np.sort(rng.uniform(0, 1, of_endurance), axis=2)
    log_rate = np.sort(draw(st.sampled_from([0.05, 0.5, 1.5])) * rng.normal(size=shape[:2]), axis=1)
    price = draw(st.sampled_from([0.0, 10.0, 1000.0, 1e5]))
    return losses_of(cost, kept, log_rate=log_rate, stated_price=price, by_endurance=by_endurance)


# Invariant 4: counted in loss, to learn an input is never worth less than nothing, to measure longer never less than
# shorter, and nothing more than to know. What a measurement says is cut into cells, which takes away a thousandth.
@given(any_losses(), st.floats(0.02, 1), st.floats(1.1, 6))
def test_no_measurement_is_worth_less_than_a_shorter_one_nor_more_than_knowing(made, sigma, factor):
    error = np.full(len(made.cost), sigma)
    short, long, known = (
        found(made, cells(made), error * factor).worth,
        found(made, cells(made), error).worth,
        worth_if_known(made),
    )
    at_stake = 1e-3 * np.ptp(made.by_rate, axis=(1, 2))
    assert (short >= 0).all()
    assert (long >= short - at_stake).all()
    assert (known >= long - 1e-9 * at_stake).all()


@given(any_losses(), st.floats(0.02, 1), st.floats(1.1, 6))
def test_no_answer_about_a_card_is_worth_less_than_a_vaguer_one_nor_more_than_knowing(made, sigma, factor):
    for card in range(made.cost.shape[2]):
        vague, sharp, known = (found_of_card(made, card, error)[0] for error in (sigma * factor, sigma, 0.0))
        at_stake = 1e-3 * np.ptp(made.by_endurance)
        assert 0 <= vague <= sharp + at_stake
        assert sharp <= known + 1e-9 * at_stake


@given(any_losses(), st.floats(0.02, 1))
def test_the_worth_is_the_saving_and_the_promises_kept_at_their_price(made, sigma):
    told = found(made, cells(made), np.full(len(made.cost), sigma))
    assert told.saving + made.price * told.fewer_broken == pytest.approx(told.worth, abs=1e-6 * made.by_rate.max())
    assert (told.chance_of_likely <= told.chance_of_change + 1e-12).all()


def test_the_worth_of_knowing_two_cards_apart_is_that_worked_out_by_hand():
    # The small card costs 100 and keeps the promise in the lower 3/4 of the rates, the large one 160 and always does;
    # a broken promise costs 400. The large one: 160. The small one: 100 + 400 / 4 = 200. Known: 3/4 of 100, 1/4 of 160.
    cost = np.broadcast_to([100.0, 160.0], (1, CELLS, 2))
    kept = np.stack([np.arange(CELLS) < 0.75 * CELLS, np.ones(CELLS)], axis=1)[None].astype(float)
    made = losses_of(cost, kept, stated_price=400.0)
    assert worth_if_known(made) == pytest.approx([160 - (0.75 * 100 + 0.25 * 160)])
    told = found(made, cells(made), np.array([1e-4]))
    assert (told.worth[0], told.chance_of_change[0], told.likely[0]) == pytest.approx((45.0, 0.75, 0))
    assert (told.saving[0], told.fewer_broken[0]) == pytest.approx((45.0, 0.0), abs=1e-9)


def test_a_measurement_is_worth_what_drawn_truths_gain_by_it():
    # The same two cards; the truth is drawn from the cells, the measurement about it, and Bayes' rule followed by hand.
    cost = np.broadcast_to([100.0, 160.0], (1, CELLS, 2))
    kept = np.stack([np.arange(CELLS) < 0.75 * CELLS, np.ones(CELLS)], axis=1)[None].astype(float)
    made = losses_of(cost, kept, stated_price=400.0)
    sigma, draws, rng = 0.6, 20_000, np.random.default_rng(5)
    cell = rng.integers(0, CELLS, draws)
    says = made.log_rate[0, cell] + sigma * rng.normal(size=draws)
    likely = np.exp(-((says[:, None] - made.log_rate[0]) ** 2) / (2 * sigma**2))
    breaks = likely[:, CELLS * 3 // 4 :].sum(axis=1) / likely.sum(axis=1)
    takes_small = 100 + 400 * breaks < 160
    loss = np.where(takes_small, 100 + 400 * (cell >= 0.75 * CELLS), 160)
    gained = 160 - loss
    told = found(made, cells(made), np.array([sigma]))
    assert told.worth[0] == pytest.approx(gained.mean(), abs=3 * gained.std() / np.sqrt(draws))
    assert told.chance_of_change[0] == pytest.approx(takes_small.mean(), abs=0.011)  # 3 standard errors of 0.5


def test_a_card_of_which_the_endurance_decides_is_worth_asking_about_once_for_all_cameras():
    # A cheap card costs 100 and keeps the promise with the upper 70 % of endurances, another costs 150 and always does;
    # a broken promise costs 400: 150 against 100 + 400 x 0.3 = 220. Known, 50 are saved in 0.7 of the cases, 35 for
    # each camera.
    cost = np.broadcast_to([100.0, 150.0], (3, CELLS, 2))
    works = np.array([0.0, 0.0, 1.0, 1.0, 1.0])
    by_endurance = (
        np.broadcast_to(np.array([100.0, 150.0])[:, None], (3, 2, 5)),
        np.broadcast_to(np.stack([works, np.ones(5)]), (3, 2, 5)),
    )
    kept = np.broadcast_to([0.7, 1.0], (3, CELLS, 2))
    made = losses_of(cost, kept, stated_price=400.0, by_endurance=by_endurance)
    worth, changes, saving, fewer = found_of_card(made, 0, 0.0)
    assert (worth, changes, saving, fewer) == pytest.approx((3 * 35, 0.7, 3 * 35, 0.0))
    assert found_of_card(made, 1, 0.0)[:2] == (0.0, 0.0)


@pytest.mark.parametrize(("what", "error"), [("mean", 0.15), ("recorded", 0.1)])
@pytest.mark.parametrize("median", [2.0, 4.0])
def test_a_finding_about_one_of_two_parts_is_worth_what_drawn_truths_gain_by_it(what, error, median):
    # A camera on motion with a cap of 4 Mbit/s, at which its mean is in 1 of 10 cases or in half of all, and events
    # known to 0.3 in the logarithm. The small card costs 100 and holds up to 3.5 Mbit/s, the large one 160 and always
    # does; a broken promise costs 300. Truths are drawn, a finding about each, and Bayes' rule followed by weighing
    # other drawn truths.
    rng, sigma, limit = np.random.default_rng(3), 0.55, 3.5
    draws = {}
    for name, count in (("truth", 5_000), ("other", 2_000)):
        mean = np.log(np.minimum(median * np.exp(sigma * rng.normal(size=count)), 4.0))
        draws[name] = {"mean": mean, "recorded": 0.3 * rng.normal(size=count)}
    breaks = {name: of["mean"] + of["recorded"] > np.log(limit) for name, of in draws.items()}
    says = draws["truth"][what] + error * rng.normal(size=len(breaks["truth"]))
    weights = np.exp(-((says[:, None] - draws["other"][what]) ** 2) / (2 * error**2))
    takes_small = 100 + 300 * (weights @ breaks["other"] / weights.sum(axis=1)) < 160
    loss = np.where(takes_small, 100 + 300 * breaks["truth"], 160)
    now = np.where(100 + 300 * breaks["other"].mean() < 160, 100 + 300 * breaks["truth"], 160)
    gained = now - loss

    law = RateLaw.of(*(np.array([value]) for value in (median * np.exp(-Z_90 * sigma), median, 4.0, 1.0, 0.3)))
    kept = overlap(np.zeros((1, 2)), np.array([[law.chance_up_to(np.array([[limit]]))[0, 0], 1.0]]))
    cost = np.broadcast_to([100.0, 160.0], kept.shape)
    made = losses_of(cost, kept, log_rate=np.log(law.cells_mbit_s), stated_price=300.0)
    part = Part.mean_rate(law) if what == "mean" else Part.recorded(law)
    told = found(made, part, np.array([error]))
    assert told.worth[0] == pytest.approx(gained.mean(), abs=3 * gained.std() / np.sqrt(len(gained)))


def test_a_part_that_is_known_tells_nothing_when_it_is_measured():
    mean_known, all_recorded = (4.0, 4.0, 8.0, 0, 0.3), (2.0, 4.0, 8.0, 0, 0.0)
    law = RateLaw.of(*np.array([mean_known, all_recorded]).T)
    kept = np.broadcast_to(np.stack([np.arange(CELLS) < 24, np.ones(CELLS)], axis=1), (2, CELLS, 2)).astype(float)
    made = losses_of(np.broadcast_to([100.0, 160.0], kept.shape), kept, stated_price=400.0)
    error = np.array([0.1, 0.1])
    of_mean, of_events = (found(made, part, error).worth for part in (Part.mean_rate(law), Part.recorded(law)))
    assert (of_mean[0], of_events[1]) == pytest.approx((0, 0), abs=1e-9)
    assert min(of_mean[1], of_events[0]) > 10


def test_a_broken_promise_is_priced_at_what_the_assured_choices_pay_for_a_chance():
    # The first camera took a card of 200 with 0.95 where one of 100 has 0.85: it pays 1000 for a chance of 1; the
    # second took one of 100 with 0.92 and not one of 140 with 0.97: it pays no 800. The median of the two is 900.
    cost = np.repeat(np.array([[[100.0, 200.0]], [[100.0, 140.0]]]), CELLS, axis=1)
    kept = np.repeat(np.array([[[0.85, 0.95]], [[0.92, 0.97]]]), CELLS, axis=1)
    made = losses_of(cost, kept, planned=[1, 0])
    assert made.site_price == pytest.approx(900.0)
    assert made.order.tolist() == [1, 0]
    # Each camera's own is on the side of it on which its order is the best, a twentieth inside.
    assert made.price == pytest.approx([1050.0, 800 / 1.05])
    stated = losses_of(cost, kept, planned=[1, 0], stated_price=900.0)
    assert (stated.site_price, stated.price.tolist(), stated.order.tolist()) == (900.0, [900.0, 900.0], [0, 1])


def test_where_nobody_pays_for_a_chance_a_broken_promise_costs_the_dearest_card():
    cost, kept = np.full((1, CELLS, 1), 120.0), np.full((1, CELLS, 1), 0.9)
    assert losses_of(cost, kept, planned=[0]).site_price == 120.0
    assert losses_of(cost, kept).site_price == 120.0
