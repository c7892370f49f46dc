"""All cameras of a site together: the chance that all keep what is asked, and what cards bought together do to it."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.life.law import CardLife
from edgestore.models.lots import more_fail_chance
from edgestore.models.lots.batch import MOST_CARDS
from edgestore.plan.changes import planned_spares, spare_cards
from edgestore.plan.site import Site
from edgestore.plan.untested_band import ENDS
from edgestore.text import BAND_TOLD, NO_BREAK, chance, counted, number, percent, risk
from edgestore.units import DAYS_PER_YEAR

Array = npt.NDArray[np.float64]

WAYS = {0: "as if cards failed independently", 1: "each kind in one batch", 2: "each kind in two batches"}
"""How the cards may have come, by the batches of each kind."""

MANY = 0.1
"""Told is the chance that more of the cameras than this break the promise (our choice)."""

LEAST_TOLD = 0.01
"""A smaller chance is told as less than this."""

TOGETHER_ASSUMPTION = (
    "All cameras together: cameras break the promise independently, but for the weak cards of a batch, which go"
    " together as far as the correlation that is assumed says (beta-binomial). A common cause makes it likelier that no"
    " camera breaks the promise; where a batch is bad, many do. Two suppliers are as two batches."
)


@dataclass(frozen=True, kw_only=True)
class AllTogether:
    """What all assured cameras of a plan promise together, within the years asked of each.

    Attributes
    ----------
    cameras, many : int
        Assured cameras, and how many of them are many: a tenth, and one at least.
    broken : float
        Cameras that break the promise on average, a count.
    table : DataFrame
        A row for each of ``WAYS``: ``bought``, that in words; ``all_keep``, the chance that every camera keeps it, and
        ``all_keep_low`` and ``all_keep_high``, the same with all that is assumed of an untested card at its ends;
        ``more_than``, ``many``; ``more_break``, ``more_break_low`` and ``more_break_high``, the chance that more
        cameras break it; and ``spares``, of all kinds together.
    """

    cameras: int
    many: int
    broken: float
    table: pd.DataFrame

    @property
    def kept(self) -> str:
        """The chance that every camera keeps the promise, each kind of card bought in one batch, with its band."""
        return _in_band(self.table.iloc[1].to_dict(), "all_keep", chance)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The chance of all, that of many broken promises, and what two batches save."""
        if not self.cameras:
            return ()
        apart, one, two = self.table.to_dict("records")
        texts = [
            f"Of {counted(self.cameras, 'assured camera')} {number(self.broken)} break the promise within the years"
            f" asked on average; all of them keep it with a chance of {self.kept}, each kind of card bought in"
            f" one batch, {_told(two['all_keep'], chance)} in two, {_told(apart['all_keep'], chance)} if cards failed"
            " independently."
        ]
        if self.many < self.cameras:
            texts.append(
                f"{self.many + 1} or more break it with a chance of {_in_band(one, 'more_break', risk)}, each kind"
                f" bought in one batch, {_told(two['more_break'], risk)} in two, {_told(apart['more_break'], risk)} if"
                " cards failed independently."
            )
        if one["spares"]:
            saved = max(0, int(one["spares"] - two["spares"])) or "none"
            texts.append(
                f"Two batches of each kind, or two suppliers, save {saved} of {counted(one['spares'], 'spare')}."
            )
        return tuple(texts)


def all_together(site: Site, plan: pd.DataFrame, band: pd.DataFrame) -> AllTogether:
    """What all assured cameras of a plan promise together.

    Parameters
    ----------
    site : Site
        The site; its beliefs tell how far the weak cards of a batch go together.
    plan : DataFrame
        Its plan.
    band : DataFrame
        The ends of its chances, of :func:`edgestore.plan.untested_band.untested_band`.

    Returns
    -------
    AllTogether
        Chances, and spares.

    Notes
    -----
    Of the chance p that a camera keeps the promise, ``1 - w f`` is that its card is not a weak one that fails within
    the years, f of the weak do; the rest ``q = p / (1 - w f)`` is its own. All n cameras of a kind keep it with the
    product of q times the chance that none of n cards is weak and fails, which is beta-binomial
    (:func:`edgestore.models.lots.more_fail_chance`). How many break it adds to the weak ones a binomial number of the
    others with the mean of ``1 - q``, which is spread no less than theirs. Kinds are independent. At the ends of the
    band the weak share is at its end too.
    """
    served = (plan["state"] == "assured").to_numpy() & plan["meets"].to_numpy(bool)
    rows = plan[served]
    cameras = len(rows)
    many = max(1, int(MANY * cameras))
    kept = {
        "": rows["chance_kept"].to_numpy(float),
        "_low": band["chance_kept_low"].to_numpy(float)[served],
        "_high": band["chance_kept_high"].to_numpy(float)[served],
    }
    table = pd.DataFrame({"bought": list(WAYS.values())})
    for end, chances in kept.items():
        ways = [_of_kinds(site, rows, chances, end, batches) for batches in WAYS] if cameras else [(1.0, np.ones(1))]
        told = [(all_keep, float(np.clip(broken[many + 1 :].sum(), 0, 1))) for all_keep, broken in ways]
        table[[f"all_keep{end}", f"more_break{end}"]] = told if cameras else np.nan
    # A higher chance of many is at the bad end.
    table = table.rename(columns={"more_break_low": "more_break_high", "more_break_high": "more_break_low"})
    table.insert(4, "more_than", many)
    return AllTogether(
        cameras=cameras,
        many=many,
        broken=float((1 - kept[""]).sum()),
        table=table.assign(spares=_spares(site, rows)),
    )


def _spares(site: Site, served: pd.DataFrame) -> list[int]:
    """Spares of all kinds together, for each of ``WAYS``."""
    service = site.settings.service
    lead_years = service.lead_days / DAYS_PER_YEAR
    apart = spare_cards(served["card"], served["failures_per_year"] * lead_years, service)
    together = planned_spares(site, served)
    return [int(each.sum()) for each in (apart["spares"], together["spares"], together["spares_in_2_batches"])]


def _of_kinds(site: Site, rows: pd.DataFrame, kept: Array, end: str, batches: int) -> tuple[float, Array]:
    """Chance that all cameras keep the promise, and that of 0, 1, 2 and so on breaking it, over all kinds."""
    all_keep, broken = 1.0, np.ones(1)
    for of_kind, numbers in _by_kind(site, rows, kept, end, batches):
        all_keep *= of_kind
        broken = np.convolve(broken, numbers)
    return all_keep, broken


def _by_kind(site: Site, rows: pd.DataFrame, kept: Array, end: str, batches: int) -> Iterator[tuple[float, Array]]:
    """The same of each kind, of at most ``MOST_CARDS`` cards at a time."""
    together = site.settings.beliefs["batch_correlation"].median if batches else 0.0
    years, cards = rows["wanted_life_years"].to_numpy(float), rows["card"].to_numpy(object)
    fails = -np.expm1(-years / CardLife.early_mean_years)
    for card in dict.fromkeys(cards):
        (kind,) = site.kinds_of(pd.Series([card]))
        weak = {"_low": ENDS[1], "_high": ENDS[0]}.get(end)
        share = kind.mean_weak_fraction if weak is None else kind.quantile("weak_fraction", weak)
        every = np.flatnonzero(cards == card)
        for at in np.split(every, np.arange(MOST_CARDS, len(every), MOST_CARDS)):
            of_weak = float(fails[at].mean())
            own = np.minimum(kept[at] / (1 - share * fails[at]), 1.0)
            law = {
                "cards": len(at),
                "weak_fraction": share,
                "batch_correlation": together,
                "batches": min(max(batches, 1), len(at)),
                "weak_fail_fraction": of_weak,
            }
            none = 1 - float(more_fail_chance(0, **law))
            more = more_fail_chance(np.arange(len(at) + 1), **law, others_fail_fraction=float(1 - own.mean()))
            yield float(own.prod()) * none, -np.diff(np.asarray(more), prepend=1.0)


def _in_band(row: Mapping[Any, Any], name: str, write: Callable[[float], str]) -> str:
    """A chance with its band, where that reaches more than five points from it."""
    low, value, high = row[f"{name}_low"], row[name], row[f"{name}_high"]
    if max(value - low, high - value) <= BAND_TOLD:
        return _told(value, write)
    return f"{_told(value, write)} ({_told(low, write).removesuffix(f'{NO_BREAK}%')} to {_told(high, write)})"


def _told(value: float, write: Callable[[float], str]) -> str:
    """A chance in whole percent: that all keep it never told higher, that many break it never lower than it is."""
    return f"less than {percent(LEAST_TOLD)}" if value < LEAST_TOLD else write(value)
