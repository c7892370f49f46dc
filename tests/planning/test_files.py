"""Files are written whole or not at all."""

import os

import pytest

from edgestore import InputError
from edgestore.planning.files import write_whole


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


def test_nothing_is_seen_when_the_disk_fails_on_the_way(tmp_path, monkeypatch):
    def no_room(*_):
        raise OSError(28, "No space left on device")

    (tmp_path / "a.csv").write_bytes(b"old")
    monkeypatch.setattr(os, "replace", no_room)
    with pytest.raises(InputError, match="No space left on device"):
        write_whole(tmp_path, {"a.csv": b"new"})
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a.csv", b"old")]
