"""However a file is damaged, it gives an answer or a clear error: never a crash, a hang or a flood of memory."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from clips import FORMATS, draw
from hypothesis import settings

from edgestore.inputs.clip import read_clip

pytestmark = [pytest.mark.slow, pytest.mark.landing, pytest.mark.hypothesis]  # its profile says how many copies

MOST_MBYTE = 400
"""Python with pandas and PyAV takes some 120; the trace of a month adds 21, and its doubles while it is handed on."""


def test_a_damaged_clip_of_each_file_format_is_read_or_refused(tmp_path):
    clips = {}
    for form, (suffix, options) in FORMATS.items():
        how = {"b_frames": 2, "audio": form != "raw h264", "file_options": dict(options)}
        clips[form] = draw(tmp_path / f"{form}{suffix}", seconds=3, **how)
        assert read_clip(clips[form]).packets == 30
    copies = 3 * settings.default.max_examples  # 30 of each, and 450 when thorough
    # In a process of its own: a crash of the library would end this one.
    words = [sys.executable, Path(__file__).with_name("fuzz.py"), str(copies), "4", *clips.values()]
    path = os.pathsep.join([str(Path(__file__).parents[2]), os.environ.get("PYTHONPATH", "")])
    done = subprocess.run(
        words, capture_output=True, text=True, timeout=2000, env=os.environ | {"PYTHONPATH": path}, check=False
    )
    assert (done.returncode, done.stderr) == (0, ""), done.stdout
    told = {form: json.loads(line) for form, line in zip(clips, done.stdout.splitlines(), strict=True)}
    assert {form: sum(found["outcomes"].values()) for form, found in told.items()} == dict.fromkeys(clips, copies)
    assert max(found["mbyte"] for found in told.values()) < MOST_MBYTE
