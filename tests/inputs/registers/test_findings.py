"""What registers, label and device do not agree on is told, and a sound card raises no doubt."""

from datetime import date

import pytest
from register_dumps import CATALOGUE, DEVICES, EMMC, LINUX, LOADER, PUBLISHED, RECORDER

from edgestore.inputs.registers import Label, findings, read_registers
from edgestore.models.registers import crc7

TODAY = date(2026, 11, 26)
CID, CSD_32_GB = "02544d5341303447113533890900d371", "400e00325b590000edc87f800a4040c3"
SSR = "ssr: 0000000005000000040090000f051c00" + 96 * "0"  # C10, U1, no video or application class


def closed(digits: str) -> str:
    return f"{digits[:30]}{crc7(digits[:30]) * 2 + 1:02x}"


def found(text: str, label: Label | None = None, device_bytes: int | None = None, today: date = TODAY) -> list:
    return findings(read_registers(text.encode()), label, device_bytes, today=today)


def doubts(*given, **named) -> list[str]:
    return [finding.about for finding in found(*given, **named) if finding.is_doubt]


@pytest.mark.parametrize("name", PUBLISHED)
def test_no_published_card_raises_a_doubt_by_itself(name):
    assert doubts(PUBLISHED[name][0]) == []


SOUND = {
    "64 GB, C10 U3 V30 A2": (LINUX, Label(64, ("C10", "U3", "V30", "A2"))),
    "64 GB, lower marks of the same families": (LINUX, Label(64, ("C4", "U1", "V10", "A1"))),
    "64 GB of a catalogue": (CATALOGUE, Label(64, ("U1",))),
    "16 GB": (DEVICES, Label(16, ())),
    "32 GB": (RECORDER, Label(32, ("C10", "U1", "V10", "A1"))),
    "4.117 GB on 4 GB, version 1": ("csd: 007f00325b5b83ffffffff9296c00000", Label()),
}


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_card_raises_no_doubt_beside_its_label(name):
    text, label = SOUND[name]
    assert doubts(text, label) == []


def test_a_card_of_32_gb_that_is_sold_as_256_gb_is_told_with_both_sizes_and_what_to_do():
    (finding, *_) = found(f"csd: {CSD_32_GB}", Label(256))
    assert finding.about == "capacity"
    # 31 914 983 424 / 256 000 000 000 = 12.5 %
    assert finding.seen.replace("\N{NO-BREAK SPACE}", " ") == (
        "the CSD says 31.91 GB (31 914 983 424 bytes), 12 % of the label's 256 GB"
    )
    assert "read it back" in finding.do
    assert "forg" not in str(finding)


@pytest.mark.parametrize(
    ("capacity_gb", "is_doubt"), [(31.5, False), (32, False), (33.5, False), (34, True), (29, True)]
)
def test_a_label_agrees_from_95_to_108_percent(capacity_gb, is_doubt):
    # 31.915 GB is 95.3 % of 33.5, 93.9 % of 34, 101.3 % of 31.5 and 110.1 % of 29.
    assert bool(doubts(f"csd: {CSD_32_GB}", Label(capacity_gb))) is is_doubt


def test_a_published_card_of_256_gb_with_96_67_percent_agrees():
    # 483 328 000 sectors of 512 bytes: C_SIZE + 1 = 247 463 936 000 / 524 288 = 472 000 = 0x733c0.
    assert doubts("csd: 400e0032db790007 33bf7f800a400000", Label(256)) == []


def test_the_size_of_the_device_is_compared_with_the_register_and_with_the_label():
    assert doubts(f"csd: {CSD_32_GB}", None, 31_914_983_424) == []
    assert doubts(f"csd: {CSD_32_GB}", None, 31_000_000_000) == ["capacity"]
    assert doubts(f"cid: {CID}", Label(64), 31_914_983_424) == ["capacity"]
    assert doubts(f"csd: {CSD_32_GB}", Label(256), 31_914_983_424) == ["capacity"]  # told once


def test_the_size_that_linux_told_when_it_found_the_card_is_compared_to_three_digits():
    started = "mmcblk0: mmc0:0007 SD32G {} GiB\n"
    # 31 914 983 424 / 2^30 = 29.72, which Linux writes as 29.7.
    assert doubts(f"{started.format('29.7')}csd: {CSD_32_GB}", Label(32)) == []
    assert doubts(f"{started.format('14.8')}csd: {CSD_32_GB}", Label(32)) == ["capacity"]
    assert doubts(started.format("29.7"), Label(32)) == []
    assert doubts(started.format("29.7"), Label(256)) == ["capacity"]


@pytest.mark.parametrize("mark", ["U3", "V6", "V30", "A1"])
def test_a_mark_on_the_label_that_the_status_does_not_hold_is_told(mark):
    (finding,) = [finding for finding in found(SSR, Label(32, ("C10", "U1", mark))) if finding.is_doubt]
    assert finding.about == "speed"
    assert mark in finding.seen


def test_a_card_without_its_status_says_nothing_about_marks():
    assert doubts(f"csd: {CSD_32_GB}", Label(32, ("V90",))) == []


FAMILIES = {
    "version 1 with 8 GB": (0x00, {(83, 80): 12, (73, 62): 4095, (49, 47): 7}, True),
    "version 1 with 4 GB": (0x00, {(83, 80): 11, (73, 62): 4095, (49, 47): 7}, False),
    "version 2 with 2 GB": (0x40, {(69, 48): 4095}, True),
    "version 2 with 4 GB": (0x40, {(69, 48): 8191}, False),
    "version 3 with 1 TB": (0x80, {(75, 48): 2**21 - 1}, True),
    "version 3 with 4 TB": (0x80, {(75, 48): 2**23 - 1}, False),
}


@pytest.mark.parametrize("name", FAMILIES)
def test_a_version_that_does_not_hold_such_a_capacity_is_told(name):
    structure, fields, is_doubt = FAMILIES[name]
    value = structure << 120 | 0x32 << 96 | sum(number << low for (_, low), number in fields.items())
    assert doubts(f"csd: {closed(f'{value:032x}')}") == (["family"] if is_doubt else [])


def test_a_reserved_structure_is_told_with_its_code_and_that_an_emmc_has_it():
    (finding,) = [item for item in found("csd: d02701320f5903fff6dbffef8e40400d") if item.about == "family"]
    assert "code 3" in finding.seen
    assert "eMMC" in finding.means


def test_configuration_and_data_of_two_families_are_told():
    # The SCR of an SDSC card (SD_SECURITY 2) beside 31.9 GB.
    assert doubts(f"scr: 0225800000000000\ncsd: {CSD_32_GB}") == ["family"]
    assert doubts(f"scr: 0235800000000000\ncsd: {CSD_32_GB}") == []


def made(year: int, month: int) -> str:
    return closed(f"02544d53413034471135338909{0:01x}{year - 2000:02x}{month:01x}00")


@pytest.mark.parametrize(
    ("year", "month", "is_doubt"),
    [(2026, 11, False), (2026, 12, True), (2027, 1, True), (2000, 1, False), (2019, 0, True), (2019, 13, True)],
)
def test_a_month_that_no_card_can_have_is_told(year, month, is_doubt):
    assert doubts(f"cid: {made(year, month)}") == (["month of manufacture"] if is_doubt else [])


def test_an_sdhc_card_older_than_its_specification_is_told():
    assert doubts(f"cid: {made(2005, 12)}\ncsd: {CSD_32_GB}") == ["month of manufacture"]
    assert doubts(f"cid: {made(2006, 1)}\ncsd: {CSD_32_GB}") == []


@pytest.mark.parametrize("serial", ["00000000", "ffffffff"])
def test_a_serial_number_of_zeros_or_ones_is_told(serial):
    assert doubts(f"cid: {closed(f'02544d534130344711{serial}00d300')}") == ["serial number"]


def test_a_register_of_zeros_or_ones_is_told_as_no_answer():
    for digit in "0f":
        assert "CID" in doubts(f"cid: {32 * digit}")


def test_a_wrong_checksum_is_a_doubt_and_a_missing_one_a_remark():
    assert doubts(f"cid: {CID[:30]}73") == ["checksum of the CID"]
    (finding,) = found(f"cid: {CID[:30]}00")
    assert (finding.about, finding.is_doubt) == ("checksum of the CID", False)
    assert "not available" in finding.means


def test_a_shifted_register_is_a_remark_that_says_so():
    told = {finding.about: finding for finding in found(LOADER)}
    assert "one byte to the right" in told["print of the CID"].seen
    assert not told["print of the CID"].is_doubt


def test_what_linux_says_otherwise_than_the_register_is_told():
    assert doubts(LINUX.replace("date:11/2019", "date:11/2018")) == ["date"]
    assert doubts(LINUX.replace("serial:0x36980065", "serial:0x36980066")) == ["serial"]
    assert doubts(LINUX.replace("size:4194304", "size:8388608")) == ["preferred_erase_size"]


def test_a_write_protected_card_is_told():
    # TMP_WRITE_PROTECT is bit 12, PERM_WRITE_PROTECT bit 13.
    for bit in (12, 13):
        assert doubts(f"csd: {closed(f'{int(CSD_32_GB, 16) | 1 << bit:032x}')}") == ["write protection"]


def test_reserved_codes_are_remarks_with_their_numbers():
    told = [f for f in found("ssr: " + 16 * "0" + "0700" + 108 * "0") if f.about == "speed class"]
    assert [(finding.seen, finding.is_doubt) for finding in told] == [("reserved (code 0x7)", False)]


def test_the_wear_of_an_emmc_is_a_doubt_only_near_its_end():
    assert doubts(EMMC) == []
    for codes in ("0x0b 0x01", "0x01 0x0B"):
        assert doubts(f"life_time: {codes}\npre_eol_info: 0x01") == ["wear"]
    assert doubts("life_time: 0x01 0x01\npre_eol_info: 0x03") == ["wear"]


def test_doubts_stand_before_remarks_and_each_says_all_four_things():
    told = found(LOADER, Label(256, ()))
    assert [finding.is_doubt for finding in told] == sorted((finding.is_doubt for finding in told), reverse=True)
    for finding in told:
        assert all([finding.about, finding.seen, finding.expected, finding.means, finding.do])
