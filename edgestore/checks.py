"""The argument checks that every public function uses, and the one error they raise.

A check gives the value back as floats that broadcast: a scalar stays a scalar, a list becomes an array, and a
pandas Series keeps its index (its own ``astype`` does that; pandas is not imported here). Text and truth values
are no numbers, even where numpy would make some of them.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from numbers import Real
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

Numbers: TypeAlias = npt.ArrayLike
"""What a model takes: a number, or anything that numpy makes an array of numbers from."""

Values: TypeAlias = Any
"""What a model gives: a float for scalars, else an array of the broadcast shape (a Series for a Series)."""

MAX_BITRATE_MBIT_S = 1000.0
"""The line rate of a camera's network port: a larger figure is a figure in kbit/s."""

MAX_CAPACITY_GB = 4000.0
"""Above the largest memory card we know on sale (common practice, no source): a larger figure is in MB."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input: where it stands, what was found, what is allowed, how to mend it."""

    where: str
    found: str
    allowed: str
    mend: str = ""

    def __str__(self) -> str:
        mend = f" {self.mend}" if self.mend else ""
        return f"{self.where}: found {self.found}; allowed: {self.allowed}.{mend}"


class InputError(ValueError):
    """An input that cannot be used, with every fault found in it.

    Parameters
    ----------
    faults : iterable of Fault
        All that is wrong, in the order in which a reader meets it.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


def refuse(where: str, found: object, allowed: str, mend: str = "") -> InputError:
    """Give the error for a single fault, ready to be raised."""
    # All digits: 1.0000001 shown as 1 would seem to be allowed.
    shown = repr(float(found)).removesuffix(".0") if isinstance(found, float) else str(found)
    return InputError([Fault(where, shown, allowed, mend)])


def in_range(
    name: str,
    value: Numbers,
    unit: str = "",
    *,
    above: float | None = None,
    at_least: float | None = None,
    at_most: float | None = None,
    or_infinite: bool = False,
    mend: str = "",
) -> Values:
    """Give ``value`` as floats, or say which number in it is out of range.

    Parameters
    ----------
    name : str
        Name of the argument, for the message.
    value : float or array_like
        The numbers, any shape.
    unit : str
        Unit of the numbers, for the message.
    above, at_least, at_most : float, optional
        The bounds, in ``unit``.
    or_infinite : bool
        Whether infinity is allowed too: the time to a failure that never comes.
    mend : str
        What the reader can do about it.

    Returns
    -------
    float, ndarray or Series
        ``value`` as float64, of the same shape.

    Raises
    ------
    InputError
        When a number is missing, infinite or out of bounds, when something is not a number, or when there is none.
    """
    allowed = _allowed(unit, above, at_least, at_most) + (", or infinite" if or_infinite else "")
    try:
        items = np.asarray(value)
    except ValueError:
        raise refuse(name, "lists of unequal length", allowed, mend) from None
    if items.dtype.kind not in "iuf":
        for item in np.asarray(value, dtype=object).flat:
            if isinstance(item, bool) or not isinstance(item, Real):
                raise refuse(name, repr(item), allowed, mend or "Give a number.")
    numbers = items.astype(float, copy=False)
    if numbers.size == 0:
        raise refuse(name, "no number", allowed, mend)

    def good(number: float) -> bool:
        return (
            (math.isfinite(number) or (or_infinite and number == math.inf))
            and (above is None or number > above)
            and (at_least is None or number >= at_least)
            and (at_most is None or number <= at_most)
        )

    # The two ends decide for all, NaN being at both: no mask is made of a million numbers.
    if not (good(numbers.min()) and good(numbers.max())):
        raise refuse(name, next(number for number in numbers.flat if not good(number)), allowed, mend)
    if numbers.ndim == 0:
        return float(numbers)
    return value.astype(float) if hasattr(value, "astype") else np.array(numbers)


def bitrate_mbit_s(value: Numbers, name: str = "bitrate_mbit_s") -> Values:
    """Check a bit rate: above 0 and at most 1000 Mbit/s."""
    mend = "A rate in kbit/s is divided by 1000, a rate in Mbyte/s multiplied by 8."
    return in_range(name, value, "Mbit/s", above=0, at_most=MAX_BITRATE_MBIT_S, mend=mend)


def capacity_gb(value: Numbers, name: str = "capacity_gb") -> Values:
    """Check a card's capacity: above 0 and at most 4000 GB."""
    mend = "Write the capacity printed on the card in GB: 64, not 64000 (MB)."
    return in_range(name, value, "GB", above=0, at_most=MAX_CAPACITY_GB, mend=mend)


def fraction(name: str, value: Numbers, *, above: float | None = None) -> Values:
    """Check a fraction: 0 to 1, or above a bound and at most 1."""
    at_least = 0.0 if above is None else None
    mend = "A percentage is divided by 100."
    return in_range(name, value, "", above=above, at_least=at_least, at_most=1, mend=mend)


def whole(name: str, value: Numbers, unit: str, *, at_least: float) -> Values:
    """Check a count: whole numbers, ``at_least`` so many of ``unit``."""
    number = in_range(name, value, unit, at_least=at_least)
    parts = np.mod(number, 1) != 0
    if np.any(parts):
        raise refuse(name, float(np.asarray(number)[np.asarray(parts)].flat[0]), f"whole {unit}")
    return number


def one_of(name: str, value: str, allowed: Iterable[str], mend: str = "") -> str:
    """Give ``value`` back when it is one of the ``allowed`` words, or name them all."""
    words = tuple(allowed)
    if value not in words:
        raise refuse(name, repr(value), ", ".join(words), mend)
    return value


def broadcastable(**values: Values) -> None:
    """Raise :class:`InputError` when the shapes of the named arguments do not fit together."""
    shapes = {name: np.shape(value) for name, value in values.items()}
    try:
        np.broadcast_shapes(*shapes.values())
    except ValueError:
        found = ", ".join(f"{name} {shape}" for name, shape in shapes.items())
        raise refuse("shapes", found, "shapes that numpy can broadcast together") from None


def _allowed(unit: str, above: float | None, at_least: float | None, at_most: float | None) -> str:
    bounds = [
        f"above {above:g}" if above is not None else "",
        f"{at_least:g} or more" if at_least is not None else "",
        f"at most {at_most:g}" if at_most is not None else "",
    ]
    words = " and ".join(bound for bound in bounds if bound) or "a finite number"
    return f"{words} {unit}".strip()
