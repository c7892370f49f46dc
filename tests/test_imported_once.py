"""A module of the library is the same whether its package or its doctests brought it in."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MODULE = "edgestore/models/rate/variability.py"
COMPARES = "tests/docs_site/test_entries.py::test_every_public_function_of_the_models_has_its_entry"
"""A test that fails where a function of the module is there twice."""


@pytest.mark.landing
def test_naming_a_module_for_its_doctests_does_not_make_its_functions_twice():
    command = [sys.executable, "-m", "pytest", "-q", "-n0", "-p", "no:cacheprovider", MODULE, COMPARES]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout
