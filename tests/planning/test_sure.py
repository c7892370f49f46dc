"""How sure we are: against numerical integration and hand arithmetic."""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from edgestore import InputError
from edgestore.planning.sure import YEARS, certainty, chance_and_p10_life_years

NARROW = {"mean_low_mbit_s": 3.999, "mean_high_mbit_s": 4.001, "pe_cycles_low": 2999.0, "pe_cycles_high": 3001.0}
SURE_OF_FLASH = {"write_amplification_low": 1.999, "write_amplification_high": 2.001}


def test_with_everything_known_the_chance_is_that_of_the_law():
    # 128 GB x 3000 / 2 = 192 TB over 4 x 3.9447 TB a year = 12.168 years, by when half are worn out; shape 2 to 4.
    answer = certainty(**NARROW, **SURE_OF_FLASH, random_percent_year=0.1, early_percent=0, wanted_years=10)
    wear_life = 192 / (4 * 3.9447)

    def worn(shape):
        return math.exp(-math.log(2) * (10 / wear_life) ** shape)

    sigma = math.log(9) / (2 * stats.norm.ppf(0.9))  # from 1/3 to 3 times between the 10 and 90 % quantiles
    random = integrate.quad(lambda z: stats.norm.pdf(z) * math.exp(-0.001 * math.exp(sigma * z) * 10), -8, 8)[0]
    expected = integrate.quad(worn, 2, 4)[0] / 2 * random
    assert answer.chance == pytest.approx(expected, abs=0.002)


def test_the_band_holds_the_curve_and_narrows_when_more_is_known():
    wide, narrow = certainty(), certainty(**NARROW, **SURE_OF_FLASH)
    for answer in (wide, narrow):
        assert np.all(answer.survival_low <= answer.survival + 1e-12)
        assert np.all(answer.survival <= answer.survival_high + 1e-12)
        assert np.all(np.diff(answer.survival) <= 0)
    at = int(np.searchsorted(YEARS, 5))
    assert (wide.survival_high - wide.survival_low)[at] > 2 * (narrow.survival_high - narrow.survival_low)[at]


def test_one_in_ten_is_gone_at_the_p10_life():
    answer = certainty()
    assert np.interp(answer.p10_life_years, YEARS, answer.survival) == pytest.approx(0.9, abs=0.005)


def test_the_tornado_names_what_is_not_known():
    known_flash = certainty(**NARROW, write_amplification_low=1, write_amplification_high=6)
    assert known_flash.tornado.swings[0].name == "write_amplification"
    known_card = certainty(**NARROW | SURE_OF_FLASH | {"mean_low_mbit_s": 0.5, "mean_high_mbit_s": 12})
    assert known_card.tornado.swings[0].name == "mean_mbit_s"
    assert "Find out the mean rate first." in known_card.sentence


def test_asking_for_more_years_lowers_the_chance():
    chances = [certainty(wanted_years=years).chance for years in (1, 2, 4, 8)]
    assert chances == sorted(chances, reverse=True)
    assert certainty(wanted_years=8).warnings
    assert not certainty(512, 0.1, wanted_years=1).warnings


def test_many_cards_at_once_agree_with_the_law_of_each():
    # Weak 1 %, mean 0.25 y; random 1 % a year; Weibull shape 3 with half worn out at 5 and at 8 years, each as likely.
    chance, p10 = chance_and_p10_life_years(np.array([[5.0, 8.0], [8.0, 8.0]]), 3.0)

    def alive(years, wear_life):
        worn = math.exp(-math.log(2) * (years / wear_life) ** 3)
        return 0.01 * math.exp(-years / 0.25) + 0.99 * worn * math.exp(-0.01 * years)

    np.testing.assert_allclose(chance, [(alive(3, 5) + alive(3, 8)) / 2, alive(3, 8)], rtol=1e-12)
    assert (alive(p10[0], 5) + alive(p10[0], 8)) / 2 == pytest.approx(0.9, abs=1e-9)
    assert alive(p10[1], 8) == pytest.approx(0.9, abs=1e-9)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"mean_low_mbit_s": 7}, "mean_low_mbit_s: is 7 Mbit/s; must be below mean_high_mbit_s, 6"),
        ({"pe_cycles_low": float("nan")}, "nan"),
        ({"write_amplification_low": 0.5}, "write_amplification"),
        ({"random_percent_year": 0}, "random_percent_year: is 0"),
        ({"early_percent": 101}, "early_percent: is 101"),
        ({"wanted_years": -3}, "wanted_years: is -3"),
    ],
)
def test_what_cannot_be_is_refused(wrong, message):
    with pytest.raises(InputError, match=message):
        certainty(**wrong)
