"""The service log loses no entry of several at once, is never missing, and stays where and what it was."""

import os
import subprocess
import sys
from datetime import date

import pytest

from edgestore import output
from edgestore.checks import InputError
from edgestore.inputs.service_log import read_service_log
from edgestore.training.fitting.commissioning import CHECKS, Fitted, record

TODAY = date(2026, 11, 25)
DONE = [check.key for check in CHECKS]


ENTER_MANY = """
import sys
from datetime import date
from pathlib import Path
from edgestore.training.fitting.commissioning import CHECKS, Fitted, record
print("ready", flush=True)
sys.stdin.readline()
for number in range(15):
    fitted = Fitted(f"{sys.argv[2]} {number}", "plain 64 GB", date(2026, 11, 24))
    record(fitted, [check.key for check in CHECKS], Path(sys.argv[1]), date(2026, 11, 25))
"""


@pytest.mark.landing
def test_two_processes_that_enter_15_cards_each_at_once_leave_30_rows(tmp_path):
    log = tmp_path / "new folder" / "log.csv"
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    workers = [subprocess.Popen([sys.executable, "-c", ENTER_MANY, str(log), who], **pipes) for who in ("Quay", "Yard")]
    assert [worker.stdout.readline() for worker in workers] == ["ready\n", "ready\n"]  # so that they do overlap
    for worker in workers:
        worker.stdin.write("go\n")
        worker.stdin.flush()
    assert [worker.wait() for worker in workers] == [0, 0]
    for worker in workers:
        worker.stdin.close()
        worker.stdout.close()
    assert len(read_service_log(log, TODAY).rows) == 30
    assert os.listdir(log.parent) == ["log.csv"]


@pytest.mark.skipif(sys.platform == "win32", reason="links and modes of POSIX")
def test_a_log_that_is_a_link_is_followed_and_its_mode_is_kept(tmp_path):
    shared, mine = tmp_path / "shared", tmp_path / "mine"
    shared.mkdir()
    mine.mkdir()
    record(Fitted("Quay", "plain", date(2026, 11, 24)), DONE, shared / "log.csv", TODAY)
    (shared / "log.csv").chmod(0o660)
    (mine / "log.csv").symlink_to(shared / "log.csv")
    record(Fitted("Yard", "plain", date(2026, 11, 24)), DONE, mine / "log.csv", TODAY)
    assert (mine / "log.csv").is_symlink()
    assert (shared / "log.csv").stat().st_mode & 0o777 == 0o660
    assert len(read_service_log(shared / "log.csv", TODAY).rows) == 2
    assert os.listdir(shared) == os.listdir(mine) == ["log.csv"]


def test_a_log_that_another_program_holds_is_refused_after_a_while(tmp_path, monkeypatch):
    monkeypatch.setattr(output, "WAIT_S", 0.1)
    held = output.FileLock(tmp_path / f"{output.ASIDE}{output._digest('log.csv')}.lock")
    with held, pytest.raises(InputError, match=r"log\.csv: found a file that another program has kept locked for"):
        record(Fitted("Quay", "plain", date(2026, 11, 24)), DONE, tmp_path / "log.csv", TODAY)
    assert not (tmp_path / "log.csv").exists()


def test_a_refused_entry_makes_no_folder(tmp_path):
    with pytest.raises(InputError, match="no card that could be taken out"):
        record(Fitted("Quay", "a", date(2026, 1, 1), why_removed="failed"), DONE, tmp_path / "new" / "log.csv", TODAY)
    assert os.listdir(tmp_path) == []
