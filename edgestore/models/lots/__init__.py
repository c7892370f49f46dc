"""Lots of cards: how many to try, how many may fail, and what a tried lot says of the weak share."""

from edgestore.models.lots.acceptance import acceptance_chance, lot_acceptance_chance
from edgestore.models.lots.plans import LotPlan, cards_for_lot, smallest_plan
from edgestore.models.lots.probes import missed_chance
from edgestore.models.lots.weak import WeakFraction, updated_weak_fraction

__all__ = [
    "LotPlan",
    "WeakFraction",
    "acceptance_chance",
    "cards_for_lot",
    "lot_acceptance_chance",
    "missed_chance",
    "smallest_plan",
    "updated_weak_fraction",
]
