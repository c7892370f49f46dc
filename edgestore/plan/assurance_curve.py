"""What more or less assurance costs: the whole site planned at one assurance after the other."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import pandas as pd

from edgestore.plan.candidates import tried
from edgestore.plan.choice import choose
from edgestore.plan.site import Site
from edgestore.text import chance, counted, money

LEVELS = (0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.92, 0.94, 0.95, 0.96, 0.97, 0.98, 0.99)


@dataclass(frozen=True)
class AssuranceCurve:
    """Counts and cost of a site by the assurance asked.

    Attributes
    ----------
    table : DataFrame
        ``assurance``, 0 to 1; ``assured``, cameras; ``capacity_gb``, the sum of the cards chosen; with costs ``cost``
        over the horizon.
    cameras : int
        Cameras of the site.
    unit : str
        Unit of the cost with its horizon; empty where none is counted.
    asked : float or None
        What the site asks, where all its cameras ask the same.
    """

    table: pd.DataFrame
    cameras: int
    unit: str
    asked: float | None

    @property
    def sentence(self) -> str:
        """The trade-off in one sentence."""
        first, last = self.table.iloc[0], self.table.iloc[-1]
        ends = [
            f"{chance(row['assurance'])} {int(row['assured'])} of {counted(self.cameras, 'camera')} are assured"
            + (f" for {money(row['cost'], self.unit)}" if self.unit else "")
            for row in (first, last)
        ]
        return f"With {ends[0]}; with {ends[1]}."


def assurance_curve(site: Site, levels: Sequence[float] = LEVELS) -> AssuranceCurve:
    """Plan a site with one assurance after the other, for all its cameras.

    Parameters
    ----------
    site : Site
        The site.
    levels : sequence of float
        Assurances, 0.5 to 0.99.

    Returns
    -------
    AssuranceCurve
        A row for each.

    Notes
    -----
    With a card for each camera. A cost falls where a camera is no longer assured, since it then gets no card: read it
    with the count.
    """
    asked = site.wanted["assurance"]
    rows = []
    for level in levels:
        strict = replace(site, cameras=site.cameras.assign(assurance=float(level)))
        tries = tried(strict, strict.rates)
        chosen = choose("camera", tries, site.cameras["group"]).chosen
        served = chosen >= 0
        row = {
            "assurance": level,
            "assured": int(served.sum()),
            "capacity_gb": float(site.offered["capacity_gb"].to_numpy()[chosen[served]].sum()),
        }
        if site.costs is not None:
            row["cost"] = float(tries.given["cost"][served, chosen[served]].sum())
        rows.append(row)
    unit = "" if site.costs is None else f"{site.costs.currency} in {counted(site.costs.horizon_years, 'year')}"
    same = float(asked.iloc[0]) if asked.nunique() == 1 else None
    return AssuranceCurve(pd.DataFrame(rows), len(site.cameras), unit, same)
