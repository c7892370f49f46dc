"""What the trial of a lot says of the share of its cards that are weak from the start."""

from dataclasses import dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values


@dataclass(frozen=True, kw_only=True)
class WeakFraction:
    """What is known of the share of weak cards after a trial.

    Attributes
    ----------
    chance : ndarray
        Chance of each of the shares that were thought possible, 1 in all.
    mean_untried : float
        Chance that a card of the lot which was not tried is weak: the mean of the shares.
    mean_passed : float
        Chance that a card which was tried and passed is weak.
    """

    chance: Values
    mean_untried: float
    mean_passed: float


def updated_weak_fraction(
    weak_fraction: Numbers, chance: Numbers, *, cards: float, failures: float = 0, detected_fraction: float = 1.0
) -> WeakFraction:
    r"""Update what is believed of the weak share of a kind of card by a trial of some of them.

    Parameters
    ----------
    weak_fraction : array_like
        Shares of weak cards that are thought possible, each a fraction, 0 to 1, in one row: those of the plan's belief.
    chance : array_like
        Chance of each before the trial, a fraction, 0 or more, in one row of the same length; only their ratios count.
    cards : float
        Cards tried, drawn at random, a whole number and no fraction, 1 or more.
    failures : float
        Cards of these that failed, a whole number and no fraction, 0 to ``cards``.
    detected_fraction : float
        Chance that the trial makes a weak card fail, a fraction, above 0 and at most 1.

    Returns
    -------
    WeakFraction
        Each chance after the trial, a fraction.

    Raises
    ------
    InputError
        When a number is missing or out of range, or what was seen cannot happen with any of the shares.

    Notes
    -----
    Bayes: each share w of n cards tried, of which k failed, is as likely as before, times its chance of that; after it,
    with all chances p scaled to 1 in all:

    .. math:: p_i' \propto p_i\, (w_i d)^k (1 - w_i d)^{n - k}, \quad \text{untried} = \sum_i p_i' w_i, \quad
        \text{passed} = \sum_i p_i' \frac{w_i (1 - d)}{1 - w_i d}

    with d the fraction of weak cards that the trial detects; where all are weak and detected, passed counts 0. On a
    beta law of the share with d =
    1 that is a beta law with k and n - k more, of which the mean is ``(a + k) / (a + b + n)``. A
    card that is written full and read back shows false capacity and bad blocks at once. The weak cards of the life
    law die within months: of those a trial of t years finds ``1 - exp(-t / 0.25)``, some 1 % in a day. State
    ``detected_fraction`` accordingly; 1 says that whatever makes a card weak shows in the trial.

    References
    ----------
    Bayes' rule; conjugate beta law: Gelman and others, Bayesian Data Analysis, section 2.4 (from memory).

    Examples
    --------
    A lot has 1 % weak cards, or with a chance of a tenth 20 %; 10 cards pass: 0.9 x 0.99^10 = 0.8139 against
    0.1 x 0.8^10 = 0.0107.

    >>> after = updated_weak_fraction([0.01, 0.2], [0.9, 0.1], cards=10)
    >>> print(after.chance.round(4), f"{after.mean_untried:.4f}")
    [0.987 0.013] 0.0125
    """
    from scipy.special import xlog1py, xlogy

    weak = np.atleast_1d(np.asarray(checks.fraction("weak_fraction", weak_fraction)))
    before = np.atleast_1d(np.asarray(checks.in_range("chance", chance, at_least=0)))
    if weak.ndim != 1 or weak.shape != before.shape:
        raise checks.refuse("chance", f"shape {before.shape}", f"one row as long as weak_fraction, {weak.shape}")
    tried = checks.one_whole("cards", cards, "cards", at_least=1)
    failed = checks.one_whole("failures", failures, "failures", at_least=0, at_most=tried)
    mend = "A percentage is divided by 100."
    detected = checks.one_number("detected_fraction", detected_fraction, above=0, at_most=1, mend=mend)
    seen = weak * detected
    with np.errstate(divide="ignore"):
        likely = np.log(before) + xlogy(failed, seen) + xlog1py(tried - failed, -seen)
    if not np.isfinite(likely.max()):
        mend = "Give shares above 0 and below 1 some chance."
        raise checks.refuse("chance", "none for any share that allows what was seen", "above 0 for one", mend)
    after = np.exp(likely - likely.max())
    after /= after.sum()
    of_passed = np.divide(weak - seen, 1 - seen, out=np.zeros_like(weak), where=seen < 1)
    return WeakFraction(chance=after, mean_untried=float(after @ weak), mean_passed=float(after @ of_passed))
