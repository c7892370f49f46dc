"""What is assumed of a card that nobody has tested: each line with the published figures nearest to it."""

from pathlib import Path

import pandas as pd

from edgestore.inputs import beliefs
from edgestore.inputs.beliefs import Beliefs
from edgestore.plain_file import toml_file

FILE = Path(beliefs.__file__).with_name("untested_card.toml")

TOLD = ("published", "read_in", "carried_over", "counted", "replaced_by")
"""What the file says of each belief."""

DIGITS = 2
"""No range is known to more."""


def untested_card_table(of: Beliefs | None = None) -> pd.DataFrame:
    """What is assumed of a card that nobody has tested, with papers.

    Parameters
    ----------
    of : Beliefs, optional
        The beliefs of a site; by default those of a site that states none.

    Returns
    -------
    DataFrame
        A row a belief: ``assumed``, what it is; ``low`` and ``high``, with one chance in ten beyond either, in
        ``unit``; ``basis``, the source or that it is our guess; ``published``, the published figures nearest to it;
        ``read_in``, where these were read; ``carried_over``, how; ``counted``, how chances count it, and of what is
        held at one figure why; and ``replaced_by``, the record of one's own that would replace it.

    Examples
    --------
    >>> untested_card_table()["assumed"].iloc[0]
    'failures for other reasons than wear'
    """
    known, unstated = of or Beliefs(), Beliefs()
    rows = []
    for name, told in toml_file(FILE, FILE.name, "what is assumed of an untested card").items():
        belief = known[name]
        is_own = belief != unstated[name]
        low, high = (belief.low, belief.high) if is_own else told.get("range", (belief.low, belief.high))
        ends = {"low": float(f"{low:.{DIGITS}g}"), "high": float(f"{high:.{DIGITS}g}")}
        said = {key: told[key] for key in TOLD}
        rows.append({"assumed": belief.help, **ends, "unit": belief.unit, "basis": belief.source, **said})
    return pd.DataFrame(rows)
