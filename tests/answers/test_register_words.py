"""Each field of a register in words, from registers put together bit by bit: all bits 0, and fields that say something.

The bits are those of the tables of the specification, as the decoders cite them.
"""

import pytest
from made_registers import closed, register

from edgestore.answers.registers import _of_cid, _of_csd, _of_emmc_cid, _of_emmc_csd, _of_life, _of_scr, _of_status
from edgestore.models.registers import (
    decoded_cid,
    decoded_csd,
    decoded_emmc_cid,
    decoded_emmc_csd,
    decoded_scr,
    decoded_sd_status,
    emmc_life,
)


def plain(words: dict[str, str]) -> dict[str, str]:
    return {field: value.replace("\N{NO-BREAK SPACE}", " ") for field, value in words.items()}


def test_an_empty_status_says_none_and_not_told():
    assert plain(_of_status(decoded_sd_status("0" * 128))) == {
        **dict.fromkeys(("speed class", "UHS grade", "video class", "application class"), "none"),
        **dict.fromkeys(("allocation unit", "UHS allocation unit", "video allocation unit"), "not told"),
        "erase time-out": "not told",
        "protected area": "0 (bytes on SDHC and larger cards)",
        **dict.fromkeys(("cache", "command queue", "discard"), "no"),
    }


def test_a_status_says_its_marks_units_and_what_it_can():
    fields = {(447, 440): 4, (399, 396): 3, (391, 384): 30, (339, 336): 2, (431, 428): 9, (395, 392): 7, (377, 368): 8}
    fields |= {(423, 408): 2, (407, 402): 5, (401, 400): 1, (479, 448): 50_331_648, (335, 331): 1}
    status = decoded_sd_status(register(512, {**fields, (330, 330): 1, (313, 313): 1}))
    # Unit codes 9 and 7: 4 MiB and 1 MiB; the video class has its unit in MiB.
    assert plain(_of_status(status)) == {
        **{"speed class": "C10", "UHS grade": "U3", "video class": "V30", "application class": "A2"},
        **{"allocation unit": "4 MiB", "UHS allocation unit": "1 MiB", "video allocation unit": "8 MiB"},
        "erase time-out": "5 s for 2 units, and 1 s",
        "protected area": "50 331 648 (bytes on SDHC and larger cards)",
        **{"cache": "yes", "command queue": "1 command", "discard": "yes"},
    }


@pytest.mark.parametrize("fields", [{(423, 408): 2}, {(407, 402): 5}])
def test_an_erase_time_out_without_units_or_without_time_is_not_told(fields):
    assert _of_status(decoded_sd_status(register(512, fields)))["erase time-out"] == "not told"


@pytest.mark.parametrize(("month", "told"), [(0, None), (1, "01"), (12, "12"), (13, None)])
def test_a_month_is_told_by_its_number_and_a_code_that_is_none_as_a_code(month, told):
    cid = _of_cid(decoded_cid(register(128, {(19, 12): 24, (11, 8): month})))
    assert cid["month of manufacture"] == (f"{told}/2024" if told else f"month code {month} of 2024")
    # Year codes 5, 10 and 13 by the three columns of the kernel's table: revisions up to 4, 5 to 8, 9 and above.
    emmc = _of_emmc_cid(decoded_emmc_cid(register(128, {(15, 12): month, (11, 8): 5})))["month of manufacture"]
    code = told or f"code {month}"
    newer, newest = (f" if its EXT_CSD has revision {revision} or more" for revision in (5, 9))
    assert emmc == f"{code}/2002; {code}/2018{newer}; {code}/2034{newest}"
    late = _of_emmc_cid(decoded_emmc_cid(register(128, {(15, 12): month, (11, 8): 13})))["month of manufacture"]
    assert late == f"{code}/2010; {code}/2026{newest}"


def test_an_identification_says_its_numbers_in_hexadecimal():
    name = int.from_bytes(b"AB12 ", "big")
    fields = {(127, 120): 5, (119, 104): 0x4142, (103, 64): name, (63, 56): 0x12, (55, 24): 0xAB}
    words = plain(_of_cid(decoded_cid(closed(register(128, fields)))))
    assert (words["maker's number (MID)"], words["maker's letters (OID)"], words["product name"]) == (
        "0x05",
        "AB",
        "AB12",
    )
    assert (words["revision"], words["serial number"], words["checksum"]) == ("1.2", "0x000000ab", "right")
    emmc = _of_emmc_cid(decoded_emmc_cid(closed(register(128, {(127, 120): 5, (111, 104): 7, (47, 16): 0xAB}))))
    assert (emmc["maker's number (MID)"], emmc["maker's code (OID)"], emmc["serial number"]) == (
        *("0x05", "0x07"),
        "0x000000ab",
    )
    assert (emmc["built in as (CBX)"], emmc["product name"], emmc["revision"]) == ("removable card", "", "0.0")


PROTECTED = [
    ({}, "no"),
    ({(12, 12): 1}, "for now"),
    ({(13, 13): 1}, "for ever"),
    ({(13, 13): 1, (12, 12): 1}, "for ever"),
]


@pytest.mark.parametrize(("fields", "told"), PROTECTED)
def test_a_card_is_write_protected_for_ever_for_now_or_not(fields, told):
    assert _of_csd(decoded_csd(register(128, fields)))["write-protected"] == told
    assert _of_emmc_csd(decoded_emmc_csd(register(128, fields)))["write-protected"] == told


def test_a_card_says_its_capacity_family_bus_and_erase_sector():
    # C_SIZE 61 055 in version 2: 61 056 x 524 288 bytes = 32.01 GB; TRAN_SPEED 0x5A 50 Mbit/s; 128 blocks of 512 bytes.
    fields = {
        (127, 126): 1,
        (69, 48): 61_055,
        (103, 96): 0x5A,
        (95, 84): 0b101,
        (45, 39): 127,
        (25, 22): 9,
        (14, 14): 1,
    }
    assert plain(_of_csd(decoded_csd(closed(register(128, fields))))) == {
        **{"version": "2", "capacity": "32.01 GB (32 010 928 128 bytes)", "family": "SDHC"},
        **{"bus rate of a line": "50 Mbit/s, no write speed", "command classes": "0, 2", "erase sector": "64 KiB"},
        **{"marked as a copy": "yes", "write-protected": "no", "checksum": "right"},
    }
    reserved = plain(_of_csd(decoded_csd(register(128, {(127, 126): 3, (103, 96): 0x5B}))))
    assert (reserved["version"], reserved["capacity"], reserved["family"]) == (
        "reserved (code 3)",
        "not decoded",
        "not known",
    )
    assert (reserved["bus rate of a line"], reserved["command classes"]) == ("reserved (code 0x5B)", "none")
    assert (reserved["marked as a copy"], reserved["erase sector"]) == ("no", "1 bytes")


def test_an_emmc_says_its_capacity_where_its_csd_has_it_and_its_erase_group():
    # (4094 + 1) x 2^(7 + 2) x 2^9 bytes = 1.073 GB; 2 x 4 blocks of 512 bytes.
    size = {(73, 62): 4094, (49, 47): 7, (83, 80): 9}
    words = plain(_of_emmc_csd(decoded_emmc_csd(register(128, {**size, (46, 42): 1, (41, 37): 3, (25, 22): 9}))))
    assert words["capacity"] == "1.073 GB (1 073 479 680 bytes)"
    assert (words["erase group"], words["command classes"]) == ("4 KiB", "none")
    large = _of_emmc_csd(decoded_emmc_csd(register(128, {(73, 62): 0xFFF, (95, 84): 0b11})))
    assert (large["capacity"], large["command classes"]) == ("above 2 GB; its EXT_CSD has it", "0, 1")


@pytest.mark.parametrize(("length", "told"), [(9, "512 bytes"), (10, "1 KiB"), (19, "512 KiB"), (20, "1 MiB")])
def test_an_erase_sector_is_told_in_the_largest_unit_that_it_fills(length, told):
    # One block of 2^WRITE_BL_LEN bytes, which goes to 2^15: 2^(19 - 15) and 2^(20 - 15) blocks of these.
    fields = {(25, 22): min(length, 15), (45, 39): 2 ** max(length - 15, 0) - 1}
    assert _of_csd(decoded_csd(register(128, fields)))["erase sector"] == told


def test_a_configuration_says_its_lines_its_blank_and_its_commands():
    empty = {"specification version": "1.0", "copy protection of": "none", "data lines": "none"}
    assert plain(_of_scr(decoded_scr("0" * 16))) == {**empty, "erased data reads as": "0", "commands": "none"}
    fields = {(59, 56): 2, (47, 47): 1, (54, 52): 4, (51, 48): 0b0101, (55, 55): 1, (35, 32): 0b0011}
    assert plain(_of_scr(decoded_scr(register(64, fields)))) == {
        **{"specification version": "3.0", "copy protection of": "SDXC", "data lines": "1 or 4"},
        **{"erased data reads as": "1", "commands": "CMD20, CMD23"},
    }


@pytest.mark.parametrize(
    ("code", "spare"),
    [(1, "normal"), (2, "warning: 80 % of them are used"), (3, "urgent: 90 % of them are used"), (0, "not defined")],
)
def test_an_emmc_says_the_life_used_and_its_spare_blocks(code, spare):
    words = plain(_of_life(emmc_life("0x02 0x01", f"0x{code:02x}")))
    assert words["life used, type A"] == "10 to 20 %, the maker's estimate"
    assert words["life used, type B"] == "0 to 10 %, the maker's estimate"
    assert words["spare blocks"] == spare
