"""Which input to find out next: what each uncertain input does to the answer, alone and together with the others."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.uncertainty.laws import UncertainInput, _power_of_two, _split


@dataclass(frozen=True, kw_only=True)
class Swing:
    """What one input does to the answer between its low and its high quantile, all others at their medians."""

    name: str
    input_low: float
    input_high: float
    answer_low: float
    answer_high: float

    @property
    def swing(self) -> float:
        """The distance between the two answers."""
        return abs(self.answer_high - self.answer_low)


@dataclass(frozen=True)
class Tornado:
    """The answer with all inputs at their medians, and the swing of each uncertain input, the largest first."""

    at_medians: float
    swings: tuple[Swing, ...]


@dataclass(frozen=True)
class SobolShares:
    """Share of the answer's variance that each uncertain input brings in, the largest total first.

    Attributes
    ----------
    names : tuple of str
        The inputs; the first is the one to find out next.
    first : tuple of float
        Share that each brings in alone (first order).
    total : tuple of float
        Share that each brings in alone and together with others (total order).
    """

    names: tuple[str, ...]
    first: tuple[float, ...]
    total: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class LognormalProductShares(SobolShares):
    """The same for a product of lognormals, in closed form.

    Attributes
    ----------
    of_log : tuple of float
        Share of each in the variance of the answer's logarithm; these add up to 1.
    """

    of_log: tuple[float, ...]


def tornado(
    model: Callable[..., Values], inputs: Mapping[str, UncertainInput], *, low: float = 0.1, high: float = 0.9
) -> Tornado:
    r"""How far each uncertain input moves the answer by itself.

    Parameters
    ----------
    model : callable with the inputs' names (str) as arguments
        Takes the inputs by name, each an array of one shape, and gives an array of that shape.
    inputs : mapping of str to number or law
        Each input by its name, a plain number or a law (Uniform, Triangular, Lognormal, Samples) in its own unit.
    low, high : float
        Share of the chance below the values that are tried, above 0 and below 1.

    Returns
    -------
    Tornado
        The answer at the medians; and for each uncertain input by name the answers where the low and the high share
        of its chance lies below, the largest swing first. In the model's unit.

    Raises
    ------
    InputError
        When an input is neither number nor law, or low is not below high; and what the model itself refuses.

    Notes
    -----
    .. math:: \text{swing}_i = \left| f(q_i(\text{high})) - f(q_i(\text{low})) \right|

    with f the model and q the quantile of input i. One input at a time, the others at their medians: interactions do
    not show; :func:`sobol_shares` has them.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> from edgestore.models.uncertainty import Uniform
    >>> result = tornado(lambda a, b: a * b, {"a": Uniform(0, 10), "b": Uniform(4, 6)})
    >>> print([(swing.name, round(swing.swing, 3)) for swing in result.swings])
    [('a', 40.0), ('b', 8.0)]
    """
    tried = checks.in_range("low", low, above=0), checks.fraction("high", high)
    if not tried[0] < tried[1] < 1:
        raise checks.refuse("low, high", f"{low:g}, {high:g}", "low below high, both between 0 and 1")
    known, unknown = _split(inputs)
    medians = known | {name: float(law.quantile(0.5)) for name, law in unknown.items()}
    ends = {name: [float(law.quantile(chance)) for chance in tried] for name, law in unknown.items()}
    # The medians first, then the two ends of each: the model is asked once.
    asked = {name: np.full(1 + 2 * len(ends), middle) for name, middle in medians.items()}
    for place, (name, both) in enumerate(ends.items()):
        asked[name][1 + 2 * place : 3 + 2 * place] = both
    at_medians, *answers = np.broadcast_to(model(**asked), 1 + 2 * len(ends)).tolist()
    swings = [
        Swing(name=name, input_low=both[0], input_high=both[1], answer_low=low_answer, answer_high=high_answer)
        for (name, both), low_answer, high_answer in zip(ends.items(), answers[::2], answers[1::2], strict=True)
    ]
    largest_first = sorted(swings, key=lambda swing: swing.swing, reverse=True)
    return Tornado(at_medians=at_medians, swings=tuple(largest_first))


def sobol_shares(
    model: Callable[..., Values], inputs: Mapping[str, UncertainInput], *, count: int = 2**12, seed: int = 0
) -> SobolShares:
    r"""Share of the answer's variance that each uncertain input brings in, alone and with its interactions.

    Parameters
    ----------
    model : callable with the inputs' names (str) as arguments
        Takes the inputs by name, as arrays, and gives an array.
    inputs : mapping of str to number or law
        Each input by its name, a plain number or a law (Uniform, Triangular, Lognormal, Samples) in its own unit.
    count, seed : int
        Number of points, a power of two, each an equal share of the chance; start of the draw: same seed, same points.

    Returns
    -------
    SobolShares
        Names and shares of the uncertain inputs, the largest total first. An estimate: a share of nearly 0 may come
        out below 0.

    Raises
    ------
    InputError
        When an input is neither number nor law, none is uncertain, or the count is no power of two; and what the
        model itself refuses.

    Notes
    -----
    .. math:: \text{first}_i = \frac{\mathrm{Var}\left( E[Y \mid X_i] \right)}{\mathrm{Var}(Y)}, \quad
        \text{total}_i = 1 - \frac{\mathrm{Var}\left( E[Y \mid X_{\ne i}] \right)}{\mathrm{Var}(Y)}

    with Y the answer and X the inputs. First order: the variance of the mean answer given the input, over the variance.
    Total: what is left of the variance when all other inputs are known. The model runs at ``count x (inputs + 3)``
    points.

    References
    ----------
    Saltelli et al., Computer Physics Communications 181 (2010) 259, as in scipy.stats.sobol_indices.

    Examples
    --------
    >>> from edgestore.models.uncertainty import Uniform
    >>> shares = sobol_shares(lambda a, b: a + b, {"a": Uniform(0, 2), "b": Uniform(0, 1)})
    >>> print(shares.names, [f"{share:.2f}" for share in shares.total])
    ('a', 'b') ['0.80', '0.20']
    """
    from scipy.stats import sobol_indices  # 1 s to import, and only wanted here

    known, unknown = _split(inputs)
    size = _power_of_two(count)
    if not unknown:
        raise checks.refuse("inputs", "no uncertain input", "one or more", "State a range, such as Uniform(2, 6).")

    def answers(points: Any) -> Any:
        answer = model(**known, **dict(zip(unknown, points[:-1], strict=True)))
        return np.array(np.broadcast_to(answer, points.shape[1:]))  # a copy: scipy writes into it

    # An idle input stands beside them, for scipy fails on a single one.
    laws: Any = [SimpleNamespace(ppf=law.quantile) for law in unknown.values()] + [SimpleNamespace(ppf=np.asarray)]
    found: Any = sobol_indices(func=answers, n=size, dists=laws, random_state=np.random.default_rng(seed))
    first, total = found.first_order[:-1], found.total_order[:-1]
    return SobolShares(*_largest_first(list(unknown), total, first, total))


def lognormal_product_shares(names: Sequence[str], cvs: Numbers) -> LognormalProductShares:
    r"""Shares of variance of a product or quotient of lognormal inputs, in closed form.

    Parameters
    ----------
    names : list of str
        Names of the inputs.
    cvs : array_like
        Coefficient of variation of each, the ratio of standard deviation to mean, above 0.

    Returns
    -------
    LognormalProductShares
        Names of the inputs and the share of each, the largest total first.

    Raises
    ------
    InputError
        When a coefficient is missing or not above 0, or there are not as many as names.

    Notes
    -----
    Share of the variance of the logarithm, first order, and total:

    .. math:: V_i = \frac{s_i^2}{s^2}, \quad S_i = \frac{e^{s_i^2} - 1}{e^{s^2} - 1}, \quad
        T_i = 1 - \frac{e^{s^2 - s_i^2} - 1}{e^{s^2} - 1}

    with ``s_i^2 = ln(1 + cv_i^2)`` and ``s^2`` their sum. An input that divides counts like one that multiplies: the
    inverse of a lognormal has the same coefficient of variation.

    References
    ----------
    Derived from the variance of a lognormal; agrees with the sampled shares.

    Examples
    --------
    >>> shares = lognormal_product_shares(["pe_cycles", "bitrate_mbit_s"], [0.25, 0.15])
    >>> print(shares.names[0], f"{shares.first[0]:.3f}")
    pe_cycles 0.723
    """
    spreads = np.atleast_1d(checks.in_range("cvs", cvs, above=0))
    names = checks.listed("names", names, "a list of names")
    if not all(isinstance(name, str) for name in names):
        raise checks.refuse_value("names", names, "a list of names")
    if spreads.shape != (len(names),):
        found = f"{len(names)} names and shape {spreads.shape}"
        raise checks.refuse("names, cvs", found, "two lists of the same length")
    each = np.log1p(spreads**2)
    whole = np.expm1(each.sum())
    total = 1 - np.expm1(each.sum() - each) / whole
    columns = np.expm1(each) / whole, total, each / each.sum()
    in_order, first, totals, of_log = _largest_first(names, total, *columns)
    return LognormalProductShares(in_order, first, totals, of_log=of_log)


def _largest_first(names: list[str], by: Any, *columns: Any) -> Any:
    """Give the names and the columns of numbers as tuples, in the falling order of ``by``."""
    order = np.argsort(-np.asarray(by), kind="stable")
    sorted_columns = (tuple(np.atleast_1d(column)[order].tolist()) for column in columns)
    return tuple(names[place] for place in order), *sorted_columns
