"""The card asked for in each camera, and how far an input may move, against hand arithmetic."""

from dataclasses import replace

import numpy as np
import pytest
from proposals import as_list

from edgestore.documents.margins import margins
from edgestore.documents.specification import specifications
from edgestore.plan.read import read_lists
from edgestore.plan.requirements import Requirements
from edgestore.plan.site_plan import site_plan

HEADS = "camera,mean_mbit_s,cap_mbit_s,slot_bus,max_card_gb,deletes_by_age"
CARDS = as_list(
    "card,capacity_gb,usable_fraction,speed_class,endurance_tbw,price",
    [["small", 256, 0.96, "U1", 40, 10], ["large", 512, 0.96, "U3 V30", 100, 20]],
)


def planned(rows, wanted=None, heads=HEADS):
    lists = read_lists(("cameras.csv", as_list(heads, rows)), ("cards.csv", CARDS))
    return site_plan(replace(lists, requirements=wanted))


def only(table):
    assert len(table) == 1
    return table.iloc[0]


def test_capacity_speed_and_endurance_are_those_of_hand_arithmetic():
    # 4 Mbit/s is 1.8 GB/h: 7 days of 24 h are 302.4 GB, over 0.96 usable 315 GB, sold as 512 GB.
    # Ten times 8 Mbit/s are 80 Mbit/s, 10 Mbyte/s: C10, U1 or V10 in a slot of SDR104.
    # 3 years are 26298 h: 47.34 TB; as hours at 4 Mbit/s just these 26298.
    row = only(specifications(planned([["gate", 4, 8, "sdr104", "", "no"]])))
    assert row["needed_gb"] == pytest.approx(315)
    assert row["least_gb"] == 512
    assert row["write_mbyte_s"] == pytest.approx(10)
    assert row["marks"] == "C10 or U1 or V10"
    assert row["endurance_tbw"] == pytest.approx(47.3364)
    assert row["rated_h"] == pytest.approx(26298)
    assert (row["capacity"], row["capacity_note"]) == ("512 GB", "at least 315 GB")
    assert (row["speed"], row["speed_note"]) == ("C10 or U1 or V10", "at least 10 Mbyte/s in a sdr104 slot")
    assert (row["endurance"], row["endurance_note"]) == ("47.4 TB written", "or 26\N{NO-BREAK SPACE}300 h at 4 Mbit/s")


def test_the_specification_does_not_depend_on_the_cards_of_the_list():
    rows = [["gate", 4, 8, "sdr104", "", "no"]]
    other = as_list("card,capacity_gb,usable_fraction,speed_class,endurance_tbw", [["tiny", 8, 0.96, "C2", 1]])
    unserved = site_plan(read_lists(("cameras.csv", as_list(HEADS, rows)), ("cards.csv", other)))
    asked = [specifications(plan).drop(columns="card") for plan in (planned(rows), unserved)]
    assert asked[0].equals(asked[1])


def test_a_slot_or_a_policy_limits_the_capacity_and_says_when_no_card_can_be_had():
    # The slot takes 256 GB, 315 are needed.
    row = only(specifications(planned([["gate", 4, 8, "sdr104", 256, "no"]])))
    assert (row["capacity"], row["capacity_note"]) == ("not available", "at least 315 GB, at most 256 GB")
    # At a mean of 4 Mbit/s 10 days are at most 432 GB; the mean may be 1.3 times lower: 432 / 1.3 = 332.3 GB.
    most = Requirements(retention_days_max=10)
    row = only(specifications(planned([["gate", 4, 8, "sdr104", "", "no"]], most)))
    assert row["most_gb"] == pytest.approx(432 / 1.3)
    assert row["capacity"] == "315 to 332 GB"
    row = only(specifications(planned([["gate", 4, 8, "sdr104", "", "yes"]], most)))
    assert np.isinf(row["most_gb"])


def test_a_peak_that_no_mark_covers_in_the_slot_is_said():
    # Ten times 30 Mbit/s are 37.5 Mbyte/s: the high-speed bus carries 25 in all.
    row = only(specifications(planned([["gate", 4, 30, "high speed", "", "no"]])))
    assert row["speed"] == "not available"


def test_margins_are_those_of_hand_arithmetic():
    # At 4 Mbit/s the large card holds 512 x 0.96 / 43.2 GB a day = 11.378 days and lasts 100 / 15.7788 = 6.338 years.
    # Up to 4 x 11.378 / 7 = 6.502 Mbit/s; life would allow 8.45. Peak: U3 promises 30 Mbyte/s, 240 Mbit/s over ten.
    # The small one: 5.689 of 7 days, 2.535 of 3 years: serves from 4 x 5.689 / 7 = 3.251 Mbit/s down.
    row = only(margins(planned([["gate", 4, 8, "sdr104", "", "no"]])))
    assert row["mean_up_to_mbit_s"] == pytest.approx(6.5016, abs=1e-4)
    assert row["first_to_fail"] == "retention"
    assert row["peak_up_to_mbit_s"] == pytest.approx(24)
    assert row["days_up_to"] == pytest.approx(11.3778, abs=1e-4)
    assert row["years_up_to"] == pytest.approx(6.3376, abs=1e-4)
    assert row["other_card"] == "small"
    assert row["other_from_mbit_s"] == pytest.approx(3.2508, abs=1e-4)
    assert "62.5\N{NO-BREAK SPACE}% more than planned" in row["words"]
    assert "From a mean of 3.25 Mbit/s down, small would do, which is smaller." in row["words"]


@pytest.mark.parametrize(("mean_mbit_s", "other_card"), [(0.9, ""), (2.2, ""), (4.0, "small"), (6.4, "small")])
def test_planning_again_at_a_margin_changes_the_choice_there_and_not_before(mean_mbit_s, other_card):
    row = only(margins(planned([["gate", mean_mbit_s, 8, "sdr104", "", "no"]])))
    chosen = planned([["gate", mean_mbit_s, 8, "sdr104", "", "no"]]).plan["card"][0]

    def card_at(rate):
        return planned([["gate", rate, max(8, rate), "sdr104", "", "no"]]).plan["card"][0]

    assert card_at(row["mean_up_to_mbit_s"] * 0.999) == chosen
    assert card_at(row["mean_up_to_mbit_s"] * 1.001) != chosen
    assert row["other_card"] == other_card  # nothing smaller than the small one
    if other_card:
        assert card_at(row["other_from_mbit_s"] * 0.999) == other_card
        assert card_at(row["other_from_mbit_s"] * 1.001) == chosen


def test_the_margin_counts_what_the_card_holds_though_the_camera_deletes_sooner():
    # Kept 8 days by policy, but the card would hold 11.378: it still serves up to 4 x 11.378 / 7 = 6.502 Mbit/s.
    plan = planned([["gate", 4, 8, "sdr104", "", "yes"]], Requirements(retention_days_max=8))
    assert plan.plan["retention_days"][0] == 8
    assert only(margins(plan))["mean_up_to_mbit_s"] == pytest.approx(6.5016, abs=1e-4)


def test_a_camera_that_no_card_serves_has_no_margin():
    row = only(margins(planned([["gate", 40, 80, "sdr104", "", "no"]])))
    assert row["words"] == "No card is chosen: the reasons say why."
    assert np.isnan(row["mean_up_to_mbit_s"])
    assert row["other_card"] == ""


def test_without_a_cap_the_margin_over_the_mean_can_fail_first():
    # 6 Mbit/s, no cap: small promises 10 Mbyte/s, 80 Mbit/s: ten times 8 Mbit/s. It holds 245.76 / 64.8 = 3.79 of 1 day
    # and lasts 40 / 23.668 = 1.69 of 1 year. A peak is kept up with to 80 Mbit/s. Asked for: 10 x 6 / 8 Mbyte/s.
    plan = planned([["gate", 6, "", "sdr104", "", "no"]], Requirements(1, 1, 10))
    row = only(margins(plan))
    assert (row["mean_up_to_mbit_s"], row["first_to_fail"]) == (pytest.approx(8), "speed")
    assert row["peak_up_to_mbit_s"] == pytest.approx(80)
    assert only(specifications(plan))["write_mbyte_s"] == pytest.approx(7.5)


def test_the_margin_of_an_unknown_card_counts_what_the_updates_write():
    # 256 TB over 3 years allow 256 / (3 x 3.9447) = 21.633 Mbit/s of flash writes, 818.39 pages between two updates, of
    # which 80.783 are video: c (c + 768) / (c + 3) = 818.39; 37.8317 pages a Mbit/s: 2.1353 Mbit/s.
    unknown = as_list("card,capacity_gb,speed_class,pe_cycles", [["unknown", 256, "V90", 1000]])
    lists = read_lists(("cameras.csv", as_list(HEADS, [["gate", 2, 8, "uhs-ii", "", "no"]])), ("cards.csv", unknown))
    row = only(margins(site_plan(replace(lists, requirements=Requirements(1, 3, 1)))))
    assert (row["mean_up_to_mbit_s"], row["first_to_fail"]) == (pytest.approx(2.1353, abs=1e-4), "life")
