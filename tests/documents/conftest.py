"""What the command makes of the demo site, made once for all tests of the documents."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from proposals import DEMO, needs_printing


@pytest.fixture(scope="session")
def proposed(tmp_path_factory) -> tuple[Path, str]:
    """Give the pack of the demo, as the command writes it under another order of sets, and what it tells."""
    needs_printing()
    folder = tmp_path_factory.mktemp("proposed") / "pack"
    cameras, cards, site = map(str, DEMO)
    other = "2" if os.environ.get("PYTHONHASHSEED") == "1" else "1"  # random here, unless the environment says it
    command = [sys.executable, "-m", "edgestore", "propose", cameras, "--cards", cards, "--settings", site]
    done = subprocess.run(
        [*command, "--out", str(folder)],
        env={**os.environ, "PYTHONHASHSEED": other},
        capture_output=True,
        text=True,
        check=True,
    )
    return folder, done.stdout
