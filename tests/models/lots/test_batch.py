"""Cards bought together: the beta-binomial law against other ways to reckon it, and what more batches save."""

from itertools import product

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.special import roots_jacobi

from edgestore import InputError
from edgestore.models.lots import (
    batch_failures_cv,
    more_fail_chance,
    tried_batch,
    updated_weak_fraction,
    weak_cards_chance,
)
from edgestore.models.upkeep import spares_for_confidence

WEAK, RHO = st.floats(0.001, 0.5), st.floats(0.001, 0.9)


@given(weak=WEAK, rho=RHO, cards=st.integers(1, 60))
def test_the_number_of_weak_cards_is_beta_binomial(weak, rho, cards):
    counts, total = np.arange(cards + 1), (1 - rho) / rho
    other = stats.betabinom.pmf(counts, cards, weak * total, (1 - weak) * total)
    told = weak_cards_chance(counts, cards, weak_fraction=weak, batch_correlation=rho)
    assert told == pytest.approx(other, abs=1e-10)


@given(weak=WEAK, cards=st.integers(1, 60), fail=st.floats(0, 1), others=st.floats(0, 1), batches=st.integers(1, 5))
def test_without_correlation_cards_are_binomial_in_however_many_batches(weak, cards, fail, others, batches):
    counts = np.arange(cards + 1)
    told = more_fail_chance(
        counts,
        cards,
        weak_fraction=weak,
        batch_correlation=0,
        batches=min(batches, cards),
        weak_fail_fraction=fail,
        others_fail_fraction=others,
    )
    assert told == pytest.approx(stats.binom.sf(counts, cards, weak * fail + (1 - weak) * others), abs=1e-12)


@given(weak=WEAK, rho=RHO, cards=st.integers(1, 60), others=st.floats(0, 1), batches=st.integers(1, 5))
def test_neither_correlation_nor_batches_change_the_mean_number_that_fails(weak, rho, cards, others, batches):
    more = more_fail_chance(
        np.arange(cards + 1),
        cards,
        weak_fraction=weak,
        batch_correlation=rho,
        batches=min(batches, cards),
        weak_fail_fraction=0.9,
        others_fail_fraction=others,
    )
    assert more.sum() == pytest.approx(cards * (0.9 * weak + (1 - weak) * others))


def test_three_cards_in_two_batches_by_all_outcomes():
    # Batches of 2 and 1; a weak card fails with 0.7, another with 0.1: 2^3 kinds of cards times 2^3 fates.
    weak, rho, fails = 0.2, 0.4, {True: 0.7, False: 0.1}
    both = weak * (weak + rho * (1 - weak))
    pair = {(True, True): both, (True, False): weak - both, (False, True): weak - both}
    pair[False, False] = 1 - sum(pair.values())
    exact = np.zeros(4)
    for cards, fates in product(product((True, False), repeat=3), product((True, False), repeat=3)):
        chance = pair[cards[:2]] * (weak if cards[2] else 1 - weak)
        for is_weak, failed in zip(cards, fates, strict=True):
            chance *= fails[is_weak] if failed else 1 - fails[is_weak]
        exact[sum(fates)] += chance
    told = more_fail_chance(
        range(4),
        3,
        weak_fraction=weak,
        batch_correlation=rho,
        batches=2,
        weak_fail_fraction=0.7,
        others_fail_fraction=0.1,
    )
    assert told == pytest.approx(1 - exact.cumsum(), abs=1e-12)


@pytest.mark.parametrize("cards", [20, 100, 400])
@pytest.mark.parametrize("rho", [0.02, 0.1, 0.3])
def test_more_batches_make_it_less_likely_that_a_fifth_of_the_cards_is_weak(cards, rho):
    # A fifth is twenty times the mean: that far out one batch is the worst, and independent cards hardly ever do it.
    law = {"weak_fraction": 0.01, "batch_correlation": rho}
    chances = [more_fail_chance(cards // 5, cards, **law, batches=batches) for batches in (1, 2, 4)]
    independent = more_fail_chance(cards // 5, cards, weak_fraction=0.01, batch_correlation=0)
    assert np.all(np.diff([*chances, independent]) < 0)


@given(weak=st.floats(0.002, 0.05), rho=st.floats(0.01, 0.3), cards=st.integers(20, 200))
def test_two_batches_need_no_more_spares_than_one_for_19_in_20_where_a_weak_card_is_likely(weak, rho, cards):
    # Where a card in 20 sites is weak at all, a batch without one is likelier the more cards share it: see below.
    law = {"weak_fraction": weak, "batch_correlation": rho}
    counts = np.arange(cards + 1)
    more = [more_fail_chance(counts, cards, **law, batches=batches) for batches in (1, 2)]
    one, two = (int((chance > 0.05).sum()) for chance in more)
    if more[0][0] > 0.5:
        assert two <= one


def test_with_so_rare_weak_cards_that_one_batch_is_likely_to_have_none_it_needs_fewer_spares():
    # 10 cards, 0.6 % weak: none is with 0.994^10 = 0.9416 if independent; if all are alike with nearly 0.994.
    independent, together = (more_fail_chance(0, 10, weak_fraction=0.006, batch_correlation=rho) for rho in (0, 0.999))
    assert independent == pytest.approx(1 - 0.994**10)
    assert together == pytest.approx(0.006, rel=0.01)
    assert spares_for_confidence(0.06, 0.95) == 1
    assert spares_for_confidence(0.06, 0.95, batch_failures_cv(0.006, 0.3)) == 0


@pytest.mark.filterwarnings(
    "ignore:invalid value encountered in divide"
)  # of scipy, in a branch that it then leaves out
@given(weak=WEAK, rho=st.floats(0.01, 0.9), cards=st.integers(1, 40), bad=st.floats(0, 1), part=st.floats(0.01, 1))
def test_a_trial_of_a_batch_is_bayes_rule_on_its_beta_law(weak, rho, cards, bad, part):
    # The law by Gauss-Jacobi nodes, which give sums over powers of the share up to the number of cards exactly.
    total = (1 - rho) / rho
    nodes, chance = roots_jacobi(cards // 2 + 2, (1 - weak) * total - 1, weak * total - 1)
    seen = {"cards": cards, "failures": int(bad * cards), "detected_fraction": part}
    by_nodes = updated_weak_fraction((1 + nodes) / 2, chance, **seen)
    told = tried_batch(weak, batch_correlation=rho, **seen)
    assert told.mean_untried == pytest.approx(by_nodes.mean_untried, rel=1e-6, abs=1e-9)


def test_a_share_that_is_known_learns_nothing_from_independent_cards_and_much_from_a_batch():
    independent, batch = (tried_batch(0.01, batch_correlation=rho, cards=20) for rho in (0, 0.1))
    assert independent.mean_untried == pytest.approx(0.01)
    assert independent.chance_seen == pytest.approx(0.99**20)
    # a = 0.01 x 9, a + b = 9: 0.09 / 29
    assert batch.mean_untried == pytest.approx(0.09 / 29)
    # and one bad card of 20: 1.09 / 29, where independent cards still say 0.01
    assert tried_batch(0.01, batch_correlation=0.1, cards=20, failures=1).mean_untried == pytest.approx(1.09 / 29)


def test_what_is_impossible_or_out_of_range_is_refused():
    with pytest.raises(InputError, match="weak_cards: found more than cards"):
        weak_cards_chance(3, 2, weak_fraction=0.1, batch_correlation=0)
    with pytest.raises(InputError, match="failures: found more than cards"):
        more_fail_chance(3, 2, weak_fraction=0.1, batch_correlation=0)
    with pytest.raises(InputError, match=r"batches: is 3 batches; must be 1 or more and at most 2 batches"):
        more_fail_chance(1, 2, weak_fraction=0.1, batch_correlation=0, batches=3)
    for rho in (1, -0.1, float("nan")):
        with pytest.raises(InputError, match="batch_correlation"):
            tried_batch(0.1, batch_correlation=rho, cards=3)
    with pytest.raises(InputError, match="failures: is 4"):
        tried_batch(0.1, batch_correlation=0.1, cards=3, failures=4)
    for share in (-0.1, 1.5):
        for field in ("weak_fraction", "weak_fail_fraction", "others_fail_fraction"):
            with pytest.raises(InputError, match=f"^{field}: is {share}; must be 0 or more and at most 1"):
                more_fail_chance(1, 2, **{"weak_fraction": 0.1, "batch_correlation": 0, field: share})
        with pytest.raises(InputError, match=f"^weak_fraction: is {share}; must be 0 or more and at most 1"):
            weak_cards_chance(1, 2, weak_fraction=share, batch_correlation=0)
    with pytest.raises(InputError, match=r"^detected_fraction: is 1\.5; must be above 0 and at most 1"):
        tried_batch(0.1, batch_correlation=0.1, cards=3, detected_fraction=1.5)
    with pytest.raises(InputError, match="cards: is 10001"):
        weak_cards_chance(0, 10_001, weak_fraction=0.1, batch_correlation=0.1)


def test_a_chance_is_never_above_1_by_rounding():
    # All of the others fail, and all are others: 32 or 39 of as many.
    for cards, batches in ((32, 4), (39, 39)):
        law = {"weak_fraction": 1.0, "batch_correlation": 0, "batches": batches, "others_fail_fraction": 0.4}
        assert np.all(more_fail_chance(range(cards + 1), cards, **law) <= 1)


def test_one_card_tells_of_a_batch_of_its_own():
    # One card fails if it is weak: with 0.3; then another of the batch is weak with 0.3 + 0.5 x 0.7.
    assert weak_cards_chance([0, 1], 1, weak_fraction=0.3, batch_correlation=0.5) == pytest.approx([0.7, 0.3])
    # Were it known that none is weak, that would not be seen; the limit of rarer weak cards says 0.5 of the next one.
    tried = tried_batch([0.3, 0], batch_correlation=0.5, cards=1, failures=1)
    assert tried.chance_seen == pytest.approx([0.3, 0])
    assert tried.mean_untried == pytest.approx([0.65, 0.5])


def test_the_failures_of_three_batches_scatter_by_the_root_of_a_third():
    # 0.7 sqrt(0.5 x 0.8 / (0.2 x 3)) = 0.7 x 0.816497
    assert batch_failures_cv(0.2, 0.5, weak_part=0.7, batches=3) == pytest.approx(0.571548, abs=5e-7)


def test_the_answers_about_batches_carry_the_labels_of_what_is_asked():
    shares = pd.Series([0.1, 0.2], index=["gate", "yard"])
    tried = tried_batch(shares, batch_correlation=0.1, cards=3)
    assert tried.chance_seen.index.tolist() == tried.mean_untried.index.tolist() == ["gate", "yard"]
    counts = pd.Series([0, 1], index=["gate", "yard"])
    law = {"weak_fraction": 0.1, "batch_correlation": 0.1}
    assert more_fail_chance(counts, 3, **law).index.tolist() == ["gate", "yard"]
    assert weak_cards_chance(counts, 3, **law).index.tolist() == ["gate", "yard"]
