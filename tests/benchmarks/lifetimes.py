"""Print how long a million lifetimes take on one core, every input uncertain, beside the bare numpy arithmetic.

Run it with ``python tests/benchmarks/lifetimes.py``. Both chains run on the same arrays in the same process, turn by
turn, and must agree. The inputs are invented.
"""

import os

# Before numpy is imported, which reads them.
os.environ.update(OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1", MKL_NUM_THREADS="1")

import math
import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from edgestore import recorded_fraction
from edgestore.models.rate import mean_under_cap_mbit_s
from edgestore.models.uncertainty import Lognormal, Triangular, Uniform, chance_at_least, spread
from edgestore.models.uncertainty.laws import SOBOL_BITS, sample
from edgestore.models.wear import endurance_tbw_from_cycles, life_years

COUNT = 2**20
TURNS = 15
WANTED_YEARS = 5.0

INPUTS = {
    "natural_mbit_s": Lognormal(1.5, 8),
    "cap_mbit_s": Uniform(3.5, 4.5),
    "events_per_h": Lognormal(10, 80),
    "event_s": Lognormal(8, 40),
    "pre_roll_s": Uniform(3, 7),
    "post_roll_s": Uniform(5, 15),
    "capacity_gb": Uniform(116, 128),
    "pe_cycles": Triangular(500, 1500, 3000),
    "write_amplification": Triangular(1, 1.5, 6),
}


def checked(
    natural_mbit_s,
    cap_mbit_s,
    events_per_h,
    event_s,
    pre_roll_s,
    post_roll_s,
    capacity_gb,
    pe_cycles,
    write_amplification,
):
    """Bit rate, recorded fraction, endurance and life by the library."""
    bitrate = mean_under_cap_mbit_s(natural_mbit_s, cap_mbit_s)
    recorded = recorded_fraction(events_per_h, event_s, pre_roll_s, post_roll_s)
    endurance = endurance_tbw_from_cycles(capacity_gb, pe_cycles, write_amplification)
    return life_years(endurance, bitrate, recorded)


def bare(
    natural_mbit_s,
    cap_mbit_s,
    events_per_h,
    event_s,
    pre_roll_s,
    post_roll_s,
    capacity_gb,
    pe_cycles,
    write_amplification,
):
    """The same arithmetic with nothing checked."""
    bitrate = np.minimum(natural_mbit_s, cap_mbit_s)
    recorded = -np.expm1(-(events_per_h / 3600.0) * (event_s + pre_roll_s + post_roll_s))
    endurance = capacity_gb * pe_cycles / write_amplification / 1000.0
    return endurance / (bitrate * recorded * 0.45 * 24.0 * 365.25 / 1000.0)


def bare_points() -> dict[str, np.ndarray]:
    """The same inputs drawn with nothing checked, written out law by law."""
    shares = qmc.Sobol(len(INPUTS), bits=SOBOL_BITS, seed=np.random.default_rng(0)).random(COUNT)
    columns = np.ascontiguousarray(shares.T) + 0.5**SOBOL_BITS / 2
    points = {}
    for (name, law), share in zip(INPUTS.items(), columns, strict=True):
        if isinstance(law, Uniform):
            points[name] = law.low + (law.high - law.low) * share
        elif isinstance(law, Lognormal):
            middle, sigma = math.sqrt(law.p10 * law.p90), math.log(law.p90 / law.p10) / (2 * 1.2815515655446004)
            points[name] = middle * np.exp(sigma * ndtri(share))
        else:
            width, turn = law.high - law.low, (law.mode - law.low) / (law.high - law.low)
            rising, falling = (
                law.low + width * np.sqrt(share * turn),
                law.high - width * np.sqrt((1 - share) * (1 - turn)),
            )
            points[name] = np.where(share < turn, rising, falling)
    return points


def checked_answer() -> object:
    """From the ranges to the quantiles of life and the chance of the wanted one, by the library."""
    life = checked(**sample(INPUTS, count=COUNT))
    return spread(life), chance_at_least(life, WANTED_YEARS)


def bare_answer() -> object:
    """The same from the ranges to the answer with nothing checked."""
    life = bare(**bare_points())
    return np.quantile(life, [0.05, 0.1, 0.5, 0.9, 0.95]), np.mean(life >= WANTED_YEARS)


def seconds(work: Callable[[], object]) -> float:
    """Time one run."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def compare(what: str, ours: Callable[[], object], theirs: Callable[[], object]) -> None:
    """Run two ways turn by turn and print their medians and the ratio."""
    turns = [(seconds(ours), seconds(theirs)) for _ in range(TURNS)]
    ours_s, theirs_s = (statistics.median(column) for column in zip(*turns, strict=True))
    ratios = sorted(first / second for first, second in turns)
    middle = statistics.median(ratios)
    print(f"{what:34} checked {ours_s:.3f} s   bare {theirs_s:.3f} s", end="   ")
    print(f"ratio {middle:.2f} ({ratios[0]:.2f} to {ratios[-1]:.2f})")


def main() -> None:
    """See that both ways agree, then print how long they take."""
    points = sample(INPUTS, count=COUNT)
    np.testing.assert_allclose(list(bare_points().values()), list(points.values()), rtol=1e-12)
    np.testing.assert_allclose(checked(**points), bare(**points), rtol=1e-12)
    print(f"{COUNT:,} lifetimes, {len(INPUTS)} uncertain inputs, one core; medians of {TURNS} turns")
    print("goals: under 0.5 s, ratio under 1.5")
    compare("chain on the same arrays", lambda: checked(**points), lambda: bare(**points))
    compare("from the ranges to the quantiles", checked_answer, bare_answer)


if __name__ == "__main__":
    main()
