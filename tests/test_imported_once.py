"""A module of the library is the same whether its package or its doctests brought it in."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

ONCE = """
import importlib

from edgestore.models import export

def test_once():
    assert importlib.import_module("edgestore.models.export.copying").copy_h is export.copy_h
"""


@pytest.mark.landing
def test_naming_a_module_for_its_doctests_does_not_make_its_functions_twice(tmp_path):
    (tmp_path / "test_once.py").write_text(ONCE)
    files = [str(ROOT / "edgestore" / "models" / "export" / "copying.py"), str(tmp_path / "test_once.py")]
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-n0",
        "-p",
        "no:cacheprovider",
        "-c",
        str(ROOT / "pyproject.toml"),
    ]
    done = subprocess.run([*command, *files], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout
    assert "2 passed" in done.stdout
