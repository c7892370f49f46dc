"""What is lost when the recorder is down, and what a card saves."""

from edgestore.models.outage.backfill import (
    Backfill,
    backfill_h,
    backfill_of_site,
    lost_in_backfill_h,
    useful_retention_h,
)
from edgestore.models.outage.outage import Outages, availability, away_fraction, hidden_failure_fraction
from edgestore.models.outage.repair import ExponentialRepair, LognormalRepair, MixedRepair, RepairLaw
from edgestore.models.outage.saved import (
    OutageFigures,
    capacity_gb_for_fraction,
    outage_figures,
    repair_law,
    retention_h_for_fraction,
)
from edgestore.models.outage.simulated import Estimate, SimulatedOutages, simulate_outages
from edgestore.models.outage.visits import WorkingHoursRepair

__all__ = [
    "Backfill",
    "Estimate",
    "ExponentialRepair",
    "LognormalRepair",
    "MixedRepair",
    "OutageFigures",
    "Outages",
    "RepairLaw",
    "SimulatedOutages",
    "WorkingHoursRepair",
    "availability",
    "away_fraction",
    "backfill_h",
    "backfill_of_site",
    "capacity_gb_for_fraction",
    "hidden_failure_fraction",
    "lost_in_backfill_h",
    "outage_figures",
    "repair_law",
    "retention_h_for_fraction",
    "simulate_outages",
    "useful_retention_h",
]
