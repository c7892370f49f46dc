"""Time of the fewest visits by number of cameras that share them: ``python tests/benchmarks/visits.py``."""

import time

import numpy as np

from edgestore.models.upkeep import fewest_visits

fewest_visits([0.0], [1.0])
for cameras in (10, 100, 1_000, 10_000):
    rng = np.random.default_rng(cameras)
    opens = rng.uniform(3, 10, cameras)
    closes = opens + rng.uniform(0, 2, cameras)
    start = time.perf_counter()
    visits = fewest_visits(opens, closes)
    print(f"{cameras:6d} cameras: {len(visits.at_years)} visits, {1000 * (time.perf_counter() - start):.2f} ms")
