"""Probes of a card against hand arithmetic and against the cards of a trial."""

import pytest

from edgestore.models.life import cards_for_trial
from edgestore.models.lots import missed_chance


def test_what_probes_miss_by_hand():
    # 1 / 2^10, 0.9^22 = 0.0985; nothing false is always missed, and all false never.
    assert missed_chance([0.5, 0.1, 0, 1], [10, 22, 5, 1]) == pytest.approx([1 / 1024, 0.0985, 1, 0], abs=5e-5)


def test_as_many_probes_as_cards_of_a_trial_find_a_share():
    # 0.9^22 = 0.098 and 0.9^21 = 0.109; 0.9^66 = 0.00096 and 0.9^65 = 0.00106.
    assert cards_for_trial(1 - 0.1, [0.9, 0.999]).tolist() == [22, 66]
    assert missed_chance(0.1, [22, 66]) == pytest.approx([0.0985, 0.00096], abs=5e-5)
