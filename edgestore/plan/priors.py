"""What is assumed of a card that nobody has tested: each line with the published figure nearest to it."""

from pathlib import Path

import pandas as pd

from edgestore.inputs import beliefs
from edgestore.inputs.beliefs import Beliefs
from edgestore.plain_file import toml_file

FILE = Path(beliefs.__file__).with_name("priors.toml")

TOLD = ("published", "read_in", "carried_over", "replaced_by")
"""What the file says of each belief."""


def priors_table(of: Beliefs | None = None) -> pd.DataFrame:
    """What is assumed of a card that nobody has tested, with papers.

    Parameters
    ----------
    of : Beliefs, optional
        The beliefs of a site; by default those of a site that states none.

    Returns
    -------
    DataFrame
        A row a belief: ``prior``, what it is; ``low`` and ``high``, with one chance in ten beyond either, in ``unit``;
        ``basis``, the source or that it is our guess; ``published``, the published figure nearest to it; ``read_in``,
        where that was read; ``carried_over``, how; and ``replaced_by``, the record of one's own that would replace it.

    Examples
    --------
    >>> priors_table()["prior"].iloc[0]
    'failures for other reasons than wear'
    """
    known = of or Beliefs()
    rows = []
    for name, told in toml_file(FILE, FILE.name, "the table of priors").items():
        belief = known[name]
        ends = {"low": float(f"{belief.low:.2g}"), "high": float(f"{belief.high:.2g}")}
        said = {key: told[key] for key in TOLD}
        rows.append({"prior": belief.help, **ends, "unit": belief.unit, "basis": belief.source, **said})
    return pd.DataFrame(rows)
