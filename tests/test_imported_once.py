"""A module of the library is the same whether its package or its doctests brought it in."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
KNOWS_EACH_BY_ITSELF = (
    "tests/docs_site/test_entries.py::test_every_public_function_of_the_models_has_its_entry",
    "edgestore/models/rate/variability.py",
)


@pytest.mark.landing
def test_naming_a_module_for_its_doctests_does_not_make_its_functions_twice():
    command = [sys.executable, "-m", "pytest", "-q", "-n0", "-p", "no:cacheprovider", *reversed(KNOWS_EACH_BY_ITSELF)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout
