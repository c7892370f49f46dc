"""Reads damaged copies of clips, one after the other, and prints how each ended. Run by test_clip_fuzz.py.

``python tests/inputs/fuzz.py COUNT SEED CLIP...``, a line for each clip: whatever is neither a Clip nor an InputError
that names the file ends the process with its traceback; so does a copy that takes more than half a minute.
"""

import faulthandler
import json
import sys
import tempfile
from collections import Counter
from pathlib import Path

import numpy as np
import psutil

from edgestore.checks import InputError
from edgestore.inputs.clip import read_clip

PATIENCE_S = 30
EDGE_BYTES = 600
"""Headers and indexes stand at the ends of a file: every other flip falls this near to them."""


def damaged(whole: bytes, random: np.random.Generator) -> bytes:
    """Flip some bytes of a clip, cut it, or both; at times whole stretches are noise, or zeros."""
    content = np.frombuffer(whole, np.uint8).copy()
    kind = random.integers(4)
    if kind != 0:
        places = random.integers(content.size, size=random.integers(1, 24))
        near = random.integers(-EDGE_BYTES, EDGE_BYTES, size=places.size) % content.size
        places = np.where(random.random(places.size) < 0.5, near, places)
        content[places] = random.integers(256, size=places.size)
    if kind == 2:
        at, length = random.integers(content.size), random.integers(1, 2000)
        content[at : at + length] = random.integers(2) * random.integers(256, size=content[at : at + length].size)
    if kind in (0, 3):
        content = content[: random.integers(content.size)]
    return content.tobytes()


def outcome(source: Path | bytes, name: str) -> str:
    """Read a damaged clip and say how that ended."""
    try:
        clip = read_clip(source, name=name)
    except InputError as error:
        if all(fault.where == name and fault.found for fault in error.faults):
            return "refused"
        raise
    assert clip.packets > 0
    assert 0 < clip.duration_s < 1e7
    assert 0 <= clip.mean_mbit_s < 1e6
    assert 0 <= clip.overhead_share <= 1
    return "read with a warning" if clip.warnings else "read"


def main(clip: str, count: int, seed: int) -> None:
    """Damage a clip so many times, and print the counts of the outcomes and the highest memory in MB."""
    random = np.random.default_rng(seed)
    whole, outcomes, highest = Path(clip).read_bytes(), Counter[str](), 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / Path(clip).name
        for number in range(count):
            content = damaged(whole, random)
            faulthandler.dump_traceback_later(PATIENCE_S, exit=True)
            if number % 5:
                path.write_bytes(content)
                outcomes[outcome(path, str(path))] += 1
            else:
                outcomes[outcome(content, "uploaded")] += 1
            faulthandler.cancel_dump_traceback_later()
            highest = max(highest, psutil.Process().memory_info().rss)
    print(json.dumps({"outcomes": outcomes, "mbyte": highest / 1e6}), flush=True)


if __name__ == "__main__":
    many, start, *clips = sys.argv[1:]
    for each in clips:
        main(each, int(many), int(start))
