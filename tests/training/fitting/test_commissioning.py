"""A card gets into the service log after all checks, whole or not at all; what was in the log stays to the letter."""

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.checks import InputError
from edgestore.inputs.service_log import read_service_log
from edgestore.training.fitting.cautions import CAUTIONS
from edgestore.training.fitting.commissioning import CHECKS, Fitted, entered, record

TODAY = date(2026, 11, 25)
DONE = [check.key for check in CHECKS]
QUAY = Fitted("Quay", "plain 64 GB", date(2026, 11, 24), "A-0001")
OLD = (
    b'camera,card,fitted,removed,why,mine\n"Quay",plain 64 GB,2025-03-01,,,"two\nlines"\n\n'
    b"Ramp,plain 64 GB,2024-06-01,2025-06-01,failed,\n"
)


def test_the_checks_asked_for_are_there_in_order():
    # The serial number is read before the card is in its slot, and the photo taken before the housing is shut.
    asked = "noted photographed closed seen formatted mode time network_lost played restarted"
    assert asked.split() == DONE
    assert {key for check in CHECKS for key in check.cautions} <= set(CAUTIONS)


def test_a_new_log_has_the_header_and_the_card():
    new = entered(QUAY, DONE, None, TODAY)
    assert new == b"camera,card,fitted,removed,why,serial\nQuay,plain 64 GB,2026-11-24,,,A-0001\n"
    assert read_service_log(new, TODAY).notes == ()


def test_an_old_log_is_kept_to_the_letter_and_the_card_added():
    yard = Fitted("Yard", "plain 64 GB", date(2026, 11, 24))
    assert entered(yard, DONE, OLD, TODAY) == OLD + b"Yard,plain 64 GB,2026-11-24,,,\n"


def test_a_card_in_service_is_taken_out_with_its_reason_and_nothing_else_changes():
    swap = Fitted("Quay", "long-life 64 GB", date(2026, 11, 24), why_removed="planned")
    new = entered(swap, DONE, OLD, TODAY)
    assert (
        new
        == OLD.replace(
            b'"Quay",plain 64 GB,2025-03-01,,,"two\nlines"',
            b'Quay,plain 64 GB,2025-03-01,2026-11-24,planned,"two\nlines"',
        )
        + b"Quay,long-life 64 GB,2026-11-24,,,\n"
    )
    assert read_service_log(new, TODAY).rows["why"].tolist() == ["planned", "failed", ""]


@pytest.mark.parametrize("camera", ["Quay", "quay", "QUAY"])
def test_a_camera_that_has_a_card_in_service_is_refused_without_a_reason(camera):
    with pytest.raises(InputError, match=r"a card in service since 2025-03-01 \(plain 64 GB\); .*Say why"):
        entered(Fitted(camera, "plain 64 GB", date(2026, 11, 24)), DONE, OLD, TODAY)


def test_a_reason_without_a_card_in_service_is_refused():
    with pytest.raises(InputError, match=r"camera 'Ramp': found no card that could be taken out \(failed\)"):
        entered(Fitted("Ramp", "plain", date(2026, 11, 24), why_removed="failed"), DONE, OLD, TODAY)
    with pytest.raises(InputError, match="no card that could be taken out"):
        entered(Fitted("Ramp", "plain", date(2026, 11, 24), why_removed="failed"), DONE, None, TODAY)


SERIALS = (
    b"camera,card,fitted,removed,why,serial\nQuay,plain 64 GB,2025-03-01,,,A-0001\n"
    b"Ramp,plain 64 GB,2024-06-01,2025-06-01,planned,B-0002\nShed,plain 64 GB,2024-06-01,,,\n"
)


@pytest.mark.parametrize("serial", ["A-0001", "a-0001"])
@pytest.mark.parametrize(("camera", "why"), [("Yard", ""), ("Quay 2", ""), ("Quay", ""), ("Quay", "planned")])
def test_a_serial_in_service_is_refused_with_the_camera_the_day_and_what_to_do(camera, why, serial):
    said = (
        r"serial '[Aa]-0001': found in service in camera 'Quay' since 2025-03-01 \(plain 64 GB\); allowed: the"
        r" serial of a card that is in no camera.*moved: then first enter.*taken out and why"
    )
    with pytest.raises(InputError, match=said):
        entered(Fitted(camera, "plain 64 GB", date(2026, 11, 24), serial, why), DONE, SERIALS, TODAY)


@pytest.mark.parametrize("serial", ["", "B-0002", "A-0002"])
def test_a_serial_that_is_in_no_camera_is_taken(serial):
    new = entered(Fitted("Yard", "plain 64 GB", date(2026, 11, 24), serial), DONE, SERIALS, TODAY)
    assert new == SERIALS + f"Yard,plain 64 GB,2026-11-24,,,{serial}\n".encode()


def test_two_cards_in_service_in_one_camera_are_left_to_the_reader():
    log = b"camera,card,fitted\nQuay,a,2025-01-01\nQuay,b,2025-01-02\n"
    with pytest.raises(InputError, match="2 cards in service"):
        entered(Fitted("Quay", "c", date(2026, 1, 1), why_removed="failed"), DONE, log, TODAY)


@pytest.mark.parametrize("key", DONE)
def test_one_open_check_keeps_a_card_out_of_the_log(key):
    title = next(check.title for check in CHECKS if check.key == key)
    with pytest.raises(InputError, match=f"^{title}: found not ticked"):
        entered(QUAY, [k for k in DONE if k != key], None, TODAY)


def test_all_faults_of_an_entry_are_told_together():
    wrong = Fitted("", "=1+1", date(2027, 1, 1), "a\nb", "lost")
    with pytest.raises(InputError) as told:
        entered(wrong, DONE[1:], None, TODAY)
    wheres = [fault.where for fault in told.value.faults]
    assert wheres == [CHECKS[0].title, "camera", "card", "serial", "fitted", "why removed"]


@pytest.mark.parametrize("name", ["", "   ", "a\tb", "x" * 101, "@cmd", "-1", "+1", " Quay", "a\u202eb"])
def test_a_name_that_no_log_should_hold_is_refused(name):
    with pytest.raises(InputError, match=r"^camera: found"):
        entered(Fitted(name, "plain", date(2026, 1, 1)), DONE, None, TODAY)


def test_an_unknown_check_is_refused():
    with pytest.raises(InputError, match="check: is 'sean'"):
        entered(QUAY, [*DONE, "sean"], None, TODAY)


def test_a_log_with_faults_is_refused_with_all_of_them():
    log = b"camera,card,fitted,removed,why\nQuay,plain,2025-13-01,,\nRamp,,2025-01-01,2025-02-01,\n"
    with pytest.raises(InputError) as told:
        entered(QUAY, DONE, log, TODAY)
    assert len(told.value.faults) == 3


def test_a_card_put_in_on_the_day_the_old_one_was_fitted_is_refused():
    with pytest.raises(InputError, match="removed after fitted"):
        entered(Fitted("Quay", "b", date(2025, 3, 1), why_removed="failed"), DONE, OLD, TODAY)


def test_a_log_without_the_columns_needed_is_refused_and_told_which():
    log = b"camera,card,fitted\nQuay,a,2025-01-01\n"
    with pytest.raises(InputError, match=r"no column serial.*or leave the serial empty"):
        entered(Fitted("Yard", "a", date(2026, 1, 1), "7"), DONE, log, TODAY)
    with pytest.raises(InputError, match="no column removed, why"):
        entered(Fitted("Quay", "a", date(2026, 1, 1), why_removed="failed"), DONE, log, TODAY)


@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize(("delimiter", "end"), [(",", "\n"), (";", "\r\n"), ("\t", "\n")])
def test_separators_line_ends_and_encoding_are_kept(codec, delimiter, end):
    rows = [["camera", "card", "fitted", "removed", "why"], ["Kai süd", "plain", "2025-01-01", "", ""]]
    log = "".join(delimiter.join(row) + end for row in rows).encode(codec)
    new = entered(Fitted("Höhe", "a", date(2026, 1, 1)), DONE, log, TODAY)
    added = delimiter.join(["Höhe", "a", "2026-01-01", "", ""]) + end
    assert new == log + added.encode({"utf-8-sig": "utf-8", "utf-16": "utf-16-le"}.get(codec, codec))


def test_a_last_line_without_an_end_gets_one():
    assert entered(Fitted("Yard", "a", date(2026, 1, 1)), DONE, OLD[:-1], TODAY).endswith(
        b"failed,\nYard,a,2026-01-01,,,\n"
    )


def test_letters_that_the_log_cannot_hold_are_refused():
    log = "camera,card,fitted\nKai süd,a,2025-01-01\n".encode("cp1252")
    with pytest.raises(InputError, match="letters that Windows-1252 cannot hold"):
        entered(Fitted("\u0416", "a", date(2026, 1, 1)), DONE, log, TODAY)


printable = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=20).filter(
    lambda text: not text.startswith(("=", "+", "-", "@"))
)


@given(printable, printable, printable)
def test_what_was_entered_is_what_the_reader_reads(camera, card, serial):
    new = entered(Fitted(camera, card, date(2026, 1, 1), serial), DONE, OLD.replace(b"mine", b"serial"), TODAY)
    last = read_service_log(new, TODAY).rows.iloc[-1]
    assert (last["camera"], last["card"], last["serial"]) == (camera, card, serial)


def test_the_file_is_written_whole(tmp_path):
    log = tmp_path / "log.csv"
    assert record(QUAY, DONE, log, TODAY) == log
    assert [path.name for path in tmp_path.iterdir()] == ["log.csv"]
    assert len(read_service_log(log, TODAY).rows) == 1


def test_a_refused_entry_leaves_the_file_as_it_was(tmp_path):
    log = tmp_path / "log.csv"
    log.write_bytes(OLD)
    for fitted, done, message in (
        (QUAY, DONE, r"log\.csv, camera 'Quay': found a card in service since 2025-03-01"),
        (Fitted("Yard", "a", date(2026, 1, 1)), DONE[1:], r"^[^:]*: found not ticked; allowed: ticked\."),
    ):
        with pytest.raises(InputError, match=message):
            record(fitted, done, log, TODAY)
        assert log.read_bytes() == OLD
    assert [path.name for path in tmp_path.iterdir()] == ["log.csv"]


def test_a_folder_in_place_of_the_log_and_a_file_in_place_of_its_folder_are_refused(tmp_path):
    (tmp_path / "file").write_bytes(b"")
    for log, found in ((tmp_path, "a folder"), (tmp_path / "file" / "log.csv", "file exists")):
        with pytest.raises(InputError, match=f"^{re.escape(str(log))}: found {found}; allowed: a "):
            record(QUAY, DONE, log, TODAY)
    assert [path.name for path in tmp_path.iterdir()] == ["file"]


def test_the_folder_of_a_new_log_is_made(tmp_path):
    assert record(QUAY, DONE, tmp_path / "site" / "log.csv", TODAY).is_file()
