"""Where two arguments do not go together, one pair of a row of good ones is enough for the row to be refused.

Each row is a good call, the first outside check value of its function, with other numbers: the first pair is good.
"""

import pytest
from test_documented_ranges import answer_to

from edgestore import InputError

ROWS = [
    ("mean_recorded_fraction", {"hours": [[12, 12], [0, 0]]}, "hours"),
    ("equivalent_temperature_c", {"hours": [[1, 1], [0, 0]], "temperatures_c": [40, 60]}, "hours"),
    ("retention_spread", {"retention_h": [9, 0.5]}, "step_s"),
    ("bitrate_from_frames_mbit_s", {"key_frame_interval_s": [0.1, 0.05]}, "key_frame_interval_s"),
    ("acceptance_chance", {"bad_fraction": 0.01, "failures": [4, 145]}, "failures"),
    ("cards_for_lot", {"bad_cards": [3, 2], "lot_cards": 100, "failures": 2}, "failures"),
    ("write_amplification_camera", {"update_places": 1, "unit_mib": 1, "page_kib": [16, 2048]}, "page_kib"),
    ("write_amplification_camera", {"unit_mib": 1, "page_kib": 16, "pages_per_place": [1, 65]}, "pages_per_place"),
    ("write_amplification_separated", {"hot_spare_fraction": [0.5, 1e-9]}, "hot_spare_fraction"),
    ("write_amplification_measured", {"erase_count_after": [700, 99]}, "erase_count_after"),
    ("write_amplification_measured", {"host_step_gb": [0, 9600]}, "host_step_gb"),
    ("expected_changes", {"change_years": [2, 0.029]}, "change_years"),
    ("cost_per_year_for_inspection", {"interval_years": [2, 1e-9]}, "interval_years"),
    ("cheapest_card", {"visit_price": 0, "lift_price": 0, "card_price": [1, 1, 0]}, "card_price"),
    ("best_group_years", {"visit_price": 0, "card_cost": [2, 0]}, "visit_price"),
    ("order_for_cost", {"spare_cost": 1, "shortage_cost": [4, 99_999]}, "shortage_cost"),
    ("spares_for_cost", {"spare_cost": 1, "shortage_cost": [4, 99_999]}, "shortage_cost"),
    ("chance_that_k_of_n_last", {"k": [2, 4], "n": 3}, "k"),
    ("weibull_scale_lower_years", {"failures": [1, 21]}, "failures"),
    ("updated_random_rate", {"prior_a": 0, "failures": [2, 0]}, "prior_a"),
    ("mtbf_lower_years", {"confidence": 0.9, "failures": [2, 2.5]}, "failures"),
    ("confidence_of_trial", {"good_fraction": 0.9, "cards": 2, "failures": [0, 3]}, "failures"),
    ("weak_cards_chance", {"cards": 2, "weak_cards": [0, 3]}, "weak_cards"),
    ("fewest_visits", {"opens_years": [1, 9], "closes_years": [6, 8]}, "closes_years"),
]


@pytest.mark.parametrize(("name", "row", "where"), ROWS, ids=[f"{name} {where}" for name, _, where in ROWS])
def test_one_pair_of_a_row_that_does_not_go_together_refuses_the_row(name, row, where):
    refusal = answer_to(name, **row)
    assert isinstance(refusal, InputError)
    assert refusal.faults[0].where == where


@pytest.mark.parametrize(("name", "row", "where"), ROWS, ids=[f"{name} {where}" for name, _, where in ROWS])
def test_the_first_pair_of_each_row_alone_is_answered(name, row, where):
    first = {argument: numbers[0] if isinstance(numbers, list) else numbers for argument, numbers in row.items()}
    if name == "equivalent_temperature_c":
        first["temperatures_c"] = row["temperatures_c"]
    if name in ("cheapest_card", "fewest_visits"):
        first |= {argument: [number] for argument, number in first.items() if isinstance(row[argument], list)}
    assert not isinstance(answer_to(name, **first), InputError), answer_to(name, **first)
