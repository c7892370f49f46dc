"""Speed of writing of the check of a card beside that of dd: same path, same blocks, same flags, in turns.

Run as ``python tests/benchmarks/card_check.py FOLDER [MiB]``: FOLDER is on the medium; a folder of the check is made
in it and removed. Nothing is asserted.
"""

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

from edgestore.inputs.bench.fill import CHUNK_BYTES, fill
from edgestore.inputs.bench.own_folder import OwnFolder
from edgestore.inputs.bench.pattern import Pattern
from edgestore.units import BYTES_PER_MB

RUNS = 9


def by_dd(place: Path, size: int, *, is_direct: bool) -> float:
    """Mbyte/s of dd, the last wait for the device included."""
    file = place / "edgestore-dd-benchmark"
    source = Path("/dev/shm/edgestore-dd-source")  # zeros would be kept by some devices as a note
    pattern = memoryview(bytearray(size))
    Pattern(2).write(pattern, 0)
    source.write_bytes(pattern)
    flag = "oflag=direct" if is_direct else "oflag=dsync"
    words = [
        "dd",
        f"if={source}",
        f"of={file}",
        f"bs={CHUNK_BYTES}",
        f"count={size // CHUNK_BYTES}",
        flag,
        "conv=fsync",
    ]
    begun = time.perf_counter()
    subprocess.run(words, check=True, stderr=subprocess.DEVNULL)
    took = time.perf_counter() - begun
    file.unlink()
    source.unlink()
    return size / took / BYTES_PER_MB


def by_check(place: Path, size: int) -> tuple[float, bool]:
    """Mbyte/s of the check, from the first write to the last wait, and whether it passed the cache by."""
    with OwnFolder(place, any_folder=True) as card:
        card.keep({"mode": "benchmark"})
        begun = time.perf_counter()
        written = fill(card, Pattern(1), size)
        took = time.perf_counter() - begun
        assert written.bytes_written == size, written.ended
        card.remove()
        return size / took / BYTES_PER_MB, card.is_direct


def main() -> None:
    """Print both, run by run."""
    place, size = Path(sys.argv[1]), int(sys.argv[2] if len(sys.argv) > 2 else 512) * 2**20 // CHUNK_BYTES * CHUNK_BYTES
    shares = []
    for number in range(RUNS):
        os.sync()
        checked, is_direct = by_check(place, size)
        os.sync()
        other = by_dd(place, size, is_direct=is_direct)
        shares.append(checked / other)
        print(f"run {number + 1}: check {checked:.0f} Mbyte/s, dd {other:.0f} Mbyte/s, {checked / other:.0%}")
    how = "O_DIRECT" if is_direct else "O_DSYNC"
    print(f"median {statistics.median(shares):.0%} of dd, {how}, {size / BYTES_PER_MB:.0f} MB")


if __name__ == "__main__":
    main()
