"""Lists that stand in a spreadsheet workbook."""

import datetime
import io
import random
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from edgestore import InputError
from edgestore.inputs import workbook_cells
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.sheet import read_sheet
from edgestore.inputs.workbook_cells import workbook_sheets

HEADER = ["Camera", "Mean (Mbit/s)", "Cap (Mbit/s)", "Lift"]
ODS_KINDS = {float: ("float", "office:value"), bool: ("boolean", "office:boolean-value"), str: ("string", "")}


def xlsx(**sheets: list[list[Any]]) -> bytes:
    """Write a workbook with these sheets by openpyxl."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def ods(**sheets: list[list[Any]]) -> bytes:
    """Write an OpenDocument workbook by hand, as ISO/IEC 26300 has it."""
    names = {kind: f"urn:oasis:names:tc:opendocument:xmlns:{kind}:1.0" for kind in ("office", "table", "text")}
    spaces = " ".join(f'xmlns:{kind}="{name}"' for kind, name in {**names, "calcext": "urn:calcext"}.items())
    tables = "".join(
        f'<table:table table:name="{name}">{"".join(map(_ods_row, rows))}</table:table>'
        for name, rows in sheets.items()
    )
    content = (
        f'<?xml version="1.0"?><office:document-content {spaces}><office:body><office:spreadsheet>{tables}'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    manifest = '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as parts:
        parts.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        parts.writestr("META-INF/manifest.xml", manifest)
        parts.writestr("content.xml", content)
    return file.getvalue()


def _ods_row(row: list[Any]) -> str:
    cells = ""
    for value in row:
        if value is None:
            cells += "<table:table-cell/>"
            continue
        kind, attribute = ODS_KINDS[type(value)]
        told = f' {attribute}="{str(value).lower()}"' if attribute else ""
        if str(value).startswith("#"):  # as a spreadsheet program saves an error
            told = ' calcext:value-type="error"'
        cells += f'<table:table-cell office:value-type="{kind}"{told}><text:p>{value}</text:p></table:table-cell>'
    return f"<table:table-row>{cells}</table:table-row>"


@pytest.mark.parametrize("write", [xlsx, ods])
def test_a_camera_list_reads_alike_from_a_workbook_and_from_csv(write: Callable[..., bytes]) -> None:
    rows = [HEADER, ["gate", 2.5, 4.0, True], [None, None], ["yard", None, 6.0, False]]
    from_workbook = read_cameras(write(Cameras=rows))
    from_csv = read_cameras(b"camera,mean_mbit_s,cap_mbit_s,lift\ngate,2.5,4,yes\nyard,,6,no\n")
    assert from_workbook.rows.equals(from_csv.rows)
    assert from_workbook.notes == ()


@pytest.mark.parametrize("write", [xlsx, ods])
def test_a_fault_is_told_by_sheet_row_and_column(write: Callable[..., bytes]) -> None:
    rows = [["A list of cameras"], [], HEADER, ["gate", 4.0, 2.0, None], ["gate", "7,5", None, None]]
    with pytest.raises(InputError) as raised:
        read_cameras(write(Site=rows[2:3] + rows[3:]), name="site.xlsx")
    told = [str(fault) for fault in raised.value.faults]
    assert told[0].startswith("site.xlsx, sheet 'Site', row 2, column Mean (Mbit/s)")
    assert any("row 3, column Camera: found 'gate', in row 2 too" in text for text in told)
    assert any("row 3, column Mean (Mbit/s): is '7,5'" in text for text in told)


def test_the_sheet_is_the_one_with_the_columns_or_the_one_named(tmp_path: Path) -> None:
    lists = {"Notes": [["Read me"]], "Old": [HEADER, ["shed", 1.0]], "New": [HEADER, ["gate", 2.0]]}
    path = tmp_path / "site.xlsx"
    path.write_bytes(xlsx(Notes=lists["Notes"], New=lists["New"]))
    assert list(read_cameras(path).rows["camera"]) == ["gate"]
    path.write_bytes(xlsx(**lists))
    assert list(read_cameras(Path(f"{path}#Old")).rows["camera"]) == ["shed"]
    with pytest.raises(InputError, match=r"2 sheets with such columns: 'Old', 'New'; .* Name one, as site\.xlsx#Old"):
        read_cameras(path)
    with pytest.raises(InputError, match=r"found no sheet 'None'; allowed: one of 'Notes', 'Old', 'New'"):
        read_cameras(Path(f"{path}#None"))
    path.write_bytes(xlsx(Notes=lists["Notes"]))
    with pytest.raises(InputError, match=r"no sheet with such columns; sheets: 'Notes'"):
        read_cameras(path)


def test_a_formula_without_a_value_and_an_error_are_refused_where_they_stand() -> None:
    content = xlsx(Cameras=[HEADER, ["gate", "=2*2", 8.0], ["yard", "#DIV/0!", 8.0], ["mast", 2.0, 4.0]])
    _, faults = read_sheet(content, "site.xlsx", ["camera", "mean_mbit_s"])
    assert [str(fault) for _, fault in faults] == [
        "site.xlsx, sheet 'Cameras', row 2, column Mean (Mbit/s): found a formula whose value was not saved;"
        " allowed: a cell with a value. Fix: Correct the formula, or type the value.",
        "site.xlsx, sheet 'Cameras', row 3, column Mean (Mbit/s): found #DIV/0!; allowed: a cell with a value."
        " Fix: Correct the formula, or type the value.",
    ]
    with pytest.raises(InputError, match=r"site\.ods: found 1 cells whose formula gives an error"):
        read_sheet(ods(Cameras=[HEADER, ["gate", "#DIV/0!", None]]), "site.ods", ["camera"])


def test_values_are_written_as_a_csv_file_of_ours_has_them() -> None:
    day, moment = datetime.date(2026, 3, 15), datetime.datetime(2026, 3, 15, 7, 30)
    (sheet,) = workbook_sheets(xlsx(A=[["x", 32, 0.1 + 0.2, True, day, moment, None, " y "]]), "a.xlsx")
    assert sheet.rows == {1: ["x", "32", "0.3", "yes", "2026-03-15", "2026-03-15 07:30:00", "", "y"]}


def test_a_hidden_sheet_is_not_read() -> None:
    book = openpyxl.Workbook()
    book.active.append(["door"])
    hidden = book.create_sheet("hidden")
    hidden.sheet_state = "hidden"
    hidden.append(["camera"])
    file = io.BytesIO()
    book.save(file)
    assert [sheet.name for sheet in workbook_sheets(file.getvalue(), "a.xlsx")] == ["Sheet"]


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1\x00\x00", "an old workbook, or one under a password"),
        (b"PK\x03\x04rest", "a compressed file that is not a workbook, or a damaged one"),
    ],
)
def test_what_is_no_workbook_of_today_is_refused_with_what_to_do(content: bytes, found: str) -> None:
    with pytest.raises(InputError, match=f"doors.xlsx: found {found}; .* Save it again"):
        read_sheet(content, "doors.xlsx", ["door"])


def test_a_workbook_that_unpacks_to_too_much_is_refused_before_it_is_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook_cells, "MOST_UNPACKED_BYTES", 1000)
    with pytest.raises(InputError, match=r"more than 0\.001 MB when it is unpacked"):
        workbook_sheets(xlsx(A=[["x" * 2000]]), "a.xlsx")


@pytest.mark.parametrize("write", [xlsx, ods])
def test_a_damaged_workbook_is_read_or_refused_and_never_fails_otherwise(write: Callable[..., bytes]) -> None:
    sound, draw = write(Cameras=[HEADER, ["gate", 2.5, 4.0, True]]), random.Random(7)
    for _ in range(150):
        damaged = bytearray(sound[: draw.choice([len(sound), draw.randrange(len(sound))])])
        for _ in range(draw.randrange(4)):
            if damaged:
                damaged[draw.randrange(len(damaged))] = draw.randrange(256)
        try:
            workbook_sheets(bytes(damaged), "a.xlsx")
        except InputError:
            continue
