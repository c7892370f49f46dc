"""How far the chances of a plan depend on what is assumed of a card that nobody has tested."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.beliefs import Belief
from edgestore.plan.assured import chance_in_pairs
from edgestore.plan.card_life import CardKind
from edgestore.plan.site import Site
from edgestore.text import chance_in_band

Array = npt.NDArray[np.float64]

PRIORS = ("random_per_year", "weak_fraction", "wear_shape")
"""What is varied: of each such card alike, and known to nobody before cards have failed."""

BAND = ["chance_kept_low", "chance_kept_high"]
"""Columns of the ends of the band."""

ENDS = (0.1, 0.9)
"""The ends of each: one chance in ten is beyond either."""

BAND_ASSUMPTION = (
    "The band in brackets is over what is assumed of a card that nobody has tested: random failures, weak share and"
    " spread of wear-out at their ends, one chance in ten beyond each, all of them good or bad together. It is told"
    " where it reaches more than five points from the chance."
)


def prior_band(site: Site, plan: pd.DataFrame) -> pd.DataFrame:
    """Chance that the card of each camera keeps all that is asked, over what the priors of a card may be.

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
        doubtful: ``chance_kept_low``, ``chance_kept_high``, and ``told``, the chance in words, with the band where that
        reaches more than five points from it. NaN, and empty, where no card is told.

    Notes
    -----
    The chosen cards are looked at again with each of ``PRIORS`` known to be at an end of what is known of the kind, all
    at their bad ends together and all at their good ones; of the spread of wear-out, which helps young cards and harms
    old ones, both ends are tried. Records of the site's own cards move the ends. The law of the rate and that of what a
    stated endurance means stay as they are.
    """
    is_doubtful = plan["state"] == "doubtful"
    card = plan["card"].mask(is_doubtful, plan["best_card"])
    kept = plan["chance_kept"].mask(is_doubtful, plan["best_chance"]).to_numpy(float)
    low, high = np.full((2, len(plan)), np.nan)
    rows = np.flatnonzero((card != "") & ~np.isnan(kept))
    if len(rows):
        cards = site.offered.iloc[pd.Index(site.offered["card"]).get_indexer(pd.Index(card.iloc[rows]))]
        low[rows], high[rows] = band_of(site.of_cameras(rows), cards, kept[rows])
    told = [chance_in_band(*ends) if ends[0] == ends[0] else "" for ends in zip(kept, low, high, strict=True)]
    return pd.DataFrame({"chance_kept_low": low, "chance_kept_high": high, "told": told}, index=plan.index)


def band_of(site: Site, cards: pd.DataFrame, kept: Array) -> tuple[Array, Array]:
    """The least and the highest chance of a card in each camera, over what the priors may be.

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
    """What would be known of kinds of card with all priors at their bad ends, and at their good ones.

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
    """What would be known of a kind if its random failures, its weak share and its spread were."""
    random, weak = (np.array([kind.quantile(name, end)]) for name in PRIORS[:2])
    of_endurance = kind.chance.sum(axis=(1, 2))[:, None, None]
    return replace(
        kind,
        shapes=np.array([shape]),
        random_per_year=random,
        weak_fraction=weak,
        weak_untried=None,
        chance=of_endurance / of_endurance.sum(),
    )
