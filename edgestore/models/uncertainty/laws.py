"""How sure we are: inputs stated as ranges, answers as quantiles, and which input to find out next.

A model runs on sampled arrays as it runs on numbers, so nothing here knows what a model computes. Inputs are taken
as independent of one another.
"""

import operator
import reprlib
from collections.abc import Mapping
from dataclasses import dataclass
from numbers import Real
from statistics import NormalDist
from typing import Any, Self, TypeAlias

import numpy as np

from edgestore import checks
from edgestore.checks import Fault, InputError, Numbers, Values

Z_90 = NormalDist().inv_cdf(0.9)
"""Standard deviations from the median of a normal law to its P90, and to its P10 on the other side."""

SOBOL_BITS = 30
"""Digits of a quasi-random point; half of the last one is added: no point is exactly 0, no quantile infinite."""


@dataclass(frozen=True)
class Uniform:
    """An input of which only the bounds are known: any value from ``low`` to ``high`` is as likely as any other."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _check_fields(self)
        if not self.low < self.high:
            raise checks.refuse("Uniform", self, "low below high", "State what is known for sure as a plain number.")

    def quantile(self, fraction: Numbers) -> Values:
        """Give the value below which a fraction (0 to 1) of the chance lies."""
        below = checks.fraction("fraction", fraction)
        return np.minimum(self.low + (self.high - self.low) * below, self.high)


@dataclass(frozen=True)
class Triangular:
    """An input with bounds and a most likely value, the ``mode``."""

    low: float
    mode: float
    high: float

    def __post_init__(self) -> None:
        _check_fields(self)
        if not (self.low <= self.mode <= self.high and self.low < self.high):
            raise checks.refuse("Triangular", self, "low below high, and the mode from low to high")

    def quantile(self, fraction: Numbers) -> Values:
        """Give the value below which a fraction (0 to 1) of the chance lies."""
        below = checks.fraction("fraction", fraction)
        width = self.high - self.low
        turn = (self.mode - self.low) / width
        rising = self.low + width * np.sqrt(below * turn)
        falling = self.high - width * np.sqrt((1 - below) * (1 - turn))
        # Held at the mode: rounding may carry neither branch over it.
        return np.where(below < turn, np.minimum(rising, self.mode), np.maximum(falling, self.mode))[()]


@dataclass(frozen=True)
class Lognormal:
    """A positive input that is wrong by factors: below ``p10`` once in ten times, above ``p90`` once in ten times."""

    p10: float
    p90: float

    def __post_init__(self) -> None:
        _check_fields(self, above=0)
        if not self.p10 < self.p90:
            raise checks.refuse("Lognormal", self, "p10 below p90")

    @classmethod
    def from_median(cls, median: float, cv: float) -> Self:
        """Make it from its median and its coefficient of variation (standard deviation over mean)."""
        half = Z_90 * np.sqrt(np.log1p(checks.in_range("cv", cv, above=0) ** 2))
        middle = checks.in_range("median", median, above=0)
        return cls(float(middle * np.exp(-half)), float(middle * np.exp(half)))

    def quantile(self, fraction: Numbers) -> Values:
        """Give the value below which a fraction (0 to 1) of the chance lies; 0 and infinity at the ends."""
        from scipy.special import ndtri

        sigma = np.log(self.p90 / self.p10) / (2 * Z_90)
        return np.sqrt(self.p10) * np.sqrt(self.p90) * np.exp(sigma * ndtri(checks.fraction("fraction", fraction)))


@dataclass(frozen=True)
class Samples:
    """An input known by two or more values of its own; between neighbours its quantiles run in a straight line."""

    values: Numbers

    def __post_init__(self) -> None:
        given = np.asarray(checks.in_range("Samples", self.values))
        if given.ndim != 1 or given.size < 2:
            found = "one value" if given.size == 1 else f"shape {given.shape}"
            raise checks.refuse("Samples", found, "two values or more in a row", "State one value as a plain number.")
        object.__setattr__(self, "values", tuple(np.sort(given).tolist()))

    def quantile(self, fraction: Numbers) -> Values:
        """Give the value below which a fraction (0 to 1) of the chance lies."""
        known = np.asarray(self.values, dtype=float)
        return np.interp(checks.fraction("fraction", fraction), np.linspace(0, 1, known.size), known)


Law: TypeAlias = Uniform | Triangular | Lognormal | Samples
UncertainInput: TypeAlias = float | Law
"""How an input may be stated: a plain number that is known, or the law of one that is not."""


@dataclass(frozen=True, kw_only=True)
class Spread:
    """An uncertain answer by its quantiles: a share of 5, 10, 50, 90 and 95 % lies below."""

    p5: Values
    p10: Values
    p50: Values
    p90: Values
    p95: Values


def sample(inputs: Mapping[str, UncertainInput], count: int = 2**14, seed: int = 0) -> dict[str, Values]:
    """Points for a model to run on, spread evenly over all that the inputs may be together.

    Parameters
    ----------
    inputs : mapping of str to number or law
        Each input by its name, a plain number or a law (Uniform, Triangular, Lognormal, Samples) in its own unit.
    count, seed : int
        Number of points, a power of two, each an equal share of the chance; start of the draw: same seed, same points.

    Returns
    -------
    dict of str to float or ndarray
        The inputs by name: an array of ``count`` values where uncertain, the number itself where known.

    Raises
    ------
    InputError
        When an input is neither number nor law, or the count no power of two.

    Notes
    -----
    Scrambled Sobol points through each law's quantiles. The error falls faster than the ``1 / sqrt(count)`` of
    independent draws: for a chance that hangs on three lognormals it stayed within ``3 / count^0.75`` (tests), 0.002
    for the default count. The inputs are independent of one another.

    References
    ----------
    Owen, Scrambled net variance for integrals of smooth functions, Annals of Statistics 25 (1997) 1541 (from memory).

    Examples
    --------
    >>> points = sample({"capacity_gb": 128, "bitrate_mbit_s": Uniform(2, 6)}, count=1024)
    >>> print(points["capacity_gb"], f"{points['bitrate_mbit_s'].mean():.2f}")
    128.0 4.00
    """
    from scipy.stats import qmc  # 1 s to import, and only wanted here

    known, unknown = _split(inputs)
    size = _power_of_two(count)
    if not unknown:
        return dict(known)
    engine = qmc.Sobol(len(unknown), bits=SOBOL_BITS, seed=np.random.default_rng(seed))
    shares = np.ascontiguousarray(engine.random(size).T) + 0.5**SOBOL_BITS / 2
    drawn = {name: law.quantile(share) for (name, law), share in zip(unknown.items(), shares, strict=True)}
    return {name: known[name] if name in known else drawn[name] for name in inputs}


def spread(values: Numbers) -> Spread:
    r"""Quantiles of an uncertain answer.

    Parameters
    ----------
    values : array_like
        The answer at each point, in any unit (hours, a ratio, ...), two or more along the last axis.

    Returns
    -------
    Spread
        Below ``p5`` lies a share of 5 % of the values, and so on, in their unit; the last axis is gone.

    Raises
    ------
    InputError
        When a value is missing or infinite, or there is only one.

    Notes
    -----
    .. math:: x_{(j)} + (h - j) \left( x_{(j+1)} - x_{(j)} \right), \quad h = 1 + (n - 1)\, p, \quad
        j = \lfloor h \rfloor

    for the share p of the n values. Values in order, a straight line between neighbours, the first at 0 and the last at
    1.

    References
    ----------
    Definition 7 of Hyndman and Fan, The American Statistician 50 (1996) 361 (from memory).

    Examples
    --------
    >>> print(f"{spread([10, 20, 30]).p5:.1f}")
    11.0
    """
    p5, p10, p50, p90, p95 = np.quantile(_answers(values), [0.05, 0.1, 0.5, 0.9, 0.95], axis=-1)
    return Spread(p5=p5, p10=p10, p50=p50, p90=p90, p95=p95)


def chance_at_least(values: Numbers, wanted: Numbers) -> Values:
    r"""Chance that an uncertain answer reaches what is wanted.

    Parameters
    ----------
    values : array_like
        The answer at each point, in any unit (hours, a ratio, ...), two or more in a row.
    wanted : float or array_like
        What is asked for, in the same unit (hours, a ratio, ...).

    Returns
    -------
    float or ndarray
        Fraction of the values that are ``wanted`` or more, of the shape of ``wanted``.

    Raises
    ------
    InputError
        When a number is missing or infinite, or there is only one value.

    Notes
    -----
    .. math:: P = \frac{\#\{i : x_i \ge \text{wanted}\}}{n}

    A count over a count. Over a row of wanted lives it is the survival curve.

    References
    ----------
    The empirical distribution function.

    Examples
    --------
    >>> print(chance_at_least([2, 4, 6, 8], 4))
    0.75
    """
    ordered = np.sort(_answers(values))
    if ordered.ndim != 1:
        raise checks.refuse("values", f"shape {ordered.shape}", "values in one row")
    return (ordered.size - np.searchsorted(ordered, checks.in_range("wanted", wanted), side="left")) / ordered.size


def _check_fields(law: Uniform | Triangular | Lognormal, above: float | None = None) -> None:
    """Raise :class:`InputError` when a field of a law is no finite number, or not above a bound."""
    for name, value in vars(law).items():
        where = f"{type(law).__name__}.{name}"
        if np.ndim(checks.in_range(where, value, above=above)):
            raise checks.refuse_value(where, value, "one number")


def _split(inputs: Mapping[str, UncertainInput]) -> tuple[dict[str, float], dict[str, Law]]:
    """Part the inputs into known numbers and laws, or say all that is neither."""
    unknown = {name: value for name, value in inputs.items() if isinstance(value, Law)}
    known: dict[str, float] = {}
    faults: list[Fault] = []
    for name, value in inputs.items():
        if name in unknown:
            continue
        if isinstance(value, Real) and not isinstance(value, bool) and np.isfinite(value):
            known[name] = float(value)
        else:
            allowed = "a finite number, Uniform, Triangular, Lognormal or Samples"
            faults.append(Fault(name, reprlib.repr(value), allowed, "Several values of one input are Samples([...])."))
    if faults:
        raise InputError(faults)
    return known, unknown


def _power_of_two(count: int) -> int:
    mend = "A power of two keeps the points even: 4096, 16384, 1048576."
    try:
        size = operator.index(count)
    except TypeError:
        raise checks.refuse_value("count", count, "a power of two, 2 or more", mend) from None
    if size < 2 or size & (size - 1) or size > 2**SOBOL_BITS:
        raise checks.refuse("count", size, f"a power of two, 2 to 2^{SOBOL_BITS}", mend)
    return size


def _answers(values: Numbers) -> Any:
    """Check sampled answers: finite, two or more along the last axis."""
    answers = np.asarray(checks.in_range("values", values))
    if answers.ndim == 0 or answers.shape[-1] < 2:
        raise checks.refuse("values", "one value", "two values or more", "A number that is known has no spread.")
    return answers
