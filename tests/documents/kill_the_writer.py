"""A writer killed after every line that it runs, then at moments of its own; prints what was seen. Run by a test.

Each trial is a fork: the folder holds pack A, and a child that writes pack B kills itself after its n-th line (or is
killed from outside). What is left must be A whole or B whole.
"""

import itertools
import os
import random
import signal
import sys
import time
from pathlib import Path

from edgestore.documents import whole_folder

NAMES = [f"{n}.bin" for n in range(4)]
LINES = os.path.abspath(whole_folder.__file__)


def pack(letter):
    return {name: letter.encode() * 50_000 for name in NAMES}


def seen(folder):
    """Say which pack the folder holds, whole; anything else ends the run."""
    if not folder.exists():
        return "nothing"
    assert sorted(os.listdir(folder)) == sorted([*NAMES, whole_folder.MANIFEST]), os.listdir(folder)
    letters = {(folder / name).read_bytes() for name in NAMES}
    assert len(letters) == 1, "the files are not of one pack"
    content = letters.pop()
    assert len(content) == 50_000
    whole_folder._may_be_replaced(folder)  # the manifest fits the files
    return content[:1].decode()


def killed_after(lines):
    left = itertools.count(lines, -1)

    def trace(frame, event, _):
        if frame.f_code.co_filename != LINES:
            return None
        if event == "line" and next(left) == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return trace

    return trace


def child(folder, trace):
    number = os.fork()
    if number == 0:
        sys.settrace(trace)
        whole_folder.write_folder(folder, pack("B"))
        os._exit(0)
    return number


def main(place):
    for start in ("A", "nothing"):
        found, lines, ended = [], 0, False
        while not ended:
            folder = place / f"{start}-{lines}"
            if start == "A":
                whole_folder.write_folder(folder, pack("A"))
            _, status = os.waitpid(child(folder, killed_after(lines)), 0)
            ended = os.WIFEXITED(status)
            found.append(seen(folder))
            lines += 1
        # What is left beside the folder is swept by the next writer that goes through.
        print(f"from {start}: {lines} moments,", *(f"{found.count(what)} {what}" for what in ("nothing", "A", "B")))
        assert set(found) == {start, "B"}
        assert found == sorted(found, key=[start, "B"].index), "once the new pack is there it stays"
    found = []
    folder = place / "random"
    for trial in range(60):
        whole_folder.write_folder(folder, pack("A"))
        number = child(folder, None)
        time.sleep(random.Random(trial).uniform(0, 0.012))
        os.kill(number, signal.SIGKILL)
        os.waitpid(number, 0)
        found.append(seen(folder))
    assert set(found) <= {"A", "B"}
    whole_folder.write_folder(folder, pack("A"))
    assert not list(place.glob(f"{whole_folder._prefix(folder)}*")), "what killed writers left is swept"
    print("from outside:", len(found), "moments,", found.count("A"), "A", found.count("B"), "B")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
