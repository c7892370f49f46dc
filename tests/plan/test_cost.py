"""Cost over a horizon against hand arithmetic."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.inputs.settings import Costs
from edgestore.plan.cost import cards_over_horizon, cost_over_horizon, visits_over_horizon

COSTS = Costs(visit_price=60, visit_with_lift_price=260, horizon_years=10, spare_fraction=0.1)


@pytest.mark.parametrize(
    ("life", "wanted", "horizon", "cards"),
    [
        (20, 3, 10, 4),  # at 0, 3, 6 and 9
        (2.5, 3, 10, 4),  # at 0, 2.5, 5 and 7.5; the one due at 10 is not fitted any more
        (20, 5, 10, 2),  # at 0 and 5
        (20, 15, 10, 1),
        (0.7, 3, 2.1, 3),  # 3 x 0.7 is 2.0999999999999996: the last day, rounding or not
        (0.1, 3, 1, 10),
    ],
)
def test_cards_are_counted_at_each_change_before_the_last_day(life, wanted, horizon, cards):
    assert cards_over_horizon(life, wanted, horizon) == cards


def test_the_first_fitting_is_a_visit_or_not():
    assert visits_over_horizon([4, 1], COSTS).tolist() == [4, 1]
    with_camera = Costs(60, 260, first_fitting_is_a_visit=False)
    assert visits_over_horizon([4, 1], with_camera).tolist() == [3, 0]


def test_cards_spares_and_visits_add_up_for_every_camera_with_every_card():
    cost = cost_over_horizon(np.array([[4.0], [2.0]]), np.array([[3.0], [2.0]]), [20, 50], [[False], [True]], COSTS)
    # 4 x 1.1 x 20 + 3 x 60; 4 x 1.1 x 50 + 3 x 60; 2 x 1.1 x 20 + 2 x 260; 2 x 1.1 x 50 + 2 x 260
    np.testing.assert_allclose(cost, [[268, 400], [564, 630]])


def test_a_card_without_a_price_has_no_cost():
    assert np.isnan(cost_over_horizon(1, 1, np.nan, False, COSTS))


def test_all_prices_that_cannot_be_are_told_together():
    with pytest.raises(InputError, match="visit_price: is -1") as caught:
        Costs(-1, np.nan, horizon_years=0, spare_fraction=10)
    assert [fault.where for fault in caught.value.faults] == [
        "horizon_years",
        "visit_price",
        "visit_with_lift_price",
        "spare_fraction",
    ]


years = st.floats(0.1, 40)


@given(years, years, st.floats(0.5, 50), st.floats(1, 3))
def test_a_longer_life_never_takes_more_cards_and_a_longer_horizon_never_fewer(life, wanted, horizon, more):
    cards = cards_over_horizon(life, wanted, horizon)
    assert cards_over_horizon(life * more, wanted, horizon) <= cards
    assert cards_over_horizon(life, wanted * more, horizon) <= cards
    assert cards_over_horizon(life, wanted, horizon * more) >= cards
    assert cards * min(life, wanted) >= horizon * (1 - 1e-8)  # the last card reaches the end


@given(st.floats(0, 500), st.floats(0, 500), st.floats(0, 1), st.floats(0, 1000))
def test_no_price_that_rises_lowers_the_cost(visit, lift, spare, price):
    costs = Costs(visit, lift, spare_fraction=spare)
    cost = cost_over_horizon(3, 3, price, [False, True], costs)
    dearer = cost_over_horizon(3, 3, price + 1, [False, True], Costs(visit + 1, lift + 1, spare_fraction=spare))
    assert (dearer > cost).all()
