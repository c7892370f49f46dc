"""Ages by which a fraction has failed, by hand, where one way to fail leaves hardly a trace of the others."""

import numpy as np
import pytest

from edgestore.models.life import CardLife


@pytest.mark.parametrize("failed", [0.01, 0.5, 0.99, 1 - 1e-9])
def test_of_cards_of_shape_2_with_many_random_failures_any_fraction_has_failed_at_the_root_of_a_square(failed):
    # R = exp(-ln 2 t^2 - 5 t): ln 2 t^2 + 5 t = r for r = -ln(1 - failed). For a half t = 0.188623 / 1.386294.
    risk, a = -np.log1p(-failed), np.log(2)
    root = (np.sqrt(25 + 4 * a * risk) - 5) / (2 * a)
    assert CardLife(1, wear_shape=2, random_per_year=5).life_quantile_years(failed) == pytest.approx(root, rel=1e-11)


def test_cards_that_never_wear_out_fail_at_random_alone():
    # -ln(0.1) / 0.1 years. Wear alone would take more years than a float can tell.
    card = CardLife(1e307, wear_shape=0.2, random_per_year=0.1)
    assert card.life_quantile_years(0.9) == pytest.approx(23.02585, abs=5e-6)


def test_one_card_in_ten_that_wears_out_at_a_stroke_is_there_just_before_whatever_a_weak_one_would_do():
    # exp(-ln 2 t^100 - 0.01 t) = 0.9: t^100 = (0.1053605 - 0.0098038) / 0.6931472, t = 0.137859^0.01 = 0.980380.
    card = CardLife(1, wear_shape=100, random_per_year=0.01, early_mean_years=1e6)
    assert card.life_quantile_years(0.1) == pytest.approx(0.980380, abs=1e-6)


def test_however_soon_the_weak_cards_die_the_age_by_which_a_part_of_them_has_is_found():
    # 0.05 (1 - exp(-t / 0.001)) = 0.02 or 0.04: t = 0.001 ln(1 / 0.6) or 0.001 ln 5; the others fail at 8 years.
    card = CardLife(8, wear_shape=100, early_fraction=0.05, early_mean_years=0.001)
    assert card.life_quantile_years(0.02) == pytest.approx(0.000510826, abs=5e-10)
    assert card.life_quantile_years(0.04) == pytest.approx(0.00160944, abs=5e-9)


def test_long_after_the_weak_cards_have_died_half_of_all_are_half_of_the_others_and_the_few():
    # 0.99 exp(-x) = 0.5: x = ln 1.98 = 0.683097, which is a millionth by 8 years: 8 x 683 097^0.01 = 9.15029.
    card = CardLife(8, failed_at_endurance=1e-6, wear_shape=100, early_fraction=0.01)
    assert card.life_quantile_years(0.5) == pytest.approx(9.15029, abs=5e-6)
