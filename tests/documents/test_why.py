"""Why each camera gets its card, as facts; and which cameras stand in the document where there are many."""

import re

from proposals import as_list, demo

from edgestore.documents import why as whys
from edgestore.documents.language import IN_ENGLISH
from edgestore.documents.page import page
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan


def test_each_cell_counts_the_cards_that_a_requirement_rules_out_and_their_best_chance():
    # Three cards of 512 GB, 0.9 of it usable, hold 7 days up to 6.1 Mbit/s: none for 40 Mbit/s, all for 1 Mbit/s.
    cards = [[name, 512, 0.9, "V90", 480] for name in ("a", "b", "c")]
    cameras = as_list("camera,mean_mbit_s,slot_bus", [["fast", 40, "sdr104"], ["slow", 1, "sdr104"]])
    offered = as_list("card,capacity_gb,usable_fraction,speed_class,endurance_tbw", cards)
    why = whys.why(site_plan(read_lists(("cameras.csv", cameras), ("cards.csv", offered))), IN_ENGLISH)
    days = why.parts.index("Days not sure")
    assert why.cards == 3
    assert re.fullmatch("3\N{NO-BREAK SPACE}\\(\\d+\N{NO-BREAK SPACE}%\\)", why.rows[0][days])
    assert why.rows[1][days] == ""
    assert [at for at, _ in why.others] == [(0,)]


def test_cameras_for_which_the_same_is_said_share_one_text():
    cards = as_list("card,capacity_gb,speed_class,endurance_tbw", [["small", 4, "V90", 480]])
    rows = [["one", 40, "sdr104"], ["two", 40, "sdr104"], ["three", 20, "sdr104"]]
    cameras = as_list("camera,mean_mbit_s,slot_bus", rows)
    why = whys.why(site_plan(read_lists(("cameras.csv", cameras), ("cards.csv", cards))), IN_ENGLISH)
    assert [at for at, _ in why.others] == [(0, 1), (2,)]


def test_of_many_cameras_the_tables_have_the_least_sure_and_say_where_all_stand(monkeypatch):
    monkeypatch.setattr(whys, "MOST_ROWS", 5)
    plan = demo().plan.plan
    at = whys.shown(demo().plan)
    assert len(at) == 5
    assert not plan["meets"].to_numpy()[at].all()  # those not assured are among them
    others = plan["chance_kept"].drop(plan.index[at]).min()
    assert plan["chance_kept"].where(plan["meets"]).iloc[at].max() <= others
    text = " ".join(page(demo()).split())
    told = "Of 14 cameras here stand the 5 that are not assured or least sure; all stand in the sheets"
    assert text.count(f"{told} Cameras and Details of plan.xlsx.") == 4
