"""Print how long the plan of a site takes and how much memory it needs, by number of cameras, in fresh processes.

Run it with ``python tests/benchmarks/site.py``. The cameras and the 50 cards are drawn at random; many cameras are
served by no card. Goals: 10 000 cameras under 2 s and 1 GB, 100 000 under 20 s, and growth that is linear. Making the
lists is not counted; the plan and its warnings are.
"""

import resource
import subprocess
import sys
from time import perf_counter

import numpy as np
import pandas as pd

from edgestore.inputs.camera_list import CAMERA_COLUMNS, HOUSINGS
from edgestore.inputs.card_list import CARD_COLUMNS
from edgestore.models.bitrate import MEAN_OVER_CAP_BAND
from edgestore.models.speed import BUS_MBYTE_S
from edgestore.planning.requirements import Requirements
from edgestore.planning.site import site_plan

SIZES = (1_000, 10_000, 100_000)
CARDS = 50
MB_PER_KB = 1e-3


def camera_list(count: int, draw: np.random.Generator) -> pd.DataFrame:
    """Give cameras as a camera list would: rates of 0.5 to 8 Mbit/s, one in ten of 20 to 60."""
    cap = np.where(draw.random(count) < 0.1, draw.uniform(20, 60, count), draw.uniform(0.5, 8, count))
    named = {column.name: [column.empty] * count for column in CAMERA_COLUMNS}
    return pd.DataFrame(named).assign(
        camera=[f"camera {number}" for number in range(count)],
        housing=draw.choice(HOUSINGS, count),
        mean_mbit_s=np.where(draw.random(count) < 0.5, cap * draw.uniform(0.1, 1, count), np.nan),
        cap_mbit_s=cap,
        scene=draw.choice(list(MEAN_OVER_CAP_BAND), count),
        slot_bus=draw.choice([*BUS_MBYTE_S, "unknown"], count),
        max_card_gb=draw.choice([32, 128, 256, np.nan], count, p=[0.1, 0.1, 0.2, 0.6]),
        deletes_by_age=draw.random(count) < 0.5,
    )


def card_list(draw: np.random.Generator) -> pd.DataFrame:
    """Give cards as a card list would, dearer the more they hold and bear."""
    capacity = draw.choice([16, 32, 64, 128, 256, 512], CARDS).astype(float)
    passes = draw.uniform(100, 2000, CARDS)
    named = {column.name: [column.empty] * CARDS for column in CARD_COLUMNS}
    return pd.DataFrame(named).assign(
        card=[f"card {number}" for number in range(CARDS)],
        capacity_gb=capacity,
        speed_class=draw.choice(["C10 U1", "C10 U1 V10", "C10 U3 V30"], CARDS),
        endurance_tbw=capacity * passes / 1e3,
        price=(3 + capacity * (0.1 + passes / 5000)).round(),
    )


def planned(count: int) -> None:
    """Plan a site of so many cameras and print time and memory."""
    draw = np.random.default_rng(1)
    cameras, cards = camera_list(count, draw), card_list(draw)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * MB_PER_KB
    start = perf_counter()
    plan = site_plan(cameras, cards, Requirements())
    seconds = perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * MB_PER_KB
    print(count, seconds, before, peak, int(plan.plan["meets"].sum()))


if __name__ == "__main__":
    if len(sys.argv) > 1:
        planned(int(sys.argv[1]))
        sys.exit()
    print(f"{'cameras':>8} {'s':>8} {'ms a camera':>12} {'MB before':>10} {'MB at peak':>11} {'served':>8}")
    for size in SIZES:
        done = subprocess.run([sys.executable, __file__, str(size)], capture_output=True, text=True, check=True)
        count, seconds, before, peak, served = map(float, done.stdout.split())
        print(f"{count:8.0f} {seconds:8.2f} {1000 * seconds / count:12.4f} {before:10.0f} {peak:11.0f} {served:8.0f}")
