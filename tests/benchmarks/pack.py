"""Print the time and size of a proposal pack by number of cameras; the goal for the demo site is 15 s.

Run it with ``python tests/benchmarks/pack.py``: the demo site, then its cameras many times over.
"""

import datetime
from dataclasses import replace
from pathlib import Path
from time import perf_counter

import pandas as pd

from edgestore.documents.content import proposal
from edgestore.documents.front import front_page
from edgestore.documents.pack import pack
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan

DATA = Path(__file__).parents[2] / "data"
TIMES_OVER = (1, 8, 64)


def main() -> None:
    """Make the packs and print a row for each."""
    site = read_lists(
        DATA / "ferry_terminal" / "cameras.csv", DATA / "cards.csv", DATA / "ferry_terminal" / "site.toml"
    )
    front = front_page(site.settings.document, datetime.date.today())
    for times in TIMES_OVER:
        cameras = pd.concat([site.cameras] * times, ignore_index=True)
        cameras["camera"] = [f"{name} {number}" for number, name in enumerate(cameras["camera"])]
        evidence = pd.concat([site.evidence] * times, ignore_index=True)
        many = replace(site, cameras=cameras, evidence=evidence)
        start = perf_counter()
        made = pack(proposal(site_plan(many), front, site.settings.card_specification))
        seconds = perf_counter() - start
        sizes = ", ".join(f"{name} {len(content) / 1e3:.0f} kB" for name, content in made.files.items())
        print(f"{len(cameras):6} cameras: {seconds:6.1f} s; {sizes}")


if __name__ == "__main__":
    main()
