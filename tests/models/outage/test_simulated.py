"""The simulated site against closed forms, within 3 standard errors; what cameras share and what they do not."""

from math import inf, nan
from types import SimpleNamespace

import numpy as np
import pytest

from edgestore import InputError
from edgestore.models.outage import (
    ExponentialRepair,
    LognormalRepair,
    Outages,
    WorkingHoursRepair,
)
from edgestore.models.outage import simulated as simulated_outage
from edgestore.models.outage.simulated import Estimate, simulate_outages

pytestmark = pytest.mark.slow

RECORDER = Outages(17_520, ExponentialRepair(24))
LINK = Outages(8_760, LognormalRepair(8, 1.2))
FIGURES = (
    *("availability", "outages_per_year", "chance_outlasts"),
    *("lost_without_card_h_per_year", "lost_h_per_year"),
)


@pytest.mark.parametrize("repair", [ExponentialRepair(24), LognormalRepair(8, 1.2), WorkingHoursRepair(4, 2)])
@pytest.mark.parametrize("retention", [0, 24, 60])
def test_one_recorder_agrees_with_the_closed_forms(repair, retention):
    result = simulate_outages(Outages(17_520, repair), retention, runs=20_000, seed=3)
    assert [name for name in FIGURES if getattr(result, name).errors_apart > 3] == []
    assert result.agrees
    # And is near enough for that to mean something: 2 % of the hours lost.
    lost = result.lost_h_per_year
    assert lost.standard_error < 0.03 * lost.closed_form


def test_the_figures_by_hand_are_met_too():
    result = simulate_outages(RECORDER, 72, runs=50_000, seed=5)
    for estimate, expected in (
        (result.availability, 730 / 731),
        (result.outages_per_year, 8766 / 17_544),
        (result.chance_outlasts, np.exp(-3)),
        (result.lost_without_card_h_per_year, 8766 / 731),
        (result.lost_h_per_year, 8766 / 731 * np.exp(-3)),
    ):
        assert estimate.closed_form == pytest.approx(expected)
        assert estimate.value == pytest.approx(expected, abs=3 * estimate.standard_error)


def test_links_dead_cards_and_shared_causes_agree_with_the_closed_forms():
    result = simulate_outages(
        RECORDER,
        np.linspace(12, 96, 20),
        LINK,
        cameras_per_link=3,
        shared_cause_share=0.1,
        card_failures_per_year=0.5,
        inspected_every_days=200,
        runs=4000,
    )
    assert result.agrees
    assert result.lost_h_per_year_by_camera.shape == (20,)
    assert result.lost_h_per_year_by_camera.mean() == pytest.approx(result.lost_h_per_year.value)
    assert result.lost_h_per_year_by_run.mean() == pytest.approx(result.lost_h_per_year.value)


def test_outages_that_overlap_are_counted_once():
    # Two parts, each away half of the time and failing on its own: both work for a quarter of it.
    part = Outages(100, ExponentialRepair(100))
    result = simulate_outages(part, 0, part, years=5, runs=300)
    away = result.lost_without_card_h_per_year
    assert away.value == pytest.approx(0.75 * 8766, abs=3 * away.standard_error + 20)
    # The closed form lets a part fail only while the other works, 1 - 1 / (1 + 1 + 1); the result tells them apart.
    assert away.closed_form == pytest.approx(2 / 3 * 8766)
    assert not result.agrees


def test_outages_of_a_camera_that_overlap_are_one_and_spoilt_where_a_piece_of_it_is():
    # Camera 0: 10 to 15 and 12 to 20 are 10 to 20, 30 to 31 stays. Camera 1: 5 to 9, and 9 to 9.5 follows at once.
    key, begins = np.array([1, 0, 0, 1, 0]), np.array([9.0, 30.0, 12.0, 5.0, 10.0])
    ends, spoilt = np.array([9.5, 31.0, 20.0, 9.0, 15.0]), np.array([False, False, True, False, False])
    joined = simulated_outage._joined(key, begins, ends, spoilt)
    assert [part.tolist() for part in joined] == [[0, 0, 1], [10, 30, 5], [10, 1, 4.5], [True, False, False]]


def test_cameras_that_share_a_recorder_share_its_luck():
    alone = simulate_outages(RECORDER, 24, runs=2000)
    together = simulate_outages(RECORDER, [24] * 50, runs=2000)
    # The same recorder drawn: fifty cameras say no more about it than one.
    assert together.lost_h_per_year.standard_error == pytest.approx(alone.lost_h_per_year.standard_error, rel=0.15)
    assert np.ptp(together.lost_h_per_year_by_camera) == pytest.approx(0, abs=1e-9)


def test_cameras_with_links_of_their_own_have_luck_of_their_own():
    never = Outages(inf, ExponentialRepair(24))
    shared = simulate_outages(never, [24] * 50, RECORDER, cameras_per_link=50, runs=1000)
    own = simulate_outages(never, [24] * 50, RECORDER, runs=1000)
    ratio = shared.lost_h_per_year.standard_error / own.lost_h_per_year.standard_error
    # Independent: sqrt(50) = 7.1; the error of an error from 1000 runs of a long tail is some 10 %.
    assert 5 < ratio < 9.5
    assert shared.agrees
    assert own.agrees


def test_a_card_that_has_failed_is_dead_in_every_outage_until_the_next_inspection():
    # Inspected every 1000 h, a mean life of 300 h: works in the first of 200 outages, not in the last, and then again.
    site = SimpleNamespace(card_failures_per_h=1 / 300, inspected_every_h=1000)
    at_h = np.append(np.linspace(0, 999, 200), 1000)
    dead = simulated_outage._card_dead(site, np.zeros(201, int), at_h, np.random.default_rng(1))
    assert (dead[0], dead[199], dead[200]) == (False, True, False)
    assert np.count_nonzero(np.diff(dead[:200])) == 1


def test_the_last_link_may_have_fewer_cameras():
    never = Outages(inf, ExponentialRepair(24))
    result = simulate_outages(never, [24] * 5, RECORDER, cameras_per_link=2, runs=2000)
    first, second, third, fourth, fifth = result.lost_h_per_year_by_camera
    assert first == pytest.approx(second, abs=1e-9)
    assert third == pytest.approx(fourth, abs=1e-9)
    assert len({round(first, 6), round(third, 6), round(fifth, 6)}) == 3
    assert result.agrees


def test_a_larger_card_loses_no_more_in_the_same_outages():
    by_camera = simulate_outages(RECORDER, [0, 12, 24, 48, 96], LINK, cameras_per_link=5).lost_h_per_year_by_camera
    assert np.all(np.diff(by_camera) < 0)


def test_the_same_seed_gives_the_same_outages_and_another_others():
    one, same, other = (simulate_outages(RECORDER, 24, LINK, seed=seed) for seed in (1, 1, 2))
    assert one.lost_h_per_year_by_run.tolist() == same.lost_h_per_year_by_run.tolist()
    assert one.lost_h_per_year_by_run.tolist() != other.lost_h_per_year_by_run.tolist()


def test_batches_of_runs_agree_too(monkeypatch):
    monkeypatch.setattr(simulated_outage, "OUTAGES_AT_ONCE", 500)
    result = simulate_outages(RECORDER, [24, 48], LINK, runs=3001)
    assert result.lost_h_per_year_by_run.shape == (3001,)
    assert result.agrees


def test_a_recorder_that_never_fails_loses_nothing():
    result = simulate_outages(Outages(inf, ExponentialRepair(24)), [24, 48], card_failures_per_year=1)
    assert [getattr(result, name).value for name in FIGURES] == [1, 0, 0, 0, 0]
    assert result.agrees
    assert result.lost_h_per_year_by_camera.tolist() == [0, 0]


def test_a_repair_that_takes_no_time_loses_nothing():
    result = simulate_outages(Outages(1000, ExponentialRepair(0)), 24, card_failures_per_year=inf)
    assert (result.availability.value, result.lost_h_per_year.value) == (1, 0)
    assert result.agrees


@pytest.mark.parametrize("dead", [{"card_failures_per_year": inf}, {"shared_cause_share": 1}])
def test_a_card_that_fails_at_once_or_a_cause_that_always_takes_it_leaves_as_much_as_no_card(dead):
    result = simulate_outages(RECORDER, 72, LINK, **dead)
    assert result.lost_h_per_year.value == pytest.approx(result.lost_without_card_h_per_year.value)
    assert result.agrees


def test_an_estimate_says_how_far_it_is_from_the_closed_form():
    assert Estimate(10, 0.5, 9).errors_apart == 2
    assert Estimate(1, 0, 1).errors_apart == 0
    assert Estimate(1, 0, 2).errors_apart == inf


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"retention_h": -1}, r"^retention_h: is -1 h; must be 0 or more h"),
        ({"retention_h": [[1, 2]]}, r"^retention_h: found shape \(1, 2\); allowed: one row of cameras"),
        ({"recorder": 17_520}, r"^recorder: is 17520; must be an Outages"),
        ({"link": ExponentialRepair(24)}, r"^link: is ExponentialRepair"),
        ({"recorder": Outages([1e4, 2e4], ExponentialRepair(24))}, r"^recorder: found arrays; allowed: one MTBF"),
        ({"cameras_per_link": 0}, r"^cameras_per_link: is 0; must be 1 or more"),
        ({"cameras_per_link": 1.5}, r"^cameras_per_link: is 1\.5; must be one whole number"),
        ({"shared_cause_share": 5}, r"^shared_cause_share: is 5; must be 0 or more and at most 1"),
        ({"card_failures_per_year": nan}, r"^card_failures_per_year: is nan; "),
        ({"inspected_every_days": 0}, r"^inspected_every_days: is 0 days; must be above 0 days"),
        ({"years": 0}, r"^years: is 0 years; must be above 0 years"),
        ({"years": [1, 2]}, r"^years: found shape \(2,\); allowed: one number"),
        ({"runs": 1}, r"^runs: is 1; must be 2 or more"),
        ({"seed": -1}, r"^seed: is -1; must be 0 or more"),
        ({"recorder": Outages(0.001, ExponentialRepair(0))}, r"^years: found 8\.77e\+07 outages a run; .*fewer years"),
    ],
)
def test_what_cannot_be_simulated_is_refused(changed, message):
    good = {"recorder": RECORDER, "retention_h": 24}
    with pytest.raises(InputError, match=message):
        simulate_outages(**good | changed)
