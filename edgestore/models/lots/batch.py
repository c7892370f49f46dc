"""Cards that were bought together: what a common cause does to the number that are weak, and what a trial then says."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.lots._counts import no_more_than

Array = npt.NDArray[np.float64]

MOST_CORRELATION = 0.9999
"""Above it a batch is all weak or not at all; then one card tells of all."""

MOST_CARDS = 10_000
"""So many cards are counted at most, one by one."""

_PERCENT = "A percentage is divided by 100."


@dataclass(frozen=True, kw_only=True)
class TriedBatch:
    """What a trial of some cards of a batch says of it.

    Attributes
    ----------
    chance_seen : float or ndarray
        Chance of what the trial found, a fraction.
    mean_untried : float or ndarray
        Chance that a card of the same batch which was not tried is weak, a fraction.
    """

    chance_seen: Values
    mean_untried: Values


def weak_cards_chance(weak_cards: Numbers, cards: float, *, weak_fraction: float, batch_correlation: float) -> Values:
    r"""Chance that so many cards of one batch are weak.

    Parameters
    ----------
    weak_cards : float or array_like
        Weak cards, a whole number and no fraction, 0 to ``cards``.
    cards : float
        Cards of the batch, a whole number and no fraction, 1 to 10 000.
    weak_fraction : float
        Fraction of all cards so made that are weak, 0 to 1: the mean over batches.
    batch_correlation : float
        Correlation of two cards of a batch, a fraction, 0 to 0.9999: where one is weak, another is with the chance
        ``weak_fraction + batch_correlation x (1 - weak_fraction)``. 0 is independent.

    Returns
    -------
    float or ndarray
        Chance, a fraction, in the shape of ``weak_cards``.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: P(k) = \binom{n}{k} \frac{\prod_{j=0}^{k-1} \left( w (1 - \rho) + j \rho \right)
        \prod_{j=0}^{n-k-1} \left( (1 - w) (1 - \rho) + j \rho \right)}{\prod_{j=0}^{n-1} (1 - \rho + j \rho)}

    with k of n cards weak, w the fraction that is weak and rho the correlation. Beta-binomial: the share of weak cards
    differs from batch to batch by a beta law of mean w and variance ``rho w (1 - w)``, with ``a + b = 1 / rho - 1``.
    The mean number n w is that of independent cards, its variance ``n w (1 - w) (1 + (n - 1) rho)``. Written as an urn,
    as above, it is the binomial law at rho = 0. For two cards rho is nearly the beta factor of IEC 61508-6: the part of
    the failures that one cause brings on both.

    References
    ----------
    Skellam 1948, Journal of the Royal Statistical Society B 10:257 (from memory); overdispersion 1 / (a + b + 1):
    documentation of the open R package fitODBOD, dBetaBin.

    Examples
    --------
    Two cards, a tenth is weak, correlation a half: none 0.9 x (0.45 + 0.5) = 0.855, both 0.1 x 0.55.

    >>> print(weak_cards_chance([0, 1, 2], 2, weak_fraction=0.1, batch_correlation=0.5).round(4))
    [0.855 0.09  0.055]
    """
    size = _cards(cards)
    count = checks.whole("weak_cards", weak_cards, "cards", at_least=0)
    no_more_than("weak_cards", count, "cards", size)
    weak = checks.one_number("weak_fraction", weak_fraction, at_least=0, at_most=1, mend=_PERCENT)
    chance = _weak_cards(size, np.array([weak]), _correlation(batch_correlation))[0]
    return 0 * count + chance[np.asarray(count).astype(int)][()]


def more_fail_chance(
    failures: Numbers,
    cards: float,
    *,
    weak_fraction: float,
    batch_correlation: float,
    batches: float = 1,
    weak_fail_fraction: float = 1.0,
    others_fail_fraction: float = 0.0,
) -> Values:
    r"""Chance that more than so many cards fail, when they come in one batch or several.

    Parameters
    ----------
    failures : float or array_like
        Cards that fail, a whole number and no fraction, 0 to ``cards``.
    cards : float
        Cards in all, a whole number and no fraction, 1 to 10 000.
    weak_fraction : float
        Fraction of all cards so made that are weak, 0 to 1: the mean over batches.
    batch_correlation : float
        Correlation of two cards of a batch, a fraction, 0 to 0.9999.
    batches : float
        Batches in which the cards are bought, a whole number, 1 to ``cards``: as equal as whole cards are, each of a
        share of its own.
    weak_fail_fraction : float
        Chance that a weak card fails in the time that is asked about, a fraction, 0 to 1.
    others_fail_fraction : float
        Likewise of a card that is not weak, a fraction, 0 to 1; such cards fail independently.

    Returns
    -------
    float or ndarray
        Chance, a fraction, in the shape of ``failures``.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    With N cards that fail and K weak ones of the n in each batch b:

    .. math:: P(N > \text{failures}), \quad E[z^N] = \prod_b \sum_{K=0}^{n_b} P_b(K)\, (1 - f + f z)^K\,
        (1 - o + o z)^{n_b - K}

    with f and o the chances that a weak card and another one fail. Of K weak cards, a beta-binomial number
    (:func:`weak_cards_chance`), and n - K others the number that fails is the sum of two binomial ones. Its generating
    function is that of K taken at the roots of unity; the product over batches goes back by a Fourier transform. The
    mean does not depend on the correlation nor on the batches.

    References
    ----------
    As for :func:`weak_cards_chance`.

    Examples
    --------
    100 cards of which 1 % is weak in the mean: more than five are, independent, in one batch, and in four.

    >>> law = {"weak_fraction": 0.01, "batch_correlation": 0.1}
    >>> one, four = (more_fail_chance(5, 100, **law, batches=batches) for batches in (1, 4))
    >>> print(f"{more_fail_chance(5, 100, weak_fraction=0.01, batch_correlation=0):.4f} {one:.4f} {four:.4f}")
    0.0005 0.0568 0.0368
    """
    size = _cards(cards)
    count = checks.whole("failures", failures, "cards", at_least=0)
    no_more_than("failures", count, "cards", size)
    weak = checks.one_number("weak_fraction", weak_fraction, at_least=0, at_most=1, mend=_PERCENT)
    parts = checks.one_whole("batches", batches, "batches", at_least=1, at_most=size)
    ends = {"weak_fail_fraction": weak_fail_fraction, "others_fail_fraction": others_fail_fraction}
    of_weak, of_others = (checks.one_number(n, v, at_least=0, at_most=1, mend=_PERCENT) for n, v in ends.items())
    rho = _correlation(batch_correlation)
    least, larger = divmod(size, int(parts))
    root = np.exp(-2j * np.pi * np.arange((size + 1) // 2 + 1) / (size + 1))
    fails, keeps = 1 - of_weak + of_weak * root, 1 - of_others + of_others * root
    together = np.ones(len(root), dtype=complex)
    for cards_of_batch, times in ((least, int(parts) - larger), (least + 1, larger)):
        if times:
            chance = _weak_cards(cards_of_batch, np.array([weak]), rho)[0]
            together *= _generated(chance, fails, keeps) ** times
    number = np.clip(np.fft.irfft(together, size + 1), 0, 1)
    more = np.clip(np.append(np.cumsum(number[:0:-1])[::-1], 0.0), 0, 1)
    return 0 * count + more[np.asarray(count).astype(int)][()]


def batch_failures_cv(
    weak_fraction: Numbers, batch_correlation: Numbers, *, weak_part: Numbers = 1.0, batches: Numbers = 1
) -> Values:
    r"""How far the failures expected of cards bought together differ from batch to batch, over their mean.

    Parameters
    ----------
    weak_fraction : float or array_like
        Fraction of all cards so made that are weak, above 0 and at most 1: the mean over batches.
    batch_correlation : float or array_like
        Correlation of two cards of a batch, a fraction, 0 to 0.9999.
    weak_part : float or array_like
        Part of the failures that weak cards make, a fraction, 0 to 1.
    batches : float or array_like
        Batches in which the cards are bought, a whole number and no fraction, 1 or more.

    Returns
    -------
    float or ndarray
        Standard deviation over mean, a plain ratio, of the broadcast shape: the ``failures_cv`` of
        :func:`edgestore.models.upkeep.spares_for_confidence`.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{CV} = \text{part} \times \sqrt{\frac{\rho\, (1 - w)}{w\, B}}

    with w the fraction that is weak, rho the correlation and B batches: the share of a batch has the variance ``rho w
    (1 - w)``, the mean of B of them a B-th of it.

    References
    ----------
    Variance of the beta law; as for :func:`weak_cards_chance`.

    Examples
    --------
    A fifth is weak, correlation a quarter: sqrt(0.25 x 0.8 / 0.2) = 1.

    >>> print(batch_failures_cv(0.2, 0.25))
    1.0
    """
    weak = checks.fraction("weak_fraction", weak_fraction, above=0)
    rho = checks.in_range("batch_correlation", batch_correlation, at_least=0, at_most=MOST_CORRELATION, mend=_PERCENT)
    part = checks.in_range("weak_part", weak_part, at_least=0, at_most=1, mend=_PERCENT)
    count = checks.whole("batches", batches, "batches", at_least=1)
    checks.broadcastable(weak_fraction=weak, batch_correlation=rho, weak_part=part, batches=count)
    return part * (rho * (1 - weak) / (weak * count)) ** 0.5


def tried_batch(
    weak_fraction: Numbers,
    *,
    batch_correlation: float,
    cards: float,
    failures: float = 0,
    detected_fraction: float = 1.0,
) -> TriedBatch:
    r"""What the trial of some cards of a batch says of the rest of it.

    Parameters
    ----------
    weak_fraction : float or array_like
        Fraction of all cards so made that are weak, 0 to 1: the mean over batches; several are tried one by one.
    batch_correlation : float
        Correlation of two cards of a batch, a fraction, 0 to 0.9999.
    cards : float
        Cards tried, drawn at random from the batch, a whole number and no fraction, 1 to 10 000.
    failures : float
        Cards of these that failed, a whole number and no fraction, 0 to ``cards``.
    detected_fraction : float
        Chance that the trial makes a weak card fail, a fraction, above 0 and at most 1.

    Returns
    -------
    TriedBatch
        Chance of what was found, and that another card of the batch is weak, each a fraction, in the shape of
        ``weak_fraction``.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{seen} = \sum_{K=k}^{n} P(K) \binom{K}{k} d^k (1 - d)^{K-k}, \quad
        \text{untried} = \frac{w (1 - \rho) + E[K \mid k]\, \rho}{1 - \rho + n \rho}

    with K weak cards among the n tried, a beta-binomial number (:func:`weak_cards_chance`), of which k failed, each
    with the chance d; E is the mean of K after that, or k where it cannot happen. With K known the next card is weak
    with the posterior mean ``(a + K) / (a + b + n)`` of a beta law. At rho = 0 a trial says nothing of a share that is
    known.

    References
    ----------
    Conjugate beta law: Gelman and others, Bayesian Data Analysis, section 2.4 (from memory).

    Examples
    --------
    20 cards pass: 1 % becomes 0.01 x 0.9 / (0.9 + 2).

    >>> print(f"{tried_batch(0.01, batch_correlation=0.1, cards=20).mean_untried:.4f}")
    0.0031
    """
    from scipy.stats import binom

    share = checks.fraction("weak_fraction", weak_fraction)
    rho, tried = _correlation(batch_correlation), _cards(cards)
    failed = checks.one_whole("failures", failures, "failures", at_least=0, at_most=tried)
    detected = checks.one_number("detected_fraction", detected_fraction, above=0, at_most=1, mend=_PERCENT)
    weak = np.asarray(share, dtype=float)
    number = np.arange(tried + 1.0)
    both = _weak_cards(tried, weak.ravel(), rho) * binom.pmf(failed, number, detected)
    seen = both.sum(axis=1)
    expected = np.divide(both @ number, seen, out=np.full(len(seen), float(failed)), where=seen > 0)
    rest = (weak.ravel() * (1 - rho) + expected * rho) / (1 - rho + tried * rho)
    return TriedBatch(
        chance_seen=0 * share + seen.reshape(weak.shape)[()], mean_untried=0 * share + rest.reshape(weak.shape)[()]
    )


def _weak_cards(cards: int, weak: Array, rho: float) -> Array:
    """Chance of 0, 1, 2 and so on up to all cards being weak, a row for each share."""
    from scipy.special import gammaln

    step = rho * np.arange(cards)
    with np.errstate(divide="ignore"):
        of_weak, of_others = (np.log((share * (1 - rho))[:, None] + step).cumsum(axis=1) for share in (weak, 1 - weak))
    none = np.zeros((len(weak), 1))
    number = np.arange(cards + 1)
    ways = gammaln(cards + 1) - gammaln(number + 1) - gammaln(cards - number + 1)
    both = np.hstack([none, of_weak]) + np.hstack([none, of_others])[:, ::-1]
    return np.asarray(np.exp(ways + both - np.log(1 - rho + step).sum()))


def _generated(chance: Array, first: npt.NDArray[np.complex128], second: npt.NDArray[np.complex128]) -> Values:
    """Sum over k of chance[k] first^k second^(n - k): Horner's rule over blocks of k, each block one product."""
    size = math.isqrt(len(chance))
    rest = len(chance) % size or size
    ones = np.ones((len(first), 1), dtype=complex)
    up, down = (
        np.cumprod(np.hstack([ones, np.repeat(root[:, None], size, axis=1)]), axis=1) for root in (first, second)
    )
    total = (up[:, :rest] * down[:, rest - 1 :: -1]) @ chance[-rest:]
    of_block = up[:, :size] * down[:, size - 1 :: -1]
    blocks = np.einsum(
        "rk,bk->br", of_block, chance[:-rest].reshape(-1, size)
    )  # threads would cost more than they save
    power = down[:, rest].copy()
    for block in blocks[::-1]:
        total = total * up[:, size] + block * power
        power *= down[:, size]
    return total


def _cards(cards: float) -> int:
    return int(checks.one_whole("cards", cards, "cards", at_least=1, at_most=MOST_CARDS))


def _correlation(batch_correlation: float) -> float:
    return checks.one_number(
        "batch_correlation", batch_correlation, at_least=0, at_most=MOST_CORRELATION, mend=_PERCENT
    )
