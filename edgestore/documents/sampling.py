"""How many cards of each lot are tried in full on delivery, how many may fail, and what that risks."""

from collections.abc import Iterable, Mapping
from typing import Any

from edgestore.answers.certainty import GUESSED_LIFE
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
        A row a lot, in words: ``lot``, ``delivered``, ``tried`` (a number of cards, or all), ``may_fail``,
        ``bad_passes`` and ``good_refused``.

    Notes
    -----
    The chances are those of :func:`edgestore.models.lots.smallest_plan`, rounded up to whole percent: no risk is
    told lower than it is.
    """
    rows = []
    for lot in lots:
        delivered = int(lot["cards"] + lot["spares"])
        plan = smallest_plan(GOOD_LOT, BAD_LOT, supplier_risk=RISK, buyer_risk=RISK, lot_cards=delivered)
        is_all = plan.cards > MOST_TRIED * delivered
        rows.append(
            {
                "lot": str(lot["lot"]),
                "delivered": whole(delivered),
                "tried": "all" if is_all else whole(plan.cards),
                "may_fail": "each bad card is replaced" if is_all else whole(plan.failures),
                "bad_passes": _at_most(0 if is_all else plan.bad_passes),
                "good_refused": _at_most(0 if is_all else plan.good_refused),
            }
        )
    return rows


def what_the_risks_are() -> str:
    """Say what is a bad lot and a good one, and when all cards are tried."""
    return (
        f"A lot is bad when {_percent(BAD_LOT)} of its cards or more would fail: it could not keep an assurance of nine"
        f" in ten. It is good when it comes out of a production of which {_percent(GOOD_LOT)} fails, as many cards as"
        f" are taken for weak where nothing else is stated. Neither the buyer nor the supplier is to bear a risk above"
        f" {_percent(RISK)}. Where more than half of a lot would have to be tried for that, all of it is."
    )


def _at_most(risk: float) -> str:
    """Write a risk in whole percent, never less than it is."""
    return f"{PERCENT_PER_ONE - whole_percent(1 - risk):g}{NO_BREAK}%"


def _percent(fraction: float) -> str:
    return f"{PERCENT_PER_ONE * fraction:g}{NO_BREAK}%"
