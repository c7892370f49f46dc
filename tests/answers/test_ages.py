"""Ages at which cards are gone with a chance: against hand arithmetic and the model of one card."""

import math

import numpy as np
import pytest

from edgestore.answers.ages import years_until
from edgestore.answers.certainty import GUESSED_LIFE
from edgestore.models.life.law import CardLife


@pytest.mark.parametrize(
    ("left", "weak", "shape", "random"), [(0.99, 0.01, 10, 0.0), (0.9, 0.05, 8, 0.001), (0.98, 0.01, 10, 0.0)]
)
def test_a_curve_with_two_bends_is_followed_to_nine_digits(left, weak, shape, random):
    def alive(years):
        worn = np.exp(-np.log(2) * (years / 5) ** shape)
        return weak * np.exp(-years / 0.25) + (1 - weak) * worn * np.exp(-random * years)

    assert alive(years_until(left, alive, 1)) == pytest.approx(left, abs=1e-9)


def test_one_card_in_ten_is_gone_at_the_age_found_for_each_of_many():
    # Weak 1 %, mean 0.25 y; random 1 % a year; Weibull shape 3 with half worn out at 5 and at 8 years, each as likely.
    cards = CardLife(np.array([[5.0, 8.0], [8.0, 8.0]]), **GUESSED_LIFE)
    p10 = years_until(0.9, lambda ages: cards.survival(ages[:, None]).mean(axis=1), 2)

    def alive(years, wear_life):
        worn = math.exp(-math.log(2) * (years / wear_life) ** 3)
        return 0.01 * math.exp(-years / 0.25) + 0.99 * worn * math.exp(-0.01 * years)

    assert (alive(p10[0], 5) + alive(p10[0], 8)) / 2 == pytest.approx(0.9, abs=1e-9)
    assert alive(p10[1], 8) == pytest.approx(0.9, abs=1e-9)


def test_a_card_that_fails_by_wear_alone_is_followed_from_a_chance_of_none():
    # Half worn out at 5 years, by a Weibull law of shape 10: (ln(10 / 9) / ln 2)^(1 / 10) of it. Another never works.
    def alive(years):
        return np.where([True, False], np.exp(-np.log(2) * (years / 5) ** 10), 0.0)

    expected = 5 * (math.log(10 / 9) / math.log(2)) ** 0.1
    assert years_until(0.9, alive, 2) == pytest.approx([expected, 1e-6], rel=1e-9)
