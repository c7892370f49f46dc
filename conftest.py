"""How many examples a property test draws, which tests stay together, and the plugin that runs the notebooks.

Property tests draw the same examples on every machine; the profile says how many: a few, or many when thorough.
"""

import sys

from hypothesis import settings
from xdist.scheduler import LoadScopeScheduling

# jsonschema builds 38 grammars of addresses with it at its import, 3 s in each process; no test checks such an address.
sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]  # None stands for a package that is not there

pytest_plugins = ["nbval.plugin"]  # which pyproject.toml keeps from loading by itself, before this file

settings.register_profile("edgestore", derandomize=True, deadline=None, max_examples=25)
settings.register_profile("thorough", settings.get_profile("edgestore"), max_examples=200)
settings.load_profile("edgestore")

TOGETHER = ("tests/browser", "tests/documents")


class Together(LoadScopeScheduling):
    """Give a whole file to one worker, and a whole folder where all its tests share one server."""

    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.split("::")[0]
        return next((folder for folder in TOGETHER if file.startswith(folder)), file)


def pytest_xdist_make_scheduler(config, log):
    """Hand the tests out by file and folder."""
    return Together(config, log)
