"""When to change, inspect and stock cards, at which visits, under which budget, and what that costs."""

from edgestore.models.upkeep._interval import BestInterval
from edgestore.models.upkeep.group import best_group_years, cost_per_year_for_group
from edgestore.models.upkeep.horizon import CheapestCard, HorizonCost, cheapest_card, cost_for_horizon
from edgestore.models.upkeep.inspection import best_inspection_years, cost_per_year_for_inspection
from edgestore.models.upkeep.renewal import (
    ExpectedChanges,
    RenewalCurve,
    expected_changes,
    expected_replacements,
    long_run_replacements,
)
from edgestore.models.upkeep.replacement import best_change_years, cost_per_year_for_change, next_change_years
from edgestore.models.upkeep.spares import chance_spares_last, spares_for_confidence, spares_for_separate
from edgestore.models.upkeep.stock import Order, order_for_cost, spares_cost, spares_for_cost
from edgestore.models.upkeep.visit_windows import Visits, fewest_visits

__all__ = [
    "BestInterval",
    "CheapestCard",
    "ExpectedChanges",
    "HorizonCost",
    "Order",
    "RenewalCurve",
    "Visits",
    "best_change_years",
    "best_group_years",
    "best_inspection_years",
    "chance_spares_last",
    "cheapest_card",
    "cost_for_horizon",
    "cost_per_year_for_change",
    "cost_per_year_for_group",
    "cost_per_year_for_inspection",
    "expected_changes",
    "expected_replacements",
    "fewest_visits",
    "long_run_replacements",
    "next_change_years",
    "order_for_cost",
    "spares_cost",
    "spares_for_confidence",
    "spares_for_cost",
    "spares_for_separate",
]
