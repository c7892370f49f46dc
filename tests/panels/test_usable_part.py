"""How much of a card is counted as room for footage is the same wherever nothing states it."""

import pytest

from edgestore.answers.export import exporting
from edgestore.answers.hold import holding
from edgestore.inputs.card_list import read_cards
from edgestore.panels import export, hold


def test_where_nothing_states_the_usable_part_every_page_and_the_card_list_count_all_of_the_card():
    # 64 GB at 4 Mbit/s, 1.8 GB/h, are 35.6 h.
    assert exporting().held_h == pytest.approx(64 / 1.8)
    assert holding(64, 4).retention_days[0] == pytest.approx(64 / 1.8 / 24)
    inputs = [spec for panel in (export.PANEL, hold.PANEL) for spec in panel.inputs if spec.name == "usable_fraction"]
    assert [spec.default for spec in inputs] == [1, 1]
    listed = read_cards(b"card,capacity_gb,speed_class,endurance_tbw\nk,64,V30,60\n").rows
    assert listed["usable_fraction"].tolist() == [1]
