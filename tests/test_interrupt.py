"""Ctrl-C ends every command with exit code 130 and one line, whenever it comes, and leaves nothing half-written."""

import ast
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import edgestore

pytestmark = pytest.mark.slow

DATA = Path(__file__).parents[1] / "data"
SITE = [str(DATA / "ferry_terminal" / "cameras.csv"), "--cards", str(DATA / "cards.csv")]
COMMANDS = {
    "plan": ["plan", *SITE, "--out", "out"],
    "propose": ["propose", *SITE, "--no-pdf", "--out", "out"],
    "measure": ["measure", str(DATA), "--csv", "out/measured.csv"],
    "handouts": ["handouts", "--no-pdf", "--out", "out"],
    "verify": ["verify"],
}


@pytest.mark.skipif(sys.platform == "win32", reason="Windows sends Ctrl-C otherwise")
@pytest.mark.parametrize("after_s", [0.6, 1.5, 3])
@pytest.mark.parametrize("command", COMMANDS)
def test_ctrl_c_ends_a_command_with_one_line(command, after_s, tmp_path):
    started = subprocess.Popen(
        [sys.executable, "-m", "edgestore", *COMMANDS[command]],
        cwd=tmp_path,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    time.sleep(after_s)
    started.send_signal(signal.SIGINT)
    _, told = started.communicate()
    assert "Traceback" not in told
    if started.returncode != 0:  # it had not ended before
        assert started.returncode == 130
        assert "was stopped by Ctrl-C. No file is half-written." in told
    assert set(os.listdir(tmp_path)) <= {"out"}
    assert not any(name.startswith(".") for _, names, files in os.walk(tmp_path) for name in [*names, *files])


def test_nothing_that_takes_long_is_loaded_before_ctrl_c_is_watched_for():
    # `typing` alone loads `re`: Ctrl-C in it ended `edgestore open` with a traceback.
    package = ast.parse(Path(edgestore.__file__).read_text(encoding="utf-8"))
    first = next(node for node in package.body if isinstance(node, ast.Import | ast.ImportFrom))
    assert [name.name for name in first.names] == ["_interrupt"]
