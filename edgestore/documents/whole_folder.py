"""Writes a folder of files so that whoever looks, at any moment, finds the old folder whole or the new one whole.

Everything is written aside, in a folder beside the one that is wanted, and put on the disk. Then the two are exchanged
in one step of the operating system (``renameat2`` with ``RENAME_EXCHANGE``, on Linux). Where that step is not to be
had, the old folder is moved away first: for a moment the name does not exist, and a writer killed in it leaves the old
one whole in the aside, as ``before``.
"""

import ctypes
import hashlib
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from edgestore.checks import refuse

MANIFEST = "pack.json"
"""The file that marks a folder as written by :func:`write_folder`: the digest of every other file in it."""

AT_FDCWD, RENAME_EXCHANGE = -100, 2
"""From Linux's headers ``fcntl.h`` and ``fs.h``."""


def write_folder(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write a folder of files, whole or not at all.

    Parameters
    ----------
    folder : Path
        Where to write. It must not exist, be empty, or hold what this function wrote before and nobody changed.
    files : mapping of str to bytes
        Content by plain file name.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        When there is a file of the user's in the folder, or one that was changed since it was written: neither is
        ever lost. When the folder cannot be written to. What was there before stays.

    Notes
    -----
    The exchange is in one step where the operating system has it; the others are told in the module.
    """
    folder = Path(os.path.abspath(folder)).resolve()
    digests = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    manifest = json.dumps({"written_by": "edgestore propose", "sha256": digests}, indent=1).encode()
    try:
        _may_be_replaced(folder)
        folder.parent.mkdir(parents=True, exist_ok=True)
        _sweep(folder)
        with _aside(folder) as aside:
            new = aside / "new"
            new.mkdir()
            for name, content in {**files, MANIFEST: manifest}.items():
                _write(new / name, content)
            if folder.exists():
                shutil.copymode(folder, new)
            _on_disk(new)
            _put(new, folder)
            _on_disk(folder.parent)
    except OSError as error:
        raise refuse(
            str(folder), error.strerror or str(error), "a folder that can be written to", "Name another folder."
        ) from None
    return [folder / name for name in files]


def _may_be_replaced(folder: Path) -> None:
    """Refuse a folder that holds anything of the user's."""
    if not os.path.lexists(folder):
        return
    allowed = "a new folder, an empty one, or a former pack as it was written"
    mend = "Move your files away, or name another folder."
    if not folder.is_dir():
        raise refuse(str(folder), "a file", allowed, "Name another folder.")
    there = sorted(path.name for path in folder.iterdir())
    digests = _digests(folder) if MANIFEST in there else {}
    foreign = [name for name in there if name not in (*digests, MANIFEST)]
    if foreign:
        raise refuse(str(folder), f"files of another origin ({', '.join(foreign[:5])})", allowed, mend)
    for name in there:
        path = folder / name
        if name != MANIFEST and (not path.is_file() or hashlib.sha256(path.read_bytes()).hexdigest() != digests[name]):
            raise refuse(str(path), "a file that was changed since it was written", allowed, mend)


def _digests(folder: Path) -> dict[str, str]:
    try:
        content = json.loads((folder / MANIFEST).read_bytes())
        return {str(name): str(digest) for name, digest in content["sha256"].items()}
    except (ValueError, LookupError, TypeError, AttributeError):
        return {}


@contextmanager
def _aside(folder: Path) -> Iterator[Path]:
    """Give a new folder beside the one wanted; it is removed with whatever is in it in the end."""
    aside = Path(tempfile.mkdtemp(prefix=_prefix(folder), dir=folder.parent))
    with _held(aside):
        try:
            yield aside
        finally:
            shutil.rmtree(aside, ignore_errors=True)


@contextmanager
def _held(aside: Path) -> Iterator[bool]:
    """Hold a lock on a folder, which ends with the process; say whether it was free. Nothing on Windows."""
    if sys.platform == "win32":
        yield False
        return
    import fcntl

    handle = os.open(aside, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield True
    except BlockingIOError:
        yield False
    finally:
        os.close(handle)


def _sweep(folder: Path) -> None:
    """Remove what writers that were killed left beside the folder."""
    for left in folder.parent.glob(f"{_prefix(folder)}*"):
        with _held(left) as is_free:
            if is_free and folder.exists():  # without it, the aside may be all that is left of it
                shutil.rmtree(left, ignore_errors=True)


def _prefix(folder: Path) -> str:
    digest = hashlib.sha256(folder.name.encode("utf-8", "surrogateescape")).hexdigest()[:8]
    return f".edgestore-{digest}-"  # a name of its own, of any length and letters, is not repeated


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _on_disk(folder: Path) -> None:
    """Have the names in a folder put on the disk; Windows does so by itself."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _put(new: Path, folder: Path) -> None:
    """Put the new folder in the place of the former one, which then stands in the aside."""
    if not folder.exists():
        os.rename(new, folder)
    elif not _exchanged(new, folder):
        before = new.with_name("before")
        os.rename(folder, before)
        try:
            os.rename(new, folder)
        except OSError:
            os.rename(before, folder)
            raise


def _exchanged(one: Path, other: Path) -> bool:
    """Exchange the names of two folders in one step; say whether this system can."""
    try:
        renameat2 = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError, TypeError):  # not Linux, or its C library is older than 2.28
        return False
    return bool(renameat2(AT_FDCWD, os.fsencode(one), AT_FDCWD, os.fsencode(other), RENAME_EXCHANGE) == 0)
