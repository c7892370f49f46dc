"""Bounds from few failures against the handbook's examples, and how they move with records and priors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.life import mtbf_lower_years, updated_random_rate, weibull_scale_lower_years


def test_the_handbooks_gamma_prior():
    # NIST/SEMATECH e-Handbook 8.4.6: prior 2 in 1400 h, 2 failures in 1909 h.
    bounds = mtbf_lower_years(2, 1909, confidence=[0.5, 0.8, 0.9, 0.95], prior_a=2, prior_b_years=1400)
    assert bounds == pytest.approx([901.1, 600.0, 495.3, 426.8], abs=0.05)


def test_the_handbooks_interval_without_a_prior():
    # NIST/SEMATECH e-Handbook 8.4.5.1: 2 x 800 / chi2; quantiles of 6 and 4 degrees of freedom 12.5916 and 0.710723.
    assert mtbf_lower_years(2, 800, confidence=0.95) == pytest.approx(1600 / 12.5916, rel=1e-5)
    assert mtbf_lower_years(2, 800, confidence=0.05, prior_a=0) == pytest.approx(1600 / 0.710723, rel=1e-5)


def test_no_failure_is_a_bound_by_the_exponential_law():
    # exp(-300 / 130.288) = 0.1
    assert mtbf_lower_years(0, 300) == pytest.approx(130.288, abs=5e-4)


def test_prior_and_records_add_up():
    rate = updated_random_rate(0.5, 50, failures=3, unit_years=100)
    # 3.5 failures in 150 card-years; 90 % interval by the incomplete gamma function in 30 digits.
    assert (rate.a, rate.b_years) == (3.5, 150)
    assert rate.mean_per_year == pytest.approx(3.5 / 150, rel=1e-14)
    assert (rate.low_per_year, rate.high_per_year) == pytest.approx((0.00722450, 0.04689047), abs=5e-9)


@given(st.floats(0.1, 20), st.floats(1, 500), st.integers(0, 30), st.integers(0, 30), st.floats(1, 500))
def test_two_updates_are_one(a, b, first, second, years):
    once = updated_random_rate(a, b, failures=first, unit_years=years)
    twice = updated_random_rate(once.a, once.b_years, failures=second, unit_years=years)
    both = updated_random_rate(a, b, failures=first + second, unit_years=2 * years)
    assert twice.mean_per_year == pytest.approx(both.mean_per_year, rel=1e-12)
    assert twice.high_per_year == pytest.approx(both.high_per_year, rel=1e-9)


@given(st.floats(0.1, 20), st.floats(1, 500), st.integers(0, 30), st.floats(1, 500), st.floats(0.5, 0.99))
def test_the_ends_of_the_rate_are_the_bounds_of_the_mtbf(a, b, failures, years, confidence):
    rate = updated_random_rate(a, b, failures=failures, unit_years=years, confidence=confidence)
    assert 1 / rate.high_per_year == pytest.approx(
        mtbf_lower_years(failures, years, confidence=(1 + confidence) / 2, prior_a=a, prior_b_years=b), rel=1e-12
    )
    assert rate.low_per_year < rate.high_per_year


def test_many_own_records_outweigh_the_supplier():
    rates = updated_random_rate(1, 1000, failures=[0, 5, 50, 500], unit_years=[0.001, 100, 1000, 10_000])
    # 0.001, then ever nearer to the 0.05 seen: 6/1100, 51/2000, 501/11000.
    assert rates.mean_per_year == pytest.approx([0.001, 6 / 1100, 51 / 2000, 501 / 11_000], rel=1e-5)


@given(st.integers(0, 20), st.floats(1, 1e4), st.floats(0.1, 0.99), st.floats(0.01, 100))
def test_the_bound_falls_with_failures_and_confidence_and_scales_with_time(failures, years, confidence, factor):
    bound = mtbf_lower_years(failures, years, confidence=confidence)
    assert mtbf_lower_years(failures + 1, years, confidence=confidence) < bound
    assert mtbf_lower_years(failures, years, confidence=confidence + 0.005) < bound
    assert mtbf_lower_years(failures, factor * years, confidence=confidence) == pytest.approx(factor * bound, rel=1e-12)


def test_weibayes_without_a_failure():
    # (50 x 2^3 / -ln 0.05)^(1/3) = (400 / 2.995732)^(1/3) = 133.5233^(1/3) = 5.11115
    assert weibull_scale_lower_years([2.0] * 50, 3) == pytest.approx(5.11115, abs=5e-6)


def test_of_cards_that_hardly_differ_in_life_the_oldest_alone_tells():
    # 20 (1 / -ln 0.05)^(1/100) = 20 exp(-0.01 ln 2.995732)
    assert weibull_scale_lower_years([0.001, 20], 100) == pytest.approx(19.78176, abs=5e-6)


def test_weibayes_of_shape_1_is_the_bound_of_the_mtbf():
    ages = np.array([0.5, 1.0, 2.0, 3.5])
    for failures in (0, 1, 4):
        expected = mtbf_lower_years(failures, ages.sum(), confidence=0.9)
        assert weibull_scale_lower_years(ages, 1, confidence=0.9, failures=failures) == pytest.approx(
            expected, rel=1e-12
        )


def test_weibayes_holds_as_often_as_it_says():
    # 2000 fleets of 20 cards of scale 6 and shape 3, seen at 3 years: the bound is below 6 in 90 % or more of them.
    lives = 6 * np.random.default_rng(5).weibull(3, (2000, 20))
    bounds = weibull_scale_lower_years(np.minimum(lives, 3), 3, confidence=0.9, failures=(lives < 3).sum(axis=1))
    assert np.mean(bounds <= 6) > 0.9 - 3 * np.sqrt(0.9 * 0.1 / 2000)


@given(
    st.lists(st.floats(0.01, 20), min_size=1, max_size=30), st.floats(0.5, 10), st.floats(0.1, 0.99), st.floats(0.1, 10)
)
def test_weibayes_scales_with_time_and_falls_with_confidence(ages, shape, confidence, factor):
    bound = weibull_scale_lower_years(ages, shape, confidence=confidence)
    scaled = weibull_scale_lower_years(np.multiply(ages, factor), shape, confidence=confidence)
    assert scaled == pytest.approx(factor * bound, rel=1e-9)
    assert weibull_scale_lower_years(ages, shape, confidence=confidence + 0.005) < bound


def test_shapes_stand_beside_one_another_and_one_gives_a_float():
    shapes = np.array([1.5, 3.0, 100.0])
    alone = [weibull_scale_lower_years([1.0, 2.0], shape) for shape in shapes]
    assert weibull_scale_lower_years([1.0, 2.0], shapes) == pytest.approx(alone, rel=1e-13)
    assert isinstance(alone[0], float)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: mtbf_lower_years(1.5, 100), "failures: found a fraction of a failure; allowed: whole numbers"),
        (
            lambda: mtbf_lower_years(0, 100, prior_a=0),
            "prior_a: found 0 with no failure; allowed: above 0 where nothing.* Fix: Give a prior, or",
        ),
        (lambda: mtbf_lower_years([1, 1.5], 100), "failures: found a fraction of a failure"),
        (lambda: mtbf_lower_years([1, 0], 100, prior_a=0), "prior_a: found 0 with no failure"),
        (lambda: weibull_scale_lower_years([1, 2], 3, failures=[1, 3]), "failures: found more failures than cards"),
        (lambda: mtbf_lower_years(0, 100, confidence=1), "confidence: is 1; must be above 0 and at most 0.9999"),
        (lambda: updated_random_rate(0, 0, failures=0, unit_years=10), "prior_a: found 0 with no failure"),
        (
            lambda: updated_random_rate(-1, 0, failures=1, unit_years=10),
            "prior_a: is -1 failures; must be 0 or more failures",
        ),
        (lambda: updated_random_rate(1, float("nan"), failures=1, unit_years=10), "prior_b_years: is nan"),
        (lambda: updated_random_rate(1, 10, failures=1, unit_years=0), "unit_years: is 0 years; must be above 0 years"),
        (
            lambda: updated_random_rate(1, 10, failures=1, unit_years=10, confidence=90),
            "confidence: is 90[^;]*; .* A percentage is divided by 100",
        ),
        (
            lambda: updated_random_rate([1, 2], 10, failures=[1, 2, 3], unit_years=10),
            r"shapes: .*prior_a \(2,\).*failures \(3,\)",
        ),
        (lambda: weibull_scale_lower_years([], 3), "ages_years: found no number"),
        (lambda: weibull_scale_lower_years([1, 0], 3), "ages_years: is 0 years; must be above 0 years"),
        (lambda: weibull_scale_lower_years([1, 2], 0.1), "wear_shape: is 0.1; must be 0.2 or more and at most 100"),
        (lambda: weibull_scale_lower_years([1, 2], 3, failures=3), "failures: found more failures than cards"),
        (lambda: weibull_scale_lower_years([1, 2], 3, confidence=0), "confidence: is 0"),
    ],
)
def test_what_cannot_be_is_refused_by_name(call, message):
    with pytest.raises(InputError, match=message):
        call()
