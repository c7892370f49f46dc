"""A spreadsheet export is cut into cells, whatever program wrote it, or refused in words."""

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.checks import InputError
from edgestore.inputs.sheet import read_sheet

KNOWN = ("door", "width_m")


def test_rows_are_known_by_the_line_that_a_text_editor_shows() -> None:
    # line 1 blank, 2 header, 3 a row, 4 blank, 5 only separators, 6 and 7 one quoted cell, 8 a row
    content = b'\r\ndoor,width_m\r\nnorth,1\r\n\r\n,,\r\n"south\nside",2\r\neast,3\r\n'
    sheet, faults = read_sheet(content, "doors", KNOWN)
    assert sheet.rows == {3: ["north", "1"], 6: ["south\nside", "2"], 8: ["east", "3"]}
    assert faults == []


def test_line_ends_of_old_machines_are_read() -> None:
    sheet, _ = read_sheet(b"door,width_m\rnorth,1\rsouth,2\r", "doors", KNOWN)
    assert sheet.rows == {2: ["north", "1"], 3: ["south", "2"]}


@pytest.mark.parametrize(
    "heading", [b"width_m", b"Width m", b" WIDTH_M ", b"Width (m)", b"width [m]", b'"width-m"', b"width/m"]
)
def test_headings_as_people_write_them_name_the_column(heading: bytes) -> None:
    sheet, _ = read_sheet(b"door;" + heading + b"\nnorth;1\n", "doors", KNOWN)
    assert sheet.header == ["door", "width_m"]


def test_empty_columns_at_the_end_and_short_rows_are_no_fault() -> None:
    sheet, faults = read_sheet(b"door;width_m;;;\nnorth;1;;;\nsouth\n", "doors", KNOWN)
    assert sheet.rows == {2: ["north", "1"], 3: ["south", ""]}
    assert faults == []


def test_the_separator_is_the_one_that_makes_known_columns() -> None:
    # more commas than semicolons in the header, and yet semicolons separate
    sheet, _ = read_sheet(b"door;remarks, dates, names, all;width_m\nnorth;a, b;1\n", "doors", KNOWN)
    assert sheet.delimiter == ";"
    assert sheet.rows[2] == ["north", "a, b", "1"]


def test_a_row_with_too_many_cells_is_told_and_the_other_rows_are_kept() -> None:
    sheet, faults = read_sheet(b"door,width_m\nnorth,1,5\nsouth,2\n", "doors.csv", KNOWN)
    assert sheet.rows == {3: ["south", "2"]}
    ((line, fault),) = faults
    assert line == 2
    assert str(fault).startswith("doors.csv, line 2: found 3 cells; allowed: 2 as in the header.")
    assert "decimals take a point" in fault.mend


def test_a_column_that_stands_twice_is_told() -> None:
    _, faults = read_sheet(b"door,width_m,Width m\nnorth,1,2\n", "doors.csv", KNOWN)
    assert [fault.where for _, fault in faults] == ["doors.csv, line 1, column Width m"]


def test_an_unknown_column_that_stands_twice_is_no_fault() -> None:
    _, faults = read_sheet(b"door,width_m,note,note\nnorth,1,a,b\n", "doors.csv", KNOWN)
    assert faults == []


def test_a_header_alone_is_told() -> None:
    _, faults = read_sheet(b"door,width_m\n\n", "doors.csv", KNOWN)
    assert [str(fault) for _, fault in faults] == [
        "doors.csv: found no row under the header; allowed: one row or more."
    ]


@pytest.mark.parametrize("content", [b"", b"\n\n", b"\xef\xbb\xbf", b"  \r\n;;;\r\n", b"\xff\xfe"])
def test_a_file_with_nothing_in_it_is_refused(content: bytes) -> None:
    with pytest.raises(
        InputError, match="found no name of a column; allowed: a header with columns among door, width_m"
    ):
        read_sheet(content, "doors.csv", KNOWN)


def test_a_header_of_other_columns_is_refused_with_both_lists() -> None:
    with pytest.raises(InputError, match=r"line 2: found 'gate, size'; .* among door, width_m"):
        read_sheet(b"\ngate,size\n1,2\n", "doors.csv", KNOWN)


@pytest.mark.parametrize(
    "content",
    [
        "door,width_m\n".encode("utf-16-le"),  # without its mark
        b"door,width_m\nnorth\x00,1\n",
        b"door,width_m\nnorth\x81,1\n",  # neither UTF-8 nor a character of Windows-1252
        b"\xff\xfed",  # UTF-16 cut in a character
        b"\xff\xfe\x00\xd8\x41\x00",  # UTF-16 with half a pair
    ],
)
def test_bytes_that_are_no_text_are_refused(content: bytes) -> None:
    with pytest.raises(InputError, match=r"doors.csv: found bytes that are not text; allowed: a CSV file in UTF-8"):
        read_sheet(content, "doors.csv", KNOWN)


@pytest.mark.parametrize("row", [b'"north,1\n', b'"north"x,1\nsouth,2\n'])
def test_a_quote_that_is_not_closed_is_refused_at_the_line_where_it_opens(row: bytes) -> None:
    with pytest.raises(InputError, match=r"doors\.csv, line 3: .* allowed: cells whose quotes are closed"):
        read_sheet(b"door,width_m\nwest,1\n" + row, "doors.csv", KNOWN)


def test_an_endless_cell_is_refused() -> None:
    with pytest.raises(InputError, match=r"doors\.csv, line 2: found field larger than field limit"):
        read_sheet(b"door,width_m\n" + b"x" * 200_000 + b",1\n", "doors.csv", KNOWN)


def test_a_missing_file_is_refused_with_its_path(tmp_path: Path) -> None:
    path = tmp_path / "none.csv"
    with pytest.raises(
        InputError, match=r"none\.csv: found no such file; allowed: a CSV file .* counts from their folder"
    ):
        read_sheet(path, "", KNOWN)


def test_a_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="found a folder; allowed: a CSV file or a workbook"):
        read_sheet(str(tmp_path), "", KNOWN)


def test_a_path_that_no_file_can_have_is_refused() -> None:
    with pytest.raises(InputError, match="allowed: a CSV file or a workbook"):
        read_sheet("doors\0.csv", "", KNOWN)


def test_a_file_is_called_by_its_name_without_its_folders(tmp_path: Path) -> None:
    path = tmp_path / "doors.csv"
    path.write_bytes(b"door,width_m\nnorth,1\n")
    for source in (path, str(path)):
        sheet, _ = read_sheet(source, "not this", KNOWN)
        assert sheet.place(2, "width_m") == "doors.csv, line 2, column width_m"


@given(st.binary(max_size=200), st.sampled_from([b"", b"door;width_m\n", b"\xff\xfe", b"\xef\xbb\xbfdoor\n", b"PK"]))
def test_no_bytes_raise_anything_but_input_error(content: bytes, start: bytes) -> None:
    with suppress(InputError):
        sheet, _ = read_sheet(start + content, "noise", KNOWN)
        assert all(len(row) == len(sheet.header) for row in sheet.rows.values())
