"""The folder of its own in which a check of a card works: the only files that it makes, changes or removes.

It never opens a device, and follows no link below the place it was given. A file is written to or removed only when the
check made it: in this run, or in an earlier one, of which the folder holds the state. A file with a second name (a hard
link) is never touched, since its other name may be somebody's footage.
"""

import errno
import fcntl
import json
import mmap
import os
import re
import stat
from collections.abc import Mapping
from contextlib import ExitStack, suppress
from pathlib import Path
from types import TracebackType
from typing import Any

from edgestore.checks import refuse
from edgestore.inputs.bench.place import checked_place
from edgestore.inputs.names import printable

NAME = "edgestore-card-check"
"""The folder that a check makes on the card."""

STATE, STATE_ASIDE = "state.json", "state.new"
FORMAT = "edgestore card check 1"
"""What the state file says that it is; a folder without it is not touched."""

PART = r"part-\d{5}"
OWN = re.compile(rf"{PART}|small-updates|recording|state\.json|state\.new", re.IGNORECASE)
"""Names that a check gives; some mounts of FAT show short ones in capitals."""

MOST_OPEN = 32
"""So many files are open at once: a system lets a program have some 1000, and a card of 1 TB has as many parts."""

MOST_STATE_BYTES = 50_000_000
DIRECT = getattr(os, "O_DIRECT", 0)


def buffer(size_bytes: int) -> memoryview:
    """A buffer that begins at a page, as direct input and output need it."""
    return memoryview(mmap.mmap(-1, size_bytes))


class OwnFolder:
    """The folder of a check on a card, made anew or found again; closed at the end of a ``with``.

    Parameters
    ----------
    place : Path
        Where the card is mounted.
    any_folder : bool
        Take a folder that is not a mount point too.

    Attributes
    ----------
    state : dict
        What an earlier check left to go on with; empty for a new one.
    is_direct : bool
        Whether reading and writing pass the cache by (``O_DIRECT``); else each write waits for the device (``O_DSYNC``)
        and the cache is dropped before reading.

    Raises
    ------
    InputError
        When the place is not a folder, a mount point or writable, when another check runs in it, or when a folder of
        that name holds what no check made.
    """

    def __init__(self, place: Path, *, any_folder: bool = False) -> None:
        self.place = checked_place(place, any_folder=any_folder)
        self._files: dict[str, int] = {}
        self._own: set[str] = set()
        flags = os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW
        with ExitStack() as opened:
            try:
                self._where = os.open(self.place, flags)
                opened.callback(os.close, self._where)
                with suppress(FileExistsError):
                    os.mkdir(NAME, 0o700, dir_fd=self._where)
                self._folder = os.open(NAME, flags, dir_fd=self._where)
            except OSError as error:
                raise self.refused(error) from None
            opened.callback(os.close, self._folder)
            self._device = os.fstat(self._folder).st_dev
            if self._device != os.fstat(self._where).st_dev:
                mend = "Unmount what is mounted there, or give that folder a name of its own."
                raise refuse(printable(str(self.path)), "another file system", "a folder of the card itself", mend)
            self._take()
            self._opened = opened.pop_all()

    def _take(self) -> None:
        try:
            fcntl.flock(self._folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise refuse(
                printable(str(self.path)), "a check that is running", "one check of a card at a time", "Wait for it."
            ) from None
        except OSError as error:
            mend = "Mount the card on this machine itself, not over a network."
            found = f"no locks ({error.strerror})"
            raise refuse(printable(str(self.path)), found, "a file system with locks", mend) from None
        self.state = self._read_state()
        self.is_direct = self._takes_direct()

    @property
    def path(self) -> Path:
        """The folder."""
        return self.place / NAME

    def free_bytes(self) -> int:
        """What a user may still write to the card."""
        free = os.fstatvfs(self._folder)
        return free.f_bavail * free.f_frsize

    def size_bytes(self) -> int:
        """Size of the file system on the card."""
        whole = os.fstatvfs(self._folder)
        return whole.f_blocks * whole.f_frsize

    def length(self, name: str) -> int:
        """Length of a file of the check in bytes; 0 where there is none."""
        try:
            return os.stat(name, dir_fd=self._folder, follow_symlinks=False).st_size
        except FileNotFoundError:
            return 0

    def write(self, name: str, at: int, data: memoryview) -> None:
        """Write all of a buffer into a file, from a byte on; OSError where the device refuses."""
        self._whole(os.pwrite, name, at, data)

    def read(self, name: str, at: int, into: memoryview) -> None:
        """Read a whole buffer from a byte of a file on; OSError where the device, or the file, ends before."""
        self._whole(lambda file, part, start: os.preadv(file, [part], start), name, at, into)

    def _whole(self, move: Any, name: str, at: int, data: memoryview) -> None:
        file, done = self._open(name), 0
        while done < len(data):
            count = move(file, data[done:], at + done)
            if not count:
                raise OSError(errno.EIO, "the file ends before it should")
            done += count

    def reserve(self, name: str, size_bytes: int) -> None:
        """Keep room for a file without writing it; OSError where the file system cannot.

        Some file systems keep room for a file that is made longer instead (exFAT in Linux 6.8 and later does so, and
        writes nothing); most give such a file no room at all, which is told as that they cannot.
        """
        file = self._open(name)
        try:
            _fallocate(file, size_bytes)
        except OSError as error:
            if error.errno not in CANNOT_RESERVE:
                raise
            os.ftruncate(file, size_bytes)
            os.fsync(file)
            if os.fstat(file).st_blocks * STAT_BLOCK_BYTES < size_bytes:
                os.ftruncate(file, 0)
                raise

    def settle(self, name: str) -> None:
        """Wait until a file is on the device, and drop it from the cache: what is read next comes from the card."""
        file = self._open(name)
        os.fsync(file)
        os.posix_fadvise(file, 0, 0, os.POSIX_FADV_DONTNEED)

    def keep(self, state: Mapping[str, Any]) -> None:
        """Write the state to go on with, whole or not at all."""
        self.state = {"format": FORMAT, **state}
        self._unlink(STATE_ASIDE)
        with os.fdopen(self._made(STATE_ASIDE, os.O_WRONLY), "w", encoding="utf-8") as opened:
            json.dump(self.state, opened)
            opened.flush()
            os.fsync(opened.fileno())
        os.rename(STATE_ASIDE, STATE, src_dir_fd=self._folder, dst_dir_fd=self._folder)
        self._own.discard(STATE_ASIDE)
        self._own.add(STATE)
        with suppress(OSError):  # a file system that puts no folder on the disk
            os.fsync(self._folder)

    def clear_parts(self) -> None:
        """Remove the files of the pattern; the state stays."""
        self._close_files()
        for name in sorted(self._own):
            if re.fullmatch(PART, name, re.IGNORECASE):
                self._unlink(name)

    def clear(self) -> None:
        """Remove the files of the check, the state last: where this is killed the next check can clear the rest."""
        self._close_files()
        for name in sorted(self._own, key=lambda name: (name.lower() == STATE, name)):
            self._unlink(name)

    def remove(self) -> None:
        """Remove the files of the check, and its folder where nothing else is in it."""
        self.clear()
        with suppress(OSError):  # somebody else put a file there: that stays, and the folder with it
            os.rmdir(NAME, dir_fd=self._where)

    def close(self) -> None:
        """Close all files; the folder stays."""
        self._close_files()
        self._opened.close()

    def __enter__(self) -> "OwnFolder":
        """Give the folder."""
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        """Close it."""
        self.close()

    def _close_files(self) -> None:
        while self._files:
            _, file = self._files.popitem()
            with suppress(OSError):  # a card that was pulled out
                os.close(file)

    def _open(self, name: str) -> int:
        if name not in self._files:
            while len(self._files) >= MOST_OPEN:
                oldest = next(iter(self._files))
                os.close(self._files.pop(oldest))
            flags = os.O_RDWR | (DIRECT if self.is_direct else os.O_DSYNC)
            self._files[name] = self._again(name, flags) if name in self._own else self._made(name, flags)
        return self._files[name]

    def _made(self, name: str, flags: int) -> int:
        """Make a file that is not there and open it; one that somebody else put there meanwhile is left alone."""
        try:
            file = os.open(name, flags | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o600, dir_fd=self._folder)
        except FileExistsError:
            raise self._strange(name) from None
        self._own.add(name)
        return file

    def _again(self, name: str, flags: int) -> int:
        """Open a file of the check, if it is still that."""
        file = os.open(name, flags | os.O_NOFOLLOW, dir_fd=self._folder)
        if not self._is_own(os.fstat(file)):
            os.close(file)
            raise self._strange(name)
        return file

    def _unlink(self, name: str) -> None:
        """Remove a file of the check, if it is still that."""
        if name not in self._own:
            return
        with suppress(FileNotFoundError):
            if not self._is_own(os.stat(name, dir_fd=self._folder, follow_symlinks=False)):
                raise self._strange(name)
            os.unlink(name, dir_fd=self._folder)
        self._own.discard(name)

    def _is_own(self, status: os.stat_result) -> bool:
        """Whether it is a plain file of the card with one name."""
        return stat.S_ISREG(status.st_mode) and status.st_nlink == 1 and status.st_dev == self._device

    def _strange(self, name: str) -> Exception:
        mend = "Look into the folder; remove it yourself where nothing in it is needed."
        return refuse(printable(str(self.path)), printable(name), "files of a card check alone", mend)

    def _takes_direct(self) -> bool:
        """Try a block in the state's aside: whether the file system passes the cache by."""
        if not DIRECT:
            return False
        self._unlink(STATE_ASIDE)
        try:
            file = self._made(STATE_ASIDE, os.O_RDWR | DIRECT)
        except OSError as error:
            if error.errno == errno.EINVAL:
                with suppress(FileNotFoundError):  # some file systems make it before they refuse
                    os.unlink(STATE_ASIDE, dir_fd=self._folder)
                return False
            raise self.refused(error) from None
        try:
            os.pwrite(file, buffer(mmap.PAGESIZE), 0)
        except OSError as error:
            if error.errno == errno.EINVAL:
                return False
            raise self.refused(error) from None
        finally:
            os.close(file)
            with suppress(OSError):
                self._unlink(STATE_ASIDE)
        return True

    def _read_state(self) -> dict[str, Any]:
        """What an earlier check left; files that no check made, or that have a second name, are refused."""
        names = os.listdir(self._folder)
        for name in names:
            status = os.stat(name, dir_fd=self._folder, follow_symlinks=False)
            if not OWN.fullmatch(name) or not self._is_own(status):
                raise self._strange(name)
        if STATE_ASIDE in map(str.lower, names) and not self._is_begun(names):
            raise self._strange(STATE_ASIDE)
        others = [name for name in names if name.lower() != STATE_ASIDE]
        state: dict[str, Any] = {}
        if others:
            try:
                with os.fdopen(self._again(STATE, os.O_RDONLY), encoding="utf-8") as opened:
                    state = json.loads(opened.read(MOST_STATE_BYTES))
                if not isinstance(state, dict) or state.get("format") != FORMAT:
                    raise ValueError
            except (OSError, ValueError, RecursionError):
                mend = "Look into the folder; remove it yourself where nothing in it is needed."
                told = printable(str(self.path))
                raise refuse(told, "no state that can be read", "a folder that a card check left", mend) from None
        self._own |= set(names)
        return state

    def _is_begun(self, names: list[str]) -> bool:
        """Whether the aside of the state is what a check that was killed leaves: nothing, zeros, or a state begun."""
        [name] = [name for name in names if name.lower() == STATE_ASIDE]
        with os.fdopen(self._again(name, os.O_RDONLY), "rb") as opened:
            head = opened.read(mmap.PAGESIZE)
        begun = json.dumps({"format": FORMAT})[:-1].encode()
        return not head.strip(b"\0") or head[: len(begun)] == begun[: len(head)]

    def refused(self, error: OSError) -> Exception:
        """The refusal of a card that cannot be written to."""
        return refuse(
            printable(str(self.path)), error.strerror or str(error), "a card that can be written to", _mend(error)
        )


KEEP_SIZE = 1
"""``FALLOC_FL_KEEP_SIZE`` of Linux's ``falloc.h``."""

CANNOT_RESERVE = (errno.EOPNOTSUPP, errno.ENOSYS, errno.EINVAL)
STAT_BLOCK_BYTES = 512
"""What ``st_blocks`` counts on Linux."""


def _fallocate(file: int, size_bytes: int) -> None:
    import ctypes

    call = ctypes.CDLL(None, use_errno=True).fallocate
    call.argtypes = [ctypes.c_int, ctypes.c_int, ctypes.c_int64, ctypes.c_int64]
    if call(file, KEEP_SIZE, 0, size_bytes):
        code = ctypes.get_errno()
        raise OSError(code, os.strerror(code))


def _mend(error: OSError) -> str:
    if error.errno == errno.EROFS:
        return "Slide the lock of the adapter off; a card that made itself read-only is at its end."
    return "Mount the card so that you may write to it."
