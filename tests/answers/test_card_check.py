"""The verdict on a checked card, from what a check measured; the checks themselves are tests/inputs/bench."""

import pytest

from edgestore.answers.card_check import Label, Verdict, Weight, checked_card, label_of
from edgestore.inputs.bench.check import FULL, QUICK, ROOM_BYTES, CardCheck, Run
from edgestore.inputs.bench.fill import Ended, Range, ReadBack
from edgestore.inputs.bench.pace import Recorded
from edgestore.inputs.bench.pattern import BLOCK_BYTES, Fault, Wrong
from edgestore.inputs.bench.probes import Probed
from edgestore.text import NO_BREAK

SIZE_BYTES = 64 * 10**9


def reasons(mode=FULL, label=None, **measured):
    check = CardCheck("card", mode, True, SIZE_BYTES, SIZE_BYTES, is_removed=True, **measured)
    return {reason.name: reason.weight for reason in checked_card(check, label or Label()).reasons}


@pytest.mark.parametrize(
    ("mean", "slowest", "weight"),
    [(40, 30, None), (40, 29.9, Weight.LEAVES_OPEN), (29.9, 20, Weight.REFUSES), (30, 20, Weight.LEAVES_OPEN)],
)
def test_a_card_of_30_mbyte_s_is_slower_than_its_marks_below_that(mean, slowest, weight):
    found = reasons(label=Label(min_write_mbyte_s=30), runs=(Run(10**9, mean, slowest, 0.1),))
    assert found.get("slower than its marks") == weight


def test_a_quick_check_that_came_to_no_probe_says_nothing_of_probes():
    assert {"quick", "beginning only"}.isdisjoint(reasons(QUICK))


GB = 10**9


def told(mode=FULL, label=None, peak_mbit_s=None, size=SIZE_BYTES, asked=SIZE_BYTES, says=(), **measured):
    """The verdict, and each reason by its name with its words."""
    measured = {"is_direct": True, "is_removed": True, **measured}
    check = CardCheck("card", mode, size_bytes=size, asked_bytes=asked, **measured)
    found = checked_card(check, label or Label(), peak_mbit_s, says=says)
    return found.verdict, {reason.name: reason.text.replace(NO_BREAK, " ") for reason in found.reasons}


def read_back(fault, wrong_gb, **found):
    """All 64 GB read, with so many of them wrong."""
    first = Range(fault.value, 32 * GB, 40 * GB, **found)
    return ReadBack(64 * GB, {fault.value: wrong_gb * GB}, [first])


@pytest.mark.parametrize(
    ("read", "name", "text"),
    [
        (
            read_back(Fault.WRAPPED, 32, distance_bytes=-32 * GB),
            "addresses repeat",
            "Of 64 GB written, 32 GB came back: the card's addresses repeat after 32 GB, and what is written beyond"
            " takes the place of older footage. Its true capacity is about that.",
        ),
        (
            read_back(Fault.LOST, 48),
            "loses footage",
            "Of 64 GB written, 16 GB came back: 48 GB is empty. Its true capacity is about 16 GB.",
        ),
        (
            read_back(Fault.CORRUPT, 1, bits=5),
            "changes footage",
            "Of 64 GB written, 63 GB came back: 1 GB differs, in 5 bits or more.",
        ),
        (
            read_back(Fault.UNREADABLE, 2),
            "cannot be read",
            "Of 64 GB written, 62 GB came back: 2 GB cannot be read.",
        ),
    ],
)
def test_a_card_that_does_not_give_back_what_was_written_is_refused_with_how_much(read, name, text):
    verdict, found = told(read=read)
    assert verdict is Verdict.REFUSED
    assert found[name] == text
    assert "sound" not in found


def test_a_card_that_gives_all_back_is_accepted():
    verdict, found = told(read=ReadBack(64 * GB), bytes_written=64 * GB, label=Label(64, None, 3000))
    assert verdict is Verdict.ACCEPTED
    assert found == {
        "sound": "All 64 GB that was written came back as written.",
        "wear": "The check cost the card 1 full write of some 3 000.",
        "cache": "Written and read past the cache.",
    }


def test_what_a_check_leaves_behind_and_how_it_read_is_told_and_changes_no_verdict():
    verdict, found = told(
        read=ReadBack(64 * GB), is_direct=False, is_removed=False, bytes_written=16 * GB, label=Label(64)
    )
    assert verdict is Verdict.ACCEPTED
    assert found["cache"].endswith("each write waiting for the card, the cache dropped before reading.")
    assert found["left"] == "The files of the check could not be removed from the card."
    assert found["wear"] == "The check cost the card 0.25 full writes."


def test_places_that_did_not_keep_what_was_written_are_counted_once_each():
    # Three wrong blocks at two of 66 places, 64 GB / 66 apart: 3 %.
    spacing = 64 * GB // 66
    wrong = [Wrong(spacing * place // BLOCK_BYTES + 1, Fault.LOST) for place in (5, 5, 9)]
    verdict, found = told(QUICK, probed=Probed(66, wrong, spacing))
    assert verdict is Verdict.REFUSED
    assert found["false places"] == "2 places of 66 did not keep what was written: some 3 % of the card is false."
    assert "quick" not in found


def test_a_quick_check_says_with_which_chance_it_misses_a_false_card():
    # 0.5^20 is below 0.1 %; 0.9^20 = 12.2 %.
    verdict, found = told(QUICK, probed=Probed(20, [], GB))
    assert verdict is Verdict.UNDECIDED
    assert found["quick"].startswith(
        "All 20 places kept what was written. Such a look misses a false card: one of which 50 % is false with a chance"
        " below 0.1 %, one of which 10 % is false with a chance of 12.2 %."
    )
    # 0.9^40 = 1.5 %; 0.9^66 is below 0.1 %.
    for places, chance in ((40, "of 1.5 %"), (66, "below 0.1 %")):
        _, found = told(QUICK, probed=Probed(places, [], GB))
        assert f"one of which 10 % is false with a chance {chance}." in found["quick"]


def test_places_that_were_tried_are_not_told_as_a_beginning_alone_nor_a_full_check_as_a_quick_look():
    runs = (Run(4 * GB, 40, 30, 0.1),)
    _, found = told(QUICK, probed=Probed(20, [], GB), read=ReadBack(4 * GB), bytes_written=4 * GB, runs=runs)
    assert "beginning only" not in found
    verdict, found = told(FULL, probed=Probed(20, [], GB), read=ReadBack(64 * GB))
    assert verdict is Verdict.ACCEPTED
    assert "quick" not in found


def test_a_check_that_wrote_nothing_cost_the_card_nothing():
    _, found = told(label=Label(64))
    assert "wear" not in found


def test_addresses_that_repeat_beyond_the_ranges_that_are_kept_are_left_to_the_other_faults():
    read = ReadBack(64 * GB, {Fault.LOST.value: 8 * GB, Fault.WRAPPED.value: 8 * GB}, [Range(Fault.LOST.value, 0, GB)])
    verdict, found = told(read=read)
    assert verdict is Verdict.REFUSED
    assert "loses footage" in found
    assert "addresses repeat" not in found


def test_the_verdict_is_told_with_its_first_reason():
    check = CardCheck("card", FULL, True, SIZE_BYTES, SIZE_BYTES, is_removed=True, read=ReadBack(64 * GB))
    told_ = checked_card(check, Label(64)).sentence.replace(NO_BREAK, " ")
    assert told_ == "Accepted: All 64 GB that was written came back as written."


def test_a_card_without_a_label_is_accepted_as_sound_and_not_as_what_its_label_says():
    check = CardCheck("card", FULL, True, SIZE_BYTES, SIZE_BYTES, is_removed=True, read=ReadBack(64 * GB))
    sound, labelled = checked_card(check), checked_card(check, Label(64))
    assert (sound.verdict, sound.told, labelled.told) == (Verdict.ACCEPTED, "accepted as sound", "accepted")
    assert sound.question == "Does this card keep what is written to it?"
    assert labelled.question == "Is this card what its label says?"
    assert sound.sentence.replace(NO_BREAK, " ") == (
        "Accepted as sound: All 64 GB that was written came back as written. No label was compared."
    )
    assert {reason.name for reason in sound.reasons} - {reason.name for reason in labelled.reasons} == {"no label"}


def test_a_card_that_is_refused_without_a_label_is_not_called_sound():
    sound = checked_card(CardCheck("card", FULL, True, SIZE_BYTES, SIZE_BYTES, ended=Ended.FAILED))
    assert sound.told == "refused"
    assert sound.sentence.endswith("No label was compared.")


def test_a_card_list_says_what_is_printed_on_a_card():
    listed = b"card,capacity_gb,speed_class,endurance_tbw,pe_cycles\nplain,64,C10 U3,,3000\nother,32,C10,9,\n"
    assert label_of(listed, "plain") == Label(64, 30, 3000)  # U3 promises 30 Mbyte/s
    assert label_of(listed, "other") == Label(32, 10, None)


@pytest.mark.parametrize(
    ("ended", "verdict", "words"),
    [
        (Ended.FULL, Verdict.REFUSED, "The card was full after 16 GB of 64 GB that it said was free."),
        (Ended.TAKEN, Verdict.UNDECIDED, "There was no room left after 16 GB of 64 GB"),
        (Ended.READ_ONLY, Verdict.REFUSED, "The card took no more writes after 16 GB of 64 GB"),
        (Ended.GONE, Verdict.UNDECIDED, "The card was gone after 16 GB of 64 GB"),
        (Ended.FAILED, Verdict.REFUSED, "The card refused a write after 16 GB of 64 GB."),
    ],
)
def test_a_check_that_ended_early_says_after_how_much_and_whether_that_is_the_card(ended, verdict, words):
    found, reasons = told(ended=ended, bytes_written=16 * GB, read=ReadBack(16 * GB))
    assert found is verdict
    assert any(text.startswith(words) for text in reasons.values())
    assert "sound" not in reasons


@pytest.mark.parametrize(("size_gb", "is_small"), [(57.6, False), (57.5, True)])
def test_a_file_system_of_less_than_nine_tenths_of_the_label_is_too_small(size_gb, is_small):
    _, found = told(size=int(size_gb * GB), asked=int(size_gb * GB), label=Label(64))
    assert ("too small" in found) == is_small


@pytest.mark.parametrize(("asked_gb", "verdict"), [(57.7, Verdict.ACCEPTED), (57.3, Verdict.UNDECIDED)])
def test_a_check_of_less_than_nine_tenths_of_the_card_proves_nothing_of_the_rest(asked_gb, verdict):
    # Besides some room for the check itself, below 0.3 GB.
    found, reasons = told(asked=int(asked_gb * GB), read=ReadBack(int(asked_gb * GB)))
    assert found is verdict
    assert ("not all tried" in reasons) == (verdict is Verdict.UNDECIDED)


def test_nine_tenths_of_the_card_with_the_room_for_the_check_itself_are_enough():
    just = 576 * GB // 10 - ROOM_BYTES
    assert told(asked=just, read=ReadBack(just))[0] is Verdict.ACCEPTED
    assert told(asked=just - 1, read=ReadBack(just - 1))[0] is Verdict.UNDECIDED


@pytest.mark.parametrize(("peak_mbit_s", "is_slow"), [(160, False), (161, True), (None, False)])
def test_a_card_slower_in_some_second_than_the_cameras_peak_is_refused(peak_mbit_s, is_slow):
    # 20 Mbyte/s are 160 Mbit/s.
    verdict, found = told(peak_mbit_s=peak_mbit_s, runs=(Run(GB, 40, 20, 0.1),), read=ReadBack(64 * GB))
    assert (verdict is Verdict.REFUSED) == is_slow
    assert ("too slow for the camera" in found) == is_slow


@pytest.mark.parametrize(("stall_s", "is_told"), [(1.0, False), (1.1, True)])
def test_a_stall_or_a_delay_of_more_than_a_second_is_told(stall_s, is_told):
    measured = {"runs": (Run(GB, 40, 20, stall_s),), "recorded": Recorded(60, GB, stall_s, 12.0)}
    verdict, found = told(read=ReadBack(64 * GB), **measured)
    assert (verdict is Verdict.UNDECIDED) == is_told
    assert ({"stalls", "behind the camera"} <= set(found)) == is_told
    if is_told:
        assert "was 1.1 s behind at worst, and 12 MB waited" in found["behind the camera"]


def test_where_places_could_not_be_tried_the_beginning_alone_is_told_with_the_time_of_a_full_check():
    # 4 of 64 GB; to write and read 64 000 MB at 40 Mbyte/s takes 3200 s, 53.3 min.
    read, runs = ReadBack(4 * GB), (Run(4 * GB, 40, 30, 0.1),)
    verdict, found = told(QUICK, read=read, bytes_written=4 * GB, runs=runs)
    assert verdict is Verdict.UNDECIDED
    assert "Only the first 4 GB were tried, 6.2 % of the free space" in found["beginning only"]
    assert found["beginning only"].endswith("that takes some 53.3 min at this speed.")


def test_registers_that_disagree_leave_the_verdict_open():
    verdict, found = told(read=ReadBack(64 * GB), says=("The capacity is another.",))
    assert (verdict, found["registers disagree"]) == (Verdict.UNDECIDED, "The capacity is another.")
