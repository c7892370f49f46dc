"""The few kinds of card that serve the most cameras, at the least cost: exactly where it can be, else by exchange.

A matrix says what each card costs (or weighs) in each camera, infinite where it does not serve. This is the p-median
problem with cameras that may stay unserved.
"""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, eye_array, hstack

Array = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.intp]
Score: TypeAlias = tuple[int, float]

EXACT_PAIRS = 1_000
"""Pairs of class and card that serves it, up to which the exact search is tried (our choice: a site of 100 000 cameras
that ask alike has some 350, and takes hundredths of a second; costs drawn at random take seconds)."""

EXACT_NODES = 200
"""Branches after which the exact search is given up, so that an answer does not depend on the speed of the machine."""


@dataclass(frozen=True)
class Classes:
    """Cameras that are alike to every card, merged; cameras that no card serves are left out.

    Attributes
    ----------
    burden : ndarray, shape (classes, cards)
        What each card costs in one camera of the class, infinite where it does not serve.
    count : ndarray, shape (classes,)
        Cameras of the class.
    """

    burden: Array
    count: Array

    def score(self, kinds: npt.ArrayLike) -> Score:
        """Give the cameras that these kinds leave unserved, and what the others cost at best: less is better."""
        best = self.burden[:, np.asarray(kinds, dtype=np.intp)].min(axis=1, initial=np.inf)
        served = np.isfinite(best)
        return int(self.count[~served].sum()), float(self.count[served] @ best[served])


def merged(burden: Array, count: Array | None = None) -> Classes:
    """Merge cameras with equal rows, and leave out those that no card serves."""
    some = np.isfinite(burden).any(axis=1)
    weights = np.ones(some.sum()) if count is None else count[some]
    rows = np.ascontiguousarray(burden[some])
    if not rows.size:
        return Classes(rows, weights)
    as_bytes = rows.view(np.dtype((np.void, rows.dtype.itemsize * rows.shape[1]))).ravel()
    _, first, which = np.unique(as_bytes, return_index=True, return_inverse=True)
    return Classes(rows[first], np.bincount(which.ravel(), weights, len(first)).astype(float))


def undominated(burden: Array) -> Numbers:
    """Give the cards that no other card matches in every camera at no more cost; of equal ones the first."""
    kept: list[int] = []
    order = np.lexsort((np.arange(burden.shape[1]), np.where(np.isfinite(burden), burden, 0).sum(axis=0)))
    order = order[np.argsort(-np.isfinite(burden[:, order]).sum(axis=0), kind="stable")]
    for card in order:  # whoever dominates a card serves as many at least, and comes before it
        if not any((burden[:, other] <= burden[:, card]).all() for other in kept):
            kept.append(int(card))
    return np.array(sorted(kept), dtype=np.intp)


def best_kinds(cameras: Classes, most: int, start: npt.ArrayLike = ()) -> tuple[Numbers, bool]:
    """Choose at most so many kinds of card.

    Parameters
    ----------
    cameras : Classes
        What each card costs in each camera, of :func:`merged`.
    most : int
        Most kinds, 1 or more.
    start : array_like of int
        Kinds from which the search by exchange begins, ``most`` of them at most.

    Returns
    -------
    tuple of ndarray and bool
        Numbers of the cards, in order; and whether no choice can be better.

    Notes
    -----
    The most cameras served goes first, then the least cost. Dominated cards are left out, and cameras that are alike
    to the others merged again. Greedy addition with exchange gives a choice; that is proven where one kind is asked
    for, or where it is as good as all cards together. Else two mixed-integer programs, one for the cameras served and
    one for the cost, give the exact answer up to ``EXACT_PAIRS`` and ``EXACT_NODES``; beyond that nothing is promised.

    References
    ----------
    The p-median problem: Hakimi, Operations Research 12, 450 (1964). Exchange: Teitz and Bart, Operations Research
    16, 955 (1968). Both from memory.

    Examples
    --------
    Two cameras that the second card alone serves both, for 9 each; the first serves one of them for 4.

    >>> cameras = merged(np.array([[4, 9], [np.inf, 9]]))
    >>> best_kinds(cameras, 1), best_kinds(cameras, 2)
    ((array([1]), True), (array([0, 1]), True))
    """
    cards = undominated(cameras.burden)
    if not len(cameras.count):
        return np.array([], dtype=np.intp), True
    classes = merged(cameras.burden[:, cards], cameras.count)
    known = np.flatnonzero(np.isin(cards, np.asarray(start, dtype=np.intp)))
    kinds = kinds_by_exchange(classes, most, known)
    if most == 1 or classes.score(kinds) == classes.score(np.arange(len(cards))):
        return cards[kinds], True
    exact = exact_kinds(classes, most)
    return (cards[kinds], False) if exact is None else (cards[exact], True)


def _taken(classes: Classes, kinds: Numbers) -> Numbers:
    """Give those of the kinds that are the best somewhere; the others need not be stocked."""
    burden = classes.burden[:, kinds]
    served = np.isfinite(burden).any(axis=1)
    return np.unique(kinds[burden[served].argmin(axis=1)]) if served.any() else kinds[:0]


def exact_kinds(classes: Classes, most: int) -> Numbers | None:
    """Choose by mixed-integer programs; nothing where the problem is too large for them."""
    row, card = np.nonzero(np.isfinite(classes.burden))
    if len(row) > EXACT_PAIRS:
        return None
    served = _most_served(classes, row, card, most)
    if served is None:
        return None
    pairs, (rows, cards) = len(row), classes.burden.shape
    at = np.arange(pairs)
    weight = classes.count[row]
    chosen = np.r_[np.zeros(pairs), np.ones(cards)]
    by_row = csr_array((np.ones(pairs), (row, at)), shape=(rows, pairs + cards))
    of_card = csr_array((-np.ones(pairs), (at, card)), shape=(pairs, cards))
    kinds = _solved(
        np.r_[weight * classes.burden[row, card], np.zeros(cards)],
        [
            LinearConstraint(hstack([eye_array(pairs), of_card], format="csr"), -np.inf, 0),
            LinearConstraint(by_row, -np.inf, 1),
            LinearConstraint(np.r_[weight, np.zeros(cards)], served, np.inf),
            LinearConstraint(chosen, 0, most),
        ],
        cards,
    )
    return None if kinds is None else _taken(classes, kinds)


def _most_served(classes: Classes, row: Numbers, card: Numbers, most: int) -> int | None:
    """Give how many cameras so many kinds can serve at most."""
    rows, cards = classes.burden.shape
    serving = csr_array((-np.ones(len(row)), (row, card)), shape=(rows, cards))
    kinds = _solved(
        np.r_[-classes.count, np.zeros(cards)],
        [
            LinearConstraint(hstack([eye_array(rows), serving], format="csr"), -np.inf, 0),
            LinearConstraint(np.r_[np.zeros(rows), np.ones(cards)], 0, most),
        ],
        cards,
    )
    return None if kinds is None else int(classes.count.sum()) - classes.score(kinds)[0]


def _solved(objective: Array, constraints: list[LinearConstraint], cards: int) -> Numbers | None:
    """Give the cards chosen by a program whose last variables say which; nothing when it was given up."""
    whole = np.r_[np.zeros(len(objective) - cards), np.ones(cards)]
    answer = milp(
        objective / max(np.abs(objective).max(), 1e-300),
        constraints=constraints,
        integrality=whole,
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0, "node_limit": EXACT_NODES},
    )
    return np.flatnonzero(answer.x[-cards:] > 0.5) if answer.status == 0 else None


def kinds_by_exchange(classes: Classes, most: int, start: npt.ArrayLike = ()) -> Numbers:
    """Choose by adding the kind that helps most, then exchanging one for another as long as that helps."""
    kinds = np.asarray(start, dtype=np.intp)
    score = classes.score(kinds)
    while len(kinds) < most:
        card, better = _best_addition(classes, kinds)
        if better >= score:
            break
        kinds, score = np.r_[kinds, card], better
    while len(kinds):
        swaps = []
        for at in range(len(kinds)):
            others = np.delete(kinds, at)
            card, better = _best_addition(classes, others)
            swaps.append((better, np.r_[others, card]))
        better, swap = min(swaps, key=lambda swap: swap[0])
        if better >= score:
            break
        kinds, score = swap, better
    return _taken(classes, np.sort(kinds))


def _best_addition(classes: Classes, kinds: Numbers) -> tuple[int, Score]:
    """Give the card that helps most beside these kinds, and the score of them all."""
    best = classes.burden[:, kinds].min(axis=1, initial=np.inf)
    together = np.minimum(best[:, None], classes.burden)
    served = np.isfinite(together)
    unserved = classes.count @ ~served
    cost = classes.count @ np.where(served, together, 0)
    card = int(np.lexsort((cost, unserved))[0])
    return card, (int(unserved[card]), float(cost[card]))
