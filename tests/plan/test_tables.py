"""Files are written whole or not at all."""

import io
import os

import pandas as pd
import pytest

from edgestore import InputError
from edgestore.output import write_whole
from edgestore.plan.tables import as_csv


def test_files_are_written_and_replaced(tmp_path):
    write_whole(tmp_path / "new", {"a.csv": b"1", "b.csv": b"2"})
    written = write_whole(tmp_path / "new", {"a.csv": b"3"})
    assert [path.name for path in written] == ["a.csv"]
    assert {path.name: path.read_bytes() for path in (tmp_path / "new").iterdir()} == {"a.csv": b"3", "b.csv": b"2"}


def test_a_folder_that_is_a_file_is_refused_and_left_alone(tmp_path):
    (tmp_path / "plan").write_text("mine")
    with pytest.raises(InputError, match="a folder that can be written to"):
        write_whole(tmp_path / "plan", {"a.csv": b"1"})
    assert (tmp_path / "plan").read_text() == "mine"


def test_a_folder_in_the_place_of_a_file_is_refused_before_anything_is_written(tmp_path):
    (tmp_path / "b.csv").mkdir()
    with pytest.raises(InputError, match=r"b\.csv: found a folder of that name"):
        write_whole(tmp_path, {"a.csv": b"1", "b.csv": b"2"})
    assert [path.name for path in tmp_path.iterdir()] == ["b.csv"]


def test_a_file_that_cannot_be_replaced_leaves_all_as_it_was(tmp_path, monkeypatch):
    replace = os.replace

    def not_the_second(source, target):
        if str(target).endswith("b.csv"):
            raise OSError(13, "Permission denied")
        replace(source, target)

    (tmp_path / "a.csv").write_bytes(b"old")
    monkeypatch.setattr(os, "replace", not_the_second)
    with pytest.raises(InputError, match="found no permission to use it"):
        write_whole(tmp_path, {"a.csv": b"new", "b.csv": b"new"})
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a.csv", b"old")]


def test_no_text_of_a_table_begins_a_formula():
    table = pd.DataFrame({"camera": ["=cmd|x", "+1", "-gate", "@a", "gate = 1"], "days": [-1.0, 2, 3, 4, 5]})
    lines = as_csv(table).decode().splitlines()
    assert lines == ["camera,days", "'=cmd|x,-1", "'+1,2", "'-gate,3", "'@a,4", "gate = 1,5"]


def test_nothing_is_seen_when_the_disk_fails_on_the_way(tmp_path, monkeypatch):
    def no_room(*_):
        raise OSError(28, "No space left on device")

    (tmp_path / "a.csv").write_bytes(b"old")
    monkeypatch.setattr(os, "replace", no_room)
    with pytest.raises(InputError, match="found no space left on device"):
        write_whole(tmp_path, {"a.csv": b"new"})
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a.csv", b"old")]


@pytest.mark.parametrize(
    ("text", "written"),
    [
        *((f"{sign}1+1", f"'{sign}1+1") for sign in "\uff1d\uff0b\uff0d\uff20"),  # full-width = + - @
        *((f"{sign}1+1", f"'{sign}1+1") for sign in "\ufe66\ufe62\ufe63\ufe6b\u207c\u207a\u207b"),  # small and raised
        ("\u200b=1+1", "'\u200b=1+1"),  # a character without width hides nothing
        ("gate;=1+1", "gate;'=1+1"),  # a spreadsheet that separates at semicolons sees =1+1 in a cell of its own
        ("gate,@SUM(1)", "gate,'@SUM(1)"),
        ("gate\t=1", "gate\t'=1"),
        ("\t=1", "'\t'=1"),
        ("mean 2; -3 dB", "mean 2; -3 dB"),
    ],
)
def test_no_formula_begins_in_a_text_wherever_a_spreadsheet_cuts_it(text, written):
    table = pd.DataFrame({"camera": [text]})
    assert pd.read_csv(io.BytesIO(as_csv(table)))["camera"].tolist() == [written]


def test_an_escape_sequence_of_a_text_is_written_out():
    assert as_csv(pd.DataFrame({"file": ["a\x1b[31m.mp4"]})) == b"file\na\\x1b[31m.mp4\n"
