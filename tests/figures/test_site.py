"""The picture of a site says of every camera which card it gets at which price, or why it has none."""

import re
from dataclasses import replace

import numpy as np
import pytest

from edgestore.figures.label import Label
from edgestore.figures.site import SiteFigure, _places
from edgestore.inputs.settings import Costs, Settings
from edgestore.plan.assurance_curve import site_chances
from edgestore.plan.read import read_lists
from edgestore.plan.requirements import Requirements

CAMERAS = b"""camera,mean_mbit_s,cap_mbit_s,slot_bus
held,1,8,sdr104
doubtful,2.2,8,sdr104
too fast,40,80,sdr104
"""
CARDS = b"""card,capacity_gb,usable_fraction,speed_class,endurance_tbw,price
one,200,1,U3,900,12
"""


def drawn(lists, monkeypatch):
    """Draw the site; give the figure, and the words at the ends of the rows in order."""
    told = []
    monkeypatch.setattr(Label, "place", lambda self, words, x, y, align="left": told.append(words))
    picture = SiteFigure(site_chances(replace(lists, requirements=Requirements())).at(0.9))
    return picture, told


def test_a_doubtful_camera_is_told_the_best_card_and_its_chance_and_one_that_none_serves_is_told_so(monkeypatch):
    picture, told = drawn(read_lists(("cameras.csv", CAMERAS), ("cards.csv", CARDS)), monkeypatch)
    # 7 days at 2.2 Mbit/s are 166.3 GB: 200 are 1.2026 times that. One mean in ten is 1.3 times the middle or more, and
    # ln 1.2026 / (ln 1.3 / 1.2816) is 0.901: 81.6 of 100. In 3 years 1 of 100 cards is weak and 4 fail otherwise: 77.5.
    doubtful = "◆ doubtful: 77\N{NO-BREAK SPACE}% with one"
    counts = "● 1 assured, ◆ 1 doubtful, × 1 not served"
    assert told == ["one   12", doubtful, "× not served by any card of the list", counts, "Card, and its price"]
    assert "1 assured, 1 doubtful, 1 not served" in picture.alt_text()


def test_a_mark_is_as_dark_as_its_chance_the_chosen_is_ringed_and_the_best_of_the_doubtful_has_a_diamond(monkeypatch):
    picture, _ = drawn(read_lists(("cameras.csv", CAMERAS), ("cards.csv", CARDS)), monkeypatch)
    white, doubtful = picture._marks.get_facecolors()[[2, 1], 0]
    assert white == 1  # no chance at all
    assert doubtful == pytest.approx(1 - 0.775, abs=0.01)
    rings, diamonds = (artist.get_offsets()[:, 1].round().tolist() for artist in (picture._rings, picture._best))
    assert (rings, diamonds) == ([0], [1])


def test_with_costs_the_price_at_the_end_is_what_the_camera_costs_over_the_horizon(monkeypatch):
    lists = read_lists(("cameras.csv", CAMERAS), ("cards.csv", CARDS))
    free = Costs(0, 0, spare_fraction=0, first_fitting_is_a_visit=False, horizon_years=3)
    _, told = drawn(replace(lists, settings=Settings(costs=free)), monkeypatch)
    # One card of 12, and 0.012 failures a year over 3 years with 1 weak card of 100: 12 x 1.05 are 12.6 at most.
    assert told[0] in ("one   12", "one   13")
    assert re.fullmatch("Card, and cost; all: 1[23] currency units in 3 years", told[-1])


def test_cards_of_one_capacity_stand_side_by_side_and_no_two_marks_touch():
    at, apart = _places(np.array([16.0, 64, 64, 64, 128]))
    assert at[[0, 2, 4]].tolist() == [4, 6, 7]  # the logarithm to base 2, the middle of three on its size
    assert np.diff(np.sort(at)).min() == pytest.approx(apart)
