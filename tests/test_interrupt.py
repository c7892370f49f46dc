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

pytestmark = [pytest.mark.slow, pytest.mark.landing]

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
@pytest.mark.parametrize(
    ("command", "after_s"),
    [*((command, after_s) for command in COMMANDS for after_s in (0.6, 1.5)), ("plan", 3), ("propose", 3)],
)
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


AT_HAND = """
import os, signal, sys, threading, time

sys.argv = ["edgestore", "verify"]
import edgestore.__main__ as command


def ctrl_c():
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(0.1)


class Finalized:
    def __del__(self):
        ctrl_c()


def caught_by_a_library(options):
    try:
        ctrl_c()
    except KeyboardInterrupt:
        return 1


def turned_into_an_error_by_a_library(options):
    try:
        ctrl_c()
    except KeyboardInterrupt:
        raise ImportError("failed to import") from None


def while_an_object_is_finalized(options):
    Finalized()
    time.sleep(30)
    return 0


def in_compiled_code_that_cannot_raise(options):
    from unittest import mock

    from scipy.stats import qmc

    class Slow(dict):
        def __getitem__(self, name):
            ctrl_c()

    with mock.patch("numpy.load", lambda file: Slow()):
        qmc.Sobol(1)
        time.sleep(30)
    return 0


def while_the_thread_that_sends_it_again_still_starts(options):
    start = threading.Timer.start

    def late(timer):
        threading.Timer.start = start
        timer.start()
        time.sleep(1)

    threading.Timer.start = late
    return while_an_object_is_finalized(options)


command._verify = globals()[os.environ["WHERE"]]
command.run()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="Windows sends Ctrl-C otherwise")
@pytest.mark.parametrize(
    "where",
    [
        "caught_by_a_library",
        "turned_into_an_error_by_a_library",
        "while_an_object_is_finalized",
        "in_compiled_code_that_cannot_raise",
        "while_the_thread_that_sends_it_again_still_starts",
    ],
)
def test_ctrl_c_ends_a_command_where_python_or_a_library_keeps_it_back(where):
    # Python prints an interrupt in a finalizer and goes on; compiled libraries turn one into an error of their own.
    ended = subprocess.run(
        [sys.executable, "-c", AT_HAND],
        env=os.environ | {"WHERE": where},
        capture_output=True,
        text=True,
        timeout=20,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    assert ended.returncode == 130
    assert ended.stderr.strip() == "edgestore verify was stopped by Ctrl-C. No file is half-written."


def test_nothing_that_takes_long_is_loaded_before_ctrl_c_is_watched_for():
    # `typing` alone loads `re`: Ctrl-C in it ended `edgestore open` with a traceback.
    package = ast.parse(Path(edgestore.__file__).read_text(encoding="utf-8"))
    first = next(node for node in package.body if isinstance(node, ast.Import | ast.ImportFrom))
    assert [name.name for name in first.names] == ["_interrupt"]
