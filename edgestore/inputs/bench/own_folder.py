"""The folder of its own in which a check of a card works: the only files that it makes, changes or removes.

It never opens a device, follows no link below the place it was given, and removes a file only when its name is one
that the check gives and the folder holds the check's own state file.
"""

import errno
import fcntl
import json
import mmap
import os
import re
import stat
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any

from edgestore.checks import refuse
from edgestore.inputs.names import printable

NAME = "edgestore-card-check"
"""The folder that a check makes on the card."""

STATE, STATE_ASIDE = "state.json", "state.new"
FORMAT = "edgestore card check 1"
"""What the state file says that it is; a folder without it is not touched."""

OWN = re.compile(r"part-\d{5}|small-updates|recording|state\.json|state\.new")
"""Names that a check gives."""

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
        self.place = _checked_place(place, any_folder=any_folder)
        self._files: dict[str, int] = {}
        flags = os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW
        where = os.open(self.place, flags)
        try:
            with suppress(FileExistsError):
                os.mkdir(NAME, 0o700, dir_fd=where)
            self._folder = os.open(NAME, flags, dir_fd=where)
        except OSError as error:
            raise self._refused(error) from None
        finally:
            os.close(where)
        try:
            self._take()
        except BaseException:
            os.close(self._folder)
            raise

    def _take(self) -> None:
        try:
            fcntl.flock(self._folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise refuse(
                printable(str(self.path)), "a check that is running", "one check of a card at a time", "Wait for it."
            ) from None
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
        """Keep room for a file without writing it; OSError where the file system cannot."""
        import ctypes

        call = ctypes.CDLL(None, use_errno=True).fallocate
        call.argtypes = [ctypes.c_int, ctypes.c_int, ctypes.c_int64, ctypes.c_int64]
        if call(self._open(name), KEEP_SIZE, 0, size_bytes):
            code = ctypes.get_errno()
            raise OSError(code, os.strerror(code))

    def settle(self, name: str) -> None:
        """Wait until a file is on the device, and drop it from the cache: what is read next comes from the card."""
        file = self._open(name)
        os.fsync(file)
        os.posix_fadvise(file, 0, 0, os.POSIX_FADV_DONTNEED)

    def keep(self, state: Mapping[str, Any]) -> None:
        """Write the state to go on with, whole or not at all."""
        self.state = {"format": FORMAT, **state}
        flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_NOFOLLOW
        file = os.open(STATE_ASIDE, flags, 0o600, dir_fd=self._folder)
        try:
            with os.fdopen(file, "w", encoding="utf-8") as opened:
                json.dump(self.state, opened)
                opened.flush()
                os.fsync(file)
        finally:
            with suppress(OSError):
                os.fsync(self._folder)
        os.rename(STATE_ASIDE, STATE, src_dir_fd=self._folder, dst_dir_fd=self._folder)

    def clear(self) -> None:
        """Remove the files of the check, the state last."""
        self._close_files()
        names = [name for name in os.listdir(self._folder) if OWN.fullmatch(name)]
        for name in sorted(names, key=lambda name: name == STATE):
            os.unlink(name, dir_fd=self._folder)

    def remove(self) -> None:
        """Remove the files of the check, and its folder where nothing else is in it."""
        self.clear()
        with suppress(OSError):  # somebody else put a file there: that stays, and the folder with it
            os.rmdir(self.path)

    def close(self) -> None:
        """Close all files; the folder stays."""
        self._close_files()
        os.close(self._folder)

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
            flags = os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | (DIRECT if self.is_direct else os.O_DSYNC)
            self._files[name] = os.open(name, flags, 0o600, dir_fd=self._folder)
        return self._files[name]

    def _takes_direct(self) -> bool:
        """Try a block in the state's aside: whether the file system passes the cache by."""
        if not DIRECT:
            return False
        flags = os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_NOFOLLOW | DIRECT
        try:
            file = os.open(STATE_ASIDE, flags, 0o600, dir_fd=self._folder)
        except OSError as error:
            if error.errno == errno.EINVAL:
                return False
            raise self._refused(error) from None
        try:
            os.pwrite(file, buffer(mmap.PAGESIZE), 0)
        except OSError as error:
            if error.errno == errno.EINVAL:
                return False
            raise self._refused(error) from None
        finally:
            os.close(file)
            with suppress(OSError):
                os.unlink(STATE_ASIDE, dir_fd=self._folder)
        return True

    def _read_state(self) -> dict[str, Any]:
        others = [name for name in os.listdir(self._folder) if name != STATE_ASIDE]
        if not others:
            return {}
        strange = [name for name in others if not OWN.fullmatch(name)]
        mend = "Look into the folder; remove it yourself where nothing in it is needed."
        if strange:
            raise refuse(printable(str(self.path)), printable(strange[0]), "files of a card check alone", mend)
        try:
            file = os.open(STATE, os.O_RDONLY | os.O_NOFOLLOW, dir_fd=self._folder)
            with os.fdopen(file, encoding="utf-8") as opened:
                state = json.loads(opened.read(MOST_STATE_BYTES))
            if not isinstance(state, dict) or state.get("format") != FORMAT:
                raise ValueError
        except (OSError, ValueError):
            raise refuse(
                printable(str(self.path)), "no state that can be read", "a folder that a card check left", mend
            ) from None
        return state

    def _refused(self, error: OSError) -> Exception:
        return refuse(
            printable(str(self.path)), error.strerror or str(error), "a card that can be written to", _mend(error)
        )


KEEP_SIZE = 1
"""``FALLOC_FL_KEEP_SIZE`` of Linux's ``falloc.h``."""


def _mend(error: OSError) -> str:
    if error.errno == errno.EROFS:
        return "Slide the lock of the adapter off; a card that made itself read-only is at its end."
    return "Mount the card so that you may write to it."


def _checked_place(place: Path, *, any_folder: bool) -> Path:
    """Give the place with its links resolved, where a check may work."""
    told = printable(str(place))
    try:
        path = place.resolve(strict=True)
        kind = path.stat().st_mode
    except (OSError, RuntimeError) as error:
        raise refuse(
            told, getattr(error, "strerror", None) or str(error), "a folder that exists", "Mount the card first."
        ) from None
    if stat.S_ISBLK(kind) or stat.S_ISCHR(kind):
        raise refuse(
            told, "a device", "the folder where the card is mounted", "A device is never written to: mount the card."
        )
    if not stat.S_ISDIR(kind):
        raise refuse(told, "a file", "the folder where the card is mounted", "Give the mount point.")
    if not any_folder and not os.path.ismount(path):
        raise refuse(
            told,
            "a folder of another file system",
            "the folder where the card is mounted",
            "Give the mount point; to try another folder, say so with --any-folder.",
        )
    return path
