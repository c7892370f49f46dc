"""Print how long a site of 1 000 cameras takes, 1 000 simulated decades each, and how far it is from the closed forms.

Run it with ``python tests/benchmarks/outage.py``; the goal is 10 s.
"""

import resource
from time import perf_counter

import numpy as np

from edgestore.models.outage import ExponentialRepair, LognormalRepair, Outages, WorkingHoursRepair
from edgestore.models.outage.simulated import SimulatedOutages, simulate_outages
from edgestore.units import BYTES_PER_KIB, BYTES_PER_MB

CAMERAS = 1000
RUNS = 1000
SITES = {
    "recorder alone, exponential": (Outages(17_520, ExponentialRepair(24)), None),
    "recorder alone, working hours": (Outages(17_520, WorkingHoursRepair(4, 2)), None),
    "recorder and a link for each": (Outages(17_520, ExponentialRepair(24)), Outages(17_520, LognormalRepair(8, 1.2))),
}
FIGURES = (
    *("availability", "outages_per_year", "chance_outlasts"),
    *("lost_without_card_h_per_year", "lost_h_per_year"),
)


def show(name: str, result: SimulatedOutages, seconds: float) -> None:
    """Print the time of a site and each figure beside its closed form."""
    print(f"{name}: {seconds:.2f} s, within 3 standard errors: {result.agrees}")
    for figure in FIGURES:
        estimate = getattr(result, figure)
        print(
            f"  {figure:30} {estimate.value:11.6f} +- {estimate.standard_error:9.6f}"
            f"  closed form {estimate.closed_form:11.6f}  {estimate.errors_apart:5.2f} standard errors apart"
        )


if __name__ == "__main__":
    retention = np.linspace(24, 96, CAMERAS)
    for name, (recorder, link) in SITES.items():
        start = perf_counter()
        result = simulate_outages(
            recorder, retention, link, shared_cause_share=0.05, card_failures_per_year=0.02, runs=RUNS
        )
        show(name, result, perf_counter() - start)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * BYTES_PER_KIB / BYTES_PER_MB
    print(f"most memory of the process: {peak:.0f} MB")
