"""Fits to records with running cards: published examples, other libraries, a search over a grid, and seeded fleets."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore import InputError
from edgestore.models.life import fit_lognormal, fit_weibull

FITS = {"weibull": fit_weibull, "lognormal": fit_lognormal}

# NIST/SEMATECH e-Handbook 8.4.1.3: hours to failure, and ten units that ran for 500 h.
HANDBOOK = ([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], [500] * 10)
# Lieblein and Zelen 1956: millions of turns of 23 ball bearings.
BEARINGS = (
    [
        *(17.88, 28.92, 33.00, 41.52, 42.12, 45.60, 48.48, 51.84, 51.96, 54.12, 55.56, 67.80),
        *(68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.40),
    ],
    [],
)
# O'Connor, Practical Reliability Engineering, 1985, p. 85: km of 38 shock absorbers, 11 of which failed.
ABSORBERS = (
    [6700, 9120, 12200, 13150, 14300, 18450, 18960, 19410, 23490, 26510, 27490],
    [
        *(6950, 7820, 8790, 9660, 9820, 11310, 11690, 11850, 11880, 12140, 12870, 13330, 13470, 14040),
        *(17520, 17540, 17890, 18980, 20100, 20100, 20150, 20320, 20900, 22700, 27410, 27890, 28100),
    ],
)
EXAMPLES = pytest.mark.parametrize("records", [HANDBOOK, BEARINGS, ABSORBERS], ids=["units", "bearings", "absorbers"])
LAWS = pytest.mark.parametrize("law", FITS)

ages = st.floats(0.05, 20)


@st.composite
def fleets(draw) -> tuple[list[float], list[float]]:
    failed = draw(st.lists(ages, min_size=2, max_size=8).filter(lambda some: max(some) > 1.05 * min(some)))
    return failed, draw(st.lists(ages, max_size=12))


def likelihood(law: str, scale, shape, records) -> np.ndarray:
    """Log-likelihood by scipy's distributions, for arrays of scales and shapes."""
    named = {"weibull": stats.weibull_min, "lognormal": stats.lognorm}[law]
    total = sum(named.logpdf(age, shape, scale=scale) for age in records[0])
    return total + sum(named.logsf(age, shape, scale=scale) for age in records[1])


def test_the_handbooks_example():
    fit = fit_weibull(*HANDBOOK)
    # The handbook prints 606.5280; scipy and the library reliability both give 606.5275.
    assert fit.scale_years == pytest.approx(606.5280, abs=5e-4)
    assert fit.shape == pytest.approx(1.7208, abs=5e-5)
    assert fit.log_likelihood == pytest.approx(-75.135, abs=5e-4)
    assert fit.mean_years == pytest.approx(540.737, abs=5e-4)
    assert fit.sd_years == pytest.approx(323.806, abs=5e-4)
    assert (fit.aic, fit_lognormal(*HANDBOOK).aic) == pytest.approx((154.27, 154.39), abs=5e-3)
    assert (fit.law, fit.failed, fit.running, fit.confidence) == ("weibull", 10, 10, 0.95)


def test_bearings_that_have_all_failed():
    # Shape 2.102 and scale 81.88, as later books print them (from memory).
    fit = fit_weibull(*BEARINGS)
    assert (fit.shape, fit.scale_years) == (pytest.approx(2.102, abs=5e-4), pytest.approx(81.88, abs=5e-3))


def test_a_lognormal_fit_without_running_cards_by_hand():
    # ln 2, ln 4, ln 8: mean ln 4, mean square about it 2 ln(2)^2 / 3, root 0.565952.
    fit = fit_lognormal([2, 4, 8])
    assert (fit.scale_years, fit.shape) == pytest.approx((4, 0.565952), abs=5e-7)
    # The profile over the deviation is n/2 ln(1 + (m - ln 4)^2 / s^2) = 1.920729: m = ln 4 +- 0.912289.
    ends = (4 * np.exp(-0.912289), 4 * np.exp(0.912289))
    assert (fit.scale_low_years, fit.scale_high_years) == pytest.approx(ends, rel=2e-6)


@LAWS
@EXAMPLES
@pytest.mark.slow
def test_another_library_finds_the_same_laws(law, records, settings_kept):
    fitters = pytest.importorskip("reliability.Fitters", reason="install the test extra")
    fitter = {"weibull": fitters.Fit_Weibull_2P, "lognormal": fitters.Fit_Lognormal_2P}[law]
    other = fitter(*records, show_probability_plot=False, print_results=False)
    fit = FITS[law](*records)
    scale, shape = (other.alpha, other.beta) if law == "weibull" else (np.exp(other.mu), other.sigma)
    assert (fit.scale_years, fit.shape) == pytest.approx((scale, shape), rel=1e-4)
    assert fit.log_likelihood == pytest.approx(other.loglik, rel=1e-7)


@LAWS
@EXAMPLES
def test_scipy_finds_no_better_law(law, records):
    named = {"weibull": stats.weibull_min, "lognormal": stats.lognorm}[law]
    shape, _, scale = named.fit(stats.CensoredData(uncensored=records[0], right=records[1]), floc=0)
    fit = FITS[law](*records)
    assert (fit.scale_years, fit.shape) == pytest.approx((scale, shape), rel=1e-3)
    assert fit.log_likelihood >= likelihood(law, scale, shape, records) - 1e-9
    assert fit.log_likelihood == pytest.approx(likelihood(law, fit.scale_years, fit.shape, records), rel=1e-12)


@LAWS
@EXAMPLES
def test_the_intervals_are_the_ends_of_the_region_that_a_grid_finds(law, records):
    # All scales and shapes on a grid of steps of 1 % whose likelihood is near enough to the best: its outer edges.
    best = FITS[law](*records)
    steps = np.exp(np.arange(-2, 2, 0.01))
    on_grid = likelihood(law, best.scale_years * steps[:, np.newaxis], best.shape * steps, records)
    for confidence in (0.5, 0.95):
        fit = FITS[law](*records, confidence=confidence)
        near = on_grid >= fit.log_likelihood - stats.chi2.ppf(confidence, 1) / 2
        scales, shapes = best.scale_years * steps[near.any(axis=1)], best.shape * steps[near.any(axis=0)]
        assert (fit.scale_low_years, fit.scale_high_years) == pytest.approx((scales.min(), scales.max()), rel=0.02)
        assert (fit.shape_low, fit.shape_high) == pytest.approx((shapes.min(), shapes.max()), rel=0.02)


def test_the_profile_interval_is_neither_of_the_walds():
    # The handbook's scale at 95 %: 361.7 to 851.3 by Wald on the natural scale, 405.1 to 908.1 on the logarithmic one.
    fit = fit_weibull(*HANDBOOK)
    assert fit.scale_low_years > 405.1 + 30
    assert fit.scale_high_years > 908.1 + 200


@LAWS
@pytest.mark.slow
def test_fits_recover_seeded_laws_as_often_as_their_intervals_say(law):
    # 200 fleets of 40 cards, seen at 5 years: 0.95, with three standard errors of 0.0154 about it.
    rng = np.random.default_rng(11)
    true = {"weibull": (6.0, 2.5), "lognormal": (6.0, 0.5)}[law]
    named = {"weibull": stats.weibull_min, "lognormal": stats.lognorm}[law]
    lives = named.rvs(true[1], scale=true[0], size=(200, 40), random_state=rng)
    fits = [FITS[law](fleet[fleet <= 5], np.full((fleet > 5).sum(), 5.0)) for fleet in lives]
    scale = np.mean([fit.scale_low_years <= true[0] <= fit.scale_high_years for fit in fits])
    shape = np.mean([fit.shape_low <= true[1] <= fit.shape_high for fit in fits])
    assert scale == pytest.approx(0.95, abs=0.047)
    assert shape == pytest.approx(0.95, abs=0.047)
    assert np.median([fit.scale_years for fit in fits]) == pytest.approx(true[0], rel=0.05)


@LAWS
@given(fleets(), st.floats(0.01, 1000))
def test_in_another_unit_of_time_the_scale_changes_and_the_shape_stays(law, records, factor):
    fit = FITS[law](*records)
    scaled = FITS[law](*(np.multiply(some, factor) for some in records))
    assert scaled.scale_years == pytest.approx(factor * fit.scale_years, rel=1e-6)
    assert scaled.scale_low_years == pytest.approx(factor * fit.scale_low_years, rel=1e-5)
    assert (scaled.shape, scaled.shape_high) == pytest.approx((fit.shape, fit.shape_high), rel=1e-6)
    # A density in another unit: ln(factor) less for each failure.
    assert scaled.log_likelihood == pytest.approx(fit.log_likelihood - len(records[0]) * np.log(factor), abs=1e-6)


@LAWS
@given(fleets())
def test_the_estimate_lies_in_its_interval_and_a_surer_one_is_wider(law, records):
    fit, surer = FITS[law](*records), FITS[law](*records, confidence=0.99)
    assert 0 < surer.scale_low_years < fit.scale_low_years < fit.scale_years < fit.scale_high_years
    assert fit.scale_high_years < surer.scale_high_years
    assert 0 < surer.shape_low < fit.shape_low < fit.shape < fit.shape_high < surer.shape_high


@LAWS
@given(fleets())
def test_the_same_records_twice_say_the_same_more_surely(law, records):
    fit, twice = FITS[law](*records), FITS[law](*(some * 2 for some in records))
    assert (twice.scale_years, twice.shape) == pytest.approx((fit.scale_years, fit.shape), rel=1e-6)
    assert twice.log_likelihood == pytest.approx(2 * fit.log_likelihood, rel=1e-9, abs=1e-9)
    assert twice.scale_high_years < fit.scale_high_years


@LAWS
def test_leaving_out_the_cards_that_still_run_makes_life_look_short(law):
    # The ten units that ran for 500 h outlived all failures.
    failed, running = HANDBOOK
    assert FITS[law](failed).mean_years < 0.7 * FITS[law](failed, running).mean_years


@LAWS
def test_hundreds_of_cards_with_two_failures_still_give_an_answer(law):
    fit = FITS[law]([0.5, 2.0], np.full(400, 3.0), confidence=0.99)
    assert 3 < fit.scale_low_years < fit.scale_years < fit.scale_high_years < np.inf


def test_failures_at_one_age_are_enough_where_a_card_has_run_longer():
    # 2 failed at 2 years and one ran for 3: a shape without end would give the third no chance.
    for running in ([3], [1, 3]):
        fit = fit_weibull([2, 2], running)
        assert 2 < fit.scale_years < 3


def test_hundreds_of_lives_that_hardly_differ_have_the_narrow_intervals_of_the_normal_law():
    # ln(life) is m - d or m + d, 200 times each: deviation d = ln(2.002 / 2) / 2 = 0.000499750. The profiles, 3.841459
    # being the quantile of chi2: over m (n / 2) ln(1 + (m - mean)^2 / d^2), over s n ((u^2 - 1) / 2 - ln u), u = d / s.
    fit = fit_lognormal([2, 2.002] * 200)
    half = 0.000499750 * np.sqrt(np.expm1(3.841459 / 400))
    assert np.log([fit.scale_low_years, fit.scale_high_years]) == pytest.approx(
        np.log(2 * 2.002) / 2 + np.array([-half, half]), abs=1e-9
    )
    u = 0.000499750 / np.array([fit.shape_high, fit.shape_low])
    assert u[0] < 1 < u[1]
    assert (u**2 - 1) / 2 - np.log(u) == pytest.approx([3.841459 / 800] * 2, rel=1e-4)


@pytest.mark.parametrize(("early", "late", "times"), [(0.5, 2, 1), (2, 2.002, 200)])
def test_lives_of_two_lengths_have_the_laws_that_hand_arithmetic_gives(early, late, times):
    # ln(life) is m - d or m + d, as often. The lognormal law has median e^m and deviation d; in the Weibull law, whose
    # shape solves d tanh(k d) = 1 / k, k d is 1.1996786 (x tanh x = 1), and scale^k is the mean of life^k.
    m, d = np.log(early * late) / 2, np.log(late / early) / 2
    lognormal, weibull = (fit([early, late] * times) for fit in (fit_lognormal, fit_weibull))
    assert (lognormal.scale_years, lognormal.shape) == pytest.approx((np.exp(m), d), rel=1e-9)
    scale = np.exp(m + np.log(np.cosh(1.1996786)) * d / 1.1996786)
    assert (weibull.scale_years, weibull.shape) == pytest.approx((scale, 1.1996786 / d), rel=1e-7)


@pytest.mark.parametrize("apart_years", np.geomspace(1e-9, 3e-9, 20))
def test_cards_that_fail_within_a_second_leave_a_spread_that_is_a_number(apart_years):
    assert 0 <= fit_weibull([2, 2 + apart_years]).sd_years < 1e-6


def test_a_fitted_law_is_a_law_of_life():
    fit = fit_weibull(*HANDBOOK)
    card = fit.card_life()
    assert card.survival(fit.scale_years) == pytest.approx(np.exp(-1), rel=1e-12)
    assert card.mean_life_years() == pytest.approx(fit.mean_years, rel=1e-9)
    lognormal = fit_lognormal(*HANDBOOK)
    assert lognormal.card_life().life_quantile_years(0.5) == pytest.approx(lognormal.scale_years, rel=1e-12)
    assert lognormal.card_life().mean_life_years() == pytest.approx(lognormal.mean_years, rel=1e-9)


@LAWS
@pytest.mark.parametrize(
    ("failed", "running", "message"),
    [
        ([], [], "failed_years: found 0 failed and 0 running cards; allowed: 2 failures or more"),
        ([], [1, 2], "found 0 failed and 2 running cards; .* take a shape as known: weibull_scale_lower_years"),
        ([3], [1, 2], "found 1 failed and 2 running cards"),
        ([3, 3], [1, 3], "no card older; allowed: failures at two ages or more. Fix: Give ages to the day"),
        ([3, 0], [1], "failed_years: is 0 years; must be above 0 years"),
        ([3, -1], [1], "failed_years: is -1"),
        ([3, float("nan")], [1], "failed_years: is nan"),
        ([3, float("inf")], [1], "failed_years: is inf"),
        ([3, 4], [0], "running_years: is 0"),
        ([3, 4], ["5"], "running_years: is '5'"),
        ([3, 4], None, "running_years: is None"),
    ],
)
def test_records_that_cannot_be_fitted_are_refused(law, failed, running, message):
    with pytest.raises(InputError, match=message):
        FITS[law](failed, running)


def test_faults_of_both_lists_are_told_together():
    with pytest.raises(InputError, match="failed_years") as caught:
        fit_weibull([1, -2], [float("nan")])
    assert [fault.where for fault in caught.value.faults] == ["failed_years", "running_years"]


@pytest.mark.parametrize("confidence", [0, 1, 95, float("nan"), "high"])
def test_a_confidence_out_of_range_is_refused(confidence):
    with pytest.raises(InputError, match=r"confidence: is .*; must be above 0 and at most 0\.9999"):
        fit_weibull([1, 2], [3], confidence)
