"""What the plan asks of each camera, and whether what its card holds is that."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from edgestore.plan.credible import is_covered, is_far_off, may_be_one_clip
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.verdicts import AS_IT_WAS, DELETES, GAPS, NOT_RECORDING, Held, days
from edgestore.text import number
from edgestore.units import H_PER_DAY

LESS, MORE, BUT_FOR_GAPS, AS_ASKED = "less than asked", "longer than allowed", "as asked but for gaps", "as asked"
BY_SUMMARY = "as asked, by summary only"
"""What is said of a camera by what is asked of it; nothing where that cannot be told yet. Without a history that covers
its footage only its summary says so: the oldest footage may be a single clip that is locked, and gaps do not show."""


@dataclass(frozen=True)
class Asked:
    """What the plan made anew asks of a camera, and has for it; times in h.

    Attributes
    ----------
    held_h, allowed_h : float
        Retention asked at least, also to cover an outage as far as is allowed, and allowed at most; infinite for no
        limit.
    is_for_outage : bool
        Whether as much retention is asked to cover an outage, and less by itself.
    deleted_h : float
        Age at which the camera deletes footage by the camera list; infinite where it does not.
    card : str
        The card planned; empty where none is sure to do.
    due : Timestamp or None
        Day on which the card in service is due.
    orders_by : Timestamp or None
        A card that is due by then is to be seen to now: it takes so long to come. None without a service log.
    """

    held_h: float
    is_for_outage: bool
    allowed_h: float
    deleted_h: float
    card: str
    due: pd.Timestamp | None
    orders_by: pd.Timestamp | None


def asked_of(after: SitePlan) -> Iterator[Asked]:
    """What is asked of each camera, in the order of the camera list.

    Parameters
    ----------
    after : SitePlan
        The plan made with what was learnt.

    Returns
    -------
    iterator of Asked
        One for each camera.
    """
    site, plan = after.site, after.plan
    days_asked, days_allowed = (
        site.wanted[name].fillna(np.inf).tolist() for name in ("retention_days", "retention_days_max")
    )
    cover = (site.covered_h / site.fetched_fraction).tolist()
    due = plan.get("in_service_next_change", pd.Series("", plan.index))
    by = None if site.log is None else site.as_of + pd.Timedelta(days=site.settings.service.lead_days)
    for least, outage_h, most, deleted, card, day in zip(
        days_asked, cover, days_allowed, site.most_days_deleted.tolist(), plan["card"], due, strict=True
    ):
        when = pd.Timestamp(day) if day else None
        least_h = least * H_PER_DAY
        outage_h = min(outage_h, most * H_PER_DAY)  # no outage asks for more than is allowed
        yield Asked(max(least_h, outage_h), outage_h > least_h, most * H_PER_DAY, deleted * H_PER_DAY, card, when, by)


def against_asked(of: Held, asked: Asked) -> str:
    """Whether what a card holds is what is asked of its camera.

    Parameters
    ----------
    of : Held
        What the card holds, with its verdict.
    asked : Asked
        What is asked.

    Returns
    -------
    str
        ``LESS``, ``MORE``, ``BUT_FOR_GAPS``, ``BY_SUMMARY``, ``AS_ASKED``, or nothing where it cannot be told, as of
        a card that was taken out since. A day more than is allowed counts as allowed, since a camera may delete once a
        day.
    """
    found = of.achieved
    if of.taken_out:
        return ""
    if found is not None and found.hours > asked.allowed_h + H_PER_DAY:
        return MORE
    if of.verdict == NOT_RECORDING:
        return LESS
    if found is None or is_far_off(of):
        return ""
    if of.retention_h < asked.held_h:
        return LESS if found.is_full or of.verdict == DELETES else ""
    if of.least_retention_h < asked.held_h or (may_be_one_clip(of) and of.verdict != GAPS):
        return ""
    if not is_covered(found):
        return BY_SUMMARY
    return BUT_FOR_GAPS if of.verdict == GAPS else AS_ASKED


def asked_words(against: Sequence[str]) -> str:
    """How many cameras hold less than is asked, and how many longer than is allowed; empty where none does."""
    counts = Counter(against)
    told = [
        f"{counts[of]} {'holds' if counts[of] == 1 else 'hold'} {words}"
        for of, words in ((LESS, "less than is asked"), (MORE, "footage for longer than is allowed"))
        if counts[of]
    ]
    return f" {' and '.join(told)}." if told else ""


def by_summary_words(held: Sequence[Held]) -> str:
    """How many cameras did as planned by their summary only, which no history covers; empty where none did."""
    count = sum(of.verdict in AS_IT_WAS and of.achieved is not None and not is_covered(of.achieved) for of in held)
    return f"; of those as planned, {count} {'is' if count == 1 else 'are'} so by summary only" if count else ""


def not_as_asked(held: Sequence[Held], asked: Sequence[Asked], against: Sequence[str]) -> list[str]:
    """Name the cameras that hold less than is asked, or longer than is allowed, with both times."""
    told = {verdict: list[str]() for verdict in (LESS, MORE)}
    for of, wanted, verdict in zip(held, asked, against, strict=True):
        if verdict in told:
            told[verdict].append(f"{of.camera} ({_both(of, wanted, verdict)})")
    return [f"{verdict.capitalize()}: {', '.join(names)}." for verdict, names in told.items() if names]


def _both(of: Held, wanted: Asked, verdict: str) -> str:
    """Write what a camera holds beside what is asked of it."""
    found = of.achieved
    if found is None:
        return f"nothing of {days(wanted.held_h)}"
    if verdict == MORE:
        return f"{days(found.hours)}, allowed {days(wanted.allowed_h)}"
    if found.stopped is not None:
        return f"nothing since {of.at(found.stopped)}"
    return f"{held_words(of)} of {days(wanted.held_h)}"


def held_words(of: Held) -> str:
    """Write the days that a card is good for.

    Beside them those of its footage where gaps make that go back farther, and those of the video track that goes back
    least.
    """
    told = number(of.retention_h / H_PER_DAY)
    reach = told if of.achieved is None else number(of.achieved.hours / H_PER_DAY)
    with_gaps = "" if reach == told else f" (with its gaps {reach})"
    least = f" (one video track {number(of.all_tracks_h / H_PER_DAY)})" if of.all_tracks_h > 0 else ""
    return f"{told}{with_gaps}{least}"
