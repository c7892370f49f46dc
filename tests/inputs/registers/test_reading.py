"""Registers are found in whatever way they were printed; what is cut short, doubled or no text is refused in words."""

import os
import random
import sys

import pytest
from register_dumps import CATALOGUE, EMMC, LINUX, LOADER, PUBLISHED, SHELL, STATUS, WORDS

from edgestore.checks import InputError
from edgestore.inputs.registers import findings, read_registers

CID, CSD, SCR = "02544d5341303447113533890900d371", "400e00325b5900001d177f800a40008d", "0235800001000000"
posix = pytest.mark.skipif(sys.platform == "win32", reason="files of POSIX")


def spaced(digits: str, size: int, between: str, before: str = "") -> str:
    return between.join(before + digits[at : at + size] for at in range(0, len(digits), size))


@pytest.mark.parametrize("name", PUBLISHED)
def test_every_published_dump_decodes_as_its_source_says(name):
    text, month, year, serial, size = PUBLISHED[name]
    card = read_registers(text.encode())
    assert (card.cid.manufacturing_month, card.cid.manufacturing_year, card.cid.serial) == (month, year, serial)
    assert card.csd.capacity_bytes == size


FORMS = {
    "plain": CID,
    "upper case": CID.upper(),
    "0x": f"0x{CID}",
    "bytes": spaced(CID, 2, " "),
    "bytes with 0x and commas": spaced(CID, 2, ", ", "0x"),
    "colons": spaced(CID, 2, ":"),
    "words": spaced(CID, 8, " ", "0x"),
    "words with colons": spaced(CID, 8, ":"),
    "quoted": f'"{CID}"',
}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("before", ["cid: ", "CID (raw)     : ", "[    2.1] mmc0: raw_cid=", "* CID register = ", ""])
def test_digits_are_read_with_whatever_stands_between_them(form, before):
    card = read_registers(f"{before}{FORMS[form]}\n".encode())
    assert (card.raw, card.forms) == ({"CID": CID}, {"CID": "whole"})


def test_a_register_goes_on_in_the_lines_below_its_name():
    text = f"SSR:\n{STATUS[:64]}\n{STATUS[64:]}\n\nCID\n\n{CID}\n"
    assert read_registers(text.encode()).raw == {"SSR": STATUS, "CID": CID}
    assert read_registers(SHELL.encode()).cid.crc.state == read_registers(SHELL.encode()).csd.crc.state == "right"


def test_digits_without_a_name_are_told_apart_by_length_and_by_the_bus_rate():
    text = "\n".join([CID, CSD, SCR, STATUS])
    assert read_registers(text.encode()).raw == {"CID": CID, "CSD": CSD, "SCR": SCR, "SSR": STATUS}


def test_a_register_shifted_by_a_byte_is_told_and_put_right():
    # Two boot logs: read as printed they would be of 2000-01 and 2048-01.
    for digits, month, year in (
        ("00ad4c5355534430301038942790018a", 10, 2024),
        ("001b534d454332515430591053230135", 5, 2019),
    ):
        card = read_registers(f"CID: {digits}".encode())
        assert card.forms == {"CID": "shifted"}
        assert (card.cid.manufacturing_month, card.cid.manufacturing_year) == (month, year)
        assert card.cid.crc.state == "not available"


def test_a_data_register_shifted_by_a_byte_is_told_and_one_of_version_1_that_begins_with_00_is_not():
    shifted = read_registers(f"csd: 00{CSD[:-2]}".encode())
    assert (shifted.forms["CSD"], shifted.csd.capacity_bytes) == ("shifted", 3_904_897_024)
    whole = read_registers(b"csd: 002d0032135983c9f6d9cf8016400001")
    assert (whole.forms["CSD"], whole.csd.version) == ("whole", 1)


def test_other_ways_of_printing_are_told_and_put_right():
    for digits, form in ((CID[:-2], "short"), (f"3f{CID}", "led"), (spaced(f"3f{CID}", 2, " "), "led")):
        card = read_registers(f"CID: {digits}".encode())
        assert (card.forms["CID"], card.cid.serial) == (form, 0x35338909)
    assert read_registers(b"SCR: 0x02358487").forms["SCR"] == "half"
    assert read_registers(WORDS.encode()).forms == {"CID": "turned", "CSD": "turned"}
    turned = " ".join([CID[24:], CID[16:24], CID[8:16], CID[:8]])
    assert read_registers(f"cid: {turned}".encode()).forms == {"CID": "turned"}


def test_counts_after_the_name_of_a_register_are_no_register():
    told = f"CSD: ver=2, sector_size=512, capacity=62333952 read_bl_len=9\nCID (2024-10-05): {CID}\n"
    assert read_registers(told.encode()).raw == {"CID": CID}
    with pytest.raises(InputError, match="found no register of a card"):
        read_registers(told.splitlines()[0].encode())


def test_the_line_in_which_linux_tells_that_it_found_a_card_has_its_size():
    card = read_registers(
        b"[    1.9] mmc1: new ultra high speed SDR104 SDXC card\n[    2.0] mmcblk1: mmc1:5048 SD64G 58.0 GiB\n"
    )
    assert card.started_bytes == 58 * 2**30
    assert read_registers(LINUX.encode()).started_bytes is None


def test_what_is_wrong_either_way_stays_as_it_was_printed():
    card = read_registers(f"cid: {CID[:-2]}73".encode())
    assert (card.raw["CID"], card.forms["CID"], card.cid.crc.state) == (f"{CID[:-2]}73", "whole", "wrong")


@pytest.mark.parametrize("digits", range(8, 48, 2))
def test_a_register_of_another_length_is_refused_with_line_and_length(digits):
    text = f"boot\ncid: {(CID + CID)[:digits]}\n"
    if digits in (30, 32):
        assert read_registers(text.encode()).cid.serial == 0x35338909
        return
    with pytest.raises(
        InputError, match=rf"^registers, line 2: found CID with {digits} hexadecimal digits; allowed: 32"
    ):
        read_registers(text.encode())


def test_all_faults_are_told_together():
    text = f"cid: {CID[:20]}\ncsd: {CSD[:12]}\nscr: {SCR}\nssr: {STATUS[:100]}\ncid[0]: 0x1\n"
    with pytest.raises(InputError) as caught:
        read_registers(text.encode(), "boot.log")
    assert [fault.where for fault in caught.value.faults] == [f"boot.log, line {n}" for n in (5, 1, 2, 4)]


def test_two_cards_in_one_text_are_refused_and_the_same_card_twice_is_not():
    with pytest.raises(InputError, match="line 3: found a second CID, which differs from that of line 1"):
        read_registers(f"cid: {CID}\ncsd: {CSD}\ncid: 9f544953443634476136980065013b7e\n".encode())
    assert read_registers(f"cid: {CID}\nCID: {CID.upper()}\n".encode()).raw == {"CID": CID}


def test_a_second_copy_that_is_cut_short_is_told_where_it_differs():
    with pytest.raises(InputError, match="line 2: found a second CID, cut short, which differs from that of line 1"):
        read_registers(f"cid: {CID}\ncid: 9f5449534436344761\n".encode())
    assert read_registers(f"cid: {CID}\ncid: {CID[:18]}\n".encode()).raw == {"CID": CID}


def test_the_wear_of_an_emmc_is_read_from_its_files_from_a_tool_and_from_its_whole_register():
    assert read_registers(EMMC.encode()).life.used_a == "10 to 20 %"
    assert read_registers(b"life_time: 0x02 0x01\npre_eol_info: 0x01\n").life.pre_end_of_life == "normal"
    # Bytes 267, 268 and 269 of 512.
    whole = ["00"] * 512
    whole[267:270] = ["03", "0a", "0b"]
    life = read_registers(f"EXT_CSD:\n{''.join(whole)}".encode()).life
    assert (life.pre_end_of_life_code, life.used_a, life.used_b) == (3, "90 to 100 %", "above 100 %")


def test_the_registers_of_an_emmc_are_not_decoded_as_those_of_an_sd_card():
    card = read_registers(b"cid: 1501004d384731474303dc0db061506f\ncsd: d02701320f5903fff6dbffef8e40400d\ntype: MMC\n")
    assert card.is_emmc
    assert (card.cid, card.csd) == (None, None)
    # name, serial and month as Linux shows them of this one (github armbian/build, pull request 246)
    told = card.emmc_cid.product_name, card.emmc_cid.serial, card.emmc_cid.manufacturing_month
    assert told == ("M8G1GC", 0xDC0DB061, 5)
    assert (card.emmc_csd.capacity_bytes, card.emmc_csd.crc.state) == (None, "right")


def folder(path, **files):
    path.mkdir()
    for name, text in files.items():
        (path / name).write_text(f"{text}\n")
    return path


def test_the_folder_of_linux_is_read_as_a_plain_copy(tmp_path):
    card = read_registers(
        folder(
            tmp_path / "device",
            cid=CID,
            csd=CSD,
            scr=SCR,
            date="03/2013",
            serial="0x35338909",
            size="7626752",
            uevent="?",
        )
    )
    assert (card.name, card.cid.serial, card.csd.capacity_bytes) == ("device", 0x35338909, 3_904_897_024)
    assert card.device_bytes == 7_626_752 * 512 == 3_904_897_024
    assert findings(card) == []


def test_the_size_stands_deeper_where_linux_itself_shows_it(tmp_path):
    device = folder(tmp_path / "device", cid=CID)
    (device / "block" / "mmcblk0").mkdir(parents=True)
    (device / "block" / "mmcblk0" / "size").write_text("7626752\n")
    assert read_registers(device).device_bytes == 3_904_897_024


def test_a_folder_without_registers_or_with_damaged_ones_is_refused_file_by_file(tmp_path):
    with pytest.raises(InputError, match=r"^empty: found no register of a card"):
        read_registers(folder(tmp_path / "empty", date="03/2013"))
    bad = folder(tmp_path / "bad", cid="not hex", csd=CSD[:7], scr=SCR, date="yesterday", size="big")
    (bad / "ssr").mkdir()
    with pytest.raises(InputError) as caught:
        read_registers(bad)
    told = "\n".join(str(fault) for fault in caught.value.faults)
    assert len(caught.value.faults) == 5
    assert all(name in told for name in ("cid", "CSD with 7", "ssr: found a folder", "'yesterday'", "'big'"))


HOSTILE = {
    "empty": b"",
    "blank": b" \r\n\t\n",
    "NUL": CID.encode() + b"\0",
    "binary": bytes(range(256)),
    "half a letter": b"cid: \xc3",
    "wrong encoding": f"carte mémoire {CID}".encode("latin-1"),
    "half of UTF-16": b"\xff\xfec",
    "no register": b"the CID and the CSD of this card are in its memory\n" * 3,
    "too large": b" " * 1_000_001,
    "one digit": b"cid: 0\n",
    "other alphabet": b"cid: " + ("٣" * 32).encode(),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hostile_file_is_refused_in_words(kind, tmp_path):
    (tmp_path / "dump.txt").write_bytes(HOSTILE[kind])
    with pytest.raises(InputError) as caught:
        read_registers(tmp_path / "dump.txt")
    for fault in caught.value.faults:
        assert "dump.txt" in fault.where
        assert fault.found
        assert fault.allowed


@posix
def test_devices_pipes_missing_files_and_long_names_are_refused(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in ("/dev/zero", tmp_path / "pipe", tmp_path / "none", tmp_path / ("x" * 300)):
        with pytest.raises(InputError):
            read_registers(path)


def test_text_in_utf_16_and_with_marks_and_dos_lines_is_read():
    for encoding in ("utf-16", "utf-8-sig"):
        assert read_registers(f"cid: {CID}\r\ncsd: {CSD}\r\n".encode(encoding)).raw == {"CID": CID, "CSD": CSD}


def damaged(number: int) -> bytes:
    """Give one damaged dump, the same for a number at each run: cut, with other letters, or of random digits."""
    draw = random.Random(number)
    text = draw.choice([LINUX, LOADER, CATALOGUE, WORDS, SHELL, EMMC])
    kind = number % 5
    if kind == 0:
        return text[: draw.randrange(len(text))].encode()
    if kind == 1:
        letters = list(text)
        for _ in range(draw.randint(1, 12)):
            letters[draw.randrange(len(letters))] = draw.choice("0123456789abcdefxg:[]= \n\u00e9\u0663\t$")
        return "".join(letters).encode()
    if kind == 2:
        name = draw.choice(["cid", "CSD", "scr", "ssr", "ext_csd", "cid[0]", "csd[3]", ""])
        return f"{name}{draw.choice([': ', '=', ' ', chr(10)])}{draw.randbytes(draw.randint(0, 70)).hex()}\n".encode()
    if kind == 3:
        sizes = {"cid": 16, "csd": 16, "scr": 8, "ssr": 64}
        return "\n".join(f"{name}: {draw.randbytes(size).hex()}" for name, size in sizes.items()).encode()
    return draw.randbytes(draw.randint(0, 300))


@pytest.mark.landing
def test_of_10_000_random_and_truncated_dumps_each_gives_a_decode_or_a_clear_error():
    read, faults = 0, []
    for number in range(10_000):
        try:
            card = read_registers(damaged(number))
        except InputError as error:
            faults += error.faults
            continue
        read += 1
        assert card.raw or card.life, number
        assert all(str(finding) for finding in findings(card))
    assert all(fault.where and fault.found and fault.allowed and fault.mend for fault in faults)
    assert 3_000 < read < 8_000  # of both kinds there are many


def test_a_dump_cut_short_never_decodes_to_other_fields():
    whole = read_registers(LINUX.encode())
    for length in range(len(LINUX)):
        try:
            card = read_registers(LINUX[:length].encode())
        except InputError:
            continue
        for field, register in (("csd", "CSD"), ("scr", "SCR"), ("status", "SSR")):
            is_whole = card.forms.get(register) == "whole"
            assert not is_whole or getattr(card, field) == getattr(whole, field)
        assert card.cid is None or card.cid.serial == whole.cid.serial
