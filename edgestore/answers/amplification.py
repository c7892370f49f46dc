"""What does this card write to its flash for each write of the camera: the fit of a filled-in sheet."""

from dataclasses import dataclass
from pathlib import Path

from edgestore.checks import refuse
from edgestore.inputs.amplification_readings import Readings, read_readings
from edgestore.models.wear import slow_down_tb, write_amplification_from_wear, write_amplification_measured
from edgestore.text import number
from edgestore.units import GB_PER_TB


@dataclass(frozen=True, kw_only=True)
class Amplification:
    """Write amplification of a spare card.

    Attributes
    ----------
    by_counter, by_wear : tuple of float or None
        Lowest and highest flash writes over host writes, a plain ratio, by the counter and by the slow-down; None where
        the readings of that way were not given.
    lines : tuple of str
        Each in words.
    """

    by_counter: tuple[float, float] | None
    by_wear: tuple[float, float] | None
    lines: tuple[str, ...]


def fitted_amplification(source: Path | bytes) -> Amplification:
    r"""Write amplification with its range, from a filled-in sheet.

    Parameters
    ----------
    source : Path or bytes
        The TOML file of :func:`edgestore.inputs.amplification_readings.read_readings`, or its content.

    Returns
    -------
    Amplification
        Ranges, plain ratios, and what they mean in words.

    Raises
    ------
    InputError
        When the file cannot be used, the counter runs backwards, or the rate has no lasting fall.

    Examples
    --------
    From 100 to 150 cycles of 64 GB, while 1.6 TB were written: 49 x 64 / 1600 to 51 x 64 / 1600.

    >>> made = fitted_amplification(b"host_tb = [0, 1.6]\ncounter = [100, 150]\ncounted_gb = 64")
    >>> print("{:.2f} to {:.2f}".format(*made.by_counter))
    1.96 to 2.04
    """
    readings = read_readings(source)
    lines: list[str] = []
    by_counter, by_wear = None, None
    if readings.counter:
        by_counter = _by_counter(readings)
        lines.append(f"By the erase counter: write amplification {_range(by_counter)}.")
    if readings.mbyte_s:
        fall = slow_down_tb(readings.host_tb, readings.mbyte_s)
        capacity, cycles = readings.fields["capacity_gb"], list(readings.fields["pe_cycles"])
        low, high = write_amplification_from_wear(capacity, cycles, [fall.high_tb, fall.low_tb])
        by_wear = float(low), float(high)
        rates = f"from {number(fall.before_mbyte_s)} to {number(fall.after_mbyte_s)} Mbyte/s"
        lines += [
            f"The rate fell {rates} between {number(fall.low_tb)} and {number(fall.high_tb)} TB written.",
            f"By wear to the slow-down: write amplification {_range(by_wear)}. A slow-down may have another cause.",
        ]
    low, high = by_counter or by_wear or (1.0, 1.0)
    if high < 1:
        lines.append("Warning: below 1, so the counter or the cycles do not cover what was written. Do not use it.")
    else:
        entered = f"write_amplification_low = {max(low, 1):.3g}, write_amplification_high = {high:.3g}"
        lines.append(f"Enter in the card list, beside pe_cycles: {entered}.")
    return Amplification(by_counter=by_counter, by_wear=by_wear, lines=tuple(lines))


def _by_counter(readings: Readings) -> tuple[float, float]:
    written = (readings.host_tb[-1] - readings.host_tb[0]) * GB_PER_TB
    if written <= 0:
        raise refuse("host_tb", "volumes that do not rise", "rising volumes", "Enter what the host had written in all.")
    fields = readings.fields
    low, high = write_amplification_measured(
        readings.counter[0],
        readings.counter[-1],
        counted_gb=fields["counted_gb"],
        host_written_gb=written,
        erase_count_step=fields.get("counter_step", 1.0),
        host_step_gb=fields.get("host_step_gb", 0.0),
    )
    return float(low), float(high)


def _range(ends: tuple[float, float]) -> str:
    return f"{ends[0]:.3g} to {ends[1]:.3g}"
