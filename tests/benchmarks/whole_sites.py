"""Print how long the plan of a site takes and how much memory it needs, by number of cameras, in fresh processes.

Run it with ``python tests/benchmarks/whole_sites.py``. The cameras and the 50 cards are drawn at random; many cameras
are served by no card. The bar: 10 000 cameras and 50 cards within 5 s and 1 GB on two cores, 100 000 within 50 s, since
growth is to be linear. Making the lists is not counted; the plan with its reasons, costs and warnings is. ``kinds`` is
the front of kinds against cost, ``pairs`` the table of every camera with every card; both are made when
they are asked for.
"""

import resource
import subprocess
import sys
from time import perf_counter

import numpy as np
import pandas as pd

from edgestore.inputs.camera_list import CAMERA_COLUMNS, HOUSINGS
from edgestore.inputs.card_list import CARD_COLUMNS
from edgestore.inputs.settings import Costs, Settings
from edgestore.models.rate.bitrate import MEAN_OVER_CAP_BAND
from edgestore.models.speed.classes import BUS_MBYTE_S
from edgestore.plan.evidence import no_evidence
from edgestore.plan.requirements import Requirements
from edgestore.plan.site import Site
from edgestore.plan.site_plan import site_plan

SIZES = (1_000, 10_000, 100_000)
CARDS = 50
MB_PER_KB = 1e-3
GROUPS = {"quay": {"retention_days": 7.0}, "hall": {"retention_days": 3.0, "retention_days_max": 30.0}}


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
        group=draw.choice(["", "quay", "hall", "yard"], count),
        lift=draw.random(count) < 0.2,
        retention_days=np.where(draw.random(count) < 0.1, 14, np.nan),
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


def peak_mb() -> float:
    """Give the most memory that this process has had."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * MB_PER_KB


def planned(count: int) -> None:
    """Plan a site of so many cameras and print times and memory."""
    draw = np.random.default_rng(1)
    cameras, cards = camera_list(count, draw), card_list(draw)
    costs = Costs(visit_price=60, visit_with_lift_price=260, spare_fraction=0.1)
    figures = [count, peak_mb()]
    start = perf_counter()
    settings = Settings(groups=GROUPS, costs=costs)
    plan = site_plan(Site(cameras, cards, no_evidence(cameras), Requirements(4, 3, 5), settings))
    figures += [perf_counter() - start, peak_mb(), int(plan.plan["meets"].sum())]
    for name in ("front", "candidates"):
        start = perf_counter()
        getattr(plan, name)
        figures.append(perf_counter() - start)
    print(*figures, peak_mb())


if __name__ == "__main__":
    if len(sys.argv) > 1:
        planned(int(sys.argv[1]))
        sys.exit()
    headings = (
        "cameras",
        "MB before",
        "plan, s",
        "MB at peak",
        "served",
        "kinds, s",
        "pairs, s",
        "MB at peak",
        "ms each",
    )
    print("".join(f"{heading:>12}" for heading in headings))
    for size in SIZES:
        done = subprocess.run([sys.executable, __file__, str(size)], capture_output=True, text=True, check=True)
        figures = [float(figure) for figure in done.stdout.split()]
        print("".join(f"{figure:12.6g}" for figure in [*figures, 1000 * figures[2] / figures[0]]))
