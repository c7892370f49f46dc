"""Where a check of a card may work: a card that is mounted, and never the disk or the memory of the machine itself."""

import os
import re
import stat
import sys
import tempfile
from pathlib import Path

from edgestore.checks import refuse
from edgestore.inputs.names import printable

MOUNTS = Path("/proc/self/mountinfo")

SYSTEM = ("/", "/boot", "/boot/efi", "/boot/firmware", "/home", "/opt", "/usr", "/var")
"""Where a machine has its system and its users' files (Filesystem Hierarchy Standard, from memory)."""

SPARED = 0.1
"""This share of a file system of the machine itself stays free, whatever is asked (our choice)."""


def checked_place(place: Path, *, any_folder: bool) -> Path:
    """The place with its links resolved, where a check may work; refused where that is no mounted card."""
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
    if any_folder:
        return path
    if not os.path.ismount(path):
        found = "a folder that is not a mount point"
        mend = "Give the mount point; to try another folder, say so with --any-folder."
    elif is_of_machine(path):
        found = "a disk that this machine runs from, or its memory"
        mend = "Mount the card in a folder of its own, and give that folder. A full disk would stop other programs."
    else:
        return path
    raise refuse(told, found, "the folder where the card is mounted", mend)


def spared_bytes(path: Path) -> int:
    """What stays free, whatever is asked: nothing of a card, a share of a file system of the machine itself."""
    whole = os.statvfs(path)
    return int(SPARED * whole.f_blocks * whole.f_frsize) if is_of_machine(path) else 0


def is_of_machine(path: Path) -> bool:
    """Whether a folder is on a disk that the machine runs from, in its memory, or on another machine: on no card."""
    device = path.stat().st_dev
    is_own = any(os.path.exists(one) and os.stat(one).st_dev == device for one in own_folders())
    return is_own or not _is_on_device(path)


def own_folders() -> tuple[str, ...]:
    """Folders of the machine's own: its system, its users' files, its temporary files and this program."""
    return (*SYSTEM, str(Path.home()), tempfile.gettempdir(), sys.prefix)


def _is_on_device(path: Path) -> bool:
    """Whether a device, or a program that may stand for one (FUSE), is mounted where a folder is."""
    device = path.stat().st_dev
    number = f"{os.major(device)}:{os.minor(device)}"
    for line in MOUNTS.read_text(errors="replace").splitlines():
        before, _, after = line.partition(" - ")
        kind, source, *_ = after.split(" ")
        if before.split(" ")[2] == number:
            return kind.startswith("fuse") or re.match(r"/dev/", source) is not None
    return True
