"""What to find out first, as an answer to a page: ranked, and what more days of footage are worth."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.headings import heading
from edgestore.models.uncertainty import preposterior
from edgestore.plan.findings import Part
from edgestore.plan.losses import Losses
from edgestore.plan.measure_first import BEFORE, MEAN, MeasureFirst, measure_first, weighed
from edgestore.plan.promise import OF_WRITTEN, RateLaw
from edgestore.plan.rates import footage_sigma
from edgestore.plan.site import Site
from edgestore.plan.site_plan import SitePlan
from edgestore.text import chance, whole
from edgestore.units import H_PER_DAY, H_PER_WEEK

Array = npt.NDArray[np.float64]

DAYS = np.array([0.02, 0.1, 0.25, 0.5, 1, 2, 3, 4, 5, 6, 7, 10, 14, 21, 28])
"""Days of footage of which the worth is drawn; the first is half an hour."""

CURVES = 3
"""So many cameras have a curve."""


@dataclass(frozen=True, kw_only=True)
class WhatFirst:
    """What to find out first.

    Attributes
    ----------
    first : MeasureFirst
        Everything that may be found out.
    curves : mapping of str to ndarray
        Worth of ``DAYS`` of footage, by the cameras whose mean rate is worth most, the most first.
    """

    first: MeasureFirst
    curves: Mapping[str, Array]

    @property
    def sentence(self) -> str:
        """What to find out first, in one sentence."""
        return self.first.sentences[0]

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the answer rests on."""
        return (
            self.first.counted_with,
            *self.first.in_money,
            "Each camera is taken by itself, with a card of its own; a finding never changes the age at which a "
            "card is changed. The worth of several findings together is not the sum of their worths.",
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is not worth a visit."""
        return tuple(text for text in self.first.sentences if text.startswith("Not worth"))

    @property
    def table(self) -> pd.DataFrame:
        """Of each thing the best way to find it out before ordering, the verdict, what that changes and is worth."""
        ways = self.first.ways
        amounts = {
            f"{heading(name)}, {self.first.unit}": [whole(value) if value == value else "" for value in ways[name]]
            for name in ("expected_saving", "worth", "effort", "net_worth")
        }
        return pd.DataFrame(
            {
                "how": ways["how"].str.removesuffix(BEFORE).to_numpy(object),
                "verdict": ways["verdict"].to_numpy(object),
                "chance_order_changes": [chance(value) for value in ways["chance_order_changes"]],
                "order": ways["order"].to_numpy(object),
                "likely_order": ways["likely_order"].to_numpy(object),
                **amounts,
            }
        )


def what_first(plan: SitePlan, *, broken_promise_price: float = 0.0, **efforts: float) -> WhatFirst:
    """Tell what to find out before the cards of a plan are ordered, with efforts and a price of one's own.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    broken_promise_price : float
        Price of a broken promise, currency units; 0 for as the settings state, or the assurance says.
    **efforts : float
        Prices of efforts, currency units, by the keys of ``[efforts]``; the others as the settings state.

    Returns
    -------
    WhatFirst
        Ranked, with the curves of the best cameras.
    """
    site, first = plan.site, plan.measure_first
    if site.costs is not None and broken_promise_price:
        first = measure_first(site, replace(first.made, stated_price=broken_promise_price))
    asked = replace(site.settings, efforts={**site.settings.efforts, **efforts})
    first = weighed(replace(site, settings=asked), first.worths, first.made)
    ways = first.ways
    best = ways.loc[ways["input"] == MEAN].sort_values("worth_if_known", ascending=False, kind="stable")["subject"]
    return WhatFirst(first=first, curves=_curves(site, first.made, list(best[:CURVES])))


def _curves(site: Site, made: Losses, cameras: list[str]) -> dict[str, Array]:
    """Worth of so many days of footage of some cameras."""
    rows = pd.Index(site.cameras["camera"]).get_indexer(pd.Index(cameras))
    hours = H_PER_DAY * DAYS
    shown = np.minimum(hours, H_PER_DAY), np.minimum(hours, H_PER_WEEK) / H_PER_DAY
    errors = footage_sigma(hours, *shown, site.settings.beliefs)
    each = np.repeat(rows, len(DAYS))
    law = RateLaw.of(*site.rates[OF_WRITTEN].to_numpy(float)[each].T)
    joint = Part.mean_rate(law).outcomes(np.tile(errors, len(rows)))
    worth = np.asarray(preposterior(-made.by_rate[each], joint).evsi)
    return dict(zip(cameras, worth.reshape(len(rows), -1), strict=True))
