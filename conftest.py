"""What pytest must know of library and tests alike: a module whose doctests are run is imported once."""

import importlib
from contextlib import suppress
from pathlib import Path

ROOT = Path(__file__).parent


def pytest_collect_file(file_path: Path) -> None:
    """Import the package of a module of the library before pytest imports the module.

    Pytest looks whether the module is there, then imports its package, which imports the module, and then imports the
    module once more: its functions would be there twice, those of the package and those that are found by name.
    """
    if file_path.suffix == ".py" and file_path.is_relative_to(ROOT / "edgestore"):
        with suppress(Exception):  # pytest imports it too, and tells what is wrong
            importlib.import_module(".".join(file_path.parent.relative_to(ROOT).parts))
