"""The best interval does not depend on the units: of time, in which it scales, nor of money, in which the cost does."""

import pytest

from edgestore.models.life import CardLife
from edgestore.models.upkeep import best_change_years, best_group_years, best_inspection_years

BEST = {
    "change": lambda card, money, time: best_change_years(card, planned_cost=80 * money, failure_cost=600 * money),
    "group, replaced": lambda card, money, time: best_group_years(
        card, 40, visit_price=600 * money, card_cost=20 * money, failure_cost=400 * money
    ),
    # Of cards that are left dead, a year of death costs, and not a failure.
    "group, left": lambda card, money, time: best_group_years(
        card, 40, visit_price=600 * money, card_cost=20 * money, failure_cost=400 * money / time, between="left"
    ),
    "inspection": lambda card, money, time: best_inspection_years(
        card, inspection_cost=50 * money, change_cost=80 * money, lost_cost_per_year=900 * money / time
    ),
}


@pytest.mark.parametrize("what", BEST)
def test_in_another_unit_of_time_or_of_money_the_best_interval_is_the_same(what):
    usual = BEST[what](CardLife(6, random_per_year=0.02), 1, 1)
    for time, money in ((1 / 300, 1), (300, 1), (1, 1e-4), (1, 1e6)):
        other = BEST[what](CardLife(6 * time, random_per_year=0.02 / time), money, time)
        assert other.interval_years == pytest.approx(usual.interval_years * time, rel=1e-3)
        assert other.cost_per_year == pytest.approx(usual.cost_per_year * money / time, rel=1e-6)
        assert other.never_cost_per_year == pytest.approx(usual.never_cost_per_year * money / time, rel=1e-6)
