"""Print how long reading the packets of long clips takes, beside ffprobe and a plain read, and how much memory.

Run it with ``python tests/benchmarks/footage.py`` on Linux; it wants ffmpeg and some 2.5 GB for a while. Goals: 1.5
times as fast as ``ffprobe -show_packets``, and no more memory for two hours than for ten minutes.
"""

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[1] / "inputs"))

from clips import Scene, copied_into, draw, real_clip

from edgestore.inputs.clip import read_clip

RUNS = 7
HOUR_S = 3600
SCAN = """
import sys
from pathlib import Path
from edgestore.inputs.clip import read_clip
clip = read_clip(sys.argv[1])
highest = Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]
print(clip.packets, int(highest) * 1024 / 1e6)
"""
"""The kernel's own highest mark: getrusage would tell that of the parent, where this is higher."""


def repeated(path: Path, source: Path, seconds: float) -> Path:
    """Write a clip again and again, without encoding, until it is as long."""
    times = round(seconds / read_clip(source).duration_s) - 1
    words = ["ffmpeg", "-v", "error", "-y", "-stream_loop", str(times), "-i", source, "-c", "copy", path]
    subprocess.run(words, check=True, stdin=subprocess.DEVNULL)
    return path


def read_plainly(path: Path) -> None:
    with path.open("rb", buffering=0) as file:
        while file.read(1 << 20):
            pass


def list_packets(path: Path) -> None:
    """List all packets of the video, as text that nobody reads."""
    words = ["ffprobe", "-v", "error", "-select_streams", "v:0", "-show_packets", path]
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL, stdin=subprocess.DEVNULL)


def best(path: Path, *ways: Callable[[Path], object]) -> list[float]:
    """Give the shortest time of each way, s; runs take turns."""
    shortest = [float("inf")] * len(ways)
    for _ in range(RUNS):
        for number, way in enumerate(ways):
            start = perf_counter()
            way(path)
            shortest[number] = min(shortest[number], perf_counter() - start)
    return shortest


def show_speed(what: str, path: Path) -> None:
    """Print the times for one clip."""
    clip = read_clip(path)
    ours, theirs, plain = best(path, read_clip, list_packets, read_plainly)
    size = path.stat().st_size / 1e6
    print(
        f"{what:24} {size:7.0f} {clip.packets:8} {clip.mean_mbit_s:7.3f} {ours:7.3f} {theirs:8.3f} {theirs / ours:6.2f}"
        f" {plain:7.3f} {size / 1e3 / ours:8.2f} {size / 1e3 / plain:8.2f}"
    )


def show_memory(what: str, path: Path) -> None:
    """Print the highest memory of a fresh process that reads a clip."""
    done = subprocess.run([sys.executable, "-c", SCAN, path], check=True, capture_output=True, text=True)
    packets, mbyte = done.stdout.split()
    print(f"{what:24} {path.stat().st_size / 1e6:7.0f} {packets:>8} {float(mbyte):9.1f}")


def main(folder: Path) -> None:
    """Make the clips and print the tables."""
    people = real_clip("bikes.mp4", folder)
    rich = draw(folder / "rich.mp4", Scene(walkers=8, noise=6), seconds=10, fps=25, size=(640, 360), key_s=2, crf=24)
    hour = repeated(folder / "hour.mp4", people, HOUR_S)
    rich_hour = repeated(folder / "rich_hour.mp4", rich, HOUR_S)
    print(f"Best of {RUNS} runs that take turns, {os.cpu_count()} cores; times in s, rates in Gbyte/s")
    print(
        f"{'clip':24} {'MB':>7} {'packets':>8} {'Mbit/s':>7} {'ours':>7} {'ffprobe':>8} {'ratio':>6} {'read':>7}"
        f" {'ours':>8} {'read':>8}"
    )
    show_speed("one hour, MP4", hour)
    for suffix in (".mkv", ".ts"):
        path = copied_into(folder / f"hour{suffix}", hour)
        show_speed(f"one hour, {suffix[1:].upper()}", path)
        path.unlink()
    show_speed("one hour, richer, MP4", rich_hour)
    rich_hour.unlink()

    print(f"\n{'clip':24} {'MB':>7} {'packets':>8} {'peak MB':>9}   memory of a fresh process")
    for suffix in (".mp4", ".mkv", ".ts"):
        for what, seconds in (("ten minutes", HOUR_S / 6), ("one hour", HOUR_S), ("two hours", 2 * HOUR_S)):
            path = repeated(folder / f"long{suffix}", people, seconds)
            show_memory(f"{what}, {suffix[1:].upper()}", path)
            path.unlink()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        main(Path(made))
