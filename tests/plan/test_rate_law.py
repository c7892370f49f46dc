"""The law of a mean rate, against the normal distribution by its tables."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import stats

from edgestore.inputs.camera_list import read_cameras
from edgestore.plan.evidence import no_evidence
from edgestore.plan.promise import OF_WRITTEN, RateLaw, normal_of_two
from edgestore.plan.rates import camera_rates, updated_mean

SIGMA = 0.20472
"""ln 1.3 / 1.28155: a mean that is listed is exceeded by a factor of 1.3 once in ten times."""


def law_of(mean="", cap="", measured=np.nan) -> RateLaw:
    cameras = read_cameras(f"camera,mean_mbit_s,cap_mbit_s,scene\ngate,{mean},{cap},busy\n".encode()).rows
    rates = camera_rates(cameras, no_evidence(cameras).assign(measured_mbit_s=measured, measured_h=1e9))
    return RateLaw.of(*rates[OF_WRITTEN].to_numpy(float).T)


def chance(law: RateLaw, rate_mbit_s: float) -> float:
    return float(law.chance_up_to(np.array([[rate_mbit_s]]))[0, 0])


def test_a_listed_mean_is_spread_about_itself_and_none_is_above_the_cap():
    # The normal distribution: 0.5 at 0; ln(4.2 / 4) = 0.04879 is 0.2383 standard deviations, 0.5942; the cap of 4.4 is
    # at ln 1.1 / 0.20472 = 0.4656 of them, 0.6792: 0.5 / 0.6792 and 0.5942 / 0.6792 of what is below it.
    assert (chance(law_of(4), 4), chance(law_of(4), 4.2)) == pytest.approx((0.5, 0.5942), abs=1e-4)
    assert (chance(law_of(4, 4.4), 4), chance(law_of(4, 4.4), 4.2)) == pytest.approx((0.7361, 0.8749), abs=2e-4)


def test_nine_in_ten_listed_means_are_within_the_spread():
    assert chance(law_of(4, 100), 5.2) == pytest.approx(0.9)
    assert chance(law_of(4, 100), 4 / 1.3) == pytest.approx(0.1)


@pytest.mark.parametrize("cap", [4.1, 4.4, 5, 8])
def test_what_is_planned_with_nine_in_ten_is_so_by_quadrature(cap):
    # A lognormal law cut off at the cap, its density summed up over 200 000 steps: what the plan calls the rate that
    # nine means in ten are within is that.
    rates = np.linspace(1e-3, cap, 200_001)
    middle = (rates[1:] + rates[:-1]) / 2
    below = np.cumsum(np.exp(-(np.log(middle / 4) ** 2) / (2 * SIGMA**2)) / middle)
    nine_in_ten = middle[np.searchsorted(below / below[-1], 0.9)]
    assert law_of(4, cap).rate_mbit_s(np.array([[0.9]]))[0, 0] == pytest.approx(nine_in_ten, rel=1e-4)
    assert chance(law_of(4, cap), nine_in_ten) == pytest.approx(0.9, abs=1e-3)


def test_a_measured_mean_above_its_cap_is_exceeded_as_often_as_any_other():
    # The cap does not hold: half of the means are above the one measured, when so much footage is all that is known.
    law = law_of("", 4, measured=5)
    assert law.rate_mbit_s(np.array([[0.5]]))[0, 0] == pytest.approx(5, rel=1e-3)
    assert law.most_mbit_s[0] == 1000
    # After a day too: a cap of 4 and a busy scene say 1.855, known to 0.6; a day of footage tells 5 to 0.19.
    rates = after(5, 24.0, cap=4)
    assert rates["planned_mbit_s"] > 4
    assert rates["likely_high_mbit_s"] > 5


def test_a_mean_of_which_only_the_cap_is_known_is_below_the_lowest_share_once_in_ten_times():
    law = law_of("", 8)
    assert chance(law, 8 * 0.215) == pytest.approx(0.1)
    assert chance(law, 7.999) == pytest.approx(0.9, abs=1e-3)
    assert law.sigma[0] == pytest.approx(np.log(1 / 0.215) / (2 * 1.28155), rel=1e-4)


def test_a_constant_bit_rate_that_is_set_is_known():
    cameras = read_cameras(b"camera,cap_mbit_s\ngate,4\n").rows
    rates = camera_rates(cameras, no_evidence(cameras).assign(described_mean_mbit_s=4.0))
    law = RateLaw.of(*rates[OF_WRITTEN].to_numpy(float).T)
    assert (chance(law, 4), chance(law, 3.99)) == (1, 0)


def after(measured, hours, mean="", cap="", **seen) -> pd.Series:
    """Rates of a camera of which so many hours of footage were measured, one after the other."""
    cameras = read_cameras(f"camera,mean_mbit_s,cap_mbit_s,scene\ngate,{mean},{cap},busy\n".encode()).rows
    evidence = no_evidence(cameras).assign(measured_mbit_s=float(measured), measured_h=hours, **seen)
    return camera_rates(cameras, evidence).iloc[0]


def spread(rates) -> float:
    """Factor that one mean in ten exceeds the median by."""
    return float(rates["median_mbit_s"] / rates["low_mbit_s"])


def test_48_s_of_footage_hardly_move_a_listed_mean():
    # Other hours: a factor of 2.8 in 23.99 of 24 hours, ln 2.8 / 1.28155 = 0.8034; seconds: 0.5 x 48^-0.2 = 0.2305;
    # other days 0.2047, other weeks 0.0528: 0.862 in all. A list known to 0.2047 has 0.9466 of the weight: from 4 to
    # 4 x 2^-0.0534 = 3.855 where half of it is measured.
    rates = after(2, 48 / 3600, mean=4)
    assert rates["planned_mbit_s"] == pytest.approx(3.855, abs=0.005)
    assert spread(rates) == pytest.approx(1.3, abs=0.01)


def test_a_week_of_footage_nearly_replaces_what_was_known_and_leaves_a_spread_below_1_1():
    # Other weeks 0.0528; seconds: 0.5 x 604 800^-0.2 = 0.0349: 0.0633, a factor of exp(1.28155 x 0.0633) = 1.084 by
    # itself. Against a list known to 0.2047 it has 0.2047^2 / (0.2047^2 + 0.0633^2) = 0.913 of the weight.
    rates = after(2, 168.0, mean=4)
    assert rates["planned_mbit_s"] == pytest.approx(4 * 2**-0.913, abs=0.005)
    assert spread(rates) < 1.1
    alone = camera_rates(
        read_cameras(b"camera,footage\ngate,gate.mp4\n").rows.assign(mean_mbit_s=np.nan),
        no_evidence(pd.DataFrame(index=[0])).assign(measured_mbit_s=2.0, measured_h=168.0),
    )
    assert spread(alone.iloc[0]) == pytest.approx(1.084, abs=0.001)


@given(st.floats(0.2, 8), st.floats(0.2, 8), st.floats(0.01, 2000), st.floats(1, 20))
def test_the_mean_is_between_what_was_known_and_what_was_measured_and_longer_footage_is_never_wider(
    measured, listed, hours, times
):
    short, long = (after(measured, length, mean=listed) for length in (hours, hours * times))
    for rates in (short, long):
        assert min(measured, listed) * (1 - 1e-9) <= rates["planned_mbit_s"] <= max(measured, listed) * (1 + 1e-9)
    assert spread(long) <= spread(short) * (1 + 1e-9)


def test_a_normal_prior_and_a_normal_measurement_give_the_published_posterior():
    # Conjugate normal law by quadrature: the density of the prior times that of the measurement, summed up.
    median, sigma = updated_mean(*np.array([[4.0], [0.3], [2.0], [0.2]]))
    logs = np.linspace(-1, 3, 400_001)
    density = stats.norm.pdf(logs, np.log(4), 0.3) * stats.norm.pdf(np.log(2), logs, 0.2)
    mean = density @ logs / density.sum()
    assert np.log(median[0]) == pytest.approx(mean, rel=1e-6)
    assert sigma[0] == pytest.approx(np.sqrt(density @ (logs - mean) ** 2 / density.sum()), rel=1e-6)


def test_a_measured_mean_is_weighed_as_in_a_worked_example_of_the_normal_law():
    # Johnson, Ott and Dogucu, Bayes Rules!, section 5.3, read in its book club's notes: normal prior 6.5 with 0.4, 25
    # values of mean 5.735 and known deviation 0.5; posterior mean 5.78, variance 0.009411765, deviation 0.09701425.
    median, sigma = updated_mean(*np.array([[np.exp(6.5)], [0.4], [np.exp(5.735)], [0.5 / 5]]))
    assert np.log(median[0]) == pytest.approx(5.78, abs=0.0005)
    assert sigma[0] == pytest.approx(0.09701425, abs=5e-9)


def test_four_clips_at_four_hours_tell_more_than_one_as_long():
    one = after(2, 48 / 3600, mean=4)
    four = after(2, 48 / 3600, mean=4, measured_hours=4.0, measured_days=2.0)
    assert four["planned_mbit_s"] < one["planned_mbit_s"]
    assert spread(four) < spread(one)


def test_a_recorded_fraction_follows_a_gamma_law_of_the_events_counted():
    # 20 events in a log: scipy's gamma law of shape 20 has 0.1 below 14.53 and above 25.90: over 20, 0.7263 and 1.2951.
    # A fraction of 0.1 becomes 1 - 0.9^0.7263 = 0.07367 and 1 - 0.9^1.2951 = 0.12757.
    cameras = read_cameras(
        b"camera,mean_mbit_s,recording,events_per_h,event_s\na,2,motion,12,30\nb,2,continuous,,\n"
    ).rows
    evidence = no_evidence(cameras).assign(logged_fraction=[0.1, np.nan], logged_events=[20.0, np.nan])
    rates = camera_rates(cameras, evidence)
    assert rates["recorded_sigma"][0] == pytest.approx(np.log(0.12757 / 0.07367) / (2 * 1.28155), abs=1e-3)
    assert rates["recorded_sigma"][1] == 0


def test_more_events_counted_tell_the_recorded_fraction_better():
    cameras = read_cameras(b"camera,mean_mbit_s,recording,events_per_h,event_s\na,2,motion,12,30\n").rows
    sigmas = [
        camera_rates(cameras, no_evidence(cameras).assign(logged_fraction=0.1, logged_events=count))["recorded_sigma"][
            0
        ]
        for count in (1.0, 5.0, 50.0, 5000.0)
    ]
    assert sigmas == sorted(sigmas, reverse=True)
    assert camera_rates(cameras)["recorded_sigma"][0] == pytest.approx(np.log(1.5) / 1.28155, rel=0.15)


DRAWS = 100_000


# A listed mean below its cap; a mean at the cap in one case of ten, and in half of all; no cap; a mean that is known.
@pytest.mark.parametrize(
    ("median", "sigma", "cap", "stays"),
    [(4, 0.2, 5, 0), (1.9, 0.6, 4, 1), (4, 0.6, 4, 1), (4, 0.2, np.nan, 0), (4, 0, 4, 1)],
)
@pytest.mark.parametrize("factor", [0.05, 0.32, 1.0])
def test_a_rate_times_an_unsure_fraction_has_the_chances_of_drawn_ones(median, sigma, cap, stays, factor):
    rng = np.random.default_rng(7)
    mean = median * np.exp(sigma * rng.normal(size=2 * DRAWS))
    mean = (np.fmin(mean, cap) if stays or np.isnan(cap) else mean[mean <= cap])[:DRAWS]
    product = mean * np.exp(factor * rng.normal(size=len(mean)))
    of_mean = {"low_mbit_s": median * np.exp(-1.28155 * sigma), "median_mbit_s": median, "most_mbit_s": cap}
    rates = pd.DataFrame([of_mean | {"stays_at_cap": bool(stays), "recorded_sigma": factor}]).astype(float)
    law = RateLaw.of(*rates[OF_WRITTEN].to_numpy(float).T)
    limits = np.quantile(product, [0.01, 0.1, 0.4, 0.7, 0.95])
    parts = (product[:, None] <= limits).mean(axis=0)
    error = np.sqrt(parts * (1 - parts) / DRAWS)
    assert (np.abs(law.chance_up_to(limits[None])[0] - parts) < 4 * error).all()
    assert law.chance_up_to(law.rate_mbit_s(parts[None]))[0] == pytest.approx(parts, abs=1e-4)


@given(st.floats(-4, 4), st.floats(-4, 4), st.floats(0, 0.999))
@example(0.0, -1e-224, 0.0)  # whose product is too small for a sign
def test_two_normal_scores_are_below_limits_as_often_as_scipys_own_law_says(first, second, correlation):
    law = stats.multivariate_normal(cov=[[1, correlation], [correlation, 1]])
    told = normal_of_two(*(np.array([value]) for value in (first, second, correlation)))
    assert told[0] == pytest.approx(law.cdf([first, second]), abs=1e-5)


def test_a_score_of_nought_and_one_without_a_limit_are_told_too():
    # Scores below 0 and 0: 1/4; correlated by 1/2: 1/4 + arcsin(1/2) / (2 pi) = 1/3. No limit: the other's.
    first, second, correlation = np.array([[0, 0, 0.0], [0, 0, 0.5], [np.inf, 0, 0.5], [0, -np.inf, 0.5]]).T
    assert normal_of_two(first, second, correlation) == pytest.approx([1 / 4, 1 / 3, 1 / 2, 0], abs=1e-12)
