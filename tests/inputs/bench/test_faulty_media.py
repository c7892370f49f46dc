"""Faulty media made for real: a loop-mounted file system on a device that wraps, drops, flips, stalls or goes away."""

import ctypes.util
import importlib.util
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from edgestore.answers.card_check import Label, Verdict, checked_card
from edgestore.inputs.bench import check as whole
from edgestore.inputs.bench.check import check_card

pytestmark = pytest.mark.landing

SIZE = 128 * 2**20
HERE = Path(__file__).parent
WANTED = "wants Linux, root, /dev/fuse, libfuse2 (apt install fuse), the package fusepy, and loop devices"


def is_possible():
    return (
        sys.platform.startswith("linux")
        and os.geteuid() == 0
        and os.path.exists("/dev/fuse")
        and os.path.exists("/dev/loop-control")
        and ctypes.util.find_library("fuse") is not None
        and importlib.util.find_spec("fuse") is not None
        and all(map(shutil.which, ("mkfs.ext4", "mount", "umount", "fusermount")))
    )


def missing():
    """Skip a test for what the machine lacks; a failure where nothing may be skipped."""
    if os.environ.get("EDGESTORE_SKIP_NOTHING") == "1":
        pytest.fail(f"a faulty medium {WANTED}")
    pytest.skip(WANTED)


@pytest.fixture
def card(request, tmp_path, monkeypatch):
    """A mounted card with a fault."""
    if not is_possible():
        missing()
    monkeypatch.setattr(whole, "UPDATES", 5)
    monkeypatch.setattr(whole, "ROOM_BYTES", 2**22)
    monkeypatch.setattr(whole, "small_updates_ms", lambda card, count: [1.0])
    device, mounted = tmp_path / "device", tmp_path / "card"
    device.mkdir()
    mounted.mkdir()
    words = [sys.executable, str(HERE / "faulty_device.py"), str(device), request.param, str(SIZE)]
    server = subprocess.Popen(words)
    try:
        deadline = time.monotonic() + 20
        while not (device / "device").exists() and time.monotonic() < deadline:
            time.sleep(0.05)
        # No journal and no lazy work: nothing is written but what the check writes.
        made = [
            "mkfs.ext4",
            "-q",
            "-F",
            "-b",
            "4096",
            "-O",
            "^has_journal",
            "-E",
            "lazy_itable_init=0",
            str(device / "device"),
        ]
        subprocess.run(made, check=True)
        looped = subprocess.run(["mount", "-o", "loop", str(device / "device"), str(mounted)], check=False)
        if looped.returncode:
            missing()
        (device / "switch").write_bytes(b"1")
        yield mounted
    finally:
        subprocess.run(["umount", "-l", str(mounted)], check=False, stderr=subprocess.DEVNULL)
        subprocess.run(["fusermount", "-u", "-z", str(device)], check=False, stderr=subprocess.DEVNULL)
        server.wait(timeout=30)


def said(card, **options):
    answer = checked_card(check_card(card, part_bytes=2 * whole.CHUNK_BYTES, **options), Label(SIZE / 1e9))
    return answer.verdict, [reason.name for reason in answer.reasons if reason.weight.value != "tells"]


@pytest.mark.parametrize("card", ["sound"], indirect=True)
def test_a_sound_one_is_accepted_and_left_empty(card):
    assert said(card) == (Verdict.ACCEPTED, [])
    assert [path.name for path in card.iterdir()] == ["lost+found"]


@pytest.mark.parametrize(
    ("card", "name"),
    [("wraps", "addresses repeat"), ("drops", "loses footage"), ("flips", "changes footage")],
    indirect=["card"],
)
def test_one_that_wraps_drops_or_flips_is_refused_by_that_name(card, name):
    verdict, names = said(card)
    assert verdict is Verdict.REFUSED
    assert name in names


@pytest.mark.parametrize("card", ["stalls"], indirect=True)
def test_one_that_stands_still_is_told_by_that(card):
    assert said(card) == (Verdict.UNDECIDED, ["stalls"])


@pytest.mark.parametrize("card", ["gone"], indirect=True)
def test_one_that_answers_no_more_half_way_is_never_accepted(card):
    verdict, names = said(card)
    assert verdict is not Verdict.ACCEPTED
    assert {"gone", "a write failed", "read-only"} & set(names)
