"""Laws of uncertain inputs and what models make of them, against scipy's laws, closed forms and published examples."""

import math
import subprocess
import sys
from statistics import NormalDist

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore import InputError, retention_h
from edgestore.models.uncertainty import (
    Lognormal,
    Samples,
    Triangular,
    Uniform,
    chance_at_least,
    spread,
)
from edgestore.models.uncertainty.laws import sample
from edgestore.models.wear import endurance_tbw_from_cycles, life_years

SHARES = np.linspace(0.001, 0.999, 199)
shares = st.floats(0, 1)
numbers = st.floats(-1e6, 1e6)
positive = st.floats(1e-3, 1e6)
LIFE = {
    "pe_cycles": Lognormal.from_median(3000, 0.25),
    "write_amplification": Lognormal.from_median(1.1, 0.20),
    "bitrate_mbit_s": Lognormal.from_median(4, 0.15),
}


def life(pe_cycles, write_amplification, bitrate_mbit_s):
    # Divided here: this lognormal amplification goes below 1, which the model refuses.
    return life_years(endurance_tbw_from_cycles(128, pe_cycles) / write_amplification, bitrate_mbit_s)


@st.composite
def laws(draw):
    kind = draw(st.sampled_from([Uniform, Triangular, Lognormal, Samples]))
    if kind is Samples:
        return Samples(draw(st.lists(numbers, min_size=2, max_size=20)))
    low, high = sorted(draw(st.tuples(*[positive if kind is Lognormal else numbers] * 2)))
    high += abs(high) * 1e-3 + 1e-3
    if kind is Triangular:
        return Triangular(low, min(max(low + draw(shares) * (high - low), low), high), high)
    return kind(low, high)


# Quantiles


def test_quantiles_are_those_of_scipys_laws():
    pairs = [
        (Uniform(2, 6), stats.uniform(2, 4)),
        (Triangular(1000, 2000, 5000), stats.triang(0.25, 1000, 4000)),
        (Triangular(1, 1, 6), stats.triang(0, 1, 5)),
        (Triangular(1, 6, 6), stats.triang(1, 1, 5)),
        (Lognormal.from_median(3000, 0.25), stats.lognorm(math.sqrt(math.log(1.0625)), scale=3000)),
    ]
    for ours, theirs in pairs:
        np.testing.assert_allclose(ours.quantile(SHARES), theirs.ppf(SHARES), rtol=1e-12)


def test_quantiles_of_samples_are_numpys():
    values = [5.0, 1.0, 4.0, 4.0, 9.0]
    np.testing.assert_allclose(Samples(values).quantile(SHARES), np.quantile(values, SHARES), rtol=1e-14)


def test_a_lognormal_has_the_quantiles_it_is_stated_by_and_its_median_between_them():
    law = Lognormal(2, 8)
    # sqrt(2 x 8) = 4
    assert law.quantile([0.1, 0.5, 0.9]) == pytest.approx([2, 4, 8], rel=1e-14)


def test_a_lognormal_from_its_median_has_the_coefficient_of_variation():
    points = stats.lognorm(math.log(Lognormal.from_median(4, 0.5).p90 / 4) / NormalDist().inv_cdf(0.9), scale=4)
    assert points.std() / points.mean() == pytest.approx(0.5, rel=1e-12)


def test_the_ends_of_a_lognormal_are_0_and_infinity():
    assert Lognormal(2, 8).quantile([0, 1]).tolist() == [0, math.inf]


@given(laws(), st.lists(shares, min_size=2, max_size=30))
def test_a_quantile_grows_with_its_share(law, several):
    quantiles = law.quantile(np.sort(several))
    assert np.all(quantiles[1:] >= quantiles[:-1])  # an end may be infinite


@given(laws().filter(lambda law: not isinstance(law, Lognormal)), shares)
def test_a_quantile_stays_inside_the_bounds(law, share):
    low, high = (law.values[0], law.values[-1]) if isinstance(law, Samples) else (law.low, law.high)
    assert low <= law.quantile(share) <= high


def test_rounding_carries_no_quantile_over_a_bound_or_the_mode():
    # -1.8 + (6.6 + 1.8) rounds to 6.6000000000000005; the branches of these triangles overshoot the mode by one digit.
    assert Uniform(-1.8, 6.6).quantile(1) == 6.6
    assert Triangular(0.2, 1.5, 9.0).quantile((1.5 - 0.2) / (9.0 - 0.2)) == 1.5
    assert Triangular(-6.2, -1.9, 4.7).quantile(np.nextafter((6.2 - 1.9) / (4.7 + 6.2), 0)) == -1.9


@given(st.floats(0.001, 0.999), st.floats(-1e3, 1e3), st.floats(0.1, 1e3), st.floats(0, 1))
def test_a_quantile_inverts_the_distribution_function(share, low, width, turn):
    high = low + width
    assert stats.uniform(low, width).cdf(Uniform(low, high).quantile(share)) == pytest.approx(share, abs=1e-9)
    mode = min(max(low + turn * width, low), high)
    triangular = Triangular(low, mode, high).quantile(share)
    assert stats.triang((mode - low) / width, low, width).cdf(triangular) == pytest.approx(share, abs=1e-9)
    lognormal = Lognormal(width, 3 * width).quantile(share)
    sigma = math.log(3) / 2 / NormalDist().inv_cdf(0.9)
    assert stats.lognorm(sigma, scale=math.sqrt(3) * width).cdf(lognormal) == pytest.approx(share, abs=1e-9)


@given(positive, st.floats(1.001, 100), st.floats(0.001, 0.999))
def test_twice_the_quantiles_of_a_lognormal_double_every_quantile(p10, ratio, share):
    once, twice = Lognormal(p10, ratio * p10), Lognormal(2 * p10, 2 * ratio * p10)
    assert twice.quantile(share) == pytest.approx(2 * once.quantile(share), rel=1e-12)


# Sampling


def test_known_numbers_pass_unsampled_and_the_order_of_names_stays():
    points = sample({"b": 128, "a": Uniform(0, 1), "c": np.float64(0.5)}, count=8)
    assert list(points) == ["b", "a", "c"]
    assert (points["b"], points["c"], points["a"].shape) == (128.0, 0.5, (8,))
    assert sample({"b": 128}) == {"b": 128.0}


@given(st.integers(0, 2**32), st.integers(0, 2**32))
def test_the_same_seed_gives_the_same_points_and_another_seed_others(seed, other):
    first, again, changed = (sample(LIFE, 16, s)["pe_cycles"].tolist() for s in (seed, seed, other))
    assert first == again
    assert (first == changed) == (seed == other)


def test_without_being_told_it_draws_16384_points_by_seed_0():
    usual = sample({"a": Uniform(0, 1)})["a"]
    assert usual.tolist() == sample({"a": Uniform(0, 1)}, count=16_384, seed=0)["a"].tolist()


def test_up_to_2_to_the_30_points_may_be_asked_for():
    assert sample({"b": 128}, count=2**30) == {"b": 128.0}
    with pytest.raises(InputError, match=r"count: is 2147483648; must be a power of two, 2 to 2\^30"):
        sample({"b": 128}, count=2**31)


def test_two_points_are_the_fewest():
    assert sorted(np.floor(sample({"a": Uniform(0, 2)}, count=2)["a"]).tolist()) == [0, 1]


def test_each_of_16_equal_parts_of_an_input_gets_one_of_16_points():
    points = sample({"a": Uniform(0, 16), "b": Uniform(0, 16)}, count=16)
    assert sorted(np.floor(points["a"]).tolist()) == sorted(np.floor(points["b"]).tolist()) == list(range(16))


def test_every_point_is_the_middle_of_a_cell_so_that_no_lognormal_is_0():
    # Cells of 2^-30: the middles are odd multiples of 2^-31.
    points = sample({"a": Uniform(0, 1)}, count=2**12)["a"]
    assert np.all(points * 2**31 % 2 == 1)


def test_the_middle_of_a_cell_is_half_a_cell_above_scipys_point():
    edges = stats.qmc.Sobol(1, bits=30, seed=np.random.default_rng(0)).random(16)[:, 0]
    assert (sample({"a": Uniform(0, 1)}, count=16)["a"] - edges).tolist() == [2**-31] * 16


def test_life_as_a_product_of_lognormals_has_the_quantiles_of_the_closed_form():
    # Median 384 / 1.1 / (4 x 3.9447) = 22.1240 years; s^2 = ln(1.0625 x 1.04 x 1.0225), P10 and P90 at -/+ 1.281552 s.
    answer = spread(life(**sample(LIFE, count=2**16)))
    assert [answer.p10, answer.p50, answer.p90] == pytest.approx([14.138, 22.1240, 34.621], rel=2e-3)


def test_more_points_come_nearer_to_the_closed_form():
    # ln(life) is normal: P(life >= 15) = Phi(ln(22.124047 / 15) / s). The stated bound is 3 / count^0.75.
    exact = NormalDist().cdf(math.log(22.124047 / 15) / math.sqrt(math.log(1.1298625)))
    for count in (2**8, 2**11, 2**14):
        worst = max(abs(chance_at_least(life(**sample(LIFE, count, seed)), 15) - exact) for seed in range(8))
        assert worst < 3 / count**0.75


def test_what_a_model_refuses_it_refuses_of_a_range_too():
    points = sample({"capacity_gb": 64, "bitrate_mbit_s": 4, "recorded_fraction": Uniform(0.5, 1.5)}, count=64)
    with pytest.raises(InputError, match=r"recorded_fraction: is 1\.\d+; must be above 0 and at most 1\."):
        retention_h(**points)
    with pytest.raises(InputError, match=r"write_amplification: is 0\.\d+; must be 1 or more"):
        endurance_tbw_from_cycles(128, 3000, sample(LIFE)["write_amplification"])


# Published examples of metrology


def test_the_end_gauge_of_the_gum_has_an_uncertainty_of_32_nm():
    # GUM H.1, table H.1 (components from memory): 25, 9.7, 2.9 and 16.6 nm about 838 nm beyond 50 mm give 32 nm. A
    # uniform law has the standard deviation u when its half width is u sqrt(3).
    parts = {f"part {u}": Uniform(-u * math.sqrt(3), u * math.sqrt(3)) for u in (25, 9.7, 2.9, 16.6)}
    length_nm = 838 + sum(sample(parts, count=2**14).values())
    assert length_nm.mean() == pytest.approx(838, abs=0.5)
    assert length_nm.std() == pytest.approx(32, abs=0.5)


def test_the_end_gauge_of_jcgm_101_has_36_nm_and_holds_99_percent_from_745_to_932_nm():
    # JCGM 101, 9.5: the answers as read, the laws of its table 10 from memory. A law of another kind is given as
    # samples; limits known by halves (curvilinear trapezoids) are a half width times a place between -1 and 1.
    middles = (np.arange(20_000) + 0.5) / 20_000
    points = sample(
        {
            "standard_nm": Samples(50_000_623 + 25 * stats.t(18).ppf(middles)),
            "difference_nm": Samples(215 + 6 * stats.t(24).ppf(middles)),
            "random_nm": Samples(4 * stats.t(5).ppf(middles)),
            "systematic_nm": Samples(7 * stats.t(8).ppf(middles)),
            "expansion": Uniform(9.5e-6, 13.5e-6),
            "mean_c": Samples(-0.1 + 0.2 * stats.norm().ppf(middles)),
            "cycle_c": Samples(0.5 * np.sin(np.pi * (middles - 0.5))),
            "expansion_half": Uniform(0.9e-6, 1.1e-6),
            "expansion_place": Uniform(-1, 1),
            "apart_half_c": Uniform(0.025, 0.075),
            "apart_place": Uniform(-1, 1),
        },
        count=2**17,
    )
    standard, expansion = points["standard_nm"], points["expansion"]
    bar_c = points["mean_c"] + points["cycle_c"]
    apart = points["apart_half_c"] * points["apart_place"]
    more_expansion = points["expansion_half"] * points["expansion_place"]
    measured = points["difference_nm"] + points["random_nm"] + points["systematic_nm"]
    beyond_nm = standard + measured - standard * (more_expansion * bar_c + expansion * apart) - 50_000_000
    assert beyond_nm.mean() == pytest.approx(838, abs=0.5)
    assert beyond_nm.std() == pytest.approx(36, abs=0.5)
    # The supplement gives the shortest interval of 99 %: its place is flat, its width and what it holds are not.
    assert np.mean((beyond_nm >= 745) & (beyond_nm <= 932)) == pytest.approx(0.99, abs=0.001)
    ordered, held = np.sort(beyond_nm), round(0.99 * beyond_nm.size)
    assert np.min(ordered[held:] - ordered[:-held]) == pytest.approx(932 - 745, abs=1)


# Answers


def test_the_spread_of_0_to_100_is_its_shares():
    answer = spread(np.arange(101)[::-1])
    assert (answer.p5, answer.p10, answer.p50, answer.p90, answer.p95) == pytest.approx((5, 10, 50, 90, 95), rel=1e-14)
    assert isinstance(answer.p5, float)


def test_the_spread_runs_along_the_last_axis():
    answer = spread([[1, 2, 3], [10, 20, 30]])
    assert answer.p50.tolist() == [2, 20]
    assert spread(pd.Series([1.0, 2.0, 3.0])).p50 == 2


def test_the_chance_is_a_count_and_falls_over_a_row_of_wanted_values():
    assert chance_at_least([8, 2, 6, 4], [1, 2, 2.1, 8, 9]).tolist() == [1, 1, 0.75, 0.25, 0]
    assert isinstance(chance_at_least([1, 2], 1.5), float)
    assert np.all(np.diff(chance_at_least(life(**sample(LIFE)), np.linspace(0, 60, 99))) <= 0)


@given(st.lists(numbers, min_size=2, max_size=30))
def test_the_chance_of_a_value_is_the_share_of_values_not_below_it(values):
    assert chance_at_least(values, values[0]) == sum(value >= values[0] for value in values) / len(values)


# Refusals


@pytest.mark.parametrize(
    ("law", "message"),
    [
        (lambda: Uniform(3, 2), r"^Uniform: is Uniform\(low=3, high=2\); must be low below high\. Fix: State"),
        (lambda: Uniform(2, 2), r"^Uniform: .*must be low below high\."),
        (lambda: Uniform(math.nan, 2), r"^Uniform\.low: is nan; must be a finite number"),
        (lambda: Uniform(0, math.inf), r"^Uniform\.high: is inf; must be a finite number"),
        (lambda: Uniform("1", 2), r"^Uniform\.low: is '1'; must be a finite number\. Fix: Give a number\."),
        (lambda: Uniform([0, 1], 2), r"^Uniform\.low: is \[0, 1\]; must be one number"),
        (lambda: Triangular(1, 7, 6), r"^Triangular: .*mode=7.*must be low below high, and the mode from low to high"),
        (lambda: Triangular(1, 0.9, 6), r"^Triangular: .*the mode from low to high"),
        (lambda: Triangular(6, 6, 6), r"^Triangular: .*must be low below high"),
        (lambda: Triangular(1, math.nan, 6), r"^Triangular\.mode: is nan"),
        (lambda: Lognormal(8, 2), r"^Lognormal: is Lognormal\(p10=8, p90=2\); must be p10 below p90\."),
        (lambda: Lognormal(2, 2), r"^Lognormal: .*must be p10 below p90\."),
        (lambda: Lognormal(0, 2), r"^Lognormal\.p10: is 0; must be above 0\."),
        (lambda: Lognormal(-1, 2), r"^Lognormal\.p10: is -1; must be above 0\."),
        (lambda: Lognormal.from_median(0, 0.2), r"^median: is 0; must be above 0\."),
        (lambda: Lognormal.from_median(4, 0), r"^cv: is 0; must be above 0\."),
        (
            lambda: Samples([1]),
            r"^Samples: found one value; allowed: two values or more in a row\. Fix: State one",
        ),
        (lambda: Samples(1), r"^Samples: found one value"),
        (lambda: Samples([]), r"^Samples: found no number"),
        (lambda: Samples([[1, 2], [3, 4]]), r"^Samples: found shape \(2, 2\)"),
        (lambda: Samples([1, math.nan]), r"^Samples: is nan"),
        (lambda: Uniform(1, 2).quantile(50), r"^fraction: is 50[^;]*; .* A percentage is divided by 100\."),
    ],
)
def test_a_bad_range_is_refused_where_it_is_stated(law, message):
    with pytest.raises(InputError, match=message):
        law()


@pytest.mark.parametrize("law", [Uniform(1, 2), Triangular(1, 2, 3), Lognormal(1, 2), Samples([1, 2])])
@pytest.mark.parametrize("share", [-0.1, 1.1, math.nan, "half"])
def test_a_share_outside_0_to_1_is_refused(law, share):
    with pytest.raises(InputError, match=r"^fraction: is .*must be 0 or more and at most 1\."):
        law.quantile(share)


def test_all_inputs_that_are_neither_number_nor_law_are_named_together():
    with pytest.raises(InputError) as caught:
        sample({"a": [1, 2], "b": Uniform(1, 2), "c": math.nan, "d": "4", "e": True, "f": 4})
    assert [fault.where for fault in caught.value.faults] == ["a", "c", "d", "e"]
    assert "allowed: a finite number, Uniform, Triangular, Lognormal or Samples. Fix: Several" in str(caught.value)


@pytest.mark.parametrize("count", [0, 1, -4, 1000, 2**31, 4.0, "4", None])
def test_a_count_that_is_no_power_of_two_is_refused(count):
    with pytest.raises(InputError, match=r"^count: is .*must be a power of two, 2 .*A power of two keeps"):
        sample({"a": Uniform(1, 2)}, count=count)


@pytest.mark.parametrize("values", [[1], 1, [[1], [2]]])
def test_one_value_has_no_spread_and_no_chance(values):
    with pytest.raises(InputError, match=r"^values: found one value; allowed: two values or more"):
        spread(values)
    with pytest.raises(InputError, match=r"^values: found one value"):
        chance_at_least(values, 1)


def test_answers_that_are_missing_or_in_a_table_are_refused():
    with pytest.raises(InputError, match=r"^values: is nan"):
        spread([1, math.nan])
    with pytest.raises(InputError, match=r"^wanted: is nan"):
        chance_at_least([1, 2], math.nan)
    with pytest.raises(InputError, match=r"^values: found shape \(2, 2\); allowed: values in one row"):
        chance_at_least([[1, 2], [3, 4]], 1)


def test_importing_edgestore_leaves_scipy_stats_out():
    code = "import sys, edgestore; print('scipy.stats' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"
