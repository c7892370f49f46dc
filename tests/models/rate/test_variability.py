"""Memory in a trace and what it does to means and to retention, against exact self-similar series and other laws."""

from functools import cache

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import toeplitz
from scipy.stats import fatiguelife

from edgestore import InputError
from edgestore.models.rate import cv_of_mean, hurst_exponent, retention_spread

MEMORIES = [0.5, 0.7, 0.9]
STEPS = 1024


@cache
def self_similar_factor(hurst: float) -> np.ndarray:
    """Factor that turns independent normal numbers into exact fractional Gaussian noise (mean 0, variance 1).

    Its covariance at lag k is (|k + 1|^2H - 2 |k|^2H + |k - 1|^2H) / 2: Mandelbrot and Van Ness, SIAM Review 10 (1968)
    422 (from memory).
    """
    lag = np.arange(STEPS)
    return np.linalg.cholesky(
        toeplitz((np.abs(lag + 1) ** (2 * hurst) - 2 * lag ** (2 * hurst) + np.abs(lag - 1) ** (2 * hurst)) / 2)
    )


def self_similar(hurst: float, seed: int, series: int = 1) -> np.ndarray:
    """Series of the known Hurst parameter, one a column."""
    return self_similar_factor(hurst) @ np.random.default_rng(seed).standard_normal((STEPS, series))


def trace(hurst: float, seed: int) -> np.ndarray:
    """Rate of 4 Mbit/s on average with a standard deviation of 0.4: ten of them from zero."""
    return 4 + 0.4 * self_similar(hurst, seed)[:, 0]


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("hurst", MEMORIES)
def test_the_hurst_parameter_of_a_self_similar_series_is_found_within_3_standard_errors(hurst, seed):
    estimate = hurst_exponent(trace(hurst, seed))
    assert abs(estimate.hurst - hurst) < 3 * estimate.standard_error


@pytest.mark.parametrize("hurst", MEMORIES)
def test_the_errors_of_100_estimates_are_as_large_as_stated_and_without_bias(hurst):
    estimates = [hurst_exponent(4 + 0.4 * series) for series in self_similar(hurst, seed=100, series=100).T]
    errors = np.array([(estimate.hurst - hurst) / estimate.standard_error for estimate in estimates])
    # The mean of 100 has a standard error of 0.1, their standard deviation one of 0.07; held at 0.95, H 0.9 errs less.
    assert abs(errors.mean()) < 0.35
    assert (0.6 if hurst == 0.9 else 0.8) < errors.std() < 1.2


def test_the_standard_error_by_hand():
    # 256 steps: 256^0.65 = e^(0.65 x 5.545177) = e^3.604365 = 36.76, so 37 frequencies. The logs of 1 to 37 sum to
    # ln(37!) = 99.330612, their squares to 293.755: 293.755 - 99.330612^2 / 37 = 27.09; 1 / (2 sqrt(27.09)) = 0.09606.
    estimate = hurst_exponent(trace(0.7, 1)[:256])
    assert estimate.frequencies == 37
    assert estimate.standard_error == pytest.approx(0.09606, abs=1e-5)
    # Robinson 1995: 1 / (2 sqrt(m)) in the long run.
    long = hurst_exponent(np.random.default_rng(1).uniform(1, 2, 2**17))
    assert long.standard_error == pytest.approx(1 / (2 * np.sqrt(long.frequencies)), rel=0.01)


def test_a_spectrum_that_is_a_power_of_the_frequency_gives_that_power():
    # Swings at frequency j with a power of j^(1 - 2H), all at once: the contrast is least at that very H.
    step = np.arange(512)
    for hurst in (0.3, 0.5, 0.65, 0.8, 0.94):
        swings = [j ** (0.5 - hurst) * np.cos(2 * np.pi * j * step / 512 + j**2) for j in range(1, 256)]
        assert hurst_exponent(100 + np.sum(swings, axis=0)).hurst == pytest.approx(hurst, abs=1e-5)
        # Swings of some parts in a hundred million of the rate are swings still.
        assert hurst_exponent(1 + 1e-8 * np.sum(swings, axis=0)).hurst == pytest.approx(hurst, abs=1e-4)


@pytest.mark.parametrize(("sigma", "low"), [(0.5, 0.03), (1.0, 0.1)])
def test_rates_that_are_skewed_keep_their_memory_and_come_out_a_little_low(sigma, low):
    # The exponential of the noise: lognormal rates with a coefficient of variation of 0.53 and of 1.31.
    found = [hurst_exponent(np.exp(sigma * series)).hurst for series in self_similar(0.8, seed=5, series=100).T]
    assert 0.8 - low < np.mean(found) < 0.8


@given(st.floats(1e-3, 1e3), st.floats(0, 1e3), st.integers(0, 3))
def test_neither_scale_nor_mean_nor_direction_of_time_changes_the_hurst_parameter(scale, more, seed):
    rates = trace(0.7, seed)
    found = hurst_exponent(rates).hurst
    assert hurst_exponent(scale * rates + more).hurst == pytest.approx(found, abs=1e-4)
    assert hurst_exponent(rates[::-1]).hurst == pytest.approx(found, abs=1e-4)


def test_a_trend_is_held_at_95_percent():
    assert hurst_exponent(np.linspace(1, 2, 500)).hurst == 0.95
    assert hurst_exponent(np.repeat([1.0, 4.0], 200)).hurst == 0.95


def test_a_series_and_a_list_are_read_like_an_array():
    rates = trace(0.7, 1)
    assert hurst_exponent(pd.Series(rates)) == hurst_exponent(list(rates)) == hurst_exponent(rates)


@pytest.mark.parametrize("size", [1, 2, 255])
def test_a_short_trace_is_refused(size):
    message = (
        rf"^rates_mbit_s: found {size} steps; allowed: 256 steps or more in a row\. "
        r"Fix: A longer trace, or shorter steps of one group of pictures or more\.$"
    )
    with pytest.raises(InputError, match=message):
        hurst_exponent(np.linspace(1, 2, size))


@pytest.mark.parametrize(("rates", "shape"), [(4.0, r"\(\)"), (np.ones((300, 2)), r"\(300, 2\)")])
def test_what_is_no_row_is_refused(rates, shape):
    with pytest.raises(InputError, match=rf"^rates_mbit_s: found shape {shape}; allowed: 256 steps or more in a row"):
        hurst_exponent(rates)


# The last is a day of seconds: its transform rounds to 1e-12, not to 0.
@pytest.mark.parametrize(
    "rates",
    [np.zeros(300), np.full(300, 0.1), np.full(2**16, 999.9), np.tile([1.0, 2.0], 200), np.tile([1.0, 2, 4], 28_800)],
)
def test_rates_that_do_not_vary_in_the_long_run_are_refused(rates):
    message = "^rates_mbit_s: found the same rate in every step, or one short pattern over and over; allowed: rates of"
    with pytest.raises(InputError, match=message):
        hurst_exponent(rates)


def test_long_swings_below_a_thousand_millionth_of_the_rate_are_rounding_and_larger_ones_are_not():
    # A cosine of amplitude a in n steps puts (a n / 2)^2 into one frequency: as much as (1e-9 n)^2 at a = 2e-9.
    swing = np.cos(2 * np.pi * np.arange(300) / 300)
    assert hurst_exponent(400 * (1 + 2.5e-9 * swing)).hurst == 0.95
    with pytest.raises(InputError, match="found the same rate in every step"):
        hurst_exponent(400 * (1 + 1.5e-9 * swing))


@pytest.mark.parametrize(
    ("bad", "found"), [(np.nan, "nan"), (-1.0, "-1"), (np.inf, "inf"), ("4", "'4'"), (None, "None")]
)
def test_a_rate_that_is_none_is_refused(bad, found):
    with pytest.raises(InputError, match=rf"^rates_mbit_s: is {found}[^;]*; must be 0 or more Mbit/s"):
        hurst_exponent([*trace(0.7, 1)[:300], bad])


def test_the_scatter_of_an_hour_and_a_day_by_hand():
    # Groups of 0.48 s: 7500 an hour, 180 000 a day. ln 7500 = 8.922658, x -0.2 = -1.784532: 0.167876 x 0.38 = 0.063793.
    # ln 180 000 = 12.100712, x -0.2 = -2.420142: 0.088909 x 0.38 = 0.033785. Without memory 0.38 / sqrt(180 000).
    assert cv_of_mean(0.38, 0.8, [7500, 180_000]) == pytest.approx([0.063793, 0.033785], abs=1e-6)
    assert cv_of_mean(0.38, 0.5, 180_000) == pytest.approx(0.000896, abs=5e-7)


@pytest.mark.parametrize("hurst", MEMORIES)
@pytest.mark.parametrize("steps", [4, 64, 512])
def test_means_over_blocks_of_a_self_similar_series_scatter_as_the_formula_says(hurst, steps):
    # Only the first block of each of 2000 series, so that the blocks are independent; the long-run mean is known: 0.
    means = self_similar(hurst, seed=7, series=2000)[:steps].mean(axis=0)
    # A standard deviation from 2000 values has a standard error of 1 / sqrt(4000) = 1.6 %.
    assert np.sqrt(np.mean(means**2)) == pytest.approx(cv_of_mean(1, hurst, steps), rel=4 * 0.016)


@given(st.floats(0.01, 3), st.floats(0.05, 0.95), st.floats(1, 1e6), st.floats(1, 1e3))
def test_the_scatter_falls_with_the_steps_rises_with_memory_and_composes(cv, hurst, steps, more):
    mean = cv_of_mean(cv, hurst, steps)
    assert cv_of_mean(cv, hurst, 1) == cv
    assert cv_of_mean(cv, hurst, steps * more) <= mean <= cv
    assert cv_of_mean(cv, 0.95, steps) >= mean
    # A mean of means is the mean of all.
    assert cv_of_mean(mean, hurst, more) == pytest.approx(cv_of_mean(cv, hurst, steps * more), rel=1e-9)


@pytest.mark.parametrize(("cv", "step_s"), [(0.3, 3600), (1.0, 60), (3.0, 3600)])
def test_without_memory_retention_has_the_law_of_birnbaum_and_saunders(cv, step_s):
    law = fatiguelife(cv / np.sqrt(24 * 3600 / step_s), scale=24)
    answer = retention_spread(24, cv, hurst=0.5, step_s=step_s)
    quantiles = (answer.p5_h, answer.p50_h, answer.p95_h)
    assert quantiles == pytest.approx(law.ppf([0.05, 0.5, 0.95]), rel=1e-12)
    assert answer.mean_h == pytest.approx(law.mean(), rel=1e-12)


@pytest.mark.parametrize("hurst", MEMORIES)
@pytest.mark.slow
def test_cards_filled_by_a_self_similar_stream_hold_as_long_as_the_model_says(hurst):
    # A card of 500 mean steps (of 1 h); the written volume is followed to the moment at which the card is full.
    cv, held, cards = 0.12, 500, 8000
    rates = 1 + cv * self_similar(hurst, seed=11, series=cards)[: 2 * held]
    assert rates.min() > 0
    written = np.cumsum(rates, axis=0)
    full = np.sum(written < held, axis=0)
    columns = np.arange(cards)
    times = full + (held - written[full - 1, columns]) / rates[full, columns]
    answer = retention_spread(held, cv, hurst=hurst, step_s=3600)
    middle = [answer.p5_h, answer.p50_h, answer.p95_h]
    # Standard error of a 5 % quantile: 2.1 standard deviations over the root of the cards; four of these.
    sd = held * answer.cv_of_mean
    assert np.quantile(times, [0.05, 0.5, 0.95]) == pytest.approx(middle, abs=4 * 2.1 * sd / np.sqrt(cards))
    # The mean: what the volume at 500 steps is off by is 0 on average, and carries nearly all the scatter.
    lasting = times - held + (written[held - 1] - held)
    stretched = held * hurst * answer.cv_of_mean**2
    assert answer.mean_h - held == pytest.approx(stretched, rel=1e-9)
    assert lasting.mean() == pytest.approx(stretched, abs=4 * lasting.std() / np.sqrt(cards) + 0.1 * stretched)


def test_a_week_of_retention_by_hand():
    # 604 800 steps of 1 s: ln = 13.312653, x -0.2 = -2.662531: 0.0697714 x 0.4 = 0.0279086. The 95 % quantile solves
    # x = 1 + 1.644854 x 0.0279086 x^0.8 = 1 + 0.0459056 x^0.8: 1.047647 (0.0459056 x 1.047647^0.8 = 0.047647).
    answer = retention_spread(168, 0.4, hurst=0.8, step_s=1)
    assert answer.cv_of_mean == pytest.approx(0.0279086, abs=1e-7)
    assert (answer.p50_h, answer.p95_h / 168) == pytest.approx((168, 1.047647), abs=5e-7)
    # 168 x (1 + 0.8 x 0.0279086^2) = 168.10468.
    assert answer.mean_h == pytest.approx(168.10468, abs=5e-6)


@given(st.floats(1, 1e4), st.floats(0.01, 5), st.floats(0.05, 0.95), st.floats(0.1, 3600))
def test_the_quantiles_stand_in_order_and_at_the_chance_they_name(held, cv, hurst, step_s):
    answer = retention_spread(held, cv, hurst=hurst, step_s=step_s)
    assert 0 < answer.p5_h < answer.p50_h == held < answer.p95_h
    assert answer.mean_h >= held
    # At each quantile the card is full: its volume is the normal quantile of what is written in that time.
    for quantile, z in ((answer.p5_h, 1.6448536), (answer.p95_h, -1.6448536)):
        in_time = cv_of_mean(cv, hurst, max(1, quantile * 3600 / step_s))
        if quantile * 3600 >= step_s:
            assert quantile * (1 + z * in_time) == pytest.approx(held, abs=1e-6 * max(held, quantile))


@given(st.floats(10, 1e4), st.floats(0.01, 1), st.floats(0.05, 0.9))
def test_more_scatter_and_more_memory_spread_retention_wider(held, cv, hurst):
    def width(cv, hurst):
        answer = retention_spread(held, cv, hurst=hurst, step_s=60)
        return answer.p95_h - answer.p5_h

    assert width(1.1 * cv, hurst) > width(cv, hurst)
    assert width(cv, min(hurst + 0.05, 0.95)) > width(cv, hurst)  # 0.9 + 0.05 is a little more than 0.95


def test_a_step_as_long_as_the_retention_is_allowed_and_one_a_little_longer_is_not():
    # One step a card: what a card holds scatters as a step does.
    assert retention_spread(1, 0.2, hurst=0.5, step_s=3600).cv_of_mean == pytest.approx(0.2)
    with pytest.raises(InputError, match="step_s: found a step longer than the retention"):
        retention_spread([2, 1], 0.2, hurst=0.5, step_s=3601)


def test_the_quantiles_solve_their_equation_from_hardly_any_scatter_to_ten_times_the_mean():
    # One step a card, so that c is the scatter of a step. Above the middle t = 1 + z c t^H; below, where t is all but
    # 0 and t^H is not, the same as t = ((1 - t) / (z c))^(1/H). z of 95 %: 1.6448536.
    cv, hurst, z = (
        np.array([[0.0], [0.01], [0.3], [1], [3], [10]]),
        np.array([0.005, 0.05, 0.3, 0.5, 0.7, 0.95]),
        1.6448536,
    )
    answer = retention_spread(1, cv, hurst=hurst, step_s=3600)
    assert answer.p95_h == pytest.approx(1 + z * cv * answer.p95_h**hurst, rel=1e-7)
    low = answer.p5_h[1:]
    assert low == pytest.approx(((1 - low) / (z * cv[1:])) ** (1 / hurst), rel=1e-5)


def test_without_any_run_of_busy_or_quiet_times_the_lower_quantile_is_that_of_one_normal_number():
    # One step a card and t^H all but 1: t = 1 - 1.6449 c, which is 0.8355, 0.6710 and 0.1776.
    answer = retention_spread(1, [0.1, 0.2, 0.5], hurst=[[1e-5], [1e-4], [4e-4]], step_s=3600)
    assert answer.p5_h == pytest.approx(np.broadcast_to([0.8355, 0.6710, 0.1776], (3, 3)), abs=1e-3)


def test_a_steady_rate_has_no_spread():
    answer = retention_spread(72, 0, hurst=0.8, step_s=1)
    assert (answer.mean_h, answer.p5_h, answer.p50_h, answer.p95_h, answer.cv_of_mean) == (72, 72, 72, 72, 0)


def test_arrays_and_series_broadcast_and_keep_their_index():
    hours = pd.Series([24.0, 72.0, 168.0], index=["gate", "mast", "ramp"])
    crossed = retention_spread(hours.to_numpy()[:, np.newaxis], [0.0, 0.4], hurst=0.8, step_s=1)
    by_series = retention_spread(hours, 0.4, hurst=0.8, step_s=1)
    for name in ("mean_h", "p5_h", "p50_h", "p95_h", "cv_of_mean"):
        assert getattr(crossed, name).shape == (3, 2)
        assert getattr(by_series, name).index.tolist() == ["gate", "mast", "ramp"]
        alone = [getattr(retention_spread(held, 0.4, hurst=0.8, step_s=1), name) for held in hours]
        assert all(isinstance(value, float) for value in alone)
        assert getattr(by_series, name).to_numpy() == pytest.approx(alone, rel=1e-12)
        assert getattr(crossed, name)[:, 1] == pytest.approx(alone, rel=1e-12)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"retention_h": 0}, r"retention_h: is 0 h; must be above 0 h"),
        (
            {"cv": 38},
            r"cv: is 38; must be 0 or more and at most 10\. Fix: A percentage is divided by 100\.",
        ),
        ({"cv": -0.1}, r"cv: is -0.1; must be 0 or more and at most 10"),
        ({"hurst": 1}, r"hurst: is 1; must be above 0 and at most 0\.95"),
        ({"hurst": 0}, r"hurst: is 0; must be above 0 and at most 0\.95"),
        ({"step_s": 0}, r"step_s: is 0 s; must be above 0 s"),
        (
            {"step_s": 86_401},
            r"step_s: found a step longer than the retention; allowed: steps of at most the retention",
        ),
        ({"cv": float("nan")}, r"cv: is nan"),
        ({"hurst": "0.8"}, r"hurst: is '0\.8'"),
        ({"cv": [0.1, 0.2], "hurst": [0.6, 0.7, 0.8]}, r"shapes: found retention_h \(\), cv \(2,\), hurst \(3,\)"),
    ],
)
def test_what_makes_no_spread_of_retention_is_refused(wrong, message):
    with pytest.raises(InputError, match=f"^{message}"):
        retention_spread(**{"retention_h": 24, "cv": 0.4, "hurst": 0.8, "step_s": 1, **wrong})


def test_a_step_in_which_nothing_is_written_changes_the_estimate_little():
    rates = np.random.default_rng(1).uniform(1, 3, 1024)
    whole = hurst_exponent(rates).hurst
    rates[500] = 0
    assert hurst_exponent(rates).hurst == pytest.approx(whole, abs=0.02)


def test_a_card_that_a_burst_may_fill_at_once_holds_next_to_nothing():
    # x = 1 - 16.4485 x^H with x next to 0: x = 16.4485^(-1/H), where 16.4485 = 10 x 1.64485, the 5 % point.
    held = retention_spread(1, cv=10, hurst=0.05, step_s=3600)
    assert held.p5_h == pytest.approx(16.448536269514722**-20, rel=1e-9, abs=0)
