"""The fewest visits, against trying every set of visits."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.upkeep import fewest_visits

WINDOWS = st.lists(st.tuples(st.integers(0, 20), st.integers(0, 6)), min_size=1, max_size=10)


def fewest_by_trying_all(opens, closes) -> int:
    """A visit can wait until some window closes: only sets of ends need to be tried."""
    ends = sorted(set(closes))
    for count in range(1, len(ends) + 1):
        for times in combinations(ends, count):
            if all(any(low <= time <= high for time in times) for low, high in zip(opens, closes, strict=True)):
                return count
    raise AssertionError


@given(WINDOWS)
def test_no_set_of_visits_is_smaller_and_every_card_is_reached_within_its_window(windows):
    opens = np.array([low for low, _ in windows], dtype=float)
    closes = opens + [length for _, length in windows]
    found = fewest_visits(opens, closes)
    assert len(found.at_years) == fewest_by_trying_all(opens, closes)
    at = found.at_years[found.visit.astype(int)]
    assert ((opens <= at) & (at <= closes)).all()
    assert set(found.visit) == set(range(len(found.at_years)))


@given(WINDOWS, st.floats(0, 3))
def test_longer_windows_never_need_more_visits(windows, more):
    opens = np.array([low for low, _ in windows], dtype=float)
    closes = opens + [length for _, length in windows]
    assert len(fewest_visits(opens, closes + more).at_years) <= len(fewest_visits(opens, closes).at_years)


def test_a_card_is_changed_at_the_last_visit_within_its_window():
    # The second card may be changed in year 1 or in year 3: it is used until year 3.
    assert fewest_visits([1, 0, 2], [1, 5, 3]).visit.tolist() == [0.0, 1.0, 1.0]


@pytest.mark.parametrize(
    ("opens", "closes", "message"),
    [
        ([1, 5], [2, 4], r"^closes_years: is 4 years; must be 5 years or more, when its window opens\. Fix: Swap"),
        ([1, 2], [2], r"^opens_years, closes_years: found shapes \(2,\) and \(1,\); allowed: one row of each, equally"),
        (
            [[1, 2]],
            [[3, 4]],
            r"^opens_years, closes_years: found shapes \(1, 2\) and \(1, 2\); allowed: one row of each",
        ),
        ([1], [float("inf")], r"^closes_years: is inf; must be a finite number years"),
        ([], [], r"^opens_years: found no number; allowed: a finite number years"),
    ],
)
def test_windows_that_make_no_sense_are_refused(opens, closes, message):
    with pytest.raises(InputError, match=message):
        fewest_visits(opens, closes)
