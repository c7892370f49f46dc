"""What the site and open standards ask, where a proposal answers it and by what evidence, or that it does not."""

from pathlib import Path

import numpy as np
import pandas as pd

from edgestore.documents.content import Proposal
from edgestore.plain_file import toml_file
from edgestore.plan.untested_band import WHOLE_RANGE
from edgestore.text import chance, counted, span

FILE = Path(__file__).with_name("requirements.toml")

NOT_ANSWERED = "not answered here"

COLUMNS = ("asks", "of", "where", "evidence")


def requirement_trace(proposal: Proposal) -> pd.DataFrame:
    """Trace requirements through a proposal.

    Parameters
    ----------
    proposal : Proposal
        The proposal.

    Returns
    -------
    DataFrame
        ``COLUMNS``: what is asked, who or what asks it, where the pack answers it, and the evidence. First what the
        site asks, with how many cameras it is kept at; then open standards, of ``requirements.toml``.
    """
    rows = [*_of_site(proposal), *toml_file(FILE, FILE.name, "the requirements")["requirement"]]
    table = pd.DataFrame(rows, columns=list(COLUMNS))
    return table.assign(where=table["where"].replace("", NOT_ANSWERED))


def _of_site(proposal: Proposal) -> list[dict[str, str]]:
    """What the site asks of its cards."""
    site, rows = proposal.plan.site, proposal.plan.plan
    wanted, asked = site.wanted, proposal.asked
    kept = f"kept at {int(rows['meets'].sum())} of {counted(len(rows), 'camera')}"

    stay = int((proposal.plan.untested_band["assured"] == WHOLE_RANGE).sum())
    whole_range = f"at {stay or 'none'} of these over the whole range of what is assumed of an untested card"

    def range_of(name: str) -> str:
        return span(float(wanted[name].min()), float(wanted[name].max()))

    sure = " to ".join(dict.fromkeys(map(chance, (wanted["assurance"].min(), wanted["assurance"].max()))))
    told = [
        (f"Days of footage: {range_of('retention_days')}", "chance_retention", kept),
        (f"Years that a card lasts: {range_of('life_years')}", "chance_life", kept),
        (f"Speed margin: {range_of('speed_margin')}", "speed_margin", kept),
        (f"All of it together with a chance of {sure}", "chance_kept", f"{kept}, {whole_range}"),
    ]
    if wanted["retention_days_max"].notna().any():
        told.append((f"Days of footage at most: {range_of('retention_days_max')}", "chance_maximum", kept))
    if np.any(site.days_to_cover > 0):
        told.append(("Outages of the recorder that the card covers", "chance_outage", kept))
    of_site = [
        {
            "asks": asks,
            "of": "the site: settings, groups and camera list",
            "where": f"plan.csv, {column}: {how}",
            "evidence": f"edgestore explain PACK CAMERA {column}",
        }
        for asks, column, how in told
    ]
    besides = (asked.temperature_low_c, asked.temperature_high_c, asked.humidity_high_percent, asked.warranty_years)
    if any(value is not None for value in besides):
        of_site.append(
            {
                "asks": "Temperature range, humidity and warranty of the cards",
                "of": "the site: settings, [card_specification]",
                "where": "section Specification by lots, compliance table",
                "evidence": "the bidder's statement: the pack itself has none",
            }
        )
    return of_site
