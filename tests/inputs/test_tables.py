"""Cells become typed rows, and every fault of a file is told at once with the way to mend it."""

import math

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.checks import InputError
from edgestore.inputs.tables import Column, Rule, read_table

DOOR = Column("door", "text", "its name", required=True, unique=True)
WIDTH = Column("width_m", "number", "clear opening", unit="m", above=0, at_most=10)
SWINGS = Column("swings", "choice", "which way", words=("in", "out both ways"), default="in")
MARKS = Column("marks", "choices", "what is on it", words=("F1", "F2", "F10"))
LOCKED = Column("locked", "yes-no", "whether it is locked", default=False)
HUNG = Column("hung", "date", "day on which it was hung")
COLUMNS = (DOOR, WIDTH, SWINGS, MARKS, LOCKED)


def test_empty_cells_and_absent_columns_give_the_declared_defaults() -> None:
    rows = read_table(b"door,width_m,swings\nnorth,,\n", COLUMNS).rows
    assert list(rows.columns) == ["door", "width_m", "swings", "marks", "locked"]
    assert math.isnan(rows.loc[0, "width_m"])
    assert rows.loc[0, ["swings", "marks", "locked"]].tolist() == ["in", "", False]
    assert rows["locked"].dtype == bool


def test_columns_come_in_the_declared_order_and_rows_are_numbered_from_0() -> None:
    rows = read_table(b"\nlocked,width_m,door\n\nyes,2,north\n\nno,1,south\n", COLUMNS).rows
    assert rows.index.tolist() == [0, 1]
    assert rows["door"].tolist() == ["north", "south"]
    assert rows["width_m"].tolist() == [2.0, 1.0]


@pytest.mark.parametrize("cell", ["2026-03-15", "2024-02-29", "1999-12-31"])
def test_dates_are_read_as_iso_8601_writes_them(cell: str) -> None:
    rows = read_table(f"door,hung\nnorth,{cell}\nsouth,\n".encode(), (DOOR, HUNG)).rows
    assert rows["hung"].tolist() == [pd.Timestamp(cell), pd.NaT]


def test_a_column_of_dates_is_one_of_dates_even_when_it_is_empty_or_absent() -> None:
    for content in (b"door,hung\nnorth,\n", b"door\nnorth\n"):
        rows = read_table(content, (DOOR, HUNG)).rows
        assert pd.api.types.is_datetime64_any_dtype(rows["hung"])
        assert rows["hung"].isna().all()


@pytest.mark.parametrize(
    "cell",
    ["2026-02-30", "2026-13-01", "2026-1-5", "20260315", "2026-03", "15.03.2026", "03/15/2026", "2026-W01-1", "NaT"],
)
def test_what_is_no_date_is_refused(cell: str) -> None:
    with pytest.raises(
        InputError, match=r"line 2, column hung: found .*; allowed: a date as 2026-03-15\. Fix: Write"
    ) as caught:
        read_table(f"door,hung\nnorth,{cell}\n".encode(), (DOOR, HUNG))
    (fault,) = caught.value.faults
    assert fault.found == repr(cell)


@pytest.mark.parametrize(
    ("cell", "number"),
    [("4", 4), ("4.5", 4.5), (".5", 0.5), ("4.", 4), ("+4", 4), ("4e-1", 0.4), ("4E0", 4), (" 4 ", 4)],
)
def test_numbers_as_spreadsheets_write_them_are_read(cell: str, number: float) -> None:
    assert read_table(f"door,width_m\nnorth,{cell}\n".encode(), COLUMNS).rows.loc[0, "width_m"] == number


@pytest.mark.parametrize(
    "cell", ["4 m", "4m", "1.024,5", "1 024", "1'024", "1_0", "nan", "inf", "-", "n/a", "0x4", "4,5,6", "٤", "4%", "="]
)
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_number_that_is_not_written_alone_is_refused_with_the_cell(cell: str, delimiter: str) -> None:
    content = f'door{delimiter}width_m\nnorth{delimiter}"{cell}"\n'.encode()
    with pytest.raises(InputError, match="line 2, column width_m") as caught:
        read_table(content, COLUMNS, name="doors.csv")
    (fault,) = caught.value.faults
    assert fault.found == repr(cell)
    assert fault.allowed == "above 0 and at most 10 m"
    assert fault.mend.startswith("Write the number alone")


@pytest.mark.parametrize("cell", ["0", "-1", "10.001", "1e999", "-1e999"])
def test_a_number_out_of_bounds_is_refused(cell: str) -> None:
    with pytest.raises(InputError, match=rf"width_m: is '{cell}'; must be above 0 and at most 10 m"):
        read_table(f"door,width_m\nnorth,{cell}\n".encode(), COLUMNS)


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_decimal_commas_are_read_where_commas_do_not_separate(delimiter: str) -> None:
    table = read_table(f"door{delimiter}width_m\nnorth{delimiter}1,5\n".encode(), COLUMNS)
    assert table.rows.loc[0, "width_m"] == 1.5
    assert table.notes[0].endswith("and decimal commas")


def test_a_decimal_comma_between_commas_is_refused_even_in_quotes() -> None:
    with pytest.raises(InputError, match=r"is '1,5'; .* Write the number alone, as 4\.5"):
        read_table(b'door,width_m\nnorth,"1,5"\n', COLUMNS)


def test_one_file_has_one_decimal_mark() -> None:
    with pytest.raises(InputError, match=r"line 4, column width_m: is '1\.5'; .* as 4,5") as caught:
        read_table(b"door;width_m\nnorth;1,5\nsouth;2,5\nwest;1.5\n", COLUMNS)
    assert len(caught.value.faults) == 1
    with pytest.raises(InputError, match=r"line 4, column width_m: is '1,5'; .* as 4\.5") as caught:
        read_table(b"door;width_m\nnorth;1.5\nsouth;2.5\nwest;1,5\n", COLUMNS)
    assert len(caught.value.faults) == 1


def test_words_are_read_whatever_their_capitals_and_spaces() -> None:
    rows = read_table(b"door,swings,marks,locked\nnorth, Out  Both WAYS ,f10   F1,TRUE\n", COLUMNS).rows
    assert rows.loc[0, ["swings", "marks", "locked"]].tolist() == ["out both ways", "F10 F1", True]


def test_an_unknown_word_is_refused_with_all_that_are_allowed() -> None:
    with pytest.raises(InputError, match="column swings: found 'up'; allowed: in, out both ways"):
        read_table(b"door,swings\nnorth,up\n", COLUMNS)


def test_all_unknown_words_of_a_cell_are_named_and_the_known_are_not() -> None:
    with pytest.raises(InputError, match="column marks: found 'F3', 'X'; allowed: F1, F2, F10"):
        read_table(b"door,marks\nnorth,F1 F3 X\n", COLUMNS)


def test_an_answer_that_is_neither_yes_nor_no_is_refused() -> None:
    with pytest.raises(InputError, match="column locked: is 'Perhaps'; must be one of yes, no, true, false, 1, 0"):
        read_table(b"door,locked\nnorth,Perhaps\n", COLUMNS)


def test_an_empty_cell_that_is_needed_is_refused() -> None:
    with pytest.raises(InputError, match="line 3, column door: found an empty cell; allowed: a text"):
        read_table(b"door,width_m\nnorth,1\n,2\n", COLUMNS)


@pytest.mark.parametrize("kind", ["number", "choice", "choices"])
def test_an_empty_cell_of_a_needed_column_is_refused_whatever_the_kind(kind: str) -> None:
    needed = Column("need", kind, "needed", required=True, words=("one",), above=0)
    with pytest.raises(InputError, match=r"column need: (found|is) an empty cell; (must be above 0|allowed: one)"):
        read_table(b"door,need\nnorth,\n", (DOOR, needed))


def test_a_name_given_twice_is_refused_with_both_lines() -> None:
    with pytest.raises(InputError, match="line 4, column door: found 'north', in line 2 too; allowed: each name once"):
        read_table(b"door,width_m\nnorth,1\nsouth,1\nnorth,2\n", COLUMNS)


def test_a_needed_column_that_is_missing_is_told_once() -> None:
    with pytest.raises(InputError, match="line 1, column door: found no such column") as caught:
        read_table(b"width_m\n1\n2\n", COLUMNS)
    assert len(caught.value.faults) == 1


def test_columns_of_ones_own_are_left_aside_with_a_note() -> None:
    table = read_table(b"door,Colour,widthm,,locked\nnorth,red,2,x,yes\n", COLUMNS)
    assert list(table.rows.columns) == [column.name for column in COLUMNS]
    assert table.notes == ("list: not used: colour, widthm (is it width_m?), column 4",)


def test_a_plain_file_gives_no_note() -> None:
    assert read_table(b"door,width_m\nnorth,1.5\n", COLUMNS).notes == ()


@pytest.mark.parametrize(
    ("codec", "mark", "delimiter", "note"),
    [
        ("cp1252", "", ",", "read as Windows-1252 with commas"),
        ("cp1252", "", ";", "read as Windows-1252 with semicolons and decimal commas"),
        ("utf-16", "", "\t", "read as UTF-16 with tabs and decimal commas"),
        ("utf-8", "\ufeff", ";", "read as UTF-8 with semicolons and decimal commas"),
    ],
)
def test_how_an_unusual_file_was_read_is_told(codec: str, mark: str, delimiter: str, note: str) -> None:
    number = "1.5" if delimiter == "," else "1,5"
    content = f"{mark}door{delimiter}width_m\nFähre{delimiter}{number}\n".encode(codec)
    table = read_table(content, COLUMNS, name="doors.csv")
    assert table.rows.loc[0, ["door", "width_m"]].tolist() == ["Fähre", 1.5]
    assert table.notes == (f"doors.csv: {note}",)


NARROW = Rule(
    ("width_m", "locked"), lambda rows: rows["locked"] & (rows["width_m"] < 1), "1 m when locked", "Widen it."
)


def test_a_broken_rule_is_told_with_all_its_cells() -> None:
    with pytest.raises(InputError, match=r"^doors.csv, line 3, column width_m: found ") as caught:
        read_table(b"door,width_m,locked\nnorth,1,yes\nsouth,0.9,yes\n", COLUMNS, [NARROW], "doors.csv")
    (fault,) = caught.value.faults
    assert (fault.found, fault.allowed, fault.mend) == ("width_m '0.9', locked 'yes'", "1 m when locked", "Widen it.")


def test_a_rule_is_silent_where_one_of_its_cells_has_a_fault_of_its_own() -> None:
    missing = Rule(("width_m",), lambda rows: rows["width_m"].isna(), "a width", "Measure it.")
    with pytest.raises(InputError, match="is '-3'") as caught:
        read_table(b"door,width_m\nnorth,-3\n", COLUMNS, [missing])
    assert len(caught.value.faults) == 1


def test_a_rule_on_columns_that_the_file_lacks_is_told_once_at_the_header() -> None:
    missing = Rule(("width_m",), lambda rows: rows["width_m"].isna(), "a width", "Measure it.")
    with pytest.raises(InputError, match="line 2, column width_m: found no such column; allowed: a width") as caught:
        read_table(b"\ndoor\nnorth\nsouth\n", COLUMNS, [missing])
    assert len(caught.value.faults) == 1


def test_a_note_names_its_lines_and_refuses_nothing() -> None:
    note = Rule(("locked",), lambda rows: rows["locked"], "it is locked", "Bring a key.", is_note=True)
    content = "door,locked\n" + "".join(f"d{n},{'no' if n == 1 else 'yes'}\n" for n in range(1, 10))
    table = read_table(content.encode(), COLUMNS, [note], "doors.csv")
    assert table.notes == ("doors.csv, lines 3, 4, 5, 6, 7 and 3 more: it is locked. Bring a key.",)
    assert len(table.rows) == 9


def test_faults_of_all_kinds_come_together_in_the_order_of_the_file() -> None:
    content = b"width_m,door,door,locked\n4 m,a,,no\n1,b,,maybe,9\n0,,,\n2,a,,perhaps\n0.5,c,,yes\n"
    with pytest.raises(InputError, match="2 columns of this name") as caught:
        read_table(content, COLUMNS, [NARROW], "doors.csv")
    assert [fault.where for fault in caught.value.faults] == [
        "doors.csv, line 1, column door",
        "doors.csv, line 2, column width_m",
        "doors.csv, line 3",
        "doors.csv, line 4, column door",
        "doors.csv, line 4, column width_m",
        "doors.csv, line 5, column door",
        "doors.csv, line 5, column locked",
        "doors.csv, line 6, column width_m",
    ]


@given(st.lists(st.floats(0, 10, exclude_min=True), min_size=1), st.sampled_from([",", ";", "\t"]), st.booleans())
def test_numbers_read_back_exactly(numbers: list[float], delimiter: str, comma: bool) -> None:
    cells = [repr(number).replace(".", "," if comma and delimiter != "," else ".") for number in numbers]
    content = f"width_m{delimiter}locked\n" + "".join(f"{cell}{delimiter}no\n" for cell in cells)
    rows = read_table(content.encode(), (WIDTH, LOCKED)).rows
    pd.testing.assert_series_equal(rows["width_m"], pd.Series(numbers, name="width_m"), check_exact=True)


def test_a_fault_names_the_heading_as_the_file_writes_it_and_says_what_to_do_about_a_comma() -> None:
    with pytest.raises(InputError) as caught:
        read_table(b'Door,Width (m)\nnorth,"1,5"\n', COLUMNS)
    [fault] = caught.value.faults
    assert fault.where.endswith("column Width (m)")
    assert "enter it as a number, not as text" in fault.mend
