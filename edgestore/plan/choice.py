"""How many kinds of card a site takes: a card for each camera, one for a group, one for all, and what each costs."""

import re
from dataclasses import dataclass
from numbers import Integral

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.sparse import csr_array

from edgestore import checks
from edgestore.plan.candidates import Tried
from edgestore.plan.p_median import best_kinds, merged
from edgestore.text import counted, money, number, short

Array = npt.NDArray[np.float64]
Chosen = npt.NDArray[np.intp]

Kinds = str | int
"""``camera``: a card for each; ``group``: one kind a group; ``site``: one kind; a number: so many kinds at most."""

POLICIES = ("camera", "group", "site")

MOST_KINDS = 999_999

EXACT, BY_EXCHANGE = "proven optimal", "heuristic, may not be optimal"


@dataclass(frozen=True)
class Choice:
    """The card chosen for each camera by its number, -1 for none; and whether no choice can be better."""

    chosen: Chosen
    is_exact: bool = True


@dataclass(frozen=True)
class Front:
    """What fewer kinds of card cost: for each number of kinds that is worth having, the best of its size.

    Attributes
    ----------
    table : DataFrame
        ``kinds``; ``assured``, cameras; ``cost`` over the horizon in currency units, or ``capacity_gb``, the sum over
        the cameras assured where no cost is counted; ``cards``, their names; ``search``, whether it is proven.
    measure : str
        ``cost`` or ``capacity_gb``.
    unit : str
        Unit of the measure, with the horizon of a cost.
    cameras : int
        Cameras of the site.
    """

    table: pd.DataFrame
    measure: str
    unit: str
    cameras: int

    @property
    def sentence(self) -> str:
        """The trade-off in one sentence."""
        if self.table.empty:
            return "No camera is assured with any card of the list."
        first, last = self.table.iloc[0], self.table.iloc[-1]
        whole = self.table[self.table["assured"] == last["assured"]].iloc[0]
        text = f"{_kinds(first['kinds'])} can assure {first['assured']} of {counted(self.cameras, 'camera')}"
        if whole["kinds"] > first["kinds"]:
            text += f"; {_kinds(whole['kinds'])} assure {last['assured']}"
        text += f", at {self._amount(whole)}"
        if last["kinds"] > whole["kinds"]:
            text += f"; down to {self._amount(last)} with {_kinds(last['kinds'])}"
        return f"{text}. More kinds save nothing."

    def _amount(self, row: "pd.Series[float]") -> str:
        amount = row[self.measure]
        return money(amount, self.unit) if self.measure == "cost" else f"{number(amount)} {self.unit}"


def checked_kinds(kinds: Kinds) -> Kinds:
    """Give a policy back, a number as a number, or say what it may be."""
    words = kinds.strip() if isinstance(kinds, str) else kinds
    if isinstance(words, str):
        if words in POLICIES:
            return words
        words = int(words) if re.fullmatch(r"\d{1,6}", words, re.ASCII) else 0
    if isinstance(words, bool) or not isinstance(words, Integral) or not 1 <= words <= MOST_KINDS:
        allowed = f"{', '.join(POLICIES)}, or a whole number from 1 to {MOST_KINDS}"
        raise checks.refuse_value("kinds", short(kinds, 40) if isinstance(kinds, str) else kinds, allowed)
    return int(words)


def choose(kinds: Kinds, tries: Tried, groups: "pd.Series[str]") -> Choice:
    """Choose a card for every camera.

    Parameters
    ----------
    kinds : str or int
        The policy, as :data:`Kinds` has it.
    tries : Tried
        Every card tried in every camera.
    groups : Series of str
        Group of each camera; one without is a group of its own.

    Returns
    -------
    Choice
        The cards. The most cameras served goes first, then the least cost (or capacity), then the first card.

    Raises
    ------
    InputError
        When there is no such policy.
    """
    kinds = checked_kinds(kinds)
    burden = np.where(tries.served, tries.burden, np.inf)
    if isinstance(kinds, int):
        numbers, is_exact = best_kinds(merged(burden), kinds)
        return Choice(_cheapest(burden, numbers), is_exact)
    if kinds == "camera":
        return Choice(_cheapest(burden, np.arange(burden.shape[1])))
    of_group = np.zeros(len(groups), dtype=np.intp) if kinds == "site" else group_numbers(groups)
    picked = _card_of_group(burden, of_group)[of_group]
    return Choice(np.where(np.isfinite(burden[np.arange(len(picked)), picked]), picked, -1))


def group_numbers(groups: "pd.Series[str]") -> Chosen:
    """Number the groups; a camera without a group is one of its own."""
    names = groups.to_numpy(object)
    alone = names == ""
    numbers = pd.factorize(names)[0].astype(np.intp)
    numbers[alone] = len(names) + np.arange(alone.sum())
    return np.asarray(np.unique(numbers, return_inverse=True)[1], dtype=np.intp)


def _cheapest(burden: Array, numbers: Chosen) -> Chosen:
    """Give each camera the best of these cards, -1 where none serves."""
    if not len(numbers):
        return np.full(len(burden), -1, dtype=np.intp)
    best = burden[:, numbers].argmin(axis=1)
    chosen = numbers[best]
    return np.where(np.isfinite(burden[np.arange(len(best)), chosen]), chosen, -1)


def _card_of_group(burden: Array, of_group: Chosen) -> Chosen:
    """Give each group the one card that serves most of it, at the least cost."""
    cameras = len(of_group)
    members = csr_array((np.ones(cameras), (of_group, np.arange(cameras))), shape=(of_group.max() + 1, cameras))
    served = np.isfinite(burden)
    count, cost = members @ served.astype(float), members @ np.where(served, burden, 0)
    best: Chosen = np.where(count == count.max(axis=1, keepdims=True), cost, np.inf).argmin(axis=1)
    return best


def front_of_kinds(tries: Tried, names: list[str], unit: str) -> Front:
    """Find what one kind of card serves and costs, what two do, and so on, as long as more kinds help.

    Parameters
    ----------
    tries : Tried
        Every card tried in every camera.
    names : list of str
        Names of the cards.
    unit : str
        Unit of the burden: GB, or the currency with the horizon.

    Returns
    -------
    Front
        The Pareto front of kinds against cameras served and cost.

    Notes
    -----
    :func:`edgestore.plan.p_median.best_kinds` for each number of kinds.
    """
    classes = merged(np.where(tries.served, tries.burden, np.inf))
    measure = "cost" if "cost" in tries.given else "capacity_gb"
    best = classes.score(np.arange(len(names)))
    kinds: Chosen = np.array([], dtype=np.intp)
    score, rows = classes.score(kinds), []
    for most in range(1, len(names) + 1):
        if score <= best or np.isclose(score, best, rtol=1e-12, atol=0).all():
            break
        kinds, is_exact = best_kinds(classes, most, kinds)
        if (found := classes.score(kinds)) < score:
            score = found
            served = int(classes.count.sum()) - found[0]
            shown = ", ".join(names[card] for card in kinds)
            rows.append((len(kinds), served, found[1], shown, EXACT if is_exact else BY_EXCHANGE))
    table = pd.DataFrame(rows, columns=["kinds", "assured", measure, "cards", "search"])
    return Front(table, measure, unit, len(tries.served))


def _kinds(count: int) -> str:
    return counted(count, "kind")
