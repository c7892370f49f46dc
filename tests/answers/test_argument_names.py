"""The functions that answer one question about one camera: an error names the argument that the caller typed."""

import inspect
import math
import re

import numpy as np
import pytest

from edgestore import InputError
from edgestore.answers.certainty import certainty
from edgestore.answers.change import REACHED, upkeep
from edgestore.answers.flash_wear import flash_use
from edgestore.answers.hold import holding
from edgestore.answers.life import ENDURANCE_KINDS, lasting
from edgestore.answers.outage import saving

ANSWERS = {function.__name__: function for function in (holding, lasting, saving, certainty, upkeep, flash_use)}

# Some arguments count only beside a word; the others count always.
COUNTS_WITH = {
    "endurance_tbw": {"endurance_kind": ENDURANCE_KINDS[1]},
    "rated_h": {"endurance_kind": ENDURANCE_KINDS[2]},
    "rated_mbit_s": {"endurance_kind": ENDURANCE_KINDS[2]},
    "repair_mean_h": {"repair_law": "exponential"},
    "visit_delay_h": {"repair_law": "working hours"},
    "work_h": {"repair_law": "working hours"},
    "visit_price": {"reached": REACHED[0]},
}
MAY_BE_0 = {
    *("repair_mean_h", "repair_median_h", "visit_delay_h", "work_h", "shared_cause_share", "card_failures_per_year"),
    *("saved_fraction", "outage_h", "early_percent", "card_price", "visit_price", "visit_with_lift_price", "lost_cost"),
    "still_fraction",
}
MAY_BE_INFINITE = {"recorder_mtbf_h", "card_failures_per_year"}
ARGUMENTS = [
    pytest.param(name, argument, id=f"{name}-{argument}")
    for name, function in ANSWERS.items()
    for argument, parameter in inspect.signature(function).parameters.items()
    if isinstance(parameter.default, float | int)
]


def bad_values(name: str, argument: str) -> list:
    may_be_0 = argument in MAY_BE_0 or (name, argument) == ("upkeep", "random_percent_year")
    bad = [-1, math.nan, -math.inf, "four", None, True, [5.0, 6.0], 10**400, np.timedelta64(1, "h"), 1 + 2j]
    return bad + [0] * (not may_be_0) + [math.inf] * (argument not in MAY_BE_INFINITE)


@pytest.mark.parametrize(("name", "argument"), ARGUMENTS)
def test_a_bad_number_is_refused_by_the_name_that_was_typed(name, argument):
    for bad in bad_values(name, argument):
        with pytest.raises(InputError, match=f"^{argument}: (is|found) "):
            ANSWERS[name](**COUNTS_WITH.get(argument, {}), **{argument: bad})


def test_the_walk_finds_the_arguments():
    assert {param.values for param in ARGUMENTS} >= {("holding", "wanted_days"), ("upkeep", "cards")}
    assert len(ARGUMENTS) >= 50


def test_the_value_is_shown_in_the_unit_of_its_argument():
    with pytest.raises(InputError, match=f"^{re.escape('wanted_days: is -1 days; must be above 0 days.')}$"):
        holding(wanted_days=-1)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: certainty(mean_low_mbit_s=7),
            "mean_low_mbit_s: is 7 Mbit/s; must be below mean_high_mbit_s, 6 Mbit",
        ),
        (lambda: certainty(pe_cycles_high=1000), "pe_cycles_low: is 1000 cycles; must be below pe_cycles_high, 1000"),
        (lambda: certainty(mean_high_mbit_s=-1), "mean_high_mbit_s: is -1 Mbit/s; must be above 0 and at most 1000"),
        (
            lambda: upkeep(wear_life_low_years=13),
            "wear_life_low_years: is 13 years; must be at most wear_life_high_years, 12 years.",
        ),
        (
            lambda: lasting(write_amplification_low=8, write_amplification_high=6),
            "write_amplification_low: is 8; must be at most write_amplification_high, 6.",
        ),
    ],
)
def test_two_ends_in_the_wrong_order_are_both_named(call, message):
    with pytest.raises(InputError, match=f"^{re.escape(message)}"):
        call()
