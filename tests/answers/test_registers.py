"""What a card says of itself is told in one sentence, a table of its fields and findings, from pasted text."""

from datetime import date

import pytest
from made_registers import register
from register_dumps import EMMC, LINUX, LOADER

from edgestore.answers.registers import card_says, label_of
from edgestore.checks import InputError
from edgestore.inputs.registers import Label

CARDS = b"card,capacity_gb,speed_class,endurance_tbw\nplain 64 GB,64,C10 U3 V30 A2,10\n"


def said(text: str, label: Label | None = None, device_bytes: float | None = None):
    return card_says(text.encode(), label, device_bytes, today=date(2026, 11, 26))


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


def test_the_sentence_says_what_the_card_says_and_how_much_disagrees():
    label = label_of(CARDS, "plain 64 GB")
    expected = "The card says: SDXC, 62.28 GB, C10 U3 V30 A2, made 11/2019. Nothing disagrees in what was given."
    assert plain(said(LINUX, label).sentence) == expected
    expected = "The card says: SDHC, 31.72 GB, made 10/2024. 1 disagreement: capacity."
    assert plain(said(LOADER, label).sentence) == expected
    four = said(
        "ssr: 0000000005000000040090000f051c00" + 96 * "0" + "\nmmcblk0: mmc0:0007 SD32G 29.7 GiB",
        Label(256, ("U3", "V30", "A1")),
    )
    assert plain(four.sentence).endswith("4 disagreements: capacity, speed.")
    expected = "The eMMC says: life used 10 to 20 % (A), 0 to 10 % (B), by its maker's estimate."
    assert plain(said(EMMC).sentence).startswith(expected)


def test_the_table_holds_the_fields_in_words():
    table = said(LINUX).table.set_index(["register", "field"])["value"]
    assert table["CID", "maker's number (MID)"] == "0x9f"
    assert table["CID", "serial number"] == "0x36980065"
    assert plain(table["CSD", "capacity"]) == "62.28 GB (62 277 025 792 bytes)"
    assert table["CSD", "family"] == "SDXC"
    assert table["SCR", "specification version"] == "6"
    assert table["SD status", "allocation unit"] == "4 MiB"
    assert plain(table["SD status", "erase time-out"]) == "6 s for 1 unit, and 3 s"
    assert table["SD status", "cache"] == "yes"


def test_an_emmc_is_told_with_its_own_identification_and_capacity():
    # (4094 + 1) x 2^(7 + 2) x 2^9 bytes; the number of the maker is 5.
    cid, csd = register(128, {(127, 120): 5}), register(128, {(73, 62): 4094, (49, 47): 7, (83, 80): 9})
    table = said(f"type: MMC\ncid: {cid}\ncsd: {csd}\n").table.set_index(["register", "field"])["value"]
    assert table["CID", "maker's number (MID)"] == "0x05"
    assert plain(table["CSD", "capacity"]) == "1.073 GB (1 073 479 680 bytes)"


def test_the_size_of_the_device_is_that_which_is_given_or_what_a_system_shows():
    given = said(LINUX, None, 62_277_025_792)
    assert given.device_bytes == 62_277_025_792
    assert plain(given.table.set_index("field")["value"]["size"]) == "62.28 GB (62 277 025 792 bytes)"
    assert "size" not in set(said(LINUX).table["field"])
    # 29.7 x 2^30 = 31.89e9
    shown = said("ssr: " + "0" * 128 + "\nmmcblk0: mmc0:0007 SD32G 29.7 GiB").table.set_index("field")["value"]
    assert plain(shown["size when it was found"]) == "about 31.9 GB"


def test_a_card_without_marks_or_with_reserved_ones_has_no_speed_mark():
    assert said(f"ssr: {5 << 440:0128x}").sentence.startswith("The card says: no speed mark. ")
    assert said(f"ssr: {4 << 440 | 0xF << 396:0128x}").sentence.startswith("The card says: C10. ")


@pytest.mark.parametrize(("month", "told"), [(0, ""), (1, "made 01/2024"), (12, "made 12/2024"), (13, "")])
def test_a_month_that_is_none_is_left_out_of_the_sentence(month, told):
    digits = f"{24 << 12 | month << 8:032x}"
    assert said(f"cid: {digits}").sentence.startswith(f"The card says: {told or 'nothing that is decoded here'}. ")


def test_the_allocation_units_of_the_video_class_and_of_uhs_are_told():
    # 16 MiB in the bits 377 to 368 of 512.
    table = said(f"ssr: {16 << 368:0128x}").table.set_index("field")["value"]
    assert table["video allocation unit"] == "16 MiB"
    # Code 1 in the bits 431 to 428: 16 KiB.
    table = said(f"ssr: {1 << 428:0128x}").table.set_index("field")["value"]
    assert table["allocation unit"] == "16 KiB"
    # Code 7 in the bits 395 to 392: 1 MiB.
    table = said(f"ssr: {7 << 392:0128x}").table.set_index("field")["value"]
    assert table["UHS allocation unit"] == "1 MiB"


def test_without_a_label_nothing_is_printed_on_the_card():
    assert said(LINUX).label == Label()


def test_each_disagreement_is_a_warning_and_remarks_are_not():
    says = said(LOADER, Label(256, ()))
    assert len(says.warnings) == 1
    assert len(says.findings) == 3
    assert any("health" in text and "maker" in text for text in says.assumptions)


def test_a_card_that_is_not_in_the_list_is_refused_with_those_that_are():
    with pytest.raises(InputError, match=r"card: found 'plain 32 GB'; allowed: a card of the list: plain 64 GB"):
        label_of(CARDS, "plain 32 GB")


def test_a_reserved_csd_states_no_capacity_and_a_device_may_have_a_byte():
    csd = register(128, {(127, 126): 3})
    assert said(f"csd: {csd}").sentence.startswith("The card says: nothing that is decoded here. ")
    assert said(LINUX, None, 1).device_bytes == 1


@pytest.mark.parametrize("size", [0, -1, 1.5, 1.05e15, float("nan")])
def test_a_size_that_no_device_has_is_refused(size):
    with pytest.raises(InputError, match=r"^device_bytes: "):
        said(LINUX, None, size)


def test_a_name_that_a_terminal_would_obey_is_shown_harmlessly():
    # The product name 1b 5b 33 31 6d would turn a terminal red.
    says = said("cid: 02544d1b5b33316d113533890900d300")
    assert says.table.set_index("field")["value"]["product name"] == "?[31m"
