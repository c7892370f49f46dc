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

pytestmark = [pytest.mark.slow, pytest.mark.hypothesis]  # whose profile says how many copies are damaged

MOST_MBYTE = 400
"""Python with pandas and PyAV takes some 120; the trace of a month adds 21, and its doubles while it is handed on."""


@pytest.mark.parametrize("form", FORMATS)
def test_a_damaged_clip_is_read_or_refused(form, tmp_path):
    suffix, options = FORMATS[form]
    clip = draw(tmp_path / f"clip{suffix}", seconds=3, b_frames=2, audio=form != "raw h264", file_options=dict(options))
    assert read_clip(clip).packets == 30
    copies = 3 * settings.default.max_examples  # 30, and 450 when thorough
    # In a process of its own: a crash of the library would end this one.
    words = [sys.executable, Path(__file__).with_name("fuzz.py"), clip, str(copies), "4"]
    path = os.pathsep.join([str(Path(__file__).parents[2]), os.environ.get("PYTHONPATH", "")])
    done = subprocess.run(
        words, capture_output=True, text=True, timeout=400, env=os.environ | {"PYTHONPATH": path}, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    told = json.loads(done.stdout)
    assert sum(told["outcomes"].values()) == copies
    assert told["mbyte"] < MOST_MBYTE
