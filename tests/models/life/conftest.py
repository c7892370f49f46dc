"""What the tests of card lives compare with, and how a foreign library is kept from changing the process."""

import numpy as np
import pandas as pd
import pytest

SHOWN = ("display.float_format", "display.max_columns", "display.width")
"""How pandas prints tables; importing the library reliability changes it, and silences numpy's warnings."""


@pytest.fixture
def settings_kept():
    """Put back what importing the library reliability changes for the whole process."""
    shown = [setting for name in SHOWN for setting in (name, pd.get_option(name))]
    with pd.option_context(*shown), np.errstate():
        yield
