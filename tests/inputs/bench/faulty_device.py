"""A faulty medium for real: a file in a file system of our own (FUSE) that wraps, drops, flips, stalls or goes away.

A file system is made in that file and loop-mounted: what a check sees is a block device with that fault. Run as a
program: ``python faulty_device.py MOUNT FAULT SIZE``; it ends when it is unmounted.
"""

import errno
import stat
import sys
import time
from pathlib import Path

from fuse import FUSE, FuseOSError, Operations

NAME, SWITCH = "device", "switch"
"""The device, and a file that switches its fault on when it is written to: a file system is made on a sound one."""

SOUND_BYTES = 2**24
"""The first bytes never fail: the file system's own tables stand there."""

BLOCK = 4096
FLIPPED_FROM = 60 * 2**20
"""The first run of blocks written from here on has a bit flipped: a fixed place may be one that a check leaves free."""

STALL_S = 2.5
FAULTS = ("sound", "wraps", "drops", "flips", "stalls", "gone")


class Device(Operations):
    """One file that is a device."""

    def __init__(self, fault: str, size: int) -> None:
        self.fault, self.size, self.is_on, self.has_stalled = fault, size, False, False
        self.flipped = -1
        self.blocks: dict[int, bytes] = {}

    def getattr(self, path, fh=None):
        if path == "/":
            return {"st_mode": stat.S_IFDIR | 0o755, "st_nlink": 2}
        if path not in (f"/{NAME}", f"/{SWITCH}"):
            raise FuseOSError(errno.ENOENT)
        return {"st_mode": stat.S_IFREG | 0o600, "st_nlink": 1, "st_size": self.size if path == f"/{NAME}" else 0}

    def readdir(self, path, fh):
        return [".", "..", NAME, SWITCH]

    def truncate(self, path, length, fh=None):
        pass

    def place(self, number: int) -> int:
        if self.fault == "wraps" and self.is_on and number * BLOCK >= SOUND_BYTES:
            room = (self.size // 2 - SOUND_BYTES) // BLOCK
            first = SOUND_BYTES // BLOCK
            return first + (number - first) % room
        return number

    def read(self, path, size, offset, fh):
        if self.fault == "gone" and self.is_on and self.has_stalled:
            raise FuseOSError(errno.EIO)
        first, last = offset // BLOCK, (offset + size - 1) // BLOCK
        data = b"".join(self.blocks.get(self.place(n), bytes(BLOCK)) for n in range(first, last + 1))
        start = offset - first * BLOCK
        got = bytearray(data[start : start + size])
        at = self.flipped - offset
        if self.fault == "flips" and 0 <= at < len(got):
            got[at] ^= 1
        return bytes(got)

    def write(self, path, data, offset, fh):
        if path == f"/{SWITCH}":
            self.is_on = True
            return len(data)
        if self.is_on and offset >= self.size // 2:
            if self.fault == "stalls" and not self.has_stalled:
                self.has_stalled = True
                time.sleep(STALL_S)
            if self.fault == "gone":
                self.has_stalled = True
                raise FuseOSError(errno.EIO)
            if self.fault == "drops":
                return len(data)
        if self.is_on and self.flipped < 0 and offset >= FLIPPED_FROM and len(data) > BLOCK:
            self.flipped = offset
        first, last = offset // BLOCK, (offset + len(data) - 1) // BLOCK
        if offset % BLOCK or len(data) % BLOCK:
            whole = bytearray(b"".join(self.blocks.get(self.place(n), bytes(BLOCK)) for n in range(first, last + 1)))
            start = offset - first * BLOCK
            whole[start : start + len(data)] = data
            data_of_blocks = bytes(whole)
        else:
            data_of_blocks = data
        for at, number in enumerate(range(first, last + 1)):
            self.blocks[self.place(number)] = data_of_blocks[at * BLOCK : (at + 1) * BLOCK]
        return len(data)

    def fsync(self, path, datasync, fh):
        pass


if __name__ == "__main__":
    FUSE(
        Device(sys.argv[2], int(sys.argv[3])),
        str(Path(sys.argv[1])),
        foreground=True,
        nothreads=True,
        big_writes=True,
        direct_io=True,
    )
