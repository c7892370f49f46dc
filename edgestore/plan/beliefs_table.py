"""All that the plan takes for known of each camera and each kind of card, as a table to read."""

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.beliefs import MAPPING_BELIEFS, Belief
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.card_life import SCORES
from edgestore.plan.promise import OF_WRITTEN, RateLaw
from edgestore.plan.rates import MEAN_BELIEFS, PEAK_OVER_MEAN, card_flash
from edgestore.plan.site import Site

Array = npt.NDArray[np.float64]

COLUMNS = ("subject", "input", "basis", "median", "one_in_ten_below", "one_in_ten_above", "unit", "source")

PARTS = (0.5, 0.1, 0.9)
"""Half of the values are below the median, one in ten below the low end, one in ten above the high one."""

LIST, FILE = "camera list", "the camera's files"

PEAK_SOURCE = "largest group of pictures over the mean in published traces of fixed cameras, 1.3 to 4.4"

DIGITS = 3
"""No belief is known to more."""

Row = tuple[object, ...]


def beliefs_table(site: Site) -> pd.DataFrame:
    """What is taken for known of a site, a row for each camera and each kind of card and input.

    Parameters
    ----------
    site : Site
        The site.

    Returns
    -------
    DataFrame
        ``subject``, the camera or the kind of card; ``input``; ``basis``, what it rests on; ``median``,
        ``one_in_ten_below``, ``one_in_ten_above``, in ``unit``; and ``source``.
    """
    rows = pd.DataFrame([*_of_cameras(site), *_of_cards(site)], columns=list(COLUMNS))
    numbers = list(COLUMNS[3:6])
    rows[numbers] = rows[numbers].map(lambda value: float(f"{value:.{DIGITS}g}"))
    return rows


def _of_cameras(site: Site) -> Iterator[Row]:
    rates, beliefs = site.rates, site.settings.beliefs
    means = RateLaw.of(*rates[OF_WRITTEN].to_numpy(float).T).mean.rate_mbit_s(np.array([PARTS]))
    for row, (camera, rate) in enumerate(zip(site.cameras["camera"], rates.to_dict("records"), strict=True)):
        basis = rate["mean_basis"]
        source = beliefs[MEAN_BELIEFS[basis]].source if basis in MEAN_BELIEFS else FILE
        if basis == "assumed":
            source = "measured shares of the cap by scene, data/measured"
        yield camera, "mean rate while recording", basis, *means[row], "Mbit/s", source
        if rate["peak_basis"] == "assumed":
            ends = (rate["planned_mbit_s"] * PEAK_OVER_MEAN,) * 3  # the plan counts with the highest of the traces
            yield camera, "peak rate", "assumed: the highest of the traces, not a range", *ends, "Mbit/s", PEAK_SOURCE
        fraction, basis = rate["recorded_fraction"], rate["recorded_basis"]
        spread = float(np.exp(Z_90 * rate["recorded_sigma"]))
        ends = (fraction, fraction / spread, min(fraction * spread, 1.0))
        source = {"continuous": LIST, "listed": beliefs["listed_events"].source}.get(basis, FILE)
        yield camera, "fraction of the time recorded", basis, *ends, "", source
        spread = float(np.exp(Z_90 * rate["update_interval_sigma"]))
        told = ("listed", LIST) if spread == 1 else ("assumed", beliefs["update_interval"].source)
        seconds = rate["update_interval_s"]
        ends = (seconds, seconds / spread, seconds * spread)
        yield camera, "time between updates of file tables", told[0], *ends, "s", told[1]


def _of_cards(site: Site) -> Iterator[Row]:
    cards, beliefs = site.offered, site.settings.beliefs
    flash, lowest, highest = card_flash(cards)
    stated = np.select([cards["endurance_tbw"].notna(), cards["rated_h"].notna()], ["TB written", "hours"], "cycles")
    for row, (card, kind) in enumerate(zip(cards["card"], site.kinds_of(cards["card"]), strict=True)):
        for name in SCORES:
            belief = beliefs[name]
            ends = [kind.quantile(name, part) for part in PARTS]
            if name == "stated_endurance":
                words = f"stated in {stated[row]}; {kind.basis}"
                ends = [flash[row] * end for end in ends]
                where = "TB to the flash" if stated[row] == "cycles" else "TB written"
                yield card, "endurance that half of the cards reach", words, *ends, where, belief.source
            else:
                yield card, belief.help, kind.basis, *ends, belief.unit, belief.source
        for belief in (beliefs["wear_shape"], beliefs["batch_correlation"]):
            yield card, belief.help, "assumed", *_ends(belief), belief.unit, belief.source
        if np.isnan(highest[row]):
            for mapping, share in beliefs.mapping_shares.items():
                words = (
                    "not stated; the flash writes depend on how the card maps, on the rate and on the update interval"
                )
                source = beliefs[MAPPING_BELIEFS[mapping]].source
                yield card, f"chance that the card maps by {mapping}", words, *[share] * 3, "", source
        else:
            ends = [lowest[row] + part * (highest[row] - lowest[row]) for part in PARTS]
            yield card, "flash writes per host write", "stated", *ends, "", "card list"


def _ends(belief: Belief) -> tuple[float, float, float]:
    return belief.median, belief.low, belief.high
