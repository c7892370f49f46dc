"""What a docstring says is allowed is allowed to its ends and refused beyond them, and an end is no place apart.

The good call of a function is its first outside check value; the range of an argument is read from its docstring.
"""

import inspect
import re
from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass
from numbers import Number
from typing import Any

import numpy as np
import pytest

from edgestore import InputError
from edgestore.checks import ValueFault
from edgestore.verification import own_check_files, read_checks
from edgestore.verification.quantities import PUBLIC, QUANTITIES, split

GOOD_CALLS = {check.quantity: check.inputs for check in reversed(read_checks(own_check_files()))}
NUMBER = r"-?\d+(?: \d{3})*(?:\.\d+)?"
RANGE = re.compile(rf"(above )?({NUMBER})( or more| to {NUMBER})?(?: and (at most|below) ({NUMBER}))?")
BEYOND, NEXT, NEAR = 1e-5, 1e-9, 0.1
"""How far beyond an end is refused, and what within is next or near to it: as a part of it, or of 1 where it is 0."""

APART = {
    ("capacity_gb_for_fraction", "saved_fraction"): "all is saved by no finite card",
    ("retention_h_for_fraction", "saved_fraction"): "likewise",
    ("cards_for_lot", "buyer_risk"): "whole cards: at a risk of just a half one fewer will do",
    ("write_amplification_camera", "files_open"): "whole files",
    ("signing_bytes", "hashes"): "a list of hashes has a frame, no list has none",
    ("signing_mbit_s", "hashes_per_frame"): "likewise",
    ("write_mbyte_s_for_buffer", "stall_s"): "its good call has just as much buffer as it needs",
    ("write_mbyte_s_for_buffer", "burst_mb"): "likewise",
    ("batch_failures_cv", "batch_correlation"): "a root: it rises from 0 at once",
    ("batch_failures_cv", "weak_fraction"): "likewise",
}
"""Where the answer at an end is not that next to it, and why."""


@dataclass(frozen=True)
class Range:
    """Ends that are allowed, each with the way into the range, and what lies beyond, or is an end and not allowed.

    Of an end that is not allowed, ``inside`` has a number near it, which is.
    """

    ends: tuple[tuple[float, int], ...]
    beyond: tuple[float, ...]
    inside: tuple[float, ...]


def documented(function: Callable[..., Any]) -> dict[str, Range]:
    """Ranges that the docstring of a function states for its numbers."""
    parameters = re.search(r"\nParameters\n-+\n(.*?)(?:\n\n\w+\n---|\Z)", inspect.getdoc(function) or "", re.S)
    found = {}
    for heading, text in re.findall(r"^(\w.*)\n((?: .*\n?)*)", parameters[1] if parameters else "", re.M):
        names, _, kind = heading.partition(" : ")
        stated = RANGE.search(" ".join(text.split()))
        if kind.startswith("float") and stated and (stated[1] or stated[3]):
            found |= dict.fromkeys(names.split(", "), as_range(*stated.groups()))
    return found


def as_range(above: str | None, low: str, more: str | None, bound: str | None, high: str | None) -> Range:
    """The range that the parts of the words say."""
    if more and more.startswith(" to "):
        bound, high = "at most", more.removeprefix(" to ")
    ends, beyond, inside = [], [], []
    for words, is_in, way in ((low, not above, 1), (high, bound == "at most", -1)):
        if words is None:
            continue
        end = float(words.replace(" ", ""))
        ends += [(end, way)] if is_in else []
        inside += [] if is_in else [end + way * NEAR * (abs(end) or 1)]
        beyond.append(end - way * BEYOND * (abs(end) or 1) if is_in else end)
    return Range(tuple(ends), tuple(beyond), tuple(inside))


def answer(name: str, argument: str, number: float) -> Any:
    """What a good call gives with another number: an answer, or the refusal."""
    return answer_to(name, **{argument: number})


def answer_to(name: str, **changed: Any) -> Any:
    """What a good call gives with some other numbers: an answer, or the refusal."""
    spread, named = split(PUBLIC[name], GOOD_CALLS[name] | changed)
    try:
        return PUBLIC[name](*spread, **named)
    except InputError as refusal:
        return refusal


def numbers(result: Any) -> list[float]:
    """All numbers of an answer."""
    parts = [getattr(result, field.name) for field in fields(result)] if is_dataclass(result) else [result]
    parts = [part for each in parts for part in (each if isinstance(each, tuple) else [each])]
    return [float(one) for part in parts if isinstance(part, Number | np.ndarray) for one in np.ravel(part)]


RANGES = {
    name: found
    for name, function in QUANTITIES.items()
    if (found := documented(function)) and not any("*" in argument for argument in found)
}


def test_the_ranges_of_most_numbers_are_stated_as_words_that_are_read_here():
    assert sum(map(len, RANGES.values())) > 300
    assert RANGES["cards_for_lot"]["lot_cards"] == Range(((1, 1), (1e6, -1)), (1 - 1e-5, 1e6 + 10), ())
    assert RANGES["retention_h"]["usable_fraction"] == Range(((1, -1),), (0, 1 + 1e-5), (0.1,))


@pytest.mark.parametrize("name", RANGES)
def test_a_number_beyond_the_range_of_the_docstring_is_refused_by_its_name(name):
    for argument, allowed in RANGES[name].items():
        for number in allowed.beyond:
            refusal = answer(name, argument, number)
            assert isinstance(refusal, InputError), f"{argument}: {number}"
            assert refusal.faults[0].where == argument


@pytest.mark.parametrize("name", RANGES)
def test_a_number_near_an_end_that_is_not_allowed_is_allowed(name):
    for argument, allowed in RANGES[name].items():
        for number in allowed.inside:
            found = answer(name, argument, number)
            if isinstance(found, InputError) and isinstance(found.faults[0], ValueFault):
                assert found.faults[0].where != argument, found


@pytest.mark.parametrize("name", [name for name in RANGES if not name.startswith("simulate")])
def test_an_end_of_the_range_is_allowed_and_its_answer_is_that_next_to_it(name):
    for argument, allowed in RANGES[name].items():
        for end, way in allowed.ends:
            at_end, inside = (answer(name, argument, number) for number in (end, end + way * NEXT * (abs(end) or 1)))
            if isinstance(at_end, InputError):  # one card of three that failed, say
                assert at_end.faults[0].where != argument, at_end
            elif isinstance(inside, InputError):
                assert "whole" in str(inside)
            elif (name, argument) not in APART:
                assert numbers(at_end) == pytest.approx(numbers(inside), rel=1e-3, abs=1e-6), argument
