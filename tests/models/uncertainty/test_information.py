"""What finding out is worth, against closed forms, against brute force over a finite world, and against itself."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from edgestore import InputError
from edgestore.models.uncertainty import (
    evpi,
    evpi_of_normal,
    evppi,
    evppi_from_regression,
    evsi,
    measurement_chance,
    preposterior,
    value_without_information,
)

WELL, SOUNDING = [[-70, 0], [50, 0], [200, 0]], [[0.3, 0.15, 0.05], [0.09, 0.12, 0.09], [0.02, 0.08, 0.1]]

NUMBERS = st.floats(-100, 100).map(lambda number: round(number, 3))
WORTHS = st.integers(2, 4).flatmap(lambda acts: arrays(float, (12, acts), elements=NUMBERS))
VALUES = arrays(float, 12, elements=st.sampled_from([0.0, 1.0, 2.5, 7.0]))


@pytest.fixture(scope="module")
def drawn():
    """Two inputs and two acts of the vignette of the R package voi: nothing, or p1 - p2; 65 536 draws."""
    rng = np.random.default_rng(7)
    p1, p2 = rng.normal(1, 1, 2**16), rng.normal(0, 2, 2**16)
    return p1, p2, np.column_stack([np.zeros(2**16), p1 - p2])


# Values of the vignette. Of 65 536 draws the standard error of the mean of max(0, p1 - p2) is 1.4 / 256 = 0.0055, of
# which three are allowed; of the first part alone it is 0.8 / 256 = 0.003.
def test_of_draws_the_values_are_those_of_the_closed_form(drawn):
    p1, p2, worth = drawn
    assert evpi(worth) == pytest.approx(0.479811, abs=0.0165)
    assert evppi(worth, p1) == pytest.approx(0.083315, abs=0.009)
    assert evppi(worth, p2) == pytest.approx(0.395593, abs=0.0165)
    assert evppi_from_regression(worth, np.column_stack([p1, p2])) == pytest.approx(0.479811, abs=0.0165)
    assert evppi_from_regression(worth, p1) == pytest.approx(0.083315, abs=0.009)
    assert [evsi(worth, p1, 1 / math.sqrt(n)) for n in (10, 100, 1000)] == pytest.approx(
        [0.072325, 0.082118, 0.083195], abs=0.009
    )


def test_a_product_of_two_inputs_is_seen_by_the_regression_and_by_neither_alone():
    # The second act is worth x y with x, y = -1 or 1: known together it is taken in half of the draws and gains 1.
    x, y = np.tile([-1, -1, 1, 1], 100), np.tile([-1, 1, -1, 1], 100)
    worth = np.column_stack([np.zeros(400), x * y])
    assert evppi_from_regression(worth, np.column_stack([x, y])) == pytest.approx(0.5)
    assert (evppi(worth, x), evppi(worth, y)) == (0.0, 0.0)


def test_the_acts_after_each_outcome_are_those_worked_out_by_hand():
    # No structure: -70 x 0.3 + 50 x 0.09 + 200 x 0.02 = -12.5, so leave it; else 11.5 and 21, so drill.
    found = preposterior(WELL, SOUNDING)
    assert (found.act_without, found.acts.tolist()) == (0.0, [1.0, 0.0, 0.0])
    assert found.outcome_chance.tolist() == pytest.approx([0.41, 0.35, 0.24])
    assert found.value_with - found.value_without == found.evsi


def test_where_two_acts_are_equally_good_no_finding_changes_the_act():
    found = preposterior([[1, 1], [5, 5]], [[0.2, 0.3], [0.4, 0.1]])
    assert (found.evsi, found.chance_of_change) == (0.0, 0.0)


@pytest.mark.parametrize("unit", [1e-15, 1e15])
def test_in_whatever_unit_worth_is_told_the_same_findings_change_the_act(unit):
    found = preposterior(np.multiply(WELL, unit), SOUNDING)
    assert found.acts.tolist() == [1.0, 0.0, 0.0]
    assert found.chance_of_change == pytest.approx(0.41)


def test_twice_as_many_values_as_groups_go_into_groups_of_two():
    # 128 values: the second act is worth 1 and -1 in turn, which is 0 in a group of two; or 1 twice and -1 twice, which
    # is 1 in every other group. In groups shifted by one, 1 / 128 would be left at the ends, and hardly more.
    values = np.arange(128.0)
    for second_act, worth in (([1.0, -1.0] * 64, 0.0), ([1.0, 1.0, -1.0, -1.0] * 32, 0.5)):
        assert evppi(np.column_stack([np.zeros(128), second_act]), values) == pytest.approx(worth, abs=1e-12)


def test_several_decisions_at_once_are_each_decided_by_itself():
    worths, joints = np.array([WELL, [[1, 2], [0, 5], [3, -9]]]), np.array([SOUNDING, np.full((3, 3), 1 / 9)])
    together = preposterior(worths, joints)
    for number in (0, 1):
        alone = preposterior(worths[number], joints[number])
        for name in ("evsi", "act_without", "acts", "chance_of_change"):
            assert getattr(together, name)[number] == pytest.approx(getattr(alone, name)), name
    chances = measurement_chance([[1, 2], [5, 9]], [0.5, 2])
    assert chances[1] == pytest.approx(measurement_chance([5, 9], 2))


def test_a_measurement_in_three_cells_is_the_normal_law_between_their_edges():
    # 0 or 10, with an error of 0.75: from -3 to 13 the inner edges are 7/3 and 23/3, 28/9 and 92/9 errors above 0.
    low, high = stats.norm.cdf([28 / 9, 92 / 9])
    expected = [[low, high - low, 1 - high], [1 - high, high - low, low]]
    assert measurement_chance([0, 10], 0.75, cells=3) == pytest.approx(np.array(expected), abs=1e-12)


def test_of_several_measurements_those_without_an_error_are_certain():
    mixed = measurement_chance([[1, 2], [5, 9]], [0, 2])
    assert np.sort(mixed[0], axis=-1)[:, -1].tolist() == [1, 1]
    assert mixed[0].argmax(axis=-1)[0] < mixed[0].argmax(axis=-1)[1]
    assert mixed[1] == pytest.approx(measurement_chance([5, 9], 2))
    certain = measurement_chance([[[1, 2, 3], [5, 6, 9]]], [[0, 0]])
    assert certain.tolist() == [[np.eye(3).tolist()] * 2]


def test_an_act_that_is_better_by_a_twentieth_of_what_is_at_stake_is_taken():
    # Each state is told by its outcome. The first act is worth 0.975 in the mean, the second 0.5, which is better by
    # 0.05 in the first state.
    found = preposterior([[0.95, 1], [1, 0]], [[0.5, 0], [0, 0.5]])
    assert found.acts.tolist() == [1, 0]
    assert found.evsi == pytest.approx(0.5 * 0.05)


def test_an_act_that_is_better_by_a_rounding_is_not_taken():
    # After the first outcome the second act is worth 0.1 + 0.2, which as floats is more than 0.3.
    found = preposterior([[0.3, 0.1 + 0.2, 0], [1, 0.5, 0]], [[0.5, 0], [0, 0.5]])
    assert (found.acts.tolist(), found.chance_of_change) == ([0, 0], 0)


def test_of_several_decisions_each_has_its_own_first_act():
    # The acts of the well, and in another order with a third one that is never best.
    mirrored = [[0, -70, -99], [0, 50, -99], [0, 200, -99]]
    found = preposterior([np.insert(WELL, 2, -99, axis=1), mirrored], [SOUNDING] * 2)
    assert found.act_without.tolist() == [0, 1]
    assert found.acts.tolist() == [[1, 0, 0], [0, 1, 1]]


@pytest.mark.parametrize(("first", "worth"), [(0.4, 0), (0.6, 0.6 / 64)])
def test_a_value_belongs_to_the_group_in_which_the_middle_of_its_chance_lies(first, worth):
    # In units of a group, 1/64: the second value reaches from 0.4 to 1.4, its middle in the first value's group, or
    # from 0.6 to 1.6, its middle in the next. The second act is worth 1 at the first value, and at the second one what
    # makes both worth 0 together. Of 63 more values none matters.
    chance = np.array([first, 1] + [(63 - first) / 63] * 63) / 64
    second_act = np.array([1, -first] + [0] * 63)
    found = evppi(np.column_stack([np.zeros(65), second_act]), np.arange(65.0), chance)
    assert found == pytest.approx(worth, abs=1e-12)


def test_of_as_many_values_as_groups_none_is_joined_to_a_likelier_one():
    # The second act is better by 1 and worse by 1 in turn: known, it gains the chance of every other value, less what
    # it gains unknown.
    weights = 1.0 + np.arange(64) ** 2
    chance, second_act = weights / weights.sum(), np.array([1.0, -1.0] * 32)
    found = evppi(np.column_stack([np.zeros(64), second_act]), np.arange(64.0), chance)
    assert found == pytest.approx(chance[::2].sum() - max(0, chance @ second_act), rel=1e-12)


def test_a_value_that_cannot_be_is_worth_nothing():
    # Dry or wet, each with 0.5: 0.5 x 50, against 0 without knowing.
    assert evppi(WELL, [1, 2, 3], [0.5, 0.5, 0]) == pytest.approx(25)


def test_the_regression_sees_a_cubic_and_no_more():
    # 1 and -1 in turn at four places is a cubic, and gains 1 in half of the draws. 1, -4, 6, -4, 1 is no cubic at all.
    for places, second_act, worth in (([-2, -1, 1, 2], [-1, 1, -1, 1], 0.5), ([-2, -1, 0, 1, 2], [1, -4, 6, -4, 1], 0)):
        gains, times = np.column_stack([np.zeros(len(places)), second_act]), 40 // len(places)
        found = evppi_from_regression(np.tile(gains, (times, 1)), np.tile(places, times))
        assert found == pytest.approx(worth, abs=1e-12)


def test_an_act_that_is_always_the_best_needs_no_finding_not_even_by_a_rounding():
    for seed in range(20):
        first = np.random.default_rng(seed).normal(size=(37, 1))
        worth = np.hstack([first, first - 1, first - 2])
        assert 0 <= evpi(worth) < 1e-12
        assert 0 <= evppi(worth, np.arange(37) // 3) < 1e-12


def test_chances_rounded_to_six_digits_are_taken_for_1_in_all():
    # A sure worth of 5 is worth 5; three of 0.333333 are a millionth short of 1, the others 3 millionths.
    third = [0.333333] * 3
    assert value_without_information([[5]] * 3, third) == pytest.approx(5, rel=1e-14)
    assert preposterior([[5], [5], [5]], np.transpose([third])).value_with == pytest.approx(5, rel=1e-14)
    with pytest.raises(InputError, match=r"^chance: found 0\.99 in all"):
        value_without_information([[5]] * 3, [0.33] * 3)
    with pytest.raises(InputError, match=r"^chance: found 0\.999997 in all"):
        value_without_information([[5]] * 3, [0.333333, 0.333332, 0.333332])


@given(WORTHS, VALUES, st.floats(0.05, 20), st.floats(1.05, 8))
def test_no_finding_is_worth_less_than_nothing_nor_more_than_knowing_and_a_better_one_is_worth_no_less(
    worth, values, sigma, factor
):
    knowing, everything = evppi(worth, values), evpi(worth)
    coarse, fine = evsi(worth, values, sigma * factor), evsi(worth, values, sigma)
    scale = np.ptp(worth) + 1e-9
    assert 0 <= coarse <= fine + 1e-4 * scale  # cut into cells, both are a little too low
    assert fine <= knowing + 1e-12 * scale
    assert knowing <= everything + 1e-12 * scale


@given(WORTHS, VALUES)
def test_knowing_an_input_is_the_mean_over_its_values_of_the_best_mean(worth, values):
    by_hand = sum(worth[values == value].sum(axis=0).max() for value in set(values)) / 12
    assert evppi(worth, values) == pytest.approx(by_hand - worth.mean(axis=0).max(), abs=1e-9)


@given(WORTHS, arrays(float, 12, elements=st.floats(0.01, 1)))
def test_a_draw_that_is_twice_as_likely_counts_as_two(worth, weights):
    chance = weights / weights.sum()
    twice = np.concatenate([chance / 2, chance / 2])
    assert evpi(np.vstack([worth, worth]), twice) == pytest.approx(evpi(worth, chance), abs=1e-9)
    assert value_without_information(worth, chance) == pytest.approx((chance @ worth).max())


@given(WORTHS, st.floats(-50, 50), st.floats(0.01, 10))
def test_what_all_acts_gain_alike_and_the_unit_of_worth_change_nothing(worth, more, unit):
    assume(np.ptp(worth) > 1e-6)
    assert evpi(worth * unit + more) == pytest.approx(evpi(worth) * unit, abs=1e-7)


@given(arrays(float, 5, elements=NUMBERS), st.floats(1e-6, 1e3))
def test_what_a_measurement_may_say_has_a_chance_of_1_in_all(values, sigma):
    chance = measurement_chance(values, sigma)
    assert (chance >= 0).all()
    assert chance.sum(axis=1) == pytest.approx(np.ones(5))


@given(st.floats(-20, 20), st.floats(0.01, 20), st.floats(1.01, 3))
def test_the_less_is_known_of_a_difference_the_more_is_knowing_it_worth(mean, sigma, factor):
    less, more = evpi_of_normal(mean, sigma), evpi_of_normal(mean, sigma * factor)
    assert 0 <= less <= more
    # Of a fair toss, E|x| / 2 = sigma / sqrt(2 pi) is gained; of a biased one less.
    assert less <= sigma / math.sqrt(2 * math.pi) + 1e-12


def test_what_is_known_exactly_is_worth_nothing_more():
    assert evpi_of_normal([-3, 0, 2], 0).tolist() == [0, 0, 0]


REFUSED = [
    (lambda: evpi([1, 2, 3]), r"^worth: found shape \(3,\); allowed: a row for each draw, a column for each act\.$"),
    (lambda: evpi(WELL, [0.5, 0.3]), r"^chance: found shape \(2,\); allowed: one for each of the 3 draws\.$"),
    (lambda: evpi(WELL, [50, 30, 20]), r"^chance: found 100 in all; allowed: chances that are 1 in all\. Fix: A perc"),
    (lambda: evpi(WELL, [1.2, -0.1, -0.1]), r"^chance: is -0\.1; must be 0 or more\.$"),
    (lambda: evpi([[1, float("nan")]]), r"^worth: is nan; must be a finite number"),
    (lambda: evppi(WELL, [1, 2]), r"^values: found shape \(2,\); allowed: one for each of the 3 draws\.$"),
    (lambda: evsi(WELL, [1, 2, 3], -1), r"^sigma: is -1; must be 0 or more\.$"),
    (lambda: evppi_from_regression(WELL, [1, 2, 3]), r"^worth: found 3 draws; allowed: 40 draws or more\. Fix: Take"),
    (lambda: evppi_from_regression(WELL, [[1], [2]]), r"^inputs: found shape \(2, 1\); allowed: a row for each of"),
    (lambda: preposterior(WELL, [[0.5, 0.5]]), r"^worth, joint: found shapes \(3, 2\) and \(1, 2\); allowed: a row f"),
    (lambda: preposterior(WELL, np.full((3, 2), 0.2)), r"^joint: found 1\.2 in all; allowed: chances that are 1 in"),
    (lambda: measurement_chance([1, float("inf")], 1), r"^values: is inf; must be a finite number"),
    (lambda: measurement_chance([1, 2], [1, 1]), r"^sigma: found shape \(2,\); allowed: one for each measurement, sha"),
    (lambda: measurement_chance(np.ones((2, 4, 5)), [1, 1]), r"^sigma: found shape \(2,\); .*, shape \(2, 4\)\.$"),
    (lambda: preposterior([1, 2], [0.5, 0.5]), r"^worth, joint: found shapes \(2,\) and \(2,\); allowed: a row f"),
    (lambda: preposterior([WELL] * 2, [SOUNDING, np.multiply(SOUNDING, 0.9)]), r"^joint: found 0\.9 in all"),
    (lambda: evppi_from_regression(np.ones((99, 2)), np.ones((99, 2))), r"^worth: found 99 draws; allowed: 100 draws"),
    (lambda: measurement_chance([1, 2], 1, cells=2), r"^cells: is 2 cells; must be 3 or more"),
    (lambda: evppi_from_regression(WELL, np.ones((3, 1, 1))), r"^inputs: found shape \(3, 1, 1\); allowed: a row for"),
    (lambda: evpi_of_normal(1, [1, -2]), r"^sigma: is -2; must be 0 or more\.$"),
]


@pytest.mark.parametrize(("call", "message"), REFUSED)
def test_what_cannot_be_used_is_refused_with_what_is_allowed(call, message):
    with pytest.raises(InputError, match=message):
        call()


@pytest.mark.parametrize("seed", range(5))
def test_an_input_that_decides_nothing_is_worth_nothing_and_not_a_rounding_below(seed):
    # The second act is better by 1 whatever the input.
    drawn = np.random.default_rng(seed).normal(size=200)
    assert 0 <= evppi_from_regression(np.column_stack([drawn, drawn + 1]), drawn) < 1e-12


def test_the_unit_of_an_input_its_zero_and_one_that_never_varies_change_nothing(drawn):
    p1, _, worth = (part[:4096] for part in drawn)
    of_first = evppi_from_regression(worth, p1)
    assert evppi_from_regression(worth, p1 + 1e6) == pytest.approx(of_first, rel=1e-6)
    assert evppi_from_regression(worth, np.column_stack([p1, np.full(4096, 3.0)])) == pytest.approx(of_first, rel=1e-9)
    assert evppi_from_regression(worth, p1 / 1e9) == pytest.approx(evppi_from_regression(worth, p1), rel=1e-6)
