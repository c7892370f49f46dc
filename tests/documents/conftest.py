"""What the command makes of the demo site, made once for all tests of the documents."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from proposals import DEMO, needs_printing

from edgestore.documents import page as pages


@pytest.fixture(scope="session", autouse=True)
def charts_drawn_once():
    """Draw the charts of one plan once, however many proposals are made of it: half the time of a page goes into them.

    That another process draws the same is seen in test_pdf.py.
    """
    drawn = {}

    def once(draw):
        def kept(*of):
            key = draw, *map(id, of)
            if key not in drawn:
                drawn[key] = of, draw(*of)  # what it is drawn of is held, so that its id stays its own
            return drawn[key][1]

        return kept

    with pytest.MonkeyPatch.context() as patched:
        for draw in (pages.retention_charts, pages.life_charts, pages.kinds_chart):
            patched.setattr(pages, draw.__name__, once(draw))
        yield


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
