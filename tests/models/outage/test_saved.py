"""What the card saves, from plain numbers: check values, inverse pairs, limits and refusals."""

from functools import partial
from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError, retention_h
from edgestore.models.outage import capacity_gb_for_fraction, outage_figures, retention_h_for_fraction

LAWS = st.one_of(
    st.tuples(st.just("exponential"), st.tuples(st.floats(0.1, 200))),
    st.tuples(st.just("lognormal"), st.tuples(st.floats(0.1, 100), st.floats(0.05, 2.5))),
    st.tuples(st.just("working hours"), st.tuples(st.floats(0, 50), st.floats(0.1, 50))),
)
of_a_day = partial(outage_figures, "exponential", [24], mtbf_h=17_520)
"""Outages of a day, exponential, each 17 520 h."""


def test_the_figures_by_hand():
    figures = of_a_day(retention_h=72, shared_cause_share=0.1)
    # 8766 / 17544 outages of 24 h; exp(-3) of their time is beyond the card, and a tenth is saved by nothing.
    assert figures.availability == pytest.approx(730 / 731)
    assert figures.outages_per_year == pytest.approx(8766 / 17_544)
    assert figures.mean_outage_h == 24
    assert figures.chance_outlasts == pytest.approx(np.exp(-3))
    assert figures.unsaved_fraction == pytest.approx(0.1)
    assert figures.lost_without_card_h_per_year == pytest.approx(8766 / 731)
    assert figures.lost_h_per_year == pytest.approx(8766 / 731 * (0.1 + 0.9 * np.exp(-3)))
    assert figures.saved_fraction == pytest.approx(0.9 * (1 - np.exp(-3)))


def test_a_shared_cause_and_a_dead_card_are_independent():
    # Failures at 1 a year, inspected every 365.25 days: dead for 1/e of the time; saved in 0.8 (1 - 1/e).
    figures = of_a_day(retention_h=72, shared_cause_share=0.2, card_failures_per_year=1.0, inspected_every_days=365.25)
    assert figures.unsaved_fraction == pytest.approx(1 - 0.8 * (1 - np.exp(-1)))


def test_cards_are_inspected_every_365_days_where_nothing_is_said():
    failing = {"retention_h": 72, "card_failures_per_year": 1.0}
    assert of_a_day(**failing).unsaved_fraction == of_a_day(**failing, inspected_every_days=365).unsaved_fraction


def test_a_card_that_fails_at_once_saves_nothing():
    figures = of_a_day(retention_h=72, card_failures_per_year=inf)
    assert figures.saved_fraction == 0
    assert figures.lost_h_per_year == pytest.approx(figures.lost_without_card_h_per_year)


def test_a_recorder_that_never_fails_loses_nothing_and_the_card_would_still_save_its_share():
    figures = outage_figures("exponential", [24], mtbf_h=inf, retention_h=72)
    assert (figures.availability, figures.outages_per_year, figures.lost_h_per_year) == (1, 0, 0)
    assert figures.saved_fraction == pytest.approx(1 - np.exp(-3))


def test_outages_that_take_no_time_leave_nothing_to_save():
    figures = outage_figures("exponential", [0], mtbf_h=17_520, retention_h=72)
    assert (figures.availability, figures.lost_h_per_year, figures.chance_outlasts) == (1, 0, 0)
    assert figures.saved_fraction == 1


@given(LAWS, st.floats(0, 500), st.floats(0, 500))
def test_a_larger_card_never_saves_less(law, one, other):
    short, long = (outage_figures(*law, mtbf_h=17_520, retention_h=hours) for hours in sorted((one, other)))
    assert long.saved_fraction >= short.saved_fraction - 1e-12
    assert long.lost_h_per_year <= short.lost_h_per_year + 1e-9
    assert long.chance_outlasts <= short.chance_outlasts


@given(LAWS, st.floats(0, 0.999), st.floats(0, 0.5))
def test_the_retention_for_a_share_saves_it_or_none_does(law, share, unsaved):
    hours = retention_h_for_fraction(*law, share, unsaved_fraction=unsaved)
    if hours == inf:
        assert share >= 1 - unsaved
    else:
        assert outage_figures(
            *law, mtbf_h=17_520, retention_h=hours, shared_cause_share=unsaved
        ).saved_fraction == pytest.approx(share, abs=1e-8)


def test_no_card_saves_what_a_shared_cause_takes():
    assert retention_h_for_fraction(
        "exponential", [24], [0.5, 0.8, 0.9], unsaved_fraction=0.1
    ).tolist() == pytest.approx(
        # 24 ln(0.9 / 0.4), 24 ln(0.9 / 0.1), never
        [24 * np.log(2.25), 24 * np.log(9), inf]
    )
    assert retention_h_for_fraction(
        "working hours", [4, 2], [0.9, 0.90001], unsaved_fraction=0.1
    ).tolist() == pytest.approx([69, inf])
    assert retention_h_for_fraction("exponential", [24], [0, 0.5], unsaved_fraction=1).tolist() == [0, inf]


@given(LAWS, st.floats(0.01, 0.95), st.floats(0.5, 20), st.floats(0.05, 1))
def test_the_capacity_for_a_share_holds_the_retention_for_it(law, share, rate, recorded):
    capacity = capacity_gb_for_fraction(
        *law, share, bitrate_mbit_s=rate, recorded_fraction=recorded, usable_fraction=0.93
    )
    # The storage sum: hours x Mbit/s x 0.45 GB/h.
    hours = retention_h_for_fraction(*law, share)
    assert capacity == pytest.approx(hours * rate * recorded * 0.45 / 0.93)
    if capacity < 4000:
        assert retention_h(capacity, rate, recorded, 0.93) == pytest.approx(hours)


def test_arrays_go_through_and_scalars_give_floats():
    figures = outage_figures("lognormal", [[4.0, 8.0], 1.2], mtbf_h=[[17_520], [8_760]], retention_h=72)
    assert figures.lost_h_per_year.shape == (2, 2)
    alone = outage_figures("lognormal", [8, 1.2], mtbf_h=8_760, retention_h=72)
    assert figures.lost_h_per_year[1, 1] == alone.lost_h_per_year
    assert all(isinstance(value, float) for value in vars(alone).values())
    assert isinstance(retention_h_for_fraction("exponential", [24], 0.9), float)
    assert capacity_gb_for_fraction("exponential", [24], [0.5, 0.9], bitrate_mbit_s=[[2], [4]]).shape == (2, 2)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: outage_figures("weekly", [24], mtbf_h=17_520, retention_h=72),
            r"^law: is 'weekly'; must be one of exponential",
        ),
        (lambda: outage_figures("exponential", [-1], mtbf_h=17_520, retention_h=72), r"^repair_mean_h: is -1[^;]*; "),
        (
            lambda: outage_figures("exponential", [24], mtbf_h=0, retention_h=72),
            r"^mtbf_h: is 0 h; must be above 0 h, or infinite",
        ),
        (lambda: of_a_day(retention_h=-1), r"^retention_h: is -1 h; must be 0 or more h\. Fix: Give 0 for no card\."),
        (
            lambda: of_a_day(retention_h=72, shared_cause_share=5),
            r"^shared_cause_share: is 5[^;]*; .*A percentage is divided by 100\.",
        ),
        (lambda: of_a_day(retention_h=72, card_failures_per_year=-1), r"^card_failures_per_year: is -1[^;]*; "),
        (
            lambda: of_a_day(retention_h=[1, 2], shared_cause_share=[0, 0, 0]),
            r"^shapes: found .*retention_h \(2,\), shared_cause_share",
        ),
        (lambda: retention_h_for_fraction("exponential", [24], 95), r"^saved_fraction: is 95[^;]*; "),
        (
            lambda: retention_h_for_fraction("exponential", [24], 0.9, unsaved_fraction=-1),
            r"^unsaved_fraction: is -1[^;]*; ",
        ),
        (
            lambda: capacity_gb_for_fraction("exponential", [24], 0.9, bitrate_mbit_s=4000),
            r"^bitrate_mbit_s: is 4000[^;]*; .*kbit/s",
        ),
    ],
)
def test_what_is_out_of_range_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()
