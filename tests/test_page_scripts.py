"""The scripts of the widgets as one file: what is changed in them."""

import re
from pathlib import Path

from edgestore.page_scripts import write_scripts

WAITS = r"Date\.now\(\)-\w+<(\w+);.{1,40}this\._models|Control comm did not respond in time.{1,3},(\w+)\)"


def test_a_page_waits_a_minute_for_its_widgets_on_a_busy_computer(tmp_path: Path) -> None:
    """After 2 s the widgets say 'model not found' and after 4 s ask for each state alone; a busy one needs more."""
    assert write_scripts(tmp_path)
    waits = re.findall(WAITS, (tmp_path / "scripts.js").read_text(encoding="utf-8"))
    assert {first or second for first, second in waits} == {"6e4"}
