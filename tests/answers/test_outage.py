"""What the card saves, against hand arithmetic."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.answers.outage import CURVE_GB, saving
from edgestore.text import NO_BREAK

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
        (0.5, 4, 0, 0, 0.5, np.inf),
        (0, 4, 0, 0, 0, 0),  # there is nothing to fetch
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
    assert tenth.caught_up_h[0] == pytest.approx(48 / 11.5)


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
        ({"link_mbit_s": 100}, "At the cap the link fetches 0.56 hours of footage in an hour"),  # 100 / 64 - 1
        ({"link_mbit_s": 100}, "of outages last longer than the card holds"),
        # A card that fails 0.02 times a year is dead 1.0 % of it: 1 - 0.94 x 0.99.
        (
            {"shared_cause_share": 0.06},
            "No card saves 95\N{NO-BREAK SPACE}% of the footage: 6.9\N{NO-BREAK SPACE}% of outages leave nothing",
        ),
        ({"link_mbit_s": 50}, "no card saves 95\N{NO-BREAK SPACE}% over this link"),
        ({"link_mbit_s": 1000, "shared_cause_share": 0}, "this card has 64 GB"),
        # Where every outage leaves something, none of them is to blame: exponential outages have no end.
        (
            {"repair_law": "exponential", "saved_fraction": 1, "shared_cause_share": 0, "card_failures_per_year": 0},
            "At the cap no card saves 100\N{NO-BREAK SPACE}% over this link.",
        ),
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


def test_the_capacities_of_the_picture_double_every_six_steps_from_4_gb():
    np.testing.assert_allclose(CURVE_GB, [4 * 2 ** (step / 6) for step in range(49)])


def test_the_picture_shows_what_is_lost_with_each_capacity_as_far_as_the_link_fetches_it():
    # At 5 Mbit/s a quarter of what the card holds is useful: 11.991792 x exp(-C / 1.8 / 4 / 24).
    curve = saving(**THREE_DAYS, **SOUND, link_mbit_s=5).curves_h_per_year[0]
    np.testing.assert_allclose(curve, 11.991792 * np.exp(-CURVE_GB / 172.8), rtol=1e-6)


def test_without_a_card_all_outages_and_all_of_this_one_are_lost():
    table = saving(**THREE_DAYS, **SOUND, outage_h=100, link_mbit_s=10).table
    none = table.iloc[0].drop(["card", "mean_mbit_s", "capacity_gb_wanted"]).to_dict()
    hours = {"lost_h_per_year_by_hand": 11.991792, "lost_h_per_year": 11.991792, "this_outage_lost_h": 100}
    nothing = dict.fromkeys(("retention_h", "useful_retention_h", "saved_fraction", "caught_up_h"), 0)
    assert none == pytest.approx({**hours, **nothing, "chance_outlasts": 1, "unsaved_fraction": 1}, abs=1e-6)
    assert table["this_outage_lost_h"].tolist() == pytest.approx([100, 28, 28])  # 72 of 100 h are held


# 43.2 GB hold 24 h at the cap, and 240 h at a tenth of it; 10 outages of 24 h a year, 240 h without a card.
A_DAY = {"capacity_gb": 43.2, "mean_over_cap": 0.1, "repair_law": "exponential", "repair_mean_h": 24.0, "cameras": 1}
A_DAY |= {"recorder_mtbf_h": 852.6, "link_mbit_s": 1000.0, "inspected_every_days": 365.25}


def remedies(**given_):
    return " ".join(saving(**A_DAY | given_).warnings)


def test_what_a_remedy_saves_is_told_for_the_cap():
    # 0.3 of the outages have a shared cause: 240 x 0.3 x (1 - exp(-1)) h.
    told = remedies(shared_cause_share=0.3, card_failures_per_year=0)
    assert "apart from the recorder's, save 45.5 h of footage a year" in told
    # Twenty failures a year: dead 95 % of the time, or 1 - (1 - exp(-x)) / x = 2.69 % with x = 20 / 365.25.
    told = remedies(capacity_gb=4000, shared_cause_share=0, card_failures_per_year=20)
    assert "A check of the card every day saves 222 h of footage a year" in told


def test_a_remedy_is_told_from_a_tenth_of_what_is_lost_at_the_cap():
    daily, own = "A check of the card every day", "A power supply and a network switch of its own"
    # Dead 0.99 %, shared 6 %: of 6.9 % lost a daily check saves 0.93 %, that is 13 %.
    told = remedies(capacity_gb=4000, shared_cause_share=0.06, card_failures_per_year=0.02)
    assert daily in told
    assert own in told
    # Shared 20 %: 0.79 of 20.8 %, that is 3.8 %, though it is 1.9 h.
    assert daily not in remedies(capacity_gb=4000, shared_cause_share=0.2, card_failures_per_year=0.02)
    # Dead 4.84 %, shared 6 %, 43.5 % lost: at the cap a check saves 4.55 x (1 - exp(-1)) = 2.9 %, the other way 3.6 %.
    told = remedies(shared_cause_share=0.06, card_failures_per_year=0.1)
    assert "No card saves" in told
    assert daily not in told
    assert own not in told


def test_the_parts_that_no_card_saves_are_told_to_a_digit_and_failed_cards_to_two():
    # 1 - (1 - exp(-0.02)) / 0.02 = 0.9934 %; 1 - (1 - 0.0234) x (1 - 0.009934) = 3.310 %.
    said = saving(shared_cause_share=0.0234, card_failures_per_year=0.02, inspected_every_days=365.25).assumptions[1]
    parts = said.replace(NO_BREAK, " ")
    assert "saves nothing in 3.3 % of the outages: 2.3 % have" in parts
    assert "0.99 % of cards" in parts


def test_the_capacity_that_is_wanted_is_told_from_the_mean_to_the_cap_and_is_just_enough():
    # 24 x ln 20 h at 1.8 and at 0.9 GB an hour.
    half = THREE_DAYS | SOUND | {"mean_over_cap": 0.5, "capacity_gb": 100, "link_mbit_s": 1000}
    [told] = (text for text in saving(**half).warnings if text.startswith("To save"))
    assert told.replace(NO_BREAK, " ") == "To save 95 % takes 64.7 to 129 GB; this card has 100 GB."
    wanted = saving(**half).table["capacity_gb_wanted"][1]
    assert not any(text.startswith("To save") for text in saving(**half | {"capacity_gb": wanted}).warnings)


def test_the_outages_that_outlast_the_card_are_those_at_the_cap():
    # 64.8 GB hold 36 h at the cap: exp(-36 / 24) = 22.3 %.
    told = saving(**THREE_DAYS | {"capacity_gb": 64.8, "mean_over_cap": 0.5}).warnings
    assert f"At the cap 22{NO_BREAK}% of outages last longer than the card holds." in told


def test_a_recorder_that_fails_twice_an_hour_is_answered():
    assert saving(recorder_mtbf_h=0.5).sentence.startswith("The camera loses ")
