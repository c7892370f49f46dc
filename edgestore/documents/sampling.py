"""How many cards of each lot are tried in full on delivery, how many may fail, and what that risks."""

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from edgestore.answers.certainty import GUESSED_LIFE
from edgestore.documents.language import IN_ENGLISH, Language
from edgestore.models.lots import LotPlan, lot_acceptance_chance, smallest_plan, weak_cards_chance
from edgestore.models.lots.batch import MOST_CARDS
from edgestore.text import NO_BREAK, percent, risk, whole
from edgestore.units import PERCENT_PER_ONE

BAD_LOT = 0.1
"""A lot of which so many cards are bad, or more, is a bad one: it could not keep the usual assurance of nine in ten."""

GOOD_LOT = GUESSED_LIFE["early_fraction"]
"""A lot is a good one when it comes out of a production with so many bad cards: as many as the plan takes for weak."""

RISK = 0.1
"""Both risks, the buyer's and the supplier's: the tenth that is usual for the first (common practice, no source)."""

LEAST_TOLD = 0.001
"""A smaller chance of two bad cards is told as less than this."""

MOST_TRIED = 0.5
"""Where more of a lot would be tried, all of it is: a trial that spares less is not worth its risks (our choice)."""


def cards_tried(lots: Iterable[Mapping[Any, Any]], batch_correlation: float) -> list[dict[str, str]]:
    """Say of each lot how many cards are tried in full, and what that risks.

    Parameters
    ----------
    lots : iterable of mapping
        A mapping a lot: its number ``lot``, ``cards`` to fit and ``spares``.
    batch_correlation : float
        Correlation of two cards of a lot, a fraction: how far bad ones go together.

    Returns
    -------
    list of dict of str
        A row a lot, in words: ``lot``, ``delivered``, and where a sample is tried how many are ``tried``, how many
        ``may_fail``, ``bad_passes``, ``good_refused``, and ``still_bad``, the chance that a lot which passed is a bad
        one. These are empty where all are tried: then each card that fails is found, and the lot is neither passed nor
        refused by chance. ``is_bad`` is the chance that a lot is a bad one before the trial.

    Notes
    -----
    The chances are those of :func:`edgestore.models.lots.smallest_plan`, rounded up to whole percent: no risk is
    told lower than it is. Of a production with the share of a good one, how many cards of a lot are bad is
    beta-binomial; a trial moves that by Bayes' rule.
    """
    rows = []
    for lot in lots:
        delivered = int(lot["cards"] + lot["spares"])
        plan = smallest_plan(GOOD_LOT, BAD_LOT, supplier_risk=RISK, buyer_risk=RISK, lot_cards=delivered)
        told = {"tried": "", "may_fail": "", "bad_passes": "", "good_refused": "", "still_bad": ""}
        if plan.cards <= MOST_TRIED * delivered:
            told |= {"tried": whole(plan.cards), "may_fail": whole(plan.failures)}
            told |= {"bad_passes": risk(plan.bad_passes), "good_refused": risk(plan.good_refused)}
            told["still_bad"] = risk(bad_lot_chance(delivered, batch_correlation, plan))
        is_bad = risk(bad_lot_chance(delivered, batch_correlation))
        rows.append({"lot": str(lot["lot"]), "delivered": whole(delivered), "is_bad": is_bad, **told})
    return rows


def bad_lot_chance(cards: int, batch_correlation: float, passed: LotPlan | None = None) -> float:
    """Chance that a lot of a good production is a bad one.

    Parameters
    ----------
    cards : int
        Cards of the lot, 1 or more; of more than 10 000 as of so many.
    batch_correlation : float
        Correlation of two cards of a lot, a fraction.
    passed : LotPlan, optional
        The trial that it has passed; before any trial when left out.

    Returns
    -------
    float
        Chance, 0 to 1.

    Examples
    --------
    Ten cards, independent: one bad card makes the lot a bad one, 1 - 0.99^10.

    >>> print(f"{bad_lot_chance(10, 0.0):.4f}")
    0.0956
    """
    size = min(cards, MOST_CARDS)
    count = np.arange(size + 1)
    chance = np.asarray(weak_cards_chance(count, size, weak_fraction=GOOD_LOT, batch_correlation=batch_correlation))
    if passed is not None:
        chance = chance * lot_acceptance_chance(count, passed.cards, lot_cards=size, failures=passed.failures)
    return float(chance[math.ceil(round(BAD_LOT * size, 9)) :].sum() / chance.sum())


def what_the_risks_are(language: Language = IN_ENGLISH) -> str:
    """Say what is a bad lot and a good one, and when all cards are tried."""
    return language.say(
        "A lot is bad when {bad} of its cards or more would fail: it could not keep an assurance of nine in ten. It is"
        " good when it comes out of a production of which {good} fails, as many cards as are taken for weak where"
        " nothing else is stated. Neither the buyer nor the supplier is to bear a risk above {risk}. Where more than"
        " half of a lot would have to be tried for that, all of it is, and no chance of a sample is left to state; a"
        " weak card that still works on delivery passes all the same. A lot in which more cards fail than may fail goes"
        " back whole; a card that fails goes back in any case.",
        bad=_percent(BAD_LOT),
        good=_percent(GOOD_LOT),
        risk=_percent(RISK),
    )


def what_a_common_cause_does(
    lots: Sequence[Mapping[Any, Any]], batch_correlation: float, section: str, language: Language = IN_ENGLISH
) -> str:
    """Say what cards that are bad together do to the largest lot; empty without lots."""
    if not lots:
        return ""
    largest = max(int(lot["cards"] + lot["spares"]) for lot in lots)
    return language.say(
        "Cards that were made together may be bad together: the last two columns count that with the correlation of"
        " {correlation} that is assumed (section {section}), for a production of which {good} fails on average. Of a"
        " lot of {cards} two cards or more are bad with {together} so, and with {apart} if cards were bad"
        " independently. Order a kind in two lots of different batches, or from two suppliers, where one bad lot would"
        " be too much; section 1 says what that saves.",
        correlation=language.figures(f"{batch_correlation:g}"),
        section=section,
        good=_percent(GOOD_LOT),
        cards=language.many("{n} card", "{n} cards", largest),
        together=_tenths(_two_bad(largest, batch_correlation), language),
        apart=_tenths(_two_bad(largest, 0.0), language),
    )


def _two_bad(cards: int, batch_correlation: float) -> float:
    """Chance that two cards or more of a lot are bad."""
    size = min(cards, MOST_CARDS)
    count = np.arange(min(2, size + 1))
    chance = weak_cards_chance(count, size, weak_fraction=GOOD_LOT, batch_correlation=batch_correlation)
    return max(0.0, 1 - float(np.sum(chance)))


def _tenths(chance: float, language: Language) -> str:
    """Write a chance in tenths of a percent; none that there is as 0."""
    if chance < LEAST_TOLD:
        return language.say("less than {chance}", chance=language.figures(percent(LEAST_TOLD, 1)))
    return language.figures(percent(chance, 1))


def _percent(fraction: float) -> str:
    return f"{PERCENT_PER_ONE * fraction:g}{NO_BREAK}%"
