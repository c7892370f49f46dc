"""Laws of repair times against quadrature, hand arithmetic and the handbook's printed figures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import expon, lognorm

from edgestore import InputError
from edgestore.models.outage import ExponentialRepair, LognormalRepair, WorkingHoursRepair
from edgestore.models.outage.repair import MixedRepair
from edgestore.models.outage.saved import repair_law

HOURS = st.floats(0, 500)
LAWS = st.one_of(
    st.builds(ExponentialRepair, st.floats(0.01, 200)),
    st.builds(LognormalRepair, st.floats(0.01, 100), st.floats(0.05, 2.5)),
    st.builds(WorkingHoursRepair, st.floats(0, 50), st.floats(0.01, 50)),
)


@pytest.mark.parametrize(
    ("law", "oracle"),
    [
        (ExponentialRepair(24), expon(scale=24)),
        (LognormalRepair(8, 1.2), lognorm(s=1.2, scale=8)),
        (LognormalRepair(2, 2.5), lognorm(s=2.5, scale=2)),
        (LognormalRepair(0.4, 1.7), lognorm(s=1.7, scale=0.4)),
    ],
)
@pytest.mark.parametrize("hours", [0.0, 1.0, 24.0, 72.0, 300.0])
def test_survival_and_mean_excess_are_those_of_scipy_and_of_quadrature(law, oracle, hours):
    assert law.survival(hours) == pytest.approx(oracle.sf(hours), rel=1e-12)
    # Of the survival function, over the logarithm of the time so that the tail is met.
    tail = quad(lambda x: np.exp(x) * oracle.sf(hours + np.exp(x)), -20, 25, limit=500, epsabs=0, epsrel=1e-11)[0]
    assert law.excess_h(hours) == pytest.approx(tail, rel=1e-7)
    assert law.mean_h() == pytest.approx(oracle.mean(), rel=1e-12)


def test_the_handbook_s_repair_times():
    # MIL-HDBK-338B, section 5.6.2.1.1: mean of ln t 0.65879, sd 1.11435; MTTR 3.5955, median 1.9325, M(20) 0.98201,
    # 95 % within 12.08 h.
    law = LognormalRepair(np.exp(0.65879), 1.11435)
    assert law.mean_h() == pytest.approx(3.5955, abs=5e-5)
    assert law.survival(1.9325) == pytest.approx(0.5, abs=2e-5)
    assert law.survival(20) == pytest.approx(1 - 0.98201, abs=5e-6)
    assert law.survival(12.08) == pytest.approx(0.05, abs=5e-5)


def test_a_mixture_is_the_sum_of_its_kinds_by_their_shares():
    law = MixedRepair((ExponentialRepair(24), WorkingHoursRepair(0, 2)), (0.25, 0.75))
    # 0.25 x 24 + 0.75 x (2 + 14.491071), the wait being (4 x 15^2 + 63^2) / 2 / 168.
    assert law.mean_h() == pytest.approx(6 + 0.75 * 16.491071, abs=1e-6)
    assert law.survival(100) == pytest.approx(0.25 * np.exp(-100 / 24))
    assert law.longest_h == np.inf
    assert MixedRepair(law.laws, (0.0, 1.0)).longest_h == 65
    at_once = WorkingHoursRepair(0, 0.05, opens_h=0, closes_h=24, days=7)
    assert MixedRepair((at_once, ExponentialRepair(24)), (1.0, 0.0)).longest_h == 0.05


@given(LAWS, HOURS, HOURS)
def test_the_excess_falls_from_the_mean_no_faster_than_one(law, one, other):
    short, long = sorted((one, other))
    assert law.excess_h(0) == law.mean_h()
    fall = law.excess_h(short) - law.excess_h(long)
    # S is the slope: between its values at the two ends.
    slack = 1e-9 * (1 + law.mean_h())
    assert law.survival(long) * (long - short) - slack <= fall <= law.survival(short) * (long - short) + slack
    assert 0 <= law.survival(long) <= law.survival(short) <= 1


@given(LAWS, st.floats(0, 0.9999))
def test_the_hours_for_a_share_save_that_share(law, share):
    hours = law.hours_for_fraction(share)
    assert 1 - law.excess_h(hours) / law.mean_h() == pytest.approx(share, abs=1e-9)


def test_the_hours_for_nothing_and_for_all():
    for law in (ExponentialRepair(24), LognormalRepair(8, 1.2), WorkingHoursRepair(4, 2)):
        assert law.hours_for_fraction(0) == 0
        assert law.hours_for_fraction(1) == law.longest_h
    # Of outages of three minutes, too, some are longer than any number of hours.
    assert ExponentialRepair(0.05).hours_for_fraction(1) == np.inf
    # Exponential: 24 ln 20.
    assert ExponentialRepair(24).hours_for_fraction([0, 0.95, 1]) == pytest.approx([0, 24 * np.log(20), np.inf])


@pytest.mark.parametrize("law", [ExponentialRepair(0.05), LognormalRepair(0.02, 2.0), LognormalRepair(8, 4)])
def test_a_share_of_a_short_or_of_a_widely_spread_law_is_found_to_the_last_digits(law):
    for share in (0.01, 0.5, 0.999, 1 - 1e-12):
        hours = law.hours_for_fraction(share)
        assert law.excess_h(hours) / law.mean_h() == pytest.approx(1 - share, rel=1e-10)


@pytest.mark.parametrize(
    "law", [ExponentialRepair(0), LognormalRepair(0, 1.2), WorkingHoursRepair(0, 0, opens_h=0, closes_h=24, days=7)]
)
def test_a_repair_that_takes_no_time_leaves_nothing(law):
    assert law.mean_h() == 0
    assert law.survival([0, 10]).tolist() == [0, 0]
    assert law.excess_h([0, 10]).tolist() == [0, 0]
    assert law.hours_for_fraction([0, 0.5, 1]).tolist() == [0, 0, 0]


@pytest.mark.parametrize("law", [ExponentialRepair(24), LognormalRepair(8, 1.2), WorkingHoursRepair(4, 2)])
def test_drawn_outages_have_the_mean_and_the_tail_of_the_law(law):
    generator = np.random.default_rng(7)
    drawn = law.draw_h(generator.random(200_000) * 168, generator)
    error = drawn.std() / np.sqrt(drawn.size)
    assert drawn.mean() == pytest.approx(law.mean_h(), abs=3 * error)
    for hours in (10, 24, 60):
        chance = law.survival(hours)
        assert (drawn > hours).mean() == pytest.approx(chance, abs=3 * np.sqrt(chance * (1 - chance) / drawn.size))


def test_drawn_outages_of_a_mixture_have_its_mean():
    law = MixedRepair((ExponentialRepair(24), LognormalRepair(8, 1.2), ExponentialRepair(1)), (0.2, 0.3, 0.5))
    generator = np.random.default_rng(8)
    drawn = law.draw_h(np.zeros(200_000), generator)
    assert drawn.mean() == pytest.approx(law.mean_h(), abs=3 * drawn.std() / np.sqrt(drawn.size))


def test_fields_and_hours_broadcast_and_scalars_give_floats():
    table = LognormalRepair([[4.0], [8.0]], 1.2).excess_h([0.0, 24.0, 72.0])
    assert table.shape == (2, 3)
    assert table[1, 2] == LognormalRepair(8, 1.2).excess_h(72)
    for law in (ExponentialRepair(24), LognormalRepair(8, 1.2), WorkingHoursRepair(4, 2)):
        for value in (law.survival(3), law.excess_h(3), law.mean_h(), law.hours_for_fraction(0.5)):
            assert isinstance(value, float)
    mixed = WorkingHoursRepair([0.0, 4.0], 2).survival([[1.0], [30.0], [70.0]])
    assert mixed.shape == (3, 2)
    assert mixed[1, 1] == WorkingHoursRepair(4, 2).survival(30)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: ExponentialRepair(-1), r"^repair_mean_h: is -1 h; must be 0 or more h"),
        (lambda: ExponentialRepair(float("nan")), r"^repair_mean_h: is nan; "),
        (lambda: ExponentialRepair(float("inf")), r"^repair_mean_h: is inf; "),
        (lambda: ExponentialRepair("24"), r"^repair_mean_h: is '24'; "),
        (lambda: LognormalRepair(-1, 9), r"^repair_median_h: is -1[^;]*; [^\n]*\nrepair_sigma: is 9; must be 0\.01"),
        (lambda: LognormalRepair(8, 0), r"^repair_sigma: is 0; must be 0\.01 or more and at most 4\.$"),
        (lambda: LognormalRepair([1, 2], [1, 1, 1]), r"^shapes: found repair_median_h \(2,\), repair_sigma \(3,\)"),
        (lambda: ExponentialRepair(24).survival(-1), r"^hours: is -1 h; must be 0 or more h"),
        (lambda: ExponentialRepair([1, 2]).excess_h([1, 2, 3]), r"^shapes: found repair_mean_h \(2,\), hours \(3,\)"),
        (
            lambda: ExponentialRepair(24).hours_for_fraction(95),
            r"^fraction: is 95[^;]*; .*A percentage is divided by 100\.",
        ),
        (lambda: repair_law("weibull", [1, 2]), r"^law: is 'weibull'; must be one of exponential, lognormal, working"),
        (
            lambda: repair_law("exponential", [1, 2]),
            r"^numbers: is \[1, 2\]; .*exponential is stated by: repair_mean",
        ),
        (lambda: repair_law("lognormal", [1]), r"^numbers: is \[1\]; .*: repair_median_h, repair_sigma"),
        (lambda: repair_law("exponential", 24), r"^numbers: is 24[^;]*; .*: repair_mean_h"),
    ],
)
def test_what_is_no_law_is_refused(make, message):
    with pytest.raises(InputError, match=message):
        make()


def test_the_search_for_hours_is_as_exact_for_outages_of_any_length():
    # -ln(0.05) = 2.995732 means, whatever the mean.
    assert ExponentialRepair(1e-14).hours_for_fraction(0.95) == pytest.approx(2.995732e-14, rel=1e-6, abs=0)
