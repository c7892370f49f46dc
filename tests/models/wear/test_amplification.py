"""How writes become flash writes: printed values, exact points of the forms, and their ends."""

import math
from fractions import Fraction

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.wear import (
    write_amplification_fifo,
    write_amplification_greedy,
    write_amplification_mixed,
    write_amplification_separated,
    write_amplification_static,
)

SPARES = st.floats(0.001, 10)
SHARES = st.floats(0.01, 0.99)


# Random writes on a card mapped by page


def test_fifo_gives_the_printed_values():
    # Luojie and Kurkoski, ICNC 2012, abstract: 2.36 at 0.3. Park et al., ACM SAC 2017, abstract: 4.08 at 0.147.
    assert write_amplification_fifo([0.30, 0.147]) == pytest.approx([2.36, 4.08], abs=0.005)


@pytest.mark.parametrize("amplification", [1.01, 1.5, 2, 4, 10, 100])
def test_fifo_solved_for_the_spare_is_a_logarithm(amplification):
    # A cleaned block keeps u = 1 - 1/A of its pages and u = exp(-alpha (1 - u)), so alpha = A ln(A / (A - 1)).
    spare = amplification * math.log(amplification / (amplification - 1)) - 1
    assert write_amplification_fifo(spare) == pytest.approx(amplification, rel=1e-6)


def test_fifo_grows_without_bound_as_the_spare_goes_to_nothing():
    # exp to second order: A = 1 / (2 spare) + 2/3
    spare = np.array([0.01, 0.001, 0.0001])
    assert write_amplification_fifo(spare) == pytest.approx(1 / (2 * spare) + 2 / 3, rel=1e-4)


def test_with_much_spare_nothing_is_written_twice():
    for form in (
        write_amplification_fifo(20),
        write_amplification_greedy(20, 64),
        write_amplification_mixed(20, 0.5, 0.5),
        write_amplification_separated(20, hot_write_fraction=0.5, hot_page_fraction=0.5, hot_spare_fraction=0.5),
    ):
        assert form == pytest.approx(1, abs=1e-8)


@pytest.mark.parametrize(("pages", "kept"), [(2, 0), (4, 1), (4, 2), (64, 32), (64, 48), (128, 100)])
def test_greedy_is_exact_where_a_whole_number_of_pages_is_kept(pages, kept):
    # Fractions: alpha = b (1/(k+1) + ... + 1/b) / (b - k), A = b / (b - k); b = 4, k = 2: 7/6 and 2
    alpha = pages * sum(Fraction(1, n) for n in range(kept + 1, pages + 1)) / (pages - kept)
    assert write_amplification_greedy(float(alpha - 1), pages) == pytest.approx(pages / (pages - kept), rel=1e-9)


def test_greedy_cleans_at_least_one_page_of_a_block_even_with_hardly_any_spare():
    assert write_amplification_greedy(0.0001, [2, 8]) == pytest.approx([2, 8], rel=0.01)


def test_greedy_with_spare_for_every_page_but_the_first_writes_nothing_twice():
    # b = 2: nothing is kept when alpha reaches H(2) = 3/2
    assert write_amplification_greedy([0.5, 0.6], 2) == pytest.approx([1, 1], abs=1e-9)


def test_greedy_of_huge_blocks_is_fifo():
    spare = np.array([0.07, 0.28, 0.5])
    assert write_amplification_greedy(spare, 1e6) == pytest.approx(write_amplification_fifo(spare), rel=1e-3)


@given(SPARES, st.integers(2, 512))
def test_greedy_is_never_worse_than_fifo_and_the_better_the_smaller_the_block(spare, pages):
    small, large = write_amplification_greedy(spare, [pages, 2 * pages])
    assert 1 <= small <= large * (1 + 1e-9)
    assert large <= write_amplification_fifo(spare) * (1 + 1e-9)


@given(SPARES, st.floats(1.01, 3), st.integers(2, 512), SHARES, SHARES)
def test_more_spare_never_makes_it_worse(spare, factor, pages, writes, share):
    for form in (
        lambda s: write_amplification_fifo(s),
        lambda s: write_amplification_greedy(s, pages),
        lambda s: write_amplification_mixed(s, writes, share),
    ):
        assert form(spare * factor) <= form(spare) * (1 + 1e-9)


# Hot and cold


def test_hot_and_cold_in_one_log_agree_with_a_simulation_written_apart():
    # 2000 user blocks, warm-up 6 times, measured 10 times the user pages; spare 10 %: 6.042 and 6.686
    assert write_amplification_mixed(0.1, [0.8, 0.9], [0.2, 0.1]) == pytest.approx([6.042, 6.686], rel=0.001)


@given(SPARES, SHARES)
def test_equal_shares_in_one_log_are_uniform_random(spare, share):
    assert write_amplification_mixed(spare, share, share) == pytest.approx(write_amplification_fifo(spare), rel=1e-6)


@given(st.floats(0.01, 1), SHARES)
def test_pages_that_are_never_written_again_are_carried_round_by_the_log(spare, still):
    # The log is 1 + spare long, in user pages, still of them still. The others are uniform random: a fifo log of their
    # own, 1 + spare - still for 1 - still, so with spare / (1 - still); each time round carries the still ones too.
    others = write_amplification_fifo(spare / (1 - still))
    expected = others * (1 + spare) / (1 + spare - still)
    assert write_amplification_mixed(spare, 0, still) == pytest.approx(expected, rel=1e-6)


@given(SPARES, SHARES)
def test_equal_shares_in_two_logs_are_uniform_random(spare, share):
    apart = write_amplification_separated(
        spare, hot_write_fraction=share, hot_page_fraction=share, hot_spare_fraction=share
    )
    assert apart == pytest.approx(write_amplification_fifo(spare), rel=1e-6)


@given(SPARES, SHARES, SHARES)
def test_naming_the_cold_pages_hot_changes_nothing(spare, writes, pages):
    swapped = write_amplification_mixed(spare, 1 - writes, 1 - pages)
    assert write_amplification_mixed(spare, writes, pages) == pytest.approx(swapped, rel=1e-6)


@given(st.floats(0.05, 1), SHARES, SHARES)
def test_the_best_split_of_the_spare_is_no_worse_than_one_log(spare, writes, pages):
    own = np.linspace(0.005, 0.995, 199)
    apart = write_amplification_separated(
        spare, hot_write_fraction=writes, hot_page_fraction=pages, hot_spare_fraction=own[(spare * own / pages > 1e-4)]
    )
    assert apart.min() <= write_amplification_mixed(spare, writes, pages) * 1.005


def test_two_logs_weigh_their_own_amplifications_by_their_writes():
    # Half the pages each; own spares 2 ln 2 - 1 (A = 2) and 4 ln(4/3) - 1 (A = 4); 0.8 x 2 + 0.2 x 4 = 2.4
    hot, cold = 2 * math.log(2) - 1, 4 * math.log(4 / 3) - 1
    spare = (hot + cold) / 2
    assert write_amplification_separated(
        spare, hot_write_fraction=0.8, hot_page_fraction=0.5, hot_spare_fraction=hot / 2 / spare
    ) == pytest.approx(2.4, rel=1e-9)


def test_a_split_that_starves_one_log_is_refused():
    with pytest.raises(InputError, match=r"hot_spare_fraction: is 1e-05; must be a share that leaves each log"):
        write_amplification_separated(0.1, hot_write_fraction=0.5, hot_page_fraction=0.5, hot_spare_fraction=1e-5)
    with pytest.raises(InputError, match=r"hot_spare_fraction: is 0.9999; must be a share that leaves each log"):
        write_amplification_separated(
            0.1, hot_write_fraction=0.5, hot_page_fraction=0.5, hot_spare_fraction=[0.5, 0.9999]
        )


def test_still_data_is_carried_round_with_the_video():
    # 1 / (1 - 1/5) = 5/4
    assert write_amplification_static([0, 0.2, 0.5, 0.75]) == pytest.approx([1, 1.25, 2, 4])


def test_a_row_with_labels_may_have_a_share_of_0_in_it():
    shares = pd.Series([0.0, 0.5], index=["none", "half"])
    told = write_amplification_mixed(0.1, shares, 0.2)
    assert told.to_list() == [write_amplification_mixed(0.1, share, 0.2) for share in (0.0, 0.5)]
    assert np.isfinite(told).all()


def test_a_log_with_the_least_spare_there_is_and_one_with_more_than_any_are_both_told():
    # Half of the pages and of the spare each: 0.0001 for both logs, as for one.
    halves = {"hot_write_fraction": 0.5, "hot_page_fraction": 0.5, "hot_spare_fraction": 0.5}
    assert write_amplification_separated(0.0001, **halves) == pytest.approx(write_amplification_fifo(0.0001))
    # 50 x 0.9 / 0.1 = 450 times the hot pages as spare: nothing hot is written twice. The cold have 50 x 0.1 / 0.9.
    roomy = {"hot_write_fraction": 0.3, "hot_page_fraction": 0.1, "hot_spare_fraction": 0.9}
    expected = 0.3 + 0.7 * write_amplification_fifo(50 / 9)
    assert write_amplification_separated(50, **roomy) == pytest.approx(expected, rel=1e-12)


def test_the_answer_has_the_name_of_the_first_row_that_has_one():
    spare, writes, pages = (pd.Series([0.1, 0.3], name=name) for name in ("spare", "writes", "pages"))
    assert write_amplification_greedy(spare, 100 * pages).name == "spare"
    assert write_amplification_mixed(spare, writes, pages).name == "spare"
    assert write_amplification_mixed(0.1, writes, pages).name == "writes"
