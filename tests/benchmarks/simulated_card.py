"""Print how many host pages a second the simulated card takes on one core, compiled beforehand; the goal is 10 million.

Run it with ``python tests/benchmarks/simulated_card.py``. The stream of writes is made beforehand and not counted;
its check, the run and the result are.
"""

import statistics
from time import perf_counter

from edgestore.models.wear import CardDesign, camera_writes, circular_writes, random_writes, simulate

RUNS = 5
LAPS = 16
BY_UNIT = {"user_blocks": 60, "pages_per_block": 256, "spare_blocks": 8, "open_units": 4}

RANDOM = {
    "by page, fifo": CardDesign(user_blocks=500, pages_per_block=64, spare_blocks=51),
    "by page, greedy": CardDesign(user_blocks=500, pages_per_block=64, spare_blocks=51, cleaning="greedy"),
}
CAMERA = {
    "by unit": CardDesign(**BY_UNIT, mapping="unit"),
    "by unit with log": CardDesign(**BY_UNIT, mapping="unit with log"),
    "by unit, static levelling": CardDesign(**BY_UNIT, mapping="unit", levelling="static"),
}


def show(load: str, name: str, design: CardDesign, writes) -> None:
    """Time the runs of one card and print the median and the slowest."""
    simulate(design, writes[:1000], snapshots=1)
    rates = []
    for _ in range(RUNS):
        start = perf_counter()
        card = simulate(design, writes)
        rates.append(len(writes) / (perf_counter() - start) / 1e6)
    print(f"{load:8} {name:27} {statistics.median(rates):8.1f} {min(rates):8.1f} {card.write_amplification:8.3f}")


if __name__ == "__main__":
    print(
        f"{'load':8} {'card':27} {'median':>8} {'slowest':>8} {'ampl.':>8}   million host pages a second, {RUNS} runs"
    )
    for name, design in RANDOM.items():
        count = LAPS * design.user_pages
        show("random", name, design, random_writes(design.user_pages, count))
        show("circular", name, design, circular_writes(design.user_pages, count))
    for name, design in CAMERA.items():
        show("camera", name, design, camera_writes(design, 10 * LAPS * design.user_pages, video_pages=153))
