"""A folder is written whole or not at all, whatever happens to the writer, and no file of the user's is lost."""

import os
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from edgestore import InputError, output
from edgestore.output import MANIFEST

pytestmark = [pytest.mark.slow, pytest.mark.landing]

write_folder = partial(output.write_folder, written_by="a test")

OLD, NEW = {"a.csv": b"1", "b.html": b"2"}, {"a.csv": b"3", "c.pdf": b"4"}


def held(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name != MANIFEST}


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux has the exchange in one step, and fork")
@pytest.mark.parametrize("kind", ["folder", "file"])
def test_a_writer_killed_at_any_moment_leaves_the_old_one_whole_or_the_new_one_whole(kind, tmp_path):
    script = Path(__file__).with_name("kill_the_writer.py")
    done = subprocess.run([sys.executable, script, tmp_path, kind], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "from A" in done.stdout
    assert "from outside: 60 moments" in done.stdout


def test_a_former_pack_is_replaced_and_nothing_of_it_stays(tmp_path):
    write_folder(tmp_path / "pack", OLD)
    written = write_folder(tmp_path / "pack", NEW)
    assert [path.name for path in written] == ["a.csv", "c.pdf"]
    assert held(tmp_path / "pack") == NEW
    assert [path.name for path in tmp_path.iterdir()] == ["pack"]


def test_an_empty_folder_is_filled_and_keeps_who_may_open_it(tmp_path):
    (tmp_path / "pack").mkdir()
    (tmp_path / "pack").chmod(0o750)
    write_folder(tmp_path / "pack", OLD)
    assert held(tmp_path / "pack") == OLD
    assert (tmp_path / "pack").stat().st_mode & 0o777 == 0o750


def test_folders_above_are_made(tmp_path):
    write_folder(tmp_path / "a" / "b" / "pack", OLD)
    assert held(tmp_path / "a" / "b" / "pack") == OLD


def test_a_folder_with_a_file_of_the_users_is_refused_and_left_alone(tmp_path):
    write_folder(tmp_path, OLD)
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(InputError, match=r"found files that edgestore did not write \(mine\.txt\)"):
        write_folder(tmp_path, NEW)
    assert held(tmp_path) == {**OLD, "mine.txt": b"mine"}


@pytest.mark.parametrize("manifest", ["{}", "no json", '{"sha256": []}', '{"sha256": {"a.csv": null}}'])
def test_a_folder_that_only_looks_like_a_pack_is_refused(tmp_path, manifest):
    (tmp_path / "a.csv").write_text("mine")
    (tmp_path / MANIFEST).write_text(manifest)
    with pytest.raises(InputError, match=r"files that edgestore did not write|changed since it was written"):
        write_folder(tmp_path, NEW)
    assert (tmp_path / "a.csv").read_text() == "mine"


def test_a_pack_with_a_file_that_was_changed_is_refused_and_left_alone(tmp_path):
    write_folder(tmp_path, OLD)
    (tmp_path / "a.csv").write_bytes(b"my rates")
    with pytest.raises(InputError, match=r"a\.csv: found a file that was changed after it was written"):
        write_folder(tmp_path, NEW)
    assert held(tmp_path) == {**OLD, "a.csv": b"my rates"}


def test_a_folder_that_is_a_file_is_refused_and_left_alone(tmp_path):
    (tmp_path / "pack").write_text("mine")
    with pytest.raises(InputError, match="found a file; allowed: a new folder"):
        write_folder(tmp_path / "pack", OLD)
    with pytest.raises(InputError, match="allowed: a folder that can be written to"):
        write_folder(tmp_path / "pack" / "below", OLD)
    assert (tmp_path / "pack").read_text() == "mine"


def test_a_link_to_a_folder_stays_a_link(tmp_path):
    (tmp_path / "there").mkdir()
    (tmp_path / "pack").symlink_to(tmp_path / "there")
    write_folder(tmp_path / "pack", OLD)
    assert (tmp_path / "pack").is_symlink()
    assert held(tmp_path / "there") == OLD


def test_a_full_disk_leaves_all_as_it_was(tmp_path, monkeypatch):
    def no_room(_):
        raise OSError(28, "No space left on device")

    write_folder(tmp_path / "pack", OLD)
    monkeypatch.setattr(os, "fsync", no_room)
    with pytest.raises(InputError, match="found no space left on device"):
        write_folder(tmp_path / "pack", NEW)
    assert held(tmp_path / "pack") == OLD
    assert [path.name for path in tmp_path.iterdir()] == ["pack"]


def test_where_no_exchange_is_to_be_had_the_folder_is_moved_away_first(tmp_path, monkeypatch):
    monkeypatch.setattr(output, "_exchanged", lambda *_: False)
    write_folder(tmp_path / "pack", OLD)
    write_folder(tmp_path / "pack", NEW)
    assert held(tmp_path / "pack") == NEW
    assert [path.name for path in tmp_path.iterdir()] == ["pack"]


def test_without_the_exchange_a_folder_that_cannot_be_put_in_place_gives_the_old_one_back(tmp_path, monkeypatch):
    rename = os.rename

    def not_the_new(source, target):
        if Path(source).name == "new":
            raise OSError(13, "Permission denied")
        rename(source, target)

    write_folder(tmp_path / "pack", OLD)
    monkeypatch.setattr(output, "_exchanged", lambda *_: False)
    monkeypatch.setattr(os, "rename", not_the_new)
    with pytest.raises(InputError, match="found no permission to use it"):
        write_folder(tmp_path / "pack", NEW)
    assert held(tmp_path / "pack") == OLD


def test_a_folder_that_another_command_wrote_is_refused_and_left_alone(tmp_path):
    output.write_folder(tmp_path / "pack", OLD, "edgestore propose")
    with pytest.raises(InputError, match=r"found files that edgestore propose wrote; .* edgestore plan wrote"):
        output.write_folder(tmp_path / "pack", NEW, "edgestore plan")
    assert held(tmp_path / "pack") == OLD


def test_a_link_in_a_circle_is_refused(tmp_path):
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    for place in (tmp_path / "a", tmp_path / "a" / "below"):
        with pytest.raises(InputError, match=r"in a circle|symbolic links"):
            write_folder(place, OLD)
    assert sorted(os.listdir(tmp_path)) == ["a", "b"]


def test_a_name_that_is_too_long_is_refused(tmp_path):
    message = "/x{300}: found a name too long for this disk; allowed: a shorter name"
    with pytest.raises(InputError, match=message):
        write_folder(tmp_path / ("x" * 300), OLD)
    with pytest.raises(InputError, match=message):
        output.write_whole(tmp_path, {"x" * 300: b""})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such file")
def test_a_mark_of_a_folder_that_is_no_plain_file_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / MANIFEST)
    (tmp_path / "a.csv").write_text("mine")
    with pytest.raises(InputError, match="files that edgestore did not write"):
        write_folder(tmp_path, NEW)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such names")
def test_what_another_user_left_aside_stops_nobody(tmp_path, monkeypatch):
    write_folder(tmp_path / "pack", OLD)
    left = tmp_path / f"{output.ASIDE}{output._digest('pack')}-left"
    left.mkdir()
    opened = os.open

    def not_that(path, *how):
        if os.fspath(path) == os.fspath(left):
            raise PermissionError(13, "Permission denied")
        return opened(path, *how)

    monkeypatch.setattr(os, "open", not_that)
    write_folder(tmp_path / "pack", NEW)
    assert held(tmp_path / "pack") == NEW


def test_a_zero_byte_in_a_path_is_refused_in_words(tmp_path):
    for write in (write_folder, output.write_whole):
        with pytest.raises(InputError, match="null byte; allowed: a folder that can be written to"):
            write(tmp_path / "a\x00b", OLD)
    with pytest.raises(InputError, match="null byte"), output.locked(tmp_path / "a\x00b"):
        pass
