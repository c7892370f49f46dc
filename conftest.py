"""What holds for every process of the tests, and is set before anything else is imported.

Left alone, a third of the time of the suite goes into none of its tests.
"""

import os
import sys
from types import ModuleType
from typing import cast

# Two threads for matrices of this size wait for each other, and burn time as they do; the tests have a worker a core.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Without bytecode each worker rewrites the assertions of every test, and each program started compiles the package.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# A check of addresses, which nothing here uses, would build 38 grammars when nbval is imported: 2 s of each worker.
sys.modules.setdefault("rfc3987_syntax", cast(ModuleType, None))
pytest_plugins = ["nbval.plugin"]  # `-p no:nbval` in pyproject.toml leaves it to this line
