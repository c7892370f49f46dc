"""A writer killed after every line that it runs, then at moments of its own; prints what was seen. Run by a test.

Each trial is a fork: A is there, and a child that writes B kills itself after its n-th line (or is killed).
What is left must be A whole or B whole, whether that is a folder (here the plan of a site) or one file.
"""

import itertools
import os
import random
import signal
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import pandas as pd

from edgestore import output
from edgestore.plan import tables as files

TRACED = os.path.abspath(output.__file__)
LETTERS = 50_000
TABLES = {letter: pd.DataFrame({"camera": [letter * LETTERS]}) for letter in "AB"}


def write_plan(place, letter):
    """Write a plan; only A has a calendar."""
    table = TABLES[letter]
    plan = SimpleNamespace(
        plan=table,
        candidates=table,
        front=SimpleNamespace(table=table),
        spares=table,
        calendar=table if letter == "A" else None,
        spares_in_service=None,
        measure_first=SimpleNamespace(table=table),
        visits=SimpleNamespace(table=table, replacements=SimpleNamespace(table=table)),
        site=SimpleNamespace(override="", beliefs=table),
    )
    files.write_plan(plan, place)


def seen_plan(place):
    """Say which plan the folder holds, whole; anything else ends the run."""
    tables = ("beliefs", "candidates", "kinds", "measure_first", "plan", "spares", "visits")
    names = [output.MANIFEST, *(f"{name}.csv" for name in tables)]
    letter = (place / "plan.csv").read_text()[-2]
    assert sorted(os.listdir(place)) == sorted([*names, "calendar.csv", "replacements.csv"] if letter == "A" else names)
    for name in os.listdir(place):
        assert name == output.MANIFEST or (place / name).read_text() == f"camera\n{letter * LETTERS}\n", name
    output._may_be_replaced(place, "edgestore plan")  # the manifest fits the files
    return letter


def write_file(place, letter):
    output.write_whole(place.parent, {place.name: letter.encode() * LETTERS})


def seen_file(place):
    content = place.read_bytes()
    assert content in (b"A" * LETTERS, b"B" * LETTERS)
    return content[:1].decode()


KINDS = {"plan": (write_plan, seen_plan), "file": (write_file, seen_file)}


def killed_after(lines):
    left = itertools.count(lines, -1)

    def trace(frame, event, _):
        if frame.f_code.co_filename != TRACED:
            return None
        if event == "line" and next(left) == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return trace

    return trace


def child(write, place, trace):
    number = os.fork()
    if number == 0:
        sys.settrace(trace)
        try:
            write(place, "B")
        finally:
            os._exit(0)
    return number


def main(folder, kind):
    write, seen = KINDS[kind]
    content = {letter: files.as_csv(table) for letter, table in TABLES.items()}
    # Nothing is killed while pandas makes the bytes: once is enough.
    files.as_csv = lambda table: content[table["camera"][0][0]]
    files.beliefs_table = lambda site: site.beliefs

    def state(place):
        return seen(place) if place.exists() else "nothing"

    for start in ("A", "nothing"):
        found, lines, ended = [], 0, False
        while not ended:
            place = folder / f"{start}-{lines}" / "it"
            place.parent.mkdir()
            if start == "A":
                write(place, "A")
            _, status = os.waitpid(child(write, place, killed_after(lines)), 0)
            ended = os.WIFEXITED(status)
            found.append(state(place))
            lines += 1
        print(f"from {start}: {lines} moments,", *(f"{found.count(what)} {what}" for what in ("nothing", "A", "B")))
        assert set(found) == {start, "B"}
        assert found == sorted(found, key=[start, "B"].index), "once the new one is there it stays"
    found = []
    place = folder / "random" / "it"
    place.parent.mkdir()
    began = time.monotonic()
    write(place, "A")
    longest_s = 3 * (time.monotonic() - began)
    for trial in range(60):
        write(place, "A")
        number = child(write, place, None)
        time.sleep(random.Random(trial).uniform(0, longest_s))
        os.kill(number, signal.SIGKILL)
        os.waitpid(number, 0)
        found.append(state(place))
    assert set(found) <= {"A", "B"}
    write(place, "A")
    assert os.listdir(place.parent) == ["it"], "what killed writers left is swept"
    print("from outside:", len(found), "moments,", found.count("A"), "A", found.count("B"), "B")


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
