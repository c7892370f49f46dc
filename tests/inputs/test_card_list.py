"""A card list is read with its marks, sizes and endurance, and what looks like another unit is refused."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.checks import InputError
from edgestore.inputs.card_list import CARD_COLUMNS, read_cards

START = "card,capacity_gb,speed_class,endurance_tbw"


def with_usable(cells: str, columns: str = START) -> bytes:
    """A list of one kind of card of which the usable part is stated."""
    return f"{columns},usable_fraction\n{cells},0.97\n".encode()


def refused(cells: str, columns: str) -> str:
    with pytest.raises(InputError, match="card list, line 2") as caught:
        read_cards(f"{columns}\n{cells}\n".encode())
    (fault,) = caught.value.faults
    return str(fault)


def test_a_card_is_read_with_its_defaults() -> None:
    rows = read_cards(f"{START}\nplain,64,C10 U1,38.4\n".encode()).rows
    assert list(rows.columns) == [column.name for column in CARD_COLUMNS]
    row = rows.loc[0].to_dict()
    assert (row["card"], row["capacity_gb"], row["endurance_tbw"]) == ("plain", 64, 38.4)
    assert row["usable_fraction"] == 1


def test_a_usable_part_that_is_not_stated_is_told_with_how_to_find_it() -> None:
    [note] = read_cards(f"{START}\nplain,64,C10 U1,38.4\n".encode(), "cards.csv").notes
    assert note.startswith(
        "cards.csv, line 2: all of the capacity is counted as room for footage. Give usable_fraction:"
    )


def test_what_a_list_leaves_empty_is_not_a_number() -> None:
    row = read_cards(f"{START}\nplain,64,C10 U1,38.4\n".encode()).rows.loc[0]
    empty = ("rated_h", "rated_mbit_s", "pe_cycles", "write_amplification_low", "write_amplification_high", "price")
    assert all(math.isnan(row[name]) for name in empty)


@pytest.mark.parametrize(
    "gib",
    # 8e9 / 2**30 = 7.45 and so on; 1000e9 / 2**30 = 931.3, 1024e9 / 2**30 = 953.7
    ["7.45", "14.9", "29.8", "29.85", "59.6", "119.2", "119", "238.4", "476.8", "477", "931.3", "931", "953.7"],
)
def test_a_capacity_as_an_operating_system_shows_it_is_refused(gib: str) -> None:
    message = refused(f"plain,{gib},C10,50", START)
    assert f"column capacity_gb: found capacity_gb '{gib}'; allowed: the size printed on the card" in message
    assert "an operating system's 29.8 GiB is a 32 GB card" in message


@pytest.mark.parametrize("size", [4, 8, 16, 30, 32, 60, 64, 120, 128, 240, 256, 480, 512, 960, 1000, 1024, 2000, 4000])
def test_sizes_that_are_printed_on_cards_are_read(size: int) -> None:
    table = read_cards(with_usable(f"plain,{size},C10,50"))
    assert table.rows.loc[0, "capacity_gb"] == size
    assert table.notes == ()


@pytest.mark.parametrize("size", ["0.49", "4001", "64000", "0", "-64"])
def test_a_capacity_out_of_bounds_is_refused(size: str) -> None:
    message = refused(f"plain,{size},C10,50", START)
    assert f"is '{size}'; must be 0.5 or more and at most 4000 GB" in message


@pytest.mark.parametrize("size", ["0.512", "1.024", "2"])
def test_a_very_small_capacity_is_read_with_a_note(size: str) -> None:
    table = read_cards(with_usable(f"plain,{size},C10,50"), "cards.csv")
    assert table.notes == (
        "cards.csv, line 2: capacity_gb is under 4 GB. "
        "Make sure that it is neither in TB nor written with a thousands separator.",
    )


def test_marks_are_read_in_the_order_given_and_in_capitals() -> None:
    rows = read_cards(f"{START}\nplain,64,v30  u3 C10 a1,50\n".encode()).rows
    assert rows.loc[0, "speed_class"] == "V30 U3 C10 A1"


@pytest.mark.parametrize(
    ("marks", "unknown"),
    [("C10 U2", "'U2'"), ("V31 U1 c3", "'V31', 'c3'"), ("C10/U1", "'C10/U1'"), ("uhs-i", "'uhs-i'")],
)
def test_unknown_marks_are_refused_by_name(marks: str, unknown: str) -> None:
    message = refused(f"plain,64,{marks},50", START)
    assert f"column speed_class: found {unknown}; allowed: C2, C4, C6, C10, U1, U3, V6, V10" in message
    assert "separated by spaces" in message
    assert "UHS-I is the card's bus and not a speed class: write U1 or U3, as the card shows it." in message


@pytest.mark.parametrize("marks", ["A1", "A2", "a1 A2"])
def test_marks_about_operations_a_second_alone_are_refused(marks: str) -> None:
    message = refused(f"plain,64,{marks},50", START)
    assert "allowed: at least one mark of C, U or V" in message
    assert "nothing about video" in message


def test_a_card_without_a_mark_is_refused() -> None:
    assert "column speed_class: found an empty cell" in refused("plain,64,,50", START)


def test_a_list_without_its_needed_columns_is_told_each_once() -> None:
    with pytest.raises(InputError, match="column capacity_gb: found no such column") as caught:
        read_cards(b"card,price\nplain,5\nbetter,9\n", "cards.csv")
    assert [fault.where for fault in caught.value.faults] == [
        f"cards.csv, line 1, column {name}" for name in ("capacity_gb", "speed_class", "endurance_tbw")
    ]


WAYS = "card,capacity_gb,speed_class,endurance_tbw,rated_h,rated_mbit_s,pe_cycles"


@pytest.mark.parametrize("cells", ["50,,,", ",20000,26,", ",,,3000"])
def test_endurance_is_read_in_each_of_the_three_ways(cells: str) -> None:
    table = read_cards(with_usable(f"plain,64,C10,{cells}", WAYS))
    assert table.notes == ()


def test_no_endurance_at_all_is_refused() -> None:
    message = refused("plain,64,C10,,,,", WAYS)
    assert "column endurance_tbw: found endurance_tbw an empty cell, rated_h an empty cell" in message
    assert "Give endurance_tbw, or rated_h with rated_mbit_s, or pe_cycles" in message


@pytest.mark.parametrize("cells", [",20000,,", ",,26,", "50,20000,,"])
def test_rated_hours_without_their_rate_are_refused(cells: str) -> None:
    assert "column rated_h: found rated_h" in refused(f"plain,64,C10,{cells}", WAYS)


@pytest.mark.parametrize("cells", ["50,20000,26,", "50,,,3000", ",20000,26,3000", "50,20000,26,3000"])
def test_endurance_in_more_than_one_way_is_a_note(cells: str) -> None:
    table = read_cards(with_usable(f"plain,64,C10,{cells}", WAYS), "cards.csv")
    (note,) = table.notes
    assert note.startswith("cards.csv, line 2: endurance in more than one way. endurance_tbw is used before")


@pytest.mark.parametrize(("capacity", "tbw"), [(64, 12_801), (32, 117_000)])
def test_endurance_that_writes_a_card_over_too_often_looks_like_gb(capacity: int, tbw: int) -> None:
    # 64 GB x 200 000 = 12 800 TB
    message = refused(f"plain,{capacity},C10,{tbw}", START)
    assert "column endurance_tbw" in message
    assert "It looks like GB" in message


def test_endurance_up_to_200_000_writes_of_a_card_is_read() -> None:
    assert read_cards(f"{START}\nplain,64,C10,12800\n".encode()).rows.loc[0, "endurance_tbw"] == 12_800


@pytest.mark.parametrize(
    ("column", "cell", "allowed"),
    [
        ("usable_fraction", "0.5", "above 0.5 and at most 1"),
        ("usable_fraction", "97", "above 0.5 and at most 1"),
        ("usable_fraction", "97%", "above 0.5 and at most 1"),
        ("rated_h", "0", "0.001 or more h"),
        ("rated_mbit_s", "26000", "0.001 or more and at most 1000 Mbit/s"),
        ("pe_cycles", "200001", "0.001 or more and at most 200000 cycles"),
        ("price", "-1", "0 or more and at most 1000000000 currency units"),
        ("price", "1e308", "0 or more and at most 1000000000 currency units"),
        ("write_amplification_low", "0.9", "1 or more and at most 100000"),
        ("write_amplification_high", "0", "1 or more and at most 100000"),
        ("write_amplification_high", "1e308", "1 or more and at most 100000"),
    ],
)
def test_a_cell_out_of_its_column_is_refused_with_what_is_allowed(column: str, cell: str, allowed: str) -> None:
    message = refused(f"plain,64,C10,50,{cell}", f"{START},{column}")
    assert f"column {column}: is '{cell}'; must be {allowed}." in message


AMPLIFIED = "card,capacity_gb,speed_class,pe_cycles,write_amplification_low,write_amplification_high"


@pytest.mark.parametrize(
    ("cells", "allowed"), [("1.1,", "both or neither"), (",3", "both or neither"), ("3,1.1", "low at most high")]
)
def test_write_amplification_is_a_range_or_nothing(cells: str, allowed: str) -> None:
    assert f"allowed: {allowed}." in refused(f"plain,64,C10,3000,{cells}", AMPLIFIED)


@given(st.lists(st.floats(1, 1e5), min_size=2, max_size=2).map(sorted))
def test_any_range_of_write_amplification_is_read(ends: list[float]) -> None:
    rows = read_cards(f"{AMPLIFIED}\nplain,64,C10,3000,{ends[0]!r},{ends[1]!r}\n".encode()).rows
    assert rows.loc[0, ["write_amplification_low", "write_amplification_high"]].tolist() == ends


def test_write_amplification_without_cycles_is_a_note() -> None:
    columns = f"{START},write_amplification_low,write_amplification_high"
    table = read_cards(with_usable("plain,64,C10,50,1.1,3", columns), "cards.csv")
    assert table.notes == ("cards.csv, line 2: write amplification counts with pe_cycles. Its value here is not used.",)


def test_a_thousands_separator_in_a_list_with_semicolons_is_refused() -> None:
    with pytest.raises(InputError, match=r"line 2, column capacity_gb: is '1\.024,5'"):
        read_cards(b"card;capacity_gb;speed_class;endurance_tbw\nplain;1.024,5;C10;50\n")


@pytest.mark.parametrize("hours", ["1e308", "1094017.2"])
def test_hours_that_write_the_card_over_more_often_than_any_card_bears_are_refused(hours: str) -> None:
    # 64 GB x 200 000 / (26 Mbit/s x 0.45 GB an hour) = 1 094 017.09 h
    columns = "card,capacity_gb,speed_class,rated_h,rated_mbit_s"
    message = refused(f"plain,64,C10,{hours},26", columns)
    assert (
        f"found rated_h '{hours}', rated_mbit_s '26', capacity_gb '64'; allowed: what writes the card over" in message
    )
    assert len(read_cards(f"{columns}\nplain,64,C10,1094017,26\n".encode()).rows) == 1
