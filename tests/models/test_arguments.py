"""Every number argument of every model: the shapes it takes, and the values it refuses and how.

A good call of each function is its first outside check value; the table of limits says for each argument what is
allowed. A new function is found by itself: it needs a check value, and a limit for each argument that is new.
Laws, words, rows of numbers and answers of several parts have their own tests beside their models.
What no argument of any public function may be, a span of time or a masked entry say, is tried on all of them.
"""

import datetime
import inspect
import re
from contextlib import suppress
from dataclasses import dataclass, is_dataclass
from itertools import combinations

import numpy as np
import pandas as pd
import pytest

from edgestore import InputError
from edgestore.checks import Numbers
from edgestore.verification import own_check_files, read_checks
from edgestore.verification.quantities import QUANTITIES, split

# A good call of every public function: the first of its outside check values.
CHECKS = read_checks(own_check_files())
GOOD_CALLS = {check.quantity: check for check in reversed(CHECKS)}
TESTED_BESIDE_THEIR_MODEL = {
    *("arrhenius_factor", "unpowered_keep_years"),  # -1 degree Celsius is a temperature
    *("availability", "away_fraction", "hidden_failure_fraction"),  # infinity is a number there
    *("equivalent_temperature_c", "chance_at_least", "weibull_scale_lower_years"),  # take whole rows as one argument
    *("largest_backlog_mb", "catch_up_s", "write_mbyte_s_for_buffer"),
    *("chance_spares_last", "spares_for_confidence"),  # counts of cards, whole numbers
    *("spares_cost", "spares_for_cost"),
    *("evpi", "evppi", "evppi_from_regression", "value_without_information"),  # take whole tables
    "evpi_of_normal",  # a mean below 0 is a mean
}


def single_numbers(function) -> list[str]:
    """Give the arguments that are numbers, one an argument, of a function that needs no others and gives numbers."""
    signature = inspect.signature(function)
    taken = signature.parameters.values()
    numbers = [p.name for p in taken if p.annotation == Numbers and p.kind is not p.VAR_POSITIONAL]
    needs_others = any(p.name not in numbers and p.default is p.empty for p in taken)
    return [] if needs_others or is_dataclass(signature.return_annotation) else numbers


@dataclass(frozen=True)
class Limit:
    """What the refusal of an argument says is allowed and to do, and values that are out of it."""

    allowed: str
    out: tuple[float, ...]
    mend: str = ""


RATE = Limit("above 0 and at most 1000 Mbit/s", (0, 4000), "A rate in kbit/s is divided by 1000")
FRACTION = Limit("above 0 and at most 1", (0, 1.0000001, 50), "A percentage is divided by 100.")
SECONDS = Limit("0 or more s", (-0.001,))
SOME_SECONDS = Limit("above 0 s", (0,))
MEGABYTES = Limit("0 or more MB", (-0.001,))
INNER_SHARE = Limit("above 0 and at most 0.999999", (0, 1, 20))
ONE_OR_MORE = Limit("1 or more", (0, 0.9999999))
LIMITS = {
    "bitrate_mbit_s": RATE,
    "flash_mbit_s": Limit("above 0 Mbit/s", (0,)),
    "cap_mbit_s": RATE,
    "natural_mbit_s": RATE,
    "rated_mbit_s": RATE,
    "video_mbit_s": RATE,
    "audio_mbit_s": Limit("0 or more and at most 1 Mbit/s", (-0.001, 64)),
    "capacity_gb": Limit(
        "above 0 and at most 4000 GB", (0, 64000), "Write the capacity printed on the card in GB: 64,"
    ),
    "chance": Limit("0 or more and at most 1", (-0.001, 1.0000001, 90), "A percentage is divided by 100."),
    "cv": Limit("0 or more and at most 10", (-0.001, 38), "A percentage is divided by 100."),
    "hurst": Limit("above 0 and at most 0.95", (0, 0.9500001, 1)),
    "steps": Limit("1 or more", (0, 0.9999999)),
    "outage_h": Limit("0 or more h", (-0.001,)),
    "link_mbit_s": Limit("above 0 and at most 100000 Mbit/s", (0, 100_001), "A rate in kbit/s is divided by 1000."),
    "cameras": Limit("1 or more cameras", (0, 0.9999999)),
    "fetched": Limit("1 or more cameras", (0, 0.9999999)),
    "read_mbit_s": Limit("above 0 and at most 100000 Mbit/s", (0, 100_001), "A rate in kbit/s is divided by 1000."),
    "span_h": Limit("0 or more h", (-0.001,)),
    "ended_h": Limit("0 or more h", (-0.001,)),
    "wait_h": Limit("0 or more h", (-0.001,)),
    "used_gb": Limit("0 or more GB", (-0.001,)),
    "locked_gb": Limit("0 or more GB", (-0.001,)),
    "reader_mbyte_s": Limit("above 0 Mbyte/s", (0,)),
    "card_read_mbyte_s": Limit("above 0 Mbyte/s", (0,)),
    "hashes": Limit("0 or more hashes", (-0.001,)),
    "hashes_per_frame": Limit("0 or more hashes", (-0.001,)),
    "hash_bytes": Limit("above 0 bytes", (0,)),
    "signature_bytes": Limit("above 0 bytes", (0,)),
    "k": Limit("0 or more cards", (-0.001,)),
    "n": Limit("1 or more cards", (0, 0.9999999)),
    "cards": Limit("1 or more cards", (0, 0.9999999)),
    "weak_fraction": Limit("above 0 and at most 1", (0, 1.0000001, 10), "A percentage is divided by 100."),
    "weak_part": Limit("0 or more and at most 1", (-0.001, 1.0000001, 10), "A percentage is divided by 100."),
    "batch_correlation": Limit("0 or more and at most 0.9999", (-0.001, 1, 10), "A percentage is divided by 100."),
    "batches": Limit("1 or more batches", (0, 0.9999999)),
    "values": Limit("2 or more values", (1, 1.9999999)),
    "failures": Limit("0 or more failures", (-0.001,)),
    "unit_years": Limit("above 0 years", (0,)),
    "confidence": Limit("above 0 and at most 0.9999", (0, 1, 95), "A percentage is divided by 100."),
    "prior_a": Limit("0 or more failures", (-0.001,)),
    "prior_b_years": Limit("0 or more years", (-0.001,)),
    "bad_cards": Limit("0 or more cards", (-0.001,)),
    "bad_fraction": Limit("0 or more and at most 1", (-0.001, 1.0000001, 10), "A percentage is divided by 100."),
    "buyer_risk": Limit("0.0001 or more and at most 0.5", (0, 0.5000001, 10), "A percentage is divided by 100."),
    "lot_cards": Limit("1 or more and at most 1000000 cards", (0, 0.9999999, 1_000_001)),
    "false_fraction": Limit("0 or more and at most 1", (-0.001, 1.0000001, 10), "A percentage is divided by 100."),
    "probes": Limit("1 or more probes", (0, 0.9999999)),
    "good_fraction": INNER_SHARE,
    "below_fraction": INNER_SHARE,
    "recorded_fraction": FRACTION,
    "usable_fraction": FRACTION,
    "events_per_h": Limit("0 or more an hour", (-0.001,)),
    "event_s": SECONDS,
    "pre_roll_s": SECONDS,
    "post_roll_s": SECONDS,
    "hours": Limit("0 or more h", (-0.001,)),
    "retention_h": Limit("above 0 h", (0,)),
    "rated_h": Limit("above 0 h", (0,)),
    "life_years": Limit("above 0 years", (0,)),
    "endurance_tbw": Limit("above 0 TB", (0,)),
    "pe_cycles": Limit("above 0 cycles", (0,)),
    "write_amplification": Limit("1 or more", (0, 0.9999999)),
    "erase_count_before": Limit("0 or more cycles", (-0.001,)),
    "erase_count_after": Limit("0 or more cycles", (-0.001,)),
    "erase_count_step": Limit("0 or more cycles", (-0.001,)),
    "counted_gb": Limit("above 0 and at most 4000 GB", (0, 64000)),
    "host_written_gb": Limit("above 0 GB", (0,)),
    "host_step_gb": Limit("0 or more GB", (-0.001,)),
    "host_written_tb": Limit("above 0 TB", (0,)),
    "write_mbyte_s": Limit("0 or more Mbyte/s", (-0.001,)),
    "stall_s": SECONDS,
    "burst_mb": MEGABYTES,
    "buffer_mb": MEGABYTES,
    "update_s": SECONDS,
    "update_every_mb": Limit("above 0 MB", (0,)),
    "speed_margin": Limit("above 0", (0,)),
    "width_px": Limit("above 0 pixels", (0,)),
    "height_px": Limit("above 0 pixels", (0,)),
    "frame_rate_fps": Limit("above 0 frames/s", (0,)),
    "key_frame_interval_s": Limit("above 0 s", (0,)),
    "key_frame_bits_per_pixel": Limit("above 0 bits/pixel", (0,)),
    "other_frame_bits_per_pixel": Limit("0 or more bits/pixel", (-0.001,)),
    "spare_ratio": Limit("0.0001 or more and at most 100", (0, 0.00009, 101)),
    "pages_per_block": Limit("2 or more pages", (1, 1.9999999)),
    "hot_write_fraction": Limit("0 or more and at most 1", (-0.001, 1.0000001, 80), "A percentage is divided by 100."),
    "hot_page_fraction": INNER_SHARE,
    "hot_spare_fraction": INNER_SHARE,
    "static_fraction": Limit("0 or more and at most 0.999999", (-0.001, 1, 20)),
    "update_interval_s": SOME_SECONDS,
    "segment_s": SOME_SECONDS,
    "update_places": Limit("0 or more", (-0.001,)),
    "pages_per_place": ONE_OR_MORE,
    "files_open": ONE_OR_MORE,
    "open_units": ONE_OR_MORE,
    "chunk_kib": Limit("above 0 KiB", (0,)),
    "unit_mib": Limit("above 0 and at most 1024 MiB", (0, 4096)),
    "page_kib": Limit("above 0 KiB", (0,)),
}


# Nine and eight tenths of these are whole still, or longer than a frame.
WITH_ROOM = {
    "lot_cards": 100.0,
    "bad_cards": 20.0,
    "probes": 10.0,
    "k": 10.0,
    "n": 20.0,
    "cards": 20.0,
    "batches": 10.0,
    "values": 20.0,
    "failures": 10.0,
    "key_frame_interval_s": 2.0,
}


def numbers_of_a_call(name: str) -> dict[str, float]:
    """Give each argument its number in a good call, or in another check, else its default.

    A number that is not 0 is taken where there is one: at 0 a change of the number would not be seen.
    """
    call = {}
    for argument in single_numbers(QUANTITIES[name]):
        stated = [check.inputs[argument] for check in (GOOD_CALLS[name], *CHECKS) if argument in check.inputs]
        default = inspect.signature(QUANTITIES[name]).parameters[argument].default
        usual = [] if default is inspect.Parameter.empty else [default]
        value = next((float(number) for numbers in [*stated, *usual] for number in np.ravel(numbers) if number), 0.0)
        value = WITH_ROOM.get(argument, value)
        call[argument] = max(value, 2.0) if LIMITS[argument].allowed.startswith("1 or more") else value
    return call


CALLS = {
    name: numbers_of_a_call(name)
    for name, function in QUANTITIES.items()
    if single_numbers(function) and name not in TESTED_BESIDE_THEIR_MODEL
}
# The length of a clip asks for events, where the other functions take none at all.
LIMIT_OF_A_CLIP = {"events_per_h": Limit("above 0 an hour", (0,))}
# Of a lot that is not wanted some card is bad.
LIMIT_OF_A_BAD_LOT = {"bad_cards": Limit("1 or more cards", (0, 0.9999999))}

BAD_FOR_ALL = [float("nan"), float("inf"), -float("inf"), -1.0, "4", "four", None, True, {}, 4 + 0j]
ELEMENTWISE = [name for name in CALLS if name != "mean_recorded_fraction"]
FACTORS = np.array([1.0, 0.9, 0.8])


def each_argument(names):
    """Try a test on every argument of some functions, one test a function; a failure names the argument."""

    def of_all(test):
        @pytest.mark.parametrize("name", names)
        def of_one_function(name):
            for argument in CALLS[name]:
                try:
                    test(name, argument)
                except BaseException as error:
                    error.add_note(f"argument: {argument}")
                    raise

        of_one_function.__name__ = test.__name__
        return of_one_function

    return of_all


def limit_of(name: str, argument: str) -> Limit:
    of_function = {"mean_clip_s": LIMIT_OF_A_CLIP, "cards_for_lot": LIMIT_OF_A_BAD_LOT}
    return of_function.get(name, {}).get(argument, LIMITS[argument])


def with_unit(number: float | str, allowed: str) -> str:
    """Write a number with the unit in which what is allowed is said, the words after its last number."""
    words = re.split(r"[\d.]+(?: or more)?", allowed)[-1]
    return f"{number}{words}"


def results(name: str, **changed) -> list:
    """Call a function with its good values and some changed; give its results, one or two, as a list."""
    result = QUANTITIES[name](**{**CALLS[name], **changed})
    return list(result) if isinstance(result, tuple) else [result]


def refusal(name: str, **changed) -> InputError:
    with pytest.raises(InputError) as caught:
        results(name, **changed)
    assert len(caught.value.faults) == 1
    assert str(caught.value) == str(caught.value.faults[0])
    return caught.value


def test_every_function_is_found_and_what_is_tested_beside_its_model_would_be_found_here():
    assert len(CALLS) > len(TESTED_BESIDE_THEIR_MODEL)
    assert {"retention_h", "life_years", "write_amplification_camera", "backfill_h"} <= set(CALLS)
    assert all(single_numbers(QUANTITIES[name]) for name in TESTED_BESIDE_THEIR_MODEL)


@pytest.mark.parametrize("name", CALLS)
def test_scalars_give_a_float(name):
    for scalar in (float, np.float64, np.array):
        for result in results(name, **{argument: scalar(value) for argument, value in CALLS[name].items()}):
            assert isinstance(result, float)


@each_argument(ELEMENTWISE)
def test_a_row_of_numbers_gives_what_each_number_alone_gives(name, argument):
    row = CALLS[name][argument] * FACTORS
    alone = [results(name, **{argument: float(value)}) for value in row]
    for kind in (list, tuple, np.array):
        together = results(name, **{argument: kind(row)})
        assert all(isinstance(result, np.ndarray) for result in together)
        np.testing.assert_allclose(np.transpose(together), alone, rtol=1e-14)


@each_argument(ELEMENTWISE)
def test_a_series_keeps_its_index(name, argument):
    row = CALLS[name][argument] * FACTORS
    index = pd.Index(["gate", "mast", "ramp"], name="camera")
    by_array = results(name, **{argument: row})
    by_series = results(name, **{argument: pd.Series(row, index=index)})
    for series, array in zip(by_series, by_array, strict=True):
        pd.testing.assert_series_equal(series, pd.Series(array, index=index), check_names=False)


@pytest.mark.parametrize("name", ELEMENTWISE)
def test_several_series_of_one_table_go_together(name):
    table = pd.DataFrame({argument: value * FACTORS for argument, value in CALLS[name].items()}, index=list("abc"))
    if "write_amplification" in table:
        table["write_amplification"] = 1 + FACTORS
    arrays = results(name, **{argument: table[argument].to_numpy() for argument in table})
    for series, array in zip(results(name, **dict(table.items())), arrays, strict=True):
        pd.testing.assert_series_equal(series, pd.Series(array, index=table.index), check_names=False)


@each_argument(ELEMENTWISE)
def test_a_column_meets_rows(name, argument):
    column = CALLS[name][argument] * FACTORS[:, np.newaxis]
    rows = {other: np.full(2, value) for other, value in CALLS[name].items() if other != argument}
    crossed = results(name, **{argument: column}, **rows)
    alone = results(name, **{argument: column[:, 0]})
    for result, expected in zip(crossed, alone, strict=True):
        assert result.shape == ((3, 2) if rows else (3, 1))
        assert result == pytest.approx(np.broadcast_to(expected[:, np.newaxis], result.shape), rel=1e-14)


@each_argument(CALLS)
def test_the_given_array_is_left_as_it_was(name, argument):
    row = CALLS[name][argument] * FACTORS
    given = row.copy()
    for result in results(name, **{argument: given}):
        assert not np.shares_memory(result, given)
    assert given.tolist() == row.tolist()


@each_argument(CALLS)
def test_what_is_no_finite_number_of_the_kind_is_refused(name, argument):
    allowed = limit_of(name, argument).allowed
    for bad in BAD_FOR_ALL:
        found = f"{bad:g}" if isinstance(bad, float) else repr(bad)
        found = with_unit(found, allowed) if bad == -1.0 else found
        message = f"^{argument}: is {re.escape(found)}; must be {re.escape(allowed)}\\."
        with pytest.raises(InputError, match=message) as caught:
            results(name, **{argument: bad})
        (fault,) = caught.value.faults
        assert (fault.where, fault.found, fault.allowed) == (argument, found, allowed)


@each_argument(CALLS)
def test_what_is_out_of_range_is_refused_with_value_range_and_mend(name, argument):
    limit = limit_of(name, argument)
    for bad in limit.out:
        error = refusal(name, **{argument: bad})
        assert str(error).startswith(f"{argument}: is {with_unit(bad, limit.allowed)}; must be {limit.allowed}.")
        assert limit.mend in error.faults[0].mend


@each_argument(CALLS)
def test_no_number_at_all_is_refused(name, argument):
    for empty in ([], (), np.empty(0), np.empty((3, 0)), pd.Series(dtype=float)):
        assert str(refusal(name, **{argument: empty})).startswith(f"{argument}: found no number; allowed: ")


@each_argument(CALLS)
def test_one_bad_number_among_thousands_is_refused_and_shown(name, argument):
    for bad in (float("nan"), -1.0):
        numbers = np.full(5000, CALLS[name][argument])
        numbers[4321] = bad
        for kind in (np.array, pd.Series, list):
            error = refusal(name, **{argument: kind(numbers)})
            shown = with_unit(f"{bad:g}", limit_of(name, argument).allowed) if bad == -1.0 else "nan"
            assert str(error).startswith(f"{argument}: is {shown}; must be ")


@pytest.mark.parametrize("name", CALLS)
def test_shapes_that_do_not_fit_are_refused_and_each_is_shown(name):
    for first, second in combinations(CALLS[name], 2):
        two, three = np.full(2, CALLS[name][first]), np.full(3, CALLS[name][second])
        error = refusal(name, **{first: two, second: three})
        assert error.faults[0].where == "shapes"
        assert f"{first} (2,)" in error.faults[0].found
        assert f"{second} (3,)" in error.faults[0].found
        assert error.faults[0].allowed == "shapes that numpy can broadcast together"


NO_ARGUMENT = {
    "a minute": np.timedelta64(1, "m"),
    "nanoseconds": np.timedelta64(60, "ns"),
    "nanoseconds in a list": [np.timedelta64(60, "ns"), np.timedelta64(60, "ns")],
    "an array of seconds": np.array([1, 2], dtype="timedelta64[s]"),
    "a Series of seconds": pd.Series(pd.to_timedelta([1, 2], unit="s")),
    "a Timedelta": pd.Timedelta(1, "min"),
    "a timedelta": datetime.timedelta(hours=1),
    "a day": np.datetime64("2026-03-15"),
    "a Timestamp": pd.Timestamp("2026-03-15"),
    "an integer beyond float": 10**400,
    "such a negative one in a list": [1.0, -(10**400)],
    "an integer that Python does not write": 10**5000,
    "a truth value": True,
    "an array of truth values": np.array([True, False]),
    "a complex number": 1 + 2j,
    "an array of complex numbers": np.array([1 + 2j]),
    "masked entries": np.ma.masked_array([1.0, 2.0], mask=[False, True]),
    "an array of words": np.array(["mp4", "mkv"]),
    "an unknown word": "zzz",
    "a table": pd.DataFrame({"gate": [1.0, 2.0]}),
    "lists of unequal length": [[1.0], [1.0, 2.0], [1.0, 2.0, 3.0]],
    "the masked entry": np.ma.masked,
    "a thing": object(),
}
# A number of a law, a stream and a mark are called by what they are in the list that was given.
CALLED = {
    "streams_mbit_s": "stream 1",
    "marks": "marks?",
    "numbers": r"numbers|repair_\w+|work_h|visit_delay_h|(Uniform|Triangular|Lognormal)(\.\w+)?|Samples|median|cv",
    "names": "names(, cvs)?",
}


def good_call(name: str, **changed):
    function = QUANTITIES[name]
    spread, named = split(function, GOOD_CALLS[name].inputs)
    (star,) = [p.name for p in inspect.signature(function).parameters.values() if p.kind is p.VAR_POSITIONAL] or [""]
    if star in changed:
        spread = [changed.pop(star)]
    return function(*spread, **{**named, **changed})


@pytest.mark.parametrize("name", sorted(QUANTITIES))
def test_what_is_neither_number_nor_word_nor_card_is_refused_by_the_name_of_its_argument(name):
    for argument in inspect.signature(QUANTITIES[name]).parameters:
        for what, bad in NO_ARGUMENT.items():
            with pytest.raises(InputError) as caught:
                good_call(name, **{argument: bad})
            where = caught.value.faults[0].where
            assert re.fullmatch(CALLED.get(argument, argument), where), f"{argument}, {what}: {caught.value}"


@pytest.mark.parametrize("name", sorted(CALLS))
def test_two_series_with_unlike_labels_are_refused_and_both_are_named(name):
    for first, second in combinations(CALLS[name], 2):
        for labels in (["mast", "ramp", "gate"], ["gate", "mast", "quay"]):
            one = pd.Series(CALLS[name][first] * FACTORS, index=["gate", "mast", "ramp"])
            other = pd.Series(CALLS[name][second] * FACTORS, index=labels)
            error = refusal(name, **{first: one, second: other})
            assert {first, second} == set(error.faults[0].where.split(" and ")), error
            assert error.faults[0].allowed == "the same labels in the same order"


@pytest.mark.parametrize("name", ["retention_h", "life_years"])
def test_a_span_of_time_is_told_in_which_unit_a_number_is_wanted(name):
    argument = {"retention_h": "capacity_gb", "life_years": "endurance_tbw"}[name]
    unit = {"retention_h": "GB", "life_years": "TB"}[name]
    assert str(refusal(name, **{argument: np.timedelta64(1, "m")})).endswith(f"Fix: Give a number in {unit}.")


def test_a_minute_is_no_second_and_its_argument_says_so():
    message = "event_s: is np.timedelta64(1,'m'); must be 0 or more s. Fix: Give a number in s."
    assert str(refusal("kept_s", event_s=np.timedelta64(1, "m"))) == message


def test_a_masked_array_without_a_masked_entry_is_an_array():
    capacity_gb = np.ma.masked_array([32.0, 64.0], mask=[False, False])
    (result,) = results(
        "retention_h", capacity_gb=capacity_gb, bitrate_mbit_s=4, recorded_fraction=0.5, usable_fraction=0.9
    )
    assert type(result) is np.ndarray
    # 32 GB at 4 Mbit/s for half of the time with 90 % usable: 17.78 h x 0.9 / 0.5 = 32 h.
    assert result.tolist() == pytest.approx([32.0, 64.0])


@pytest.mark.parametrize("name", [name for name in QUANTITIES if name != "total_mbit_s"])
def test_no_answer_pairs_two_series_by_their_places_alone(name):
    # Functions of a law and answers of several parts too: what they give has no labels, so that nobody would notice.
    inputs, paired = {**GOOD_CALLS[name].inputs}, []
    numbers = [key for key, value in inputs.items() if isinstance(value, float | int) and not isinstance(value, bool)]
    for one, other in combinations(numbers, 2):
        series = pd.Series([inputs[one]] * 2, index=["gate", "yard"])
        exchanged = pd.Series([inputs[other]] * 2, index=["yard", "gate"])
        with suppress(InputError):
            QUANTITIES[name](**{**inputs, one: series, other: exchanged})
            paired.append((one, other))
    assert paired == []
