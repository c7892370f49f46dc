"""Marks: one line for each answer, in a file that learners append to and the trainer reads.

The file is JSON lines. Its first line says what it holds. A line is written in one piece under a lock, so that two
learners at once lose nothing; a line that a power cut broke off is told to the trainer and left aside.
"""

import json
import os
import stat
from dataclasses import asdict, dataclass, fields
from datetime import UTC, datetime
from pathlib import Path

from edgestore.checks import not_opened, refuse
from edgestore.output import locked
from edgestore.plain_file import MOST_LIST_BYTES, plain_file
from edgestore.training.exercises.draws import learner_name
from edgestore.training.exercises.kinds import KINDS
from edgestore.training.exercises.marking import RIGHT

HOLDS = {
    "holds": "Marks of the edgestore exercises, one line an answer: chosen name, seed, exercise, answer as typed, what"
    " became of it, hints seen, time (UTC). No other personal data. Delete it when the course is over."
}
GIVEN_UP = "given up"


@dataclass(frozen=True)
class Mark:
    """One answer to one exercise."""

    learner: str
    seed: int
    kind: str
    number: int
    given: str
    verdict: str
    hints: int
    time: str = ""

    @property
    def ends(self) -> bool:
        """Whether the learner goes on to the next exercise of the kind."""
        return self.verdict in (RIGHT, GIVEN_UP)


@dataclass(frozen=True)
class Marks:
    """What a marks file holds: its lines, and what could not be read."""

    marks: tuple[Mark, ...]
    notes: tuple[str, ...] = ()

    def of(self, learner: str, seed: int) -> tuple[Mark, ...]:
        """Give the marks of one learner; capitals make no difference."""
        name = learner.casefold()
        return tuple(mark for mark in self.marks if mark.learner.casefold() == name and mark.seed == seed)


def keep_mark(file: Path, mark: Mark) -> None:
    """Append a mark to a file, whole or not at all; the file and its folder are made when they do not exist.

    Parameters
    ----------
    file : Path
        The marks file.
    mark : Mark
        The mark; its time is set to now when it has none.

    Raises
    ------
    InputError
        When the file cannot be written to, or holds something else.
    """
    learner_name(mark.learner)
    row = {**asdict(mark), "time": mark.time or datetime.now(UTC).isoformat(timespec="seconds")}
    with locked(file):
        try:
            descriptor = os.open(file, os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0), 0o644)
            try:
                _append(file, descriptor, json.dumps(row, ensure_ascii=True))
            finally:
                os.close(descriptor)
        except OSError as error:
            found = not_opened(error)
            raise refuse(str(file), found, "a file that can be written to", _ELSEWHERE) from None


_ELSEWHERE = "Name another file for the marks."


def _append(file: Path, descriptor: int, line: str) -> None:
    status = os.fstat(descriptor)
    if not stat.S_ISREG(status.st_mode):
        raise refuse(str(file), "a pipe or device", "a marks file, or none yet", _ELSEWHERE)
    size = status.st_size
    os.lseek(descriptor, 0, os.SEEK_SET)
    start = os.read(descriptor, len('{"holds"'))
    if size and start != b'{"holds"':
        raise refuse(str(file), "something other than marks", "a marks file, or none yet", _ELSEWHERE)
    if size:
        os.lseek(descriptor, size - 1, os.SEEK_SET)
    broken_off = size and os.read(descriptor, 1) != b"\n"
    before = "\n" if broken_off else "" if size else json.dumps(HOLDS) + "\n"
    whole = f"{before}{line}\n".encode()
    try:
        written = os.write(descriptor, whole)
    except OSError:
        written = 0
    if written != len(whole):
        os.ftruncate(descriptor, size)
        raise refuse(str(file), "no room for another line", "room on the disk", "Make room, then mark again.")
    os.fsync(descriptor)


def read_marks(file: Path) -> Marks:
    """Read a marks file; one that does not exist yet holds none.

    Parameters
    ----------
    file : Path
        The marks file.

    Returns
    -------
    Marks
        The marks in the order written, and a note for each line that could not be read.

    Raises
    ------
    InputError
        When the file cannot be read, or holds something else.
    """
    if not os.path.lexists(file):
        return Marks(())
    content = plain_file(file, str(file), MOST_LIST_BYTES, "a marks file", _ELSEWHERE)
    lines = content.decode(errors="replace").splitlines()
    if lines and not lines[0].startswith('{"holds"'):
        raise refuse(str(file), "something other than marks", "a marks file, or none yet", _ELSEWHERE)
    marks, notes = [], []
    for number, line in enumerate(lines[1:], start=2):
        mark = _mark(line)
        if mark is None:
            notes.append(f"Line {number} cannot be read and is skipped.")
        else:
            marks.append(mark)
    return Marks(tuple(marks), tuple(notes))


def _mark(line: str) -> Mark | None:
    try:
        row = json.loads(line)
    except (ValueError, RecursionError):
        return None
    types = {field.name: int if field.type is int else str for field in fields(Mark)}
    if not isinstance(row, dict) or set(row) != set(types) or row["kind"] not in KINDS:
        return None
    if any(type(row[name]) is not kind for name, kind in types.items()):
        return None
    return Mark(**row)
