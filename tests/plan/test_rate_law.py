"""The law of a mean rate, against the normal distribution by its tables."""

import numpy as np
import pytest

from edgestore.inputs.camera_list import read_cameras
from edgestore.plan.evidence import no_evidence
from edgestore.plan.promise import RateLaw
from edgestore.plan.rates import camera_rates

NAMES = ("low_mbit_s", "median_mbit_s", "most_mbit_s", "stays_at_cap")

SIGMA = 0.20472
"""ln 1.3 / 1.28155: a mean that is listed is exceeded by a factor of 1.3 once in ten times."""


def law_of(mean="", cap="", measured=np.nan) -> RateLaw:
    cameras = read_cameras(f"camera,mean_mbit_s,cap_mbit_s,scene\ngate,{mean},{cap},busy\n".encode()).rows
    rates = camera_rates(cameras, no_evidence(cameras).assign(measured_mbit_s=measured))
    return RateLaw.of(*(rates[name].to_numpy(float) for name in NAMES))


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
    # The cap does not hold: half of the means are above the one measured, one in ten above 1.3 times it.
    law = law_of("", 4, measured=5)
    assert chance(law, 5) == pytest.approx(0.5)
    assert chance(law, 6.5) == pytest.approx(0.9)


def test_a_mean_of_which_only_the_cap_is_known_is_below_the_lowest_share_once_in_ten_times():
    law = law_of("", 8)
    assert chance(law, 8 * 0.215) == pytest.approx(0.1)
    assert chance(law, 7.999) == pytest.approx(0.9, abs=1e-3)
    assert law.sigma[0] == pytest.approx(np.log(1 / 0.215) / (2 * 1.28155), rel=1e-4)


def test_a_constant_bit_rate_that_is_set_is_known():
    cameras = read_cameras(b"camera,cap_mbit_s\ngate,4\n").rows
    rates = camera_rates(cameras, no_evidence(cameras).assign(described_mean_mbit_s=4.0))
    law = RateLaw.of(*(rates[name].to_numpy(float) for name in NAMES))
    assert (chance(law, 4), chance(law, 3.99)) == (1, 0)
