"""How long an outage lasts: laws of the time until a recorder or a link works again."""

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Fault, InputError, Numbers, Values

Floats: TypeAlias = npt.NDArray[np.float64]

SIGMAS = (0.01, 4.0)
"""Standard deviations of ln(repair time) that make sense: at 4 the mean is 3000 medians."""

_TINY = np.finfo(float).tiny
_MOST_STEPS = 200
_NEAR = 1e-13


class RepairLaw(ABC):
    """A law of the length of an outage, in hours. The fields of the laws broadcast; a Series gives an array."""

    @property
    def longest_h(self) -> Values:
        """What no outage exceeds, h; infinite for a law without end."""
        return np.inf

    @abstractmethod
    def survival(self, hours: Numbers) -> Values:
        """Fraction of outages, 0 to 1, that last longer than ``hours``, 0 or more."""

    @abstractmethod
    def excess_h(self, hours: Numbers) -> Values:
        """Mean time in h that an outage lasts beyond ``hours``, 0 or more: ``E[(D - hours)+]``, all outages counted."""

    @abstractmethod
    def draw_h(self, failed_at_h: Floats, generator: np.random.Generator) -> Floats:
        """Draw the lengths, h, of outages that begin at these hours since the start of a week."""

    def mean_h(self) -> Values:
        """Mean length of an outage, h."""
        return self.excess_h(0.0)

    def hours_for_fraction(self, fraction: Numbers) -> Values:
        """Hours within which a fraction, 0 to 1, of all time in outages falls: ``1 - E[(D - h)+] / E[D] = fraction``.

        Newton's method from 0: the excess is convex and falls, so no step goes too far.
        """
        wanted = np.asarray(checks.fraction("fraction", fraction))
        rest = (1 - wanted) * self.mean_h()
        hours = np.zeros(np.shape(rest))
        for _ in range(_MOST_STEPS):
            left, slope = np.maximum(self.excess_h(hours) - rest, 0.0), self.survival(hours)
            step = left / np.maximum(slope, _TINY)
            hours = hours + step
            if np.all(step <= _NEAR * hours):
                break
        # Nothing to be saved of an outage that takes no time.
        return np.where((wanted == 1) & (self.mean_h() > 0), self.longest_h, hours)[()]

    def _keep(self, **bounds: tuple[str, dict[str, Any]]) -> None:
        """Check the fields and keep them as floats or arrays that broadcast, or raise every fault."""
        faults: list[Fault] = []
        for name, (unit, limits) in bounds.items():
            try:
                value = checks.in_range(name, getattr(self, name), unit, **limits)
                object.__setattr__(self, name, value if isinstance(value, float) else np.asarray(value))
            except InputError as error:
                faults += error.faults
        if faults:
            raise InputError(faults)
        checks.broadcastable(**vars(self))

    def _hours(self, hours: Numbers) -> Values:
        """Check a time and see to it that it broadcasts with the fields."""
        time = np.asarray(checks.in_range("hours", hours, "h", at_least=0))[()]
        checks.broadcastable(**vars(self), hours=time)
        return time


@dataclass(frozen=True)
class ExponentialRepair(RepairLaw):
    r"""Outages that end at any moment as likely as at any other.

    Parameters
    ----------
    repair_mean_h : float or array_like
        Mean length of an outage, h, 0 or more.

    Raises
    ------
    InputError
        When it is missing, negative or infinite.

    Notes
    -----
    .. math:: S(t) = e^{-t / \text{mean}}, \quad E[(D - R)^+] = \text{mean} \cdot e^{-R / \text{mean}}

    S is 0 where the mean is 0. Real repairs have a longer tail (parts that must
    be ordered, nobody notices): then this promises too much.

    References
    ----------
    Textbook.

    Examples
    --------
    >>> print(f"{ExponentialRepair(24).survival(72):.6f}")
    0.049787
    """

    repair_mean_h: Values

    def __post_init__(self) -> None:
        self._keep(repair_mean_h=("h", {"at_least": 0}))

    def survival(self, hours: Numbers) -> Values:
        """Fraction of outages, 0 to 1, that last longer than ``hours``, 0 or more."""
        time = self._hours(hours)
        with np.errstate(over="ignore"):
            means = time / np.maximum(self.repair_mean_h, _TINY)
        return np.exp(-means) * (self.repair_mean_h > 0)

    def excess_h(self, hours: Numbers) -> Values:
        """Mean time in h that an outage lasts beyond ``hours``, 0 or more, all outages counted."""
        return self.repair_mean_h * self.survival(hours)

    def draw_h(self, failed_at_h: Floats, generator: np.random.Generator) -> Floats:
        """Draw the lengths of outages, h."""
        return np.asarray(self.repair_mean_h * generator.standard_exponential(len(failed_at_h)))


@dataclass(frozen=True)
class LognormalRepair(RepairLaw):
    r"""Outages of which most are short and a few very long.

    Parameters
    ----------
    repair_median_h : float or array_like
        Length that half of the outages exceed, h, 0 or more.
    repair_sigma : float or array_like
        Standard deviation of ln(length), a plain ratio, 0.01 to 4.

    Raises
    ------
    InputError
        With every field that cannot be used.

    Notes
    -----
    With ``m = ln(median)``, mean ``exp(m + s^2 / 2)`` and the normal distribution Phi; all 0 where the median is 0:

    .. math:: S(t) = \Phi\left(\frac{m - \ln\,t}{s}\right), \quad
        E[(D - R)^+] = \text{mean}\, \Phi\left(\frac{m + s^2 - \ln\,R}{s}\right)
        - R\, \Phi\left(\frac{m - \ln\,R}{s}\right)

    References
    ----------
    MIL-HDBK-338B, section 5.6.2.1: the lognormal law for corrective maintenance.

    Examples
    --------
    >>> law = LognormalRepair(8, 1.2)
    >>> print(f"{law.mean_h():.2f} {law.survival(72):.6f}")
    16.44 0.033549
    """

    repair_median_h: Values
    repair_sigma: Values

    def __post_init__(self) -> None:
        sigmas = dict(zip(("at_least", "at_most"), SIGMAS, strict=True))
        self._keep(repair_median_h=("h", {"at_least": 0}), repair_sigma=("", sigmas))

    def survival(self, hours: Numbers) -> Values:
        """Fraction of outages, 0 to 1, that last longer than ``hours``, 0 or more."""
        from scipy.special import ndtr

        return ndtr(self._score(self._hours(hours))) * (self.repair_median_h > 0)

    def excess_h(self, hours: Numbers) -> Values:
        """Mean time in h that an outage lasts beyond ``hours``, 0 or more, all outages counted."""
        from scipy.special import ndtr

        time = self._hours(hours)
        score = self._score(time)
        mean = self.repair_median_h * np.exp(self.repair_sigma**2 / 2)
        return mean * ndtr(score + self.repair_sigma) - time * ndtr(score)

    def draw_h(self, failed_at_h: Floats, generator: np.random.Generator) -> Floats:
        """Draw the lengths of outages, h."""
        scores = generator.standard_normal(len(failed_at_h))
        return np.asarray(self.repair_median_h * np.exp(self.repair_sigma * scores))

    def _score(self, time: Values) -> Values:
        """How many standard deviations ln(time) lies below its mean."""
        log_ratio = np.log(np.maximum(self.repair_median_h, _TINY)) - np.log(np.maximum(time, _TINY))
        return log_ratio / self.repair_sigma


@dataclass(frozen=True)
class MixedRepair(RepairLaw):
    r"""Outages of several kinds, each with its fraction and its own law: what two parts in series suffer.

    Parameters
    ----------
    laws : tuple of RepairLaw
        The law of each kind.
    fractions : tuple of float or ndarray
        Share of each kind among all outages; they sum to 1.

    Notes
    -----
    .. math:: S(t) = \sum_i p_i\, S_i(t), \quad E[(D - R)^+] = \sum_i p_i\, E[(D_i - R)^+]

    with p the share of each kind.

    References
    ----------
    Arithmetic.
    """

    laws: tuple[RepairLaw, ...]
    fractions: tuple[Values, ...]

    @property
    def longest_h(self) -> Values:
        """What no outage exceeds, h."""
        ends = [
            np.where(np.asarray(fraction) > 0, law.longest_h, 0.0)
            for law, fraction in zip(self.laws, self.fractions, strict=True)
        ]
        return np.max(np.broadcast_arrays(*ends), axis=0)[()]

    def survival(self, hours: Numbers) -> Values:
        """Fraction of outages, 0 to 1, that last longer than ``hours``, 0 or more."""
        return sum(fraction * law.survival(hours) for law, fraction in zip(self.laws, self.fractions, strict=True))

    def excess_h(self, hours: Numbers) -> Values:
        """Mean time in h that an outage lasts beyond ``hours``, 0 or more, all outages counted."""
        return sum(fraction * law.excess_h(hours) for law, fraction in zip(self.laws, self.fractions, strict=True))

    def draw_h(self, failed_at_h: Floats, generator: np.random.Generator) -> Floats:
        """Draw the lengths of outages, h, each by the law of a kind that is drawn first."""
        kinds = np.searchsorted(np.cumsum(self.fractions)[:-1], generator.random(len(failed_at_h)), side="right")
        drawn = [law.draw_h(failed_at_h, generator) for law in self.laws]
        return np.asarray(np.choose(kinds, drawn))
