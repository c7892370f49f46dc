"""Marks are kept whole, by several at once, and read again; the trainer's sheets come out of them."""

import json
import os
import subprocess
import sys

import pytest

from edgestore.checks import InputError
from edgestore.training.exercises import marks as module
from edgestore.training.exercises.kinds import KINDS
from edgestore.training.exercises.marks import Mark, keep_mark, read_marks
from edgestore.training.exercises.sheets import answer_key, class_sheet, learners, results, sheet_files


def a_mark(learner="Robin", number=1, given="17.8", verdict="right", hints=0, kind="hours_held", time=""):
    return Mark(learner, 412322, kind, number, given, verdict, hints, time)


@pytest.fixture
def file(tmp_path):
    return tmp_path / "new folder" / "marks.jsonl"


def test_a_mark_is_read_as_it_was_kept_and_the_file_says_what_it_holds(file):
    keep_mark(file, a_mark(given="17,8 h 🙂\n", time="2026-11-25T10:00:00+00:00"))
    assert read_marks(file).marks == (a_mark(given="17,8 h 🙂\n", time="2026-11-25T10:00:00+00:00"),)
    first, second = file.read_text("ascii").splitlines()
    assert "chosen name" in json.loads(first)["holds"]
    assert set(json.loads(second)) == {"learner", "seed", "kind", "number", "given", "verdict", "hints", "time"}


def test_a_mark_gets_the_time_in_utc_when_it_has_none(file):
    keep_mark(file, a_mark())
    assert read_marks(file).marks[0].time.endswith("+00:00")


def test_no_file_yet_holds_no_marks(file):
    assert read_marks(file).marks == ()


KEEP_MANY = """
import sys
from pathlib import Path
from edgestore.training.exercises.marks import Mark, keep_mark
for number in range(1, 101):
    keep_mark(Path(sys.argv[1]), Mark(sys.argv[2], 412322, "hours_held", number, "17.8", "right", 0, ""))
"""


@pytest.mark.landing
def test_four_learners_at_once_lose_nothing(file):
    names = ["Ana", "Ben", "Cleo", "Dov"]
    workers = [subprocess.Popen([sys.executable, "-c", KEEP_MANY, str(file), name]) for name in names]
    assert [worker.wait() for worker in workers] == [0, 0, 0, 0]
    read = read_marks(file)
    assert read.notes == ()
    for name in names:
        assert [mark.number for mark in read.of(name, 412322)] == list(range(1, 101))
    assert file.read_text().count("holds") == 1


def test_a_line_that_broke_off_is_told_and_the_next_mark_is_whole(file):
    keep_mark(file, a_mark(number=1))
    with file.open("a") as out:
        out.write('{"learner": "Rob')
    keep_mark(file, a_mark(number=2))
    read = read_marks(file)
    assert [mark.number for mark in read.marks] == [1, 2]
    assert read.notes == ("Line 3 cannot be read and is skipped.",)


@pytest.mark.parametrize(
    "line",
    [
        "",
        "[]",
        "17",
        "null",
        '{"learner": "Robin"}',
        json.dumps({**module.asdict(a_mark(time="t")), "seed": "x"}),
        json.dumps({**module.asdict(a_mark(time="t")), "seed": True}),
        json.dumps({**module.asdict(a_mark(time="t")), "kind": "poetry"}),
        json.dumps({**module.asdict(a_mark(time="t")), "more": 1}),
        "[" * 100_000,
        "\x00\x00",
    ],
)
def test_a_line_that_is_no_mark_is_left_aside_and_told(file, line):
    keep_mark(file, a_mark())
    with file.open("a") as out:
        out.write(line + "\n")
    read = read_marks(file)
    assert len(read.marks) == len(read.notes) == 1


def test_a_file_that_holds_something_else_is_neither_read_nor_written_to(tmp_path):
    other = tmp_path / "letter.txt"
    other.write_text("Dear all\n")
    with pytest.raises(InputError, match="something other than marks"):
        keep_mark(other, a_mark())
    with pytest.raises(InputError, match="something other than marks"):
        read_marks(other)
    assert other.read_text() == "Dear all\n"


def test_a_folder_and_a_place_that_cannot_be_made_are_refused(tmp_path):
    (tmp_path / "taken").write_text("x")
    for place in (tmp_path, tmp_path / "taken" / "marks.jsonl"):
        with pytest.raises(InputError, match="Name another file"):
            keep_mark(place, a_mark())
    with pytest.raises(InputError, match="Name another file"):
        read_marks(tmp_path)


def test_a_full_disk_leaves_no_half_line(file, monkeypatch):
    keep_mark(file, a_mark(number=1))
    before = file.read_bytes()
    write = os.write
    monkeypatch.setattr(os, "write", lambda descriptor, line: write(descriptor, line[:10]))
    with pytest.raises(InputError, match="no room"):
        keep_mark(file, a_mark(number=2))
    assert file.read_bytes() == before


def test_a_name_that_cannot_be_kept_is_refused_before_anything_is_written(file):
    with pytest.raises(InputError, match=r"^name: found ''; allowed: 1 to 40 printable letters\."):
        keep_mark(file, a_mark(learner=""))
    assert not file.exists()


def test_the_results_count_exercises_first_answers_and_hints_once(file):
    for mark in (
        a_mark("Robin", 1, verdict="right"),
        a_mark("Robin", 2, "5", "wrong", 1),
        a_mark("robin", 2, "2.2", "mistake", 2),
        a_mark("Robin", 2, verdict="right", hints=2),
        a_mark("Robin", 3, "", "given up", 3),
        a_mark("Robin", 4, verdict="right", hints=1),
        a_mark("Ana", 1, verdict="right", kind="gib_shown"),
    ):
        keep_mark(file, mark)
    table = results(read_marks(file)).set_index(["learner", "exercise"])
    robin = table.loc[("Robin", "Hours that a card holds")]
    # Right: 1, 2 and 4. At once and without a hint: 1. Answers: 1 + 3 + 0 + 1. Hints: 0 + 2 + 3 + 1.
    assert robin[["right", "right_at_once", "given_up", "answers", "hints"]].to_list() == [3, 1, 1, 5, 6]
    assert table.loc[("Ana", "GB and GiB"), "right"] == 1
    assert len(table) == 2


def test_no_marks_give_an_empty_table_with_its_columns(file):
    assert "right_at_once" in results(read_marks(file)).columns
    assert results(read_marks(file)).empty


def test_names_of_a_class_are_read_and_all_that_is_wrong_is_told_together():
    assert learners("Ana\n\n  Ben B. \n") == ("Ana", "Ben B.")
    with pytest.raises(InputError) as caught:
        learners("Ana\nana\n" + "x" * 41)
    assert [fault.where for fault in caught.value.faults] == ["line 2", "line 3"]
    with pytest.raises(InputError, match="one name a line"):
        learners(" \n")


def test_the_key_has_the_answers_that_the_learner_is_marked_by():
    key = answer_key(["Robin"], 2)
    assert len(key) == 2 * len(KINDS)
    # Robin's first answers are those pinned in test_exercises.py.
    assert key[key["number"] == 1]["answer"].to_list()[1:4] == ["33.9", "254", "545.8"]
    assert class_sheet(["Robin"]).to_dict("records") == [{"learner": "Robin", "seed": 412322}]
    with pytest.raises(InputError, match=r"^numbers: is 0; must be 1 or more and at most 20\."):
        answer_key(["Robin"], 0)


def test_sheets_are_saved_as_csv_and_as_a_page_without_anything_live_in_it():
    names = learners("=cmd()\n<script>alert(1)</script>")
    saved = sheet_files({"Class sheet": ("For the trainer & nobody else", class_sheet(names))})
    assert set(saved) == {"class_sheet.csv", "class_sheet.html"}
    assert b"'=cmd()" in saved["class_sheet.csv"]
    page = saved["class_sheet.html"].decode()
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "trainer &amp; nobody" in page
    assert "http" not in page
