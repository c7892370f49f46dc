"""Which input matters, against the Ishigami function, closed forms and arithmetic by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.uncertainty import Lognormal, Samples, Triangular, Uniform, lognormal_product_shares
from edgestore.models.uncertainty.laws import sample
from edgestore.models.uncertainty.sensitivity import sobol_shares, tornado

ANGLES = {name: Uniform(-math.pi, math.pi) for name in ("x1", "x2", "x3")}
CVS = {"pe_cycles": 0.25, "write_amplification": 0.20, "bitrate_mbit_s": 0.15}
LIFE = {name: Lognormal.from_median(median, CVS[name]) for name, median in zip(CVS, (3000, 1.1, 4), strict=True)}


def ishigami(x1, x2, x3):
    return np.sin(x1) + 7 * np.sin(x2) ** 2 + 0.1 * x3**4 * np.sin(x1)


def life(pe_cycles, write_amplification, bitrate_mbit_s):
    return 128 * pe_cycles / write_amplification / bitrate_mbit_s


def by_name(shares):
    return {n: (a, b) for n, a, b in zip(shares.names, shares.first, shares.total, strict=True)}


# Sobol shares


def test_the_ishigami_function_has_its_published_shares():
    # a = 7, b = 0.1: variance 13.844588; first order 0.313905, 0.442411, 0; total 0.557589, 0.442411, 0.243684.
    found = by_name(sobol_shares(ishigami, ANGLES, count=2**13))
    assert [found[name][0] for name in ANGLES] == pytest.approx([0.313905, 0.442411, 0], abs=0.005)
    assert [found[name][1] for name in ANGLES] == pytest.approx([0.557589, 0.442411, 0.243684], abs=0.005)
    assert ishigami(**sample(ANGLES, count=2**14)).var() == pytest.approx(13.844588, rel=1e-3)


def test_the_shares_are_named_the_largest_total_first():
    assert sobol_shares(ishigami, ANGLES).names == ("x1", "x2", "x3")
    mirrored = {"x3": ANGLES["x3"], "x2": ANGLES["x2"], "x1": ANGLES["x1"]}
    assert sobol_shares(ishigami, mirrored).names == ("x1", "x2", "x3")


def test_sampled_shares_of_a_product_of_lognormals_are_those_of_the_closed_form():
    # 0.0625, 0.04, 0.0225 over 1.0625 x 1.04 x 1.0225 - 1; total: 1 - the same of the other two.
    sampled = sobol_shares(life, LIFE, count=2**13)
    exact = lognormal_product_shares(list(CVS), list(CVS.values()))
    assert sampled.names == exact.names == tuple(CVS)
    for found in (sampled, exact):
        assert found.first == pytest.approx([0.481278, 0.308018, 0.173260], abs=0.003)
        assert found.total == pytest.approx([0.511791, 0.334633, 0.191452], abs=0.003)


def test_known_numbers_have_no_share_and_an_input_without_effect_has_none():
    found = sobol_shares(lambda a, b, c: a + b * 0 + c, {"a": Samples([1, 2, 3]), "b": Uniform(0, 1), "c": 5})
    assert found.names == ("a", "b")
    assert found.total == pytest.approx([1, 0], abs=0.01)
    # Nothing depends on anything: no shares, and no warning.
    assert sobol_shares(lambda a: 4.0, {"a": Uniform(0, 1)}, count=16).total == (0.0,)


def test_a_sum_shares_its_variance_by_squared_widths():
    # Variances 4/12 and 1/12: 4/5 and 1/5.
    found = sobol_shares(lambda a, b: a + b, {"a": Uniform(0, 2), "b": Uniform(0, 1)}, count=2**12)
    assert found.first == pytest.approx([0.8, 0.2], abs=0.01)


def test_the_model_may_give_back_what_it_was_given():
    assert sobol_shares(lambda a: a, {"a": Uniform(5, 6)}).first == pytest.approx([1], abs=0.01)


def test_the_same_seed_gives_the_same_shares_and_another_seed_others():
    first, again, other = (sobol_shares(life, LIFE, count=64, seed=seed) for seed in (1, 1, 2))
    assert first == again
    assert first != other


def test_without_being_told_it_asks_the_model_at_4096_points_for_each_input_and_three_more_by_seed_0():
    asked = []

    def total(a, b):
        asked.append(np.size(a))
        return a * b

    laws = {"a": Uniform(0, 2), "b": Uniform(0, 1)}
    usual = sobol_shares(total, laws)
    assert sum(asked) == 4096 * (2 + 3)
    assert usual == sobol_shares(total, laws, count=4096, seed=0)


# Products of lognormals


@given(st.lists(st.floats(1e-3, 3), min_size=1, max_size=8))
def test_shares_of_the_logarithm_sum_to_1_first_order_to_less_and_total_to_more(cvs):
    shares = lognormal_product_shares([f"input {n}" for n in range(len(cvs))], cvs)
    assert sum(shares.of_log) == pytest.approx(1, rel=1e-12)
    assert sum(shares.first) <= 1 + 1e-9 <= sum(shares.total) + 2e-9
    assert all(first <= total + 1e-9 for first, total in zip(shares.first, shares.total, strict=True))
    assert list(shares.total) == sorted(shares.total, reverse=True)


def test_a_single_lognormal_has_all_the_variance():
    shares = lognormal_product_shares(["pe_cycles"], 0.3)
    assert (shares.first, shares.total, shares.of_log) == ((1.0,), (1.0,), (1.0,))


# Tornado


def test_a_tornado_moves_one_input_at_a_time_from_the_medians():
    result = tornado(lambda a, b, c: a * b + c, {"b": Uniform(4, 6), "a": Uniform(0, 10), "c": 1})
    # Medians 5 and 5: 26. a from 1 to 9: 6 to 46; b from 4.2 to 5.8: 22 to 30.
    assert result.at_medians == pytest.approx(26)
    assert [swing.name for swing in result.swings] == ["a", "b"]
    first, second = result.swings
    assert (first.input_low, first.input_high, first.answer_low, first.answer_high) == pytest.approx((1, 9, 6, 46))
    assert (first.swing, second.swing) == pytest.approx((40, 8))


def test_an_input_that_lowers_the_answer_has_its_low_answer_at_its_high_end():
    (swing,) = tornado(lambda rate: 8 / rate, {"rate": Lognormal(2, 8)}).swings
    assert (swing.answer_low, swing.answer_high) == pytest.approx((4, 1))
    assert swing.swing == pytest.approx(3)


def test_other_ends_may_be_asked_for():
    (swing,) = tornado(lambda a: a, {"a": Triangular(0, 1, 2)}, low=0.125, high=0.5).swings
    # Up to the mode u = a^2 / 2: 0.125 at 0.5, 0.5 at 1.
    assert (swing.input_low, swing.input_high) == pytest.approx((0.5, 1))


def test_without_an_uncertain_input_the_tornado_is_one_line():
    result = tornado(lambda a: 2 * a, {"a": 3})
    assert (result.at_medians, result.swings) == (6.0, ())


def test_the_widest_lognormal_of_a_product_swings_most():
    assert [swing.name for swing in tornado(life, LIFE).swings] == list(CVS)


# Refusals


@pytest.mark.parametrize(("low", "high"), [(0.9, 0.1), (0.5, 0.5), (0, 0.9), (0.1, 1), (10, 90), (math.nan, 0.9)])
def test_ends_that_are_no_shares_in_order_are_refused(low, high):
    with pytest.raises(InputError, match=r"^(low|high|low, high): (is|found) .*; (must be|allowed:) "):
        tornado(life, LIFE, low=low, high=high)


def test_ends_in_the_wrong_order_are_named_before_what_is_allowed():
    with pytest.raises(
        InputError, match=r"^low, high: found 0\.9, 0\.1; allowed: low below high, both between 0 and 1\.$"
    ):
        tornado(life, LIFE, low=0.9, high=0.1)


def test_an_input_that_is_neither_number_nor_law_is_refused_by_name():
    for ask in (tornado, sobol_shares):
        with pytest.raises(InputError, match=r"^pe_cycles: found \(1000, 3000\); allowed: a finite number, Uniform"):
            ask(life, LIFE | {"pe_cycles": (1000, 3000)})


def test_shares_without_an_uncertain_input_or_with_a_wrong_count_are_refused():
    with pytest.raises(InputError, match=r"^inputs: found no uncertain input; allowed: one or more\. Fix: State a"):
        sobol_shares(lambda a: a, {"a": 3})
    with pytest.raises(InputError, match=r"^count: is 100; must be a power of two"):
        sobol_shares(life, LIFE, count=100)


@pytest.mark.parametrize(
    ("names", "cvs", "message"),
    [
        (["a", "b"], [0.1], r"^names, cvs: found 2 names and shape \(1,\); allowed: two lists of the same length"),
        ("ab", [0.1, 0.2], r"^names: is 'ab'; must be a list of names"),
        (["a", 2], [0.1, 0.2], r"^names: is \['a', 2\]; must be a list of names"),
        (["a"], [[0.1]], r"^names, cvs: found 1 names and shape \(1, 1\)"),
        (["a", "b"], [0.1, 0], r"^cvs: is 0; must be above 0"),
        (["a"], [math.nan], r"^cvs: is nan"),
        ([], [], r"^cvs: found no number"),
    ],
)
def test_coefficients_without_a_name_or_out_of_range_are_refused(names, cvs, message):
    with pytest.raises(InputError, match=message):
        lognormal_product_shares(names, cvs)
