"""The exported files of a folder with their digests: read once, from end to end, and left as they are."""

import hashlib
import os
import stat
from dataclasses import dataclass
from pathlib import Path

from edgestore.checks import Fault, InputError, not_opened, refuse

_CHUNK_BYTES = 1 << 20


@dataclass(frozen=True, kw_only=True)
class ExportedFile:
    """A file that was exported: its name below the folder, with ``/``, its size and its SHA-256 digest."""

    name: str
    size_bytes: int
    sha256: str


@dataclass(frozen=True, kw_only=True)
class Link:
    """A symbolic link among exported files, which is not followed: its name below the folder, and where it leads."""

    name: str
    target: str


@dataclass(frozen=True, kw_only=True)
class Exported:
    """The files of a folder, in the order of their names, with the links in it and the folders without anything."""

    folder: Path
    files: tuple[ExportedFile, ...]
    links: tuple[Link, ...] = ()
    empty_folders: tuple[str, ...] = ()

    @property
    def size_bytes(self) -> int:
        """All files together, bytes."""
        return sum(file.size_bytes for file in self.files)


def read_exported(folder: Path) -> Exported:
    """Read the exported files of a folder, at any depth, and work out their digests; nothing in it is changed.

    Parameters
    ----------
    folder : Path
        The folder.

    Returns
    -------
    Exported
        Names, sizes in bytes and SHA-256 digests; links and empty folders by name.

    Raises
    ------
    InputError
        When there is no such folder or no file in it, or when something in it cannot be read, is no plain file, or
        changes, comes or goes while the folder is read: all faults together.
    """
    wanted = "a folder of exported files"
    if not folder.is_dir():
        raise refuse(str(folder), "a file" if folder.exists() else "no such folder", wanted, "Give its path.")
    files: list[ExportedFile] = []
    links: list[Link] = []
    empty_folders: list[str] = []
    faults: list[Fault] = []
    states = _states(folder, faults)
    for path in states:
        name = path.relative_to(folder).as_posix()
        try:
            if path.is_symlink():
                links.append(Link(name=name, target=os.readlink(path)))
            elif path.is_dir():
                empty_folders.append(name)
            else:
                files.append(_read(path, name))
        except InputError as error:
            faults += error.faults
        except OSError as error:
            faults.append(Fault(str(path), not_opened(error), "a file that can be read"))
    faults = faults or [
        Fault(str(path), "what changes while the folder is read", "a finished export", "Wait until it is done.")
        for path in sorted({path for path, _ in states.items() ^ _states(folder, faults).items()})
    ]
    if faults:
        raise InputError(faults)
    if not files:
        raise refuse(str(folder), "no file", wanted, "Export the footage into it first.")
    return Exported(folder=folder, files=tuple(files), links=tuple(links), empty_folders=tuple(empty_folders))


def _states(folder: Path, faults: list[Fault]) -> dict[Path, tuple[int, int]]:
    """Size and time of change of all that is no folder, and of empty ones, by path, in the order of the names.

    A folder that cannot be read is a fault.
    """

    def closed(error: OSError) -> None:
        faults.append(Fault(str(error.filename), not_opened(error), "a folder that can be read"))

    found = []
    for place, folders, names in os.walk(folder, onerror=closed):
        linked = [name for name in folders if os.path.islink(os.path.join(place, name))]
        found += [Path(place, name) for name in (*names, *linked)]
        if not (names or folders) and place != os.fspath(folder):
            found.append(Path(place))
    seen = {path: path.lstat() for path in sorted(found) if os.path.lexists(path)}
    return {path: (state.st_size, state.st_mtime_ns) for path, state in seen.items()}


def _read(path: Path, name: str) -> ExportedFile:
    """Work out the digest of a plain file, and see that it stays the same meanwhile."""
    with open(path, "rb", opener=_untouched) as file:
        before = os.fstat(file.fileno())
        if not stat.S_ISREG(before.st_mode):
            raise refuse(str(path), "a pipe or device", "a plain file")
        digest, size_bytes = hashlib.sha256(), 0
        while size_bytes <= before.st_size and (chunk := file.read(_CHUNK_BYTES)):
            digest.update(chunk)
            size_bytes += len(chunk)
        after = os.fstat(file.fileno())
    if size_bytes != before.st_size or (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        raise refuse(str(path), "a file that changes while it is read", "a finished export", "Wait until it is done.")
    return ExportedFile(name=name, size_bytes=size_bytes, sha256=digest.hexdigest())


def _untouched(path: str, flags: int) -> int:
    """Open a file for reading, without a trace of it in its time of access where the system lets us."""
    flags |= getattr(os, "O_NONBLOCK", 0)  # a pipe that nobody writes to is not waited for
    try:
        return os.open(path, flags | getattr(os, "O_NOATIME", 0))
    except PermissionError:  # only the owner of a file may leave its time of access alone
        return os.open(path, flags)


def sha256sums(exported: Exported) -> bytes:
    r"""The list of digests as ``sha256sum`` writes and checks it.

    Parameters
    ----------
    exported : Exported
        The files.

    Returns
    -------
    bytes
        A line a file: digest, two blanks, name. Where a name has a backslash or a line end the line begins with a
        backslash and they are written ``\\``, ``\n`` and ``\r``.
    """
    lines = []
    for file in exported.files:
        escaped = file.name.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")
        lines.append(f"{chr(92) if escaped != file.name else ''}{file.sha256}  {escaped}\n")
    return os.fsencode("".join(lines))
