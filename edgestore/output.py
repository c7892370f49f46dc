"""The one place that writes files: whoever looks, at any moment, finds the old ones whole or the new ones whole.

Everything is written aside, in a hidden folder beside what is wanted, and put on the disk. Then one step of the
operating system decides: a file takes the place of the former one by a rename (:func:`write_whole`), and two folders
are exchanged (:func:`write_folder`: ``renameat2`` with ``RENAME_EXCHANGE``, on Linux). Where the exchange is not
available, the old folder is moved away first: for a moment the name does not exist, and a writer killed in it leaves
the old one whole in the aside, as ``before``. What killed writers left aside is removed by the next one.
"""

import ctypes
import errno
import hashlib
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from edgestore.checks import InputError, not_opened, refuse
from edgestore.text import VERSION

MANIFEST = "pack.json"
"""The file that marks a folder as written by :func:`write_folder`: who wrote it, which version, the files' digests."""

AT_FDCWD, RENAME_EXCHANGE = -100, 2
"""From Linux's headers ``fcntl.h`` and ``fs.h``."""

ASIDE = ".edgestore-"
"""How the names of hidden folders begin in which files are written aside."""

MOST_MANIFEST_BYTES = 1_000_000
LONGEST_NAME = 100
"""Letters of a name that a message repeats."""

WAIT_S = 60.0
"""So long a writer waits for others that change the same file, which takes them some milliseconds (our choice)."""


@contextmanager
def locked(file: Path) -> Iterator[None]:
    """Hold a file for this process alone, while it is read, changed and written: others wait for their turn.

    Parameters
    ----------
    file : Path
        The file, or a link to it; it need not exist, its folder is made.

    Raises
    ------
    InputError
        When its folder cannot be written to, or another process holds the file for longer than ``WAIT_S``.

    Notes
    -----
    The lock is a hidden file beside the one that is held, since that one is replaced; it goes with the last holder.
    """
    try:
        target = Path(os.path.realpath(file))
        lock = target.parent / f"{ASIDE}{_digest(target.name)}.lock"
        target.parent.mkdir(parents=True, exist_ok=True)
        turn = FileLock(lock, timeout=WAIT_S, mode=0o666).acquire()
    except Timeout:
        found = f"a file that another program has kept locked for {WAIT_S:g} s"
        raise refuse(
            str(file), found, "a file that no other program is changing", "Try again when the other program has ended."
        ) from None
    except (OSError, ValueError) as error:
        found = not_opened(error)
        raise refuse(str(file), found, "a file that can be written to", "Name another file or folder.") from None
    with turn:
        try:
            yield
        finally:
            with suppress(OSError):  # Windows removes it when the lock ends
                lock.unlink()


def write_whole(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files so that none is ever missing or half-written: all are put on the disk aside, then renamed.

    Parameters
    ----------
    folder : Path
        Where to write; made when it does not exist. Other files in it are left alone.
    files : mapping of str to bytes
        Content by file name.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        When the folder cannot be written to; what was there before stays.

    Notes
    -----
    A link to a file is followed: the file that it names is replaced, and the link stays. A file that is replaced keeps
    its permissions and, where the system lets us, its owner and group.
    """
    paths = [folder / name for name in files]
    try:
        targets = [_target(path) for path in paths]
        with ExitStack() as stack:
            asides: dict[Path, Path] = {}
            for parent in dict.fromkeys(target.parent for target in targets):
                parent.mkdir(parents=True, exist_ok=True)
                _sweep(parent, f"{ASIDE}files-")
                asides[parent] = stack.enter_context(_aside(parent, f"{ASIDE}files-"))
            moves = {}
            for number, (target, content) in enumerate(zip(targets, files.values(), strict=True)):
                new = asides[target.parent] / f"{number}.new"
                _write(new, content)
                if target.exists():
                    _keep_mode(target, new)
                moves[new] = target
            _rename(moves)
            for parent in asides:
                _on_disk(parent)
    except InputError:
        raise
    except (OSError, ValueError) as error:
        raise _cannot_write(folder, error) from None
    return paths


def _target(path: Path) -> Path:
    """Follow links to the file that is written; refuse what is no plain file."""
    target = Path(os.path.realpath(path))
    if os.path.lexists(target) and not os.path.isfile(target):
        found = "a folder of that name" if os.path.isdir(target) else "a pipe, a device or a link in a circle"
        raise refuse(str(path), found, "a file, or nothing yet", "Name another folder to write to.")
    return target


def _keep_mode(old: Path, new: Path) -> None:
    """Give a new file the permissions of the old one and, as far as the system lets us, its owner and group."""
    if sys.platform != "win32":
        for owner, group in ((old.stat().st_uid, -1), (-1, old.stat().st_gid)):
            with suppress(OSError):
                os.chown(new, owner, group)
    shutil.copymode(old, new)


def _rename(moves: Mapping[Path, Path]) -> None:
    """Put new files in the places of the old; when one cannot be, or on Ctrl-C, put back what the others replaced."""
    before = {}
    for new, target in moves.items():
        if target.exists():
            before[target] = new.with_suffix(".before")
            try:
                os.link(target, before[target])
            except OSError:  # a file system without links
                shutil.copy2(target, before[target])
    put = []
    try:
        for new, target in moves.items():
            put.append(target)
            os.replace(new, target)
    except BaseException:
        for target in put:
            if target in before:
                os.replace(before[target], target)
            else:
                target.unlink(missing_ok=True)
        raise


def _cannot_write(folder: Path, error: Exception) -> InputError:
    code, named = getattr(error, "errno", None), str(getattr(error, "filename", None) or folder)
    if code == errno.ENAMETOOLONG:
        return refuse(named, "a name too long for this disk", "a shorter name", "Name another file or folder.")
    found = not_opened(error)
    if isinstance(error, FileExistsError):
        found = "a file, or a link in a circle, of that name"
    return refuse(str(folder), found, "a folder that can be written to", "Name another folder.")


def write_folder(folder: Path, files: Mapping[str, bytes], written_by: str) -> list[Path]:
    """Write a folder of files, whole or not at all.

    Parameters
    ----------
    folder : Path
        Where to write. It must not exist, be empty, or hold what this function wrote before and nobody changed.
    files : mapping of str to bytes
        Content by plain file name.
    written_by : str
        The command that writes: it replaces only what it wrote itself.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        When there is a file of the user's in the folder, or one that was changed since it was written: neither is
        ever lost. When another command wrote the folder, or it cannot be written to. What was there before stays.

    Notes
    -----
    The exchange is in one step where the operating system has it; the others are told in the module.
    """
    digests = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    marker = _sealed({"written_by": written_by, "version": VERSION, "sha256": digests})
    try:
        folder = Path(os.path.realpath(folder))
        _may_be_replaced(folder, written_by)
        folder.parent.mkdir(parents=True, exist_ok=True)
        prefix = f"{ASIDE}{_digest(folder.name)}-"
        if folder.exists():  # without it, an aside may be all that is left of it
            _sweep(folder.parent, prefix)
        with _aside(folder.parent, prefix) as aside:
            new = aside / "new"
            new.mkdir()
            for name, content in {**files, MANIFEST: marker}.items():
                _write(new / name, content)
            if folder.exists():
                shutil.copymode(folder, new)
            _on_disk(new)
            _put(new, folder)
            _on_disk(folder.parent)
    except InputError:
        raise
    except (OSError, ValueError) as error:
        raise _cannot_write(folder, error) from None
    return [folder / name for name in files]


def _may_be_replaced(folder: Path, written_by: str) -> None:
    """Refuse a folder that holds anything of the user's, or of another command."""
    if not os.path.lexists(folder):
        return
    allowed = f"a new folder, an empty one, or one that {written_by} wrote and that nobody has changed"
    mend = "Move your files away, or name another folder."
    if not folder.is_dir():
        found = "a link in a circle" if folder.is_symlink() else "a file"
        raise refuse(str(folder), found, allowed, "Name another folder.")
    there = sorted(path.name for path in folder.iterdir())
    record = manifest(folder)
    writer, digests = record["written_by"], record["sha256"]
    foreign = [name for name in there if name not in (*digests, MANIFEST)]
    if foreign:
        raise refuse(str(folder), f"files that edgestore did not write ({', '.join(foreign[:5])})", allowed, mend)
    if digests and writer != written_by:
        raise refuse(str(folder), f"files that {writer[:LONGEST_NAME]} wrote", allowed, mend)
    for name in there:
        path = folder / name
        if name != MANIFEST and (not path.is_file() or hashlib.sha256(path.read_bytes()).hexdigest() != digests[name]):
            raise refuse(str(path), "a file that was changed after it was written", allowed, mend)


def manifest(folder: Path) -> Mapping[str, Any]:
    """Give ``written_by``, ``version`` and ``sha256`` (digests by name) of a folder; empty when it is not ours."""
    file, nothing = folder / MANIFEST, {"written_by": "", "version": "", "sha256": {}}
    try:
        if not file.is_file() or file.stat().st_size > MOST_MANIFEST_BYTES:
            return nothing
        said = json.loads(file.read_bytes())
        digests = {str(name): str(digest) for name, digest in said["sha256"].items()}
        return {"written_by": str(said["written_by"]), "version": str(said.get("version", "")), "sha256": digests}
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return nothing


def _sealed(record: Mapping[str, Any]) -> bytes:
    """Write the file that marks a folder, with the digest of what it says as its last entry."""
    own = hashlib.sha256(json.dumps(record, indent=1).encode()).hexdigest()
    return json.dumps({**record, "own_sha256": own}, indent=1).encode()


def changed_files(folder: Path) -> tuple[str, ...]:
    """Name the files of a folder that are not as :func:`write_folder` wrote them.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    tuple of str
        Names, in order: what was changed, is missing or was added; ``MANIFEST`` too, whatever byte of it changed.

    Raises
    ------
    InputError
        When it is no such folder.
    """
    if not (folder / MANIFEST).is_file():
        raise refuse(str(folder), f"no {MANIFEST}", "a folder that edgestore wrote", "Give the folder of the pack.")
    record = manifest(folder)
    digests = record["sha256"]
    changed = set() if (folder / MANIFEST).read_bytes() == _sealed(record) else {MANIFEST}
    there = {path.name for path in folder.iterdir()} - {MANIFEST}
    changed |= there ^ set(digests)
    for name in there & set(digests):
        path = folder / name
        if not path.is_file() or hashlib.sha256(path.read_bytes()).hexdigest() != digests[name]:
            changed.add(name)
    return tuple(sorted(changed))


@contextmanager
def _aside(place: Path, prefix: str) -> Iterator[Path]:
    """Give a new hidden folder in a place; it is removed with whatever is in it in the end."""
    aside = Path(tempfile.mkdtemp(prefix=prefix, dir=place))
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


def _sweep(place: Path, prefix: str) -> None:
    """Remove what writers that were killed left in a place."""
    for left in place.glob(f"{prefix}*"):
        with suppress(OSError), _held(left) as is_free:  # another user's is left to them
            if is_free:
                shutil.rmtree(left, ignore_errors=True)


def _digest(name: str) -> str:
    """Give eight letters for a name, which may be of any length and letters."""
    return hashlib.sha256(name.encode("utf-8", "surrogateescape")).hexdigest()[:8]


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
        except BaseException:
            os.rename(before, folder)
            raise


def _exchanged(one: Path, other: Path) -> bool:
    """Exchange the names of two folders in one step; say whether this system can."""
    try:
        renameat2 = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError, TypeError):  # not Linux, or its C library is older than 2.28
        return False
    return bool(renameat2(AT_FDCWD, os.fsencode(one), AT_FDCWD, os.fsencode(other), RENAME_EXCHANGE) == 0)
