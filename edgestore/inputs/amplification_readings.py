"""The filled-in sheet of `edgestore accept --protocol`: one TOML file -> the readings of a spare card that was worn."""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from edgestore.checks import MAX_CAPACITY_GB, Fault, InputError
from edgestore.inputs.tables import Column
from edgestore.inputs.toml_table import as_found, read_table
from edgestore.plain_file import toml_file

FIELDS = (
    Column("capacity_gb", "number", "capacity of the card", unit="GB", at_least=0, at_most=MAX_CAPACITY_GB),
    Column("pe_cycles", "range", "lowest and highest cycles of the flash, as [1000, 3000]", at_least=1),
    Column("counted_gb", "number", "flash that the counter covers", unit="GB", at_least=0, at_most=MAX_CAPACITY_GB),
    Column("counter_step", "number", "step in which the counter is shown", unit="cycles", at_least=0),
    Column("host_step_gb", "number", "host volume between two looks at a watched counter", unit="GB", at_least=0),
)
ROWS = ("host_tb", "counter", "mbyte_s")
"""Rows of readings, each as long as the first."""

BLANK = """# Readings of the write amplification of a spare card. Fill in the lines of one way or of both, take the #
# away from them, and run
#   edgestore accept --fit FILE
# Both ways: what the host had written at each reading, in TB.
# host_tb = [0, 0.5, 1.0]

# Way 1: the counter at the same readings, in cycles; the flash that it covers; the step in which it is shown.
# counter = [100, 108, 117]
# counted_gb = 64
# counter_step = 1
# host_step_gb = 0  # host volume between two looks, where the counter was watched until it changed

# Way 2: the mean rate since the previous reading, 10 readings or more; the cycles of the flash, lowest and highest.
# mbyte_s = [30, 30, 29]
# capacity_gb = 64
# pe_cycles = [1000, 3000]
"""
"""The file to fill in."""


@dataclass(frozen=True, kw_only=True)
class Readings:
    """What was filled in.

    Attributes
    ----------
    host_tb, counter, mbyte_s : list of float
        Volume written by the host at each reading, TB; the counter of erases there, cycles; and the mean rate since
        the previous reading, Mbyte/s. The last two may be empty.
    fields : dict
        The values of ``FIELDS`` that were given.
    """

    host_tb: list[float]
    counter: list[float]
    mbyte_s: list[float]
    fields: dict[str, Any]


def read_readings(source: Path | bytes, name: str = "readings") -> Readings:
    r"""Read a filled-in sheet.

    Parameters
    ----------
    source : Path or bytes
        The TOML file, or its content.
    name : str
        What messages call it when ``source`` is its content.

    Returns
    -------
    Readings
        Volumes, TB, counts, cycles, and rates, Mbyte/s.

    Raises
    ------
    InputError
        With every fault of the file.

    Examples
    --------
    >>> read_readings(b"host_tb = [0, 1.6]\ncounter = [100, 150]\ncounted_gb = 64").counter
    [100.0, 150.0]
    """
    name = str(source) if isinstance(source, Path) else name
    table = toml_file(source, name, "the readings of a spare card", "Fill in what --protocol writes.")
    faults: list[Fault] = []
    rows = {row: _row(table.pop(row), f"{name} {row}", faults) for row in ROWS if row in table}
    fields = read_table(table, FIELDS, name, faults)
    host = rows.get("host_tb", [])
    if not faults and len(rows) < 2:
        faults.append(Fault(name, "too little", "host_tb, and counter or mbyte_s", "Fill in the rows of one way."))
    for row, values in rows.items():
        if not faults and len(values) != len(host):
            faults.append(Fault(f"{name} {row}", f"{len(values)} readings", f"{len(host)}, as in host_tb"))
    for row, needed in (("counter", ("counted_gb",)), ("mbyte_s", ("capacity_gb", "pe_cycles"))):
        faults += [
            Fault(f"{name} {key}", "nothing", f"a value, since {row} is given")
            for key in needed
            if row in rows and key not in fields and not faults
        ]
    if faults:
        raise InputError(faults)
    return Readings(host_tb=host, counter=rows.get("counter", []), mbyte_s=rows.get("mbyte_s", []), fields=fields)


def _row(values: Any, where: str, faults: list[Fault]) -> list[float]:
    is_row = isinstance(values, list) and all(
        type(one) in (int, float) and abs(one) < 1e300 and math.isfinite(one) for one in values
    )
    if not is_row or len(values) < 2:
        faults.append(Fault(where, as_found(values), "numbers in brackets, 2 or more, as [0, 0.5, 1.0]"))
        return []
    return [float(one) for one in values]
