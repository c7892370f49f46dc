"""What does the card save when the recorder is down: hours lost a year, and one outage, between the cap and a mean."""

from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.models.outage.backfill import backfill_h, useful_retention_h
from edgestore.models.outage.outage import hidden_failure_fraction
from edgestore.models.outage.saved import capacity_gb_for_fraction, outage_figures
from edgestore.models.retention import retention_h
from edgestore.text import NO_BREAK, hold_span, number, percent, span
from edgestore.units import PERCENT_PER_ONE

CURVE_GB = np.geomspace(4, 1024, 49)
"""Capacities along the axis of the picture."""

SURE_ENOUGH = 0.95
"""A card that covers fewer of the outages is warned of (our choice)."""

LAW_REMARKS = {
    "exponential": (
        "Outage lengths are exponential (memoryless). Real ones have a longer tail, so this may promise too much.",
    ),
    "lognormal": ("Most outages are short and a few very long: the long ones decide what is lost.",),
    "working hours": ("Repairs begin Monday to Friday, 8:00 to 17:00. Holidays are not counted.",),
}

Array = npt.NDArray[np.float64]


DAILY = 1.0
"""Days between two checks of a card that is looked at every day."""

HELPS = 0.1
"""What saves a smaller share of the footage lost in outages is not advised (our choice)."""


@dataclass(frozen=True, kw_only=True)
class Saving:
    """What a card saves, as a range with its reason. Arrays of two: at the cap, and at the mean looked at.

    Attributes
    ----------
    retention_h : ndarray
        What the card holds, h.
    overwritten_h, backfilled_h, lost_while_read_h : ndarray
        Of one outage of ``outage_h``: overwritten before the repair, fetched after it, overwritten while it was
        fetched, h of footage.
    caught_up_h : ndarray
        When the fetching ends, h since the repair; infinite where the live streams fill the link.
    lost_h_per_year : ndarray
        Footage lost in a year with the card, fetched over the link, h.
    lost_without_card_h_per_year : float
        Likewise without a card.
    curves_h_per_year : ndarray, shape (2, capacities)
        Footage lost in a year with each of ``CURVE_GB``.
    table : DataFrame
        No card, then the card at each rate.
    """

    capacity_gb: float
    outage_h: float
    rates_mbit_s: Array
    retention_h: Array
    overwritten_h: Array
    backfilled_h: Array
    lost_while_read_h: Array
    caught_up_h: Array
    lost_h_per_year: Array
    lost_without_card_h_per_year: float
    curves_h_per_year: Array
    table: pd.DataFrame
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def saving(
    capacity_gb: float = 64.0,
    cap_mbit_s: float = 4.0,
    *,
    mean_over_cap: float = 0.44,
    recorded_fraction: float = 1.0,
    recorder_mtbf_h: float = 17_520.0,
    repair_law: str = "lognormal",
    repair_mean_h: float = 24.0,
    repair_median_h: float = 8.0,
    repair_sigma: float = 1.2,
    visit_delay_h: float = 4.0,
    work_h: float = 2.0,
    shared_cause_share: float = 0.02,
    card_failures_per_year: float = 0.02,
    inspected_every_days: float = 365.0,
    saved_fraction: float = 0.95,
    link_mbit_s: float = 100.0,
    cameras: float = 16.0,
    outage_h: float = 48.0,
) -> Saving:
    """What a card saves when the recorder is down, for a camera whose cap is known and whose mean is not.

    Parameters
    ----------
    capacity_gb : float
        Capacity printed on the card, GB, above 0.
    cap_mbit_s : float
        Cap set in the encoder, Mbit/s, above 0.
    mean_over_cap : float
        Mean looked at, as a share of the cap, above 0 and at most 1.
    recorded_fraction : float
        Fraction of time recorded, above 0 and at most 1.
    recorder_mtbf_h : float
        Mean time from a repair to the recorder's next failure, h, above 0; infinite for one that never fails.
    repair_law : str
        Law of the length of an outage, a key of ``edgestore.models.outage.saved.LAWS``: it takes ``repair_mean_h``, or
        ``repair_median_h`` and ``repair_sigma``, or ``visit_delay_h`` and ``work_h``.
    repair_mean_h, repair_median_h, repair_sigma, visit_delay_h, work_h : float
        Numbers of the law, h, and a plain ratio.
    shared_cause_share : float
        Share of outages whose cause takes the camera too, 0 to 1.
    card_failures_per_year : float
        Failures of a card, a year, 0 or more.
    inspected_every_days : float
        Time between two inspections of the card, days, above 0.
    saved_fraction : float
        Share of the footage of outages that is to be saved, 0 to 1.
    link_mbit_s : float
        What the link carries over which the cards are fetched, Mbit/s, above 0.
    cameras : float
        Count of such cameras on the link, 1 or more.
    outage_h : float
        The one outage of the picture, h, 0 or more.

    Returns
    -------
    Saving
        The range, the table, the curves and the sentence.

    Raises
    ------
    InputError
        When a number is out of range or the law unknown.

    Examples
    --------
    >>> found = saving(repair_law="exponential", shared_cause_share=0, card_failures_per_year=0, link_mbit_s=1000)
    >>> for part in found.sentence.split(", "):
    ...     print(part)
    The camera loses 0.41 to 2.7 hours of footage a year
    against 12 without a card
    depending on the rate (mean or cap).
    """
    checks.single(locals())
    checks.bitrate_mbit_s(cap_mbit_s, "cap_mbit_s")
    mend = "Give infinity for a recorder that never fails."
    checks.in_range("recorder_mtbf_h", recorder_mtbf_h, "h", above=0, or_infinite=True, mend=mend)
    numbers = {
        "exponential": [repair_mean_h],
        "lognormal": [repair_median_h, repair_sigma],
        "working hours": [visit_delay_h, work_h],
    }
    law = numbers[checks.one_of("repair_law", repair_law, numbers)]
    share = checks.fraction("mean_over_cap", mean_over_cap, above=0)
    away_h = float(checks.in_range("outage_h", outage_h, "h", at_least=0))
    rates = cap_mbit_s * np.array([1.0, share])
    holds = np.asarray(retention_h(capacity_gb, rates, recorded_fraction))
    # Live and on the card alike, a camera sends its rate for the recorded part of the time only.
    live_mbit_s = rates * recorded_fraction
    kept = useful_retention_h(1.0, live_mbit_s, link_mbit_s, cameras=cameras)
    useful = np.asarray(holds * kept)
    figures = partial(
        outage_figures,
        repair_law,
        law,
        mtbf_h=recorder_mtbf_h,
        shared_cause_share=shared_cause_share,
        card_failures_per_year=card_failures_per_year,
        inspected_every_days=inspected_every_days,
    )
    taken, fetched = figures(retention_h=holds), figures(retention_h=useful)
    by_size = retention_h(CURVE_GB, rates[:, None], recorded_fraction) * kept[:, None]
    curves = figures(retention_h=by_size).lost_h_per_year
    unsaved = float(taken.unsaved_fraction)
    asked = capacity_gb_for_fraction(
        repair_law,
        law,
        saved_fraction,
        bitrate_mbit_s=rates,
        recorded_fraction=recorded_fraction,
        unsaved_fraction=unsaved,
    )
    wanted_gb = np.divide(asked, kept, out=np.full(2, np.inf), where=kept > 0)
    without = float(taken.lost_without_card_h_per_year)
    backfilled = np.minimum(away_h, useful)
    overwritten = np.maximum(away_h - holds, 0.0)
    never = (kept == 0) & (away_h > 0)
    caught_up = np.where(never, np.inf, backfill_h(backfilled, live_mbit_s, link_mbit_s, cameras=cameras))
    table = pd.DataFrame(
        {
            "card": ["none", "at the cap", f"at {percent(share)} of the cap"],
            "mean_mbit_s": [np.nan, *rates],
            "retention_h": [0.0, *holds],
            "chance_outlasts": [1.0, *taken.chance_outlasts],
            "unsaved_fraction": [1.0, unsaved, unsaved],
            "lost_h_per_year_by_hand": [without, *taken.lost_h_per_year],
            "useful_retention_h": [0.0, *useful],
            "lost_h_per_year": [without, *fetched.lost_h_per_year],
            "saved_fraction": [0.0, *fetched.saved_fraction],
            "capacity_gb_wanted": [np.nan, *wanted_gb],
            "this_outage_lost_h": [away_h, *(away_h - backfilled)],
            "caught_up_h": [0.0, *caught_up],
        }
    )

    def saved_at_cap(shared: float, every_days: float) -> float:
        """Hours a year that fewer shared causes, or more frequent checks, save."""
        better = outage_figures(
            repair_law,
            law,
            mtbf_h=recorder_mtbf_h,
            retention_h=useful[0],
            shared_cause_share=shared,
            card_failures_per_year=card_failures_per_year,
            inspected_every_days=every_days,
        )
        return float(fetched.lost_h_per_year[0] - better.lost_h_per_year)

    remedies = {
        "A check of the card every day saves": saved_at_cap(shared_cause_share, DAILY),
        "A power supply and a network switch of its own for the camera, apart from the recorder's, save": saved_at_cap(
            0.0, inspected_every_days
        ),
    }
    remedies = {text: saved for text, saved in remedies.items() if saved >= HELPS * fetched.lost_h_per_year[0]}
    dead = float(hidden_failure_fraction(card_failures_per_year, inspected_every_days))
    return Saving(
        capacity_gb=capacity_gb,
        outage_h=away_h,
        rates_mbit_s=rates,
        retention_h=holds,
        overwritten_h=overwritten,
        backfilled_h=backfilled,
        lost_while_read_h=away_h - overwritten - backfilled,
        caught_up_h=caught_up,
        lost_h_per_year=np.asarray(fetched.lost_h_per_year),
        lost_without_card_h_per_year=without,
        curves_h_per_year=np.asarray(curves),
        table=table,
        sentence=_sentence(np.asarray(fetched.lost_h_per_year), without),
        assumptions=(
            f"The recorder is down {number(float(taken.outages_per_year))} times a year, for"
            f" {number(float(taken.mean_outage_h))} hours on average.",
            f"The card saves nothing in {percent(unsaved, 1)} of the outages: {percent(shared_cause_share, 1)} "
            f"have a cause that stops the camera too, and {percent(dead, 2)} of cards have failed unnoticed.",
            "The card always records. The oldest footage is fetched first, from all cameras of the link "
            "together, while the card overwrites and live recording goes on.",
            *LAW_REMARKS[repair_law],
        ),
        warnings=_warnings(
            saved_fraction, unsaved, capacity_gb, wanted_gb, holds, kept, taken.chance_outlasts, remedies
        )
        if without
        else (),
    )


def _sentence(lost: Array, without: float) -> str:
    if without == 0:
        return "Nothing is lost, with a card or without: the recorder never fails."
    hours = span(lost.min(), lost.max())
    text = f"The camera loses {hours} hours of footage a year, against {number(without)} without a card"
    if number(lost.min()) == number(lost.max()):
        return f"{text}."
    return f"{text}, depending on the rate (mean or cap)."


def _warnings(
    asked: float,
    unsaved: float,
    capacity_gb: float,
    wanted_gb: Array,
    holds: Array,
    kept: Array,
    outlasts: Array,
    remedies: dict[str, float],
) -> tuple[str, ...]:
    warnings = []
    share = f"{PERCENT_PER_ONE * asked:g}{NO_BREAK}%"
    if asked > 1 - unsaved:
        warnings.append(
            f"No card saves {share} of the footage: {percent(unsaved, 1)} of outages leave nothing on any card."
            + "".join(f" {text} {number(saved)} h of footage a year." for text, saved in remedies.items())
        )
    elif np.isinf(wanted_gb[0]):
        warnings.append(f"At the cap no card saves {share} over this link.")
    elif wanted_gb[0] > capacity_gb:
        warnings.append(
            f"To save {share} takes {span(wanted_gb[1], wanted_gb[0])} GB; this card has {number(capacity_gb)} GB."
        )
    if outlasts[0] > 1 - SURE_ENOUGH:
        warnings.append(f"At the cap {percent(outlasts[0])} of outages last longer than the card holds.")
    if kept[0] == 0:
        warnings.append("At the cap the live streams fill the link: nothing can be fetched. Take the card out instead.")
    elif kept[0] < 1:
        warnings.append(
            f"At the cap the link fetches {kept[0]:.2g} hours of footage in an hour, so the card overwrites faster "
            f"than it is read: of {hold_span(holds[0], holds[0])} held, {hold_span(*[holds[0] * kept[0]] * 2)} "
            "are useful."
        )
    return tuple(warnings)
