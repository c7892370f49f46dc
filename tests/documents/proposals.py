"""Proposals for tests: the demo site, a site of hostile names, and what a test may need of the machine."""

import csv
import datetime
import os
import shutil
from collections.abc import Callable
from functools import cache
from io import StringIO
from pathlib import Path
from typing import Any

import pytest

from edgestore.documents.content import Proposal, proposal
from edgestore.documents.front import front_page
from edgestore.documents.pack import Pack, pack
from edgestore.plan.read import read_lists
from edgestore.plan.saved_beside import with_saved_answers
from edgestore.plan.site_plan import site_plan

DATA = Path(__file__).parents[2] / "data"
DEMO = DATA / "ferry_terminal" / "cameras.csv", DATA / "cards.csv", DATA / "ferry_terminal" / "site.toml"
DAY = datetime.date(2024, 2, 29)
SKIP_NOTHING = "EDGESTORE_SKIP_NOTHING"

RIGHT_TO_LEFT = "بوابة الشمال"
HOSTILE = [
    '=HYPERLINK("http://example.invalid","x")',
    "<script>alert(1)</script>",
    "../../x",
    "\N{GRINNING FACE} gate",
    RIGHT_TO_LEFT,
    "a" * 300,
    "long name " * 29 + "ends here.",
    '$x^2$ & <b>"bold"</b>',
    "+1",
    "@SUM(A1)",
    "-gate",
    "{{ 7*7 }} {% raw %}",
    "C:\\temp\\x",
    "line, comma; semi",
    "BEGIN:VEVENT",
    "caf\N{LATIN SMALL LETTER E WITH ACUTE} \N{GREEK CAPITAL LETTER OMEGA}",
]
HOSTILE_TITLE = "<script>alert('t')</script> =HYPERLINK {{ 7*7 }}"
HOSTILE_SITE = f"""
[requirements]
retention_days_max = 31
[costs]
visit_price = 60
visit_with_lift_price = 200
currency = "=cmd <b>"
[document]
title = "{HOSTILE_TITLE}"
organisation = "=ORG <b>& Sons</b>"
author = "@author"
date = {DAY}
"""
CROWDED_SITE = f"""
[requirements]
retention_days_max = 30
[costs]
visit_price = 60
visit_with_lift_price = 200
[outage]
recorder_mtbf_h = 2000
repair_law = "exponential"
repair_mean_h = 72
shared_cause_share = 0.2
[document]
title = "A title of an invented site that takes two lines of a page when it is printed in large letters"
organisation = "Invented Harbour Works of the North and of the South"
author = "A. Author"
date = {DAY}
"""


def as_list(heads: str, rows: list[list[object]]) -> bytes:
    text = StringIO()
    csv.writer(text).writerows([heads.split(","), *rows])
    return text.getvalue().encode()


@cache
def demo() -> Proposal:
    lists = read_lists(*DEMO)
    plan = with_saved_answers(site_plan(lists))
    return proposal(plan, front_page(lists.settings.document, DAY), lists.settings.card_specification)


@cache
def hostile() -> Proposal:
    # 7 days at 1, 2 and 3 Mbit/s are 75.6, 151 and 227 GB, and four years of them 15.8, 31.6 and 47.3 TB.
    cameras = [[name, "<img src=x>", 1 + n % 3, 8 if n % 4 else "", "busy", "sdr104"] for n, name in enumerate(HOSTILE)]
    cards = [["=1+1", 128, "U3", 60, 5], ["<script>x</script>", 256, "U3", 120, 9], ["*?~ wild", 512, "U3", 200, 33]]
    lists = read_lists(
        ("cameras.csv", as_list("camera,place,mean_mbit_s,cap_mbit_s,scene,slot_bus", cameras)),
        ("cards.csv", as_list("card,capacity_gb,speed_class,endurance_tbw,price", cards)),
        ("site.toml", HOSTILE_SITE.encode()),
    )
    return proposal(site_plan(lists), front_page(lists.settings.document, DAY))


@cache
def crowded() -> Proposal:
    """Make a site of many kinds of card, long names and every grave warning: the summary is as full as can be."""
    name = "{:02d} camera over the mooring lines and the whole of the quay, looking north"
    cameras = [
        # A card of 64 GB and 60 TB for each 0.5 Mbit/s, of which 7 days take 37.8 GB and ten years write 19.7 TB. At 10
        # Mbit/s 7 days take 756 GB, and the largest card holds 860: too few for a mean that may be 1.3 times as much.
        # Ten times 40 Mbit/s are 50 Mbyte/s, and every card promises 30.
        [name.format(n), "quay", rate, "" if n <= 6 else 2 * rate if rate <= 10 else rate, "sdr104"]
        for n, rate in enumerate([*(n / 2 for n in range(1, 15)), 10, 10, 40, 40], start=1)
    ]
    cards = [[f"invented card number {n:02d} of many", 64 * n, "U3", 60 * n, 8 * n] for n in range(1, 15)]
    lists = read_lists(
        ("cameras.csv", as_list("camera,place,mean_mbit_s,cap_mbit_s,slot_bus", cameras)),
        ("cards.csv", as_list("card,capacity_gb,speed_class,endurance_tbw,price", cards)),
        ("site.toml", CROWDED_SITE.encode()),
    )
    return proposal(site_plan(lists), front_page(lists.settings.document, DAY))


_MADE: dict[tuple[Callable, int], tuple[Proposal, Any]] = {}


def once(make: Callable[[Proposal], Any], of: Proposal) -> Any:
    """What a function makes of a proposal, made once in a process; a proposal cannot be the key of a cache."""
    key = make, id(of)
    if key not in _MADE:
        _MADE[key] = of, make(of)  # the proposal is held, so that its id stays its own
    return _MADE[key][1]


def without_pdf(proposal: Proposal) -> Pack:
    """Give the pack of a proposal, but for what must be printed."""
    return pack(proposal, with_pdf=False)


def leave(why: str) -> None:
    """Skip a test, or fail it where nothing may be skipped."""
    (pytest.fail if os.environ.get(SKIP_NOTHING) == "1" else pytest.skip)(why)


def program(name: str, package: str) -> str:
    """Give a program of the machine, or leave the test."""
    found = shutil.which(name)
    if found is None:
        leave(f"no {name} on the PATH; on Debian and Ubuntu: apt-get install {package}")
    return str(found)


def needs_printing() -> None:
    """Leave the test where WeasyPrint finds no Pango."""
    try:
        import weasyprint  # noqa: F401  # whether it can be loaded is the question
    except OSError as error:
        leave(f"WeasyPrint does not run: {error}")
