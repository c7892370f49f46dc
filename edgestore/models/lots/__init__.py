"""Lots of cards: how many to try, how many may fail, what a trial says of the weak share, and of a batch."""

from edgestore.models.lots.acceptance import acceptance_chance, lot_acceptance_chance
from edgestore.models.lots.batch import (
    TriedBatch,
    batch_failures_cv,
    more_fail_chance,
    tried_batch,
    weak_cards_chance,
)
from edgestore.models.lots.plans import LotPlan, cards_for_lot, smallest_plan
from edgestore.models.lots.probes import missed_chance
from edgestore.models.lots.weak import WeakFraction, updated_weak_fraction

__all__ = [
    "LotPlan",
    "TriedBatch",
    "WeakFraction",
    "acceptance_chance",
    "batch_failures_cv",
    "cards_for_lot",
    "lot_acceptance_chance",
    "missed_chance",
    "more_fail_chance",
    "smallest_plan",
    "tried_batch",
    "updated_weak_fraction",
    "weak_cards_chance",
]
