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
    # Camera 0: 10 to 15 and 12 to 20 are 10 to 20, 30 to 31 stays. Camera 1: 0 to 9, and 9 to 9.5 follows at once.
    key, begins = np.array([1, 0, 0, 1, 0]), np.array([9.0, 30.0, 12.0, 0.0, 10.0])
    lasts, spoilt = np.array([0.5, 1.0, 8.0, 9.0, 5.0]), np.array([False, False, True, False, False])
    joined = simulated_outage._joined(key, begins, lasts, spoilt)
    assert [part.tolist() for part in joined] == [[0, 0, 1], [10, 30, 0], [10, 1, 9.5], [True, False, False]]


def test_an_outage_of_just_what_the_card_holds_does_not_outlast_it():
    # Open from 8 to 17 on five days, 45 of 168 h: a failure 4 h before any of these lasts the way and the work, 4.2 h.
    result = simulate_outages(Outages(17_520, WorkingHoursRepair(4, 0.2)), 4.2, runs=3000)
    assert result.chance_outlasts.closed_form == pytest.approx(123 / 168)
    assert result.agrees
    # No card, and a repair that takes no time, so that 0 h is all that an outage lasts.
    assert simulate_outages(Outages(1000, ExponentialRepair(0)), 0, runs=2).chance_outlasts.value == 0


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


def test_once_dead_a_card_is_so_until_its_inspection_and_each_card_and_each_new_one_has_a_life_of_its_own():
    # 20 cards, inspected every 1000 h from 500 h on, over 4000 h; an outage every 10 h. Of the first half interval
    # each has 50, of the last as many, of three between 100.
    site = SimpleNamespace(card_failures_per_h=1 / 300, inspected_every_h=1000)
    since = np.tile(np.arange(500.0, 4500, 10), 20)
    dead = simulated_outage._card_dead(site, np.repeat(np.arange(20), 400), since, np.random.default_rng(2))
    by_card = np.split(dead.reshape(20, 400), [50, 150, 250, 350], axis=1)
    worked = np.array([np.count_nonzero(~part, axis=1) for part in by_card])
    assert all(np.all(np.diff(part.astype(int)) >= 0) for part in by_card)
    # Alike are cards that died within the same 10 h, and those that lived on. The mean of exponential lives of 300 h
    # within 1000 h, rounded up to the next outage, is 300 (1 - exp(-10 / 3)) / 10 + 0.5 = 29.4 outages.
    for rows in (worked[1:4], worked[1:4].T):
        assert all(len(set(row.tolist())) > 0.7 * len(row) for row in rows if len(row) > 3)
    assert np.any(worked[1:4] != worked[1], axis=0).mean() > 0.9
    in_one_interval = np.tile(np.arange(0.0, 1000, 10), 20)
    beside = simulated_outage._card_dead(site, np.repeat(np.arange(20), 100), in_one_interval, np.random.default_rng(3))
    assert len(set(beside.reshape(20, 100).sum(axis=1).tolist())) > 10
    assert worked[1:4].mean() == pytest.approx(29.4, abs=4 * 26 / np.sqrt(60))


def test_a_run_may_begin_long_after_an_inspection():
    # Inspected every ten years, a failure in ten years: over a single year, a card that nobody knows the age of is as
    # often dead as in the long run, 1 - (1 - 1/e) / 1 = 1/e; a card that was new would be at 5 %.
    often = Outages(720, ExponentialRepair(10))
    kind = {"card_failures_per_year": 0.1, "inspected_every_days": 3652.5, "years": 1}
    result = simulate_outages(often, 1000, runs=4000, **kind)
    assert result.lost_h_per_year.closed_form == pytest.approx(8766 * 10 / 730 * np.exp(-1))
    assert result.agrees


def test_inspections_bring_a_card_back_so_that_no_run_of_ten_years_loses_all():
    # A mean life of half a year, inspected once a year: dead for 1 - (1 - exp(-2)) / 2 = 57 % of the time.
    result = simulate_outages(Outages(720, ExponentialRepair(10)), 1000, card_failures_per_year=2, runs=300)
    share = result.lost_h_per_year_by_run / result.lost_without_card_h_per_year.value
    assert share.mean() == pytest.approx(0.57, abs=0.03)
    assert share.min() > 0.1


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


def test_what_is_not_stated_is_a_link_a_camera_an_inspection_a_year_ten_years_and_a_thousand_runs():
    said = {"cameras_per_link": 1, "inspected_every_days": 365, "years": 10, "runs": 1000}
    kind = {"card_failures_per_year": 0.5}
    usual, stated = (simulate_outages(RECORDER, [24, 48], LINK, **kind, **more) for more in ({}, said))
    assert usual.lost_h_per_year_by_run.tolist() == stated.lost_h_per_year_by_run.tolist()


def test_a_longer_run_has_as_many_outages_more():
    # 8766 h / 100 h a year; in two years twice as many, of which the error is smaller by the root of 2.
    short, long = (simulate_outages(Outages(100, ExponentialRepair(0)), 0, years=n, runs=500) for n in (1, 2))
    for result, error in ((short, np.sqrt(87.66)), (long, np.sqrt(87.66 / 2))):
        assert result.outages_per_year.value == pytest.approx(87.66, abs=4 * error / np.sqrt(500))
        assert result.outages_per_year.standard_error == pytest.approx(error / np.sqrt(500), rel=0.15)


def test_the_error_of_two_runs_is_half_of_what_lies_between_them():
    result = simulate_outages(RECORDER, 0, LINK, runs=2, seed=0)
    one, other = result.lost_h_per_year_by_run
    assert result.lost_h_per_year.standard_error == pytest.approx(abs(one - other) / 2)


def test_the_error_of_a_chance_is_that_of_a_share_of_independent_outages():
    # exp(-1) of some 2000 x 10 x 8766 / 1000 outages of a mean of 10 h are longer than 10 h.
    result = simulate_outages(Outages(990, ExponentialRepair(10)), 10, runs=2000)
    expected = np.sqrt(np.exp(-1) * (1 - np.exp(-1)) / 175_320)
    assert result.chance_outlasts.standard_error == pytest.approx(expected, rel=0.08)


@pytest.mark.parametrize(("shift", "agrees"), [(0.0, True), (0.2, False)])
def test_a_figure_agrees_up_to_three_standard_errors(shift, agrees):
    # A recorder that never fails, in a year of two runs with 2 and 4 outages that took no time: a mean of 3 with an
    # error of 1, where the closed form is 0. With 0.2 more it lies 3.2 errors from it.
    never = simulated_outage._Site(Outages(inf, ExponentialRepair(0)), None, np.zeros(1), 1, 0.0, 0.0, 8760.0, 8766.0)
    by_run = np.array([[2 + shift, 4 + shift], [0, 0], [0, 0], [0, 0]])
    result = simulated_outage._result(never, by_run, np.zeros(1), 0.0)
    assert result.outages_per_year.errors_apart == pytest.approx(3 + shift)
    assert result.agrees == agrees


def test_a_card_that_no_outage_of_the_runs_outlasts_agrees_and_so_does_a_recorder_that_did_not_fail_in_them():
    # exp(-300 / 24) of some 5000 outages is 0.02 of one; a failure in 114 000 years is 0.09 in 1000 runs of ten.
    large = simulate_outages(RECORDER, 300)
    assert (large.chance_outlasts.value, large.lost_h_per_year.value, large.agrees) == (0, 0, True)
    reliable = simulate_outages(Outages(1e9, ExponentialRepair(24)), 24)
    assert (reliable.outages_per_year.value, reliable.availability.value, reliable.agrees) == (0, 1, True)


@pytest.mark.parametrize(("years", "retention_h", "agrees"), [(4.5, 0, True), (4.6, 0, False)])
def test_no_outage_where_more_than_nine_were_to_be_expected_does_not_agree(years, retention_h, agrees):
    # One a year: in two runs of 4.5 years nine, of 4.6 years 9.2.
    yearly = Outages(8766 - 24, ExponentialRepair(24))
    site = simulated_outage._Site(yearly, None, np.array([retention_h]), 1, 0.0, 0.0, 8760.0, years * 8766)
    assert simulated_outage._result(site, np.zeros((4, 2)), np.zeros(1), 0.0).agrees == agrees


@pytest.mark.parametrize(("beyond", "agrees"), [(0.0098, True), (0.0105, False)])
def test_no_outage_beyond_the_card_where_more_than_nine_were_to_be_expected_does_not_agree(beyond, agrees):
    # Two runs of 450 years, one outage of 24 h a year: 900, of which 0.98 % are 8.8 and 1.05 % are 9.5.
    site = simulated_outage._Site(
        Outages(8766 - 24, ExponentialRepair(24)),
        None,
        np.array([-24 * np.log(beyond)]),
        1,
        0.0,
        0.0,
        8760.0,
        450 * 8766,
    )
    by_run = np.array([[440.0, 460], [440 * 24, 460 * 24], [0, 0], [0, 0]])
    assert simulated_outage._result(site, by_run, np.zeros(1), 0.0).agrees == agrees


def test_runs_are_taken_so_many_at_once_that_a_million_outages_are_held():
    # Two and four outages a year, over ten years and five cameras: 300 a run, so 3333 runs; of a site where nothing
    # fails, a camera counts as an outage.
    site = SimpleNamespace(horizon_h=87_660.0, cameras=5, link=Outages(8766 / 4, ExponentialRepair(0)))
    site.recorder = Outages(8766 / 2, ExponentialRepair(0))
    assert simulated_outage._runs_at_once(site) == 3333
    site.recorder = site.link = Outages(inf, ExponentialRepair(24))
    assert simulated_outage._runs_at_once(site) == 200_000
    site.cameras = 1
    assert simulated_outage._runs_at_once(site) == 1_000_000


def test_a_run_of_ten_million_outages_is_simulated_by_itself_and_a_larger_one_not_at_all():
    # 10 000 outages a year over ten years and a hundred cameras are ten million.
    site = SimpleNamespace(horizon_h=87_660.0, cameras=100, link=None, recorder=Outages(0.8766, ExponentialRepair(0)))
    assert simulated_outage._runs_at_once(site) == 1
    site.cameras = 101
    with pytest.raises(InputError, match=r"^years: found 1\.01e\+07 outages a run; allowed: at most 1e\+07\."):
        simulated_outage._runs_at_once(site)


def test_a_recorder_that_never_fails_loses_nothing():
    result = simulate_outages(Outages(inf, ExponentialRepair(24)), [24, 48], card_failures_per_year=1)
    for number in ("value", "closed_form"):
        assert [getattr(getattr(result, name), number) for name in FIGURES] == [1, 0, 0, 0, 0]
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
        (
            {"recorder": Outages(0.001, ExponentialRepair(0))},
            r"^years: found 8\.77e\+07 outages a run; .*\. Fix: .*fewer y",
        ),
    ],
)
def test_what_cannot_be_simulated_is_refused(changed, message):
    good = {"recorder": RECORDER, "retention_h": 24}
    with pytest.raises(InputError, match=message):
        simulate_outages(**good | changed)
