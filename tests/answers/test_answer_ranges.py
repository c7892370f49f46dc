"""What the docstring of an answer says is allowed is allowed to its ends, and refused beyond them by its name."""

import pytest
from test_documented_ranges import documented

from edgestore import InputError
from edgestore.answers.certainty import certainty
from edgestore.answers.change import REACHED, upkeep
from edgestore.answers.export import exporting
from edgestore.answers.flash_wear import flash_use
from edgestore.answers.hold import holding
from edgestore.answers.label import label_check
from edgestore.answers.life import ENDURANCE_KINDS, lasting
from edgestore.answers.outage import saving

ANSWERS = {
    answer.__name__: answer
    for answer in (certainty, exporting, flash_use, holding, label_check, lasting, saving, upkeep)
}
COUNTS_WITH = {
    ("upkeep", "visit_price"): {"reached": REACHED[0]},
    ("lasting", "rated_h"): {"endurance_kind": ENDURANCE_KINDS[2]},
    ("lasting", "rated_mbit_s"): {"endurance_kind": ENDURANCE_KINDS[2]},
}
"""What else is said where an argument counts only then."""


def refused_of(name: str, argument: str, number: float) -> str:
    """Which argument an answer refuses, of those that it takes where nothing is said and one number; empty for none."""
    try:
        ANSWERS[name](**COUNTS_WITH.get((name, argument), {}), **{argument: number})
    except InputError as error:
        return error.faults[0].where
    return ""


@pytest.mark.parametrize("name", ANSWERS)
def test_a_number_is_allowed_to_the_ends_that_the_docstring_states_and_refused_beyond(name):
    ranges = documented(ANSWERS[name])
    assert len(ranges) >= 4
    for argument, allowed in ranges.items():
        assert {refused_of(name, argument, number) for number in allowed.beyond} <= {argument}
        # A lot of one card is refused where 35 of it are tried, but not for its size.
        assert argument not in {refused_of(name, argument, number) for number, _ in allowed.ends}
