"""Outages of repairable parts: check values, Markov processes solved beside them, limits and refusals."""

from math import inf, nan

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.outage import (
    ExponentialRepair,
    LognormalRepair,
    Outages,
    WorkingHoursRepair,
    availability,
    away_fraction,
    hidden_failure_fraction,
)
from edgestore.models.wear import life_years

H_PER_YEAR = 8766
RECORDER = Outages(17_520, ExponentialRepair(24))
TAILED = Outages(17_520, LognormalRepair(8, 1.2))
SITES = st.builds(
    Outages,
    st.floats(10, 1e6),
    st.one_of(
        st.builds(ExponentialRepair, st.floats(0.01, 200)),
        st.builds(LognormalRepair, st.floats(0.01, 100), st.floats(0.05, 2.5)),
        st.builds(WorkingHoursRepair, st.floats(0, 50), st.floats(0.01, 50)),
    ),
)
RETENTIONS = st.floats(0, 1000)
SHARES = st.floats(0, 1)


def stationary(rates) -> np.ndarray:
    """Solve a Markov process: the chances of its states, from the rates at which it goes from row to column."""
    flow = np.array(rates, float)
    balance = np.vstack([(flow - np.diag(flow.sum(axis=1))).T, np.ones(len(flow))])
    return np.linalg.lstsq(balance, np.append(np.zeros(len(flow)), 1), rcond=None)[0]


@given(st.floats(1, 1e4), st.floats(0.1, 1e3))
def test_availability_is_that_of_a_two_state_markov_process(mtbf, mttr):
    up, down = stationary([[0, 1 / mtbf], [1 / mttr, 0]])
    assert availability(mtbf, mttr) == pytest.approx(up, rel=1e-9)
    assert away_fraction(mtbf, mttr) == pytest.approx(down, rel=1e-9, abs=1e-12)


def test_two_parts_in_series_are_a_markov_process_of_three_states():
    # Both work; the recorder is away; the link is away. Neither fails while the other is away.
    up, *_ = stationary([[0, 1 / 1000, 1 / 400], [1 / 24, 0, 0], [1 / 6, 0, 0]])
    both = Outages.in_series(Outages(1000, ExponentialRepair(24)), Outages(400, ExponentialRepair(6)))
    assert both.availability() == pytest.approx(up, rel=1e-12)
    # Rates add: 1/1000 + 1/400 = 3.5/1000; the mean outage is (24 + 2.5 x 6) / 3.5.
    assert both.mtbf_h == pytest.approx(1000 / 3.5)
    assert both.repair.mean_h() == pytest.approx(39 / 3.5)


def test_the_check_values_of_the_sources_are_met():
    # Stated there for years of 8760 h, ours have 8766: 0.596628 and 0.960937 h a year.
    assert RECORDER.lost_h_per_year(72) * 8760 / H_PER_YEAR == pytest.approx(0.596628, abs=5e-7)
    assert TAILED.lost_h_per_year(72) * 8760 / H_PER_YEAR == pytest.approx(0.960937, abs=5e-7)
    assert RECORDER.repair.survival(72) == pytest.approx(0.049787, abs=5e-7)
    assert TAILED.repair.survival(72) == pytest.approx(0.033549, abs=5e-7)


def test_without_a_card_all_time_away_is_lost():
    for outages in (RECORDER, TAILED):
        assert outages.lost_h_per_year(0) == pytest.approx(H_PER_YEAR * (1 - outages.availability()))


@given(SITES, RETENTIONS, RETENTIONS, SHARES)
def test_more_retention_never_loses_more_and_a_dead_share_never_less(outages, one, other, share):
    short, long = sorted((one, other))
    slack = 1e-9 * H_PER_YEAR
    assert 0 <= outages.lost_h_per_year(long, share) <= outages.lost_h_per_year(short, share) + slack
    assert outages.lost_h_per_year(long) <= outages.lost_h_per_year(long, share) + slack
    assert outages.lost_h_per_year(long, 1) == pytest.approx(outages.lost_h_per_year(0))


@pytest.mark.parametrize("outages", [RECORDER, TAILED, Outages(17_520, WorkingHoursRepair(4, 2))])
@pytest.mark.parametrize("share", [0, 0.1])
def test_the_hours_of_an_outage_add_up_to_all_that_is_lost(outages, share):
    hours = np.arange(100_000)
    by_hour = outages.lost_by_hour_h_per_year(hours, 72, share)
    assert by_hour.sum() == pytest.approx(outages.lost_h_per_year(72, share), rel=1e-6)
    assert np.all(np.diff(by_hour) <= 1e-12)


def test_the_first_hour_of_an_outage_by_hand():
    # 8766 / 17544 outages; the first hour is lost if the outage lasts R longer: 24 exp(-3) (1 - exp(-1/24)).
    expected = H_PER_YEAR / 17_544 * 24 * np.exp(-3) * (1 - np.exp(-1 / 24))
    assert RECORDER.lost_by_hour_h_per_year(0, 72) == pytest.approx(expected)


def test_a_part_that_never_fails_costs_nothing():
    never = Outages(inf, ExponentialRepair(24))
    assert availability(inf, 24) == 1
    assert away_fraction([inf, 17_520], 24) == pytest.approx([0, 1 / 731])
    assert (never.availability(), never.outages_per_year(), never.lost_h_per_year(0)) == (1, 0, 0)
    with_link = Outages.in_series(never, RECORDER)
    assert with_link.lost_h_per_year(72) == pytest.approx(RECORDER.lost_h_per_year(72))
    neither = Outages.in_series(never, Outages(inf, ExponentialRepair(6)))
    assert neither.lost_h_per_year(0) == 0
    # One as likely as the other, which is all that is left to say: (24 + 6) / 2 h.
    assert neither.repair.mean_h() == 15


def test_a_repair_that_takes_no_time_costs_nothing():
    instant = Outages(17_520, ExponentialRepair(0))
    assert (instant.availability(), instant.lost_h_per_year(0), instant.lost_h_per_year(72)) == (1, 0, 0)


def test_a_card_that_never_records_never_wears_and_life_years_says_so():
    # The recorder never fails: nothing is written, and a life of no writes is refused rather than infinite.
    with pytest.raises(InputError, match=r"^recorded_fraction: is 0; must be above 0"):
        life_years(100, 4, away_fraction(inf, 24))
    # 1 hour in 731 is written: 731 times the life.
    assert life_years(100, 4, away_fraction(17_520, 24)) == pytest.approx(731 * life_years(100, 4))


def test_hidden_failures_by_hand_and_at_their_ends():
    # x = 1: 1/e. x = 2: 1 - (1 - exp(-2)) / 2 = 0.5 + exp(-2) / 2.
    assert hidden_failure_fraction([1, 2], 365.25) == pytest.approx([np.exp(-1), 0.5 + np.exp(-2) / 2])
    assert hidden_failure_fraction(0, 365) == 0
    assert hidden_failure_fraction(inf, 1) == 1
    assert hidden_failure_fraction(1e6, 365.25) == pytest.approx(1, abs=2e-6)
    # Rare: half of the interval.
    assert hidden_failure_fraction(1e-5, 365.25) == pytest.approx(5e-6, rel=1e-5)


@given(st.floats(0, 50), st.floats(1, 2000), st.floats(1, 2000))
def test_looking_more_often_never_hides_more(rate, one, other):
    often, seldom = sorted((one, other))
    assert hidden_failure_fraction(rate, often) <= hidden_failure_fraction(rate, seldom) + 1e-12


def test_scalars_lists_and_series_go_through():
    series = pd.Series([17_520.0, 8_760.0], index=["gate", "ramp"])
    for function, second in ((availability, 24), (away_fraction, 24), (hidden_failure_fraction, 365)):
        assert isinstance(function(17_520, second), float)
        by_series = function(series, second)
        assert list(by_series.index) == ["gate", "ramp"]
        assert by_series.tolist() == function([17_520, 8_760], second).tolist()
    table = Outages([[17_520], [8_760]], ExponentialRepair(24)).lost_h_per_year([0, 24, 72])
    assert table.shape == (2, 3)
    assert table[0, 2] == RECORDER.lost_h_per_year(72)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: availability(0, 24),
            r"^mtbf_h: is 0 h; must be above 0 h, or infinite\. Fix: Give infinity",
        ),
        (lambda: availability(nan, 24), r"^mtbf_h: is nan; "),
        (lambda: availability(-inf, 24), r"^mtbf_h: is -inf; "),
        (lambda: availability(100, inf), r"^repair_mean_h: is inf; must be 0 or more h\."),
        (lambda: availability([1, 2], [1, 2, 3]), r"^shapes: found mtbf_h \(2,\), repair_mean_h \(3,\)"),
        (lambda: away_fraction(100, -1), r"^repair_mean_h: is -1[^;]*; "),
        (
            lambda: hidden_failure_fraction(-1, 365),
            r"^failures_per_year: is -1 a year; must be 0 or more a year, or",
        ),
        (lambda: hidden_failure_fraction(1, 0), r"^inspected_every_days: is 0 days; must be above 0 days"),
        (lambda: Outages(0, 24), r"^mtbf_h: is 0[^;]*; [^\n]*\nrepair: found 24; allowed: a law of repair times"),
        (lambda: Outages([1, 2], ExponentialRepair([1, 2, 3])), r"^shapes: found mtbf_h \(2,\), repair \(3,\)"),
        (lambda: Outages.in_series(), r"^parts: found none; allowed: one or more"),
        (
            lambda: RECORDER.lost_h_per_year(-1),
            r"^retention_h: is -1 h; must be 0 or more h\. Fix: Give 0 for no",
        ),
        (lambda: RECORDER.lost_h_per_year(72, 5), r"^unsaved_fraction: is 5[^;]*; .*A percentage is divided by 100\."),
        (lambda: RECORDER.lost_by_hour_h_per_year(-1, 72), r"^hours: is -1 h; must be 0 or more h"),
    ],
)
def test_what_is_out_of_range_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()
