"""Why each camera gets its card, as a table of facts: the one rule, what it rules out, and who is an exception."""

from dataclasses import dataclass

import numpy as np

from edgestore.documents.language import Language
from edgestore.plan.site_plan import SitePlan
from edgestore.text import NO_BREAK, chance, number

MOST_ROWS = 60
"""Cameras that a table of the document has at most; all stand in the workbook."""

MOST_OTHERS = 20
"""Texts that the document has on why the rule did not choose a card; cameras with the same text share it."""

PARTS = {
    "slot": "Too large for the slot",
    "speed": "Too slow",
    "retention": "Days not sure",
    "outage": "Outage not covered",
    "life": "Life not sure",
    "maximum": "May hold too long",
    "together": "All at once not sure",
}
"""Requirements by the names of :data:`edgestore.plan.reasons.RULED_OUT`, and the heads of their columns."""

BY_COST = "Each camera gets the card with the least expected cost in {years} years of those that are assured."
BY_SIZE = "Each camera gets the smallest card of those that are assured."


HELPS = "What would help: "
"""With this a reason goes on after the cards that each requirement rules out, which the table counts."""


@dataclass(frozen=True)
class Why:
    """Why each camera gets its card.

    Attributes
    ----------
    rule : str
        The rule by which cards are chosen, in English, with ``values`` for its braces.
    cards : int
        Cards of the list.
    parts : tuple of str
        Heads of the columns: the requirements that rule out any card.
    rows : tuple of tuple of str
        For each camera the cards that each of ``parts`` rules out, and the best chance among them; empty for none.
    times : tuple of str
        How many times as long the card holds, as the cap alone would say; empty where that is not known.
    by_cap : tuple of str
        The card by the cap alone, "the same" or "none"; empty likewise.
    others : tuple of (tuple of int, str)
        Cameras whose card the rule did not choose, and why, in words: those alike together, no more than
        ``MOST_OTHERS`` texts.
    more : int
        How many texts there are besides.
    """

    rule: str
    values: dict[str, str]
    cards: int
    parts: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    times: tuple[str, ...]
    by_cap: tuple[str, ...]
    others: tuple[tuple[tuple[int, ...], str], ...]
    more: int


def why(plan: SitePlan, language: Language) -> Why:
    """Say why each camera gets its card.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    language : Language
        Language of the texts.

    Returns
    -------
    Why
        The facts.
    """
    rows, costs = plan.plan, plan.site.costs
    out = {name: plan.tries.ruled_out[name] for name in PARTS if plan.tries.ruled_out.get(name, np.False_).any()}
    facts = []
    for at in range(len(rows)):
        told = []
        for name, failing in out.items():
            sure = plan.tries.given.get(f"chance_{name}", plan.tries.kept)
            count = int(failing[at].sum())
            best = (
                ""
                if name in ("slot", "speed")
                else f"{NO_BREAK}({chance(float(sure[at][failing[at]].max(initial=0)))})"
            )
            told.append(f"{count}{best}" if count else "")
        facts.append(tuple(told))
    same = rows["card_at_cap"] == rows["card"]
    times = 1 / rows["mean_over_cap"].to_numpy(float)
    exceptions = np.flatnonzero((plan.chosen < 0) | (rows["card_alone"] != rows["card"]).to_numpy())
    alike: dict[str, list[int]] = {}
    for at in exceptions.tolist():
        counted, _, helps = rows["reason"].iloc[at].partition(HELPS)
        alike.setdefault(f"{HELPS}{helps}" if helps else counted, []).append(at)
    others = tuple((tuple(cameras), reason) for reason, cameras in alike.items())
    return Why(
        rule=BY_SIZE if costs is None else BY_COST,
        values={} if costs is None else {"years": language.figures(f"{costs.horizon_years:g}")},
        cards=len(plan.site.offered),
        parts=tuple(PARTS[name] for name in out),
        rows=tuple(facts),
        times=tuple("" if np.isnan(value) else f"{number(value)}{NO_BREAK}×" for value in times),
        by_cap=tuple("the same" if is_same else name for is_same, name in zip(same, rows["card_at_cap"], strict=True)),
        others=others[:MOST_OTHERS],
        more=max(0, len(others) - MOST_OTHERS),
    )


def shown(plan: SitePlan) -> list[int]:
    """Give the cameras that tables of the document have: all, or of many those not assured and the least sure.

    Parameters
    ----------
    plan : SitePlan
        The plan.

    Returns
    -------
    list of int
        Places in the plan, in its order.
    """
    rows = plan.plan
    if len(rows) <= MOST_ROWS:
        return list(range(len(rows)))
    sure = rows["chance_kept"].where(rows["meets"], -1.0).to_numpy(float)
    return sorted(np.argsort(sure, kind="stable")[:MOST_ROWS].tolist())
