"""How the figures of alternatives side by side were worked out, from what the pack keeps of them."""

import datetime
from dataclasses import replace

import pytest
from proposals import as_list

from edgestore.documents.alternatives import Alternative
from edgestore.documents.content import proposal
from edgestore.documents.explained import explained
from edgestore.documents.front import front_page
from edgestore.documents.pack import pack
from edgestore.plan.read import read_lists, read_other
from edgestore.plan.site_plan import site_plan

pytestmark = pytest.mark.landing

CAMERAS = as_list("camera,mean_mbit_s,cap_mbit_s,slot_bus", [["gate", 3, 4, "sdr104"], ["quay", 1, 2, "sdr104"]])
CARDS = as_list(
    "card,capacity_gb,usable_fraction,speed_class,endurance_tbw,price",
    [["small", 256, 0.96, "U1", 200, 20], ["large", 512, 0.96, "U3", 400, 45]],
)
COSTS = '[costs]\nvisit_price = 60\nvisit_with_lift_price = 200\ncurrency = "credits"\n[document]\ndate = 2026-11-25\n'
LOG = b"camera,card,fitted,removed,why\ngate,small,2024-01-10,,\n"


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A pack with other settings beside it, which ask for longer and name a service log in a folder of their own."""
    folder = tmp_path_factory.mktemp("others")
    (folder / "log.csv").write_bytes(LOG)
    other = folder / "longer.toml"
    other.write_text(COSTS + '[service]\nlog = "log.csv"\nas_of = 2026-11-20\n[requirements]\nretention_days = 9\n')
    site = read_lists(("cameras.csv", CAMERAS), ("cards.csv", CARDS), ("site.toml", COSTS.encode()))
    beside = Alternative("longer.toml", site_plan(read_other(site, other), with_reasons=False))
    front = front_page(site.settings.document, datetime.date(2026, 11, 25))
    made = pack(proposal(site_plan(site), front, against=[beside]), with_pdf=False)
    (folder / "log.csv").unlink()  # all that counts is in the pack
    return made


def test_a_figure_of_an_alternative_is_worked_out_anew_from_the_copies_in_the_pack(written, tmp_path):
    written.write(tmp_path / "pack")
    told = explained(tmp_path / "pack", "longer.toml", "order_price")
    assert told.is_confirmed
    # 9 days at the caps of 4 and 2 Mbit/s are 389 and 194 GB; 0.96 of 512 and 256 are 492 and 246: 45 + 20.
    assert any("The pack states order_price = 65" in line for line in told.lines)
    assert any(line == "Worked out anew from the inputs in the pack: 65. They agree." for line in told.lines)
    whole = explained(tmp_path / "pack")
    assert whole.is_confirmed
    assert any("2 cameras and 2 alternatives" in line for line in whole.lines)


def test_a_figure_of_an_alternative_that_was_changed_is_told(written, tmp_path):
    table = written.files["alternatives.csv"].decode()
    changed = table.replace(",65\n", ",64\n")
    assert changed != table
    replace(written, files=written.files | {"alternatives.csv": changed.encode()}).write(tmp_path / "pack")
    told = explained(tmp_path / "pack", "longer.toml", "order_price")
    assert not told.is_confirmed
    assert any("They DO NOT agree" in line for line in told.lines)
    assert any("longer.toml: The pack states order_price = 64" in line for line in explained(tmp_path / "pack").lines)
