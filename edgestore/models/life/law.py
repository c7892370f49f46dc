"""Life as a distribution: wear-out, random failures and weak cards, and what they leave a card in service."""

from collections.abc import Callable
from dataclasses import KW_ONLY, dataclass

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Fault, InputError, Numbers, Values

LAWS = ("weibull", "lognormal")
"""The laws of wear-out."""

SHAPES = {"weibull": (0.2, 100.0), "lognormal": (0.01, 2.0)}
"""Which shapes make sense: those of a Weibull law, and standard deviations of the logarithm of life."""

MOST_CERTAIN = 0.9999
"""No rating can mean that all cards fail by a date: the laws never end."""

_MAX_STEPS = 100
_MOST_RISK = 1e300
"""Where -ln R stops growing: R has long been 0 as a float, and infinity would breed no-numbers."""

_NODE = np.arange(-4.5, 4.6, 0.1)
_RISK = np.exp(_NODE - np.exp(-_NODE))
_WEIGHT = 0.1 * np.exp(-_RISK) * _RISK * (1 + np.exp(-_NODE))
"""Double-exponential rule for integrals of ``exp(-y) g(y)`` over y from 0 (Takahasi and Mori 1974, from memory)."""
_AT_ONCE = 20_000
"""Numbers that are computed at once: more of them would only fill the memory."""


@dataclass(frozen=True)
class CardLife:
    r"""Law of the life of one kind of card under one camera: wear-out, random failures and a share of weak cards.

    Numbers or arrays that broadcast; sampled arrays give sampled answers, and a Series gives an array.

    Parameters
    ----------
    wear_life_years : float or array_like
        Time until the camera has written the stated endurance, years, above 0.
    failed_at_endurance : float or array_like
        Fraction of cards worn out by then, above 0 and at most 0.9999. 0.5 is a guess (common practice, no source);
        a rating may mean 0.03.
    wear_shape : float or array_like
        Weibull shape, a plain ratio, 0.2 to 100: 1 does not age, more ages. With the lognormal law the standard
        deviation of ln(life), 0.01 to 2; 0.35 spreads lives about as a Weibull shape of 3 does.
    random_per_year : float or array_like
        Failures for other reasons than wear, a year, 0 or more, alike at all ages.
    early_fraction : float or array_like
        Fraction of cards that are weak from the start, 0 to 1.
    early_mean_years : float or array_like
        Mean life of a weak card, years, above 0.
    law : str
        ``weibull`` or ``lognormal``: the law of wear-out.

    Raises
    ------
    InputError
        With every field that cannot be used.

    Notes
    -----
    Chance to survive:

    .. math:: R(t) = w\, e^{-t / \text{early mean}} + (1 - w)\, R_\text{wear}(t)\, e^{-\text{rate} \cdot t}

    Wear and random failures compete, and a share w of cards is another population. Weibull with shape k:

    .. math:: R_\text{wear}(t) = e^{-(t / \text{scale})^k}, \quad
        \text{scale} = \frac{\text{wear life}}{(-\ln(1 - \text{failed at endurance}))^{1/k}}

    Lognormal, with Phi the normal distribution:

    .. math:: R_\text{wear}(t) = \Phi\left( \frac{\mu - \ln\,t}{\text{shape}} \right), \quad
        \mu = \ln(\text{wear life}) - \text{shape} \cdot \Phi^{-1}(\text{failed at endurance})

    Of a card that works at an age a: chance of lasting x more, and mean further life,

    .. math:: R_a(x) = \frac{R(a + x)}{R(a)}, \quad m_a = \frac{1}{R(a)} \int_a^\infty R(t)\, dt

    The shape, the rate and the share of weak cards are known for hardly any card: give ranges, or fit your own records
    (:func:`edgestore.models.life.fit_weibull`). Cards of one batch in one place fail together more often than this
    says.

    References
    ----------
    Competing risks and mixtures: NIST/SEMATECH e-Handbook of Statistical Methods, section 8.1 (from memory). The stages
    early failure, useful life and wear-out in flash drives: Meza et al., SIGMETRICS 2015, DOI 10.1145/2745844.2745848.

    Examples
    --------
    >>> card = CardLife(8, random_per_year=0.02)
    >>> print(f"{card.survival(5):.3f} {card.life_quantile_years(0.1):.2f}")
    0.764 3.15
    """

    wear_life_years: Values
    _: KW_ONLY
    failed_at_endurance: Values = 0.5
    wear_shape: Values = 3.0
    random_per_year: Values = 0.0
    early_fraction: Values = 0.0
    early_mean_years: Values = 0.25
    law: str = "weibull"

    def __post_init__(self) -> None:
        checks.one_of("law", self.law, LAWS)
        low, high = SHAPES[self.law]
        mend = "With the lognormal law it is the standard deviation of ln(life)." if self.law == "lognormal" else ""
        faults: list[Fault] = []
        as_given: dict[str, Values] = {}
        for name, unit, bounds in (
            ("wear_life_years", "years", {"above": 0}),
            ("failed_at_endurance", "", {"above": 0, "at_most": MOST_CERTAIN}),
            ("wear_shape", "", {"at_least": low, "at_most": high}),
            ("random_per_year", "a year", {"at_least": 0}),
            ("early_fraction", "", {"at_least": 0, "at_most": 1}),
            ("early_mean_years", "years", {"above": 0}),
        ):
            try:
                note = mend if name == "wear_shape" else ""
                as_given[name] = checks.in_range(name, getattr(self, name), unit, **bounds, mend=note)
                object.__setattr__(self, name, np.asarray(as_given[name])[()])
            except InputError as error:
                faults += error.faults
        if faults:
            raise InputError(faults)
        checks.broadcastable(**as_given)  # with their labels, which the fields do not keep

    def survival(self, years: Numbers) -> Values:
        """Fraction of cards, 0 to 1, that still work at an age of ``years``, 0 or more."""
        return np.exp(-self._risk(self._age("years", years)))

    def hazard_per_year(self, years: Numbers) -> Values:
        """Failures a year among cards that have reached an age of ``years``, 0 or more.

        ``-R'/R``; infinite at age 0 for a Weibull shape below 1.
        """
        age = self._age("years", years)
        weak, sound = self._shares(age)
        with np.errstate(invalid="ignore"):  # where no sound card is left, 0 x infinity
            main = np.where(sound > 0, sound * (self._wear_hazard(age) + self.random_per_year), 0.0)
        return (weak / self.early_mean_years + main)[()]

    def life_quantile_years(self, failed_fraction: Numbers) -> Values:
        """Age in years by which a fraction of cards, 0 to 1, has failed: B1 for 0.01, B10 for 0.1, B50 for 0.5.

        The root of ``-ln R(t) = -ln(1 - fraction)`` by Newton's method in the logarithms, kept within bounds that close
        in. Uniform random fractions give random lives.
        """
        fraction = checks.fraction("failed_fraction", failed_fraction)
        self._fits(failed_fraction=fraction)
        inside = (np.asarray(fraction) > 0) & (np.asarray(fraction) < 1)
        risk = -np.log1p(-np.where(inside, fraction, 0.5))
        life = self._wear_years(risk) if self._wears_only() else self._root_years(risk)
        return np.where(inside, life, np.where(np.asarray(fraction) > 0, np.inf, 0.0))[()]

    def mean_life_years(self) -> Values:
        """Mean life of a new card, years."""
        return self.mean_residual_years(0.0)

    def mean_residual_years(self, age_years: Numbers) -> Values:
        """Mean further life, years, of a card that works at an age of ``age_years``, 0 or more.

        The integral of R from that age on, over R at it. A card that wears out after x further years works on for
        ``(1 - exp(-rate x)) / rate`` in the mean; this is averaged over the wear lives.
        """
        from scipy.special import exprel

        age = self._age("age_years", age_years)

        def further(wear: Values) -> Values:
            left = np.maximum(wear - age, 0)
            return left * exprel(-self.random_per_year * left)

        main = self._mean_over_wear(further, self._worn(age))
        weak, sound = self._shares(age)
        return weak * self.early_mean_years + sound * main

    def mean_years_until(self, age_years: Numbers) -> Values:
        """Mean time, years, that a new card works before it fails or reaches an age of ``age_years``, 0 or more."""
        left = self.survival(age_years)
        further = np.where(left > 0, left * self.mean_residual_years(age_years), 0.0)
        return np.maximum(self.mean_life_years() - further, 0.0)

    def sd_life_years(self) -> Values:
        """Standard deviation of the life of a new card, years.

        A sound card that wears out after x years has the mean square ``x^2 1F1(2; 3; -rate x)``, the integral of
        ``2 t exp(-rate t)`` up to x; this is averaged over the wear lives, and a weak card has twice its squared mean.
        """
        from scipy.special import hyp1f1

        main = self._mean_over_wear(lambda wear: wear**2 * hyp1f1(2, 3, -self.random_per_year * wear))
        square = 2 * self.early_fraction * self.early_mean_years**2 + (1 - self.early_fraction) * main
        return np.sqrt(np.maximum(square - self.mean_life_years() ** 2, 0))

    def chance_of_lasting(self, years: Numbers, age_years: Numbers = 0.0) -> Values:
        """Chance, 0 to 1, that a card works for ``years`` more when it works at ``age_years``, each 0 or more.

        ``R(age + years) / R(age)``.
        """
        checks.broadcastable(  # with their labels, which are not kept
            years=checks.in_range("years", years), age_years=checks.in_range("age_years", age_years)
        )
        further, age = self._age("years", years), self._age("age_years", age_years)
        self._fits(years=further, age_years=age)
        later = self._risk(age + further)
        return np.where(later < _MOST_RISK, np.exp(self._risk(age) - later), further == 0)[()]

    def _age(self, name: str, value: Numbers) -> Values:
        age = np.asarray(checks.in_range(name, value, "years", at_least=0))[()]
        self._fits(**{name: age})
        return age

    def _fits(self, **values: Values) -> None:
        """See to it that the fields, and further values, broadcast together."""
        checks.broadcastable(**self._fields(), **values)

    def _fields(self) -> dict[str, Values]:
        return {name: value for name, value in vars(self).items() if name != "law"}

    def _wears_only(self) -> bool:
        return not (np.any(self.random_per_year) or np.any(self.early_fraction))

    def _rated_risk(self) -> Values:
        """-ln R of wear alone at the end of the endurance."""
        return -np.log1p(-self.failed_at_endurance)

    def _wear_score(self, age: Values) -> Values:
        """Lognormal: how many standard deviations ln(age) lies above its mean."""
        from scipy.special import ndtri

        with np.errstate(divide="ignore"):
            return np.log(age / self.wear_life_years) / self.wear_shape + ndtri(self.failed_at_endurance)

    def _worn(self, age: Values) -> Values:
        """-ln R of wear alone."""
        if self.law == "weibull":
            with np.errstate(over="ignore"):
                risk = self._rated_risk() * np.power(age / self.wear_life_years, self.wear_shape)
            return np.minimum(risk, _MOST_RISK)
        from scipy.special import log_ndtr

        return -log_ndtr(-self._wear_score(age))

    def _wear_years(self, risk: Values) -> Values:
        """Age at which -ln R of wear alone is ``risk``: the inverse of :meth:`_worn`."""
        if self.law == "weibull":
            return self.wear_life_years * (risk / self._rated_risk()) ** (1 / self.wear_shape)
        from scipy.special import ndtri, ndtri_exp

        score = -ndtri_exp(-risk) - ndtri(self.failed_at_endurance)
        return self.wear_life_years * np.exp(self.wear_shape * score)

    def _mean_over_wear(self, of: Callable[[Values], Values], worn: Values = 0.0) -> Values:
        """Mean of a function of the age at which sound cards wear out, among those not worn at a risk of ``worn``."""
        shape = np.broadcast_shapes(*(np.shape(value) for value in (*self._fields().values(), worn)))
        blocks = min(_RISK.size, -(-_RISK.size * int(np.prod(shape)) // _AT_ONCE))
        mean = np.zeros(shape)
        for risk, weight in zip(np.array_split(_RISK, blocks), np.array_split(_WEIGHT, blocks), strict=True):
            values = of(self._wear_years(worn + risk.reshape(-1, *[1] * len(shape))))
            mean = mean + np.tensordot(weight, np.broadcast_to(values, (risk.size, *shape)), 1)
        return mean[()]

    def _wear_hazard(self, age: Values) -> Values:
        """Wear-outs a year among cards not yet worn out."""
        if self.law == "weibull":
            with np.errstate(divide="ignore", over="ignore"):
                ratio = np.power(age / self.wear_life_years, self.wear_shape - 1)
            return self._rated_risk() * self.wear_shape / self.wear_life_years * ratio
        some_age = np.maximum(age, np.finfo(float).tiny)
        score = self._wear_score(some_age)
        log_density = -(score**2) / 2 - np.log(np.sqrt(2 * np.pi) * self.wear_shape * some_age)
        return np.exp(log_density + self._worn(some_age))

    def _risk(self, age: Values) -> Values:
        """-ln R: the hazard added up to an age."""
        if not np.any(self.early_fraction):
            return self._sound_risk(age)
        weak, sound = self._log_parts(age)
        return -np.logaddexp(weak, sound)

    def _sound_risk(self, age: Values) -> Values:
        """-ln R of cards that are not weak."""
        return self._worn(age) + self.random_per_year * age

    def _log_parts(self, age: Values) -> tuple[Values, Values]:
        """Logarithms of the fractions that are weak cards still working, and sound ones."""
        with np.errstate(divide="ignore"):
            weak, sound = np.log(self.early_fraction), np.log1p(-self.early_fraction)
        return weak - age / self.early_mean_years, sound - self._sound_risk(age)

    def _shares(self, age: Values) -> tuple[Values, Values]:
        """Fractions of weak and of sound cards among those that have reached an age."""
        if not np.any(self.early_fraction):
            return 0.0, 1.0
        weak, sound = self._log_parts(age)
        risk = -np.logaddexp(weak, sound)
        return np.exp(weak + risk), np.exp(sound + risk)

    def _root_years(self, risk: npt.NDArray[np.float64]) -> Values:
        """Age at which -ln R is ``risk``, above 0 and finite."""
        with np.errstate(divide="ignore", over="ignore"):
            latest = np.minimum(self._wear_years(risk), risk / self.random_per_year)
            earliest = np.minimum(self._wear_years(risk / 2), risk / 2 / self.random_per_year)
        weak = self.early_mean_years * risk
        has_weak = np.asarray(self.early_fraction) > 0
        low = np.log(np.where(has_weak, np.minimum(earliest, weak), earliest))
        high = np.log(np.where(has_weak, np.maximum(latest, weak), latest))
        at = high
        for _ in range(_MAX_STEPS):
            age = np.exp(at)
            found = self._risk(age)
            with np.errstate(all="ignore"):  # far off, where R or the hazard is 0 as a float
                excess = np.log(found / risk)
                newton = at - excess * found / (age * self.hazard_per_year(age))
            low, high = np.where(excess < 0, at, low), np.where(excess < 0, high, at)
            step = np.where((newton >= low) & (newton <= high), newton, (low + high) / 2) - at
            at = at + step
            if np.all(np.abs(step) < 1e-12):
                break
        return np.exp(at)
