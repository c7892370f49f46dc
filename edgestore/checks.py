"""The argument checks that every public function uses, and the one error they raise.

A check gives the value back as floats that broadcast: a scalar stays a scalar, a list becomes an array, and a
pandas Series keeps its index (its own ``astype`` does that; pandas is not imported here). Text and truth values
are no numbers, even where numpy would make some of them.
"""

import math
import reprlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from numbers import Real
from typing import Any, TypeAlias, TypeVar

import numpy as np
import numpy.typing as npt

T = TypeVar("T")

Numbers: TypeAlias = npt.ArrayLike
"""What a model takes: a number, or anything that numpy makes an array of numbers from."""

Values: TypeAlias = Any
"""What a model gives: a float for scalars, else an array of the broadcast shape (a Series for a Series)."""

MAX_BITRATE_MBIT_S = 1000.0
"""The line rate of a camera's network port: a larger figure is a figure in kbit/s."""

MAX_LINK_MBIT_S = 100_000.0
"""No link of a camera site is faster: a larger figure is in kbit/s."""

MAX_CAPACITY_GB = 4000.0
"""Above the largest memory card we know on sale (common practice, no source): a larger figure is in MB."""

MAX_PRICE = 1e9
"""A larger figure for one card or one visit is a slip, in any currency (our choice)."""

_SHORT = reprlib.Repr()
_SHORT.maxstring = _SHORT.maxother = 100


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input: where it stands, what was found, what is allowed, how to fix it."""

    where: str
    found: str
    allowed: str
    mend: str = ""

    def __str__(self) -> str:
        return f"{self.where}: {self._what()}.{f' Fix: {self.mend}' if self.mend else ''}"

    def _what(self) -> str:
        return f"found {self.found}; allowed: {self.allowed}"


@dataclass(frozen=True)
class ValueFault(Fault):
    """A value that cannot be used, where :class:`Fault` tells of something found or missing in a file or folder."""

    def _what(self) -> str:
        return f"is {self.found}; must be {self.allowed}"


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
    """Give the error for a single fault, ready to be raised: a number is shown as it is, words say what was found."""
    if isinstance(found, str):
        return InputError([Fault(where, found, allowed, mend)])
    return InputError([ValueFault(where, _shown(found), allowed, mend)])


def refuse_value(name: str, value: object, allowed: str, mend: str = "", unit: str = "") -> InputError:
    """Give the error for the value of an argument: finite numbers with their unit, all else as Python has it."""
    is_number = isinstance(value, float) and math.isfinite(value)
    shown = f"{_shown(value)} {unit}".strip() if is_number else _shown(value)
    return InputError([ValueFault(name, shown, allowed, mend)])


def not_opened(error: BaseException) -> str:
    """Say what was found where a file or folder could not be used.

    Parameters
    ----------
    error : BaseException
        What the system, or a library, said.

    Returns
    -------
    str
        Words that follow "found"; the system's own where there are none for it here.

    Examples
    --------
    >>> not_opened(FileNotFoundError(2, "No such file or directory"))
    'no such file'
    >>> not_opened(OSError(28, "No space left on device"))
    'no space left on device'
    """
    told = next((words for kind, words in _NOT_OPENED if isinstance(error, kind)), None)
    found = told or getattr(error, "strerror", None) or str(error) or type(error).__name__
    return found if told or found[1:2].isupper() else found[:1].lower() + found[1:]


_NOT_OPENED = (
    (FileNotFoundError, "no such file"),
    (IsADirectoryError, "a folder"),
    (NotADirectoryError, "a file where its path has a folder"),
    (PermissionError, "no permission to use it"),
)


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

    def good(number: float) -> bool:
        return (
            (math.isfinite(number) or (or_infinite and number == math.inf))
            and (above is None or number > above)
            and (at_least is None or number >= at_least)
            and (at_most is None or number <= at_most)
        )

    if isinstance(value, float) and good(value):
        return float(value)  # most are: told before the words of a refusal are made
    allowed = _allowed(unit, above, at_least, at_most) + (", or infinite" if or_infinite else "")
    number = f"Give a number in {unit}." if unit else "Give a number."
    if np.ma.is_masked(value):
        raise refuse(name, "masked entries", allowed, "Take the masked entries out, or fill them.")
    if _labelled(value) and np.ndim(value) != 1:
        raise refuse(name, "a table", allowed, "Give one column of it, or its numbers (to_numpy).")
    try:
        items = np.asarray(value)
    except ValueError:
        raise refuse(name, "lists of unequal length", allowed, mend) from None
    if items.dtype.kind in "mM":
        raise refuse_value(name, items.flat[0] if items.size else items, allowed, number)
    if items.dtype.kind not in "iuf":
        for item in np.asarray(value, dtype=object).flat:
            # numpy counts its own spans of time among the whole numbers.
            if isinstance(item, bool | np.timedelta64) or not isinstance(item, Real):
                raise refuse_value(name, item, allowed, mend or number)
    try:
        numbers = items.astype(float, copy=False)
    except OverflowError:
        raise refuse(name, "a whole number beyond the range of floats", allowed, mend) from None
    if numbers.size == 0:
        raise refuse(name, "no number", allowed, mend)

    # The two ends decide for all, NaN being at both: no mask is made of a million numbers.
    if not (good(numbers.min()) and good(numbers.max())):
        raise refuse_value(
            name, next(float(number) for number in numbers.flat if not good(number)), allowed, mend, unit
        )
    if numbers.ndim == 0:
        return float(numbers)
    labelled: Any = value
    return labelled.astype(float) if _labelled(value) else np.array(numbers)


def bitrate_mbit_s(value: Numbers, name: str = "bitrate_mbit_s") -> Values:
    """Check a bit rate: above 0 and at most 1000 Mbit/s."""
    mend = "A rate in kbit/s is divided by 1000, a rate in Mbyte/s multiplied by 8."
    return in_range(name, value, "Mbit/s", above=0, at_most=MAX_BITRATE_MBIT_S, mend=mend)


def capacity_gb(value: Numbers, name: str = "capacity_gb") -> Values:
    """Check a card's capacity: above 0 and at most 4000 GB."""
    mend = "Write the capacity printed on the card in GB: 64, not 64000 (MB)."
    return in_range(name, value, "GB", above=0, at_most=MAX_CAPACITY_GB, mend=mend)


def link_mbit_s(value: Numbers, name: str = "link_mbit_s") -> Values:
    """Check the rate of a link, or of what sends over it: above 0 and at most 100 000 Mbit/s."""
    mend = "A rate in kbit/s is divided by 1000."
    return in_range(name, value, "Mbit/s", above=0, at_most=MAX_LINK_MBIT_S, mend=mend)


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
        raise refuse_value(name, float(np.asarray(number)[np.asarray(parts)].flat[0]), f"whole {unit}", unit=unit)
    return number


def one_of(name: str, value: str, allowed: Iterable[str], mend: str = "") -> str:
    """Give ``value`` back when it is one of the ``allowed`` words, or name them all."""
    words = tuple(allowed)
    if not isinstance(value, str) or value not in words:
        raise refuse_value(name, value, f"one of {', '.join(words)}", mend)
    return value


def single(arguments: Mapping[str, object]) -> None:
    """Raise :class:`InputError` when one of the named arguments holds several values where one is asked."""
    for name, value in arguments.items():
        if shape := np.asarray(value, dtype=object).shape:
            raise refuse(name, f"shape {shape}", "one number")


def one_number(name: str, value: Numbers, unit: str = "", **bounds: Any) -> float:
    """Check one number within its bounds: those of :func:`in_range`."""
    single({name: value})
    return float(in_range(name, value, unit, **bounds))


def one_whole(name: str, value: Numbers, unit: str = "", *, at_least: float, at_most: float | None = None) -> int:
    """Check one whole number within its bounds."""
    number = one_number(name, value, unit, at_least=at_least, at_most=at_most)
    if number % 1:
        raise refuse_value(name, number, "one whole number", unit=unit)
    return int(number)


def listed(name: str, value: Iterable[T], allowed: str, mend: str = "") -> list[T]:
    """Give the items of a list, or say that ``value`` is none: text, a table of names, and what holds no items."""
    try:
        items = None if isinstance(value, str | bytes | Mapping) else list(value)
    except TypeError:
        items = None
    if items is None:
        raise refuse_value(name, value, allowed, mend)
    return items


def one_kind(name: str, value: object, *kinds: type) -> None:
    """Raise :class:`InputError` when ``value`` is none of the ``kinds`` of thing that the argument takes."""
    if not isinstance(value, kinds):
        words = " or ".join(kind.__name__ for kind in kinds)
        raise refuse_value(name, value, f"a {words}", f"Make one: {kinds[0].__name__}(...).")


def broadcastable(**values: Values) -> None:
    """Raise :class:`InputError` when the named arguments do not fit together: their labels, or their shapes."""
    if all(isinstance(value, float) for value in values.values()):
        return
    labelled = {name: value.axes for name, value in values.items() if _labelled(value)}
    for name, axes in labelled.items():
        first, first_axes = next(iter(labelled.items()))
        if len(axes) != len(first_axes) or not all(map(_equal, axes, first_axes)):
            mend = "Bring one to the labels of the other (reindex), or give both without labels (to_numpy)."
            raise refuse(f"{first} and {name}", "labels that differ", "the same labels in the same order", mend)
    shapes = {name: np.shape(value) for name, value in values.items()}
    try:
        np.broadcast_shapes(*shapes.values())
    except ValueError:
        found = ", ".join(f"{name} {shape}" for name, shape in shapes.items())
        raise refuse("shapes", found, "shapes that numpy can broadcast together") from None


def _labelled(value: object) -> bool:
    """Whether pandas labels the values."""
    return hasattr(value, "axes") and hasattr(value, "to_numpy")


def _equal(labels: Any, others: Any) -> bool:
    return bool(labels.equals(others))


def _shown(value: object) -> str:
    """Write a value for a message, cut when it is long."""
    if isinstance(value, float):  # all digits: 1.0000001 shown as 1 would seem to be allowed
        return repr(float(value)).removesuffix(".0")
    try:
        return _SHORT.repr(value)
    except ValueError:  # Python writes no integer of more than some thousand digits
        return "an integer too long to write"


def _allowed(unit: str, above: float | None, at_least: float | None, at_most: float | None) -> str:
    bounds = [
        f"above {above:.10g}" if above is not None else "",
        f"{at_least:.10g} or more" if at_least is not None else "",
        f"at most {at_most:.10g}" if at_most is not None else "",
    ]
    words = " and ".join(bound for bound in bounds if bound) or "a finite number"
    return f"{words} {unit}".strip()
