"""What the card saves, against hand arithmetic."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.answers.outage import saving

# 129.6 GB at 4 Mbit/s, 1.8 GB an hour, hold 72 h.
THREE_DAYS = {"capacity_gb": 129.6, "cap_mbit_s": 4, "mean_over_cap": 1, "repair_law": "exponential", "cameras": 1}
SOUND = {"shared_cause_share": 0, "card_failures_per_year": 0}


def test_outages_that_end_at_random_cost_twelve_hours_a_year_without_and_half_an_hour_with_three_days():
    answer = saving(**THREE_DAYS, **SOUND)
    # exp(-72 / 24); 8766 / (17520 + 24) x 24, and that x exp(-3)
    assert answer.table["chance_outlasts"][1] == pytest.approx(0.049787, abs=1e-6)
    assert answer.lost_without_card_h_per_year == pytest.approx(11.991792, abs=1e-6)
    np.testing.assert_allclose(answer.lost_h_per_year, 0.597036, atol=1e-6)


def test_a_cause_that_takes_one_camera_in_ten_costs_a_tenth_of_what_was_saved():
    answer = saving(**THREE_DAYS, shared_cause_share=0.1, card_failures_per_year=0)
    assert answer.lost_h_per_year[0] == pytest.approx(0.1 * 11.991792 + 0.9 * 0.597036, abs=1e-6)


def test_cards_that_fail_unnoticed_join_the_shared_causes():
    # 1 - (1 - exp(-1)) / 1 = 1 / e of the cards are dead: 1 - 0.9 (1 - 1 / e)
    answer = saving(**THREE_DAYS, shared_cause_share=0.1, card_failures_per_year=1, inspected_every_days=365.25)
    assert answer.table["unsaved_fraction"][1] == pytest.approx(1 - 0.9 * (1 - np.exp(-1)))


def test_the_capacity_wanted_saves_the_asked_share():
    # 24 x ln 20 = 71.897575 h x 1.8 GB an hour
    answer = saving(**THREE_DAYS, **SOUND, saved_fraction=0.95)
    assert answer.table["capacity_gb_wanted"][1] == pytest.approx(129.415635)
    # The same over a link that reads 0.25 h of footage an hour takes four times the card.
    answer = saving(**THREE_DAYS, **SOUND, saved_fraction=0.95, link_mbit_s=5)
    assert answer.table["capacity_gb_wanted"][1] == pytest.approx(4 * 129.415635)


@pytest.mark.parametrize(
    ("outage_h", "link_mbit_s", "overwritten", "read", "lost_while_read", "caught_up"),
    [
        (24, 5, 0, 18, 6, 72),  # s = 0.25: 72 x 0.25 = 18 h are read, in 18 / 0.25 h
        (60, 6, 0, 36, 24, 72),  # s = 0.5
        (60, 10, 0, 60, 0, 40),  # s = 1.5: none is lost
        (100, 10, 28, 72, 0, 48),  # 100 - 72 h are gone when the recorder comes back
        (0, 10, 0, 0, 0, 0),
        (24, 4, 0, 0, 24, np.inf),  # the live stream fills the link
        (100, 2, 28, 0, 72, np.inf),
    ],
)
def test_an_outage_is_parted_into_overwritten_fetched_and_lost_while_read(
    outage_h, link_mbit_s, overwritten, read, lost_while_read, caught_up
):
    answer = saving(**THREE_DAYS, outage_h=outage_h, link_mbit_s=link_mbit_s)
    np.testing.assert_allclose(answer.overwritten_h, overwritten)
    np.testing.assert_allclose(answer.backfilled_h, read)
    np.testing.assert_allclose(answer.lost_while_read_h, lost_while_read)
    np.testing.assert_allclose(answer.caught_up_h, caught_up)


def test_sixteen_cameras_on_one_link_catch_up_in_43_hours():
    # 24 h x 64 Mbit/s wait, and 100 - 64 are free
    answer = saving(512, 4, mean_over_cap=1, link_mbit_s=100, cameras=16, outage_h=24)
    assert answer.caught_up_h[0] == pytest.approx(42.667, abs=1e-3)


def test_recording_on_motion_stretches_the_card_and_frees_the_link():
    whole, tenth = saving(**THREE_DAYS, link_mbit_s=5), saving(**THREE_DAYS, link_mbit_s=5, recorded_fraction=0.1)
    assert tenth.retention_h[0] == pytest.approx(10 * whole.retention_h[0])
    assert tenth.backfilled_h[0] == 48  # 5 / 0.4 leaves 11.5 hours of footage an hour


def test_a_recorder_that_never_fails_loses_nothing_and_warns_of_nothing():
    answer = saving(recorder_mtbf_h=np.inf)
    assert answer.lost_without_card_h_per_year == 0
    assert answer.sentence == "Nothing is lost, with a card or without: the recorder never fails."
    assert answer.warnings == ()
    assert saving(repair_law="exponential", repair_mean_h=0).sentence == answer.sentence


def test_a_card_that_fails_at_once_saves_nothing():
    answer = saving(card_failures_per_year=np.inf)
    np.testing.assert_allclose(answer.lost_h_per_year, answer.lost_without_card_h_per_year)
    assert any("leave nothing on any card" in text for text in answer.warnings)


@pytest.mark.parametrize(
    ("given_", "words"),
    [
        ({"link_mbit_s": 50}, "the live streams fill the link"),
        ({"link_mbit_s": 100}, "overwrites faster than it is read: of 35.6 hours held, 20 hours are useful"),
        ({"link_mbit_s": 100}, "of outages last longer than the card holds"),
        ({"shared_cause_share": 0.06}, "No card saves 95\N{NO-BREAK SPACE}% of the footage"),
        ({"link_mbit_s": 50}, "no card saves 95\N{NO-BREAK SPACE}% over this link"),
        ({"link_mbit_s": 1000, "shared_cause_share": 0}, "this card has 64 GB"),
    ],
)
def test_what_the_card_does_not_cover_is_warned_of(given_, words):
    assert any(words in text for text in saving(**given_).warnings)


def test_a_large_card_on_a_fast_link_is_not_warned_of():
    assert saving(4000, link_mbit_s=1000, **SOUND).warnings == ()


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"capacity_gb": 0}, "capacity_gb: is 0"),
        ({"cap_mbit_s": 4000}, "is 4000"),
        ({"cap_mbit_s": float("nan")}, "nan"),
        ({"mean_over_cap": 44}, "mean_over_cap: is 44"),
        ({"recorded_fraction": 0}, "recorded_fraction: is 0"),
        ({"recorder_mtbf_h": 0}, "recorder_mtbf_h: is 0"),
        ({"repair_law": "sunny"}, "repair_law: is 'sunny'; must be one of exponential, lognormal, working hours"),
        ({"repair_sigma": 9}, "repair_sigma: is 9"),
        ({"repair_median_h": -1}, "repair_median_h: is -1"),
        ({"shared_cause_share": 5}, "shared_cause_share: is 5"),
        ({"card_failures_per_year": -1}, "card_failures_per_year: is -1"),
        ({"inspected_every_days": 0}, "inspected_every_days: is 0"),
        ({"saved_fraction": 95}, "saved_fraction: is 95"),
        ({"link_mbit_s": 0}, "link_mbit_s: is 0"),
        ({"cameras": 0}, "cameras: is 0"),
        ({"outage_h": -1}, "outage_h: is -1"),
        ({"outage_h": float("inf")}, "outage_h: is inf"),
    ],
)
def test_saving_refuses_what_cannot_be(wrong, message):
    with pytest.raises(InputError, match=message):
        saving(**wrong)


@given(
    capacity_gb=st.floats(1, 4000),
    outage_h=st.floats(0, 2000),
    link_mbit_s=st.floats(1, 1000),
    cameras=st.integers(1, 64),
    law=st.sampled_from(["exponential", "lognormal", "working hours"]),
)
def test_the_parts_make_up_the_outage_and_a_card_never_loses_more_than_none(
    capacity_gb, outage_h, link_mbit_s, cameras, law
):
    answer = saving(capacity_gb, repair_law=law, link_mbit_s=link_mbit_s, cameras=cameras, outage_h=outage_h)
    parts = [answer.overwritten_h, answer.backfilled_h, answer.lost_while_read_h]
    np.testing.assert_allclose(sum(parts), outage_h, atol=1e-9)
    assert all((part >= -1e-9).all() for part in parts)
    assert (answer.lost_h_per_year <= answer.lost_without_card_h_per_year * (1 + 1e-9)).all()
    assert answer.lost_h_per_year[1] <= answer.lost_h_per_year[0] * (1 + 1e-9)
    assert (np.diff(answer.curves_h_per_year, axis=1) <= 1e-9).all()


def test_only_what_helps_is_advised_with_the_hours_it_saves():
    # Exponential, mean 24 h, 8766 / 17544 outages a year: 11.99 h lost without a card. A shared cause in 10 %: 1.199 h.
    law = {"repair_law": "exponential", "repair_mean_h": 24.0, "capacity_gb": 1024.0, "link_mbit_s": 1000.0}
    shared = " ".join(saving(**law, shared_cause_share=0.1, card_failures_per_year=0).warnings)
    assert "apart from the recorder's, save 1.2 h of footage a year" in shared
    assert "every day" not in shared
    # A failure a year, looked for once a year: dead 36.8 % of the time, in place of 0.14 %: 11.99 x 0.3665 = 4.39 h.
    dead = " ".join(saving(**law, shared_cause_share=0, card_failures_per_year=1, inspected_every_days=365.25).warnings)
    assert "A check of the card every day saves 4.4 h of footage a year" in dead
    assert "apart from the recorder's" not in dead


def test_a_repair_takes_two_hours_of_work_where_nothing_is_said():
    hours = {"repair_law": "working hours"}
    assert saving(**hours).lost_without_card_h_per_year == saving(**hours, work_h=2).lost_without_card_h_per_year
