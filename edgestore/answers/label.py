"""Is this card what its label says: what its registers say, and what a trial of its lot proves."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.answers.certainty import GUESSED_LIFE
from edgestore.answers.registers import ASSUMPTIONS, CardSays, card_says
from edgestore.inputs.beliefs import Beliefs
from edgestore.inputs.registers import Label
from edgestore.models.life.law import CardLife
from edgestore.models.lots import (
    LotPlan,
    acceptance_chance,
    lot_acceptance_chance,
    more_fail_chance,
    smallest_plan,
    tried_batch,
)
from edgestore.models.lots.batch import MOST_CARDS
from edgestore.text import NO_BREAK, counted, number, percent
from edgestore.units import BYTES_PER_GB, PERCENT_PER_ONE

EXAMPLE = "csd: 400e00325b590000edc87f800a4040c3\n"
"""The register of a published dump (an SDHC card of 31.91 GB)."""

BUYER_RISK, SUPPLIER_RISK = 0.1, 0.1
"""Chances that the plan beside keeps: that a bad lot passes, and that a good one is refused (common practice)."""

MOST_SHOWN = 0.3
"""Share of bad cards at which the curve ends."""

POINTS = 61
"""Points of the curve of what a production delivers."""

BOUGHT = {0: "cards independent", 1: "one batch", 2: "two batches", 4: "four batches"}
"""The ways to buy that are compared."""

BATCH_CORRELATION = Beliefs()["batch_correlation"].median
"""How far the bad cards of a batch go together (our guess, with its basis there)."""

MANY = 0.1
"""Told is the chance that more of the cards than this fail in the first year (our choice)."""

LEAST_TOLD = 0.001
"""Smaller chances are told as less than this."""

SURE = 0.95
"""Chance with which the spares told last the first year."""

FIRST_YEAR = {
    "weak_fail_fraction": float(-np.expm1(-1 / CardLife.early_mean_years)),
    "others_fail_fraction": float(-np.expm1(-GUESSED_LIFE["random_per_year"])),
}
"""Part of the bad cards, and of the others, that fails within a year."""

OF_LOTS = (
    "The cards that are tried are drawn at random, and each is checked in full: edgestore accept FOLDER.",
    "The curve is that of this lot (hypergeometric). The supplier's risk is that of all lots of a production"
    " (binomial).",
    "Batches: the share of bad cards differs from batch to batch (beta law) with the good share as its mean; a bad card"
    " lives a quarter of a year on average, and 1 % of the others fail in a year (common practice, no source). Cards"
    " are bought in batches of equal size. The correlation is our guess, from the part of failures with a common cause"
    " that is usual in safety engineering (2 to 10 %).",
)


@dataclass(frozen=True, kw_only=True)
class LabelCheck:
    """What registers say, and what a trial of a lot proves.

    Attributes
    ----------
    shares, chance : ndarray, shape (points,)
        Shares of bad cards in the lot, and the chance that such a lot is accepted.
    acceptable, unacceptable : tuple of float
        The share that is good, and the one that is bad, each with the chance that it is accepted.
    first_year : dict of int to ndarray
        Chance that more of the cards than ``first_year_shares`` fail in the first year, by the batches in which they
        were bought; at 0 as if cards were independent.
    first_year_shares : ndarray, shape (counts,)
        Shares of the cards, up to ``MOST_SHOWN``.
    lot_cards, tried_cards, may_fail : int
        Cards in the lot, cards tried, and how many of these may fail.
    plan : LotPlan
        The plan with the fewest cards for a tenth of risk on both sides.
    table : DataFrame
        What the card says and what the trial proves, a row each: ``about``, ``what`` and ``found``.
    """

    shares: npt.NDArray[np.float64]
    chance: npt.NDArray[np.float64]
    acceptable: tuple[float, float]
    unacceptable: tuple[float, float]
    first_year: dict[int, npt.NDArray[np.float64]]
    first_year_shares: npt.NDArray[np.float64]
    lot_cards: int
    tried_cards: int
    may_fail: int
    plan: LotPlan
    table: pd.DataFrame
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def label_check(
    registers: str = EXAMPLE,
    label_gb: float = 32.0,
    *,
    lot_cards: float = 200,
    tried_cards: float = 35,
    may_fail: float = 1,
    acceptable_fraction: float = 0.01,
    unacceptable_fraction: float = 0.1,
    batch_correlation: float = BATCH_CORRELATION,
) -> LabelCheck:
    """What the registers of a card say against its label, and what a trial of its lot proves.

    Parameters
    ----------
    registers : str
        Text with the card's registers, as a boot log; empty for none.
    label_gb : float
        Capacity printed on the card, GB, above 0.
    lot_cards : float
        Cards in the lot, a whole number, 1 to 10 000.
    tried_cards : float
        Cards of the lot that are tried, a whole number, 1 to ``lot_cards``.
    may_fail : float
        Cards of these that may fail, a whole number, 0 to ``tried_cards``.
    acceptable_fraction : float
        Fraction of bad cards that the buyer would still take, 0 or more and below ``unacceptable_fraction``.
    unacceptable_fraction : float
        Fraction of bad cards that makes a lot a bad one, above 0 and at most 0.9999.
    batch_correlation : float
        Correlation of two cards of a batch, a fraction, 0 to 0.9999: how far bad ones go together.

    Returns
    -------
    LabelCheck
        Sentence, table, and the operating-characteristic curve of the trial.

    Raises
    ------
    InputError
        When a number is out of range, or the text has no register that can be read.

    Examples
    --------
    >>> told = label_check("", lot_cards=10, tried_cards=4, may_fail=0).sentence.replace("\N{NO-BREAK SPACE}", " ")
    >>> told.split(". ")[0]
    'A lot of 10 with 1 bad card (10 % or more) passes in 60 % of cases'
    >>> told.split(". ")[1]
    'Of lots from a production with 1 % bad, 3.9 % fail.'
    """
    checks.in_range("label_gb", label_gb, "GB", above=0)
    lot = int(checks.one_whole("lot_cards", lot_cards, "cards", at_least=1, at_most=MOST_CARDS))
    tried = int(checks.one_whole("tried_cards", tried_cards, "cards", at_least=1, at_most=lot))
    fail = int(checks.one_whole("may_fail", may_fail, "cards", at_least=0, at_most=tried))
    plan = smallest_plan(
        acceptable_fraction,
        unacceptable_fraction,
        supplier_risk=SUPPLIER_RISK,
        buyer_risk=BUYER_RISK,
        lot_cards=lot,
    )
    says = card_says(registers.encode(), Label(label_gb), name="Registers of the card") if registers.strip() else None
    bad = np.unique(np.round(np.linspace(0, MOST_SHOWN, POINTS) * lot))
    chance = np.asarray(lot_acceptance_chance(bad, tried, lot_cards=lot, failures=fail))
    bad_cards = int(np.ceil(round(unacceptable_fraction * lot, 9)))
    passes = float(lot_acceptance_chance(bad_cards, tried, lot_cards=lot, failures=fail))
    taken = float(acceptance_chance(acceptable_fraction, tried, failures=fail))
    trial = (
        f"A lot of {lot} with {counted(bad_cards, 'bad card')} ({_share(unacceptable_fraction)} or more) passes in"
        f" {_of(passes)} of cases. Of lots from a production with {_share(acceptable_fraction)} bad, {_of(1 - taken)}"
        " fail."
    )
    if tried == lot:
        trial = f"All {lot} cards of the lot are tried, so nothing is left to chance: it passes if at most {fail} fail."
    rows = [] if says is None else [(row.register, row.field, row.value) for row in says.table.itertuples()]
    remarks = () if says is None else (finding for finding in says.findings if not finding.is_doubt)
    rows += [("remark", finding.about, f"{finding.seen}. {finding.means}") for finding in remarks]
    rows += [
        ("lot", f"{bad_cards} of {lot} bad: passes with a chance of", _of(passes)),
        ("lot", f"production with {_share(acceptable_fraction)} bad: refused with a chance of", _of(1 - taken)),
        ("lot", "fewest cards to try for a tenth each", f"{plan.cards}, of which {plan.failures} may fail"),
    ]
    counts = np.arange(lot + 1)
    first_year = {
        batches: np.asarray(
            more_fail_chance(
                counts,
                lot,
                weak_fraction=acceptable_fraction,
                batch_correlation=batch_correlation if batches else 0.0,
                batches=min(max(batches, 1), lot),
                **FIRST_YEAR,
            )
        )
        for batches in BOUGHT
    }
    rows += [("batches", *told) for told in _of_batches(first_year, lot)]
    rest = tried_batch(acceptable_fraction, batch_correlation=batch_correlation, cards=tried).mean_untried
    rows.append(("batches", f"all {tried} tried are good: another of the same batch is bad with", _of(float(rest))))
    warnings = [] if says is None else list(says.warnings)
    if passes > BUYER_RISK:
        warnings.append(
            f"The trial lets a bad lot pass with a chance of {_of(passes)}: try {plan.cards} cards, of which"
            f" {plan.failures} may fail, for a tenth on both sides."
        )
    warnings += _more_often(first_year, lot)
    return LabelCheck(
        shares=bad / lot,
        chance=chance,
        acceptable=(float(acceptable_fraction), taken),
        unacceptable=(bad_cards / lot, passes),
        first_year={batches: chance[counts <= MOST_SHOWN * lot] for batches, chance in first_year.items()},
        first_year_shares=counts[counts <= MOST_SHOWN * lot] / lot,
        lot_cards=lot,
        tried_cards=tried,
        may_fail=fail,
        plan=plan,
        table=pd.DataFrame(rows, columns=["about", "what", "found"]),
        sentence=trial if says is None else f"{_agreement(says)} {trial}",
        assumptions=(*(() if says is None else ASSUMPTIONS), *OF_LOTS),
        warnings=tuple(warnings),
    )


def _of_batches(first_year: dict[int, npt.NDArray[np.float64]], lot: int) -> Iterator[tuple[str, str]]:
    """What the first year may bring, in one batch, in several, and as if cards were independent."""
    many = int(MANY * lot)
    yield "cards expected to fail in the first year, in however many batches", number(float(first_year[0].sum()))
    for batches, chance in first_year.items():
        spares = int((chance > 1 - SURE).sum())
        likely = _of(float(chance[many])) if chance[many] >= LEAST_TOLD else f"less than {percent(LEAST_TOLD, 1)}"
        told = f"{likely}; {counted(spares, 'spare')} for {_share(SURE)}"
        yield f"{BOUGHT[batches]}: more than {_share(MANY)} of them fail in the first year with", told


def _more_often(first_year: dict[int, npt.NDArray[np.float64]], lot: int) -> list[str]:
    """Warn where many failures are likelier in several batches than in one, since their cards are nearly all alike."""
    many = int(MANY * lot)
    batches = max((batches for batches in BOUGHT if batches > 1), key=lambda each: first_year[each][many])
    one, several = (float(first_year[each][many]) for each in (1, batches))
    if several <= one or _of(several) == _of(one):
        return []
    return [
        "The cards of a batch are so alike here that more batches make many failures likelier: more than"
        f" {_share(MANY)} of all fail in the first year with {_of(several)} in {BOUGHT[batches]}, with {_of(one)} in"
        " one. One of several batches is a bad one more often than the only one is. What more batches still save is the"
        " chance that more cards fail than one batch holds."
    ]


def _agreement(says: CardSays) -> str:
    """Whether registers and label agree, in a sentence."""
    csd = says.card.csd
    size = "" if csd is None or csd.capacity_bytes is None else f" ({csd.family}, {_gb(csd.capacity_bytes)})"
    about = dict.fromkeys(finding.about for finding in says.findings if finding.is_doubt)
    if not about and not size:
        return "The registers state no capacity, so nothing was compared with the label."
    if not about:
        return f"Nothing in the registers{size} disagrees with the label."
    return f"The registers{size} raise {counted(len(about), 'doubt')}: {', '.join(about)}."


def _gb(size_bytes: float) -> str:
    return f"{number(size_bytes / BYTES_PER_GB)}{NO_BREAK}GB"


def _share(fraction: float) -> str:
    return f"{number(fraction * PERCENT_PER_ONE)}{NO_BREAK}%"


def _of(chance: float) -> str:
    """A chance of being wrong, to two digits: one that is floored would be told as none."""
    return percent(chance) if chance >= 0.1 else percent(chance, 1)
