"""How many cards of each lot are tried in full on delivery, how many may fail, and what that risks."""

from collections.abc import Iterable, Mapping
from typing import Any

from edgestore.answers.certainty import GUESSED_LIFE
from edgestore.documents.language import IN_ENGLISH, Language
from edgestore.models.lots import smallest_plan
from edgestore.text import NO_BREAK, whole, whole_percent
from edgestore.units import PERCENT_PER_ONE

BAD_LOT = 0.1
"""A lot of which so many cards are bad, or more, is a bad one: it could not keep the usual assurance of nine in ten."""

GOOD_LOT = GUESSED_LIFE["early_fraction"]
"""A lot is a good one when it comes out of a production with so many bad cards: as many as the plan takes for weak."""

RISK = 0.1
"""Both risks, the buyer's and the supplier's: the tenth that is usual for the first (common practice, no source)."""

MOST_TRIED = 0.5
"""Where more of a lot would be tried, all of it is: a trial that spares less is not worth its risks (our choice)."""


def cards_tried(lots: Iterable[Mapping[Any, Any]]) -> list[dict[str, str]]:
    """Say of each lot how many cards are tried in full, and what that risks.

    Parameters
    ----------
    lots : iterable of mapping
        A mapping a lot: its number ``lot``, ``cards`` to fit and ``spares``.

    Returns
    -------
    list of dict of str
        A row a lot, in words: ``lot``, ``delivered``, and where a sample is tried how many are ``tried``, how many
        ``may_fail``, ``bad_passes`` and ``good_refused``. These are empty where all are tried: then each bad card is
        found, and the lot is neither passed nor refused by chance.

    Notes
    -----
    The chances are those of :func:`edgestore.models.lots.smallest_plan`, rounded up to whole percent: no risk is
    told lower than it is.
    """
    rows = []
    for lot in lots:
        delivered = int(lot["cards"] + lot["spares"])
        plan = smallest_plan(GOOD_LOT, BAD_LOT, supplier_risk=RISK, buyer_risk=RISK, lot_cards=delivered)
        told = {"tried": "", "may_fail": "", "bad_passes": "", "good_refused": ""}
        if plan.cards <= MOST_TRIED * delivered:
            told |= {"tried": whole(plan.cards), "may_fail": whole(plan.failures)}
            told |= {"bad_passes": _at_most(plan.bad_passes), "good_refused": _at_most(plan.good_refused)}
        rows.append({"lot": str(lot["lot"]), "delivered": whole(delivered), **told})
    return rows


def what_the_risks_are(language: Language = IN_ENGLISH) -> str:
    """Say what is a bad lot and a good one, and when all cards are tried."""
    return language.say(
        "A lot is bad when {bad} of its cards or more would fail: it could not keep an assurance of nine in ten. It is"
        " good when it comes out of a production of which {good} fails, as many cards as are taken for weak where"
        " nothing else is stated. Neither the buyer nor the supplier is to bear a risk above {risk}. Where more than"
        " half of a lot would have to be tried for that, all of it is, and no chance is left to state. A lot in which"
        " more cards fail than may fail goes back whole; a card that fails goes back in any case.",
        bad=_percent(BAD_LOT),
        good=_percent(GOOD_LOT),
        risk=_percent(RISK),
    )


def _at_most(risk: float) -> str:
    """Write a risk in whole percent, never less than it is."""
    return f"{PERCENT_PER_ONE - whole_percent(1 - risk):g}{NO_BREAK}%"


def _percent(fraction: float) -> str:
    return f"{PERCENT_PER_ONE * fraction:g}{NO_BREAK}%"
