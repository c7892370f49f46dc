"""Registers put together field by field, by the bit numbers of the specification, decode to these fields again.

The published dumps stand among the outside check values, ``edgestore/verification/checks/registers``.
"""

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from made_registers import closed, register

from edgestore import InputError
from edgestore.models.registers import (
    crc7,
    decoded_cid,
    decoded_csd,
    decoded_emmc_cid,
    decoded_emmc_csd,
    decoded_scr,
    decoded_sd_status,
    emmc_life,
    register_crc7,
)
from edgestore.models.registers.csd import SDXC_BYTES, SECTOR_BYTES


def of_bits(count: int) -> st.SearchStrategy[int]:
    return st.integers(0, 2**count - 1)


@given(of_bits(8), st.text("ABCXYZ019 ", min_size=5, max_size=5), of_bits(32), of_bits(8), st.integers(0, 15))
def test_an_identification_decodes_to_the_fields_it_was_made_of(maker, name, serial, year, month):
    letters = int.from_bytes(name.encode(), "big")
    fields = {(127, 120): maker, (119, 104): 0x4142, (103, 64): letters, (63, 56): 0x5A, (55, 24): serial}
    fields[23, 20] = 0b1111
    cid = decoded_cid(closed(register(128, {**fields, (19, 12): year, (11, 8): month})))
    assert (cid.manufacturer_id, cid.oem_id, cid.product_name) == (maker, "AB", name.rstrip())
    assert (cid.revision, cid.serial, cid.reserved, cid.crc.state) == ("5.a", serial, 0b1111, "right")
    assert (cid.manufacturing_year, cid.manufacturing_month) == (2000 + year, month)


def test_a_letter_that_cannot_be_printed_is_told_as_a_question_mark():
    # BEL, A, DEL, a letter beyond ASCII and a blank, which is no more shown than the blanks at the end.
    name = int.from_bytes(b"\x07A\x7f\xe9 ", "big")
    assert decoded_cid(register(128, {(103, 64): name})).product_name == "?A??"


@given(of_bits(12), of_bits(3), of_bits(4))
def test_the_capacity_of_version_1_is_blocks_times_their_length(c_size, c_size_mult, read_bl_len):
    fields = {(127, 126): 0, (83, 80): read_bl_len, (73, 62): c_size, (49, 47): c_size_mult}
    csd = decoded_csd(register(128, fields))
    assert csd.capacity_bytes == (c_size + 1) * 2 ** (c_size_mult + 2) * 2**read_bl_len
    assert (csd.version, csd.family, csd.read_block_bytes) == (1, "SDSC", 2**read_bl_len)


@given(of_bits(22))
@example(65_534)
@example(65_535)
def test_the_capacity_of_version_2_counts_512_kib_and_tells_sdhc_from_sdxc(c_size):
    csd = decoded_csd(register(128, {(127, 126): 1, (69, 48): c_size}))
    assert csd.capacity_bytes == (c_size + 1) * 524_288
    assert csd.family == ("SDXC" if c_size >= 65_535 else "SDHC")  # 65 536 x 512 KiB = 2^35 bytes


@given(of_bits(28))
def test_the_capacity_of_version_3_has_six_bits_more(c_size):
    csd = decoded_csd(register(128, {(127, 126): 2, (75, 48): c_size}))
    assert (csd.version, csd.capacity_bytes, csd.family) == (3, (c_size + 1) * 524_288, "SDUC")


def test_an_sdxc_card_has_67_108_864_sectors_of_512_bytes_or_more():
    # Section 5.3.3 counts them in sectors, of 512 bytes each.
    assert SDXC_BYTES == 67_108_864 * SECTOR_BYTES == 2**35


def test_the_bus_rate_of_a_line_stands_in_eight_bits():
    # TRAN_SPEED of 25, 50, 100 and 200 Mbit/s; 0x5B is reserved (section 5.3.2).
    rates = {0x32: 25, 0x5A: 50, 0x0B: 100, 0x2B: 200, 0x5B: None}
    for beside in (0, 1):  # the bit of NSAC next to it
        told = [decoded_csd(register(128, {(103, 96): code, (104, 104): beside})) for code in rates]
        assert [(csd.bus_code, csd.bus_mbit_s) for csd in told] == list(rates.items())


def test_a_structure_that_the_specification_leaves_open_has_no_capacity():
    csd = decoded_csd("c" + 31 * "0")
    assert (csd.structure_code, csd.version, csd.capacity_bytes, csd.family) == (3, None, None, "")


# Numbers and flags that a register holds as they are, by the bits that the specification gives them: the sources are
# those of the decoders. Of an eMMC: the fields that the Linux kernel reads in mmc_decode_cid and mmc_decode_csd.
PLACES = {
    decoded_cid: (128, {"manufacturer_id": (127, 120), "serial": (55, 24), "manufacturing_month": (11, 8)}),
    decoded_csd: (
        128,
        {
            **{"structure_code": (127, 126), "bus_code": (103, 96), "erases_single_blocks": (46, 46)},
            **{"is_copy": (14, 14), "is_write_protected": (13, 13), "is_write_protected_for_now": (12, 12)},
        },
    ),
    decoded_scr: (64, {"structure_code": (63, 60), "ones_after_erase": (55, 55)}),
    decoded_sd_status: (
        512,
        {
            **{"is_secured": (509, 509), "card_type_code": (495, 480), "protected_area_bytes": (479, 448)},
            **{"move_mbyte_s": (439, 432), "unit_code": (431, 428), "erase_units": (423, 408)},
            **{"erase_timeout_s": (407, 402), "erase_offset_s": (401, 400), "uhs_unit_code": (395, 392)},
            **{"queue_depth": (335, 331), "has_cache": (330, 330), "discards": (313, 313)},
            "erases_in_full": (312, 312),
        },
    ),
    decoded_emmc_cid: (
        128,
        {
            **{"manufacturer_id": (127, 120), "oem_id": (111, 104), "serial": (47, 16)},
            "manufacturing_month": (15, 12),
        },
    ),
    decoded_emmc_csd: (
        128,
        {
            **{"structure_code": (127, 126), "specification_code": (125, 122)},
            **{"is_write_protected": (13, 13), "is_write_protected_for_now": (12, 12)},
        },
    ),
}


@pytest.mark.parametrize("decode", PLACES)
def test_a_field_is_read_from_its_own_bits_and_from_no_others(decode):
    width, fields = PLACES[decode]
    for name, (high, low) in fields.items():
        most = 2 ** (high - low + 1) - 1
        assert getattr(decode(register(width, {(high, low): most})), name) == most
        others = {(place, place): 1 for place in range(width) if not low <= place <= high}
        assert getattr(decode(register(width, others)), name) == 0


# What a field tells when its own bits are 0, with all others 1: by decoder and name the bits that it is made of. A
# capacity is made of several, and of the code of its version, which comes first here with its number.
V1, V2, V3 = {(127, 126): 0}, {(127, 126): 1}, {(127, 126): 2}
OF_ZEROS = {
    (decoded_cid, "oem_id"): ({(119, 104): 0}, ""),
    (decoded_cid, "product_name"): ({(103, 64): 0}, ""),
    (decoded_cid, "revision"): ({(63, 56): 0}, "0.0"),
    (decoded_cid, "reserved"): ({(23, 20): 0}, 0),
    (decoded_cid, "manufacturing_year"): ({(19, 12): 0}, 2000),
    (decoded_csd, "bus_mbit_s"): ({(103, 96): 0}, None),
    (decoded_csd, "command_classes"): ({(95, 84): 0}, ()),
    (decoded_csd, "read_block_bytes"): ({(83, 80): 0}, 1),
    (decoded_csd, "write_block_bytes"): ({(25, 22): 0}, 1),
    (decoded_csd, "erase_sector_bytes"): ({(45, 39): 0, (25, 22): 0}, 1),
    (decoded_csd, "capacity_bytes", 1): (V1 | {(83, 80): 0, (73, 62): 0, (49, 47): 0}, 4),
    (decoded_csd, "capacity_bytes", 2): (V2 | {(69, 48): 0}, 512 * 1024),
    (decoded_csd, "capacity_bytes", 3): (V3 | {(75, 48): 0}, 512 * 1024),
    (decoded_scr, "security"): ({(54, 52): 0}, "none"),
    (decoded_scr, "bus_widths_bits"): ({(50, 50): 0, (48, 48): 0}, ()),
    (decoded_scr, "commands"): ({(35, 32): 0}, ()),
    (decoded_sd_status, "bus_width_bits"): ({(511, 510): 0}, 1),
    (decoded_sd_status, "speed_mark"): ({(447, 440): 0}, ""),
    (decoded_sd_status, "unit_bytes"): ({(431, 428): 0}, None),
    (decoded_sd_status, "uhs_mark"): ({(399, 396): 0}, ""),
    (decoded_sd_status, "uhs_unit_bytes"): ({(395, 392): 0}, None),
    (decoded_sd_status, "video_mark"): ({(391, 384): 0}, ""),
    (decoded_sd_status, "video_unit_bytes"): ({(377, 368): 0}, None),
    (decoded_sd_status, "application_mark"): ({(339, 336): 0}, ""),
    (decoded_emmc_cid, "device_type"): ({(113, 112): 0}, "removable card"),
    (decoded_emmc_cid, "product_name"): ({(103, 56): 0}, ""),
    (decoded_emmc_cid, "revision"): ({(55, 48): 0}, "0.0"),
    (decoded_emmc_cid, "manufacturing_years"): ({(11, 8): 0}, (1997, 2013, 2029)),
    (decoded_emmc_csd, "command_classes"): ({(95, 84): 0}, ()),
    (decoded_emmc_csd, "capacity_bytes"): ({(83, 80): 0, (73, 62): 0, (49, 47): 0}, 4),
    (decoded_emmc_csd, "read_block_bytes"): ({(83, 80): 0}, 1),
    (decoded_emmc_csd, "write_block_bytes"): ({(25, 22): 0}, 1),
    (decoded_emmc_csd, "erase_group_bytes"): ({(46, 42): 0, (41, 37): 0, (25, 22): 0}, 1),
}


@pytest.mark.parametrize("field", OF_ZEROS, ids=lambda field: " ".join([field[0].__name__, *map(str, field[1:])]))
def test_what_stands_beside_a_field_does_not_change_it(field):
    (decode, name, *_), (own, told) = field, OF_ZEROS[field]
    width = PLACES[decode][0]
    others = {(place, place): 1 for place in range(width) if not any(low <= place <= high for high, low in own)}
    assert getattr(decode(register(width, own | others)), name) == told


@given(of_bits(4), of_bits(7), of_bits(12))
def test_blocks_and_classes_of_an_sd_card_are_powers_counts_and_flags(write_bl_len, sector, classes):
    # SECTOR_SIZE counts from 0 in blocks of 2^WRITE_BL_LEN; CCC has a bit for each class.
    csd = decoded_csd(register(128, {(25, 22): write_bl_len, (45, 39): sector, (95, 84): classes}))
    assert (csd.write_block_bytes, csd.erase_sector_bytes) == (2**write_bl_len, (sector + 1) * 2**write_bl_len)
    assert csd.command_classes == tuple(place for place in range(12) if classes & 1 << place)


@given(of_bits(12), of_bits(3), of_bits(4), of_bits(4), of_bits(5), of_bits(5))
def test_an_emmc_has_its_capacity_and_erase_group_from_their_fields(size, mult, read_len, write_len, group, groups):
    # (C_SIZE + 1) 2^(C_SIZE_MULT + 2) 2^READ_BL_LEN; C_SIZE 0xFFF: the EXT_CSD has it.
    # (ERASE_GRP_SIZE + 1) (ERASE_GRP_MULT + 1) 2^WRITE_BL_LEN
    fields = {
        (73, 62): size,
        (49, 47): mult,
        (83, 80): read_len,
        (25, 22): write_len,
        (46, 42): group,
        (41, 37): groups,
    }
    csd = decoded_emmc_csd(register(128, {**fields, (95, 84): 0b1000_0000_0001}))
    assert csd.capacity_bytes == (None if size == 0xFFF else (size + 1) * 2 ** (mult + 2 + read_len))
    assert csd.erase_group_bytes == (group + 1) * (groups + 1) * 2**write_len
    assert (csd.read_block_bytes, csd.write_block_bytes, csd.command_classes) == (2**read_len, 2**write_len, (0, 11))


def test_the_capacity_of_a_large_emmc_is_not_in_its_csd():
    assert decoded_emmc_csd(register(128, {(73, 62): 0xFFF})).capacity_bytes is None
    assert decoded_emmc_csd(register(128, {(73, 62): 0xFFE})).capacity_bytes == 4095 * 4


def test_an_emmc_is_told_by_its_mounting_its_revision_and_each_round_of_years():
    # CBX 0, 1, 2; PRV 0x5A; MDT year codes by the kernel's table for EXT_CSD revisions up to 4, 5 to 8, 9 and above:
    # 0 is 1997, 2013, 2029; 9 is 2006, 2022, 2038; 12 is 2009, 2025; 13 is 2010, 2026; 15 is 2012, 2028.
    mounted = [decoded_emmc_cid(register(128, {(113, 112): code})).device_type for code in range(4)]
    assert mounted == ["removable card", "BGA (soldered)", "package on package", "reserved (code 0x3)"]
    made = [decoded_emmc_cid(register(128, {(11, 8): code})).manufacturing_years for code in (0, 9, 12, 13, 15)]
    assert made == [(1997, 2013, 2029), (2006, 2022, 2038), (2009, 2025), (2010, 2026), (2012, 2028)]
    name = int.from_bytes(b"ABC12 ", "big")
    cid = decoded_emmc_cid(closed(register(128, {(103, 56): name, (55, 48): 0x5A})))
    assert (cid.product_name, cid.revision, cid.crc.state) == ("ABC12", "5.a", "right")


@given(st.binary(min_size=15, max_size=15), st.integers(0, 119))
def test_each_flipped_bit_of_a_register_makes_its_checksum_wrong_or_missing(message, place):
    digits = closed(message.hex() + "00")
    flipped = f"{int(digits, 16) ^ 1 << 8 + place:032x}"
    assert register_crc7(digits).state == "right"
    assert register_crc7(flipped).state in ({"wrong"} if register_crc7(flipped).stored else {"not available"})


@pytest.mark.parametrize("digits", ["", "400", "40 00", "0x40"])
def test_what_is_no_whole_bytes_has_no_checksum(digits):
    told = f"message_hex: is {digits!r}; must be hexadecimal digits, two for each byte."
    with pytest.raises(InputError) as refused:
        crc7(digits)
    assert str(refused.value) == f"{told} Fix: Leave out spaces, 0x and colons."


def test_digits_count_the_same_in_capitals():
    assert crc7("0123456789abcdefABCDEF") == crc7("0123456789ABCDEFabcdef") == crc7("0123456789abcdefabcdef")


def test_a_register_that_is_cut_off_is_refused_by_its_name_with_the_digits_that_it_has():
    told = "status_hex: found 126 hexadecimal digits; allowed: 128 hexadecimal digits."
    with pytest.raises(InputError) as refused:
        decoded_sd_status("0" * 126)
    assert str(refused.value) == f"{told} Fix: Copy the whole register; each byte has two digits."


def test_a_stored_0_that_does_not_fit_is_missing_and_not_wrong():
    digits = "02544d5341303447113533890900d371"
    states = {ending: register_crc7(digits[:-2] + ending).state for ending in ("71", "70", "00", "01", "73")}
    assert states == {"71": "right", "70": "right", "00": "not available", "01": "not available", "73": "wrong"}


# Of the tables in section 4.10.2: the code of each mark that is defined.
DEFINED = {
    "speed_mark": ((447, 440), {0: "", 1: "C2", 2: "C4", 3: "C6", 4: "C10"}),
    "uhs_mark": ((399, 396), {0: "", 1: "U1", 3: "U3"}),
    "video_mark": ((391, 384), {0: "", 6: "V6", 10: "V10", 30: "V30", 60: "V60", 90: "V90"}),
    "application_mark": ((339, 336), {0: "", 1: "A1", 2: "A2"}),
}


@pytest.mark.parametrize("field", DEFINED)
def test_a_code_is_its_mark_and_each_other_code_is_told_as_reserved_with_its_number(field):
    bits, defined = DEFINED[field]
    for code in range(2 ** (bits[0] - bits[1] + 1)):
        told = getattr(decoded_sd_status(register(512, {bits: code})), field)
        assert told == defined.get(code, f"reserved (code 0x{code:X})")


def test_the_allocation_units_are_those_of_the_table():
    # 16 KiB doubled to 8 MiB in codes 1 to A, then 12, 16, 24, 32 and 64 MiB.
    kib = [16, 32, 64, 128, 256, 512, 1024, 2048, 4096, 8192, 12288, 16384, 24576, 32768, 65536]
    for code, size in enumerate(kib, start=1):
        status = decoded_sd_status(register(512, {(431, 428): code, (395, 392): code}))
        assert (status.unit_code, status.unit_bytes) == (code, size * 1024)
        assert status.uhs_unit_bytes == (size * 1024 if code >= 7 else None)
    assert decoded_sd_status(128 * "0").unit_bytes is None


def test_the_data_lines_in_use_are_one_or_four():
    # DAT_BUS_WIDTH 00 and 10; 01 and 11 are reserved (section 4.10.2).
    told = [decoded_sd_status(register(512, {(511, 510): code})).bus_width_bits for code in range(4)]
    assert told == [1, None, 4, None]


def test_the_configuration_tells_its_copy_protection_its_data_lines_and_its_commands_by_their_codes():
    # Section 5.6: SD_SECURITY 5 to 7 are reserved; SD_BUS_WIDTHS has bit 48 for one line and bit 50 for four;
    # CMD_SUPPORT from bit 32 on: CMD20, CMD23, CMD48/49, CMD58/59.
    secured = [decoded_scr(register(64, {(54, 52): code})).security for code in range(6)]
    assert secured == ["none", "not used", "SDSC", "SDHC", "SDXC", "reserved (code 0x5)"]
    widths = [decoded_scr(register(64, {(51, 48): code})).bus_widths_bits for code in (0b0001, 0b0100, 0b0101)]
    assert widths == [(1,), (4,), (1, 4)]
    commands = [decoded_scr(register(64, {(35, 32): code})).commands for code in (1, 2, 4, 8, 9)]
    assert commands == [("CMD20",), ("CMD23",), ("CMD48/49",), ("CMD58/59",), ("CMD20", "CMD58/59")]


@given(of_bits(16), of_bits(6), of_bits(2), of_bits(10), of_bits(5), st.booleans())
def test_the_erase_figures_and_the_later_fields_stand_in_their_places(units, timeout, offset, video, depth, flag):
    fields = {(423, 408): units, (407, 402): timeout, (401, 400): offset, (377, 368): video, (335, 331): depth}
    status = decoded_sd_status(register(512, {**fields, (330, 330): flag, (313, 313): flag, (312, 312): flag}))
    assert (status.erase_units, status.erase_timeout_s, status.erase_offset_s) == (units, timeout, offset)
    assert (status.queue_depth, status.video_unit_bytes) == (depth, video * 1024 * 1024 or None)
    assert {status.has_cache, status.discards, status.erases_in_full} == {flag}


# Table 5-19 as read in the shared facts, 8 and 9 from memory: SD_SPEC, SD_SPEC3, SD_SPEC4, SD_SPECX.
VERSIONS = {
    (0, 0, 0, 0): "1.0",
    (1, 0, 0, 0): "1.10",
    (2, 0, 0, 0): "2.00",
    (2, 1, 0, 0): "3.0",
    (2, 1, 1, 0): "4",
    (2, 1, 0, 1): "5",
    (2, 1, 1, 1): "5",
    (2, 1, 0, 2): "6",
    (2, 1, 1, 3): "7",
    (2, 1, 0, 4): "8",
    (2, 1, 0, 5): "9",
    (2, 1, 0, 6): "reserved (codes 2, 1, 0, 6)",
    (2, 0, 0, 1): "reserved (codes 2, 0, 0, 1)",
    (2, 1, 0, 9): "reserved (codes 2, 1, 0, 9)",
    (3, 0, 0, 0): "reserved (codes 3, 0, 0, 0)",
}


@pytest.mark.parametrize("codes", VERSIONS)
def test_the_version_of_the_specification_is_told_by_four_fields_together(codes):
    places = [(59, 56), (47, 47), (42, 42), (41, 38)]
    fields = dict(zip(places, codes, strict=True))
    assert decoded_scr(register(64, fields)).version == VERSIONS[codes]
    between = {(place, place): 1 for place in range(64) if not any(low <= place <= high for high, low in places)}
    assert decoded_scr(register(64, fields | between)).version == VERSIONS[codes]


def test_the_life_used_of_an_emmc_is_told_in_tenths_and_what_is_beyond_as_such():
    told = [emmc_life(f"0x{code:02x} 0x00").used_a for code in range(13)]
    assert told[0] == "not defined"
    assert told[1:4] == ["0 to 10 %", "10 to 20 %", "20 to 30 %"]
    assert told[10:] == ["90 to 100 %", "above 100 %", "reserved (code 0xC)"]
    spare = [emmc_life("0x01 0x01", code).pre_end_of_life for code in ("0x00", "0x01", "0x02", "0x03", "0x04", "0x10")]
    assert spare == ["not defined", "normal", "warning", "urgent", "reserved (code 0x4)", "reserved (code 0x10)"]


def test_the_codes_of_an_emmc_are_hexadecimal_in_either_case_and_each_stands_for_its_own_memory():
    # 0x1F is 31 and 0x10 is 16; 0x0A is 10, the last tenth.
    life = emmc_life(" 0x1f  0X0A\n", "0x10")
    assert (life.used_a_code, life.used_b_code, life.pre_end_of_life_code) == (31, 10, 16)
    assert (life.used_a, life.used_b) == ("reserved (code 0x1F)", "90 to 100 %")
    turned = emmc_life("0x0a 0x1F")
    assert (turned.used_a_code, turned.used_b_code, turned.pre_end_of_life_code) == (10, 31, 0)


@pytest.mark.parametrize("decode", [*PLACES, register_crc7])
@pytest.mark.parametrize("bad", ["", "0", "02 54", "0x02544d53", "g" * 32, "0" * 31, "0" * 34, "\u0663" * 32, None, 7])
def test_what_is_not_the_digits_of_the_register_is_refused(decode, bad):
    with pytest.raises(InputError, match="hexadecimal digits"):
        decode(bad)


@pytest.mark.parametrize(
    "bad", ["", "0x01", "1 2", "0x01 0x02 0x03", "0x001 0x02", "0x01 0xzz", "0x01\u00a00x02", None, 7]
)
def test_life_codes_that_linux_does_not_write_are_refused(bad):
    with pytest.raises(InputError) as refused:
        emmc_life(bad)
    assert str(refused.value) == f"life_time: is {bad!r}; must be two codes as 0x01 0x02."


@pytest.mark.parametrize("bad", ["", "1", "0x01 0x02", "0x001", "0xzz", None, 7])
def test_a_code_of_spare_blocks_that_linux_does_not_write_is_refused(bad):
    with pytest.raises(InputError) as refused:
        emmc_life("0x01 0x01", bad)
    assert str(refused.value) == f"pre_eol_info: is {bad!r}; must be a code as 0x01."
