"""How many examples a property test draws, which tests stay together, and how the notebooks are run.

Property tests draw the same examples on every machine; the profile says how many: a few, or many when thorough.
"""

import importlib
import os
import sys
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import settings
from nbval import plugin
from nbval.kernel import RunningKernel
from xdist.scheduler import LoadScopeScheduling

# Two threads for matrices of this size wait for each other, and burn time as they do; the tests have a worker a core.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Without bytecode each worker rewrites the assertions of every test, and each program started compiles the package.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

settings.register_profile("edgestore", derandomize=True, deadline=None, max_examples=10)
settings.register_profile("thorough", settings.get_profile("edgestore"), max_examples=150)
settings.load_profile("edgestore")

ROOT = Path(__file__).parents[1]

TOGETHER = {
    "tests/browser": "tests/browser",
    "tests/documents": "tests/documents",
    "tests/test_version.py": "tests/documents",  # whose proposal of the demo it reads
    "tests/verification": "tests/verification",
    "notebooks": "notebooks",
}


TAKES_LONGEST = ("browser", "pdf")
"""Markers of tests that run when a change lands, besides those marked so themselves."""


def pytest_configure(config):
    """Leave what takes longest to the landing, where nobody says which tests to run."""
    says_nothing = config.args_source is pytest.Config.ArgsSource.TESTPATHS
    if says_nothing and not (config.option.markexpr or config.option.keyword):
        config.option.markexpr = "not landing"
    config.pluginmanager.register(PackageFirst())  # a hook of this file itself would see the folder of the tests alone


class PackageFirst:
    """Imports the package of a module of the library before pytest imports the module for its doctests.

    Pytest looks whether the module is there, then imports its package, which imports the module, and then imports the
    module once more: its functions would be there twice, those of the package and those that are found by name.
    """

    def pytest_collect_file(self, file_path: Path) -> None:
        """Import the package of a file of the library."""
        if file_path.suffix == ".py" and file_path.is_relative_to(ROOT / "edgestore"):
            with suppress(Exception):  # pytest imports it too, and tells what is wrong
                importlib.import_module(".".join(file_path.parent.relative_to(ROOT).parts))


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Mark the tests that open a browser or print as such that take longest."""
    for item in items:
        if any(item.get_closest_marker(marker) for marker in TAKES_LONGEST):
            item.add_marker("landing")


class Together(LoadScopeScheduling):
    """Give a whole file to one worker, and whole folders where all tests share what is slow to make."""

    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.split("::")[0]
        return next((shared for place, shared in TOGETHER.items() if file.startswith(place)), file)


def pytest_xdist_make_scheduler(config, log):
    """Hand the tests out by file and folder."""
    return Together(config, log)


class KeptKernel(RunningKernel):
    """The kernel in which all notebooks run, emptied after each: to start one and import everything takes 3 s of CPU.

    That each runs in a kernel of its own is seen in the browser.
    """

    kept: "KeptKernel | None" = None

    def __new__(cls, *_, **__):
        """Give the kernel that runs already."""
        if cls.kept is None:
            cls.kept = super().__new__(cls)
        return cls.kept

    def __init__(self, *words, **more):
        if not self.is_alive():
            super().__init__(*words, **more)

    def stop(self):
        """Forget what the notebook defined, and run on."""
        emptied = self.execute_cell_input("%reset -f", allow_stdin=False)
        self.await_reply(emptied, timeout=60)
        self.await_idle(emptied, timeout=60)


plugin.RunningKernel = KeptKernel


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish():
    """End the kernel of the notebooks."""
    if KeptKernel.kept is not None:
        RunningKernel.stop(KeptKernel.kept)
