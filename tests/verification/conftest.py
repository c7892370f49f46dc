"""The library's own checks, recomputed once: it takes 2 s of CPU."""

import pandas as pd
import pytest

from edgestore.verification import own_check_files, read_checks, run


@pytest.fixture(scope="session")
def own_results() -> pd.DataFrame:
    """Recompute every check of the library, in the order of their files."""
    return run(read_checks(own_check_files()))
