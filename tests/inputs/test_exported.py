"""The exported files of a folder: digests that others confirm, nothing changed, and what is refused."""

import errno
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.inputs import exported as module
from edgestore.inputs.exported import Exported, ExportedFile, read_exported, sha256sums


def test_the_digests_are_those_that_the_standard_prints(tmp_path):
    # FIPS 180-4 examples of SHA-256: one block "abc", and two blocks.
    (tmp_path / "one").write_bytes(b"abc")
    (tmp_path / "two").write_bytes(b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")
    one, two = read_exported(tmp_path).files
    assert one.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert two.sha256 == "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"
    assert (two.name, two.size_bytes) == ("two", 56)


def test_files_at_any_depth_are_read_in_the_order_of_their_names_and_links_are_named_and_not_followed(tmp_path):
    folder = tmp_path / "export"
    (folder / "b" / "c").mkdir(parents=True)
    (tmp_path / "outside").mkdir()
    for name in ("b/c/clip.mp4", "z.mp4", "a.mp4", "../outside/secret"):
        (folder / name).write_bytes(name.encode())
    (folder / "link").symlink_to("a.mp4")
    (folder / "b" / "away").symlink_to(tmp_path / "outside")
    found = read_exported(folder)
    assert [file.name for file in found.files] == ["a.mp4", "b/c/clip.mp4", "z.mp4"]
    assert [(link.name, link.target) for link in found.links] == [
        ("b/away", str(tmp_path / "outside")),
        ("link", "a.mp4"),
    ]
    assert found.size_bytes == len("a.mp4" + "b/c/clip.mp4" + "z.mp4")


def test_a_folder_without_anything_is_named_and_one_with_a_link_is_not(tmp_path):
    for folder in ("empty/er", "linked"):
        (tmp_path / folder).mkdir(parents=True)
    (tmp_path / "clip.mp4").write_bytes(b"footage")
    (tmp_path / "linked" / "away").symlink_to(tmp_path / "clip.mp4")
    assert read_exported(tmp_path).empty_folders == ("empty/er",)


def test_a_file_and_a_folder_without_the_right_to_read_are_refused_by_name(tmp_path, monkeypatch):
    # The system is made to refuse, since who runs the tests as root may read everything.
    (tmp_path / "clip.mp4").write_bytes(b"footage")
    (tmp_path / "secret.mp4").touch()
    (tmp_path / "closed").mkdir()

    def refusing(call, name):
        def refuse(path, *arguments):
            if Path(path).name == name:
                raise PermissionError(errno.EACCES, "Permission denied", os.fspath(path))
            return call(path, *arguments)

        return refuse

    monkeypatch.setattr(os, "open", refusing(os.open, "secret.mp4"))
    monkeypatch.setattr(os, "scandir", refusing(os.scandir, "closed"))
    with pytest.raises(InputError, match="can be read") as caught:
        read_exported(tmp_path)
    assert sorted(Path(fault.where).name for fault in caught.value.faults) == ["closed", "secret.mp4"]


def test_nothing_in_the_folder_is_changed_not_even_when_it_was_last_read(tmp_path):
    clip = tmp_path / "clip.mp4"
    clip.write_bytes(b"footage")
    os.utime(clip, ns=(10**18, 10**18))
    clip.chmod(0o444)
    tmp_path.chmod(0o555)
    before = clip.stat(), tmp_path.stat()
    read_exported(tmp_path)
    tmp_path.chmod(0o755)
    assert clip.stat().st_mtime_ns == before[0].st_mtime_ns
    assert tmp_path.stat().st_mtime_ns == before[1].st_mtime_ns
    assert [path.name for path in tmp_path.iterdir()] == ["clip.mp4"]
    if hasattr(os, "O_NOATIME"):
        assert clip.stat().st_atime_ns == 10**18


@pytest.mark.skipif(not shutil.which("sha256sum"), reason="no sha256sum: apt install coreutils")
def test_sha256sum_confirms_the_list_and_notices_a_change(tmp_path):
    folder = tmp_path / "export"
    folder.mkdir()
    odd = ["clip.mp4", " blank ", "back\\slash", "two\nlines", "a\\nb", "*star", b"no-utf8-\xff"]
    for name in odd:
        (folder / os.fsdecode(name)).write_bytes(os.fsencode(name) * 3)
    (tmp_path / "list").write_bytes(sha256sums(read_exported(folder)))
    check = ["sha256sum", "--check", "--strict", "../list"]
    done = subprocess.run(check, cwd=folder, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.count(b": OK") == len(odd)
    (folder / "clip.mp4").write_bytes(b"other")
    assert subprocess.run(check, cwd=folder, capture_output=True, check=False).returncode == 1


@given(st.lists(st.text("a\\\n\r *é", min_size=1), min_size=1, max_size=5))
def test_the_list_has_one_line_a_file_from_which_its_name_comes_back(names):
    files = tuple(ExportedFile(name=name, size_bytes=0, sha256="0" * 64) for name in names)
    lines = sha256sums(Exported(folder=None, files=files)).decode().split("\n")
    assert lines.pop() == ""
    meant = {"\\\\": "\\", "\\n": "\n", "\\r": "\r"}
    for name, line in zip(names, lines, strict=True):
        digest, written = line.removeprefix("\\").split("  ", 1)
        assert digest == "0" * 64
        back = re.sub(r"\\[\\nr]", lambda found: meant[found[0]], written) if line.startswith("\\") else written
        assert back == name


def test_a_pipe_is_refused_and_not_waited_for_with_all_other_faults(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    os.mkfifo(tmp_path / "second")
    with pytest.raises(InputError, match="a pipe or device") as caught:
        read_exported(tmp_path)
    assert len(caught.value.faults) == 2


def test_a_file_that_grows_while_it_is_read_is_refused(tmp_path, monkeypatch):
    clip = tmp_path / "clip.mp4"
    clip.write_bytes(b"footage")

    calls = []
    real = os.fstat

    def fstat(handle):
        seen = real(handle)
        if not calls:
            calls.append(1)
            with clip.open("ab") as file:
                file.write(b"more")
        return seen

    monkeypatch.setattr(module.os, "fstat", fstat)
    with pytest.raises(InputError, match="changes while it is read"):
        read_exported(tmp_path)


@pytest.mark.parametrize(
    "change",
    [
        lambda folder: (folder / "a.mp4").write_bytes(b"longer than before"),
        lambda folder: os.utime(folder / "a.mp4", ns=(1, 1)),
        lambda folder: (folder / "a.mp4").unlink(),
        lambda folder: (folder / "c.mp4").write_bytes(b"the next clip"),
        lambda folder: (folder / "camera 3").mkdir(),
    ],
)
def test_an_export_that_goes_on_is_refused_whatever_of_it_was_read_already(change, tmp_path, monkeypatch):
    for name in ("a.mp4", "b.mp4"):
        (tmp_path / name).write_bytes(b"footage")
    real = module._read

    def read(path, name):
        done = real(path, name)
        if name == "b.mp4":  # the last of the two
            change(tmp_path)
        return done

    monkeypatch.setattr(module, "_read", read)
    with pytest.raises(InputError, match="changes while the folder is read") as caught:
        read_exported(tmp_path)
    assert len(caught.value.faults) == 1


@pytest.mark.parametrize(
    ("make", "found"), [(lambda path: None, "no such folder"), (lambda path: path.write_text("x"), "a file")]
)
def test_what_is_no_folder_is_refused(make, found, tmp_path):
    make(tmp_path / "export")
    with pytest.raises(InputError, match=found):
        read_exported(tmp_path / "export")


def test_an_empty_folder_is_refused(tmp_path):
    with pytest.raises(InputError, match="no file"):
        read_exported(tmp_path)
