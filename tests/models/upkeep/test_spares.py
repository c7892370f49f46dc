"""Spares against published tables and examples, scipy, and plain search."""

from functools import reduce
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from edgestore import InputError
from edgestore.models.upkeep import chance_spares_last, spares_for_confidence, spares_for_separate

MEANS, SURE, CVS = st.floats(0, 200), st.floats(0.01, 0.9999), st.one_of(st.just(0.0), st.floats(0.02, 3))


@pytest.mark.parametrize(("mean", "spares"), [(1, (2, 3, 4)), (2, (4, 5, 6)), (5, (8, 9, 11)), (10, (14, 15, 18))])
def test_the_table_of_poissons_law(mean, spares):
    assert tuple(spares_for_confidence(mean, [0.9, 0.95, 0.99])) == spares


def test_the_published_example_of_30_parts_for_90_days():
    # Blanchard: 30 parts of 10 000 h, 90 days of 24 h, 95 %.
    assert spares_for_confidence(30 * 90 * 24 / 10_000, 0.95) == 11


def test_one_stock_needs_12_where_three_need_17():
    # Barlow and Proschan 1981.
    means = [2.6, 3.0, 2.4]
    assert spares_for_confidence(sum(means), 0.9) == 12
    assert spares_for_separate(means, 0.9).sum() == 17


@given(MEANS, SURE, CVS)
def test_scipy_gives_the_same_quantiles(mean, confidence, cv):
    law = stats.nbinom(1 / cv**2, 1 / (1 + cv**2 * mean)) if cv else stats.poisson(mean)
    found = spares_for_confidence(mean, confidence, cv)
    assert law.cdf(found) >= confidence - 1e-9
    assert law.cdf(found - 1) < confidence + 1e-9  # below 0 cards it is 0
    assert chance_spares_last(found, mean, cv) == pytest.approx(law.cdf(found), abs=1e-9)


@given(MEANS, MEANS, SURE, SURE, CVS)
def test_more_failures_or_more_confidence_never_need_fewer_spares(mean, more, confidence, surer, cv):
    low, high = sorted([mean, more])
    assert spares_for_confidence(low, confidence, cv) <= spares_for_confidence(high, confidence, cv)
    low, high = sorted([confidence, surer])
    assert spares_for_confidence(mean, low, cv) <= spares_for_confidence(mean, high, cv)


def test_an_uncertain_rate_needs_more():
    needed = spares_for_confidence(6.48, 0.95, [0, 1e-4, 0.25, 0.5, 1])
    assert needed.tolist() == [11, 11, 12, 14, 20]


def test_an_uncertain_rate_is_as_simulated():
    rng = np.random.default_rng(9)
    drawn = rng.poisson(rng.gamma(4, 6.48 / 4, 200_000)) <= 11
    error = 3 * drawn.std() / np.sqrt(drawn.size)
    assert chance_spares_last(11, 6.48, 0.5) == pytest.approx(drawn.mean(), abs=error)


@given(st.lists(st.floats(0, 4), min_size=2, max_size=3), st.floats(0.5, 0.98))
def test_no_other_way_to_stock_separately_needs_fewer(means, confidence):
    found = spares_for_separate(means, confidence)
    total = int(found.sum())
    assert np.prod(stats.poisson.cdf(found, means)) >= confidence - 1e-12
    fewer = (np.array(way) for way in product(range(total), repeat=len(means)) if sum(way) == total - 1)
    assert all(np.prod(stats.poisson.cdf(way, means)) < confidence + 1e-12 for way in fewer)
    assert spares_for_confidence(sum(means), confidence) <= total


def test_no_failures_need_no_spares_and_one_stock_is_one_stock():
    assert spares_for_confidence(0, 0.9999) == 0
    assert chance_spares_last(0, [0, 1]) == pytest.approx([1, np.exp(-1)])
    assert spares_for_separate(3, 0.95) == spares_for_confidence(3, 0.95)
    assert spares_for_separate([[1, 2], [3, 4]], 0.9).shape == (2, 2)


@pytest.mark.parametrize("cv", [0, 0.4])
def test_a_chance_that_is_just_reached_is_enough(cv):
    for spares in (0, 1, 5, 13):
        just = chance_spares_last(spares, 6.48, cv)
        assert spares_for_confidence(6.48, just, cv) == spares
        assert spares_for_separate([6.48], just, cv).tolist() == [spares]


def test_a_place_that_needs_none_is_sought_beside_one_that_needs_many():
    # Without a failure none; of 100 the deviation is 10, and 1.2816 of it, 112.8, are enough in nine of ten cases.
    assert spares_for_confidence([0, 100], 0.9).tolist() == [0, 113]
    assert spares_for_confidence([0, 100], 0.9, 1e-4).tolist() == [0, 113]
    assert spares_for_separate([0, 100], 0.9).tolist() == [0, 113]


@pytest.mark.parametrize(
    ("means", "cvs", "sure"), [([0.5, 2.0, 3.5], [1.2, 0.3, 0.7], 0.85), ([4.9, 3.7], [2, 1], 0.95)]
)
def test_stocks_whose_means_are_not_known_alike_need_what_a_search_over_all_finds(means, cvs, sure):
    laws = [stats.nbinom(1 / cv**2, 1 / (1 + cv**2 * mean)) for mean, cv in zip(means, cvs, strict=True)]
    chance = reduce(np.multiply.outer, (law.cdf(range(35)) for law in laws))
    found = spares_for_separate(means, sure, cvs)
    assert found.sum() == np.argwhere(chance >= sure).sum(axis=1).min()
    assert chance[tuple(found.astype(int))] >= sure


def test_a_mean_that_is_all_but_known_gives_the_chance_of_a_known_one():
    known = chance_spares_last([0, 11, 950], [1, 6.48, 1000])
    assert chance_spares_last([0, 11, 950], [1, 6.48, 1000], 3e-6) == pytest.approx(known, rel=1e-12)
    for cv in (1e-7, 1.1e-7, 1e-6, 3.1e-6, 1e-5):
        assert chance_spares_last([0, 11, 950], [1, 6.48, 1000], cv) == pytest.approx(known, abs=2e-6)


@pytest.mark.parametrize(("mean", "spares"), [(0.5, 2), (0.5, 3), (6.48, 8), (6.48, 11), (0, 0)])
def test_the_chance_that_so_many_last_asks_for_so_many_again(mean, spares):
    chance = min(chance_spares_last(spares, mean), 0.9999)  # the most that can be asked
    assert spares_for_confidence(mean, chance) == spares


def test_each_confidence_of_several_has_its_own_spares():
    # e^-10 = 4.5e-5 is more than 1e-5 already; at a mean of 0.5 up to 4 have 0.99983 and up to 5 have 0.99999.
    assert spares_for_confidence([10, 0.5], [1e-5, 0.9999]).tolist() == [0, 5]


def test_a_single_count_of_spares_is_a_float():
    # At a mean of 0.5: e^-0.5 (1 + 0.5) = 0.910 for one, 0.986 for two.
    assert isinstance(spares_for_confidence(0.5, 0.95), float)
    assert spares_for_confidence(0.5, 0.95) == 2


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: spares_for_confidence(-1, 0.9),
            "failures: is -1 failures; must be 0 or more and at most 1000000",
        ),
        (lambda: spares_for_confidence(1, 1), "confidence: is 1; must be above 0 and at most 0.9999"),
        (lambda: spares_for_confidence(1, 95), "confidence: is 95.*A percentage is divided by 100"),
        (lambda: spares_for_confidence(1, 0.9, -0.1), "failures_cv: is -0.1; must be 0 or more and at most 10"),
        (lambda: spares_for_confidence(np.inf, 0.9), "failures: is inf"),
        (lambda: spares_for_confidence([1, 2], [0.5, 0.6, 0.7]), "shapes: found failures"),
        (lambda: chance_spares_last(1.5, 1), "spares: is 1.5 cards; must be whole cards"),
        (lambda: chance_spares_last(-1, 1), "spares: is -1 cards; must be 0 or more cards"),
        (lambda: spares_for_separate([1, 2], [0.9, 0.8]), "confidence: found several numbers; allowed: one number"),
        (lambda: spares_for_separate([], 0.9), "failures: found no number"),
    ],
)
def test_bad_input_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()


def test_a_mean_that_is_known_to_a_twentieth_scatters_more_than_poissons_law():
    # Variance 1000 + (0.05 x 1000)^2 = 3500 against 1000: 1050.5 lies 0.854 and 1.597 standard deviations above.
    known, uncertain = chance_spares_last(1050, 1000), chance_spares_last(1050, 1000, 0.05)
    assert known == pytest.approx(stats.norm.cdf(50.5 / 1000**0.5), abs=0.003)
    assert uncertain == pytest.approx(stats.norm.cdf(50.5 / 3500**0.5), abs=0.003)
