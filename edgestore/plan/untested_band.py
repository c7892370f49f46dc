"""How far the chances of a plan depend on what is assumed of a card that nobody has tested."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.beliefs import Belief
from edgestore.plan.assured import chance_in_pairs
from edgestore.plan.card_life import CardKind
from edgestore.plan.promise import ROUNDING
from edgestore.plan.site import Site
from edgestore.text import chance, chance_with_band, grouped, is_band_told

Array = npt.NDArray[np.float64]

VARIED = ("random_per_year", "weak_fraction", "wear_shape", "stated_endurance")
"""What is varied: of each such card alike, and known to nobody before cards have failed."""

BAND = ["chance_kept_low", "chance_kept_high", "assured"]
"""Columns of the ends of the band, and of how the camera is assured, that are written with a plan."""

ENDS = (0.1, 0.9)
"""The ends of each: one chance in ten is beyond either."""

WHOLE_RANGE, MIDDLE = "over the whole range", "on the middle figures"
"""How a camera is assured: its chance is as much as is asked whatever is true of an untested card, or on average."""

BAND_ASSUMPTION = (
    "The band in brackets is over what is assumed of a card that nobody has tested: random failures, weak share,"
    " spread of wear-out and what a stated endurance means at their ends, one chance in ten beyond each, all of them"
    " good or bad together. It is told where it reaches more than five points from the chance, or below the one asked;"
    " where that is so of one camera of a plan, it is told of all."
    " A camera is assured on the middle figures where the band goes below the chance asked: to be assured over the"
    " whole range it takes a higher assurance, a trial of the lot before it is fitted, or a service log."
)


def untested_band(site: Site, plan: pd.DataFrame) -> pd.DataFrame:
    """Chance that the card of each camera keeps all that is asked, over what is assumed of an untested card.

    Parameters
    ----------
    site : Site
        The site.
    plan : DataFrame
        Its plan.

    Returns
    -------
    DataFrame
        For each camera, in the order of the plan, of the card that is chosen, or of the best one where the camera is
        doubtful: ``chance_kept_low``, ``chance_kept_high``; ``told``, the chance in words, with the band where that of
        any camera reaches more than five points from its chance or below the chance asked; and of the assured ones
        ``assured``, one of ``WHOLE_RANGE`` and ``MIDDLE``. NaN, and empty, where no card is told.

    Notes
    -----
    The chosen cards are looked at again with each of ``VARIED`` known to be at an end of what is known of the kind, all
    at their bad ends together and all at their good ones; of the spread of wear-out, which helps young cards and harms
    old ones, both ends are tried. Records of the site's own cards move the ends. The law of the rate, and that of how a
    card maps, stay as they are.
    """
    is_doubtful = plan["state"] == "doubtful"
    card = plan["card"].mask(is_doubtful, plan["best_card"])
    kept = plan["chance_kept"].mask(is_doubtful, plan["best_chance"]).to_numpy(float)
    low, high = np.full((2, len(plan)), np.nan)
    rows = np.flatnonzero((card != "") & ~np.isnan(kept))
    if len(rows):
        cards = site.offered.iloc[pd.Index(site.offered["card"]).get_indexer(pd.Index(card.iloc[rows]))]
        low[rows], high[rows] = band_of(site.of_cameras(rows), cards, kept[rows])
    asked = plan["wanted_assurance"].to_numpy(float)
    ends = list(zip(kept, low, high, strict=True))
    # One rule for all rows: a chance without a band beside others with one would read as known exactly.
    is_told = any(is_band_told(*known, of) for known, of in zip(ends, asked, strict=True))
    told = ["" if np.isnan(known[0]) else chance_with_band(*known) if is_told else chance(known[0]) for known in ends]
    assured = np.where(low >= asked - ROUNDING, WHOLE_RANGE, MIDDLE)
    return pd.DataFrame(
        {
            "chance_kept_low": low,
            "chance_kept_high": high,
            "told": told,
            "assured": np.where(plan["state"] == "assured", assured, ""),
        },
        index=plan.index,
    )


def over_range(band: pd.DataFrame) -> str:
    r"""How many assured cameras stay assured whatever is true of an untested card, in a sentence; empty for none.

    Parameters
    ----------
    band : DataFrame
        Of :func:`untested_band`.

    Returns
    -------
    str
        The count, and the lowest chance of the others.

    Examples
    --------
    >>> band = pd.DataFrame({"assured": [WHOLE_RANGE, MIDDLE, ""], "chance_kept_low": [0.93, 0.86, float("nan")]})
    >>> over_range(band).replace("\N{NO-BREAK SPACE}", " ")
    'If untested cards are as bad as is assumed at worst, 1 of the 2 stays assured; the lowest chance is then 86 %.'
    """
    some = band[band["assured"] != ""]
    if some.empty:
        return ""
    stay, count = int((some["assured"] == WHOLE_RANGE).sum()), len(some)
    stays, of_all = (grouped(str(number)) for number in (stay or "none", count))
    if stay == count:
        which = f"All {of_all} stay assured" if count > 1 else "The assured one stays so"
        return f"{which} if untested cards are as bad as is assumed at worst."
    which = f"{stays} of the {of_all} {'stay' if stay > 1 else 'stays'} assured"
    which = which if count > 1 else "the assured one does not stay so"
    least = chance(float(some["chance_kept_low"].min()))
    return f"If untested cards are as bad as is assumed at worst, {which}; the lowest chance is then {least}."


def band_of(site: Site, cards: pd.DataFrame, kept: Array) -> tuple[Array, Array]:
    """The least and the highest chance of a card in each camera, over what is assumed of an untested card.

    Parameters
    ----------
    site : Site
        The site.
    cards : DataFrame
        A row of a card list for each camera, in the same order, whose slot takes it and which it keeps up with.
    kept : ndarray, shape (cameras,)
        Chance that it keeps all that is asked, which is never outside the band.

    Returns
    -------
    tuple of ndarray
        Chances, 0 to 1.
    """
    kinds = [kind for end in at_ends(site.kinds_of(cards["card"]), site.settings.beliefs["wear_shape"]) for kind in end]
    several = np.tile(np.arange(len(cards)), len(kinds) // len(cards))
    alike = site.of_cameras(several)
    chance = chance_in_pairs(alike, alike.rates, cards.iloc[several], kinds).reshape(-1, len(cards))
    return np.minimum(kept, chance.min(axis=0)), np.maximum(kept, chance.max(axis=0))


def at_ends(kinds: Sequence[CardKind], shape: Belief) -> list[list[CardKind]]:
    """What would be known of kinds of card with all that is assumed at its bad ends, and at its good ones.

    Parameters
    ----------
    kinds : sequence of CardKind
        What is known of the kind of each card.
    shape : Belief
        The spread of wear-out.

    Returns
    -------
    list of list
        The bad ends with each end of the spread, then the good ones: as many kinds as were given in each.
    """
    known = {id(kind): kind for kind in kinds}
    ends = ((end, each) for end in reversed(ENDS) for each in (shape.low, shape.high))
    corners = ({name: _known(kind, *corner) for name, kind in known.items()} for corner in ends)
    return [[of[id(kind)] for kind in kinds] for of in corners]


def _known(kind: CardKind, end: float, shape: float) -> CardKind:
    """What would be known of a kind if all of ``VARIED`` were: its endurance is high where the others are low."""
    random, weak = (np.array([kind.quantile(name, end)]) for name in VARIED[:2])
    return replace(
        kind,
        shapes=np.array([shape]),
        endurance=np.array([kind.quantile("stated_endurance", 1 - end)]),
        random_per_year=random,
        weak_fraction=weak,
        weak_untried=None,
        chance=np.ones((1, 1, 1)),
    )
